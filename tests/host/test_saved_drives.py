"""The saved drives on the server: what follows from the log, what phones get, what the office takes in."""

import io
import json
import sqlite3

import pytest
from conftest import AT, booked, make_event, new_job

from tests.core import drive_samples
from webapp import drives, store
from webapp.core import drive_entry, drive_file, library


def data(name="Van", sample="automatic", shared=True):
    return {"name": name, "engine": None, "origin": "tape", "copied_from": None, "shared": shared,
            "drive": drive_entry.from_drive(drive_samples.load(sample))}


def recorded(job, name="Van", n=2, **changes):
    shared = changes.pop("shared", True)
    return make_event(job, "drive_recorded", data(name, shared=shared), n, loop="1", **changes)


def text_of(name="Truck", sample="slotted"):
    return drive_file.write(library.saved("x", data(name, sample), ["", "Tove", AT, AT]), "Tove")


def names(db):
    return sorted(row["name"] for row in drives.listed(db))


def verdicts(db, *events):
    found = store.append(db, list(events), AT)
    assert [v["verdict"] for v in found] == ["stored"] * len(events), found


# ---- derived from the log ----

def test_the_library_follows_the_log(db):
    job, other = new_job(), new_job()
    first = recorded(job)
    verdicts(db, booked(job), first, booked(other), recorded(other, "Hidden", shared=False))
    assert names(db) == ["Van"] and drives.get(db, first["id"])["data"] == first["data"]
    row = drives.listed(db)[0]
    assert (row["belt"], row["pulleys"], row["who"], row["at"], row["received"], row["job"]) == ("6 PK 1420", "6", "anna", AT, AT, job)
    second = recorded(job, "Van, corrected", 3, replaces=first["id"])
    verdicts(db, second)
    assert names(db) == ["Van, corrected"] and drives.get(db, first["id"]) is None
    verdicts(db, make_event(job, "withdrawn", {"reason": "Wrong car"}, 4, loop="1", replaces=second["id"]))
    assert names(db) == []


def test_a_rebuild_makes_the_same_library_and_leaves_files_alone(db):
    job = new_job()
    verdicts(db, booked(job), recorded(job))
    drives.take_in(db, text_of(), "bodo", AT)
    before = (drives.listed(db), drives.seal(db))
    store.rebuild(db)
    assert (drives.listed(db), drives.seal(db)) == before and len(before[0]) == 2


def test_what_the_office_took_in_never_changes(db):
    drives.take_in(db, text_of(), "bodo", AT)
    for statement in ("UPDATE drive_files SET content = '{}'", "DELETE FROM drive_files"):
        with pytest.raises(sqlite3.IntegrityError, match="never changes"):
            db.execute(statement)
    name = drives.listed(db)[0]["id"]
    assert drives.withdraw(db, name, "bodo", AT) and not drives.withdraw(db, name, "bodo", AT)
    assert drives.listed(db) == []
    # Taken out, it may come again.
    drives.take_in(db, text_of(), "bodo", AT)
    assert names(db) == ["Truck"]


# ---- phones ----

def test_a_phone_gets_what_it_lacks_and_is_told_what_is_gone(workshop):
    client = workshop.client("Anna")
    device, job = workshop.device(client)["id"], new_job()
    empty = client.get("/sync/pull").json["drives"]
    first = recorded(job, device=device)
    workshop.append(booked(job, device=device), first)
    seal = client.get("/sync/pull").json["drives"]
    assert seal != empty
    answer = client.post("/sync/drives", json={"ids": ["gone"]}).json
    assert ([one["id"] for one in answer["drives"]], answer["gone"], answer["more"], answer["seal"]) == ([first["id"]], ["gone"], False, seal)
    assert answer["drives"][0]["data"] == first["data"]
    again = client.post("/sync/drives", json={"ids": [first["id"]]}).json
    assert (again["drives"], again["gone"]) == ([], [])
    workshop.append(recorded(job, "Corrected", 3, device=device, replaces=first["id"]))
    answer = client.post("/sync/drives", json={"ids": [first["id"]]}).json
    assert ([one["name"] for one in answer["drives"]], answer["gone"]) == (["Corrected"], [first["id"]])
    assert client.get("/sync/pull").json["drives"] != seal


def test_a_large_library_comes_in_pages(workshop):
    client = workshop.client("Anna")
    with workshop.database() as db:
        for i in range(drives.PAGE + 5):
            drives.take_in(db, text_of(f"Truck {i}"), "bodo", AT)
    held = []
    for size, more in ((drives.PAGE, True), (5, False)):
        answer = client.post("/sync/drives", json={"ids": held}).json
        held += [one["id"] for one in answer["drives"]]
        assert (len(answer["drives"]), answer["more"]) == (size, more)
    assert len(set(held)) == drives.PAGE + 5


