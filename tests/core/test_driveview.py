"""What a drive tells on the screen: against errors drawn at random with numpy, sums done by hand, and drives with numbers missing.

Published: JCGM 101:2008 (propagation of distributions by drawing) is the outside check of the first-order errors.
Invented: every drive. The sums in words are checked against the formulas' modules, which have outside checks of their own.
"""

import copy
import json
import re

import drive_samples as samples
import numpy
import pytest
from wasm import on_wasm

from webapp.core import drive, drive_form, drive_spread, layout, numbers, tensioner, vibration, words
from webapp.core.screens import driveview

SHOP = {"length_unit": "mm", "force_unit": "N"}
DRAWS = 500


def measured(name, good_to=3.0):
    """A sample drive as measured by tape from the crankshaft."""
    data = samples.load(name)
    for pulley in data["pulleys"]:
        if pulley["kind"] != "crank":
            pulley["good_to_mm"] = good_to
    return data


def answer(view, name):
    return [one for one in view["answers"] if one["id"] == name][0]


def texts(found):
    """Every text within plain data."""
    if isinstance(found, str):
        return [found]
    parts = found.values() if isinstance(found, dict) else found if isinstance(found, list) else []
    return [text for part in parts for text in texts(part)]


# ---- the errors ----

@pytest.mark.parametrize("name", ["automatic", "double_sided", "eccentric", "fixed", "slotted"])
def test_first_order_errors_agree_with_errors_drawn_at_random(name):
    """JCGM 101:2008: draw places, diameters and the cord-to-back distance, solve each drive anew, take the spread."""
    data = measured(name)
    rng = numpy.random.default_rng(20260309)
    back = drive.solve(data)["back_offset_mm"]
    lengths, spans, wraps = [], [], []
    for _ in range(DRAWS):
        one = copy.deepcopy(data)
        for pulley in one["pulleys"]:
            for key in ("x_mm", "y_mm"):
                pulley[key] += rng.normal() * pulley.get("good_to_mm", 0.0) / 1.96
            pulley["diameter_mm"] += rng.normal() * drive_spread.DIAMETER_GOOD_TO_MM / 1.96
        if back is not None:
            one["belt"]["back_mm"] = max(0.0, back[0] + rng.normal() * (back[2] - back[1]) / 2 / 1.96)
        solved = drive.solve(one)
        lengths.append(solved["effective_mm"])
        spans.append([span["length_mm"] for span in solved["spans"]])
        wraps.append([wrap["deg"] for wrap in solved["wraps"]])
    found = drive_spread.spread(data)
    # 500 draws give a spread to 3.2 % (1 / root(2 n)); four times that is allowed.
    assert found["effective_mm"] == pytest.approx(1.96 * numpy.std(lengths), rel=0.13)
    assert found["spans_mm"] == pytest.approx(list(1.96 * numpy.std(spans, axis=0)), rel=0.13)
    assert found["wraps_deg"] == pytest.approx(list(1.96 * numpy.std(wraps, axis=0)), rel=0.13)


def test_errors_by_differences():
    """Each slope by a central difference of the whole solution: the drive is solved anew, nothing is derived."""
    data = measured("automatic", 2.0)
    places = diameters = 0.0
    for i, pulley in enumerate(data["pulleys"]):
        for key, step, error in (("x_mm", 0.01, pulley.get("good_to_mm", 0.0)), ("y_mm", 0.01, pulley.get("good_to_mm", 0.0)),
                                 ("diameter_mm", 0.01, drive_spread.DIAMETER_GOOD_TO_MM)):
            ends = []
            for way in (-1, 1):
                one = copy.deepcopy(data)
                one["pulleys"][i][key] += way * step
                ends.append(drive.solve(one)["effective_mm"])
            change = ((ends[1] - ends[0]) / (2 * step) * error) ** 2
            if key == "diameter_mm":
                diameters += change
            else:
                places += change
    found = drive_spread.spread(data)["parts_mm"]
    assert found[0] == pytest.approx(places ** 0.5, rel=1e-4)
    assert found[1] == pytest.approx(diameters ** 0.5, rel=1e-4)
    solved = drive.solve(data)
    assert found[2] == pytest.approx((solved["high_mm"] - solved["low_mm"]) / 2, rel=1e-9)


def test_two_pulleys_by_hand():
    # Equal pulleys: the span is the distance of the axes, so its error is the accessory's place along it alone; the
    # path takes it twice, and half a turn of each radius: pi / 2 of each diameter.
    data = samples.two(100, 100, 300, 900)
    data["pulleys"][1]["good_to_mm"] = 2.0
    found = drive_spread.spread(data)
    assert found["spans_mm"] == pytest.approx([2.0, 2.0])
    assert found["parts_mm"] == pytest.approx([4.0, 3.141592653589793 / 2 * 2 ** 0.5, 0.0])


