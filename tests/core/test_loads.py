"""The drive at work: against textbook belts, and by what must hold."""

import copy
import math

import drive_samples as samples
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize

from webapp.core import drive, drive_data, drive_form, loads, tensioner, words
from webapp.core.errors import CoreError

outside = pytest.mark.outside
POUND_FORCE = 4.4482216152605
FOOT = 0.3048
INCH = 0.0254
RUNNING = [name for name in samples.NAMES if name != "two_arm"]


def at_work(name, given=None, rpm=1500, **keys):
    return loads.run(samples.load(name), given, rpm, **keys)


def pulley(found, name):
    return next(p for p in found["pulleys"] if p["pulley"] == name)


# Outside.


@outside("SciPy: the slip limit is the solution of dT/dbeta = mu T")
@pytest.mark.parametrize("friction,wrap", [(0.2, 90), (0.44, 137), (0.5123, 180), (0.35, 49)])
def test_the_slip_limit_solves_its_differential_equation(friction, wrap):
    solved = integrate.solve_ivp(lambda _, t: friction * t, (0, math.radians(wrap)), [1.0], rtol=1e-12, atol=1e-14)
    assert loads.limit_ratio(friction, wrap) == pytest.approx(solved.y[0, -1], rel=1e-9)


@outside("Shigley, ch. 17, problem 17-2: Fc 0.913, T 90.0, F1 147, F2 57, Fi 101.1")
def test_a_textbook_flat_belt():
    # 6 x 0.05 in, 0.035 lbf/in3, 2 in at 1750 per minute, 2 hp with service factor 1.25; F1a is 147 lbf.
    kg_per_m = 6 * 0.05 * 0.035 * 0.45359237 / INCH
    torque = 90.036 * POUND_FORCE * INCH
    data = samples.two(50.8, 101.6, 108 * 25.4, 6000, differential_mm=0, kg_per_m=kg_per_m)
    static = (147 + 56.964) / 2 * POUND_FORCE
    found = loads.run(data, {"other": 2 * torque}, 1750, static_n=static)
    assert found["centrifugal_n"] / POUND_FORCE == pytest.approx(0.9135, rel=2e-3)
    assert found["crank_torque_nm"] / POUND_FORCE / INCH == pytest.approx(90.0, abs=0.05)
    crank = pulley(found, "crank")
    assert crank["tight_n"] / POUND_FORCE + 0.9135 == pytest.approx(147, abs=0.1)
    assert crank["slack_n"] / POUND_FORCE + 0.9135 == pytest.approx(57, abs=0.1)
    # Shigley's initial tension is the mean less the centrifugal part.
    assert (crank["tight_n"] + crank["slack_n"]) / 2 / POUND_FORCE == pytest.approx(101.1, abs=0.05)


@outside("Shigley, ch. 17, problem 17-19: Fc 25.9, Fi 169.3, F1 308.1, F2 82.3 with e^(f theta) = 5")
def test_a_textbook_v_belt():
    # D section, 2722.7 ft/min, K_c 3.498, pitch diameter 26 in, dF 225.8 lbf.
    speed = 2722.7 * FOOT / 60
    kg_per_m = 3.498 / 1000**2 * 60**2 * POUND_FORCE / FOOT**2
    rpm = speed / (math.pi * 26 * INCH) * 60
    data = samples.two(660.4, 660.4, 2000, 6000, section="D", ribs=1, differential_mm=0, kg_per_m=kg_per_m)
    data["belt"]["ribs"] = 1
    static = (308.143 + 82.342) / 2 * POUND_FORCE
    found = loads.run(data, {"other": 225.8 * POUND_FORCE * 13 * INCH}, rpm, static_n=static, friction={"ribs": math.log(5) / math.pi})
    assert found["centrifugal_n"] / POUND_FORCE == pytest.approx(25.9, rel=2e-3)
    spans = sorted(s["tension_n"] / POUND_FORCE for s in found["spans"])
    assert spans[0] == pytest.approx(82.3, rel=1e-3) and spans[1] == pytest.approx(308.1, rel=1e-3)
    # The book's two tensions are those at which the belt just slips.
    assert pulley(found, "crank")["margin"] == pytest.approx(1, rel=2e-3)
    assert (spans[0] + spans[1]) / 2 - found["centrifugal_n"] / POUND_FORCE == pytest.approx(169.3, rel=1e-3)


