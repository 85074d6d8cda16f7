"""The target of a belt's tension: the vehicle maker's window, or the guideline per rib."""

from .. import events
from .. import forms
from .. import numbers
from .. import reading
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import measuring

# What a belt at the front of an engine can run at; wide, so that it only stops slips of the finger.
TARGET_N = (30.0, 5000.0)
LABELS = [["kind", "Where is it from?"], ["belt_state", "Belt"], ["low", "From"], ["high", "To"],
          ["source", "Source"], ["confirm", "Please check"]]


def show(request: dict, given: dict) -> dict:
    """Ask for the target window."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    entry = measuring.target_of(job, loop)
    typed = {"kind": "", "belt_state": "new", "low": "", "high": "", "unit": given["shop"]["force_unit"], "source": ""}
    if entry is not None:
        data = entry["data"]
        typed = {"kind": data["kind"], "belt_state": data["belt_state"], "low": data["low"]["value"],
                 "high": data["high"]["value"], "unit": data["low"]["unit"], "source": data["source"] or ""}
    return _page(request, given, typed, forms.Reading(request), [], 200)


def save(request: dict, given: dict) -> dict:
    """Record the target window, from the vehicle maker's data or the guideline per rib."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    form = forms.Reading(request)
    form.person(given)
    kind = form.choice("kind", "target_kind")
    state = form.choice("belt_state", "belt_state")
    data, doubts = None, []
    if kind == "maker":
        data, doubts = _read_maker(form, job, loop)
    elif kind == "guideline" and not form.errors:
        data = _read_guideline(form, given, loop, state)
    if form.errors:
        typed = {"kind": kind, "belt_state": state, "low": forms.value(request, "low"), "high": forms.value(request, "high"),
                 "unit": forms.value(request, "unit"), "source": forms.value(request, "source")}
        return _page(request, given, typed, form, doubts, 422)
    data["kind"] = kind
    data["belt_state"] = state
    entry = measuring.target_of(job, loop)
    event = events.make(given, 0, "target_set", job["id"], data, loop, entry["id"] if entry else None)
    return reply.record([event], "/jobs/" + job["id"] + "/" + loop + "/tension")


def _read_maker(form, job, loop):
    unit = forms.value(form.request, "unit")
    pair = []
    for name in ("low", "high"):
        try:
            pair.append(units.read_quantity(forms.value(form.request, name), unit, "force", name, TARGET_N[0], TARGET_N[1]))
        except CoreError as error:
            form.fail(name, error.code, error.values)
    data = {"source": form.text("source", 200, True)}
    if len(pair) < 2:
        return data, []
    data["low"], data["high"] = pair
    if float(pair[0]["value"]) >= float(pair[1]["value"]):
        form.fail("high", "out-of-order")
        return data, []
    doubts = _doubts(pair, unit, measuring.belt_on(job, loop))
    if doubts and forms.value(form.request, "confirm") != "yes":
        form.fail("confirm", "confirm-first")
    return data, doubts


def _doubts(pair, unit, belt):
    """What is unusual about a window, asked about once."""
    out = []
    section = belt["section"] if belt else None
    ribs = (belt["ribs"] or belt["ribs_counted"]) if belt else None
    for quantity in pair:
        doubt = reading.unit_doubt(float(quantity["value"]), unit, section, ribs)
        if doubt is not None:
            out.append(words.reason(doubt[0], doubt[1]))
    return out


def _guideline_of(job, loop, state, unit):
    """{"low", "high", "source"} of the guideline, None where there is none for this belt or this tensioner."""
    belt = measuring.belt_on(job, loop)
    if belt is None or belt["stretch"] or measuring.tensioner(job, loop) in measuring.MARKS_DECIDE + ["stretch_fit"]:
        return None
    try:
        found = reading.guideline(belt["section"], belt["ribs"] or belt["ribs_counted"], state)
    except CoreError:
        return None
    return {"low": {"value": numbers.trimmed(units.from_si(found["low_n"], unit, "force"), 0), "unit": unit},
            "high": {"value": numbers.trimmed(units.from_si(found["high_n"], unit, "force"), 0), "unit": unit},
            "source": found["source"]}


def _read_guideline(form, given, loop, state):
    found = _guideline_of(given["job"], loop, state, given["shop"]["force_unit"])
    if found is None:
        form.fail("kind", "no-guideline-here")
    return found


def _page(request, given, typed, form, doubts, status):
    job, loop = given["job"], request["params"]["loop"]
    context = measuring.frame(given, loop, "Target")
    unit = given["shop"]["force_unit"]
    guides = []
    for state, label in words.choice_pairs("belt_state"):
        found = _guideline_of(job, loop, state, unit)
        if found is not None:
            guides.append([label, measuring.window(found)])
    context.update({
        "problems": form.problems(LABELS), "doubts": doubts, "guides": guides, "guide_source": reading.GUIDE_SOURCE,
        "marks_decide": measuring.tensioner(job, loop) in measuring.MARKS_DECIDE,
        "kind": forms.tiles("kind", "Where is it from?", words.choice_pairs("target_kind"), [typed["kind"]], form.errors),
        "belt_state": forms.tiles("belt_state", "Which belt is on?", words.choice_pairs("belt_state"), [typed["belt_state"]],
                                  form.errors),
        "low": {"value": typed["low"], "error": form.errors.get("low", "")},
        "high": {"value": typed["high"], "error": form.errors.get("high", "")},
        "units": [{"value": u, "on": u == typed["unit"]} for u in units.names("force")],
        "source": forms.field("source", "Book, page or system", typed["source"], form.errors,
                              "So that somebody else can find the figure again.", most=200),
        "confirm": forms.tiles("confirm", "Please check", [["yes", "Checked: the data gives just that"]], [], form.errors,
                               many=True, wordy=True)})
    return reply.page("tension_target.html", context, status)
