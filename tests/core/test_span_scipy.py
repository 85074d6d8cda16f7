"""The span's formulas against SciPy: the textbook frequency equation, and finite elements that know no formula."""

import math

import numpy as np
import pytest
from scipy import linalg, optimize, stats

from webapp.core import span, spread
from webapp.core.errors import CoreError

BELT = 0.108
SPANS = [(450.0, 0.15, 0.0047), (450.0, 0.3, 0.0047), (450.0, 0.5, 0.015), (120.0, 0.2, 0.015), (900.0, 0.09, 0.0047),
         (60.0, 0.12, 0.03), (2000.0, 0.4, 0.5)]


def equation_root(tension, length, mass, bending):
    """First frequency from the clamped frequency equation in its usual form, by SciPy's brentq.

    2 ab (1 - cosh bL cos aL) + (b^2 - a^2) sinh bL sin aL = 0, divided by cosh bL; Rao, Vibration of
    Continuous Systems, ch. 11 (chapter from memory).
    """
    def equation(omega):
        root = math.sqrt(tension ** 2 + 4 * bending * mass * omega ** 2)
        a = math.sqrt((root - tension) / (2 * bending))
        b = math.sqrt((root + tension) / (2 * bending))
        soft = 1 / math.cosh(min(b * length, 700.0))
        return 2 * a * b * (soft - math.cos(a * length)) + (b * b - a * a) * math.tanh(b * length) * math.sin(a * length)

    string = math.pi * math.sqrt(tension / mass) / length
    beam = math.sqrt(string ** 2 + 22.5 ** 2 * bending / (mass * length ** 4))
    grid = np.linspace(string, 2 * beam, 400)
    for low, high in zip(grid, grid[1:]):
        if equation(low) * equation(high) < 0:
            return optimize.brentq(equation, low, high, xtol=1e-12, rtol=1e-14) / (2 * math.pi)
    raise AssertionError("no root")


def matrices(tension, length, mass, bending, count):
    """Stiffness and mass matrix of a beam under tension: cubic Hermite elements (any finite-element textbook)."""
    h = length / count
    bend = bending / h ** 3 * np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                                        [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]])
    pull = tension / (30 * h) * np.array([[36, 3 * h, -36, 3 * h], [3 * h, 4 * h * h, -3 * h, -h * h],
                                          [-36, -3 * h, 36, -3 * h], [3 * h, -h * h, -3 * h, 4 * h * h]])
    weight = mass * h / 420 * np.array([[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h],
                                        [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]])
    size = 2 * count + 2
    k, m = np.zeros((size, size)), np.zeros((size, size))
    for i in range(count):
        at = slice(2 * i, 2 * i + 4)
        k[at, at] += bend + pull
        m[at, at] += weight
    return k, m


def free(count, ends):
    """The degrees of freedom that the ends leave."""
    held = {0, 2 * count} if ends == "pinned" else {0, 1, 2 * count, 2 * count + 1}
    return [i for i in range(2 * count + 2) if i not in held]


def element_frequency(tension, length, mass, bending, ends):
    k, m = matrices(tension, length, mass, bending, 120)
    keep = np.ix_(free(120, ends), free(120, ends))
    return math.sqrt(linalg.eigh(k[keep], m[keep], eigvals_only=True, subset_by_index=[0, 0])[0]) / (2 * math.pi)


def element_deflection(force, tension, length, bending, ends):
    count = 200
    k, _ = matrices(tension, length, 1.0, bending, count)
    keep = free(count, ends)
    load = np.zeros(2 * count + 2)
    load[count] = force
    return linalg.solve(k[np.ix_(keep, keep)], load[keep])[keep.index(count)]


@pytest.mark.parametrize("tension, length, bending", SPANS)
def test_clamped_root_is_the_frequency_equations(tension, length, bending):
    expected = equation_root(tension, length, BELT, bending)
    assert span.frequency_from_tension(tension, length, BELT, bending) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("ends", ["pinned", "clamped"])
@pytest.mark.parametrize("tension, length, bending", SPANS)
def test_frequency_is_the_finite_elements(tension, length, bending, ends):
    expected = element_frequency(tension, length, BELT, bending, ends)
    assert span.frequency_from_tension(tension, length, BELT, bending, ends) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("length", [0.15, 0.3, 0.5])
