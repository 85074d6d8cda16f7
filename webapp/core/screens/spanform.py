"""A span reading as a form: the set-up, the readings one by one, and the result in words.

The tension screens of a job and the quick sum without a job both use it. Everything typed travels in the
address until it is saved, so a reload, a killed page or a phone without scripts loses nothing.
"""

from .. import belts
from .. import forms
from .. import numbers
from .. import reading
from .. import units
from .. import words
from ..errors import CoreError
from . import listening
from . import measuring

# Limits in SI; wide, so that they only stop slips of the finger and swapped units.
SPAN_M = (0.04, 1.5)
ERROR_M = (0.0, 0.05)
MASS_KG = (0.015, 5.0)
BELT_M = (0.2, 6.0)
FORCE_N = (2.0, 300.0)
HZ = (5.0, 1000.0)
DEFLECTION_M = (0.0005, 0.08)
USUAL_ERROR = {"value": "2", "unit": "mm"}

SETUP = ["span", "length", "length_unit", "length_error", "length_error_unit", "section", "ribs", "mass", "mass_unit",
         "belt_length", "belt_length_unit", "force", "force_unit", "engine_temperature", "tool", "reading_unit"]
LABELS = [["span", "Span"], ["length", "Span length"], ["length_error", "Length good to"], ["section", "Kind of belt"],
          ["ribs", "Ribs"], ["mass", "Mass of the whole belt"], ["belt_length", "Printed length of the belt"],
          ["force", "Force"], ["engine_temperature", "Engine"], ["tool", "Tool"], ["readings", "Readings"]]
SECTIONS = [["PK", "Ribbed, car size (PK)"], ["PJ", "Ribbed, fine (PJ)"], ["AV10", "V-belt, 10 mm"],
            ["AV13", "V-belt, 13 mm"]]
VERDICTS = {"inside": ("good", "Inside the target"), "low": ("stop", "Too low"), "high": ("stop", "Too high"),
            "cannot_tell": ("watch", "Cannot tell yet"), "none": ("open", "No target yet")}
SECOND = {"N": "lbf", "lbf": "N", "kgf": "N"}


def blank(method: str, shop: dict, belt=None, last=None) -> list:
    """Return what the set-up holds before anything is typed, as [[name, text], ...].

    Parameters:  method: "pluck" or "press" · shop: the workshop's settings · belt: data of the belt that is on, or
                 None · last: data of this belt's last reading, or None
    """
    unit = shop["length_unit"]
    typed = [["length_unit", unit], ["length_error", "2"], ["length_error_unit", "mm"], ["mass_unit", "g"],
             ["belt_length_unit", unit], ["force_unit", shop["force_unit"]], ["reading_unit", unit],
             ["engine_temperature", "cold"]]
    if belt is not None:
        ribs = belt["ribs"] if belt["ribs"] is not None else belt["ribs_counted"]
        typed += [["section", belt["section"] or ""], ["ribs", "" if ribs is None else str(ribs)]]
        if belt["length"] is not None:
            typed = [pair for pair in typed if pair[0] != "belt_length_unit"]
            typed += [["belt_length", belt["length"]["value"]], ["belt_length_unit", belt["length"]["unit"]]]
    if last is not None:
        typed = [pair for pair in typed if pair[0] not in ("length_unit", "engine_temperature")]
        typed += [["span", last["span"]], ["length", last["length"]["value"]], ["length_unit", last["length"]["unit"]],
                  ["engine_temperature", last["engine_temperature"]], ["tool", last["tool"] or ""]]
    return typed


