"""The phone's worker against the real server: first visit, no network, sending exactly once, and what can go wrong."""

import hashlib
import io
import json
import time

import pytest
from PIL import Image
from playwright.sync_api import Error

from webapp import build, devices, store
from webapp.headers import HEADERS

LATER = 15_000
CONTROLLED = "navigator.serviceWorker.controller !== null"


class Phone:
    """One browser context: a phone with storage of its own."""

    def __init__(self, chromium, server):
        self.server = server
        self.context = chromium.new_context(viewport={"width": 390, "height": 800})
        self.context.set_default_timeout(LATER)
        self.page = self.context.new_page()

    def open(self, path):
        return self.page.goto(self.server.url + path)

    def wait_until(self, expression, argument=None):
        """Ask the page again and again; the content policy forbids Playwright's own way, which needs eval."""
        end = time.monotonic() + LATER / 1000
        while time.monotonic() < end:
            try:
                if self.page.evaluate(expression, argument):
                    return
            except Error:
                pass  # the page is just being replaced
            time.sleep(0.05)
        raise AssertionError(f"never came true: {expression} {argument or ''}; sending: "
                             + self.page.locator("#sync").inner_text())

    def sign_in(self, key):
        person, _name, pin = self.server.people[key]
        self.open(f"/signin?person={person}")
        self.wait_until(CONTROLLED)
        self.page.fill("#pin", pin)
        self.page.click("button[form=signin]")
        self.page.wait_for_url("**/jobs")
        self.page.wait_for_selector("body[data-host=phone]")

    def book(self, registration):
        self.open("/book")
        self.fill_booking(registration, "Squeals when cold")
        self.page.click("button[form=booking]")
        self.page.wait_for_url("**/jobs/*-*")
        return self.page.url.rsplit("/", 1)[1]

    def fill_booking(self, registration, complaint):
        self.page.fill("[name=registration]", registration)
        self.page.fill("[name=complaint]", complaint)
        self.page.locator("[name=kind][value=fault]").check(force=True)

    def sync(self):
        self.page.evaluate("navigator.serviceWorker.controller.postMessage({kind: 'sync'})")

    def wait_words(self, text):
        self.wait_until("t => document.querySelector('#sync').innerText.includes(t)", text)

    def stop_worker(self):
        session = self.context.new_cdp_session(self.page)
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")

    def fetch(self, path, **options):
        """Fetch in the page, as its scripts do; return [status, text]."""
        return self.page.evaluate("async ([p, o]) => { const a = await fetch(p, o); return [a.status, await a.text()]; }",
                                  [path, options])


@pytest.fixture
def phone(chromium, app_server):
    phone = Phone(chromium, app_server)
    yield phone
    phone.context.close()


def stored(server, job):
    db = store.connect(server.data / "spanwright.db", read_only=True)
    try:
        return store.job_events(db, job)
    finally:
        db.close()


def heading(page):
    return page.locator("h1").first.inner_text()


def test_a_first_visit_installs_everything_that_a_reload_without_network_needs(phone):
    phone.sign_in("mara")
    phone.open("/jobs")
    before = phone.page.locator("main").inner_text()
    phone.server.stop()
    answer = phone.page.reload()
    assert {name: answer.headers.get(name.lower()) for name in HEADERS} == HEADERS
    assert phone.page.locator("main").inner_text() == before
    phone.page.locator("main a[href^='/jobs/']").first.click()
    phone.page.wait_for_url("**/jobs/*-*")
    assert phone.page.evaluate("document.body.dataset.host") == "phone"
    assert phone.page.evaluate("getComputedStyle(document.querySelector('.top')).display") != "inline"
    phone.page.reload()
    assert phone.page.locator(".plate").first.is_visible()


def test_an_entry_made_without_network_reaches_the_server_exactly_once(phone):
    phone.sign_in("mara")
    phone.server.stop()
    job = phone.book("OFF 101")
    phone.wait_words("2 entries not sent yet")
    phone.stop_worker()
    phone.page.reload()
    phone.wait_words("2 entries not sent yet")
    phone.server.start()
    phone.sync()
    phone.wait_words("All sent")
    phone.sync()
    phone.page.reload()
    phone.wait_words("All sent")
    events = stored(phone.server, job)
    assert [event["kind"] for event in events] == ["booked_in", "tag_issued"]
    assert events[0]["data"]["registration"] == "OFF 101"
    assert events[0]["verified"] is True


