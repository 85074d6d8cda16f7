"""The records in SQLite: the log that only grows, its chain per job, and the tables derived from it."""

import contextlib
import hashlib
import json
import logging
import sqlite3
import threading
from pathlib import Path

import sqlite_utils

from .core import card, codes, evidence, library, words
from .core import events as records
from .core.errors import CoreError
from .migrations import steps

log = logging.getLogger("spanwright")

BUSY_MS = 10_000
# How many closed jobs the board still shows.
LATELY_CLOSED = 50
# How many jobs are looked through for a car that comes again.
CARS = 2000
MAX_PULL = 500

# The derived tables are made by these; when one changes they are rebuilt.
_MAKERS = [card.__file__, codes.__file__, evidence.__file__, library.__file__, records.__file__]

# One process serves the workshop. SQLite's own waiting is by growing sleeps, so writers of this process
# queue here instead; the database lock still holds against other processes.
_writers = threading.Lock()


def connect(path, read_only: bool = False) -> sqlite_utils.Database:
    """Open a connection for one request; the caller closes it.

    A phone forgets what the server said is stored, so a commit must outlast a power cut: synchronous is FULL.
    """
    db = sqlite_utils.Database(sqlite3.connect(str(path)))
    db.execute("PRAGMA foreign_keys = ON")
    db.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    db.execute("PRAGMA synchronous = FULL")
    if read_only:
        db.execute("PRAGMA query_only = ON")
    return db


def open_database(path) -> sqlite_utils.Database:
    """Open the database, made and brought up to date where needed; the caller closes it."""
    db = connect(path)
    if db.journal_mode != "wal":
        db.enable_wal()
    if steps.pending(db):
        steps.apply(db)
    _renew_derived(db)
    return db


@contextlib.contextmanager
def writing(db):
    """The one way to write: a transaction that begins immediately, so that what it read stays true."""
    with _writers:
        db.execute("BEGIN IMMEDIATE")
        try:
            yield db
            db.commit()
        except BaseException:
            db.rollback()
            raise


# Reading

_COLUMNS = "seq, content, received, prev, hash, verified"


def _event(row):
    event = json.loads(row[1])
    event.update(seq=row[0], received=row[2], prev=row[3], hash=row[4], verified=bool(row[5]))
    return event


def job_events(db, job: str) -> list:
    """Return a job's events with the server's keys, in the order of the log."""
    rows = db.execute(f"SELECT {_COLUMNS} FROM events WHERE job = ? ORDER BY seq", [job])
    return [_event(row) for row in rows]


def board(db) -> list:
    """Return the summaries of every open job and of the lately closed ones, newest entry first."""
    rows = db.execute("SELECT summary FROM jobs WHERE open = 1 ORDER BY last_seq DESC").fetchall()
    rows += db.execute("SELECT summary FROM jobs WHERE open = 0 ORDER BY last_seq DESC LIMIT ?",
                       [LATELY_CLOSED]).fetchall()
    return [json.loads(row[0]) for row in rows]


def cars(db) -> list:
    """Return the summaries of the newest jobs, open or closed: what is due on a car, and whether it was here before."""
    rows = db.execute("SELECT summary FROM jobs ORDER BY last_seq DESC LIMIT ?", [CARS]).fetchall()
    return [json.loads(row[0]) for row in rows]


def find(db, token: str = "", code: str = "") -> dict:
    """Return {"jobs": summaries, "voided"} for a tag's token or a job's typed code.

    A voided tag still tells its jobs, so that the person can be led on.
    """
    if token:
        rows = db.execute("SELECT jobs.summary, tags.voided FROM tags JOIN jobs ON jobs.id = tags.job"
                          " WHERE token = ? ORDER BY last_seq", [token]).fetchall()
    else:
        rows = db.execute("SELECT summary, 0 FROM jobs WHERE code = ? ORDER BY last_seq",
                          [codes.read_code(code)]).fetchall()
    live = [row for row in rows if not row[1]]
    return {"jobs": [json.loads(row[0]) for row in live or rows], "voided": bool(rows) and not live}


def known(db, ids: list) -> set:
    """Return those of the ids that the log holds."""
    rows = db.execute("SELECT id FROM events WHERE id IN (SELECT value FROM json_each(?))", [json.dumps(ids)])
    return {row[0] for row in rows}


