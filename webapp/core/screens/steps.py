"""Steps told in plain words, notes, taking an entry back, and the history."""

from .. import card
from .. import events
from .. import forms
from .. import library
from .. import reply
from .. import times
from .. import words
from . import jobs
from . import listening
from . import photos

# What to write about, and which photo belongs to it.
_ASK = {
    "cause": ["What is the cause, and what was ruled out?",
              "One main cause, the upstream cause that was looked for, and how you know. Not reproduced is an answer too.",
              "other"],
    "drive": ["How does the belt run?",
              "Pulleys in belt order, which side of the belt touches each, direction. Photo before the belt comes off.",
              "route"],
    "belts": ["What was seen of the belts?", "Only when the belts screen does not fit.", "old_belt"],
    "parts": ["Which parts, how many, from where?", "What was picked and compared with the old part, with batch marks.",
              "new_belt"],
    "fitted": ["How was it fitted?", "Order of work, torque and angle with the maker's source, wrench, pin out, two turns by hand.",
               "seating"],
    "tension": ["Where does the tensioner stand?", "Pointer between its marks, before and after two turns by hand.", "pointer"],
    "aligned": ["What was measured, against which limit?", "Gap or angle for each span, with the tool and the limit's source.",
                "alignment"],
    "proved": ["What proves the repair?", "Idle, loads one by one, shut-down, road test. Noise gone or not; hot or cold.",
               "other"],
    "next_check": ["What to look at next, and when?", "Item, date or distance, and why.", "other"],
}


def _place(request, job):
    """Return [loop, step] of the address, None when the job has no such place."""
    loop = request["params"]["loop"]
    step = request["params"]["step"]
    if loop == "0":
        loop = ""
    if [loop, step] in card.places(job) and step in _ASK:
        return [loop, step]
    return None


def _form(job, place, typed, reading, status):
    loop, step = place
    errors = reading.errors if reading else {}
    ask = _ASK[step]
    base = "/jobs/" + job["id"] + "/" + (loop or "0") + "/step/" + step
    entry = card.standing_step(job, loop, step)
    context = {
        "title": card.step_name(step), "step": step, "on_job": card.heading(job), "back": "/jobs/" + job["id"],
        "action": base, "loop_name": card.loop_name(job, loop) if len(card.loops_of(job)) > 1 else "",
        "question": ask[0], "cautions": card.cautions(job, step, loop), "correcting": entry is not None,
        "text": forms.field("text", ask[0], typed["text"], errors, ask[1], lines=6, most=1000),
        "reason": forms.field("reason", "Not applicable, because", typed["reason"], errors, lines=2, most=300),
        "slot": photos.slot(job, ask[2], loop, base), "pictures": photos.of_subject(job, ask[2], loop),
        "problems": reading.problems([["text", "Record"], ["reason", "Reason"]]) if reading else [],
        "skip_open": typed["reason"] != "" or "reason" in errors}
    return reply.page("step.html", context, status)


def show(request: dict, given: dict) -> dict:
    """Show a step that is told in plain words."""
    job = given["job"]
    place = _place(request, job)
    if place is None:
        return reply.missing("This job has no such step.")
    entry = card.standing_step(job, place[0], place[1])
    typed = {"text": "", "reason": ""}
    if entry is not None and entry["kind"] == "step_recorded":
        typed["text"] = entry["data"]["text"]
    elif entry is not None:
        typed["reason"] = entry["data"]["reason"]
    return _form(job, place, typed, None, 200)


def record(request: dict, given: dict) -> dict:
    """Record a step in words, or say why it does not apply."""
    job = given["job"]
    place = _place(request, job)
    if place is None:
        return reply.missing("This job has no such step.")
    loop, step = place
    reading = forms.Reading(request)
    reading.person(given)
    typed = {"text": forms.value(request, "text"), "reason": forms.value(request, "reason")}
    skip = forms.value(request, "do") == "skip"
    if skip:
        kind = "step_skipped"
        data = {"step": step, "reason": reading.text("reason", 300, True)}
    else:
        kind = "step_recorded"
        data = {"step": step, "text": reading.text("text", 1000, True)}
    if reading.errors:
        return _form(job, place, typed, reading, 422)
    old = card.standing_step(job, loop, step)
    made = []
    replaces = None
    if old is not None and old["kind"] == kind:
        replaces = old["id"]
    elif old is not None:
        # A correction keeps its kind, so the other answer is taken back first.
        made.append(events.make(given, 0, "withdrawn", job["id"], {"reason": "Answered another way."}, loop, old["id"]))
    made.append(events.make(given, len(made), kind, job["id"], data, loop, replaces))
    return reply.record(made, "/jobs/" + job["id"])


