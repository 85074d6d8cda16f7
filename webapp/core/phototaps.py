"""Plane geometry of taps on a photo: circles through rim points, maps of a plane, the route over the picture; `photofit` fits them.

Points in a picture are [x, y] in pixels, x to the right and y down. A map says how they become millimetres, x to the
right and y up, seen from the belt side: all pulley faces count as lying in that one plane.
"""

import math

from .errors import CoreError

# A tap under the magnifier is good to this share of the picture's longer side, 95 % [-]: our own choice, no source.
TAP_SHARE = 0.003
# A typed size is good to this, 95 % [mm]: as `drive_spread.DIAMETER_GOOD_TO_MM`, common practice, no source.
SIZE_GOOD_TO_MM = 1.0
# Focal length of a phone's main camera as a share of the picture's longer side: 26 mm on a film frame of 36 mm (common
# practice, from memory).
FOCAL_SHARE = 26.0 / 36.0
# Rim points nearer to one line than this share of their distance make no circle.
_FLAT = 0.02
_STEPS = 48


def solve_linear(rows: list, right: list):
    """Solve a square system of linear equations by elimination with row pivots.

    Parameters:  rows: the matrix, a list of rows [-] · right: the right side [-]
    Returns:     list of unknowns; None where the matrix is singular to rounding
    Valid:       small systems, rows of similar size
    Source:      Gaussian elimination with partial pivoting, Golub and Van Loan, Matrix Computations, 3.4 (from memory)
    """
    count = len(rows)
    work = [list(rows[i]) + [right[i]] for i in range(count)]
    most = max([abs(v) for row in rows for v in row] + [0.0])
    for k in range(count):
        best = k
        for i in range(k + 1, count):
            if abs(work[i][k]) > abs(work[best][k]):
                best = i
        if abs(work[best][k]) <= 1e-12 * most:
            return None
        work[k], work[best] = work[best], work[k]
        for i in range(k + 1, count):
            share = work[i][k] / work[k][k]
            for j in range(k, count + 1):
                work[i][j] -= share * work[k][j]
    out = [0.0] * count
    for k in range(count - 1, -1, -1):
        rest = work[k][count]
        for j in range(k + 1, count):
            rest -= work[k][j] * out[j]
        out[k] = rest / work[k][k]
    return out


def _normal(rows, right):
    """Least squares by the normal equations."""
    count = len(rows[0])
    square = [[0.0] * count for _ in range(count)]
    side = [0.0] * count
    for k in range(len(rows)):
        for i in range(count):
            side[i] += rows[k][i] * right[k]
            for j in range(count):
                square[i][j] += rows[k][i] * rows[k][j]
    return square, side


def circle(points: list):
    """Return the circle through three rim points, or the one that fits more of them best.

    x^2 + y^2 = 2 a x + 2 b y + c,  R^2 = c + a^2 + b^2, about the points' middle

    Parameters:  points: three or more [x, y] on the rim [-]; all in one unit
    Returns:     {"x", "y", "r"}; None where the points lie on one line
    Valid:       exact for three points; the algebraic fit leans to smaller circles where points are noisy and close together
    Source:      Kåsa, A circle fitting procedure and its error analysis, IEEE Trans. IM-25 (1976) (from memory)
    """
    mx, my = 0.0, 0.0
    for point in points:
        mx += point[0] / len(points)
        my += point[1] / len(points)
    size = max([math.sqrt((p[0] - mx) ** 2 + (p[1] - my) ** 2) for p in points])
    if size == 0:
        return None
    near = [[(p[0] - mx) / size, (p[1] - my) / size] for p in points]
    if _flatness(near) < _FLAT:
        return None
    square, side = _normal([[2 * p[0], 2 * p[1], 1.0] for p in near], [p[0] * p[0] + p[1] * p[1] for p in near])
    found = solve_linear(square, side)
    if found is None:
        return None
    a, b, c = found
    radius = math.sqrt(c + a * a + b * b)
    return {"x": mx + size * a, "y": my + size * b, "r": size * radius}


