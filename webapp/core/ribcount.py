"""How many ribs a belt shows along a line across it: a proposal with its reason, or declined with one.

Grey is taken along a line from one edge of the belt to the other, and along a few lines beside it. Ribs and grooves follow each
other evenly, so the count is the number of periods from edge to edge. It has to come out whole, to show in every third of the
line and on the lines beside it, and to have no second count that fits as well; otherwise the sum declines.
"""

import math

from .errors import CoreError

FEWEST, MOST = 3, 12
FEWEST_LINES = 3
FEWEST_SAMPLES = 96
MOST_SAMPLES = 400
# A rib narrower than this in the picture cannot be told from its neighbours [px]: our own choice on drawn belts.
LEAST_PX = 10.0
# White or black as the picture can be, and the share of it that leaves too little to see.
_DARKEST, _LIGHTEST = 2, 253
_MOST_CLIPPED = 0.4
# Periods along the line are looked for in steps of a quarter.
_PER_PERIOD = 4
_LOWEST = 2
# The limits below were chosen on drawn belts (tests/ribbelts.py), not on photos of real ones.
_LEAST_PEAK = 0.12
_LEAST_SHARE = 0.65
_LEAST_PART = 0.5
# A part of a line holds at least so many periods.
_PERIODS_APART = 2.4
_OFF_WHOLE = 0.25
_ODD_SURE = 0.4
_ODD_NONE = 0.06


def count(profiles: list, length_px: float, width_mm: float = None, pitch_mm: float = None) -> dict:
    """Propose how many ribs lie along a line across a belt.

    Parameters:  profiles: grey along the dragged line and along lines beside it, in order, each a list of as many numbers from 0
                 to 255, evenly spaced from edge to edge [-] · length_px: length of the line in the picture [px] · width_mm: measured
                 width of the belt [mm], None when it was not measured · pitch_mm: rib pitch of its section [mm], None when not known
    Returns:     {"ribs": the proposal, None when declined, "reason": "" or "clipped", "no-pattern", "part", "two-counts", "not-whole",
                 "few-pixels", "width", "periods": periods found from edge to edge, None with "clipped" and "no-pattern", "other": the
                 other count of "two-counts" or "width", else None, "share": of the grey's changes that the pattern explains [-]}
    Raises:      CoreError "rib-lines"
    Valid:       3 to 12 ribs, ends on the belt's edges, ribs lying straight across the line; proposals are for a person to confirm
    Source:      width = count times pitch, ISO 9982 and DIN 7867 (from memory); discrete Fourier sums with the window of von Hann
    """
    _check(profiles, length_px)
    clipped = 0
    for line in profiles:
        for grey in line:
            clipped += 1 if grey <= _DARKEST or grey >= _LIGHTEST else 0
    if clipped > _MOST_CLIPPED * len(profiles) * len(profiles[0]):
        return _told(None, "clipped")
    lines = [_levelled(line) for line in profiles]
    shares = _Shares(lines)
    found, reason, other = _periods(shares)
    if found is None:
        return _told(None, reason, None, other)
    share = min(1.0, shares.at(found) + shares.at(2 * found) + shares.at(3 * found))
    ribs = int(found + 0.5)
    if reason:
        return _told(None, reason, found, other, share)
    if length_px < LEAST_PX * ribs:
        return _told(None, "few-pixels", found, None, share)
    if abs(found - ribs) > _OFF_WHOLE or not FEWEST <= ribs <= MOST:
        return _told(None, "not-whole", found, None, share)
    if share < _LEAST_SHARE or _weakest_part(lines, found) < _LEAST_PART:
        return _told(None, "part", found, None, share)
    if width_mm is not None and pitch_mm is not None and abs(width_mm - ribs * pitch_mm) > 1.0:
        return _told(None, "width", found, int(width_mm / pitch_mm + 0.5), share)
    return _told(ribs, "", found, None, share)


def _told(ribs, reason, periods=None, other=None, share=0.0):
    return {"ribs": ribs, "reason": reason, "periods": periods, "other": other, "share": share}


def _check(profiles, length_px):
    good = isinstance(profiles, list) and FEWEST_LINES <= len(profiles) <= 15 and _is_number(length_px) and length_px > 0
    for line in profiles if good else []:
        good = good and isinstance(line, list) and len(line) == len(profiles[0]) and FEWEST_SAMPLES <= len(line) <= MOST_SAMPLES
        for grey in line if good else []:
            good = good and _is_number(grey) and 0 <= grey <= 255
    if not good:
        raise CoreError("rib-lines", "lines")


