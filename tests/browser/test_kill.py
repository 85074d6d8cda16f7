"""The server is killed with SIGKILL during a sync, twenty times: nothing lost, nothing doubled.

Each time two clients are sending at the moment of the kill: the real worker of a browser, and a client of our own
that speaks the same protocol and never stops sending. Either forgets what the server said is stored, as phones do,
so an answer before the commit has reached the disk would show as a loss. A killed process is not a power cut: what
the operating system had taken over is written all the same.
"""

import hashlib
import http.client
import io
import json
import random
import signal
import threading
import time
import uuid

from PIL import Image

from tests.browser import flow
from webapp.core import events

ROUNDS = 20
# Entries that the phone writes in a round: twice more than the 50 that the worker sends in one batch. With the
# pictures something is always left to send when the first batch is stored.
ENTRIES = [60 if turn in (0, 10) else 12 for turn in range(ROUNDS)]
PICTURES = 3
BATCH = 7
SEED = 20260309


class Client:
    """Ask, send, read the verdicts, mark; then a picture: until no answer comes."""

    def __init__(self, server, key, seed):
        self.server, self.rng = server, random.Random(seed)
        self.person = server.people[key][0]
        self.cookie, self.device = self._sign_in(server.people[key][2])
        self.job, self.n = self._id(), 0
        self.made, self.waiting, self.pictures = [], [], {}
        self._make("booked_in", {"registration": "KL 900", "vin": None, "car": None, "engine": None, "distance": None,
                                 "complaint": "Sent while the server dies", "service": False})

    def _id(self):
        return str(uuid.UUID(int=self.rng.getrandbits(128), version=4))

    def _ask(self, method, path, body=None, kind="application/json"):
        link = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=30)
        try:
            link.request(method, path, body, {"Content-Type": kind, "Cookie": getattr(self, "cookie", ""),
                                              "Host": f"localhost:{self.server.port}"})
            answer = link.getresponse()
            return answer, answer.read()
        finally:
            link.close()

    def _json(self, method, path, value=None):
        answer, body = self._ask(method, path, None if value is None else json.dumps(value))
        assert answer.status == 200, body
        return json.loads(body)

    def _sign_in(self, pin):
        answer, _ = self._ask("POST", "/signin", f"person={self.person}&pin={pin}", "application/x-www-form-urlencoded")
        assert answer.status == 303
        self.cookie = answer.headers["Set-Cookie"].split(";")[0]
        return self.cookie, self._json("GET", "/sync/reference")["device"]

    def _make(self, kind, data):
        self.n += 1
        given = {"ids": [self._id()], "who": self.person, "device": self.device, "n": self.n, "now": "2026-03-09T08:05:00Z"}
        event = events.make(given, 0, kind, self.job, data)
        self.made.append(event)
        self.waiting.append(event)

    def until_cut_off(self):
        """Send what is left, then more and more, until the server is gone."""
        try:
            while True:
                self.send()
                self._picture()
                for _ in range(BATCH):
                    self._make("note_added", {"text": f"Entry {self.n} of the client", "handover": False})
        except (OSError, http.client.HTTPException):
            return

    def send(self):
        while self.waiting:
            batch = self.waiting[:BATCH]
            lacking = self._json("POST", "/sync/ask", {"ids": [event["id"] for event in batch]})["lacking"]
            missing = [event for event in batch if event["id"] in lacking]
            verdicts = self._json("POST", "/sync/send", {"events": missing})["verdicts"]
            assert {verdict["verdict"] for verdict in verdicts} <= {"stored"}
            self.waiting = self.waiting[len(batch):]

    def _picture(self):
        name, jpeg = picture(self.rng)
        answer, body = self._ask("PUT", "/photos/" + name, jpeg, "image/jpeg")
        assert answer.status == 201, body
        self.pictures[name] = jpeg

    def stored(self):
        return [event["id"] for event in self.made if event not in self.waiting]


def picture(rng):
    """A small JPEG of noise, and its name."""
    out = io.BytesIO()
    Image.frombytes("L", (160, 120), rng.randbytes(160 * 120)).save(out, "JPEG")
    return hashlib.sha256(out.getvalue()).hexdigest(), out.getvalue()


