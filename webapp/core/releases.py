"""When was the span let go: sudden new lines in the spectrum, not mere loudness."""

import math

from . import layers
from . import release_weights as made
from . import spectrum

# The sound is looked at with half its samples: frames of 64 ms, every 16 ms (samples at 4 kHz).
FRAME = 256
HOP = 64
# From 16 to 900 Hz in bins of 15.6 Hz: what lies higher tells no more.
_FIRST_BIN = 1
_BINS = 58
# Noise this many times its mean bends the logarithm: what is weaker counts little.
_BEND = 8
# The largest jumps are looked at closely: so many at most, so many frames apart.
CANDIDATES = 8
_NEAR = 4
# Two releases lie at least this many frames apart.
_APART = 6
# Of a take of one pluck so many are kept, those that are not less likely than the likeliest by more than so much (log odds); of more
# plucks those that are likely by themselves.
_ANYHOW = 3
_BEHIND = 4.0
_MOST = 6
_LIKELY = 0.0
# Frames looked at from a jump on: so many before it, so many from it on.
_BACK = 6
_ON = 13
# How far a larger jump is counts up to so many frames.
_FAR = 20
# Borders of the regions of the spectrum that are told of one by one (bins).
_REGIONS = (1, 3, 6, 11, 20, 34, 58)
# Bins that rise less than this share of the one that rises most are no part of the new sound.
_RISEN = 0.25
OF_JUMP = 3 * (len(_REGIONS) - 1) + 2 * (_BACK + _ON) + 5
# From the middle of a jump to the release [samples]: the window has to hold the sound before the jump is whole.
_LATE = 116

_layers = []


def rising(sound: list) -> tuple:
    """Return what of a sound is new, frame by frame.

    Parameters:  sound: at 4 kHz
    Returns:     (of `curves`, of `jumps`)
    Source:      `frames` against what is `steady` in them
    """
    powers = frames(sound)
    curved = curves(powers, steady(powers))
    return curved, jumps(curved)


