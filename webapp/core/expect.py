"""The reading to expect of a span: how it should ring, or how far it should give, before anybody measures it.

An expectation helps to find the right span and the right way of ringing. It never alters a result.
"""

import math

from . import span
from .errors import CoreError

# Force gauge and zero of the rule, as `reading.press` takes them (our judgement).
FORCE_ERROR = 0.05
ZERO_M = 0.0005
# A reading is far off when it speaks for less than half or more than twice the tension: frequency goes with the root of
# the tension, deflection with its inverse (our limits).
_FAR_HZ = 1.41
_FAR_DEFLECTION = 2.0
_HALVINGS = 60


def _ordered(low, high, field):
    if not (math.isfinite(low) and math.isfinite(high) and 0 < low <= high):
        raise CoreError("out-of-order", field)


def pluck(low_n: float, high_n: float, length_m: float, length_error_m: float, kg_low: float, kg_high: float,
          bending_low: float, bending_high: float) -> list:
    """Return the band of frequencies that a plucked span should ring with.

    From a loose, long, heavy and supple belt with pinned ends to a tight, short, light and stiff one with clamped ends.

    Parameters:  low_n, high_n: wanted tension of the strand [N] · length_m: free span [m] · length_error_m: greatest error
                 of it [m] · kg_low, kg_high: limits of the belt's mass [kg/m] · bending_low, bending_high: limits of its
                 bending stiffness [N m2]
    Returns:     [low, high] [Hz]
    Valid:       belt stopped
    Raises:      CoreError "out-of-order", "error-too-large", "not-positive"
    Source:      `span.frequency_from_tension`
    """
    _ordered(low_n, high_n, "low_n")
    if not 0 <= length_error_m < length_m:
        raise CoreError("error-too-large", "length_error")
    return [span.frequency_from_tension(low_n, length_m + length_error_m, kg_high, bending_low, "pinned"),
            span.frequency_from_tension(high_n, length_m - length_error_m, kg_low, bending_high, "clamped")]


def deflection(force_n: float, tension_n: float, length_m: float, axial_n: float, belt_m: float) -> float:
    """Return how far a force presses the middle of a span; the inverse of `span.tension_from_deflection`.

    F = 2 (T + EA (2 s - L) / L_belt) d / s,  s = sqrt((L/2)^2 + d^2): it grows with d, so halving finds d.

    Parameters:  force_n: force at the middle F [N] · tension_n: tension before pressing T [N] · length_m: free span L [m]
                 · axial_n: axial stiffness EA [N] · belt_m: length of the whole belt [m]
    Returns:     deflection d [m]
    Valid:       no bending stiffness; deflection below half the span
    Raises:      CoreError "not-positive"; "too-deep-press" when the force presses further than half the span
    Source:      statics, as `span.tension_from_deflection`
    """
    for value, name in ((force_n, "force"), (tension_n, "tension_n"), (length_m, "length"), (belt_m, "belt_length")):
        if not math.isfinite(value) or value <= 0:
            raise CoreError("not-positive", name)

    def needed(d):
        side = math.sqrt(length_m * length_m / 4 + d * d)
        return 2 * (tension_n + axial_n * 4 * d * d / (2 * side + length_m) / belt_m) * d / side

    low = 0.0
    high = length_m / 2
    if needed(high) <= force_n:
        raise CoreError("too-deep-press", "force")
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if needed(middle) < force_n:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def press(force_n: float, low_n: float, high_n: float, length_m: float, length_error_m: float, bending_low: float,
          bending_high: float, axial_low: float, axial_high: float, least_m: float, most_m: float) -> list:
    """Return the band of deflections that a pressed span should give.

    Parameters:  force_n: force at the middle [N] · low_n, high_n: wanted tension of the strand [N] · length_m: free span [m]
                 · length_error_m: greatest error of it [m] · bending_low, bending_high: limits of the bending stiffness
                 [N m2] · axial_low, axial_high: limits of the axial stiffness [N] · least_m, most_m: limits of the whole
                 belt's length [m]
    Returns:     [low, high] [m]
    Valid:       deflection below half the span
    Raises:      CoreError "out-of-order", "error-too-large", "not-positive", "too-deep-press"
    Source:      `deflection`, the share of bending from `span.stiffness_share`; force error 5 % and zero 0.5 mm: our judgement
    """
    _ordered(low_n, high_n, "low_n")
    if not 0 <= length_error_m < length_m:
        raise CoreError("error-too-large", "length_error")
    long, short = length_m + length_error_m, length_m - length_error_m
    tight = high_n / (1 - min(0.9, span.stiffness_share(high_n, short, bending_high, "clamped")))
    loose = low_n / (1 - span.stiffness_share(low_n, long, bending_low, "pinned"))
    least = deflection(force_n * (1 - FORCE_ERROR), tight, short, axial_high, least_m) - ZERO_M
    return [max(0.0, least), deflection(force_n * (1 + FORCE_ERROR), loose, long, axial_low, most_m) + ZERO_M]


def question(method: str, value: float, low: float, high: float, others: list):
    """Return what to ask about a reading that is far from what was expected, None when it is not.

    Parameters:  method: "pluck" or "press" · value: mean of the readings [Hz or m] · low, high: expected band [Hz or m] ·
                 others: [[name, low, high], ...] of the drive's other spans [Hz or m]
    Returns:     [code, {values}] with code "expect-octave", "expect-other-span" or "expect-far", or None
    Valid:       a question only: a loose belt is far off too
    Source:      modes of a string, Rao, Vibration of Continuous Systems, ch. 8; the limits: ours
    """
    far = _FAR_HZ if method == "pluck" else _FAR_DEFLECTION
    if low / far <= value <= high * far:
        return None
    if method == "pluck":
        for ratio, times in ((2.0, "twice"), (0.5, "half")):
            if low <= value / ratio <= high:
                return ["expect-octave", {"times": times}]
    for name, least, most in others:
        if least <= value <= most:
            return ["expect-other-span", {"span": name}]
    return ["expect-far", {}]
