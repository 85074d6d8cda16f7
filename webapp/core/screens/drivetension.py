"""What a recorded drive adds to the tension screens. Nothing here alters a reading."""

from .. import belts
from .. import forms
from .. import numbers
from ..errors import CoreError
from . import driveafter
from . import driveexpect
from . import drivelink
from . import drivespan
from . import measuring
from . import spanform

# Stands for no span where one can be chosen.
NO_SPAN = "none"


def offer(given: dict, loop: str, typed: dict, method: str, choose=None) -> tuple:
    """Return the set-up with what was chosen, and what a page shows to choose a span by.

    Parameters:  given: of the screen, with the job · loop: "1".."3" · typed: a request whose form holds what was typed ·
                 method: "pluck" or "press" · choose: index of the chosen span; "" for the best, unless a span is named
                 already; NO_SPAN fills in the belt alone, None nothing
    Returns:     (the request with the form filled in, {"spans": those of `drivespan.spans`, each with "expected" and "on";
                 "span_on": the one that is on, "spans_open": none is; "spans_lack": `drivelink.lacks` or None, "differ":
                 sentence or ""})
    """
    link = drivelink.of(given["job"], loop, given["shop"])
    found = drivespan.spans(link)
    if choose is not None:
        typed = dict(typed)
        typed["form"] = _filled(link, found, typed["form"], choose)
    _expect_each(found, link, _target(given, loop), typed, method)
    named = ""
    for one in found["spans"]:
        one["on"] = one["name"] == forms.value(typed, "span")
        if one["on"]:
            named = one["name"] + ", " + one["shown"]
    return typed, {"spans": found["spans"], "spans_lack": found["lacks"], "spans_open": bool(found["spans"]) and not named,
                   "span_on": named, "differ": drivelink.two_kinds(link)}


def _filled(link, found, pairs, choose):
    """The chosen span's name and length, and of the drive's belt what is still empty."""
    out = [[pair[0], pair[1]] for pair in pairs if pair[0] != "choose"]
    typed = forms.filled(out)
    one = drivespan.chosen(found, choose)
    if not choose and found["spans"] and not forms.value(typed, "span"):
        one = found["spans"][0]
    if one is not None:
        _put(out, "span", one["name"])
        for name in ("length", "length_error"):
            _put(out, name, one[name]["value"])
            _put(out, name + "_unit", one[name]["unit"])
    belt = link["drive"]["belt"]
    if not forms.value(typed, "section") and belt["section"] is not None:
        _put(out, "section", belt["section"])
        _put(out, "ribs", str(belt["ribs"]) if belt["ribs"] is not None and belts.is_ribbed(belt["section"]) else "")
    if belt["effective_mm"] is None or forms.value(typed, "section") not in ("", belt["section"]):
        return out
    if not forms.value(typed, "belt_length"):
        _put(out, "belt_length", numbers.trimmed(belt["effective_mm"], 1))
        _put(out, "belt_length_unit", "mm")
    if belt["kg_per_m"] is not None and not forms.value(typed, "mass"):
        grams = belt["kg_per_m"] * belts.pitch_length_mm(belt["section"], belt["effective_mm"])
        _put(out, "mass", numbers.trimmed(grams, 1))
        _put(out, "mass_unit", "g")
    return out


def _put(pairs, name, text):
    for pair in pairs:
        if pair[0] == name:
            pair[1] = text
            return
    pairs.append([name, text])


def _expect_each(found, link, target, typed, method):
    """Put the reading to expect beside each span, "" where it cannot be told."""
    form = forms.Reading(typed)
    data = spanform.typed_belt(form)
    data["method"] = method
    data["force"] = form.quantity("force", "force", spanform.FORCE_N[0], spanform.FORCE_N[1]) if method == "press" else None
    unit = "Hz" if method == "pluck" else forms.value(typed, "reading_unit") or link["shop"]["length_unit"]
    told = not form.errors and (method == "pluck" or data["force"] is not None)
    expecting = driveexpect.window(link, target) if told and found["spans"] else {}
    for one in found["spans"]:
        one["expected"] = ""
        if "low_n" in expecting:
            data["length"], data["length_error"] = one["length"], one["length_error"]
            try:
                low, high = driveexpect.band(data, expecting)
                one["expected"] = driveexpect.band_text(low, high, unit)
            except CoreError:
                one["expected"] = ""


def _target(given, loop):
    entry = measuring.target_of(given["job"], loop)
    return entry["data"] if entry else None


def add(told: dict, result, given: dict, loop: str, data: dict, readings: list, unit: str) -> None:
    """Add to a result what the drive says: "expect", hints, questions among the doubts, and the texts for the record.

    Parameters:  told: from `spanform.tell`, changed in place · result: from `spanform.compute` · given: of the screen, with
                 the job · loop: "1".."3" · data: from `spanform.read_setup` without errors · readings: from
                 `spanform.read_readings` · unit: of the readings
    """
    link = drivelink.of(given["job"], loop, given["shop"])
    link["drive"] = drivelink.with_belt(link["drive"], data["section"], data["ribs"], None)
    target = _target(given, loop)
    found = drivespan.spans(link)
    expecting = driveexpect.window(link, target)
    told["expect"] = driveexpect.expected(link, data, expecting, unit)
    if not told["some"]:
        return
    told["doubts"] += driveexpect.questions(found, data, readings, told["expect"], expecting)
    told["record"] = {"length_from": drivespan.where_from(found, data)}
    if "band" in told["expect"]:
        told["record"]["expected"] = told["expect"]["sentence"]
    if told["decided"]:
        told["hints"] = driveafter.hints(link, result, told, target)
    for one in told["hints"]:
        told["record"]["drive"] = _in_a_line(one)
        if one["working"]:
            told["record"]["drive_working"] = measuring.one_line(one["working"])


def picture(given: dict, loop: str, name: str):
    """Return the route with the span to measure marked, None when it is none of the drive's.

    Parameters:  given: of the screen, with the job · loop: "1".."3" · name: of the span as typed
    """
    link = drivelink.of(given["job"], loop, given["shop"])
    return drivespan.picture(link, drivespan.spans(link), name)


def _in_a_line(one):
    """A hint as a record keeps it; a sentence that has its numbers already needs them no second time."""
    told = one["value"] and one["value"] in one["sentence"]
    number = "" if told or not one["value"] else one["value"] + " " + one["unit"] + ", " + one["between"] + ". "
    return (one["title"] + ": " + number + one["sentence"])[:400]
