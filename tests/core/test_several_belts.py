"""A car with several belts: which one complains, and what is kept for it. Jobs and answers are invented."""

import pytest

from tests.core import drive_samples
from tests.core.test_cause_screens import TABLE, held
from tests.core.test_screens import FACTS, Phone, gated
from webapp.core import card, drive_entry, events, evidence, gaps, looks, picklist, reply

TWO = dict(FACTS, count="2", belt1="vbelt", ribs1="", tensioner1="slotted", marks1="none", pin_hole1="no", name1="Alternator belt",
           name2="Compressor belt", ribs2="6", belt2="ribbed", tensioner2="automatic", marks2="limits", pin_hole2="yes")


def two_belts():
    phone = held()
    assert phone.post("/jobs/{job}/facts", **TWO)["do"] == "record"
    return phone


def complains(phone, loop):
    made = phone.post("/jobs/{job}/cause/belt", belt=loop)
    assert made["do"] == "record", made
    return phone


def codes(phone, loop):
    return [part["code"] for part in picklist.of(phone.folded, loop)]


def test_a_car_with_one_belt_is_asked_nothing_more():
    phone = held()
    assert [] == phone.overview()["belts"]
    phone.answer("belt-ribs-by-eye", "cracks")
    phone.name("B_WORN")
    assert ["", ""] == [entry["loop"] for entry in phone.folded["answers"] + phone.folded["causes"]]
    assert not card.left_out(phone.folded, "1")


def test_which_belt_complains_is_one_tap_and_counts_for_what_follows():
    phone = two_belts()
    assert [False, False, False] == [row["on"] for row in phone.overview()["belts"]]
    complains(phone, "unknown")
    assert [False, False, True] == [row["on"] for row in phone.overview()["belts"]] and "" == phone.overview()["belt"]
    complains(phone, "2")
    assert [False, True, False] == [row["on"] for row in phone.overview()["belts"]]
    assert 1 == len(phone.folded["answers"])
    assert "automatic" == evidence.facts(phone.folded, "2")["tensioner"] and "slotted" == evidence.facts(phone.folded, "1")["tensioner"]
    assert "unknown" == evidence.facts(phone.folded, "")["tensioner"]


def test_checks_that_this_belt_cannot_have_go_and_those_that_it_can_come():
    phone = complains(two_belts(), "1")
    names = [row["name"] for group in phone.overview()["groups"] for row in group["rows"]]
    assert "Tensioner arm sweep" not in names and "Rib wear gauge" not in names
    complains(phone, "2")
    names = [row["name"] for group in phone.overview()["groups"] for row in group["rows"]]
    assert "Tensioner arm sweep" in names and "Rib wear gauge" in names


def test_what_was_seen_on_one_belt_is_not_seen_on_the_other_and_the_story_is_of_the_car():
    phone = complains(two_belts(), "2")
    phone.answer("kind-of-noise", "chirp")
    phone.answer("belt-ribs-by-eye", "cracks")
    assert [["I1", "chirp"], ["C1", "cracks"]] == evidence.answers(phone.folded, "2")
    assert [["I1", "chirp"]] == evidence.answers(phone.folded, "1")
    complains(phone, "1")
    phone.answer("belt-ribs-by-eye", "sound")
    assert [["I1", "chirp"], ["C1", "sound"]] == evidence.answers(phone.folded, "1")
    assert [["I1", "chirp"], ["C1", "cracks"]] == evidence.answers(phone.folded, "2")
    told = [pair[0] for pair in phone.get("/jobs/{job}/sheet")["context"]["cause"][0]["shown"]]
    assert ["Which belt complains", "Kind of noise", "Alternator belt: Belt ribs by eye", "Compressor belt: Belt ribs by eye"] == told


def test_an_answer_given_before_anybody_knew_the_belt_tells_of_every_belt():
    phone = two_belts()
    phone.answer("belt-ribs-by-eye", "frayed")
    complains(phone, "2")
    assert [["C1", "frayed"]] == evidence.answers(phone.folded, "1") == evidence.answers(phone.folded, "2")
    phone.answer("belt-ribs-by-eye", "cracks")
    assert [["C1", "cracks"]] == evidence.answers(phone.folded, "2") and [["C1", "frayed"]] == evidence.answers(phone.folded, "1")


def test_a_page_opened_for_one_belt_answers_for_that_belt():
    phone = complains(two_belts(), "1")
    shown = phone.get("/jobs/{job}/cause/check/belt-ribs-by-eye")["context"]
    assert ["1", "Alternator belt"] == [shown["belt"], shown["belt_name"]]
    complains(phone, "2")
    phone.answer("belt-ribs-by-eye", "wet", belt=shown["belt"])
    assert ["1"] == [entry["loop"] for entry in evidence.standing(phone.folded, "1") if entry["data"]["check"] == "C1"]
    assert "" == phone.get("/jobs/{job}/cause/check/kind-of-noise")["context"]["belt_name"]


def test_the_parts_of_a_cause_are_listed_on_its_belt_alone():
    phone = complains(two_belts(), "2")
    phone.answer("tensioner-arm-sweep", "play")
    assert phone.name("TN_DAMP")["do"] == "record"
    assert "2" == phone.folded["causes"][0]["loop"]
    assert "tensioner" in codes(phone, "2") and ["belt"] == codes(phone, "1")[:1] and "tensioner" not in codes(phone, "1")
    assert ["the cause is on another belt"] == picklist.of(phone.folded, "1")[0]["why"]
    assert phone.get("/jobs/{job}/1/parts")["context"]["elsewhere"] and not phone.get("/jobs/{job}/2/parts")["context"]["several"]


