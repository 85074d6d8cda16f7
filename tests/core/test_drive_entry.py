"""A drive as it is recorded: typed numbers in, the drive form out."""

import math

import pytest
from shapely.geometry import Point

from tests.core import drive_samples
from webapp.core import drive_entry, drive_form, events
from webapp.core.errors import CoreError


def mm(text):
    return {"value": text, "unit": "mm"}


def across_up(across, up):
    return {"way": "across_up", "across": mm(across), "up": mm(up)}


def tape_drive():
    """Three pulleys, the last placed by two distances (3-4-5 triangle)."""
    return {"v": 1, "rotation": "clockwise", "good_to": mm("2"), "belt": {"section": "PK", "ribs": 6, "length": {"value": "47.2", "unit": "in"}},
            "pulleys": [{"name": "crank", "kind": "crank", "diameter": mm("150")},
                        {"name": "alternator", "kind": "alternator", "diameter": {"value": "2.5", "unit": "in"}, "place": across_up("300", "0")},
                        {"name": "pump", "kind": "water_pump", "diameter": mm("120"),
                         "place": {"way": "from_two", "first": "crank", "first_distance": mm("400"), "second": "alternator",
                                   "second_distance": mm("500"), "side": "left"}}],
            "tensioner": {"kind": "fixed"}}


def test_typed_numbers_become_the_drive_form():
    drive = drive_form.form(drive_entry.to_drive(tape_drive(), "van", "2"))
    assert [drive["name"], drive["loop"]] == ["van", "2"]
    # Exact by definition of the inch (25.4 mm, NIST SP 811).
    assert drive["belt"]["effective_mm"] == pytest.approx(47.2 * 25.4, rel=1e-12)
    assert drive["pulleys"][1]["diameter_mm"] == pytest.approx(63.5, rel=1e-12)
    # A right angle by the converse of Pythagoras: 300, 400, 500; left of the way from crank to alternator is up.
    assert [drive["pulleys"][2]["x_mm"], drive["pulleys"][2]["y_mm"]] == pytest.approx([0, 400], abs=1e-9)
    assert [p["good_to_mm"] for p in drive["pulleys"]] == [None, 2, 2]


@pytest.mark.outside
@pytest.mark.parametrize("first, a, second, b", [((0, 0), 310.0, (280, 35), 205.0), ((-40, 12), 150.0, (90, -60), 95.0)])
def test_two_distances_meet_where_shapely_says(first, a, second, b):
    """Independent: Shapely's intersection of two circles drawn as polygons of 4,096 corners a quarter."""
    rings = [Point(*centre).buffer(radius, quad_segs=4096).exterior for centre, radius in ((first, a), (second, b))]
    expected = sorted([p.x, p.y] for p in rings[0].intersection(rings[1]).geoms)
    ours = sorted(drive_entry.meeting(list(first), a, list(second), b, side) for side in ("left", "right"))
    assert ours == [pytest.approx(point, abs=1e-3) for point in expected]
    left = drive_entry.meeting(list(first), a, list(second), b, "left")
    turn = (second[0] - first[0]) * (left[1] - first[1]) - (second[1] - first[1]) * (left[0] - first[0])
    assert turn > 0


def test_distances_that_do_not_meet_leave_the_pulley_unplaced():
    entry = tape_drive()
    entry["pulleys"][2]["place"]["first_distance"] = mm("100")
    assert drive_entry.to_drive(entry)["pulleys"][2]["x_mm"] is None
    assert drive_entry.lacking(entry) == ["pulleys.2.place"]


def test_distances_that_miss_by_less_than_a_tape_reads_meet_on_the_line():
    x, y = drive_entry.meeting([0, 0], 100.0, [300, 0], 199.6, "left")
    assert 100 <= x <= 100.4 and y == 0
    assert drive_entry.meeting([0, 0], 100.0, [300, 0], 198.0, "left") is None
    assert drive_entry.meeting([5, 5], 100.0, [5, 5], 100.0, "left") is None


def test_a_circle_of_places_that_lean_on_each_other_is_left_unplaced():
    entry = tape_drive()
    entry["pulleys"][1]["place"] = {"way": "from_two", "first": "crank", "first_distance": mm("300"), "second": "pump",
                                    "second_distance": mm("500"), "side": "right"}
    drive = drive_entry.to_drive(entry)
    assert [p["x_mm"] for p in drive["pulleys"]] == [0, None, None]


@pytest.mark.parametrize("name", drive_samples.NAMES)
def test_every_example_comes_back_from_its_entry(name):
    drive = drive_form.form(drive_samples.load(name))
    back = drive_form.form(drive_entry.to_drive(drive_entry.from_drive(drive), drive["name"], drive["loop"]))
    for ours, given in zip([back["belt"], back["tensioner"], *back["pulleys"]],
                           [drive["belt"], drive["tensioner"], *drive["pulleys"]], strict=True):
        numbers = {key for key, value in given.items() if isinstance(value, float)}
        assert [ours[key] for key in sorted(numbers)] == pytest.approx([given[key] for key in sorted(numbers)], rel=1e-12)
        assert {key: ours[key] for key in ours if key not in numbers} == {key: given[key] for key in given if key not in numbers}


