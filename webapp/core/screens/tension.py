"""Tension: the target, the readings of a span, and what to do next."""

from .. import card
from .. import belts
from .. import events
from .. import forms
from .. import numbers
from .. import reading
from .. import reply
from .. import times
from .. import units
from .. import words
from ..errors import CoreError
from . import jobs
from . import measuring
from . import photos
from . import spanform

# What a belt at the front of an engine can run at; wide, so that it only stops slips of the finger.
TARGET_N = (30.0, 5000.0)
TARGET_LABELS = [["kind", "Where is it from?"], ["belt_state", "Belt"], ["low", "From"], ["high", "To"],
                 ["source", "Source"], ["confirm", "Please check"]]
# With these the tensioner's own marks decide, so that a reading is a second look only.
_MARKS_DECIDE = ["automatic", "automatic_set", "hydraulic", "two_arm"]


def _belt_data(job, loop):
    """The belt that is on: the new one, else the old one."""
    entry = card.belt_of(job, loop, "new") or card.belt_of(job, loop, "old")
    return entry["data"] if entry else None


def _target_line(data):
    return data["low"]["value"] + " to " + measuring.shown(data["high"])


# ---- overview ----

def overview(request: dict, given: dict) -> dict:
    """Show the target, the readings, and what comes next."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    kind = measuring.tensioner(job, loop)
    context = measuring.frame(given, loop, "Tension")
    target = measuring.target_of(job, loop)
    entries = [_reading_row(entry, given) for entry in card.readings_of(job, loop)]
    entries.reverse()
    pointer = photos.of_subject(job, "pointer", loop)
    told = card.standing_step(job, loop, "tension") is not None
    context.update({
        "tensioner": words.label("tensioner", kind), "rule": words.reason("tension-" + kind, {}),
        "marks_decide": kind in _MARKS_DECIDE, "entries": entries, "target": _target_view(target, given),
        "pictures": pointer, "pointer_path": context["path"] + "/step/tension", "pointer_done": told or len(pointer) > 0,
        "cautions": card.cautions(job, "tension", loop)})
    context["next"] = _next(context, kind, target, entries)
    return reply.page("tension.html", context)


def _target_view(entry, given):
    if entry is None:
        return None
    data = entry["data"]
    return {"window": data["low"]["value"] + " to " + data["high"]["value"], "unit": data["high"]["unit"], "guideline": data["kind"] == "guideline",
            "kind": words.label("target_kind", data["kind"]), "source": data["source"] or "",
            "state": words.label("belt_state", data["belt_state"]), "who": jobs.person_name(given, entry["who"])}


def _reading_row(entry, given):
    data = entry["data"]
    shown = data["shown"]
    kind = "open"
    for code in sorted(spanform.VERDICTS):
        if spanform.VERDICTS[code][1] == shown.get("verdict", ""):
            kind = spanform.VERDICTS[code][0]
    return {"span": data["span"], "how": words.label("method", data["method"]), "length": measuring.shown(data["length"]),
            "readings": ", ".join(data["readings"]) + " " + data["reading_unit"],
            "tension": shown.get("tension", ""), "low": shown.get("low", ""), "high": shown.get("high", ""),
            "unit": shown.get("unit", ""), "other": shown.get("other", ""), "next": shown.get("next", ""),
            "verdict": {"kind": kind, "word": shown.get("verdict", ""), "sentence": shown.get("sentence", "")},
            "temperature": words.label("engine_temperature", data["engine_temperature"]), "tool": data["tool"] or "",
            "who": jobs.person_name(given, entry["who"]), "ago": times.ago(entry["at"], given["now"])}


def _next(context, kind, target, entries):
    """The one main action."""
    if kind in _MARKS_DECIDE:
        if not context["pointer_done"]:
            return {"path": context["pointer_path"], "label": "Read the pointer"}
        return {"path": context["card_path"], "label": "Back to the card"}
    if target is None and kind != "stretch_fit":
        return {"path": context["path"] + "/target", "label": "Set the target"}
    if not entries:
        return {"path": context["path"] + "/tension/pluck", "label": "Pluck the span"}
    if entries[0]["verdict"]["kind"] in ("stop", "watch"):
        return {"path": context["path"] + "/tension/pluck", "label": "Read again"}
    return {"path": context["card_path"], "label": "Back to the card"}


# ---- target ----

def show_target(request: dict, given: dict) -> dict:
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
    return _target_page(request, given, typed, forms.Reading(request), [], 200)


def set_target(request: dict, given: dict) -> dict:
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
        return _target_page(request, given, typed, form, doubts, 422)
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
    doubts = _doubts(pair, unit, _belt_data(job, loop))
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
    belt = _belt_data(job, loop)
    if belt is None or belt["stretch"] or measuring.tensioner(job, loop) in _MARKS_DECIDE + ["stretch_fit"]:
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


def _target_page(request, given, typed, form, doubts, status):
    job, loop = given["job"], request["params"]["loop"]
    context = measuring.frame(given, loop, "Target")
    unit = given["shop"]["force_unit"]
    guides = []
    for state, label in words.choice_pairs("belt_state"):
        found = _guideline_of(job, loop, state, unit)
        if found is not None:
            guides.append([label, _target_line(found)])
    context.update({
        "problems": form.problems(TARGET_LABELS), "doubts": doubts, "guides": guides, "guide_source": reading.GUIDE_SOURCE,
        "marks_decide": measuring.tensioner(job, loop) in _MARKS_DECIDE,
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


# ---- pluck and press ----

def show(request: dict, given: dict) -> dict:
    """Ask for the set-up of a reading, or show the readings so far; the address holds everything typed."""
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
    if not measuring.knows(job, loop) or not words.is_choice("method", method):
        return measuring.no_such_belt()
    door = measuring.gate_first(request, given)
    if door:
        return door
    typed = measuring.query_as_form(request)
    if not request["query"]:
        last = card.readings_of(job, loop)
        typed = spanform.as_request(spanform.blank(method, given["shop"], _belt_data(job, loop),
                                                   last[-1]["data"] if last else None))
    if not spanform.wants_readings(typed):
        return _setup_page(request, given, typed, {}, [], 200)
    typed = spanform.as_request(spanform.without(typed))
    form = forms.Reading(typed)
    data = spanform.read_setup(form, method, True)
    if form.errors:
        return _setup_page(request, given, typed, form.errors, form.problems(spanform.LABELS), 422)
    readings = spanform.read_readings(form, method)
    return _readings_page(request, given, typed, form, data, readings, 422 if form.errors else 200)


def save(request: dict, given: dict) -> dict:
    """Record a reading with everything typed and everything shown."""
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
    if not measuring.knows(job, loop) or not words.is_choice("method", method):
        return measuring.no_such_belt()
    door = measuring.gate_first(request, given)
    if door:
        return door
    form = forms.Reading(request)
    data = spanform.read_setup(form, method, True)
    if form.errors:
        return _setup_page(request, given, request, form.errors, form.problems(spanform.LABELS), 422)
    form.person(given)
    readings = spanform.read_readings(form, method)
    if len(readings) < reading.FULL_READINGS:
        form.fail("reading-" + str(len(readings) + 1), "more-readings", {"full": str(reading.FULL_READINGS)})
    told = _told(form, given, loop, data, readings)
    if not form.errors and not told["decided"]:
        form.fail("readings", "reading-undecided")
    if form.errors:
        return _readings_page(request, given, request, form, data, readings, 422)
    data["readings"] = [r[1] for r in readings]
    data["reading_unit"] = "Hz" if method == "pluck" else forms.value(request, "reading_unit")
    data["shown"] = _shown(told, data, measuring.target_of(job, loop))
    del data["length_error"]
    event = events.make(given, 0, "span_read", job["id"], data, loop)
    return reply.record([event], "/jobs/" + job["id"] + "/" + loop + "/tension")


def result_fragment(request: dict, given: dict) -> dict:
    """Show the result while readings are typed."""
    loop, typed = request["params"]["loop"], measuring.query_as_form(request)
    form = forms.Reading(typed)
    data = spanform.read_setup(form, forms.value(typed, "method"), True)
    told = {"some": False}
    if measuring.knows(given["job"], loop) and not form.errors:
        told = _told(form, given, loop, data, spanform.read_readings(form, data["method"]))
    return reply.page("_result.html", {"told": told})


def _told(form, given, loop, data, readings):
    target = measuring.target_of(given["job"], loop)
    result = spanform.compute(form, data, readings)
    return spanform.tell(result, data, given["shop"], target["data"] if target else None,
                         measuring.tensioner(given["job"], loop))


def _shown(told, data, target):
    shown = {"tension": told["tension"], "low": told["low"], "high": told["high"], "unit": told["unit"],
             "other": told["other"], "spread": told["spread"], "verdict": told["verdict"]["word"],
             "sentence": told["verdict"]["sentence"], "belt": spanform.belt_line(data),
             "length_error": measuring.shown(data["length_error"]), "working": _working(told)}
    if told["next"]:
        shown["next"] = told["next"]
    if target is not None:
        shown["target"] = _target_line(target["data"]) + ", " + words.label("target_kind", target["data"]["kind"]).lower()
    return shown


def _working(told):
    """The working in one line, as far as a record's text goes."""
    line = ""
    for label, text in told["working"]:
        more = (line + "; " if line else "") + label + ": " + text
        if len(more) > 400:
            break
        line = more
    return line