def read_setup(form, method: str, named: bool) -> dict:
    """Read the set-up; what is wrong is noted in the form.

    Parameters:  form: forms.Reading · method: "pluck" or "press" · named: whether the span needs a name
    Returns:     {"method", "span", "length", "length_error", "section", "ribs", "mass", "belt_length", "force",
                 "engine_temperature", "tool"}; quantities as recorded, None where empty or wrong
    """
    data = {"method": method, "span": form.text("span", 60, named),
            "length": form.quantity("length", "length", SPAN_M[0], SPAN_M[1], True),
            "length_error": form.quantity("length_error", "length", ERROR_M[0], ERROR_M[1]) or USUAL_ERROR,
            "mass": form.quantity("mass", "mass", MASS_KG[0], MASS_KG[1]),
            "belt_length": form.quantity("belt_length", "length", BELT_M[0], BELT_M[1]),
            "force": None, "tool": form.text("tool", 80), "engine_temperature": "cold",
            "section": forms.value(form.request, "section"), "ribs": None}
    if method == "press":
        data["force"] = form.quantity("force", "force", FORCE_N[0], FORCE_N[1], True)
    if named:
        data["engine_temperature"] = form.choice("engine_temperature", "engine_temperature")
    if data["section"] not in belts.section_names():
        form.fail("section", "not-a-choice")
    elif belts.is_ribbed(data["section"]):
        data["ribs"] = measuring.whole(form, "ribs", 1, 60, True)
    if data["mass"] is not None and data["belt_length"] is None:
        form.fail("belt_length", "belt-length-needed")
    if not form.errors:
        _try_belt(form, data)
    return data


def _try_belt(form, data):
    try:
        belt_of(data)
    except CoreError as error:
        field = "mass" if error.code == "no-mass" else _FIELDS.get(error.field, error.field)
        form.fail(field, error.code, error.values)
    length, error = units.to_si(data["length"], "length"), units.to_si(data["length_error"], "length")
    if error >= length / 2:
        form.fail("length_error", "error-too-large")


def belt_of(data: dict) -> dict:
    """Return what the formulas need of the belt.

    Parameters:  data: from `read_setup`
    Returns:     {"kg_per_m", "low", "high", "source"} [kg/m] and {"bending", "axial"} as (low, high) [N m2, N]
    Raises:      CoreError of `core.belts`
    """
    if data["mass"] is not None:
        found = belts.mass_from_weighing(units.to_si(data["mass"], "mass"),
                                         units.to_si(data["belt_length"], "length") * 1000, data["section"])
    else:
        found = belts.mass_per_m(data["section"], data["ribs"])
    found["bending"] = belts.bending_nm2(data["section"], data["ribs"])
    found["axial"] = belts.axial_n(data["section"], data["ribs"])
    return found


# The formulas' own names for what the form calls otherwise.
_FIELDS = {"hz": "readings", "deflection_m": "readings", "length_m": "length", "length_error": "length_error",
           "force_n": "force", "force": "force", "kg_per_m": "mass"}


def read_readings(form, method: str) -> list:
    """Read the list of readings; empty ones are left out, what is wrong is noted under "reading-1", "reading-2" …

    Parameters:  form: forms.Reading · method: "pluck" or "press"
    Returns:     [[text as typed, clean decimal text or None when wrong, value in SI or None], ...] [Hz or m]
    """
    limits, dimension = (HZ, "frequency") if method == "pluck" else (DEFLECTION_M, "length")
    unit = "Hz" if method == "pluck" else forms.value(form.request, "reading_unit")
    out = []
    for typed in forms.values(form.request, "reading"):
        if not typed:
            continue
        name = "reading-" + str(len(out) + 1)
        try:
            quantity = units.read_quantity(typed, unit, dimension, name, limits[0], limits[1])
            out.append([typed, quantity["value"], units.to_si(quantity, dimension)])
        except CoreError as error:
            form.fail(name, error.code, error.values)
            out.append([typed, None, None])
    if len(out) > reading.MOST_READINGS:
        form.fail("readings", "too-many", {"most": str(reading.MOST_READINGS)})
    return out


def wants_readings(request: dict) -> bool:
    """Tell whether the address asks for the readings rather than the set-up.

    Parameters:  request: with everything in its form
    """
    for name in ("drop", "only"):
        if forms.value(request, name):
            return True
    return forms.value(request, "step") == "read"


