"""A span reading: from what was measured to newtons with an honest interval, and one plain verdict."""

import math

from . import belts
from . import numbers
from . import span
from . import spread
from . import units
from . import words
from .errors import CoreError

MOST_READINGS = 12
FULL_READINGS = 3
# Usual relative spread of one reading, and the spread over all of them that deserves a second look (our judgement).
USUAL_HZ = 0.01
USUAL_DEFLECTION = 0.03
SPREAD_LIMIT_PERCENT = 5.0
PRESS_SPREAD_LIMIT_PERCENT = 15.0
# A reading this close to a multiple of the others is taken for another mode of the belt.
_NEAR = 0.12
_MULTIPLES = [[2.0, "2"], [0.5, "1/2"], [3.0, "3"], [1.0 / 3.0, "1/3"]]
# The end effect past which the span is too short to trust.
_SHORT_SPAN = 0.25
# Where the end effect leaves no tension at all, this part of it is kept, so that the interval stays finite.
_LEAST_PART = 0.05
# Belt lengths assumed when nobody gave one [m].
_BELT_M = (0.7, 2.5)
# A verdict needs this much of the interval on one side of the window's edge (our judgement).
_ENOUGH = 0.8

# Tension of one PK rib [N]: seen in vehicle service manuals of fixed-centre drives, rib counts assumed.
_GUIDE = {"new": (110.0, 200.0), "used": (70.0, 120.0)}
GUIDE_SOURCE = "Guideline per rib from service manuals of several cars; not data for this car"
# Tension that a belt may plausibly run at [N]: per PK rib, and a whole belt of another section (our judgement).
_LIKELY_RIB = (40.0, 260.0)
_LIKELY_BELT = (100.0, 2500.0)

_GROUPS = [["eccentric", "manual"], ["slotted", "manual"], ["lead_screw", "manual"], ["automatic", "arm"],
           ["automatic_set", "set"], ["hydraulic", "arm"], ["stretch_fit", "stretch"], ["fixed", "fixed"],
           ["two_arm", "arm"]]


def _check_readings(values, field):
    if not values:
        raise CoreError("empty", field)
    if len(values) > MOST_READINGS:
        raise CoreError("too-many", field, {"most": str(MOST_READINGS)})
    for v in values:
        if not math.isfinite(v) or v <= 0:
            raise CoreError("not-positive", field)


def _check_error(error, value, field):
    if not math.isfinite(error) or error < 0 or error >= value:
        raise CoreError("error-too-large", field)


def octaves(readings_hz: list) -> list:
    """Find readings near twice, half, three times or a third of most others.

    A belt rings in several modes; a reading of another mode gives four times or a quarter
    of the tension, so it is asked about and never averaged in.

    Parameters:  readings_hz: frequencies, above 0 [Hz]
    Returns:     [[index, times], ...] with times "2", "1/2", "3" or "1/3"
    Source:      modes of a string, Rao, Vibration of Continuous Systems, ch. 8
    """
    best = []
    for r in readings_hz:
        near = [x for x in readings_hz if abs(x / r - 1) <= _NEAR]
        if len(near) > len(best):
            best = near
    usual = spread.mean(best) if best else 0.0
    out = []
    for i in range(len(readings_hz)):
        for ratio, times in _MULTIPLES:
            if abs(readings_hz[i] / usual / ratio - 1) <= _NEAR:
                out.append([i, times])
    return out


def _spread_percent(values):
    return (max(values) - min(values)) / spread.mean(values) * 100


def _undecided(readings_hz, found):
    doubts = [["octave", {"place": str(i + 1), "reading": numbers.short(readings_hz[i]), "times": times}]
              for i, times in found]
    return {"tension_n": None, "low_n": None, "high_n": None, "hz": None,
            "spread_percent": _spread_percent(readings_hz), "doubts": doubts, "parts": [], "working": []}


