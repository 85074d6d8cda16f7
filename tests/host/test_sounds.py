"""Sounds of plucks: stored unchanged under their hash; anything but one short plain WAV file is refused in words."""

import base64
import hashlib
import io
import json
import wave

import numpy
import pytest
from bs4 import BeautifulSoup
from scipy.io import wavfile

from webapp import keeping, sounds, store


@pytest.fixture
def client(workshop):
    return workshop.client("Anna")


def wav(seconds=1.8, rate=8000, channels=1, width=2):
    """A WAV file as Python's own writer makes it."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(bytes(range(256)) * (int(seconds * rate * channels * width) // 256))
    return out.getvalue()


def by_scipy(samples, rate=8000):
    out = io.BytesIO()
    wavfile.write(out, rate, samples)
    return out.getvalue()


def patched(body, at, piece):
    return body[:at] + piece + body[at + len(piece):]


def put(client, body, name=None):
    return client.put("/sounds/" + (name or hashlib.sha256(body).hexdigest()), data=body, content_type="audio/wav")


@pytest.mark.outside("the wave module of Python, SciPy")
@pytest.mark.parametrize("body", [wav(), wav(3), wav(1.8, 8820), wav(3, 16000), by_scipy(numpy.arange(14400, dtype=numpy.int16))], ids=range(5))
def test_a_sound_is_stored_unchanged_and_played(workshop, client, body):
    name = hashlib.sha256(body).hexdigest()
    assert [name] == client.post("/sync/photos", json={"hashes": [name]}).json["lacking"]
    assert [201, 201] == [put(client, body).status_code, put(client, body).status_code]
    with client.get("/sounds/" + name) as answer:
        assert (200, "audio/wav", body) == (answer.status_code, answer.mimetype, answer.data)
        assert "private" in answer.headers["Cache-Control"]
    # Some browsers play only what they may fetch in pieces.
    with client.get("/sounds/" + name, headers={"Range": "bytes=0-1"}) as piece:
        assert (206, body[:2]) == (piece.status_code, piece.data)
    assert [body] == [f.read_bytes() for f in (workshop.folder / "sounds").rglob("*.*")]
    assert [] == client.post("/sync/photos", json={"hashes": [name]}).json["lacking"]
    assert 404 == client.get("/photos/" + name).status_code


WHOLE = wav()


@pytest.mark.parametrize("body, code", [
    (b"", "sound-kind"), (b"not a sound", "sound-kind"), (b"RIFF", "sound-kind"), (WHOLE[:44], "sound-kind"), (WHOLE[:2001], "sound-kind"),
    (WHOLE + b"LIST a film with its place", "sound-kind"), (b"\xff\xfb\x90\x00" * 2000, "sound-kind"), (b"OggS" + bytes(9000), "sound-kind"),
    (wav(1, channels=2), "sound-kind"), (wav(1, width=1), "sound-kind"), (wav(0.5, 44100), "sound-kind"), (wav(1, 4000), "sound-kind"),
    (by_scipy(numpy.zeros(8000, numpy.float32)), "sound-kind"),
    (patched(WHOLE, 4, b"\xff\xff\xff\xff"), "sound-kind"), (patched(WHOLE, 40, b"\xff\xff\xff\xff"), "sound-kind"),
    (patched(WHOLE, 24, b"\0\0\0\0"), "sound-kind"), (patched(WHOLE, 16, b"\x12\0\0\0"), "sound-kind"),
    (wav(3.1), "sound-large"), (wav(6), "sound-large")], ids=range(19))
def test_what_is_no_short_plain_sound_is_refused_in_words(workshop, client, body, code):
    answer = put(client, body)
    assert (422, code) == (answer.status_code, answer.json["code"])
    assert "keep that one" in answer.json["sentence"]
    assert [] == list(workshop.folder.rglob("*.wav"))


def test_a_wrong_name_an_impossible_one_and_a_flood_are_refused(client):
    assert (422, "sound-hash") == (put(client, WHOLE, "0" * 64).status_code, put(client, WHOLE, "0" * 64).json["code"])
    for name in ("x", "A" * 64, "../" * 20, "a" * 63):
        assert 404 == put(client, WHOLE, name).status_code == client.get("/sounds/" + name).status_code
    answer = put(client, b"x" * (sounds.MAX_BYTES + 1))
    assert (413, True) == (answer.status_code, bool(answer.json["sentence"]))


def test_an_unknown_device_can_neither_put_nor_hear(workshop, client):
    put(client, WHOLE)
    stranger = workshop.app.test_client()
    assert 401 == put(stranger, WHOLE).status_code == stranger.get("/sounds/" + hashlib.sha256(WHOLE).hexdigest()).status_code


def test_a_phone_that_never_comes_back_hands_its_sounds_in_with_its_file(workshop):
    desk = workshop.client("Bodo")
    good = {"sha256": hashlib.sha256(WHOLE).hexdigest(), "base64": base64.b64encode(WHOLE).decode()}
    file = {"form": "spanwright-unsent", "version": 1, "events": [], "photos": [],
            "sounds": [good, good, dict(good, sha256="0" * 64), {"sha256": 7}, dict(good, sha256="1" * 64, base64="?")]}
    answer = desk.post("/office/take-in", data={"file": (io.BytesIO(json.dumps(file).encode()), "unsent.json")})
    assert answer.status_code == 200
    told = [row.text for row in BeautifulSoup(answer.text, "html5lib").select("tbody .badge")]
    assert told == ["Taken in", "Was here already", "Refused", "Refused", "Refused"]
    assert [WHOLE] == [f.read_bytes() for f in (workshop.folder / "sounds").rglob("*.wav")]
    assert 422 == desk.post("/office/take-in", data={"file": (io.BytesIO(json.dumps(dict(file, sounds=7)).encode()), "u.json")}).status_code


def test_the_backup_and_the_check_know_the_sounds(demo_copy, tmp_path, monkeypatch):
    """A sound that an entry names is awaited until it is here, copied with the rest, and missed when it changes."""
    with store.connect(demo_copy / "spanwright.db") as db:
        job = db.execute("SELECT job FROM events LIMIT 1").fetchone()[0]
        name = hashlib.sha256(WHOLE).hexdigest()
        named = {"kind": "span_read", "data": {"sounds": [None, name]}}
        monkeypatch.setattr(store, "verify_chain", lambda _db, _job: None)
        monkeypatch.setattr(store, "job_events", lambda _db, one: [named] if one == job else [])
        awaited = [sentence for sentence in keeping.check(db, demo_copy)[2] if "sound" in sentence]
        assert awaited == [f"Job {job}: sound {name[:12]}… has not arrived from its phone."]
        before = len(list((demo_copy / "sounds").rglob("*.wav")))
        path = demo_copy / "sounds" / name[:2] / (name + ".wav")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(WHOLE)
        assert keeping.check(db, demo_copy)[1:] == ([], [])
        assert keeping.back_up(demo_copy, tmp_path / "copy")["sounds"] == before + 1
        path.write_bytes(WHOLE[:-1])
        assert keeping.check(db, demo_copy)[1] == [f"Job {job}: sound {name[:12]}… was changed."]
