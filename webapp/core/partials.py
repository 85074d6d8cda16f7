"""Which stiff string explains the lines after a release: hypotheses from pairs of lines, a first score, the best fit."""

import math

from . import lines as heard_lines

LOW_HZ = 15.0
HIGH_HZ = 380.0
# Stiffness B of f_n = n f0 sqrt(1 + B n^2); cord belts reach about 0.06.
STIFFEST = 0.075
# Strings looked at closely: so many of each octave, and of all.
_PER_OCTAVE = 6
_PROMISING = 20
# High strings have few partials and score less; so many of each octave are looked at whatever the others score.
_AT_LEAST = 2
# Two guesses are one when they differ less: parts of the frequency, and of the stiffness on a bent scale.
_FINE = 150
_STEPS = 8
_PEAKS = 9
_MOST_PARTIALS = 12
_QUICK_PARTIALS = 10
# What a low partial that is not heard counts in the first score.
_MISSED = -0.5
# A line further off than so many of its sigmas is not this partial.
_FAR_OFF = 3.2
# Known beforehand of the stiffness, for the fit.
_USUAL = 0.008
_USUAL_WIDTH = 0.015


def partial_hz(base_hz: float, stiffness: float, n: int) -> float:
    """Return the frequency of a partial of a stiff string with pinned ends.

    f_n = n f0 sqrt(1 + B n^2)

    Parameters:  base_hz: f0, of the string without stiffness [Hz] · stiffness: B [-] · n: number of the partial [-]
    Returns:     frequency [Hz]
    Source:      Fletcher, J. Acoust. Soc. Am. 36 (1964) 203
    """
    return n * base_hz * math.sqrt(1 + stiffness * n * n)


def first_hz(base_hz: float, stiffness: float) -> float:
    """Return the first frequency of a stiff string.

    Parameters:  base_hz: f0 [Hz] · stiffness: B [-]
    Returns:     f_1 = f0 sqrt(1 + B) [Hz]
    Source:      `partial_hz` of the first partial
    """
    return base_hz * math.sqrt(1 + stiffness)


def from_pair(low_hz: float, k: int, high_hz: float, l: int) -> tuple:
    """Return the string whose k-th and l-th partial are two given lines.

    q = (f_l k / f_k l)^2,  B = (q - 1) / (l^2 - q k^2),  f0 = f_k / (k sqrt(1 + B k^2))

    Parameters:  low_hz: f_k [Hz] · k: [-] · high_hz: f_l [Hz] · l: above k [-]
    Returns:     (f0, B), or None where q is below 0.98 or B above 0.075; a small negative B counts as 0
    Source:      `partial_hz` solved for two partials
    """
    q = (high_hz * k / (low_hz * l)) ** 2
    below = l * l - q * k * k
    if q < 0.98 or below <= 0:
        return None
    stiffness = max(0.0, (q - 1) / below)
    if stiffness > STIFFEST:
        return None
    return low_hz / k / math.sqrt(1 + stiffness * k * k), stiffness


def hypotheses(lines: list) -> list:
    """Return the strings that put two lines, or one, on partials.

    Parameters:  lines: of `lines.Heard`, the most telling first
    Returns:     [(f0, B), ...], no two alike
    Source:      `from_pair`
    """
    peaks = [line[0] for line in lines[:_PEAKS]]
    found = []
    for low in peaks:
        for high in peaks:
            if high <= low * 1.02:
                continue
            for k in range(1, 9):
                if low / k < LOW_HZ:
                    break
                if low / k > HIGH_HZ * 1.05:
                    continue
                # Partials lie at least as far apart as those of a string without stiffness, at most as those of the stiffest.
                want = (high / low * k) ** 2 * (1 + STIFFEST * k * k)
                least = math.sqrt((math.sqrt(1 + 4 * STIFFEST * want) - 1) / (2 * STIFFEST))
                for l in range(max(k + 1, int(least)), min(13, int(high * k / low / 0.987) + 1)):
                    pair = from_pair(low, k, high, l)
                    if pair:
                        found.append(pair)
    for hz in peaks[:6]:
        for k in range(1, 5):
            for stiffness in (0.001, 0.01, 0.03):
                found.append((hz / k / math.sqrt(1 + stiffness * k * k), stiffness))
    return _distinct(found)


def _distinct(pairs):
    """Return the pairs in the range of first frequencies, one of each that are alike."""
    seen = {}
    out = []
    for base, stiffness in pairs:
        first = first_hz(base, stiffness)
        if LOW_HZ < first < HIGH_HZ:
            key = int(math.log(first) * _FINE) * 100 + int(math.log(stiffness + 0.0005) * _STEPS)
            if key not in seen:
                seen[key] = True
                out.append((base, stiffness))
    return out