def _tension_or_floor(hz, length_m, kg_per_m, bending_nm2, ends, string_n):
    """The tension with stiff ends, kept above a small part of the string's where stiffness explains it all."""
    try:
        tension = span.tension_from_frequency(hz, length_m, kg_per_m, bending_nm2, ends)
    except CoreError:
        return _LEAST_PART * string_n
    return max(tension, _LEAST_PART * string_n)


def _doubts(values, percent, limit, share):
    out = []
    if len(values) < FULL_READINGS:
        out.append(["few-readings", {"count": str(len(values)), "full": str(FULL_READINGS)}])
    if percent > limit:
        out.append(["spread", {"percent": numbers.fixed(percent, 0), "limit": numbers.fixed(limit, 0)}])
    if share > _SHORT_SPAN:
        out.append(["short-span", {"percent": numbers.fixed(share * 100, 0)}])
    return out


def pluck(readings_hz: list, length_m: float, length_error_m: float, kg_per_m: float, kg_low: float, kg_high: float,
          bending_low: float, bending_high: float) -> dict:
    """Return the tension of a plucked span with its 95 % interval.

    The string formula T = 4 m L^2 f^2 reads too high, since a belt is stiff where it leaves
    the pulley. A real span lies between pinned and clamped ends: every place between the two
    is taken as equally likely and the middle is the value given.

    Parameters:  readings_hz: 1 to 12 frequencies [Hz], 3 or more for a full answer · length_m: free
                 span, tangent to tangent [m] · length_error_m: greatest error of it [m] ·
                 kg_per_m, kg_low, kg_high: belt mass and its limits [kg/m] · bending_low,
                 bending_high: limits of the bending stiffness [N m2]
    Returns:     {"tension_n", "low_n", "high_n", "hz": mean, "spread_percent", "doubts":
                 [[code, values], ...], "parts": [[name, low percent, high percent], ...],
                 "working": [[label, text], ...]}; tensions are None while an octave is undecided
    Valid:       belt stopped, ordinary belt
    Raises:      CoreError "empty", "too-many", "not-positive", "error-too-large", "out-of-order"
    Source:      `span` for the formulas, JCGM 100 and 101 for the interval; tests/core/test_coverage.py
    """
    _check_readings(readings_hz, "readings")
    _check_error(length_error_m, length_m, "length_error")
    if not 0 < kg_low <= kg_per_m <= kg_high or not 0 <= bending_low <= bending_high:
        raise CoreError("out-of-order", "mass")
    found = octaves(readings_hz)
    if found:
        return _undecided(readings_hz, found)
    hz = spread.mean(readings_hz)
    string = span.tension_from_frequency(hz, length_m, kg_per_m)
    pinned = _tension_or_floor(hz, length_m, kg_per_m, bending_low, "pinned", string)
    clamped = _tension_or_floor(hz, length_m, kg_per_m, bending_high, "clamped", string)
    tension = math.sqrt(pinned * clamped)
    reading = 2 * spread.mean_error(readings_hz, USUAL_HZ)
    length = 2 * length_error_m / length_m
    ends = spread.interval(math.log(kg_low / kg_per_m), math.log(kg_high / kg_per_m), 0.5 * math.log(pinned / clamped),
                           math.sqrt(reading * reading + length * length / 3))
    percent = _spread_percent(readings_hz)
    parts = [["readings", -196 * reading, 196 * reading], ["length", -100 * length, 100 * length],
             ["mass", (kg_low / kg_per_m - 1) * 100, (kg_high / kg_per_m - 1) * 100],
             ["ends", (clamped / string - 1) * 100, (pinned / string - 1) * 100]]
    result = {"tension_n": tension, "low_n": tension * math.exp(ends[0]), "high_n": tension * math.exp(ends[1]),
              "hz": hz, "spread_percent": percent, "parts": parts,
              "doubts": _doubts(readings_hz, percent, SPREAD_LIMIT_PERCENT, 1 - clamped / string)}
    result["working"] = _pluck_working(result, readings_hz, length_m, kg_per_m, [string, pinned, clamped])
    return result


