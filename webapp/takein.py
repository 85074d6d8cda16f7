"""The way out for a phone that cannot reach the server: the office takes in the file of its unsent entries."""

import base64
import binascii

from flask import Blueprint, request

from . import attached, context, office, photos, sounds, store, strict_json
from .core import words
from .core.errors import CoreError

blueprint = Blueprint("takein", __name__, url_prefix="/office/take-in")

# Some dozens of photos and sounds with their entries; the web server takes no more either.
MAX_FILE = 60 * 1024 * 1024
MAX_EVENTS = 5000
MAX_FILES = 500
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
        entries, files = _read(request.files["file"].read() if "file" in request.files else b"")
    except CoreError as error:
        return office.show("takein.html", "Take in a phone's file", 422, rows=[], error=words.sentence(error))
    # Files first: an entry must not name a picture that is not here.
    rows = [_take_file(of, one) for of, one in files]
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
    # Phones of an older version write no sounds.
    held.setdefault("sounds", [])
    for key, most in (("events", MAX_EVENTS), ("photos", MAX_FILES), ("sounds", MAX_FILES)):
        if not isinstance(held.get(key), list):
            raise CoreError("not-unsent-file", "file")
        if len(held[key]) > most:
            raise CoreError("too-much", "file", {"most": f"{most} {key}"})
    return held["events"], [(of, one) for of in (photos.STORE, sounds.STORE) for one in held[of.folder]]


def _take_file(of, one):
    """Take in a photo or a sound: `of` is the attached.Store of its kind."""
    name = one.get("sha256") if isinstance(one, dict) else None
    shown = of.what.capitalize()
    try:
        if not attached.is_name(name):
            raise CoreError("not-a-hash", of.folder)
        if of.held(name):
            return _row(shown, "already", "")
        of.keep(name, _bytes(of, one.get("base64")))
    except CoreError as error:
        return _row(shown, "refused", words.sentence(error))
    return _row(shown, "stored", "")


def _bytes(of, text):
    try:
        return base64.b64decode(text, validate=True)
    except (TypeError, ValueError, binascii.Error):
        raise CoreError(of.what + "-hash", of.folder) from None


def _name(event):
    kind = event.get("kind") if isinstance(event, dict) else None
    return words.label("kind", kind) if isinstance(kind, str) else "Entry"


def _row(name, verdict, sentence):
    return {"name": name, "verdict": _SHOWN[verdict], "mark": "stop" if verdict == "refused" else "good",
            "sentence": sentence}
