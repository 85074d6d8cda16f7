"""The form of a drive: one belt loop as plain data, checked once and completed.

Positions are seen from the belt side, x to the right, y up, in millimetres; angles are in degrees,
anticlockwise from +x. `None` stands for a number that is not known: whatever does not need it is still
computed.

    version            1
    name, loop         what the workshop calls it; "1".."3"
    rotation           "clockwise" or "anticlockwise": the crankshaft, seen from the belt side
    alternator_pulley  code of words.CHOICES["alternator_pulley"]
    crank_pulley       code of words.CHOICES["crank_pulley"]
    belt               BELT_KEYS below
    pulleys            list in belt order, in either direction; PULLEY_KEYS below
    tensioner          TENSIONER_KEYS below

`diameter_mm` is the effective diameter of a grooved pulley (the datum diameter for a belt that is sold by
datum length) and the outside of the rim of a flat one. `effective_mm` is the belt's length on the same line.
"""

import math

from . import belts
from . import words
from .errors import CoreError

VERSION = 1
MOST_PULLEYS = 24
FEWEST_PULLEYS = 2

# Each key with its rule: ("text", most), ("number", low, high), ("whole", low, high), ("choice", list of
# words.CHOICES), ("flag",), ("pair", low, high), ("load",) or ("moves",), and what stands for it when it is not given.
# Limits keep out slips of the finger; they are wide on purpose.
TOP_KEYS = [
    ["version", ("whole", 1, 1), VERSION], ["name", ("text", 60), ""], ["loop", ("text", 1), "1"],
    ["rotation", ("choice", "sense"), "clockwise"],
    ["alternator_pulley", ("choice", "alternator_pulley"), "unknown"],
    ["crank_pulley", ("choice", "crank_pulley"), "unknown"],
    ["belt", ("part",), None], ["pulleys", ("part",), None], ["tensioner", ("part",), None],
]
BELT_KEYS = [
    ["section", ("text", 8), None],
    ["ribs", ("whole", 1, 60), None],              # strands of a joined V-belt count as ribs
    ["effective_mm", ("number", 100, 10000), None],
    ["kg_per_m", ("number", 0.002, 10), None],     # whole belt; null = the section's value
    ["differential_mm", ("number", -30, 30), None],  # cord line above the effective line; null = the section's
    ["back_mm", ("number", 0, 30), None],          # cord line to the belt's back; null = the section's value
    ["double_sided", ("flag",), False],
    ["axial_n", ("number", 500, 1e7), None],       # stiffness EA of the whole belt; null = the section's value
    ["bending_nm2", ("number", 0, 5), None],       # stiffness EI of the whole belt; null = the section's value
]
PULLEY_KEYS = [
    ["name", ("text", 40), None],
    ["kind", ("choice", "pulley_kind"), "idler"],
    ["x_mm", ("number", -3000, 3000), None],
    ["y_mm", ("number", -3000, 3000), None],
    ["diameter_mm", ("number", 8, 1500), None],
    ["good_to_mm", ("number", 0, 100), None],      # x and y are each good to this, 95 %; null = not known
    ["face", ("choice", "belt_face"), "ribs"],     # the belt face that touches it
    ["rim", ("choice", "rim"), None],              # null = grooved under ribs, flat under the back
    ["turns", ("choice", "sense"), None],          # the way this accessory must turn; null = not known
    ["inertia_kgm2", ("number", 0, 5), None],      # at its own shaft; null = typical of its kind
    ["load", ("load",), None],                     # see loads.py; null = typical of its kind
    ["decoupler_nm_per_deg", ("number", 0.01, 50), None],  # spring inside this pulley; null = typical
]
# How good a pulley from a photo is: half widths of 95 % as moves [dx, dy, dr], MOVES_SHARED of them common to all pulleys of the
# drive, the rest its own (see `photofit`); null = `good_to_mm` tells.
SEEN_KEYS = [["moves_mm", ("moves",), None]]
MOVES_SHARED = 4
MOVES = 7
TENSIONER_KEYS = [
    ["pulley", ("text", 40), None],                # the pulley that moves; null for stretch_fit and fixed
    ["kind", ("choice", "tensioner"), "unknown"],
    # automatic, automatic_set, hydraulic (an arm that a strut pushes); the pivot also serves eccentric and a
    # slotted bracket that swings about a bolt.
    ["pivot_x_mm", ("number", -3000, 3000), None],
    ["pivot_y_mm", ("number", -3000, 3000), None],
    ["torque_nm", ("number", 0, 500), None],       # of the spring when the arm stands at at_deg
    ["at_deg", ("number", -720, 720), None],
    ["rate_nm_per_deg", ("number", 0, 50), None],  # more for each degree that the belt pushes the arm back
    ["friction", ("number", 0, 0.95), None],       # half width of the band, as a fraction of the spring torque
    ["damping_nms", ("number", 0, 100), None],     # viscous damping of the arm [N m s/rad], hydraulic struts
    ["inertia_kgm2", ("number", 0, 1), None],      # arm and pulley about the pivot
    ["stops_deg", ("pair", -720, 720), None],      # end stops of the arm, either order
    ["marks_deg", ("pair", -720, 720), None],      # marks that the pointer must stay between, as arm angles
    # slotted, lead_screw: from where the pulley is drawn, the axis of the slot and the travel along it.
    ["slot_deg", ("number", -720, 720), None],
    ["travel_mm", ("pair", -500, 500), None],
    ["mm_per_turn", ("number", 0.1, 20), None],    # lead screw: how far one turn moves the pulley
]
LOAD_KEYS = [
    ["torque_nm", ("number", 0, 1000), None], ["power_w", ("number", 0, 100000), None],
    ["amperes", ("number", 0, 1000), None], ["volts", ("number", 0, 100), None],
    ["efficiency", ("number", 0.05, 1), None],
]


