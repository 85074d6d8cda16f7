"""The invented workshop: it holds what the README promises, passes the same checks as a real one, and is repeatable."""

import datetime
import io
import string
import wave

import numpy
import pytest
from PIL import Image

from demo_db import build, jobs, photos
from webapp import keeping, people, store
from webapp.core import card, compared, events, followup, gaps


@pytest.fixture
def db(demo_copy):
    held = store.open_database(demo_copy / "spanwright.db")
    yield held
    held.close()


def job(db, registration):
    found = [s["id"] for s in store.board(db) if s["registration"] == registration]
    assert len(found) == 1
    return events.fold(store.job_events(db, found[0]))


def test_every_chain_holds_and_every_photo_is_there(db, demo_copy):
    count, faults, awaited = keeping.check(db, demo_copy)
    assert (count, faults, awaited) == (len(jobs.JOBS), [], [])


def test_the_jobs_stand_in_different_steps(db):
    waits = {s["registration"]: s["waits"] for s in store.board(db)}
    assert waits == {
        "BAY 101": "Signed, then changed: sign again", "BAY 202": "Ready for signature", "BAY 303": "Tension",
        "BAY 404": "Parts, Alternator belt", "BAY 505": "Parts", "BAY 606": "Stopped for safety",
        "BAY 707": "Facts of the drive", "BAY 808": "Signed off", "BAY 909": "Customer asked, no answer yet"}
    assert {s["waiting_for"] for s in store.board(db)} == {"technician", "parts", "supervisor", "customer", "nobody"}


def test_one_belt_of_two_complains_and_its_causes_belong_to_it(db):
    held = job(db, "BAY 404")
    assert [entry["loop"] for entry in held["causes"]] == ["2"] and card.cause_names(held)[0].startswith("Compressor belt: ")
    assert {entry["loop"] for entry in held["answers"]} == {"", "2"} and {entry["loop"] for entry in held["looks"]} == {"2"}


def test_one_repair_is_set_side_by_side_with_what_was_found_before(db):
    held = job(db, "BAY 101")
    for entries in (held["readings"], held["offsets"]):
        before, after = card.around_work(held, "1", entries)
        assert len(before) == len(after) == 1
    assert [compared.change(compared.tension_of(held["readings"][0]), compared.tension_of(held["readings"][1]))[0],
            compared.change(compared.offset_of(held["offsets"][0]), compared.offset_of(held["offsets"][1]))[0]] == ["more", "less"]


def test_a_part_that_went_back_is_open_again(db):
    moved = [entry["data"]["state"] for entry in job(db, "BAY 505")["moves"] if entry["data"]["part"] == "own-1"]
    assert moved == ["picked", "returned"]


def test_one_car_comes_again_under_another_plate(db):
    again = [s for s in store.board(db) if s["registration"] == "BAY 909"][0]
    assert [s["registration"] for s in followup.earlier(store.board(db), again)] == ["BAY 808"]


def test_one_tag_is_voided_and_printed_again(db):
    tags = job(db, "BAY 707")["tags"]
    assert [tag["voided"] is not None for tag in tags] == [True, False]
    assert store.find(db, token=tags[0]["token"])["voided"]
    assert not store.find(db, token=tags[1]["token"])["voided"]


def test_one_signature_asks_for_another_after_a_late_entry(db):
    late = job(db, "BAY 101")
    assert len(late["late"]) == 1 and late["signature"] is None and len(late["signatures"]) == 1
    assert job(db, "BAY 808")["signature"] is not None


def test_who_signs_has_not_worked_on_the_job(db):
    for registration in ("BAY 101", "BAY 808"):
        held = job(db, registration)
        for signature in held["signatures"]:
            assert signature["data"]["second_person"]
            assert signature["who"] not in held["workers"]


def test_nothing_is_missing_where_it_is_signed_or_ready(db):
    for registration in ("BAY 101", "BAY 202", "BAY 808"):
        assert gaps.of(job(db, registration)) == [], registration


def test_one_entry_is_corrected_and_both_are_kept(db):
    belts = [e for e in job(db, "BAY 505")["history"] if e["kind"] == "belt_recorded" and e["data"]["place"] == "old"]
    assert [e["state"] for e in belts] == ["replaced", "stands"]


