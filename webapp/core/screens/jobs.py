"""The jobs list, ways into a job (tag and typed code), and the job card."""

from .. import card
from .. import codes
from .. import forms
from .. import reply
from .. import times
from .. import words
from . import photos


def person_name(given: dict, person: str) -> str:
    """Return a person's name, or their id when the shop no longer lists them.

    Parameters:  given: the host's `people` · person: person id
    """
    for one in given["people"]:
        if one["id"] == person:
            return one["name"]
    return person


def _row(summary, given):
    notes = []
    if summary["late"]:
        notes.append("changed after signing")
    if summary["unsent"]:
        notes.append(str(summary["unsent"]) + " not sent yet")
    return {"id": summary["id"], "path": "/jobs/" + summary["id"], "registration": summary["registration"],
            "car": summary["car"], "waits": summary["waits"], "code": summary["code"], "notes": ", ".join(notes),
            "ago": times.ago(summary["at"], given["now"])}


def _is_mine(summary, given):
    return given["who"] in summary["workers"]


def _groups(given, mine):
    """Jobs by who is being waited for; within a group the one that has waited longest comes first."""
    groups = []
    for code, label in words.choice_pairs("waiting_for"):
        chosen = []
        for summary in given["board"]:
            if summary["waiting_for"] == code and (not mine or _is_mine(summary, given)):
                chosen.append(summary)
        if chosen:
            # Not by time: the clocks of devices may be wrong by days.
            chosen.sort(key=lambda s: (s["turn"][0], s["turn"][1], s["id"]))
            groups.append({"code": code, "label": label, "rows": [_row(s, given) for s in chosen],
                           "length": str(len(chosen))})
    return groups


def _board_context(request, given):
    mine = forms.asked(request, "mine") == "1"
    return {"title": "Jobs", "groups": _groups(given, mine), "mine": mine, "some": len(given["board"]) > 0,
            "again": "/jobs/_list?mine=1" if mine else "/jobs/_list"}


def board(request: dict, given: dict) -> dict:
    """Show the jobs by who is being waited for."""
    return reply.page("jobs.html", _board_context(request, given))


def board_list(request: dict, given: dict) -> dict:
    """Show the list alone, for refreshing."""
    return reply.page("_jobs_list.html", _board_context(request, given))


def _open_found(given, otherwise):
    jobs = given["found"]["jobs"]
    if len(jobs) == 1 and not given["found"]["voided"]:
        return reply.go("/jobs/" + jobs[0]["id"])
    return reply.page("found.html", {"title": "Which job?" if jobs else "No job here", "voided": given["found"]["voided"],
                                     "rows": [_row(j, given) for j in jobs], "otherwise": otherwise},
                      200 if jobs and not given["found"]["voided"] else 404)


def by_tag(request: dict, given: dict) -> dict:
    """Open the job of a scanned tag."""
    return _open_found(given, "This is not a tag of this workshop, or its job is not on this device yet.")


def find(request: dict, given: dict) -> dict:
    """Ask for the code printed on the tag, or open its job."""
    typed = forms.asked(request, "code")
    errors = {}
    if typed:
        if codes.read_code(typed):
            return _open_found(given, "The code is well formed, but no job on this device has it.")
        errors["code"] = words.ERRORS["code-wrong"]
    field = forms.field("code", "Code on the tag", typed, errors, "Eight signs, for example under the square code.",
                        upper=True)
    return reply.page("find.html", {"title": "Type a code", "code": field}, 422 if errors else 200)


def _note(entry, given):
    return {"text": entry["data"]["text"], "who": person_name(given, entry["who"]), "at": entry["at"],
            "shown": times.shown(entry["at"]), "ago": times.ago(entry["at"], given["now"]), "id": entry["id"]}


def _last_handover(job, given):
    found = None
    for entry in job["notes"]:
        if entry["data"]["handover"]:
            found = entry
    return _note(found, given) if found is not None else None


def _tabs(job, chosen):
    tabs = []
    for loop, name in card.loops_of(job):
        tabs.append({"name": name, "path": "/jobs/" + job["id"] + "?loop=" + loop, "here": loop == chosen})
    return tabs


def _chosen_loop(request, job, following):
    asked = forms.asked(request, "loop")
    for loop, _ in card.loops_of(job):
        if loop == asked:
            return loop
    if following is not None and following[0]:
        return following[0]
    return card.loops_of(job)[0][0]


def _next_panel(job, following):
    if following is None:
        return {"label": "Finished", "name": "Sheet", "hint": "", "path": "/jobs/" + job["id"] + "/sheet"}
    loop, step = following
    name = card.step_name(step)
    if step == "booked":
        name = "The drive"  # The booking itself is done; its facts are what is open.
    hint = card.step_state(job, loop, step)[1]
    if loop and len(card.loops_of(job)) > 1:
        hint = card.loop_name(job, loop) + (". " + hint if hint else "")
    return {"label": "Next", "name": name, "hint": hint, "path": card.step_path(job, loop, step)}


def lapsed(job: dict, given: dict) -> str:
    """Return why a job that was ready for signature is so no more, "" when that is not so.

    Parameters:  job: the folded job · given: the host's `people`
    """
    entry = job["lapsed"]
    if entry is None or job["signatures"]:
        return ""
    return "No longer ready for signature: " + person_name(given, entry["who"]) + " entered more work (" \
        + words.label("kind", entry["kind"]) + "). Look at it and say ready again."


def _card_context(request, given):
    job = given["job"]
    following = card.next_step(job)
    loop = _chosen_loop(request, job, following)
    booked = job["booked"]["data"]
    last = job["history"][-1]
    cautions = []
    if following is not None and following[1] not in ("booked", "gate", "signed", "next_check"):
        cautions = card.cautions(job, following[1], following[0])
    return {"title": booked["registration"], "on_job": card.heading(job), "stations": card.progress(job, loop),
            "tabs": _tabs(job, loop) if len(card.loops_of(job)) > 1 else [], "next": _next_panel(job, following),
            "complaint": booked["complaint"], "service": booked["service"], "cautions": cautions,
            "cautions_for": card.step_name(following[1]) if following is not None else "",
            "lapsed": lapsed(job, given), "late": str(len(job["late"])) if job["late"] else "", "signed": job["signature"] is not None,
            "stopped": job["gate_stop"]["data"]["reason"] if job["gate_stop"] is not None else "",
            "waits": words.label("waiting_for", card.waiting_for(job)) if following is not None else "", "handover": _last_handover(job, given),
            "last_who": person_name(given, last["who"]), "last_ago": times.ago(last["at"], given["now"]),
            "last_kind": words.label("kind", last["kind"]), "photos": photos.strip_of(job, given)[-6:],
            "again": "/jobs/" + job["id"] + "/_card?loop=" + loop,
            "slot": photos.slot(job, "other", "", "/jobs/" + job["id"])}


def show(request: dict, given: dict) -> dict:
    """Show the job card."""
    return reply.page("card.html", _card_context(request, given))


def show_again(request: dict, given: dict) -> dict:
    """Show the card's inside alone, for refreshing."""
    return reply.page("_card.html", _card_context(request, given))


def show_next(request: dict, given: dict) -> dict:
    """Show the next step alone, for refreshing."""
    job = given["job"]
    return reply.page("_next.html", {"title": "", "next": _next_panel(job, card.next_step(job))})
