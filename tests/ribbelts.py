"""Drawn belts for the count of ribs: grey pictures of an invented belt, the line that a finger drags across, the profiles on it.

Invented throughout: no photo of a real belt has been used. The section is a trapezoid per rib (flanks of 40 degrees between them,
ISO 9982 and ISO 9981, from memory) under one lamp and light from all round, worn, dirty, glaring, blurred and noisy as drawn by chance.
"""

import math

import numpy as np

# Points along the line and lines beside it, as static/js/rib-line.js takes them.
SAMPLES = 192
LINES = 9
# The lines beside the dragged one lie within this share of its length.
BESIDE = 0.06
KINDS = ["plain", "soft", "worn", "dirty", "glare", "slant", "far", "sloppy", "all"]
NOT_BELTS = ["back", "woven", "marks", "waves", "noise"]


def _smooth(values, sigma, axis=0):
    if sigma < 0.05:
        return values
    reach = max(1, int(3 * sigma + 1))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    padded = np.pad(values, [(reach, reach) if i == axis else (0, 0) for i in range(values.ndim)], mode="edge")
    return np.apply_along_axis(lambda line: np.convolve(line, kernel, "valid"), axis, padded)


def _blotches(chance, shape, size):
    """A smooth field of spread 1 with blotches of about `size` pixels, `size` may differ across and along."""
    field = chance.normal(size=shape)
    for axis in (0, 1):
        field = _smooth(field, size[axis], axis)
    return field / (field.std() + 1e-9)


def _ribs(chance, u, count, worn):
    """Grey of ribs at places u across the belt (0 at one edge, 1 at the other), without dirt."""
    fine = np.linspace(0, 1, 6001)
    phase = (fine * count) % 1.0
    top, bottom = chance.uniform(0.30, 0.50), chance.uniform(0.05, 0.14)
    flank = (1 - top - bottom) / 2
    height = np.clip((np.minimum(phase, 1 - phase) - bottom / 2) / flank, 0, 1) * flank / math.tan(math.radians(20)) * 0.9
    height = _smooth(height, 6000 / count * (0.02 + 0.10 * worn))
    # Each rib worn a little by itself.
    height *= 1 + 0.15 * worn * np.interp(fine, np.linspace(0, 1, count + 1), chance.normal(size=count + 1))
    slope = np.gradient(height, fine * count)
    side, up = chance.uniform(-0.9, 0.9), 1.0
    long = math.hypot(side, up)
    normal = np.sqrt(1 + slope * slope)
    lamp = np.clip((-slope * side + up) / normal / long, 0, None)
    depth = 1 - height / height.max()
    open_sky = 1 - chance.uniform(0.4, 0.9) * depth
    shine = chance.uniform(0.0, 0.35) * np.clip((-slope * side / 2 + up) / normal / math.hypot(side / 2, up), 0, 1) ** chance.uniform(10, 60)
    grey = chance.uniform(0.25, 0.6) * lamp * (0.3 + 0.7 * open_sky) + chance.uniform(0.15, 0.4) * open_sky + shine
    if chance.random() < 0.2:
        # Pale dust that lies in the grooves.
        grey += chance.uniform(0.1, 0.5) * depth ** 2
    return np.interp(u, fine, grey)


def belt(seed: int, kind: str = "all", count: int = None) -> dict:
    """Draw a belt and drag a line across it: {"profiles", "length_px", "count"}; see `drawn`."""
    one = drawn(seed, kind, count)
    return {"profiles": profiles(one["picture"], *one["ends"]), "length_px": math.dist(*one["ends"]), "count": one["count"]}


