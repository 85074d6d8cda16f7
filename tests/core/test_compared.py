"""Before and after the work, side by side. Jobs and readings are invented; the intervals' rule is worked out by hand."""

import pytest

from tests.core.test_proof_screens import GAP, answers, phone, table  # noqa: F401 (phone: a fixture)
from tests.core.test_screens import FACTS, gated
from tests.core.test_several_belts import TWO
from webapp.core import card, compared, events, evidence

SHOWN = {"unit": "N", "verdict": "Inside the target"}


def add(phone, kind, data, loop="1"):
    phone.events.append(events.make(phone.given(), 0, kind, phone.job, data, loop))
    phone.n += 1


def read(phone, tension, low, high, span="crank to pump", unit="N", loop="1"):
    add(phone, "span_read", {"method": "pluck", "span": span, "length": {"value": "300", "unit": "mm"}, "section": "PK", "ribs": 6, "mass": None,
                             "belt_length": None, "readings": ["81.5", "82"], "reading_unit": "Hz", "force": None, "engine_temperature": "cold",
                             "tool": None, "shown": dict(SHOWN, tension=tension, low=low, high=high, unit=unit)}, loop)


def fit(phone, loop="1"):
    add(phone, "step_recorded", {"step": "fitted", "text": "Belt on"}, loop)


def rows(phone, number=0):
    blocks = phone.get("/jobs/{job}/proved")["context"]["compared"]
    return blocks[number]["rows"] if blocks else []


@pytest.mark.parametrize("before, after, code", [
    ([210, 180, 250], [415, 350, 490], "more"), ([415, 350, 490], [210, 180, 250], "less"),
    ([210, 180, 250], [260, 240, 300], "unsure"), ([210, 180, 250], [280, 250, 310], "unsure"), ([210, 180, 250], [280, 250.1, 310], "more")])
def test_readings_differ_when_their_intervals_do_not_overlap(before, after, code):
    assert compared.change(before, after) == [code, after[0] - before[0]]


def test_a_span_is_set_side_by_side_with_its_intervals(phone):  # noqa: F811
    read(phone, "210", "180", "250")
    assert rows(phone) == []
    fit(phone)
    assert rows(phone) == []
    read(phone, "415", "350", "490", "Crank \u2013 pump")
    row, = rows(phone)
    assert row["what"] == "Tension, crank to pump"
    assert row["before"][:2] == ["210 N", "180 to 250 N (95 %)"] and row["after"][:2] == ["415 N", "350 to 490 N (95 %)"]
    assert row["after"][-1] == "Pluck 81.5, 82 Hz, engine cold"
    assert [row["change"]["word"], row["change"]["sentence"]] == ["Differs", "Tighter by 205 N: the two intervals do not overlap."]
    assert phone.get("/jobs/{job}/sheet")["context"]["compared"][0]["rows"] == rows(phone)


def test_an_overlap_is_no_difference_and_other_units_are_converted(phone):  # noqa: F811
    """1 lbf is 4.4482216152605 N (NIST SP 811): 50 lbf are 222 N."""
    read(phone, "210", "180", "250")
    fit(phone)
    read(phone, "50", "45", "55", unit="lbf")
    row, = rows(phone)
    assert row["change"]["word"] == "Not told apart" and row["change"]["sentence"].startswith("Tighter by 2.8 lbf: less than")


def test_what_was_read_before_only_says_so_and_old_records_without_an_interval_are_not_judged(phone):  # noqa: F811
    read(phone, "210", "180", "250", "alternator to crank")
    fit(phone)
    read(phone, "415", "350", "490")
    # What was read after the work alone has nothing to stand beside.
    row, = rows(phone)
    assert [row["what"], row["after"], row["change"]] == ["Tension, alternator to crank", ["Not read."], None]
    add(phone, "span_read", dict(phone.folded["readings"][0]["data"], shown={}))
    assert rows(phone)[0]["after"][0] == "No tension in its record."
    assert rows(phone)[0]["change"] is None


def test_an_offset_before_and_after(phone):  # noqa: F811
    """1.5 mm over 300 mm is 5.0 mm per m, 0.1 mm is 0.33; a gauge good to 0.05 mm makes it 0.17 either way."""
    fine = dict(GAP, good="0.05", good_unit="mm")
    phone.post("/jobs/{job}/1/aligned", **dict(fine, gap="1,5"))
    fit(phone)
    phone.post("/jobs/{job}/1/aligned", **dict(fine, gap="0,1"))
    row, = rows(phone)
    assert row["what"] == "Offset, crank to pump" and row["change"]["word"] == "Differs" and row["change"]["sentence"].startswith("4.7 mm per m less")
    assert row["before"][0].startswith("5.0") and row["after"][0].startswith("0.3") and "In line" in row["after"]
    phone.post("/jobs/{job}/1/aligned", way="angle", span="crank to pump", angle="0.02", limit="2")
    assert rows(phone)[0]["change"]["sentence"].startswith("4.7 mm per m less")


