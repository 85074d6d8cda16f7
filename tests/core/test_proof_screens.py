"""Fitted, aligned, proved and next check as functions, through the core's one door. Values are invented."""

import pytest

from tests.core.test_screens import CONFIRMED, FACTS, Phone, booked, gated
from webapp import causes
from webapp.core import card, events, followup, gaps, times

NM = "N\u00b7m"


def table(phone):
    """The screens that show answers in words are given the table of causes."""
    given = phone.given
    phone.cars = []
    phone.given = lambda: dict(given(), table=causes.BUILT_IN, counts=None, cars=phone.cars + given()["board"])
    return phone


@pytest.fixture
def phone():
    return table(gated())


def state(phone, step, loop=""):
    return card.step_state(phone.folded, loop, step)


def missing(phone, step):
    return [sentence for at, sentence, _path in gaps.of(phone.folded) if at == step]


def open_items(phone):
    return [line["item"] for line in phone.get("/jobs/{job}/1/fitted")["context"]["lines"] if line["open"]]


# ---- fitted

def test_fitted_waits_for_the_safety_questions():
    assert booked().get("/jobs/{job}/1/fitted")["goto"].startswith("/jobs/") and "/gate" in booked().get("/jobs/{job}/1/fitted")["goto"]
    assert gated().get("/jobs/{job}/3/fitted")["status"] == 404


def test_lines_are_ticked_several_at_once_and_the_step_is_done_when_all_are(phone):
    assert card.step_path(phone.folded, "1", "fitted").endswith("/1/fitted")
    assert phone.post("/jobs/{job}/1/fitted", ("done", "clean"), ("done", "arm_back"), not_here="new_bolts")["goto"].endswith("/1/fitted")
    assert state(phone, "fitted", "1") == ["open", "Lines left: 12 of 15."]
    shown = {line["item"]: line for line in phone.get("/jobs/{job}/1/fitted")["context"]["lines"]}
    assert shown["clean"]["done"] and shown["clean"]["by"]["who"] == "Ines" and not shown["new_bolts"]["done"] and not shown["new_bolts"]["open"]
    left = [("done", item) for item in open_items(phone) if item != "bolts"]
    assert phone.post("/jobs/{job}/1/fitted", *left, not_here="bolts")["goto"] == "/jobs/" + phone.job
    assert state(phone, "fitted", "1") == ["done", ""] and not missing(phone, "fitted")


def test_the_pin_comes_out_before_the_engine_is_turned(phone):
    refused = phone.post("/jobs/{job}/1/fitted", ("done", "clean"), ("done", "turned"))
    assert refused["status"] == 422 and "locking pin out" in refused["context"]["lines_error"]
    assert [line["item"] for line in refused["context"]["lines"] if line["on"]] == ["clean", "turned"] and phone.folded["work"] == []
    assert phone.post("/jobs/{job}/1/fitted", ("done", "pin_out"), ("done", "seats"), ("done", "turned"))["do"] == "record"


def test_a_torque_needs_its_source_and_stays_typed(phone):
    refused = phone.post("/jobs/{job}/1/fitted", ("done", "clean"), bolt="Tensioner bolt", torque="45", torque_unit=NM, angle="ninety")
    assert refused["status"] == 422 and [problem[0] for problem in refused["context"]["problems"]] == ["source", "angle"]
    assert refused["context"]["torque"]["value"] == "45" and refused["context"]["more"][0]["value"] == "ninety"
    assert phone.post("/jobs/{job}/1/fitted", bolt="x", torque="45000", torque_unit=NM, source="sheet")["status"] == 422
    phone.post("/jobs/{job}/1/fitted", bolt="Tensioner bolt", torque="33", torque_unit="lbf\u00b7ft", angle="90", source="Maker's sheet 4")
    assert [b["text"] for b in phone.get("/jobs/{job}/1/fitted")["context"]["bolts"]] == [
        "Tensioner bolt: 33 lbf\u00b7ft, then 90\u00b0 (Maker's sheet 4)"]
    # The same bolt again takes the place of the first value.
    phone.post("/jobs/{job}/1/fitted", bolt="tensioner bolt", torque="35", torque_unit="lbf\u00b7ft", source="Maker's sheet 5")
    assert len(phone.folded["work"]) == 1 and "bolts" not in open_items(phone)


