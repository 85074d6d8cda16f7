"""A take surveyed: which strings may explain it, what speaks for each, which one is the best."""

import math

from . import envelope
from . import lines
from . import partials
from . import releases
from . import spectrum

# Releases looked at: in a take of one pluck, and in a longer one.
_MOST_SHORT = 4
_MOST_LONG = 6
_SHORT_TAKE_S = 2.2
_KEPT = 14
# Two first frequencies that differ less are one answer.
_SAME = 0.015
_EDGE = 1.03
# When the lines are looked at again: whether they have moved, and how far they have fallen [samples after the release].
_SOON = 300
_LATER = 1400
# How far a line may have moved [share, Hz], how many times the noise it must still be, how far below the loudest it is left out [dB].
_MOVED = (0.02, 3.0)
_STANDS = 3
_FAINT_DB = 20
# Evidence (log) from which a string was plucked at a release.
_A_PLUCK = 2.0
# What is not in the fit: two polarisations, and plucks that pull the pitch up [share].
_UNKNOWN_SHARE = 0.0015
# A conditional logistic model of which string is the right one, fitted to 3,650 synthetic takes
# (tests/plucks.py: the set "tune", and seeds from 3,000,000 on).
RANKS = (0.521, 0.546, 0.223, 1.806, -4.850, -0.195, 0.291, 0.005, 0.237, 3.563, -0.948, -0.484, 0.091, -0.734, -0.635)
_OUTSIDE = 4


def first_hz(base_hz: float, stiffness: float) -> float:
    """Return the first frequency of a stiff string.

    Parameters:  base_hz: f0 [Hz] · stiffness: B [-]
    Returns:     f_1 = f0 sqrt(1 + B) [Hz]
    Source:      `partials.partial_hz` of the first partial
    """
    return base_hz * math.sqrt(1 + stiffness)


def total(weights: list, values: list) -> float:
    """Return the weighted sum of values.

    Parameters:  weights: [-] · values: as many [-]
    Returns:     sum of weight times value, added from left to right
    Source:      definition
    """
    out = 0.0
    for weight, value in zip(weights, values):
        out += weight * value
    return out