def test_errors_are_not_known_where_nobody_said():
    data = samples.load("automatic")
    assert drive_spread.spread(data)["effective_mm"] is None
    data["pulleys"][3]["good_to_mm"] = 3.0
    found = drive_spread.spread(data)
    assert found["effective_mm"] is None and found["spans_mm"][0] is None
    data["pulleys"][2]["good_to_mm"] = 3.0
    assert drive_spread.spread(data)["spans_mm"][2] is not None


def test_ratio_errors_by_ends_of_the_ranges():
    """The half width of a ratio is no more than both diameters at their worst with the cord line at its ends."""
    data = measured("automatic")
    full = drive_form.form(data)
    found = drive_spread.ratios_of(full, layout.lay_out(full))
    ratios = []
    for off in (-1, 1):
        one = copy.deepcopy(data)
        one["pulleys"][0]["diameter_mm"] += off * drive_spread.DIAMETER_GOOD_TO_MM
        one["pulleys"][3]["diameter_mm"] -= off * drive_spread.DIAMETER_GOOD_TO_MM
        one["belt"]["differential_mm"] = 1.8 - off * 0.2
        ratios.append(drive.speeds(one, 1000)["pulleys"][3]["ratio"])
    widest = (ratios[1] - ratios[0]) / 2
    # The root of the squares is between the largest part and their sum.
    assert widest / 3 ** 0.5 <= found["ratios"][3] < widest
    assert found["ratios"][0] == 0.0


@pytest.mark.parametrize("value,half,text", [(1420.3, 10.07, "1420 ± 11"), (262.4, 2.3, "262 ± 3"), (2.4837, 0.0421, "2.48 ± 0.05"),
                                             (1.15, 0.0119, "1.150 ± 0.012"), (-72.8, 8.0, "-73 ± 8"), (1523.0, 230.0, "1500 ± 300")])
def test_plus_minus_has_the_digits_that_count(value, half, text):
    assert numbers.plus_minus(value, half).replace("\u00a0", " ") == text


# ---- the view ----

@pytest.mark.parametrize("name", samples.NAMES)
def test_every_sample_tells_all_it_can(name):
    data = measured(name)
    view = driveview.view(data, SHOP, path="/drives/1")
    assert view["print"] == "/drives/1/print" and view["route"]["belt"].endswith("Z") and not view["lacking"]
    assert [step["name"] for step in view["thread"]] == [pulley["name"] for pulley in data["pulleys"]]
    for one in view["answers"]:
        assert one["missing"] or one["value"] or one["rows"] or one["lines"], one["id"]
        assert bool(one["working"]) == bool(one["source"]), one["id"]
    assert answer(view, "length")["between"].count("±") == 1
    assert all("±" in row[1] for row in answer(view, "spans")["rows"])
    assert not [text for text in texts(view) if "None" in text or "nan" in text.lower().split() or "{" in text]


def test_the_numbers_are_those_of_the_formulas():
    data = measured("automatic")
    view = driveview.view(data, SHOP)
    solved, rest = drive.solve(data), tensioner.rest(data)
    assert answer(view, "length")["value"] == numbers.fixed(solved["effective_mm"], 0)
    assert [row[1].split("\u00a0")[0] for row in answer(view, "spans")["rows"]] == [numbers.fixed(s["length_mm"], 0) for s in solved["spans"]]
    arm = answer(view, "tensioner")
    assert arm["value"].split("\u00a0")[0] == numbers.fixed(100 * rest["travel_used"], 0) and arm["unit"] == "% of its travel used"
    assert "The pointer stands between its marks." in arm["lines"]
    tension = answer(view, "tension")
    assert float(tension["value"]) == pytest.approx(rest["tension_n"], rel=0.005)
    low, high = [float(n) for n in re.findall(r"[\d.]+", tension["between"])]
    assert low < rest["low_n"] and high > rest["high_n"]
    best = vibration.best_span(data)[0]
    assert answer(view, "measure")["value"] == best["from"] + " to " + best["to"]
    assert view["route"]["measured"]


def test_the_tension_band_holds_what_a_belt_off_by_the_error_gives():
    """Solved anew for belts longer and shorter by what the path may be off."""
    data = measured("automatic")
    half = drive_spread.spread(data)["effective_mm"]
    found = []
    for off in (-half, half):
        one = copy.deepcopy(data)
        one["belt"]["effective_mm"] += off
        found.append(tensioner.rest(one)["tension_n"])
    friction = data["tensioner"]["friction"]
    told = answer(driveview.view(data, SHOP), "tension")["between"]
    low, high = [float(n) for n in re.findall(r"[\d.]+", told)]
    assert low == pytest.approx(min(found) * (1 - friction), rel=0.02)
    assert high == pytest.approx(max(found) * (1 + friction), rel=0.02)


