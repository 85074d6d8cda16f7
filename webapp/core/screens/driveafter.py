"""What a recorded drive says after a reading: how far to move a manual tensioner, or what a spring arm should give."""

import math

from .. import drive_form
from .. import layout
from .. import numbers
from .. import tensioner
from .. import units
from .. import words
from ..errors import CoreError
from . import drivelink

_TOWARDS = ["right", "up and right", "up", "up and left", "left", "down and left", "down", "down and right"]


def hints(link: dict, result: dict, told: dict, target) -> list:
    """Return what the drive says once a reading is in: how far to turn, or what the spring should give.

    Parameters:  link: from `drivelink.of`, with the belt as typed · result: from `spanform.compute`, decided · told: from
                 `spanform.tell` · target: data of the "target_set" entry, or None
    Returns:     hints, none or one
    """
    differ = drivelink.two_kinds(link)
    if differ:
        return [drivelink.hint("Tensioner", differ, kind="watch", path=link["path"])]
    kind = link["kind"]
    if kind in tensioner.MANUAL and told["code"] in ("low", "high"):
        return [_how_far(link, result, target)]
    if kind in tensioner.ARM:
        return [_spring(link, result)]
    return []


def _how_far(link, result, target):
    """From every end of the reading's interval to the middle of the window, over the range of the belt's stiffness."""
    title = "How far to move"
    drive = link["drive"]
    wanted = (units.to_si(target["low"], "force") + units.to_si(target["high"], "force")) / 2
    try:
        moves = [tensioner.turn_for(drive, wanted, min(5000.0, result[key])) for key in ("tension_n", "low_n", "high_n")]
        full = drive_form.form(drive)
    except CoreError as error:
        return drivelink.lacking(title, error, link)
    move = moves[0]
    value = move["mm"] if move["deg"] is None else move["deg"]
    ends = [m["low"] for m in moves] + [m["high"] for m in moves]
    if value < 0:
        ends = [-end for end in ends]
    tight = wanted > result["tension_n"]
    far = _Far(full, move, abs(value), max(0.0, min(ends)), max(ends))
    notes = [words.reason("move-steps", {})]
    if move["enough"] is False:
        notes.append(words.reason("move-not-enough", {}))
    sentence = words.reason(far.code, far.values("Tighten" if tight else "Loosen"))
    return drivelink.hint(title, sentence, value=far.text[0], unit=far.unit, notes=notes,
                          between=far.text[1] + " to " + far.text[2] + " " + far.unit,
                          working=_move_working(full, move, far, wanted, result))


class _Far:
    """How far a tensioner's pulley has to go, in the unit that its kind is moved by."""

    def __init__(self, full, move, value, low, high):
        data = full["tensioner"]
        pulley = full["pulleys"][drive_form.index_of(full, data["pulley"])]
        self.pulley = pulley["name"]
        self.sense = move["sense"]
        self.towards = _towards(move["x_mm"] - pulley["x_mm"], move["y_mm"] - pulley["y_mm"])
        self.unit = "mm"
        self.more = ""
        scale = 1.0
        self.code = "move-slot"
        if move["turns"] is not None:
            self.code, self.unit, scale = "move-screw", "turns", 1 / data["mm_per_turn"]
            self.more = numbers.with_interval(value, low, high)[0] + " mm"
        elif data["kind"] == "eccentric":
            self.code, self.unit = "move-eccentric", "degrees"
        elif move["deg"] is not None:
            dx, dy = pulley["x_mm"] - data["pivot_x_mm"], pulley["y_mm"] - data["pivot_y_mm"]
            self.code, scale = "move-swing", math.radians(math.sqrt(dx * dx + dy * dy))
        self.text = numbers.with_interval(value * abs(scale), low * abs(scale), high * abs(scale))

    def values(self, way):
        return {"way": way, "pulley": self.pulley, "value": self.text[0], "low": self.text[1], "high": self.text[2],
                "sense": self.sense or "", "towards": self.towards, "more": self.more}


def _towards(dx, dy):
    """Which way a small move goes, seen from the belt side."""
    eighth = int(math.floor(math.atan2(dy, dx) / (math.pi / 4) + 0.5))
    return _TOWARDS[eighth % 8]


def _move_working(full, move, far, wanted, result):
    laid = layout.lay_out(full)
    ea = [numbers.short(value / 1000, 3) for value in laid["belt"]["axial_n"]]
    now = numbers.with_interval(result["tension_n"], result["low_n"], result["high_n"])
    longer = numbers.short(laid["pitch_mm"]) + " mm x (" + numbers.short(wanted, 3) + " \u2212 " + now[0] + " N)"
    return [["Formula", "dL = L (T wanted \u2212 T now) / EA; then the move that makes the drawn path so much longer"],
            ["With the numbers", "dL = " + longer + " / " + ea[0] + " kN = " + numbers.short(move["path_mm"], 3) + " mm"],
            ["Range", "T now " + now[1] + " to " + now[2] + " N; EA " + ea[1] + " to " + ea[2] + " kN"],
            ["Answer", far.text[0] + " (" + far.text[1] + " to " + far.text[2] + ") " + far.unit],
            ["Valid", "where the drive shows " + far.pulley + " as it stands now"],
            ["Source", "Hooke's law and plane geometry; EA from papers and static tests (from memory)"]]


def _spring(link, result):
    """Whether the reading agrees with the spring; its marks decide all the same."""
    title = "What the spring should give"
    try:
        found = drivelink.arm_of(link)
    except CoreError as error:
        return drivelink.lacking(title, error, link)
    if found["error"] is not None:
        return drivelink.lacking(title, found["error"], link)
    code = "spring-agrees"
    if result["high_n"] < found["low_n"]:
        code = "spring-low"
    elif result["low_n"] > found["high_n"]:
        code = "spring-high"
    unit = link["shop"]["force_unit"]
    ends = [units.from_si(value, unit, "force") for value in (found["rest"]["tension_n"], found["low_n"], found["high_n"])]
    value, low, high = numbers.with_interval(ends[0], ends[1], ends[2])
    kind = "good" if code == "spring-agrees" else "watch"
    return drivelink.hint(title, words.reason(code, {}), kind, value, unit, low + " to " + high + " " + unit,
                          [words.reason("marks-decide", {})], spring_working(found))


def spring_working(found: dict) -> list:
    """Return how the arm's place and the spring's tension were computed.

    Parameters:  found: from `drivelink.arm`, of a belt that fits
    Returns:     [[label, text], ...]
    """
    rest, data = found["rest"], found["full"]["tensioner"]
    tension, low, high = numbers.with_interval(rest["tension_n"], found["low_n"], found["high_n"])
    friction = "not known, left out" if data["friction"] is None else numbers.fixed(100 * data["friction"], 0) + " %"
    return [["Formula", "T = M / r, r = dL/d\u03b8, where the path is as long as the stretched belt"],
            ["With the numbers", "M = " + numbers.short(rest["torque_nm"], 3) + " N m / r = " + numbers.short(rest["lever_mm"], 3)
             + " mm: " + numbers.short(rest["tension_n"]) + " N with a belt of "
             + numbers.trimmed(found["full"]["belt"]["effective_mm"], 1) + " mm"],
            ["Range", "friction of the arm " + friction + "; path good to \u00b1 "
             + numbers.fixed(math.ceil(found["path_mm"]), 0) + " mm; together " + tension + " N, " + low + " to " + high + " N"],
            ["Source", "virtual work; spring as it is recorded with the drive"]]
