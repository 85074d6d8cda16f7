"""The spans of a recorded drive: which one to measure, how long it is, and how well that is known."""

import math

from .. import drawing
from .. import drive
from .. import drive_form
from .. import layout
from .. import numbers
from .. import units
from .. import vibration
from .. import words
from ..errors import CoreError
from . import drivelink
from . import measuring

# The order of the spans does not depend on the tension; any will do for it [N].
_ANY_N = 300.0
_NAME = 28


def spans(link: dict) -> dict:
    """Return the drive's spans, the best to measure first.

    Parameters:  link: from `drivelink.of`
    Returns:     {"spans": [{"index": place in the listed order as text, "name", "reason", "best", "length", "length_error":
                 quantities, "shown": length with what it is good to}, ...], "lacks": `drivelink.lacks` or None}
    """
    try:
        full = drive_form.form(link["drive"])
        order = vibration.best_span(full, _ANY_N, _ANY_N)
        laid = layout.lay_out(full)
        good = drivelink.spread_of(full, laid)["spans_mm"]
    except CoreError as error:
        return {"spans": [], "lacks": drivelink.lacks(error, link)}
    unit = link["shop"]["length_unit"]
    starts = [pulley["name"] for pulley in full["pulleys"]]
    out = []
    for place in range(len(order)):
        one = order[place]
        index = starts.index(one["from"])
        length = {"value": _length_text(one["length_mm"], unit), "unit": unit}
        error = {"value": numbers.fixed(math.ceil(good[index] * 10) / 10, 1), "unit": "mm"}
        out.append({"index": str(index), "name": _short(one["from"]) + " \u2013 " + _short(one["to"]), "best": place == 0,
                    "reason": words.reason(_reason(one, order), {}), "length": length, "length_error": error,
                    "shown": _shown(length, error)})
    return {"spans": out, "lacks": None}


def _shown(length, error):
    first = length["value"] if length["unit"] == error["unit"] else measuring.shown(length)
    return first + " \u00b1 " + measuring.shown(error)


def _length_text(length_mm, unit):
    return numbers.trimmed(units.from_si(length_mm / 1000, unit, "length"), 0 if unit == "mm" else 2)


def _short(name):
    return name if len(name) <= _NAME else name[:_NAME - 1] + "\u2026"


def _reason(one, order):
    if one["beside_arm"]:
        return "span-beside-arm"
    if one["short"]:
        return "span-short"
    if one is order[0]:
        return "span-best-arm" if True in [other["beside_arm"] for other in order] else "span-best"
    return "span-longer" if one["length_mm"] > order[0]["length_mm"] else "span-next"


def chosen(found: dict, index: str):
    """Return the span with that index, None when there is none.

    Parameters:  found: from `spans` · index: as the form gave it
    """
    for one in found["spans"]:
        if one["index"] == index:
            return one
    return None


def picture(link: dict, found: dict, name: str):
    """Return the route with one span marked, None when the span is none of the drive's.

    Parameters:  link: from `drivelink.of` · found: from `spans` · name: of the span
    Returns:     see `_route.html`
    """
    for one in found["spans"]:
        if one["name"] == name:
            full = drive_form.form(link["drive"])
            pulleys = full["pulleys"]
            start = int(one["index"])
            marked = {"from": pulleys[start]["name"], "to": pulleys[(start + 1) % len(pulleys)]["name"], "text": one["shown"]}
            drawn = drawing.drawing(full, drive.solve(full), marked)
            drawn["title"] = words.reason("span-drawn", {"name": name})
            drawn["words"] = words.reason("span-drawn-words", {})
            return drawn
    return None


def where_from(found: dict, data: dict) -> str:
    """Return where a reading's span length came from, in words for the record.

    Parameters:  found: from `spans` · data: from `spanform.read_setup` without errors
    """
    for one in found["spans"]:
        if one["name"] == data["span"]:
            if one["length"] == data["length"] and one["length_error"] == data["length_error"]:
                return "the recorded drive, " + one["shown"]
            return "typed; the recorded drive gives " + one["shown"]
    return "typed"