def _listed(values, factor=1.0):
    return ", ".join([numbers.short(v * factor) for v in values])


def _closing(result):
    """The last lines of a working: what each error may do, and the answer."""
    out = []
    for name, low, high in result["parts"]:
        out.append([name, _signed(low) + " % to " + _signed(high) + " %"])
    value, low, high = numbers.with_interval(result["tension_n"], result["low_n"], result["high_n"])
    out.append(["answer", "T = " + value + " N, 95 % interval " + low + " to " + high + " N"])
    return out


def _signed(percent):
    text = numbers.fixed(percent, 1)
    return text if text[0] == "-" or text == "0.0" else "+" + text


def _pluck_working(result, readings_hz, length_m, kg_per_m, tensions):
    mass, length, hz = numbers.short(kg_per_m), numbers.short(length_m), numbers.short(result["hz"])
    string, pinned, clamped = [numbers.short(t) for t in tensions]
    return [["formula", "T = 4 m L\u00b2 f\u00b2"],
            ["mean", "f = mean of " + _listed(readings_hz) + " = " + hz + " Hz"],
            ["numbers", "T = 4 x " + mass + " kg/m x (" + length + " m)\u00b2 x (" + hz + " Hz)\u00b2 = " + string + " N"],
            ["stiff", "ends pinned: " + pinned + " N; ends clamped: " + clamped + " N; middle: "
             + numbers.short(result["tension_n"]) + " N"]] + _closing(result)


def press(force_n: float, deflections_m: list, length_m: float, length_error_m: float, bending_low: float,
          bending_high: float, axial_low: float, axial_high: float, belt_m: float = None, force_error: float = 0.05,
          deflection_error_m: float = 0.0005) -> dict:
    """Return the tension of a span pressed at its middle, with its 95 % interval.

    Parameters:  force_n: force at the middle [N] · deflections_m: 1 to 12 deflections [m] ·
                 length_m: free span [m] · length_error_m: greatest error of it [m] ·
                 bending_low, bending_high: limits of the bending stiffness [N m2] · axial_low,
                 axial_high: limits of the axial stiffness [N] · belt_m: whole belt's length [m],
                 None when not known · force_error: greatest relative error of the force [-] ·
                 deflection_error_m: greatest error common to all deflections [m]
    Returns:     as `pluck`, with "hz" None
    Valid:       ordinary belt, deflection below half the span
    Raises:      CoreError "empty", "too-many", "not-positive", "error-too-large", "out-of-order",
                 "too-deep-press", "no-tension" when stretch alone explains the force
    Source:      `span` for the formulas, JCGM 100 and 101 for the interval; force error 5 % and
                 deflection error 0.5 mm are our judgement
    """
    _check_readings(deflections_m, "readings")
    _check_error(length_error_m, length_m, "length_error")
    _check_error(force_error, 1.0, "force")
    _check_error(deflection_error_m, min(deflections_m), "readings")
    if not 0 <= axial_low <= axial_high or not 0 <= bending_low <= bending_high:
        raise CoreError("out-of-order", "section")
    deflection = spread.mean(deflections_m)
    pressed = span.tension_from_deflection(force_n, deflection, length_m)
    least_m, most_m = (belt_m, belt_m) if belt_m else _BELT_M
    slack = pressed - span.tension_from_deflection(force_n, deflection, length_m, 1.0, 1.0)
    stretch_low, stretch_high = slack * axial_low / most_m, slack * axial_high / least_m
    before = pressed - 0.5 * (stretch_low + stretch_high)
    if before <= _LEAST_PART * pressed:
        raise CoreError("no-tension", "readings")
    pinned = 1 - span.stiffness_share(before, length_m, bending_low, "pinned")
    clamped = max(_LEAST_PART, 1 - span.stiffness_share(before, length_m, bending_high, "clamped"))
    tension = before * math.sqrt(pinned * clamped)
    # One per cent more of force, length or deflection moves the tension by `lever` per cent.
    lever = pressed / before
    reading = lever * spread.mean_error(deflections_m, USUAL_DEFLECTION)
    zero, length = lever * deflection_error_m / deflection, lever * length_error_m / length_m
    force = lever * force_error
    sigma = math.sqrt(reading * reading + (zero * zero + length * length + force * force) / 3)
    low = math.log(max(_LEAST_PART, (pressed - stretch_high) / before))
    high = math.log((pressed - stretch_low) / before)
    ends = spread.interval(low, high, 0.5 * math.log(pinned / clamped), sigma)
    percent = _spread_percent(deflections_m)
    result = {"tension_n": tension, "low_n": tension * math.exp(ends[0]), "high_n": tension * math.exp(ends[1]),
              "hz": None, "spread_percent": percent,
              "doubts": _doubts(deflections_m, percent, PRESS_SPREAD_LIMIT_PERCENT, 1 - clamped),
              "parts": [["readings", -196 * reading, 196 * reading], ["zero", -100 * zero, 100 * zero],
                        ["force", -100 * force, 100 * force], ["length", -100 * length, 100 * length],
                        ["stretch", (math.exp(low) - 1) * 100, (math.exp(high) - 1) * 100],
                        ["ends", (clamped - 1) * 100, (pinned - 1) * 100]]}
    if belt_m is None and axial_high > 0:
        result["doubts"].append(["no-belt-length", {}])
    result["working"] = _press_working(result, force_n, deflections_m, length_m, [pressed, before])
    return result


