"""The job card: which steps are done, what comes next, what is missing, who is being waited for."""

from . import words

# Steps from Drive to Aligned are done once per belt loop; the others once per job.
LOOP_STEPS = ["drive", "belts", "parts", "fitted", "tension", "aligned"]


def loops_of(job: dict) -> list:
    """Return the job's loops as [[loop, name], ...]; one main belt until the facts say more."""
    return job["loops"] or [["1", "Main belt"]]


def _live_tag(job):
    for tag in job["tags"]:
        if tag["voided"] is None:
            return tag
    return None


def summary(job: dict) -> dict:
    """Return what lists and look-ups need of a job.

    Parameters:  job: the folded job
    Returns:     {"id", "code", "registration", "car", "step", "waiting_for", "signed", "unsent", "tags", "at"}
    """
    booked = job["booked"]["data"]
    return {"id": job["id"], "registration": booked["registration"], "car": booked["car"] or "",
            "signed": job["signature"] is not None, "late": len(job["late"]), "unsent": job["unsent"],
            "tags": [[t["token"], t["voided"] is not None] for t in job["tags"]],
            "at": job["history"][-1]["at"]}
