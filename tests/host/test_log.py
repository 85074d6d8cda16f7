"""The log: what comes in, in which order, with which verdict; and that nothing in it ever changes."""

import json
import re
import shutil
import sqlite3
import threading
from pathlib import Path

import pytest
from conftest import AT, booked, make_event, new_job, note
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from webapp import store
from webapp.core import events as records

FIXTURE = Path(__file__).parent / "fixtures" / "log_v1.db"

COPY = ("SELECT seq, id, job, json_set(content, '$.who', 'eve'), received, prev, hash, verified FROM events"
        " WHERE seq = 1")
FORBIDDEN = [
    "UPDATE events SET verified = 1",
    "UPDATE OR REPLACE events SET content = content",
    "DELETE FROM events",
    "DELETE FROM events WHERE seq = 2",
    "INSERT INTO events " + COPY,
    "INSERT OR REPLACE INTO events " + COPY,
    "REPLACE INTO events " + COPY,
    "INSERT OR IGNORE INTO events " + COPY,
    "INSERT INTO events " + COPY + " ON CONFLICT (id) DO UPDATE SET content = excluded.content",
    # Another id on a seat that is taken: REPLACE would throw out who sits there.
    "INSERT OR REPLACE INTO events SELECT 1, 'x', 'y', '{\"id\":\"x\",\"job\":\"y\"}', received, '', hash, 0"
    " FROM events WHERE seq = 1",
    # A gap, and a link that joins nothing.
    "INSERT INTO events SELECT 9, 'x', 'y', '{\"id\":\"x\",\"job\":\"y\"}', received, '', hash, 0 FROM events"
    " WHERE seq = 1",
    "INSERT INTO events SELECT 3, 'x', job, json_set(content, '$.id', 'x'), received, '', hash, 0 FROM events"
    " WHERE seq = 1",
]


def verdicts(found):
    return [(v["verdict"], v["code"]) for v in found]


def rows(db):
    return db.execute("SELECT * FROM events ORDER BY seq").fetchall()


@pytest.fixture(params=["from zero", "from an older file"])
def held(request, path):
    """A database with two entries, built now or brought up to date from a file of an older version."""
    if request.param == "from an older file":
        shutil.copy(FIXTURE, path)
    db = store.open_database(path)
    if request.param == "from zero":
        job = new_job()
        store.append(db, [booked(job), note(job)], AT)
    yield db
    db.close()


@pytest.mark.parametrize("recursive", [0, 1])
@pytest.mark.parametrize("statement", FORBIDDEN)
def test_the_database_itself_refuses_to_change_the_log(held, statement, recursive):
    before = rows(held)
    assert len(before) == 2
    held.execute(f"PRAGMA recursive_triggers = {recursive}")
    with pytest.raises(sqlite3.IntegrityError):
        held.execute(statement)
    assert before == rows(held)


def test_the_same_entry_again_is_skipped_by_the_database(held):
    before = rows(held)
    held.execute("INSERT INTO events SELECT * FROM events WHERE seq = 1")
    assert before == rows(held)


def test_an_older_file_gets_every_step_and_keeps_its_entries(path):
    shutil.copy(FIXTURE, path)
    db = store.open_database(path)
    applied = [step.name for step in store.steps.applied(db)]
    assert ["m001_log", "m002_derived", "m003_people_and_devices", "m004_shop", "m005_saved_drives"] == applied[:5]
    assert [] == store.steps.pending(db)
    job = store.board(db)[0]["id"]
    assert 2 == len(store.job_events(db, job))
    assert store.verify_chain(db, job) is None
    db.close()


def test_every_connection_is_set_up(path):
    store.open_database(path).close()
    db = store.connect(path)
    settings_held = {name: db.execute(f"PRAGMA {name}").fetchone()[0]
                     for name in ("foreign_keys", "synchronous", "busy_timeout", "recursive_triggers", "journal_mode")}
    assert {"foreign_keys": 1, "synchronous": 2, "busy_timeout": store.BUSY_MS, "recursive_triggers": 1,
            "journal_mode": "wal"} == settings_held
    db.close()


