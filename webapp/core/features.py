"""What speaks for a string of a take and against it, in numbers for `network`: partial by partial, and the string as a whole."""

import math

from . import lines
from . import partials
from . import spectrum

# Partials looked at, and how many numbers tell of each; of the whole string; of where it lies to what is expected.
PARTIALS = 10
OF_PARTIAL = 29
OF_STRING = 44
OF_BAND = 3
# Two first frequencies that differ less are one answer [share].
SAME = 0.015
# Evidence (log) from which a string was plucked at a release.
A_PLUCK = 2.0
# When the lines are looked at again, and in which window: whether they have moved, and how far they have fallen; the short windows tell
# of partials that are gone before the others [samples after the release].
AGAIN = (300, 1400, 60, 30)
WINDOWS = (0, 0, 2, 3)
# The fall is told from the first of these that still hears it, as places in AGAIN.
_FALLING = (0, 2, 3)
# A line worth more stands out of the noise (log).
_WORTHY = 5
# How far from its place the top of a partial may lie [share, Hz].
_STRAYED = (0.035, 2.0)
# How far a line may have moved [share, Hz], how many times the noise it must still be, how far below the loudest it is left out [dB].
_MOVED = (0.02, 3.0)
_STANDS = 3
_FAINT_DB = 20
# A partial is still heard from so many times the noise on; less than this share of its power is not told apart [-]; no Q is beyond this.
_LEFT = 2
_GONE = 0.001
_RINGS = 100.0
# Where strings an octave or a twelfth lower would have more partials, in parts of the first frequency.
_BETWEEN = (0.5, 1.5, 2.5, 3.5, 1 / 3, 2 / 3, 4 / 3, 5 / 3)
# A first frequency this far beyond an end of the band is outside of it [share].
EDGE = 1.03
# Further outside counts as much (log).
FURTHEST_OUT = 1.5
# The search about a partial ends before the spectrum does.
_LIMIT = (lines.BINS - 12) * lines.BIN_HZ


def _held(value, low, high):
    """Return the value, or the limit it is beyond."""
    return low if value < low else high if value > high else value


def _near(power, b):
    """Return the most power of a bin and its two neighbours."""
    return max(power[b - 1], power[b], power[b + 1]) + 1e-14


def _peak(power, hz, reach):
    """Return (bin of the most power at most so far from a place, whether it is a peak)."""
    low = max(2, int((hz - reach) / lines.BIN_HZ + 0.5))
    near = power[low:min(lines.BINS - 2, int((hz + reach) / lines.BIN_HZ + 0.5)) + 1]
    b = low + near.index(max(near))
    return b, power[b] >= power[b - 1] and power[b] >= power[b + 1]


def _peak_hz(power, b):
    return (b + spectrum.summit(power[b - 1:b + 2])) * lines.BIN_HZ


def _top(power, floor, hz):
    """Return [how far the highest peak about a place lies from it [%], log of its power against noise], [0, -1] where there is none."""
    b, peaks = _peak(power, hz, _STRAYED[0] * hz + _STRAYED[1])
    if not peaks:
        return [0.0, -1.0]
    return [(_peak_hz(power, b) / hz - 1) * 100, _held(math.log((power[b] + 1e-14) / floor[b]), -1.0, 6.0)]


def _loudest(heard):
    """Return the level of the loudest line [dB]."""
    return max([line[2] for line in heard.lines])


def used(matches: list) -> list:
    """Return the partials of a string that stand out of the noise.

    Parameters:  matches: of `partials.matched`
    Returns:     [[n, line], ...]
    Source:      lines worth more than 5
    """
    return [[n, line] for n, _, line, _ in matches if line and line[1] > _WORTHY]


def moves(heard: object, soon: list) -> list:
    """Return what became of each line 75 ms later.

    Parameters:  heard: of `lines.Heard` · soon: power of each bin then
    Returns:     [[share by which it has moved, weight in worth times Hz], ...] in the order of the lines, weight 0 where it was not found
    Source:      the highest peak near by
    """
    out = []
    for line in heard.lines:
        move = weight = 0.0
        if line[1] > _WORTHY:
            b, peaks = _peak(soon, line[0], _MOVED[0] * line[0] + _MOVED[1])
            ratio = soon[b] / heard.floors[0][b]
            if peaks and ratio > _STANDS:
                weight = min(line[1], 20.0, ratio) * line[0]
                move = _peak_hz(soon, b) / line[0] - 1
        out.append([move, weight])
    return out


