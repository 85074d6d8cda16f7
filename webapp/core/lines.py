"""The lines in the spectrum just after a release: what the pluck brought, against what was there before and after."""

import math

from . import spectrum

SIZE = 1024
BIN_HZ = spectrum.RATE / SIZE
BINS = 390
# Windows from the release on: 256, 128 and 64 ms. Short ones serve partials that die fast.
_LENGTHS = (1024, 512, 256)
# Two lines of one window are at least so far apart [Hz].
_WIDTHS = (7.0, 11.0, 20.0)
# Error of a line's frequency: this over its worth [Hz], and at least so much.
_BLUR = (6.0, 18.0, 45.0)
_BLUR_LEAST = 0.06
# Partials stray: two polarisations, and the pitch falls while the swing gets smaller.
_STRAY = 0.003
# While a string is only guessed its partials may be off by this share more.
_LOOSE = 0.004
# Of two windows that hear the same line the one with the smaller error counts.
_PREFER = (1.0, 0.33, 0.12)
# Skirt of a Hann window: first side lobe -31 dB, then 18 dB an octave.
_SKIRT_DB = 28.0
_SKIRT_FROM = 2.5
# Noise windows: how far apart, and how long a pluck may ring into one.
_HOP = 384
_RING = 1400
_BEFORE = 40
# What was there just before may go on after: this share of it counts as noise.
_JUST_BEFORE = 0.5
# Lines that are no partial are spread over so many Hz times dB.
_FOREIGN_SPAN = 15000.0
_CROWD = 0.3
_MOST = 32
# Valleys: bins to either side for each window, and what a valley lies below the mean of noise.
_VALLEY = (5, 8, 14)
_VALLEY_UP = 4.0

_windows = []


def _hanns():
    """Return [[weights, sum of their squares], ...] for the three lengths; made once."""
    if not _windows:
        for length in _LENGTHS:
            weights = spectrum.hann(length)
            # The mean square of a Hann window is 3/8.
            _windows.append([weights, 0.375 * length])
    return _windows


def _long_powers(sound, starts):
    """Return the power spectrum of the long window at each start, two by each transform."""
    weights, square = _hanns()[0]
    out = []
    for i in range(0, len(starts), 2):
        j = min(i + 1, len(starts) - 1)
        one, two = spectrum.powers_of_two(spectrum.windowed(sound, starts[i], weights, SIZE),
                                          spectrum.windowed(sound, starts[j], weights, SIZE), BINS)
        out.append([p / square for p in one])
        if j > i:
            out.append([p / square for p in two])
    return out


def after(sound: list, starts: list) -> list:
    """Return the spectra after each release.

    Parameters:  sound: at 4 kHz · starts: sample of each release
    Returns:     [[power per bin in the long, the middle, the short window], ...], in units in which steady noise is the same in each
    Source:      Hann windows
    """
    out = []
    (_, _), (middle, middle_square), (short, short_square) = _hanns()
    long = _long_powers(sound, starts)
    for start, power in zip(starts, long):
        two, three = spectrum.powers_of_two(spectrum.windowed(sound, start, middle, SIZE),
                                            spectrum.windowed(sound, start, short, SIZE), BINS)
        out.append([power, [p / middle_square for p in two], [p / short_square for p in three]])
    return out


def before(sound: list, starts: list) -> list:
    """Return what was heard just before each release, to be taken as noise of the three windows after it.

    Parameters:  sound: at 4 kHz · starts: sample of each release
    Returns:     [[power per bin for the long, the middle, the short window], ...]
    Source:      the long window up to the release, smoothed as far as each window blurs
    """
    out = []
    for power in _long_powers(sound, [start - SIZE - _BEFORE for start in starts]):
        out.append([[_JUST_BEFORE * p for p in _running(power, reach)] for reach in (1, 2, 4)])
    return out


def _running(values, reach):
    """Return the running mean over 2 reach + 1 bins."""
    count = len(values)
    sums = [0.0]
    for v in values:
        sums.append(sums[-1] + v)
    out = []
    for b in range(count):
        low = max(0, b - reach)
        high = min(count, b + reach + 1)
        out.append((sums[high] - sums[low]) / (high - low))
    return out


