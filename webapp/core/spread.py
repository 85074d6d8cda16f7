"""How sure a result is: the 95 % interval of a value with a few rectangular errors and one bell-shaped one."""

import math

# Student's t, two-sided 95 %, for 4 to 16 degrees of freedom (any statistics textbook; checked against SciPy).
_T95 = [2.776445, 2.570582, 2.446912, 2.364624, 2.306004, 2.262157, 2.228139, 2.200985, 2.178813, 2.160369,
        2.144787, 2.131450, 2.119905]
_Z95 = 1.959964
# Prior knowledge of how well one reading repeats, worth this many readings: a run of two equal readings
# is luck, not proof.  Our judgement, no source.
_PRIOR_WEIGHT = 4
# A rectangular part narrower than this (in ln) is one with the bell-shaped part.
_NARROW = 1e-5


def mean(values: list) -> float:
    """Return the arithmetic mean; an explicit loop, since `sum` adds differently on newer interpreters.

    Parameters:  values: numbers, at least one [any one unit]
    Returns:     their mean, in the same unit
    Valid:       a list that is not empty
    Source:      definition
    """
    total = 0.0
    for v in values:
        total += v
    return total / len(values)


def mean_error(values: list, usual: float) -> float:
    """Return the relative standard error of the mean of a few readings.

    The readings' own spread is pooled with the usual spread of one reading; Student's t
    widens it for the few degrees of freedom, so that 1.96 of it make a 95 % interval.

    Parameters:  values: 1 to 12 readings, above 0 [any one unit] · usual: usual relative
                 standard deviation of one reading [-]
    Returns:     relative standard error [-]
    Valid:       1 to 12 readings
    Source:      pooled variance and Student's t, JCGM 100:2008 (GUM), 4.3 and G.3
    """
    middle = mean(values)
    squares = _PRIOR_WEIGHT * usual * usual
    for v in values:
        squares += (v / middle - 1) ** 2
    freedom = _PRIOR_WEIGHT + len(values) - 1
    t = _T95[min(freedom, 16) - 4]
    return math.sqrt(squares / freedom / len(values)) * t / _Z95


def _double_integral(x):
    """The normal distribution function integrated twice from minus infinity."""
    if x < -8:
        return 0.0
    bell = math.exp(-0.5 * x * x) / math.sqrt(2 * math.pi)
    below = 0.5 * (1 + math.erf(x / math.sqrt(2)))
    return 0.5 * ((x * x + 1) * below + x * bell)


def _below(x, a, b, sigma):
    """Probability that two rectangles of half widths a, b and one normal error, all centred, stay below x."""
    s = sigma
    total = (_double_integral((x + a + b) / s) - _double_integral((x + a - b) / s)
             - _double_integral((x - a + b) / s) + _double_integral((x - a - b) / s))
    return total * s * s / (4 * a * b)


def interval(low: float, high: float, half: float, sigma: float) -> list:
    """Return the 95 % interval of a sum of three independent errors about 0.

    One error is split at 0: even chances on either side, flat from `low` to 0 and from 0 to
    `high`, since a value's limits need not lie evenly about it. One is rectangular, one normal.

    Parameters:  low: lower limit of the split error, <= 0 [-] · high: its upper limit, >= 0 [-] ·
                 half: half width of the rectangular error [-] · sigma: standard deviation of
                 the normal error, above 0 [-]
    Returns:     [lower, upper] end [-]
    Valid:       any widths; narrow rectangles join the normal error
    Source:      JCGM 101:2008, propagation of distributions, solved in closed form
    """
    b = half
    if b < _NARROW:
        sigma = math.sqrt(sigma * sigma + b * b / 3)
        b = _NARROW
    sides = [[0.5 * low, max(-0.5 * low, _NARROW)], [0.5 * high, max(0.5 * high, _NARROW)]]
    reach = max(high, -low) + b + 8 * sigma

    def below(x):
        return 0.5 * (_below(x - sides[0][0], sides[0][1], b, sigma) + _below(x - sides[1][0], sides[1][1], b, sigma))

    return [_quantile(below, 0.025, reach), _quantile(below, 0.975, reach)]


def _quantile(below, share, reach):
    low, high = -reach, reach
    for _ in range(44):
        middle = 0.5 * (low + high)
        if below(middle) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
