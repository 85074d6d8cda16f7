"""When was the span let go: sudden new lines in the spectrum, not mere loudness."""

import math

from . import spectrum

FRAME = 256
HOP = 64
# From 16 Hz to 1.5 kHz in bins of 15.6 Hz.
_FIRST_BIN = 1
_BINS = 97
# Noise this many times its mean bends the logarithm: what is weaker counts little.
_BEND = 8
# Two releases lie further apart than this many frames; a shorter distance is one release heard twice.
_APART = 12
# A release has at least this share of the largest jump.
_SHARE = 0.05
# From the middle of a jump to the release [samples]: the window has to hold the sound before the jump is whole.
_LATE = 116


def frames(sound: list) -> list:
    """Return the power spectra of frames of 64 ms, 16 ms apart.

    Parameters:  sound: at 4 kHz
    Returns:     [[power of each bin of 15.6 Hz, from 0 Hz], ...]
    Source:      Hann windows
    """
    # `spectrum.powers` tells four times the power.
    window = [0.5 * weight for weight in spectrum.hann(FRAME)]
    return spectrum.powers(sound, list(range(0, max(0, len(sound) - FRAME) + 1, HOP)), window, _BINS)


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


def jumps(powers: list, quiet: list) -> list:
    """Return how much new sound starts at each frame, over all bins.

    Parameters:  powers: of `frames` · quiet: of `steady`
    Returns:     sum over bins of the cubed rise of log(1 + power / quiet / 8), this frame and the next against the frames 2 to 4 before
    Source:      whitened spectral flux; the cube favours few strong new lines over much weak noise
    """
    log = math.log
    out = [0.0] * len(powers)
    for b in range(_FIRST_BIN, _BINS):
        scale = 1 / (_BEND * quiet[b])
        curved = [log(1 + frame[b] * scale) for frame in powers]
        # One to four frames before; before the first it was as in the first, after the last as in the last.
        now = one = two = three = four = curved[0]
        t = 0
        for after in curved[1:] + curved[-1:]:
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


def find(rises: list, most: int) -> list:
    """Return the moments at which something was let go, the largest jump first.

    Parameters:  rises: of `jumps` · most: how many at most [-]
    Returns:     [[sample at 4 kHz, jump], ...], at least 12 frames apart
    Source:      peak picking; the moment is the centre of what stands above half the peak
    """
    order = sorted([[-rises[t], t] for t in range(len(rises))])
    kept = []
    for minus, t in order:
        if len(kept) == most or minus == 0 or (kept and -minus < _SHARE * rises[kept[0]]):
            break
        if all([abs(t - other) >= _APART for other in kept]):
            kept.append(t)
    return [[_moment(rises, t), rises[t]] for t in kept]


def _moment(rises, t):
    mass = first = 0.0
    for u in range(max(0, t - 2), min(len(rises), t + 3)):
        above = rises[u] - 0.5 * rises[t]
        if above > 0:
            mass += above
            first += above * u
    return int(first / mass * HOP) + _LATE