@outside("course notes, example 22: 900 N tight, mu 0.28, wrap 201.3 degrees: 337 N slack, 2.65 kW at 4.71 m/s")
def test_a_course_example():
    ratio = loads.limit_ratio(0.28, 201.322)
    slack = 900 / ratio
    assert slack == pytest.approx(336.48, abs=0.05)
    assert (900 - slack) * math.pi * 0.5 * 3 == pytest.approx(2655.5, rel=1e-3)


@outside("SAE J2432-2021 high-temperature test: 6PK, 20 N m at 4900 per minute driven 1:1 is 10.3 kW")
def test_the_power_of_a_test_rig():
    data = samples.two(120, 120, 350, 1100)
    found = loads.run(data, {"other": 20.0}, 4900, static_n=629)
    assert found["power_w"] == pytest.approx(10.3e3, rel=5e-3)
    assert found["power_w"] == pytest.approx(20 * 4900 * math.pi / 30, rel=1e-12)


@outside("SAE J2432-2021 rig: 629 N carries 20 N m on a 120 mm pulley without slip by the design ratio 3.5 to 4.5")
def test_a_test_rig_does_not_slip():
    found = loads.run(samples.two(120, 120, 350, 1100), {"other": 20.0}, 500, static_n=629)
    assert not pulley(found, "crank")["slips"]


@outside("vector sum of the two span pulls, done with complex numbers")
@pytest.mark.parametrize("name", RUNNING)
def test_hub_loads_are_vector_sums(name):
    data = samples.load(name)
    found = at_work(name, rpm=1200)
    solved = drive.solve(data)
    mv2 = found["centrifugal_n"]
    for i, one in enumerate(found["pulleys"]):
        before, after = solved["spans"][i - 1], solved["spans"][i]
        pull_in = complex(before["x1_mm"] - before["x2_mm"], before["y1_mm"] - before["y2_mm"])
        pull_out = complex(after["x2_mm"] - after["x1_mm"], after["y2_mm"] - after["y1_mm"])
        total = (found["spans"][i - 1]["tension_n"] - mv2) * pull_in / abs(pull_in)
        total += (found["spans"][i]["tension_n"] - mv2) * pull_out / abs(pull_out)
        assert one["hub_n"] == pytest.approx(abs(total), rel=1e-9)
        assert one["hub_deg"] == pytest.approx(math.degrees(math.atan2(total.imag, total.real)), abs=1e-7)


@outside("efficiency chain 0.40 x 0.98 x 0.55 = 0.2156, 21 % in an alternator efficiency white paper")
def test_the_fuel_side_of_an_alternator():
    electrical = 150 * 14
    taken = loads.alternator_torque(150, 14, 0.55, 6000) * 6000 * math.pi / 30
    assert 0.40 * 0.98 * electrical / taken == pytest.approx(0.2156, rel=1e-9)


@outside("design ratio 3.5 to 4.5 at 180 degrees for PK, from memory")
def test_the_dry_friction_of_ribs_spans_the_design_ratio():
    value, low, high = drive_data.FRICTION["ribs"]
    assert loads.limit_ratio(low, 180) == pytest.approx(3.5, abs=0.05)
    assert loads.limit_ratio(high, 180) == pytest.approx(4.5, abs=0.05)
    assert 3.5 < loads.limit_ratio(value, 180) < 4.5


