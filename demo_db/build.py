"""Build the invented workshop through the same doors as a real one: people with PINs, events past the gate, photos, sounds.

    python -m demo_db.build FOLDER [--fresh]

Jobs, tags and pictures are the same at every build, and so is the order of events; the invented days end with the
build's own hour, and the ids of people and the salt of their PINs are new each time.
"""

import argparse
import datetime
import hashlib
import shutil
import uuid
from pathlib import Path

from webapp import causes, drives, people, photos, shop, sounds, stock, store
from webapp.app import create_app
from webapp.core import door, events, fitting, looks, proving, times

from . import jobs
from .photos import HEIGHT, WIDTH
from .sounds import pluck

# Each job begins a little later than the one before.
BETWEEN = datetime.timedelta(hours=5)
SPACE = uuid.uuid5(uuid.NAMESPACE_URL, "https://spanwright.example/demo")
# Files of drives from another workshop that does not exist, either.
DRIVES = Path(__file__).parent / "drives"
# What lies in the workshop's own shelves; the item numbers begin with 2, which GS1 keeps for numbers inside a company.
STOCK = Path(__file__).parent / "stock.csv"
LOOKED_AT = ["cause", "belts", "seating", "tension", "torque", "covers"]


class Workshop:
    """The database, and what phones would know: each person works on a phone of their own."""

    def __init__(self, db):
        self.db = db
        self.ids = {}
        self._counters = {}

    def hire(self, at):
        for key, name, roles, pin in jobs.PEOPLE:
            self.ids[key] = people.add(self.db, name, roles, pin, "", at)
        shop.save(self.db, dict(shop.BLANK, tape_constants={"PK": "14"}, **jobs.SHOP), "", at)

    def take_in_drives(self, who, start):
        """The office takes in every file of a drive, a minute each."""
        for i, path in enumerate(sorted(DRIVES.glob("*.json"))):
            drives.take_in(self.db, path.read_text(encoding="utf-8"), self.ids[who],
                           stamp(start + i * datetime.timedelta(minutes=1)), drive_id(path.stem))

    def take_in_stock(self, who, start):
        """The office takes the stock list in and puts it in force."""
        stock.hold(self.db, STOCK.name, STOCK.read_bytes(), self.ids[who], stamp(start))
        stock.put_in_force(self.db, self.ids[who], stamp(start))

    def given(self, who, moment, fresh):
        self._counters[who] = self._counters.get(who, 0) + 1
        return {"now": stamp(moment), "who": self.ids[who], "device": "demo-" + who, "n": self._counters[who],
                "ids": fresh, "host": "phone"}

    def count(self, who, n):
        """An answer of several entries took this many of the person's numbers."""
        self._counters[who] = n

    def store(self, event, by_server=False):
        verdict = store.append(self.db, [event], event["at"], by_server, {(event["device"], event["who"])})[0]
        if verdict["verdict"] != "stored":
            raise ValueError(f"{event['kind']}: {verdict['sentence']} ({verdict['field']})")


