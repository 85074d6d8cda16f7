"""What tests of a whole job share: the real server as a process of its own, and the work as a thumb does it.

The network is cut by ending the server's process: its port is closed then, for pages and workers alike.
"""

import contextlib
import hashlib
import json
import multiprocessing
import os
import signal
import socket
import time

from playwright.sync_api import Error

from demo_db import jobs
from tests.conftest import free_port
from webapp import cli, keeping, people, store

LATER = 20_000
CONTROLLED = "navigator.serviceWorker.controller !== null"
READER = "/static/vendor/zxing/reader/zxing_reader.wasm"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
DESK = {"viewport": {"width": 1280, "height": 900}}

# The answers of one drive whose tension is set by hand, so that a reading decides.
FACTS = {"voltage": "12", "start_stop": "none", "count": "1", "belt1": "ribbed", "ribs1": "6", "tensioner1": "eccentric",
         "alternator_pulley": "one_way", "crank_pulley": "damper", "compressor": "clutch", "steering": "electric",
         "water_pump": "this_belt", "access": "above"}


# Servers are forked from a process that has read the app already: a start costs a tenth of that of a new interpreter.
FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["tests.browser.warm", "tests.browser.flow"])


def run_command(arguments, log):
    """The `spanwright` command in a process of its own."""
    out = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    os.dup2(out, 1)
    os.dup2(out, 2)
    cli.main(arguments)


