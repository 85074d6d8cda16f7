"""A drive as it is recorded: every number as it was typed, turned into the drive form for the formulas.

An entry follows the drive form (see `drive_form`) key by key, with these differences:

    v                  1
    good_to            quantity of length: how good each measured place is, 95 %; null = not known
    belt.length        quantity, for `effective_mm`
    pulleys[].diameter quantity, for `diameter_mm`
    pulleys[].place    for `x_mm` and `y_mm`; null stands for the crankshaft at the origin, elsewhere for not known
    pulleys[].seen     how good the pulley is that was tapped on a photo, while its place and diameter stand: {"where": `where` of
                       it, "moves": the numbers of `moves_mm` in one text}
    photo              {"sha256": of the picture, "typed": [[field, text], ...] of its form: taps and sizes}; null = none
    tensioner.pivot    a place, for `pivot_x_mm` and `pivot_y_mm`
    every other number decimal text in the unit that its key in the drive form names

A place is either
    {"way": "across_up", "across": quantity, "up": quantity}      from the crankshaft's centre
    {"way": "from_two", "first": name, "first_distance": quantity, "second": name, "second_distance": quantity,
     "side": "left" | "right"}     centre to centre; the side as one looks from the first pulley to the second
The event that carries the entry says the loop and the name. A half-entered drive is an entry too.
"""

import math

from . import drive_form
from . import numbers
from . import units
from .errors import CoreError

VERSION = 1
# How good a place is that is taken with a tape between covers and brackets (common practice, no source).
TAPE_GOOD_TO = {"value": "3", "unit": "mm"}
_TOP = ["v", "rotation", "alternator_pulley", "crank_pulley", "good_to", "belt", "pulleys", "tensioner", "photo"]
# What the entry measures in other words than the drive form: [key of the entry, key of the form].
_BELT = [["length", "effective_mm"]]
_PULLEY = [["diameter", "diameter_mm"]]
_WAYS = {"across_up": ["across", "up"], "from_two": ["first_distance", "second_distance"]}
# Longest length of a drive that a form takes, such as a belt's [m].
_MOST_M = 10.0
_MOST_TYPED = 80
_LONGEST_TYPED = 6000


def _bad(code, field, **values):
    raise CoreError(code, field, values)


def _map(value, field):
    if not isinstance(value, dict):
        _bad("not-a-map", field)


def _keys(part, known, path):
    for key in sorted(part):
        if key not in known:
            _bad("unknown-key", path + str(key)[:40])


def _length(quantity, field):
    """A quantity of length, checked [mm]; None stays."""
    if quantity is None:
        return None
    units.check(quantity, "length", field)
    metres = units.to_si(quantity, "length")
    if abs(metres) > _MOST_M:
        _bad("too-high", field, high=units.text(_MOST_M, quantity["unit"], "length"))
    return metres * 1000


def _decimal(text, field):
    if text is None:
        return None
    if not isinstance(text, str) or numbers.plain(text, field) != text:
        _bad("not-a-number", field)
    return float(text)


def _value(value, rule, field):
    """A value of the entry as the drive form has it; the form checks its limits."""
    if rule[0] == "number":
        return _decimal(value, field)
    if rule[0] == "pair" and isinstance(value, list):
        return [_decimal(v, field) for v in value]
    if rule[0] == "load" and value is not None:
        _map(value, field)
        return {key: _decimal(value[key], field) for key in value}
    if isinstance(value, float):
        _bad("not-canonical", field)
    return value


def _converted(part, rules, own, path):
    """A part of the entry with the keys of the drive form; `own` keys are lengths under another name."""
    _map(part, path[:-1])
    measured = [pair[1] for pair in own]
    out = {}
    known = [pair[0] for pair in own]
    for key, rule, _ in rules:
        if key not in measured:
            known.append(key)
            if key in part:
                out[key] = _value(part[key], rule, path + key)
    for key, name in own:
        out[name] = _length(part.get(key), path + key)
    _keys(part, known, path)
    return out


def _without(part, keys):
    return {key: part[key] for key in part if key not in keys}


def _rules(rules, keys):
    return [rule for rule in rules if rule[0] not in keys]


def _check_place(place, field):
    _map(place, field)
    way = place.get("way")
    if way not in ("across_up", "from_two"):
        _bad("not-a-choice", field + ".way")
    known = ["way"] + _WAYS[way]
    for key in _WAYS[way]:
        if _length(place.get(key), field + "." + key) is None:
            _bad("missing-key", field + "." + key)
    if way == "from_two":
        known += ["first", "second", "side"]
        for key in ("first", "second"):
            if not isinstance(place.get(key), str):
                _bad("not-text", field + "." + key)
        if place.get("side") not in ("left", "right"):
            _bad("not-a-choice", field + ".side")
    _keys(place, known, field + ".")


