"""The drive's form and geometry: against Shapely, SymPy and textbooks, and by what must hold for every drive."""

import copy
import json
import math
from pathlib import Path

import drive_samples as samples
import pytest
import shapely
import sympy
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize
from shapely.geometry import MultiPoint, Point

from webapp.core import belts, drive, drive_data, drive_form, geometry, layout, words
from webapp.core.errors import CoreError

outside = pytest.mark.outside
SAMPLES = {name: samples.load(name) for name in samples.NAMES}


def hull_length(circles):
    """Length of the convex hull of circles (x, y, r), from polygons of 4 x 4096 corners."""
    return shapely.convex_hull(shapely.union_all([Point(x, y).buffer(r, quad_segs=4096) for x, y, r in circles])).length


def convex_drive(circles):
    pulleys = [{"name": f"p{i}", "kind": "crank" if i == 0 else "idler", "x_mm": x, "y_mm": y, "diameter_mm": 2 * r}
               for i, (x, y, r) in enumerate(circles)]
    return {"belt": {"section": "PK", "ribs": 6}, "pulleys": pulleys, "tensioner": {"kind": "fixed"}}


# Outside: plane geometry done by others.


@outside("Shapely: convex hull of discs")
@pytest.mark.parametrize("circles", [
    [(0, 0, 75), (300, 0, 30)],
    [(0, 0, 75), (250, 20, 60), (120, 260, 28)],
    [(0, 0, 75), (250, -30, 60), (280, 240, 28), (20, 250, 65)],
    [(0, 0, 80), (200, -80, 40), (380, 60, 50), (330, 280, 30), (90, 330, 60)],
    [(0, 0, 10), (400, 0, 120), (200, 500, 60), (-150, 250, 33)],
], ids=["two", "three", "four", "five", "unequal"])
def test_a_convex_route_is_the_hull_of_its_pulleys(circles):
    found = drive.solve(convex_drive(circles))
    assert found["effective_mm"] == pytest.approx(hull_length(circles), rel=1e-7)
    assert found["faults"] == [] or all(f["weight"] != "stop" for f in found["faults"])


@outside("Shapely: convex hull of discs")
@given(st.integers(3, 9), st.randoms(use_true_random=False))
def test_any_convex_route_is_the_hull(count, random):
    circles = []
    for k in range(count):
        turn = 2 * math.pi * k / count
        far = 300 + random.uniform(0, 20)
        circles.append((far * math.cos(turn), far * math.sin(turn), random.uniform(15, 45)))
    hull = hull_length(circles)
    solved = drive.solve(convex_drive(circles))
    touching = sum(1 for wrap in solved["wraps"] if wrap["deg"] is not None and wrap["deg"] < 300)
    if touching == count:
        assert solved["effective_mm"] == pytest.approx(hull, rel=1e-7)


@outside("Shapely: the hull of points is the limit of small pulleys")
def test_small_pulleys_make_a_polygon():
    points = [(0, 0), (300, 10), (340, 260), (-20, 240)]
    found = geometry.route([(x, y, 1e-9) for x, y in points])
    assert found["length"] == pytest.approx(MultiPoint(points).convex_hull.length, rel=1e-10)


@outside("SciPy: common tangent found by fsolve on its two conditions")
@pytest.mark.parametrize("rho1,rho2", [(75, 30), (75, -30), (-40, 60), (-20, -70)])
def test_a_span_is_the_common_tangent(rho1, rho2):
    span = geometry.tangent(10, -20, rho1, 250, 130, rho2)

    def conditions(unknown):
        # Unit normal (sin, -cos) times the signed radius leads from each centre to the line.
        psi, shift = unknown
        return [10 * math.sin(psi) + 20 * math.cos(psi) + rho1 - shift, 250 * math.sin(psi) - 130 * math.cos(psi) + rho2 - shift]

    psi, _ = optimize.fsolve(conditions, [span[1] + 0.05, 0.0], xtol=1e-13)
    assert span[1] == pytest.approx(psi, abs=1e-9)
    assert span[0] == pytest.approx(math.dist(span[2:4], span[4:6]), rel=1e-12)


