"""The job card's rules: order of work, what is missing, who is being waited for. Values are invented."""

import uuid

import pytest

from webapp.core import card, events, gaps, words

JOB = "00000000-0000-4000-8000-000000000001"
BOOKED = {"registration": "HL07 KZR", "vin": None, "car": "Estate 1.9", "engine": None, "distance": None,
          "complaint": "squeals when cold", "service": False}
CAR = {"voltage": "12", "start_stop": "none", "alternator_pulley": "solid", "crank_pulley": "damper",
       "compressor": "none", "steering": "electric", "water_pump": "this_belt", "access": "above"}


def loop(number, tensioner="automatic", belt="ribbed", name="Main belt"):
    return {"loop": number, "name": name, "belt": belt, "ribs": 6, "tensioner": tensioner, "marks": "limits",
            "pin_hole": "yes"}


class Log:
    """A job's events, numbered as the server would."""

    def __init__(self, **booked):
        self.events = []
        self.add("booked_in", dict(BOOKED, **booked))

    def add(self, kind, data, loop="", who="ines", replaces=None):
        n = len(self.events) + 1
        given = {"now": "2026-03-09T08:05:00Z", "who": who, "device": "phone", "n": n, "ids": [str(uuid.uuid4())]}
        event = events.make(given, 0, kind, JOB, data, loop, replaces)
        events.check(event, events.fold(self.events), by_server=True)
        self.events.append(dict(event, seq=n, received=event["at"], prev="", hash="%064x" % n, verified=True))
        return event["id"]

    def facts(self, *loops, **car):
        return self.add("facts_recorded", dict(CAR, loops=list(loops) or [loop("1")], **car))

    def gate(self, voltage="12"):
        self.add("gate_passed", {"voltage": voltage, "start_stop": "none", "authorised": "R. Lind, trained",
                                 "confirmed": [code for code, _ in words.choice_pairs("gate")]})

    def step(self, step, loop="", text="done as usual"):
        return self.add("step_recorded", {"step": step, "text": text}, loop)

    def belt(self, place, loop="1", **more):
        data = {"place": place, "marking": "6PK1500", "section": "PK", "ribs": 6, "length": {"value": "1500", "unit": "mm"},
                "length_kind": "effective", "double_sided": False, "stretch": False, "ribs_counted": 6, "width": None,
                "taped": None, "tape_constant": None, "wear": [], "wear_note": None, "batch": None}
        self.add("belt_recorded", dict(data, **more), loop)

    def photo(self, subject, loop="1"):
        self.add("photo_taken", {"sha256": "%064x" % len(self.events), "subject": subject, "width": 1600, "height": 1200,
                                 "size": 1000, "note": None}, loop)

    def sign(self):
        job = self.job
        self.add("signed_off", {"head": job["head"], "count": job["count"], "looked_at": ["cause"], "gaps": None,
                                "second_person": True, "sentence": "New belt."}, who="maud")

    @property
    def job(self):
        return events.fold(self.events)

    @property
    def next(self):
        return card.next_step(self.job)


def finished():
    log = Log()
    log.facts()
    log.step("cause")
    log.gate()
    log.step("drive", "1")
    for place in ("old", "new"):
        log.belt(place)
        log.photo(place + "_belt")
    for step in ("parts", "fitted", "tension", "aligned"):
        log.step(step, "1")
    log.step("proved")
    log.step("next_check")
    return log


def test_the_next_step_follows_the_order_of_work():
    log = Log()
    seen = [log.next]
    log.facts()
    seen.append(log.next)
    log.step("cause")
    seen.append(log.next)
    log.gate()
    seen.append(log.next)
    log.step("drive", "1")
    seen.append(log.next)
    log.belt("old")
    seen.append(log.next)
    log.step("parts", "1")
    seen.append(log.next)
    log.belt("new")
    seen.append(log.next)
    # The new belt comes with the parts.
    assert seen == [["", "booked"], ["", "cause"], ["", "gate"], ["1", "drive"], ["1", "belts"], ["1", "parts"],
                    ["1", "belts"], ["1", "fitted"]]


def test_a_new_belt_that_is_recorded_first_leaves_the_old_one_next():
    log = Log()
    log.facts()
    log.step("cause")
    log.gate()
    log.step("drive", "1")
    log.belt("new")
    assert log.next == ["1", "belts"]