def _check_photo(photo):
    _map(photo, "photo")
    _keys(photo, ["sha256", "typed"], "photo.")
    for key in ("sha256", "typed"):
        if key not in photo:
            _bad("missing-key", "photo." + key)
    if not isinstance(photo["sha256"], str) or len(photo["sha256"]) != 64:
        _bad("not-a-hash", "photo.sha256")
    if not isinstance(photo["typed"], list) or len(photo["typed"]) > _MOST_TYPED:
        _bad("not-a-list", "photo.typed")
    for pair in photo["typed"]:
        if not isinstance(pair, list) or len(pair) != 2 or [text for text in pair if not isinstance(text, str) or len(text) > _LONGEST_TYPED]:
            _bad("not-text", "photo.typed")


def _moves(pulley, field):
    """Moves of a pulley that stands as it was tapped on a photo [mm]; None once it was measured otherwise."""
    seen = pulley.get("seen")
    if seen is None:
        return None
    _map(seen, field)
    _keys(seen, ["where", "moves"], field + ".")
    for key in ("where", "moves"):
        if not isinstance(seen.get(key), str) or len(seen[key]) > 400:
            _bad("not-text", field + "." + key)
    numbers_ = [_decimal(text, field + ".moves") for text in seen["moves"].split(" ")]
    moves = [numbers_[k:k + 3] for k in range(0, len(numbers_), 3)]
    return moves if seen["where"] == where(pulley) else None


def where(pulley: dict) -> str:
    """Return a pulley's place and diameter as one text, by which a later change of either is noticed.

    Parameters:  pulley: of an entry
    """
    place_ = pulley.get("place") or {}
    found = []
    for quantity in [place_.get(key) for key in ("across", "up")] + [pulley.get("diameter")]:
        found.append("-" if quantity is None else quantity["value"] + " " + quantity["unit"])
    return place_.get("way", "-") + " " + ", ".join(found)


def seen(place_: dict, diameter: dict, moves: list) -> dict:
    """Return how good a pulley from a photo is, as an entry keeps it, to 0.01 mm.

    Parameters:  place_, diameter: of the pulley in the entry · moves: as `moves_mm` [mm]
    """
    return {"where": where({"place": place_, "diameter": diameter}), "moves": " ".join([numbers.trimmed(v, 2) for move in moves for v in move])}


def _apart_mm(moves, crank):
    """How good a pulley's place is as one number: told from the crankshaft, which was tapped too."""
    square = [0.0, 0.0]
    for i in (0, 1):
        for k in range(len(moves)):
            shared = k < drive_form.MOVES_SHARED
            square[i] += (moves[k][i] - (crank[k][i] if shared else 0.0)) ** 2 + (0.0 if shared else crank[k][i] ** 2)
    return min(100.0, math.sqrt(max(square)))


def _point(place, known):
    """[x, y] of a place [mm]; None while a pulley it is measured from is not placed, or the distances do not meet."""
    if place["way"] == "across_up":
        return [_length(place["across"], ""), _length(place["up"], "")]
    first, second = known.get(place["first"]), known.get(place["second"])
    if first is None or second is None:
        return None
    return meeting(first, _length(place["first_distance"], ""), second, _length(place["second_distance"], ""),
                   place["side"])


def meeting(first: list, first_mm: float, second: list, second_mm: float, side: str):
    """Return the point that lies at given distances from two others.

    along = (d^2 + a^2 - b^2) / 2 d,  aside = sqrt(a^2 - along^2)

    Parameters:  first, second: [x, y] of the two points [mm] · first_mm, second_mm: distances a, b from them [mm] ·
                 side: "left" or "right" of the way from the first to the second
    Returns:     [x, y] [mm]; None when the distances do not meet. Where they miss by no more than 1 mm, the point
                 on the line between stands for it
    Source:      plane trigonometry (two circles)
    """
    dx, dy = second[0] - first[0], second[1] - first[1]
    apart = math.sqrt(dx * dx + dy * dy)
    if apart == 0:
        return None
    along = (apart * apart + first_mm * first_mm - second_mm * second_mm) / (2 * apart)
    square = first_mm * first_mm - along * along
    if square < 0:
        if min(abs(first_mm + second_mm - apart), abs(abs(first_mm - second_mm) - apart)) > 1.0:
            return None
        square = 0.0
    aside = math.sqrt(square) if side == "left" else -math.sqrt(square)
    return [first[0] + (along * dx - aside * dy) / apart, first[1] + (along * dy + aside * dx) / apart]


