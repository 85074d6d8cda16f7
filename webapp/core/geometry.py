"""The route of an uncrossed belt around circles: tangent lines, wraps, length.

Lengths are in any one unit. A circle carries a signed radius rho = s R: s = +1 where the belt runs
anticlockwise around it, -1 where it runs clockwise, in the order in which the circles are listed.
"""

import math

_TURN = 2 * math.pi
# A wrap this close to a whole turn is a zero wrap seen through rounding.
_SNAP = 1e-9


def tangent(x1: float, y1: float, rho1: float, x2: float, y2: float, rho2: float):
    """Return the belt span from one circle to the next.

    psi = phi + asin((rho1 - rho2) / d),  span = sqrt(d^2 - (rho1 - rho2)^2),
    contact points P + rho (sin psi, -cos psi)

    Parameters:  x1, y1, x2, y2: centres [-] · rho1, rho2: signed radii [-]; all in one unit
    Returns:     (length, direction psi [rad], contact x1, y1, x2, y2), or None where the circles overlap
                 so far that no such line exists
    Source:      plane geometry; the asin is written with atan2, which keeps its digits near a right angle
    """
    dx = x2 - x1
    dy = y2 - y1
    step = rho1 - rho2
    square = dx * dx + dy * dy - step * step
    if square <= 0:
        return None
    span = math.sqrt(square)
    psi = math.atan2(dy, dx) + math.atan2(step, span)
    sine = math.sin(psi)
    cosine = math.cos(psi)
    return (span, psi, x1 + rho1 * sine, y1 - rho1 * cosine, x2 + rho2 * sine, y2 - rho2 * cosine)


def wrap(psi_in: float, psi_out: float, rho: float) -> float:
    """Return the angle of contact between the belt's arrival and its departure.

    beta = s (psi_out - psi_in) mod 2 pi

    Parameters:  psi_in, psi_out: directions of the spans before and after [rad] · rho: signed radius [-]
    Returns:     angle of contact, 0 to below 2 pi [rad]
    Source:      plane geometry
    """
    turn = psi_out - psi_in if rho >= 0 else psi_in - psi_out
    turn -= _TURN * math.floor(turn / _TURN)
    return 0.0 if turn > _TURN - _SNAP else turn


def route(circles: list) -> dict:
    """Return every span and wrap of a closed belt, as far as the given circles allow.

    Parameters:  circles: list of (x, y, signed radius) in belt order, in one unit [-]; None for a circle
                 that is not known
    Returns:     {"spans": list of `tangent` results, span i from circle i to the next; "wraps": list of
                 angles [rad]; "length": of the closed line; "turning": sum of s beta over 2 pi, +1 or -1
                 for an uncrossed loop}; None stands for what cannot be computed
    Source:      plane geometry; the turning number of a simple closed curve is +-1 (Hopf's Umlaufsatz)
    """
    count = len(circles)
    spans = []
    for i in range(count):
        a = circles[i]
        b = circles[(i + 1) % count]
        spans.append(None if a is None or b is None else tangent(a[0], a[1], a[2], b[0], b[1], b[2]))
    wraps = []
    length = 0.0
    turning = 0.0
    for i in range(count):
        before = spans[i - 1]
        after = spans[i]
        if before is None or after is None:
            wraps.append(None)
            length = None
            turning = None
            continue
        rho = circles[i][2]
        beta = wrap(before[1], after[1], rho)
        wraps.append(beta)
        if length is not None:
            length += after[0] + abs(rho) * beta
            turning += beta if rho >= 0 else -beta
    return {"spans": spans, "wraps": wraps, "length": length,
            "turning": None if turning is None else turning / _TURN}


def span_pull(before: tuple, after: tuple) -> tuple:
    """Return how the belt's length changes as one circle's centre moves.

    dL = (u_in - u_out) . dP, with the unit vectors along belt travel of the spans before and after: the
    tangent points slide, but to first order that does not change the length.

    Parameters:  before, after: `tangent` results of the spans on both sides of the circle [-]
    Returns:     (dL/dx, dL/dy) [-]
    Source:      virtual work: the same vector is the hub force of a belt under unit tension
    """
    return (math.cos(before[1]) - math.cos(after[1]), math.sin(before[1]) - math.sin(after[1]))


def distance_to_span(x: float, y: float, span: tuple) -> float:
    """Return the distance of a point from a span's straight line piece.

    Parameters:  x, y: the point [-] · span: a `tangent` result [-]; all in one unit
    Returns:     distance in the same unit
    Source:      plane geometry
    """
    dx = span[4] - span[2]
    dy = span[5] - span[3]
    along = ((x - span[2]) * dx + (y - span[3]) * dy) / (dx * dx + dy * dy)
    along = min(1.0, max(0.0, along))
    ex = x - span[2] - along * dx
    ey = y - span[3] - along * dy
    return math.sqrt(ex * ex + ey * ey)


def _side(ax, ay, bx, by, x, y):
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax)


def spans_cross(one: tuple, other: tuple) -> bool:
    """Tell whether two spans cross each other.

    Parameters:  one, other: `tangent` results [-]
    Returns:     true when they cross inside both; touching ends do not count
    Source:      orientation test of computational geometry
    """
    a = _side(one[2], one[3], one[4], one[5], other[2], other[3])
    b = _side(one[2], one[3], one[4], one[5], other[4], other[5])
    c = _side(other[2], other[3], other[4], other[5], one[2], one[3])
    d = _side(other[2], other[3], other[4], other[5], one[4], one[5])
    return a * b < 0 and c * d < 0


def open_length(large: float, small: float, centres: float) -> float:
    """Return the length of an open belt around two pulleys.

    L = sqrt(4 C^2 - (D - d)^2) + (D theta_D + d theta_d) / 2

    Parameters:  large, small: diameters [-] · centres: distance of the axes [-]; all in one unit
    Returns:     length in the same unit, or None where one pulley lies inside the other
    Valid:       centres above half the difference of the diameters
    Source:      Shigley, Mechanical Engineering Design, ch. 17, eq. 17-1 and 17-2 (numbers from memory)
    """
    return route([(0.0, 0.0, large / 2), (centres, 0.0, small / 2)])["length"]


def centres_for(large: float, small: float, length: float):
    """Return the distance of the axes of a two-pulley drive from its belt's length.

    First guess C = (b + sqrt(b^2 - 2 (D - d)^2)) / 4 with b = L - pi (D + d) / 2, then Newton steps on the
    exact length: dL/dC = 2 cos(asin((D - d) / 2 C)).

    Parameters:  large, small: diameters [-] · length: length of the belt on the same line [-]; in one unit
    Returns:     distance in the same unit, or None where the belt is too short to reach
    Source:      Shigley, Mechanical Engineering Design, ch. 17, eq. 17-16 (number from memory)
    """
    b = length - math.pi * (large + small) / 2
    inside = b * b - 2 * (large - small) * (large - small)
    if b <= 0 or inside < 0:
        return None
    centres = (b + math.sqrt(inside)) / 4
    for _ in range(30):
        reached = open_length(large, small, centres)
        if reached is None:
            return None
        sine = (large - small) / (2 * centres)
        step = (reached - length) / (2 * math.sqrt(1 - sine * sine))
        centres -= step
        if abs(step) < 1e-13 * centres:
            break
    return centres