@outside("SciPy: least squares on span tensions, pulley by pulley, with the belt's stretch")
def test_a_fixed_drive_shares_its_tension_as_springs_do():
    # Two spans as springs of EA / L between turning pulleys: their mean weighted by length stays.
    data = samples.load("slotted")
    found = loads.run(data, {"alternator": 4.0, "coolant pump": 1.0}, 1000, static_n=400)
    spans = [s["tension_n"] for s in found["spans"]]
    solved = drive.solve(data)
    full = drive_form.form(data)
    radii = [(p["diameter_mm"] / 2 + drive_data.belt_numbers(full)["differential_mm"]) / 1000 for p in full["pulleys"]]
    lengths = []
    for i in range(3):
        j = (i + 1) % 3
        lengths.append(solved["spans"][i]["length_mm"] / 1000 + (
            math.radians(solved["wraps"][i]["deg"]) * radii[i] + math.radians(solved["wraps"][j]["deg"]) * radii[j]) / 2)

    def misfit(tensions):
        # Torque of alternator (span 0 to 1) and pump (1 to 2), and no change of the belt's whole stretch.
        return [(tensions[0] - tensions[1]) * radii[1] - 4.0, (tensions[1] - tensions[2]) * radii[2] - 1.0,
                sum((t - 400) * length for t, length in zip(tensions, lengths))]

    wanted = optimize.least_squares(misfit, [400, 400, 400], xtol=1e-15, ftol=1e-15, gtol=1e-15).x
    assert spans == pytest.approx(list(wanted), rel=1e-6)


# What must hold.


@pytest.mark.parametrize("name", RUNNING)
def test_pulls_balance_and_power_is_conserved(name):
    found = at_work(name, rpm=2000)
    power = sum(p["torque_nm"] * p["rpm"] * math.pi / 30 for p in found["pulleys"][1:])
    assert found["power_w"] == pytest.approx(power, rel=1e-9)
    crank = pulley(found, "crank")
    assert crank["torque_nm"] * 2000 * math.pi / 30 == pytest.approx(found["power_w"], rel=1e-9)


@given(st.sampled_from(RUNNING), st.floats(100, 6000), st.floats(0, 20))
def test_each_pulley_turns_its_torque_into_a_step_of_tension(name, rpm, torque):
    data = samples.load(name)
    driven = data["pulleys"][1]["name"]
    found = loads.run(data, {driven: torque}, rpm, static_n=400)
    full = drive_form.form(data)
    one = pulley(found, driven)
    belt = drive_data.belt_numbers(full)
    radius = one["torque_nm"] / (one["tight_n"] - one["slack_n"]) * 1000 if one["tight_n"] - one["slack_n"] > 1e-6 else None
    if radius is not None and full["pulleys"][1]["face"] == "ribs":
        assert radius == pytest.approx(full["pulleys"][1]["diameter_mm"] / 2 + belt["differential_mm"], rel=1e-6)


@given(st.floats(500, 5000), st.floats(0, 1))
def test_more_load_leaves_less_margin(rpm, share):
    light = at_work("automatic", {"alternator": 3.0 + 5 * share}, rpm, static_n=400)
    heavy = at_work("automatic", {"alternator": 3.5 + 5 * share}, rpm, static_n=400)
    assert heavy["least"]["reserve"] < light["least"]["reserve"]
    assert pulley(heavy, "alternator")["margin"] < pulley(light, "alternator")["margin"]


@pytest.mark.parametrize("condition", ["wet", "worn", "wet_worn"])
def test_wet_and_worn_belts_slip_earlier(condition):
    dry = at_work("automatic", rpm=1000)["least"]["margin"]
    assert at_work("automatic", rpm=1000, condition=condition)["least"]["margin"] < dry


