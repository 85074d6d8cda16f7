"""How good a drive's computed lengths and angles are, from how well its pulleys were measured.

First order: each answer's change with every pulley's place and radius, times how far off that may be, added as
squares. Half widths hold 95 times out of 100.
"""

import math

from . import drive_form
from . import layout
from . import sections

# A diameter taken with a caliper or a rule across the rim is good to this, 95 % [mm]: common practice, no source.
# ISO 9981:2020 allows the pulley itself 0.6 mm.
DIAMETER_GOOD_TO_MM = 1.0


class _Slope:
    """How one answer changes with each pulley's x, y and radius."""

    def __init__(self, count):
        self.x = [0.0] * count
        self.y = [0.0] * count
        self.radius = [0.0] * count

    def add(self, other, times):
        for i in range(len(self.x)):
            self.x[i] += times * other.x[i]
            self.y[i] += times * other.y[i]
            self.radius[i] += times * other.radius[i]


class _Errors:
    """How far off each pulley may be: None where the place's error is not known."""

    def __init__(self, full, laid):
        self.good = good_to(full)
        self.moves = [p["moves_mm"] for p in full["pulleys"]]
        self.back = [p["face"] == "back" and not full["belt"]["double_sided"] for p in full["pulleys"]]
        given = laid["belt"]["back_mm"]
        self.back_mm = 0.0 if given is None else (given[2] - given[1]) / 2

    def of(self, slope):
        """[from places, from diameters, from the cord-to-back distance], half widths; None when a place's error is lacking.
        What a photo tells of a pulley's place and diameter together counts as its place."""
        places = 0.0
        diameters = 0.0
        back = 0.0
        shared = [0.0] * drive_form.MOVES_SHARED
        for i in range(len(self.good)):
            # One belt: the same cord-to-back distance at every roller.
            back += slope.radius[i] if self.back[i] else 0.0
            if self.moves[i] is not None:
                for k in range(drive_form.MOVES):
                    move = self.moves[i][k]
                    off = slope.x[i] * move[0] + slope.y[i] * move[1] + slope.radius[i] * move[2]
                    if k < len(shared):
                        shared[k] += off
                    else:
                        places += off * off
                continue
            square = slope.x[i] * slope.x[i] + slope.y[i] * slope.y[i]
            if square > 0:
                if self.good[i] is None:
                    return None
                places += square * self.good[i] * self.good[i]
            diameters += (slope.radius[i] * DIAMETER_GOOD_TO_MM / 2) ** 2
        for off in shared:
            places += off * off
        return [math.sqrt(places), math.sqrt(diameters), abs(back) * self.back_mm]


def good_to(full: dict) -> list:
    """Return how good each pulley's place is; the crankshaft, from which the others are measured, has no error.

    Parameters:  full: a drive in its full form
    Returns:     list of half widths in x and in y, 95 % [mm]; None where nobody said
    Valid:       errors of different pulleys independent of each other
    """
    known = [p for p in full["pulleys"] if p["good_to_mm"] is not None]
    return [0.0 if p["kind"] == "crank" and p["good_to_mm"] is None and known else p["good_to_mm"] for p in full["pulleys"]]


def _sign(circle):
    return 1.0 if circle[2] >= 0 else -1.0


def _span_slopes(laid, i, j):
    """Slopes of a span's length and of its direction: dL = (D . dD - q dq) / L,  dpsi = n . dD / L + dq / L."""
    circles = laid["circles"]
    length, psi = laid["spans"][i][0], laid["spans"][i][1]
    dx = circles[j][0] - circles[i][0]
    dy = circles[j][1] - circles[i][1]
    apart = circles[i][2] - circles[j][2]
    long = _Slope(len(circles))
    turn = _Slope(len(circles))
    for k, way in ((j, 1.0), (i, -1.0)):
        long.x[k] += way * dx / length
        long.y[k] += way * dy / length
        long.radius[k] += way * apart / length * _sign(circles[k])
        turn.x[k] += -way * math.sin(psi) / length
        turn.y[k] += way * math.cos(psi) / length
        turn.radius[k] += -way / length * _sign(circles[k])
    return long, turn


def _together(parts):
    return None if parts is None else math.sqrt(parts[0] ** 2 + parts[1] ** 2 + parts[2] ** 2)


