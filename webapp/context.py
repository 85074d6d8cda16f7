"""What one request stands on: its database connection, its device and person, its time."""

import datetime

from flask import abort, current_app, g, request

from . import build, devices, people, shop, store

SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


def database():
    """Return this request's connection; one that only reads cannot write."""
    if "database" not in g:
        g.database = store.connect(current_app.config["DATABASE"], read_only=request.method in SAFE_METHODS)
    return g.database


def close(_error=None):
    """Close the request's connection, if it opened one."""
    db = g.pop("database", None)
    if db is not None:
        db.close()


def now(days: int = 0) -> str:
    """Return the server's time, or the time that many days from it, in the form of the records."""
    time = datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(days=days)
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")


def any_device():
    """Return the device that the request comes from, even one that was revoked, or None."""
    if "device" not in g:
        g.device = devices.by_secret(database(), request.cookies.get(devices.COOKIE, ""))
    return g.device


def device():
    """Return the device that the request comes from, or None for one that may see nothing."""
    found = any_device()
    return None if found is None or found["revoked_at"] else found


def person():
    """Return the active person whose PIN was checked on this device and who works on it now, or None."""
    if "person" not in g:
        found = device()
        checked = found is not None and found["person"] in devices.checked_people(database(), found["id"])
        g.person = people.get(database(), found["person"]) if checked else None
    return g.person


def need_supervisor():
    """Stop anybody else with 403."""
    if "supervisor" not in person()["roles"]:
        abort(403)


def origin_url() -> str:
    """Return the one address that tags carry, without a slash at the end."""
    origin = current_app.config["ORIGIN"]
    return origin.url if origin else request.host_url.rstrip("/")


def settings() -> dict:
    """Return the shop's settings as the core is given them."""
    return dict(shop.load(database()), origin=origin_url())


def blank_frame() -> dict:
    """Return what `base.html` shows to nobody in particular."""
    return {"person": "", "person_verified": False, "shop": "", "host": "server", "unsent": "", "path": request.path,
            "build": build.current().version}


def frame() -> dict:
    """Return what `base.html` shows around every page."""
    who = person()
    return dict(blank_frame(), person=who["name"] if who else "", person_verified=who is not None,
                shop=shop.load(database())["name"])
