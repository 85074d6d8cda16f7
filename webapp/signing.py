"""Signing off: only the server can, since a signature names the head and count of the job's chain."""

import uuid

from flask import Blueprint, redirect

from . import context, devices, host, people, store
from .core import events, forms, gaps, words
from .core.errors import CoreError

blueprint = Blueprint("signing", __name__)


@blueprint.post("/jobs/<job>/sign")
def sign(job):
    """Append the signature, or show the page again with what is wrong."""
    db = context.database()
    held = events.fold(store.job_events(db, job))
    question = host.asked()
    if held is None:
        return _again(job, question, context.person(), {})
    signer = _signer(question)
    data = {"head": held["head"], "count": held["count"],
            "looked_at": forms.values(question, "looked_at"), "gaps": forms.value(question, "gaps") or None,
            "second_person": signer["id"] not in held["workers"], "sentence": forms.value(question, "sentence")}
    errors = _objections(held, signer, data, question)
    if errors:
        return _again(job, question, signer, errors)
    try:
        _check_pin(question, signer)
    except CoreError as error:
        return _again(job, question, signer, {error.field: words.sentence(error)})
    verdict = _append(job, signer, data)
    if verdict["verdict"] == "refused":
        return _again(job, question, signer, {verdict["field"]: verdict["sentence"]})
    return redirect(f"/jobs/{job}", 303)


def _signer(question):
    """Who signs: the person the form names, since a phone may know a change of person before the server does."""
    named = people.get(context.database(), forms.value(question, "signer"))
    return named if named and named["active"] else context.person()


def _count(question):
    text = forms.value(question, "count")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 8 else 0


def _unseen(held, question):
    """Return why the job is not what the signer saw, "" when it is just that.

    A page on a phone names the last entry that it knows from the server, and the entries behind it that the phone had not sent:
    those have come in meanwhile, and nothing else may have.
    """
    history, count, own = held["history"], _count(question), forms.value(question, "own").split()
    ids = [entry["id"] for entry in history]
    if [one for one in own if one not in ids]:
        return words.ERRORS["not-arrived"]
    known = history[count - 1]["hash"] if 0 < count <= len(history) else ""
    return "" if forms.value(question, "head") == known and ids[count:] == own else words.ERRORS["head-moved"]


def _objections(held, signer, data, question):
    """Return {field: sentence} for whatever speaks against the signature, except the PIN and the event's own form."""
    found = {}
    unseen = _unseen(held, question)
    if unseen:
        found["head"] = unseen
    if "supervisor" not in signer["roles"]:
        found["signer"] = words.ERRORS["not-supervisor"]
    elif not data["second_person"] and len(people.active(context.database())) > 1:
        found["signer"] = words.ERRORS["own-work"]
    if gaps.of(held) and not data["gaps"]:
        found["gaps"] = words.ERRORS["gaps-open"]
    if not data["sentence"]:
        found["sentence"] = words.ERRORS["empty"]
    return found


def _check_pin(question, signer):
    pin = forms.value(question, "pin")
    if not pin:
        raise CoreError("empty", "pin")
    people.check_pin(context.database(), signer["id"], pin)


def _append(job, signer, data):
    db, device = context.database(), context.device()
    given = {"ids": [str(uuid.uuid4())], "who": signer["id"], "device": device["id"], "n": device["n"] + 1,
             "now": context.now()}
    event = events.make(given, 0, "signed_off", job, data)
    pair = {(device["id"], signer["id"])}
    verdict = store.append(db, [event], context.now(), by_server=True, verified=pair)[0]
    devices.count_up(db, device["id"], event["n"])
    return verdict


def _again(job, question, signer, errors):
    """The page as the core shows it to the signer, with everything typed except the PIN."""
    typed = {name: forms.value(question, name) for name in ("gaps", "sentence")}
    typed["looked_at"] = forms.values(question, "looked_at")
    page = {"method": "GET", "path": f"/jobs/{job}/sign", "query": [], "form": []}
    return host.answer(page, {"errors": errors, "typed": typed, "who": signer["id"]})