def pull(db, after: int, limit: int, since: str) -> dict:
    """Return a page of what a phone holds: {"events", "counts": {job: events in all}, "next", "more", "before", "head"}.

    "before" is the hash of the log's entry at the mark, "head" of that at "next". A phone that remembers another hash
    for its mark knows that the server was put back to a backup, even where the log has grown past the mark since.

    Parameters:  after: the mark the phone has reached · limit: most events of the page · since: a closed job
                 belongs on a phone while its last entry came at this time or later
    """
    limit = max(1, min(limit, MAX_PULL))
    # Read first: what is committed while the page is read lies beyond it and comes with the next pull.
    end = db.execute("SELECT coalesce(max(seq), 0) FROM events").fetchone()[0]
    rows = db.execute(f"SELECT {_COLUMNS} FROM events CROSS JOIN jobs ON jobs.id = events.job"
                      " WHERE seq > ? AND seq <= ? AND (open = 1 OR jobs.last_received >= ?) ORDER BY seq LIMIT ?",
                      [after, end, since, limit + 1]).fetchall()
    page = [_event(row) for row in rows[:limit]]
    counts = db.execute("SELECT job, count(*) FROM events WHERE job IN (SELECT value FROM json_each(?)) GROUP BY job",
                        [json.dumps(sorted({event["job"] for event in page}))]).fetchall()
    more = len(rows) > limit
    reached = page[-1]["seq"] if more else end
    return {"events": page, "counts": dict(counts), "next": reached, "more": more, "before": _hash_at(db, after),
            "head": _hash_at(db, reached)}


def _hash_at(db, seq):
    row = db.execute("SELECT hash FROM events WHERE seq = ?", [seq]).fetchone()
    return row[0] if row else ""


# Writing

class _Line:
    """A job's events as they grow during one batch, folded only when a fold can tell something new."""

    def __init__(self, db, job):
        self.events = job_events(db, job)
        self.job = records.fold(self.events)

    @property
    def head(self):
        return self.events[-1]["hash"] if self.events else ""

    def add(self, event):
        self.events.append(event)
        waits = self.job is not None and any(e["state"] == "waits" for e in self.job["history"])
        if self.job is None or waits or event["replaces"] is not None:
            self.job = records.fold(self.events)
            return
        # The gate reads no more of a job than this; see `records.check`.
        self.job["history"].append({"id": event["id"], "kind": event["kind"], "state": "stands"})
        if event["kind"] == "gate_passed":
            self.job["gate"] = event


def append(db, events: list, received: str, by_server: bool = False, verified=frozenset()) -> list:
    """Take a batch into the log; a bad member never keeps the others out.

    Parameters:  events: as sent, possibly not events at all · received: the server's time ·
                 by_server: the server made them · verified: pairs (device, who) whose PIN was checked
    Returns:     for each, after commit: {"id", "verdict": "stored" | "already" | "refused", "code", "field",
                 "sentence"}
    """
    lines = {}
    grown = []
    verdicts = []
    with writing(db):
        seq = db.execute("SELECT coalesce(max(seq), 0) FROM events").fetchone()[0]
        for event in events:
            try:
                stored = _admit(db, lines, event, by_server)
            except CoreError as error:
                verdicts.append(_verdict(event, "refused", error))
                continue
            if not stored:
                verdicts.append(_verdict(event, "already"))
                continue
            seq += 1
            _write(db, lines[event["job"]], event, seq, received, (event["device"], event["who"]) in verified)
            if event["job"] not in grown:
                grown.append(event["job"])
            verdicts.append(_verdict(event, "stored"))
        for job in grown:
            _derive(db, lines[job].events)
    return verdicts


def _verdict(event, verdict, error=None):
    name = event.get("id") if isinstance(event, dict) else None
    answer = {"id": name if isinstance(name, str) and len(name) <= 40 else "", "verdict": verdict,
              "code": "", "field": "", "sentence": ""}
    if error is not None:
        answer.update(code=error.code, field=error.field, sentence=words.sentence(error))
    return answer


