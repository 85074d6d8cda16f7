"""The tag on the paper card: its code, printing, voiding and making a new one."""

from .. import card
from .. import codes
from .. import events
from .. import forms
from .. import reply
from .. import times


def _page(given, typed, reading, status):
    job = given["job"]
    live = card.live_tag(job)
    errors = reading.errors if reading else {}
    context = {"title": "Tag", "on_job": card.heading(job), "back": "/jobs/" + job["id"], "code": codes.job_code(job["id"]),
               "live": live is not None, "since": times.shown(live["at"]) if live else "", "since_at": live["at"] if live else "",
               "voided": [t["voided"] for t in job["tags"] if t["voided"] is not None],
               "print": "/office/tags?job=" + job["id"], "action": "/jobs/" + job["id"] + "/tag",
               "token": live["token"] if live else "",
               "reason": forms.field("reason", "Why is this tag void?", typed, errors, "Lost, unreadable, wrong car.", most=200),
               "reason_open": typed != "" or len(errors) > 0,
               "problems": reading.problems([["reason", "Why"]]) if reading else []}
    return reply.page("tag.html", context, status)


def show(request: dict, given: dict) -> dict:
    """Show the job's tag."""
    return _page(given, "", None, 200)


def renew(request: dict, given: dict) -> dict:
    """Void the tag that opens the job and make a new one."""
    job = given["job"]
    live = card.live_tag(job)
    reading = forms.Reading(request)
    reading.person(given)
    made = []
    if live is not None:
        reason = reading.text("reason", 200, True)
        if not reading.errors:
            made.append(events.make(given, 0, "tag_voided", job["id"], {"token": live["token"], "reason": reason}))
    if reading.errors:
        return _page(given, forms.value(request, "reason"), reading, 422)
    token = given["ids"][10].replace("-", "")
    made.append(events.make(given, len(made), "tag_issued", job["id"], {"token": token}))
    return reply.record(made, "/jobs/" + job["id"] + "/tag")