def test_the_history_tells_each_entry_in_words(phone):
    phone.post("/jobs/{job}/1/fitted", done="clean", not_here="tang", bolt="Idler bolt", torque="25", torque_unit=NM, source="Maker's page 9")
    phone.post("/jobs/{job}/1/aligned", **GAP)
    phone.post("/jobs/{job}/proved", r_idle="bad", note="Rattles")
    phone.post("/jobs/{job}/next-check", **CHECK)
    told = [entry["text"] for entry in phone.get("/jobs/{job}/history")["context"]["entries"]]
    assert told[:3] == ["Measure the tension again, 23 Mar 2026. Run-in", "Not good: Start cold and let it idle: quiet, the belt runs straight. Rattles",
                        "crank to pump. Gap 0.5 mm over 300 mm, good to 0.25 mm. 1.7\u00a0\u00b1\u00a00.9 mm per m is inside 5.8 mm per m."]
    assert "Idler bolt: 25 " + NM + " (Maker's page 9)" in told


def test_a_taken_back_tick_is_open_again_and_bad_forms_are_refused(phone):
    phone.post("/jobs/{job}/1/fitted", done="clean")
    phone.post("/jobs/{job}/withdraw", event=phone.folded["work"][0]["id"], reason="Wrong line")
    assert "clean" in open_items(phone)
    assert phone.post("/jobs/{job}/1/fitted")["context"]["lines_error"] == "Nothing is answered yet."
    assert phone.post("/jobs/{job}/1/fitted", done="no-such-line")["status"] == 422
    # What has to be done cannot be said away.
    assert phone.post("/jobs/{job}/1/fitted", not_here="arm_back")["status"] == 422


def test_an_unknown_tensioner_leads_to_the_facts():
    phone = table(booked())
    phone.post("/jobs/{job}/facts", **dict(FACTS, tensioner1="unknown"))
    phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="12", start_stop="none")
    page = phone.get("/jobs/{job}/1/fitted")["context"]
    assert page["unknown"] and page["facts_path"].endswith("/facts") and page["lines"] == []


def test_the_sheet_tells_how_it_was_fitted(phone):
    phone.post("/jobs/{job}/1/fitted", done="clean", bolt="Idler bolt", torque="25", torque_unit=NM, source="Maker's page 9")
    lines = [line for block in phone.get("/jobs/{job}/sheet")["context"]["loops"] for line in block["lines"]]
    assert [line["label"] for line in lines] == ["Fitted", "Bolt"] and lines[1]["text"] == "Idler bolt: 25 " + NM + " (Maker's page 9)"
    assert lines[0]["shown"] == [["Grooves brushed and dry, any leak cured first", "Done"]]


# ---- aligned

GAP = {"way": "straightedge", "span": "crank to pump", "gap": "0,5", "gap_unit": "mm", "over": "300", "over_unit": "mm", "limit": "2"}


def test_an_offset_is_judged_with_its_own_error_against_a_named_limit(phone):
    assert card.step_path(phone.folded, "1", "aligned").endswith("/1/aligned")
    page = phone.get("/jobs/{job}/1/aligned")["context"]
    # The belt is ribbed: three sources that disagree, the strictest first, and the maker's.
    assert [option["value"] for option in page["limit"]["options"]] == ["0", "1", "2", "maker"] and page["limit"]["options"][0]["on"]
    assert phone.post("/jobs/{job}/1/aligned", **GAP)["do"] == "record"
    result = phone.get("/jobs/{job}/1/aligned")["context"]["results"][0]
    # 0.5 mm over 300 mm is 1.67 mm/m; 0.25 mm of error is 0.83 mm/m; atan gives 0.095 degrees.
    assert result["verdict"]["word"] == "In line" and result["slope"] == "1.7\u00a0\u00b1\u00a00.9 mm per m" and result["angle"].startswith("0.10")
    assert len(result["sources"]) == 3 and all(text.endswith("in line") for text in result["sources"])
    assert state(phone, "aligned", "1") == ["done", ""] and not missing(phone, "aligned")