def test_belt_and_path_are_compared_with_what_the_measuring_can_tell():
    data = measured("automatic")
    length = drive.solve(data)["effective_mm"]
    for belt, good_to, told in ((length + 4, 3.0, "4 mm longer than its path as measured: within what the measuring can tell."),
                                (length - 40, 3.0, "40 mm shorter than its path as measured: more than the measuring can miss."),
                                (length + 4, None, "4 mm longer than its path as measured.")):
        one = measured("automatic", good_to)
        one["belt"]["effective_mm"] = belt
        view = driveview.view(one, SHOP)
        assert told in answer(view, "length")["lines"][0]
        assert ("not recorded" in view["remark"]) == (good_to is None)


def test_a_target_gives_the_reading_to_expect_and_the_slip():
    data = measured("eccentric")
    view = driveview.view(data, SHOP)
    assert "Set a target" in answer(view, "measure")["lines"][1] and answer(view, "running")["missing"]
    view = driveview.view(data, SHOP, {"low_n": 400.0, "high_n": 500.0})
    best = vibration.best_span(data, 400.0, 500.0)[0]
    assert "about " + numbers.fixed(best["hz"], 0) + " Hz" in answer(view, "measure")["lines"][1]
    assert "for the target" in answer(view, "measure")["lines"][1] and not answer(view, "running")["missing"]


def test_slip_is_told_from_worst_to_best():
    found = answer(driveview.view(measured("automatic"), SHOP), "running")
    usual, low, high = [float(n) for n in re.findall(r"\d+\.\d", found["between"])]
    assert low <= usual <= high and found["rows"]
    assert "the belt may slip" in found["lines"][0]


def test_a_page_leaves_the_slip_for_later_and_its_link_works_it_out_at_once():
    data = measured("automatic")
    page, whole = driveview.view(data, SHOP, path="/drives/1"), driveview.view(data, SHOP, path="/drives/1", whole=True)
    assert page["later"] == "/drives/1/_slip" and "running" not in [one["id"] for one in page["answers"]]
    assert whole["later"] == "" and answer(whole, "running")["open"]
    assert dict(answer(whole, "running"), open=False) == answer(driveview.view(data, SHOP), "running")


def test_angles_below_0_have_the_minus_sign_of_print():
    found = answer(driveview.view(measured("automatic"), SHOP), "tensioner")
    assert "arm at \u221273" in found["between"] and not [text for text in texts(found) if re.search(r"-\d", text)]


def test_lengths_alone_do_not_tell_a_fixed_belts_tension():
    assert "Take a reading" in answer(driveview.view(samples.load("fixed"), SHOP), "tension")["missing"]
    found = answer(driveview.view(measured("fixed"), SHOP), "tension")
    assert not found["value"] and "From the lengths alone" in found["lines"][0]


def test_other_units_are_the_shops():
    view = driveview.view(measured("automatic"), {"length_unit": "in", "force_unit": "lbf"})
    assert answer(view, "length")["unit"] == "in" and answer(view, "tension")["unit"] == "lbf"
    rest = tensioner.rest(measured("automatic"))
    assert float(answer(view, "tension")["value"]) == pytest.approx(rest["tension_n"] / 4.4482216152605, rel=0.005)
    assert float(answer(view, "length")["value"]) == pytest.approx(drive.solve(measured("automatic"))["effective_mm"] / 25.4, abs=0.006)


@pytest.mark.parametrize("name", samples.NAMES)
def test_one_number_missing_costs_only_what_needs_it(name):
    whole = samples.load(name)
    parts = [("belt", key) for key in whole["belt"]] + [("tensioner", key) for key in whole["tensioner"] if key != "kind"]
    parts += [(i, key) for i in range(len(whole["pulleys"])) for key in ("x_mm", "diameter_mm")]
    for part, key in parts:
        data = measured(name)
        (data["pulleys"][part] if isinstance(part, int) else data[part])[key] = None
        view = driveview.view(data, SHOP)
        assert view["route"] is not None and len(view["answers"]) == 7
        for one in view["answers"]:
            assert one["missing"] or one["value"] or one["rows"] or one["lines"], (part, key, one["id"])
        assert not [text for text in texts(view) if "None" in text or "_mm" in text or "drive_number" in text], (part, key)
        if isinstance(part, int):
            assert whole["pulleys"][part]["name"] in view["lacking"]
            assert answer(view, "length")["missing"]
        elif part == "tensioner":
            assert answer(view, "length")["value"]