def _flatness(points):
    """Largest distance of a point from the line through the two that lie farthest apart, as a share of their distance."""
    first, second, far = None, None, 0.0
    for i in range(len(points)):
        for j in range(i):
            apart = math.sqrt((points[i][0] - points[j][0]) ** 2 + (points[i][1] - points[j][1]) ** 2)
            if apart > far:
                first, second, far = points[i], points[j], apart
    if far == 0:
        return 0.0
    most = 0.0
    for p in points:
        most = max(most, abs(_cross(first, second, p)))
    return most / far / far


def _cross(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


# ---- perspective ----

def homography(seen: list, known: list):
    """Return the map of a plane's picture that takes four seen points to four known ones.

    (x', y') = (h0 x + h1 y + h2, h3 x + h4 y + h5) / (h6 x + h7 y + h8)

    Parameters:  seen, known: four [x, y] each, no three on one line [-]
    Returns:     [h0, ..., h8] with a positive denominator at the seen points; None where there is no such map
    Source:      direct linear solution, Hartley and Zisserman, Multiple View Geometry, 4.1 and 4.4 (numbers from memory)
    """
    from_seen, to_known = _centring(seen), _centring(known)
    if from_seen is None or to_known is None:
        return None
    rows = []
    right = []
    for k in range(4):
        x, y = mapped(from_seen, seen[k])
        u, v = mapped(to_known, known[k])
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y])
        right.append(u)
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y])
        right.append(v)
    found = solve_linear(rows, right)
    if found is None:
        return None
    h = product(inverse(to_known), product(found + [1.0], from_seen))
    below = [h[6] * p[0] + h[7] * p[1] + h[8] for p in seen]
    if min(below) <= 0:
        h = [-v for v in h]
        below = [-v for v in below]
    return h if min(below) > 0 else None


def _centring(points):
    """The map that brings points about the origin, one unit away."""
    mx = (points[0][0] + points[1][0] + points[2][0] + points[3][0]) / 4
    my = (points[0][1] + points[1][1] + points[2][1] + points[3][1]) / 4
    size = max([math.sqrt((p[0] - mx) ** 2 + (p[1] - my) ** 2) for p in points])
    return None if size == 0 else [1 / size, 0.0, -mx / size, 0.0, 1 / size, -my / size, 0.0, 0.0, 1.0]


def product(a: list, b: list) -> list:
    """Return the map that does b first, then a.

    Parameters:  a, b: maps as `homography` gives them [-]
    Returns:     nine numbers
    Source:      product of 3 by 3 matrices
    """
    return [a[3 * i] * b[j] + a[3 * i + 1] * b[3 + j] + a[3 * i + 2] * b[6 + j] for i in range(3) for j in range(3)]


def inverse(h: list) -> list:
    """Return the map that leads back, up to a positive factor.

    Parameters:  h: a map as `homography` gives it [-]
    Returns:     nine numbers
    Valid:       maps that can be inverted
    Source:      adjugate of a 3 by 3 matrix
    """
    out = [h[4] * h[8] - h[5] * h[7], h[2] * h[7] - h[1] * h[8], h[1] * h[5] - h[2] * h[4],
           h[5] * h[6] - h[3] * h[8], h[0] * h[8] - h[2] * h[6], h[2] * h[3] - h[0] * h[5],
           h[3] * h[7] - h[4] * h[6], h[1] * h[6] - h[0] * h[7], h[0] * h[4] - h[1] * h[3]]
    sign = 1.0 if h[0] * out[0] + h[1] * out[3] + h[2] * out[6] > 0 else -1.0
    return [sign * v for v in out]


def mapped(h: list, point: list):
    """Return where a map takes a point.

    Parameters:  h: nine numbers [-] · point: [x, y] [-]
    Returns:     [x, y]; None for a point on the horizon or beyond it
    Source:      homogeneous coordinates
    """
    below = h[6] * point[0] + h[7] * point[1] + h[8]
    if below <= 0:
        return None
    return [(h[0] * point[0] + h[1] * point[1] + h[2]) / below, (h[3] * point[0] + h[4] * point[1] + h[5]) / below]


