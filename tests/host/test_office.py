"""The office's screens."""

import base64
import hashlib
import io
import json
import re

import pytest
import zxingcpp
from bs4 import BeautifulSoup
from conftest import booked, make_event, new_job, note
from PIL import Image, ImageDraw
from test_photos import jpeg

from webapp import people, shop
from webapp.core import words


@pytest.fixture
def boss(workshop):
    return workshop.client("Bodo")


SUPERVISORS_ONLY = ["/office/people", "/office/phones", "/office/take-in", "/office/shop"]


@pytest.mark.parametrize("path", SUPERVISORS_ONLY)
def test_only_supervisors_see_and_change(workshop, boss, path):
    other = workshop.client("Anna")
    assert (200, 403) == (boss.get(path).status_code, other.get(path).status_code)
    if path != "/office/phones":
        assert 403 == other.post(path, data={}).status_code
    assert path not in other.get("/office").text
    assert path in boss.get("/office").text


def test_a_technician_cannot_give_a_pin_or_shut_out_a_phone(workshop, boss):
    other = workshop.client("Anna")
    assert 403 == other.post(f"/office/people/{workshop.people['Bodo']}", data={"pin": "1111"}).status_code
    assert 403 == other.post(f"/office/phones/{workshop.device(boss)['id']}/revoke").status_code
    assert 200 == boss.get("/office").status_code


def test_a_new_person_can_sign_in(workshop, boss):
    assert 303 == boss.post("/office/people", data={"name": "Dora", "roles": ["parts"], "pin": "1234"}).status_code
    with workshop.database() as db:
        dora = [p["id"] for p in people.active(db) if p["name"] == "Dora"][0]
        by = db.execute("SELECT changed_by FROM people WHERE id = ?", [dora]).fetchone()[0]
    assert workshop.people["Bodo"] == by
    assert 303 == workshop.app.test_client().post("/signin", data={"person": dora, "pin": "1234"}).status_code


@pytest.mark.parametrize("changes, code", [
    ({"name": ""}, "empty"), ({"name": "anna"}, "name-taken"), ({"roles": []}, "empty"),
    ({"roles": ["owner"]}, "not-a-choice"), ({"pin": "12"}, "bad-pin")])
def test_a_bad_person_is_refused_and_what_was_typed_stays(boss, changes, code):
    typed = {"name": "Dora & Co", "roles": ["parts"], "pin": "1234"}
    typed.update(changes)
    answer = boss.post("/office/people", data=typed)
    assert 422 == answer.status_code
    assert words.ERRORS[code] in answer.text
    assert BeautifulSoup(answer.text, "html5lib").find(id="name")["value"] == typed["name"]


@pytest.mark.parametrize("changes", [{"working": "no"}, {"roles": ["parts"]}])
def test_the_last_supervisor_stays(workshop, boss, changes):
    typed = {"name": "Bodo", "roles": ["supervisor"], "pin": ""}
    typed.update(changes)
    answer = boss.post(f"/office/people/{workshop.people['Bodo']}", data=typed)
    assert 422 == answer.status_code
    assert words.ERRORS["last-supervisor"] in answer.text


def test_the_shop_keeps_every_version(workshop, boss):
    form = {"name": "Belt Corner", "address": "1 Yard", "length_unit": "in", "force_unit": "lbf", "distance_unit": "mi",
            "paper": "letter", "tape_PK": "14,5"}
    assert 303 == boss.post("/office/shop", data=form).status_code
    assert 303 == boss.post("/office/shop", data=dict(form, name="Belt Corner 2")).status_code
    with workshop.database() as db:
        assert ("Belt Corner 2", {"PK": "14.5"}) == (shop.load(db)["name"], shop.load(db)["tape_constants"])
        assert 2 == db.execute("SELECT count(*) FROM shop").fetchone()[0]
    assert "Belt Corner 2" in boss.get("/jobs").text


@pytest.mark.parametrize("changes, sentence", [
    ({"name": " "}, words.ERRORS["empty"]), ({"paper": "a0"}, words.ERRORS["not-a-choice"]),
    ({"tape_PK": "abc"}, words.ERRORS["not-a-number"]), ({"tape_PK": "900"}, "Too high: at most 50."),
    ({"address": "x" * 301}, "Too long: at most 300 characters.")])
def test_a_bad_setting_is_refused_and_what_was_typed_stays(boss, changes, sentence):
    form = {"name": "Belt Corner", "address": "1 Yard", "length_unit": "in", "force_unit": "lbf", "distance_unit": "mi",
            "paper": "letter", "tape_PK": "14"}
    answer = boss.post("/office/shop", data=dict(form, **changes))
    assert 422 == answer.status_code
    assert sentence in answer.text
    assert "Belt Corner" in answer.text or "name" in changes