@pytest.mark.parametrize("data,told", [
    ({}, "A belt needs at least two pulleys."),
    ({"pulleys": [{"name": "crank", "kind": "crank", "x_mm": 0, "y_mm": 0, "diameter_mm": 150}]}, "A belt needs at least two pulleys."),
    ({"pulleys": [{"name": "a", "x_mm": 0, "y_mm": 0}, {"name": "b"}]}, "One pulley, and only one, has to be the crankshaft's."),
    ({"pulleys": [{"kind": "crank"}, {"name": "b"}]}, "Give this pulley a name."),
])
def test_what_is_no_drive_yet_says_what_it_lacks(data, told):
    view = driveview.view(data, SHOP)
    assert [p["sentence"] for p in view["problems"]] == [told]
    assert view["answers"] == [] and view["thread"] == []


def test_faults_are_told_and_marked():
    data = measured("automatic")
    data["pulleys"][3]["x_mm"], data["pulleys"][3]["y_mm"] = 20, 230
    view = driveview.view(data, SHOP)
    assert [p for p in view["problems"] if p["kind"] == "stop" and "overlap" in p["sentence"]]
    assert view["route"]["pulleys"][3]["mark"]


def test_two_arm_and_unknown_tensioners_name_what_decides():
    view = driveview.view(measured("two_arm"), SHOP)
    assert "judged by its marks" in " ".join(answer(view, "tensioner")["lines"])
    data = measured("automatic")
    data["tensioner"]["kind"] = "unknown"
    view = driveview.view(data, SHOP)
    assert "Say first which kind of tensioner" in answer(view, "tensioner")["missing"]
    assert answer(view, "measure")["value"]


def test_the_phone_tells_the_same():
    drives = [measured(name) for name in samples.NAMES] + [samples.load("automatic"), {}]
    cases = [{"module": "screens.driveview", "function": "view", "args": [one, SHOP]} for one in drives]
    for one, there in zip(drives, on_wasm(cases=cases)["cases"], strict=True):
        here = json.loads(json.dumps(driveview.view(one, SHOP)))
        assert there["value"] == here, one.get("name")


# ---- bad input ----

def _bent(rng, data):
    """A drive with a few numbers at their limits, missing or drawn at random, all of which the drive form takes."""
    for _ in range(rng.integers(1, 6)):
        part, rules = [(data["belt"], drive_form.BELT_KEYS), (data["tensioner"], drive_form.TENSIONER_KEYS),
                       *[(pulley, drive_form.PULLEY_KEYS) for pulley in data["pulleys"]]][rng.integers(0, 2 + len(data["pulleys"]))]
        key, rule, _otherwise = rules[rng.integers(0, len(rules))]
        if rule[0] in ("number", "whole"):
            part[key] = [None, rule[1], rule[2], float(rng.uniform(rule[1], rule[2])) if rule[0] == "number" else None][rng.integers(0, 4)]
        elif rule[0] == "pair":
            part[key] = [None, [rule[1], rule[2]], [0, 0]][rng.integers(0, 3)]
        elif rule[0] == "choice":
            codes = [code for code, _label in words.choice_pairs(rule[1])]
            part[key] = codes[rng.integers(0, len(codes))]
        elif rule[0] == "load":
            part[key] = [None, {}, {"torque_nm": 0}, {"torque_nm": 1000}, {"amperes": 100}][rng.integers(0, 5)]
        elif key == "pulley":
            part[key] = [None, data["pulleys"][0]["name"], data["pulleys"][-1]["name"]][rng.integers(0, 3)]
    return data


def test_absurd_numbers_are_answered_in_words():
    rng = numpy.random.default_rng(7)
    for _ in range(300):
        data = _bent(rng, samples.load(samples.NAMES[rng.integers(0, len(samples.NAMES))]))
        view = driveview.view(data, SHOP, [None, {"low_n": 300.0, "high_n": 400.0}][rng.integers(0, 2)])
        told = json.dumps(view, allow_nan=False)
        assert "None" not in told and "inf" not in told.replace("information", ""), data


@pytest.mark.parametrize("part,changes,name,told", [
    ("tensioner", {"stops_deg": [-30, -10]}, "tensioner", "too short"),
    ("tensioner", {"pulley": None}, "running", "which pulley the tensioner moves"),
    ("tensioner", {"torque_nm": 450, "stops_deg": None}, "running", "more than any belt here carries"),
])
def test_what_stands_in_the_way_is_named(part, changes, name, told):
    data = measured("automatic")
    data[part].update(changes)
    found = answer(driveview.view(data, SHOP), name)
    assert told in found["missing"]


def test_a_belt_that_drives_nothing_does_not_slip():
    data = samples.two(140, 60, 200, 750, "slotted")
    data["pulleys"][1]["load"] = {"torque_nm": 0}
    found = answer(driveview.view(data, SHOP, {"low_n": 300.0, "high_n": 400.0}), "running")
    assert "nothing slips" in found["missing"]
