"""The shop's saved drives: looked up, handed to phones, taken in from files and withdrawn again by the office.

Those of jobs follow from the log (see `store`); a drive's content never changes under its id.
"""

import hashlib
import json
import uuid

from . import store
from .core import drive_file, library
from .core.errors import CoreError

# Drives that one answer to a phone brings.
PAGE = 50


def listed(db) -> list:
    """Return the rows of the list, the newest first (see `library.saved`, without its data)."""
    rows = db.execute("SELECT json_remove(content, '$.data') FROM library ORDER BY received DESC, id DESC")
    return [json.loads(row[0]) for row in rows]


def get(db, name: str):
    """Return a saved drive with its data, or None."""
    row = db.execute("SELECT content FROM library WHERE id = ?", [name]).fetchone()
    return json.loads(row[0]) if row else None


def _ids(db):
    return [row[0] for row in db.execute("SELECT id FROM library ORDER BY id")]


def seal(db) -> str:
    """Return a text that changes whenever a drive comes to the library or leaves it."""
    return hashlib.sha256("\n".join(_ids(db)).encode()).hexdigest()


def lacking(db, held: list) -> dict:
    """Return what a phone needs to hold the library: {"gone": ids, "drives": some that it lacks, "more", "seal"}.

    Parameters:  held: ids of the drives that the phone holds
    """
    ids = _ids(db)
    wanted = sorted(set(ids) - set(held))
    return {"gone": sorted(set(held) - set(ids)), "drives": [get(db, name) for name in wanted[:PAGE]],
            "more": len(wanted) > PAGE, "seal": seal(db)}


def take_in(db, text: str, by: str, at: str, name: str = "") -> tuple:
    """Take a drive's file into the library.

    Parameters:  text: of the file · by: person id · at: now · name: the new drive's id, "" for a fresh one
    Returns:     (the drive's name, whether another saved drive has this name too)
    Raises:      CoreError of `drive_file.read`, "drive-here" when the library has this very drive
    """
    found = drive_file.read(text)
    data = {"name": found["name"], "engine": found["engine"], "origin": "file", "copied_from": None, "shared": True,
            "drive": found["drive"]}
    saved = library.saved(name or str(uuid.uuid4()), data, ["", found["measured_by"] or by, found["measured_at"] or at, at])
    with store.writing(db):
        same_name = [row[0] for row in db.execute("SELECT json_extract(content, '$.data') FROM library WHERE json_extract(content, '$.name') = ?",
                                                  [saved["name"]])]
        for held in map(json.loads, same_name):
            if held["engine"] == data["engine"] and held["drive"] == data["drive"]:
                raise CoreError("drive-here")
        db.execute("INSERT INTO drive_files (id, received, content, taken_by) VALUES (?,?,?,?)",
                   [saved["id"], at, json.dumps(saved), by])
    return saved["name"], bool(same_name)


def taken_in(db) -> list:
    """Return the rows of those that the office took in and has not withdrawn, the newest first."""
    rows = db.execute("SELECT json_remove(content, '$.data') FROM library WHERE job = '' ORDER BY received DESC, id DESC")
    return [json.loads(row[0]) for row in rows]


def withdraw(db, name: str, by: str, at: str) -> bool:
    """Take a drive that came from a file out of the library; return whether it was in it."""
    with store.writing(db):
        if not db.execute("SELECT 1 FROM library WHERE id = ? AND job = ''", [name]).fetchone():
            return False
        db.execute("INSERT INTO drive_files_withdrawn (id, withdrawn_by, withdrawn_at) VALUES (?,?,?)", [name, by, at])
    return True
