"""Checks, answers and causes in words, by the table that is in force; what every screen on the cause shares."""

from .. import card
from .. import cause_table
from .. import evidence
from .. import findings
from .. import forms
from .. import reply
from .. import words
from . import signed

_PLAIN = "abcdefghijklmnopqrstuvwxyz0123456789"
# What only people say, in words.
_SAID = {"noise_now": "The noise can be heard now", "short_run": "The maker allows a short run without the belt",
         "rpm": "Engine speed at which it is worst, per minute", "cylinders": "Cylinders",
         evidence.BELT: "Which belt complains", "second_tensioner": "Second tensioner in a short time", "new_alternator": "A new alternator was fitted lately"}
YES_NO = [["yes", "Yes"], ["no", "No"], ["unknown", "Not known"]]
_YES_NO = dict(YES_NO)


def no_table() -> dict:
    """Say that this device has not got the table of causes yet."""
    return reply.page("missing.html", {"title": "Not here yet", "what": "The table of causes is not on this device yet. Connect it "
                                       "to the workshop network once; until then tell the cause in plain words."}, 404)


def slug(text: str) -> str:
    """Return a check's name as one part of an address.

    Parameters:  text: the name
    """
    out = ""
    for c in text.lower():
        out += c if c in _PLAIN else "-"
    while "--" in out:
        out = out.replace("--", "-")
    return out.strip("-") or "check"


def places(table: dict) -> list:
    """Return [[part of the address, check], ...] of the checks that people do, in the table's order.

    Parameters:  table: the table of causes
    """
    return _placed([check for check in table["checks"] if check["setup"] != "computed"])


def cause_places(table: dict) -> list:
    """Return [[part of the address, cause], ...] of every cause, in the table's order.

    Parameters:  table: the table of causes
    """
    return _placed(table["causes"])


def cause_paths(table: dict, path: str) -> dict:
    """Return {code: address of the page that explains it} of every cause.

    Parameters:  table: the table of causes · path: address of the job's cause
    """
    return {cause["code"]: path + "/known/" + place for place, cause in cause_places(table)}


def _placed(rows):
    found, used = [], []
    for row in rows:
        name = slug(row["name"])
        used.append(name)
        again = used.count(name)
        found.append([name if again == 1 else name + "-" + str(again), row])
    return found


def check_at(table: dict, place: str):
    """Return the check at a part of an address, None when there is none.

    Parameters:  table: the table of causes · place: from `places`
    """
    for name, check in places(table):
        if name == place:
            return check
    return None


def place_of(table: dict, check_id: str) -> str:
    """Return the part of the address of a check, "" when the table has no such check.

    Parameters:  table: the table of causes · check_id: id of a check
    """
    for name, check in places(table):
        if check["id"] == check_id:
            return name
    return ""


def setup_of(table: dict, code: str) -> dict:
    """Return a set-up of the table.

    Parameters:  table: the table of causes · code: one of its set-ups
    """
    for setup in table["setups"]:
        if setup["code"] == code:
            return setup
    return None


def outcome_words(check: dict, outcome: str) -> str:
    """Return an outcome or state of a check as people read it, "" when the check has it no more.

    Parameters:  check: of the table · outcome: code of an outcome, or a state
    """
    if outcome in cause_table.STATES:
        return words.label("answer_state", outcome)
    for code, tile, _ in check["outcomes"]:
        if code == outcome:
            return tile
    return ""


def answer_words(entry: dict, table, job: dict) -> list:
    """Return [check, answer] of an answer entry as people read them.

    Parameters:  entry: of kind "check_answered" · table: the table of causes, or None · job: the folded job
    """
    data = entry["data"]
    if data["check"].startswith(evidence.ABOUT):
        name = data["check"][len(evidence.ABOUT):]
        if name == evidence.BELT:
            return [_SAID[name], "Not known yet" if data["outcome"] == evidence.NO_BELT else card.loop_name(job, data["outcome"])]
        label = _SAID.get(name, "")
        for context in table["contexts"] if table else []:
            if context["code"] == name:
                label = context["name"]
        return [label or "About the car", _YES_NO.get(data["outcome"], data["outcome"])]
    for check in table["checks"] if table else []:
        if check["id"] == data["check"]:
            return [card.with_belt(job, entry["loop"], check["name"]),
                    outcome_words(check, data["outcome"]) or "An answer that this check has no more"]
    return ["A check that the table in force does not have", "Answered"]