@outside("Shapely: distance of a line from a circle's centre")
@pytest.mark.parametrize("name", samples.NAMES)
def test_spans_touch_their_pulleys_and_no_other(name):
    full = drive_form.form(SAMPLES[name])
    laid = layout.lay_out(full)
    for i, span in enumerate(laid["spans"]):
        line = shapely.LineString([span[2:4], span[4:6]])
        for j, circle in enumerate(laid["circles"]):
            gap = line.distance(Point(circle[0], circle[1])) - abs(circle[2])
            if j in (i, (i + 1) % len(laid["circles"])):
                assert gap == pytest.approx(0, abs=1e-9)
            else:
                assert gap > 0


@outside("Shapely: length of the drawn route as a polygon")
@pytest.mark.parametrize("name", samples.NAMES)
def test_the_length_is_that_of_the_drawn_line(name):
    full = drive_form.form(SAMPLES[name])
    laid = layout.lay_out(full)
    points = []
    for i, (x, y, rho) in enumerate(laid["circles"]):
        start = laid["spans"][i - 1][1]
        turn = laid["wraps"][i] * (1 if rho > 0 else -1)
        points += [(x + rho * math.sin(start + turn * k / 3000), y - rho * math.cos(start + turn * k / 3000)) for k in range(3001)]
    ring = shapely.LinearRing(points)
    assert ring.is_simple
    assert ring.is_ccw == (laid["way"] > 0)
    assert laid["effective_mm"] == pytest.approx(ring.length, rel=1e-7)


@outside("SymPy: derivative of the length by a centre")
def test_the_pull_on_a_centre_is_the_gradient_of_the_length():
    x = sympy.Symbol("x")
    a, b = sympy.Integer(0), sympy.Integer(75)
    c, d = sympy.Integer(260), sympy.Integer(30)

    def half(px, py, r, qx, qy, q):
        far = sympy.sqrt((qx - px) ** 2 + (qy - py) ** 2)
        return sympy.sqrt(far ** 2 - (r - q) ** 2)

    # Open two-pulley belt, exact: two spans and both arcs.
    far = x
    length = 2 * half(a, 0, b, far, 0, d) + 2 * b * (sympy.pi / 2 + sympy.asin((b - d) / far)) + 2 * d * (
        sympy.pi / 2 - sympy.asin((b - d) / far))
    wanted = float(sympy.diff(length, x).subs(x, c))
    found = geometry.route([(0, 0, 75), (260, 0, 30)])
    pull = geometry.span_pull(found["spans"][0], found["spans"][1])
    assert pull[0] == pytest.approx(wanted, rel=1e-12)
    assert pull[1] == pytest.approx(0, abs=1e-12)


@outside("SymPy: offset of a closed convex curve, L + 2 pi b")
def test_the_loop_identity_symbolically():
    large, small, far, b = sympy.symbols("D d C b", positive=True)

    def length(big, little):
        return sympy.sqrt(4 * far**2 - (big - little) ** 2) + (
            big * (sympy.pi + 2 * sympy.asin((big - little) / (2 * far)))
            + little * (sympy.pi - 2 * sympy.asin((big - little) / (2 * far)))) / 2

    assert sympy.simplify(length(large + 2 * b, small + 2 * b) - length(large, small) - 2 * sympy.pi * b) == 0


@outside("ISO 9981:2020, 5.4: b_e = 2 mm; 6PK1500 has a pitch length of 1512.566 mm")
def test_the_cord_line_is_two_pi_b_longer():
    solved = drive.solve(samples.two(150, 150, 514.380551020))
    assert solved["effective_mm"] == pytest.approx(1500, abs=1e-6)
    assert solved["pitch_mm"] == pytest.approx(1512.566, abs=1e-3)


@outside("DIN 7867, h_b = 1.6 mm, from memory: 1510.053 mm")
def test_another_differential_is_another_cord_line():
    solved = drive.solve(samples.two(150, 150, 514.380551020, differential_mm=1.6))
    assert solved["pitch_mm"] == pytest.approx(1510.053, abs=1e-3)


@outside("pitch diameters give the ratio: 150 and 55 mm PK pulleys 2.610, not 2.727")
def test_ratios_use_the_pitch_diameter():
    found = drive.speeds(samples.two(150, 55, 300), 1000)
    assert found["pulleys"][1]["ratio"] == pytest.approx(2.610, abs=5e-4)