class Take:
    """A take surveyed: its releases and the strings that may explain them, whatever is expected.

    `strings` holds the best: [release, f0, B, sigma of the first frequency, log share of strings that would fit as well, evidence].
    """

    def __init__(self, sound: list):
        self.sound = sound
        frames = releases.frames(sound)
        rises = releases.jumps(frames, releases.steady(frames))
        self.usual_rise = sorted(rises)[len(rises) // 2]
        most = _MOST_SHORT if len(sound) < _SHORT_TAKE_S * spectrum.RATE else _MOST_LONG
        found = releases.find(rises, most)
        self.rises = [rise for _, rise in found]
        self.heard = lines.heard(sound, [moment for moment, _ in found])
        self.strings = self._strings()

    def _fitted(self):
        """Return [[minus score, release, f0, B, sigma, share, evidence], ...] of every promising string, the best first."""
        out = []
        for r in range(len(self.heard)):
            done = []
            for base, stiffness in partials.promising(self.heard[r]):
                base, stiffness, sigma, volume = partials.fitted(self.heard[r], base, stiffness)
                first = first_hz(base, stiffness)
                if all([abs(first - f) > 0.001 * f or abs(stiffness - b) > 0.001 for f, b in done]):
                    done.append((first, stiffness))
                    value = envelope.evidence(self.heard[r], base, stiffness)
                    out.append([-value - 0.5 * volume, r, base, stiffness, sigma, volume, value])
        out.sort()
        return out

    def _strings(self):
        """Return the best strings, three of each frequency at most: the stiffness or the release may differ."""
        out = []
        firsts = []
        for string in self._fitted():
            first = first_hz(string[2], string[3])
            if len([f for f in firsts if abs(f - first) < 0.004 * first]) < 3:
                firsts.append(first)
                out.append(string[1:])
                if len(out) == _KEPT:
                    break
        return out

    def echoes(self, string: list) -> list:
        """Return for each release the most evidence for a string of this frequency among the best, 0 where there is none."""
        first = first_hz(string[1], string[2])
        out = [0.0] * len(self.heard)
        for other in self.strings:
            if abs(first_hz(other[1], other[2]) - first) < _SAME * first:
                out[other[0]] = max(out[other[0]], other[5])
        return out

    def again(self, r: int, mine: list) -> tuple:
        """Return what became of the lines of a string: (dB they have fallen a third of a second after the release, share by which
        their pitch has moved after 75 ms, what that rests on [worth times Hz])."""
        top = max([-99.0] + [line[2] for _, line in mine])
        loud = [line for _, line in mine if line[2] > top - _FAINT_DB]
        heard = self.heard[r]
        soon, later = lines.later(self.sound, [heard.start + _SOON, heard.start + _LATER])
        fallen = moved = rests = 0.0
        for line in loud:
            b = min(lines.BINS - 1, int(line[0] / lines.BIN_HZ + 0.5))
            fallen += 10 * math.log10((heard.powers[0][b] + 1e-14) / (later[b] + 1e-14))
            hz, ratio = _found_again(soon, heard.floors[0], line[0])
            if ratio > _STANDS:
                weight = min(line[1], 20.0, ratio) * line[0]
                moved += weight * (hz / line[0] - 1)
                rests += weight
        return fallen / max(1, len(loud)), moved / rests if rests else 0.0, rests


def _found_again(power, floor, hz):
    """Return (frequency, power against noise) of the strongest peak near a line, (its frequency, 0) where there is none."""
    reach = _MOVED[0] * hz + _MOVED[1]
    low = max(2, int((hz - reach) / lines.BIN_HZ + 0.5))
    high = min(lines.BINS - 2, int((hz + reach) / lines.BIN_HZ + 0.5))
    near = power[low:high + 1]
    b = low + near.index(max(near))
    if power[b] < power[b - 1] or power[b] < power[b + 1]:
        return hz, 0.0
    return (b + spectrum.summit(power[b - 1:b + 2])) * lines.BIN_HZ, power[b] / floor[b]


def outside(string: list, band: list) -> bool:
    """Tell whether a string lies outside of what is expected.

    Parameters:  string: of `Take.strings` · band: [low, high] [Hz], or None
    Returns:     true when its first frequency lies more than 3 % beyond an end
    Source:      an expectation of this app is a plain range
    """
    if band is None:
        return False
    first = first_hz(string[1], string[2])
    return first < band[0] / _EDGE or first > band[1] * _EDGE


def used(heard: object, string: list) -> list:
    """Return the partials of a string that stand out of the noise.

    Parameters:  heard: of `lines.Heard` · string: of `Take.strings`
    Returns:     [[n, line], ...]
    Source:      `partials.matched`, worth more than 5
    """
    return [[n, line] for n, _, line, _ in partials.matched(heard, string[1], string[2]) if line and line[1] > 5]


def _own(heard, mine):
    """Return the share of the power of all lines that a string explains."""
    loudest = max([line[2] for line in heard.lines])
    own = whole = 0.0
    for _, line in mine:
        own += 10 ** ((line[2] - loudest) / 10)
    for line in heard.lines:
        whole += 10 ** ((line[2] - loudest) / 10)
    return own / whole


def merits(take: object, string: list, band: list) -> list:
    """Return what speaks for a string against the others of the take.

    Parameters:  take: `Take` · string: one of its strings · band: [low, high] expected [Hz], or None
    Returns:     numbers in the order of RANKS
    Source:      chosen for this project
    """
    r, base, stiffness, sigma, volume, value = string
    heard = take.heard[r]
    first = first_hz(base, stiffness)
    mine = used(heard, string)
    worth = 0.0
    for _, line in mine:
        worth += min(20.0, line[1])
    pitch = math.log(first / 80)
    echo = 0.0
    for other, one in enumerate(take.echoes(string)):
        if other != r:
            echo += min(8.0, max(0.0, one))
    return [min(value, 6.0), max(0.0, value - 6.0), volume, math.log(take.rises[r] / take.rises[0]), 1.0 if outside(string, band) else 0.0,
            pitch, pitch * pitch, math.log(stiffness + 0.0005), float(min(len(mine), 6)), _own(heard, mine), worth / 20,
            float(mine[0][0] if mine else 8), echo, math.log(sigma / first * 100 + 0.05), max(0.0, 0.003 - stiffness) * 300]


def chosen(take: object, band: list) -> list:
    """Return the best string of a take with what is expected.

    Parameters:  take: `Take` with at least one string · band: [low, high] expected [Hz], or None
    Returns:     [the string, its merits, its rank, chance of its frequency among all, best rival of another frequency or None, by how much
                 it leads, by how much the best would lead it if nothing were expected]
    Source:      conditional logistic regression
    """
    every = [merits(take, string, band) for string in take.strings]
    ranks = [total(RANKS, one) for one in every]
    freely = [rank - RANKS[_OUTSIDE] * one[_OUTSIDE] for rank, one in zip(ranks, every)]
    at = ranks.index(max(ranks))
    best = take.strings[at]
    first = first_hz(best[1], best[2])
    rival = None
    second = ranks[at] - 8.0
    mine = whole = 0.0
    for string, rank in zip(take.strings, ranks):
        mass = math.exp(max(-50.0, rank - ranks[at]))
        whole += mass
        if abs(first_hz(string[1], string[2]) - first) < _SAME * first:
            mine += mass
        elif rank > second:
            second = rank
            rival = string
    return [best, every[at], ranks[at], mine / whole, rival, ranks[at] - second, max(freely) - freely[at]]


def signs(take: object, band: list, choice: list) -> tuple:
    """Return the signs for and against the best string being right, and how its pitch moved.

    Parameters:  take: `Take` · band: [low, high] expected [Hz], or None · choice: of `chosen`
    Returns:     (numbers in the order of the weights in `pluck`, share by which the pitch has moved after 75 ms)
    Source:      chosen for this project
    """
    best, its_merits, rank, chance, _, lead, freely = choice
    r = best[0]
    heard = take.heard[r]
    mine = used(heard, best)
    worth = max([0.0] + [line[1] for _, line in mine])
    drop, moved, rests = take.again(r, mine)
    rise = math.log(take.rises[r] / (take.usual_rise + 0.1))
    blur = best[3] / first_hz(best[1], best[2]) * 100
    here = len([one for one in take.echoes(best) if one > _A_PLUCK])
    values = [1.0, chance, lead, min(2.0, lead), min(8.0, freely), min(25.0, max(-10.0, rank)), math.log(take.rises[r] + 1), rise,
            math.sqrt(min(40.0, worth)), min(25.0, max(0.0, drop)), min(8.0, max(0.0, drop)), float(here), 0.0 if band is None else 1.0,
            len(heard.lines) / 10] + its_merits + _bent(chance, lead, rank, blur, worth, len(mine))
    away = min(2.0, abs(moved) * 100)
    return values + [away, min(0.4, away), min(2.0, max(0.0, -moved * 100)), 0.0 if rests else 1.0, min(8.0, math.sqrt(rests) / 10)], moved


def _bent(chance, lead, rank, blur, worth, strong):
    """Return signs again in other shapes: a logistic model is straight, while doubts fade and merits come to an end."""
    return [math.log((chance + 0.01) / (1.01 - chance)), min(4.0, lead), math.exp(-lead), min(1.5, blur), max(0.0, blur - 0.5),
            min(8.0, rank), lead * min(strong, 6) / 6, min(4.0, math.sqrt(min(40.0, worth)))]


def plucks(take: object, string: list) -> list:
    """Return the releases at which a string was heard.

    Parameters:  take: `Take` · string: one of its strings
    Returns:     [[seconds, hz, sigma], ...] in the order of time
    Source:      `partials.fitted` at each release with evidence for a string of this frequency
    """
    first = first_hz(string[1], string[2])
    echoes = take.echoes(string)
    out = []
    for r in range(len(take.heard)):
        if r == string[0] or echoes[r] > _A_PLUCK:
            base, stiffness, sigma, _ = partials.fitted(take.heard[r], string[1], string[2])
            hz = first_hz(base, stiffness)
            if r == string[0] or abs(hz - first) < _SAME * first:
                out.append([take.heard[r].start / spectrum.RATE, hz, math.sqrt(sigma * sigma + (_UNKNOWN_SHARE * hz) ** 2)])
    out.sort()
    return out
