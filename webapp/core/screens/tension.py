"""Tension: the readings of a span, and what to do next."""

from .. import card
from .. import events
from .. import forms
from .. import reading
from .. import reply
from .. import times
from .. import words
from . import jobs
from . import listening
from . import measuring
from . import photos
from . import spanform


def _drive(job, loop):
    """The module of what a recorded drive adds, None without a drive: such a job does not load the drive's modules."""
    if card.drive_of(job, loop) is None:
        return None
    from . import drivetension
    return drivetension


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
    told = card.standing_step(job, loop, "tension") is not None
    context.update({
        "tensioner": words.label("tensioner", kind), "rule": words.reason("tension-" + kind, {}),
        "marks_decide": kind in measuring.MARKS_DECIDE, "entries": entries, "target": _target_view(target, given),
        "shots": [photos.shot(job, "pointer", loop, context["path"] + "/tension")], "pointer_path": context["path"] + "/step/tension", "pointer_done": told,
        "cautions": card.cautions(job, "tension", loop)})
    adds = _drive(job, loop)
    if adds is not None:
        blank = spanform.blank("pluck", given["shop"], measuring.belt_on(job, loop))
        context.update(adds.offer(given, loop, forms.filled(blank), "pluck", adds.NO_SPAN)[1])
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
            "drive": shown.get("drive", ""), "drive_working": shown.get("drive_working", ""),
            "verdict": {"kind": kind, "word": shown.get("verdict", ""), "sentence": shown.get("sentence", "")},
            "temperature": words.label("engine_temperature", data["engine_temperature"]), "tool": data["tool"] or "", "sounds": listening.kept_sounds(data),
            "who": jobs.person_name(given, entry["who"]), "ago": times.ago(entry["at"], given["now"])}


def _next(context, kind, target, entries):
    """The one main action."""
    if kind in measuring.MARKS_DECIDE:
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


# ---- pluck and press ----

def show(request: dict, given: dict) -> dict:
    """Ask for the set-up of a reading, or show the readings so far; the address holds everything typed."""
    away = measuring.turned_away(request, given, "method", "method")
    if away:
        return away
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
    typed = measuring.query_as_form(request)
    picks = forms.value(typed, "choose") != ""
    fresh = len([pair for pair in request["query"] if pair[0] != "choose"]) == 0
    last = card.readings_of(job, loop)
    if fresh:
        typed["form"] = spanform.blank(method, given["shop"], measuring.belt_on(job, loop), last[-1]["data"] if last else None)
    if picks or not spanform.wants_readings(typed):
        choose = forms.asked(request, "choose") if fresh or picks else None
        return _setup_page(request, given, typed, {}, [], 200, choose)
    typed = forms.filled(spanform.without(typed))
    form = forms.Reading(typed)
    data = spanform.read_setup(form, method, True)
    if form.errors:
        return _setup_page(request, given, typed, form.errors, form.problems(spanform.LABELS), 422)
    readings = spanform.read_readings(form, method)
    return _readings_page(request, given, typed, form, data, readings, 422 if form.errors else 200)


def save(request: dict, given: dict) -> dict:
    """Record a reading with everything typed and everything shown."""
    away = measuring.turned_away(request, given, "method", "method")
    if away:
        return away
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
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
    data["reading_unit"] = _unit(form, method)
    data["shown"] = _shown(told, data, measuring.target_of(job, loop))
    del data["length_error"]
    sounds = listening.sounds_of(request, [r[0] for r in readings])
    if sounds is not None:
        data["sounds"] = sounds
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
    told = spanform.tell(result, data, given["shop"], target["data"] if target else None,
                         measuring.tensioner(given["job"], loop))
    adds = _drive(given["job"], loop)
    if adds is not None:
        adds.add(told, result, given, loop, data, readings, _unit(form, data["method"]))
    return told


def _unit(form, method):
    return "Hz" if method == "pluck" else forms.value(form.request, "reading_unit")


def _shown(told, data, target):
    shown = {"tension": told["tension"], "low": told["low"], "high": told["high"], "unit": told["unit"],
             "other": told["other"], "spread": told["spread"], "verdict": told["verdict"]["word"],
             "sentence": told["verdict"]["sentence"], "belt": spanform.belt_line(data),
             "length_error": measuring.shown(data["length_error"]), "working": measuring.one_line(told["working"])}
    if told["next"]:
        shown["next"] = told["next"]
    if target is not None:
        shown["target"] = measuring.window(target["data"]) + ", " + words.label("target_kind", target["data"]["kind"]).lower()
    shown.update(told.get("record", {}))
    return shown


def _setup_page(request, given, typed, errors, problems, status, choose=None):
    job, loop, method = given["job"], request["params"]["loop"], request["params"]["method"]
    last = card.readings_of(job, loop)
    context = measuring.frame(given, loop, _TITLES[method])
    adds = _drive(job, loop)
    if adds is not None:
        typed, offered = adds.offer(given, loop, typed, method, choose)
        context.update(offered)
    context.update(spanform.setup_context(typed, method, given["shop"], errors, last[-1]["data"] if last else None))
    belt = measuring.belt_on(job, loop)
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
    listening.expect(context["listen"], told)
    if context["listen"] is not None:
        context["listen"]["keeps"] = True
    adds = _drive(given["job"], loop)
    context.update({
        "route": adds.picture(given, loop, data["span"]) if adds is not None else None,
        "told": told, "here": context["path"] + "/tension/" + method, "result_path": context["path"] + "/tension/_result",
        "problems": form.problems(spanform.labels(readings)), "saves": True,
        "may_save": len(readings) >= reading.FULL_READINGS and told["some"] and told["decided"], "headline": (data["span"] or "") + " · " + measuring.shown(data["length"])})
    return reply.page("tension_readings.html", context, status)


_TITLES = {"pluck": "Pluck a span", "press": "Press a span"}
