"""What this device has not sent yet, what was refused, and the ways out."""

from .. import reply
from .. import times


def show(request: dict, given: dict) -> dict:
    """Show the outbox."""
    outbox = given["outbox"]
    refused = [{"id": one["event"], "sentence": one["sentence"]} for one in outbox["refused"]]
    last = outbox["last_sync"]
    context = {"title": "Sending", "waiting": str(outbox["waiting"]), "some": outbox["waiting"] > 0 or outbox["photos"] > 0,
               "one": outbox["waiting"] == 1, "photos": str(outbox["photos"]), "some_photos": outbox["photos"] > 0,
               "refused": refused, "last": times.shown(last) if last else "", "last_at": last,
               "ago": times.ago(last, given["now"]) if last else "", "phone": given["host"] == "phone"}
    return reply.page("outbox.html", context)