def without(request: dict) -> list:
    """Return the request's pairs after a question about one reading was answered.

    `drop=2` takes the second reading out; `only=2` leaves the ones that agree with it. Readings are never averaged
    across that question.

    Parameters:  request: with everything in its form
    """
    drop, only = forms.value(request, "drop"), forms.value(request, "only")
    typed = [text for text in forms.values(request, "reading") if text]
    kept = typed
    if drop:
        kept = [typed[i] for i in range(len(typed)) if str(i + 1) != drop]
    elif only:
        kept = _agreeing(typed, only)
    out = [pair for pair in request["form"] if pair[0] not in ("reading", "drop", "only")]
    return out + [["reading", text] for text in kept]


def _agreeing(typed, place):
    """The readings within a quarter of the one in that place."""
    values = []
    for text in typed:
        try:
            values.append(numbers.read_number(text, "reading"))
        except CoreError:
            values.append(0.0)
    for i in range(len(values)):
        if str(i + 1) == place and values[i] > 0:
            return [typed[k] for k in range(len(values)) if abs(values[k] / values[i] - 1) < 0.25]
    return typed


def compute(form, data: dict, readings: list):
    """Return the result of `core.reading`, None while there is none; what is wrong is noted in the form.

    Parameters:  form: forms.Reading · data: from `read_setup` without errors · readings: from `read_readings`
    """
    values = [r[2] for r in readings if r[2] is not None]
    if form.errors or not values:
        return None
    belt = belt_of(data)
    length, error = units.to_si(data["length"], "length"), units.to_si(data["length_error"], "length")
    try:
        if data["method"] == "pluck":
            return reading.pluck(values, length, error, belt["kg_per_m"], belt["low"], belt["high"], belt["bending"][0],
                                 belt["bending"][1])
        belt_m = None if data["belt_length"] is None else units.to_si(data["belt_length"], "length")
        return reading.press(units.to_si(data["force"], "force"), values, length, error, belt["bending"][0],
                             belt["bending"][1], belt["axial"][0], belt["axial"][1], belt_m)
    except CoreError as wrong:
        form.fail(_FIELDS.get(wrong.field, wrong.field or "readings"), wrong.code, wrong.values)
    return None


def tell(result, data: dict, shop: dict, target, tensioner: str) -> dict:
    """Return a result as finished texts.

    Parameters:  result: from `compute`, or None · data: from `read_setup` · shop: the workshop's settings ·
                 target: data of the "target_set" entry, or None · tensioner: code of words.CHOICES["tensioner"]
    Returns:     {"some", "decided", "tension", "low", "high", "unit", "other", "verdict": {"kind", "word",
                 "sentence"}, "code": key of VERDICTS, "next", "doubts", "questions", "spread", "apart", "parts", "working",
                 "hints": what a recorded drive adds, none here}
    """
    if result is None:
        return {"some": False}
    unit = shop["force_unit"]
    told = {"some": True, "decided": result["tension_n"] is not None, "unit": unit, "next": "", "tension": "", "low": "",
            "high": "", "other": "", "code": "none", "hints": [], "spread": numbers.fixed(result["spread_percent"], 1) + " %",
            "doubts": [words.reason(d[0], d[1]) for d in result["doubts"] if d[0] != "octave"],
            "questions": [_question(d[1]) for d in result["doubts"] if d[0] == "octave"],
            "apart": "", "parts": _parts(result, data), "working": [[words.label("working", w[0]), w[1]] for w in result["working"][:_steps(result)]]}
    if not told["decided"]:
        told["verdict"] = {"kind": "watch", "word": "One reading stands out", "sentence": words.reason("verdict-octave", {})}
        return told
    ends = [units.from_si(result[key], unit, "force") for key in ("tension_n", "low_n", "high_n")]
    told["tension"], told["low"], told["high"] = numbers.with_interval(ends[0], ends[1], ends[2])
    if result["spread_percent"] > 0:
        told["apart"] = words.reason("apart", {"percent": told["spread"]})
    second = SECOND[unit]
    other = [units.from_si(result[key], second, "force") for key in ("tension_n", "low_n", "high_n")]
    told["other"] = numbers.with_interval(other[0], other[1], other[2])[0] + " " + second
    if target is None:
        told["verdict"] = {"kind": "open", "word": VERDICTS["none"][1], "sentence": words.reason("no-target", {})}
        return told
    judged = reading.judge(result, units.to_si(target["low"], "force"), units.to_si(target["high"], "force"),
                           target["belt_state"], tensioner, unit)
    kind, word = VERDICTS[judged["verdict"]]
    told["verdict"] = {"kind": kind, "word": word, "sentence": judged["sentence"]}
    told["code"] = judged["verdict"]
    told["next"] = judged["next"]
    return told


