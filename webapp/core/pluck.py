"""Hear a plucked span: the first frequency with its interval from a short sound, or the reason why there is no answer.

The span is a stiff string struck once.  A release is a sudden set of new lines (`releases`); the lines after it (`lines`) are
explained by strings (`partials`); the best string answers when nothing else explains them nearly as well.
"""

import math

from . import lines
from . import partials
from . import releases
from . import spectrum
from .errors import CoreError

LOWEST_RATE = 8000
HIGHEST_RATE = 96000
LONGEST_S = 20.0
_SHORTEST_S = 0.8
# An integer sample of a 16-bit recorder.
_FULL_SCALE = 32768
_SILENT = 3.0e-4
_CLIPPED = 0.9995
_CLIPPED_SHARE = 0.005
# Releases looked at: in a take of one pluck, and in a longer one.
_MOST_SHORT = 3
_MOST_LONG = 6
_SHORT_TAKE_S = 2.2
# From the start of the frame of a release to the release [frames].
_LATE = 0.9
_KEPT = 12
# Two first frequencies that differ less are one answer.
_SAME = 0.015
# Weight of the share of all strings that would fit as well (see `partials.fitted`).
_VOLUME = 0.5
# A string outside the expected band needs this much more evidence (log).
_OUTSIDE = 4.0
_EDGE = 1.05
# When the decay is judged [samples after the release].
_LATER = 1400
# Evidence (log) from which a release counts as a pluck of the string.
_A_PLUCK = 2.0
_NEARLY = 1.5
_HARDLY = 0.0
# Plucks pull the pitch up while the swing is large: the median excess and, in the interval, what is not in the fit.
_PULLED = 0.0003
_UNKNOWN_SHARE = 0.0015
_INTERVAL = 1.8
# A logistic model of "right within 1 %", fitted to synthetic takes (tests/plucks.py, the set "tune"), and what it takes to answer.
_SURE = 0.85
_WEIGHTS = (-3.052, 0.402, -0.041, -0.138, 0.095, -0.725, -0.239, 0.406, -0.695, 2.898, 0.218,
            -0.065, 0.268, -1.617, 0.522, -2.098, 0.365, 0.642, -0.059, 0.066, -0.546, 1.463)
_POINTS = 98


def _first_hz(base_hz, stiffness):
    return base_hz * math.sqrt(1 + stiffness)


