"""One check: how it is done, then its answer. Each tap on an answer is saved."""

from .. import card
from .. import cause_table
from .. import events
from .. import evidence
from .. import forms
from .. import photoproof
from .. import reply
from .. import words
from . import causewords
from . import measuring
from . import photos
from . import signed

# The cautions of which step go with a set-up; hands on the drive get those of the drive.
_CAUTIONS = {"running": "cause", "belt_off": "belts"}

# Checks of a size: a ruler in the picture makes it one that can be measured.
_SIZED = ["C1", "C2", "C6", "C7", "C8", "C17", "C18", "C19", "C21"]


def show(request: dict, given: dict) -> dict:
    """Show a check, instructions first."""
    away = _turned_away(request, given)
    if away is not None:
        return away
    check = causewords.check_at(given["table"], request["params"]["check"])
    entry = _entry(given["job"], check)
    return _page(request, given, check, (entry["data"]["note"] or "") if entry is not None else "", None, 200)


def _turned_away(request, given):
    """The answer when there is no such check, or hands go to the drive before the safety questions are answered."""
    if given["table"] is None:
        return causewords.no_table()
    check = causewords.check_at(given["table"], request["params"]["check"])
    if check is None:
        return reply.missing("The table of causes has no such check.")
    if causewords.setup_of(given["table"], check["setup"])["by_hand"]:
        return measuring.gate_first(request, given)
    return None


def _entry(job, check):
    found = [entry for entry in evidence.standing(job, evidence.belt(job)) if entry["data"]["check"] == check["id"]]
    return found[0] if found else None


def _loop(request, job, check):
    """The belt that the answer tells of, "" where it tells of the whole car."""
    return causewords.belt_of_form(request, job) if check.get("of_belt") else ""


def _running(table, check):
    """Whether the engine runs during the check: then nothing is tapped until it has stopped."""
    return check["setup"] == "running" or "running" in causewords.setup_of(table, check["setup"])["first"]


def _page(request, given, check, note, reading, status):
    job, table = given["job"], given["table"]
    setup = causewords.setup_of(table, check["setup"])
    entry = _entry(job, check)
    now = entry["data"]["outcome"] if entry is not None else ""
    path = "/jobs/" + job["id"] + "/cause"
    here = path + "/check/" + request["params"]["check"]
    running = _running(table, check)
    cautions = [] if check["setup"] == "intake" else card.cautions(job, _CAUTIONS.get(check["setup"], "drive"))
    context = {
        "title": check["name"], "on_job": card.heading(job), "back": path, "action": here, "name": check["name"],
        "belt_name": card.loop_name(job, _loop(request, job, check)), "belt": _loop(request, job, check),
        "label": check["group"][:1].upper() + check["group"][1:] + ", " + setup["name"], "minutes": str(check["minutes"]),
        "tools": check["tools"], "how": check["how"], "trap": check["trap"], "why": check["why"], "cautions": cautions,
        "drawing": check.get("drawing", ""), "running": running, "reading": running and forms.asked(request, "stopped") != "yes" and reading is None,
        "answers": [{"value": code, "tile": tile, "means": means, "on": code == now,
                     "drawing": check.get("drawings", {}).get(code, "")}
                    for code, tile, means in check["outcomes"]],
        "states": [{"value": code, "label": words.label("answer_state", code), "on": code == now} for code in cause_table.STATES],
        "note": forms.field("note", "Remark", note, reading.errors if reading else {}, "If it helps the next reader.", most=300),
        "error": reading.errors.get("outcome", "") if reading else "",
        "problems": reading.problems([["note", "Remark"], ["outcome", "Answer"]]) if reading else [],
        "by": signed.by(entry, given) if entry is not None else None,
        "undo": "/jobs/" + job["id"] + "/withdraw?event=" + entry["id"] if entry is not None else "",
        "pictures": [dict(photos.picture(one, job), label=words.label("photo_stage", photoproof.stage_of(job, one)))
                     for one in photoproof.of_check(job, check["id"], evidence.belt(job))],
        "slot": dict(photos.check_slot(job, [check["id"], check["name"], check["id"] in _SIZED], _loop(request, job, check),
                                       here + ("?stopped=yes" if running else "")), apart=True), "statement": table["statement"]}
    return reply.page("cause_check.html", context, status)


def answer(request: dict, given: dict) -> dict:
    """Save the answer to a check, in place of an earlier one."""
    away = _turned_away(request, given)
    if away is not None:
        return away
    job = given["job"]
    check = causewords.check_at(given["table"], request["params"]["check"])
    reading = forms.Reading(request)
    reading.person(given)
    outcome = forms.value(request, "outcome")
    if outcome not in cause_table.STATES and outcome not in [row[0] for row in check["outcomes"]]:
        reading.fail("outcome", "not-a-choice")
    note = reading.text("note", 300)
    # A page of another table may be open: its words have to be those of this check.
    if forms.value(request, "name") not in ("", check["name"]):
        reading.fail("outcome", "not-a-choice")
    if reading.errors:
        return _page(request, given, check, forms.value(request, "note"), reading, 422)
    old, loop = _entry(job, check), _loop(request, job, check)
    # What was answered for the whole car goes on to tell of the other belts, what was found before the work goes on to tell of that.
    kept = old is None or old["loop"] != loop \
        or (card.work_began(job, loop) < len(job["history"]) and card.around_work(job, loop, [old])[0] != [])
    made = events.make(given, 0, "check_answered", job["id"], {"check": check["id"], "outcome": outcome, "note": note}, loop,
                       None if kept else old["id"])
    return reply.record([made], "/jobs/" + job["id"] + "/cause?after=" + request["params"]["check"])
