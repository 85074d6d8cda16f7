"""What every answer keeps to: forged requests, sizes, headers, connections, unknown addresses."""

import io
import re
import sqlite3

import pytest
from conftest import booked, make_event, new_job, note

from webapp import app as application
from webapp import context, guard, headers, host, store


@pytest.fixture
def client(workshop):
    return workshop.client("Bodo")


FORM = {"name": "Dora", "roles": ["parts"], "pin": "1234"}


@pytest.mark.parametrize("headers, status", [
    ({"Sec-Fetch-Site": "same-origin"}, 303),
    ({"Sec-Fetch-Site": "cross-site"}, 403),
    ({"Sec-Fetch-Site": "same-site"}, 403),
    ({"Sec-Fetch-Site": "none"}, 403),
    ({"Sec-Fetch-Site": "same-origin, cross-site"}, 403),
    # The browser's own word stands above Origin.
    ({"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"}, 403),
    ({"Origin": "http://localhost"}, 303),
    ({"Origin": "http://localhost:80"}, 303),
    ({"Origin": "http://localhost:8080"}, 403),
    ({"Origin": "https://localhost"}, 403),
    ({"Origin": "http://evil.example"}, 403),
    ({"Origin": "http://localhost.evil.example"}, 403),
    ({"Origin": "http://localhost:x"}, 403),
    ({"Origin": "null"}, 403),
    ({}, 303)])
def test_a_form_from_another_site_changes_nothing(workshop, client, headers, status):
    assert status == client.post("/office/people", data=FORM, headers=headers).status_code
    assert (status == 303) == ("Dora" in client.get("/signin").text)


@pytest.mark.parametrize("method, path", [("POST", "/sync/send"), ("PUT", "/photos/" + "a" * 64), ("POST", "/signin"),
                                          ("POST", "/signout"), ("POST", "/book")])
def test_every_change_is_guarded(client, method, path):
    assert 403 == client.open(path, method=method, headers={"Sec-Fetch-Site": "cross-site"}).status_code
    assert 403 == client.open(path, method=method, headers={"Origin": "http://evil.example"}).status_code


@pytest.mark.parametrize("hops, status", [(0, 403), (1, 303)])
def test_a_proxy_is_believed_only_when_the_setting_says_so(workshop, hops, status):
    app = application.create_app({"DATA": workshop.folder, "HOPS": hops})
    answer = app.test_client().post(
        "/signin", data={"person": workshop.people["Anna"], "pin": "4711"},
        headers={"Origin": "https://belts.example", "X-Forwarded-Proto": "https", "X-Forwarded-Host": "belts.example",
                 "X-Forwarded-For": "192.0.2.1"})
    assert status == answer.status_code


def test_pages_are_not_kept_and_load_nothing_from_elsewhere(client):
    answer = client.get("/jobs")
    assert "no-store" == answer.headers["Cache-Control"]
    assert headers.POLICY == answer.headers["Content-Security-Policy"]
    assert "script-src 'self' 'wasm-unsafe-eval'" in headers.POLICY and "unsafe-inline" not in headers.POLICY
    assert "nosniff" == answer.headers["X-Content-Type-Options"]
    assert "same-origin" == answer.headers["Referrer-Policy"]
    assert "Strict-Transport-Security" not in answer.headers


@pytest.mark.parametrize("path", ["/jobs", "/office/shop", "/static/css/spanwright.css"])
def test_answers_are_compressed(client, path):
    with client.get(path, headers={"Accept-Encoding": "br, gzip"}) as answer:
        assert "br" == answer.headers["Content-Encoding"]


def test_assets_are_asked_for_again_but_not_sent_again(client):
    with client.get("/static/css/spanwright.css", headers={"Accept-Encoding": "br"}) as first:
        again = {"If-None-Match": first.headers["ETag"], "Accept-Encoding": "br"}
        assert "no-cache" == first.headers["Cache-Control"]
    with client.get("/static/css/spanwright.css", headers=again) as second:
        assert 304 == second.status_code


def test_the_worker_is_sent_once_and_its_modules_are_kept_with_their_version(client):
    first = client.get("/sw.js", headers={"Accept-Encoding": "br"})
    again = {"If-None-Match": first.headers["ETag"], "Accept-Encoding": "br"}
    assert 304 == client.get("/sw.js", headers=again).status_code
    modules = re.findall(r'from "([^"]+)"', client.get("/sw.js").text)
    assert modules
    for address in modules:
        with client.get(address, headers={"Accept-Encoding": "br"}) as answer:
            assert "immutable" in answer.headers["Cache-Control"]
            assert "br" == answer.headers["Content-Encoding"] and "text/javascript" in answer.headers["Content-Type"]
    other = modules[0].replace(client.get("/version.json").json["version"], "0" * 12)
    assert other != modules[0] and 404 == client.get(other).status_code


@pytest.mark.parametrize("path", ["/nothing", "/jobs/", "/jobs/" + "a" * 400, "/%00", "/office/nothing",
                                  "/jobs/x/y/z/w"])