def test_a_reader_cannot_write(path):
    store.open_database(path).close()
    db = store.connect(path, read_only=True)
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        db.execute("INSERT INTO shop VALUES (1, '{}', '', '')")
    db.close()


def test_every_table_of_ours_is_strict(db):
    tables = db.execute("SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'").fetchall()
    loose = [name for name, strict in tables if not strict and not name.startswith(("sqlite_", "_sqlite"))]
    assert [] == loose


def test_each_member_of_a_batch_gets_its_verdict_and_the_good_ones_go_in(db):
    job = new_job()
    first, good = booked(job), note(job)
    assert [("stored", "")] == verdicts(store.append(db, [first], AT))
    batch = [None, 3.5, "text", [], {}, {"id": 7}, {"id": "x" * 500}, good, dict(note(job), n=2.5),
             dict(note(job), extra=1), dict(note(job), v=9), note(job, "x" * 1001), note(new_job()),
             dict(first), dict(first, who="eve"), good, note(job, "half \ud800"), note(job, "Second", 3)]
    found = store.append(db, batch, AT)
    assert [("refused", "not-a-map")] * 4 + [
        ("refused", "missing-key"), ("refused", "missing-key"), ("refused", "missing-key"), ("stored", ""),
        ("refused", "not-whole"), ("refused", "unknown-key"), ("refused", "unknown-version"), ("refused", "too-long"),
        ("refused", "unknown-job"), ("already", ""), ("refused", "other-content"), ("already", ""),
        ("refused", "not-text"), ("stored", "")] == verdicts(found)
    assert all(v["sentence"] for v in found if v["verdict"] == "refused")
    assert [first["id"], good["id"], batch[-1]["id"]] == [e["id"] for e in store.job_events(db, job)]


JSON = st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
                    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
                    max_leaves=12)
PARTS = st.fixed_dictionaries({key: JSON for key in records.KEYS})


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(junk=st.lists(JSON | PARTS, max_size=5), key=st.sampled_from(records.KEYS), value=JSON)
def test_no_json_at_all_breaks_a_batch(db, junk, key, value):
    job = new_job()
    odd = note(job, "Odd one", 3)
    odd[key] = value
    found = store.append(db, [booked(job)] + junk + [odd, note(job, "Last", 4)], AT)
    assert len(junk) + 3 == len(found)
    assert "stored" == found[0]["verdict"]
    assert "stored" == found[-1]["verdict"]


def test_a_batch_is_judged_entry_by_entry_as_the_job_grows(db):
    job = new_job()
    stopped = make_event(job, "gate_passed", {"voltage": "12", "start_stop": "none", "authorised": None,
                                              "confirmed": ["keys", "start_stop", "fan", "cold", "clothing"]}, 3)
    accepted = [make_event(job, "difference_accepted", {"reason": "Maker's bulletin"}, n, loop="1") for n in (2, 4)]
    found = store.append(db, [booked(job), accepted[0], stopped, accepted[1]], AT)
    assert [("stored", ""), ("refused", "gate-first"), ("stored", ""), ("stored", "")] == verdicts(found)


def test_a_correction_of_another_kind_is_refused_within_the_same_batch(db):
    job = new_job()
    first = note(job)
    wrong = make_event(job, "ready_for_signature", {"note": None}, 3, replaces=first["id"])
    right = note(job, "Belt is damp", 4, replaces=first["id"])
    found = store.append(db, [booked(job), first, wrong, right], AT)
    assert [("stored", ""), ("stored", ""), ("refused", "wrong-kind"), ("stored", "")] == verdicts(found)


def test_a_clock_two_days_off_is_taken_as_it_is(db):
    job = new_job()
    found = store.append(db, [booked(job, at="2026-03-11T08:05:00Z"), note(job, at="2026-03-07T08:05:00Z")], AT)
    assert [("stored", "")] * 2 == verdicts(found)
    assert [(1, AT), (2, AT)] == [(e["seq"], e["received"]) for e in store.job_events(db, job)]


