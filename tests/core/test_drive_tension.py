"""What a recorded drive adds to the tension and belts screens, through the core's one door.

The drives are the invented examples of tests/core/drives. Outside checks name what they are checked against.
"""

import copy
import math
import subprocess
import sys

import pytest
from scipy import optimize

from tests.core import drive_samples as samples
from tests.core.test_measuring_screens import JOB, PLUCK, SHOP, Phone, problem_fields, readings, record_belt, swapped
from webapp.core import drive, drive_data, drive_entry, drive_form, tensioner, words

outside = pytest.mark.outside
STEP = ("step", "read")


def record_drive(phone, data):
    phone.add("drive_recorded", {"name": "Invented", "engine": None, "origin": "tape", "copied_from": None, "shared": False,
                                 "drive": drive_entry.from_drive(data)}, "1")


def ready(name, old="", new="", target=None, shop=None, **changes):
    """A job whose drive is one of the samples, with belts and a target where they are given."""
    data = samples.load(name)
    data["tensioner"].update(changes)
    phone = Phone(data["tensioner"]["kind"], shop=shop)
    record_drive(phone, data)
    for place, marking in (("old", old), ("new", new)):
        if marking:
            record_belt(phone, place, marking)
    if target:
        phone.post("/1/target", ("kind", "maker"), ("belt_state", "new"), ("low", target[0]), ("high", target[1]), ("unit", "N"),
                   ("source", "Invented book"))
    return phone, data


def typed(phone, method="pluck", **changes):
    """What the set-up holds when it opens, as its form would send it."""
    fields = phone.get("/1/tension/" + method)["context"]["f"]
    pairs = []
    for name, field in fields.items():
        if "options" in field:
            pairs += [(name, option["value"]) for option in field["options"] if option["on"]]
        else:
            pairs.append((name, field["value"]))
            pairs += [(name + "_unit", unit["value"]) for unit in field.get("units", []) if unit["on"]]
    pairs += [("reading_unit", "mm")]
    return swapped(pairs, **changes)


def read(phone, *hz, method="pluck", **changes):
    return phone.get("/1/tension/" + method, *typed(phone, method, **changes), STEP, *readings(*hz))["context"]["told"]


def band_of(sentence):
    """The two numbers of "Expect 96 to 118 Hz for ..."."""
    parts = sentence.split(" ")
    return float(parts[1]), float(parts[3])


# ---- which span ----

@pytest.mark.parametrize("name", samples.NAMES)
def test_the_spans_stand_in_order_with_the_best_first(name):
    phone, data = ready(name)
    found = phone.get("/1/tension")["context"]["spans"]
    solved = {one["from"] + " – " + one["to"]: one["length_mm"] for one in drive.solve(data)["spans"]}
    assert sorted(one["name"] for one in found) == sorted(solved)
    assert [one["best"] for one in found] == [True] + [False] * (len(found) - 1)
    for one in found:
        assert float(one["length"]["value"]) == pytest.approx(solved[one["name"]], abs=0.5)
        assert one["reason"] in words.REASONS.values()
    if data["tensioner"]["kind"] in tensioner.ARM:
        beside = [data["tensioner"]["pulley"] in one["name"] for one in found]
        assert beside == sorted(beside), "spans beside the arm come last"


def test_the_set_up_opens_with_the_best_span_and_the_drives_belt():
    phone, _data = ready("automatic")
    assert dict(typed(phone)) == {
        "span": "crank – compressor", "length": "250", "length_unit": "mm", "length_error": "3.1", "length_error_unit": "mm",
        "section": "PK", "ribs": "6", "mass": "", "mass_unit": "g", "belt_length": "1420", "belt_length_unit": "mm", "force": "",
        "force_unit": "N", "engine_temperature": "cold", "tool": "", "reading_unit": "mm"}