def test_out_of_line_keeps_the_step_open_until_it_is_read_again(phone):
    phone.post("/jobs/{job}/1/aligned", **dict(GAP, gap="3"))
    assert state(phone, "aligned", "1") == ["open", "Out of line: crank to pump."] and "Out of line" in missing(phone, "aligned")[0]
    phone.post("/jobs/{job}/1/aligned", **dict(GAP, gap="0.2"))
    assert state(phone, "aligned", "1")[0] == "done"
    lines = [line for block in phone.get("/jobs/{job}/sheet")["context"]["loops"] for line in block["lines"]]
    assert [line["shown"][2][1] for line in lines] == ["Out of line", "In line"]


def test_a_reading_too_blunt_for_its_limit_is_shown_to_who_signs(phone):
    phone.post("/jobs/{job}/1/aligned", **dict(GAP, over="60"))
    assert phone.get("/jobs/{job}/1/aligned")["context"]["results"][0]["verdict"]["word"] == "Cannot tell"
    assert missing(phone, "aligned") == ["Main belt: not told from its limit: the offset of crank to pump."]
    # A finer gauge decides: 0.5 mm over 60 mm is 8.3 mm/m, more than 5.8.
    phone.post("/jobs/{job}/1/aligned", **dict(GAP, over="60", good="0.05", good_unit="mm"))
    assert state(phone, "aligned", "1")[0] == "open"


def test_an_angle_and_the_makers_own_limit(phone):
    typed = {"way": "angle", "span": "crank to pump", "angle": "0.3", "limit": "maker", "maker": "8,7", "maker_source": "Maker's page 3"}
    assert phone.post("/jobs/{job}/1/aligned", **typed)["do"] == "record"
    data = phone.folded["offsets"][0]["data"]
    assert [data["limit_mm_per_m"], data["limit_source"], data["shown"]["verdict"]] == ["8.7", "Maker's page 3", "inside"]
    assert phone.get("/jobs/{job}/1/aligned")["context"]["maker_open"]


LIVE = dict(GAP, gap="0,4", over="300")


def live(phone, **changes):
    typed = dict(LIVE, **changes)
    return phone.get("/jobs/{job}/1/aligned/_told", *typed.items())["context"]["told"]


def test_the_verdict_is_there_while_the_numbers_are_typed_and_the_same_once_saved(phone):
    """0.4 mm over 300 mm is 1.33 mm per m, atan of it 0.0764 degrees; the 0.25 mm of a feeler gauge are 0.83 mm per m."""
    told = live(phone)
    assert [told["verdict"]["word"], told["slope"], told["angle"]] == ["In line", "1.3\u00a0\u00b1\u00a00.9 mm per m", "0.08\u00a0\u00b1\u00a00.05\u00b0"]
    assert told["held"].startswith("Limit 5.8 mm per m, 0.33\u00b0: 0.58 mm per 100 mm of span, SAE J1596")
    assert len(told["sources"]) == 3 and all(text.endswith(": in line") for text in told["sources"])
    assert phone.folded["offsets"] == [] and phone.get("/jobs/{job}/1/aligned")["context"]["told"] is None
    phone.post("/jobs/{job}/1/aligned", **LIVE)
    saved = phone.get("/jobs/{job}/1/aligned")["context"]["results"][0]
    assert {key: saved[key] for key in ("slope", "angle", "held", "next", "sources")} == {key: told[key] for key in ("slope", "angle", "held", "next", "sources")}
    assert saved["verdict"]["word"] == told["verdict"]["word"]


def test_sources_that_disagree_are_told_as_such(phone):
    # 1.5 mm over 300 mm is 5.0 mm per m, over a quarter of a degree (4.36), under 1/16 inch per foot (5.21) and 5.8.
    assert live(phone, gap="1,5")["verdict"]["word"] == "Cannot tell"
    told = live(phone, gap="1,5", good="0.05", good_unit="mm")
    assert told["verdict"]["word"] == "In line"
    assert [text.rsplit(": ", 1)[1] for text in told["sources"]] == ["out of line", "in line", "in line"]