def test_the_card_leads_to_every_steps_own_screen():
    log = Log()
    log.facts()
    paths = {station["step"]: station["path"] for station in card.progress(log.job, "1")}
    assert {step: path.removeprefix("/jobs/" + log.job["id"]) for step, path in paths.items()} == {
        "booked": "/booking", "cause": "/cause", "gate": "/gate", "drive": "/1/drive", "belts": "/1/belts", "parts": "/1/parts",
        "fitted": "/1/fitted", "tension": "/1/tension", "aligned": "/1/aligned", "proved": "/proved", "next_check": "/next-check",
        "signed": "/sign"}


def test_the_card_counts_the_facts_that_nobody_knows():
    log = Log()
    log.facts(loop("1", "unknown"), voltage="unknown")
    assert card.step_state(log.job, "", "booked") == ["done", "Facts of the drive not known yet: 2."]


def test_a_finished_job_waits_for_the_signature_and_then_for_nobody():
    log = finished()
    assert log.next == ["", "signed"]
    assert gaps.of(log.job) == []
    assert card.waiting_for(log.job) == "supervisor"
    log.sign()
    assert log.next is None
    assert card.waiting_for(log.job) == "nobody"
    assert card.summary(log.job)["open"] is False


def test_a_signature_over_gaps_ends_the_work():
    log = Log()
    log.facts()
    log.sign()
    assert log.next is None and card.waiting_for(log.job) == "nobody"
    log.add("note_added", {"text": "found a clip", "handover": False})
    assert log.next == ["", "signed"]


def test_an_entry_after_the_signature_asks_for_a_fresh_one():
    log = finished()
    log.sign()
    log.add("note_added", {"text": "found a clip", "handover": False})
    assert log.next == ["", "signed"]
    assert card.waits_in_words(log.job) == "Signed, then changed: sign again"
    assert card.waiting_for(log.job) == "supervisor"
    log.sign()
    assert log.next is None


def test_each_loop_is_finished_before_the_next_one():
    log = Log()
    log.facts(loop("1"), loop("2", "stretch_fit", "stretch", "Air-con belt"))
    log.step("cause")
    log.gate()
    log.step("drive", "1")
    for step in ("belts", "parts", "fitted", "tension", "aligned"):
        log.add("step_skipped", {"step": step, "reason": "only looked at"}, "1")
    assert log.next == ["2", "drive"]
    assert card.waits_in_words(log.job) == "Drive, Air-con belt"


def test_a_service_job_need_not_name_a_cause():
    log = Log(service=True)
    log.facts()
    assert log.next == ["", "gate"]
    assert card.step_state(log.job, "", "cause")[0] == "skipped"


def test_a_skipped_step_shows_its_reason_and_is_not_missing():
    log = finished()
    log.add("step_skipped", {"step": "aligned", "reason": "no pulley was disturbed"}, "1")
    assert card.step_state(log.job, "1", "aligned") == ["skipped", "no pulley was disturbed"]
    assert gaps.of(log.job) == []


def test_a_step_taken_back_is_open_again():
    log = finished()
    entry = card.standing_step(log.job, "1", "fitted")
    log.add("withdrawn", {"reason": "wrong car"}, "1", replaces=entry["id"])
    assert log.next == ["1", "fitted"]
    assert [m[0] for m in gaps.of(log.job)] == ["fitted"]


def test_a_safety_stop_comes_first_and_waits_for_the_supervisor():
    log = finished()
    log.add("gate_stopped", {"reason": "48 V: ask R. Lind."})
    assert log.next == ["", "gate"]
    assert card.waiting_for(log.job) == "supervisor"
    assert "48 V" in gaps.of(log.job)[0][1]
    log.gate()
    assert log.next == ["", "signed"]


def test_parts_wait_for_the_parts_runner():
    log = finished()
    log.add("withdrawn", {"reason": "not picked yet"}, "1", replaces=card.standing_step(log.job, "1", "parts")["id"])
    assert card.waiting_for(log.job) == "parts"


def test_belts_without_a_photo_are_missing_one():
    log = Log()
    log.facts()
    log.gate()
    log.belt("old")
    sentences = [m[1] for m in gaps.of(log.job) if m[0] == "belts"]
    assert "Main belt: no photo of the old belt." in sentences
    log.photo("old_belt")
    assert "Main belt: no photo of the old belt." not in [m[1] for m in gaps.of(log.job)]


