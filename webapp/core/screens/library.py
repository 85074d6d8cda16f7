"""The saved drives: the list, one of them, its file out of the workshop and a file into a job."""

from .. import card
from .. import drive_file
from .. import events
from .. import forms
from .. import library
from .. import reply
from .. import times
from .. import words
from ..errors import CoreError
from . import jobs
from . import measuring

# More than this is no list to look through: the search narrows it.
MOST_ROWS = 60


def _plain(text):
    """Small letters, ASCII only: the interpreters lower wider letters differently."""
    return "".join([chr(ord(c) + 32) if "A" <= c <= "Z" else c for c in text])


def _fits(row, sought):
    text = _plain(row["name"] + " " + row["engine"] + " " + row["belt"])
    for word in _plain(sought).split():
        if word not in text:
            return False
    return True


def _shown(drive, given):
    """What is told of a saved drive beside its name."""
    count = drive["pulleys"]
    return {"id": drive["id"], "name": drive["name"], "engine": drive["engine"], "path": "/drives/" + drive["id"],
            "belt": drive["belt"] or "belt not known", "pulleys": count + (" pulley" if count == "1" else " pulleys"),
            "who": jobs.person_name(given, drive["who"]), "at": drive["at"], "day": times.shown(drive["at"]).split(",")[0],
            "origin": words.label("drive_origin", drive["origin"])}


def _list_context(request, given):
    sought = forms.asked(request, "q")[:60]
    found = [row for row in given["drives"] if _fits(row, sought)]
    more = len(found) - MOST_ROWS
    return {"title": "Saved drives", "rows": [_shown(row, given) for row in found[:MOST_ROWS]], "sought": sought,
            "some": len(given["drives"]) > 0, "more": str(more) if more > 0 else ""}


def choose(request: dict, given: dict) -> dict:
    """Show the saved drives, the newest first."""
    return reply.page("drives.html", _list_context(request, given))


def choose_list(request: dict, given: dict) -> dict:
    """Show the list alone, while somebody types or when something arrives."""
    return reply.page("_drives_list.html", _list_context(request, given))


def _gone():
    return reply.missing("This saved drive is not on this device. It may have been changed or taken back: look in the list.")


def show(request: dict, given: dict) -> dict:
    """Show one saved drive."""
    drive = given["drive"]
    if drive is None:
        return _gone()
    # Imported here, so that the list does not load the modules that compute a drive.
    from .. import drive_entry
    from . import driveview
    data = drive["data"]["drive"]
    shown = _shown(drive, given)
    shown["view"] = driveview.view(drive_entry.to_drive(data, drive["name"]), given["shop"], None, shown["path"],
                                   forms.asked(request, "slip") == "yes")
    shown.update({"title": drive["name"], "turns": words.label("sense", data.get("rotation") or "clockwise").lower()})
    return reply.page("drives_one.html", shown)


def export(request: dict, given: dict) -> dict:
    """Give one saved drive out as a file."""
    drive = given["drive"]
    if drive is None:
        return _gone()
    text = drive_file.write(drive, jobs.person_name(given, drive["who"])[:drive_file.MOST_TEXT])
    return reply.file(drive_file.file_name(drive["name"]), "application/json", text)


# A file into a job

_LABELS = [["text", "Text of the file"], ["shared", "For whom"]]
_SHARED = [["no", "For this job"], ["yes", "For this job and the saved drives"]]


def file_sentence(error: CoreError, text: str) -> str:
    """Return in words what is wrong with a drive's file, and where.

    Parameters:  error: of `drive_file.read` · text: the file's text
    """
    place = drive_file.place_words(error.field, text)
    return (place + ": " if place else "") + words.sentence(error)


def _file_page(job, loop, request, reading, status):
    base = "/jobs/" + job["id"] + "/" + loop + "/drive"
    standing = card.drive_of(job, loop)
    shared = forms.value(request, "shared") or "no"
    context = {"title": "Drive from a file", "on_job": card.heading(job), "action": base + "/file", "back": base,
               "belt_name": card.loop_name(job, loop) if len(card.loops_of(job)) > 1 else "",
               "standing": standing["data"]["name"] if standing is not None else "",
               "problems": reading.problems(_LABELS), "most": str(drive_file.MOST_SIGNS),
               "text": forms.field("text", "Text of the file", forms.value(request, "text"), reading.errors,
                                   "Choosing a file fills it in; it can also be pasted.", lines=8,
                                   most=drive_file.MOST_SIGNS),
               "shared": forms.tiles("shared", "For whom?", _SHARED, [shared], reading.errors, wordy=True)}
    return reply.page("drives_file.html", context, status)


def ask_file(request: dict, given: dict) -> dict:
    """Ask for a drive's file."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    return _file_page(job, loop, request, forms.Reading(request), 200)


def _events_of(found, shared, given, loop):
    """The drive, and a note on who measured it: the entry itself names who brought the file."""
    job = given["job"]
    standing = card.drive_of(job, loop)
    data = {"name": found["name"], "engine": found["engine"], "origin": "file", "copied_from": None, "shared": shared,
            "drive": found["drive"]}
    made = [events.make(given, 0, "drive_recorded", job["id"], data, loop, standing["id"] if standing is not None else None)]
    if found["measured_by"] or found["measured_at"]:
        text = "The file of the drive “" + found["name"] + "” says it was recorded" \
            + (" by " + found["measured_by"] if found["measured_by"] else "") \
            + (" on " + times.shown(found["measured_at"]).split(",")[0] if found["measured_at"] else "") + "."
        made.append(events.make(given, 1, "note_added", job["id"], {"text": text, "handover": False}))
    return made


def take_file(request: dict, given: dict) -> dict:
    """Record the drive of a file on a job's belt."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    reading = forms.Reading(request)
    reading.person(given)
    text = forms.value(request, "text")
    if not text:
        reading.fail("text", "empty")
    if not reading.errors:
        try:
            made = _events_of(drive_file.read(text), forms.value(request, "shared") == "yes", given, loop)
            events.check_form(made[0])
            return reply.record(made, "/jobs/" + job["id"] + "/" + loop + "/drive")
        except CoreError as error:
            reading.errors["text"] = file_sentence(error, text)
            reading.order.append("text")
    return _file_page(job, loop, request, reading, 422)