@outside("course notes, example 19: 80 to 150 per minute, 600 mm: 320 mm, with a 5 mm belt 317.67 mm")
@pytest.mark.parametrize("diameter,thickness", [(320.0, 0.0), (317.667, 5.0)])
def test_speeds_of_a_course_example(diameter, thickness):
    found = drive.speeds(samples.two(600, diameter, 1000, differential_mm=thickness / 2), 80)
    assert found["pulleys"][1]["rpm"] == pytest.approx(150, rel=1e-5)


@outside("Shigley, ch. 17, problem 17-2: 2 in at 1750 per minute: 916.3 ft/min")
def test_belt_speed_of_a_textbook_example():
    found = drive.speeds(samples.two(2 * 25.4, 4 * 25.4, 108 * 25.4, differential_mm=0), 1750)
    assert found["belt_m_s"] / 0.3048 * 60 == pytest.approx(916.3, abs=0.05)


@outside("plane geometry: the back of a flat roller pushes the cord out by rim plus cord to back")
def test_a_roller_on_the_back_carries_the_cord_on_its_rim():
    full = drive_form.form(SAMPLES["automatic"])
    belt = drive_data.belt_numbers(full)
    i = drive_form.index_of(full, "idler")
    assert layout.cord_radius_mm(full["pulleys"][i], belt, False) == pytest.approx(35 + belt["back_mm"][0])


@outside("published outside length of PK: effective + 14 mm, 3 mm either way: the back lies 2.23 mm above the line")
def test_the_range_of_cord_to_back_holds_the_published_outside_length():
    value, low, high = drive_data.belt_numbers(drive_form.form(SAMPLES["automatic"]))["back_mm"]
    published = 14 / (2 * math.pi) - 2.0
    assert low <= published <= value <= high


# What must hold for every drive.


@st.composite
def shaken(draw, names=("automatic", "double_sided", "eccentric", "slotted", "fixed")):
    """An example drive with every pulley a little elsewhere and of another size."""
    out = copy.deepcopy(SAMPLES[draw(st.sampled_from(names))])
    step = st.floats(-4, 4)
    for pulley in out["pulleys"]:
        pulley["x_mm"] += draw(step)
        pulley["y_mm"] += draw(step)
        pulley["diameter_mm"] += draw(step)
    return out


@given(shaken())
def test_turning_number_is_one(data):
    laid = layout.lay_out(drive_form.form(data))
    assert laid["sound"]
    assert laid["turning"] == pytest.approx(laid["way"], abs=1e-9)


@given(shaken(), st.floats(-2, 4))
def test_loop_identity(data, b):
    data["belt"]["back_mm"] = 1.0
    laid = layout.lay_out(drive_form.form(data))
    shifted = [(x, y, rho + laid["way"] * b) for x, y, rho in laid["circles"]]
    found = geometry.route(shifted)
    assert found["length"] == pytest.approx(laid["effective_mm"] + 2 * math.pi * b, rel=1e-12)
    for one, other in zip(found["wraps"], laid["wraps"]):
        assert one == pytest.approx(other, abs=1e-9)


@given(shaken(), st.floats(0, 360), st.floats(-200, 200), st.floats(-200, 200), st.booleans())
def test_turned_shifted_and_mirrored_drives_are_the_same(data, turn, dx, dy, mirror):
    one = drive.solve(data)
    other = drive.solve(samples.moved(data, turn, dx, dy, mirror))
    assert other["effective_mm"] == pytest.approx(one["effective_mm"], rel=1e-9)
    for a, b in zip(one["wraps"], other["wraps"]):
        assert b["deg"] == pytest.approx(a["deg"], abs=1e-7)
        assert (b["sense"] == a["sense"]) != mirror
    assert sorted(f["code"] for f in one["faults"]) == sorted(f["code"] for f in other["faults"])