@outside("law of propagation on L^2 = d^2 - (r1 - r2)^2, by hand: crank without error, compressor within 3 mm, rims within 1 mm")
def test_the_length_says_how_good_it_is():
    phone, _data = ready("automatic")
    # Centres (0, 0) and (250, 15), radii 75 and 60: dL/dd = d / L, dL/dr = -+ 15 / L.
    apart = math.hypot(250, 15)
    length = math.sqrt(apart**2 - 15**2)
    expected = math.hypot(apart / length * 3, 15 / length * 0.5, 15 / length * 0.5)
    assert float(dict(typed(phone))["length_error"]) == pytest.approx(expected, abs=0.1)


def test_another_span_is_chosen_and_what_was_typed_stays():
    phone, data = ready("automatic")
    spans = phone.get("/1/tension")["context"]["spans"]
    form = typed(phone, length="261", tool="my phone", mass="155", engine_temperature="hot")
    context = phone.get("/1/tension/pluck", *form, STEP, ("choose", spans[1]["index"]))["context"]
    field = context["f"]
    assert (field["span"]["value"], field["length"]["value"]) == (spans[1]["name"], spans[1]["length"]["value"])
    assert (field["tool"]["value"], field["mass"]["value"]) == ("my phone", "155")
    assert [one["name"] for one in context["spans"] if one["on"]] == [spans[1]["name"]]
    # From the overview nothing was typed yet.
    fresh = phone.get("/1/tension/press", ("choose", spans[1]["index"]))["context"]["f"]
    assert (fresh["span"]["value"], fresh["belt_length"]["value"]) == (spans[1]["name"], "1420")


@pytest.mark.parametrize("index", ["", "99", "-1", "x", "<b>", "0" * 300])
def test_a_span_that_is_not_there_changes_nothing(index):
    phone, _data = ready("automatic")
    context = phone.get("/1/tension/pluck", *typed(phone, span="my own", length="261"), ("choose", index))["context"]
    assert (context["f"]["span"]["value"], context["f"]["length"]["value"]) == ("my own", "261")


def test_the_last_reading_comes_before_the_best_span():
    phone, _data = ready("automatic")
    phone.post("/1/tension/pluck", *typed(phone, span="idler – alternator", length="107"), *readings("210", "211", "209"))
    assert dict(typed(phone))["span"] == "idler – alternator" and dict(typed(phone))["length"] == "107"


@pytest.mark.parametrize("changes, said", [
    ({}, "the recorded drive, 250 ± 3.1 mm"), ({"length": "252"}, "typed; the recorded drive gives 250 ± 3.1 mm"),
    ({"span": "my own"}, "typed")])
def test_the_record_says_where_the_length_came_from(changes, said):
    phone, _data = ready("automatic")
    phone.post("/1/tension/pluck", *typed(phone, **changes), *readings("130", "131", "129"))
    data = phone.standing("span_read")[0]["data"]
    assert data["shown"]["length_from"] == said
    assert data["length"]["value"] == changes.get("length", "250")


def test_a_belt_that_was_weighed_for_the_drive_brings_its_mass():
    """Cord length = effective length + 2 pi b, b = 2.0 mm for PK (ISO 9981:2020, 5.4)."""
    data = samples.load("slotted")
    data["belt"] = {"section": "PK", "ribs": 6, "effective_mm": 1100.0, "kg_per_m": 0.1}
    phone = Phone("slotted")
    record_drive(phone, data)
    assert float(dict(typed(phone))["mass"]) == pytest.approx(0.1 * (1100 + 4 * math.pi), abs=0.06)


# ---- what to expect ----

