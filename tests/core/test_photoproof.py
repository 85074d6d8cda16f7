"""Photos as proof: what each shows, before or after the work, pairs; through the core's one door. Jobs and pictures are invented."""

import pytest

from tests.core.test_card import Log, loop
from tests.core.test_cause_screens import held
from tests.core.test_proof_screens import table
from tests.core.test_screens import errors_of, gated
from tests.core.test_several_belts import complains, two_belts
from webapp.core import photoproof, words

FORM = {"width": "1600", "height": "1200", "size": "123456"}
POINTER = "tensioner-pointer-engine-off"


def send(phone, slot, **changes):
    """Post what the page's slot holds, as photo.js does, with a picture of a fresh name."""
    name = "%064x" % (len(phone.events) + 1)
    form = dict(FORM, sha256=name, subject=slot["subject"], loop=slot["loop"], check=slot["code"], what=slot["what"], stage=slot["stage"],
                next=slot["goto"])
    return phone.post("/jobs/{job}/photos", **dict(form, **changes))


def check_page(phone, slug=POINTER):
    return phone.get("/jobs/{job}/cause/check/" + slug)["context"]


def rows_of(phone):
    return {row["name"]: row for group in phone.overview()["groups"] for row in group["rows"]}


def held_with_a_drive():
    """A phone that knows an automatic tensioner with marks, so that the check of its pointer exists."""
    return held(gated())


# ---- tied to a check

def test_a_photo_from_a_check_is_kept_with_it_and_shown_wherever_the_check_is():
    phone = held_with_a_drive()
    slot = check_page(phone)["slot"]
    assert slot["apart"] and slot["label"] == "Tensioner pointer, engine off"
    made = send(phone, slot)
    assert made["goto"] == "/jobs/" + phone.job + "/cause/check/" + POINTER
    data = phone.folded["photos"][0]["data"]
    assert (data["subject"], data["check"], data["what"], data["stage"]) == ("check", "C7", "Tensioner pointer, engine off", "before")
    said = "Check: Tensioner pointer, engine off, before the work"
    assert [one["label"] for one in check_page(phone)["pictures"]] == ["Before the work"]
    assert rows_of(phone)["Tensioner pointer, engine off"]["photos"] == "1 photo" and rows_of(phone)["Belt ribs by eye"]["photos"] == ""
    assert phone.get("/jobs/{job}/history")["context"]["entries"][0]["text"] == said
    assert [one["label"] for one in phone.get("/jobs/{job}/sheet")["context"]["photos"]] == [said]
    assert [one["label"] for one in phone.get("/jobs/{job}")["context"]["photos"]] == [said]
    checks = [group for group in phone.get("/jobs/{job}/photos")["context"]["groups"] if group["label"] == "Checks"]
    assert [one["label"] for one in checks[0]["pictures"]] == [said] and checks[0]["slot"] is None
    assert check_page(phone, "belt-ribs-by-eye")["pictures"] == []


def test_a_remark_stands_with_its_photo_wherever_it_is_shown_and_a_refused_one_stays_typed():
    phone = held_with_a_drive()
    route = phone.get("/jobs/{job}/photos")["context"]["groups"]
    slot = [group["slot"] for group in route if group["slot"] and group["slot"]["subject"] == "route"][0]
    said = "Crack on the third rib"
    assert send(phone, slot, remark=said)["do"] == "record" and phone.folded["photos"][0]["data"]["note"] == said
    for page in ("", "/photos", "/sheet"):
        context = phone.get("/jobs/{job}" + page)["context"]
        shown = context["photos"] if "photos" in context else [one for group in context["groups"] for one in group["pictures"]]
        assert [one["note"] for one in shown] == [said]
    assert phone.get("/jobs/{job}/history")["context"]["entries"][0]["text"] == "Belt route, before the work. " + said
    send(phone, slot, remark="Same corner", stage="after")
    assert [side["note"] for side in phone.get("/jobs/{job}/sheet")["context"]["photo_pairs"][0]["sides"]] == [said, "Same corner"]
    again = send(phone, slot, remark=said, sha256="")
    assert 422 == again["status"] and [group["slot"]["remark"] for group in again["context"]["groups"] if group["slot"] and group["slot"]["remark"]] == [said]
    assert "remark" in errors_of(send(phone, slot, remark="x" * 201))