def _bad(code, field, **values):
    raise CoreError(code, field, values)


def _number(value, low, high, field):
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        _bad("not-a-number", field)
    if not math.isfinite(value):
        _bad("not-a-number", field)
    if value < low or value > high:
        _bad("out-of-range", field, low=str(low), high=str(high))
    return float(value)


def _count(value, low, high, field):
    # JSON from another program may write a count as 6.0.
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        _bad("not-whole", field)
    if value != int(value):
        _bad("not-whole", field)
    if value < low or value > high:
        _bad("out-of-range", field, low=str(low), high=str(high))
    return int(value)


def _text(value, most, field):
    if not isinstance(value, str):
        _bad("not-text", field)
    if len(value) > most:
        _bad("too-long", field, most=str(most))
    return value


def _pair(value, low, high, field):
    if not isinstance(value, (list, tuple)) or len(value) != 2:
        _bad("not-a-list", field)
    return [_number(v, low, high, field) for v in value]


def _moves(value, field):
    if not isinstance(value, list) or len(value) != MOVES or [move for move in value if not isinstance(move, list) or len(move) != 3]:
        _bad("not-a-list", field)
    return [[_number(v, -3000, 3000, field) for v in move] for move in value]


def _value(value, rule, field):
    """One value by its rule; None is allowed everywhere and means not known."""
    name = rule[0]
    if value is None or name == "part":
        return value
    if name == "number":
        return _number(value, rule[1], rule[2], field)
    if name == "whole":
        return _count(value, rule[1], rule[2], field)
    if name == "text":
        return _text(value, rule[1], field)
    if name == "pair":
        return _pair(value, rule[1], rule[2], field)
    if name == "moves":
        return _moves(value, field)
    if name == "load":
        return _filled(value, LOAD_KEYS, field + ".")
    if name == "flag":
        if not isinstance(value, bool):
            _bad("not-a-flag", field)
        return value
    if not isinstance(value, str) or not words.is_choice(rule[1], value):
        _bad("not-a-choice", field)
    return value


def _filled(data, keys, path):
    """A copy of a dict with every key present and checked."""
    if not isinstance(data, dict):
        _bad("not-a-map", path[:-1])
    out = {}
    for key, rule, otherwise in keys:
        value = _value(data.get(key), rule, path + key)
        out[key] = otherwise if value is None else value
    if [key for key in data if key not in out]:
        for key in sorted(data):
            if key not in out:
                _bad("unknown-key", path + str(key)[:40])
    return out