@outside("Mersenne's law: the plain string of the usual mass at the window's middle lies inside, its halves and doubles do not")
@pytest.mark.parametrize("name, low, high", [("slotted", 400, 500), ("automatic", 350, 500), ("eccentric", 300, 400)])
def test_the_expected_band_holds_the_string(name, low, high):
    phone, data = ready(name, target=(str(low), str(high)))
    told = read(phone)
    least, most = band_of(told["expect"]["sentence"])
    length = float(dict(typed(phone))["length"]) / 1000
    mass = drive_data.belt_numbers(drive_form.form(data))["kg_per_m"][0]
    string = math.sqrt((low + high) / 2 / mass) / (2 * length)
    assert least < string < most and not least < string * 2 < most and not least < string / 2 < most
    assert told["expect"]["working"] and not told["some"]
    tile = [one for one in phone.get("/1/tension/pluck")["context"]["spans"] if one["best"]][0]
    assert tile["expected"] == f"{least:.0f} to {most:.0f} Hz"


@outside("virtual work: M / r at the place of rest, r by the hub force (see test_tensioner.py)")
def test_without_a_target_the_spring_says_what_to_expect():
    phone, data = ready("automatic", old="6PK1420")
    sentence = read(phone)["expect"]["sentence"]
    assert "from the spring, as computed from the drive" in sentence
    rest = tensioner.rest(data)
    least, most = (float(word) for word in sentence.split(" for ")[1].split(" N")[0].split(" to "))
    assert least <= rest["low_n"] and rest["high_n"] <= most
    # Not idle: wider than friction alone by what the path is good to, but not without bounds.
    assert (most - least) < 3 * (rest["high_n"] - rest["low_n"])


def test_a_press_is_expected_in_the_unit_of_the_rule():
    phone, _data = ready("slotted", target=("400", "500"))
    metric = read(phone, method="press", force="40")["expect"]["sentence"]
    inches = read(phone, method="press", force="40", reading_unit="in")["expect"]["sentence"]
    assert " mm for " in metric and " in for " in inches
    assert band_of(inches)[1] * 25.4 == pytest.approx(band_of(metric)[1], abs=0.3)


def test_an_expectation_never_alters_the_answer():
    with_drive, _data = ready("slotted", target=("400", "500"))
    without = Phone("slotted")
    without.post("/1/target", ("kind", "maker"), ("belt_state", "new"), ("low", "400"), ("high", "500"), ("unit", "N"),
                 ("source", "Invented book"))
    form = typed(with_drive)
    one, other = [phone.get("/1/tension/pluck", *form, STEP, *readings("90", "91", "89"))["context"]["told"]
                  for phone in (with_drive, without)]
    assert [one[key] for key in ("tension", "low", "high", "verdict", "next")] == [other[key] for key in ("tension", "low", "high", "verdict",
                                                                                                         "next")]


@pytest.mark.parametrize("factor, part", [(1.0, None), (2.0, "ring another way"), (0.5, "ring another way"), (3.3, "Is it the right span")])
def test_a_reading_far_off_is_a_question(factor, part):
    """A string's second mode has twice the frequency: Rao, Vibration of Continuous Systems, ch. 8."""
    phone, _data = ready("slotted", target=("400", "500"))
    least, most = band_of(read(phone)["expect"]["sentence"])
    hz = f"{(least + most) / 2 * factor:.0f}"
    told = read(phone, hz, hz, hz)
    asked = [doubt for doubt in told["doubts"] if doubt.endswith("?")]
    assert len(asked) == (0 if part is None else 1) and (part is None or part in asked[0])
    assert told["decided"] and told["tension"]


def test_a_reading_that_suits_another_span_names_it():
    phone, _data = ready("automatic", target=("400", "500"))
    spans = phone.get("/1/tension")["context"]["spans"]
    low, high = (float(part) for part in spans[3]["expected"].split(" Hz")[0].split(" to "))
    hz = f"{(low + high) / 2 + 60:.0f}"
    asked = [doubt for doubt in read(phone, hz, hz, hz)["doubts"] if doubt.endswith("?")]
    assert len(asked) == 1 and " – " in asked[0].split("it would suit ")[1]


# ---- after a reading ----

