"""What a signer should know is not there: open steps, looks that nobody answered, belts that differ without a reason."""

from . import card

# Photos that a record is not believed without.
_WANTED_PHOTOS = [["old_belt", "old", "no photo of the old belt."], ["new_belt", "new", "no photo of the new belt."]]


def _reason(job, loop, prefix):
    verdict = card.belt_verdict(job, loop)
    if verdict is None or verdict["verdict"] == "same" or card.accepted_difference(job, loop) is not None:
        return []
    return [["belts", prefix + "old and new belt are not shown to be the same, and nobody has said why that is right.",
             card.step_path(job, loop, "belts")]]


def _photos(job, loop, prefix):
    found = []
    for subject, place, sentence in _WANTED_PHOTOS:
        if card.belt_of(job, loop, place) is None:
            continue
        if not [p for p in job["photos"] if p["data"]["subject"] == subject and p["loop"] in (loop, "")]:
            found.append(["belts", prefix + sentence, "/jobs/" + job["id"] + "/photos"])
    return found


def _parts(job, loop, prefix):
    """Parts that somebody took although the comparison said stop."""
    if not [entry for entry in job["moves"] if entry["loop"] == loop and entry["data"]["shown"].get("kind") == "stop"]:
        return []
    from . import picklist
    return [["parts", prefix + "taken although it differs: " + what + ". " + reason, card.step_path(job, loop, "parts")]
            for what, reason in picklist.against_stop(job, loop)]


def _sharpness(job, loop, prefix):
    """Offsets that cannot be told from their limit."""
    if not job["offsets"]:
        return []
    from . import alignment
    return [["aligned", prefix + "not told from its limit: the offset of " + span + ".", card.step_path(job, loop, "aligned")]
            for span in alignment.with_verdict(job, loop, "cannot_tell")]


def _proof(job):
    if not job["runs"]:
        return []
    from . import proving
    return [["proved", "Not checked: " + text, card.step_path(job, "", "proved")] for text in proving.not_done(job)]


def _recheck(job):
    """A belt set by hand loses tension in its run-in."""
    from . import proving
    return [["next_check", card.with_belt(job, loop, "Tensioned by hand, and nobody agreed when it is measured again."),
             card.step_path(job, "", "next_check")] for loop, _name in proving.recheck_lacks(job)]


def _looks(job):
    # Imported here, so that lists of jobs do not load what reasons about causes.
    from . import looks
    path = "/jobs/" + job["id"] + "/cause/looks"
    return [["cause", "Behind the cause, not answered: " + text, path] for text in looks.open_upstream(job)]


def of(job: dict) -> list:
    """Return what a signer should know is not there: open steps, causes behind the cause that nobody looked at, belts
    that differ without a reason, belts without a photo, parts taken against a comparison, and offers without an answer.

    Parameters:  job: the folded job
    Returns:     [[step, sentence, path], ...] in the order of work
    """
    found = []
    for loop, step in card.places(job):
        if step == "signed":
            continue
        name = card.loop_name(job, loop)
        prefix = name + ": " if loop else ""
        state = card.step_state(job, loop, step)
        if state[0] in ("open", "stopped"):
            sentence = prefix + card.step_name(step) + (" stopped. " if state[0] == "stopped" else " not recorded. ") + state[1]
            found.append([step, sentence.strip(), card.step_path(job, loop, step)])
        if step == "cause" and job["causes"]:
            found += _looks(job)
        if step == "next_check" and state[0] == "done":
            found += _recheck(job)
        if step == "proved":
            found += _proof(job)
        if step == "aligned":
            found += _sharpness(job, loop, prefix)
        if step == "belts":
            found += _reason(job, loop, prefix) + _photos(job, loop, prefix)
        if step == "parts":
            found += _parts(job, loop, prefix)
    for entry in card.open_offers(job):
        found.append(["parts", "The customer was asked and has not answered: " + entry["data"]["what"], "/jobs/" + job["id"] + "/asked"])
    return found
