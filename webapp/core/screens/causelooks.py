"""What the named cause asks for: the looks at what may have caused it, one at a time, each answered in writing."""

from .. import card
from .. import companions
from .. import events
from .. import evidence
from .. import forms
from .. import looks
from .. import reply
from .. import words
from . import causewords
from . import signed

# Answers that need a note, as they are tapped.
_WITH_NOTE = [["found", "Found something"], ["accepted", "Left: I accept the gap"]]
_LABELS = [["result", "Answer"], ["note", "What was seen, or why it is left"]]


def show(request: dict, given: dict) -> dict:
    """Show every look with its answer, and the one that is asked now."""
    if given["table"] is None:
        return causewords.no_table()
    wanted = looks.of(given["job"])
    asked = [look for look in wanted if [look["code"], look["loop"]] == [forms.asked(request, "look"), forms.asked(request, "belt")]]
    if not asked:
        asked = [look for look in wanted if look["state"] == "open"]
    note = ""
    if asked and _by_hand(asked[0]):
        note = asked[0]["entry"]["data"]["note"] or ""
    return _page(given, wanted, asked[0] if asked else None, note, None, 200)


def _by_hand(look):
    """A person answered this very look; the outcome of a check and a measured offset are of other entries."""
    return look["entry"] is not None and look["entry"]["kind"] == "look_recorded"


def _page(given, wanted, asked, note, reading, status):
    job = given["job"]
    path = "/jobs/" + job["id"] + "/cause"
    left = [look for look in wanted if look["state"] == "open" and look["upstream"]]
    context = {
        "title": "Behind the cause", "on_job": card.heading(job), "back": path, "action": path + "/looks", "card": "/jobs/" + job["id"],
        "names": card.cause_names(job), "name_path": path + "/name",
        "asked": _asked(asked, given, path, note, reading) if asked is not None else None,
        "left": str(len(left)) if left else "",
        "groups": [{"name": name, "rows": [_row(look, given, path) for look in wanted if look["upstream"] == upstream]}
                   for name, upstream in (("What may have caused it", True), ("Looked at with it", False))],
        "replace": _replace(job), "asks": [dict(ask, on_yes=ask["said"] == "yes", on_no=ask["said"] == "no")
                                                  for ask in looks.asks(job)],
        "problems": reading.problems(_LABELS) if reading else []}
    return reply.page("cause_looks.html", context, status)


def _told_apart(job, loop, text):
    """A text with its belt in front, where causes are named on several; else the top of the page says which."""
    return card.with_belt(job, loop, text) if len(card.named_causes(job)) > 1 else text


def _replace(job):
    found = []
    for entry in card.named_causes(job):
        for part in companions.companions(entry["data"]["causes"], evidence.facts(job, entry["loop"] or evidence.belt(job)))["replace"]:
            found.append({"what": _told_apart(job, entry["loop"], part["what"]), "need": words.label("part_need", part["need"]),
                          "must": part["need"] == "must", "why": "; ".join(part["why"])})
    return found


def _of_words(look, given):
    """For which cause, or what was seen, a look is asked."""
    names = {cause["code"]: cause["name"] for cause in given["table"]["causes"]}
    return ", ".join([names.get(of, of) for of in look["of"]])