def test_readings_lie_around_the_invented_tension(db):
    # The string's own relation, T = 4 m L² f² (physics textbooks), against what the record shows.
    for registration, tension, ribs in (("BAY 101", 415, 6), ("BAY 202", 478, 7)):
        data = job(db, registration)["readings"][-1]["data"]
        hz = sum(float(r) for r in data["readings"]) / len(data["readings"])
        string_n = 4 * 0.018 * ribs * (float(data["length"]["value"]) / 1000) ** 2 * hz ** 2
        assert string_n == pytest.approx(tension, rel=0.01)
        shown = data["shown"]
        assert float(shown["low"]) < float(shown["tension"]) < float(shown["high"])
        assert shown["verdict"] == "Inside the target"


def test_the_kept_sounds_are_plucks_at_the_pitch_that_was_read(db, demo_copy):
    """By the Fourier sum of NumPy, apart from the core's own hearing."""
    data = job(db, "BAY 101")["readings"][-1]["data"]
    assert len(set(data["sounds"])) == len(data["readings"]) == 4
    for reading, name in zip(data["readings"], data["sounds"], strict=True):
        with wave.open(str(demo_copy / "sounds" / name[:2] / (name + ".wav"))) as file:
            rate, samples = file.getframerate(), numpy.frombuffer(file.readframes(file.getnframes()), "<i2")
        near = numpy.arange(0.8, 1.2, 0.0005) * float(reading)
        sums = abs(numpy.exp(-2j * numpy.pi * numpy.outer(near, numpy.arange(len(samples)) / rate)) @ samples)
        assert near[sums.argmax()] == pytest.approx(float(reading), rel=0.002)


def check_digit(vin):
    """49 CFR 565.15: a table of its own, apart from the core's."""
    values = dict(zip(string.digits, range(10)), A=1, B=2, C=3, D=4, E=5, F=6, G=7, H=8, J=1, K=2, L=3, M=4, N=5, P=7, R=9,
                  S=2, T=3, U=4, V=5, W=6, X=7, Y=8, Z=9)
    weights = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
    return "0123456789X"[sum(values[sign] * weight for sign, weight in zip(vin, weights)) % 11]


def test_vehicle_numbers(db):
    judged = 0
    for summary in store.board(db):
        vin = job(db, summary["registration"])["booked"]["data"]["vin"]
        if vin:
            assert len(vin) == 17 and not set(vin) & set("IOQ")
            if vin[0] in "12345":
                judged += 1
                assert vin[8] == check_digit(vin)
    assert judged == 4


def test_everyone_signs_in_with_the_pin_that_is_printed(db, demo_copy):
    printed = (demo_copy / "sign_in.txt").read_text()
    for person in people.listed(db):
        pin = next(p for _key, name, _roles, p in jobs.PEOPLE if name == person["name"])
        people.check_pin(db, person["id"], pin)
        assert person["name"] in printed and "PIN " + pin in printed


def test_photos_are_plain_pictures_without_metadata(demo_copy):
    files = sorted((demo_copy / "photos").rglob("*.jpg"))
    assert len(files) >= 20
    for path in files:
        with Image.open(path) as picture:
            assert picture.size == (photos.WIDTH, photos.HEIGHT)
            assert not picture.getexif()
            # JFIF's own header is all that stands before the picture (ITU-T T.871).
            assert [marker for marker, _ in picture.applist] == ["APP0"]
        assert path.stat().st_size < 250_000


def test_the_pictures_differ_in_light_and_grain_but_not_between_builds():
    one = photos.pointer(5, 20)
    assert one == photos.pointer(5, 20)
    grey = Image.open(io.BytesIO(one)).convert("L").getextrema()
    assert grey[1] - grey[0] > 150
    assert one != photos.pointer(6, 20)


def test_the_invented_days_end_today(db):
    last = max(e["received"] for s in store.board(db) for e in store.job_events(db, s["id"]))
    age = datetime.datetime.now(datetime.timezone.utc) - datetime.datetime.fromisoformat(last)
    assert datetime.timedelta(0) < age < datetime.timedelta(days=1)


def test_a_second_build_makes_the_same_jobs(db, tmp_path, monkeypatch):
    monkeypatch.setattr(jobs, "JOBS", [jobs.fresh, jobs.stopped])
    build.build(tmp_path / "again")
    again = store.open_database(tmp_path / "again" / "spanwright.db")
    wanted = {s["id"]: s["tags"] for s in store.board(db) if s["registration"] in ("BAY 606", "BAY 707")}
    assert {s["id"]: s["tags"] for s in store.board(again)} == wanted
    again.close()