def unsent(workshop, events, pictures):
    held = {"form": "spanwright-unsent", "version": 1, "device": "d9", "events": events,
            "photos": [{"sha256": hashlib.sha256(p).hexdigest(), "base64": base64.b64encode(p).decode()} for p in pictures]}
    return json.dumps(held).encode()


def take_in(client, body):
    return client.post("/office/take-in", data={"file": (io.BytesIO(body), "unsent.json")})


def words_of(answer):
    return [row.text for row in BeautifulSoup(answer.text, "html5lib").select("tbody .badge")]


def test_a_phones_file_twice_leaves_everything_once(workshop, boss):
    job = new_job()
    events = [booked(job, device="d9"), note(job, device="d9"), {"broken": True}, note(new_job())]
    body = unsent(workshop, events, [jpeg()])
    assert ["Taken in", "Taken in", "Taken in", "Refused", "Refused"] == words_of(take_in(boss, body))
    assert ["Was here already"] * 3 + ["Refused"] * 2 == words_of(take_in(boss, body))
    page = boss.get("/sync/pull").json
    assert [False, False] == [e["verified"] for e in page["events"]]
    assert 1 == len(list((workshop.folder / "photos").rglob("*.jpg")))


def test_a_long_file_is_taken_in_whole(workshop, boss):
    job = new_job()
    events = [booked(job)] + [note(job, f"Note {n}", n) for n in range(2, 181)]
    assert ["Taken in"] * 180 == words_of(take_in(boss, unsent(workshop, events, [])))


@pytest.mark.parametrize("picture, sentence", [
    (None, words.ERRORS["not-a-hash"]), ({"sha256": "a" * 64}, words.ERRORS["photo-hash"]),
    ({"sha256": "a" * 64, "base64": "%%"}, words.ERRORS["photo-hash"]),
    ({"sha256": "../" * 22, "base64": ""}, words.ERRORS["not-a-hash"])])
def test_a_bad_picture_in_the_file_is_refused_in_words(workshop, boss, picture, sentence):
    held = json.loads(unsent(workshop, [], []))
    held["photos"] = [picture]
    answer = take_in(boss, json.dumps(held).encode())
    assert (200, ["Refused"]) == (answer.status_code, words_of(answer))
    assert sentence in answer.text


@pytest.mark.parametrize("body", [b"", b"hello", b"[]", b"{}", b'{"form": "spanwright-unsent", "version": 2}', jpeg(),
                                  b'{"form": "spanwright-unsent", "version": 1, "events": 3, "photos": []}',
                                  b"[" * 50000])
def test_any_other_file_is_refused_in_words(boss, body):
    answer = take_in(boss, body)
    assert 422 == answer.status_code
    assert words.ERRORS["not-unsent-file"] in answer.text
    assert 422 == boss.post("/office/take-in").status_code


@pytest.mark.parametrize("paper", ["a4", "letter", "label"])
def test_a_printed_tag_leads_to_its_job(workshop, boss, paper):
    job, bare = new_job(), new_job()
    workshop.append(booked(job), make_event(job, "tag_issued", {"token": "5eed" * 8}, 2), booked(bare, n=3))
    answer = boss.get("/office/tags", query_string={"paper": paper, "job": [job, bare]})
    page = BeautifulSoup(answer.text, "html5lib")
    tags = page.select(f".tag-sheet-{paper} .tag")
    assert 1 == len(tags)
    assert "AB 123" == tags[0].select_one(".tag-registration").text
    assert f'href="/jobs/{bare}/tag"' in answer.text
    assert "http://localhost/t/" + "5eed" * 8 == scan(tags[0].svg)


def scan(svg):
    """Read the drawn modules with a decoder that is not ours (ZXing-C++)."""
    units = float(svg["viewBox"].split()[2])
    size = int(units) * 8
    scale = size / units
    picture = Image.new("L", (size, size), 255)
    draw = ImageDraw.Draw(picture)
    for x, y, side in re.findall(r"M([\d.]+),([\d.]+)H([\d.]+)V", svg.path["d"]):
        x, y, side = float(x) * scale, float(y) * scale, float(side) * scale
        draw.rectangle([x, y, side - 1, y + (side - x) - 1], fill=0)
    return zxingcpp.read_barcodes(picture)[0].text


def test_jobs_are_picked_for_printing(workshop, boss):
    job = new_job()
    workshop.append(booked(job))
    assert f'value="{job}"' in boss.get("/office/tags").text
    assert 200 == boss.get(f"/office/tags?job={new_job()}&paper=moon").status_code
