"""Proved: what to do is read first, the phone is put down, and one panel takes the answers once the engine has stopped."""

from .. import card
from .. import events
from .. import forms
from .. import proving
from .. import reply
from .. import words
from . import causewords
from . import measuring
from . import photopairs
from . import sidebyside
from . import signed


def show(request: dict, given: dict) -> dict:
    """Show the instructions and what stands, or the answers once the engine has stopped."""
    away = measuring.gate_first(request, given)
    return away if away is not None else _page(request, given, None, 200)


def _page(request, given, reading, status):
    job = given["job"]
    errors = reading.errors if reading else {}
    path = "/jobs/" + job["id"]
    checks = proving.of(job)
    context = {
        "title": "Proved", "on_job": card.heading(job), "card": path, "action": path + "/proved", "complaint": job["booked"]["data"]["complaint"],
        "answering": reading is not None or forms.asked(request, "stopped") == "yes", "verdict": _verdict(job, checks),
        "cause": ", ".join(card.cause_names(job)), "photo_pairs": photopairs.shown(job, given),
        "photo_slots": photopairs.open_slots(job, path + "/proved"),
        "compared": sidebyside.blocks(job, given),
        "before": causewords.standing_words(job, given["table"]),
        "groups": [{"name": name, "checks": [_check(check, given, request, errors) for check in checks if check["when"] == code]}
                   for code, name in proving.GROUPS],
        "error": errors.get("results", ""), "next_path": path + "/next-check", "recheck": [name for _loop, name in proving.recheck_lacks(job)] if job["runs"] else [],
        "note": forms.field("note", "Remark", forms.value(request, "note"), errors, "Needed when something was not good. Why something was not done.",
                            lines=2, most=300),
        "cautions": card.cautions(job, "proved"), "words_path": path + "/0/step/proved",
        "problems": reading.problems([["note", "Remark"], ["results", "Answers"]]) if reading else []}
    context["done"] = card.step_state(job, "", "proved")[0] == "done"
    return reply.page("proved.html", context, status)


def _verdict(job, checks):
    if not job["runs"]:
        return None
    state, text = proving.state(job)
    if state == "done":
        if text:
            return {"kind": "watch", "word": "Proved in part", "sentence": text + " Who signs is shown what."}
        return {"kind": "good", "word": "Proved", "sentence": "Every running check is good."}
    bad = [check for check in checks if check["result"] == "bad"]
    return {"kind": "stop" if bad else "open", "word": "Not proved", "sentence": text}


def _check(check, given, request, errors):
    entry = check["entry"]
    typed = forms.value(request, "r_" + check["key"]) or check["result"]
    note = (entry["data"]["note"] or "") if entry is not None else ""
    return {"item": check["key"], "what": check["what"], "why": check["why"], "result": check["result"], "note": note,
            "result_words": words.label("run_result", check["result"]) if check["result"] else "",
            "by": signed.by(entry, given) if entry is not None else None,
            "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"] if entry is not None else "",
            "options": [{"value": code, "label": label, "on": code == typed} for code, label in words.choice_pairs("run_result")]}


def save(request: dict, given: dict) -> dict:
    """Record the answers that are new or another than before."""
    away = measuring.gate_first(request, given)
    if away is not None:
        return away
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    changed = []
    for check in proving.of(job):
        result = forms.value(request, "r_" + check["key"])
        if result and not words.is_choice("run_result", result):
            reading.fail("results", "not-a-choice")
        elif result and result != check["result"]:
            changed.append([check, result])
    note = reading.text("note", 300, bool([result for _check, result in changed if result == "bad"]))
    if not changed:
        reading.fail("results", "nothing-ticked")
    if reading.errors:
        return _page(request, given, reading, 422)
    noted = _noted(changed)
    made = [events.make(given, i, "run_checked", job["id"],
                        {"item": changed[i][0]["item"], "what": changed[i][0]["what"], "result": changed[i][1],
                         "note": note if changed[i][0]["key"] in noted else None}, changed[i][0]["loop"]) for i in range(len(changed))]
    return reply.record(made, "/jobs/" + job["id"] + "/proved")


def _noted(changed):
    """The items that a remark belongs to: what was not good or not done, else the fault codes, else the last answer."""
    keys = [check["key"] for check, result in changed if result != "good"]
    if keys:
        return keys
    return ["codes"] if "codes" in [check["key"] for check, _result in changed] else [changed[-1][0]["key"]]


def lines(job: dict, given: dict) -> list:
    """Return the printed sheet's lines on the proof: what the car came with, and each check as it stands."""
    found = []
    for check in proving.of(job):
        if check["entry"] is not None:
            note = check["entry"]["data"]["note"]
            found.append({"label": words.label("run_result", check["result"]), "text": check["what"] + (". " + note if note else ""),
                          "by": signed.by(check["entry"], given)})
    return found