def test_the_slack_side_follows_the_crankshaft():
    # Clockwise, listed anticlockwise: the belt leaves the crankshaft towards the tensioner.
    found = at_work("automatic", {"alternator": 8.0}, 1000)
    tensions = {(s["from"], s["to"]): s["tension_n"] for s in found["spans"]}
    assert min(tensions, key=tensions.get) == ("tensioner", "crank")
    assert max(tensions, key=tensions.get) == ("crank", "compressor")


@given(st.floats(0, 360), st.booleans())
def test_tensions_do_not_depend_on_where_the_drive_hangs(turn, mirror):
    data = samples.load("automatic")
    one = loads.run(data, {"alternator": 6.0}, 1500)
    other = loads.run(samples.moved(data, turn, 10, 5, mirror), {"alternator": 6.0}, 1500)
    for a, b in zip(one["spans"], other["spans"]):
        assert b["tension_n"] == pytest.approx(a["tension_n"], rel=1e-8)


def test_reversed_order_and_engine_gives_the_same_tensions():
    data = samples.load("automatic")
    one = loads.run(data, {"alternator": 6.0}, 1500)
    other = loads.run(samples.reversed_order(data), {"alternator": 6.0}, 1500)
    want = {frozenset((s["from"], s["to"])): s["tension_n"] for s in one["spans"]}
    for span in other["spans"]:
        assert span["tension_n"] == pytest.approx(want[frozenset((span["from"], span["to"]))], rel=1e-9)


def test_the_arm_gives_way_as_loads_stretch_the_belt():
    data = samples.load("automatic")
    resting = tensioner.rest(data)
    found = loads.run(data, {"alternator": 10.0}, 1000)
    # The arm moves towards tight, where its spring is weaker.
    assert found["arm_deg"] > resting["angle_deg"] and found["static_n"] < resting["tension_n"]


def test_the_worst_state_comes_first():
    found = loads.first_slip(samples.load("automatic"))
    assert [one["reserve"] for one in found] == sorted(one["reserve"] for one in found)
    assert found[0]["name"].startswith("cold start")
    own = copy.deepcopy(samples.load("automatic"))
    own["pulleys"][3]["load"] = {"torque_nm": 1.0}
    assert loads.first_slip(own)[0]["reserve"] > found[0]["reserve"]


def test_a_rolling_idler_is_never_the_first_to_slip():
    for name in RUNNING:
        assert loads.first_slip(samples.load(name))[0]["pulley"] not in ("idler", "tensioner", "roller")


def test_an_alternator_s_current_follows_its_curve():
    values = [loads.alternator_amperes(120, rpm) for rpm in range(0, 9000, 100)]
    assert values == sorted(values) and values[0] == 0 and values[-1] == 120


@pytest.mark.parametrize("call,code,field", [
    (lambda d: loads.run(d, {"nobody": 5}, 1000), "no-such-pulley", "loads"),
    (lambda d: loads.run(d, {}, 0), "out-of-range", "engine_rpm"),
    (lambda d: loads.run(d, {}, 1000, "oily"), "not-a-choice", "condition"),
    (lambda d: loads.run(d, {"alternator": {"volts": 14}}, 1000), "no-load", "load"),
    (lambda d: loads.run(d, {}, 1000, static_n=float("nan")), "out-of-range", "static_n"),
])
def test_bad_input_is_refused(call, code, field):
    with pytest.raises(CoreError) as error:
        call(samples.load("automatic"))
    assert (error.value.code, error.value.field) == (code, field)
    assert "{" not in words.sentence(error.value)


def test_a_belt_of_unknown_mass_is_asked_for():
    data = samples.load("fixed")
    data["belt"] = {"section": "8V", "effective_mm": 894.0}
    with pytest.raises(CoreError) as error:
        loads.run(data, {}, 1000, static_n=300)
    assert error.value.field == "belt.kg_per_m"


def test_a_two_arm_drive_is_not_computed_even_with_a_measured_tension():
    with pytest.raises(CoreError) as error:
        loads.run(samples.load("two_arm"), {}, 1000, static_n=300)
    assert error.value.code == "two-arm"
