"""A loop's recorded drive as the measuring screens use it: with the belt that is on, and with what it lacks in words.

Loaded only for a belt whose drive is recorded. What the drive says beside a screen's own answer is a hint:
    {"kind": "good" | "watch" | "stop" | "open", "title", "value", "unit", "between", "sentence", "notes": sentences,
     "working": [[label, text], ...], "path": where a number that lacks can be typed, "" for none}
"""

from .. import belts
from .. import card
from .. import drive_data
from .. import drive_entry
from .. import drive_form
from .. import drive_spread
from .. import layout
from .. import tensioner
from .. import units
from .. import words
from ..errors import CoreError
from . import driverecord
from . import drivewords
from . import measuring

# A number of the belt that goes with its section and ribs: another belt has its own.
_OF_SECTION = ["kg_per_m", "differential_mm", "back_mm", "axial_n", "bending_nm2"]
# Points of the curve of belt length over travel; between them it is taken as straight.
_CURVE = 13


def of(job: dict, loop: str, shop: dict) -> dict:
    """Return the recorded drive of a loop with the belt that is on.

    Parameters:  job: the folded job, with a drive for the loop · loop: "1".."3" · shop: the workshop's settings
    Returns:     {"drive": as `drive_form.parts`, "kind": code of its tensioner, "facts": code of the tensioner in the facts,
                 "path": address of the drive, "shop"}
    """
    entry = card.drive_of(job, loop)["data"]
    drive = drive_entry.to_drive(entry["drive"], entry["name"], loop)
    belt = measuring.belt_on(job, loop)
    if belt is not None:
        drive = with_belt(drive, belt["section"], belt["ribs"] or belt["ribs_counted"], sold_mm(belt))
    return {"drive": drive, "kind": drive["tensioner"]["kind"], "facts": measuring.tensioner(job, loop),
            "path": driverecord.path_of(job, loop), "shop": shop}


def with_belt(drive: dict, section, ribs, length_mm) -> dict:
    """Return the drive with another belt.

    Parameters:  drive: as `drive_form.parts` · section, ribs, length_mm: of the belt, on the line it is sold by [mm]; None
                 keeps what the drive says
    Returns:     a new dict; mass and stiffness typed for the drive's own belt are left out with another section or count
    """
    belt = drive["belt"].copy()
    if (section or belt["section"]) != belt["section"] or (ribs or belt["ribs"]) != belt["ribs"]:
        for key in _OF_SECTION:
            belt[key] = None
    belt["section"] = section or belt["section"]
    belt["ribs"] = ribs or belt["ribs"]
    if length_mm is not None:
        belt["effective_mm"] = length_mm
    out = drive.copy()
    out["belt"] = belt
    return out


def sold_mm(data: dict):
    """Return a recorded belt's length on the line that its section is sold by [mm], None when it cannot be told.

    Parameters:  data: data of a "belt_recorded" event
    """
    if data["length"] is None or data["section"] is None:
        return None
    same_line = belts.is_ribbed(data["section"]) or data["length_kind"] == drive_data.sold_by(data["section"])
    return units.to_si(data["length"], "length") * 1000 if same_line else None


def two_kinds(link: dict) -> str:
    """Return the sentence for facts and drive that name different tensioners, "" when they agree or one is not known.

    Parameters:  link: from `of`
    """
    if "unknown" in (link["kind"], link["facts"]) or link["kind"] == link["facts"]:
        return ""
    return words.reason("kinds-differ", {"facts": words.label("tensioner", link["facts"]),
                                         "drive": words.label("tensioner", link["kind"])})


def lacks(error, link: dict) -> dict:
    """Return why the drive cannot answer, and where the number can be typed.

    Parameters:  error: the CoreError of a sum · link: from `of`
    Returns:     {"sentence", "path"}
    """
    path = "" if error.code == "two-arm" else link["path"]
    if error.code == "number-missing":
        path = driverecord.address(link["path"], error.field)
    return {"sentence": drivewords.Shown(link["shop"], link["drive"]).error(error), "path": path}


