"""Photos of a job: taking one, and all of them by subject."""

from .. import card
from .. import events
from .. import forms
from .. import reply
from .. import times
from .. import words


def slot(job: dict, subject: str, loop: str, goto: str, gallery: bool = False) -> dict:
    """Return the data of `_photo_slot.html`.

    Parameters:  job: the folded job · subject: code of a photo subject · loop: "1" to "3" or "" ·
                 goto: path to go to afterwards · gallery: whether a picture taken before will do
    """
    return {"job": job["id"], "subject": subject, "label": words.label("photo_subject", subject), "loop": loop,
            "gallery": gallery, "goto": goto, "id": subject + "-" + (loop or "0")}


def picture(entry: dict, job: dict) -> dict:
    """Return what a template shows of one photo.

    Parameters:  entry: the photo_taken entry · job: the folded job
    """
    data = entry["data"]
    label = words.label("photo_subject", data["subject"])
    if entry["loop"] and len(card.loops_of(job)) > 1:
        label += ", " + card.loop_name(job, entry["loop"])
    return {"path": "/photos/" + data["sha256"], "thumb": "/photos/" + data["sha256"] + "/thumb", "label": label,
            "note": data["note"] or "", "at": entry["at"], "shown": times.shown(entry["at"]), "id": entry["id"],
            "width": str(data["width"]), "height": str(data["height"])}


def strip_of(job: dict, given: dict) -> list:
    """Return every photo of a job as `picture` data, in the order taken.

    Parameters:  job: the folded job · given: not used, as every list builder gets it
    """
    return [picture(entry, job) for entry in job["photos"]]


def of_subject(job: dict, subject: str, loop: str = "") -> list:
    """Return the photos of one subject.

    Parameters:  job: the folded job · subject: code of a photo subject · loop: "1" to "3", "" for every loop
    """
    return [picture(e, job) for e in job["photos"] if e["data"]["subject"] == subject and loop in ("", e["loop"])]


def _context(request, given):
    job = given["job"]
    home = "/jobs/" + job["id"] + "/photos"
    loop = forms.asked(request, "loop")
    if loop not in [pair[0] for pair in card.loops_of(job)]:
        loop = card.loops_of(job)[0][0]
    groups = []
    for code, label in words.choice_pairs("photo_subject"):
        of_belt = code in ("old_belt", "new_belt", "route", "pointer", "seating")
        groups.append({"label": label, "pictures": of_subject(job, code),
                       "slot": slot(job, code, loop if of_belt else "", home + "?loop=" + loop)})
    return {"title": "Photos", "on_job": card.heading(job), "groups": groups, "back": "/jobs/" + job["id"],
            "tabs": [{"name": p[1], "path": home + "?loop=" + p[0], "here": p[0] == loop} for p in card.loops_of(job)]
                    if len(card.loops_of(job)) > 1 else [], "problems": []}


def show(request: dict, given: dict) -> dict:
    """Show all photos of the job, by subject, each with its slot."""
    return reply.page("photos.html", _context(request, given))


def _whole(text):
    """A whole number that a script filled in, 0 when it did not."""
    if not text or len(text) > 9:
        return 0
    for c in text:
        if c not in "0123456789":
            return 0
    return int(text)


def take(request: dict, given: dict) -> dict:
    """Record a photo whose bytes the page has stored already."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    data = {"sha256": forms.value(request, "sha256"), "subject": reading.choice("subject", "photo_subject"),
            "note": reading.text("note", 200)}
    for name in ("width", "height", "size"):
        data[name] = _whole(forms.value(request, name))
    loop = forms.value(request, "loop")
    if len(data["sha256"]) != 64 or not events.is_hex(data["sha256"]) or not data["width"] or not data["height"] \
            or not data["size"] or loop not in ("", "1", "2", "3"):
        reading.fail("", "no-picture")
    if reading.errors:
        context = _context(request, given)
        context["problems"] = reading.problems([["subject", "Subject"], ["note", "Note"]])
        return reply.page("photos.html", context, 422)
    goto = forms.local_path(forms.value(request, "next"), "/jobs/" + job["id"] + "/photos")
    return reply.record([events.make(given, 0, "photo_taken", job["id"], data, loop)], goto)
