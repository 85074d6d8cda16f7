"""Photos: stored unchanged under their hash; anything but a plain JPEG is refused in words."""

import hashlib
import io

import pytest
from PIL import ExifTags, Image

from webapp import attached, photos


@pytest.fixture
def client(workshop):
    return workshop.client("Anna")


def jpeg(width=640, height=480, **options):
    out = io.BytesIO()
    Image.linear_gradient("L").resize((width, height)).convert("RGB").save(out, "JPEG", **options)
    return out.getvalue()


def put(client, body, name=None):
    return client.put("/photos/" + (name or hashlib.sha256(body).hexdigest()), data=body, content_type="image/jpeg")


def exif(**parts):
    held = Image.Exif()
    for key, value in parts.items():
        held[ExifTags.Base[key].value] = value
    return held


def with_gps():
    held = exif(Orientation=6)
    held.get_ifd(ExifTags.IFD.GPSInfo).update({1: "N", 2: (52.0, 30.0, 0.0)})
    return held


def with_details(tag, value):
    held = exif(Orientation=1)
    held.get_ifd(ExifTags.IFD.Exif)[tag] = value
    return held


def test_a_photo_is_stored_unchanged_and_shown(workshop, client):
    body = jpeg()
    name = hashlib.sha256(body).hexdigest()
    assert [201, 201] == [put(client, body).status_code, put(client, body).status_code]
    with client.get("/photos/" + name) as answer:
        assert (200, "image/jpeg", body) == (answer.status_code, answer.mimetype, answer.data)
        assert "private" in answer.headers["Cache-Control"]
        tag = answer.headers["ETag"]
    with client.get("/photos/" + name, headers={"If-None-Match": tag}) as again:
        assert (304, b"") == (again.status_code, again.data)
    assert [body] == [f.read_bytes() for f in (workshop.folder / "photos").rglob("*.*")]
    assert [] == client.post("/sync/photos", json={"hashes": [name]}).json["lacking"]


def test_a_thumb_is_small_upright_and_kept(workshop, client):
    body = jpeg(800, 400, exif=exif(Orientation=6))
    put(client, body)
    for _ in range(2):
        with client.get(f"/photos/{hashlib.sha256(body).hexdigest()}/thumb") as answer:
            with Image.open(io.BytesIO(answer.data)) as small:
                assert (160, 320) == small.size
                assert not small.getexif()
    assert 1 == len(list((workshop.folder / "thumbs").rglob("*.jpg")))


NOISE = bytes(range(256)) * 64


@pytest.mark.parametrize("body, code", [
    (b"", "photo-kind"),
    (b"not a picture", "photo-kind"),
    (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "photo-kind"),
    (jpeg()[:2000], "photo-kind"),
    (jpeg()[:200] + NOISE, "photo-kind"),
    (jpeg(exif=with_gps()), "photo-hidden"),
    (jpeg(exif=with_details(ExifTags.Base.MakerNote, b"52.5 N")), "photo-hidden"),
    (jpeg(exif=with_details(ExifTags.Base.UserComment, b"52.5 N")), "photo-hidden"),
    (jpeg(xmp=b"<x:xmpmeta exif:GPSLatitude='52,30N'/>"), "photo-hidden"),
    (jpeg(comment=b"52.5 N 13.4 E"), "photo-hidden"),
    (jpeg() + b"a film with its place", "photo-hidden"),
    (jpeg(6000, 4100, quality=5), "photo-large")], ids=range(12))
def test_what_is_no_plain_picture_is_refused_in_words(workshop, client, body, code):
    answer = put(client, body)
    assert (422, code) == (answer.status_code, answer.json["code"])
    assert answer.json["sentence"]
    assert [] == list(workshop.folder.rglob("*.jpg"))


def drawn(kind, **options):
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize("body", [
    drawn("PNG"), drawn("GIF", save_all=True, append_images=[Image.new("RGB", (8, 8), (255, 0, 0))]), drawn("WEBP"),
    b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(2000)], ids=["PNG", "moving GIF", "WebP", "HEIC"])
def test_another_kind_of_picture_is_refused_and_it_is_said_what_to_do(workshop, client, body):
    answer = put(client, body)
    assert (422, "photo-kind") == (answer.status_code, answer.json["code"])
    assert "Take it again on the job card" in answer.json["sentence"]
    assert [] == list(workshop.folder.rglob("*.jpg"))


@pytest.mark.parametrize("wide, high, code", [(12000, 9000, "photo-large"), (65500, 65500, "photo-large")])
def test_a_picture_that_unpacks_to_a_monster_is_refused_before_it_is_unpacked(client, wide, high, code):
    """The header alone claims so many pixels."""
    body = bytearray(jpeg(16, 16))
    at = body.index(b"\xff\xc0")
    body[at + 5:at + 9] = high.to_bytes(2, "big") + wide.to_bytes(2, "big")
    assert code == put(client, bytes(body)).json["code"]


def test_a_wrong_name_is_refused(client):
    assert "photo-hash" == put(client, jpeg(), "0" * 64).json["code"]


@pytest.mark.parametrize("name", ["x", "A" * 64, "../" * 20, "a" * 63])
def test_an_impossible_name_is_not_found(client, name):
    assert 404 == put(client, jpeg(), name).status_code
    assert 404 == client.get("/photos/" + name).status_code


def test_a_body_over_the_limit_is_refused_in_words(client):
    answer = put(client, b"x" * (photos.MAX_BYTES + 1))
    assert (413, True) == (answer.status_code, bool(answer.json["sentence"]))


def test_a_broken_write_leaves_nothing_half_done(workshop, client, monkeypatch):
    def fail(_handle):
        raise OSError("no space left")

    monkeypatch.setattr(attached.os, "fsync", fail)
    body = jpeg()
    assert 500 == put(client, body).status_code
    monkeypatch.undo()
    assert [] == client.post("/sync/photos", json={"hashes": []}).json["lacking"]
    assert 404 == client.get("/photos/" + hashlib.sha256(body).hexdigest()).status_code
    assert 201 == put(client, body).status_code


def test_an_unknown_device_can_neither_put_nor_see(workshop, client):
    body = jpeg()
    put(client, body)
    stranger = workshop.app.test_client()
    assert 401 == put(stranger, body).status_code
    assert 401 == stranger.get("/photos/" + hashlib.sha256(body).hexdigest()).status_code