def _points(pulleys):
    """{name: [x, y]} of every pulley that can be placed [mm]."""
    known = {}
    for pulley in pulleys:
        if pulley.get("kind") == "crank" and pulley.get("place") is None:
            known[pulley.get("name")] = [0.0, 0.0]
    waiting = [p for p in pulleys if p.get("place") is not None]
    placed = True
    while placed:
        placed = False
        for pulley in list(waiting):
            point = _point(pulley["place"], known)
            if point is not None:
                known[pulley.get("name")] = point
                waiting.remove(pulley)
                placed = True
    return known


def to_drive(entry: dict, name: str = "", loop: str = "1") -> dict:
    """Return the drive of an entry with every key of the drive form.

    Parameters:  entry: as above · name, loop: of the event that carries it
    Returns:     as `drive_form.parts`: a half-entered drive passes, `drive_form.form` says what it lacks; a pulley
                 whose distances do not meet has None for its place
    Raises:      CoreError with the path of the value in the entry: those of `drive_form.parts`, "missing-key",
                 "not-a-quantity", "unknown-unit", "too-high", "not-canonical"
    """
    _map(entry, "")
    _keys(entry, _TOP, "")
    if entry.get("v") != VERSION:
        _bad("unknown-version", "v")
    good_to = _length(entry.get("good_to"), "good_to")
    given = entry.get("pulleys") or []
    if not isinstance(given, list):
        _bad("not-a-list", "pulleys")
    pulleys = []
    for i in range(len(given)):
        path = "pulleys." + str(i) + "."
        _map(given[i], path[:-1])
        if given[i].get("place") is not None:
            _check_place(given[i]["place"], path + "place")
        pulleys.append(_converted(_without(given[i], ["place", "seen"]), _rules(drive_form.PULLEY_KEYS, ["x_mm", "y_mm", "good_to_mm"]),
                                  _PULLEY, path))
        pulleys[i]["moves_mm"] = _moves(given[i], path + "seen")
    if entry.get("photo") is not None:
        _check_photo(entry["photo"])
    known = _points(given)
    for i in range(len(given)):
        point = known.get(given[i].get("name"))
        if point is not None:
            pulleys[i]["x_mm"], pulleys[i]["y_mm"] = point
        if given[i].get("place") is not None:
            pulleys[i]["good_to_mm"] = good_to
    drive = {key: entry.get(key) for key in ("rotation", "alternator_pulley", "crank_pulley")}
    drive.update({"version": drive_form.VERSION, "name": name, "loop": loop, "pulleys": pulleys,
                  "belt": _converted(entry.get("belt") or {}, drive_form.BELT_KEYS, _BELT, "belt."),
                  "tensioner": _tensioner(entry.get("tensioner") or {}, known)})
    full = drive_form.parts(drive)
    crank = [p["moves_mm"] for p in full["pulleys"] if p["kind"] == "crank" and p["moves_mm"] is not None]
    for pulley in full["pulleys"] if crank else []:
        if pulley["moves_mm"] is not None:
            pulley["good_to_mm"] = None if pulley["kind"] == "crank" else _apart_mm(pulley["moves_mm"], crank[0])
    return full


def _tensioner(given, known):
    _map(given, "tensioner")
    pivot = given.get("pivot")
    out = _converted(_without(given, ["pivot"]), _rules(drive_form.TENSIONER_KEYS, ["pivot_x_mm", "pivot_y_mm"]), [],
                     "tensioner.")
    if pivot is not None:
        _check_place(pivot, "tensioner.pivot")
        point = _point(pivot, known)
        if point is not None:
            out["pivot_x_mm"], out["pivot_y_mm"] = point
    return out


def check(entry: dict, field: str) -> None:
    """Refuse an entry that a record cannot hold.

    Parameters:  entry: as above · field: the data key it belongs to
    Raises:      CoreError of `to_drive`, its field behind the data key
    """
    try:
        to_drive(entry)
    except CoreError as error:
        _bad(error.code, (field + "." + error.field).rstrip("."), **error.values)


def _quantity(millimetres):
    return None if millimetres is None else {"value": numbers.trimmed(millimetres, 3), "unit": "mm"}


def _text(value, rule):
    if rule[0] == "number" and value is not None:
        return numbers.trimmed(value, 8)
    if rule[0] == "pair" and value is not None:
        return [numbers.trimmed(v, 4) for v in value]
    if rule[0] == "load" and value is not None:
        return {key: numbers.trimmed(value[key], 4) for key in value if value[key] is not None}
    return value