def drawn(seed: int, kind: str = "all", count: int = None) -> dict:
    """Draw a belt: {"picture": grey, "ends": where a finger put the ends of the line, "count"}.

    kind: of KINDS. "plain" clean, close and sharp; the others add one trouble each; "all" draws each trouble by chance.
    """
    chance = np.random.default_rng([seed, KINDS.index(kind)])
    count = count or int(chance.integers(3, 11))

    def has(trouble):
        return kind == trouble or (kind == "all" and chance.random() < 0.4)
    far, soft, worn, dirty, glare, slant, sloppy = [has(k) for k in ("far", "soft", "worn", "dirty", "glare", "slant", "sloppy")]
    per_rib = math.exp(chance.uniform(math.log(4), math.log(12))) if far else math.exp(chance.uniform(math.log(14), math.log(60)))
    length = per_rib * count
    wide = int(length * 1.3)
    high = int(length * 2 * BESIDE + length * 0.5) + 12
    lean = math.tan(math.radians(chance.uniform(-15, 15))) if slant else math.tan(math.radians(chance.uniform(-3, 3)))
    # Picture coordinates: x across, y along; the belt's own u leans and narrows with perspective.
    y, x = np.mgrid[0:high, 0:wide].astype(float)
    left = wide * 0.115
    bend = chance.uniform(-0.08, 0.08) * (2 if slant else 1)
    s = (x - left - lean * (y - high / 2)) / length
    u = s + bend * s * (1 - s)
    grey = _ribs(chance, np.clip(u, 0, 1), count, chance.uniform(0.5, 1.0) if worn else chance.uniform(0, 0.3))
    grey *= 1 + chance.uniform(-0.4, 0.4) * (s - 0.5) + chance.uniform(-0.2, 0.2) * (y / high - 0.5)
    if dirty:
        grey *= np.clip(1 + chance.uniform(0.1, 0.35) * _blotches(chance, grey.shape, (per_rib * chance.uniform(1, 6), per_rib * chance.uniform(0.3, 2))), 0.1, 3)
        for _ in range(int(chance.integers(2, 14))):
            # Cracks across, lumps of rubber or grit.
            cx, cy = chance.uniform(left, left + length), chance.uniform(0, high)
            sx, sy = (per_rib * chance.uniform(0.3, 0.8), chance.uniform(0.5, 2)) if chance.random() < 0.5 else (per_rib * chance.uniform(0.1, 0.5),) * 2
            grey *= 1 + chance.uniform(-0.7, 0.8) * np.exp(-((x - cx) / sx) ** 2 - ((y - cy) / sy) ** 2)
    outside = (u < 0) | (u > 1)
    around = chance.uniform(0.05, 0.9) + chance.uniform(0, 0.15) * _blotches(chance, grey.shape, (per_rib, per_rib))
    grey = np.where(outside, around, grey)
    if glare:
        cx, wide_glare = chance.uniform(left, left + length), length * chance.uniform(0.1, 0.35)
        grey = grey + chance.uniform(0.3, 1.2) * np.exp(-((x - cx) / wide_glare) ** 2)
    blur = chance.uniform(0.12, 0.28) * per_rib if soft else chance.uniform(0.5, 1.0)
    for axis in (0, 1):
        grey = _smooth(grey, blur, axis)
    exposed = 255 * np.clip(grey * chance.uniform(0.5, 1.2), 0, 1) ** (1 / 2.2)
    seen = np.clip(np.round(exposed + chance.normal(0, chance.uniform(1, 6), exposed.shape)), 0, 255)
    ends = []
    for end in (left, left + length):
        # A point under the magnifier: 2 pixels of 1600; a sloppy one misses by up to a third of a rib.
        off = chance.normal(0, 2.0) + (chance.uniform(-0.33, 0.33) * per_rib if sloppy else 0.0)
        ends.append((end + max(-0.5 * per_rib, min(0.5 * per_rib, off)), high / 2))
    return {"picture": seen, "ends": ends, "count": count}


def not_belt(seed: int, kind: str) -> dict:
    """Draw something that has no ribs to count, as a line across it shows it; kind: of NOT_BELTS."""
    chance = np.random.default_rng([seed, 1000 + NOT_BELTS.index(kind)])
    length = chance.uniform(60, 500)
    wide, high = int(length * 1.3), int(length * 0.3) + 12
    y, x = np.mgrid[0:high, 0:wide].astype(float)
    grey = np.full(x.shape, chance.uniform(0.2, 0.6)) * (1 + chance.uniform(-0.5, 0.5) * (x / wide - 0.5))
    if kind == "back":
        grey += chance.uniform(0.01, 0.05) * _blotches(chance, grey.shape, (3, 3))
    elif kind == "woven":
        size = chance.uniform(2, 5)
        grey += 0.05 * np.sin(2 * math.pi * x / size) * np.sin(2 * math.pi * y / size) + 0.04 * _blotches(chance, grey.shape, (2, 2))
    elif kind == "marks":
        for _ in range(int(chance.integers(4, 12))):
            cx = chance.uniform(0, wide)
            grey += chance.uniform(-0.4, 0.4) * (np.abs(x - cx) < chance.uniform(2, length / 12))
    elif kind == "waves":
        grey += chance.uniform(0.05, 0.2) * _blotches(chance, grey.shape, (length / chance.uniform(5, 20), length / chance.uniform(10, 25)))
    else:
        grey += chance.uniform(0.05, 0.3) * chance.normal(size=grey.shape)
    seen = np.clip(np.round(255 * np.clip(grey, 0, 1) ** (1 / 2.2) + chance.normal(0, 3, grey.shape)), 0, 255)
    left = wide * 0.115
    return {"profiles": profiles(seen, (left, high / 2), (left + length, high / 2)), "length_px": length, "count": None}


def profiles(picture, start, end) -> list:
    """Grey along the line and beside it, between pixels by proportion, as static/js/rib-line.js takes them."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    out = []
    for line in range(LINES):
        aside = BESIDE * (2 * line / (LINES - 1) - 1)
        share = (np.arange(SAMPLES) + 0.5) / SAMPLES
        px = np.clip(start[0] + dx * share - dy * aside, 0, picture.shape[1] - 1.001)
        py = np.clip(start[1] + dy * share + dx * aside, 0, picture.shape[0] - 1.001)
        i, j = px.astype(int), py.astype(int)
        a, b = px - i, py - j
        grey = (picture[j, i] * (1 - a) + picture[j, i + 1] * a) * (1 - b) + (picture[j + 1, i] * (1 - a) + picture[j + 1, i + 1] * a) * b
        out.append([int(v) for v in np.round(grey)])
    return out
