"""Saving a workshop's records to another folder, and checking that they hold."""

import hashlib
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from . import store

# Thumbnails are left out: the server draws them again.
# What entries name by the hash of its bytes: folder and ending.
NAMED = {"photo": ("photos", ".jpg"), "sound": ("sounds", ".wav")}
FILES, FOLDERS = ("origin.json",), ("photos", "sounds", "tls")


def back_up(data: Path, target: Path) -> dict:
    """Save a running workshop to a folder that does not exist yet, whole or not at all.

    The database goes through SQLite's own backup, since a copy of the file lacks what is still in its log. Photos
    and sounds come after it, so that all which the copied records name and which had arrived are in the copy.

    Returns:     {"events", "photos", "sounds"}: how many of each
    Raises:      FileExistsError, and OSError or sqlite3.Error of the disk
    """
    if target.exists():
        raise FileExistsError(f"{target} exists already.")
    fresh = target.with_name(target.name + ".part")
    shutil.rmtree(fresh, ignore_errors=True)
    # The copy holds private keys.
    fresh.mkdir(mode=0o700, parents=True)
    with closing(sqlite3.connect(f"file:{data / 'spanwright.db'}?mode=ro", uri=True)) as source, \
            closing(sqlite3.connect(fresh / "spanwright.db")) as copy:
        source.backup(copy)
        count = copy.execute("SELECT count(*) FROM events").fetchone()[0]
    for name in FOLDERS:
        if (data / name).exists():
            # A file that is just being written has a name of its own, and may be gone by the time it is its turn.
            shutil.copytree(data / name, fresh / name, ignore=shutil.ignore_patterns("*.new"))
    for name in FILES:
        if (data / name).exists():
            shutil.copy2(data / name, fresh / name)
    fresh.rename(target)
    return {"events": count, **{folder: len(list((target / folder).rglob("*" + ending))) for folder, ending in NAMED.values()}}


def check(db, data: Path) -> tuple:
    """Check every chain, every photo and every sound.

    Returns:     (number of jobs, sentences about what does not hold, sentences about photos and sounds still awaited)
    """
    faults, awaited = [], []
    jobs = [row[0] for row in db.execute("SELECT job FROM events GROUP BY job ORDER BY min(seq)")]
    for job in jobs:
        seq = store.verify_chain(db, job)
        if seq is not None:
            faults.append(f"Job {job}: the chain breaks at entry {seq}.")
        for event in store.job_events(db, job):
            for what, path in _files(event, data):
                name = path.stem
                if not path.exists():
                    awaited.append(f"Job {job}: {what} {name[:12]}… has not arrived from its phone.")
                elif hashlib.sha256(path.read_bytes()).hexdigest() != name:
                    faults.append(f"Job {job}: {what} {name[:12]}… was changed.")
    return len(jobs), faults, awaited


def _files(event, data):
    """The files that an entry names: [(what it is, where it stands), ...]."""
    held = event["data"]
    named = [("photo", held["sha256"])] if event["kind"] == "photo_taken" else []
    named += [("sound", name) for name in held.get("sounds") or [] if name]
    return [(what, data / NAMED[what][0] / name[:2] / (name + NAMED[what][1])) for what, name in named]
