"""The tables of the workshop's database. Applied steps are never edited: a change is one more step at the end.

Only names of steps are recorded, not their contents. The log is never transformed: rebuilding a table
drops its triggers, and with them the guard.
"""

from sqlite_utils import Migrations

steps = Migrations("spanwright")


@steps()
def m001_log(db):
    """The events, and the guard that lets them in once and never lets them change.

    The guard does not rely on recursive_triggers, without which REPLACE deletes in silence:
    it decides before the insert, when the row to be replaced is still there.
    """
    db.executescript("""
        CREATE TABLE events (
            seq INTEGER PRIMARY KEY,
            id TEXT NOT NULL UNIQUE,
            job TEXT NOT NULL,
            content TEXT NOT NULL,
            received TEXT NOT NULL,
            prev TEXT NOT NULL,
            hash TEXT NOT NULL,
            verified INTEGER NOT NULL CHECK (verified IN (0, 1)),
            CHECK (json_extract(content, '$.id') = id AND json_extract(content, '$.job') = job)
        ) STRICT;
        CREATE INDEX events_job ON events (job, seq);

        CREATE TRIGGER events_in BEFORE INSERT ON events BEGIN
            SELECT CASE
                WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id AND content = NEW.content) THEN RAISE(IGNORE)
                WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id)
                    THEN RAISE(ABORT, 'the log holds this id with other content')
                WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM events)
                    THEN RAISE(ABORT, 'the log only grows at its end')
                WHEN NEW.prev IS NOT
                    coalesce((SELECT hash FROM events WHERE job = NEW.job ORDER BY seq DESC LIMIT 1), '')
                    THEN RAISE(ABORT, 'the link does not join the job''s chain')
            END;
        END;
        CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN
            SELECT RAISE(ABORT, 'the log never changes');
        END;
        CREATE TRIGGER events_no_delete BEFORE DELETE ON events BEGIN
            SELECT RAISE(ABORT, 'the log never changes');
        END;
    """)


@steps()
def m002_derived(db):
    """What lists and look-ups need, made from the log and rebuilt at will."""
    db.executescript("""
        CREATE TABLE jobs (
            id TEXT PRIMARY KEY,
            code TEXT NOT NULL,
            summary TEXT NOT NULL CHECK (json_valid(summary)),
            open INTEGER NOT NULL CHECK (open IN (0, 1)),
            last_seq INTEGER NOT NULL,
            last_received TEXT NOT NULL
        ) STRICT;
        CREATE INDEX jobs_code ON jobs (code);
        CREATE INDEX jobs_board ON jobs (open, last_seq);
        CREATE TABLE tags (
            token TEXT NOT NULL,
            job TEXT NOT NULL REFERENCES jobs (id),
            voided INTEGER NOT NULL CHECK (voided IN (0, 1)),
            PRIMARY KEY (token, job)
        ) STRICT;
        CREATE TABLE derived (only INTEGER PRIMARY KEY CHECK (only = 1), made_by TEXT NOT NULL) STRICT;
    """)


@steps()
def m003_people_and_devices(db):
    """Who may be named, what PIN opens, which phones belong to the workshop."""
    db.executescript("""
        CREATE TABLE people (
            id TEXT PRIMARY KEY,
            name TEXT NOT NULL,
            roles TEXT NOT NULL CHECK (json_valid(roles)),
            pin TEXT NOT NULL,
            active INTEGER NOT NULL CHECK (active IN (0, 1)),
            changed_by TEXT NOT NULL,
            changed_at TEXT NOT NULL
        ) STRICT;
        CREATE TABLE pin_tries (
            person TEXT PRIMARY KEY REFERENCES people (id),
            wrong INTEGER NOT NULL,
            not_before REAL NOT NULL
        ) STRICT;
        CREATE TABLE devices (
            id TEXT PRIMARY KEY,
            secret TEXT NOT NULL UNIQUE,
            label TEXT NOT NULL,
            person TEXT NOT NULL REFERENCES people (id),
            n INTEGER NOT NULL,
            enrolled_by TEXT NOT NULL REFERENCES people (id),
            enrolled_at TEXT NOT NULL,
            revoked_by TEXT REFERENCES people (id),
            revoked_at TEXT
        ) STRICT;
        CREATE TABLE pin_checks (
            device TEXT NOT NULL REFERENCES devices (id),
            person TEXT NOT NULL REFERENCES people (id),
            at TEXT NOT NULL,
            PRIMARY KEY (device, person)
        ) STRICT;
    """)