@given(shaken())
def test_the_order_may_run_either_way(data):
    one = drive.solve(data)
    other = drive.solve(samples.reversed_order(data))
    assert other["effective_mm"] == pytest.approx(one["effective_mm"], rel=1e-12)
    wraps = {w["pulley"]: w for w in other["wraps"]}
    for wrap in one["wraps"]:
        assert wraps[wrap["pulley"]]["deg"] == pytest.approx(wrap["deg"], abs=1e-9)
        assert wraps[wrap["pulley"]]["sense"] == wrap["sense"]
    if len(data["pulleys"]) > 2:
        assert other["runs_as_listed"] != one["runs_as_listed"]


@given(st.floats(40, 300), st.floats(40, 300), st.floats(310, 900))
def test_centres_and_length_are_inverse(large, small, centres):
    length = geometry.open_length(large, small, centres)
    assert geometry.centres_for(large, small, length) == pytest.approx(centres, rel=1e-9)


@given(shaken(), st.floats(0.1, 3))
def test_speed_ratios_do_not_depend_on_the_speed_and_scale_with_the_drive(data, factor):
    one = drive.speeds(data, 1000)
    two = drive.speeds(data, 2000)
    for a, b in zip(one["pulleys"], two["pulleys"]):
        assert b["rpm"] == pytest.approx(2 * a["rpm"], rel=1e-12)
        assert a["ratio"] == pytest.approx(b["ratio"], rel=1e-12)


# Faults.


def faults_of(data):
    return [f["code"] for f in drive.faults(data) if f["weight"] != "note"]


def changed(name, pulley=None, **changes):
    out = copy.deepcopy(SAMPLES[name])
    part = out if pulley is None else next(p for p in out["pulleys"] if p["name"] == pulley)
    part.update(changes)
    return out


@pytest.mark.parametrize("name", samples.NAMES)
def test_the_examples_have_no_grave_fault(name):
    assert [f for f in drive.faults(SAMPLES[name]) if f["weight"] == "stop"] == []


@pytest.mark.parametrize("data,code,concerned", [
    (changed("automatic", "alternator", x_mm=245, y_mm=40), "overlap", ["compressor", "alternator"]),
    (changed("automatic", "alternator", face="back"), "wrong-face", ["alternator"]),
    (changed("automatic", "idler", rim="grooved"), "grooves-on-back", ["idler"]),
    (changed("automatic", "alternator", rim="flat"), "flat-under-ribs", ["alternator"]),
    (changed("automatic", "coolant pump", turns="anticlockwise"), "turns-backwards", ["coolant pump"]),
    (changed("automatic", rotation="anticlockwise"), "turns-backwards", ["compressor"]),
    (changed("automatic", "alternator", diameter_mm=40), "small-pulley", ["alternator"]),
    (changed("automatic", "idler", x_mm=420), "not-reached", ["idler"]),
    (changed("slotted", "alternator", x_mm=40, y_mm=118), "not-reached", ["alternator"]),
    (changed("eccentric", "roller", x_mm=184, y_mm=67), "small-wrap", ["roller"]),
    (changed("fixed", belt={"section": "PK", "ribs": 4, "effective_mm": 850}), "belt-too-short", []),
    (changed("fixed", belt={"section": "PK", "ribs": 4, "effective_mm": 930}), "belt-too-long", []),
    (changed("automatic", belt={"section": "PK", "ribs": 6, "effective_mm": 1500}), "belt-too-long", ["tensioner"]),
    (changed("automatic", belt={"section": "PK", "ribs": 6, "effective_mm": 1370}), "belt-too-short", ["tensioner"]),
    (changed("stretch_fit", belt={"section": "PK", "ribs": 5, "effective_mm": 845}), "belt-too-long", []),
])
def test_a_fault_is_named_with_its_pulleys(data, code, concerned):
    found = [f for f in drive.faults(data) if f["code"] == code]
    assert found, drive.faults(data)
    assert any(f["pulleys"] == concerned for f in found)
    for fault in found:
        text = words.fault_sentence(fault)
        assert "{" not in text and text.endswith(".")


def test_a_span_through_a_pulley_is_found():
    data = convex_drive([(0, 0, 50), (500, 0, 50), (250, 300, 50), (250, 0, 60)])
    data["pulleys"][3]["face"] = "back"
    found = [f["pulleys"] for f in drive.faults(data) if f["code"] == "span-blocked"]
    assert found == [["p0", "p1", "p3"]]


