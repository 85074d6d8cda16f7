"""Photos, named by the SHA-256 of their bytes and stored unchanged."""

import hashlib
import io
import os
import secrets
import warnings
from pathlib import Path

from flask import Blueprint, abort, current_app, jsonify, request, send_file
from PIL import ExifTags, Image, ImageOps

from .core import events, words
from .core.errors import CoreError

blueprint = Blueprint("photos", __name__, url_prefix="/photos")

MAX_BYTES = 4 * 1024 * 1024
# Phones shrink before they send; beyond this a picture is a burden on whoever opens it.
MAX_PIXELS = 24_000_000
THUMB_PIXELS = 320

# A redrawn picture holds none of these. Maker notes and both kinds of editors' notes may tell the place as well.
_HIDING_PLACES = ("xmp", "photoshop", "comment", "mpoffset")


def check(name: str, body: bytes):
    """Refuse bytes that are not a plain JPEG of this name; CoreError says why."""
    if len(body) > MAX_BYTES:
        raise CoreError("photo-large", "photo", {"most": f"{MAX_BYTES // 1024 // 1024} MB"})
    if hashlib.sha256(body).hexdigest() != name:
        raise CoreError("photo-hash", "photo")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(body), formats=["JPEG"]) as picture:
                if picture.width * picture.height > MAX_PIXELS:
                    raise _too_many_pixels()
                hidden = _hides_something(picture)
                picture.load()
    except CoreError:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise _too_many_pixels() from None
    except Exception:
        # A damaged picture can fail anywhere in the decoder, with any error.
        raise CoreError("photo-kind", "photo") from None
    if hidden or not body.rstrip(b"\0").endswith(b"\xff\xd9"):
        raise CoreError("photo-hidden", "photo")


def _too_many_pixels():
    return CoreError("photo-large", "photo", {"most": f"{MAX_PIXELS // 1_000_000} megapixels"})


def _hides_something(picture):
    if any(key in picture.info for key in _HIDING_PLACES):
        return True
    exif = picture.getexif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    return bool(exif.get_ifd(ExifTags.IFD.GPSInfo)) or ExifTags.Base.MakerNote in details \
        or ExifTags.Base.UserComment in details


def _path(folder, name):
    return Path(current_app.config["DATA"]) / folder / name[:2] / (name + ".jpg")


def held(name: str) -> bool:
    """Tell whether the photo of this name is stored."""
    return len(name) == 64 and events.is_hex(name) and _path("photos", name).exists()


def keep(name: str, body: bytes):
    """Store a photo that passes `check`; what is stored already stays as it is."""
    if held(name):
        return
    check(name, body)
    _write(_path("photos", name), body)


def _write(path, body):
    """Write a file whole or not at all, and outlast a power cut: the phone drops its copy in time."""
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(secrets.token_hex(8) + ".new")
    with open(fresh, "wb") as out:
        out.write(body)
        out.flush()
        os.fsync(out.fileno())
    os.replace(fresh, path)
    for folder in (path.parent, path.parent.parent):
        handle = os.open(folder, os.O_RDONLY)
        os.fsync(handle)
        os.close(handle)


def _thumb(name):
    path = _path("thumbs", name)
    if not path.exists():
        with Image.open(_path("photos", name)) as picture:
            small = ImageOps.exif_transpose(picture)
            small.thumbnail((THUMB_PIXELS, THUMB_PIXELS))
            out = io.BytesIO()
            small.convert("RGB").save(out, "JPEG", quality=80)
        _write(path, out.getvalue())
    return path


@blueprint.put("/<name>")
def put(name):
    if not (len(name) == 64 and events.is_hex(name)):
        abort(404)
    try:
        keep(name, request.get_data())
    except CoreError as error:
        return jsonify({"code": error.code, "sentence": words.sentence(error)}), 422
    return jsonify({"stored": name}), 201


@blueprint.get("/<name>")
def show(name):
    return _send(name, _path("photos", name))


@blueprint.get("/<name>/thumb")
def thumb(name):
    return _send(name, _thumb(name) if held(name) else None)


def _send(name, path):
    """A name stands for its bytes for ever, but only the workshop's devices may see them: ask each time."""
    if not held(name):
        abort(404)
    response = send_file(path, mimetype="image/jpeg", conditional=True, etag=name)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
