"""What the drive's screens share: the standing drive, the one way to record it, and its state in words.

Every change is a whole new entry that replaces the one before; where the drive first came from stays with it.
"""

import json

from .. import card
from .. import drive
from .. import drive_entry
from .. import events
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import measuring

# Short names, for they stand in the drawing of the route; a kind that is not here goes by its label.
_SHORT = [["crank", "crank"], ["compressor", "compressor"], ["air_pump", "air pump"]]
# Which field of which form holds a number of the drive form, and what people call it.
_PULLEY_FIELDS = [["name", "name", "name"], ["kind", "kind", "kind"], ["place", "place_way", "place"], ["x_mm", "place_way", "place"],
                  ["y_mm", "place_way", "place"], ["diameter", "diameter", "diameter"], ["diameter_mm", "diameter", "diameter"],
                  ["face", "face", "belt face"], ["rim", "rim", "rim"], ["turns", "turns", "sense"]]
_BELT_FIELDS = [["section", "section", "section"], ["ribs", "ribs", "ribs"], ["length", "length", "length"],
                ["effective_mm", "length", "length"]]
_TENSIONER_FIELDS = [["pivot_x_mm", "pivot_way", "pivot"], ["pivot_y_mm", "pivot_way", "pivot"], ["pivot", "pivot_way", "pivot"],
                     ["stops_deg", "stops_deg_low", "stops"], ["marks_deg", "marks_deg_low", "marks"],
                     ["travel_mm", "travel_mm_low", "travel"]]
# Faults that a route shows before all of its pulleys are there.
_EARLY = ("overlap", "small-pulley", "wrong-face", "grooves-on-back", "flat-under-ribs")
_WEIGHTS = {"stop": ["stop", "Stop"], "check": ["watch", "Look again"], "note": ["open", "Note"]}


def path_of(job: dict, loop: str) -> str:
    """Return the address of a loop's drive.

    Parameters:  job: the folded job · loop: "1".."3"
    """
    return card.step_path(job, loop, "drive")


def standing(job: dict, loop: str):
    """Return a copy of a loop's standing drive data that may be changed, None while there is none.

    Parameters:  job: the folded job · loop: "1".."3"
    Returns:     the data of the drive_recorded entry
    """
    entry = card.drive_of(job, loop)
    return None if entry is None else json.loads(json.dumps(entry["data"]))


def fresh(entry: dict, origin: str, name: str, engine=None, copied_from=None) -> dict:
    """Return the data of a drive that is recorded for the first time.

    Parameters:  entry: see `drive_entry` · origin: code of words.CHOICES["drive_origin"] · name, engine: texts ·
                 copied_from: id of the saved drive, or None
    """
    return {"name": name, "engine": engine, "origin": origin, "copied_from": copied_from, "shared": False, "drive": entry}


def started(job: dict, loop: str, origin: str) -> dict:
    """Return the data of a drive of which only the crankshaft is known, with what the facts of the car say.

    Parameters:  job: the folded job · loop: "1".."3" · origin: code of words.CHOICES["drive_origin"]
    """
    entry = drive_entry.blank()
    if job["facts"] is not None:
        for key in ("alternator_pulley", "crank_pulley"):
            entry[key] = job["facts"]["data"][key]
    return fresh(entry, origin, usual_name(job, loop), job["booked"]["data"]["engine"])


def usual_name(job: dict, loop: str) -> str:
    """Return what a drive is called until somebody names it: the car, its engine, and the belt where there are several.

    Parameters:  job: the folded job · loop: "1".."3"
    """
    booked = job["booked"]["data"]
    parts = [part for part in (booked["car"], booked["engine"]) if part]
    if not parts or len(card.loops_of(job)) > 1:
        parts.append(card.loop_name(job, loop))
    return ", ".join(parts)[:60].strip()