def usual(rises: list) -> float:
    """Return the jump of an ordinary frame.

    Parameters:  rises: of `jumps`
    Returns:     their median
    Source:      common practice
    """
    return sorted(rises)[len(rises) // 2]


def frames(sound: list) -> list:
    """Return the power spectra of frames of 64 ms, 16 ms apart.

    Parameters:  sound: at 4 kHz
    Returns:     [[power of each bin of 15.6 Hz, from 0 Hz], ...]
    Source:      Hann windows
    """
    half = spectrum.halve(sound, spectrum.SHORT)
    # `spectrum.powers` tells four times the power.
    window = [0.5 * weight for weight in spectrum.hann(FRAME // 2)]
    last = max(0, len(half) - FRAME // 2)
    return spectrum.powers(half, [(start, window) for start in range(0, last + 1, HOP // 2)], _BINS)


def steady(powers: list) -> list:
    """Return what each bin holds when nothing happens: the mean of the quieter half of its frames.

    Parameters:  powers: of `frames`
    Returns:     power of each bin
    Source:      common practice; the mean of the lower half of an exponential is 0.307 of its mean
    """
    out = []
    for b in range(_BINS):
        column = sorted([frame[b] for frame in powers])
        half = max(1, len(column) // 2)
        total = 0.0
        for value in column[:half]:
            total += value
        out.append(total / half / 0.307 + 1e-30)
    return out


def curves(powers: list, quiet: list) -> list:
    """Return how each bin stands out of what it usually holds, frame by frame.

    Parameters:  powers: of `frames` · quiet: of `steady`
    Returns:     for each bin log(1 + power / quiet / 8) of each frame, with 6 frames before the first that are as the first, and 12 after
                 the last that are as the last
    Source:      common practice
    """
    log = math.log
    out = []
    for b in range(_BINS):
        scale = 1 / (_BEND * quiet[b])
        curve = [log(1 + frame[b] * scale) for frame in powers]
        out.append(curve[:1] * _BACK + curve + curve[-1:] * (_ON - 1))
    return out


def jumps(curved: list) -> list:
    """Return how much new sound starts at each frame, over all bins.

    Parameters:  curved: of `curves`
    Returns:     sum over bins of the cubed rise, this frame and the next against the frames 2 to 4 before
    Source:      whitened spectral flux; the cube favours few strong new lines over much weak noise
    """
    count = len(curved[0]) - _BACK - _ON + 1
    out = [0.0] * count
    for curve in curved[_FIRST_BIN:]:
        four, three, two, one, now = curve[_BACK - 4:_BACK + 1]
        t = 0
        for after in curve[_BACK + 1:_BACK + 1 + count]:
            rise = (now + after) / 2 - (two + three + four) / 3
            if rise > 0:
                out[t] += rise * rise * rise
            four = three
            three = two
            two = one
            one = now
            now = after
            t += 1
    return out


def candidates(rises: list) -> list:
    """Return the frames of the largest jumps.

    Parameters:  rises: of `jumps`
    Returns:     [frame, ...], at most 8, the largest jump first, at least 4 frames apart
    Source:      peak picking
    """
    kept = []
    for minus, t in sorted([[-rises[t], t] for t in range(len(rises))]):
        if len(kept) == CANDIDATES or minus == 0:
            break
        if all([abs(t - other) >= _NEAR for other in kept]):
            kept.append(t)
    return kept


def told(curved: list, rises: list) -> tuple:
    """Return what is new at each candidate, and how it goes on, in numbers.

    Parameters:  curved: of `curves` · rises: of `jumps`
    Returns:     (the frames of `candidates`, [61 numbers of each: for six regions of the spectrum the cubes and the squares of the rises
                 (logs of 1 + sum) and the largest; how the bins that rise stand in 6 frames before and 13 from the jump on; how they weigh; the
                 same 19 frames of all bins; the jump itself, against the usual and the largest one, and how far a larger one is])
    Source:      chosen for this project: a pluck is sudden and then rings, a blow is gone at once, a fan stays
    """
    found = candidates(rises)
    ordinary = math.log(1 + usual(rises))
    whole = [0.0] * len(curved[0])
    for curve in curved[_FIRST_BIN:]:
        whole = [total + value for total, value in zip(whole, curve)]
    whole = [total / (_BINS - _FIRST_BIN) for total in whole]
    out = []
    for i, t in enumerate(found):
        nearest = min([abs(t - other) for other in found[:i]] + [_FAR])
        of_jump = [math.log(1 + rises[t]), ordinary, math.log(rises[t] / rises[found[0]]), nearest / _FAR]
        out.append(_told(curved, t) + whole[t:t + _BACK + _ON] + of_jump)
    return found, out


def _told(curved, t):
    """Return the numbers of the regions, how the risen bins go on, and what they weigh."""
    rises = []
    for curve in curved:
        four, three, two, _, now, after = curve[t + _BACK - 4:t + _BACK + 2]
        rises.append(max(0.0, (now + after) / 2 - (two + three + four) / 3))
    out = []
    for low, high in zip(_REGIONS, _REGIONS[1:]):
        cubes = squares = 0.0
        for rise in rises[low:high]:
            square = rise * rise
            squares += square
            cubes += square * rise
        out.extend([math.log(1 + cubes), math.log(1 + squares), max(rises[low:high])])
    least = _RISEN * max(rises[_FIRST_BIN:])
    mean = [0.0] * (_BACK + _ON)
    weight = 0.0
    for rise, curve in zip(rises[_FIRST_BIN:], curved[_FIRST_BIN:]):
        if rise > least:
            square = rise * rise
            weight += square
            mean = [total + square * value for total, value in zip(mean, curve[t:t + _BACK + _ON])]
    return out + [total / weight for total in mean] + [math.log(1 + weight)]


def find(curved: list, rises: list) -> list:
    """Return the moments at which something was let go, the likeliest first.

    Parameters:  curved: of `curves` · rises: of `jumps`
    Returns:     [[sample at 4 kHz, jump, log odds], ...], at most 6, at least 6 frames apart
    Source:      a small neural network on what is `told` of the largest jumps, one hidden layer; the moment is that of `moment`
    """
    found, rows = told(curved, rises)
    order = sorted([[-_odds(row), t] for t, row in zip(found, rows)])
    kept = []
    out = []
    for minus, t in order:
        if len(kept) == _MOST or -minus < _LIKELY and (len(kept) >= _ANYHOW or minus > order[0][0] + _BEHIND):
            break
        if all([abs(t - other) >= _APART for other in kept]):
            kept.append(t)
            out.append([moment(rises, t), rises[t], -minus])
    return out


def _unpacked():
    """Return the layers with the scales of the inputs worked in."""
    size = made.SIZE
    first, shifts, second, last = layers.parts(layers.decoded(made.CODED), (OF_JUMP * size, size, size, 1))
    see = layers.columns(first, OF_JUMP, size)
    for k in range(size):
        shifts[k] += layers.scaled(see[k], made.MEANS, made.SPREADS)
    return layers.grouped(see), shifts, layers.grouped([second]), last


def _odds(row):
    """Return the log odds that something was let go there."""
    if not _layers:
        _layers.append(_unpacked())
    see, shifts, tell, last = _layers[0]
    return layers.times(tell, layers.positive(layers.times(see, row, shifts)), last)[0]


def moment(rises: list, t: int) -> int:
    """Return the moment of a jump.

    Parameters:  rises: of `jumps` · t: frame of the jump [-]
    Returns:     sample at 4 kHz
    Source:      the centre of what stands above half the peak
    """
    mass = first = 0.0
    for u in range(max(0, t - 2), min(len(rises), t + 3)):
        above = rises[u] - 0.5 * rises[t]
        if above > 0:
            mass += above
            first += above * u
    return int(first / mass * HOP) + _LATE
