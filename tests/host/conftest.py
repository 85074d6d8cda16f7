"""A workshop of its own for each test."""

import functools
import uuid

import pytest

from tests.conftest import QUICK_PINS
from webapp import app as application
from webapp import build, context, devices, people, store

AT = "2026-03-09T08:05:00Z"
PIN = "4711"


@pytest.fixture(autouse=True)
def quick_pins(monkeypatch):
    monkeypatch.setattr(people, "hasher", QUICK_PINS)


made = functools.cache(build.make)


@pytest.fixture(autouse=True)
def one_build(monkeypatch):
    """What a phone installs is the same for every app of a test run."""
    monkeypatch.setattr(build, "make", made)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "spanwright.db"


@pytest.fixture
def db(path):
    db = store.open_database(path)
    yield db
    db.close()


def make_event(job, kind, data, n=1, **changes):
    """A purpose-built entry of the device "d1" and the person "anna"."""
    event = {"v": 1, "id": str(uuid.uuid4()), "job": job, "loop": "", "kind": kind, "data": data, "who": "anna",
             "device": "d1", "n": n, "at": AT, "replaces": None}
    event.update(changes)
    return event


def booked(job, **changes):
    data = {"registration": "AB 123", "vin": None, "car": "Grey estate", "engine": None, "distance": None,
            "complaint": "Squeals when cold", "service": False}
    return make_event(job, "booked_in", data, **changes)


def note(job, text="Belt is dry", n=2, **changes):
    return make_event(job, "note_added", {"text": text, "handover": False}, n, **changes)


def new_job():
    return str(uuid.uuid4())


class Workshop:
    """A running app with three people; `client(name)` is a browser in which that person signed in."""

    def __init__(self, folder):
        self.folder = folder
        self.app = application.create_app({"DATA": folder})
        self.people = {}
        with self.database() as db:
            for name, roles in (("Anna", ["technician"]), ("Bodo", ["supervisor"]), ("Cleo", ["parts"])):
                self.people[name] = people.add(db, name, roles, PIN, "", AT)

    def database(self):
        return store.connect(self.app.config["DATABASE"])

    def client(self, name):
        client = self.app.test_client()
        answer = client.post("/signin", data={"person": self.people[name], "pin": PIN, "next": "/jobs"})
        assert answer.status_code == 303
        return client

    def device(self, client):
        with self.database() as db:
            return devices.by_secret(db, client.get_cookie(devices.COOKIE).value)

    def append(self, *events):
        with self.database() as db:
            return store.append(db, list(events), context.now())


@pytest.fixture
def workshop(tmp_path):
    return Workshop(tmp_path / "data")