def test_each_job_has_its_own_chain_under_one_sequence(db):
    one, two = new_job(), new_job()
    store.append(db, [booked(one), booked(two, n=2), note(one, n=3), note(two, n=4)], AT)
    assert [1, 3] == [e["seq"] for e in store.job_events(db, one)]
    first, second = store.job_events(db, two)
    assert ["", first["hash"]] == [first["prev"], second["prev"]]
    assert second["hash"] == store.link(first["hash"], second)
    assert store.verify_chain(db, two) is None


def test_a_record_changed_behind_the_guard_breaks_the_chain(db):
    job = new_job()
    store.append(db, [booked(job), note(job), note(job, "Third", 3)], AT)
    db.execute("DROP TRIGGER events_no_update")
    db.execute("UPDATE events SET content = replace(content, 'dry', 'wet') WHERE seq = 2")
    assert 2 == store.verify_chain(db, job)


def test_only_a_checked_pair_of_device_and_person_is_verified(db):
    job = new_job()
    store.append(db, [booked(job), note(job, who="bodo")], AT, verified={("d1", "anna")})
    assert [True, False] == [e["verified"] for e in store.job_events(db, job)]


def test_a_signature_of_a_state_that_has_passed_is_refused(db):
    job = new_job()
    store.append(db, [booked(job)], AT)
    head = store.job_events(db, job)[-1]["hash"]
    store.append(db, [note(job)], AT)
    data = {"head": head, "count": 1, "looked_at": [], "gaps": None, "second_person": True, "sentence": "Done."}
    found = store.append(db, [make_event(job, "signed_off", data, 3)], AT, by_server=True)
    assert [("refused", "head-moved")] == verdicts(found)


def test_tags_and_codes_lead_to_their_job(db):
    job = new_job()
    store.append(db, [booked(job), make_event(job, "tag_issued", {"token": "t1"}, 2)], AT)
    assert ([job], False) == ids(store.find(db, token="t1"))
    assert ([], False) == ids(store.find(db, token="t2"))
    code = db.execute("SELECT code FROM jobs").fetchone()[0]
    assert ([job], False) == ids(store.find(db, code=code.lower().replace(" ", "-")))
    assert ([], False) == ids(store.find(db, code="nonsense"))
    store.append(db, [make_event(job, "tag_voided", {"token": "t1", "reason": "Torn"}, 3)], AT)
    assert ([job], True) == ids(store.find(db, token="t1"))


def ids(found):
    return [s["id"] for s in found["jobs"]], found["voided"]


def test_derived_tables_rebuilt_from_the_log_are_the_same(db):
    jobs = [new_job() for _ in range(3)]
    for job in jobs:
        store.append(db, [booked(job), make_event(job, "tag_issued", {"token": "t" + job}, 2)], AT)
    before = [db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in ("jobs", "tags")]
    db.execute("DELETE FROM tags")
    db.execute("UPDATE jobs SET summary = '{}', open = 0")
    assert 3 == store.rebuild(db)
    assert before == [db.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall() for table in ("jobs", "tags")]


def test_derived_tables_are_renewed_when_their_makers_changed(path):
    db = store.open_database(path)
    job = new_job()
    store.append(db, [booked(job)], AT)
    db.execute("UPDATE derived SET made_by = 'an older version'")
    db.execute("UPDATE jobs SET summary = '{}'")
    db.close()
    db = store.open_database(path)
    assert job == store.board(db)[0]["id"]
    db.close()


def test_pull_pages_through_the_log_with_counts(db):
    job = new_job()
    store.append(db, [booked(job)] + [note(job, f"Note {n}", n) for n in range(2, 8)], AT)
    page = store.pull(db, 0, 4, AT)
    assert ([1, 2, 3, 4], {job: 7}, 4, True) == ([e["seq"] for e in page["events"]], page["counts"], page["next"],
                                                 page["more"])
    page = store.pull(db, 4, 4, AT)
    assert ([5, 6, 7], 7, False) == ([e["seq"] for e in page["events"]], page["next"], page["more"])
    last = page["events"][-1]["hash"]
    assert {"events": [], "counts": {}, "next": 7, "more": False, "before": last, "head": last} == store.pull(db, 7, 4, AT)