@pytest.mark.parametrize("changes", [{"gap": ""}, {"over": ""}, {"gap": "x"}, {"gap": "200"}, {"good": "-1"}, {"over": "1"}])
def test_while_a_number_is_missing_or_impossible_no_verdict_is_shown(phone, changes):
    assert live(phone, **changes) is None


def test_without_a_limit_the_size_is_shown_and_no_verdict(phone):
    told = live(phone, limit="maker", maker="", maker_source="")
    assert told["verdict"]["kind"] == "open" and told["slope"].startswith("1.3") and told["held"] == "" and len(told["sources"]) == 3
    assert live(phone, limit="maker", maker="1", maker_source="")["held"] == "Limit 1 mm per m, 0.06\u00b0: where it is from is not said yet."
    assert live(phone, way="angle", angle="0.3")["verdict"]["word"] == "Cannot tell"


@pytest.mark.parametrize("changes, wrong", [
    ({"gap": ""}, "gap"), ({"gap": "200"}, "gap"), ({"over": "1"}, "over"), ({"span": ""}, "span"), ({"limit": "7"}, "limit"),
    ({"limit": "maker"}, "maker"), ({"good": "x"}, "good"), ({"way": "angle", "angle": "99"}, "angle"), ({"tool": "x" * 81}, "tool")])
def test_a_bad_reading_is_named_at_its_field_and_stays_typed(phone, changes, wrong):
    refused = phone.post("/jobs/{job}/1/aligned", **dict(GAP, **changes))
    assert refused["status"] == 422 and wrong in [problem[0] for problem in refused["context"]["problems"]]
    assert refused["context"]["span"]["value"] == dict(GAP, **changes)["span"] and phone.folded["offsets"] == []


# ---- proved

def answers(phone, result="good", **others):
    checks = [check for group in phone.get("/jobs/{job}/proved")["context"]["groups"] for check in group["checks"]]
    return {"r_" + check["item"]: others.get(check["item"], result) for check in checks}


def test_instructions_come_first_and_the_answers_after_the_engine_has_stopped(phone):
    assert card.step_path(phone.folded, "", "proved") == "/jobs/" + phone.job + "/proved"
    first = phone.get("/jobs/{job}/proved")["context"]
    assert not first["answering"] and first["complaint"] == "squeals when cold" and any("phone" in text for text in first["cautions"])
    assert phone.get("/jobs/{job}/proved", ("stopped", "yes"))["context"]["answering"]
    items = [check["item"] for group in first["groups"] for check in group["checks"]]
    # This car: automatic arm, compressor with clutch, electric steering, booked in with a fault.
    assert "arm" in items and "air" in items and "complaint" in items and "steer" not in items and "settled" not in items


def test_proved_when_every_check_is_answered_and_none_is_bad(phone):
    assert phone.post("/jobs/{job}/proved", **answers(phone))["goto"] == "/jobs/" + phone.job + "/proved"
    assert state(phone, "proved") == ["done", ""] and not missing(phone, "proved")
    assert phone.get("/jobs/{job}/proved")["context"]["verdict"]["word"] == "Proved"
    texts = [line["label"] for line in phone.get("/jobs/{job}/sheet")["context"]["proved"]]
    assert texts and set(texts) == {"Good"}


def test_a_bad_check_needs_a_remark_and_keeps_the_step_open_until_it_is_good(phone):
    form = answers(phone, loads="bad")
    refused = phone.post("/jobs/{job}/proved", **form)
    assert refused["status"] == 422 and [problem[0] for problem in refused["context"]["problems"]] == ["note"]
    kept = [o["value"] for g in refused["context"]["groups"] for c in g["checks"] for o in c["options"] if o["on"] and c["item"] == "loads"]
    assert kept == ["bad"] and phone.folded["runs"] == []
    phone.post("/jobs/{job}/proved", note="Still squeals with the blower", **form)
    assert state(phone, "proved")[0] == "open" and "Not good: Lights" in state(phone, "proved")[1]
    count = len(phone.folded["runs"])
    phone.post("/jobs/{job}/proved", **dict(form, r_loads="good"))
    # Only what changed is recorded again.
    assert len(phone.folded["runs"]) == count + 1 and state(phone, "proved")[0] == "done"


