"""A drive laid out in the plane: which way round the belt goes, its spans, wraps and lengths.

Everything is computed on the effective line. Moving the line outward by b adds b to the radius of each
pulley inside the loop and takes b from each pulley outside, so the spans and wraps stay as they are and the
length grows by 2 pi b whatever the route: cord length = effective length + 2 pi b.
"""

import math

from . import drive_data
from . import geometry

# A turning number further than this from a whole one is not rounding.
_TURNING = 1e-6


def radius_mm(pulley: dict, belt: dict, double_sided: bool, extra_mm: float = 0.0):
    """Return a pulley's radius on the effective line, None when something is not known.

    Ribs: d / 2.  Back on a flat rim: d / 2 + back + b.  Back of a double-sided belt: d / 2 + 2 b.

    Parameters:  pulley: of a full drive · belt: `drive_data.belt_numbers` · double_sided: ribs on both
                 faces · extra_mm: added cord-to-back distance [mm]
    Returns:     radius [mm]
    Source:      offset of the cord line, physics of offset curves
    """
    if pulley["diameter_mm"] is None:
        return None
    if pulley["face"] == "ribs":
        return pulley["diameter_mm"] / 2
    if belt["differential_mm"] is None:
        return None
    if double_sided:
        return pulley["diameter_mm"] / 2 + 2 * belt["differential_mm"]
    if belt["back_mm"] is None:
        return None
    return pulley["diameter_mm"] / 2 + belt["back_mm"][0] + extra_mm + belt["differential_mm"]


def cord_radius_mm(pulley: dict, belt: dict, double_sided: bool):
    """Return the radius at which the cord runs over a pulley, None when something is not known.

    Parameters:  pulley: of a full drive · belt: `drive_data.belt_numbers` · double_sided: ribs on both faces
    Returns:     radius [mm]
    Source:      ISO 9981:2020, 5.4: pitch diameter = effective diameter + 2 b; for the back, rim + cord to back
    """
    on_effective = radius_mm(pulley, belt, double_sided)
    if on_effective is None or belt["differential_mm"] is None:
        return None
    return on_effective + (belt["differential_mm"] if pulley["face"] == "ribs" else -belt["differential_mm"])


def _circles(full, belt, way):
    """Circles of the route when the loop runs `way` (+1 anticlockwise) in the listed order."""
    out = []
    for pulley in full["pulleys"]:
        radius = radius_mm(pulley, belt, full["belt"]["double_sided"])
        if radius is None or pulley["x_mm"] is None or pulley["y_mm"] is None:
            out.append(None)
        else:
            out.append((pulley["x_mm"], pulley["y_mm"], way * radius if pulley["face"] == "ribs" else -way * radius))
    return out


def _area(full):
    """Twice the signed area of the polygon of the known centres."""
    known = [p for p in full["pulleys"] if p["x_mm"] is not None and p["y_mm"] is not None]
    area = 0.0
    for i in range(len(known)):
        a = known[i - 1]
        b = known[i]
        area += a["x_mm"] * b["y_mm"] - b["x_mm"] * a["y_mm"]
    return area


def lay_out(full: dict) -> dict:
    """Return the route of a drive's belt, as far as its numbers allow.

    The loop's way round is the one whose turning number is one; the other way would need an extra turn.

    Parameters:  full: a drive in its full form
    Returns:     {"belt": `drive_data.belt_numbers`, "way": +1 when the listed order runs anticlockwise round
                 the loop, else -1, "circles", "spans", "wraps", "turning": see `geometry.route` (lengths in
                 mm), "sound": the route closes without crossing (None when it cannot be told),
                 "effective_mm", "pitch_mm": of the path, or None}
    Source:      signed radii and turning number: see `geometry`
    """
    belt = drive_data.belt_numbers(full)
    first = 1.0 if _area(full) >= 0 else -1.0
    best = None
    for way in (first, -first):
        circles = _circles(full, belt, way)
        found = geometry.route(circles)
        sound = None if found["turning"] is None else abs(found["turning"] - way) < _TURNING
        # One turn the other way round is a sound loop with ribs and back swapped: worth telling.
        if best is None or sound or (sound is False and abs(found["turning"] + way) < _TURNING):
            best = {"belt": belt, "way": way, "circles": circles, "spans": found["spans"], "wraps": found["wraps"],
                    "turning": found["turning"], "sound": sound, "effective_mm": found["length"], "pitch_mm": None}
        if sound or sound is None:
            break
    if not best["sound"]:
        best["effective_mm"] = None
    if best["effective_mm"] is not None and belt["differential_mm"] is not None:
        best["pitch_mm"] = best["effective_mm"] + 2 * math.pi * belt["differential_mm"]
    return best