def form(drive: dict) -> dict:
    """Return a drive in its full form: every key present, numbers as floats, None for what is not known.

    Parameters:  drive: a drive as above; keys may be missing; the full form passes unchanged
    Returns:     a new dict; the one given is not touched
    Raises:      CoreError as `parts`, and with the path of the value as field: "few-pulleys", "no-name",
                 "same-name", "no-crank", "no-such-pulley"
    """
    full = parts(drive)
    _whole(full["pulleys"])
    moved = full["tensioner"]["pulley"]
    if moved is not None and index_of(full, moved) is None:
        _bad("no-such-pulley", "tensioner.pulley", value=moved)
    return full


def parts(drive: dict) -> dict:
    """Return a drive whose values are each in order, though pulleys may still be lacking.

    Parameters:  drive: a drive as above, perhaps half entered
    Returns:     a new dict with every key present
    Raises:      CoreError with the path of the value as field, such as "pulleys.3.diameter_mm" (pulleys
                 count from 0): "not-a-number", "not-whole", "out-of-range", "not-text", "too-long",
                 "not-a-choice", "not-a-flag", "not-a-list", "not-a-map", "unknown-key", "unknown-version",
                 "unknown-section", "too-many"
    """
    if not isinstance(drive, dict):
        _bad("not-a-map", "")
    if drive.get("version", VERSION) != VERSION:
        _bad("unknown-version", "version")
    full = _filled(drive, TOP_KEYS, "")
    if full["loop"] not in ("1", "2", "3"):
        _bad("not-a-choice", "loop")
    full["belt"] = _filled(full["belt"] or {}, BELT_KEYS, "belt.")
    section = full["belt"]["section"]
    if section is not None and section not in belts.section_names():
        _bad("unknown-section", "belt.section", section=section)
    full["tensioner"] = _filled(full["tensioner"] or {}, TENSIONER_KEYS, "tensioner.")
    given = full["pulleys"] or []
    if not isinstance(given, list):
        _bad("not-a-list", "pulleys")
    if len(given) > MOST_PULLEYS:
        _bad("too-many", "pulleys", most=str(MOST_PULLEYS))
    full["pulleys"] = [_filled(given[i], PULLEY_KEYS + SEEN_KEYS, "pulleys." + str(i) + ".") for i in range(len(given))]
    return full


def _whole(pulleys):
    """Refuse pulleys that do not make a drive."""
    if len(pulleys) < FEWEST_PULLEYS:
        _bad("few-pulleys", "pulleys")
    names = []
    cranks = 0
    for i in range(len(pulleys)):
        path = "pulleys." + str(i) + ".name"
        name = pulleys[i]["name"]
        if not name or not name.strip():
            _bad("no-name", path)
        if name in names:
            _bad("same-name", path, value=name)
        names.append(name)
        if pulleys[i]["kind"] == "crank":
            cranks += 1
    if cranks != 1:
        _bad("no-crank", "pulleys")


def check(drive: dict) -> list:
    """Refuse a drive whose form is wrong, and say what is missing from it.

    Parameters:  drive: a drive as above
    Returns:     the paths of the numbers that the geometry lacks, such as ["belt.effective_mm"]
    Raises:      CoreError as `form`
    """
    return missing(form(drive))


def missing(full: dict) -> list:
    """Return the paths of the numbers that a drive's geometry lacks.

    Parameters:  full: a drive in its full form
    Returns:     list of paths, in the order of the form
    Valid:       what tensions and loads need besides is asked for by them
    """
    out = []
    for key in ("section", "effective_mm"):
        if full["belt"][key] is None:
            out.append("belt." + key)
    for i in range(len(full["pulleys"])):
        for key in ("x_mm", "y_mm", "diameter_mm"):
            if full["pulleys"][i][key] is None:
                out.append("pulleys." + str(i) + "." + key)
    return out


def index_of(full: dict, name: str):
    """Return a pulley's place in the list by its name.

    Parameters:  full: a drive in its full form · name: the pulley's name
    Returns:     place, counted from 0, or None
    Valid:       names are unique: `form` sees to it
    """
    for i in range(len(full["pulleys"])):
        if full["pulleys"][i]["name"] == name:
            return i
    return None