def with_note(text: str, entry: dict) -> str:
    """Return a text with an entry's note behind it.

    Parameters:  text: in words · entry: whose data may hold a note
    """
    return text + (": " + entry["data"]["note"] if entry["data"]["note"] else "")


def standing_words(job: dict, table) -> list:
    """Return [[check, answer with its note], ...] of every answer that stands.

    Parameters:  job: the folded job · table: the table of causes, or None
    """
    found = []
    for loop in [""] + [pair[0] for pair in card.loops_of(job)]:
        for entry in card.last_of_each([one for one in job["answers"] if one["loop"] == loop], "check"):
            check, text = answer_words(entry, table, job)
            found.append([check, with_note(text, entry)])
    return found


def described(entry: dict, table, job: dict) -> str:
    """Return one line on an answer, a named cause or a look.

    Parameters:  entry: of that kind · table: the table of causes, or None · job: the folded job
    """
    data = entry["data"]
    if entry["kind"] == "check_answered":
        return with_note(": ".join(answer_words(entry, table, job)), entry)
    if entry["kind"] == "cause_named":
        return card.with_belt(job, entry["loop"], ", ".join(data["names"])) + ". " + data["reason"]
    return card.with_belt(job, entry["loop"], data["what"]) + " " + with_note(words.label("look_result", data["result"]), entry)


def lines(job: dict, given: dict) -> list:
    """Return the printed sheet's lines on the cause: what was named, what the checks gave, what was looked at behind it.

    Parameters:  job: the folded job · given: the host's `people` and `table`
    """
    found = []
    for entry in job["causes"]:
        shown = entry["data"]["shown"]
        found.append(dict(signed.line("Cause", described(entry, given["table"], job), entry, given),
                          shown=[[name, shown[name]] for name in sorted(shown)]))
    answered = standing_words(job, given["table"])
    if answered:
        found.append({"label": "Checks", "text": "", "shown": answered, "by": None})
    return found + [signed.line("Looked at", described(entry, given["table"], job), entry, given) for entry in job["looks"]]


def belt_of_form(request: dict, job: dict) -> str:
    """Return the loop that a form's answer is kept under: the belt that its page named, since another may be asked about by now.

    Parameters:  request: with the form · job: the folded job
    """
    named = forms.value(request, "belt")
    return named if named in [pair[0] for pair in card.loops_of(job)] and len(card.loops_of(job)) > 1 else evidence.key_of(job)


def ranked(job: dict, given: dict) -> dict:
    """Return the causes of a job by their shares, and what they were ranked from.

    Parameters:  job: the folded job · given: the host's `table` and `counts`
    Returns:     {"rank": of `findings.rank`, "answers", "facts", "spent", "computed": of `evidence.computed`, "loop": of the belt
                 that complains, as `evidence.belt`}
    """
    loop = evidence.belt(job)
    computed = evidence.computed(job, given["table"], loop)
    answers = evidence.answers(job, loop) + computed["answers"]
    facts = evidence.facts(job, loop)
    spent = evidence.spent(job, given["table"], loop)
    return {"rank": findings.rank(answers, facts, given["table"], given["counts"], spent), "answers": answers, "facts": facts,
            "spent": spent, "computed": computed, "loop": loop}


def said_tiles(name: str, pairs: list, picked: str, errors: dict, label: str = "", hint: str = "") -> dict:
    """Return tiles for what only a person can say.

    Parameters:  name: of the field · pairs: [[code, label], ...] · picked: code · errors: sentences by field · label: the
                 question, "" for the usual words · hint: beside it
    """
    return forms.tiles(name, label or _SAID[name], pairs, [picked], errors, hint=hint)