def test_an_unknown_address_is_a_plain_page(client, path):
    answer = client.get(path)
    assert 404 == answer.status_code
    assert "<h1>" in answer.text


def test_an_unknown_job_is_not_found(client):
    assert 404 == client.get(f"/jobs/{new_job()}").status_code
    assert 404 == client.post(f"/jobs/{new_job()}/sign").status_code


@pytest.mark.parametrize("method, path", [("POST", "/jobs"), ("DELETE", "/jobs"), ("PUT", "/office"),
                                          ("GET", "/signout")])
def test_a_known_address_with_another_method(client, method, path):
    assert 405 == client.open(path, method=method).status_code


def test_an_oversized_form_is_refused_in_words(client):
    answer = client.post("/book", data={"complaint": "x" * (guard.MAX_BODY + 1)})
    assert 413 == answer.status_code
    assert application.SENTENCES[413][1] in answer.text


def test_a_failure_is_a_calm_page_and_a_line_in_the_log(client, monkeypatch, caplog):
    monkeypatch.setattr(store, "board", lambda db: 1 / 0)
    answer = client.get("/jobs")
    assert 500 == answer.status_code
    assert "Nothing that was stored is lost" in answer.text
    assert "ZeroDivisionError" not in answer.text
    assert "GET /jobs failed" in caplog.text


def test_a_database_that_stays_locked_is_told_as_busy(client, monkeypatch, workshop):
    monkeypatch.setattr(store, "BUSY_MS", 10)
    with workshop.database() as other:
        other.execute("BEGIN IMMEDIATE")
        answer = client.post("/sync/send", json={"events": []})
        other.rollback()
    assert 503 == answer.status_code


def test_each_request_closes_its_connection(client, monkeypatch):
    opened = []

    def connect(*args, **options):
        opened.append(real(*args, **options))
        return opened[-1]

    real = store.connect
    monkeypatch.setattr(store, "connect", connect)
    for path in ("/jobs", "/nothing", "/sync/pull", "/signin", f"/jobs/{new_job()}"):
        client.get(path)
    assert len(opened) >= 4
    for db in opened:
        with pytest.raises(sqlite3.ProgrammingError):
            db.execute("SELECT 1")


def test_reading_requests_cannot_write(workshop, client, monkeypatch):
    monkeypatch.setattr(store, "board", lambda db: db.execute("DELETE FROM tags"))
    assert 500 == client.get("/jobs").status_code


def test_a_job_booked_in_at_the_server_is_stored_under_its_device(workshop):
    client = workshop.client("Anna")
    answer = client.post("/book", data={"registration": "XY 987", "complaint": "Charging light on", "kind": "fault"})
    assert 303 == answer.status_code
    with workshop.database() as db:
        held = store.pull(db, 0, 10, "")["events"]
    device = workshop.device(client)
    assert [(device["id"], workshop.people["Anna"], True)] * len(held) == [
        (e["device"], e["who"], e["verified"]) for e in held]
    assert list(range(1, len(held) + 1)) == [e["n"] for e in held]
    assert device["n"] == len(held) > 0


def test_an_empty_form_comes_back_and_records_nothing(workshop):
    client = workshop.client("Anna")
    answer = client.post("/book", data={"registration": "", "complaint": "Charging light on", "kind": "fault"})
    assert 422 == answer.status_code
    assert "Charging light on" in answer.text
    with workshop.database() as db:
        assert [] == store.board(db)


def test_an_entry_that_the_log_refuses_is_told(workshop, client):
    """The job may move on between the page's reading and its writing."""
    stale = make_event(new_job(), "note_added", {"text": "For a job that is not here", "handover": False}, 1)
    with workshop.app.test_request_context("/", method="POST", headers=dict(Cookie=cookie(client))):
        page, status = host.carry_out({"do": "record", "events": [stale], "goto": "/jobs"})
        context.close()
    assert 422 == status
    assert "This job is not known here." in page


def cookie(client):
    held = client.get_cookie("spanwright_device")
    return f"{held.key}={held.value}"


def test_a_tag_and_a_typed_code_lead_to_the_job(workshop, client):
    job = new_job()
    workshop.append(booked(job), note(job), make_event(job, "tag_issued", {"token": "t1"}, 3))
    assert f"/jobs/{job}" == client.get("/t/t1").headers["Location"]
    with workshop.database() as db:
        code = db.execute("SELECT code FROM jobs").fetchone()[0]
    assert f"/jobs/{job}" == client.get("/find", query_string={"code": code}).headers["Location"]
    assert 404 == client.get("/t/unknown").status_code


def test_a_body_that_is_refused_is_still_read_to_its_end(client):
    """A browser reports a broken connection instead of the answer when the server hangs up on it."""
    body = io.BytesIO(b"x" * (guard.MAX_BODY + 100_000))
    answer = client.post("/book", input_stream=body, content_length=guard.MAX_BODY + 100_000)
    assert 413 == answer.status_code
    assert b"" == body.read()