def test_not_done_is_never_good_and_who_signs_sees_it(phone):
    phone.post("/jobs/{job}/proved", note="No test plates", **answers(phone, road="not_done"))
    assert state(phone, "proved") == ["done", "Not done: 1."]
    assert phone.get("/jobs/{job}/proved")["context"]["verdict"]["word"] == "Proved in part"
    # The remark goes with what was left out, not with what was good.
    assert [entry["data"]["item"] for entry in phone.folded["runs"] if entry["data"]["note"]] == ["road"]
    assert missing(phone, "proved") == ["Not checked: Road test: warm, lights and air conditioning on, full lock both ways: quiet. No test plates"]
    other = table(gated())
    other.post("/jobs/{job}/proved", **answers(other, "not_done"))
    assert state(other, "proved") == ["open", "Nothing was checked yet."]


def test_a_remark_is_never_dropped(phone):
    phone.post("/jobs/{job}/proved", r_idle="good", note="Quiet at last")
    assert phone.folded["runs"][0]["data"]["note"] == "Quiet at last"
    phone.post("/jobs/{job}/proved", note="Two codes from the belt-off run, cleared", **answers(phone))
    assert [entry["data"]["item"] for entry in phone.folded["runs"] if entry["data"]["note"]] == ["idle", "codes"]


def test_an_empty_or_damaged_answer_is_refused(phone):
    assert phone.post("/jobs/{job}/proved")["context"]["error"] == "Nothing is answered yet."
    assert phone.post("/jobs/{job}/proved", r_idle="perfect")["status"] == 422
    assert "/gate" in table(booked()).post("/jobs/{job}/proved", r_idle="good")["goto"]


# ---- next check and what is due

CHECK = {"item": "Measure the tension again", "grade": "soon", "date": "2026-03-23", "distance": "", "distance_unit": "km", "reason": "Run-in"}


def manual():
    phone = table(booked())
    phone.post("/jobs/{job}/facts", **dict(FACTS, tensioner1="eccentric"))
    phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="12", start_stop="none")
    return phone


def test_a_proposal_fills_the_form_and_nothing_is_agreed_until_it_is_saved():
    phone = manual()
    assert card.step_path(phone.folded, "", "next_check").endswith("/next-check")
    first = phone.get("/jobs/{job}/next-check")["context"]
    assert first["recheck"] == ["Main belt"] and [one["item"] for one in first["proposals"]] == ["Measure the tension again"]
    taken = phone.get("/jobs/{job}/next-check", ("take", "belt1"))["context"]
    # Booked in at 184210.5 km on 9 March: two weeks, 1,000 km.
    assert [taken["date"]["value"], taken["distance"]["value"], taken["grade"]["options"][1]["on"]] == ["2026-03-23", "185200", True]
    assert phone.folded["due"] == []
    assert [(o["value"], o["on"]) for o in taken["follows"]["options"]] == [("belt1", True), ("", False)]
    assert phone.post("/jobs/{job}/next-check", **CHECK, follows="belt1")["do"] == "record"
    assert phone.get("/jobs/{job}/next-check")["context"]["recheck"] == []
    assert state(phone, "next_check") == ["done", "Measure the tension again"]
    assert not phone.get("/jobs/{job}/next-check")["context"]["proposals"]
    assert phone.get("/jobs/{job}/sheet")["context"]["next_check"][0]["text"] == "23 Mar 2026. Soon. Run-in"


def test_a_belt_set_by_hand_without_a_recheck_is_shown_to_who_signs():
    phone = manual()
    phone.post("/jobs/{job}/0/step/next_check", text="Come back if it squeals")
    assert missing(phone, "next_check") == ["Tensioned by hand, and nobody agreed when it is measured again."]
    # Something else that is looked at again is no measuring of this tension.
    phone.post("/jobs/{job}/next-check", **dict(CHECK, item="Pump weeps"), follows="")
    assert missing(phone, "next_check") == ["Tensioned by hand, and nobody agreed when it is measured again."]
    phone.post("/jobs/{job}/next-check", **CHECK, follows="belt1")
    assert missing(phone, "next_check") == []