def spread(drive: dict) -> dict:
    """Return how far off the lengths and angles of contact of a drive may be.

    u^2 = sum over pulleys of (dL/dx)^2 g^2 + (dL/dy)^2 g^2 + (dL/dR)^2 (g_d / 2)^2, and the cord-to-back distance as one
    error common to all rollers. For the whole path dL/dR is the angle of contact.

    Parameters:  drive: a drive as plain data with `good_to_mm` of its pulleys [mm]
    Returns:     {"spans_mm", "wraps_deg": lists in the listed order, "effective_mm": half widths that hold 95 times out
                 of 100, "parts_mm": [from places, from diameters, from the cord-to-back distance] of the effective
                 length}; None for what is not known
    Valid:       errors small against the spans; places and diameters independent of each other
    Raises:      CoreError as `drive_form.form`
    Source:      JCGM 100:2008 (GUM), 5.1.2, law of propagation; diameters: see DIAMETER_GOOD_TO_MM
    """
    full = drive_form.form(drive)
    return spread_of(full, layout.lay_out(full))


def spread_of(full: dict, laid: dict) -> dict:
    """Return the spread of a drive that is laid out already (see `spread`).

    Parameters:  full: a drive in its full form · laid: `layout.lay_out` of it
    Returns:     dict as `spread`
    Source:      as `spread`
    """
    count = len(full["pulleys"])
    errors = _Errors(full, laid)
    slopes = [None if laid["spans"][i] is None else _span_slopes(laid, i, (i + 1) % count) for i in range(count)]
    spans = [None if slope is None else _together(errors.of(slope[0])) for slope in slopes]
    wraps = []
    path = _Slope(count)
    for i in range(count):
        if laid["wraps"][i] is None:
            wraps.append(None)
            path = None
            continue
        sign = _sign(laid["circles"][i])
        wrap = _Slope(count)
        wrap.add(slopes[i][1], sign)
        wrap.add(slopes[i - 1][1], -sign)
        turned = _together(errors.of(wrap))
        wraps.append(None if turned is None else math.degrees(turned))
        if path is not None:
            path.add(slopes[i][0], 1.0)
            path.add(wrap, abs(laid["circles"][i][2]))
            path.radius[i] += laid["wraps"][i]
    parts = None if path is None or laid["effective_mm"] is None else errors.of(path)
    return {"spans_mm": spans, "wraps_deg": wraps, "effective_mm": _together(parts), "parts_mm": parts}


def ratios_of(full: dict, laid: dict) -> dict:
    """Return how far off the speed ratios and the belt's speed may be.

    ratio = r_crank / r: each cord radius by half its diameter's error; the cord line's range moves all ribbed pulleys
    together, the cord-to-back distance all rollers.

    Parameters:  full: a drive in its full form · laid: `layout.lay_out` of it
    Returns:     {"ratios": half width of each pulley's ratio to the crankshaft, 0 for the crankshaft itself, None where not
                 known, "speed": half width of the belt's speed as a share of it, None where not known}
    Source:      JCGM 100:2008 (GUM), 5.1.2; ranges of `sections.py` and `drive_data.py`
    """
    double = full["belt"]["double_sided"]
    radii = [layout.cord_radius_mm(p, laid["belt"], double) for p in full["pulleys"]]
    at = [p["kind"] for p in full["pulleys"]].index("crank")
    crank = radii[at]
    if crank is None:
        return {"ratios": [None] * len(radii), "speed": None}
    line = _line_range(full)
    back = laid["belt"]["back_mm"]
    ratios = []
    for i in range(len(radii)):
        radius = radii[i]
        if i == at or radius is None:
            ratios.append(0.0 if i == at else None)
            continue
        on_back = full["pulleys"][i]["face"] == "back" and not double
        shared = line / crank if on_back else line * (1 / crank - 1 / radius)
        roller = (back[2] - back[1]) / 2 / radius if on_back else 0.0
        square = _radii_square(full["pulleys"][at]["moves_mm"], crank, full["pulleys"][i]["moves_mm"], radius) + shared * shared + roller * roller
        ratios.append(crank / radius * math.sqrt(square))
    return {"ratios": ratios, "speed": math.sqrt(_radii_square(full["pulleys"][at]["moves_mm"], crank, None, None) + (line / crank) ** 2)}


def _radii_square(first, first_radius, second, second_radius):
    """Square of how far two radii, or the first alone, may put their ratio off as a share: by their moves, else as measured by hand."""
    square = 0.0
    shared = [0.0] * drive_form.MOVES_SHARED
    for moves, radius, way in ((first, first_radius, 1.0), (second, second_radius, -1.0)):
        if radius is None:
            continue
        if moves is None:
            square += (DIAMETER_GOOD_TO_MM / 2 / radius) ** 2
            continue
        for k in range(drive_form.MOVES):
            if k < len(shared):
                shared[k] += way * moves[k][2] / radius
            else:
                square += (moves[k][2] / radius) ** 2
    for off in shared:
        square += off * off
    return square


def _line_range(full):
    """Half the range of the cord line above the effective line [mm]."""
    section = full["belt"]["section"]
    if full["belt"]["differential_mm"] is not None or section not in sections.RIBBED:
        return 0.0
    data = sections.RIBBED[section]["differential_mm"]
    return (data[2] - data[1]) / 2