def test_a_photo_alone_is_no_answer():
    phone = held_with_a_drive()
    before = phone.overview()
    send(phone, check_page(phone)["slot"])
    after = phone.overview()
    assert phone.folded["answers"] == [] and check_page(phone)["by"] is None
    assert [after[key] for key in ("count", "causes", "others", "next", "answered")] == [before[key] for key in ("count", "causes", "others", "next", "answered")]
    row = rows_of(phone)["Tensioner pointer, engine off"]
    assert (row["kind"], row["state"], row["photos"]) == ("open", "Open", "1 photo")
    phone.answer(POINTER, "unclear")
    assert rows_of(phone)["Tensioner pointer, engine off"]["kind"] == "watch", "with its photo it still does not count"


def test_a_photo_from_a_running_check_leads_back_to_its_answers():
    phone = held_with_a_drive()
    slot = phone.get("/jobs/{job}/cause/check/water-mist-on-the-ribs", ("stopped", "yes"))["context"]["slot"]
    assert send(phone, slot)["goto"].endswith("/water-mist-on-the-ribs?stopped=yes")


def test_on_a_car_with_two_belts_a_photo_belongs_to_the_belt_in_question():
    phone = complains(two_belts(), "2")
    send(phone, check_page(phone, "belt-ribs-by-eye")["slot"])
    assert len(check_page(phone, "belt-ribs-by-eye")["pictures"]) == 1
    assert [one["label"] for one in phone.get("/jobs/{job}/sheet")["context"]["photos"]] == ["Check: Belt ribs by eye, Compressor belt, before the work"]
    complains(phone, "1")
    assert check_page(phone, "belt-ribs-by-eye")["pictures"] == []


@pytest.mark.parametrize("changes, field", [
    ({"check": ""}, "subject"), ({"what": ""}, "subject"), ({"check": "x" * 31}, "check"), ({"what": "x" * 81}, "what"),
    ({"stage": "soon"}, "stage"), ({"subject": "cat"}, "subject"), ({"sha256": "12"}, "")])
def test_a_form_that_names_no_check_or_no_side_is_refused(changes, field):
    phone = held_with_a_drive()
    assert field in errors_of(send(phone, check_page(phone)["slot"], **changes))
    assert phone.folded["photos"] == []


def test_a_size_asks_for_a_ruler_and_a_used_belt_for_its_direction():
    phone = held_with_a_drive()
    assert "ruler" in check_page(phone, "rib-wear-gauge")["slot"]["hint"] and "ruler" not in check_page(phone, "kind-of-noise")["slot"]["hint"]
    hints = {group["slot"]["subject"]: group["slot"]["hint"] for group in phone.get("/jobs/{job}/photos")["context"]["groups"] if group["slot"]}
    assert "ruler" in hints["ribs"] and "ruler" in hints["alignment"]
    assert "direction" in hints["old_belt"] and "direction" in hints["route"] and hints["plate"] == ""
    assert sorted(words.PHOTO_HINTS) == sorted(set(words.PHOTO_HINTS) & {code for code, _label in words.choice_pairs("photo_subject")} | {"size"})


# ---- the other places where a photo proves something

@pytest.mark.parametrize("path, subjects", [
    ("/1/belts/old?step=wear", ["ribs"]), ("/1/belts/old?step=photo", ["old_belt"]), ("/1/belts/new?step=photo", ["new_belt"]),
    ("/1/belts/new?step=wear", []), ("/1/fitted", ["seating", "route"]), ("/1/aligned", ["alignment"]), ("/1/tension", ["pointer"]),
    ("/1/drive", ["route"])])
def test_each_place_has_its_slot_and_shows_what_was_taken(path, subjects):
    phone = table(gated())
    path, _, query = path.partition("?")
    pairs = [query.split("=")] if query else []
    shots = phone.get("/jobs/{job}" + path, *pairs)["context"]["shots"]
    assert [shot["slot"]["subject"] for shot in shots] == subjects
    for shot in shots:
        assert shot["pictures"] == [] and shot["slot"]["goto"].startswith("/jobs/" + phone.job + "/1/")
        send(phone, shot["slot"])
    again = phone.get("/jobs/{job}" + path, *pairs)["context"]["shots"]
    assert [[picture["label"].split(",")[0] for picture in shot["pictures"]] for shot in again] == [
        [words.label("photo_subject", subject)] for subject in subjects]


# ---- before or after

def taken(log, subject, loop="1", **more):
    data = {"sha256": "%064x" % len(log.events), "subject": subject, "width": 1600, "height": 1200, "size": 1000, "note": None}
    return log.add("photo_taken", dict(data, **more), loop)


def working():
    log = Log()
    log.facts()
    log.gate()
    return log


def sides(log):
    return [photoproof.stage_of(log.job, entry) for entry in log.job["photos"]]