def place(x_mm: float, y_mm: float):
    """Return a place told across and up, to 0.001 mm.

    Parameters:  x_mm, y_mm: from the crankshaft's centre [mm], or None
    Returns:     the place, None when it is not known
    """
    if x_mm is None or y_mm is None:
        return None
    return {"way": "across_up", "across": _quantity(x_mm), "up": _quantity(y_mm)}


def _from_crank(full):
    """The drive with its crankshaft at the origin, from where an entry tells places."""
    crank = [p for p in full["pulleys"] if p["kind"] == "crank" and p["x_mm"] is not None and p["y_mm"] is not None]
    if len(crank) != 1 or [crank[0]["x_mm"], crank[0]["y_mm"]] == [0, 0]:
        return full
    x, y = crank[0]["x_mm"], crank[0]["y_mm"]
    for part, across, up in [[p, "x_mm", "y_mm"] for p in full["pulleys"]] + [[full["tensioner"], "pivot_x_mm", "pivot_y_mm"]]:
        if part[across] is not None:
            part[across] -= x
        if part[up] is not None:
            part[up] -= y
    return drive_form.parts(full)


def from_drive(drive: dict) -> dict:
    """Return the entry of a drive that was computed, drawn from a photo or read from a file.

    Parameters:  drive: a drive, perhaps half entered (see `drive_form.parts`) [mm]
    Returns:     the entry; lengths in millimetres to 0.001 mm, places told from the crankshaft's centre wherever the drive
                 has its origin; as `good_to` the largest of those that no photo tells
    Raises:      CoreError as `drive_form.parts`
    """
    full = _from_crank(drive_form.parts(drive))
    measured = [p for p in full["pulleys"] if p["moves_mm"] is None]
    good = [p["good_to_mm"] for p in measured if p["good_to_mm"] is not None]
    out = {key: full[key] for key in ("rotation", "alternator_pulley", "crank_pulley")}
    belt = {key: _text(full["belt"][key], rule) for key, rule, _ in drive_form.BELT_KEYS if key != "effective_mm"}
    belt["length"] = _quantity(full["belt"]["effective_mm"])
    pulleys = []
    for pulley in full["pulleys"]:
        one = {key: _text(pulley[key], rule) for key, rule, _ in drive_form.PULLEY_KEYS
               if key not in ("x_mm", "y_mm", "good_to_mm", "diameter_mm")}
        one["diameter"] = _quantity(pulley["diameter_mm"])
        one["place"] = place(pulley["x_mm"], pulley["y_mm"])
        if pulley["moves_mm"] is not None:
            one["seen"] = seen(one["place"], one["diameter"], pulley["moves_mm"])
        pulleys.append(one)
    arm = {key: _text(full["tensioner"][key], rule) for key, rule, _ in drive_form.TENSIONER_KEYS
           if key not in ("pivot_x_mm", "pivot_y_mm")}
    arm["pivot"] = place(full["tensioner"]["pivot_x_mm"], full["tensioner"]["pivot_y_mm"])
    # Where all are from a photo, one that is measured anew is as good as a tape.
    good_to = TAPE_GOOD_TO if not measured else _quantity(max(good)) if good else None
    out.update({"v": VERSION, "good_to": good_to, "belt": belt, "pulleys": pulleys,
                "tensioner": arm})
    return out


def blank(rotation: str = "clockwise") -> dict:
    """Return the entry of a drive of which nothing is known but its crankshaft.

    Parameters:  rotation: the crankshaft's sense, "clockwise" or "anticlockwise"
    """
    return {"v": VERSION, "rotation": rotation, "alternator_pulley": "unknown", "crank_pulley": "unknown",
            "good_to": TAPE_GOOD_TO, "belt": {}, "pulleys": [{"name": "crank", "kind": "crank", "face": "ribs"}],
            "tensioner": {}}


def lacking(entry: dict) -> list:
    """Return the paths of what the drive's geometry lacks, such as ["pulleys.3.diameter"].

    Parameters:  entry: as above
    Returns:     list of paths in the entry; "pulleys" while there are fewer than two, or no crankshaft
    """
    out = []
    given = entry.get("pulleys") or []
    known = _points(given)
    cranks = [p for p in given if p.get("kind") == "crank"]
    if len(given) < drive_form.FEWEST_PULLEYS or len(cranks) != 1:
        out.append("pulleys")
    for i in range(len(given)):
        if given[i].get("name") not in known:
            out.append("pulleys." + str(i) + ".place")
        if given[i].get("diameter") is None:
            out.append("pulleys." + str(i) + ".diameter")
    belt = entry.get("belt") or {}
    for key in ("section", "length"):
        if belt.get(key) is None:
            out.append("belt." + key)
    return out