def test_a_belt_that_differs_needs_a_reason():
    log = finished()
    log.belt("new", marking="5PK1500", ribs=5, ribs_counted=5)
    assert any("nobody has said why" in m[1] for m in gaps.of(log.job))
    log.add("difference_accepted", {"reason": "maker's list gives five ribs"}, "1")
    assert gaps.of(log.job) == []
    log.belt("new", marking="4PK1500", ribs=4, ribs_counted=4)
    assert any("nobody has said why" in m[1] for m in gaps.of(log.job)), "the reason spoke of another belt"


def test_the_place_in_the_list_is_the_servers_never_a_clocks():
    log = finished()
    log.events[-1].update(seq=412, at="1999-01-01T00:00:00Z")
    assert card.summary(log.job)["turn"] == [0, 412]
    log.events[-1].update(seq=None, n=31)
    assert card.summary(log.job)["turn"] == [1, 31]


@pytest.mark.parametrize("kind, data, loop", [
    ("step_recorded", {"step": "fitted", "text": "Bolt turned again"}, "1"), ("note_added", {"text": "It squeals", "handover": True}, "")])
def test_work_after_ready_asks_to_say_ready_again(kind, data, loop):
    log = finished()
    log.add("ready_for_signature", {"note": None})
    assert card.waiting_for(log.job) == "supervisor" and log.job["lapsed"] is None
    log.add("tag_issued", {"token": "t-2"})
    assert log.job["ready"] is not None, "a new tag is no work"
    log.add(kind, data, loop)
    assert log.job["ready"] is None and log.job["lapsed"]["kind"] == kind
    assert card.waiting_for(log.job) == "technician"
    assert card.waits_in_words(log.job) == "Worked on since it was ready: say ready again"
    assert card.step_state(log.job, "", "signed") == ["open", "Worked on since it was ready: say ready again."]
    log.add("ready_for_signature", {"note": None})
    assert log.job["lapsed"] is None and card.waiting_for(log.job) == "supervisor"


def test_a_signature_over_a_lapsed_ready_ends_the_work():
    log = finished()
    log.add("ready_for_signature", {"note": None})
    log.add("note_added", {"text": "It squeals", "handover": False})
    log.sign()
    assert log.next is None and card.waiting_for(log.job) == "nobody"


def test_ready_for_signature_waits_for_the_supervisor():
    log = Log()
    log.add("ready_for_signature", {"note": None})
    assert card.waiting_for(log.job) == "supervisor"


@pytest.mark.parametrize("tensioner, belt, code", [
    ("automatic", "ribbed", "spring"), ("hydraulic", "ribbed", "strut"), ("stretch_fit", "stretch", "stretch"),
    ("unknown", "unknown", "spring")])
def test_fitting_cautions_follow_the_tensioner(tensioner, belt, code):
    """Common practice, no source: trade cautions on stored spring force, struts and stretch-fit belts."""
    log = Log()
    log.facts(loop("1", tensioner, belt))
    said = card.cautions(log.job, "fitted", "1")
    assert words.caution(code) in said
    assert words.caution("lever") in said


@pytest.mark.parametrize("step", [s for s in card.STEPS if s not in ("booked", "gate", "signed")])
def test_the_makers_data_comes_first_in_every_step(step):
    log = Log()
    assert card.cautions(log.job, step, "1")[0] == words.caution("maker")


def test_running_checks_keep_the_phone_away_from_the_belt():
    log = Log()
    for step in ("cause", "proved"):
        said = card.cautions(log.job, step)
        assert words.caution("phone") in said and words.caution("moving") in said


def test_high_voltage_is_said_in_every_step():
    log = Log()
    log.facts(voltage="48")
    log.gate("48")
    for step in card.LOOP_STEPS:
        assert words.caution("trained") in card.cautions(log.job, step, "1")


def test_no_caution_names_a_torque_or_an_angle():
    """Torque values come from the vehicle maker only: no digit stands in a caution but the 48 of 48 V."""
    for _, sentence in words.CAUTIONS:
        assert not [c for c in sentence.replace("48 V", "") if c.isdigit()]
