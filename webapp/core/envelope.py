"""The evidence for a stiff string: are its partials heard, each about as loud as those of a plucked span are?"""

import math

from . import lines as heard_lines
from . import partials

# Loss per partial [dB]: of damping, and per Hz of the first frequency, from how far the phone is against the length of the span.
_FALL = 2.0
_FALLS = (0.01, 0.04, 0.12, 0.3)
# Microphones: corner [Hz] and order of the high-pass.
_MICS = ((20.0, 1), (85.0, 1.5), (100.0, 3))
# Loudness tried: the envelope lies so many dB above the mean of the lines. Not whole dB: a lone line would lie on the border of two steps.
_ABOVE = (-0.5, 5.5, 11.5)
_TABLE = 60
# Where a span may be plucked and heard, from one end to the middle [shares of the length]: for the first partial, for the others.
_PLACES = (0.12, 0.02)
_PLACE_STEPS = 40
_ROOM_DB = 3.0
# Chance that a partial is gone for other reasons.
_GONE = (0.03, 0.06)


def _levels(nearest):
    """Return how likely 20 log(sin u sin v) is, plus 3 dB of the room, from -60 to 60 dB."""
    sines = []
    for i in range(_PLACE_STEPS):
        sines.append(20 * math.log10(math.sin(math.pi * (nearest + (0.5 - nearest) * (i + 0.5) / _PLACE_STEPS))))
    out = [0.0] * (2 * _TABLE + 1)
    total = 0.0
    for pluck in sines:
        for phone in sines:
            for k in range(-4, 5):
                room = 0.5 * k * _ROOM_DB
                place = int(pluck + phone + room + _TABLE + 0.5)
                if 0 <= place:
                    weight = math.exp(-0.5 * (room / _ROOM_DB) ** 2)
                    out[place] += weight
                    total += weight
    return [weight / total for weight in out]


def _tables(nearest, gone):
    """Return [log density of a level so many dB from the envelope], [log chance to lie below], from -60 to 60 dB."""
    near = []
    below = []
    total = 0.0
    likely = _levels(nearest)
    for d in range(2 * _TABLE + 1):
        density = (1 - gone) * likely[d] + gone / _TABLE * (1 if d < _TABLE else 0.05) + 1e-5
        total += density
        near.append(math.log(density))
        below.append(math.log(min(1.0, total)))
    return near, below


_FIRST = _tables(_PLACES[0], _GONE[0])
_OTHERS = _tables(_PLACES[1], _GONE[1])


def evidence(heard: object, base_hz: float, stiffness: float) -> float:
    """Return the log-likelihood ratio of a plucked string against lines that have nothing to do with each other.

    Parameters:  heard: of `lines.Heard` · base_hz: f0 [Hz] · stiffness: B [-]
    Returns:     log of the likelihood ratio, a mean over loudness, brightness and microphones
    Source:      each partial is a line with its chance of place and level, or hidden below `cap`; lines elsewhere count nothing
    """
    seen = []
    hits = 0
    for n, hz, line, z in partials.matched(heard, base_hz, stiffness):
        near, below = _FIRST if n == 1 else _OTHERS
        if line:
            seen.append((hz * hz, line[2], -0.5 * z * z - line[4], near, below))
            hits += 1
        else:
            seen.append((hz * hz, heard.cap[int(hz / heard_lines.BIN_HZ + 0.5)], -99.0, near, below))
    if hits == 0:
        return -20.0
    strong = [i for i in range(len(seen)) if seen[i][2] > 1.0]
    scores = []
    for corner, order in _MICS:
        square = corner * corner
        lifted = [one[1] + order * 10 * math.log10(1 + square / one[0]) for one in seen]
        for slope in _FALLS:
            fall = _FALL + slope * base_hz
            _weigh(seen, strong, [lifted[i] + fall * i for i in range(len(seen))], scores)
    best = max(scores)
    mass = 0.0
    for score in scores:
        mass += math.exp(score - best)
    return best + math.log(mass / len(scores))


def _weigh(seen, strong, levels, scores):
    """Add to the scores the chance of the levels for each loudness, which the strong partials tell."""
    mean = weight = 0.0
    for i in strong:
        gain = seen[i][2]
        mean += levels[i] * gain
        weight += gain
    mean = mean / weight if weight else max(levels)
    for above in _ABOVE:
        shift = mean + above
        total = 0.0
        for (_, _, gain, near, below), level in zip(seen, levels):
            d = int(level - shift) + _TABLE
            if d < 0:
                d = 0
            elif d > 2 * _TABLE:
                d = 2 * _TABLE
            # The line may also be a foreign one that hides a weaker partial.
            one = gain + near[d]
            two = below[d]
            total += one if one > two else two
        scores.append(total)
