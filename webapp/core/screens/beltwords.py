"""What a belt's marking, width and taped length say, in words: shown with the page and again while somebody types."""

from .. import belts
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import measuring

# Limits of what a belt at the front of an engine can be; wide, so that they only stop slips of the finger.
WIDTH_M = (0.005, 0.1)
LENGTH_M = (0.2, 6.0)
CONSTANT_M = (-0.03, 0.05)


def marking_words(marking: str) -> dict:
    """Say what a marking means, or exactly what is wrong with it.

    Parameters:  marking: as typed
    Returns:     {"state": "none" | "read" | "wrong", "name": own form, "lines": [[part, meaning], ...], "wrong": sentence}
    """
    if not marking.strip():
        return {"state": "none", "name": "", "lines": [], "wrong": ""}
    try:
        belt = belts.parse(marking)
    except CoreError as error:
        return {"state": "wrong", "name": "", "lines": [], "wrong": words.sentence(error)}
    return {"state": "read", "name": belt["text"], "lines": _explain(belt), "wrong": ""}


def _explain(belt):
    lines = []
    if belt["ribs"] is not None:
        lines.append(["Ribs", str(belt["ribs"]) + (", on both faces" if belt["double_sided"] else "")])
    lines.append(["Section", belt["section"] + (", cogged" if belt["cogged"] else "")])
    if belt["ribs"] is not None or not belts.is_ribbed(belt["section"]):
        lines.append(["Width", numbers.fixed(belts.rib_width_mm(belt["section"], belt["ribs"]), 1) + " mm"])
    length = numbers.trimmed(belt["length_mm"], 1) + " mm"
    inches = numbers.trimmed(belt["length_mm"] / 25.4, 2) + " in"
    lines.append(["Length", length + " (" + inches + ")"])
    lines.append(["Measured as", words.label("length_kind", belt["length_kind"])])
    if belt["strands"] is not None:
        lines.append(["Joined strands", str(belt["strands"])])
    if belt["double_sided"] and belt["ribs"] is None:
        lines.append(["Faces", "works on both faces"])
    if belt["stretch"]:
        lines.append(["Kind", "stretch-fit"])
    return lines


def width_words(section: str, counted: str, width: dict) -> dict:
    """Say whether a width agrees with the count of ribs.

    Parameters:  section: section name · counted: ribs as typed, "" for none · width: {"value", "unit"} as typed, or None
    Returns:     {"state": "none" | "good" | "watch", "sentence"}
    """
    nothing = {"state": "none", "sentence": ""}
    if width is None:
        return nothing
    try:
        ribs = int(numbers.read_number(counted, "", 1, 60)) if belts.is_ribbed(section) else None
        measured = units.read_quantity(width["value"], width["unit"], "length", "", WIDTH_M[0], WIDTH_M[1])
        mm = units.to_si(measured, "length") * 1000
        seen = belts.check_width(section, ribs, mm)
    except CoreError:
        return nothing
    values = {"width": numbers.trimmed(mm, 1), "expected": numbers.trimmed(seen["expected_mm"], 1)}
    if seen["state"] == "fits":
        return {"state": "good", "sentence": words.reason("width-fits", values)}
    if seen["state"] == "other_count":
        values["ribs"] = str(seen["ribs"])
        return {"state": "watch", "sentence": words.reason("width-other-count", values)}
    return {"state": "watch", "sentence": words.reason("width-no-fit", values)}


def tape_words(section: str, taped: dict, constant: dict) -> str:
    """Say how the tape constant turns the tape's reading into a length; "" while that cannot be said.

    Parameters:  section: section name · taped, constant: {"value", "unit"} as typed, or None
    """
    if taped is None:
        return ""
    try:
        read = units.read_quantity(taped["value"], taped["unit"], "length", "", LENGTH_M[0], LENGTH_M[1])
        own = None
        if constant is not None and constant["value"]:
            own = units.read_quantity(constant["value"], constant["unit"], "length", "", CONSTANT_M[0], CONSTANT_M[1])
        found = belts.effective_from_tape(units.to_si(read, "length") * 1000,
                                          None if own is None else units.to_si(own, "length") * 1000, section)
    except CoreError:
        return ""
    less = measuring.shown(own) + ", your constant" if own else found["source"]
    return (measuring.shown(read) + " taped, less " + less + ": " + numbers.fixed(found["effective_mm"], 0)
            + " mm effective length, between " + numbers.fixed(found["low_mm"], 0) + " and "
            + numbers.fixed(found["high_mm"], 0) + " mm")


def marking_fragment(request: dict, given: dict) -> dict:
    """Read a marking while it is typed."""
    return reply.page("_marking.html", {"read": marking_words(forms.asked(request, "marking"))})


def width_fragment(request: dict, given: dict) -> dict:
    """Check a width while it is typed."""
    asked = measuring.query_as_form(request)
    read = width_words(forms.value(asked, "section"), forms.value(asked, "ribs_counted"), measuring.typed_quantity(asked, "width"))
    return reply.page("_width.html", {"read": read})


def tape_fragment(request: dict, given: dict) -> dict:
    """Turn a tape's reading into a length while it is typed."""
    asked = measuring.query_as_form(request)
    read = tape_words(forms.value(asked, "section"), measuring.typed_quantity(asked, "taped"), measuring.typed_quantity(asked, "tape_constant"))
    return reply.page("_tape.html", {"read": read})
