"""Tensioners: against SciPy and plain statics, and by what must hold."""

import copy
import math

import drive_samples as samples
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, optimize

from webapp.core import drive, drive_data, drive_form, layout, roots, tensioner, words
from webapp.core.errors import CoreError

outside = pytest.mark.outside
ARMS = ["automatic", "automatic_set", "double_sided", "hydraulic"]
MANUAL = ["eccentric", "lead_screw", "slotted"]


def with_belt(name, effective_mm, **tension):
    out = samples.load(name)
    out["belt"]["effective_mm"] = effective_mm
    out["tensioner"].update(tension)
    return out


def path_at(data, angle):
    """Effective length of the path with the arm at an angle, by solving the whole drive afresh [mm]."""
    out = copy.deepcopy(data)
    arm = out["tensioner"]
    pulley = next(p for p in out["pulleys"] if p["name"] == arm["pulley"])
    length = math.hypot(pulley["x_mm"] - arm["pivot_x_mm"], pulley["y_mm"] - arm["pivot_y_mm"])
    pulley["x_mm"] = arm["pivot_x_mm"] + length * math.cos(math.radians(angle))
    pulley["y_mm"] = arm["pivot_y_mm"] + length * math.sin(math.radians(angle))
    return drive.solve(out)["effective_mm"]


def lever_at(data, angle):
    """|dL/dtheta| by a five-point difference [m]."""
    h = 1e-3
    rise = 8 * (path_at(data, angle + h) - path_at(data, angle - h)) - (path_at(data, angle + 2 * h) - path_at(data, angle - 2 * h))
    return abs(rise / (12 * math.radians(h))) / 1000


def spring(data, angle, way):
    arm = data["tensioner"]
    return arm["torque_nm"] + arm["rate_nm_per_deg"] * way * (arm["at_deg"] - angle)


# Outside.


@outside("SciPy: brentq on the whole drive solved afresh, with a numeric lever")
@pytest.mark.parametrize("name", ARMS)
def test_rest_solves_the_equilibrium(name):
    data = samples.load(name)
    found = tensioner.rest(data)
    way = 1 if found["tightens"] == "anticlockwise" else -1
    belt = drive_data.belt_numbers(drive_form.form(data))
    b = 2 * math.pi * belt["differential_mm"]

    def surplus(angle):
        tension = spring(data, angle, way) / lever_at(data, angle)
        cord = (data["belt"]["effective_mm"] + b) * (1 + (tension - belt["measuring_n"]) / belt["axial_n"][0])
        return path_at(data, angle) + b - cord

    angle = optimize.brentq(surplus, found["angle_deg"] - 5, found["angle_deg"] + 5, xtol=1e-12)
    assert found["angle_deg"] == pytest.approx(angle, abs=1e-6)
    assert found["tension_n"] == pytest.approx(spring(data, angle, way) / lever_at(data, angle), rel=1e-7)


@outside("virtual work: the lever is the arm times the sine of its angle to the hub force over the tension")
@pytest.mark.parametrize("name", ARMS)
def test_the_lever_is_that_of_the_hub_force(name):
    data = samples.load(name)
    found = tensioner.rest(data)
    arm = data["tensioner"]
    moved = copy.deepcopy(data)
    pulley = next(p for p in moved["pulleys"] if p["name"] == arm["pulley"])
    pulley["x_mm"], pulley["y_mm"] = found["x_mm"], found["y_mm"]
    solved = drive.solve(moved)
    i = [p["name"] for p in moved["pulleys"]].index(arm["pulley"])
    before, after = solved["spans"][i - 1], solved["spans"][i]

    def unit(x, y):
        return x / math.hypot(x, y), y / math.hypot(x, y)

    # Unit pulls along both spans, away from the pulley.
    one = unit(before["x1_mm"] - before["x2_mm"], before["y1_mm"] - before["y2_mm"])
    two = unit(after["x2_mm"] - after["x1_mm"], after["y2_mm"] - after["y1_mm"])
    moment = ((found["x_mm"] - arm["pivot_x_mm"]) * (one[1] + two[1]) - (found["y_mm"] - arm["pivot_y_mm"]) * (one[0] + two[0]))
    assert abs(moment) == pytest.approx(found["lever_mm"], rel=1e-9)
    hub = math.hypot(one[0] + two[0], one[1] + two[1])
    assert hub == pytest.approx(2 * math.sin(math.radians(solved["wraps"][i]["deg"]) / 2), rel=1e-9)


@outside("SciPy: energy of the spring over the arm's travel equals the work at constant tension")
def test_work_of_the_arm_is_tension_times_belt():
    data = samples.load("automatic")
    start, end = -78.0, -70.0
    work, _ = integrate.quad(lambda a: lever_at(data, a) * math.pi / 180, start, end)
    assert work * 1000 == pytest.approx(path_at(data, end) - path_at(data, start), rel=1e-8)