def record(form, given: dict, loop: str, data: dict, goto: str):
    """Record a whole drive in the place of the one that stands: by tape, copied, from a photo or a file alike.

    Parameters:  form: forms.Reading, which gets the sentence when a record cannot hold the drive · given: of the
                 screen, with the job · loop: "1".."3" · data: of a drive_recorded entry · goto: where to go then
    Returns:     the reply, or None when the drive was refused
    """
    form.person(given)
    if form.errors:
        return None
    old = card.drive_of(given["job"], loop)
    event = events.make(given, 0, "drive_recorded", given["job"]["id"], data, loop, None if old is None else old["id"])
    try:
        events.check_form(event)
    except CoreError as error:
        form.fail("", error.code, error.values)
        return None
    return reply.record([event], goto)


# ---- pulleys ----

def points(entry: dict, without: int = -1) -> dict:
    """Return {name: [x, y]} of the pulleys that can be placed [mm].

    Parameters:  entry: see `drive_entry` · without: index of a pulley that is being placed; whatever is measured
                 from it is left out too, -1 for none
    """
    pulleys = [p for i, p in enumerate(entry.get("pulleys") or []) if i != without]
    solved = drive_entry.to_drive(dict(entry, pulleys=pulleys))["pulleys"]
    return {p["name"]: [p["x_mm"], p["y_mm"]] for p in solved if p["x_mm"] is not None and p["y_mm"] is not None}


def free_name(entry: dict, kind: str, own: int) -> str:
    """Return a name for a pulley of a kind that no other pulley has: "idler", then "idler 2".

    Parameters:  entry: see `drive_entry` · kind: code of words.CHOICES["pulley_kind"] · own: index of the pulley itself
    """
    base = words.label("pulley_kind", kind).lower()
    for code, short in _SHORT:
        if code == kind:
            base = short
    taken = names(entry, own)
    name = base
    number = 1
    while name in taken:
        number += 1
        name = base + " " + str(number)
    return name


def names(entry: dict, without: int = -1) -> list:
    """Return the pulleys' names in belt order.

    Parameters:  entry: see `drive_entry` · without: index of a pulley to leave out, -1 for none
    """
    return [p.get("name") for i, p in enumerate(entry.get("pulleys") or []) if i != without]


def _places(entry):
    """Every place that may be measured from another pulley."""
    found = [p["place"] for p in entry["pulleys"] if p.get("place") is not None]
    pivot = (entry.get("tensioner") or {}).get("pivot")
    return found if pivot is None else found + [pivot]


def rename(entry: dict, old: str, new: str) -> None:
    """Let whatever is measured from a pulley, and the tensioner that moves it, follow its new name.

    Parameters:  entry: see `drive_entry`, changed in place · old, new: names
    """
    for place in _places(entry):
        for key in ("first", "second"):
            if place.get(key) == old:
                place[key] = new
    tensioner = entry.get("tensioner") or {}
    if tensioner.get("pulley") == old:
        tensioner["pulley"] = new


def remove(entry: dict, index: int) -> None:
    """Take a pulley out. What was measured from it keeps its place, told from the crankshaft instead.

    Parameters:  entry: see `drive_entry`, changed in place · index: of the pulley
    """
    gone = entry["pulleys"][index]["name"]
    solved = drive_entry.to_drive(entry)
    tensioner = entry.get("tensioner") or {}
    for i in range(len(entry["pulleys"])):
        place = entry["pulleys"][i].get("place")
        if place is not None and gone in (place.get("first"), place.get("second")):
            entry["pulleys"][i]["place"] = drive_entry.place(solved["pulleys"][i]["x_mm"], solved["pulleys"][i]["y_mm"])
    pivot = tensioner.get("pivot")
    if pivot is not None and gone in (pivot.get("first"), pivot.get("second")):
        tensioner["pivot"] = drive_entry.place(solved["tensioner"]["pivot_x_mm"], solved["tensioner"]["pivot_y_mm"])
    if tensioner.get("pulley") == gone:
        tensioner["pulley"] = None
    del entry["pulleys"][index]


# ---- in words ----

