"""What a phone holds, for how long: refused photos, entries that the server lost, jobs long signed."""

import hashlib
import io
import shutil
import time
import uuid

import pytest
from PIL import Image

from tests.browser import flow
from tests.browser.screens import job_id
from webapp import context, photos, store
from webapp.core import events

NOW = "2026-03-09T08:05:00Z"
# The worker answers 404 for a job that the phone does not hold.
HOLDS = "async path => (await fetch(path)).status"


@pytest.fixture
def phone(chromium, app_server):
    phone = flow.Hand(chromium.new_context(**flow.PHONE), app_server)
    phone.sign_in("mara")
    yield phone
    phone.context.close()


def put(phone, body, folder="photos"):
    """Hand bytes to the worker as the photo slot and the listening screen do; return their name."""
    name = hashlib.sha256(body).hexdigest()
    assert phone.page.evaluate("""async ([address, bytes]) =>
        (await fetch(address, { method: "PUT", body: new Uint8Array(bytes) })).status""", [f"/{folder}/{name}", list(body)]) == 201
    return name


def picture():
    out = io.BytesIO()
    Image.effect_noise((64, 48), 90).convert("RGB").save(out, "JPEG")
    return out.getvalue()


def show_on(phone, job, name):
    form = {"sha256": name, "subject": "other", "width": "64", "height": "48", "size": "900", "next": "/jobs"}
    assert phone.fetch(f"/jobs/{job}/photos", form)[0] == 200


def held(server, job):
    db = store.connect(server.data / "spanwright.db", read_only=True)
    try:
        return store.job_events(db, job)
    finally:
        db.close()


def press_and_confirm(phone, words):
    phone.press(phone.page.get_by_role("button", name=words))
    with phone.leaving():
        phone.press("dialog .button-stop")


def test_a_refused_photo_is_sent_again_when_asked_to(phone, monkeypatch):
    name = put(phone, b"no picture for this server")
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('1 photo refused')")
    monkeypatch.setattr(photos.STORE, "check", lambda body: None)
    phone.sync()
    phone.open("/outbox")
    phone.press(f"[data-send-photo-again='{name}']")
    phone.wait_until("document.querySelector('#sync').innerText === 'All sent'")
    assert (phone.server.data / "photos" / name[:2] / (name + ".jpg")).exists()


def test_a_refused_sound_is_named_as_one_and_removed(phone):
    phone.out_of_reach()
    name = put(phone, b"no sound for this server", "sounds")
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('1 sound not sent yet')")
    phone.open("/outbox")
    assert "Kept on this phone, and sounds: 1." in phone.text() and phone.unsent()[1] == [name]
    assert phone.fetch("/sounds/" + name)[1] == "no sound for this server"
    phone.in_reach()
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('1 sound refused')")
    phone.open("/outbox")
    assert "This is not a whole sound" in phone.text() and phone.page.locator("[data-play]").count() == 1
    press_and_confirm(phone, "Remove it")
    assert phone.unsent()[1] == [] and phone.fetch("/sounds/" + name)[0] == 404


def test_a_refused_photo_can_be_given_up_and_the_job_tells_why(phone):
    job = phone.book("HO 100", "Squeals when cold")
    phone.wait_sent()
    bad, stray = put(phone, b"no picture at all"), put(phone, b"one that no job shows")
    show_on(phone, job, bad)
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('2 photos refused')")
    assert sorted(phone.unsent()[1]) == sorted([bad, stray]), "the file for the office has them"
    phone.open("/outbox")
    phone.server.stop()
    press_and_confirm(phone, "Give it up on HO 100")
    press_and_confirm(phone, "Remove it")
    assert "Files the workshop refused" not in phone.text()
    assert phone.unsent()[1] == []
    phone.server.start()
    phone.sync()
    phone.wait_sent()
    assert "refused" not in phone.page.locator("#sync").inner_text()
    taken_back = held(phone.server, job)[-1]
    assert (taken_back["kind"], taken_back["replaces"]) == ("withdrawn", held(phone.server, job)[-2]["id"])
    assert taken_back["data"]["reason"].startswith("The workshop refused the picture. ")
    assert events.fold(held(phone.server, job))["photos"] == []
    phone.open(f"/jobs/{job}/history")
    assert "The workshop refused the picture." in phone.text()