class Served:
    """The `spanwright serve` command on a folder of records, always at the same ports.

    people: {key of demo_db.jobs.PEOPLE: (id, name, PIN)}
    """

    def __init__(self, data):
        self.data = data
        self.port, self.secure_port = free_port(), free_port()
        self.url = f"http://localhost:{self.port}"
        with self.database() as db:
            ids = {person["name"]: person["id"] for person in people.listed(db)}
        self.people = {key: (ids[name], name, pin) for key, name, _roles, pin in jobs.PEOPLE}
        self._process = None

    def start(self):
        if self._process is not None:
            return
        arguments = ["serve", "--demo", "--data", str(self.data), "--port", str(self.port), "--https-port", str(self.secure_port),
                     "--name", "localhost", "--bind", "127.0.0.1"]
        self._process = FORKS.Process(target=run_command, args=(arguments, self._log()), daemon=True)
        self._process.start()
        end = time.monotonic() + 30
        while not self._listens():
            assert self._process.is_alive() and time.monotonic() < end, self.log()
            time.sleep(0.02)

    def _listens(self):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
            return True
        return False

    def end(self, number=signal.SIGTERM):
        """Cut the network: politely, or with SIGKILL as a power cut does. `start` brings it back."""
        if self._process is not None:
            os.kill(self._process.pid, number)
            self._process.join(30)
            assert not self._process.is_alive(), self.log()
            self._process = None

    def log(self):
        return self._log().read_text()

    def _log(self):
        return self.data.parent / "served.log"

    @contextlib.contextmanager
    def database(self):
        db = store.connect(self.data / "spanwright.db", read_only=True)
        try:
            yield db
        finally:
            db.close()

    def events(self, job):
        with self.database() as db:
            return store.job_events(db, job)

    def faults(self):
        """What is wrong with the records: the file itself, references, chains, photos."""
        with self.database() as db:
            found = [row[0] for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
            found += [str(row) for row in db.execute("PRAGMA foreign_key_check")]
            return found + keeping.check(db, self.data)[1]


@contextlib.contextmanager
def serving(data):
    """Yield a running server; it is ended with the test."""
    server = Served(data)
    try:
        server.start()
        yield server
    finally:
        server.end()


class Hand:
    """One person's hand on one browser: a phone with storage of its own, or the desk."""

    def __init__(self, context, server):
        self.context, self.server = context, server
        context.set_default_timeout(LATER)
        self.page = context.pages[0] if context.pages else context.new_page()
        self.touch = self.page.evaluate("navigator.maxTouchPoints > 0")

    # ---- seeing ----

    def open(self, path):
        return self.page.goto(self.server.url + path)

    def path(self):
        return self.page.url.removeprefix(self.server.url)

    def text(self):
        return self.page.locator("main").inner_text()

    def wait_until(self, expression, argument=None):
        """Ask the page again and again; the content policy forbids Playwright's own way, which needs eval."""
        end = time.monotonic() + LATER / 1000
        while time.monotonic() < end:
            with contextlib.suppress(Error):  # the page is just being replaced
                if self.page.evaluate(expression, argument):
                    return
            time.sleep(0.05)
        raise AssertionError(f"never came true: {expression} {argument or ''}\n{self.page.locator('body').inner_text()}")

    def wait_sent(self):
        self.wait_until("document.querySelector('#sync').innerText.includes('All sent')")

    def wait_ready(self):
        """Until everything that a bay without signal needs is on the device: worker, records, tag reader."""
        self.wait_until(CONTROLLED)
        self.wait_until("async address => await caches.match(address) !== undefined", READER)

    def wait_main(self, words):
        self.wait_until("words => document.querySelector('main').innerText.includes(words)", words)

    # ---- touching ----

    def press(self, what):
        """Tap or click; `what` is a selector or a locator."""
        found = self.page.locator(what) if isinstance(what, str) else what
        found.tap() if self.touch else found.click()

    def go(self, what):
        """Press what leads to another page, and wait for that page."""
        with self.leaving():
            self.press(what)

    @contextlib.contextmanager
    def leaving(self):
        """Wait at the end for another page. Playwright's own way also takes a change of the address for one."""
        self.page.evaluate("window.isLeft = true")
        yield
        self.wait_until("!window.isLeft && document.readyState === 'complete'")

    def save(self):
        """Press the page's one main button."""
        self.go(".actions .button-main")

    def next(self):
        """Press the card's next step."""
        self.go("a.next")

    def pick(self, name, value):
        self.press(f'label:has(input[name="{name}"][value="{value}"])')

    def fill(self, **typed):
        for name, text in typed.items():
            self.page.fill(f'[name="{name}"]', text)

    # ---- the worker ----

    def sync(self):
        self.page.evaluate("navigator.serviceWorker.controller.postMessage({kind: 'sync'})")

    def send_all(self):
        """Sync until nothing is unsent; the words on the page may tell an earlier state."""
        self.sync()
        self.wait_until("""async () => {
            const { events, photos, sounds } = await (await fetch("/outbox/unsent.json")).json();
            return events.length + photos.length + sounds.length === 0; }""")

    def out_of_reach(self):
        """This device alone gets no answer; the others do."""
        self.context.route("**/sync/**", lambda route: route.abort())

    def in_reach(self):
        self.context.unroute("**/sync/**")

    def stop_worker(self):
        session = self.context.new_cdp_session(self.page)
        session.send("ServiceWorker.enable")
        session.send("ServiceWorker.stopAllWorkers")
        session.detach()

    def unsent(self):
        """Return what this device has not sent: (events, names of pictures and sounds)."""
        file = json.loads(self.fetch("/outbox/unsent.json")[1])
        return file["events"], [one["sha256"] for one in file["photos"] + file["sounds"]]

    def fetch(self, path, form=None):
        """Ask as the page's scripts do, or send a form, a dict or a list of pairs; return [status, text]."""
        return self.page.evaluate(
            """async ([path, form]) => {
                const answer = await fetch(path, form ? { method: "POST", body: new URLSearchParams(form) } : {});
                return [answer.status, await answer.text()]; }""", [path, form])

    # ---- the work ----

    def through_the_gate(self, registration):
        """Book a car in, with its facts and safety questions in one form each; the whole-job test answers them on screen."""
        job = self.book(registration, "Squeals when cold")
        facts = dict(FACTS, name1="Main belt", marks1="none", pin_hole1="no")
        gate = [["voltage", "12"], ["start_stop", "none"], *[["confirmed", line] for line in jobs.GATE]]
        for page, form in (("facts", facts), ("gate", gate)):
            assert self.fetch(f"/jobs/{job}/{page}", form)[0] == 200
        self.send_all()
        return job

    def sign_in_at_server(self, key, worker=False):
        """Sign in; without a worker the server answers from then on."""
        person, _name, pin = self.server.people[key]
        self.open(f"/signin?person={person}")
        if worker:
            self.wait_until(CONTROLLED)
        self.fill(pin=pin)
        self.save()

    def sign_in(self, key):
        self.sign_in_at_server(key, worker=True)
        # On a slow machine the server shows the first pages while the worker is still taking the records in.
        self.wait_until("async () => (await (await fetch('/jobs')).text()).includes('data-host=\"phone\"')")
        self.open("/jobs")

    def book(self, registration, complaint, **more):
        """Book a car in with a fault; return the job."""
        self.open("/book")
        self.fill(registration=registration, complaint=complaint, **more)
        self.pick("kind", "fault")
        self.save()
        self.page.wait_for_url("**/jobs/*-*")
        return self.path().split("/")[2]

    def facts(self, answers=None):
        """Answer the questions on the drive, one a screen."""
        answers = answers or FACTS
        while "/facts/" in self.path():
            self.go(f'button[name=answer][value="{answers[self.path().rsplit("/", 1)[1]]}"]')

    def gate(self):
        """Confirm the safety questions; voltage and start-stop stand there from the facts."""
        for line in jobs.GATE:
            self.pick("confirmed", line)
        self.save()

    def tell(self, text):
        """Record a step in words."""
        self.fill(text=text)
        self.save()

    def belt(self, marking, ribs, width, taped, wear, picture):
        """Answer the five questions on one belt, from the first."""
        self.fill(marking=marking)
        self.save()
        self.fill(ribs_counted=ribs, width=width)
        self.save()
        self.fill(taped=taped)
        self.save()
        self.pick("wear", wear)
        self.save()
        self.photo(picture)

    def photo(self, path):
        """Take a photo with the page's only slot."""
        with self.leaving():
            self.page.set_input_files("form[data-photo-slot] input[type=file]", path)

    def target(self, low, high, source):
        self.pick("belt_state", "new")
        self.pick("kind", "maker")
        self.fill(low=low, high=high, source=source)
        self.save()

    def pluck(self, span, length, readings):
        """Set a span reading up and type each reading; the page then offers to save."""
        self.fill(span=span, length=length)
        self.save()
        for reading in readings:
            self.page.locator("[name=reading]").last.fill(reading)
            self.go(self.page.locator(".actions button[value=read]"))

    def sign(self, key, sentence, gaps=None):
        """Fill in the signature and send it."""
        self.press(self.page.locator("summary", has_text="Sign on this device"))
        for code in ("cause", "belts", "tension"):
            self.pick("looked_at", code)
        self.fill(sentence=sentence, pin=self.server.people[key][2])
        if gaps is not None:
            self.fill(gaps=gaps)
        self.go("form#sign button[type=submit]")


def stored_photo(server, name, what="photo"):
    """Tell whether the server holds just the bytes that a name promises, of a picture or of what: "sound"."""
    folder, ending = keeping.NAMED[what]
    path = server.data / folder / name[:2] / (name + ending)
    return path.exists() and hashlib.sha256(path.read_bytes()).hexdigest() == name