@steps()
def m004_shop(db):
    """The workshop's own settings; every change is a new row, the last one holds."""
    db.executescript("""
        CREATE TABLE shop (
            version INTEGER PRIMARY KEY,
            settings TEXT NOT NULL CHECK (json_valid(settings)),
            changed_by TEXT NOT NULL,
            changed_at TEXT NOT NULL
        ) STRICT;
    """)


@steps()
def m005_saved_drives(db):
    """The saved drives: those of jobs, made from the log and rebuilt at will, and those that the office took in."""
    db.executescript("""
        CREATE TABLE drives (
            id TEXT PRIMARY KEY,
            job TEXT NOT NULL REFERENCES jobs (id),
            received TEXT NOT NULL,
            content TEXT NOT NULL CHECK (json_valid(content))
        ) STRICT;
        CREATE INDEX drives_job ON drives (job);
        CREATE TABLE drive_files (
            id TEXT PRIMARY KEY,
            received TEXT NOT NULL,
            content TEXT NOT NULL CHECK (json_valid(content)),
            taken_by TEXT NOT NULL
        ) STRICT;
        CREATE TABLE drive_files_withdrawn (
            id TEXT PRIMARY KEY REFERENCES drive_files (id),
            withdrawn_by TEXT NOT NULL,
            withdrawn_at TEXT NOT NULL
        ) STRICT;
        CREATE VIEW library AS
            SELECT id, job, received, content FROM drives
            UNION ALL
            SELECT id, '', received, content FROM drive_files WHERE id NOT IN (SELECT id FROM drive_files_withdrawn);
    """)
    for table in ("drive_files", "drive_files_withdrawn"):
        for change in ("UPDATE", "DELETE"):
            db.executescript(f"""
                CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} BEGIN
                    SELECT RAISE(ABORT, 'what the office took in never changes');
                END;
            """)


@steps()
def m006_causes(db):
    """Tables of causes that the office took in, and what signed jobs proved, made from the log and rebuilt at will."""
    db.executescript("""
        CREATE TABLE cause_tables (
            version INTEGER PRIMARY KEY,
            content TEXT CHECK (content IS NULL OR json_valid(content)),
            changed_by TEXT NOT NULL,
            changed_at TEXT NOT NULL
        ) STRICT;
        CREATE TABLE confirmed (
            job TEXT PRIMARY KEY REFERENCES jobs (id),
            cause TEXT NOT NULL,
            answers TEXT NOT NULL CHECK (json_valid(answers))
        ) STRICT;
    """)


@steps()
def m007_stock(db):
    """The stock list in force with the keys of its lines, who took lists in, and the file that waits to be looked at."""
    db.executescript("""
        CREATE TABLE stock_lists (
            version INTEGER PRIMARY KEY,
            name TEXT NOT NULL,
            lines INTEGER NOT NULL,
            taken_by TEXT NOT NULL,
            taken_at TEXT NOT NULL
        ) STRICT;
        CREATE TABLE stock (
            line INTEGER PRIMARY KEY,
            content TEXT NOT NULL CHECK (json_valid(content))
        ) STRICT;
        CREATE TABLE stock_keys (
            key TEXT NOT NULL,
            line INTEGER NOT NULL REFERENCES stock (line),
            PRIMARY KEY (key, line)
        ) STRICT, WITHOUT ROWID;
        CREATE TABLE stock_waiting (
            only INTEGER PRIMARY KEY CHECK (only = 1),
            name TEXT NOT NULL,
            content BLOB NOT NULL,
            columns TEXT NOT NULL CHECK (json_valid(columns)),
            taken_by TEXT NOT NULL,
            taken_at TEXT NOT NULL
        ) STRICT;
    """)


@steps()
def m008_stock_preview(db):
    """What a waiting file looks like is worked out once, as it is taken in or its columns are named anew.

    A file that waits since before is dropped: nobody has used it, and the office takes it in again.
    """
    db.executescript("""
        DELETE FROM stock_waiting;
        ALTER TABLE stock_waiting ADD COLUMN preview TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(preview));
    """)