class Job:
    """One job as it grows: every entry goes to the server's log at once, as from a phone with signal."""

    def __init__(self, workshop, name, start):
        self.id = str(uuid.uuid5(SPACE, name))
        self._workshop = workshop
        self._clock = start
        self._count = 0
        self._token = ""

    def book(self, who, data):
        return self.add(who, "booked_in", data)

    def tag(self, who):
        self._token = uuid.uuid5(uuid.UUID(self.id), f"tag {self._count}").hex
        return self.add(who, "tag_issued", {"token": self._token})

    def void(self, who, reason):
        return self.add(who, "tag_voided", {"token": self._token, "reason": reason})

    def add(self, who, kind, data, loop="", replaces=None, by_server=False):
        event = events.make(self._given(who), 0, kind, self.id, data, loop, replaces)
        self._workshop.store(event, by_server)
        return event["id"]

    def post(self, who, path, form):
        """Fill in one of the core's own forms, for entries that hold what the screen showed."""
        db = self._workshop.db
        given = dict(self._given(who), events=store.job_events(db, self.id), people=people.listed(db),
                     shop=dict(shop.load(db), origin=""), drives=drives.listed(db), drive=drives.get(db, dict(form).get("saved", "")),
                     **causes.given(db))
        question = {"method": "POST", "path": f"/jobs/{self.id}{path}", "query": [], "form": form}
        reply = door.handle(question, given)
        if reply["do"] != "record":
            raise ValueError(f"{path}: {reply['context'].get('problems')}")
        for event in reply["events"]:
            self._workshop.store(event)
            self._workshop.count(who, event["n"])

    def hear(self, who, form):
        """Save a pluck with the sound of each of its readings."""
        kept = []
        for i, reading in enumerate([value for name, value in form if name == "reading"]):
            wav = pluck(i, float(reading))
            digest = hashlib.sha256(wav).hexdigest()
            sounds.STORE.keep(digest, wav)
            kept.append(["sound", f"{reading} {digest}"])
        self.post(who, "/1/tension/pluck", form + kept)

    def checks(self, who, answers):
        """Answer checks: [(part of the check's address, outcome), ...]."""
        for place, outcome in answers:
            self.post(who, f"/cause/check/{place}", [["outcome", outcome]])

    def cause(self, who, codes, reason, **results):
        """Name the causes and answer every look behind them: fine, or as told by (result, note)."""
        self.post(who, "/cause/name", [["cause", code] for code in codes] + [["reason", reason]])
        for look in looks.of(events.fold(store.job_events(self._workshop.db, self.id))):
            if look["state"] == "open":
                result, note = results.get(look["code"], ("fine", ""))
                self.post(who, "/cause/looks", [["look", look["code"]], ["belt", look["loop"]], ["result", result], ["note", note]])

    def fit(self, who, lacking, *bolts):
        """Tick every line of the order of work; those of `lacking` are not on this car. Bolts: (name, N·m, degrees, source)."""
        for name, torque, degrees, source in bolts:
            self.post(who, "/1/fitted", [["bolt", name], ["torque", torque], ["torque_unit", "N\u00b7m"], ["angle", degrees], ["source", source]])
        lines = fitting.of(events.fold(store.job_events(self._workshop.db, self.id)), "1")
        self.post(who, "/1/fitted", [["not_here" if line["item"] in lacking else "done", line["item"]] for line in lines
                                     if line["state"] == "open"])

    def prove(self, who, note=""):
        """Answer every running check: good."""
        checks = proving.of(events.fold(store.job_events(self._workshop.db, self.id)))
        self.post(who, "/proved", [["r_" + check["item"], "good"] for check in checks] + [["note", note]])

    def watch(self, who, item, grade, days, distance, reason):
        """Agree a next check, so many days after the last entry."""
        self.post(who, "/next-check", [["item", item], ["follows", ""], ["grade", grade], ["date", times.date_after(stamp(self._clock), days)],
                                       ["distance", distance], ["distance_unit", "km"], ["reason", reason]])

    def saved_drive(self, name):
        """The id of the saved drive that came from a file."""
        return drive_id(name)

    def photo(self, who, jpeg, subject, loop="", note=None, **shows):
        digest = hashlib.sha256(jpeg).hexdigest()
        photos.STORE.keep(digest, jpeg)
        return self.add(who, "photo_taken", {"sha256": digest, "subject": subject, "width": WIDTH, "height": HEIGHT,
                                             "size": len(jpeg), "note": note, **shows}, loop)

    def sign(self, who, sentence):
        held = events.fold(store.job_events(self._workshop.db, self.id))
        self.add(who, "signed_off", {"head": held["head"], "count": held["count"], "looked_at": LOOKED_AT, "gaps": None,
                                     "second_person": self._workshop.ids[who] not in held["workers"],
                                     "sentence": sentence}, by_server=True)

    def _given(self, who):
        self._clock += datetime.timedelta(minutes=7)
        self._count += 1
        fresh = [str(uuid.uuid5(uuid.UUID(self.id), f"{self._count}{more}")) for more in [" more" * i for i in range(40)]]
        return self._workshop.given(who, self._clock, fresh)


def drive_id(name):
    """The id of the saved drive that comes from a file of `DRIVES`."""
    return str(uuid.uuid5(SPACE, "drive " + name))


def stamp(moment):
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")


def build(folder: Path):
    """Build the workshop, whole or not at all."""
    start = datetime.datetime.now(datetime.timezone.utc) - len(jobs.JOBS) * BETWEEN
    fresh = folder.with_name(folder.name + ".new")
    shutil.rmtree(fresh, ignore_errors=True)
    app = create_app({"DATA": fresh})
    with app.app_context():
        db = store.open_database(app.config["DATABASE"])
        try:
            workshop = Workshop(db)
            workshop.hire(stamp(start))
            workshop.take_in_drives("ruben", start)
            workshop.take_in_stock("ruben", start)
            for i, tell in enumerate(jobs.JOBS):
                tell(Job(workshop, tell.__name__, start + i * BETWEEN))
        finally:
            db.close()
    roles = [(name, ", ".join(roles), pin) for _key, name, roles, pin in jobs.PEOPLE]
    (fresh / "sign_in.txt").write_text("".join(f"{name:<16} {what:<24} PIN {pin}\n" for name, what, pin in roles))
    if (folder / "tls").exists():
        # Phones that trust the demo's authority keep doing so.
        (folder / "tls").rename(fresh / "tls")
    shutil.rmtree(folder, ignore_errors=True)
    fresh.rename(folder)


def main():
    parser = argparse.ArgumentParser(description="Build the invented workshop where it is missing.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--fresh", action="store_true", help="build it anew")
    asked = parser.parse_args()
    if asked.fresh or not (asked.folder / "sign_in.txt").exists():
        build(asked.folder)
        print(f"Built an invented workshop in {asked.folder}.")


if __name__ == "__main__":
    main()