def note_form(request: dict, given: dict) -> dict:
    """Show the form for a note."""
    return _note_page(given["job"], "", False, None, 200)


def _note_page(job, text, handover, reading, status):
    errors = reading.errors if reading else {}
    context = {"title": "Note", "on_job": card.heading(job), "back": "/jobs/" + job["id"],
               "action": "/jobs/" + job["id"] + "/notes",
               "text": forms.field("text", "Note", text, errors, lines=5, most=1000),
               "handover": forms.tiles("handover", "For whom?", [["no", "For the record"], ["yes", "For the next shift"]],
                                       ["yes" if handover else "no"], errors, wordy=True),
               "problems": reading.problems([["text", "Note"]]) if reading else []}
    return reply.page("note.html", context, status)


def note(request: dict, given: dict) -> dict:
    """Record a note."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    text = reading.text("text", 1000, True)
    handover = forms.value(request, "handover") == "yes"
    if reading.errors:
        return _note_page(job, forms.value(request, "text"), handover, reading, 422)
    data = {"text": text, "handover": handover}
    return reply.record([events.make(given, 0, "note_added", job["id"], data)], "/jobs/" + job["id"])


# What cannot be taken back: the gate of records refuses it too.
_STAYS = ["withdrawn", "signed_off", "gate_passed", "tag_voided", "booked_in", "tag_issued"]


def described(entry: dict, job: dict, given: dict) -> str:
    """Return one line on what an entry says, "" when its kind says all.

    Parameters:  entry: a history entry · job: the folded job · given: the host's `table`, where the job has answers
    """
    data = entry["data"]
    kind = entry["kind"]
    if kind in ("check_answered", "cause_named", "look_recorded"):
        from . import causewords
        return causewords.described(entry, given["table"], job)
    if kind in ("step_recorded", "step_skipped"):
        return words.label("step", data["step"]) + ": " + (data["text"] if kind == "step_recorded" else data["reason"])
    if kind == "booked_in":
        return data["registration"] + ", " + data["complaint"]
    if kind == "drive_recorded":
        belt = library.belt_words(data["drive"])
        return data["name"] + (", " + belt if belt else "") + ": " + library.pulley_words(data["drive"])
    if kind == "belt_recorded":
        return words.label("belt_place", data["place"]) + (": " + data["marking"] if data["marking"] else "")
    if kind == "span_read":
        return data["span"] + _read_words(data["shown"])
    if kind == "target_set":
        return data["low"]["value"] + " to " + data["high"]["value"] + " " + data["high"]["unit"] + ", " \
            + words.label("target_kind", data["kind"])
    if kind == "part_listed":
        return data["what"] + ", " + data["how_many"] + (". " + data["why"] if data["why"] else "")
    if kind == "part_moved":
        from . import partcard
        return data["what"] + ": " + partcard.told(data)
    if kind == "customer_asked":
        return words.label("customer_answer", data["answer"]) + ": " + data["what"] + " " + data["by"]
    if kind in ("work_done", "offset_read", "run_checked", "check_due"):
        return _proof_words(kind, data)
    if kind == "photo_taken":
        return photos.in_words(entry, job) + (". " + data["note"] if data["note"] else "")
    if kind == "facts_recorded":
        return ", ".join([loop["name"] + " (" + words.label("belt_kind", loop["belt"]) + ", "
                          + words.label("tensioner", loop["tensioner"]) + ")" for loop in data["loops"]])
    if kind == "gate_passed":
        return words.label("voltage", data["voltage"]) + ", " + words.label("start_stop", data["start_stop"])
    if kind == "signed_off":
        return data["sentence"]
    for name in ("text", "reason", "note"):
        if data.get(name):
            return data[name]
    return ""


def _read_words(shown):
    """What a span reading gave, in short; its working stands on the sheet."""
    tension = ""
    if shown.get("tension") and shown.get("unit"):
        tension = shown["tension"] + " " + shown["unit"]
        if shown.get("low") and shown.get("high"):
            tension += " (" + shown["low"] + " to " + shown["high"] + ")"
    return "".join([". " + text for text in (tension, shown.get("verdict")) if text])


def _proof_words(kind, data):
    """One line on what was fitted, read, run or agreed; loaded only for a job that has it."""
    if kind == "work_done":
        from . import fitted
        return fitted.bolt_words(data) if data["torque"] else data["what"] + ": " + words.label("work_result", data["result"])
    if kind == "offset_read":
        from . import aligned
        return data["span"] + ". " + aligned.how(data) + ". " + data["shown"].get("sentence", "")
    if kind == "run_checked":
        return words.label("run_result", data["result"]) + ": " + data["what"] + (". " + data["note"] if data["note"] else "")
    from .. import followup
    return data["item"] + ", " + followup.when(data) + ". " + data["reason"]


def _entry(entry, job, given):
    replaced = ""
    for old in job["history"]:
        if old["id"] == entry["replaces"]:
            replaced = described(old, job, given)
    marks = []
    if entry["state"] == "replaced":
        marks.append("Replaced or taken back")
    if entry["state"] == "waits":
        marks.append("Waits for the entry it corrects")
    if entry["late"]:
        marks.append("Late: after the signature")
    if entry["seq"] is None:
        marks.append("Not sent yet")
    elif not entry["verified"]:
        marks.append("Person not verified")
    return {"id": entry["id"], "kind": words.label("kind", entry["kind"]), "text": described(entry, job, given),
            "replaced": replaced, "several": "", "who": jobs.person_name(given, entry["who"]), "at": entry["at"],
            "shown": times.shown(entry["at"]), "marks": marks, "gone": entry["state"] == "replaced",
            "sounds": listening.kept_sounds(entry["data"]), "late": entry["late"], "loop": card.loop_name(job, entry["loop"]),
            "back": "" if entry["state"] != "stands" or entry["kind"] in _STAYS
                    else "/jobs/" + job["id"] + "/withdraw?event=" + entry["id"]}


# Recorded whole with each answer.
_BIT_BY_BIT = ["facts_recorded", "drive_recorded"]


def _joined(entries):
    """Put entries on the facts, or on one drive, together that follow and replace each other: the screens record one
    for each answer.

    Returns [[entry, ...], ...]. Entries of two people, or of which only some are sent, verified or late, stay apart.
    """
    groups = []
    for entry in entries:
        before = groups[-1][-1] if groups else None
        if before is not None and entry["kind"] in _BIT_BY_BIT and entry["replaces"] == before["id"] \
                and _standing_of(entry) == _standing_of(before):
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups


def _standing_of(entry):
    return [entry["who"], entry["seq"] is None, entry["verified"], entry["late"]]


def _entry_of_several(several, job, given):
    """Show the last of some entries, and what the first of them replaced."""
    shown = _entry(several[-1], job, given)
    if len(several) > 1:
        shown["replaced"] = _entry(several[0], job, given)["replaced"]
        shown["several"] = str(len(several)) + " entries, one for each answer"
    return shown


def history(request: dict, given: dict) -> dict:
    """Show every entry, the newest first."""
    job = given["job"]
    entries = [_entry_of_several(several, job, given) for several in _joined(job["history"])]
    entries.reverse()
    return reply.page("history.html", {"title": "History", "on_job": card.heading(job), "entries": entries,
                                       "back": "/jobs/" + job["id"], "head": job["head"][:16],
                                       "count": str(job["count"])})


def _target(job, event_id):
    for entry in job["history"]:
        if entry["id"] == event_id and entry["state"] == "stands" and entry["kind"] not in _STAYS:
            return entry
    return None


def _withdraw_page(job, given, entry, typed, reading, status):
    errors = reading.errors if reading else {}
    context = {"title": "Take an entry back", "on_job": card.heading(job), "back": "/jobs/" + job["id"] + "/history",
               "action": "/jobs/" + job["id"] + "/withdraw", "entry": _entry(entry, job, given),
               "reason": forms.field("reason", "Why?", typed, errors, "It stays in the history, crossed out.", most=200),
               "problems": reading.problems([["reason", "Why"]]) if reading else []}
    return reply.page("withdraw.html", context, status)


def withdraw_form(request: dict, given: dict) -> dict:
    """Ask why an entry is taken back; the second tap is in another place."""
    entry = _target(given["job"], forms.asked(request, "event"))
    if entry is None:
        return reply.missing("This entry is not there, or cannot be taken back.")
    return _withdraw_page(given["job"], given, entry, "", None, 200)


def withdraw(request: dict, given: dict) -> dict:
    """Take an entry back."""
    job = given["job"]
    entry = _target(job, forms.value(request, "event"))
    if entry is None:
        return reply.missing("This entry is not there, or cannot be taken back.")
    reading = forms.Reading(request)
    reading.person(given)
    reason = reading.text("reason", 200, True)
    if reading.errors:
        return _withdraw_page(job, given, entry, forms.value(request, "reason"), reading, 422)
    made = events.make(given, 0, "withdrawn", job["id"], {"reason": reason}, entry["loop"], entry["id"])
    return reply.record([made], "/jobs/" + job["id"])