def test_a_check_agreed_before_it_said_what_it_follows_from_stands_for_every_belt():
    phone = manual()
    data = {"item": "Tension", "grade": "soon", "date": "2026-04-01", "distance": None, "reason": "Run-in"}
    phone.events.append(events.make(phone.given(), 0, "check_due", phone.job, data))
    assert missing(phone, "next_check") == []


def test_each_belt_set_by_hand_is_measured_again():
    phone = table(booked())
    phone.post("/jobs/{job}/facts", **dict(FACTS, count="2", tensioner1="eccentric", name2="Air-con belt", belt2="ribbed", ribs2="4", tensioner2="lead_screw",
                                           marks2="none", pin_hole2="no"))
    phone.post("/jobs/{job}/gate", *CONFIRMED, voltage="12", start_stop="none")
    assert [one["item"] for one in phone.get("/jobs/{job}/next-check")["context"]["proposals"]] == [
        "Measure the tension again: Main belt", "Measure the tension again: Air-con belt"]
    phone.post("/jobs/{job}/next-check", **CHECK, follows="belt2")
    shown = phone.get("/jobs/{job}/next-check")["context"]
    assert shown["recheck"] == ["Main belt"] and [one["item"] for one in shown["proposals"]] == ["Measure the tension again: Main belt"]
    assert missing(phone, "next_check") == ["Main belt: Tensioned by hand, and nobody agreed when it is measured again."]
    phone.post("/jobs/{job}/next-check", **CHECK, follows="belt1")
    assert missing(phone, "next_check") == []


def test_a_check_is_changed_by_a_replacing_entry(phone):
    phone.post("/jobs/{job}/next-check", **CHECK)
    old = phone.folded["due"][0]["id"]
    assert phone.get("/jobs/{job}/next-check", ("change", old))["context"]["item"]["value"] == CHECK["item"]
    phone.post("/jobs/{job}/next-check", **dict(CHECK, change=old, date="2026-04-01"))
    assert [entry["data"]["date"] for entry in phone.folded["due"]] == ["2026-04-01"]
    assert phone.post("/jobs/{job}/next-check", **dict(CHECK, change="no-such-entry"))["status"] == 422


@pytest.mark.parametrize("changes, wrong", [({"item": ""}, "item"), ({"date": ""}, "date"), ({"date": "2026-02-30"}, "date"), ({"date": "2026-03-01"}, "date"),
                                            ({"distance": "far"}, "distance"), ({"reason": ""}, "reason"), ({"grade": "later"}, "grade")])
def test_a_bad_check_is_named_at_its_field_and_stays_typed(phone, changes, wrong):
    refused = phone.post("/jobs/{job}/next-check", **dict(CHECK, **changes))
    assert refused["status"] == 422 and [problem[0] for problem in refused["context"]["problems"]] == [wrong]
    assert refused["context"]["reason"]["value"] == dict(CHECK, **changes)["reason"] and phone.folded["due"] == []


def test_what_was_declined_left_out_or_found_is_proposed(phone):
    def add(kind, data):
        event = events.make(phone.given(), 0, kind, phone.job, data)
        events.check(event, phone.folded)
        phone.events.append(event)
        phone.n += 1
    add("customer_asked", {"what": "Alternator pulley", "answer": "declined", "by": "Owner"})
    add("look_recorded", {"look": "leak", "what": "Leak above the belt", "result": "found", "note": "Sweats"})
    phone.post("/jobs/{job}/proved", note="Rain", **answers(phone, road="not_done"))
    texts = [(one["item"], one["reason"]) for one in followup.proposals(phone.folded, "2026-03-09T08:05:00Z")]
    assert ("Alternator pulley", "Offered and declined.") in texts and ("Leak above the belt", "Found: Sweats") in texts
    assert [reason for item, reason in texts if item.startswith("Road test")] == ["Not done when the repair was proved."]


def car(number, **more):
    """An invented summary of a job."""
    return dict({"id": "job%d" % number, "registration": "HL07 KZR", "car": "Estate", "vin": "", "distance": None, "due": [], "declined": [], "signed": True,
                 "booked_turn": [0, number], "turn": [0, 10 * number], "booked_at": "2026-01-0%dT08:00:00Z" % number, "complaint": "squeals",
                 "causes": [], "waits": "Signed off"}, **more)


