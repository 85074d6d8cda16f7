"""What a recorded drive adds to the comparison of two belts: where the arm would stand with each, and which lengths fit."""

import math

from .. import drive_form
from .. import layout
from .. import numbers
from .. import tensioner
from .. import units
from .. import words
from ..errors import CoreError
from . import driveafter
from . import drivelink

# Without marks, closer than this to an end of the travel deserves a look (our limit).
_NEAR_END = 0.1
_NAMES = [["old", "Old belt"], ["new", "New belt"]]


def add(job: dict, loop: str, entries: list, verdict: dict, reasons: list, shop: dict) -> dict:
    """Return what the belts screen shows besides, and the verdict with what the drive says.

    The rules of the comparison stay: the drive adds a reason, and takes a "same" or "differs" back when the belt cannot go
    on this drive.

    Parameters:  job: the folded job, with a drive for the loop · loop: "1".."3" · entries: the entries of the old and the new
                 belt, each may be None · verdict, reasons: of the comparison · shop: the workshop's settings
    Returns:     {"verdict", "reasons", "drive_hints": hints of `drivelink`}
    """
    link = drivelink.of(job, loop, shop)
    hints = []
    differ = drivelink.two_kinds(link)
    if differ:
        hints.append(drivelink.hint("Tensioner", differ, kind="watch", path=link["path"]))
    elif link["kind"] in tensioner.ARM:
        hints += _arm_hints(link, entries)
    elif link["kind"] in tensioner.LENGTH:
        hints += _length_hints(link, entries[1])
    new = [one for one in hints if one.get("place") == "new"]
    if not new or entries[0] is None:
        return {"verdict": verdict, "reasons": reasons, "drive_hints": hints}
    return {"verdict": _weighed(verdict, new[0]), "reasons": reasons + [new[0]["reason"]], "drive_hints": hints}


def _weighed(verdict, new):
    """The verdict once the drive has spoken; the drive never makes one better."""
    if new["kind"] != "stop" or verdict["kind"] == "stop":
        return verdict
    if verdict["kind"] == "good":
        return {"kind": "watch", "word": "Same, but not for this drive", "sentence": words.reason("same-not-drive", {})}
    return {"kind": "stop", "word": "Stop: does not fit this drive", "sentence": words.reason("verdict-stop", {})}


def _with(link, entry):
    """The drive with a recorded belt, None when that belt's length cannot be told on the drive's line."""
    data = entry["data"]
    length = drivelink.sold_mm(data)
    if length is None:
        return None
    return drivelink.with_belt(link["drive"], data["section"], data["ribs"] or data["ribs_counted"], length)


def _arm_hints(link, entries):
    """The arm with each belt, then the lengths that fit."""
    found = []
    hints = []
    for i in range(len(entries)):
        if entries[i] is None:
            continue
        title = "Arm with the " + _NAMES[i][1].lower()
        drive = _with(link, entries[i])
        if drive is None:
            hints.append(drivelink.hint(title, words.reason("arm-no-length", {})))
            continue
        try:
            arm = drivelink.arm(drive)
        except CoreError as error:
            # What one belt lacks the other lacks too.
            return [drivelink.lacking("Where the arm would stand", error, link)]
        one = _stands(title, arm, link["shop"])
        one["place"] = _NAMES[i][0]
        hints.append(one)
        found.append(arm)
    if len(found) == 2 and None not in (found[0]["rest"], found[1]["rest"]):
        hints[-1]["notes"].append(_apart(found))
    window = _window(link, found)
    return hints + ([window] if window else [])


def _stands(title, arm, shop):
    """One belt on the drive: does it fit, is the pointer inside its marks, what tension."""
    length, path = arm["full"]["belt"]["effective_mm"], arm["path_mm"]
    if arm["error"] is not None:
        lengths = [point["effective_mm"] for point in arm["curve"]]
        perhaps = min(lengths) <= length + path and length - path <= max(lengths)
        sentence = words.sentence(arm["error"])
        if perhaps:
            sentence += " " + words.reason("arm-perhaps", {"error": _mm(path)})
        return _told(title, "watch" if perhaps else "stop", sentence, working=_fit_working(arm, lengths))
    used, low, high = _percent(arm["rest"]["travel_used"], arm["used"])
    kind, code = _judged(arm, length, path)
    sentence = words.reason(code, {})
    unit = shop["force_unit"]
    notes = [words.fault_sentence(fault) for fault in arm["rest"]["faults"] if fault["code"] != "outside-marks"]
    ends = [units.from_si(value, unit, "force") for value in (arm["rest"]["tension_n"], arm["low_n"], arm["high_n"])]
    tension, least, most = numbers.with_interval(ends[0], ends[1], ends[2])
    notes.append(words.reason("arm-tension", {"value": tension, "low": least, "high": most, "unit": unit}))
    working = driveafter.spring_working(arm)
    working.insert(2, ["Travel", words.reason("arm-travel", {})])
    one = _told(title, kind, sentence, used, "%", low + " to " + high + " % of its travel", notes, working)
    one["reason"] = _line(kind, words.reason("arm-at", {"used": used, "low": low, "high": high}) + " " + sentence)
    return one