def matched(heard: object, base_hz: float, stiffness: float, most: int = _MOST_PARTIALS, loose: bool = False) -> list:
    """Return what was heard where the partials of a string are expected.

    Parameters:  heard: of `lines.Heard` · base_hz: f0 [Hz] · stiffness: B [-] · most: partials at most [-]
                 · loose: whether the string is only guessed
    Returns:     [[n, hz expected, line or None, distance in sigmas], ...]
    Source:      look-up
    """
    out = []
    limit = (heard_lines.BINS - 2) * heard_lines.BIN_HZ
    for n in range(1, most + 1):
        hz = partial_hz(base_hz, stiffness, n)
        if hz > limit:
            break
        i = heard.near[int(hz / heard_lines.BIN_HZ + 0.5)]
        line = None
        z = 0.0
        if i >= 0:
            z = (heard.lines[i][0] - hz) / heard.lines[i][5 if loose else 3]
            if -_FAR_OFF < z < _FAR_OFF:
                line = heard.lines[i]
        out.append([n, hz, line, z])
    return out


def quick(heard: object, strings: list) -> list:
    """Return a first score of each string, to choose what is looked at closely.

    Parameters:  heard: of `lines.Heard` · strings: [(f0 [Hz], B [-]), ...]
    Returns:     [score, ...] [-]
    Source:      as `envelope.evidence`, with one level for all partials
    """
    near = heard.near
    hz_of = [line[0] for line in heard.lines]
    blur_of = [1 / line[5] for line in heard.lines]
    most_of = [-line[6] - 3.7 for line in heard.lines]
    limit = (heard_lines.BINS - 2) * heard_lines.BIN_HZ
    per_bin = 1 / heard_lines.BIN_HZ
    numbers = [(n, n * n, _MISSED if n < 7 else 0.0) for n in range(1, _QUICK_PARTIALS + 1)]
    out = []
    for base, stiffness in strings:
        total = 0.0
        for n, square, least in numbers:
            hz = n * base * math.sqrt(1 + stiffness * square)
            if hz > limit:
                break
            i = near[int(hz * per_bin + 0.5)]
            if i >= 0:
                z = (hz_of[i] - hz) * blur_of[i]
                gain = most_of[i] - 0.5 * z * z
                total += gain if gain > least and -_FAR_OFF < z < _FAR_OFF else least
            else:
                total += least
        out.append(total)
    return out


def promising(heard: object) -> list:
    """Return the strings worth a closer look, some from every octave.

    Parameters:  heard: of `lines.Heard`
    Returns:     [[f0, B], ...]
    Source:      the best by `quick` of each octave, no two alike
    """
    found = hypotheses(heard.lines)
    ordered = sorted([[-score, base, stiffness] for score, (base, stiffness) in zip(quick(heard, found), found)])
    room = [_PER_OCTAVE] * 6
    out = []
    for _, base, stiffness in ordered:
        first = first_hz(base, stiffness)
        octave = int(math.log2(first / LOW_HZ))
        wanted = room[octave] and (len(out) < _PROMISING or room[octave] > _PER_OCTAVE - _AT_LEAST)
        if wanted and all([abs(first - one[2]) > 0.004 * first or abs(stiffness - one[1]) > 0.004 for one in out]):
            room[octave] -= 1
            out.append([base, stiffness, first])
    return [[base, stiffness] for base, stiffness, _ in out]


def fitted(heard: object, base_hz: float, stiffness: float, rounds: int = 3) -> tuple:
    """Return the string that fits the lines near a hypothesis best.

    (f_n / n)^2 = f0^2 + f0^2 B n^2 is linear in f0^2 and f0^2 B.

    Parameters:  heard: of `lines.Heard` · base_hz: f0 [Hz] · stiffness: B [-] · rounds: how often lines are matched anew [-]
    Returns:     (f0, B, sigma of the first frequency [Hz], log of the share of all strings that would fit as well)
    Source:      weighted least squares; far-off lines weigh less (Tukey's biweight)
    """
    sigma = 0.05 * base_hz
    volume = -4.0
    for turn in range(rounds):
        guess = base_hz * base_hz
        sxx = 1 / (_USUAL_WIDTH * guess) ** 2
        sxy = sxx * _USUAL * guess
        sw = sx = sy = 0.0
        for n, hz, line, z in matched(heard, base_hz, stiffness, _MOST_PARTIALS, turn == 0):
            if line:
                doubt = 1 - (z / _FAR_OFF) ** 2
                error = 2 * line[0] / (n * n) * line[3]
                weight = doubt * doubt * min(1.0, line[1] / 8) / (error * error)
                x = float(n * n)
                y = line[0] * line[0] / x
                sw += weight
                sx += weight * x
                sy += weight * y
                sxx += weight * x * x
                sxy += weight * x * y
        if sw == 0:
            break
        free = sw * sxx - sx * sx
        slope = min(STIFFEST * guess, max(0.0, (sw * sxy - sx * sy) / free))
        level = (sy - slope * sx) / sw
        if level <= 0:
            break
        base_hz = math.sqrt(level)
        stiffness = min(STIFFEST, slope / level)
        # Variance of f0^2 (1 + B) from the inverse of the normal equations.
        sigma = math.sqrt((sxx - 2 * sx + sw) / free) / (2 * base_hz)
        # Beforehand f0 and B are spread evenly over their logarithms, three e-folds and 4.6.
        volume = math.log(2 * math.pi / math.sqrt(free) / (27.6 * max(stiffness, 0.0006) * guess * guess))
    return base_hz, stiffness, sigma, volume
