"""The lines in the spectrum just after a release: what the pluck brought, against what is heard before and after."""

import math

from . import spectrum

SIZE = 1024
BIN_HZ = spectrum.RATE / SIZE
BINS = 390
# Windows from the release on: 256, 128, 64 and 32 ms. Short ones serve partials that die fast.
_LENGTHS = (1024, 512, 256, 128)
# Part of a window in which it rises.
_RISE = 0.25
# Two lines of one window are at least so far apart [Hz].
_WIDTHS = (6.0, 10.0, 18.0, 34.0)
# Error of a line's frequency: this over the 3/4 power of its worth [Hz], and at least so much.
_BLUR = (2.5, 5.5, 12.0, 25.0)
_BLUR_LEAST = 0.06
# Partials stray: two polarisations, and the pitch falls while the swing gets smaller; more while a string is only guessed.
_STRAY = 0.003
_LOOSE = 0.006
# Of two windows that hear the same line the one with the smaller error counts.
_PREFER = (1.0, 0.75, 0.5, 0.35)
# Skirt of a window: so far below a line, then 18 dB an octave.
_SKIRT_DB = 24.0
_SKIRT_FROM = 2.5
# Noise windows: how far apart, how long a pluck may ring into one, how far a window keeps from a release [samples].
_HOP = 512
_RING = 1400
_GUARD = 40
# In a longer take other plucks are likely, and no noise.
_LONG_TAKE = 20
# What was there just before may go on after: this share of it counts as noise; bins to either side that it is spread over.
_JUST_BEFORE = 0.5
_BEFORE = (1, 2, 4, 8)
# Lines that are no partial are spread over so many Hz times dB.
_FOREIGN_SPAN = 15000.0
_CROWD = 0.3
_MOST = 36
# Valleys: bins to either side for each window, and what a valley lies below the mean of noise.
_VALLEY = (5, 8, 14, 26)
_VALLEY_UP = 3.0
# The moment of the release from the strongest lines: how many, the decay looked for in each window [s], how far about [samples].
_TELLING = 6
_TAUS = (0.08, 0.045, 0.022, 0.01)
_REACH = 100
# The signal-to-noise ratio that one line can bring, how much of it is believed, how far off the first moment usually is, and from
# where on both moments are looked at [samples].
_CAP = 40.0
_TEMPER = 0.6
_USUAL = 32.0
_CLOSE = 16

# Bins are walked by number: the pairs that zip makes are slow in MicroPython.
_EVERY = list(range(BINS))
_EACH = list(range(len(_LENGTHS)))
_windows = []
_shares = {}


def _weights(which):
    """Return one of the windows, filled up with zeros; steady noise has the same power in each. Made once."""
    if not _windows:
        for length in _LENGTHS:
            weights = spectrum.falling(length, int(_RISE * length))
            total = 0.0
            for weight in weights:
                total += weight * weight
            # `spectrum.powers` tells four times the power.
            scale = 0.5 / math.sqrt(total)
            _windows.append([weight * scale for weight in weights] + [0.0] * (SIZE - length))
    return _windows[which]


def _running(values, reach):
    """Return the running mean over 2 reach + 1 bins, over fewer at the ends."""
    if reach not in _shares:
        _shares[reach] = [1 / (min(BINS, b + reach + 1) - max(0, b - reach)) for b in _EVERY]
    shares = _shares[reach]
    total = 0.0
    sums = [total] * (reach + 1)
    for value in values:
        total += value
        sums.append(total)
    sums += [total] * reach
    width = 2 * reach + 1
    return [(sums[b + width] - sums[b]) * shares[b] for b in _EVERY]


def _lifted(floor, values, reach, share):
    """Return a floor, or a share of the running mean of values where that is higher."""
    out = []
    means = _running(values, reach)
    for b in _EVERY:
        least = floor[b]
        mean = share * means[b]
        out.append(mean if mean > least else least)
    return out


def _valleys(power, reach):
    """Return the least power within reach of each bin."""
    width = 2 * reach + 1
    padded = [math.inf] * reach + power + [math.inf] * reach
    least = min(padded[:width])
    out = [least]
    for b in _EVERY[1:]:
        new = padded[b + width - 1]
        if new <= least:
            least = new
        elif padded[b - 1] == least:
            least = min(padded[b:b + width])
        out.append(least)
    return out


def _apart(place, release):
    """Tell whether a noise window keeps away from a release."""
    return place + SIZE < release + _GUARD or place > release + _RING


def _quiet(places, release, others):
    """Return the places of the noise windows that count for a release."""
    away = [place for place in places if _apart(place, release)]
    clear = [place for place in away if all([_apart(place, other) for other in others])]
    return (clear if len(places) > _LONG_TAKE and len(clear) >= 3 else away) or places


