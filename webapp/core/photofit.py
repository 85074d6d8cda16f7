"""A drive from taps on a photo, fitted at once: tilt and distance of the camera, every circle, and how good each of them is.

Unknown are the camera's tilt against the plane of the belt (two angles), its scale, its focal length, and place and radius of each
circle. Known are the taps on rims, typed sizes, and what is usual of phones and hands; all count with their half widths of 95 %.
What is not known of the camera moves all pulleys together: these common moves are told apart from each pulley's own.
"""

import math

from . import drive_form
from . import phototaps
from .errors import CoreError

# A picture held square by eye is tilted by no more than this, 95 % [deg]: our own choice, no source. Larger tilts are believed
# where the rims or known sizes show them: the prior has the tails of Student's distribution with three degrees of freedom.
TILT_DEG = 5.0
# Half width of each of two tangents, from the circle that holds 95 of 100 (chi-square with two degrees: 2.4477).
_TILT_AXIS = TILT_DEG / 57.29577951308232 / 2.4477 * 1.96
# Who puts a rectangle into the picture may stand anywhere: so many times as much.
_ANYWHERE = 3.0
_TAILS = 5.0 / 1.96 / 1.96
# The focal length may be off from `phototaps.FOCAL_SHARE` by this share, 95 %: phones' main cameras have 23 to 28 mm on film of
# 36 mm (from memory), more for cropped pictures.
_FOCAL_OFF = 0.3
# Faces of pulleys lie before or behind the plane of the belt by this, 95 % [mm]: common practice, no source.
FACE_MM = 3.0
# A rim in a picture is no sharper than this however close the picture was brought, 95 % [px]: our own choice, no source.
SHARPEST_PX = 2.0
_STEEPEST = 1.4
_SHORTEST = 0.3
# A point is farther away than the middle of the picture by no more than the inverse of this [-].
_LEAST_NEAR = 0.1
SHARED = drive_form.MOVES_SHARED
_OWN = drive_form.MOVES - SHARED
_FIRST_STEPS = 2
_STEPS = 12
_TRY_TILT = 0.32
# Slopes are differences over such a step, of scale and focal length as a share.
_DELTA = 4e-3
# Rims show a tilt by themselves only with more points than a circle needs.
_TELLING = 5


def tap_px(size: list, point: list) -> float:
    """Return how good a tap is, 95 %.

    Parameters:  size: [width, height] of the picture [px] · point: [x, y], or [x, y, times as close as the whole picture]
    Returns:     half width [px]
    Source:      `phototaps.TAP_SHARE` and SHARPEST_PX, our own choices
    """
    closer = point[2] if len(point) > 2 else 1.0
    return max(SHARPEST_PX, phototaps.TAP_SHARE * max(size) / closer)


def fit(size: list, rims: list, known: dict) -> dict:
    """Return the pulleys of a drive from taps on a photo, and how good they are.

    Least squares over all taps, typed sizes and priors, each circle solved for within the four unknowns of the camera.

    Parameters:  size: [width, height] of the picture [px] · rims: for each pulley three or more points on its rim, the
                 crankshaft's first, see `tap_px` [px] · known: {"diameters": typed diameter of each pulley or None [mm], "kind": "pulley",
                 "distance" or "rectangle", "points": its taps [px], "sides": its lengths [mm]}
    Returns:     {"pulleys": [{"x_mm", "y_mm", "diameter_mm"}] from the first one's centre, upright as the picture; "moves": for each
                 pulley [dx, dy, dr] in mm: SHARED common moves, the same ones for all pulleys, then three of its own, each a
                 half width of 95 % [mm]; "to_picture": map from these millimetres to pixels; "tilt_deg", "tilt_off_deg": tilt
                 found and its half width [deg]; "misfit": how much farther taps lie from circles than they should, at least 1 [-]}
    Raises:      CoreError "taps-unread" for a point outside the picture, "taps-on-line" or "taps-beyond" with the number of the pulley, "taps-close", "taps-no-rectangle",
                 "size-needed" where no size is known
    Valid:       phone's main camera, whole picture; faces within FACE_MM of one plane; taps that err independently
    Source:      pinhole camera: Hartley and Zisserman, Multiple View Geometry, 6.1 and 4.2.6 (Sampson distance; numbers from memory);
                 JCGM 102:2011 (GUM), law of propagation; prior: see TILT_DEG
    """
    return _Fit(size, rims, known).told()