def moved(heard: object, of_lines: list, matches: list) -> tuple:
    """Return by how much the pitch of a string has moved after 75 ms.

    Parameters:  heard: of `lines.Heard` · of_lines: of `moves` · matches: of `partials.matched`
    Returns:     (share, what it rests on [worth times Hz]); (0, 0) where no line was found again
    Source:      mean over the lines within 20 dB of the loudest
    """
    top = _loudest(heard)
    move = weight = 0.0
    for _, hz, line, _ in matches:
        if line and line[1] > _WORTHY and line[2] > top - _FAINT_DB:
            share, rests = of_lines[heard.near[int(hz / lines.BIN_HZ + 0.5)]]
            move += share * rests
            weight += rests
    return (move / weight if weight else 0.0), weight


def quality(heard: object, later: list, matches: list) -> float:
    """Return the quality factor of a string as it rings: pi times how many periods it takes to fall to a share of 1/e.

    Parameters:  heard: of `lines.Heard` · later: power of each bin at the moments AGAIN · matches: of `partials.matched`
    Returns:     Q = pi f tau [-], 0.1 to 100; 0 where no partial stands out
    Source:      fall of its partials after 75 ms; of those that lie in the noise by then after 15 or 7.5 ms, in short windows, and at least
                 as fast as into the noise; geometric mean, weighed by power
    """
    total = weight = 0.0
    for _, line in used(matches):
        b = int(line[0] / lines.BIN_HZ + 0.5)
        now = _near(heard.powers[0], b)
        total += now * math.log(_held(math.pi * line[0] / max(_rate(heard, later, b), 1e-3), 0.1, _RINGS))
        weight += now
    return math.exp(total / weight) if weight else 0.0


def _rate(heard, later, b):
    """Return 1 / tau of what is heard in a bin [1/s], 0 when it does not fall."""
    least = 0.0
    for again in _FALLING:
        window = WINDOWS[again]
        now = _near(heard.powers[window], b)
        floor = heard.floors[window][b]
        left = _near(later[again], b) - floor
        if left > _LEFT * floor:
            return max(least, _falls(now, left, AGAIN[again]))
        least = max(least, _falls(now, max(_LEFT * floor, _GONE * now), AGAIN[again]))
    return least


def _falls(now, then, wait):
    """Return 1 / tau of what falls from one power to another in so many samples [1/s], 0 when it does not fall."""
    return max(0.0, math.log(now / then)) * spectrum.RATE / (2 * wait)


def of_partials(heard: object, later: list, matches: list) -> list:
    """Return the numbers of each partial that lies below 1.5 kHz.

    Parameters:  heard: `lines.Heard` with at least one line · later: power of each bin at the moments AGAIN
                 · matches: of `partials.matched`, of at most 10 partials
    Returns:     at most 10 times 29: for each of the four windows the power at its place against noise (log), how far the highest peak
                 about it lies off [%] and its power (log); at each of the four later moments how far it has fallen (log), and again its
                 highest peak; of the line taken for it the worth, the distance [%] and the level below the loudest [10 dB], or what a
                 hidden one cannot exceed; how far it has risen out of what was there just before, and its frequency (logs)
    Source:      chosen for this project
    """
    top = _loudest(heard)
    out = []
    for _, hz, line, _ in matches:
        if hz > _LIMIT:
            break
        b = int(hz / lines.BIN_HZ + 0.5)
        row = []
        for power, floor in zip(heard.powers, heard.floors):
            row.append(_held(math.log(_near(power, b) / floor[b]), -2.0, 6.0))
            row.extend(_top(power, floor, hz))
        for power, window in zip(later, WINDOWS):
            row.append(_held(math.log(_near(power, b) / _near(heard.powers[window], b)), -6.0, 3.0))
            row.extend(_top(power, heard.floors[window], hz))
        if line:
            row.extend([min(line[1], 25.0) / 5, (line[0] / hz - 1) * 100, max(-4.0, (line[2] - top) / 10)])
        else:
            row.extend([0.0, 0.0, max(-4.0, (heard.cap[b] - 3 - top) / 10)])
        row.append(_held(math.log(_near(heard.powers[0], b) / _near(heard.before, b)), -2.0, 6.0))
        row.append(math.log(hz / 200))
        out.append(row)
    return out


def _between(heard, first):
    """Return the power against noise (log) where only lower strings have partials."""
    out = []
    for part in _BETWEEN:
        b = int(part * first / lines.BIN_HZ + 0.5)
        out.append(_held(math.log(_near(heard.powers[0], b) / heard.floors[0][b]), -2.0, 6.0) if b < lines.BINS - 1 else 0.0)
    return out


