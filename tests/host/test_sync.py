"""What phones send and fetch, as over the network: odd bodies, repeats, limits."""

import json

import pytest
from conftest import booked, new_job, note

from webapp import photos, strict_json, sync


@pytest.fixture
def client(workshop):
    return workshop.client("Anna")


def test_ask_send_pull_and_everything_again(workshop, client):
    device = workshop.device(client)["id"]
    anna = workshop.people["Anna"]
    job = new_job()
    events = [booked(job, device=device, who=anna), note(job, device=device, who=workshop.people["Bodo"])]
    names = [event["id"] for event in events]
    assert names == client.post("/sync/ask", json={"ids": names}).json["lacking"]
    for word in ("stored", "already"):
        verdicts = client.post("/sync/send", json={"events": events}).json["verdicts"]
        assert [(name, word) for name in names] == [(v["id"], v["verdict"]) for v in verdicts]
    assert [] == client.post("/sync/ask", json={"ids": names}).json["lacking"]
    page = client.get("/sync/pull?after=0&limit=10").json
    assert (names, {job: 2}, 2, False) == ([e["id"] for e in page["events"]], page["counts"], page["next"], page["more"])
    assert [True, False] == [e["verified"] for e in page["events"]]
    assert page["events"] == client.get(f"/sync/job/{job}").json["events"]


def test_the_reference_names_people_shop_device_and_who(workshop, client):
    found = client.get("/sync/reference").json
    assert {"people", "shop", "device", "who", "causes", "causes_seal", "stock_seal"} == set(found)
    assert [("Anna", ["technician"]), ("Bodo", ["supervisor"]), ("Cleo", ["parts"])] == [
        (p["name"], p["roles"]) for p in found["people"]]
    assert workshop.people["Anna"] == found["who"]
    assert {"name", "address", "length_unit", "force_unit", "distance_unit", "paper", "tape_constants",
            "origin"} == set(found["shop"])


def test_odd_members_over_the_wire_get_a_verdict_each_and_the_rest_goes_in(client):
    job = new_job()
    good = [json.dumps(booked(job)), json.dumps(note(job))]
    huge = json.dumps(note(job)).replace('"n": 2', '"n": ' + "9" * 6000)
    deep = json.dumps(note(job)).replace('"data": {', '"data": {"x": ' + "[" * 20000 + "]" * 20000 + ", ")
    nan = json.dumps(note(job)).replace('"n": 2', '"n": NaN')
    overflow = json.dumps(note(job)).replace('"n": 2', '"n": 1e309')
    members = [good[0], huge, deep, nan, overflow, "null", "-1e5", '"\\ud800"', json.dumps(note(job, "x" * 20000)), good[1]]
    answer = client.post("/sync/send", data='{"events": [' + ",".join(members) + "]}")
    assert 200 == answer.status_code
    words = [v["verdict"] for v in answer.json["verdicts"]]
    assert ["stored"] + ["refused"] * 8 + ["stored"] == words


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"null", b'{"events": {}}', b'{"ids": []}', b"\xff\xfe", b"[" * 100000,
                                  b'{"events": [1,]}', b"NaN", b'"' * 7])
def test_a_body_that_cannot_be_read_is_refused_in_words(client, body):
    answer = client.post("/sync/send", data=body)
    assert 400 == answer.status_code
    assert answer.json["sentence"]


def test_a_batch_over_the_limit_is_refused_as_a_whole(workshop, client):
    answer = client.post("/sync/send", json={"events": [booked(new_job()) for _ in range(sync.MAX_BATCH + 1)]})
    assert 413 == answer.status_code
    assert f"at most {sync.MAX_BATCH} entries" in answer.json["sentence"]
    assert [] == client.get("/sync/pull").json["events"]
    assert 413 == client.post("/sync/send", data=b" " * (2 * 1024 * 1024 + 1)).status_code


@pytest.mark.parametrize("query", ["after=x", "after=-1", "after=1e3", "after=" + "9" * 30, "limit=", "limit=٣"])
def test_an_odd_page_of_the_log_is_refused_in_words(client, query):
    assert 400 == client.get("/sync/pull?" + query).status_code


@pytest.mark.parametrize("path, key", [("/sync/ask", "ids"), ("/sync/photos", "hashes")])
def test_asking_with_odd_members_answers_for_the_others(client, path, key):
    assert ["a" * 64] == client.post(path, json={key: [None, {}, 3, "x" * 1000, "a" * 64]}).json["lacking"]


@pytest.mark.parametrize("text", ['{"a": [1, {"b": "x\\"]"}], "c": "[[{{"}', '[["\\\\"], "]"]', '"\\"["'])
def test_flattening_leaves_shallow_text_alone(text):
    assert text == strict_json._flattened(text)


def test_flattening_empties_what_lies_too_deep():
    deep = b'{"a": ' + b"[" * 3000 + b"1" + b"]" * 3000 + b', "b": "kept"}'
    assert "kept" == strict_json.read(deep)["b"]


def test_photos_that_are_not_here_are_asked_for(workshop, client):
    with workshop.app.app_context():
        assert not photos.STORE.held("../../etc/passwd")
    assert ["f" * 64] == client.post("/sync/photos", json={"hashes": ["f" * 64]}).json["lacking"]
