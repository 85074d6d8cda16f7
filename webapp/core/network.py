"""A small neural network: how likely a string of a take is the one that was plucked, and how far its first frequency is off.

One layer sees each partial alone and is summed over them; a second one sees that sum and the string as a whole.  The weights in
`network_weights` are made by tools/train_hearing.py from synthetic takes.
"""

import math

from . import features
from . import network_weights as made

# Each weight is two of these characters, the first worth as many steps as there are characters: so many steps above zero, so many to one.
LETTERS = "".join([chr(code) for code in range(35, 126) if code != 92])
ZERO = 4050
SCALE = 1000
# Bounds of a correction [%] and of the spread [log %].
FURTHEST = 3.0
SPREADS = (-3.0, 1.5)

_layers = []


def _decoded(text):
    """Return the weights of a text."""
    places = {letter: place for place, letter in enumerate(LETTERS)}
    return [(places[text[i]] * len(LETTERS) + places[text[i + 1]] - ZERO) / SCALE for i in range(0, len(text), 2)]


def _columns(weights, inputs, outputs):
    """Return for each output the weights of its inputs."""
    return [[weights[i * outputs + k] for i in range(inputs)] for k in range(outputs)]


def _sixes(values):
    """Return the values in sixes, filled up with zeros."""
    padded = values + [0.0] * (-len(values) % 6)
    return [padded[i:i + 6] for i in range(0, len(padded), 6)]


def _unpacked():
    """Return columns of weights, and biases behind them, of the four steps in turn, with the scales of the inputs worked in."""
    of_one, of_all = features.OF_PARTIAL, features.OF_STRING + features.OF_BAND
    one, sums, two = made.SIZES
    every = _decoded(made.CODED)
    counts = (of_one * one, features.PARTIALS * one, one * sums, (sums + of_all) * two, two, two * 3, 3)
    parts = []
    at = 0
    for count in counts:
        parts.append(every[at:at + count])
        at += count
    see = _columns(parts[0], of_one, one)
    biases = [parts[1][n * one:(n + 1) * one] for n in range(features.PARTIALS)]
    join = _columns(parts[3], sums + of_all, two)
    shifts = parts[4]
    for k in range(one):
        for i in range(of_one):
            see[k][i] /= made.SPREADS_OF_PARTIAL[i]
            for bias in biases:
                bias[k] -= see[k][i] * made.MEANS_OF_PARTIAL[i]
    for k in range(two):
        for i in range(features.OF_STRING):
            join[k][sums + i] /= made.SPREADS_OF_STRING[i]
            shifts[k] -= join[k][sums + i] * made.MEANS_OF_STRING[i]
    # The first has biases for each partial, the second none.
    see, add, join, tell = [[_sixes(column) for column in layer]
                            for layer in (see, _columns(parts[2], one, sums), join, _columns(parts[5], two, 3))]
    return see, biases, add, join, shifts, tell, parts[6]


def _times(columns, values, shifts):
    """Return the sums of weights in sixes times values, and a shift each."""
    out = []
    sixes = _sixes(values)
    # A step of a loop costs MicroPython as much as six products.
    for column, total in zip(columns, shifts):
        for (a, b, c, d, e, f), (u, v, w, x, y, z) in zip(column, sixes):
            total += a * u + b * v + c * w + d * x + e * y + f * z
        out.append(total)
    return out


def _positive(values):
    return [value if value > 0 else 0.0 for value in values]


def judged(of_partials: list, of_string: list, of_band: list) -> tuple:
    """Return what the network says of a string.

    Parameters:  of_partials, of_string, of_band: of `features`
    Returns:     (log of its odds, up to what is common to all strings and `nothing`; share to add to its first frequency;
                 spread of the logistic distribution about that [share])
    Source:      two hidden layers of rectified linear units, any textbook of machine learning
    """
    if not _layers:
        _layers.append(_unpacked())
    see, biases, add, join, shifts, tell, last = _layers[0]
    seen = [0.0] * len(see)
    for row, bias in zip(of_partials, biases):
        seen = [total + one for total, one in zip(seen, _positive(_times(see, row, bias)))]
    seen = _times(add, seen, [0.0] * len(add))
    odds, away, spread = _times(tell, _positive(_times(join, seen + of_string + of_band, shifts)), last)
    return (odds, math.exp(FURTHEST * math.tanh(away / FURTHEST) / 100) - 1, math.exp(min(SPREADS[1], max(SPREADS[0], spread))) / 100)
