"""Photos as proof: what each one shows, whether it was taken before or after the work, and the pairs to look at side by side.

A photo proves how something looked; it never counts as an answer to a check.
"""

from . import card
from . import words

# Whoever takes one of these says whether the work is done; the answer is proposed.
ASKED = ["check", "route", "pointer", "alignment"]
# These show one side only.
FIXED = {"old_belt": "before", "ribs": "before", "new_belt": "after", "seating": "after"}
# One thing under two names: the belt that came off and the one that went on.
_BELT = ["old_belt", "new_belt"]


def _loop(job, loop):
    """A car with one belt does not tell apart what names it and what does not."""
    return loop if len(card.loops_of(job)) > 1 else ""


def shows(job: dict, entry: dict) -> str:
    """Return what a photo shows, in words: the check that it belongs to or its subject, with its belt where there are several.

    Parameters:  job: the folded job · entry: of kind "photo_taken"
    """
    data = entry["data"]
    what = data.get("what")
    label = "Check: " + what if data["subject"] == "check" and what else words.label("photo_subject", data["subject"])
    loop = _loop(job, entry["loop"])
    return label + ", " + card.loop_name(job, loop) if loop else label


def stage_now(job: dict, loop: str) -> str:
    """Return the side that a photo taken now most likely shows.

    Parameters:  job: the folded job · loop: "1" to "3", "" for any belt
    Returns:     code of words.CHOICES["photo_stage"]
    """
    return "after" if card.work_began(job, loop) < len(job["history"]) else "before"


def stage_of(job: dict, entry: dict) -> str:
    """Return whether a photo shows how it was before or after the work: as said, else by what it shows, else by the entries' order.

    Parameters:  job: the folded job · entry: of kind "photo_taken"
    Returns:     code of words.CHOICES["photo_stage"], "" where it makes no difference
    """
    data = entry["data"]
    if data["subject"] in FIXED:
        return FIXED[data["subject"]]
    if data["subject"] not in ASKED:
        return ""
    if data.get("stage"):
        return data["stage"]
    return "after" if card.around_work(job, entry["loop"], [entry])[1] else "before"


def of_check(job: dict, check: str, loop: str) -> list:
    """Return the photos that show a check.

    Parameters:  job: the folded job · check: id of a check · loop: "1" to "3" for those of one belt and those that name none, "" for all
    """
    return [entry for entry in job["photos"] if entry["data"]["subject"] == "check" and entry["data"].get("check") == check
            and (not loop or entry["loop"] in ("", loop))]


def _key(job, entry):
    data = entry["data"]
    subject = "belt" if data["subject"] in _BELT else data["subject"]
    return [subject, data.get("check") or "", _loop(job, entry["loop"])]


def pairs(job: dict) -> list:
    """Return the last photo before and the last after the work of each thing that was photographed before it.

    Parameters:  job: the folded job
    Returns:     [{"before": entry, "after": entry or None}, ...] in the order in which they were first photographed
    """
    keys, found = [], []
    for entry in job["photos"]:
        stage = stage_of(job, entry)
        if not stage or entry["data"]["subject"] in ("ribs", "seating"):
            continue
        key = _key(job, entry)
        if key not in keys:
            keys.append(key)
            found.append({"before": None, "after": None})
        found[keys.index(key)][stage] = entry
    return [pair for pair in found if pair["before"] is not None]
