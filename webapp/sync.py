"""What phones exchange with the server. Repeating any step is harmless: the entry's id is its key."""

from flask import Blueprint, abort, jsonify, request

from . import causes, context, devices, drives, people, photos, sounds, stock, store, strict_json
from .core import words
from .core.errors import CoreError

blueprint = Blueprint("sync", __name__, url_prefix="/sync")

# A phone sends at most 50 entries at once; twice that is plenty.
MAX_BATCH = 100
MAX_ASKED = 1000
# A phone tells all of the library that it holds.
MAX_DRIVES = 20000
# Lines of the stock list, or its keys, in one answer.
MAX_LINES = 2000
# A phone gets a closed job while its last entry is this new, and keeps it for so long.
GIVEN_DAYS, KEPT_DAYS = 30, 60


def _refuse(sentence, status):
    response = jsonify({"code": str(status), "sentence": sentence})
    response.status_code = status
    abort(response)


def _list(key, most):
    """Return the list under a key of the JSON body."""
    try:
        body = strict_json.read(request.get_data())
    except strict_json.NotJson:
        _refuse("The server could not read what this phone sent.", 400)
    if not isinstance(body, dict) or not isinstance(body.get(key), list):
        _refuse("The server could not read what this phone sent.", 400)
    if len(body[key]) > most:
        _refuse(words.sentence(CoreError("too-much", key, {"most": f"{most} entries"})), 413)
    return body[key]


def _texts(key, most=MAX_ASKED):
    return [item for item in _list(key, most) if isinstance(item, str) and len(item) <= 64]


def _number(name, otherwise):
    text = request.args.get(name, str(otherwise))
    if not (text.isascii() and text.isdigit() and len(text) < 16):
        _refuse("The server could not read what this phone asked for.", 400)
    return int(text)


@blueprint.post("/ask")
def ask():
    ids = _texts("ids")
    held = store.known(context.database(), ids)
    return jsonify({"lacking": [name for name in ids if name not in held]})


@blueprint.post("/send")
def send():
    events = _list("events", MAX_BATCH)
    db = context.database()
    verified = devices.verified_pairs(db, context.device()["id"])
    return jsonify({"verdicts": store.append(db, events, context.now(), verified=verified)})


@blueprint.get("/pull")
def pull():
    page = store.pull(context.database(), _number("after", 0), _number("limit", 200), context.now(-GIVEN_DAYS))
    return jsonify(dict(page, forget=context.now(-KEPT_DAYS), drives=drives.seal(context.database())))


@blueprint.get("/job/<job>")
def job(job):
    return jsonify({"events": store.job_events(context.database(), job)})


@blueprint.post("/photos")
def lacking_photos():
    """Which of these photos and sounds the server lacks."""
    return jsonify({"lacking": [name for name in _texts("hashes") if not (photos.STORE.held(name) or sounds.STORE.held(name))]})


@blueprint.post("/drives")
def saved_drives():
    return jsonify(drives.lacking(context.database(), _texts("ids", MAX_DRIVES)))


@blueprint.get("/stock")
def stock_lines():
    """A part of the stock list, for a phone that holds another one or none."""
    part, after = request.args.get("part", ""), request.args.get("after", "")
    if part not in ("lines", "keys") or part == "lines" and not (after.isascii() and after.isdigit() or after == ""):
        _refuse("That is no part of the stock list.", 400)
    return jsonify(stock.page(context.database(), part, after[:100], min(_number("limit", MAX_LINES), MAX_LINES)))


@blueprint.get("/reference")
def reference():
    """What a phone needs beside the records; `who` is the person whose PIN was checked last, if that still holds.

    The table of causes is large and changes seldom: it comes only to a phone that names another seal than its own.
    """
    person = context.person()
    reasons = causes.given(context.database())
    seal = causes.seal(reasons)
    return jsonify({"people": people.listed(context.database()), "shop": context.settings(),
                    "device": context.device()["id"], "who": person["id"] if person else "", "causes_seal": seal,
                    "stock_seal": stock.seal(context.database()),
                    "causes": None if request.args.get("causes") == seal else reasons})
