"""Alignment: what an offset between two pulleys is worth as an angle, and the limits that sources give.

The sources disagree, so each limit carries its own; none stands for the vehicle maker's.
"""

import math

from . import card
from . import units
from .errors import CoreError

# [belt kinds, limit as mm per m, source]. The strictest first within a kind.
LIMITS = [
    [("ribbed",), 1000 * math.tan(math.radians(0.25)), "a quarter of a degree, trade practice for ribbed belts, no source"],
    [("ribbed",), 1000 / 16 / 12, "1/16 inch per foot, trade practice for ribbed belts, no source"],
    [("ribbed",), 5.8, "0.58 mm per 100 mm of span, SAE J1596 (withdrawn), as quoted by others"],
    [("vbelt",), 1000 / 10 / 12, "1/10 inch per foot, installation checklists for V-belts, no source"],
    [("vbelt",), 1000 * math.tan(math.radians(0.5)), "half a degree, handbook value for V-belts, from memory"],
]
# A straightedge and feeler gauge, or a scale read by eye, are good to this [m]. Common practice, no source.
GAP_ERROR_M = 0.00025
# A line or an angle gauge laid on a pulley's rim is good to this [deg]. Common practice, no source.
ANGLE_ERROR_DEG = 0.1


def mm_per_m(gap_m: float, over_m: float) -> float:
    """Return an offset as a slope.

    Parameters:  gap_m: offset found at the far pulley, either sign, up to 0.5 [m] · over_m: length that it was
                 found over, 0.02 to 5 [m]
    Returns:     slope, its size only [mm/m]
    Raises:      CoreError "out-of-range"
    """
    _within(gap_m, -0.5, 0.5, "gap")
    _within(over_m, 0.02, 5.0, "over")
    return 1000 * abs(gap_m) / over_m


def to_degrees(slope_mm_per_m: float) -> float:
    """Return a slope as an angle: atan(slope / 1000).

    Parameters:  slope_mm_per_m: 0 to 1000 [mm/m]
    Returns:     angle [deg]
    Raises:      CoreError "out-of-range"
    """
    _within(slope_mm_per_m, 0, 1000, "angle_deg")
    return math.degrees(math.atan(slope_mm_per_m / 1000))


def from_degrees(angle_deg: float) -> float:
    """Return an angle as a slope: 1000 tan(angle).

    Parameters:  angle_deg: either sign, up to 20 [deg]
    Returns:     slope, its size only [mm/m]
    Raises:      CoreError "out-of-range"
    """
    _within(angle_deg, -20, 20, "angle_deg")
    return 1000 * math.tan(math.radians(abs(angle_deg)))


def _within(value, low, high, field):
    if not low <= value <= high:
        raise CoreError("out-of-range", field, {"low": str(low), "high": str(high)})


def limits(belt_kind: str) -> list:
    """Return the limits that sources give for a kind of belt, the strictest first.

    Parameters:  belt_kind: code of words.CHOICES["belt_kind"]
    Returns:     [[limit [mm/m], source], ...]; those of a ribbed belt while the kind is not known, as the stricter ones
    Source:      named beside each; the vehicle maker's value comes first
    """
    family = "vbelt" if belt_kind in ("vbelt", "vbelt_pair") else "ribbed"
    return [[limit, source] for kinds, limit, source in LIMITS if family in kinds]


def judge(slope: float, error: float, limit: float) -> str:
    """Return how a slope stands to its limit, its own error counted.

    Parameters:  slope: as found [mm/m] · error: half width of its 95 % interval [mm/m] · limit: [mm/m]
    Returns:     "inside", "outside", or "cannot_tell" while the interval holds the limit
    Raises:      CoreError "out-of-range" for a negative number
    """
    for value in (slope, error, limit):
        _within(value, 0, 1e6, "angle_deg")
    if slope + error <= limit:
        return "inside"
    return "outside" if slope - error > limit else "cannot_tell"


def by_straightedge(gap_m: float, over_m: float, error_m: float = GAP_ERROR_M) -> dict:
    """Return what a straightedge reading is worth.

    Parameters:  gap_m: offset, either sign [m] · over_m: length it was found over [m] · error_m: how good the gap is, 95 % [m]
    Returns:     {"mm_per_m", "error_mm_per_m", "deg", "error_deg"}
    Raises:      CoreError "out-of-range"
    """
    _within(error_m, 0, 0.01, "gap")
    return _told(mm_per_m(gap_m, over_m), 1000 * error_m / over_m)


def by_angle(angle_deg: float, error_deg: float = ANGLE_ERROR_DEG) -> dict:
    """Return what an angle reading is worth.

    Parameters:  angle_deg: either sign, up to 20 [deg] · error_deg: how good it is, 95 % [deg]
    Returns:     {"mm_per_m", "error_mm_per_m", "deg", "error_deg"}
    Raises:      CoreError "out-of-range"
    """
    _within(error_deg, 0, 5, "angle_deg")
    slope = from_degrees(angle_deg)
    return _told(slope, from_degrees(abs(angle_deg) + error_deg) - slope)


def _told(slope, error):
    degrees = to_degrees(slope)
    return {"mm_per_m": slope, "error_mm_per_m": error, "deg": degrees, "error_deg": to_degrees(slope + error) - degrees}


def of_data(data: dict):
    """Return what a recorded offset is worth, None where its record does not tell how good it is.

    Parameters:  data: of an "offset_read" event
    Returns:     as `by_straightedge`
    """
    good = data["shown"].get("good_to", "").replace("\u00b0", " deg").split()
    try:
        if data["way"] == "angle":
            return by_angle(float(data["angle_deg"]), float(good[0]))
        return by_straightedge(units.to_si(data["gap"], "length"), units.to_si(data["over"], "length"),
                               units.to_si({"value": good[0], "unit": good[1]}, "length"))
    except (CoreError, ValueError, IndexError, TypeError):
        return None


def standing(job: dict, loop: str) -> list:
    """Return the last reading of each span of a belt.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     entries of kind "offset_read", in the order of their first reading; what was found is in their "shown"
    """
    return card.last_of_each([entry for entry in job["offsets"] if entry["loop"] == loop], "span")


def with_verdict(job: dict, loop: str, verdict: str) -> list:
    """Return the spans of a belt whose last reading has a verdict.

    Parameters:  job: the folded job · loop: "1" to "3" · verdict: as `judge` returns it
    """
    return [entry["data"]["span"] for entry in standing(job, loop) if entry["data"]["shown"].get("verdict") == verdict]
