"""Ribs counted on drawn belts: right, declined with a reason, or refused. The bench counts many more on other seeds.

Drawn and invented throughout (tests/ribbelts.py): no photo of a real belt stands behind these.
"""

import numpy as np
import pytest

from tests import ribbelts
from tests.core import contexts
from tests.core.wasm import on_wasm
from webapp.core import door, ribcount, sections, words
from webapp.core.errors import CoreError

# Neither the seeds that the limits were chosen on nor those of the bench.
FIRST = 500_000


def told(one, **known):
    return ribcount.count(one["profiles"], one["length_px"], **known)


@pytest.mark.parametrize("kind, fewest_right", [("plain", 0.75), ("soft", 0.75), ("worn", 0.75), ("dirty", 0.6), ("slant", 0.75), ("glare", 0.4),
                                                ("sloppy", 0.3), ("far", 0.0)])
def test_drawn_belts_are_counted_right_or_declined(kind, fewest_right):
    drawn = [ribbelts.belt(FIRST + k, kind, 3 + k % 8) for k in range(12)]
    answers = [told(one) for one in drawn]
    right = sum(answer["ribs"] == one["count"] for answer, one in zip(answers, drawn))
    wrong = sum(answer["ribs"] not in (None, one["count"]) for answer, one in zip(answers, drawn))
    assert right >= fewest_right * len(drawn) and wrong <= 1
    for answer in answers:
        assert (answer["ribs"] is None) == (answer["reason"] != "")


@pytest.mark.parametrize("kind", ribbelts.NOT_BELTS)
def test_what_is_no_belt_is_declined(kind):
    answers = [told(ribbelts.not_belt(FIRST + k, kind)) for k in range(10)]
    assert sum(answer["ribs"] is not None for answer in answers) <= 1


def bars(count, odd=0.0, size=192, dark=120, light=240):
    """Lines across clean stripes, two a rib, of which every second is darker by `odd`."""
    at = (np.arange(size) + 0.5) / size * count
    grey = dark + (light - dark) * (0.5 - 0.5 * np.cos(4 * np.pi * at)) - odd * 0.5 * (1 - np.cos(2 * np.pi * at))
    return {"profiles": [[float(v) for v in grey]] * 5, "length_px": 400.0}


def test_two_stripes_a_rib_are_told_apart_or_declined():
    # Every stripe alike: as many ribs as stripes. Every second one clearly other: half as many. Between them both fit.
    assert told(bars(5))["ribs"] == 10
    assert told(bars(5, odd=110))["ribs"] == 5
    doubtful = told(bars(5, odd=35))
    assert doubtful["ribs"] is None and doubtful["reason"] == "two-counts" and {doubtful["other"], round(doubtful["periods"])} == {5, 10}


def test_a_measured_width_that_speaks_against_the_count_declines_it():
    pitch = sections.RIBBED["PK"]["pitch_mm"]
    one = ribbelts.belt(FIRST, "plain", 6)
    assert told(one, width_mm=6 * pitch + 0.5, pitch_mm=pitch)["ribs"] == 6
    against = told(one, width_mm=5 * pitch, pitch_mm=pitch)
    assert (against["ribs"], against["reason"], against["other"]) == (None, "width", 5)


def test_each_reason_to_decline_is_met_and_has_a_sentence():
    half = bars(6, odd=110)
    half["profiles"] = [line[:96] + [90 + k % 3 for k in range(96)] for line in half["profiles"]]
    plain = ribbelts.belt(FIRST, "plain", 7)
    cut = dict(plain, profiles=[line[:int(192 * 6.5 / 7)] for line in plain["profiles"]])
    cases = {"clipped": dict(half, profiles=[[255] * 192] * 5), "no-pattern": dict(half, profiles=[[128] * 192] * 5), "part": half,
             "few-pixels": dict(plain, length_px=42.0), "not-whole": cut}
    for reason, one in cases.items():
        assert told(one)["reason"] == reason
        assert words.reason("ribs-not-" + reason, {"ribs": "1", "other": "2"})


@pytest.mark.parametrize("lines, length", [
    ([], 300), ([[128] * 192] * 2, 300), ([[128] * 20] * 5, 300), ([[128] * 500] * 5, 300), ([[128] * 192] * 4 + [[128] * 191], 300),
    ([["a"] * 192] * 5, 300), ([[300] * 192] * 5, 300), ([[True] * 192] * 5, 300), ([[128] * 192] * 5, 0), ([[128] * 192] * 5, None), ("x", 3),
    ([[float("nan")] * 192] * 5, 300)])
def test_what_is_no_set_of_lines_is_refused(lines, length):
    with pytest.raises(CoreError) as caught:
        ribcount.count(lines, length)
    assert caught.value.code == "rib-lines"


def test_the_phone_counts_the_same():
    drawn = [ribbelts.belt(FIRST + k, kind) for k in range(3) for kind in ("plain", "dirty", "glare")]
    cases = [{"module": "ribcount", "function": "count", "args": [one["profiles"], one["length_px"]]} for one in drawn]
    for one, answer in zip(drawn, on_wasm(cases=cases)["cases"]):
        here = told(one)
        for key in ("ribs", "reason", "other"):
            assert answer["value"][key] == here[key]
        for key in ("periods", "share"):
            assert here[key] is None or answer["value"][key] == pytest.approx(here[key], rel=1e-12)


# ---- the screens ----

def test_the_long_sum_tells_a_count_or_why_not():
    one = ribbelts.belt(FIRST, "plain", 6)
    argument = {"lines": one["profiles"], "length_px": one["length_px"], "section": "PK", "width_mm": "21.4"}
    answer = door._summed("count_ribs", [argument, None])
    assert answer["ribs"] == "6" and "6 ribs" in answer["sentence"]
    answer = door._summed("count_ribs", [dict(argument, width_mm="17.8"), None])
    assert answer["ribs"] == "" and "the measured width fits 5" in answer["sentence"]


@pytest.mark.parametrize("typed, counted, source", [("6", "6", "photo"), ("7", "6", None), ("6", "", None), ("", "6", None)])
def test_a_count_from_a_photo_is_recorded_as_one_only_when_it_stands(demo_workshop, typed, counted, source):
    request, given = next((r, g) for r, g in contexts.requests(demo_workshop)
                          if r["method"] == "POST" and r["path"].endswith("/1/belts/old") and ["counted", "6"] in r["form"]
                          and door.handle(dict(r), dict(g))["do"] == "record")
    reply = door.handle(dict(request, form=[["step", "ribs"], ["ribs_counted", typed], ["counted", counted]]), given)
    data = reply["events"][0]["data"]
    assert data["ribs_counted"] == (int(typed) if typed else None) and data.get("ribs_source") == source