def _press_working(result, force_n, deflections_m, length_m, tensions):
    force, length = numbers.short(force_n), numbers.short(length_m * 1000)
    deflection = numbers.short(spread.mean(deflections_m) * 1000)
    pressed, before = [numbers.short(t) for t in tensions]
    return [["formula", "T = F \u221a((L/2)\u00b2 + d\u00b2) / (2 d)"],
            ["mean", "d = mean of " + _listed(deflections_m, 1000) + " = " + deflection + " mm"],
            ["numbers", "T = " + force + " N x \u221a((" + length + " mm / 2)\u00b2 + (" + deflection + " mm)\u00b2) / (2 x "
             + deflection + " mm) = " + pressed + " N"],
            ["unpressed", "less the pull that pressing adds: " + before + " N"],
            ["stiff", "less the belt's stiffness: " + numbers.short(result["tension_n"]) + " N"]] + _closing(result)


def _group(tensioner):
    for code, group in _GROUPS:
        if code == tensioner:
            return group
    return "unknown"


def judge(result: dict, low_n: float, high_n: float, belt_state: str, tensioner: str, unit: str = "N") -> dict:
    """Say whether a reading lies in its target window, and what to do next.

    A verdict needs four fifths of the 95 % interval, and the value itself, on one side of the
    window's edge; otherwise the reading cannot tell.

    Parameters:  result: from `pluck` or `press` · low_n, high_n: target window [N] · belt_state: code
                 of words.CHOICES["belt_state"] · tensioner: code of words.CHOICES["tensioner"] ·
                 unit: force unit for the sentence
    Returns:     {"verdict": "inside" | "low" | "high" | "cannot_tell", "sentence", "next", "codes":
                 [sentence code, next code]}
    Raises:      CoreError "out-of-order" when low_n is not below high_n; "unknown-unit"
    Source:      what to do by kind of tensioner: common practice, no source
    """
    if not 0 < low_n < high_n:
        raise CoreError("out-of-order", "low")
    group = _group(tensioner)
    if result["tension_n"] is None:
        return _verdict("cannot_tell", ["verdict-octave", "next-octave"], {})
    verdict = _place(result, low_n, high_n)
    value, low, high = numbers.with_interval(
        units.from_si(result["tension_n"], unit, "force"), units.from_si(result["low_n"], unit, "force"),
        units.from_si(result["high_n"], unit, "force"))
    values = {"value": value, "low": low, "high": high, "unit": unit,
              "from": numbers.short(units.from_si(low_n, unit, "force")),
              "to": numbers.short(units.from_si(high_n, unit, "force"))}
    following = "next-" + group + "-" + verdict.replace("_", "-")
    if group == "manual" and verdict == "inside":
        following += "-" + belt_state
    if verdict == "cannot_tell" and group not in ("arm", "set"):
        following = "next-cannot-tell"
    return _verdict(verdict, ["verdict-" + verdict.replace("_", "-"), following], values)