def test_a_page_made_before_a_change_is_told_of_it_when_it_begins_to_listen(phone):
    phone.sign_in("mara")
    phone.wait_words("All sent")
    told = """(since) => new Promise((done) => {
        const seen = [];
        new BroadcastChannel("spanwright").onmessage = ({ data }) => { seen.push(data.kind); if (data.kind === "status") done(seen); };
        navigator.serviceWorker.controller.postMessage({ kind: "status", value: since }); })"""
    assert phone.page.evaluate(told, 1)[0] == "changed"
    assert phone.page.evaluate(told, 1e15)[0] == "status"


def test_an_answer_that_got_lost_does_not_double_an_entry(phone):
    phone.sign_in("mara")
    lost = []

    def lose_first(route):
        response = route.fetch()
        if not lost:
            lost.append(response.json())
            route.abort()
        else:
            route.fulfill(response=response)

    phone.context.route("**/sync/send", lose_first)
    job = phone.book("TWICE 1")
    phone.sync()
    phone.wait_words("All sent")
    assert lost and lost[0]["verdicts"][0]["verdict"] == "stored"
    assert len(stored(phone.server, job)) == len(lost[0]["verdicts"]) == 2


def test_no_two_entries_get_one_counter(phone):
    phone.sign_in("mara")
    phone.server.stop()
    first, second = phone.book("CNT 1"), phone.book("CNT 2")
    phone.server.start()
    phone.sync()
    phone.wait_words("All sent")
    events = stored(phone.server, first) + stored(phone.server, second)
    assert len({event["device"] for event in events}) == 1
    assert [event["n"] for event in events] == [events[0]["n"] + i for i in range(4)]


def test_what_needs_the_server_says_so_without_it(phone):
    phone.sign_in("edda")
    phone.server.stop()
    for path in ("/office", "/office/people"):
        assert phone.open(path).status == 503
        assert "network" in heading(phone.page)
    assert phone.open("/signin").status == 200
    assert heading(phone.page) == "Who are you?"
    phone.open("/jobs")
    assert phone.page.evaluate("document.body.dataset.host") == "phone"


def test_a_phone_that_is_not_enrolled_gets_nothing_from_the_worker(phone):
    phone.open("/signin")
    phone.wait_until(CONTROLLED)
    phone.open("/jobs")
    assert "/signin" in phone.page.url
    phone.server.stop()
    assert phone.open("/jobs").status == 503


def test_a_refused_entry_stays_visible_and_can_be_sent_again(phone):
    phone.sign_in("mara")
    phone.server.stop()
    job = phone.book("REF 404")
    # An entry with the same id and other content is at the server, as from a phone that was copied. The answer
    # to the first question is changed, so that the phone sends its own all the same.
    event = json.loads(phone.fetch("/outbox/unsent.json")[1])["events"][0]
    db = store.open_database(phone.server.data / "spanwright.db")
    store.append(db, [dict(event, data=dict(event["data"], registration="OTHER"))], "2026-03-09T08:05:00Z")
    db.close()
    phone.context.route("**/sync/ask", lambda route: route.fulfill(
        json={"lacking": route.request.post_data_json["ids"]}))
    phone.server.start()
    phone.sync()
    phone.wait_words("1 refused")
    phone.open("/outbox")
    assert event["id"] in phone.page.locator("main").inner_text()
    phone.page.click("[data-send-again]")
    phone.wait_words("1 refused")
    assert [e["data"].get("registration") for e in stored(phone.server, job)] == ["OTHER", None]


def test_unsent_entries_and_pictures_can_be_saved_to_a_file(phone):
    phone.sign_in("mara")
    phone.server.stop()
    job = phone.book("FILE 1")
    jpeg, digest = picture()
    assert put(phone, jpeg, digest) == 201
    phone.open("/outbox")
    phone.page.locator("details summary").click()
    with phone.page.expect_download() as download:
        phone.page.click("[data-save-unsent]")
    assert download.value.suggested_filename.startswith("spanwright-unsent-")
    file = json.loads(download.value.path().read_text())
    assert (file["form"], file["version"]) == ("spanwright-unsent", 1)
    assert [(event["job"], event["kind"]) for event in file["events"]] == [(job, "booked_in"), (job, "tag_issued")]
    assert [photo["sha256"] for photo in file["photos"]] == [digest]


