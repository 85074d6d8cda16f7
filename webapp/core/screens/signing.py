"""Signing off: what is missing first, then the conclusions, then the signature."""

from .. import card
from .. import events
from .. import forms
from .. import gaps
from .. import reply
from .. import times
from .. import words
from . import jobs
from . import sheet

_LABELS = [["pin", "PIN"], ["looked_at", "Looked at"], ["gaps", "What is missing"], ["sentence", "For the customer"],
           ["note", "Note"]]


def _one_person_shop(given):
    return len([p for p in given["people"] if p["active"]]) == 1


def _first(errors):
    """[[field, label, sentence], ...] of the errors that the server found, in the order of the form."""
    found = []
    for name, label in _LABELS:
        if name in errors:
            found.append([name, label, errors[name]])
    for name in sorted(errors):
        if name not in [pair[0] for pair in _LABELS]:
            found.append(["", "", errors[name]])
    return found


def _conclusions(job, given):
    lines = sheet.cause_lines(job, given) + sheet.step_lines(job, "", ["cause"], given)
    for loop, name in card.loops_of(job):
        several = len(card.loops_of(job)) > 1
        for line in sheet.belt_lines(job, loop, given) + sheet.reading_lines(job, loop, given) \
                + sheet.step_lines(job, loop, ["fitted", "tension", "aligned"], given):
            line["loop"] = name if several else ""
            lines.append(line)
    return lines + sheet.step_lines(job, "", ["proved", "next_check"], given)


def sign(request: dict, given: dict) -> dict:
    """Show the sign-off page.

    Parameters:  given: may also hold "errors" (sentences by field) and "typed" (values by field) of a form
                 that the server refused; then the page answers 422
    """
    job = given["job"]
    errors = given.get("errors") or {}
    typed = given.get("typed") or {}
    missing = gaps.of(job)
    worked = given["who"] in job["workers"]
    alone = _one_person_shop(given)
    looked = typed.get("looked_at") or []
    if isinstance(looked, str):
        looked = [looked]
    only_ready = given["host"] == "phone" or (worked and not alone)
    context = {
        "title": "Sign off", "on_job": card.heading(job), "back": "/jobs/" + job["id"], "gaps": missing,
        "conclusions": _conclusions(job, given), "problems": _first(errors), "head": job["head"], "count": str(job["count"]),
        # What this device has not sent is part of what the signer sees here.
        "own": " ".join([entry["id"] for entry in job["history"] if entry["seq"] is None]), "sealed": str(job["count"] + job["unsent"]),
        "signer": given["who"], "action": "/jobs/" + job["id"] + "/sign", "ready_action": "/jobs/" + job["id"] + "/ready",
        "unsent": str(job["unsent"]) if job["unsent"] else "", "worked": worked and not alone, "alone": alone,
        "only_ready": only_ready, "on_phone": given["host"] == "phone", "signed": job["signature"] is not None,
        "late": str(len(job["late"])) if job["late"] else "", "open_form": len(errors) > 0,
        "ready": _ready(job, given), "lapsed": jobs.lapsed(job, given), "person": jobs.person_name(given, given["who"]) if given["who"] else "",
        "looked_at": forms.tiles("looked_at", "I have looked at", words.choice_pairs("looked_at"), looked, errors,
                                 many=True, wordy=True),
        "gaps_field": forms.field("gaps", "Why it may be signed although something is missing", typed.get("gaps", ""), errors,
                                  lines=3, most=600) if missing else None,
        "sentence": forms.field("sentence", "One plain sentence for the customer", typed.get("sentence", ""), errors,
                                "What was wrong, what was done, when to come back.", lines=3, most=400),
        "pin": forms.field("pin", "PIN", "", errors, mode="numeric"),
        "note": forms.field("note", "Anything the supervisor should know", typed.get("note", ""), errors, lines=2, most=300)}
    return reply.page("sign.html", context, 422 if errors else 200)


def _ready(job, given):
    if job["ready"] is None:
        return None
    entry = job["ready"]
    return {"who": jobs.person_name(given, entry["who"]), "at": entry["at"], "shown": times.shown(entry["at"]),
            "note": entry["data"]["note"] or ""}


def ready(request: dict, given: dict) -> dict:
    """Record that the job waits for the supervisor's signature."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    note = reading.text("note", 300)
    if reading.errors:
        given["errors"] = reading.errors
        given["typed"] = {"note": forms.value(request, "note")}
        return sign(request, given)
    made = events.make(given, 0, "ready_for_signature", job["id"], {"note": note})
    return reply.record([made], "/jobs/" + job["id"])
