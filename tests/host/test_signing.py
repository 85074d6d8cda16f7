"""Signing off: who may, what it covers, and what is refused with everything typed still there."""

import pytest
from conftest import PIN, booked, new_job, note

from webapp import people, store
from webapp.core import events, words


@pytest.fixture
def job(workshop):
    """A job on which Anna has worked."""
    job = new_job()
    workshop.append(booked(job), note(job, who=workshop.people["Anna"]))
    return job


def folded(workshop, job):
    with workshop.database() as db:
        return events.fold(store.job_events(db, job))


def form(workshop, job, **changes):
    held = folded(workshop, job)
    filled = {"head": held["head"], "count": str(held["count"]), "pin": PIN, "looked_at": ["cause", "belts"],
              "gaps": "Only a trial of the signature", "sentence": "Nothing was done to this car."}
    filled.update(changes)
    return filled


def refused(answer, sentence):
    assert 422 == answer.status_code
    assert sentence in answer.text
    assert PIN not in answer.text
    assert "Nothing was done to this car." in answer.text
    assert "Only a trial of the signature" in answer.text


def test_a_supervisor_who_did_not_work_on_it_signs(workshop, job):
    head = folded(workshop, job)["head"]
    answer = workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job))
    assert (303, f"/jobs/{job}") == (answer.status_code, answer.headers["Location"])
    seal = folded(workshop, job)["signature"]
    assert (workshop.people["Bodo"], True, True) == (seal["who"], seal["verified"], seal["data"]["second_person"])
    assert (head, 2, ["cause", "belts"]) == (seal["data"]["head"], seal["data"]["count"], seal["data"]["looked_at"])


def test_a_late_entry_reopens_and_a_fresh_signature_closes(workshop, job):
    client = workshop.client("Bodo")
    client.post(f"/jobs/{job}/sign", data=form(workshop, job))
    workshop.append(note(job, "Came late", 5, who=workshop.people["Anna"]))
    assert folded(workshop, job)["signature"] is None
    assert 303 == client.post(f"/jobs/{job}/sign", data=form(workshop, job)).status_code
    held = folded(workshop, job)
    assert (2, 5) == (len(held["signatures"]), held["count"])
    assert held["signature"] is not None


def test_what_arrived_since_the_look_is_told(workshop, job):
    old = form(workshop, job)
    workshop.append(note(job, "Just arrived", 3, who=workshop.people["Anna"]))
    refused(workshop.client("Bodo").post(f"/jobs/{job}/sign", data=old), words.ERRORS["head-moved"])
    assert folded(workshop, job)["signatures"] == []


def test_what_the_page_showed_unsent_and_came_in_since_is_signed(workshop, job):
    """A phone shows its own entries before the server has them: an accepted gap, and the signature at once after it."""
    seen = form(workshop, job)
    own = [note(job, "First", 3, who=workshop.people["Anna"]), note(job, "Second", 4, who=workshop.people["Anna"])]
    seen["own"] = " ".join(event["id"] for event in own)
    client = workshop.client("Bodo")
    workshop.append(own[0])
    refused(client.post(f"/jobs/{job}/sign", data=seen), words.ERRORS["not-arrived"])
    workshop.append(own[1])
    assert 303 == client.post(f"/jobs/{job}/sign", data=seen).status_code
    seal = folded(workshop, job)["signature"]["data"]
    assert (4, folded(workshop, job)["history"][3]["hash"]) == (seal["count"], seal["head"])


@pytest.mark.parametrize("order", [[0, 2, 1], [2, 0, 1], [1, 0], [0]])
def test_what_came_in_between_or_otherwise_is_not_what_was_seen(workshop, job, order):
    """The entries that the page showed unsent, 0 and 1, stand in another order, or beside one that it did not show."""
    seen = form(workshop, job)
    more = [note(job, f"Entry {n}", n, who=workshop.people["Anna"]) for n in (3, 4, 5)]
    seen["own"] = " ".join(more[i]["id"] for i in (0, 1) if i in order) if len(order) > 1 else ""
    workshop.append(*[more[i] for i in order])
    refused(workshop.client("Bodo").post(f"/jobs/{job}/sign", data=seen), words.ERRORS["head-moved"])
    assert folded(workshop, job)["signatures"] == []