def test_an_old_cause_without_a_belt_stands_for_every_belt_until_it_is_named_for_one():
    phone = two_belts()
    phone.name("ID_BRG")
    assert "idler" in codes(phone, "1") and "idler" in codes(phone, "2") and phone.get("/jobs/{job}/1/parts")["context"]["several"]
    complains(phone, "2")
    phone.name("ID_BRG")
    assert ["2"] == [entry["loop"] for entry in phone.folded["causes"]] and "idler" not in codes(phone, "1")


def test_each_belt_may_have_causes_of_its_own():
    phone = complains(two_belts(), "2")
    phone.name("TN_DAMP")
    complains(phone, "1")
    assert ["Compressor belt: Tensioner damping lost or pivot worn"] == phone.overview()["elsewhere"] and phone.overview()["named"] is None
    phone.name("T_LOW")
    phone.name("T_LOW", "B_WORN")
    names = card.cause_names(phone.folded)
    assert ["Alternator belt: Belt tension too low", "Alternator belt: Belt worn", "Compressor belt: Tensioner damping lost or pivot worn"] == sorted(names)
    assert ["done", ", ".join(names)] == card.step_state(phone.folded, "", "cause")
    assert evidence.confirmed(phone.folded) is None
    wanted = looks.of(phone.folded)
    assert {"1", "2"} == {look["loop"] for look in wanted}


def test_a_look_is_answered_for_its_own_belt():
    phone = complains(two_belts(), "2")
    phone.name("MISAL")
    complains(phone, "1")
    phone.name("MISAL")
    first = [look for look in looks.of(phone.folded) if look["loop"] == "1"][0]
    assert phone.post("/jobs/{job}/cause/looks", look=first["code"], belt="1", result="fine")["do"] == "record"
    states = {look["loop"]: look["state"] for look in looks.of(phone.folded) if look["code"] == first["code"]}
    assert {"1": "fine", "2": "open"} == states
    assert phone.post("/jobs/{job}/cause/looks", look=first["code"], belt="3", result="fine")["status"] == 422
    left = [sentence for step, sentence, _path in gaps.of(phone.folded) if step == "cause"]
    assert left and all("belt: " in sentence for sentence in left)


def test_nobody_has_to_say_six_times_that_the_other_belt_was_left_alone():
    phone = complains(two_belts(), "2")
    phone.name("TN_DAMP")
    assert ["skipped"] * 6 == [card.step_state(phone.folded, "1", step)[0] for step in card.LOOP_STEPS]
    assert [] == [sentence for _step, sentence, _path in gaps.of(phone.folded) if sentence.startswith("Alternator")]
    assert "Not worked on: the cause is on another belt." in str(phone.get("/jobs/{job}/sheet")["context"]["loops"])
    assert phone.post("/jobs/{job}/1/belts/old", step="marking", marking="AV10x925 La", stretch="no")["do"] == "record"
    assert not card.left_out(phone.folded, "1") and "open" == card.step_state(phone.folded, "1", "fitted")[0]


def test_the_drive_of_the_belt_that_complains_speaks_as_evidence():
    phone = two_belts()
    drive = drive_entry.from_drive(drive_samples.load("double_sided"))
    data = {"name": "Sample", "engine": None, "origin": "tape", "copied_from": None, "shared": False, "drive": drive}
    phone.events.append(events.make(phone.given(), 0, "drive_recorded", phone.job, data, "2"))
    phone.n += 1
    assert [] == phone.overview()["computed"]
    complains(phone, "2")
    assert "low" == dict(evidence.computed(phone.folded, TABLE, "2")["answers"])["physics:slip"] and phone.overview()["computed"]
    complains(phone, "1")
    assert [] == phone.overview()["computed"]


def test_the_rod_of_one_belt_off_does_not_pay_for_the_other():
    phone = complains(two_belts(), "2")
    phone.answer("tensioner-arm-sweep", "sound")
    assert "belt_off" in evidence.spent(phone.folded, TABLE, "2") and "belt_off" not in evidence.spent(phone.folded, TABLE, "1")


@pytest.mark.parametrize("said", ["", "3", "9", "main", "<b>"])
def test_a_belt_that_the_car_does_not_have_is_refused(said):
    phone = two_belts()
    before = len(phone.events)
    made = phone.post("/jobs/{job}/cause/belt", belt=said)
    assert (reply.page("", {}, 422)["status"], before) == (made["status"], len(phone.events)) and made["context"]["problems"]


def test_a_belt_that_the_facts_do_not_have_any_more_is_not_asked_about():
    phone = complains(two_belts(), "2")
    assert Phone.post(phone, "/jobs/{job}/facts", **FACTS)["do"] == "record"
    assert "1" == evidence.belt(phone.folded) and [] == phone.overview()["belts"]


def test_gated_jobs_with_one_belt_name_their_only_belt():
    assert ["1", ""] == [evidence.belt(gated().folded), evidence.key_of(gated().folded)]
