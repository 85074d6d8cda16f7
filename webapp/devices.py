"""The phones and browsers that belong to the workshop, and whose PIN was checked on each."""

import hashlib
import secrets
import uuid

from . import people, store

COOKIE = "spanwright_device"
# Browsers cut longer lives to 400 days; each sign-in sets the cookie afresh.
COOKIE_SECONDS = 400 * 24 * 3600

_KEYS = ["id", "label", "person", "n", "enrolled_by", "enrolled_at", "revoked_by", "revoked_at"]


def _hash(secret):
    # 256 random bits need no slow hash.
    return hashlib.sha256(secret.encode()).hexdigest()


def _rows(db, where="1", values=()):
    rows = db.execute(f"SELECT {', '.join(_KEYS)} FROM devices WHERE {where} ORDER BY enrolled_at, id", list(values))
    return [dict(zip(_KEYS, row)) for row in rows]


def by_secret(db, secret: str):
    """Return the device that holds this cookie, revoked or not, or None."""
    found = _rows(db, "secret = ?", [_hash(secret)]) if secret else []
    return found[0] if found else None


def listed(db) -> list:
    """Return every device, oldest first."""
    return _rows(db)


def enrol(db, person: str, label: str, at: str) -> tuple:
    """Take in a device on which this person's PIN was just checked; return (device id, secret for its cookie)."""
    device, secret = str(uuid.uuid4()), secrets.token_urlsafe(32)
    with store.writing(db):
        db.execute("INSERT INTO devices (id, secret, label, person, n, enrolled_by, enrolled_at) VALUES (?,?,?,?,0,?,?)",
                   [device, _hash(secret), label[:60], person, person, at])
        db.execute("INSERT INTO pin_checks (device, person, at) VALUES (?,?,?)", [device, person, at])
    return device, secret


def note_pin_check(db, device: str, person: str, at: str):
    """Note that this person's PIN was checked on this device, and let the person work on it."""
    with store.writing(db):
        db.execute("INSERT INTO pin_checks (device, person, at) VALUES (?,?,?)"
                   " ON CONFLICT (device, person) DO UPDATE SET at = excluded.at", [device, person, at])
        db.execute("UPDATE devices SET person = ? WHERE id = ?", [person, device])


def set_person(db, device: str, person: str):
    """Let a person whose PIN was checked here before work on this device."""
    with store.writing(db):
        db.execute("UPDATE devices SET person = ? WHERE id = ?", [person, device])


def forget_checks(db, device: str):
    """Sign out: nobody counts as checked on this device any more."""
    with store.writing(db):
        db.execute("DELETE FROM pin_checks WHERE device = ?", [device])


def checked_people(db, device: str) -> list:
    """Return the ids of the active people whose PIN was checked on this device."""
    working = {person["id"] for person in people.active(db)}
    rows = db.execute("SELECT person FROM pin_checks WHERE device = ? ORDER BY person", [device])
    return [row[0] for row in rows if row[0] in working]


def verified_pairs(db, device: str) -> set:
    """Return {(device, person)} for `store.append`."""
    return {(device, person) for person in checked_people(db, device)}


def count_up(db, device: str, n: int):
    """Remember the highest counter that this device has used."""
    with store.writing(db):
        db.execute("UPDATE devices SET n = max(n, ?) WHERE id = ?", [n, device])


def revoke(db, device: str, by: str, at: str):
    """Shut a device out; its entries so far stay."""
    with store.writing(db):
        db.execute("UPDATE devices SET revoked_by = ?, revoked_at = ? WHERE id = ? AND revoked_at IS NULL",
                   [by, at, device])
