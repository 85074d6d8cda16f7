"""The people of the workshop and their PINs."""

import json
import threading
import time
import uuid

import argon2

from . import store
from .core import words
from .core.errors import CoreError

# Seconds to wait after the n-th wrong PIN in a row: 1, 2, 4 ... up to the cap.
LONGEST_WAIT = 600

hasher = argon2.PasswordHasher()
_tries = threading.Lock()


def listed(db) -> list:
    """Return everybody as the core is given them, by name."""
    rows = db.execute("SELECT id, name, roles, active FROM people ORDER BY name, id")
    return [{"id": r[0], "name": r[1], "roles": json.loads(r[2]), "active": bool(r[3])} for r in rows]


def get(db, person: str):
    """Return one of `listed`, or None."""
    for held in listed(db):
        if held["id"] == person:
            return held
    return None


def name(db, person: str) -> str:
    """Return a person's name; the id itself where nobody has it."""
    held = get(db, person)
    return held["name"] if held else person


def active(db) -> list:
    """Return those of `listed` who work here now."""
    return [person for person in listed(db) if person["active"]]


def add(db, name: str, roles: list, pin: str, by: str, at: str) -> str:
    """Add a person and return the id; `by` is who did it, "" at the set-up. CoreError for a bad name, role or PIN."""
    _check(db, "", name, roles)
    person = str(uuid.uuid4())
    hashed = _hash(pin)
    with store.writing(db):
        db.execute("INSERT INTO people (id, name, roles, pin, active, changed_by, changed_at) VALUES (?,?,?,?,1,?,?)",
                   [person, name.strip(), json.dumps(roles), hashed, by, at])
    return person


def change(db, person: str, name: str, roles: list, working: bool, by: str, at: str):
    """Change name, roles or whether the person works here; CoreError when no supervisor would be left."""
    if working:
        _check(db, person, name, roles)
    others = [p for p in active(db) if p["id"] != person and "supervisor" in p["roles"]]
    if not others and not (working and "supervisor" in roles):
        raise CoreError("last-supervisor", "roles")
    with store.writing(db):
        db.execute("UPDATE people SET name = ?, roles = ?, active = ?, changed_by = ?, changed_at = ? WHERE id = ?",
                   [name.strip(), json.dumps(roles), int(working), by, at, person])


def change_pin(db, person: str, pin: str, by: str, at: str):
    """Give a new PIN; what devices proved with the old one holds no longer."""
    hashed = _hash(pin)
    with store.writing(db):
        db.execute("UPDATE people SET pin = ?, changed_by = ?, changed_at = ? WHERE id = ?", [hashed, by, at, person])
        db.execute("DELETE FROM pin_checks WHERE person = ?", [person])
        db.execute("DELETE FROM pin_tries WHERE person = ?", [person])


def _check(db, person, name, roles):
    if not name.strip():
        raise CoreError("empty", "name")
    if len(name.strip()) > 40:
        raise CoreError("too-long", "name", {"most": "40"})
    for other in active(db):
        if other["id"] != person and other["name"].casefold() == name.strip().casefold():
            raise CoreError("name-taken", "name")
    if not roles:
        raise CoreError("empty", "roles")
    for role in roles:
        if not words.is_choice("role", role):
            raise CoreError("not-a-choice", "roles")


def check_new_pin(pin: str):
    """Refuse a PIN that nobody should be given; CoreError "bad-pin"."""
    if not (pin.isascii() and pin.isdigit() and 4 <= len(pin) <= 12):
        raise CoreError("bad-pin", "pin")


def _hash(pin):
    check_new_pin(pin)
    return hasher.hash(pin)


def check_pin(db, person: str, pin: str, now: float = None):
    """Pass for the right PIN, raise CoreError "wrong-pin" or "wait-for-pin" otherwise.

    The try is written down before the PIN is looked at, so a restart wins nothing. Tries wait for one another,
    so many at once win nothing either, and a button tapped twice is not told to wait.
    """
    with _tries:
        _check_pin(db, person, pin, now)


def _check_pin(db, person, pin, now):
    now = time.time() if now is None else now
    with store.writing(db):
        row = db.execute("SELECT people.pin, coalesce(wrong, 0), coalesce(not_before, 0) FROM people"
                         " LEFT JOIN pin_tries ON person = id WHERE id = ? AND active = 1", [person]).fetchone()
        if row is None:
            raise CoreError("wrong-pin", "pin")
        hashed, wrong, not_before = row
        # A server clock that was set back must not lock anybody out for longer than the cap.
        wait = min(not_before - now, LONGEST_WAIT)
        if wait > 0:
            raise CoreError("wait-for-pin", "pin", {"seconds": str(int(wait) + 1)})
        pause = min(2.0 ** min(wrong, 20), LONGEST_WAIT)
        db.execute("INSERT INTO pin_tries (person, wrong, not_before) VALUES (?,?,?) ON CONFLICT (person)"
                   " DO UPDATE SET wrong = excluded.wrong, not_before = excluded.not_before",
                   [person, wrong + 1, now + pause])
    try:
        hasher.verify(hashed, pin)
    except argon2.exceptions.VerifyMismatchError:
        raise CoreError("wrong-pin", "pin") from None
    with store.writing(db):
        db.execute("DELETE FROM pin_tries WHERE person = ?", [person])
