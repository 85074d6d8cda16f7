"""Signing in: name tile, then PIN. It makes the browser one of the workshop's devices."""

import logging
from urllib.parse import urlencode, urlsplit

from flask import Blueprint, jsonify, redirect, render_template, request

from . import context, devices, people
from .core import forms, words
from .core.errors import CoreError

log = logging.getLogger("spanwright")
blueprint = Blueprint("auth", __name__)

# Pages and files for a phone that is not one of the workshop's yet; they hold nothing of any job.
OPEN = ("auth", "build", "connect")
# Asked by scripts, which need a plain answer instead of the sign-in page.
FOR_SCRIPTS = ("sync", "photos", "sounds")

REVOKED = "The office has shut this device out. Sign in again to bring it back; what it still holds can then be sent."


def need_device():
    """Let only the workshop's own devices, with a person who proved the PIN, see anything."""
    if request.endpoint is None or request.endpoint == "static" or request.blueprint in OPEN:
        return None
    if request.blueprint in FOR_SCRIPTS:
        # A phone sends its records whoever holds it; who is checked decides only whether they count as verified.
        return None if context.device() else _refuse_script()
    if context.person():
        return None
    if request.headers.get("HX-Request"):
        # A fragment's place on the page is no room for the sign-in page: htmx leaves the page for it.
        return "", 401, {"HX-Redirect": _signin(_page_around())}
    return redirect(_signin(request.full_path.rstrip("?") if request.method == "GET" else ""), 303)


def _page_around():
    try:
        return urlsplit(request.headers.get("HX-Current-URL", "")).path
    except ValueError:
        return ""


def _signin(back):
    return "/signin?" + urlencode({"next": forms.local_path(back, "/jobs")})


def _refuse_script():
    if context.any_device():
        return jsonify({"code": "revoked", "sentence": REVOKED}), 403
    return jsonify({"code": "sign-in", "sentence": "Sign in on this device first."}), 401


def _page(person, goto, error="", status=200):
    found = context.any_device()
    picked = people.get(context.database(), person)
    if picked is not None and not picked["active"]:
        picked = None
    tiles = [{"name": p["name"], "href": "/signin?" + urlencode({"person": p["id"], "next": goto})}
             for p in people.active(context.database())]
    page = render_template(
        "signin.html", title="Sign in", frame=context.frame(), people=tiles, picked=picked, goto=goto, error=error,
        others="/signin?" + urlencode({"next": goto}), revoked=REVOKED if found and found["revoked_at"] else "")
    return page, status


@blueprint.get("/signin")
def show():
    return _page(request.args.get("person", ""), forms.local_path(request.args.get("next", ""), "/jobs"))


@blueprint.post("/signin")
def sign_in():
    db = context.database()
    person = request.form.get("person", "")
    goto = forms.local_path(request.form.get("next", ""), "/jobs")
    try:
        if not request.form.get("pin", "").strip():
            raise CoreError("empty", "pin")
        people.check_pin(db, person, request.form["pin"].strip())
    except CoreError as error:
        return _page(person, goto, words.sentence(error), 422)
    response = redirect(goto, 303)
    found = context.device()
    if found:
        devices.note_pin_check(db, found["id"], person, context.now())
        secret = request.cookies[devices.COOKIE]
    else:
        device, secret = devices.enrol(db, person, _label(), context.now())
        log.info("a device was enrolled: %s", device)
    response.set_cookie(devices.COOKIE, secret, max_age=devices.COOKIE_SECONDS, httponly=True, samesite="Lax",
                        secure=request.is_secure)
    return response


@blueprint.post("/signout")
def sign_out():
    """The device stays the workshop's, since a phone may still hold records to send; its people do not stay checked."""
    found = context.device()
    if found:
        devices.forget_checks(context.database(), found["id"])
    return redirect("/signin", 303)


def _label():
    agent = request.user_agent.string
    for sign, label in (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android phone"), ("Windows", "Windows PC"),
                        ("Macintosh", "Mac"), ("Linux", "Linux PC")):
        if sign in agent:
            return label
    return "Device"