def _is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _levelled(line):
    """A line without what changes slowly along it, its swings evened out so that a glaring part counts no more than a dull one."""
    size = len(line)
    at = [(2 * k + 1) / size - 1 for k in range(size)]
    level = [float(grey) for grey in line]
    for degree in range(4):
        shape = [_legendre(degree, x) for x in at]
        long = 0.0
        along = 0.0
        for k in range(size):
            long += shape[k] * shape[k]
            along += shape[k] * level[k]
        for k in range(size):
            level[k] -= along / long * shape[k]
    swing = _swings(level, size // 6)
    floor = 0.35 * math.sqrt(_mean_square(level)) + 0.5
    return [max(-2.5, min(2.5, level[k] / max(floor, swing[k]))) for k in range(size)]


def _legendre(degree, x):
    return (1.0, x, x * x - 1.0 / 3, x * x * x - 0.6 * x)[degree]


def _mean_square(values):
    total = 0.0
    for value in values:
        total += value * value
    return total / len(values)


def _swings(values, reach):
    """Root mean square about each place, within so many samples."""
    sums = [0.0]
    for value in values:
        sums.append(sums[-1] + value * value)
    out = []
    for k in range(len(values)):
        low, high = max(0, k - reach), min(len(values), k + reach + 1)
        out.append(math.sqrt(max(0.0, sums[high] - sums[low]) / (high - low)))
    return out


class _Shares:
    """How much of the lines' changes each number of periods explains, taken together along the slant of the ribs."""

    def __init__(self, lines):
        size = len(lines[0])
        self.turn = [[math.cos(2 * math.pi * k / size / _PER_PERIOD), -math.sin(2 * math.pi * k / size / _PER_PERIOD)]
                     for k in range(size * _PER_PERIOD)]
        window = [0.5 - 0.5 * math.cos(2 * math.pi * (k + 0.5) / size) for k in range(size)]
        self.weighed = [[line[k] * window[k] for k in range(size)] for line in lines]
        square = 0.0
        for line in self.weighed:
            square += _mean_square(line) / 0.375 / len(lines)
        # Half the sum of the window, and the lines' mean square within it.
        self.scale = 2.0 / (size / 2) ** 2 / (square + 1e-9)
        self.known = {}
        self.most = 2 * MOST + 2

    def at_step(self, step):
        if step not in self.known:
            self.known[step] = self._share([self._sum(line, step) for line in self.weighed])
        return self.known[step]

    def _sum(self, line, step):
        real, imag = 0.0, 0.0
        turn, size = self.turn, len(self.turn)
        at = 0
        for value in line:
            c = turn[at]
            real += value * c[0]
            imag += value * c[1]
            at += step
            if at >= size:
                at -= size
        return [real, imag]

    def _share(self, sums):
        """Ribs that lean shift from line to line by the same phase."""
        real, imag = 0.0, 0.0
        for k in range(1, len(sums)):
            a, b = sums[k - 1], sums[k]
            real += b[0] * a[0] + b[1] * a[1]
            imag += b[1] * a[0] - b[0] * a[1]
        lean = math.atan2(imag, real)
        real, imag = 0.0, 0.0
        for k in range(len(sums)):
            c, s = math.cos(lean * k), -math.sin(lean * k)
            real += sums[k][0] * c - sums[k][1] * s
            imag += sums[k][0] * s + sums[k][1] * c
        return (real * real + imag * imag) / len(sums) ** 2 * self.scale

    def at(self, periods):
        """The share at any number of periods, from the nearest steps; 0 beyond what is looked at."""
        step = periods * _PER_PERIOD
        low = int(step)
        if low < _LOWEST * _PER_PERIOD or low + 1 > self.most * _PER_PERIOD:
            return 0.0
        part = step - low
        return (1 - part) * self.at_step(low) + part * self.at_step(low + 1)

    def peak(self, low, high):
        """[periods, share] of the largest share from low to high, between steps by a parabola."""
        best = None
        for step in range(int(low * _PER_PERIOD), int(high * _PER_PERIOD) + 1):
            if best is None or self.at_step(step) > self.at_step(best):
                best = step
        before, here, after = self.at_step(best - 1), self.at_step(best), self.at_step(best + 1)
        bend = before - 2 * here + after
        shift = 0.0 if bend >= 0 else max(-0.5, min(0.5, (before - after) / (2 * bend)))
        return [(best + shift) / _PER_PERIOD, here]


def _periods(shares):
    """[periods from edge to edge, reason against it or "", other count]; periods None without a pattern."""
    best, most = shares.peak(_LOWEST + 0.5, 2 * MOST)
    if most < _LEAST_PEAK:
        return [None, "no-pattern", None]
    half = best / 2
    if half < FEWEST - 0.5:
        return [_sharpened(shares, best), "", None]
    # Light on both flanks, or dust in the grooves, draws two stripes a rib: then every second one is a little different.
    odd = shares.peak(half - 0.4, half + 0.4)[1]
    if 3 * half + 0.4 < shares.most:
        odd += shares.peak(3 * half - 0.4, 3 * half + 0.4)[1]
    if odd > _ODD_SURE * most or best > MOST + 0.5:
        return [_sharpened(shares, half), "" if odd > _ODD_SURE * most else "two-counts", int(best + 0.5)]
    return [_sharpened(shares, best), "" if odd < _ODD_NONE * most else "two-counts", int(half + 0.5)]


def _sharpened(shares, periods):
    """The periods again, from two and three stripes a rib as well: these tell small differences better."""
    total, weight = 0.0, 0.0
    for times in (1, 2, 3):
        if (periods + 0.4) * times > shares.most - 1:
            break
        at, share = shares.peak(periods * times - 0.5, periods * times + 0.5)
        total += share * times * times * at / times
        weight += share * times * times
    return total / weight


def _weakest_part(lines, periods):
    """The least share that the pattern explains at the start, in the middle and at the end of the lines."""
    size = len(lines[0])
    wide = int(size * max(0.5, min(1.0, _PERIODS_APART / periods)))
    least = None
    for start in (0, (size - wide) // 2, size - wide):
        shares = _Shares([line[start:start + wide] for line in lines])
        found = periods * wide / size
        share = shares.at(found) + shares.at(2 * found)
        least = share if least is None else min(least, share)
    return least