def one_due(date=None, distance=None, grade="watch", item="Belt"):
    return {"item": item, "grade": grade, "date": date, "distance": distance and {"value": distance, "unit": "km"}, "reason": "Wear"}


def test_due_lists_what_is_overdue_first_by_date_and_by_distance():
    now = "2026-03-09T08:05:00Z"
    cars = [car(1, registration="A 1", due=[one_due("2026-05-01"), one_due("2026-03-08", item="Arm")]), car(2, registration="A 2", due=[one_due("2026-03-09")]),
            car(3, registration="A 3", due=[one_due(distance="100000", item="Strut")]),
            car(4, registration="a-3", distance={"value": "100000", "unit": "km"}, signed=False, id="job4")]
    rows = followup.due(cars, now)
    assert [(row["job"]["id"], row["due"]["item"], row["overdue"], row["by_distance"]) for row in rows] == [
        ("job1", "Arm", True, False), ("job3", "Strut", True, True), ("job2", "Belt", False, False), ("job1", "Belt", False, False)]
    assert [row["here"] and row["here"]["id"] for row in rows] == [None, "job4", None, None]
    # Once the later job is signed, what is still to be watched was agreed there.
    cars[3]["signed"] = True
    assert [row["job"]["id"] for row in followup.due(cars, now)] == ["job1", "job2", "job1"]


def test_the_same_car_is_known_by_plate_or_vin_and_earlier_means_booked_in_before():
    first, second, third = car(1), car(2, registration="hl07kzr"), car(3, registration="NEW 1", vin="4SPDEM354T1W00101")
    cars = [second, third, first, car(4, registration="OTHER")]
    assert [one["id"] for one in followup.earlier(cars, {"registration": "HL07-KZR", "vin": "", "id": ""})] == ["job2", "job1"]
    assert [one["id"] for one in followup.earlier(cars, second)] == ["job1"]
    assert [one["id"] for one in followup.earlier(cars, {"registration": "", "vin": "4SPDEM354T1W00101", "id": ""})] == ["job3"]
    assert followup.earlier(cars, {"registration": "", "vin": "", "id": ""}) == []


def test_the_due_list_of_many_jobs_holds_each_car_against_its_own_only():
    """Two jobs of each car, booked one after the other: the earlier one's check is due on a car that is here."""
    cars = [car(1, id="job%d" % i, registration="R %d" % (i // 2), booked_turn=[0, i], signed=False, due=[one_due("2026-05-01")]) for i in range(2000)]
    rows = followup.due(cars, "2026-03-09T08:05:00Z")
    assert len(rows) == 2000
    assert len([row for row in rows if row["here"] is not None]) == 1000


def test_the_booking_and_the_card_show_what_the_car_left(phone):
    phone.cars = [car(1, declined=["Alternator pulley"], due=[one_due("2026-02-01")], causes=["Worn belt"])]
    phone.cars[0]["booked_turn"] = [0, 1]
    for reply in (phone.get("/book/_car", ("registration", "hl07kzr"), ("vin", "")), phone.get("/jobs/{job}/_earlier")):
        shown = reply["context"]
        assert [one["what"] for one in shown["declined"]] == ["Alternator pulley"] and shown["due"][0]["overdue"]
        assert shown["earlier"][-1]["causes"] == "Worn belt"
    assert phone.get("/book/_car", ("registration", "other"), ("vin", ""))["context"]["earlier"] == []
    assert [row["item"] for row in phone.get("/due")["context"]["overdue"]] == ["Belt"]


@pytest.mark.outside
def test_dates_agree_with_the_standard_library():
    """Python's datetime, proleptic Gregorian calendar."""
    import datetime
    for days in [*range(0, 1500, 7), 36524, 146097]:
        for start in ("2026-03-09", "2024-02-28", "2027-12-31", "1999-12-31"):
            expected = (datetime.date.fromisoformat(start) + datetime.timedelta(days)).isoformat()
            assert times.date_after(start + "T23:59:59Z", days) == expected, (start, days)