def test_the_side_is_as_said_else_by_the_thing_else_by_the_order_of_the_entries():
    log = working()
    taken(log, "route")
    taken(log, "plate", "")
    taken(log, "seating")
    assert photoproof.stage_now(log.job, "1") == "before" and sides(log) == ["before", "", "after"]
    log.belt("new")
    assert photoproof.stage_now(log.job, "1") == "after" and photoproof.stage_now(log.job, "2") == "before"
    for more in ({}, {"stage": "before"}, {"stage": None}):
        taken(log, "pointer", **more)
    for subject in ("old_belt", "ribs", "new_belt", "other"):
        taken(log, subject)
    assert sides(log) == ["before", "", "after", "after", "before", "after", "before", "before", "after", ""]


def test_a_pair_is_the_last_before_and_the_last_after_of_one_thing():
    log = working()
    taken(log, "pointer")
    first = taken(log, "route")
    last = taken(log, "pointer")
    taken(log, "ribs")
    taken(log, "check", "", check="C7", what="Pointer")
    log.belt("new")
    taken(log, "pointer")
    after = taken(log, "pointer")
    taken(log, "check", "", check="C21", what="In line")
    taken(log, "seating")
    told = [[pair["before"]["id"], pair["after"]["id"] if pair["after"] else None] for pair in photoproof.pairs(log.job)]
    assert told[:2] == [[last, after], [first, None]] and len(told) == 3
    assert [photoproof.shows(log.job, pair["before"]) for pair in photoproof.pairs(log.job)] == ["Tensioner pointer", "Belt route", "Check: Pointer"]


def test_the_old_belt_and_the_new_one_are_a_pair_and_each_belt_has_its_own():
    log = Log()
    log.facts(loop("1"), loop("2", name="Second belt"))
    log.gate()
    taken(log, "old_belt", "1")
    taken(log, "old_belt", "2")
    taken(log, "new_belt", "2")
    assert [[pair["before"]["loop"], pair["after"] is not None] for pair in photoproof.pairs(log.job)] == [["1", False], ["2", True]]


def test_a_photo_that_was_taken_back_is_in_no_pair():
    log = working()
    gone = taken(log, "route")
    log.add("withdrawn", {"reason": "Wrong car"}, "1", replaces=gone)
    assert photoproof.pairs(log.job) == [] and photoproof.of_check(log.job, "C7", "") == []


def test_proved_asks_for_the_other_side_and_then_shows_both_as_the_sheet_does():
    phone = table(gated())
    send(phone, phone.get("/jobs/{job}/1/drive")["context"]["shots"][0]["slot"])
    send(phone, check_page(phone)["slot"])
    phone.post("/jobs/{job}/1/fitted", ("done", "clean"))
    context = phone.get("/jobs/{job}/proved")["context"]
    assert context["photo_pairs"] == [] and [slot["label"] for slot in context["photo_slots"]] == ["Belt route", "Tensioner pointer, engine off"]
    assert len({slot["id"] for slot in context["photo_slots"]}) == 2
    for slot in context["photo_slots"]:
        assert send(phone, slot)["goto"] == "/jobs/" + phone.job + "/proved"
    context = phone.get("/jobs/{job}/proved")["context"]
    assert context["photo_slots"] == []
    told = [[pair["what"], [[side["stage"], side["by"]["who"], side["by"]["shown"]] for side in pair["sides"]]] for pair in context["photo_pairs"]]
    both = [["Before the work", "Ines", context["photo_pairs"][0]["sides"][0]["by"]["shown"]],
            ["After the work", "Ines", context["photo_pairs"][0]["sides"][1]["by"]["shown"]]]
    assert told == [["Belt route", both], ["Check: Tensioner pointer, engine off", both]] and "2026" in both[0][2]
    send(phone, phone.get("/jobs/{job}/1/aligned")["context"]["shots"][0]["slot"])
    sheet = phone.get("/jobs/{job}/sheet")["context"]
    assert sheet["photo_pairs"] == context["photo_pairs"]
    assert [one["label"] for one in sheet["photos"]] == ["Pulleys in line, after the work"] and sheet["photos"][0]["by"]["who"] == "Ines"


def test_old_and_new_belt_stand_side_by_side_under_both_names():
    phone = table(gated())
    for place in ("old", "new"):
        send(phone, phone.get("/jobs/{job}/1/belts/" + place, ("step", "photo"))["context"]["shots"][0]["slot"])
    assert [pair["what"] for pair in phone.get("/jobs/{job}/proved")["context"]["photo_pairs"]] == ["Old belt. New belt"]