@outside("statics of a slack-side idler on a straight arm: T = M / (a 2 sin(beta/2)) with the arm square to the hub force")
def test_a_drive_that_can_be_done_by_hand():
    # Two equal pulleys 400 mm apart, a roller half-way that pushes the upper span in by 50 mm, its arm level and
    # square to the hub force; back and differential are left out.
    data = samples.two(100, 100, 400, section="PK", ribs=6, differential_mm=0, back_mm=0, axial_n=1e7)
    data["pulleys"].append({"name": "roller", "kind": "tensioner", "x_mm": 200, "y_mm": 20, "diameter_mm": 60, "face": "back"})
    data["tensioner"] = {"pulley": "roller", "kind": "automatic", "pivot_x_mm": 120, "pivot_y_mm": 20, "torque_nm": 20,
                         "at_deg": 0, "rate_nm_per_deg": 0, "friction": 0.2}
    # Opposite tangents: distance of centres 200 and 20; signed radii 50 and 30.
    far = math.hypot(200, 20)
    slope = math.asin(80 / far) - math.atan2(20, 200)
    data["belt"]["effective_mm"] = drive.solve(data)["effective_mm"]
    found = tensioner.rest(data)
    assert found["angle_deg"] == pytest.approx(0, abs=0.02)
    assert found["tension_n"] == pytest.approx(20 / (0.080 * 2 * math.sin(slope)), rel=1e-3)
    assert found["high_n"] == pytest.approx(1.2 * found["tension_n"])
    assert found["tightens"] == "clockwise"


@outside("Hooke: a 10 mm longer path on a belt of known stiffness")
def test_fixed_centres_follow_hooke():
    length = drive.solve(samples.two(150, 100, 400))["effective_mm"]
    data = samples.two(150, 100, 400, length - 3, axial_n=120000.0, differential_mm=0)
    found = tensioner.fitted(data)
    assert found["tension_n"] == pytest.approx(300 + 120000 * 3 / (length - 3), rel=1e-9)


@outside("measuring force of ISO 9982, from memory: 100 N per PK rib on the slide, so 50 N per rib and strand")
def test_a_belt_of_the_path_s_length_has_its_measuring_tension():
    length = drive.solve(samples.two(150, 100, 400))["effective_mm"]
    assert tensioner.fitted(samples.two(150, 100, 400, length))["tension_n"] == pytest.approx(300, rel=1e-9)


@outside("SciPy: brentq on the path of a moved pulley")
@pytest.mark.parametrize("name", MANUAL)
def test_a_manual_move_gives_the_wanted_length(name):
    data = samples.load(name)
    found = tensioner.turn_for(data, 400, 250)
    full = drive_form.form(data)
    belt = drive_data.belt_numbers(full)
    start = drive.solve(data)
    wanted = start["effective_mm"] + start["pitch_mm"] * 150 / belt["axial_n"][0]
    arm = data["tensioner"]
    old = next(p for p in data["pulleys"] if p["name"] == arm["pulley"])

    def path(move):
        out = copy.deepcopy(data)
        pulley = next(p for p in out["pulleys"] if p["name"] == arm["pulley"])
        if found["mm"] is not None:
            turn = math.radians(arm["slot_deg"])
            pulley["x_mm"] += move * math.cos(turn)
            pulley["y_mm"] += move * math.sin(turn)
        else:
            point = complex(old["x_mm"] - arm["pivot_x_mm"], old["y_mm"] - arm["pivot_y_mm"])
            point *= complex(math.cos(math.radians(move)), math.sin(math.radians(move)))
            pulley["x_mm"], pulley["y_mm"] = arm["pivot_x_mm"] + point.real, arm["pivot_y_mm"] + point.imag
        return drive.solve(out)["effective_mm"]

    move = found["mm"] if found["mm"] is not None else found["deg"]
    assert move == pytest.approx(optimize.brentq(lambda m: path(m) - wanted, move - 0.5, move + 0.5, xtol=1e-13), abs=1e-8)
    assert found["low"] <= move <= found["high"]


@outside("two equal pulleys moved straight apart: the path grows by twice the move")
def test_a_straight_slot_between_two_equal_pulleys():
    data = samples.two(120, 120, 300, 900, "lead_screw", axial_n=100000.0)
    data["tensioner"].update({"pulley": "other", "slot_deg": 0, "mm_per_turn": 1.5, "travel_mm": [-5, 20]})
    found = tensioner.turn_for(data, 500, 200)
    length = drive.solve(data)["pitch_mm"]
    assert found["mm"] == pytest.approx(length * 300 / 100000 / 2, rel=1e-9)
    assert found["turns"] == pytest.approx(found["mm"] / 1.5)
    assert found["enough"] is True