def _steps(result):
    """How many lines of the working come before the list of errors, which has a table of its own."""
    return len(result["working"]) - len(result["parts"]) - 1


def _question(values):
    return {"place": values["place"], "reading": values["reading"], "sentence": words.reason("octave", values)}


def _parts(result, data):
    """[[what, its effect in per cent, where its size comes from], ...]"""
    belt = belt_of(data)
    error = measuring.shown(data["length_error"])
    sources = {"readings": "spread of your readings, with the usual spread of one",
               "length": "span length good to " + error,
               "mass": "weighed, with the scale's error" if data["mass"] else "usual mass of such a belt: " + belt["source"],
               "zero": "zero of the rule good to 0.5 mm", "force": "force gauge good to 5 %",
               "stretch": "the belt's own stretch, from papers and static tests (from memory)",
               "ends": "the belt is stiff: ends between hinged and clamped"}
    return [[words.label("part", name), _signed(low) + " to " + _signed(high) + " %", sources[name]]
            for name, low, high in result["parts"]]


def _signed(percent):
    text = numbers.fixed(percent, 1)
    return "\u2212" + text[1:] if text[0] == "-" else "+" + text


def fields(typed: dict, method: str, shop: dict, errors: dict, last=None) -> dict:
    """Return the set-up's fields for the templates.

    Parameters:  typed: a request whose form holds what was typed · method: "pluck" or "press" · shop: the workshop's
                 settings · errors: sentences by field · last: data of this belt's last reading, or None
    """
    length_units, value = units.names("length"), forms.value
    q = measuring.typed_quantity
    section = value(typed, "section")
    offered = SECTIONS if section in ("",) + tuple([s[0] for s in SECTIONS]) else SECTIONS + [[section, section]]
    before = "Last time: " + measuring.shown(last["length"]) + ". " if last else ""
    return {
        "span": forms.field("span", "Which span?", value(typed, "span"), errors,
                            "The two pulleys it runs between, such as crank – alternator."),
        "length": measuring.measure("length", "How long is it?", q(typed, "length"), shop["length_unit"], length_units, errors,
                                    before + "From where the belt leaves one pulley to where it meets the next."),
        "length_error": measuring.measure("length_error", "Length good to ±", q(typed, "length_error"), "mm", length_units,
                                          errors),
        "section": forms.tiles("section", "What kind of belt?", offered, [section], errors),
        "ribs": forms.field("ribs", "How many ribs?", value(typed, "ribs"), errors, "Empty for a V-belt.", mode="numeric", most=2),
        "mass": measuring.measure("mass", "Weighed: the whole belt", q(typed, "mass"), "g", ["g", "oz"], errors,
                                  "Empty: the usual mass is taken, and the interval is wider."),
        "belt_length": measuring.measure("belt_length", "Printed length of the belt", q(typed, "belt_length"), shop["length_unit"],
                                         length_units, errors),
        "force": measuring.measure("force", "How hard do you press?", q(typed, "force"), shop["force_unit"],
                                   units.names("force"), errors, "At the middle of the span, square to it."),
        "engine_temperature": forms.tiles("engine_temperature", "Engine", words.choice_pairs("engine_temperature"),
                                          [value(typed, "engine_temperature")], errors),
        "tool": forms.field("tool", "Measured with", value(typed, "tool"), errors, "Phone app, frequency meter, gauge …", most=80)}


def tabs(path: str, method: str) -> list:
    """Return the links between the two ways to measure.

    Parameters:  path: address without the method's code at its end · method: the one that is open
    """
    return [{"path": path + code, "name": name, "here": code == method} for code, name in (["pluck", "Pluck"], ["press", "Press"])]