def map_of(camera: list, size: list) -> list:
    """Return the map from a picture to the plane of the belt.

    u = picture from its middle, y up;  W = 1 + u t / f;  x = (u + (1 / cos t - 1) (e u) e) / (m W)

    Parameters:  camera: [tilt to x, tilt to y, as tangents [-], pixels a millimetre in the middle m [px/mm], focal length f [px]] ·
                 size: [width, height] of the picture [px]
    Returns:     nine numbers, see `phototaps.homography`; no sine or cosine, so that both interpreters give the same digits
    Source:      central projection of a plane whose normal leans by the angle t towards e
    """
    tx, ty, scale, focal = camera
    # 1 / cos t - 1 = tan^2 t / (1 / cos t + 1)
    more = 1 / (math.sqrt(1 + tx * tx + ty * ty) + 1)
    rows = [[1 + more * tx * tx, more * tx * ty, 0.0], [more * tx * ty, 1 + more * ty * ty, 0.0], [scale * tx / focal, scale * ty / focal, scale]]
    out = []
    for a, b, c in rows:
        out += [a, -b, c - a * size[0] / 2 + b * size[1] / 2]
    return out


class _Circle:
    """A pulley: place and radius; residuals of its taps and of its typed diameter."""

    def __init__(self, size, rim, diameter):
        self.rim = rim
        self.taps = [tap_px(size, point) for point in rim]
        self.diameter = diameter
        self.at = None

    def start(self, h):
        found = phototaps.circle([phototaps.mapped(h, point) for point in self.rim])
        self.at = None if found is None else [found["x"], found["y"], found["r"]]
        return found is not None

    def rows(self, maps, at):
        """[residual, slopes by camera, slopes by own] of each observation, by its half width."""
        out = []
        for k in range(len(self.rim)):
            point = self.rim[k]
            here = phototaps.mapped(maps[0], point)
            dx, dy = here[0] - at[0], here[1] - at[1]
            far = max(1e-9, math.sqrt(dx * dx + dy * dy))
            cx, cy = dx / far, dy / far
            right, down = _moves(maps[0], point, here)
            wide = self.taps[k] * math.sqrt((right[0] * cx + right[1] * cy) ** 2 + (down[0] * cx + down[1] * cy) ** 2)
            by_camera = []
            for j in range(len(maps) - 1):
                there = phototaps.mapped(maps[j + 1], point)
                by_camera.append(((there[0] - here[0]) * cx + (there[1] - here[1]) * cy) / _DELTA / wide)
            out.append([(far - at[2]) / wide, by_camera, [-cx / wide, -cy / wide, -1 / wide]])
        if self.diameter is not None:
            wide = phototaps.SIZE_GOOD_TO_MM / 2
            out.append([(at[2] - self.diameter / 2) / wide, [0.0] * SHARED, [0.0, 0.0, 1 / wide]])
        return out