def test_noise_and_symptom_are_set_against_the_running_checks(phone):  # noqa: F811
    phone.post("/jobs/{job}/cause/check/kind-of-noise", outcome="squeal")
    phone.post("/jobs/{job}/cause/check/tensioner-arm-at-idle", outcome="swings")
    fit(phone)
    phone.post("/jobs/{job}/proved", **answers(phone))
    found = {row["what"]: row for row in rows(phone)}
    assert set(found) == {"Noise and symptom", "Tensioner arm at idle"}
    assert found["Noise and symptom"]["before"][0] == "\u201csqueals when cold\u201d" and found["Noise and symptom"]["before"][1].startswith("Squeal")
    assert found["Noise and symptom"]["after"][0].startswith("Good. The complaint, tried the way it came in: gone")
    assert found["Tensioner arm at idle"]["after"][0].startswith("Good. Arm at idle")


def test_a_check_done_again_after_the_work_keeps_what_it_found_before(phone):  # noqa: F811
    for outcome in ("short_end", "long_end"):
        phone.post("/jobs/{job}/cause/check/tensioner-pointer-engine-off", outcome=outcome)
    assert len(phone.folded["answers"]) == 1
    phone.post("/jobs/{job}/cause/check/belt-ribs-by-eye", outcome="cracks")
    fit(phone)
    for outcome in ("short_end", "inside"):
        phone.post("/jobs/{job}/cause/check/tensioner-pointer-engine-off", outcome=outcome)
    phone.post("/jobs/{job}/cause/check/belt-ribs-by-eye", outcome="sound")
    assert [entry["data"]["outcome"] for entry in phone.folded["answers"]] == ["long_end", "cracks", "inside", "sound"]
    assert [row["what"] for row in rows(phone)] == ["Tensioner pointer", "Belt ribs by eye"]
    assert dict(evidence.answers(phone.folded, "1"))["C7"] == "inside"
    phone.post("/jobs/{job}/1/fitted", ("done", "pointer"))
    assert len(rows(phone)[0]["after"]) == 1


def test_the_pointer_after_two_turns_stands_against_the_pointer_before(phone):  # noqa: F811
    phone.post("/jobs/{job}/cause/check/tensioner-pointer-engine-off", outcome="long_end")
    left = [line["item"] for line in phone.get("/jobs/{job}/1/fitted")["context"]["lines"] if line["open"] and line["item"] != "bolts"]
    assert phone.post("/jobs/{job}/1/fitted", *[("done", item) for item in left])["do"] == "record"
    row, = rows(phone)
    assert row["what"] == "Tensioner pointer" and row["after"] == ["Pointer again after the turns: still inside its marks"]


def test_a_corrected_new_belt_does_not_move_the_line_between_before_and_after(phone):  # noqa: F811
    phone.post("/jobs/{job}/1/belts/new", step="marking", marking="6PK1500", stretch="no")
    read(phone, "415", "350", "490")
    phone.post("/jobs/{job}/1/belts/new", step="marking", marking="6PK1510", stretch="no")
    before, after = card.around_work(phone.folded, "1", phone.folded["readings"])
    assert [before, len(after)] == [[], 1]


def test_each_belt_has_its_own_comparison_and_its_own_running_checks():
    phone = table(gated())  # noqa: F811
    phone.post("/jobs/{job}/facts", **dict(TWO, tensioner1="automatic"))
    items = list(answers(phone))
    assert "r_arm1" in items and "r_arm2" in items and "r_idle" in items
    phone.post("/jobs/{job}/cause/belt", belt="2")
    phone.post("/jobs/{job}/cause/check/tensioner-arm-at-idle", outcome="swings")
    read(phone, "210", "180", "250", loop="2")
    fit(phone, "2")
    read(phone, "415", "350", "490", loop="2")
    phone.post("/jobs/{job}/proved", note="arm still moves", **dict(answers(phone), r_arm2="bad"))
    assert ["2"] == [entry["loop"] for entry in phone.folded["runs"] if entry["data"]["result"] == "bad"]
    assert "Not good: Compressor belt: Arm at idle" in card.step_state(phone.folded, "", "proved")[1]
    blocks = phone.get("/jobs/{job}/proved")["context"]["compared"]
    assert ["", "Compressor belt"] == [block["name"] for block in blocks]
    assert ["Tension, crank to pump", "Tensioner arm at idle"] == [row["what"] for row in blocks[1]["rows"]]


def test_an_answer_that_names_no_belt_stands_for_each():
    phone = table(gated())  # noqa: F811
    phone.post("/jobs/{job}/facts", **dict(TWO, tensioner1="automatic"))
    add(phone, "run_checked", {"item": "arm", "what": "Arm", "result": "good", "note": None}, "")
    shown = [check for group in phone.get("/jobs/{job}/proved")["context"]["groups"] for check in group["checks"] if check["item"].startswith("arm")]
    assert ["good", "good"] == [check["result"] for check in shown] and FACTS["count"] == "1"