def _asked(look, given, path, note, reading):
    errors = reading.errors if reading else {}
    place = causewords.place_of(given["table"], look["check"]) if look["check"] else ""
    now = look["state"]
    measured = _measured(look, given["job"]) if look["state"] == "measured" else None
    return {"code": look["code"], "belt": look["loop"], "text": _told_apart(given["job"], look["loop"], look["text"]), "of": _of_words(look, given), "skipped": " ".join(look["skipped"]),
            "upstream": look["upstream"], "measured": measured["text"] if measured is not None else "",
            "measure_path": "/jobs/" + given["job"]["id"] + "/" + look["about"] + "/aligned" if look["code"] == looks.IN_LINE and look["about"] else "",
            "check_path": path + "/check/" + place if place else "",
            "check_name": causewords.check_at(given["table"], place)["name"] if place else "",
            "note": forms.field("note", "What was seen, or why it is left", note, errors,
                                "Needed when something was found, and when the gap is accepted.", lines=2, most=300),
            "fine": {"value": "fine", "label": words.label("look_result", "fine"), "on": now == "fine"},
            "answers": [{"value": code, "label": label, "on": code == now} for code, label in _WITH_NOTE],
            "error": errors.get("result", ""),
            "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + look["entry"]["id"] if _by_hand(look) else ""}


def _measured(look, job):
    """What was measured under Aligned, as `aligned.measured`."""
    # Imported here: few jobs have their offsets measured.
    from . import aligned
    return aligned.measured(job, look["about"])


def _row(look, given, path):
    row = {"text": _told_apart(given["job"], look["loop"], look["text"]), "path": path + "/looks?look=" + look["code"]
           + ("&belt=" + look["loop"] if look["loop"] else ""), "kind": "open", "state": "Open", "by": None}
    if look["state"] == "check":
        row["kind"] = "good"
        row["state"] = ": ".join(causewords.answer_words(look["entry"], given["table"], given["job"]))
    elif look["state"] == "measured":
        told = _measured(look, given["job"])
        row["kind"] = "good" if told["good"] else "watch"
        row["state"] = "Measured under Aligned: " + told["text"]
    elif look["state"] != "open":
        row["kind"] = "good" if look["state"] == "fine" else "watch"
        row["state"] = causewords.with_note(words.label("look_result", look["state"]), look["entry"])
    if look["entry"] is not None:
        row["by"] = signed.by(look["entry"], given)
    return row


def save(request: dict, given: dict) -> dict:
    """Record the answer to a look, or to a question about what was seen."""
    if given["table"] is None:
        return causewords.no_table()
    job = given["job"]
    if forms.value(request, "ask"):
        return _save_ask(request, given)
    wanted = looks.of(job)
    asked = [look for look in wanted if [look["code"], look["loop"]] == [forms.value(request, "look"), forms.value(request, "belt")]]
    reading = forms.Reading(request)
    reading.person(given)
    result = reading.choice("result", "look_result")
    note = reading.text("note", 300, result in ("found", "accepted"))
    if not asked:
        reading.fail("result", "no-look")
    if reading.errors:
        return _page(given, wanted, asked[0] if asked else None, forms.value(request, "note"), reading, 422)
    look = asked[0]
    data = {"look": look["code"], "what": look["text"], "result": result, "note": note}
    old = look["entry"]["id"] if _by_hand(look) and look["entry"]["loop"] == look["loop"] else None
    return reply.record([events.make(given, 0, "look_recorded", job["id"], data, look["loop"], old)], "/jobs/" + job["id"] + "/cause/looks")


def _save_ask(request, given):
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    said = forms.value(request, "said")
    code = forms.value(request, "ask")
    if said not in ("yes", "no") or code not in [ask["code"] for ask in looks.asks(job)]:
        reading.fail("result", "not-a-choice")
    if reading.errors:
        return _page(given, looks.of(job), None, "", reading, 422)
    return reply.record([about_event(given, 0, code, said)], "/jobs/" + job["id"] + "/cause/looks")


def about_event(given: dict, index: int, name: str, said: str) -> dict:
    """Return the entry that keeps what a person said about the car, in place of an earlier one.

    Parameters:  given: of the screen, with the job · index: place among the entries of this reply · name: what it is about ·
                 said: code of the answer
    """
    job = given["job"]
    old = None
    for entry in evidence.standing(job, ""):
        if entry["data"]["check"] == evidence.ABOUT + name:
            old = entry["id"]
    return events.make(given, index, "check_answered", job["id"], {"check": evidence.ABOUT + name, "outcome": said, "note": None},
                       "", old)