def travel(full: dict, laid: dict) -> float:
    """Return which way the belt runs.

    Parameters:  full: a drive in its full form · laid: `lay_out` of it
    Returns:     +1 when it runs in the listed order, -1 when it runs against it
    Source:      the crankshaft drives the belt; ribs turn with the loop's way round, the back against it
    """
    turn = 1.0 if full["rotation"] == "anticlockwise" else -1.0
    for pulley in full["pulleys"]:
        if pulley["kind"] == "crank":
            return turn * laid["way"] if pulley["face"] == "ribs" else -turn * laid["way"]


def sense(full: dict, laid: dict, i: int) -> str:
    """Return which way a pulley turns.

    Parameters:  full: a drive in its full form · laid: `lay_out` of it · i: the pulley's place, from 0 [-]
    Returns:     "clockwise" or "anticlockwise"
    Source:      as `travel`
    """
    turn = travel(full, laid) * laid["way"] * (1.0 if full["pulleys"][i]["face"] == "ribs" else -1.0)
    return "anticlockwise" if turn > 0 else "clockwise"


class Moving:
    """The belt's path as one pulley's centre moves: only the two spans and three wraps beside it change.

    Parameters:  laid: a sound `lay_out` · i: the pulley's place, from 0
    """

    def __init__(self, laid, i):
        circles = laid["circles"]
        count = len(circles)
        self.rho = circles[i][2]
        self.before = circles[i - 1]
        self.after = circles[(i + 1) % count]
        # With two pulleys the neighbour on both sides is the same one.
        self.pair = count == 2
        self.psi_in = laid["spans"][i - 2][1]
        self.psi_out = laid["spans"][(i + 1) % count][1]
        self.rest = 0.0
        self.turn = 0.0
        x, y = circles[i][0], circles[i][1]
        now = self._local(x, y)
        self.rest = laid["effective_mm"] - now[0]
        self.turn = now[1]

    def _local(self, x, y):
        before = self.before
        after = self.after
        rho = self.rho
        arriving = geometry.tangent(before[0], before[1], before[2], x, y, rho)
        leaving = geometry.tangent(x, y, rho, after[0], after[1], after[2])
        if arriving is None or leaving is None:
            return None
        first = geometry.wrap(leaving[1] if self.pair else self.psi_in, arriving[1], before[2])
        second = geometry.wrap(arriving[1], leaving[1], rho)
        third = 0.0 if self.pair else geometry.wrap(leaving[1], self.psi_out, after[2])
        length = arriving[0] + leaving[0] + abs(before[2]) * first + abs(rho) * second + abs(after[2]) * third
        turn = (first if before[2] > 0 else -first) + (second if rho > 0 else -second)
        turn += third if after[2] > 0 else -third
        return (length, turn, arriving, leaving, second)

    def at(self, x: float, y: float):
        """Return (effective length, dL/dx, dL/dy, span before, span after, wrap) there, None off the belt.

        Parameters:  x, y: centre of the moved pulley [mm]
        """
        found = self._local(x, y)
        if found is None or abs(found[1] - self.turn) > 1.0:
            return None
        pull = geometry.span_pull(found[2], found[3])
        return (found[0] + self.rest, pull[0], pull[1], found[2], found[3], found[4])