def put_without_network(phone, name, jpeg):
    """Hand a picture to the worker as the photo slot does."""
    assert phone.page.evaluate("""async ([name, bytes]) =>
        (await fetch("/photos/" + name, { method: "PUT", body: new Uint8Array(bytes) })).status""", [name, list(jpeg)]) == 201


def write_without_network(phone, job, count):
    """Fill in the note form again and again, from the page, as fast as the worker keeps them."""
    statuses = phone.page.evaluate("""async ([path, count]) => {
        const statuses = new Set();
        for (let i = 0; i < count; i += 1) {
          const body = new URLSearchParams({ text: `Entry ${i} of the phone`, handover: "no" });
          statuses.add((await fetch(path, { method: "POST", body, redirect: "manual" })).type);
        }
        return [...statuses]; }""", [f"/jobs/{job}/notes", count])
    assert statuses == ["opaqueredirect"]


def count(server, job):
    with server.database() as db:
        return db.execute("SELECT count(*) FROM events WHERE job = ?", [job]).fetchone()[0]


def wait_for_the_first_commit(server, job):
    end = time.monotonic() + 30
    while not count(server, job):
        assert time.monotonic() < end, server.log()
        time.sleep(0.001)


def nothing_lost_or_doubled(server, client, written, left):
    """`written`: from `write_a_job` · `left`: ids and names that the phone does not hold for stored."""
    assert server.faults() == []
    held = [event["id"] for event in server.events(client.job)]
    assert held == [event["id"] for event in client.made][:len(held)], "in order, no gap, nothing twice"
    assert set(client.stored()) <= set(held), "what was told as stored is there"
    for name, jpeg in client.pictures.items():
        assert (server.data / "photos" / name[:2] / (name + ".jpg")).read_bytes() == jpeg
    for job, ids, pictures in written:
        held = ids_of(server.events(job))
        assert held == ids[:len(held)] and set(ids) - left <= set(held)
        assert all(flow.stored_photo(server, name) for name in pictures if name not in left)


def ids_of(entries):
    return [event["id"] for event in entries]


def write_a_job(phone, rng, turn):
    """Return (job, ids of its entries in order, names of its pictures), all written without network."""
    job = phone.book(f"KP {turn}", "Written while the server is dead")
    write_without_network(phone, job, ENTRIES[turn])
    pictures = [picture(rng) for _ in range(PICTURES)]
    for name, jpeg in pictures:
        put_without_network(phone, name, jpeg)
    return job, ids_of(e for e in phone.unsent()[0] if e["job"] == job), [name for name, _jpeg in pictures]


def kill_during_a_sync(server, phone, client, job, pause):
    server.start()
    thread = threading.Thread(target=client.until_cut_off)
    thread.start()
    phone.sync()
    wait_for_the_first_commit(server, job)
    time.sleep(pause)
    server.end(signal.SIGKILL)
    thread.join()


def test_killed_twenty_times_during_a_sync(chromium, demo_copy, record_property):
    rng = random.Random(SEED)
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        client = Client(server, "joost", SEED)
        server.end(signal.SIGKILL)
        written, cut_short, answers_lost = [], 0, 0
        for turn in range(ROUNDS):
            written.append(write_a_job(phone, rng, turn))
            # From the very commit to well into the next steps.
            kill_during_a_sync(server, phone, client, written[-1][0], rng.choice([0, 0, 0.005, 0.02, 0.05]))
            events, photos = phone.unsent()
            left = set(ids_of(events)) | set(photos)
            cut_short += bool(left)
            answers_lost += bool(left & set(ids_of(server.events(written[-1][0])))) or len(client.stored()) < count(server, client.job)
            nothing_lost_or_doubled(server, client, written, left)
        record_property(f"{ROUNDS} kills", f"the worker was cut short {cut_short} times; after {answers_lost} of them the "
                        f"server held entries whose answer never came; the client had made {len(client.made)}")
        # Without these the kills came at moments that prove nothing.
        assert cut_short >= ROUNDS // 2 and answers_lost > 0

        server.start()
        phone.sync()
        phone.wait_sent()
        client.send()
        assert phone.unsent() == ([], []) and client.waiting == []
        nothing_lost_or_doubled(server, client, written, set())
        for turn, (job, ids, _pictures) in enumerate(written):
            assert len(ids) == len(server.events(job)) == ENTRIES[turn] + 2
        assert len(server.events(client.job)) == len(client.made) > ROUNDS * BATCH // 2
        phone.context.close()
