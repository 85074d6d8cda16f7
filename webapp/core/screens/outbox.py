"""What this device has not sent yet, what was refused, and the ways out."""

from .. import events
from .. import reply
from .. import times


def _refused_file(one):
    """A refused picture or sound with the jobs that show it; one that no job shows any more is only to be removed."""
    own = "/photos/" + one["sha256"]
    jobs = [{"registration": job["registration"], "path": "/jobs/" + job["id"], "action": "/jobs/" + job["id"] + own}
            for job in one["jobs"]]
    return {"sha256": one["sha256"], "thumb": own + "/thumb", "sound": "/sounds/" + one["sha256"] if one.get("sound") else "",
            "what": "sound" if one.get("sound") else "photo", "sentence": one["sentence"], "jobs": jobs,
            "action": "/outbox" + own}


def show(request: dict, given: dict) -> dict:
    """Show the outbox."""
    outbox = given["outbox"]
    refused = [{"id": one["event"], "sentence": one["sentence"]} for one in outbox["refused"]]
    last = outbox["last_sync"]
    files = [what + ": " + str(outbox[key]) for what, key in (("photos", "photos"), ("sounds", "sounds")) if outbox[key]]
    context = {"title": "Sending", "full": outbox["full"], "waiting": str(outbox["waiting"]), "some": outbox["waiting"] > 0 or len(files) > 0,
               "files": ", ".join(files), "refused": refused, "refused_files": [_refused_file(one) for one in outbox["refused_photos"]], "last": times.shown(last) if last else "", "last_at": last,
               "ago": times.ago(last, given["now"]) if last else "", "phone": given["host"] == "phone"}
    return reply.page("outbox.html", context)


def _refused(request, given):
    """The refused picture or sound that the address names, None when it is not refused (any more)."""
    for one in given["outbox"]["refused_photos"]:
        if one["sha256"] == request["params"]["sha256"]:
            return one
    return None


def forget_photo(request: dict, given: dict) -> dict:
    """Remove a refused picture or sound that no job shows; no record names it, so none changes."""
    one = _refused(request, given)
    return reply.record([], "/outbox", [one["sha256"]] if one is not None and not one["jobs"] else [])


def give_photo_up(request: dict, given: dict) -> dict:
    """Give a refused picture up: the job takes its entry back with the reason, and so lacks a photo again. A reading whose sound is
    given up stands, with a note."""
    one, job = _refused(request, given), given["job"]
    if one is None:
        return reply.go("/outbox")
    if not given["who"]:
        return reply.go("/who?next=/outbox")
    if one.get("sound"):
        text = "The sound of a pluck that a reading names is lost: the workshop refused it. " + one["sentence"]
        return reply.record([events.make(given, 0, "note_added", job["id"], {"text": text, "handover": False})], "/outbox", [one["sha256"]])
    reason = ("The workshop refused the picture. " + one["sentence"])[:200]
    taken = [entry for entry in job["photos"] if entry["data"]["sha256"] == one["sha256"]]
    made = [events.make(given, i, "withdrawn", job["id"], {"reason": reason}, taken[i]["loop"], taken[i]["id"])
            for i in range(len(taken))]
    others = [shown for shown in one["jobs"] if shown["id"] != job["id"]]
    return reply.record(made, "/outbox", [] if others else [one["sha256"]])
