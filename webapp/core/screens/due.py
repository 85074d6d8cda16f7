"""The due list over all jobs, and what is known of a car that comes again: its earlier jobs, what is due, what was declined."""

from .. import card
from .. import followup
from .. import forms
from .. import reply
from .. import times
from .. import words

# Older jobs of a car stay in their lists; a booking counter reads only so many.
_EARLIER = 5


def show(request: dict, given: dict) -> dict:
    """Show what is due, what is overdue first."""
    rows = [_row(row) for row in followup.due(given["cars"], given["now"])]
    return reply.page("due.html", {"title": "Due", "overdue": [row for row in rows if row["overdue"]],
                                   "coming": [row for row in rows if not row["overdue"]], "today": times.date_shown(given["now"][:10])})


def _row(row):
    job = row["job"]
    return {"path": "/jobs/" + job["id"], "registration": job["registration"], "car": job["car"], "item": row["due"]["item"],
            "when": followup.when(row["due"]), "grade": words.label("due_grade", row["due"]["grade"]), "urgent": row["due"]["grade"] == "urgent",
            "reason": row["due"]["reason"], "overdue": row["overdue"], "by_distance": row["by_distance"],
            "here": "/jobs/" + row["here"]["id"] if row["here"] is not None else ""}


def _of_car(given, car, here):
    """What is known of a car from its earlier jobs; here: the job that is open now, in a list."""
    jobs = followup.earlier(given["cars"], car)
    ids = [job["id"] for job in jobs]
    declined = []
    for job in jobs:
        for what in job.get("declined") or []:
            if what not in [one["what"] for one in declined]:
                declined.append({"what": what, "when": times.date_shown(job.get("booked_at", "")[:10]) if job.get("booked_at") else ""})
    return {"title": "This car", "earlier": [_job(job) for job in jobs[:_EARLIER]], "more": str(len(jobs) - _EARLIER) if len(jobs) > _EARLIER else "",
            "due": [_row(row) for row in followup.due(jobs + here, given["now"]) if row["job"]["id"] in ids], "declined": declined}


def _job(job):
    return {"path": "/jobs/" + job["id"], "when": times.date_shown(job["booked_at"][:10]) if job.get("booked_at") else "",
            "complaint": job.get("complaint", ""), "causes": ", ".join(job.get("causes") or []),
            "state": "Signed off" if job["signed"] else job["waits"]}


def of_typed(request: dict, given: dict) -> dict:
    """Show what is known of the car whose registration or VIN is typed at the booking."""
    car = {"registration": forms.asked(request, "registration"), "vin": forms.asked(request, "vin").upper(), "id": ""}
    return reply.page("_car_before.html", _of_car(given, car, []))


def of_job(request: dict, given: dict) -> dict:
    """Show what is known of a job's car from before."""
    summary = card.summary(given["job"])
    return reply.page("_car_before.html", _of_car(given, summary, [summary]))
