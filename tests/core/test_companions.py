"""What a cause brings with it: parts, looks with a written result, causes behind the cause.

Expected values are common practice without a source, written down here apart from the module's own tables.
"""

import json
from pathlib import Path

import pytest

from webapp.core import companions, findings

TABLE = json.loads((Path(__file__).parents[2] / "webapp" / "data" / "causes.json").read_text(encoding="utf-8"))
OUTCOMES = {(check["id"], outcome[0]) for check in TABLE["checks"] for outcome in check["outcomes"]}
JOB = {"loops": [{}], "voltage": "12", "start_stop": "none", "alternator_pulley": "one_way", "crank_pulley": "decoupler",
       "compressor": "clutch", "steering": "hydraulic", "water_pump": "this_belt", "access": "above"}
LOOP = {"belt": "ribbed", "ribs": 6, "tensioner": "automatic", "marks": "new_replace", "pin_hole": "yes"}


def known(changes=()):
    job, loop = dict(JOB), dict(LOOP)
    for name, value in dict(changes).items():
        (loop if name in loop else job)[name] = value
    return dict(findings.drive_facts(job, loop), idler="yes")


def needs(causes, changes=()):
    return {part["code"]: part["need"] for part in companions.parts(causes, known(changes))}


def due(causes, changes=(), answers=()):
    facts = known(changes)
    return [look["code"] for look in companions.upstream(causes, facts, companions.seen(causes, facts, list(answers)))]


def test_the_tables_name_only_what_they_hold():
    looks = [row[0] for row in companions.LOOKS]
    parts = [row[0] for row in companions.PARTS]
    assert len(set(looks)) == len(looks) and len(set(parts)) == len(parts)
    used = []
    for _, replace, inspect, behind, skipped in companions.CAUSES:
        used += inspect + behind
        assert skipped.endswith(".") and all(part in parts and need in ("must", "if_needed") for part, need, _ in replace)
    for _, _, _, shown, answered in companions.CHAINS:
        used += answered
        assert all(tuple(pair) in OUTCOMES for pair in shown)
    assert set(used) == set(looks)
    assert {row[2] for row in companions.LOOKS} - {""} <= {check["id"] for check in TABLE["checks"]}
    assert all(text.endswith("?") and len(text) <= 100 for _, text, _, _ in companions.LOOKS)


def test_every_cause_of_the_table_has_something_to_exclude():
    for cause in TABLE["causes"]:
        found = companions.upstream([cause["code"]], known({"tensioner": "automatic"}))
        manual = companions.upstream([cause["code"]], known({"tensioner": "slotted"}))
        assert found and manual, cause["code"]
        assert all(look["skipped"] and look["of"] == [cause["code"]] for look in found)


@pytest.mark.parametrize("cause,must,maybe", [
    ("B_WORN", {"belt"}, {"tensioner", "idler", "brush"}),
    ("B_CONT", {"belt", "brush"}, {"tensioner"}),
    ("TN_DAMP", {"tensioner", "belt"}, {"tensioner_bolt", "locking_pin", "threadlock"}),
    ("TN_BROKEN", {"tensioner", "tensioner_bolt", "belt"}, {"overrun"}),
    ("OAP_LOCK", {"overrun", "overrun_cap", "overrun_tool", "belt"}, {"tensioner"}),
    ("OAP_FREE", {"overrun", "overrun_cap", "overrun_tool"}, set()),
    ("ALT_BRG", {"alternator", "overrun_cap", "belt"}, set()),
    ("WP", {"pump", "pump_seal", "coolant", "belt"}, set()),
    ("PS", {"steering_pump", "steering_fluid"}, {"belt"}),
    ("TVD", {"damper", "crank_bolt", "belt"}, {"friction_washer", "clips", "tensioner", "overrun"}),
    ("CDEC", {"crank_decoupler", "crank_bolt", "belt"}, {"friction_washer"}),
    ("BRACKET", {"bracket", "bracket_bolts"}, {"belt"}),
])
def test_what_is_renewed_together(cause, must, maybe):
    found = needs([cause])
    assert {code for code in found if found[code] == "must"} == must
    assert maybe <= set(found)


@pytest.mark.parametrize("cause", ["MISFIRE", "OUTSIDE"])
def test_nothing_is_bought_for_a_cause_that_is_not_in_the_drive(cause):
    assert companions.parts([cause], known()) == []


@pytest.mark.parametrize("cause,behind", [
    ("TN_DAMP", {"alternator_pulley", "damper", "decoupler", "misfire"}),
    ("TN_BROKEN", {"alternator_pulley", "damper", "decoupler", "misfire", "tensioner_bolt", "timing_cover", "crank_seal", "bolt_history"}),
    ("OAP_LOCK", {"damper", "pulley_cap", "pulley_kind", "misfire"}),
    ("B_CONT", {"leak", "liner", "dressing", "leak_cured"}),
    ("TVD", {"oil_on_rubber", "crank_bolt", "alternator_pulley", "misfire", "trigger_ring", "crank_key"}),
    ("ALT_BRG", {"tension", "alternator_pulley", "alternator_wet", "in_line", "pulley_kind"}),
    ("OAP_FREE", {"shaft_thread", "alternator_drag", "alternator_last"}),
    ("WP", {"tension", "damper", "coolant", "belt_listed", "grooves_washed"}),
    ("B_WORN", {"ages"}),
])
def test_causes_behind_the_cause(cause, behind):
    assert behind <= set(due([cause]))


