"""Next check: what has to be looked at again, how urgent, by which date or distance, and why."""

from .. import card
from .. import events
from .. import followup
from .. import forms
from .. import proving
from .. import reply
from .. import words
from . import signed

# A car's distance, as at the booking.
_FURTHEST_M = 1e10
_LABELS = [["item", "What"], ["grade", "How urgent"], ["date", "By which date"], ["distance", "At which distance"], ["reason", "Why"]]


def show(request: dict, given: dict) -> dict:
    """Show what is agreed, what may be, and the form; `take` fills it with a proposal, `change` with an entry."""
    job = given["job"]
    typed = {"item": "", "grade": "watch", "date": "", "distance": "", "distance_unit": _unit(job), "reason": "", "change": "", "follows": ""}
    for one in followup.proposals(job, given["now"]):
        if one["code"] == forms.asked(request, "take"):
            typed.update(_filled(one), follows=one["code"])
    for entry in job["due"]:
        if entry["id"] == forms.asked(request, "change"):
            typed.update(_filled(entry["data"]), change=entry["id"], follows=entry["data"].get("follows") or "")
    return _page(given, typed, None, 200)


def _unit(job):
    booked = job["booked"]["data"]["distance"]
    return booked["unit"] if booked is not None else "km"


def _filled(data):
    filled = {"item": data["item"], "grade": data["grade"], "date": data["date"] or "", "reason": data["reason"], "distance": ""}
    if data["distance"] is not None:
        filled["distance"], filled["distance_unit"] = data["distance"]["value"], data["distance"]["unit"]
    return filled


def _page(given, typed, reading, status):
    job = given["job"]
    errors = reading.errors if reading else {}
    path = "/jobs/" + job["id"]
    here = path + "/next-check"
    context = {
        "title": "Next check", "on_job": card.heading(job), "card": path, "action": here,
        "agreed": [_agreed(entry, given, here) for entry in job["due"]],
        "proposals": [{"item": one["item"], "when": followup.when(one), "reason": one["reason"], "grade": words.label("due_grade", one["grade"]),
                       "path": here + "?take=" + one["code"] + "#check"} for one in followup.proposals(job, given["now"])],
        "change": typed["change"], "recheck": [name for _loop, name in proving.recheck_lacks(job)], "follows_value": typed["follows"],
        "follows": _follows(job, typed["follows"], errors),
        "open": reading is not None or bool(typed["item"]),
        "item": forms.field("item", "What is looked at?", typed["item"], errors, most=120),
        "grade": forms.tiles("grade", "How urgent?", words.choice_pairs("due_grade"), [typed["grade"]], errors),
        "date": forms.field("date", "By which date?", typed["date"], errors),
        "distance": forms.measure("distance", "Or at which distance?", typed["distance"], typed["distance_unit"], [["km", "km"], ["mi", "mi"]],
                                  errors, "What the odometer will read then."),
        "reason": forms.field("reason", "Why?", typed["reason"], errors, lines=2, most=300),
        "words_path": path + "/0/step/next_check", "problems": reading.problems(_LABELS) if reading else []}
    return reply.page("next_check.html", context, status)


def _follows(job, picked, errors):
    """Which belt's tension it measures again, asked where one is set by hand; None where none is."""
    manual = proving.manual_loops(job)
    if not manual:
        return None
    several = len(card.loops_of(job)) > 1
    offered = [[proving.RECHECK + loop, "Tension after its run-in" + (": " + name if several else "")] for loop, name in manual]
    other = picked if picked not in [pair[0] for pair in offered] else ""
    return forms.tiles("follows", "What is it?", offered + [[other, "Something else"]], [picked], errors, wordy=True)


def _agreed(entry, given, here):
    data = entry["data"]
    return {"item": data["item"], "when": followup.when(data), "reason": data["reason"], "grade": words.label("due_grade", data["grade"]),
            "urgent": data["grade"] == "urgent", "by": signed.by(entry, given), "change": here + "?change=" + entry["id"] + "#check",
            "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"]}


def save(request: dict, given: dict) -> dict:
    """Record a check that is agreed, or the change of one."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    data = {"item": reading.text("item", 120, True), "grade": reading.choice("grade", "due_grade"), "date": reading.text("date", 10),
            "distance": reading.quantity("distance", "distance", 0.0, _FURTHEST_M), "reason": reading.text("reason", 300, True),
            "follows": reading.text("follows", 40)}
    change = forms.value(request, "change")
    if data["date"] and not events.is_stamp(data["date"] + "T00:00:00Z"):
        reading.fail("date", "not-a-date")
    elif data["date"] and data["date"] < given["now"][:10]:
        reading.fail("date", "date-past")
    if not data["date"] and data["distance"] is None and "distance" not in reading.errors:
        reading.fail("date", "date-or-distance")
    if change and change not in [entry["id"] for entry in job["due"]]:
        reading.fail("item", "not-replaceable")
    if reading.errors:
        typed = {name: forms.value(request, name) for name in ("item", "grade", "date", "distance", "distance_unit", "reason", "change", "follows")}
        return _page(given, typed, reading, 422)
    return reply.record([events.make(given, 0, "check_due", job["id"], data, "", change or None)], "/jobs/" + job["id"] + "/next-check")


def lines(job: dict, given: dict) -> list:
    """Return the printed sheet's lines on what has to be looked at again."""
    return [{"label": entry["data"]["item"], "text": followup.when(entry["data"]) + ". " + words.label("due_grade", entry["data"]["grade"])
             + ". " + entry["data"]["reason"], "by": signed.by(entry, given)} for entry in job["due"]]