def belt_line(data: dict) -> str:
    """Return the belt and its mass in one line, such as "6 PK, 0.108 kg/m (usual)".

    Parameters:  data: from `read_setup` without errors
    """
    belt = belt_of(data)
    name = (str(data["ribs"]) + " " if data["ribs"] else "") + data["section"]
    return name + ", " + numbers.short(belt["kg_per_m"], 3) + " kg/m (" + ("weighed" if data["mass"] else "usual") + ")"


def reading_rows(readings: list, errors: dict, unit: str) -> list:
    """Return the readings' fields, with an empty one for the next.

    Parameters:  readings: from `read_readings` · errors: sentences by field · unit: shown behind each
    """
    rows = [_reading_row(i + 1, readings[i][0], errors.get("reading-" + str(i + 1), ""), unit, False) for i in range(len(readings))]
    if len(readings) < reading.MOST_READINGS:
        rows.append(_reading_row(len(readings) + 1, "", "", unit, True))
    return rows


def _reading_row(place, value, error, unit, new):
    return {"name": "reading-" + str(place), "label": "Reading " + str(place), "value": value, "error": error, "unit": unit, "new": new}


def labels(readings: list) -> list:
    """Return the labels of all fields for the summary of errors.

    Parameters:  readings: from `read_readings`
    """
    return LABELS + [["reading-" + str(i + 1), "Reading " + str(i + 1)] for i in range(len(readings))]


def typed_belt(form) -> dict:
    """Return the belt as far as it was typed; what is wrong is noted in the form.

    Parameters:  form: forms.Reading
    Returns:     {"section", "ribs", "mass", "belt_length"} as `read_setup`
    """
    data = {"section": forms.value(form.request, "section"), "ribs": None, "mass": None, "belt_length": None}
    if data["section"] in belts.section_names():
        data["ribs"] = measuring.whole(form, "ribs", 1, 60)
        data["mass"] = form.quantity("mass", "mass", MASS_KG[0], MASS_KG[1])
        data["belt_length"] = form.quantity("belt_length", "length", BELT_M[0], BELT_M[1])
    return data


def setup_context(typed: dict, method: str, shop: dict, errors: dict, last=None) -> dict:
    """Return what the set-up page shows.

    Parameters:  typed, method, shop, errors, last: as for `fields`
    """
    rare = ("section", "ribs", "mass", "belt_length", "length_error", "tool")
    known = ""
    form = forms.Reading(typed)
    data = typed_belt(form)
    if data["section"] in belts.section_names():
        try:
            known = "" if form.errors or (data["mass"] and not data["belt_length"]) else belt_line(data)
        except CoreError:
            known = ""
    return {"f": fields(typed, method, shop, errors, last), "method": method, "press": method == "press",
            "belt_known": known, "rare_open": not known or len([name for name in rare if name in errors]) > 0,
            "carried": [["reading", text] for text in forms.values(typed, "reading") if text]
                       + [["reading_unit", forms.value(typed, "reading_unit") or shop["length_unit"]]]}


def readings_context(typed: dict, form, data: dict, readings: list) -> dict:
    """Return what the readings page shows apart from the result.

    Parameters:  typed: the request whose form holds everything · form: forms.Reading · data: from `read_setup` ·
                 readings: from `read_readings`
    """
    pluck = data["method"] == "pluck"
    unit = "Hz" if pluck else forms.value(typed, "reading_unit")
    rows = reading_rows(readings, form.errors, unit)
    summary = [["Belt", belt_line(data)], ["Span length", measuring.shown(data["length"]) + " ± " + measuring.shown(data["length_error"])]]
    if data["force"] is not None:
        summary.append(["Force", measuring.shown(data["force"])])
    further = [_reading_row(i + 1, "", "", unit, False) for i in range(len(rows), reading.MOST_READINGS)]
    return {"method": data["method"], "rows": rows, "listen": listening.offer(further) if pluck else None, "summary": summary, "count": str(len(readings)),
            "carried": [[pair[0], pair[1]] for pair in typed["form"] if pair[0] in SETUP and (pluck or pair[0] != "reading_unit")],
            "units": [] if pluck else [{"value": u, "on": u == unit} for u in units.names("length")],
            "unit": unit, "what": "Frequency" if pluck else "How far it gives"}
