"""Photos of a job: taking one, and all of them by subject."""

from .. import card
from .. import events
from .. import forms
from .. import photoproof
from .. import reply
from .. import times
from .. import words


_IDLE = "Takes one photo, shrinks it and puts it on this card."
# Photos of one belt, not of the whole car.
_OF_BELT = ["old_belt", "ribs", "new_belt", "route", "pointer", "seating", "alignment"]


def slot(job: dict, subject: str, loop: str, goto: str, gallery: bool = False, number: str = "") -> dict:
    """Return the data of `_photo_slot.html`.

    Parameters:  job: the folded job · subject: code of a photo subject · loop: "1" to "3" or "" ·
                 goto: path to go to afterwards · gallery: whether a picture taken before will do · number: tells slots of
                 one subject on one page apart
    """
    stage = photoproof.FIXED.get(subject, "")
    if subject in photoproof.ASKED:
        stage = photoproof.stage_now(job, loop)
    return {"job": job["id"], "subject": subject, "label": words.label("photo_subject", subject), "loop": loop,
            "gallery": gallery, "goto": goto, "id": subject + "-" + (loop or "0") + number, "idle": _IDLE, "hint": words.photo_hint(subject),
            "stage": stage, "stages": _stages(stage) if subject in photoproof.ASKED else [], "code": "", "what": "", "apart": False, "remark": ""}


def _stages(stage):
    return [{"value": code, "label": label, "on": code == stage} for code, label in words.choice_pairs("photo_stage")]


def check_slot(job: dict, check: list, loop: str, goto: str, number: str = "") -> dict:
    """Return the slot for a photo that shows a check.

    Parameters:  job, loop, goto, number: as for `slot` · check: [its id, its name, whether size matters in it]
    """
    made = slot(job, "check", loop, goto, False, number)
    made.update({"label": check[1], "code": check[0], "what": check[1][:80], "hint": words.photo_hint("size" if check[2] else "check"),
                 "idle": "A photo is kept with this check. By itself it is no answer."})
    return made


def picture(entry: dict, job: dict) -> dict:
    """Return what a template shows of one photo.

    Parameters:  entry: the photo_taken entry · job: the folded job
    """
    data = entry["data"]
    return {"path": "/photos/" + data["sha256"], "thumb": "/photos/" + data["sha256"] + "/thumb", "label": in_words(entry, job),
            "note": data["note"] or "", "at": entry["at"], "shown": times.shown(entry["at"]), "id": entry["id"],
            "width": str(data["width"]), "height": str(data["height"])}


def in_words(entry: dict, job: dict) -> str:
    """Return what a photo shows, and on which side of the work where it was asked.

    Parameters:  entry: the photo_taken entry · job: the folded job
    """
    label = photoproof.shows(job, entry)
    if entry["data"]["subject"] in photoproof.ASKED:
        label += ", " + words.label("photo_stage", photoproof.stage_of(job, entry)).lower()
    return label


def strip_of(job: dict, given: dict) -> list:
    """Return every photo of a job as `picture` data, in the order taken.

    Parameters:  job: the folded job · given: not used, as every list builder gets it
    """
    return [picture(entry, job) for entry in job["photos"]]


def of_subject(job: dict, subject: str, loop: str = "") -> list:
    """Return the photos of one subject.

    Parameters:  job: the folded job · subject: code of a photo subject · loop: "1" to "3" for those of one belt and those that
                 name none, "" for every loop
    """
    return [picture(e, job) for e in job["photos"] if e["data"]["subject"] == subject and (not loop or e["loop"] in ("", loop))]


def afterwards(made: dict) -> dict:
    """Return a slot where the page itself asks for the photo after the work.

    Parameters:  made: of `slot` or `check_slot`
    """
    return dict(made, stage="after", stages=[], hint="From the same place as before the work.")


def shot(job: dict, subject: str, loop: str, goto: str) -> dict:
    """Return the data of `_shots.html`: a subject's pictures so far, and the slot for another one.

    Parameters:  job, subject, loop, goto: as for `slot`
    """
    return {"pictures": of_subject(job, subject, loop), "slot": slot(job, subject, loop, goto)}


def _context(request, given):
    job = given["job"]
    home = "/jobs/" + job["id"] + "/photos"
    loop = forms.asked(request, "loop")
    if loop not in [pair[0] for pair in card.loops_of(job)]:
        loop = card.loops_of(job)[0][0]
    groups = []
    for code, label in words.choice_pairs("photo_subject"):
        taken = of_subject(job, code)
        # A check has its slot on its own page.
        if code != "check":
            groups.append({"label": label, "pictures": taken,
                           "slot": slot(job, code, loop if code in _OF_BELT else "", home + "?loop=" + loop)})
        elif taken:
            groups.append({"label": "Checks", "pictures": taken, "slot": None})
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
            "note": reading.text("remark", 200), "check": reading.text("check", 30), "what": reading.text("what", 80),
            "stage": reading.choice("stage", "photo_stage") if forms.value(request, "stage") else None}
    if data["subject"] == "check" and (data["check"] is None or data["what"] is None):
        reading.fail("subject", "not-a-choice")
    for name in ("width", "height", "size"):
        data[name] = _whole(forms.value(request, name))
    loop = forms.value(request, "loop")
    if len(data["sha256"]) != 64 or not events.is_hex(data["sha256"]) or not data["width"] or not data["height"] \
            or not data["size"] or loop not in ("", "1", "2", "3"):
        reading.fail("", "no-picture")
    if reading.errors:
        context = _context(request, given)
        for group in context["groups"]:
            if group["slot"] is not None and group["slot"]["subject"] == data["subject"]:
                group["slot"]["remark"] = forms.value(request, "remark")
        context["problems"] = reading.problems([["subject", "Subject"], ["remark", "Remark"], ["check", "Check"], ["what", "Check"], ["stage", "Before or after"]])
        return reply.page("photos.html", context, 422)
    goto = forms.local_path(forms.value(request, "next"), "/jobs/" + job["id"] + "/photos")
    return reply.record([events.make(given, 0, "photo_taken", job["id"], data, loop)], goto)
