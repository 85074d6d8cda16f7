"""The server's side of the contract with the core: requests in, replies out."""

import uuid
from urllib.parse import urlencode

from flask import Blueprint, Response, abort, redirect, render_template, request

from . import causes, context, devices, drives, people, stock, store
from .core import door, routes, words
from .core.errors import CoreError

blueprint = Blueprint("core", __name__)

# Nothing waits on the server: what is recorded here is stored.
NOTHING_WAITS = {"waiting": 0, "photos": 0, "sounds": 0, "refused": [], "refused_photos": [], "full": False, "last_sync": ""}


def asked() -> dict:
    """Return this request as the core reads it."""
    return {"method": "GET" if request.method == "HEAD" else request.method, "path": request.path,
            "query": [list(pair) for pair in request.args.items(multi=True)],
            "form": [list(pair) for pair in request.form.items(multi=True)]}


def given_for(needs: list, params: dict) -> dict:
    """Return what the core needs to answer: who asks from where, and the records."""
    db, device, person = context.database(), context.device(), context.person()
    given = {"now": context.now(), "who": person["id"], "device": device["id"], "n": device["n"] + 1,
             "ids": [str(uuid.uuid4()) for _ in range(40)], "host": "server"}
    for need in needs:
        if need == "job":
            given["events"] = store.job_events(db, params["job"])
        elif need == "board":
            given["board"] = store.board(db)
        elif need == "cars":
            given["cars"] = store.cars(db)
        elif need == "people":
            given["people"] = people.listed(db)
        elif need == "shop":
            given["shop"] = context.settings()
        elif need == "found":
            given["found"] = _found(db, params)
        elif need == "outbox":
            given["outbox"] = NOTHING_WAITS
        elif need == "drives":
            given["drives"] = drives.listed(db)
        elif need == "table" or need == "checks" and any(event["kind"] == "check_answered" for event in given["events"]):
            given.update(causes.given(db))
        elif need == "checks":
            given.update(table=None, counts=None)
        elif need == "stock":
            given["stock"] = stock.given(db, door.stock_keys(asked(), store.job_events(db, params["job"]), given["now"][:10]))
        elif need == "drive":
            given["drive"] = drives.get(db, params.get("drive") or request.values.get("saved", ""))
    return given


def _found(db, params):
    token = params.get("token") or request.args.get("token", "")
    code = params.get("code") or request.args.get("code", "") or request.form.get("code", "")
    return store.find(db, token=token, code=code)


def answer(question: dict, extra: dict = None):
    """Let the core answer a request and carry the reply out."""
    match = door.match(question)
    if match["needs"] is None:
        abort(404)
    given = given_for(match["needs"], match["params"])
    given.update(extra or {})
    try:
        reply = door.handle(question, given)
    except CoreError as error:
        return refused(words.sentence(error))
    return carry_out(reply)


def carry_out(reply: dict):
    """Turn the core's reply into a response."""
    if reply["do"] == "page":
        return render_template(reply["template"], **reply["context"], frame=context.frame()), reply["status"]
    if reply["do"] == "record":
        return _record(reply["events"], reply["goto"])
    if reply["do"] == "be":
        return _be(reply["person"], reply["goto"])
    if reply["do"] == "file":
        return Response(reply["text"], mimetype=reply["type"],
                        headers={"Content-Disposition": f'attachment; filename="{reply["name"]}"'})
    return redirect(reply["goto"], 303)


def _record(events, goto):
    db, device = context.database(), context.device()
    verified = devices.verified_pairs(db, device["id"])
    for verdict in store.append(db, events, context.now(), verified=verified):
        if verdict["verdict"] == "refused":
            return refused(verdict["sentence"])
    devices.count_up(db, device["id"], max([event["n"] for event in events], default=0))
    return redirect(goto, 303)


def _be(person, goto):
    db, device = context.database(), context.device()
    if person not in devices.checked_people(db, device["id"]):
        return redirect("/signin?" + urlencode({"person": person, "next": goto}), 303)
    devices.set_person(db, device["id"], person)
    return redirect(goto, 303)


def refused(sentence: str):
    """Say that nothing was recorded: the job moved on between the page and the tap, or the page was old."""
    return message("Not saved", sentence, 422)


def message(title: str, sentence: str, status: int):
    """Answer with a plain page."""
    page = render_template("office/message.html", title=title, sentence=sentence, frame=context.frame())
    return page, status


def _serve(**_params):
    return answer(asked())


@blueprint.record_once
def _add_routes(state):
    """Give Flask the core's table, so that it tells 404 from 405; the core itself matches once more."""
    seen = []
    for method, pattern, _needs, module, function in routes.TABLE:
        rule = pattern.replace("{", "<").replace("}", ">")
        state.app.add_url_rule(rule, f"core.{method} {module}/{function} {rule}".replace(".", " "), _serve,
                               methods=[method])
        seen.append((method, pattern))
    if ("GET", "/") not in seen:
        state.app.add_url_rule("/", "home", lambda: redirect("/jobs", 303))