def _place(result, low_n, high_n):
    width = result["high_n"] - result["low_n"]
    below = min(max((low_n - result["low_n"]) / width, 0.0), 1.0)
    above = min(max((result["high_n"] - high_n) / width, 0.0), 1.0)
    if below >= _ENOUGH and result["tension_n"] < low_n:
        return "low"
    if above >= _ENOUGH and result["tension_n"] > high_n:
        return "high"
    if 1 - below - above >= _ENOUGH and low_n <= result["tension_n"] <= high_n:
        return "inside"
    return "cannot_tell"


def _verdict(verdict, codes, values):
    return {"verdict": verdict, "sentence": words.reason(codes[0], values), "next": words.reason(codes[1], values),
            "codes": codes}


def guideline(section: str, ribs: int, belt_state: str) -> dict:
    """Return a target window per rib where the vehicle maker's data is not at hand.

    Parameters:  section: section name · ribs: count of ribs [-] · belt_state: "new" or "used" (run in)
    Returns:     {"low_n", "high_n", "guideline": True, "source"} [N]
    Valid:       PK belts on fixed centres or a manual tensioner; never for a stretch-fit belt
                 or a spring tensioner
    Raises:      CoreError "no-guideline", "marking-ribs", "not-a-choice"
    Source:      service manuals of several cars, 110 to 200 N per rib new and 70 to 120 N run in;
                 the rib counts behind them are assumed
    """
    if section != "PK":
        raise CoreError("no-guideline", "section", {"section": str(section)})
    if belt_state not in _GUIDE:
        raise CoreError("not-a-choice", "belt_state")
    belts.rib_width_mm(section, ribs)
    low, high = _GUIDE[belt_state]
    return {"low_n": low * ribs, "high_n": high * ribs, "guideline": True, "source": GUIDE_SOURCE}


def unit_doubt(value: float, unit: str, section: str, ribs: int) -> list:
    """Say so when a tension is unlikely for a belt, above all when another unit would make it likely.

    Parameters:  value: tension [in `unit`] · unit: force unit · section: section name or None ·
                 ribs: count of ribs [-] or None
    Returns:     None, or [code, {values}] with code "unit-doubt" or "tension-unlikely"
    Raises:      CoreError "unknown-unit"
    Source:      plausible range is our judgement from service manuals, 40 to 260 N per PK rib
    """
    low, high = _LIKELY_BELT
    if section == "PK" and ribs:
        low, high = _LIKELY_RIB[0] * ribs, _LIKELY_RIB[1] * ribs
    one = units.to_si({"value": "1", "unit": unit}, "force")
    if low <= value * one <= high:
        return None
    values = {"value": numbers.short(value), "unit": unit}
    likely = []
    for other in units.names("force"):
        tension = value * units.to_si({"value": "1", "unit": other}, "force")
        if low <= tension <= high:
            likely.append([abs(math.log(tension * tension / (low * high))), other])
    if likely:
        values["other"] = min(likely)[1]
        return ["unit-doubt", values]
    values["low"] = numbers.short(low / one, 3)
    values["high"] = numbers.short(high / one, 3)
    return ["tension-unlikely", values]
