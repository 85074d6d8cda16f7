"""Properties that hold for every input, searched by Hypothesis."""

import math
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from webapp.core import belts, numbers, reading, span, units, vin, words
from webapp.core.errors import CoreError

tensions = st.floats(5, 5000)
lengths = st.floats(0.05, 2)
masses = st.floats(0.005, 2)
bendings = st.floats(0, 1)
ends = st.sampled_from(["pinned", "clamped"])


@given(tensions, lengths, masses, bendings, ends)
def test_tension_and_frequency_are_inverse(tension, length, mass, bending, end):
    # Where bending all but hides the tension, no reading can bring it back.
    assume(bending * math.pi ** 2 / length ** 2 < 1000 * tension)
    hz = span.frequency_from_tension(tension, length, mass, bending, end)
    assert span.tension_from_frequency(hz, length, mass, bending, end) == pytest.approx(tension, rel=1e-9)


@given(tensions, lengths, masses, st.floats(1e-9, 1))
def test_stiff_ends_never_lower_the_frequency(tension, length, mass, bending):
    string, pinned, clamped = [span.frequency_from_tension(tension, length, mass, b, e) for b, e in
                               ((0.0, "pinned"), (bending, "pinned"), (bending, "clamped"))]
    assert string * (1 - 1e-12) <= pinned <= clamped * (1 + 1e-12)


@given(st.floats(1, 2000), lengths, st.floats(0.001, 0.4))
def test_deflection_gives_back_the_force(force, length, part):
    deflection = part * length
    tension = span.tension_from_deflection(force, deflection, length)
    assert 2 * tension * math.sin(math.atan2(2 * deflection, length)) == pytest.approx(force, rel=1e-12)


@given(st.sampled_from(sorted(units.UNITS)), st.data())
def test_units_round_trip(dimension, data):
    unit = data.draw(st.sampled_from(units.names(dimension)))
    value = numbers.trimmed(data.draw(st.floats(0.001, 1e6)), 6)
    assume(float(value) > 0)
    si = units.to_si({"value": value, "unit": unit}, dimension)
    assert units.from_si(si, unit, dimension) == pytest.approx(float(value), rel=1e-14)


@given(st.decimals(-10 ** 6, 10 ** 6, places=4), st.integers(0, 4))
def test_fixed_is_half_away_from_zero_as_decimal_says(value, places):
    expected = value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    expected = abs(expected) if expected == 0 else expected
    assert numbers.fixed(float(value), places) == "{:f}".format(expected)


@given(st.text(max_size=30))
def test_any_text_is_a_number_or_an_error_with_a_sentence(text):
    try:
        clean = numbers.plain(text, "x")
    except CoreError as error:
        assert words.sentence(error) and error.field == "x"
        return
    assert math.isfinite(float(clean))
    assert numbers.plain(clean, "x") == clean


@given(st.floats(1e-3, 1e5), st.floats(0, 0.9), st.floats(0, 3))
def test_a_shown_interval_never_shrinks(value, down, up):
    low, high = value * (1 - down), value * (1 + up)
    shown = [float(t) for t in numbers.with_interval(value, low, high)]
    half = (high - low) / 2
    if half > 1e-9 * value and half > 1e-9:
        assert shown[1] <= low + 1e-6 * half and shown[2] >= high - 1e-6 * half
        assert abs(shown[0] - value) <= half


ribbed = st.builds(lambda ribs, d, name, length, end: "%d%s%s%d%s" % (ribs, d, name, length, end), st.integers(1, 60),
                   st.sampled_from(["", "D"]), st.sampled_from(["PH", "PJ", "PK", "PL", "PM"]), st.integers(200, 12500),
                   st.sampled_from(["", " mm", " stretch"]))
inch = st.builds("{}{}{}".format, st.integers(80, 4900), st.sampled_from("HJKLM"), st.integers(1, 60))
vbelts = st.builds("{}{} {}{}".format, st.sampled_from(["", "2/", "5/"]),
                   st.sampled_from("Y Z A B C D E AX BX CX SPZ SPA SPB SPC XPZ XPA AA BB CC DD".split()),
                   st.integers(400, 12500), st.sampled_from(["", " Ld", " La", " Li"]))
us = st.builds("{} {}{}".format, st.sampled_from(["A", "B", "CX", "DD"]), st.integers(10, 180), st.sampled_from(["", " in", ' "']))
others = st.builds(lambda a, b: a.replace("#", str(b)), st.sampled_from(
    ["AV10x#", "AVX13x# La", "13x# Li", "10x# La", "12,5x#", "17x# Ld", "3V#", "5VX#", "9N#", "15NX#", "4L#", "15A # mm",
     "20A0#", "13A # in"]), st.integers(400, 990))


@given(st.one_of(ribbed, inch, vbelts, us, others))
def test_a_marking_in_our_form_is_read_back(marking):
    try:
        belt = belts.parse(marking)
    except CoreError as error:
        # 13A 400 in is over ten metres; everything else generated here is a belt.
        assert error.code == "marking-length"
        return
    assert belts.parse(belt["text"]) == belt
    assert belts.parse(marking.lower().replace(" ", "  ")) == belt


@given(st.text(max_size=20) | st.text("0123456789PKAVXLSNCDMJ /-x.\"", max_size=14))
def test_any_marking_is_read_or_refused_with_a_sentence(marking):
    try:
        belt = belts.parse(marking)
    except CoreError as error:
        assert "{" not in words.sentence(error) or "{" in marking
        return
    assert belts.parse(belt["text"]) == belt


@given(st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=17, max_size=17))
def test_the_check_digit_accepts_exactly_one_ninth_sign(text):
    good = [c for c in "0123456789X" if vin.check("1" + text[1:8] + c + text[9:])["state"] == "ok"]
    assert good == [vin.check_digit("1" + text[1:])]


@given(st.lists(st.floats(20, 400), min_size=1, max_size=12), st.floats(0.08, 0.8), st.floats(0, 0.02))
def test_a_pluck_gives_an_ordered_interval_or_asks(hertz, length, error):
    result = reading.pluck(hertz, length, error, 0.108, 0.09, 0.124, 0.0047, 0.015)
    if result["tension_n"] is None:
        assert [d[0] for d in result["doubts"]] and all(d[0] == "octave" for d in result["doubts"])
        return
    assert 0 < result["low_n"] < result["tension_n"] < result["high_n"] < math.inf
    assert all(words.reason(code, values) for code, values in result["doubts"])


@given(st.floats(60, 1200), st.floats(0.15, 0.6), st.floats(0.01, 0.04), st.floats(0.5, 2.5) | st.none())
def test_a_press_gives_an_ordered_interval_or_says_why_not(tension, length, part, belt):
    deflection = part * length
    force = 4 * tension * part
    assume(deflection > 0.001)
    try:
        result = reading.press(force, [deflection], length, 0.002, 0.0047, 0.015, 90000.0, 240000.0, belt)
    except CoreError as error:
        assert error.code == "no-tension"
        return
    assert 0 < result["low_n"] < result["tension_n"] < result["high_n"] < math.inf