def _told(title, kind, sentence, value="", unit="", between="", notes=(), working=()):
    """A hint with the line that the verdict gains."""
    one = drivelink.hint(title, sentence, kind, value, unit, between, notes, working)
    one["reason"] = _line(kind, sentence)
    return one


def _line(kind, text):
    return ("STOP: " if kind == "stop" else "") + text


def _percent(used, ends):
    return [numbers.fixed(100 * used, 0), str(int(math.floor(100 * ends[0] + 1e-9))), str(int(math.ceil(100 * ends[1] - 1e-9)))]


def _judged(arm, length, path):
    """[kind, sentence code]: inside the marks for certain, outside for certain, or neither."""
    window = arm["rest"]["window_mm"]
    if window is None:
        near = arm["used"][0] < _NEAR_END or arm["used"][1] > 1 - _NEAR_END
        return ["watch" if near else "open", "arm-near-end" if near else "arm-stands"]
    if window[0] <= length - path and length + path <= window[1]:
        return ["good", "arm-inside"]
    if length + path < window[0] or length - path > window[1]:
        return ["stop", "arm-outside"]
    return ["watch", "arm-may-be-inside" if arm["rest"]["in_marks"] else "arm-may-be-outside"]


def _apart(found):
    """How far the pointer moves between the belts: what the path is off by counts for both alike."""
    rests = [one["rest"] for one in found]
    span = rests[0]["full_deg"] - rests[0]["free_deg"]
    turn = rests[1]["angle_deg"] - rests[0]["angle_deg"]
    code = "arm-same-place" if abs(turn) < 0.5 else "arm-further-back" if turn / span > 0 else "arm-further-out"
    return words.reason(code, {"turn": numbers.fixed(abs(turn), 1), "part": numbers.fixed(100 * abs(turn / span), 0)})


def _mm(value):
    return numbers.fixed(math.ceil(value), 0)


def _fit_working(arm, lengths):
    return [["Formula", "the path's length with the arm at each end of its travel"],
            ["With the numbers", "belts of " + numbers.fixed(min(lengths), 0) + " to " + numbers.fixed(max(lengths), 0)
             + " mm; this one " + numbers.trimmed(arm["full"]["belt"]["effective_mm"], 1) + " mm"],
            ["Range", "path good to \u00b1 " + _mm(arm["path_mm"]) + " mm"], ["Source", "plane geometry of the recorded drive"]]


def _window(link, found):
    """The belt lengths that keep the pointer between its marks, None without marks."""
    try:
        window = tensioner.length_window(link["drive"])
    except CoreError:
        return None
    if window is None or not found:
        return None
    unit = link["shop"]["length_unit"]
    path = found[0]["path_mm"]
    marks = " and ".join([numbers.trimmed(value, 1) for value in link["drive"]["tensioner"]["marks_deg"]])
    ends = [numbers.trimmed(units.from_si(value / 1000, unit, "length"), 0 if unit == "mm" else 1) for value in window]
    return drivelink.hint("Lengths that fit", words.reason("window", {
        "low": ends[0], "high": ends[1], "unit": unit, "error": _mm(path)}), working=[
            ["Formula", "the length with which the arm rests on each mark: path / (1 + (T \u2212 T0) / EA)"],
            ["With the numbers", "marks at " + marks + " degrees: " + numbers.fixed(window[0], 1) + " and "
             + numbers.fixed(window[1], 1) + " mm"],
            ["Range", "path good to \u00b1 " + _mm(path) + " mm: both ends move together"],
            ["Source", "plane geometry and Hooke's law on the recorded drive"]])


def _length_hints(link, entry):
    """Fixed centres and stretch-fit: whether the new belt's length suits the path."""
    drive = _with(link, entry) if entry is not None else None
    if drive is None:
        return []
    title = "New belt on this drive"
    try:
        full = drive_form.form(drive)
        laid = layout.lay_out(full)
        tensioner.need_route(full, laid)
        faults = tensioner.reach(full, laid)
        path = drivelink.spread_of(full, laid)["effective_mm"]
    except CoreError as error:
        return [drivelink.lacking(title, error, link)]
    length = full["belt"]["effective_mm"]
    working = [["Formula", "path along the drawn route against the belt's length"],
               ["With the numbers", "path " + numbers.fixed(laid["effective_mm"], 0) + " \u00b1 " + _mm(path) + " mm; belt "
                + numbers.trimmed(length, 1) + " mm"],
               ["Source", "plane geometry; up to 1 % for an ordinary belt, 0.5 to 4 % for stretch-fit, from memory"]]
    if not faults:
        one = _told(title, "good", words.reason("length-suits", {"error": _mm(path)}), working=working)
    else:
        # Only a hint: the path is known no better than that.
        one = _told(title, "watch", words.fault_sentence(faults[0]) + " " + words.reason("arm-perhaps", {"error": _mm(path)}),
                    working=working)
    one["place"] = "new"
    return [one]