def _noise(powers):
    """Return the noise power per bin for each of the windows from the spectra of noise windows: the shorter a window, the wider it blurs."""
    mean = [0.0] * BINS
    for power in powers:
        mean = [mean[b] + power[b] for b in _EVERY]
    scale = 1 / len(powers)
    mean = [m * scale + 1e-14 for m in mean]
    near = _running(mean, 1)
    wide = _running(mean, 2)
    wider = _running(mean, 3)
    return [[0.5 * (mean[b] + wide[b]) for b in _EVERY], [0.5 * (near[b] + wider[b]) for b in _EVERY], wider, _running(mean, 6)]


def heard(sound: list, starts: list) -> list:
    """Return what is heard after each release.

    Parameters:  sound: at 4 kHz · starts: sample of each release, as found, the likeliest first
    Returns:     [`Heard`, ...]: of each release from its own moment, then again those that were found at another one; in a short
                 take of the first only
    Valid:       at least 1100 samples
    Source:      the spectra of windows that fall as a pluck does, against the mean of those away from the release
    """
    places = list(range(0, len(sound) - SIZE + 1, _HOP))
    quiet = [_quiet(places, start, starts) for start in starts]
    used = [place for place in places if any([place in one for one in quiet])]
    powers = spectra(sound, [(start, 0) for start in used + [start - SIZE - _GUARD for start in starts]])
    noises = []
    for mine, before in zip(quiet, powers[len(used):]):
        floors = _noise([powers[used.index(place)] for place in mine])
        noises.append((before, [_lifted(floors[w], before, _BEFORE[w], _JUST_BEFORE) for w in _EACH], len(mine)))
    out = _gathered(sound, starts, noises)
    # Others than the likeliest count in takes of several plucks only, which are longer.
    moments = [_moment(sound, here) for here in (out if len(places) > _LONG_TAKE else out[:1])]
    moved = [i for i, moment in enumerate(moments) if abs(moment - starts[i]) > _CLOSE]
    for i, here in enumerate(out):
        here.release = i
    for i, here in zip(moved, _gathered(sound, [moments[i] for i in moved], [noises[i] for i in moved])):
        here.release = i
        # Neither moment is always the better one.
        out.append(out[i])
        out[i] = here
    for here in out:
        here.settle()
    return out


def _gathered(sound, starts, noises):
    """Return the lines after each start against its noise (power per bin just before, noise for each window, number of spectra it rests on)."""
    powers = spectra(sound, [(start, which) for start in starts for which in _EACH])
    each = len(_EACH)
    return [Heard(start, powers[i * each:(i + 1) * each], *noises[i]) for i, start in enumerate(starts)]


def spectra(sound: list, moments: list) -> list:
    """Return the power spectra from some moments on.

    Parameters:  sound: at 4 kHz · moments: [(sample, window, 0 the longest to 3 the shortest), ...]; two cost as much as one
    Returns:     [power per bin, in the units of `Heard.powers`, ...]
    Source:      as `heard`
    """
    return spectrum.powers(sound, [(start, _weights(which)) for start, which in moments], BINS)


def _moment(sound, here):
    """Return the start from which the strongest lines, as decaying tones, hold most: a tone found too early or too late has lost some."""
    start = here.start
    order = sorted([[-line[1], i] for i, line in enumerate(here.lines)])
    total = [-0.5 * ((i - _REACH) / _USUAL) ** 2 for i in range(2 * _REACH + 1)]
    for minus, i in order[:_TELLING]:
        hz, worth, _, _, window, ratio = here.lines[i]
        if worth < 5:
            break
        held = _held(sound, start, hz, _TAUS[window] * spectrum.RATE)
        scale = _TEMPER * min(_CAP, ratio) / (max(held) + 1e-30)
        for k in range(len(held)):
            total[2 * _REACH - k] += scale * held[k]
    return start - _REACH + total.index(max(total))


def _held(sound, start, hz, tau):
    """Return the power a decaying tone holds when it begins _REACH samples after the start, one before that, ..., _REACH before it."""
    last = start + _REACH + int(2.5 * tau)
    decay = math.exp(-1 / tau)
    c = decay * math.cos(2 * math.pi * hz / spectrum.RATE)
    s = decay * math.sin(2 * math.pi * hz / spectrum.RATE)
    count = len(sound)
    re = im = 0.0
    out = []
    for t in range(min(last, count - 1), start + _REACH, -1):
        re, im = sound[t] + c * re + s * im, c * im - s * re
    for t in range(start + _REACH, start - _REACH - 1, -1):
        re, im = (sound[t] if 0 <= t < count else 0.0) + c * re + s * im, c * im - s * re
        out.append(re * re + im * im)
    return out