def hint(title: str, sentence: str, kind: str = "open", value: str = "", unit: str = "", between: str = "", notes=(), working=(),
         path: str = "") -> dict:
    """Return a hint as above.

    Parameters:  title, sentence, kind, value, unit, between, notes, working, path: the keys of a hint
    """
    return {"kind": kind, "title": title, "value": value, "unit": unit, "between": between, "sentence": sentence,
            "notes": list(notes), "working": list(working), "path": path}


def lacking(title: str, error, link: dict) -> dict:
    """Return the hint that says why there is no answer.

    Parameters:  title: of the hint · error: the CoreError · link: from `of`
    """
    why = lacks(error, link)
    return hint(title, why["sentence"], path=why["path"])


def spread_of(full: dict, laid: dict) -> dict:
    """Return how good the drive's lengths are; a place nobody said how good counts as taken with a tape.

    Parameters:  full: a drive in its full form · laid: `layout.lay_out` of it
    Returns:     as `drive_spread.spread`, without None for want of a place's error
    """
    tape_mm = units.to_si(drive_entry.TAPE_GOOD_TO, "length") * 1000
    said = full.copy()
    said["pulleys"] = [p.copy() for p in full["pulleys"]]
    for pulley in said["pulleys"]:
        if pulley["good_to_mm"] is None and pulley["kind"] != "crank":
            pulley["good_to_mm"] = tape_mm
    return drive_spread.spread_of(said, laid)


def arm(drive: dict) -> dict:
    """Return where a spring arm stands with the drive's belt, over what the path's length is good to.

    Parameters:  drive: as `drive_form.parts`, with an arm and the length of its belt
    Returns:     {"rest": `tensioner.rest`, None when the belt does not fit, "error": the CoreError then, "path_mm": half
                 width of the path's length, 95 %, "curve": `tensioner.over_travel`, "used": [low, high] part of the travel,
                 "low_n", "high_n": tension over friction and path, "full": the drive in its full form}
    Raises:      CoreError as `tensioner.rest`, but for a belt that does not fit
    """
    full = drive_form.form(drive)
    laid = layout.lay_out(full)
    found = {"full": full, "error": None, "rest": None}
    try:
        found["rest"] = tensioner.rest(full)
    except CoreError as error:
        if error.code not in ("belt-too-long", "belt-too-short"):
            raise
        found["error"] = error
    length = full["belt"]["effective_mm"]
    found["path_mm"] = spread_of(full, laid)["effective_mm"]
    found["curve"] = tensioner.over_travel(full, _CURVE)
    if not found["curve"]:
        raise CoreError("over-centre", "tensioner.pivot_x_mm")
    ends = [on_curve(found["curve"], length + way * found["path_mm"]) for way in (-1, 0, 1)]
    used = [one["travel_used"] for one in ends]
    found["used"] = [min(used), max(used)]
    found["low_n"] = min([one["low_n"] for one in ends])
    found["high_n"] = max([one["high_n"] for one in ends])
    return found


def arm_of(link: dict) -> dict:
    """Return `arm` of a link's own drive, worked out once.

    Parameters:  link: from `of`
    Raises:      CoreError as `arm`
    """
    if "arm" not in link:
        link["arm"] = arm(link["drive"])
    return link["arm"]


def on_curve(curve: list, length_mm: float) -> dict:
    """Return the point of a tensioner's curve that belongs to a belt length, at its end beyond it.

    Parameters:  curve: from `tensioner.over_travel`, at least one point · length_mm: belt length [mm]
    Returns:     {"travel_used", "tension_n", "low_n", "high_n"}, straight between the points
    """
    ordered = sorted(curve, key=lambda point: (point["effective_mm"], point["travel_used"]))
    if length_mm <= ordered[0]["effective_mm"]:
        return ordered[0]
    for i in range(1, len(ordered)):
        before, after = ordered[i - 1], ordered[i]
        if length_mm <= after["effective_mm"]:
            part = (length_mm - before["effective_mm"]) / (after["effective_mm"] - before["effective_mm"])
            return {key: before[key] + part * (after[key] - before[key])
                    for key in ("travel_used", "tension_n", "low_n", "high_n")}
    return ordered[-1]
