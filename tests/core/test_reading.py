"""Readings: doubts, verdicts, units and the printed working."""

import pytest

from webapp.core import reading, words
from webapp.core.errors import CoreError

SPAN = (0.3, 0.003, 0.108, 0.0918, 0.1242, 0.00468, 0.015)


def result(low, value, high):
    return {"tension_n": value, "low_n": low, "high_n": high}


def test_more_readings_narrow_the_interval_and_fewer_are_a_doubt():
    widths = []
    for n in (1, 2, 3, 6, 12):
        answer = reading.pluck([110.0] * n, 0.3, 0.001, 0.108, 0.107, 0.109, 0.00468, 0.015)
        widths.append(answer["high_n"] / answer["low_n"])
        assert ("few-readings" in [d[0] for d in answer["doubts"]]) == (n < 3)
    assert widths == sorted(widths, reverse=True) and widths[0] > 1.1


def test_scatter_is_a_doubt_and_widens_the_interval():
    calm, wild = reading.pluck([110, 110.5, 109.5], *SPAN), reading.pluck([104, 110, 116], *SPAN)
    assert [d[0] for d in calm["doubts"]] == [] and [d[0] for d in wild["doubts"]] == ["spread"]
    assert wild["high_n"] - wild["low_n"] > calm["high_n"] - calm["low_n"]


@pytest.mark.parametrize("readings, places", [
    ([110, 220, 111], ["2"]), ([110, 55, 111], ["2"]), ([330, 110, 111], ["1"]), ([110, 111, 36.8], ["3"]), ([55, 110], ["2"])])
def test_an_octave_is_asked_about_and_never_averaged(readings, places):
    answer = reading.pluck(readings, *SPAN)
    assert answer["tension_n"] is None
    assert [d[1]["place"] for d in answer["doubts"]] == places
    judged = reading.judge(answer, 400, 700, "used", "slotted")
    assert judged["verdict"] == "cannot_tell" and judged["codes"] == ["verdict-octave", "next-octave"]
    kept = [r for i, r in enumerate(readings) if str(i + 1) not in places]
    assert reading.pluck(kept, *SPAN)["tension_n"] is not None


def test_a_short_span_is_a_doubt_and_the_end_effect_is_one_sided():
    answer = reading.pluck([200, 201, 199], 0.1, 0.001, 0.108, 0.1, 0.12, 0.00468, 0.015)
    assert "short-span" in [d[0] for d in answer["doubts"]]
    ends = [p for p in answer["parts"] if p[0] == "ends"][0]
    assert ends[1] < -25 and -4 < ends[2] <= 0


def test_a_span_that_stiffness_alone_explains_still_answers_with_a_doubt():
    answer = reading.pluck([45.0, 45.2, 44.9], 0.15, 0.001, 0.108, 0.1, 0.12, 0.00468, 0.015)
    assert 0 < answer["low_n"] < answer["tension_n"] < answer["high_n"]
    assert "short-span" in [d[0] for d in answer["doubts"]]


def test_the_working_holds_the_formula_with_the_numbers_in_it():
    answer = reading.pluck([109.8, 110.3, 110.1], *SPAN)
    working = dict(answer["working"])
    assert working["formula"] == "T = 4 m L\u00b2 f\u00b2"
    assert working["numbers"] == "T = 4 x 0.108 kg/m x (0.3 m)\u00b2 x (110.1 Hz)\u00b2 = 471 N"
    assert 4 * 0.108 * 0.3 ** 2 * 110.0667 ** 2 == pytest.approx(471.0, abs=0.05)
    assert working["answer"].startswith("T = 451 N, 95 % interval ")
    pressed = reading.press(25.0, [0.0048, 0.0047, 0.0049], 0.3, 0.003, 0.00468, 0.015, 9e4, 2.4e5, 1.5)
    for made in (answer, pressed):
        for label, text in made["working"]:
            assert words.label("working", label) != label and text
        for name, low, high in made["parts"]:
            assert words.label("part", name) != name and low <= high


def test_pressing_without_the_belts_length_is_wider_and_says_so():
    args = (25.0, [0.0048, 0.0047, 0.0049], 0.3, 0.003, 0.00468, 0.015, 9e4, 2.4e5)
    known, guessed = reading.press(*args, 1.5), reading.press(*args)
    assert guessed["high_n"] / guessed["low_n"] > known["high_n"] / known["low_n"]
    assert [d[0] for d in guessed["doubts"]] == ["no-belt-length"]


@pytest.mark.parametrize("low, value, high, expected", [
    (430, 500, 580, "inside"), (300, 340, 380, "low"), (800, 850, 900, "high"), (350, 420, 490, "cannot_tell"),
    (380, 450, 530, "cannot_tell"), (300, 600, 1200, "cannot_tell"), (410, 500, 590, "inside"), (340, 380, 425, "low"),
    (710, 780, 860, "high")])
def test_verdict(low, value, high, expected):
    judged = reading.judge(result(low, value, high), 420, 720, "used", "slotted")
    assert judged["verdict"] == expected


def test_every_tensioner_state_and_verdict_has_advice():
    for code, _ in words.CHOICES["tensioner"]:
        for state in ("new", "used"):
            for three in ((430, 500, 580), (300, 340, 380), (800, 850, 900), (350, 420, 490)):
                judged = reading.judge(result(*three), 420, 720, state, code, "lbf")
                assert "{" not in judged["sentence"] + judged["next"]
                if code in ("automatic", "hydraulic", "two_arm", "stretch_fit", "fixed"):
                    assert "ighten" not in judged["next"] and "oosen" not in judged["next"]


def test_advice_of_the_trade():
    """Common practice, no source: what may be adjusted."""
    low = result(300, 340, 380)
    assert "Tighten" in reading.judge(low, 420, 720, "used", "eccentric")["next"]
    assert "pointer" in reading.judge(low, 420, 720, "used", "automatic")["next"]
    assert "Replace" in reading.judge(low, 420, 720, "used", "stretch_fit")["next"]


@pytest.mark.parametrize("low, high", [(720, 420), (420, 420), (0, 100), (-5, 100)])
def test_an_impossible_window_is_refused(low, high):
    with pytest.raises(CoreError):
        reading.judge(result(430, 500, 580), low, high, "used", "slotted")


@pytest.mark.parametrize("args", [
    ([], *SPAN), ([110.0] * 13, *SPAN), ([110.0, float("nan")], *SPAN), ([110.0, -1.0], *SPAN),
    ([110.0], 0.3, 0.3, *SPAN[2:]), ([110.0], 0.3, -0.1, *SPAN[2:]), ([110.0], 0.3, 0.003, 0.108, 0.12, 0.13, 0.0, 0.0),
    ([110.0], 0.3, 0.003, 0.108, 0.1, 0.12, 0.02, 0.01), ([110.0], 0.0, 0.0, *SPAN[2:])])
def test_bad_input_is_a_core_error_with_a_sentence(args):
    with pytest.raises(CoreError) as caught:
        reading.pluck(*args)
    assert words.sentence(caught.value) and caught.value.field
