"""The workshop's stock list as screens use it: by which keys a host looks lines up, and what a line says of a part.

A line: {"number", "name", "kind", "marking", "quantity", "place", "item"}, all texts; "item" has 14 digits or is "",
"quantity" is decimal text or "". A host keeps each line's `keys` and hands a screen only the lines that it asks for.
"""

from . import belts
from . import events
from . import gs1
from . import numbers
from . import picklist
from .errors import CoreError

# The most lines that one screen is given.
MOST_LINES = 60


def plain(text: str) -> str:
    """Return a number as it is compared: capitals, without spaces, dashes, points and strokes.

    Parameters:  text: as printed, typed or scanned
    """
    out = ""
    for c in text.upper():
        if c not in " -./_":
            out += c
    return out


def marking_key(text: str) -> str:
    """Return a belt marking as it is compared, "" for what is none: "6PK1500" and "6 pk 1500" are one.

    Parameters:  text: as printed, typed or scanned
    """
    try:
        return plain(belts.parse(text)["text"]) if text else ""
    except CoreError:
        return ""


def keys_of(line: dict) -> list:
    """Return the keys by which a line is found.

    Parameters:  line: of the list
    """
    return [key for key in (plain(line["number"]), line["item"], marking_key(line["marking"])) if key]


def wanted(job_events: list, loop: str, hand: str, today: str) -> list:
    """Return the keys of the lines that a screen on a belt's parts needs.

    Parameters:  job_events: raw events of the job · loop: "1" to "3" · hand: what was scanned or typed, "" for nothing · today:
                 date such as "2026-03-09"
    Returns:     keys, each once
    """
    job = events.fold(job_events)
    found = _of_hand(hand, today)
    if job is not None:
        for part in picklist.of(job, loop):
            found.append(plain(part["number"]))
        found.append(marking_key(picklist.belt_wanted(job, loop)[2]))
    out = []
    for key in found:
        if key and key not in out:
            out.append(key)
    return out


def _of_hand(hand, today):
    if not hand:
        return []
    found = [plain(hand), marking_key(hand)]
    try:
        if gs1.is_elements(gs1.scanned(hand)):
            found += [value for code, _, value in gs1.elements(gs1.scanned(hand), today) if code == "01"]
        else:
            found.append(gs1.item_number(hand))
    except CoreError:
        # What is wrong with the code is said where it is judged.
        pass
    return found


def line_for(part: dict, marking: str, lines: list):
    """Return the line of the list that is a part, None when none is known to be.

    Parameters:  part: of `picklist.of` · marking: what the new belt is compared with, "" for other parts · lines: as given
    """
    for line in lines:
        if part["number"] and plain(line["number"]) == plain(part["number"]):
            return line
    if part["code"] == "belt":
        for text in (part["number"], marking):
            key = marking_key(text)
            for line in lines:
                if key and key == marking_key(line["marking"]):
                    return line
    return None


def told(part: dict, line: dict) -> dict:
    """Return what a line says of a part: is there enough, and where.

    Parameters:  part: of `picklist.of` · line: of the list
    Returns:     {"kind": "good", "watch" or "open", "text"}
    """
    place = ", " + line["place"] if line["place"] else ""
    if line["quantity"] == "":
        return {"kind": "open", "text": "In the stock list, count not known" + place}
    there = numbers.read_number(line["quantity"], "quantity")
    needed = int(part["how_many"]) if gs1.is_digits(part["how_many"]) else 1
    if there <= 0:
        return {"kind": "watch", "text": "None in stock"}
    if there < needed:
        return {"kind": "watch", "text": "Short: " + line["quantity"] + " of " + str(needed) + " in stock" + place}
    return {"kind": "good", "text": line["quantity"] + " in stock" + place}
