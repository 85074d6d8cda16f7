"""Photos of one thing before and after the work, side by side: for the page of the proof and for the sheet."""

from .. import photoproof
from .. import words
from . import photos
from . import signed


def shown(job: dict, given: dict) -> list:
    """Return the pairs that have both sides, as `_photo_pairs.html` takes them.

    Parameters:  job: the folded job · given: the host's `people`
    """
    return [{"what": what(job, pair), "sides": [_side(job, pair["before"], "before", given), _side(job, pair["after"], "after", given)]}
            for pair in photoproof.pairs(job) if pair["after"] is not None]


def what(job: dict, pair: dict) -> str:
    """Return what both photos of a pair show, in words.

    Parameters:  job: the folded job · pair: of `photoproof.pairs`
    """
    texts = [photoproof.shows(job, entry) for entry in (pair["before"], pair["after"]) if entry is not None]
    return texts[0] if texts[0] == texts[-1] else ". ".join(texts)


def _side(job, entry, stage, given):
    side = photos.picture(entry, job)
    side.update({"stage": words.label("photo_stage", stage), "by": signed.by(entry, given)})
    return side


def open_slots(job: dict, goto: str) -> list:
    """Return a slot for each thing that was photographed before the work and not yet after it.

    Parameters:  job: the folded job · goto: path to go to afterwards
    """
    slots = []
    for pair in photoproof.pairs(job):
        entry = pair["before"]
        # The belts page asks for the photo of the new belt.
        if pair["after"] is not None or entry["data"]["subject"] not in photoproof.ASKED:
            continue
        number = "-" + str(len(slots))
        data = entry["data"]
        if data["subject"] == "check":
            slot = photos.check_slot(job, [data["check"], data["what"], False], entry["loop"], goto, number)
        else:
            slot = photos.slot(job, data["subject"], entry["loop"], goto, False, number)
        slots.append(photos.afterwards(slot))
    return slots
