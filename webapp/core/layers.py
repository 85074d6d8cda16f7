"""Layers of the small neural networks, in plain lists: weights out of text, and their sums."""

# Each weight is two of these characters, the first worth as many steps as there are characters: so many steps above zero, so many to one.
LETTERS = "".join([chr(code) for code in range(35, 126) if code != 92])
ZERO = 4050
SCALE = 1000
# So many inputs of a layer are worked out in one step.
_GROUP = 15


def decoded(text: str) -> list:
    """Return the weights of a text.

    Parameters:  text: two of LETTERS for each weight
    Returns:     weights from -4.05 to 4.049
    Source:      tools/train_hearing.py
    """
    places = {letter: place for place, letter in enumerate(LETTERS)}
    return [(places[text[i]] * len(LETTERS) + places[text[i + 1]] - ZERO) / SCALE for i in range(0, len(text), 2)]


def parts(weights: list, counts: list) -> list:
    """Return the weights in parts.

    Parameters:  weights: of `decoded` · counts: of each part
    Returns:     [list, ...]
    Source:      the order of tools/train_hearing.py
    """
    out = []
    at = 0
    for count in counts:
        out.append(weights[at:at + count])
        at += count
    return out


def columns(weights: list, inputs: int, outputs: int) -> list:
    """Return for each output the weights of its inputs.

    Parameters:  weights: inputs times outputs, those of the first input first · inputs, outputs: how many [-]
    Returns:     [[weight of each input], ...]
    Source:      a matrix turned over
    """
    return [[weights[i * outputs + k] for i in range(inputs)] for k in range(outputs)]


def scaled(column: list, means: list, spreads: list, at: int = 0) -> float:
    """Work the scales of inputs into the weights of an output, in place.

    Parameters:  column: weights of one output · means, spreads: of the inputs that are scaled · at: the first one of them [-]
    Returns:     what to add to the output
    Source:      w (x - mean) / spread = (w / spread) x - (w / spread) mean
    """
    shift = 0.0
    for i in range(len(means)):
        column[at + i] /= spreads[i]
        shift -= column[at + i] * means[i]
    return shift


def grouped(columns: list) -> list:
    """Return a layer as `times` wants it.

    Parameters:  columns: [[weight of each input], ...] of the outputs
    Returns:     for every fifteen inputs, the last ones filled up with zeros: [(their fifteen weights), ...] of the outputs
    Source:      a step of a loop costs MicroPython as much as several products
    """
    out = []
    for first in range(0, len(columns[0]), _GROUP):
        rows = [column[first:first + _GROUP] for column in columns]
        out.append([tuple(row + [0.0] * (_GROUP - len(row))) for row in rows])
    return out


def times(layer: list, values: list, shifts: list) -> list:
    """Return what each output of a layer sums up to.

    Parameters:  layer: of `grouped` · values: inputs · shifts: what is added to each output
    Returns:     one float for each output
    Source:      matrix times vector
    """
    out = shifts
    padded = values + [0.0] * (-len(values) % _GROUP)
    first = 0
    for rows in layer:
        a, b, c, d, e, f, g, h, i, j, k, l, m, n, o = padded[first:first + _GROUP]
        first += _GROUP
        out = [total + A * a + B * b + C * c + D * d + E * e + F * f + G * g + H * h + I * i + J * j + K * k + L * l + M * m + N * n + O * o
               for total, (A, B, C, D, E, F, G, H, I, J, K, L, M, N, O) in zip(out, rows)]
    return out


def positive(values: list) -> list:
    """Return the values, 0 in place of negative ones.

    Parameters:  values: floats
    Returns:     floats
    Source:      rectified linear units, any textbook of machine learning
    """
    return [value if value > 0 else 0.0 for value in values]