def test_pull_leaves_out_jobs_closed_long_ago_and_still_moves_the_mark(db):
    closed, open_job = new_job(), new_job()
    store.append(db, [booked(closed), booked(open_job)], AT)
    db.execute("UPDATE jobs SET open = 0 WHERE id = ?", [closed])
    later = "2027" + AT[4:]
    page = store.pull(db, 0, 10, later)
    assert ([open_job], 2) == ([e["job"] for e in page["events"]], page["next"])
    assert [closed, open_job] == [e["job"] for e in store.pull(db, 0, 10, AT)["events"]]


def test_pull_tells_a_phone_that_another_entry_or_none_stands_at_its_mark(db, tmp_path):
    job = new_job()
    store.append(db, [booked(job)], AT)
    first = store.job_events(db, job)[0]["hash"]
    assert {"events": [], "counts": {}, "next": 1, "more": False, "before": "", "head": first} == store.pull(db, 90, 10, AT)
    assert ("", first) == (store.pull(db, 0, 10, AT)["before"], store.pull(db, 0, 10, AT)["head"])
    other = store.open_database(tmp_path / "backup.db")
    db.conn.backup(other.conn)
    for log in (db, other):
        store.append(log, [note(job)], AT)
    assert store.pull(db, 2, 10, AT)["before"] == store.pull(db, 0, 10, AT)["head"] != store.pull(other, 2, 10, AT)["before"]
    other.close()


def test_writers_at_once_all_get_in_and_the_sequence_has_no_gap(path):
    store.open_database(path).close()
    failures = []

    def write(place):
        db = store.connect(path)
        try:
            for n in range(5):
                job = new_job()
                store.append(db, [booked(job), note(job)], AT)
        except Exception as error:
            failures.append((place, error))
        finally:
            db.close()

    threads = [threading.Thread(target=write, args=[place]) for place in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    db = store.connect(path)
    assert [] == failures
    assert list(range(1, 61)) == [row[0] for row in db.execute("SELECT seq FROM events ORDER BY seq")]
    db.close()


@pytest.mark.parametrize("statement", [
    "SELECT seq FROM events WHERE job = ? ORDER BY seq",
    "SELECT hash FROM events WHERE job = ? ORDER BY seq DESC LIMIT 1",
    "SELECT content FROM events WHERE id = ?",
    "SELECT summary FROM jobs WHERE code = ? ORDER BY last_seq",
    "SELECT summary FROM jobs WHERE open = 0 ORDER BY last_seq DESC LIMIT ?",
    "SELECT jobs.summary FROM tags JOIN jobs ON jobs.id = tags.job WHERE token = ?"])
def test_no_look_up_reads_a_whole_table(db, statement):
    plan = " ".join(row[3] for row in db.execute("EXPLAIN QUERY PLAN " + statement, ["x"]))
    assert "SCAN" not in plan


def test_only_the_write_helper_begins_commits_or_enters_a_connection():
    """`with connection:` neither commits nor rolls back in this version of sqlite-utils."""
    found = []
    for source in Path(store.__file__).parent.glob("*.py"):
        for line in source.read_text().splitlines():
            if re.search(r"with .*\bconn\b|\.atomic\(|\.begin\(|\.commit\(|\"BEGIN", line):
                found.append((source.name, line.strip()))
    assert [("store.py", 'db.execute("BEGIN IMMEDIATE")'), ("store.py", "db.commit()")] == found


def test_what_is_stored_is_the_canonical_text(db):
    job = new_job()
    event = booked(job, who="Änne")
    store.append(db, [event], AT)
    text = db.execute("SELECT content FROM events").fetchone()[0]
    assert records.canonical(event) == text
    assert event == json.loads(text)