def test_crossed_order_is_found():
    data = copy.deepcopy(SAMPLES["automatic"])
    pulleys = data["pulleys"]
    pulleys[1], pulleys[3] = pulleys[3], pulleys[1]
    assert any(f["weight"] == "stop" for f in drive.faults(data))


def test_swapped_faces_are_found():
    data = convex_drive([(0, 0, 75), (250, 20, 60), (120, 260, 28)])
    for pulley in data["pulleys"]:
        pulley["face"] = "back"
    assert "faces-swapped" in [f["code"] for f in drive.faults(data)]


def test_short_spans_are_noted():
    notes = [f for f in drive.faults(SAMPLES["automatic"]) if f["code"] == "short-span"]
    assert [f["pulleys"] for f in notes] == [["coolant pump", "tensioner"], ["tensioner", "crank"]]


def test_every_fault_code_has_a_sentence_and_every_sentence_a_code():
    core = Path(drive.__file__).parent
    text = "".join((core / name).read_text(encoding="utf-8") for name in ("drive.py", "tensioner.py"))
    for code in words.FAULTS:
        assert f'"{code}"' in text, code


# The form.


@pytest.mark.parametrize("name", samples.NAMES)
def test_the_full_form_passes_unchanged(name):
    full = drive_form.form(SAMPLES[name])
    assert drive_form.form(full) == full
    assert json.loads(json.dumps(full)) == full


@pytest.mark.parametrize("path,value,code", [
    ("pulleys.3.diameter_mm", "58", "not-a-number"), ("pulleys.3.diameter_mm", 0, "out-of-range"),
    ("pulleys.3.diameter_mm", -58, "out-of-range"), ("pulleys.0.x_mm", float("nan"), "not-a-number"),
    ("pulleys.0.x_mm", float("inf"), "not-a-number"), ("pulleys.0.x_mm", 1e300, "out-of-range"),
    ("pulleys.0.x_mm", True, "not-a-number"), ("pulleys.2.face", "side", "not-a-choice"),
    ("pulleys.2.kind", "wheel", "not-a-choice"), ("pulleys.2.name", "crank", "same-name"),
    ("pulleys.2.name", " ", "no-name"), ("pulleys.2.colour", "red", "unknown-key"),
    ("belt.ribs", 6.5, "not-whole"), ("belt.ribs", 0, "out-of-range"), ("belt.section", "QX", "unknown-section"),
    ("belt.effective_mm", 20, "out-of-range"), ("belt.double_sided", "yes", "not-a-flag"),
    ("tensioner.kind", "magnetic", "not-a-choice"), ("tensioner.stops_deg", [1], "not-a-list"),
    ("tensioner.stops_deg", [1, "2"], "not-a-number"), ("tensioner.pulley", "nobody", "no-such-pulley"),
    ("tensioner.friction", 1.5, "out-of-range"), ("rotation", "left", "not-a-choice"), ("loop", "4", "not-a-choice"),
    ("version", 2, "unknown-version"), ("pulleys.3.load", {"torque": 5}, "unknown-key"),
    ("pulleys.3.load.torque_nm", "x", "not-a-number"),
])
def test_bad_values_are_named_where_they_stand(path, value, code):
    data = copy.deepcopy(SAMPLES["automatic"])
    data["pulleys"][3]["load"] = {"torque_nm": 5}
    part = data
    keys = [int(k) if k.isdigit() else k for k in path.split(".")]
    for key in keys[:-1]:
        part = part[key]
    part[keys[-1]] = value
    with pytest.raises(CoreError) as error:
        drive.check(data)
    assert error.value.code == code
    assert error.value.field == path or error.value.field.startswith(path)
    assert words.sentence(error.value)


@pytest.mark.parametrize("data,code", [
    ([], "not-a-map"), ({}, "few-pulleys"), ({"pulleys": "none"}, "not-a-list"),
    ({"pulleys": [{"name": "a"}, {"name": "b"}]}, "no-crank"),
    ({"pulleys": [{"name": "a", "kind": "crank"}, {"name": "b", "kind": "crank"}]}, "no-crank"),
    ({"pulleys": [{"name": str(i), "kind": "crank"} for i in range(25)]}, "too-many"),
    ({"pulleys": ["a", "b"]}, "not-a-map"),
])
def test_a_drive_that_is_none_is_refused(data, code):
    with pytest.raises(CoreError) as error:
        drive.check(data)
    assert error.value.code == code