def longer_path(data, move):
    """Effective length of the path after a move of the tensioner's pulley, by solving the drive afresh [mm]."""
    out = copy.deepcopy(data)
    arm = out["tensioner"]
    pulley = next(p for p in out["pulleys"] if p["name"] == arm["pulley"])
    if arm["kind"] == "lead_screw":
        turn = math.radians(arm["slot_deg"])
        pulley["x_mm"] += move * math.cos(turn)
        pulley["y_mm"] += move * math.sin(turn)
    else:
        dx, dy = pulley["x_mm"] - arm["pivot_x_mm"], pulley["y_mm"] - arm["pivot_y_mm"]
        turn = math.radians(move)
        pulley["x_mm"] = arm["pivot_x_mm"] + dx * math.cos(turn) - dy * math.sin(turn)
        pulley["y_mm"] = arm["pivot_y_mm"] + dx * math.sin(turn) + dy * math.cos(turn)
    return drive.solve(out)["effective_mm"]


@outside("SciPy: brentq on the length of the whole drive solved afresh, Hooke's law for how much longer it has to be")
@pytest.mark.parametrize("name, unit, reach", [("lead_screw", "turns", 30), ("eccentric", "degrees", 80), ("slotted", "mm", 20)])
def test_how_far_to_move_is_where_the_path_is_long_enough(name, unit, reach):
    phone, data = ready(name, target=("400", "500"))
    least, _most = band_of(read(phone)["expect"]["sentence"])
    hz = f"{least * 0.75:.0f}"
    told = read(phone, hz, hz, hz)
    assert told["code"] == "low"
    hint = told["hints"][0]
    assert hint["unit"] == unit and hint["sentence"].startswith("Tighten: ")
    belt = drive_data.belt_numbers(drive_form.form(data))
    pitch = drive.solve(data)["pitch_mm"]
    now = float(told["tension"])

    def move(tension, stiffness):
        grow = pitch * (450 - tension) / stiffness
        sign = 1 if longer_path(data, 0.5) > longer_path(data, 0) else -1
        found = optimize.brentq(lambda m: longer_path(data, sign * m) - longer_path(data, 0) - grow, 0, reach)
        if unit == "turns":
            return found / data["tensioner"]["mm_per_turn"]
        if name == "slotted":
            pulley = next(p for p in data["pulleys"] if p["name"] == data["tensioner"]["pulley"])
            return math.radians(found) * math.hypot(pulley["x_mm"] - data["tensioner"]["pivot_x_mm"],
                                                    pulley["y_mm"] - data["tensioner"]["pivot_y_mm"])
        return found

    low, high = (float(part.split(" ")[0]) for part in hint["between"].split(" to "))
    value = float(hint["value"])
    # The shown tension is rounded, and so is the move.
    assert value == pytest.approx(move(now, belt["axial_n"][0]), rel=0.05)
    assert low <= move(float(told["high"]) * 0.98, belt["axial_n"][2]) and move(float(told["low"]) * 1.03, belt["axial_n"][1]) <= high
    assert low < value < high
    assert [label for label, _text in hint["working"]][:2] == ["Formula", "With the numbers"]


def test_too_tight_is_loosened_the_other_way():
    phone, _data = ready("lead_screw", target=("300", "350"))
    slack, tight = [read(phone, hz, hz, hz)["hints"][0]["sentence"] for hz in ("70", "140")]
    assert slack.startswith("Tighten: ") and slack.endswith("up and right.")
    assert tight.startswith("Loosen: ") and tight.endswith("down and left.")


def test_nothing_is_moved_inside_the_target_or_without_one():
    phone, _data = ready("eccentric", target=("200", "1200"))
    hz = str(int(sum(band_of(read(phone)["expect"]["sentence"])) / 2))
    assert read(phone, hz, hz, hz)["hints"] == []
    assert read(ready("eccentric")[0], "100", "101", "99")["hints"] == []


