"""The file that carries a drive from one workshop to another: JSON text, version 1, or 2 where pulleys were tapped on a photo.

    form         "spanwright-drive"
    version      1 or 2
    name         what the workshop calls the drive, 1 to 60 characters
    engine       the engine, up to 60 characters, or null
    measured_by  who recorded it, up to 60 characters, or null
    measured_at  when, as in "2026-03-09T08:05:00Z", or null
    origin       how they came by it: a code of words.CHOICES["drive_origin"], or null
    drive        the drive as `drive_form` describes it, without name and loop: lengths in millimetres from the
                 crankshaft's centre, x to the right and y up as seen from the belt side; null = not known. Only in
                 version 2 a pulley may have `moves_mm` of `drive_form.SEEN_KEYS`: what a photo leaves open moves all
                 its pulleys together, which one half width a pulley (`good_to_mm`) cannot tell

A file is one drive that is whole as a list: at least two pulleys, each with a name of its own, one of them the
crankshaft. Numbers may be missing.
"""

from . import drive_entry
from . import drive_form
from . import events
from . import json_text
from . import words
from .errors import CoreError

FORM = "spanwright-drive"
# Without and with what a photo tells of pulleys; what needs no more is written as the first, which every Spanwright reads.
PLAIN, SEEN = 1, 2
# A drive of 24 pulleys with every number takes about 12,000.
MOST_SIGNS = 60000
MOST_TEXT = 60
_KEYS = ["form", "version", "name", "engine", "measured_by", "measured_at", "origin", "drive"]
_UNSAID = ["name", "loop", "belt", "pulleys", "tensioner"]


def _bad(code, field, **values):
    raise CoreError(code, field, values)


def _part(part, rules, skipped=()):
    """A part's keys in the order of the drive form; what is not known is left out, null included."""
    return [json_text.write(key) + ": " + json_text.write(part[key]) for key, _, _ in rules if key not in skipped and part[key] is not None]


def _braced(lines, indent):
    return "{\n" + ",\n".join([indent + " " + line for line in lines]) + "\n" + indent + "}"


def write(saved: dict, measured_by: str) -> str:
    """Return the file's text of a saved drive.

    Parameters:  saved: {"name", "engine", "at", "origin", "data"} as the host's need `drive` · measured_by: the name of
                 who recorded it, "" when not known
    Returns:     JSON text in ASCII and wider characters, the same on both interpreters; numbers to 8 decimals
    Raises:      CoreError as `drive_entry.to_drive`
    """
    full = drive_entry.to_drive(saved["data"]["drive"], saved["name"])
    version = SEEN if [pulley for pulley in full["pulleys"] if pulley["moves_mm"] is not None] else PLAIN
    pulleys = [_braced(_part(pulley, drive_form.PULLEY_KEYS + drive_form.SEEN_KEYS), "   ") for pulley in full["pulleys"]]
    drive = _part(full, drive_form.TOP_KEYS, _UNSAID)
    drive.append('"belt": ' + _braced(_part(full["belt"], drive_form.BELT_KEYS), "  "))
    drive.append('"pulleys": [\n   ' + ",\n   ".join(pulleys) + "\n  ]")
    drive.append('"tensioner": ' + _braced(_part(full["tensioner"], drive_form.TENSIONER_KEYS), "  "))
    lines = ['"form": ' + json_text.write(FORM), '"version": ' + str(version), '"name": ' + json_text.write(saved["name"]),
             '"engine": ' + json_text.write(saved["engine"] or None), '"measured_by": ' + json_text.write(measured_by or None),
             '"measured_at": ' + json_text.write(saved["at"] or None), '"origin": ' + json_text.write(saved["origin"]),
             '"drive": ' + _braced(drive, " ")]
    return _braced(lines, "") + "\n"


def file_name(name: str) -> str:
    """Return a file's name for a drive: ASCII letters and digits with hyphens.

    Parameters:  name: the drive's name
    Returns:     text such as "drive-van-2-0-diesel.json"
    """
    signs = []
    for c in name:
        if "A" <= c <= "Z":
            c = chr(ord(c) + 32)
        if "a" <= c <= "z" or "0" <= c <= "9":
            signs.append(c)
        elif signs and signs[-1] != "-":
            signs.append("-")
    return "-".join(["drive"] + [part for part in "".join(signs)[:40].split("-") if part]) + ".json"