JUNK = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.lists(st.floats(), max_size=3),
                 st.dictionaries(st.text(max_size=3), st.integers(), max_size=2))


@given(st.sampled_from(samples.NAMES), st.randoms(use_true_random=False), JUNK)
def test_junk_anywhere_gives_an_error_with_its_place_or_an_answer_without_nan(name, random, junk):
    data = copy.deepcopy(SAMPLES[name])
    part = random.choice([data, data["belt"], data["tensioner"], random.choice(data["pulleys"])])
    part[random.choice(sorted(part))] = junk
    try:
        found = drive.solve(data)
    except CoreError as error:
        assert words.sentence(error)
    else:
        json.dumps(found, allow_nan=False)


# Missing parts.


def test_a_missing_diameter_leaves_the_rest():
    data = changed("automatic", "alternator", diameter_mm=None)
    found = drive.solve(data)
    assert found["missing"] == ["pulleys.3.diameter_mm"]
    assert found["effective_mm"] is None and found["pitch_mm"] is None
    known = drive.solve(SAMPLES["automatic"])
    for i, span in enumerate(found["spans"]):
        if "alternator" in (span["from"], span["to"]):
            assert span["length_mm"] is None
        else:
            assert span["length_mm"] == pytest.approx(known["spans"][i]["length_mm"])
    assert found["wraps"][0]["deg"] == pytest.approx(known["wraps"][0]["deg"])
    assert [w["sense"] for w in found["wraps"]] == [w["sense"] for w in known["wraps"]]


def test_a_missing_place_leaves_the_speeds():
    data = changed("automatic", "alternator", x_mm=None)
    assert drive.speeds(data, 1000) == drive.speeds(SAMPLES["automatic"], 1000)


def test_a_missing_belt_leaves_the_geometry():
    data = copy.deepcopy(SAMPLES["slotted"])
    del data["belt"]
    found = drive.solve(data)
    assert found["missing"] == ["belt.section", "belt.effective_mm"]
    assert found["effective_mm"] == pytest.approx(drive.solve(SAMPLES["slotted"])["effective_mm"])
    assert found["pitch_mm"] is None and found["belt_minus_path_mm"] is None


@pytest.mark.parametrize("name", samples.NAMES)
def test_every_number_may_be_missing(name):
    full = drive_form.form(SAMPLES[name])
    parts = [("belt", full["belt"]), ("tensioner", full["tensioner"])]
    parts += [(f"pulleys.{i}", pulley) for i, pulley in enumerate(full["pulleys"])]
    for path, part in parts:
        for key in sorted(part):
            if key == "name" or (key == "kind" and part[key] == "crank"):
                continue
            kept, part[key] = part[key], None
            found = drive.solve(full)
            json.dumps(found, allow_nan=False)
            assert (f"{path}.{key}" in found["missing"]) == (key in ("section", "effective_mm", "x_mm", "y_mm", "diameter_mm"))
            part[key] = kept


def test_the_form_of_the_design_without_optional_keys_is_enough():
    found = drive.solve({
        "belt": {"section": "PK", "ribs": 6, "effective_mm": 1000.0, "kg_per_m": None, "differential_mm": 2.0, "back_mm": None},
        "pulleys": [{"name": "crank", "kind": "crank", "x_mm": 0, "y_mm": 0, "diameter_mm": 150, "face": "ribs"},
                    {"name": "alternator", "kind": "alternator", "x_mm": 300, "y_mm": 0, "diameter_mm": 60, "face": "ribs"}],
        "tensioner": None})
    assert found["effective_mm"] == pytest.approx(geometry.open_length(150, 60, 300), rel=1e-12)


def test_every_section_has_what_a_drive_needs():
    for section in belts.section_names():
        data = samples.two(400, 400, 900, section=section)
        found = drive_data.belt_numbers(drive_form.form(data))
        assert found["differential_mm"] is not None and found["axial_n"][1] <= found["axial_n"][0] <= found["axial_n"][2]
        assert found["back_mm"][1] <= found["back_mm"][0] <= found["back_mm"][2]
