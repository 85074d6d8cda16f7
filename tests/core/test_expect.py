"""What a span should read, against the plain string, statics and SciPy. Values are invented unless a source stands beside them."""

import math
import random

import pytest
from scipy import optimize

from webapp.core import expect, span
from webapp.core.errors import CoreError

outside = pytest.mark.outside


@outside("Mersenne's law f = sqrt(T / m) / (2 L), any textbook on waves, computed here")
@pytest.mark.parametrize("tension, length, mass", [(300.0, 0.3, 0.108), (700.0, 0.25, 0.108), (450.0, 0.42, 0.072)])
def test_a_supple_belt_rings_as_a_string(tension, length, mass):
    low, high = expect.pluck(tension, tension, length, 0.0, mass, mass, 0.0, 0.0)
    assert low == pytest.approx(math.sqrt(tension / mass) / (2 * length), rel=1e-12)
    assert high == pytest.approx(low, rel=1e-12)


@outside("Mersenne's law at the band's loose end: longest span, heaviest belt, no stiffness")
def test_the_band_starts_at_the_longest_and_heaviest_string():
    low, high = expect.pluck(300.0, 560.0, 0.3, 0.003, 0.084, 0.126, 0.0, 0.015)
    assert low == pytest.approx(math.sqrt(300 / 0.126) / (2 * 0.303), rel=1e-12)
    # Stiffness and clamped ends only raise the other end.
    assert high > math.sqrt(560 / 0.084) / (2 * 0.297)


def test_every_belt_within_the_limits_rings_inside_the_band():
    rng = random.Random(20260309)
    low, high = expect.pluck(400.0, 500.0, 0.3, 0.002, 0.084, 0.126, 0.0047, 0.015)
    rung = [span.frequency_from_tension(rng.uniform(400, 500), rng.uniform(0.298, 0.302), rng.uniform(0.084, 0.126),
                                        rng.uniform(0.0047, 0.015), rng.choice(["pinned", "clamped"])) for _ in range(300)]
    assert low <= min(rung) and max(rung) <= high
    # Not idle: the draws fill a good part of the band.
    assert max(rung) - min(rung) > 0.7 * (high - low)


@outside("SciPy: brentq on the statics of two straight halves")
@pytest.mark.parametrize("force, tension, length, axial, belt", [(25.0, 450.0, 0.3, 165e3, 1.5), (100.0, 300.0, 0.25, 90e3, 1.1),
                                                                 (40.0, 800.0, 0.45, 0.0, 1.0)])
def test_deflection_is_where_the_halves_balance_the_force(force, tension, length, axial, belt):
    def surplus(d):
        half = math.hypot(length / 2, d)
        return 2 * (tension + axial * (2 * half - length) / belt) * d / half - force

    assert expect.deflection(force, tension, length, axial, belt) == pytest.approx(optimize.brentq(surplus, 1e-9, length / 2, xtol=1e-14),
                                                                                  abs=1e-10)


def test_deflection_is_the_inverse_of_the_tension():
    d = expect.deflection(60.0, 520.0, 0.28, 120e3, 1.42)
    assert span.tension_from_deflection(60.0, d, 0.28, 120e3, 1.42) == pytest.approx(520.0, rel=1e-9)


def test_a_tighter_belt_gives_less():
    bands = [expect.press(50.0, tension, tension, 0.3, 0.002, 0.0047, 0.015, 90e3, 240e3, 1.4, 1.4) for tension in (300.0, 500.0, 900.0)]
    assert all(low < high for low, high in bands)
    assert bands[0][0] > bands[1][0] > bands[2][0] and bands[0][1] > bands[1][1] > bands[2][1]


@pytest.mark.parametrize("method, value, others, code", [
    ("pluck", 110.0, [], None), ("pluck", 80.0, [], None), ("pluck", 150.0, [], None),
    # A string's second mode has twice the frequency: Rao, Vibration of Continuous Systems, ch. 8.
    ("pluck", 212.0, [], "expect-octave"), ("pluck", 55.0, [], "expect-octave"),
    ("pluck", 170.0, [["idler – pump", 160.0, 190.0]], "expect-other-span"), ("pluck", 170.0, [["x", 10.0, 20.0]], "expect-far"),
    ("press", 0.006, [], None), ("press", 0.03, [], "expect-far")])
def test_a_reading_far_off_is_asked_about(method, value, others, code):
    low, high = (96.0, 118.0) if method == "pluck" else (0.004, 0.007)
    found = expect.question(method, value, low, high, others)
    assert (found[0] if found else None) == code


@pytest.mark.parametrize("call, code", [
    (lambda: expect.pluck(500.0, 400.0, 0.3, 0.0, 0.1, 0.1, 0.0, 0.0), "out-of-order"),
    (lambda: expect.pluck(0.0, 400.0, 0.3, 0.0, 0.1, 0.1, 0.0, 0.0), "out-of-order"),
    (lambda: expect.pluck(math.nan, 400.0, 0.3, 0.0, 0.1, 0.1, 0.0, 0.0), "out-of-order"),
    (lambda: expect.pluck(300.0, math.inf, 0.3, 0.0, 0.1, 0.1, 0.0, 0.0), "out-of-order"),
    (lambda: expect.pluck(300.0, 400.0, 0.3, 0.3, 0.1, 0.1, 0.0, 0.0), "error-too-large"),
    (lambda: expect.press(50.0, 300.0, 200.0, 0.3, 0.0, 0.0, 0.0, 1e5, 1e5, 1.4, 1.4), "out-of-order"),
    (lambda: expect.press(50.0, 300.0, 400.0, 0.3, 0.4, 0.0, 0.0, 1e5, 1e5, 1.4, 1.4), "error-too-large"),
    (lambda: expect.deflection(0.0, 300.0, 0.3, 1e5, 1.4), "not-positive"),
    (lambda: expect.deflection(50.0, math.nan, 0.3, 1e5, 1.4), "not-positive"),
    (lambda: expect.deflection(5000.0, 30.0, 0.3, 0.0, 1.4), "too-deep-press")])
def test_numbers_that_cannot_be_are_refused(call, code):
    with pytest.raises(CoreError) as caught:
        call()
    assert caught.value.code == code
