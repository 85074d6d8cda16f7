"""A small neural network: how likely a string of a take is the one that was plucked, and how far its first frequency is off.

One layer sees each partial alone and is summed over them; a second one sees that sum and the string as a whole.  The weights in
`network_weights` are made by tools/train_hearing.py from synthetic takes.
"""

import math

from . import features
from . import layers
from . import network_weights as made

# Bounds of a correction [%] and of the spread [log %].
FURTHEST = 3.0
SPREADS = (-3.0, 1.5)

_layers = []


def _unpacked():
    """Return the four layers in turn, and biases behind them, with the scales of the inputs worked in."""
    of_one, of_all = features.OF_PARTIAL, features.OF_STRING + features.OF_BAND
    one, sums, two = made.SIZES
    counts = (of_one * one, features.PARTIALS * one, one * sums, (sums + of_all) * two, two, two * 3, 3)
    first, starts, added, joined, shifts, told, last = layers.parts(layers.decoded(made.CODED), counts)
    see = layers.columns(first, of_one, one)
    # The first has biases for each partial, the second none.
    biases = [starts[n * one:(n + 1) * one] for n in range(features.PARTIALS)]
    for k in range(one):
        shift = layers.scaled(see[k], made.MEANS_OF_PARTIAL, made.SPREADS_OF_PARTIAL)
        for bias in biases:
            bias[k] += shift
    join = layers.columns(joined, sums + of_all, two)
    for k in range(two):
        shifts[k] += layers.scaled(join[k], made.MEANS_OF_STRING, made.SPREADS_OF_STRING, sums)
    see, add, join, tell = [layers.grouped(layer) for layer in (see, layers.columns(added, one, sums), join, layers.columns(told, two, 3))]
    return see, biases, add, join, shifts, tell, last


def promise(of_string: list, of_band: list) -> float:
    """Return how much a string promises before its partials are looked at one by one: what promises little is not worth the time.

    Parameters:  of_string, of_band: of `features`
    Returns:     log of its odds, up to what is common to all strings
    Source:      logistic regression
    """
    out = 0.0
    for weight, value in zip(made.PROMISE, of_string + of_band):
        out += weight * value
    return out


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
    seen = [0.0] * len(biases[0])
    for row, bias in zip(of_partials, biases):
        seen = [total + one for total, one in zip(seen, layers.positive(layers.times(see, row, bias)))]
    seen = layers.times(add, seen, [0.0] * made.SIZES[1])
    odds, away, spread = layers.times(tell, layers.positive(layers.times(join, seen + of_string + of_band, shifts)), last)
    return (odds, math.exp(FURTHEST * math.tanh(away / FURTHEST) / 100) - 1, math.exp(min(SPREADS[1], max(SPREADS[0], spread))) / 100)
