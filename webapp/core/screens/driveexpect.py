"""What a span of a recorded drive should read, for the target or for its spring, and what to ask when it does not."""

import math

from .. import expect
from .. import numbers
from .. import spread
from .. import tensioner
from .. import units
from .. import words
from ..errors import CoreError
from . import drivelink
from . import measuring
from . import spanform

# Limits of a belt's length where nobody gave one [m]; as `reading` takes them.
_BELT_M = (0.7, 2.5)


def window(link: dict, target):
    """Return the tension to expect: the target's, else what the spring should give.

    Parameters:  link: from `drivelink.of` · target: data of the "target_set" entry, or None
    Returns:     {"low_n", "high_n", "shown": "300 to 560 N", "from": words for where it is from, "error": None}; without a
                 window {"error": the CoreError, or None when nothing can give one}
    """
    if link["kind"] == "two_arm" or link["facts"] == "two_arm":
        return {"error": CoreError("two-arm", "tensioner.kind")}
    if target is not None:
        return {"low_n": units.to_si(target["low"], "force"), "high_n": units.to_si(target["high"], "force"),
                "shown": measuring.window(target), "from": "the target", "error": None}
    if link["kind"] not in tensioner.ARM:
        return {"error": None}
    try:
        found = drivelink.arm_of(link)
    except CoreError as error:
        return {"error": error}
    if found["error"] is not None or found["low_n"] <= 0:
        return {"error": found["error"]}
    return {"low_n": found["low_n"], "high_n": found["high_n"],
            "shown": _force(found["low_n"], found["high_n"], link["shop"]["force_unit"]),
            "from": "the spring, as computed from the drive", "error": None}


def _force(low_n, high_n, unit):
    """A range of forces, rounded outwards."""
    low, high = [units.from_si(value, unit, "force") for value in (low_n, high_n)]
    _, low, high = numbers.with_interval((low + high) / 2, low, high)
    return low + " to " + high + " " + unit


def band(data: dict, given: dict) -> list:
    """Return the band of readings to expect for a set-up.

    Parameters:  data: from `spanform.read_setup` without errors · given: from `window`, with its tensions
    Returns:     [low, high] [Hz or m]
    Raises:      CoreError as `expect.pluck` and `expect.press`
    """
    belt = spanform.belt_of(data)
    length, error = units.to_si(data["length"], "length"), units.to_si(data["length_error"], "length")
    if data["method"] == "pluck":
        return expect.pluck(given["low_n"], given["high_n"], length, error, belt["low"], belt["high"], belt["bending"][0],
                            belt["bending"][1])
    belt_m = _BELT_M
    if data["belt_length"] is not None:
        belt_m = [units.to_si(data["belt_length"], "length")] * 2
    return expect.press(units.to_si(data["force"], "force"), given["low_n"], given["high_n"], length, error, belt["bending"][0],
                        belt["bending"][1], belt["axial"][0], belt["axial"][1], belt_m[0], belt_m[1])


def band_text(low: float, high: float, unit: str) -> str:
    """Return a band of readings, rounded outwards to what a reading shows.

    Parameters:  low, high: its ends [Hz or m] · unit: of the readings
    """
    if unit == "Hz":
        return str(int(math.floor(low))) + " to " + str(int(math.ceil(high))) + " Hz"
    places = 1 if unit == "mm" else 2
    step = 10.0 ** places
    low, high = [units.from_si(value, unit, "length") * step for value in (low, high)]
    return (numbers.fixed(math.floor(low + 1e-9) / step, places) + " to "
            + numbers.fixed(math.ceil(high - 1e-9) / step, places) + " " + unit)


def expected(link: dict, data: dict, given: dict, unit: str) -> dict:
    """Return the hint that says what to expect before measuring.

    Parameters:  link: from `drivelink.of` · data: from `spanform.read_setup` without errors · given: from `window` ·
                 unit: of the readings
    Returns:     a hint, with the band of `band` under "band" where there is one
    """
    title = "What to expect"
    if "low_n" not in given:
        if given["error"] is not None:
            return drivelink.lacking(title, given["error"], link)
        return drivelink.hint(title, words.reason("expect-target", {}))
    try:
        low, high = band(data, given)
        text = band_text(low, high, unit)
    except CoreError as error:
        return drivelink.hint(title, words.sentence(error))
    out = drivelink.hint(title, words.reason("expect-band", {"band": text, "window": given["shown"], "from": given["from"]}),
               working=_expected_working(data, given, text))
    out["band"] = [low, high]
    return out


def _expected_working(data, given, text):
    belt = spanform.belt_of(data)
    length = measuring.shown(data["length"]) + " \u00b1 " + measuring.shown(data["length_error"])
    tension = given["shown"] + ", " + given["from"]
    mass = numbers.short(belt["low"], 3) + " to " + numbers.short(belt["high"], 3) + " kg/m, " + belt["source"]
    if data["method"] == "pluck":
        return [["Formula", "f = \u221a(T / m) / (2 L), higher by the belt's stiffness: ends from pinned to clamped"],
                ["With the numbers", "T = " + tension + "; L = " + length + "; m = " + mass], ["Answer", text],
                ["Source", "vibrating string and stiff beam, Rao, Vibration of Continuous Systems; Fletcher 1964"]]
    return [["Formula", "F = 2 T' d / s, s = \u221a((L/2)\u00b2 + d\u00b2), T' = T + EA (2 s \u2212 L) / belt; "
             + "less what bending takes"],
            ["With the numbers", "F = " + measuring.shown(data["force"]) + " \u00b1 5 %; T = " + tension + "; L = " + length
             + "; EA = " + numbers.short(belt["axial"][0] / 1000, 3) + " to " + numbers.short(belt["axial"][1] / 1000, 3) + " kN"],
            ["Answer", text + ", with the rule's zero good to 0.5 mm"],
            ["Source", "statics; stiffness from papers and static tests (from memory)"]]


def questions(found: dict, data: dict, readings: list, told_hint: dict, given: dict) -> list:
    """Return the questions about readings that are far from what was expected.

    Parameters:  found: from `drivespan.spans` · data: from `spanform.read_setup` · readings: from `spanform.read_readings` ·
                 told_hint: from `expected` · given: from `window`
    Returns:     sentences, none or one
    """
    values = [r[2] for r in readings if r[2] is not None]
    if not values or "band" not in told_hint:
        return []
    low, high = told_hint["band"]
    value = spread.mean(values)
    asked = expect.question(data["method"], value, low, high, [])
    if asked is not None and asked[0] == "expect-far":
        asked = expect.question(data["method"], value, low, high, _other_bands(found, data, given))
    if asked is None:
        return []
    asked[1]["name"] = data["span"] or ""
    return [words.reason(asked[0], asked[1])]


def _other_bands(found, data, given):
    """[[name, low, high], ...] of the spans that are not the one measured."""
    out = []
    other = data.copy()
    for one in found["spans"]:
        other["length"], other["length_error"] = one["length"], one["length_error"]
        if one["name"] == data["span"]:
            continue
        try:
            low, high = band(other, given)
        except CoreError:
            continue
        out.append([one["name"], low, high])
    return out