class Heard:
    """The lines after one release, whose number is `release`.

    First [hz, worth, dB, blur hz, window, power against noise]; once settled [hz, worth, dB, sigma hz, log chance of a foreign line in its
    place, the same two while a string is only guessed], the one least likely to be foreign first. `worth` is the log-likelihood ratio of
    a line of unknown level against noise that was itself measured; `cap` is for each bin the level [dB] that a hidden partial cannot
    exceed; `near` the nearest line of each bin, or -1; `before` the power of each bin just before the release.
    """

    def __init__(self, start: int, powers: list, before: list, floors: list, count: float):
        self.start = start
        self.release = 0
        self.powers = powers
        self.before = before
        self.freedom = [1 + 0.5 * count, 1.4 + 0.7 * count, 2.0 + count, 2.8 + 1.4 * count]
        # The click of the release is noise too: the valleys of the spectrum itself tell how loud it was.
        self.floors = [_lifted(floors[w], _valleys(powers[w], _VALLEY[w]), 2 * _VALLEY[w], _VALLEY_UP) for w in _EACH]
        self.lines = self._gather()

    def _maxima(self, w):
        """Return the lines of one window that do not lie under the skirt of a stronger one: [[minus dB, hz, worth, bin], ...]."""
        p = self.powers[w]
        floor = self.floors[w]
        m = self.freedom[w]
        found = []
        below = p[1]
        here = p[2]
        for b in range(2, BINS - 1):
            above = p[b + 1]
            if here >= below and here > above and here > 2 * floor[b]:
                worth = (m + 1) * math.log(1 + here / floor[b] / m)
                found.append([-10 * math.log10(here), (b + spectrum.summit([below, here, above])) * BIN_HZ, worth, b])
            below = here
            here = above
        found.sort()
        kept = []
        seconds = _LENGTHS[w] / spectrum.RATE
        for line in found:
            hidden = False
            for other in kept[:10]:
                weaker = line[0] - other[0] - _SKIRT_DB
                # Those to come are no louder.
                if weaker <= 0:
                    break
                away = abs(line[1] - other[1]) * seconds
                if weaker > 18 * math.log2(max(1.0, away / _SKIRT_FROM)):
                    hidden = True
                    break
            if not hidden:
                kept.append(line)
        return kept

    def _gather(self):
        """Return the lines of all windows, each once."""
        found = []
        for w in _EACH:
            for minus, hz, worth, b in self._maxima(w):
                blur = _BLUR[w] / max(1.0, worth) ** 0.75 + _BLUR_LEAST
                found.append([-_PREFER[w] * worth, hz, worth, -minus, blur, w, self.powers[w][b] / self.floors[w][b]])
        found.sort()
        kept = []
        for line in found:
            if all([abs(line[1] - other[1]) > _WIDTHS[line[5]] for other in kept]):
                kept.append(line)
            if len(kept) == _MOST:
                break
        return [[hz, worth, level, blur, w, ratio] for _, hz, worth, level, blur, w, ratio in kept]

    def settle(self):
        """Say of each line how likely it is foreign, and look up what is near each bin."""
        levels = sorted([[-line[2], i] for i, line in enumerate(self.lines)])
        strong = len([line for line in self.lines if line[1] > 6])
        out = []
        louder = 0
        for _, i in levels:
            hz, worth, level, blur, _, _ = self.lines[i]
            if worth > 6:
                louder += 1
            sigma = math.sqrt(blur * blur + (_STRAY * hz) ** 2)
            loose = math.sqrt(blur * blur + (_LOOSE * hz) ** 2)
            # In noise, and from other sources: the louder a line, the rarer.
            foreign = math.log(0.02 * math.exp(-(worth - 3) / 1.5) + (max(1, louder) + _CROWD * strong) / _FOREIGN_SPAN)
            out.append([foreign, i, [hz, worth, level, sigma, foreign + math.log(sigma * 2.5066),
                                     loose, foreign + math.log(loose * 2.5066)]])
        out.sort()
        self.lines = [line for _, _, line in out]
        self.cap = [10 * math.log10(max(power, 3 * floor)) for power, floor in zip(self.powers[0], self.floors[0])]
        self.near = self._nearest()

    def _nearest(self):
        near = [-1] * BINS
        best = [99.0] * BINS
        for i in range(len(self.lines)):
            hz = self.lines[i][0]
            middle = int(hz / BIN_HZ + 0.5)
            for b in range(max(0, middle - 5), min(BINS, middle + 6)):
                away = abs(hz - b * BIN_HZ)
                if away < best[b]:
                    best[b] = away
                    near[b] = i
        return near