def noise(sound: list, starts: list) -> tuple:
    """Return what is heard apart from the releases.

    Parameters:  sound: at 4 kHz · starts: sample of each release
    Returns:     (noise power per bin for each of the three windows, number of independent windows it rests on)
    Source:      mean of the spectra clear of any release; where fewer than two are clear, of the quieter half of all
    """
    clear = []
    every = []
    for start in range(0, len(sound) - SIZE + 1, _HOP):
        every.append(start)
        if all([start + SIZE < release + _BEFORE or start > release + _RING for release in starts]):
            clear.append(start)
    used = clear if len(clear) >= 2 else every
    powers = _long_powers(sound, used)
    mean = []
    for b in range(BINS):
        column = [power[b] for power in powers]
        if len(clear) < 2:
            column = sorted(column)[:(len(column) + 1) // 2]
        value = 0.0
        for c in column:
            value += c
        mean.append(value / len(column) + 1e-14)
    near = _running(mean, 1)
    wide = _running(mean, 2)
    wider = _running(mean, 3)
    return ([[0.5 * (mean[b] + wide[b]) for b in range(BINS)], [0.5 * (near[b] + wider[b]) for b in range(BINS)], wider],
            (len(powers) + 1) / 2)


class Heard:
    """The lines after one release; each is [hz, worth, dB, sigma hz, log chance of a foreign line in its place, the same two while a string is only guessed].

    `worth` is the log-likelihood ratio of a line of unknown level against noise that was itself measured; `cap` is for each
    bin the level [dB] that a hidden partial cannot exceed; `near` the nearest line of each bin, or -1.
    """

    def __init__(self, powers: list, floors: list, earlier: list, count: float):
        self.powers = powers
        self.floors = [self._raised(powers[w], floors[w], earlier[w], _VALLEY[w]) for w in (0, 1, 2)]
        floors = self.floors
        self.freedom = [1.5 * count, 2.0 * count, 3.0 * count]
        self.lines = self._gather()
        self.cap = [10 * math.log10(max(power, 3 * floor)) for power, floor in zip(powers[0], floors[0])]
        self.near = self._nearest()

    def _raised(self, power, floor, earlier, reach):
        """Return the noise with the click of the release: the valleys of the spectrum itself, where they are higher."""
        low = [min(power[max(0, b - reach):b + reach + 1]) for b in range(BINS)]
        valleys = _running(low, 2 * reach)
        return [max(floor[b], earlier[b], _VALLEY_UP * valleys[b]) for b in range(BINS)]

    def _maxima(self, w):
        """Return the lines of one window that do not lie under the skirt of a stronger one: [[minus rank, hz, dB, window, worth], ...]."""
        p = self.powers[w]
        floor = self.floors[w]
        m = self.freedom[w]
        found = []
        for b in range(3, BINS - 1):
            if p[b] > 2.5 * floor[b] and p[b] >= p[b - 1] and p[b] > p[b + 1]:
                left = math.log(p[b - 1] + 1e-30)
                middle = math.log(p[b] + 1e-30)
                right = math.log(p[b + 1] + 1e-30)
                bend = left - 2 * middle + right
                shift = 0.5 * (left - right) / bend if bend < -1e-9 else 0.0
                worth = (m + 1) * math.log(1 + p[b] / floor[b] / m)
                level = 10 * math.log10(p[b])
                found.append([-level, [-_PREFER[w] * worth, (b + shift) * BIN_HZ, level, w, worth]])
        found.sort()
        kept = []
        seconds = _LENGTHS[w] / spectrum.RATE
        for minus, line in found:
            hidden = False
            for other in kept[:10]:
                away = abs(line[1] - other[1]) * seconds
                if line[2] < other[2] - _SKIRT_DB - 18 * math.log2(max(1.0, away / _SKIRT_FROM)):
                    hidden = True
                    break
            if not hidden:
                kept.append(line)
        return kept

    def _gather(self):
        """Return the lines of all windows, each once, the one least likely to be foreign first."""
        found = sorted(self._maxima(0) + self._maxima(1) + self._maxima(2))
        kept = []
        for line in found:
            if all([abs(line[1] - other[1]) > _WIDTHS[line[3]] for other in kept]):
                kept.append(line)
            if len(kept) == 2 * _MOST:
                break
        levels = sorted([[-line[2], i] for i, line in enumerate(kept)])
        out = []
        louder = 0
        strong = 0
        for line in kept:
            if line[4] > 6:
                strong += 1
        for _, i in levels:
            rank, hz, level, w, worth = kept[i]
            if worth > 6:
                louder += 1
            blur = _BLUR[w] / min(worth, 100.0) + _BLUR_LEAST
            sigma = math.sqrt(blur * blur + (_STRAY * hz) ** 2)
            loose = math.sqrt(blur * blur + (_LOOSE * hz) ** 2)
            # In noise, and from other sources: the louder a line, the rarer.
            foreign = math.log(0.02 * math.exp(-(worth - 3) / 1.5) + (max(1, louder) + _CROWD * strong) / _FOREIGN_SPAN)
            out.append([foreign, i, [hz, worth, level, sigma, foreign + math.log(sigma * 2.5066), loose, foreign + math.log(loose * 2.5066)]])
        out.sort()
        return [line for _, _, line in out[:_MOST]]

    def _nearest(self):
        near = [-1] * BINS
        best = [99.0] * BINS
        for i in range(len(self.lines)):
            hz = self.lines[i][0]
            middle = int(hz / BIN_HZ + 0.5)
            for b in range(max(0, middle - 4), min(BINS, middle + 5)):
                away = abs(hz - b * BIN_HZ)
                if away < best[b]:
                    best[b] = away
                    near[b] = i
        return near