@pytest.mark.parametrize("changes, said", [({"pulley": None}, "which pulley the tensioner moves"), ({"pivot_x_mm": None, "pivot_y_mm": None}, "pivot")])
def test_a_number_that_lacks_is_named_and_led_to(changes, said):
    phone, _data = ready("eccentric", target=("400", "500"), **changes)
    hint = read(phone, "80", "81", "79")["hints"][0]
    assert said in hint["sentence"] and hint["path"].startswith("/jobs/" + JOB + "/1/drive/tensioner#")
    assert hint["value"] == ""


@pytest.mark.parametrize("share, code", [(1.0, "spring-agrees"), (0.25, "spring-low"), (4.0, "spring-high")])
def test_a_spring_is_compared_with_the_reading(share, code):
    """The string's frequency for a share of M / r (Mersenne's law and virtual work)."""
    phone, data = ready("automatic", old="6PK1420")
    tension = tensioner.rest(data)["tension_n"] * share
    hz = f"{math.sqrt(tension / 0.108) / 0.5:.0f}"
    hint = read(phone, hz, hz, hz)["hints"][0]
    assert hint["sentence"] == words.REASONS[code] and hint["kind"] == ("good" if share == 1 else "watch")
    assert words.REASONS["marks-decide"] in hint["notes"]
    # The shown value is rounded to what its interval is worth.
    assert float(hint["value"]) == pytest.approx(tensioner.rest(data)["tension_n"], rel=0.03)


@pytest.mark.parametrize("key, said", [("torque_nm", "torque"), ("rate_nm_per_deg", "rate"), ("at_deg", "angle"), ("pivot_x_mm", "pivot")])
def test_a_spring_without_its_numbers_names_them(key, said):
    phone, _data = ready("automatic", **{key: None})
    told = read(phone, "130", "131", "129")
    for hint in (told["expect"], told["hints"][0]):
        assert said in hint["sentence"] and "/1/drive/tensioner#" in hint["path"]


def test_a_two_arm_tensioner_is_left_to_its_marks():
    phone, _data = ready("two_arm")
    told = read(phone, "130", "131", "129")
    assert told["expect"]["sentence"] == words.ERRORS["two-arm"] and told["hints"] == []
    assert all(one["expected"] == "" for one in phone.get("/1/tension")["context"]["spans"])


def test_facts_and_drive_that_name_two_tensioners_are_asked_about():
    phone = Phone("eccentric")
    record_drive(phone, samples.load("automatic"))
    context = phone.get("/1/tension")["context"]
    assert context["differ"] == "The facts say: Manual eccentric roller. The recorded drive says: Automatic, spring arm. One of them is wrong."
    assert [hint["sentence"] for hint in read(phone, "130", "131", "129")["hints"]] == [context["differ"]]


def test_a_half_known_drive_says_what_it_lacks_and_nothing_breaks():
    phone = Phone("automatic")
    phone.add("drive_recorded", {"name": "x", "engine": None, "origin": "tape", "copied_from": None, "shared": False,
                                 "drive": drive_entry.blank()}, "1")
    record_belt(phone, "old", "6PK1420")
    context = phone.get("/1/tension")["context"]
    assert context["spans"] == [] and context["spans_lack"]["sentence"] == words.ERRORS["few-pulleys"]
    assert phone.get("/1/belts")["status"] == 200
    told = phone.get("/1/tension/pluck", *PLUCK, STEP, *readings("110", "111", "109"))["context"]["told"]
    assert told["decided"] and phone.post("/1/tension/pluck", *PLUCK, *readings("110", "111", "109"))["do"] == "record"
    data = samples.load("automatic")
    data["pulleys"][2]["diameter_mm"] = None
    other = Phone("automatic")
    record_drive(other, data)
    lack = other.get("/1/tension")["context"]["spans_lack"]
    assert "idler" in lack["sentence"] and "/1/drive/pulleys/2#diameter" in lack["path"]


