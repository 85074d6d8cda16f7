"""Who made an entry, and an entry as one line of the record."""

from .. import times
from . import jobs


def by(entry: dict, given: dict) -> dict:
    """Return who made an entry, when, and whether the server checked who it was.

    Parameters:  entry: a history entry · given: the host's `people`
    """
    note = ""
    if entry["seq"] is None:
        note = "not sent yet"
    elif not entry["verified"]:
        note = "person not verified"
    return {"who": jobs.person_name(given, entry["who"]), "at": entry["at"], "shown": times.shown(entry["at"]), "note": note}


def line(label: str, text: str, entry: dict, given: dict) -> dict:
    """Return an entry as a line of the record, as `_line.html` takes it.

    Parameters:  label, text: in words · entry: a history entry · given: the host's `people`
    """
    return {"label": label, "text": text, "by": by(entry, given)}