def _echoes(take, first):
    """Return (for each release the most evidence for a string of this frequency, 0 where there is none; how many strings have it)."""
    out = [0.0] * len(take.rises)
    same = 0
    for other in take.strings:
        if abs(partials.first_hz(other[1], other[2]) - first) < SAME * first:
            same += 1
            r = take.heard[other[0]].release
            out[r] = max(out[r], other[5])
    return out, same


def _shares(heard, mine):
    """Return (share of the power of all lines that is the string's, worth of its lines)."""
    top = _loudest(heard)
    own = whole = worth = 0.0
    for _, line in mine:
        own += 10 ** ((line[2] - top) / 10)
        worth += min(20.0, line[1])
    for line in heard.lines:
        whole += 10 ** ((line[2] - top) / 10)
    return own / whole, worth


def _foreign(heard, later, mine, first):
    """Return the numbers of the loudest line that the string does not explain: level [10 dB], how it falls (log), its pitch (log)."""
    own = [line[0] for _, line in mine]
    other = None
    for line in heard.lines:
        if line[1] > _WORTHY and line[0] not in own and (other is None or line[2] > other[2]):
            other = line
    if other is None:
        return [-4.0, 0.0, 0.0, 0.0]
    b = int(other[0] / lines.BIN_HZ + 0.5)
    now = _near(heard.powers[0], b)
    return ([max(-4.0, (other[2] - _loudest(heard)) / 10)] + [_held(math.log(_near(power, b) / now), -6.0, 3.0) for power in later[:2]]
            + [math.log(other[0] / first)])


def of_string(take: object, string: list, matches: list) -> list:
    """Return the numbers of a string as a whole.

    Parameters:  take: `survey.Take` · string: one of its strings · matches: of `partials.matched`, of at most 10 partials
    Returns:     44 numbers: of the sound where only lower strings have partials, of the string and its fit, of its release, of its lines
                 and the loudest one that is not its, of other releases at which it is heard, of how its pitch moves and how it dies away
    Source:      chosen for this project
    """
    place, base, stiffness, sigma, volume, value = string
    heard = take.heard[place]
    r = heard.release
    first = partials.first_hz(base, stiffness)
    mine = used(matches)
    own, worth = _shares(heard, mine)
    echoes, same = _echoes(take, first)
    echo = 0.0
    for other, one in enumerate(echoes):
        if other != r:
            echo += min(8.0, one)
    move, rests = moved(heard, take.moves[place], matches)
    pitch = math.log(first / 80)
    rise = take.rises[r]
    of_fit = [partials.quick(heard, [(base, stiffness)])[0], pitch, pitch * pitch, math.log(stiffness + 0.0005),
              math.log(sigma / first * 100 + 0.05), volume, min(value, 6.0),
              max(0.0, min(30.0, value) - 6) / 3, max(-12.0, value - take.most)]
    of_release = [(heard.start - take.heard[r].start) / 100, math.log(rise + 1), math.log(rise / max(take.rises)),
                  math.log(rise / (take.usual_rise + 0.1)), _held(take.odds[r], -10.0, 10.0), max(-10.0, take.odds[r] - take.odds[0])]
    of_lines = [len(heard.lines) / 10, own, worth / 20, float(min(len(mine), 6)), float(mine[0][0] if mine else 8)]
    of_pitch = [min(2.0, abs(move) * 100), min(2.0, max(0.0, -move * 100)), 0.0 if rests else 1.0, min(8.0, math.sqrt(rests) / 10)]
    of_others = [echo / 4, float(len([one for one in echoes if one > A_PLUCK]))]
    return (_between(heard, first) + of_fit + of_release + of_lines + _foreign(heard, take.later[place], mine, first)
            + of_others + of_pitch + [max(0.0, 0.003 - stiffness) * 300, float(r), 1.0 if place == r else 0.0,
                                       float(len(take.rises)), float(same), math.log(quality(heard, take.later[place], matches) + 0.1)])


def of_band(first: float, band: list) -> list:
    """Return the numbers of where a first frequency lies to what is expected.

    Parameters:  first: [Hz] · band: [low, high] expected [Hz], or None
    Returns:     [1 outside, how far outside (log), 1 when nothing is expected]
    Source:      an expectation of this app is a plain range
    """
    if band is None:
        return [0.0, 0.0, 1.0]
    away = max(0.0, math.log(band[0] / EDGE / first), math.log(first / band[1] / EDGE))
    return [1.0 if away else 0.0, min(FURTHEST_OUT, away), 0.0]