@pytest.mark.parametrize("name", drive_samples.NAMES)
def test_an_entry_passes_the_gate_of_the_records(name):
    entry = drive_entry.from_drive(drive_samples.load(name))
    event = {"v": 1, "id": "00000000-0000-4000-8000-000000000001", "job": "00000000-0000-4000-8000-000000000002", "loop": "1",
             "kind": "drive_recorded", "who": "p1", "device": "d1", "n": 1, "at": "2026-03-09T08:05:00Z", "replaces": None,
             "data": {"name": "x", "engine": None, "origin": "tape", "copied_from": None, "shared": True, "drive": entry}}
    events.check_form(event)
    assert "drive_recorded" in events.canonical(event)


@pytest.mark.parametrize("path, value, code, field", [
    (["pulleys", 1, "diameter"], mm("0x10"), "not-a-number", "pulleys.1.diameter"),
    (["pulleys", 1, "diameter"], mm("2"), "out-of-range", "pulleys.1.diameter_mm"),
    (["pulleys", 1, "diameter"], {"value": "2", "unit": "ell"}, "unknown-unit", "pulleys.1.diameter"),
    (["pulleys", 1, "diameter"], 63.5, "not-a-quantity", "pulleys.1.diameter"),
    (["pulleys", 1, "place", "across"], mm("90000"), "too-high", "pulleys.1.place.across"),
    (["pulleys", 1, "place", "up"], None, "missing-key", "pulleys.1.place.up"),
    (["pulleys", 2, "place", "side"], "above", "not-a-choice", "pulleys.2.place.side"),
    (["pulleys", 2, "place", "first"], 3, "not-text", "pulleys.2.place.first"),
    (["pulleys", 2, "place", "way"], "guess", "not-a-choice", "pulleys.2.place.way"),
    (["pulleys", 2, "colour"], "red", "unknown-key", "pulleys.2.colour"),
    (["pulleys", 0], "crank", "not-a-map", "pulleys.0"),
    (["pulleys"], {"0": {}}, "not-a-list", "pulleys"),
    (["belt", "kg_per_m"], 0.1, "not-a-number", "belt.kg_per_m"),
    (["belt", "kg_per_m"], "NaN", "not-a-number", "belt.kg_per_m"),
    (["belt", "ribs"], "6", "not-whole", "belt.ribs"),
    (["belt", "ribs"], 6.0, "not-canonical", "belt.ribs"),
    (["tensioner", "kind"], "rope", "not-a-choice", "tensioner.kind"),
    (["tensioner", "pivot"], {"way": "across_up"}, "missing-key", "tensioner.pivot.across"),
    (["v"], 2, "unknown-version", "v"),
    (["extra"], "x", "unknown-key", "extra"),
])
def test_a_wrong_value_is_named_by_its_path(path, value, code, field):
    entry = tape_drive()
    part = entry
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(CoreError) as caught:
        drive_entry.check(entry, "drive")
    assert [caught.value.code, caught.value.field] == [code, "drive." + field]


def test_places_are_told_from_the_crankshaft_wherever_the_origin_is():
    drive = drive_samples.load("automatic")
    moved = drive_samples.moved(drive, dx=-120.5, dy=33)
    assert drive_entry.from_drive(moved)["pulleys"] == drive_entry.from_drive(drive)["pulleys"]
    assert drive_entry.from_drive(moved)["tensioner"] == drive_entry.from_drive(drive)["tensioner"]
    with pytest.raises(CoreError) as caught:
        drive_entry.from_drive({"pulleys": [{"name": "crank", "kind": "crank", "x_mm": 2900, "y_mm": 0}, {"name": "fan", "x_mm": -2900, "y_mm": 0}]})
    assert [caught.value.code, caught.value.field] == ["out-of-range", "pulleys.1.x_mm"]


def test_what_is_lacking_is_said_piece_by_piece():
    assert drive_entry.lacking(drive_entry.blank()) == ["pulleys", "pulleys.0.diameter", "belt.section", "belt.length"]
    assert drive_entry.lacking(tape_drive()) == []
    drive_entry.check(drive_entry.blank("anticlockwise"), "drive")


def test_distances_round_trip_with_the_formulas_of_the_plane():
    for side, way in (("left", 1), ("right", -1)):
        x, y = drive_entry.meeting([10, 20], 250.0, [210, 20], 250.0, side)
        assert [x, y] == pytest.approx([110, 20 + way * math.sqrt(250 ** 2 - 100 ** 2)], rel=1e-12)
