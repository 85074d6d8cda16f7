"""When was the span let go: sudden new lines in the spectrum, not mere loudness."""

import math

from . import spectrum

FRAME = 256
HOP = 128
# From 16 Hz to 1.5 kHz in bins of 15.6 Hz.
_FIRST_BIN = 1
_BINS = 97
# Two releases lie further apart than this; a shorter distance is one release heard twice.
_APART = 6
# A release has at least this share of the largest jump.
_SHARE = 0.12


def frames(sound: list) -> list:
    """Return the power spectra of frames of 64 ms, 32 ms apart.

    Parameters:  sound: at 4 kHz
    Returns:     [[power of each bin of 15.6 Hz, from 0 Hz], ...]
    Source:      Hann windows, half overlapping
    """
    window = spectrum.hann(FRAME)
    out = []
    last = max(0, len(sound) - FRAME)
    for start in range(0, last + 1, 2 * HOP):
        one, two = spectrum.powers_of_two(spectrum.windowed(sound, start, window, FRAME),
                                          spectrum.windowed(sound, start + HOP, window, FRAME), _BINS)
        out.append(one)
        if start + HOP <= last:
            out.append(two)
    return out


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
    Returns:     sum over bins of the squared rise of log(1 + power / quiet / 8), this frame and the next against the frames 2 to 4 before
    Source:      whitened spectral flux; the square favours few strong new lines over much weak noise
    """
    curved = []
    for frame in powers:
        curved.append([math.log(1 + frame[b] / quiet[b] / 8) for b in range(_BINS)])
    last = len(powers) - 1
    out = []
    for t in range(len(powers)):
        now = curved[t]
        after = curved[min(last, t + 1)]
        one = curved[max(0, t - 2)]
        two = curved[max(0, t - 3)]
        three = curved[max(0, t - 4)]
        total = 0.0
        for b in range(_FIRST_BIN, _BINS):
            rise = (now[b] + after[b]) / 2 - (one[b] + two[b] + three[b]) / 3
            if rise > 0:
                total += rise * rise
        out.append(total)
    return out


def find(rises: list, most: int) -> list:
    """Return the frames at which something was let go, the largest jump first.

    Parameters:  rises: of `jumps` · most: how many at most [-]
    Returns:     [[frame, jump], ...], at least six frames apart
    Source:      peak picking
    """
    order = sorted([[-rises[t], t] for t in range(len(rises))])
    out = []
    for minus, t in order:
        if len(out) == most or minus == 0 or (out and -minus < _SHARE * out[0][1]):
            break
        if all([abs(t - other) >= _APART for other, _ in out]):
            out.append([t, -minus])
    return out