@pytest.mark.parametrize("grown", [0, 40])
def test_a_server_put_back_to_a_backup_gets_again_what_it_lost(phone, chromium, tmp_path, grown):
    """`grown`: entries that others made after it, so that its log reaches past the phone's mark."""
    other = flow.Hand(chromium.new_context(**flow.PHONE), phone.server)
    other.sign_in("joost")
    server = phone.server
    server.stop()
    shutil.copytree(server.data, tmp_path / "backup")
    server.start()
    other.open("/jobs")
    job = other.book("HO 200", "Charging light")
    other.wait_sent()
    phone.sync()
    phone.wait_until("async path => (await fetch(path)).status === 200", f"/jobs/{job}")
    body = picture()
    name = put(phone, body)
    show_on(phone, job, name)
    phone.open(f"/jobs/{job}/0/step/cause")
    phone.tell("Pulley bearing.")
    phone.wait_sent()
    before = [event["id"] for event in held(server, job)]
    # The other phone never comes back; this one brings its entries too, in the order that they had.
    other.context.close()
    server.stop()
    shutil.rmtree(server.data)
    shutil.copytree(tmp_path / "backup", server.data)
    if grown:
        append(server, [made(server, "note_added", job_id("fresh"), {"text": f"Entry {i} after the backup", "handover": False})
                        for i in range(grown)])
    assert held(server, job) == []
    server.start()
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('All sent')")
    phone.wait_until("async path => (await (await fetch(path)).text()).includes('Seal of the last one')", f"/jobs/{job}/history")
    phone.sync()
    wait_for(phone, lambda: [event["id"] for event in held(server, job)] == before)
    wait_for(phone, lambda: (server.data / "photos" / name[:2] / (name + ".jpg")).exists())
    phone.wait_sent()
    assert phone.unsent() == ([], [])
    fresh = phone.fetch(f"/jobs/{job_id('fresh')}/history")[1]
    assert fresh.count("after the backup") == grown


def wait_for(phone, condition):
    end = time.monotonic() + flow.LATER / 1000
    while not condition():
        assert time.monotonic() < end
        # Playwright answers intercepted requests only while it is waited for.
        phone.page.wait_for_timeout(50)


def signed_jobs(server, count):
    """Put as many small signed jobs into the server's records."""
    jobs = [str(uuid.uuid4()) for _ in range(count)]
    booking = {"registration": "SG 1", "vin": None, "car": None, "engine": None, "distance": None,
               "complaint": "Signed long ago", "service": True}
    append(server, [made(server, "booked_in", job, booking) for job in jobs])
    sign(server, jobs)
    return jobs


def sign(server, jobs):
    folded = [events.fold(held(server, job)) for job in jobs]
    append(server, [made(server, "signed_off", job["id"], {
        "head": job["head"], "count": job["count"], "looked_at": ["cause"], "gaps": "All.", "second_person": True,
        "sentence": "Nothing done."}) for job in folded])


def made(server, kind, job, data):
    given = {"now": NOW, "who": server.people["ruben"][0], "device": "desk", "n": 1, "ids": [str(uuid.uuid4())]}
    return events.make(given, 0, kind, job, data)


def append(server, made):
    db = store.open_database(server.data / "spanwright.db")
    verdicts = store.append(db, made, context.now(), by_server=True)
    db.close()
    assert {verdict["verdict"] for verdict in verdicts} == {"stored"}


def test_jobs_long_signed_are_dropped_and_nothing_unsent_ever_is(phone):
    open_job, signed = job_id("fresh"), job_id("service")
    assert [phone.page.evaluate(HOLDS, f"/jobs/{job}") for job in (open_job, signed)] == [200, 200]
    newest = signed_jobs(phone.server, 200)
    phone.sync()
    # Beyond the newest 200 signed ones the demo's own is dropped.
    phone.wait_until("async path => (await fetch(path)).status === 404", f"/jobs/{signed}")
    assert [phone.page.evaluate(HOLDS, f"/jobs/{job}") for job in (open_job, newest[0], newest[-1])] == [200] * 3

    # Two of them get a picture that stays here, and a second signature over it: all else of them is sent.
    refused, waiting = newest[:2]
    show_on(phone, refused, put(phone, b"no picture at all"))
    phone.sync()
    phone.wait_until("document.querySelector('#sync').innerText.includes('1 photo refused')")
    phone.context.route("**/photos/*", lambda route: route.abort())
    show_on(phone, waiting, put(phone, picture()))
    wait_for(phone, lambda: len(held(phone.server, waiting)) == 3)
    sign(phone.server, [refused, waiting])

    def sixty_days_later(route):
        answer = route.fetch()
        route.fulfill(json=dict(answer.json(), forget="2999-01-01T00:00:00Z"))

    phone.context.route("**/sync/pull*", sixty_days_later)
    phone.sync()
    phone.context.unroute("**/photos/*")
    phone.sync()
    phone.wait_until("async path => (await fetch(path)).status === 404", f"/jobs/{newest[-1]}")
    assert phone.page.evaluate(HOLDS, f"/jobs/{open_job}") == 200
    assert phone.page.evaluate(HOLDS, f"/jobs/{refused}") == 200
    # Once its picture is sent, nothing of the other is only here.
    phone.wait_until("async path => (await fetch(path)).status === 404", f"/jobs/{waiting}")
    # A pull may be on its way: let it end before its context does.
    phone.context.unroute_all(behavior="wait")