class Take:
    """A take surveyed: its releases and the strings that may explain them, whatever is expected.

    `strings` holds the best: [score, f0, B, sigma of the first frequency, release, [evidence at each release]].
    """

    def __init__(self, sound: list):
        self.sound = sound
        frames = releases.frames(sound)
        rises = releases.jumps(frames, releases.steady(frames))
        self.usual_rise = sorted(rises)[len(rises) // 2]
        most = _MOST_SHORT if len(sound) < _SHORT_TAKE_S * spectrum.RATE else _MOST_LONG
        found = releases.find(rises, most)
        self.rises = [rise for _, rise in found]
        self.starts = [int((frame + _LATE) * releases.HOP) for frame, _ in found]
        self.heard = []
        self.strings = []
        if found:
            floors, count = lines.noise(sound, self.starts)
            earlier = lines.before(sound, self.starts)
            powers = lines.after(sound, self.starts)
            self.heard = [lines.Heard(powers[r], floors, earlier[r], count) for r in range(len(found))]
            self.strings = self._strings()

    def _fitted(self):
        """Return [[minus score, f0, B, sigma, release], ...] of every promising string, the best first."""
        out = []
        for r in range(len(self.heard)):
            done = []
            for base, stiffness in partials.promising(self.heard[r]):
                base, stiffness, sigma, volume = partials.fitted(self.heard[r], base, stiffness)
                first = _first_hz(base, stiffness)
                if all([abs(first - f) > 0.001 * f or abs(stiffness - b) > 0.001 for f, b in done]):
                    done.append((first, stiffness))
                    score = partials.evidence(self.heard[r], base, stiffness) + _VOLUME * volume
                    out.append([-score, base, stiffness, sigma, r])
        out.sort()
        return out

    def _strings(self):
        out = []
        for minus, base, stiffness, sigma, r in self._fitted():
            first = _first_hz(base, stiffness)
            # Two of each frequency: the stiffness may differ.
            if len([one for one in out if abs(_first_hz(one[1], one[2]) - first) < 0.004 * first]) >= 2:
                continue
            score = -minus
            each = []
            for other in range(len(self.heard)):
                value = -minus
                if other != r:
                    value = partials.evidence(self.heard[other], base, stiffness)
                    # A release may be another sound: half a chance, whatever is heard there.
                    score += math.log(0.5 + 0.5 * math.exp(min(30.0, value)))
                each.append(value)
            out.append([score, base, stiffness, sigma, r, each])
            if len(out) == _KEPT:
                break
        return out

    def drop(self, r: int, places: list) -> float:
        """Return by how many dB lines have fallen a third of a second after a release."""
        if not places:
            return 0.0
        later = lines.after(self.sound, [self.starts[r] + _LATER])[0][0]
        now = self.heard[r].powers[0]
        total = 0.0
        for hz in places:
            b = min(lines.BINS - 1, int(hz / lines.BIN_HZ + 0.5))
            total += 10 * math.log10((now[b] + 1e-14) / (later[b] + 1e-14))
        return total / len(places)


def _outside(string, band):
    if band is None:
        return False
    first = _first_hz(string[1], string[2])
    return first < band[0] / _EDGE or first > band[1] * _EDGE


def _weighed(string, band):
    """Return the score of a string with what is expected."""
    return string[0] - (_OUTSIDE if _outside(string, band) else 0.0)


def _chosen(take, band):
    """Return (the best string, its best rival of another frequency or None, by how much it leads)."""
    scored = sorted([[-_weighed(take.strings[i], band), i] for i in range(len(take.strings))])
    best = take.strings[scored[0][1]]
    first = _first_hz(best[1], best[2])
    for minus, i in scored[1:]:
        rival = take.strings[i]
        if abs(_first_hz(rival[1], rival[2]) - first) > _SAME * first:
            return best, rival, minus - scored[0][0]
    return best, None, 8.0


def _signs(take, band, best, margin):
    """Return the signs for and against a string, in the order of _WEIGHTS."""
    r = best[4]
    heard = take.heard[r]
    first = _first_hz(best[1], best[2])
    freely = max([string[0] for string in take.strings]) - best[0]
    used = [[n, line] for n, _, line, _ in partials.matched(heard, best[1], best[2]) if line and line[1] > 5]
    loudest = max([line[2] for line in heard.lines])
    top = max([-99.0] + [line[2] for _, line in used])
    own = 0.0
    for _, line in used:
        own += 10 ** ((line[2] - loudest) / 10)
    whole = 0.0
    for line in heard.lines:
        whole += 10 ** ((line[2] - loudest) / 10)
    worth = max([0.0] + [line[1] for _, line in used])
    drop = take.drop(r, [line[0] for _, line in used if line[2] > top - 20])
    pitch = math.log(first / 80)
    margin = min(8.0, margin)
    score = min(25.0, max(-10.0, best[0]))
    return [1.0, margin, min(2.0, margin), score, min(8.0, score), min(8.0, freely), math.log(take.rises[r] + 1),
            math.log(take.rises[r] / (take.usual_rise + 0.1)), float(min(6, len(used))), own / whole, math.sqrt(min(40.0, worth)),
            min(25.0, max(0.0, drop)), min(8.0, max(0.0, drop)), pitch, pitch * pitch, math.log(best[3] / first * 100 + 0.05),
            math.log(best[2] + 0.0003), float(len([value for value in best[5] if value > _A_PLUCK])), 1.0 if _outside(best, band) else 0.0,
            0.0 if band is None else 1.0, len(heard.lines) / 10, 1.0 if used and used[0][0] == 1 else 0.0]


def _plucks(take, best):
    """Return the releases at which the string was heard: [[seconds, hz, sigma], ...] in the order of time."""
    first = _first_hz(best[1], best[2])
    out = []
    for r in range(len(take.starts)):
        if r == best[4] or best[5][r] > _A_PLUCK:
            base, stiffness, sigma, _ = partials.fitted(take.heard[r], best[1], best[2])
            hz = _first_hz(base, stiffness)
            if r == best[4] or abs(hz - first) < _SAME * first:
                out.append([take.starts[r] / spectrum.RATE, hz, math.sqrt(sigma * sigma + (_UNKNOWN_SHARE * hz) ** 2)])
    out.sort()
    return out


def _checked(samples, rate, band_hz):
    """Return (the samples as floats from -1 to 1, band as two floats or None)."""
    if isinstance(rate, bool) or not isinstance(rate, (int, float)) or not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise CoreError("out-of-range", "rate", {"low": str(LOWEST_RATE), "high": str(HIGHEST_RATE)})
    if not isinstance(samples, (list, tuple)):
        raise CoreError("not-a-list", "samples")
    if len(samples) > LONGEST_S * rate:
        raise CoreError("too-many", "samples", {"most": str(int(LONGEST_S * rate))})
    peak = 0
    for value in samples:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not -_FULL_SCALE <= value <= _FULL_SCALE:
            raise CoreError("out-of-range", "samples", {"low": "-1", "high": "1"})
        peak = max(peak, abs(value))
    scale = 1 / _FULL_SCALE if peak > 1 else 1.0
    return [value * scale for value in samples], _band(band_hz)


def _band(band_hz):
    if band_hz is None:
        return None
    if not isinstance(band_hz, (list, tuple)) or len(band_hz) != 2:
        raise CoreError("not-a-list", "band_hz")
    for value in band_hz:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not 1 <= value <= 5000:
            raise CoreError("out-of-range", "band_hz", {"low": "1", "high": "5000"})
    if band_hz[0] >= band_hz[1]:
        raise CoreError("out-of-order", "band_hz")
    return [float(band_hz[0]), float(band_hz[1])]


def _loudness(samples):
    """Return (root mean square, largest, share of samples at full scale)."""
    square = 0.0
    largest = 0.0
    clipped = 0
    for value in samples:
        square += value * value
        if value > largest or -value > largest:
            largest = abs(value)
            if largest >= _CLIPPED:
                clipped += 1
        elif value >= _CLIPPED or value <= -_CLIPPED:
            clipped += 1
    count = max(1, len(samples))
    return math.sqrt(square / count), largest, clipped / count


def _why(take, best, rival, margin, clipped):
    """Return the reason not to answer, the most useful one to whoever holds the phone first."""
    if clipped > _CLIPPED_SHARE:
        return "clipped"
    if best[0] < _HARDLY:
        return "nothing"
    if rival and margin < _NEARLY:
        return "two-answers"
    return "noisy"


def listen(samples: list, rate: float, band_hz: list = None) -> dict:
    """Return the first frequency of a plucked span as it was heard, or the reason why there is none.

    Parameters:  samples: floats from -1 to 1, or 16-bit integers; 1 to 3 s of sound, at most 20 s · rate: their rate, 8000 to 96000; 8000 is
                 enough and quickest [Hz] · band_hz: (low, high) expected from the drive [Hz], or None; it only weighs: a string outside
                 answers too when the sound speaks for it clearly
    Returns:     "hz" [Hz] or None when declined; "low_hz", "high_hz": 95 % interval [Hz] or None; "why": "" or "nothing", "noisy",
                 "two-answers", "clipped", "short", "silent" (sentences: "pluck-" + why in `words.REASONS`); "confidence": 0 to 1, that
                 the best string is right within 1 %; "plucks": [{"at_s", "hz"}, ...] of the best string; "other_hz": the other answer
                 while two remain, else None; "outside": true when the answer lies outside the band; "level_db", "peak": root mean
                 square [dB of full scale] and largest sample; "clipped": share of samples at full scale; "peaks": [{"n", "hz", "db"}, ...]
                 the lines that were used, and "spectrum": [[hz, db], ...] up to 1.5 kHz, both after the best release
    Raises:      CoreError "out-of-range", "not-a-list", "too-many", "out-of-order"
    Valid:       spans of 18 to 350 Hz; interval and confidence were set on synthetic takes only, no real belt
    Source:      partials of a stiff string against foreign lines (`partials.evidence`); logistic regression
    """
    samples, band = _checked(samples, rate, band_hz)
    mean_square, largest, clipped = _loudness(samples)
    reply = {"hz": None, "low_hz": None, "high_hz": None, "why": "", "confidence": 0.0, "plucks": [], "other_hz": None, "outside": False,
             "level_db": 20 * math.log10(max(mean_square, 1e-6)), "peak": largest, "clipped": clipped, "peaks": [], "spectrum": []}
    if len(samples) < _SHORTEST_S * rate:
        reply["why"] = "short"
    elif largest < _SILENT:
        reply["why"] = "silent"
    else:
        _heard(Take(spectrum.lowered(samples, rate)), band, reply)
    return reply


def _heard(take, band, reply):
    """Fill the reply from a surveyed take."""
    if not take.strings:
        reply["why"] = "clipped" if reply["clipped"] > _CLIPPED_SHARE else "nothing"
        return
    best, rival, margin = _chosen(take, band)
    total = 0.0
    for weight, sign in zip(_WEIGHTS, _signs(take, band, best, margin)):
        total += weight * sign
    reply["confidence"] = 1 / (1 + math.exp(-min(50.0, max(-50.0, total))))
    plucks = _plucks(take, best)
    reply["plucks"] = [{"at_s": at, "hz": hz * (1 - _PULLED)} for at, hz, _ in plucks]
    heard = take.heard[best[4]]
    reply["peaks"] = [{"n": n, "hz": line[0], "db": line[2]} for n, _, line, _ in partials.matched(heard, best[1], best[2]) if line]
    reply["spectrum"] = _drawing(heard.powers[0])
    if rival and margin < _NEARLY:
        reply["other_hz"] = _first_hz(rival[1], rival[2])
    if reply["confidence"] < _SURE:
        reply["why"] = _why(take, best, rival, margin, reply["clipped"])
        return
    reply["outside"] = _outside(best, band)
    weight = weighted = 0.0
    for _, hz, sigma in plucks:
        weight += 1 / (sigma * sigma)
        weighted += hz / (sigma * sigma)
    hz = weighted / weight * (1 - _PULLED)
    # Plucks share what is unknown of the string, so their number does not narrow the interval.
    half = _INTERVAL * min([sigma for _, _, sigma in plucks])
    reply["hz"] = hz
    reply["low_hz"] = hz - half
    reply["high_hz"] = hz + half


def _drawing(power):
    """Return at most 98 points [[hz, dB], ...], the largest of every four bins."""
    out = []
    for first in range(0, lines.BINS, 4):
        out.append([(first + 1.5) * lines.BIN_HZ, 10 * math.log10(max(power[first:first + 4]) + 1e-14)])
    return out