# ---- from taps to millimetres ----

def _distance(a, b):
    return math.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)


def check_distance(ends: list, tap: float) -> float:
    """Return how long a known distance is in the picture, or refuse it.

    Parameters:  ends: two [x, y] [px] · tap: how good a tap is [px]
    Returns:     its length [px]
    Raises:      CoreError "taps-close" where the ends are nearer than ten times the error of a tap
    Source:      plane geometry; the factor is our own choice
    """
    far = _distance(ends[0], ends[1])
    if far < 10 * tap:
        raise CoreError("taps-close", "reference")
    return far


def plane_by_rectangle(corners: list, wide_mm: float, high_mm: float, tap: float) -> list:
    """Return the map of a picture in which a rectangle of known sides lies.

    Parameters:  corners: four [x, y] in turn, the first side is the width [px] · wide_mm, high_mm: its sides [mm] ·
                 tap: how good a tap is [px]
    Returns:     map from pixels to millimetres as `homography` gives it, y up
    Raises:      CoreError "taps-no-rectangle" where the corners do not follow each other round a rectangle, or are nearer to
                 each other than ten times the error of a tap
    Source:      Hartley and Zisserman, Multiple View Geometry, 2.7 (number from memory)
    """
    turns = [_cross(corners[k], corners[(k + 1) % 4], corners[(k + 2) % 4]) for k in range(4)]
    sides = [_distance(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    if min(sides) < 10 * tap or not (min(turns) > 0 or max(turns) < 0):
        raise CoreError("taps-no-rectangle", "reference")
    # Pixels run downwards: corners that follow each other clockwise go down from the first side.
    down = -high_mm if turns[0] > 0 else high_mm
    h = homography(corners, [[0.0, 0.0], [wide_mm, 0.0], [wide_mm, down], [0.0, down]])
    if h is None:
        raise CoreError("taps-no-rectangle", "reference")
    return h


# ---- the route over the photo ----

def outlines(to_picture: list, found: list, solved: dict = None) -> dict:
    """Return the pulleys and the belt as lines over the picture.

    Parameters:  to_picture: map from millimetres to pixels [-] · found: pulleys with "x_mm", "y_mm", "diameter_mm" ·
                 solved: `drive.solve` of the drive, None when it cannot be solved
    Returns:     {"pulleys": list of closed lines, "belt": list of lines, open where a span is not known}; a line is a list of
                 [x, y] [px]
    Source:      plane geometry, seen through the map
    """
    rims = []
    for pulley in found:
        rims.append([_on(to_picture, pulley, pulley["diameter_mm"] / 2, 2 * math.pi * k / _STEPS) for k in range(_STEPS)])
    return {"pulleys": [[p for p in rim if p is not None] for rim in rims], "belt": _belt(to_picture, found, solved)}


def _on(to_picture, pulley, radius, turn):
    return mapped(to_picture, [pulley["x_mm"] + radius * math.cos(turn), pulley["y_mm"] + radius * math.sin(turn)])


def _belt(to_picture, found, solved):
    lines = []
    if solved is None:
        return lines
    for i in range(len(found)):
        span = solved["spans"][i]
        if span["length_mm"] is None:
            continue
        line = [mapped(to_picture, [span["x1_mm"], span["y1_mm"]]), mapped(to_picture, [span["x2_mm"], span["y2_mm"]])]
        j = (i + 1) % len(found)
        wrap = solved["wraps"][j]
        after = solved["spans"][j]
        if wrap["deg"] is not None and after["length_mm"] is not None:
            dx, dy = span["x2_mm"] - found[j]["x_mm"], span["y2_mm"] - found[j]["y_mm"]
            turn, radius = math.atan2(dy, dx), math.sqrt(dx * dx + dy * dy)
            listed = (wrap["sense"] == "anticlockwise") == solved["runs_as_listed"]
            step = math.radians(wrap["deg"]) / _STEPS * (1.0 if listed else -1.0)
            line += [_on(to_picture, found[j], radius, turn + step * (k + 1)) for k in range(_STEPS)]
        lines.append([p for p in line if p is not None])
    return lines
