"""Offsets as angles, and the limits that disagree."""

import math

import pytest

from webapp.core import alignment
from webapp.core.errors import CoreError


@pytest.mark.outside
@pytest.mark.parametrize("gap_mm, over_mm, slope, degrees", [
    # Published: 0.58 mm per 100 mm is "0.33 degree" (SAE J1596, withdrawn, as quoted by others); 5.76 mm/m is its tangent.
    (0.58, 100, 5.8, 0.33),
    # Published: 5 mm per 500 mm, one pump manual, called 0.5 degree there; the tangent says 0.57.
    (5, 500, 10, 0.57),
    # 1/16 inch per foot, 0.30 degree, and 1/10 inch per foot, 0.48 degree (trade tables).
    (25.4 / 16, 304.8, 5.208, 0.2984),
    (-25.4 / 10, 304.8, 8.333, 0.4775),
])
def test_offsets_as_published(gap_mm, over_mm, slope, degrees):
    told = alignment.by_straightedge(gap_mm / 1000, over_mm / 1000)
    assert told["mm_per_m"] == pytest.approx(slope, abs=1e-3)
    assert told["deg"] == pytest.approx(degrees, abs=0.005)


@pytest.mark.outside
@pytest.mark.parametrize("degrees, slope", [(0.33, 5.760), (0.5, 8.727), (0.1, 1.745)])
def test_angles_by_the_tangent_table(degrees, slope):
    """Trigonometric tables; one printed alignment table has 0.18 mm per 100 mm for 0.1 degree, which is a slip."""
    assert alignment.from_degrees(degrees) == pytest.approx(slope, abs=1e-3)
    assert alignment.to_degrees(slope) == pytest.approx(degrees, abs=1e-4)


def test_the_interval_is_the_gaps_own_error_over_the_length():
    told = alignment.by_straightedge(0.001, 0.25)
    assert [told["mm_per_m"], told["error_mm_per_m"]] == pytest.approx([4, 1])
    assert told["error_deg"] == pytest.approx(math.degrees(math.atan(0.005) - math.atan(0.004)))
    angle = alignment.by_angle(-0.2, 0.1)
    assert angle["mm_per_m"] + angle["error_mm_per_m"] == pytest.approx(1000 * math.tan(math.radians(0.3)))


@pytest.mark.parametrize("slope, error, verdict", [(4, 1, "inside"), (4.8, 1, "inside"), (5, 1, "cannot_tell"), (6.8, 1, "cannot_tell"),
                                                   (6.9, 1, "outside"), (0, 0, "inside")])
def test_a_reading_that_straddles_its_limit_decides_nothing(slope, error, verdict):
    assert alignment.judge(slope, error, 5.8) == verdict


def test_limits_go_by_the_kind_of_belt_and_say_where_they_are_from():
    ribbed, vbelt = alignment.limits("ribbed"), alignment.limits("vbelt_pair")
    assert alignment.limits("unknown") == ribbed == alignment.limits("stretch") and len(ribbed) == 3 and len(vbelt) == 2
    assert [row[0] for row in ribbed] == sorted(row[0] for row in ribbed) and ribbed[-1][0] < vbelt[0][0] < vbelt[1][0]
    assert all(row[1] for row in ribbed + vbelt)


@pytest.mark.parametrize("call", [lambda: alignment.by_straightedge(0.6, 1), lambda: alignment.by_straightedge(0.001, 0),
                                  lambda: alignment.by_angle(21), lambda: alignment.judge(-1, 0, 1), lambda: alignment.to_degrees(-1),
                                  lambda: alignment.by_straightedge(0.001, 0.2, 1), lambda: alignment.by_angle(1, float("nan"))])
def test_absurd_values_are_named(call):
    with pytest.raises(CoreError) as caught:
        call()
    assert caught.value.code == "out-of-range" and caught.value.field
