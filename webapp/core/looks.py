"""The looks that a named cause asks for: which are answered, how, and which still stand between the job and a signature."""

from . import card
from . import cause_table
from . import companions
from . import evidence

# What was seen beyond causes and checks, said by a person: its code in `companions.CHAINS`, for causes that start so, the question.
SEEN = [
    ["second_tensioner", ["TN_"], "Is this the second tensioner within about 40,000 km or 18 months?"],
    ["new_alternator", ["OAP_", "MISAL", "PUL_DMG"], "Was a new alternator fitted lately?"],
]

# The look that offsets measured under the step Aligned answer.
IN_LINE = "in_line"


def asks(job: dict) -> list:
    """Return what a person has to say because of the named causes.

    Parameters:  job: the folded job
    Returns:     [{"code", "text", "said": "yes", "no" or ""}, ...]
    """
    causes = []
    for entry in card.named_causes(job):
        causes += entry["data"]["causes"]
    told = evidence.said(job)
    return [{"code": code, "text": text, "said": told.get(code, "")} for code, starts, text in SEEN
            if [cause for cause in causes for start in starts if cause.startswith(start)]]


def of(job: dict) -> list:
    """Return every look that the named causes ask for, belt by belt, what may have caused them first.

    Parameters:  job: the folded job
    Returns:     [{"code", "text", "check", "of": [cause codes or texts], "skipped": [texts], "upstream", "loop": of the belt that
                 it is asked for, "" for the whole car, "state": "open", "fine", "found", "accepted", "check" or "measured",
                 "entry": the one that answers it, None, "about": loop of the belt that it looks at, "" while nobody knows}, ...]; state
                 "check": the outcome of its check answers it, "measured": offsets of that belt do, unless a person did
    """
    found = []
    for entry in card.named_causes(job):
        found += _of_belt(job, entry)
    return found


def _of_belt(job, named):
    """The looks of one entry that names causes."""
    causes, loop = named["data"]["causes"], named["loop"]
    about = loop or evidence.belt(job)
    facts = evidence.facts(job, about)
    shown = companions.seen(causes, facts, evidence.answers(job, about))
    for ask in asks(job):
        if ask["said"] == "yes" and ask["code"] not in shown:
            shown.append(ask["code"])
    found = []
    for look in companions.upstream(causes, facts, shown):
        found.append(dict(look, upstream=True))
    have = [look["code"] for look in found]
    for look in companions.companions(causes, facts)["inspect"]:
        if look["code"] not in have:
            found.append(dict(look, upstream=False, skipped=[]))
    for look in found:
        look["loop"], look["about"] = loop, about
        look["state"], look["entry"] = _answer(job, look, about)
    return found


def _answer(job, look, about):
    for entry in reversed(card.of_belt(job["looks"], look["loop"])):
        if entry["data"]["look"] == look["code"]:
            return entry["data"]["result"], entry
    if look["check"]:
        for entry in evidence.standing(job, about):
            if entry["data"]["check"] == look["check"] and entry["data"]["outcome"] not in cause_table.STATES:
                return "check", entry
    if look["code"] == IN_LINE and about:
        measured = _measured(job, about)
        if measured:
            return "measured", measured[-1]
    return "open", None


def _measured(job, loop):
    """The offsets that say how a belt's pulleys stand; none while there is no verdict, or one that cannot tell."""
    if not job["offsets"]:
        return []
    # Imported here, so that a job without an offset does not load what judges them.
    from . import alignment
    entries = alignment.standing(job, loop)
    verdicts = [entry["data"]["shown"].get("verdict") for entry in entries]
    sure = "outside" in verdicts or verdicts == ["inside"] * len(verdicts)
    return entries if sure else []


def open_upstream(job: dict) -> list:
    """Return the texts of what may have caused the cause and has no answer yet.

    Parameters:  job: the folded job
    """
    return [card.with_belt(job, look["loop"], look["text"]) for look in of(job) if look["upstream"] and look["state"] == "open"]
