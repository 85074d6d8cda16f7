"""Records: the exact bytes, the gate for each kind, and the fold."""

import copy
import datetime
import hashlib
import json
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from event_samples import DATA, JOB, LOOP, OTHER, SHA, WITH_LOOP, event, uuid
from webapp.core import events, words
from webapp.core.errors import CoreError


def independent(one):
    """The same bytes by the standard library: fixed keys on top, sorted keys below (RFC 8259, ASCII)."""
    parts = [json.dumps(k) + ":" + json.dumps(one[k], sort_keys=True, ensure_ascii=True, separators=(",", ":"))
             for k in events.KEYS]
    return "{" + ",".join(parts) + "}"


def refused(one, job=None, by_server=False):
    with pytest.raises(CoreError) as caught:
        events.check(one, job, by_server)
    assert words.sentence(caught.value)
    return caught.value.code


def test_a_stamp_is_a_time_of_the_calendar():
    """Each day 1 to 31 of each month in common, leap and century years, judged by Python's datetime."""
    def real(text):
        try:
            return bool(datetime.datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ"))
        except ValueError:
            return False

    texts = ["%d-%02d-%02dT08:05:00Z" % (year, month, day) for year in (1900, 2000, 2023, 2024, 2100)
             for month in range(14) for day in range(33)]
    texts += ["2026-03-09T%s:05:00Z" % hour for hour in ("00", "23", "24", "99")]
    texts += ["2026-03-09T08:%s:00Z" % minute for minute in ("00", "59", "60", "99")]
    texts += ["2026-03-09T08:05:%sZ" % second for second in ("00", "59", "99")]
    assert {text: events.is_stamp(text) for text in texts} == {text: real(text) for text in texts}


def passed_gate():
    return events.fold([event("booked_in", 1, seq=1), event("gate_passed", 2, seq=2)])


EXACT = ('{"v":1,"id":"00000000-0000-4000-8000-00000000bf69","job":"5e0a1c9e-4d7b-4b7e-9a53-0f6a6f0c2a11","loop":"",'
         '"kind":"note_added","data":{"handover":true,"text":"\\u00d8l & \\"rem\\" \\ud83d\\udd27\\u000a"},"who":"p1",'
         '"device":"d1","n":1,"at":"2026-03-09T08:05:00Z","replaces":null}')


def test_canonical_text_is_exact():
    one = event("note_added", data={"text": "Øl & \"rem\" \U0001f527\n", "handover": True})
    one["id"] = uuid(0xbf69)
    assert events.canonical(one) == EXACT
    # Computed with `printf %s ... | sha256sum` from the text above.
    assert hashlib.sha256(EXACT.encode("ascii")).hexdigest() == "fa5d69496c25b33b8ba86976e46b4e09257d4e11d21f4fc3f7e326d7784e22da"


def test_canonical_is_the_standard_librarys_but_for_control_characters():
    for kind in DATA:
        assert events.canonical(event(kind)) == independent(event(kind))


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"])),
                    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
                        st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"])), inner, max_size=3), max_leaves=8))
def test_canonical_of_anything_is_the_standard_librarys(value):
    one = event("note_added", data={"x": value})
    try:
        text = events.canonical(one)
    except CoreError as error:
        assert error.code == "too-deep"
        return
    assert json.loads(text) == {k: one[k] for k in events.KEYS}
    if "\x7f" not in text and "\\u007f" not in text:
        assert text == independent(one)


@pytest.mark.parametrize("value", [1.5, float("nan"), (1,), {1, 2}, b"x"])
def test_canonical_refuses_what_prints_differently(value):
    with pytest.raises(CoreError) as caught:
        events.canonical(event("note_added", data={"x": value}))
    assert caught.value.code == "not-canonical"


def test_link_is_the_hash_of_prev_sequence_time_and_content():
    one = event("note_added", seq=7)
    assert events.link_text("ab", one) == "ab\n7\n2026-03-09T09:00:00Z\n" + events.canonical(one)


def test_the_order_of_keys_does_not_matter():
    one = event("belt_recorded")
    turned = {k: one[k] for k in reversed(list(one))}
    turned["data"] = {k: one["data"][k] for k in reversed(list(one["data"]))}
    assert events.canonical(turned) == events.canonical(one)


@pytest.mark.parametrize("kind", sorted(events.KINDS))
def test_a_good_event_of_each_kind_passes(kind):
    replaces = uuid(1 + 1000 * ord("1")) if kind == "withdrawn" else None
    job = None if kind == "booked_in" else passed_gate()
    if kind == "withdrawn":
        job = events.fold([event("booked_in", 2, seq=1), event("note_added", 1, seq=2)])
    events.check(event(kind, 9, replaces=replaces), job, by_server=kind == "signed_off")


@pytest.mark.parametrize("kind", sorted(events.KINDS))
def test_each_missing_and_each_unknown_key_is_refused(kind):
    replaces = OTHER if kind == "withdrawn" else None
    for key in DATA[kind]:
        one = event(kind, replaces=replaces)
        del one["data"][key]
        with pytest.raises(CoreError) as caught:
            events.check_form(one)
        assert (caught.value.code, caught.value.field) == ("missing-key", key)
    one = event(kind, replaces=replaces)
    one["data"]["extra"] = "x"
    with pytest.raises(CoreError) as caught:
        events.check_form(one)
    assert (caught.value.code, caught.value.field) == ("unknown-key", "extra")


@pytest.mark.parametrize("kind", sorted(events.KINDS))
def test_each_value_of_the_wrong_type_is_refused(kind):
    for key in DATA[kind]:
        for bad in (1.5, [[]], {"x": []}, -1, True if not isinstance(DATA[kind][key], bool) else "yes", "\u0000" * 5000):
            one = event(kind, replaces=OTHER if kind == "withdrawn" else None)
            one["data"][key] = bad
            with pytest.raises(CoreError):
                events.check_form(one)


@pytest.mark.parametrize("key, bad, code", [
    ("v", 2, "unknown-version"), ("v", True, "unknown-version"), ("id", "x", "not-an-id"), ("id", None, "not-an-id"),
    ("id", "5E0A1C9E-4D7B-4B7E-9A53-0F6A6F0C2A11", "not-an-id"), ("job", 5, "not-an-id"), ("loop", "4", "not-a-choice"),
    ("loop", None, "not-a-choice"), ("kind", "polished", "unknown-kind"), ("kind", [], "unknown-kind"),
    ("data", [], "not-a-map"), ("data", None, "not-a-map"), ("who", "", "empty"), ("who", 7, "not-text"),
    ("device", "d" * 41, "too-long"), ("n", 0, "out-of-range"), ("n", "1", "not-whole"), ("n", True, "not-whole"),
    ("n", 1.0, "not-whole"), ("at", "yesterday", "not-a-time"), ("at", "2026-13-09T08:05:00Z", "not-a-time"),
    ("at", "2026-03-09T08:05:00+01:00", "not-a-time"), ("replaces", "x", "not-an-id")])
def test_a_bad_envelope_is_refused(key, bad, code):
    one = event("note_added")
    one[key] = bad
    assert refused(one, passed_gate()) == code


def test_a_missing_or_extra_envelope_key_is_refused():
    for key in events.KEYS:
        one = event("note_added")
        del one[key]
        assert refused(one, passed_gate()) == "missing-key"
    one = event("note_added")
    one["seq"] = 3
    assert refused(one, passed_gate()) == "unknown-key"
    assert refused("text", passed_gate()) == "not-a-map"


@pytest.mark.parametrize("kind, key, bad, code", [
    ("booked_in", "distance", {"value": "84,2", "unit": "km"}, "not-a-number"),
    ("booked_in", "distance", {"value": "1e309", "unit": "km"}, "not-a-number"),
    ("booked_in", "distance", {"value": "84", "unit": "parsec"}, "unknown-unit"),
    ("booked_in", "distance", {"value": "84"}, "not-a-quantity"),
    ("booked_in", "distance", {"value": 84, "unit": "km"}, "not-a-quantity"),
    ("booked_in", "registration", " ", "empty"), ("booked_in", "complaint", "x" * 601, "too-long"),
    ("facts_recorded", "loops", [], "empty"), ("facts_recorded", "loops", [LOOP, LOOP], "not-a-choice"),
    ("facts_recorded", "loops", [LOOP] * 4, "too-many"), ("facts_recorded", "loops", ["x"], "not-a-map"),
    ("facts_recorded", "voltage", "230", "not-a-choice"), ("gate_passed", "confirmed", ["keys", "luck"], "not-a-choice"),
    ("gate_passed", "confirmed", "keys", "not-a-list"), ("belt_recorded", "ribs", 61, "out-of-range"),
    ("belt_recorded", "ribs", "6", "not-whole"), ("belt_recorded", "stretch", "no", "not-a-flag"),
    ("span_read", "readings", ["1"] * 13, "too-many"), ("span_read", "shown", {"a": 1}, "not-text"),
    ("photo_taken", "sha256", SHA[:-1] + "G", "not-a-hash"), ("photo_taken", "size", 10 ** 9, "out-of-range")])
def test_bad_data_says_what_is_wrong(kind, key, bad, code):
    one = event(kind)
    one["data"][key] = bad
    assert refused(one, passed_gate()) == code


@pytest.mark.parametrize("kind, later, bad", [
    ("photo_taken", {"check": "C7", "what": "Pointer", "stage": "after"}, {"check": "x" * 31, "what": 7, "stage": "soon"}),
    ("span_read", {"sounds": [SHA, None, SHA]}, {"sounds": [SHA, 7]})])
def test_a_key_that_came_later_may_lack_but_never_holds_nonsense(kind, later, bad):
    assert sorted(later) == sorted(events.KINDS[kind]["later"])
    events.check_form(event(kind))
    events.check_form(event(kind, data=dict(DATA[kind], **later)))
    for key in later:
        events.check_form(event(kind, data=dict(DATA[kind], **{key: None})))
        with pytest.raises(CoreError) as caught:
            events.check_form(event(kind, data=dict(DATA[kind], **{key: bad[key]})))
        assert caught.value.field == key


def test_an_oversized_event_is_refused():
    one = event("span_read")
    one["data"]["shown"] = {str(i): "x" * 400 for i in range(60)}
    assert refused(one, passed_gate()) == "too-long"


def test_the_gate_comes_before_whatever_touches_the_belt():
    job = events.fold([event("booked_in")])
    for kind in WITH_LOOP:
        expected = "gate-first" if "gate" in events.KINDS[kind] else None
        if expected:
            assert refused(event(kind, 5), job) == expected
        else:
            events.check(event(kind, 5), job)


def test_a_job_begins_with_one_booking():
    assert refused(event("note_added"), None) == "unknown-job"
    assert refused(event("booked_in", 2), passed_gate()) == "booked-twice"
    assert refused(event("signed_off"), passed_gate()) == "server-only"
    assert refused(event("note_added", loop="1"), passed_gate()) == "wrong-loop"
    assert refused(event("belt_recorded", loop=""), passed_gate()) == "wrong-loop"


def test_corrections_keep_their_kind_and_some_entries_stand():
    note, gate = event("note_added", 3, seq=3), event("gate_passed", 2, seq=2)
    job = events.fold([event("booked_in", 1, seq=1), gate, note])
    events.check(event("note_added", 4, replaces=note["id"]), job)
    assert refused(event("gate_stopped", 4, replaces=note["id"]), job) == "wrong-kind"
    assert refused(event("gate_passed", 4, replaces=gate["id"]), job) == "not-replaceable"
    assert refused(event("withdrawn", 4), job) == "missing-key"
    assert refused(event("withdrawn", 4, replaces=event("booked_in")["id"]), job) == "not-replaceable"
    mine = event("note_added", 4)
    mine["replaces"] = mine["id"]
    assert refused(mine, job) == "not-an-id"
    events.check(event("note_added", 4, replaces=OTHER), job)


def texts(job):
    return [n["data"]["text"] for n in job["notes"]]


def note(text, n, **more):
    return event("note_added", n, data={"text": text, "handover": False}, **more)


def test_fold_orders_by_sequence_then_device_and_counter_never_by_clock():
    late = note("sent, clock two days ahead", 9, device="d9", seq=2)
    late["at"] = "2026-03-11T08:05:00Z"
    early = note("unsent, clock two days behind", 2, device="d2")
    early["at"] = "2026-03-07T08:05:00Z"
    job = events.fold([early, note("unsent first device", 5), late, event("booked_in", seq=1)])
    assert texts(job) == ["sent, clock two days ahead", "unsent first device", "unsent, clock two days behind"]
    assert (job["count"], job["unsent"], job["head"]) == (2, 2, late["hash"])
    assert events.fold([]) is None


def test_the_later_of_two_corrections_stands_and_both_are_kept():
    first = note("one", 2, seq=2)
    job = events.fold([event("booked_in", seq=1), note("three", 3, device="d3", seq=4, replaces=first["id"]),
                       first, note("two", 4, device="d2", seq=3, replaces=first["id"])])
    assert texts(job) == ["three"]
    assert [h["state"] for h in job["history"]] == ["stands", "replaced", "replaced", "stands"]


def test_a_correction_waits_for_its_target():
    first = note("one", 2, device="d2")
    second = note("two", 3, replaces=first["id"])
    waiting = events.fold([event("booked_in", seq=1), second])
    assert texts(waiting) == [] and waiting["history"][1]["state"] == "waits"
    assert texts(events.fold([event("booked_in", seq=1), second, first])) == ["two"]


def test_a_correction_received_before_its_target_still_stands():
    first, last = note("one", 2, seq=5), note("three", 4, device="d3", seq=2)
    second = note("two", 3, device="d2", seq=4, replaces=first["id"])
    last["replaces"] = second["id"]
    job = events.fold([event("booked_in", seq=1), last, second, first])
    assert texts(job) == ["three"]
    assert [h["state"] for h in job["history"]] == ["stands", "stands", "replaced", "replaced"]


def test_corrections_that_name_each_other_wait_and_do_not_hang():
    one, two = note("one", 2), note("two", 3)
    one["replaces"], two["replaces"] = two["id"], one["id"]
    job = events.fold([event("booked_in"), one, two])
    assert texts(job) == [] and [h["state"] for h in job["history"][1:]] == ["waits", "waits"]


def test_withdrawing_takes_an_entry_back_and_keeps_it_in_the_history():
    first = note("one", 2, seq=2)
    job = events.fold([event("booked_in", seq=1), first, event("withdrawn", 3, replaces=first["id"], seq=3)])
    assert texts(job) == [] and len(job["history"]) == 3


def test_what_comes_after_the_signature_is_late_and_breaks_the_seal():
    signed = [event("booked_in", seq=1), note("one", 2, seq=2), event("signed_off", 3, device="d0", who="p2", seq=3)]
    assert events.fold(signed)["signature"]["seq"] == 3
    late = note("offline", 7, device="d7")
    job = events.fold(signed + [late])
    assert job["signature"] is None and job["late"] == [late["id"]] and len(job["signatures"]) == 1
    assert events.fold(signed + [event("tag_issued", 8)])["signature"] is not None
    again = events.fold(signed + [dict(late, seq=4, hash=SHA), event("signed_off", 9, who="p2", seq=5)])
    assert again["signature"]["seq"] == 5 and again["late"] == []


def test_desk_work_is_not_work_on_the_job():
    job = events.fold([event("booked_in", who="desk", seq=1), event("tag_issued", 2, who="desk", seq=2),
                       note("x", 3, who="bay", seq=3), event("signed_off", 4, who="boss", seq=4)])
    assert job["workers"] == ["bay"]


def test_who_accepts_a_gap_has_not_worked_on_the_job_and_who_looked_has():
    look = {"look": "drag", "what": "Does one drag?", "note": "Owner waits"}
    told = [event("booked_in", who="desk", seq=1), event("ready_for_signature", 2, who="bay", seq=2),
            event("look_recorded", 3, who="boss", data=dict(look, result="accepted"), seq=3)]
    job = events.fold(told)
    assert job["workers"] == ["bay"] and job["ready"] is not None
    job = events.fold(told + [event("look_recorded", 4, who="boss", data=dict(look, result="fine"), seq=4)])
    assert job["workers"] == ["bay", "boss"] and job["ready"] is None


def test_tags_are_voided_one_by_one():
    job = events.fold([event("booked_in", seq=1), event("tag_issued", 2, seq=2),
                       event("tag_issued", 3, data={"token": "t-2"}, seq=3), event("tag_voided", 4, seq=4)])
    assert [[t["token"], t["voided"]] for t in job["tags"]] == [["t-1", "Torn"], ["t-2", None]]


@st.composite
def histories(pick):
    """Jobs with sent and unsent notes of three devices and corrections of any of them."""
    made = [event("booked_in", seq=1)]
    for i in range(pick(st.integers(0, 9))):
        target = pick(st.sampled_from(made))
        replaces = target["id"] if target["kind"] == "note_added" and pick(st.booleans()) else None
        seq = i + 2 if pick(st.booleans()) else None
        made.append(note(str(i), i + 2, device=pick(st.sampled_from(["d1", "d2", "d3"])), replaces=replaces, seq=seq))
    return made


@given(histories(), st.randoms(use_true_random=False))
def test_fold_does_not_depend_on_the_order_of_arrival(made, rng):
    shuffled = copy.deepcopy(made)
    rng.shuffle(shuffled)
    assert events.fold(shuffled) == events.fold(made)


@given(histories())
def test_fold_loses_nothing_and_changes_nothing(made):
    before = copy.deepcopy(made)
    job = events.fold(made)
    assert made == before
    assert sorted(h["id"] for h in job["history"]) == sorted(e["id"] for e in made)
    assert job["count"] + job["unsent"] == len(made)


def test_make_takes_ids_counter_clock_and_person_from_what_was_given():
    what = {"ids": [uuid(1), uuid(2)], "who": "p1", "device": "d1", "n": 41, "now": "2026-03-09T08:05:00Z"}
    made = events.make(what, 1, "note_added", JOB, DATA["note_added"])
    assert (made["id"], made["n"], made["who"], made["at"]) == (uuid(2), 42, "p1", what["now"])
    events.check(made, passed_gate())


def test_random_dicts_are_refused_with_a_sentence_not_a_crash():
    rng = random.Random(7)
    junk = [None, True, 0, 1.5, "", "x", [], {}, [1], {"value": "1", "unit": "mm"}, "1", JOB]
    for _ in range(400):
        one = event(rng.choice(sorted(DATA)))
        one[rng.choice(events.KEYS)] = rng.choice(junk)
        one["data"] = dict(one["data"]) if isinstance(one["data"], dict) else one["data"]
        if isinstance(one["data"], dict) and one["data"]:
            one["data"][rng.choice(sorted(one["data"]))] = rng.choice(junk)
        try:
            events.check(one, passed_gate())
        except CoreError as error:
            assert words.sentence(error)