@outside("SciPy: brentq on the same functions")
@pytest.mark.parametrize("function,low,high", [
    (lambda x: x**3 - 2, 0.0, 2.0), (lambda x: math.cos(x) - x, 0.0, 1.5), (lambda x: math.exp(x) - 1e-3, -20.0, 5.0),
    (lambda x: math.tanh(50 * (x - 0.9)), 0.0, 1.0)])
def test_roots(function, low, high):
    found = roots.bracketed(function, low, high, 1e-13)
    assert function(found) == pytest.approx(0, abs=1e-9)
    assert found == pytest.approx(optimize.brentq(function, low, high), abs=1e-9)
    assert roots.bracketed(lambda x: 1.0, 0.0, 1.0, 1e-9) is None


# What must hold.


@given(st.sampled_from(ARMS), st.floats(-15, 15), st.floats(0.5, 10))
def test_a_longer_belt_lets_the_arm_go_further(name, shift, more):
    length = samples.load(name)["belt"]["effective_mm"] + shift
    one = tensioner.rest(with_belt(name, length))
    other = tensioner.rest(with_belt(name, length + more))
    way = 1 if one["tightens"] == "anticlockwise" else -1
    assert way * (other["angle_deg"] - one["angle_deg"]) > 0
    assert other["torque_nm"] < one["torque_nm"]
    assert other["take_up_mm"] < one["take_up_mm"]
    # The lever of these drives grows towards the full end slower than the spring's torque does.
    assert other["travel_used"] < one["travel_used"]


@given(st.floats(0.1, 20), st.floats(0.1, 5))
def test_tension_on_fixed_centres_falls_with_belt_length(longer, more):
    length = drive.solve(samples.two(150, 100, 400))["effective_mm"]
    one = tensioner.fitted(samples.two(150, 100, 400, length - 30 + longer))
    other = tensioner.fitted(samples.two(150, 100, 400, length - 30 + longer + more))
    assert other["tension_n"] < one["tension_n"] or one["tension_n"] == 0
    assert other["tension_n"] >= 0


@given(st.sampled_from(ARMS), st.floats(0, 360), st.booleans())
def test_turning_and_mirroring_a_drive_turns_its_arm(name, turn, mirror):
    data = samples.load(name)
    one = tensioner.rest(data)
    other = tensioner.rest(samples.moved(data, turn, 30, -20, mirror))
    assert other["tension_n"] == pytest.approx(one["tension_n"], rel=1e-9)
    expected = (180 - one["angle_deg"] if mirror else one["angle_deg"]) + turn
    assert math.cos(math.radians(other["angle_deg"] - expected)) == pytest.approx(1, abs=1e-12)
    assert (other["tightens"] == one["tightens"]) != mirror


@pytest.mark.parametrize("name", ARMS)
def test_the_order_of_the_list_does_not_matter(name):
    one = tensioner.rest(samples.load(name))
    other = tensioner.rest(samples.reversed_order(samples.load(name)))
    assert other["tension_n"] == pytest.approx(one["tension_n"], rel=1e-9)
    assert other["angle_deg"] == pytest.approx(one["angle_deg"], abs=1e-9)


@given(st.floats(0, 0.6))
def test_the_friction_band_brackets_the_tension(friction):
    found = tensioner.rest(with_belt("automatic", 1420.0, friction=friction))
    assert found["high_n"] - found["tension_n"] == pytest.approx(friction * found["tension_n"], abs=1e-9)
    assert found["low_n"] <= found["tension_n"] <= found["high_n"]


@pytest.mark.parametrize("name", ["automatic", "automatic_set", "hydraulic"])
def test_the_window_stands_the_pointer_on_its_marks(name):
    shortest, longest = tensioner.length_window(samples.load(name))
    marks = tensioner.rest(samples.load(name))["marks"]
    assert tensioner.rest(with_belt(name, longest))["angle_deg"] == pytest.approx(marks[0], abs=1e-6)
    assert tensioner.rest(with_belt(name, shortest))["angle_deg"] == pytest.approx(marks[1], abs=1e-6)
    assert tensioner.rest(with_belt(name, longest - 1))["in_marks"] is True
    outside_marks = tensioner.rest(with_belt(name, longest + 3))
    assert outside_marks["in_marks"] is False
    assert "outside-marks" in [f["code"] for f in outside_marks["faults"]]


def test_two_belts_are_compared():
    found = tensioner.compare(samples.load("automatic"), 1410.0)
    assert found["turn_deg"] < 0 and found["one"]["take_up_mm"] < found["other"]["take_up_mm"]
    missed = tensioner.compare(samples.load("automatic"), 1500.0)
    assert missed["other"]["error"].code == "belt-too-long" and missed["turn_deg"] is None


