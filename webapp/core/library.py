"""The shop's saved drives: every drive that stands on a job and is offered to others, and those taken in from files."""

import math

from . import words
from .errors import CoreError


def belt_words(entry: dict) -> str:
    """Return a drive's belt in short, such as "6 PK 1420", "" while nothing is known of it.

    Parameters:  entry: the drive as recorded (see `drive_entry`)
    """
    belt = entry.get("belt") or {}
    parts = []
    # A V-belt is one strand unless it says more.
    if belt.get("ribs") is not None and belt["ribs"] != 1:
        parts.append(str(belt["ribs"]))
    if belt.get("section"):
        parts.append(("D" if belt.get("double_sided") else "") + belt["section"])
    length = belt.get("length")
    if length is not None:
        parts.append(length["value"] if length["unit"] == "mm" else length["value"] + " " + length["unit"])
    return " ".join(parts)


def saved(name: str, data: dict, known: list) -> dict:
    """Return a saved drive: its row of the list, and its data.

    Parameters:  name: its id · data: of a drive_recorded event · known: [job, who, at, received] of who recorded it;
                 received: the server's time, "" while it is unsent
    Returns:     {"id", "job", "name", "engine", "belt", "pulleys", "who", "at", "received", "origin", "data"}
    """
    return {"id": name, "job": known[0], "name": data["name"], "engine": data["engine"] or "", "belt": belt_words(data["drive"]),
            "pulleys": str(len(data["drive"].get("pulleys") or [])), "who": known[1], "at": known[2], "received": known[3],
            "origin": data["origin"], "data": data}


def of_job(job: dict) -> list:
    """Return the saved drives that stand on a job.

    Parameters:  job: the folded job
    Returns:     list of `saved`; a drive that was replaced, taken back or is not shared is not among them
    """
    return [saved(entry["id"], entry["data"], [job["id"], entry["who"], entry["at"], entry["received"] or ""])
            for entry in job["drives"] if entry["data"]["shared"]]


def longest_span(entry: dict):
    """Return the longest span of a recorded drive.

    Parameters:  entry: the drive as recorded
    Returns:     {"from", "to", "length_mm"} [mm], None where the drive is not known well enough
    """
    # Imported here, so that a list of drives does not load the modules that compute one.
    from . import drive
    from . import drive_entry
    if drive_entry.lacking(entry):
        return None
    try:
        spans = drive.solve(drive_entry.to_drive(entry))["spans"]
    except CoreError:
        return None
    found = None
    for span in spans:
        length = span["length_mm"]
        if length is not None and math.isfinite(length) and (found is None or length > found["length_mm"]):
            found = span
    return found


def pulley_words(entry: dict) -> str:
    """Return a drive's pulleys in belt order, each with the belt face that touches it.

    Parameters:  entry: the drive as recorded
    Returns:     text such as "crank (ribs), idler (back)"
    """
    parts = []
    for pulley in entry.get("pulleys") or []:
        face = "back" if pulley.get("face") == "back" else "ribs"
        parts.append((pulley.get("name") or words.label("pulley_kind", pulley.get("kind") or "idler")) + " (" + face + ")")
    return ", ".join(parts)
