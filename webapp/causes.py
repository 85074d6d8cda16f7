"""The table of causes in force, and the workshop's own counts: what the core reasons with on every host."""

import hashlib
import json
from pathlib import Path

from . import store
from .core import cause_table

BUILT_IN = json.loads((Path(__file__).resolve().parent / "data" / "causes.json").read_text(encoding="utf-8"))


def in_force(db) -> dict:
    """Return {"table", "own": whether the office took it in, "by": person id, "at": time of the last change, or ""}."""
    row = db.execute("SELECT content, changed_by, changed_at FROM cause_tables ORDER BY version DESC LIMIT 1").fetchone()
    if row is None:
        return {"table": BUILT_IN, "own": False, "by": "", "at": ""}
    return {"table": json.loads(row[0]) if row[0] else BUILT_IN, "own": row[0] is not None, "by": row[1], "at": row[2]}


def counts(db, table: dict):
    """Return the workshop's own counts, None while no job has proved its cause."""
    jobs = [[cause, json.loads(answers)] for cause, answers in db.execute("SELECT cause, answers FROM confirmed ORDER BY job")]
    return cause_table.tally(jobs, table) if jobs else None


def given(db) -> dict:
    """Return what screens that need the table get: {"table", "counts"}."""
    table = in_force(db)["table"]
    return {"table": table, "counts": counts(db, table)}


def seal(reasons: dict) -> str:
    """Return a text that changes whenever the table or the counts do."""
    return hashlib.sha256(json.dumps(reasons, sort_keys=True).encode()).hexdigest()[:16]


def take_in(db, table: dict, by: str, at: str):
    """Put a table in force. CoreError of `check_table` for one that cannot be reasoned with; the old one stays then."""
    cause_table.check_table(table)
    _change(db, json.dumps(table, ensure_ascii=False), by, at)


def back(db, by: str, at: str):
    """Put the built-in table in force again."""
    _change(db, None, by, at)


def _change(db, content, by, at):
    with store.writing(db):
        db.execute("INSERT INTO cause_tables (version, content, changed_by, changed_at)"
                   " VALUES ((SELECT coalesce(max(version), 0) + 1 FROM cause_tables), ?, ?, ?)", [content, by, at])