def picture():
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (10, 120, 90)).save(out, "JPEG")
    return out.getvalue(), hashlib.sha256(out.getvalue()).hexdigest()


def put(phone, jpeg, name):
    return phone.page.evaluate(
        "async ([b, n]) => (await fetch('/photos/' + n, {method: 'PUT', body: new Uint8Array(b)})).status", [list(jpeg), name])


def test_a_picture_is_kept_by_the_hash_of_its_bytes_and_sent_later(phone):
    phone.sign_in("mara")
    phone.server.stop()
    jpeg, digest = picture()
    assert put(phone, jpeg, "0" * 64) == 422
    assert put(phone, jpeg, digest) == 201
    phone.open("/jobs")
    phone.wait_words("1 photo not sent yet")
    assert phone.fetch("/photos/" + digest)[0] == 200
    assert phone.fetch(f"/photos/{digest}/thumb")[0] == 200
    phone.server.start()
    phone.sync()
    phone.wait_words("All sent")
    assert any(path.read_bytes() == jpeg for path in phone.server.data.rglob(digest + "*"))


def test_a_full_phone_records_nothing_by_halves(phone):
    session = phone.context.new_cdp_session(phone.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": phone.server.url, "quotaSize": 16_000_000})
    phone.sign_in("mara")
    phone.server.stop()
    phone.open("/book")
    for size in (4_000_000, 1_000_000, 100_000, 10_000, 1_000, 300):
        while fill(phone, size) == 201:
            pass
    phone.fill_booking("FULL 1", "x" * 500)
    with phone.page.expect_response(lambda answer: answer.request.method == "POST") as answer:
        phone.page.click("button[form=booking]")
    assert answer.value.status == 507
    assert "full" in heading(phone.page)
    phone.page.go_back()
    assert phone.page.input_value("[name=registration]") == "FULL 1"
    assert json.loads(phone.fetch("/outbox/unsent.json")[1])["events"] == []
    phone.open("/jobs")
    assert "FULL 1" not in phone.page.locator("main").inner_text()


def fill(phone, size):
    """Put a file of random bytes as if it were a picture; return the status."""
    return phone.page.evaluate("""async (size) => {
        const bytes = new Uint8Array(size);
        for (let i = 0; i < size; i += 65536) crypto.getRandomValues(bytes.subarray(i, i + 65536));
        const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
        const name = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
        return (await fetch("/photos/" + name, { method: "PUT", body: bytes })).status;
    }""", size)


def test_a_phone_that_was_shut_out_is_told_and_keeps_what_it_holds(phone):
    phone.sign_in("mara")
    phone.server.stop()
    phone.book("REV 1")
    db = store.open_database(phone.server.data / "spanwright.db")
    newest = max(devices.listed(db), key=lambda device: device["enrolled_at"])
    devices.revoke(db, newest["id"], phone.server.people["edda"][0], "2026-03-09T08:05:00Z")
    db.close()
    phone.server.start()
    phone.sync()
    phone.wait_words("switched off by the office")
    assert len(json.loads(phone.fetch("/outbox/unsent.json")[1])["events"]) == 2
    phone.sign_in("mara")
    phone.sync()
    phone.wait_words("All sent")


def test_a_new_version_waits_until_the_person_takes_it(phone, monkeypatch):
    phone.sign_in("mara")
    old = phone.page.evaluate("document.body.dataset.build")
    phone.server.stop()
    plain = build.bundle()
    monkeypatch.setattr(build, "bundle", lambda: plain + b" ")
    phone.server.start()
    phone.open("/jobs")
    phone.page.wait_for_selector("#new-version button", timeout=LATER)
    assert phone.page.evaluate("document.body.dataset.build") == old
    phone.page.click("#new-version button")
    phone.wait_until("old => document.body.dataset.build !== old", old)
    assert phone.page.locator("#new-version").count() == 0
    phone.server.stop()
    phone.page.reload()
    assert phone.page.evaluate("document.body.dataset.host") == "phone"