def test_fletchers_series_agrees_where_it_holds(length):
    """Fletcher, J. Acoust. Soc. Am. 36 (1964) 203: f = f0 (1 + 2/pi sqrt B + 4/pi^2 B) sqrt(1 + B)."""
    b = math.pi ** 2 * 0.0047 / (450 * length ** 2)
    series = (math.sqrt(450 / BELT) / (2 * length) * (1 + 2 / math.pi * math.sqrt(b) + 4 / math.pi ** 2 * b)
              * math.sqrt(1 + b))
    assert math.sqrt(b) <= 0.12
    assert span.frequency_from_tension(450, length, BELT, 0.0047) == pytest.approx(series, rel=6e-4)


def test_clamped_beam_without_tension_rings_at_the_textbook_root():
    """A clamped beam alone: (beta L) = 4.730041 (Blevins, Formulas for Natural Frequency and Mode Shape)."""
    expected = 4.730040745 ** 2 / (2 * math.pi * 0.2 ** 2) * math.sqrt(0.015 / BELT)
    assert span.frequency_from_tension(1e-9, 0.2, BELT, 0.015) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("bending", [1e-300, 1e-30, 1e-12, 1e-6, 1e-3, 0.1])
def test_root_finding_is_safe_from_string_to_bar(bending):
    hz = span.frequency_from_tension(450, 0.3, BELT, bending)
    assert span.tension_from_frequency(hz, 0.3, BELT, bending) == pytest.approx(450, rel=1e-9)
    assert hz >= span.frequency_from_tension(450, 0.3, BELT) * (1 - 1e-12)


@pytest.mark.parametrize("ends", ["pinned", "clamped"])
@pytest.mark.parametrize("tension, length, bending", SPANS)
def test_stiffness_share_is_the_finite_elements(tension, length, bending, ends):
    deflection = element_deflection(1.0, tension, length, bending, ends)
    share = 1 - 4 * tension * deflection / length
    assert span.stiffness_share(tension, length, bending, ends) == pytest.approx(share, abs=2e-5)


@pytest.mark.parametrize("axial, belt", [(0.0, None), (150000.0, 1.5), (40000.0, 0.8)])
def test_deflection_is_the_solved_equilibrium(axial, belt):
    """SciPy presses a string of known tension until force and geometry agree; the formula has to find that tension."""
    tension, length, force = 400.0, 0.3, 25.0

    def out_of_balance(d):
        side = math.hypot(length / 2, d)
        pull = tension + (axial * (2 * side - length) / belt if axial else 0.0)
        return 2 * pull * d / side - force

    deflection = optimize.brentq(out_of_balance, 1e-6, 0.1, xtol=1e-15)
    assert span.tension_from_deflection(force, deflection, length, axial, belt) == pytest.approx(tension, rel=1e-9)


def test_what_cannot_be_raises():
    for bad in (float("nan"), float("inf"), -1.0, 0.0):
        with pytest.raises(CoreError):
            span.tension_from_frequency(bad, 0.3, BELT)
        with pytest.raises(CoreError):
            span.tension_from_deflection(bad, 0.005, 0.3)
    with pytest.raises(CoreError):
        span.frequency_from_tension(450, 0.3, BELT, ends="free")


@pytest.mark.parametrize("freedom", range(4, 17))
def test_students_t_is_scipys(freedom):
    assert spread._T95[freedom - 4] == pytest.approx(stats.t.ppf(0.975, freedom), rel=1e-6)


@pytest.mark.parametrize("low, high, half, sigma", [
    (-0.16, 0.14, 0.04, 0.012), (-0.25, 0.15, 0.1, 0.03), (-0.01, 0.01, 0.0, 0.05), (0.0, 0.0, 0.0, 0.02),
    (-0.3, 0.0, 0.2, 1e-4)])
def test_interval_is_the_simulated_one(low, high, half, sigma):
    rng = np.random.default_rng(20260309)
    count = 1_000_000
    split = np.where(rng.random(count) < 0.5, rng.uniform(low, 0, count), rng.uniform(0, high, count))
    total = split + rng.uniform(-half, half, count) + rng.normal(0, sigma, count)
    expected = np.quantile(total, [0.025, 0.975])
    found = spread.interval(low, high, half, sigma)
    scale = max(high - low, half, sigma)
    assert found == pytest.approx(list(expected), abs=6e-3 * scale)
