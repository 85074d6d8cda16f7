"""The way out for a phone that cannot reach the server: the office takes in the file of its unsent entries."""

import base64
import binascii

from flask import Blueprint, request

from . import context, office, photos, store, strict_json
from .core import events, words
from .core.errors import CoreError

blueprint = Blueprint("takein", __name__, url_prefix="/office/take-in")

# Some dozens of photos with their entries; the web server takes no more either.
MAX_FILE = 60 * 1024 * 1024
MAX_EVENTS = 5000
MAX_PHOTOS = 500
# Short transactions: phones go on sending while a long file is taken in.
CHUNK = 50

_SHOWN = {"stored": "Taken in", "already": "Was here already", "refused": "Refused"}


@blueprint.get("")
def show():
    context.need_supervisor()
    return office.show("takein.html", "Take in a phone's file", rows=[], error="")


@blueprint.post("")
def take_in():
    """Taking the same file in twice changes nothing, so the answer may be this page itself."""
    context.need_supervisor()
    try:
        entries, pictures = _read(request.files["file"].read() if "file" in request.files else b"")
    except CoreError as error:
        return office.show("takein.html", "Take in a phone's file", 422, rows=[], error=words.sentence(error))
    # Photos first: an entry must not name a picture that is not here.
    rows = [_take_photo(picture) for picture in pictures]
    for i in range(0, len(entries), CHUNK):
        chunk = entries[i:i + CHUNK]
        # A file proves nothing about who held the phone, so no entry of it counts as verified.
        for event, verdict in zip(chunk, store.append(context.database(), chunk, context.now())):
            rows.append(_row(_name(event), verdict["verdict"], verdict["sentence"]))
    return office.show("takein.html", "Take in a phone's file", rows=rows, error="")


def _read(body):
    try:
        held = strict_json.read(body)
    except strict_json.NotJson:
        raise CoreError("not-unsent-file", "file") from None
    if not isinstance(held, dict) or held.get("form") != "spanwright-unsent" or held.get("version") != 1:
        raise CoreError("not-unsent-file", "file")
    for key, most in (("events", MAX_EVENTS), ("photos", MAX_PHOTOS)):
        if not isinstance(held.get(key), list):
            raise CoreError("not-unsent-file", "file")
        if len(held[key]) > most:
            raise CoreError("too-much", "file", {"most": f"{most} {key}"})
    return held["events"], held["photos"]


def _take_photo(picture):
    name = picture.get("sha256") if isinstance(picture, dict) else None
    try:
        if not isinstance(name, str) or len(name) != 64 or not events.is_hex(name):
            raise CoreError("not-a-hash", "photos")
        if photos.held(name):
            return _row("Photo", "already", "")
        photos.keep(name, _bytes(picture.get("base64")))
    except CoreError as error:
        return _row("Photo", "refused", words.sentence(error))
    return _row("Photo", "stored", "")


def _bytes(text):
    try:
        return base64.b64decode(text, validate=True)
    except (TypeError, ValueError, binascii.Error):
        raise CoreError("photo-hash", "photos") from None


def _name(event):
    kind = event.get("kind") if isinstance(event, dict) else None
    return words.label("kind", kind) if isinstance(kind, str) else "Entry"


def _row(name, verdict, sentence):
    return {"name": name, "verdict": _SHOWN[verdict], "mark": "stop" if verdict == "refused" else "good",
            "sentence": sentence}