@pytest.mark.parametrize("method, changes", [
    ("pluck", {"length": "nan"}), ("pluck", {"length": "1e309"}), ("pluck", {"section": "XX"}), ("pluck", {"section": ""}),
    ("pluck", {"ribs": "-4"}), ("pluck", {"mass": "x"}), ("press", {"force": "nan"}), ("press", {"force": "-5"}), ("press", {"force": ""})])
def test_bad_input_is_refused_with_a_drive_too(method, changes):
    phone, _data = ready("automatic", target=("400", "500"))
    form = typed(phone, method, **changes)
    before = len(phone.events)
    assert problem_fields(phone.post("/1/tension/" + method, *form, *readings("110", "111", "109"))) == list(changes)
    assert phone.get("/1/tension/" + method, *form)["status"] == 200
    assert len(phone.events) == before


@pytest.mark.parametrize("unit", ["furlong", ""])
def test_a_unit_that_is_none_is_no_fault_of_the_server(unit):
    phone, _data = ready("automatic", target=("400", "500"))
    assert phone.get("/1/tension/press", *typed(phone, "press", force="40", reading_unit=unit), STEP)["do"] == "page"
    assert phone.get("/1/tension/_result", ("method", "press"), *typed(phone, "press", force="40", reading_unit=unit))["do"] == "page"


# ---- old and new belt ----

def hints_of(phone):
    return {hint["title"]: hint for hint in phone.get("/1/belts")["context"]["drive_hints"]}


@outside("SciPy: brentq for the angle at which spring and stretched belt agree, on the drive solved afresh (see test_tensioner.py)")
@pytest.mark.parametrize("new, kind", [("6PK1420", "good"), ("6PK1424", "good"), ("6PK1400", "watch"), ("6PK1480", "stop"),
                                       ("6PK1380", "stop"), ("6PK2000", "stop"), ("6PK900", "stop")])
def test_the_arm_is_told_for_both_belts(new, kind):
    phone, data = ready("automatic", "6PK1420", new)
    hint = hints_of(phone)["Arm with the new belt"]
    assert hint["kind"] == kind
    context = phone.get("/1/belts")["context"]
    line = context["reasons"][-1]
    assert line.endswith(hint["sentence"]) and line.startswith("STOP: ") == (kind == "stop")
    if hint["value"]:
        data["belt"]["effective_mm"] = float(new[3:])
        rest = tensioner.rest(data)
        assert f" at {hint['value']} % of its travel" in line
        assert float(hint["value"]) == pytest.approx(100 * rest["travel_used"], abs=0.51)
        low, high = (float(part.split(" ")[0]) for part in hint["between"].split(" to "))
        assert low <= 100 * rest["travel_used"] <= high


def test_a_belt_that_cannot_go_on_is_said_in_words_and_the_rules_stay():
    phone, _data = ready("automatic", "6PK1420", "6PK900")
    context = phone.get("/1/belts")["context"]
    assert context["verdict"]["kind"] == "stop" and context["reasons"][0].startswith("520 mm shorter.")
    assert context["reasons"][-1].startswith("STOP: The belt is too short by about")
    same, _data = ready("automatic", "6PK900", "6PK900")
    verdict = same.get("/1/belts")["context"]["verdict"]
    assert (verdict["kind"], verdict["word"]) == ("watch", "Same, but not for this drive")


@outside("SciPy: brentq for the belt lengths that rest on the marks")
def test_the_window_of_lengths_is_that_of_the_marks():
    phone, data = ready("automatic", "6PK1420", "6PK1420")
    sentence = hints_of(phone)["Lengths that fit"]["sentence"]
    low, high = (float(part) for part in sentence.split("Belts of ")[1].split(" mm keep")[0].split(" to "))

    def angle(length):
        other = copy.deepcopy(data)
        other["belt"]["effective_mm"] = length
        return tensioner.rest(other)["angle_deg"]

    marks = sorted(optimize.brentq(lambda length: angle(length) - mark, 1385, 1445, xtol=1e-6) for mark in data["tensioner"]["marks_deg"])
    assert (low, high) == (pytest.approx(marks[0], abs=0.51), pytest.approx(marks[1], abs=0.51))