@pytest.mark.parametrize("body", [b"", b"[]", b'{"ids": 5}', b"\xff", b"[" * 5000])
def test_an_odd_question_of_a_phone_is_refused_in_words(workshop, body):
    answer = workshop.client("Anna").post("/sync/drives", data=body)
    assert answer.status_code == 400 and answer.json["sentence"]


def test_odd_ids_are_passed_over(workshop):
    answer = workshop.client("Anna").post("/sync/drives", json={"ids": [None, 5, {}, "x" * 500, "x"]}).json
    assert answer["gone"] == ["x"]


# ---- out and in over the network ----

def test_a_file_goes_out_and_comes_into_another_workshop(workshop):
    client = workshop.client("Bodo")
    job = new_job()
    first = recorded(job, who=workshop.people["Anna"])
    workshop.append(booked(job), first)
    answer = client.get(f"/drives/{first['id']}/file")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="drive-van.json"'
    assert (answer.mimetype, answer.json["measured_by"]) == ("application/json", "Anna")
    assert client.get("/drives/none/file").status_code == 404
    other = new_job()
    workshop.append(booked(other))
    assert client.post(f"/jobs/{other}/1/drive/file", data={"text": answer.text, "shared": "no"}).status_code == 303
    assert "From a file" in client.get(f"/jobs/{other}/sheet").text
    bad = client.post(f"/jobs/{other}/1/drive/file", data={"text": answer.text.replace("150", "1e999")})
    assert bad.status_code == 422 and "1e999" in bad.text and "No such number" in bad.text


def upload(client, *files):
    return client.post("/office/drives", data={"file": [(io.BytesIO(body), name) for name, body in files]})


def test_the_office_takes_in_several_files_with_a_verdict_for_each(workshop):
    client = workshop.client("Bodo")
    good = text_of().encode()
    bent = text_of("Bent").replace('"diameter_mm": 66', '"diameter_mm": -66').encode()
    answer = upload(client, ("good.json", good), ("same.json", good), ("other.json", text_of("Truck", "fixed").encode()), ("bent.json", bent),
                    ("wide.json", "{\"form\": \"spanwright-drive\"}".encode("utf-16")), ("huge.json", b" " * 300_000), ("<b>.json", b"{}"))
    assert answer.status_code == 200
    for words in ("“Truck”.", "here already", "has this name too", "Pulley 2 (alternator), diameter_mm: Expected between 8 and 1500",
                  "at most 60000", "&lt;b&gt;.json"):
        assert words in answer.text, words
    assert answer.text.count("Refused") == 4
    with workshop.database() as db:
        held = drives.listed(db)
    assert [(row["who"], row["at"], row["origin"]) for row in held] == [("Tove", AT, "file")] * 2
    assert "Truck" in client.get("/drives").text
    gone = held[0]["id"]
    assert client.post(f"/office/drives/{gone}/withdraw").status_code == 303
    assert client.post(f"/office/drives/{gone}/withdraw").status_code == 404
    assert client.get(f"/drives/{gone}").status_code == 404


def test_nothing_and_too_much_are_refused(workshop):
    client = workshop.client("Bodo")
    assert upload(client).status_code == 422
    assert upload(client, *[(f"{i}.json", b"x") for i in range(41)]).status_code == 422
    assert upload(client, ("bad.json", b"NaN")).status_code == 422
    assert client.post("/office/drives", data=b"x" * 10, content_type="application/json").status_code == 422


def test_only_a_supervisor_takes_drives_in_and_out(workshop):
    client = workshop.client("Anna")
    assert {client.get("/office/drives").status_code, upload(client, ("a.json", b"")).status_code,
            client.post("/office/drives/x/withdraw").status_code} == {403}


def test_a_workshop_from_before_gets_its_library(workshop):
    """The tables were made later than some logs: opening makes the lists afresh."""
    job = new_job()
    workshop.append(booked(job), recorded(job))
    with workshop.database() as db:
        with store.writing(db):
            db.execute("DELETE FROM drives")
            db.execute("UPDATE derived SET made_by = 'an older core'")
        store.open_database(workshop.app.config["DATABASE"]).close()
        assert names(db) == ["Van"]
        assert json.loads(db.execute("SELECT content FROM drives").fetchone()[0])["job"] == job
