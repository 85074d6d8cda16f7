"""The free span: tension from its frequency, and from how far a force presses it.

A span is the belt between two tangent points. Stopped engine, so no term for belt speed.
"""

import math

from .errors import CoreError

# Halving an interval of doubles this often leaves neighbours.
_HALVINGS = 60


def _positive(value, field):
    if not math.isfinite(value) or value <= 0:
        raise CoreError("not-positive", field)


def _check(length_m, kg_per_m, bending_nm2, ends):
    _positive(length_m, "length_m")
    _positive(kg_per_m, "kg_per_m")
    if not math.isfinite(bending_nm2) or bending_nm2 < 0:
        raise CoreError("not-positive", "bending_nm2")
    if ends not in ("pinned", "clamped"):
        raise CoreError("not-a-choice", "ends")


def _root(function, low, high):
    """Bisect a function that is positive at `low` and negative at `high`."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if function(middle) > 0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _mode(u, v):
    """Zero at the first mode of a clamped span: u tan u + v tanh v = 0, written without the pole.

    u and v are half the span times the sine and the hyperbolic wave number.
    """
    return u * math.sin(u) + v * math.tanh(v) * math.cos(u)


def frequency_from_tension(tension_n: float, length_m: float, kg_per_m: float, bending_nm2: float = 0.0,
                           ends: str = "clamped") -> float:
    """Return the first frequency of a span under tension.

    String:   f = sqrt(T/m) / (2 L)
    Pinned:   f = string * sqrt(1 + B),  B = pi^2 EI / (T L^2)
    Clamped:  exact first root of u tan u + v tanh v = 0 with v^2 - u^2 = T L^2 / (4 EI),
              omega = (2 u / L) sqrt((T + EI (2 u / L)^2) / m)

    Parameters:  tension_n: span tension T [N] · length_m: free span L, tangent to tangent [m] ·
                 kg_per_m: belt mass m [kg/m] · bending_nm2: bending stiffness EI [N m2], 0 for a
                 string · ends: "pinned" or "clamped"
    Returns:     frequency [Hz]
    Valid:       small amplitude, belt stopped; T above 0
    Raises:      CoreError "not-positive", "not-a-choice"
    Source:      Rao, Vibration of Continuous Systems, ch. 8 and 11 (string; beam under tension);
                 Fletcher, J. Acoust. Soc. Am. 36 (1964) 203, whose series agrees within 0.06 %
                 for sqrt(B) up to 0.12 (chapter numbers from memory)
    """
    _positive(tension_n, "tension_n")
    _check(length_m, kg_per_m, bending_nm2, ends)
    if bending_nm2 == 0 or ends == "pinned":
        return math.sqrt((tension_n + bending_nm2 * (math.pi / length_m) ** 2) / kg_per_m) / (2 * length_m)
    pull = tension_n * length_m * length_m / (4 * bending_nm2)
    u = _root(lambda x: _mode(x, math.sqrt(x * x + pull)), math.pi / 2, math.pi)
    wave = 2 * u / length_m
    return wave * math.sqrt((tension_n + bending_nm2 * wave * wave) / kg_per_m) / (2 * math.pi)


def tension_from_frequency(hz: float, length_m: float, kg_per_m: float, bending_nm2: float = 0.0,
                           ends: str = "clamped") -> float:
    """Return the tension of a span from its first frequency; the inverse of `frequency_from_tension`.

    String:   T = 4 m L^2 f^2
    Pinned:   T = 4 m L^2 f^2 - pi^2 EI / L^2
    Clamped:  u tan u + v tanh v = 0 with u v = omega sqrt(m / EI) L^2 / 4 gives u;
              T = m omega^2 / k^2 - EI k^2,  k = 2 u / L

    Parameters:  hz: first frequency f [Hz] · length_m: free span L, tangent to tangent [m] ·
                 kg_per_m: belt mass m [kg/m] · bending_nm2: bending stiffness EI [N m2], 0 for a
                 string · ends: "pinned" or "clamped"
    Returns:     tension [N], above 0
    Valid:       small amplitude, belt stopped
    Raises:      CoreError "not-positive", "not-a-choice"; "no-tension" when the belt's stiffness
                 alone would ring as high as that
    Source:      as `frequency_from_tension`
    """
    _positive(hz, "hz")
    _check(length_m, kg_per_m, bending_nm2, ends)
    omega = 2 * math.pi * hz
    wave = math.pi / length_m
    if bending_nm2 > 0 and ends == "clamped":
        product = omega * math.sqrt(kg_per_m / bending_nm2) * length_m * length_m / 4
        top = min(math.sqrt(product), math.pi)
        if top <= math.pi / 2 or _mode(top, product / top) >= 0:
            raise CoreError("no-tension", "hz")
        wave = 2 * _root(lambda x: _mode(x, product / x), math.pi / 2, top) / length_m
    tension = kg_per_m * (omega / wave) ** 2 - bending_nm2 * wave * wave
    if not math.isfinite(tension) or tension <= 0:
        raise CoreError("no-tension", "hz")
    return tension


def tension_from_deflection(force_n: float, deflection_m: float, length_m: float, axial_n: float = 0.0,
                            belt_m: float = None) -> float:
    """Return the tension of a span before it was pressed at its middle.

    F = 2 T' sin(a), tan(a) = 2 d / L;  T = T' - EA (2 sqrt((L/2)^2 + d^2) - L) / L_belt

    The second term is the pull that pressing adds; the belt slips freely over the
    pulleys, so the added length is shared by the whole belt.

    Parameters:  force_n: force at the middle F [N] · deflection_m: path of the middle d [m] ·
                 length_m: free span L [m] · axial_n: axial stiffness EA [N], 0 to leave the
                 second term out · belt_m: length of the whole belt [m], needed with axial_n
    Returns:     tension [N], above 0
    Valid:       no bending stiffness; deflection_m below half of length_m
    Raises:      CoreError "not-positive", "too-deep-press", "belt-length-needed", "no-tension"
    Source:      statics; Shigley, Mechanical Engineering Design, ch. 17 gives the small-angle
                 form F = 4 T d / L (chapter from memory)
    """
    _positive(force_n, "force_n")
    _positive(deflection_m, "deflection_m")
    _positive(length_m, "length_m")
    if not math.isfinite(axial_n) or axial_n < 0:
        raise CoreError("not-positive", "axial_n")
    if deflection_m >= length_m / 2:
        raise CoreError("too-deep-press", "deflection_m")
    half = math.sqrt(length_m * length_m / 4 + deflection_m * deflection_m)
    tension = force_n * half / (2 * deflection_m)
    if axial_n > 0:
        if belt_m is None:
            raise CoreError("belt-length-needed", "belt_m")
        _positive(belt_m, "belt_m")
        # 2 half - L without the loss of digits of the difference.
        added = 4 * deflection_m * deflection_m / (2 * half + length_m)
        tension -= axial_n * added / belt_m
    if not math.isfinite(tension) or tension <= 0:
        raise CoreError("no-tension", "deflection_m")
    return tension


def stiffness_share(tension_n: float, length_m: float, bending_nm2: float, ends: str) -> float:
    """Return the share of the pressing force that bending takes, not tension.

    Pinned:   x = tanh(q) / q;  clamped: x = 2 tanh(q / 2) / q;  q = (L / 2) sqrt(T / EI)
    F = (4 T d / L) / (1 - x) for small d, so the string formula reads T / (1 - x)

    Parameters:  tension_n: tension T [N] · length_m: free span L [m] · bending_nm2: bending
                 stiffness EI [N m2] · ends: "pinned" or "clamped"
    Returns:     share x, 0 to below 1 [-]
    Valid:       small deflection, force at the middle
    Raises:      CoreError "not-positive", "not-a-choice"
    Source:      Timoshenko and Gere, Theory of Elastic Stability, ch. 1, beam under axial tension
                 with a load at the middle (chapter from memory); checked against finite elements
    """
    _positive(tension_n, "tension_n")
    _check(length_m, 1.0, bending_nm2, ends)
    if bending_nm2 == 0:
        return 0.0
    q = 0.5 * length_m * math.sqrt(tension_n / bending_nm2)
    return math.tanh(q) / q if ends == "pinned" else 2 * math.tanh(q / 2) / q