class _Distance:
    """Two points whose distance is known."""

    def __init__(self, size, ends, long):
        self.ends = ends
        self.long = long
        self.taps = [tap_px(size, end) for end in ends]
        self.at = []

    def start(self, h):
        """Nothing of its own is unknown."""
        return True

    def rows(self, maps, at):
        found = []
        for h in maps:
            a, b = phototaps.mapped(h, self.ends[0]), phototaps.mapped(h, self.ends[1])
            found.append(math.sqrt((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2))
        square = phototaps.SIZE_GOOD_TO_MM ** 2
        for k in (0, 1):
            square += (self.taps[k] * _step(maps[0], self.ends[k])) ** 2
        wide = math.sqrt(square)
        return [[(found[0] - self.long) / wide, [(found[j + 1] - found[0]) / _DELTA / wide for j in range(len(maps) - 1)], []]]


class _Rectangle:
    """Four corners in turn of a rectangle whose sides are known; own: its middle, half of its width as a vector, its height."""

    def __init__(self, size, corners, sides):
        self.corners = corners
        self.sides = sides
        self.taps = [tap_px(size, corner) for corner in corners]
        # Pixels run downwards: corners that follow each other clockwise go down from the first side.
        self.down = -1.0 if _turning(corners) > 0 else 1.0
        self.at = None

    def start(self, h):
        points = [phototaps.mapped(h, corner) for corner in self.corners]
        middle = [(points[0][i] + points[1][i] + points[2][i] + points[3][i]) / 4 for i in (0, 1)]
        half = [(points[1][i] + points[2][i] - points[0][i] - points[3][i]) / 4 for i in (0, 1)]
        self.at = middle + half + [self.sides[1]]
        return True

    def rows(self, maps, at):
        long = math.sqrt(at[2] * at[2] + at[3] * at[3])
        up = [-at[3] / long, at[2] / long]
        # How the direction upwards turns with each part of the half width.
        turns = [[-up[0] * at[2] / long / long, 1 / long - up[1] * at[2] / long / long],
                 [-1 / long - up[0] * at[3] / long / long, -up[1] * at[3] / long / long]]
        out = []
        for k in range(4):
            right, high = (-1.0 if k in (0, 3) else 1.0), (-0.5 if k < 2 else 0.5) * self.down
            here = phototaps.mapped(maps[0], self.corners[k])
            there = [phototaps.mapped(other, self.corners[k]) for other in maps[1:]]
            wide = self.taps[k] * _step(maps[0], self.corners[k])
            for i in (0, 1):
                slopes = [1.0 - i, 1.0 * i, right * (1 - i) + high * at[4] * turns[0][i], right * i + high * at[4] * turns[1][i], high * up[i]]
                off = here[i] - at[i] - right * at[2 + i] - high * at[4] * up[i]
                out.append([off / wide, [(point[i] - here[i]) / _DELTA / wide for point in there], [-slope / wide for slope in slopes]])
        wide = phototaps.SIZE_GOOD_TO_MM
        out.append([(2 * long - self.sides[0]) / wide, [0.0] * SHARED, [0.0, 0.0, 2 * at[2] / long / wide, 2 * at[3] / long / wide, 0.0]])
        out.append([(at[4] - self.sides[1]) / wide, [0.0] * SHARED, [0.0, 0.0, 0.0, 0.0, 1 / wide]])
        return out


def _moves(h, point, here):
    """Where one pixel to the right and one down lead on the plane [mm]."""
    right, down = phototaps.mapped(h, [point[0] + 1, point[1]]), phototaps.mapped(h, [point[0], point[1] + 1])
    if right is None or down is None:
        return [1e9, 0.0], [0.0, 1e9]
    return [right[0] - here[0], right[1] - here[1]], [down[0] - here[0], down[1] - here[1]]


def _step(h, point):
    """A pixel on the plane [mm], the longer way."""
    right, down = _moves(h, point, phototaps.mapped(h, point))
    return max(math.sqrt(right[0] ** 2 + right[1] ** 2), math.sqrt(down[0] ** 2 + down[1] ** 2))


def _turning(points):
    total = 0.0
    for k in range(len(points)):
        a, b = points[k - 1], points[k]
        total += a[0] * b[1] - a[1] * b[0]
    return total


class _Fit:
    def __init__(self, size, rims, known):
        self.size = size
        self.points = [point for rim in rims for point in rim] + known["points"]
        for point in self.points:
            if not (-1 <= point[0] <= size[0] + 1 and -1 <= point[1] <= size[1] + 1):
                raise CoreError("taps-unread", "taps")
        for k in range(len(rims)):
            if phototaps.circle(rims[k]) is None:
                raise CoreError("taps-on-line", "taps", {"pulley": str(k + 1)})
        self.rims = rims
        self.circles = [_Circle(size, rims[k], known["diameters"][k]) for k in range(len(rims))]
        self.parts = list(self.circles)
        self.square = False
        self.tilt_axis = _TILT_AXIS
        scale = self._scale(known)
        self.focal = phototaps.FOCAL_SHARE * max(size)
        self.camera = [0.0, 0.0, scale, self.focal]
        # The four unknowns of the camera count in these: tangents as they are, scale and focal length by their share.
        self.unit = [1.0, 1.0, scale, self.focal]
        self._solve()

    def _scale(self, known):
        """Pixels a millimetre, roughly; notes the known size among the parts."""
        if known["kind"] != "pulley":
            tap = max([tap_px(self.size, point) for point in known["points"]])
        if known["kind"] == "distance":
            far = phototaps.check_distance(known["points"], tap)
            self.parts.append(_Distance(self.size, known["points"], known["sides"][0]))
            return far / known["sides"][0]
        if known["kind"] == "rectangle":
            plane = phototaps.plane_by_rectangle(known["points"], known["sides"][0], known["sides"][1], tap)
            for k in range(len(self.rims)):
                if None in [phototaps.mapped(plane, point) for point in self.rims[k]]:
                    raise CoreError("taps-beyond", "taps", {"pulley": str(k + 1)})
            self.parts.append(_Rectangle(self.size, known["points"], known["sides"]))
            self.square = True
            self.tilt_axis = _ANYWHERE * _TILT_AXIS
            sides = [math.sqrt((known["points"][k][0] - known["points"][k - 1][0]) ** 2 + (known["points"][k][1] - known["points"][k - 1][1]) ** 2)
                     for k in range(4)]
            return (sides[1] + sides[3] + sides[2] + sides[0]) / 2 / (known["sides"][0] + known["sides"][1])
        found = [[phototaps.circle(self.rims[k])["r"], known["diameters"][k]] for k in range(len(self.rims)) if known["diameters"][k] is not None]
        if not found:
            raise CoreError("size-needed", "size")
        return max([2 * r / d for r, d in found])

    def _starts(self):
        """Tilts to begin from: rims seen from one side look as from the other, so several are tried."""
        telling = [rim for rim in self.rims if len(rim) >= _TELLING]
        out = [[0.0, 0.0]]
        if self.square or len(telling) > 1:
            out += [[_TRY_TILT, 0.0], [0.0, _TRY_TILT], [-_TRY_TILT, 0.0], [0.0, -_TRY_TILT]]
        return out

    def _solve(self):
        best = None
        for start in self._starts():
            state = self._begun([start[0], start[1]] + self.camera[2:])
            if state is None:
                continue
            state = self._improved(state, _FIRST_STEPS)
            if best is None or state[0] < best[0]:
                best = state
        self.cost, self.camera, self.own = self._improved(best, _STEPS)

    def _begun(self, camera):
        h = map_of(camera, self.size)
        if not self._all_before(camera, h):
            return None
        for part in self.parts:
            if not part.start(h):
                return None
        own = [list(part.at) for part in self.parts]
        return [self._cost(camera, own), camera, own]

    def _all_before(self, camera, h):
        """Whether everything tapped lies well before the horizon."""
        for point in self.points:
            if h[6] * point[0] + h[7] * point[1] + h[8] < _LEAST_NEAR * camera[2]:
                return False
        return True

    def _maps(self, camera):
        out = [map_of(camera, self.size)]
        for j in range(SHARED):
            out.append(map_of([camera[i] + (_DELTA * self.unit[i] if i == j else 0.0) for i in range(SHARED)], self.size))
        return out

    def _prior(self, camera):
        square = camera[0] * camera[0] + camera[1] * camera[1]
        return _TAILS * math.log(1 + square / _TAILS / self.tilt_axis ** 2) + ((camera[3] / self.focal - 1) / _FOCAL_OFF) ** 2

    def _cost(self, camera, own):
        if camera[0] * camera[0] + camera[1] * camera[1] > _STEEPEST ** 2 or camera[2] <= 0 or camera[3] < _SHORTEST * self.focal:
            return 1e30
        h = map_of(camera, self.size)
        if not self._all_before(camera, h):
            return 1e30
        for k in range(len(self.circles)):
            if own[k][2] <= 0:
                return 1e30
        total = self._prior(camera)
        for k in range(len(self.parts)):
            for residual, _, _ in self.parts[k].rows([h], own[k]):
                total += residual * residual
        return total

    def _equations(self, camera, own):
        """Normal equations of the camera with each part's own unknowns solved for: (matrix, right side, parts' share)."""
        maps = self._maps(camera)
        square = camera[0] * camera[0] + camera[1] * camera[1]
        held = 1 / self.tilt_axis ** 2 / (1 + square / _TAILS / self.tilt_axis ** 2)
        matrix = [[0.0] * SHARED for _ in range(SHARED)]
        matrix[0][0] = matrix[1][1] = held
        matrix[2][2] = 1e-6
        matrix[3][3] = 1 / _FOCAL_OFF ** 2
        right = [-held * camera[0], -held * camera[1], 0.0, -(camera[3] / self.focal - 1) / _FOCAL_OFF ** 2]
        parts = []
        for k in range(len(self.parts)):
            rows = self.parts[k].rows(maps, own[k])
            parts.append(_reduced(rows, len(own[k]), matrix, right))
        return matrix, right, parts

    def _improved(self, state, steps):
        cost, camera, own = state
        for _ in range(steps):
            matrix, right, parts = self._equations(camera, own)
            step = phototaps.solve_linear(matrix, right)
            if step is None:
                break
            share = 1.0
            better = None
            while share > 0.02 and better is None:
                tried = [camera[j] + share * step[j] * self.unit[j] for j in range(SHARED)]
                moved = []
                for k in range(len(own)):
                    inverse, across, side = parts[k]
                    change = [side[i] - _dot(across[i], step) for i in range(len(side))]
                    moved.append([own[k][i] + share * change[i] for i in range(len(side))])
                new = self._cost(tried, moved)
                if new < cost:
                    better = [new, tried, moved]
                share /= 2
            if better is None:
                break
            gained = cost - better[0]
            cost, camera, own = better
            if gained < 1e-12 * (1 + cost):
                break
        return [cost, camera, own]

    def told(self):
        """See `fit`."""
        matrix, _, parts = self._equations(self.camera, self.own)
        self._loosen(matrix)
        common = _root(_inverse(matrix))
        misfit = self._misfit()
        moves = []
        for k in range(len(self.circles)):
            inverse, across, _ = parts[k]
            shared = [[-_dot(across[i], [common[j][m] for j in range(SHARED)]) for i in range(3)] for m in range(SHARED)]
            own = _root(_with_face(inverse, self.own[k], self.camera))
            moves.append([[misfit * v for v in move] for move in shared + [[own[i][m] for i in range(3)] for m in range(_OWN)]])
        first = self.own[0]
        placed = [{"x_mm": at[0] - first[0], "y_mm": at[1] - first[1], "diameter_mm": 2 * at[2]} for at in self.own[:len(self.circles)]]
        back = [1.0, 0.0, first[0], 0.0, 1.0, first[1], 0.0, 0.0, 1.0]
        h = map_of(self.camera, self.size)
        tilt = math.atan(math.sqrt(self.camera[0] ** 2 + self.camera[1] ** 2))
        off = math.sqrt(max(common[0][0] ** 2, common[1][0] ** 2 + common[1][1] ** 2)) * misfit
        return {"pulleys": placed, "moves": moves, "to_picture": phototaps.product(phototaps.inverse(h), back),
                "tilt_deg": math.degrees(tilt), "tilt_off_deg": math.degrees(off), "misfit": misfit}

    def _loosen(self, matrix):
        """Far out the tails of the prior hold a tilt less along its own direction than across it."""
        square = self.camera[0] ** 2 + self.camera[1] ** 2
        far = square / _TAILS / self.tilt_axis ** 2
        if square > 0:
            less = (max(0.0, (1 - far) / (1 + far)) - 1) / (1 + far) / self.tilt_axis ** 2 / square
            for i in (0, 1):
                for j in (0, 1):
                    matrix[i][j] += less * self.camera[i] * self.camera[j]

    def _misfit(self):
        """Taps that lie farther from circles than they should, as several degrees of freedom show it."""
        total = 0.0
        count = 0
        free = 0
        h = map_of(self.camera, self.size)
        for k in range(len(self.parts)):
            rows = self.parts[k].rows([h], self.own[k])
            count += len(rows)
            free += len(self.own[k])
            for residual, _, _ in rows:
                total += residual * residual
        left = count - free - 1
        return max(1.0, math.sqrt(total * 1.96 ** 2 / left)) if left >= 4 else 1.0


def _dot(a, b):
    total = 0.0
    for k in range(len(a)):
        total += a[k] * b[k]
    return total


def _reduced(rows, own, matrix, right):
    """Add a part's rows to the camera's equations, its own unknowns solved for: (inverse of its own matrix, camera's share in its
    own unknowns, its own step)."""
    inner = [[0.0] * own for _ in range(own)]
    mixed = [[0.0] * SHARED for _ in range(own)]
    side = [0.0] * own
    for residual, by_camera, by_own in rows:
        for i in range(own):
            side[i] -= by_own[i] * residual
            for j in range(own):
                inner[i][j] += by_own[i] * by_own[j]
            for j in range(SHARED):
                mixed[i][j] += by_own[i] * by_camera[j]
        for i in range(SHARED):
            right[i] -= by_camera[i] * residual
            for j in range(SHARED):
                matrix[i][j] += by_camera[i] * by_camera[j]
    if not own:
        return [], [], []
    inverse = _inverse(inner)
    across = [[_dot(inverse[i], [mixed[k][j] for k in range(own)]) for j in range(SHARED)] for i in range(own)]
    step = [_dot(inverse[i], side) for i in range(own)]
    for i in range(SHARED):
        for k in range(own):
            right[i] -= mixed[k][i] * step[k]
            for j in range(SHARED):
                matrix[i][j] -= mixed[k][i] * across[k][j]
    return inverse, across, step


def _inverse(matrix):
    count = len(matrix)
    columns = [phototaps.solve_linear(matrix, [1.0 if i == k else 0.0 for i in range(count)]) for k in range(count)]
    if None in columns:
        raise CoreError("taps-on-line", "taps", {"pulley": "1"})
    return [[columns[j][i] for j in range(count)] for i in range(count)]


def _root(matrix):
    """Lower triangle whose product with its transpose is the matrix (Cholesky); rounding below zero counts as zero."""
    count = len(matrix)
    out = [[0.0] * count for _ in range(count)]
    for i in range(count):
        for j in range(i + 1):
            rest = (matrix[i][j] + matrix[j][i]) / 2
            for k in range(j):
                rest -= out[i][k] * out[j][k]
            if i == j:
                out[i][i] = math.sqrt(max(0.0, rest))
            else:
                out[i][j] = rest / out[j][j] if out[j][j] > 0 else 0.0
    return out


def _with_face(inverse, at, camera):
    """Own errors, and what a face before or behind the plane does: it looks larger or smaller about the middle of the picture."""
    share = FACE_MM * camera[2] / camera[3]
    return [[inverse[i][j] + share * share * at[i] * at[j] for j in range(3)] for i in range(3)]