def _setup_page(request, given, typed, errors, problems, status):
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
    last = card.readings_of(job, loop)
    context = measuring.frame(given, loop, _TITLES[method])
    context.update(spanform.setup_context(typed, method, given["shop"], errors, last[-1]["data"] if last else None))
    belt = _belt_data(job, loop)
    context.update({
        "here": context["path"] + "/tension/" + method, "back": context["path"] + "/tension", "problems": problems,
        "named": True, "caution": words.caution("stopped"), "tabs": spanform.tabs(context["path"] + "/tension/", method),
        "stretch": belt is not None and belt["stretch"]})
    return reply.page("tension_setup.html", context, status)


def _readings_page(request, given, typed, form, data, readings, status):
    loop, method = request["params"]["loop"], request["params"]["method"]
    context = measuring.frame(given, loop, _TITLES[method])
    context.update(spanform.readings_context(typed, form, data, readings))
    told = _told(form, given, loop, data, readings)
    context.update({
        "told": told, "here": context["path"] + "/tension/" + method, "result_path": context["path"] + "/tension/_result",
        "problems": form.problems(spanform.labels(readings)), "saves": True,
        "may_save": len(readings) >= reading.FULL_READINGS and told["some"] and told["decided"], "headline": (data["span"] or "") + " · " + measuring.shown(data["length"])})
    return reply.page("tension_readings.html", context, status)


_TITLES = {"pluck": "Pluck a span", "press": "Press a span"}