def _text(held, key, needed=False):
    value = held.get(key)
    if value is None and not needed:
        return None
    if not isinstance(value, str):
        _bad("not-text", key)
    if needed and not value.strip():
        _bad("empty", key)
    if len(value) > MOST_TEXT:
        _bad("too-long", key, most=str(MOST_TEXT))
    return value.strip() or None


def _head(held):
    if not isinstance(held, dict) or held.get("form") != FORM:
        _bad("drive-file-form", "")
    version = held.get("version")
    if isinstance(version, bool) or version not in (PLAIN, SEEN):
        _bad("drive-file-version", "version", found=json_text.write(version)[:20], known=str(PLAIN) + " and " + str(SEEN))
    for key in sorted(held):
        if key not in _KEYS:
            _bad("drive-file-key", key[:40])
    at = held.get("measured_at")
    if at is not None and not events.is_stamp(at):
        _bad("not-a-time", "measured_at")
    origin = held.get("origin")
    if origin is not None and not (isinstance(origin, str) and words.is_choice("drive_origin", origin)):
        _bad("not-a-choice", "origin")
    return {"name": _text(held, "name", True), "engine": _text(held, "engine"), "measured_by": _text(held, "measured_by"),
            "measured_at": at}


def _unmarked(text):
    """Some editors put a byte order mark in front."""
    return text[1:] if text[:1] == "\ufeff" else text


def read(text: str) -> dict:
    """Return what a drive's file holds.

    Parameters:  text: the file's text, from anywhere
    Returns:     {"name", "engine", "measured_by", "measured_at", "drive"}: the drive as an entry (see `drive_entry`);
                 None for what the file does not say
    Raises:      CoreError with the path of what is wrong as field, such as "drive.pulleys.3.diameter_mm":
                 "drive-file-large", those of `json_text.read`, "drive-file-form", "drive-file-version",
                 "drive-file-key", those of `drive_form.form`, "too-long" for a drive that no entry could hold
    """
    if len(text) > MOST_SIGNS:
        _bad("drive-file-large", "", most=str(MOST_SIGNS))
    held = json_text.read(_unmarked(text), "")
    found = _head(held)
    drive = held.get("drive")
    if not isinstance(drive, dict):
        _bad("not-a-map", "drive")
    if held["version"] == PLAIN:
        _refuse_seen(drive.get("pulleys"))
    try:
        found["drive"] = drive_entry.from_drive(drive_form.form(drive))
        drive_entry.check(found["drive"], "")
    except CoreError as error:
        _bad(error.code, ("drive." + error.field).rstrip("."), **error.values)
    return found


def _refuse_seen(pulleys):
    for i in range(len(pulleys)) if isinstance(pulleys, list) else []:
        for key, _, _ in drive_form.SEEN_KEYS:
            if isinstance(pulleys[i], dict) and key in pulleys[i]:
                _bad("unknown-key", "drive.pulleys." + str(i) + "." + key)


def place_words(field: str, text: str) -> str:
    """Return in words where in a file something is wrong, "" when it is the file as a whole.

    Parameters:  field: path of `read`'s error · text: the file's text, to find a pulley's own name
    Returns:     text such as "Pulley 4 (alternator), diameter_mm"; pulleys count from 1
    """
    parts = field.split(".")
    if parts[:2] != ["drive", "pulleys"] or len(parts) < 3:
        return ", ".join(parts).replace("drive, ", "")
    place = "Pulley " + str(int(parts[2]) + 1)
    pulley = json_text.read(_unmarked(text), "")["drive"]["pulleys"][int(parts[2])]
    name = pulley.get("name") if isinstance(pulley, dict) else None
    if isinstance(name, str) and name.strip():
        place += " (" + name[:40] + ")"
    return ", ".join([place] + parts[3:])