def test_a_job_that_never_left_the_phone_before_is_signed_as_it_was_seen(workshop):
    job = new_job()
    own = [booked(job), note(job, who=workshop.people["Anna"])]
    workshop.append(*own)
    seen = form(workshop, job, head="", count="0", own=" ".join(event["id"] for event in own))
    assert 303 == workshop.client("Bodo").post(f"/jobs/{job}/sign", data=seen).status_code


@pytest.mark.parametrize("changes", [{"head": "0" * 64}, {"count": "1"}, {"count": "x"}, {"head": ""}])
def test_a_made_up_head_or_count_is_refused(workshop, job, changes):
    refused(workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job, **changes)),
            words.ERRORS["head-moved"])


def test_a_technician_cannot_sign(workshop, job):
    refused(workshop.client("Cleo").post(f"/jobs/{job}/sign", data=form(workshop, job)), words.ERRORS["not-supervisor"])


def test_nobody_signs_work_of_their_own(workshop, job):
    workshop.append(note(job, "Looked as well", 3, who=workshop.people["Bodo"]))
    refused(workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job)), words.ERRORS["own-work"])


def test_in_a_one_person_workshop_the_record_says_that_there_was_no_second_person(workshop, job):
    workshop.append(note(job, "Did it all", 3, who=workshop.people["Bodo"]))
    with workshop.database() as db:
        for name in ("Anna", "Cleo"):
            people.change(db, workshop.people[name], name, ["technician"], False, "", "2026-03-09T08:05:00Z")
    assert 303 == workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job)).status_code
    assert folded(workshop, job)["signature"]["data"]["second_person"] is False


def test_a_wrong_pin_is_refused_and_slows_the_next_try(workshop, job):
    client = workshop.client("Bodo")
    refused(client.post(f"/jobs/{job}/sign", data=form(workshop, job, pin="0000")), words.ERRORS["wrong-pin"])
    refused(client.post(f"/jobs/{job}/sign", data=form(workshop, job)), "Too many wrong PINs")
    assert folded(workshop, job)["signatures"] == []


def test_an_empty_pin_is_no_try(workshop, job):
    client = workshop.client("Bodo")
    refused(client.post(f"/jobs/{job}/sign", data=form(workshop, job, pin="")), words.ERRORS["empty"])
    assert 303 == client.post(f"/jobs/{job}/sign", data=form(workshop, job)).status_code


def test_what_is_missing_has_to_be_answered(workshop, job):
    answer = workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job, gaps=" "))
    assert 422 == answer.status_code
    assert words.ERRORS["gaps-open"] in answer.text


@pytest.mark.parametrize("changes", [{"sentence": ""}, {"sentence": "x" * 401}, {"looked_at": ["moon"]},
                                     {"gaps": "x" * 601}])
def test_a_bad_field_is_refused(workshop, job, changes):
    answer = workshop.client("Bodo").post(f"/jobs/{job}/sign", data=form(workshop, job, **changes))
    assert 422 == answer.status_code
    assert folded(workshop, job)["signatures"] == []


def test_the_form_may_name_the_signer_who_then_proves_it_by_pin(workshop, job):
    """A phone that changed hands without signal: the server still takes it for Cleo's."""
    client = workshop.client("Cleo")
    named = form(workshop, job, signer=workshop.people["Bodo"])
    again = client.post(f"/jobs/{job}/sign", data=dict(named, pin=""))
    assert f'name="signer" value="{workshop.people["Bodo"]}"' in again.text
    assert 303 == client.post(f"/jobs/{job}/sign", data=named).status_code
    assert workshop.people["Bodo"] == folded(workshop, job)["signature"]["who"]


def test_a_phone_cannot_send_a_signature(workshop, job):
    held = folded(workshop, job)
    data = {"head": held["head"], "count": 2, "looked_at": [], "gaps": None, "second_person": True, "sentence": "Done."}
    forged = dict(note(job, n=9), kind="signed_off", data=data)
    verdict = workshop.client("Bodo").post("/sync/send", json={"events": [forged]}).json["verdicts"][0]
    assert ("refused", "server-only") == (verdict["verdict"], verdict["code"])