def test_how_far_the_pointer_moves_between_the_belts():
    phone, data = ready("automatic", "6PK1420", "6PK1410")
    note = hints_of(phone)["Arm with the new belt"]["notes"][-1]
    turn = abs(tensioner.compare(data, 1410.0)["turn_deg"])
    assert note.startswith(f"The pointer stands {turn:.1f} degrees further back than with the old belt")


def test_a_spring_without_numbers_is_named_on_the_belts_too():
    phone, _data = ready("automatic", "6PK1420", "6PK1420", torque_nm=None)
    hint = phone.get("/1/belts")["context"]["drive_hints"][0]
    assert "torque" in hint["sentence"] and hint["path"].endswith("torque_nm")
    assert phone.get("/1/belts")["context"]["verdict"]["word"] == "Same"


@pytest.mark.parametrize("name, marking, kind", [("stretch_fit", None, "good"), ("fixed", None, "good"), ("fixed", 1.03, "watch")])
def test_fixed_centres_take_only_what_suits_the_path(name, marking, kind):
    data = samples.load(name)
    length = data["belt"]["effective_mm"] * (marking or 1.0)
    text = f"{data['belt']['ribs']}{data['belt']['section']}{length:.0f}"
    phone, _data = ready(name, text, text)
    hint = hints_of(phone)["New belt on this drive"]
    assert hint["kind"] == kind and hint["working"]


def test_a_belt_of_another_line_is_not_put_on_the_drive():
    phone, _data = ready("automatic", "6PK1420")
    phone.post("/1/belts/new", ("step", "marking"), ("unreadable", "yes"), ("section", "PK"))
    assert hints_of(phone)["Arm with the new belt"]["sentence"] == words.REASONS["arm-no-length"]


# ---- a job without a drive ----

def test_a_job_without_a_drive_stays_as_it_was_and_loads_no_drive_module():
    """A phone pays for every module in start-up time."""
    script = ("import sys; from tests.core.test_measuring_screens import *\n"
              "loaded = [n for n in list(sys.modules) if 'webapp.core' in n and ('drive' in n or 'tensioner' in n)]\n"
              "for n in loaded: del sys.modules[n]\n"
              "p = Phone(); record_belt(p, 'old', '6PK1500'); record_belt(p, 'new', '6PK1500')\n"
              "for a in ('/1/tension', '/1/belts', '/1/tension/pluck', '/1/tension/press', '/1/target'): assert p.get(a)['status'] == 200\n"
              "c = p.get('/1/tension/pluck', *PLUCK, ('step', 'read'), *readings('110', '111', '109'))['context']\n"
              "assert c['told']['hints'] == [] and 'expect' not in c['told']\n"
              "assert p.post('/1/tension/pluck', *PLUCK, *readings('110', '111', '109'))['do'] == 'record'\n"
              "print([n for n in sys.modules if 'webapp.core' in n and ('.drive' in n or 'tensioner' in n or 'vibration' in n)])")
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_shop_in_pounds_and_inches_gets_its_units():
    shop = dict(SHOP, force_unit="lbf", length_unit="in")
    phone, data = ready("automatic", "6PK1420", shop=shop)
    told = read(phone, "130", "131", "129")
    assert told["hints"][0]["unit"] == "lbf" and " lbf, from the spring" in told["expect"]["sentence"]
    # 1 lbf = 4.4482216152605 N: NIST SP 811.
    assert float(told["hints"][0]["value"]) * 4.4482216152605 == pytest.approx(tensioner.rest(data)["tension_n"], rel=0.03)
    assert " in keep the pointer" in hints_of(phone)["Lengths that fit"]["sentence"]
