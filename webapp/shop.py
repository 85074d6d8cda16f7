"""The workshop's own settings: name, address, units, paper and the tape's constants."""

import json

from . import store
from .core import numbers
from .core.errors import CoreError

CHOICES = {"length_unit": [["mm", "Millimetre"], ["in", "Inch"]],
           "force_unit": [["N", "Newton"], ["lbf", "Pound-force"], ["kgf", "Kilogram-force"]],
           "distance_unit": [["km", "Kilometre"], ["mi", "Mile"]],
           "paper": [["a4", "A4"], ["letter", "Letter"]]}
BLANK = {"name": "Workshop", "address": "", "length_unit": "mm", "force_unit": "N", "distance_unit": "km",
         "paper": "a4", "tape_constants": {}}


def load(db) -> dict:
    """Return the settings that hold now, without the origin."""
    row = db.execute("SELECT settings FROM shop ORDER BY version DESC LIMIT 1").fetchone()
    return json.loads(row[0]) if row else dict(BLANK)


def save(db, settings: dict, by: str, at: str):
    """Keep new settings; the older ones stay with who and when. CoreError for one that is wrong."""
    for key, most in (("name", 60), ("address", 300)):
        if len(settings[key]) > most:
            raise CoreError("too-long", key, {"most": str(most)})
    if not settings["name"].strip():
        raise CoreError("empty", "name")
    for key, pairs in CHOICES.items():
        if settings[key] not in [pair[0] for pair in pairs]:
            raise CoreError("not-a-choice", key)
    tape = {section: typed for section, typed in settings["tape_constants"].items() if typed}
    for section, typed in tape.items():
        # The same limits as where a technician types one, in millimetre.
        numbers.read_number(typed, "tape_" + section, -30, 50)
        tape[section] = numbers.plain(typed, "tape_" + section)
    kept = {key: settings[key] for key in BLANK}
    kept["tape_constants"] = tape
    with store.writing(db):
        db.execute("INSERT INTO shop (version, settings, changed_by, changed_at)"
                   " VALUES ((SELECT coalesce(max(version), 0) + 1 FROM shop), ?, ?, ?)",
                   [json.dumps(kept), by, at])