@pytest.mark.parametrize("answers,asked", [
    ([["C1", "frayed"]], {"seating", "damper", "arm_tilt", "in_line"}),
    ([["C22", "wet"]], {"leak_cured"}),
    ([["I3", "charging"]], {"alternator_last"}),
    ([["I3", "thrown"]], {"engine_front", "directions", "restart"}),
    ([["C15", "weeps"]], {"belt_listed", "grooves_washed"}),
])
def test_what_was_seen_asks_for_more(answers, asked):
    assert asked <= set(due(["MISFIRE"], answers=answers))
    assert not asked & set(due(["MISFIRE"]))


def test_a_second_tensioner_asks_for_its_history():
    found = {look["code"] for look in companions.upstream([], known(), ["second_tensioner"])}
    assert found == {"alternator_pulley", "damper", "misfire", "bolt_history"}


@pytest.mark.parametrize("changes,cause,gone", [
    ({"alternator_pulley": "solid"}, "TN_DAMP", "alternator_pulley"),
    ({"crank_pulley": "solid"}, "TN_DAMP", "damper"),
    ({"crank_pulley": "damper"}, "TN_DAMP", "decoupler"),
    ({"compressor": "clutchless"}, "AC", "relay"),
    ({"tensioner": "slotted"}, "TN_BROKEN", "tensioner_bolt"),
    ({"tensioner": "automatic"}, "T_LOW", "run_in"),
])
def test_what_the_drive_does_not_have_is_not_asked(changes, cause, gone):
    assert gone not in due([cause], changes)
    assert gone in [row[0] for row in companions.LOOKS]


def test_a_solid_pulley_needs_no_cap_and_no_tool():
    assert not {"overrun", "overrun_cap", "overrun_tool"} & set(needs(["ALT_BRG", "TVD"], {"alternator_pulley": "solid"}))


def test_what_is_not_known_is_if_needed_only():
    facts = findings.drive_facts(None, None)
    found = {part["code"]: part["need"] for part in companions.parts(["TN_DAMP"], facts)}
    assert found["guide"] == found["tensioner"] == found["locking_pin"] == "if_needed" and found["belt"] == "must"


def test_a_stretch_fit_belt_that_came_off_is_renewed():
    changes = {"tensioner": "stretch_fit", "belt": "stretch"}
    found = needs(["AC"], changes)
    assert found["belt"] == "must" and found["guide"] == "must"
    belt = [part for part in companions.parts(["AC"], known(changes)) if part["code"] == "belt"][0]
    assert "exact part only" in belt["true"] and any("cut off" in why for why in belt["why"])
    assert "belt_listed" in due(["AC"], changes) and "belt_listed" not in due(["AC"])
    assert needs(["AC"])["belt"] == "if_needed"


@pytest.mark.parametrize("changes,code,key,text", [
    ({"alternator_pulley": "one_way"}, "overrun", "true", "one-way clutch"),
    ({"alternator_pulley": "decoupler"}, "overrun", "true", "spring decoupler"),
    ({"ribs": 5}, "belt", "true", "5 ribs"),
    ({"belt": "vbelt_pair"}, "belt", "how_many", "2, from one batch"),
    ({"tensioner": "two_arm"}, "locking_pin", "how_many", "2"),
    ({}, "tensioner", "true", "left-hand thread"),
    ({}, "overrun_cap", "single_use", True),
])
def test_a_part_says_what_must_be_true_of_it(changes, code, key, text):
    part = [part for part in companions.parts(["OAP_LOCK", "TN_DAMP"], known(changes)) if part["code"] == code][0]
    assert text is part[key] or text in part[key]


def test_two_causes_share_one_belt_and_say_both_reasons():
    found = [part for part in companions.parts(["B_WORN", "OAP_LOCK"], known()) if part["code"] == "belt"]
    assert len(found) == 1 and found[0]["why"] == ["it is worn out", "it was jerked and slipped"]
    look = [look for look in companions.upstream(["TN_DAMP", "OAP_LOCK"], known()) if look["code"] == "damper"][0]
    assert look["of"] == ["TN_DAMP", "OAP_LOCK"] and len(look["skipped"]) == 2 and look["check"] == "C17"


def test_what_must_be_there_comes_first():
    found = [part["need"] for part in companions.parts(["TVD", "TN_BRG", "WP"], known())]
    assert found == sorted(found, key=lambda need: need != "must")


def test_companions_are_the_parts_without_the_small_things_and_the_looks_in_writing():
    found = companions.companions(["TN_BROKEN"], known())
    assert [part["code"] for part in found["replace"]][:3] == ["tensioner", "tensioner_bolt", "belt"]
    assert not {"brush", "threadlock", "locking_pin"} & {part["code"] for part in found["replace"]}
    assert [look["code"] for look in found["inspect"]] == ["alternator_pulley", "damper", "decoupler", "idlers", "threads", "timing_cover"]


def test_a_cause_of_a_workshops_own_table_brings_nothing_and_breaks_nothing():
    assert companions.parts(["OWN_CAUSE"], known()) == [] and companions.upstream(["OWN_CAUSE"], known()) == []
    assert companions.companions(["OWN_CAUSE"], known()) == {"replace": [], "inspect": []}