def address(base: str, path: str) -> str:
    """Return where the value of a path can be typed.

    Parameters:  base: address of the drive · path: of the entry or of the drive form, such as "pulleys.3.diameter_mm"
    """
    parts = path.split(".")
    if parts[0] == "pulleys" and len(parts) > 2:
        return base + "/pulleys/" + parts[1] + "#" + _field(_PULLEY_FIELDS, parts[2])[1]
    if parts[0] == "belt":
        return base + "/belt#" + _field(_BELT_FIELDS, parts[-1])[1]
    if parts[0] == "tensioner":
        return base + "/tensioner#" + _field(_TENSIONER_FIELDS, parts[-1])[1]
    return base + "#pulleys"


def _field(table, key):
    for row in table:
        if row[0] == key:
            return row
    return [key, key, key]


def lacking(entry: dict, base: str) -> list:
    """Return what the drive's geometry still lacks, with the address of the field.

    Parameters:  entry: see `drive_entry` · base: address of the drive
    Returns:     [{"text", "path"}, ...]
    """
    return [{"text": _lacks(entry, path), "path": base + "/pulleys/new" if path == "pulleys" else address(base, path)}
            for path in drive_entry.lacking(entry)]


def _lacks(entry, path):
    parts = path.split(".")
    if path == "pulleys":
        return "At least two pulleys, one of them the crankshaft's"
    if parts[0] == "belt":
        return "The belt's " + _field(_BELT_FIELDS, parts[1])[2]
    pulley = entry["pulleys"][int(parts[1])]
    what = pulley["name"] + ": " + _field(_PULLEY_FIELDS, parts[2])[2]
    if parts[2] == "place" and pulley.get("place") is not None:
        what += ", as its distances do not meet or start from a pulley without a place"
    return what


def faults(entry: dict, base: str) -> list:
    """Return what is wrong with a drive in words, the heaviest first, with the address of the field.

    Until something is said about belt or tensioner pulleys may be missing, so only what one or two pulleys show
    by themselves is told.

    Parameters:  entry: see `drive_entry` · base: address of the drive
    Returns:     [{"kind": "stop" | "watch" | "open", "word", "sentence", "path", "link": name of what to look at,
                 "pulleys": names}, ...]
    """
    try:
        found = drive.faults(drive_entry.to_drive(entry))
    except CoreError as error:
        if error.code in ("few-pulleys", "no-crank"):
            return []  # Said already as lacking.
        return [_told("stop", words.sentence(error), error.field, [], base)]
    if not entry.get("belt") and not entry.get("tensioner"):
        found = [fault for fault in found if fault["code"] in _EARLY]
    return [_told(fault["weight"], words.fault_sentence(fault), fault["field"], fault["pulleys"], base) for fault in found]


def _told(weight, sentence, field, pulleys, base):
    kind, word = _WEIGHTS[weight]
    link = {"p": pulleys[-1] if pulleys and field != "pulleys" else "The order", "b": "The belt", "t": "The tensioner"}
    return {"kind": kind, "word": word, "sentence": sentence, "path": address(base, field), "link": link.get(field[:1], "Look"),
            "pulleys": pulleys}


def place_words(place) -> str:
    """Return where a pulley is, as it was measured.

    Parameters:  place: see `drive_entry`, or None
    Returns:     such as "250 mm right, 15 mm down", or "310 mm from crank, 205 mm from idler"
    """
    if place is None:
        return ""
    if place["way"] == "across_up":
        return ", ".join([_signed(place["across"], "right", "left"), _signed(place["up"], "up", "down")])
    return ", ".join([measuring.shown(place[key + "_distance"]) + " from " + place[key] for key in ("first", "second")])


def _signed(quantity, positive, negative):
    text = measuring.shown(quantity)
    return text[1:] + " " + negative if text.startswith("-") else text + " " + positive


def point_words(point: list, unit: str) -> str:
    """Return a point in words, as seen from the crankshaft's centre.

    Parameters:  point: [x, y] [mm] · unit: unit of length to tell it in
    """
    sides = [["right", "left"], ["up", "down"]]
    out = []
    for i in range(2):
        size = units.text(abs(point[i]) / 1000, unit, "length", 3)
        out.append(size + " " + sides[i][0 if point[i] >= 0 else 1])
    return ", ".join(out)