def _admit(db, lines, event, by_server):
    """Tell whether the event is to be written (True) or is there already (False); raise CoreError to refuse it."""
    records.check_form(event)
    content = records.canonical(event)
    try:
        json.dumps(event, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        # Half of a surrogate pair can be stored but never shown: no page that holds it could be sent.
        raise CoreError("not-text", "data") from None
    held = db.execute("SELECT content FROM events WHERE id = ?", [event["id"]]).fetchone()
    if held is not None:
        if held[0] != content:
            raise CoreError("other-content", "id")
        return False
    if event["job"] not in lines:
        lines[event["job"]] = _Line(db, event["job"])
    line = lines[event["job"]]
    records.check(event, line.job, by_server)
    if event["kind"] == "signed_off" and (event["data"]["head"], event["data"]["count"]) != (line.head, len(line.events)):
        # Checked under the write lock: a signature covers exactly what its signer saw.
        raise CoreError("head-moved", "head")
    return True


def _write(db, line, event, seq, received, verified):
    event = dict(event, seq=seq, received=received, prev=line.head, verified=verified)
    event["hash"] = link(line.head, event)
    db.execute("INSERT INTO events (seq, id, job, content, received, prev, hash, verified) VALUES (?,?,?,?,?,?,?,?)",
               [seq, event["id"], event["job"], records.canonical(event), received, event["prev"], event["hash"],
                int(verified)])
    line.add(event)


def link(prev: str, event: dict) -> str:
    """Return the event's link in its job's chain."""
    return hashlib.sha256(records.link_text(prev, event).encode("ascii")).hexdigest()


def verify_chain(db, job: str):
    """Return the seq of the first event whose link does not hold, or None when the whole chain does."""
    prev = ""
    for event in job_events(db, job):
        if event["prev"] != prev or event["hash"] != link(prev, event):
            return event["seq"]
        prev = event["hash"]
    return None


# The derived tables

def _derive(db, events):
    folded = records.fold(events)
    summary = card.summary(folded)
    job, last = events[0]["job"], events[-1]
    db.execute("INSERT INTO jobs (id, code, summary, open, last_seq, last_received) VALUES (?,?,?,?,?,?)"
               " ON CONFLICT (id) DO UPDATE SET summary = excluded.summary, open = excluded.open,"
               " last_seq = excluded.last_seq, last_received = excluded.last_received",
               [job, codes.job_code(job), json.dumps(summary), int(not summary["signed"]), last["seq"],
                last["received"]])
    for token, voided in summary["tags"]:
        db.execute("INSERT INTO tags (token, job, voided) VALUES (?,?,?)"
                   " ON CONFLICT (token, job) DO UPDATE SET voided = excluded.voided", [token, job, int(voided)])
    db.execute("DELETE FROM confirmed WHERE job = ?", [job])
    proved = evidence.confirmed(folded)
    if proved is not None:
        db.execute("INSERT INTO confirmed (job, cause, answers) VALUES (?,?,?)", [job, proved[0], json.dumps(proved[1])])
    db.execute("DELETE FROM drives WHERE job = ?", [job])
    for saved in library.of_job(folded):
        db.execute("INSERT INTO drives (id, job, received, content) VALUES (?,?,?,?)",
                   [saved["id"], job, saved["received"], json.dumps(saved)])


def rebuild(db) -> int:
    """Make the derived tables afresh from the log; return the number of jobs."""
    with writing(db):
        return _rebuild(db)


def _rebuild(db):
    db.execute("DELETE FROM tags")
    db.execute("DELETE FROM drives")
    db.execute("DELETE FROM confirmed")
    db.execute("DELETE FROM jobs")
    jobs = [row[0] for row in db.execute("SELECT job FROM events GROUP BY job")]
    for job in jobs:
        _derive(db, job_events(db, job))
    db.execute("INSERT INTO derived (only, made_by) VALUES (1, ?)"
               " ON CONFLICT (only) DO UPDATE SET made_by = excluded.made_by", [_made_by()])
    return len(jobs)


def _made_by():
    digest = hashlib.sha256()
    for path in _MAKERS:
        digest.update(Path(path).read_bytes())
    return digest.hexdigest()


def _renew_derived(db):
    row = db.execute("SELECT made_by FROM derived").fetchone()
    if row is None or row[0] != _made_by():
        log.info("the lists were made afresh from the records: %d jobs", rebuild(db))
