"""The table of causes and the workshop's own counts on the server: in force, replaced, refused, handed to phones. Invented data."""

import copy
import io
import json

import pytest
from conftest import PIN, booked, make_event, new_job

from webapp import causes, store
from webapp.core import cause_table


@pytest.fixture
def office(workshop):
    return workshop.client("Bodo")


@pytest.fixture
def client(workshop):
    return workshop.client("Anna")


def sent(client, table, raw=None):
    body = raw if raw is not None else json.dumps(table).encode()
    return client.post("/office/causes", data={"file": (io.BytesIO(body), "causes.json")}, content_type="multipart/form-data")


def own_table(**changes):
    return dict(copy.deepcopy(causes.BUILT_IN), statement="Judgement of Bodo's workshop.", **changes)


def test_the_built_in_table_can_be_reasoned_with():
    cause_table.check_table(causes.BUILT_IN)


def test_another_table_comes_in_force_goes_to_phones_and_back(workshop, office, client):
    first = client.get("/sync/reference").json
    assert causes.BUILT_IN == first["causes"]["table"] and first["causes"]["counts"] is None
    assert client.get("/sync/reference?causes=" + first["causes_seal"]).json["causes"] is None
    assert 303 == sent(office, own_table()).status_code
    assert "Judgement of Bodo" in office.get("/office/causes").text and "own table" in office.get("/office/causes").text
    second = client.get("/sync/reference?causes=" + first["causes_seal"]).json
    assert own_table() == second["causes"]["table"] and first["causes_seal"] != second["causes_seal"]
    assert own_table() == json.loads(office.get("/office/causes/file").data)
    assert 303 == office.post("/office/causes/back").status_code
    assert first["causes_seal"] == client.get("/sync/reference").json["causes_seal"]


def _sum(table):
    table["checks"][4]["p"]["B_WORN"][0] += 5


def _unknown(table):
    table["checks"][4]["p"]["NOBODY"] = table["checks"][4]["p"]["B_WORN"]


def _outcomes(table):
    table["checks"][4]["p"]["B_WORN"].pop()


@pytest.mark.parametrize("harm, place", [(_sum, "checks, C1, row B_WORN"), (_unknown, "checks, C1, row NOBODY"),
                                         (_outcomes, "checks, C1, row B_WORN"), (lambda t: t.pop("causes"), "table"),
                                         (lambda t: t["setups"][2].update(first=["moon"]), "setups, bonnet")])
def test_a_table_that_cannot_be_reasoned_with_is_refused_with_the_place_and_the_old_one_stays(office, harm, place):
    sent(office, own_table())
    harmed = own_table(version=2)
    harm(harmed)
    answer = sent(office, harmed)
    assert 422 == answer.status_code and place in answer.text and "stays" in answer.text
    assert 1 == json.loads(office.get("/office/causes/file").data)["version"]


@pytest.mark.parametrize("raw", [b"", b"\xff\xfe", b"not json", b"[]", b"null", b'{"causes": NaN}', b"[" * 50000, b" " * 300001])
def test_a_file_that_is_no_table_is_refused(office, raw):
    assert 422 == sent(office, None, raw).status_code
    assert "built-in table" in office.get("/office/causes").text


def test_only_a_supervisor_changes_the_table(client):
    assert 403 == sent(client, own_table()).status_code == client.post("/office/causes/back").status_code
    assert 403 == client.get("/office/causes").status_code


def proved(db, cause, outcome):
    """A signed job whose one cause was repaired and run good."""
    job = new_job()
    good = [booked(job), make_event(job, "check_answered", {"check": "I1", "outcome": outcome, "note": None}, 2),
            make_event(job, "cause_named", {"causes": [cause], "names": ["x"], "reason": "seen", "shown": {}}, 3),
            make_event(job, "gate_passed", {"voltage": "12", "start_stop": "none", "confirmed": [], "authorised": None}, 4),
            make_event(job, "run_checked", {"item": "idle", "what": "idle", "result": "good", "note": None}, 5)]
    assert ["stored"] * 5 == [verdict["verdict"] for verdict in store.append(db, good, "2026-03-09T08:05:00Z")]
    head = store.job_events(db, job)[-1]["hash"]
    seal = make_event(job, "signed_off", {"head": head, "count": 5, "looked_at": [], "gaps": None, "second_person": True,
                                          "sentence": "Done."}, 6, who="bodo")
    assert "stored" == store.append(db, [seal], "2026-03-09T08:05:00Z", by_server=True)[0]["verdict"]
    return job


def test_own_counts_grow_from_proved_jobs_and_shrink_when_one_is_changed_after_the_signature(workshop, office, client):
    seal = client.get("/sync/reference").json["causes_seal"]
    with workshop.database() as db:
        job = proved(db, "B_WORN", "squeal")
        proved(db, "TVD", "rattle")
        counts = {"causes": [["B_WORN", 1], ["TVD", 1]], "cells": [["I1", "B_WORN", "squeal", 1], ["I1", "TVD", "rattle", 1]]}
        assert counts == causes.given(db)["counts"]
        store.rebuild(db)
        assert counts == causes.given(db)["counts"]
    reference = client.get("/sync/reference?causes=" + seal).json
    assert counts == reference["causes"]["counts"]
    assert "Own proved jobs: 2" in office.get("/office/causes").text
    with workshop.database() as db:
        late = make_event(job, "note_added", {"text": "Noise is back", "handover": False}, 7)
        store.append(db, [late], "2026-03-09T09:05:00Z")
        assert [["TVD", 1]] == causes.given(db)["counts"]["causes"]


def test_a_signature_with_an_unanswered_look_behind_the_cause_needs_a_reason(workshop):
    with workshop.database() as db:
        job = new_job()
        store.append(db, [booked(job), make_event(job, "cause_named", {"causes": ["TN_DAMP"], "names": ["Damping"], "reason": "seen",
                                                                       "shown": {}}, 2)], "2026-03-09T08:05:00Z")
        held = store.job_events(db, job)
    office = workshop.client("Bodo")
    page = office.get(f"/jobs/{job}/sign").text
    assert "Behind the cause, not answered" in page
    form = {"head": held[-1]["hash"], "count": "2", "pin": PIN, "signer": workshop.people["Bodo"], "sentence": "Done."}
    assert 422 == office.post(f"/jobs/{job}/sign", data=form).status_code
    assert 303 == office.post(f"/jobs/{job}/sign", data=dict(form, gaps="Owner wants it at once, damper next month.")).status_code