@pytest.mark.parametrize("effective,code", [(1480.0, "belt-too-long"), (1350.0, "belt-too-short")])
def test_a_belt_beyond_the_travel_is_named_with_millimetres(effective, code):
    with pytest.raises(CoreError) as error:
        tensioner.rest(with_belt("automatic", effective))
    assert error.value.code == code and int(error.value.values["by"]) > 0
    assert "mm" in words.sentence(error.value)


def test_a_wide_travel_ends_at_a_dead_point_or_a_pulley():
    found = tensioner.rest(with_belt("automatic", 1420.0, stops_deg=None))
    assert found["stops_known"] is False
    assert found["full_deg"] < found["angle_deg"] < found["free_deg"]


def test_an_arm_near_its_dead_point_warns():
    data = samples.two(100, 100, 400, axial_n=1e6)
    data["pulleys"].append({"name": "roller", "kind": "tensioner", "x_mm": 200, "y_mm": 20, "diameter_mm": 60, "face": "back"})
    # The arm points nearly along the hub force.
    data["tensioner"] = {"pulley": "roller", "kind": "automatic", "pivot_x_mm": 225, "pivot_y_mm": 90, "torque_nm": 5,
                         "at_deg": -102, "rate_nm_per_deg": 0.05, "friction": 0.1}
    data["belt"]["effective_mm"] = drive.solve(data)["effective_mm"] + 1.5
    found = tensioner.rest(data)
    assert found["dead_deg"] is not None
    assert "near-dead-point" in [f["code"] for f in found["faults"]]


@pytest.mark.parametrize("key", ["pivot_x_mm", "pivot_y_mm", "torque_nm", "at_deg", "rate_nm_per_deg", "pulley"])
def test_a_missing_number_of_the_arm_is_named(key):
    with pytest.raises(CoreError) as error:
        tensioner.rest(with_belt("automatic", 1420.0, **{key: None}))
    assert (error.value.code, error.value.field) == ("number-missing", "tensioner." + key)


@pytest.mark.parametrize("name,call,code", [
    ("fixed", tensioner.rest, "tensioner-no-arm"), ("two_arm", tensioner.rest, "tensioner-no-arm"),
    ("two_arm", tensioner.fitted, "two-arm"), ("automatic", lambda d: tensioner.turn_for(d, 300, 200), "tensioner-not-manual"),
    ("slotted", lambda d: tensioner.turn_for(d, -1, 200), "out-of-range"),
    ("slotted", lambda d: tensioner.turn_for(d, 300, float("nan")), "out-of-range"),
])
def test_the_wrong_kind_is_refused(name, call, code):
    with pytest.raises(CoreError) as error:
        call(samples.load(name))
    assert error.value.code == code and words.sentence(error.value)


def test_a_move_beyond_the_slot_is_refused():
    data = samples.load("lead_screw")
    data["tensioner"]["travel_mm"] = [-1, 1]
    with pytest.raises(CoreError) as error:
        tensioner.turn_for(data, 3000, 100)
    assert error.value.code == "move-too-far"


def test_the_wrong_belt_beside_a_stiff_one_moves_less():
    soft = tensioner.turn_for(dict(samples.load("lead_screw"), belt={"section": "AV13", "effective_mm": 975.0, "axial_n": 30000.0}), 400, 250)
    stiff = tensioner.turn_for(dict(samples.load("lead_screw"), belt={"section": "AV13", "effective_mm": 975.0, "axial_n": 90000.0}), 400, 250)
    assert soft["mm"] == pytest.approx(3 * stiff["mm"], rel=0.01)


@given(st.sampled_from(MANUAL), st.floats(50, 600), st.floats(50, 600))
def test_more_tension_needs_a_longer_path_and_back(name, target, now):
    assume(abs(target - now) > 1)
    try:
        found = tensioner.turn_for(samples.load(name), target, now)
    except CoreError as error:
        assert error.code == "move-too-far"
        return
    assert (found["path_mm"] > 0) == (target > now)


def test_the_layout_s_fast_path_agrees_with_the_whole_route():
    for name in ARMS + MANUAL:
        full = drive_form.form(samples.load(name))
        laid = layout.lay_out(full)
        i = drive_form.index_of(full, full["tensioner"]["pulley"])
        moving = layout.Moving(laid, i)
        for dx, dy in ((0, 0), (1.5, -2), (-3, 0.5)):
            full["pulleys"][i]["x_mm"] += dx
            full["pulleys"][i]["y_mm"] += dy
            found = moving.at(full["pulleys"][i]["x_mm"], full["pulleys"][i]["y_mm"])
            assert found[0] == pytest.approx(layout.lay_out(full)["effective_mm"], rel=1e-12)
