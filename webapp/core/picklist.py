"""The pick list of a belt: what the named causes bring, what people added, and how each part stands.

Loaded only where parts were moved or are looked at, so that lists of jobs stay quick.
"""

from . import belts
from . import card
from . import companions
from . import evidence
from . import numbers
from . import units
from . import words
from .errors import CoreError

# Codes of parts that people add begin so.
OWN = "own-"
SETTLED = ["picked", "not_needed"]
# An alternator pulley comes with these.
WITH_PULLEY = ["overrun", "alternator"]


def causes(job: dict, loop: str) -> list:
    """Return the codes of the causes that were named on a belt, [] while none is.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    entry = evidence.named(job, loop)
    return entry["data"]["causes"] if entry is not None else []


def moves_of(job: dict, loop: str, code: str) -> list:
    """Return the entries that moved a part, in order; the last one stands.

    Parameters:  job: the folded job · loop: "1" to "3" · code: of the part
    """
    return [entry for entry in job["moves"] if entry["loop"] == loop and entry["data"]["part"] == code]


def of(job: dict, loop: str) -> list:
    """Return the pick list of a belt.

    Without a named cause it is the belt with what goes along with it.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     [{"code", "what", "how_many", "need", "single_use", "why": [texts], "true", "with", "listed": the entry that
                 added it, or None, "entry": the last one that moved it, or None, "state": "open" or a code of
                 words.CHOICES["part_state"], "number": text or "", "due": date or ""}, ...]; what must be there comes first
    """
    named = causes(job, loop)
    also = []
    if not named and job["booked"]["data"]["service"]:
        also = [["belt", "must", "it is due"]]
    elif not named:
        also = [["belt", "if_needed", "the cause is on another belt" if job["causes"] else "no cause is named yet"]]
    found = [dict(part, listed=None, number="") for part in companions.parts(named, evidence.facts(job, loop), also)]
    for entry in job["parts"]:
        if entry["loop"] == loop:
            found.append(_added(entry["data"], entry))
    known = [part["code"] for part in found]
    for entry in job["moves"]:
        # The causes were named afresh: what was ordered or picked for the old ones is still somewhere.
        if entry["loop"] == loop and entry["data"]["part"] not in known:
            known.append(entry["data"]["part"])
            found.append(_left_over(entry["data"]))
    for part in found:
        _stand(part, moves_of(job, loop, part["code"]))
    return [part for part in found if part["need"] == "must"] + [part for part in found if part["need"] != "must"]


def _added(data, entry):
    return {"code": data["part"], "what": data["what"], "how_many": data["how_many"], "need": data["need"], "single_use": False,
            "why": [data["why"]] if data["why"] else [], "true": "", "with": "", "listed": entry, "number": data["number"] or ""}


def _left_over(data):
    return {"code": data["part"], "what": data["what"], "how_many": "", "need": "if_needed", "single_use": False,
            "why": ["listed before the causes were named afresh"], "true": "", "with": "", "listed": None, "number": ""}


def _stand(part, moves):
    part["entry"] = moves[-1] if moves else None
    part["state"] = moves[-1]["data"]["state"] if moves else "open"
    part["due"] = (moves[-1]["data"]["due"] or "") if moves else ""
    for entry in moves:
        part["number"] = entry["data"]["number"] or part["number"]


def one(job: dict, loop: str, code: str):
    """Return one part of the list, None when it is not on it.

    Parameters:  job: the folded job · loop: "1" to "3" · code: of the part
    """
    for part in of(job, loop):
        if part["code"] == code:
            return part
    return None


def own_code(fresh_id: str) -> str:
    """Return a code for a part that somebody adds, one that nobody else gives at the same time.

    Parameters:  fresh_id: UUID of the entry that adds it
    """
    return OWN + fresh_id[:8] + fresh_id[24:]


def stands(job: dict, loop: str) -> list:
    """Return [state, words] of a belt's parts: done when all that must be there are picked or not needed, and nothing is on its way.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     ["done" or "open", what there is to say]
    """
    parts = of(job, loop)
    must = [part for part in parts if part["need"] == "must"]
    ready = [part for part in must if part["state"] in SETTLED]
    on_way = [part for part in parts if part["state"] in ("ordered", "arrived")]
    text = str(len(ready)) + " of " + str(len(must)) + " settled." if must else ""
    for part in on_way:
        text += (" " if text else "") + words.label("part_state", part["state"]) + ": " + part["what"] \
            + (", due " + part["due"] if part["due"] and part["state"] == "ordered" else "") + "."
    for part in must:
        if part["state"] == "returned":
            text += " Returned, open again: " + part["what"] + "."
    return ["done" if len(ready) == len(must) and not on_way else "open", text]


def reopened(job: dict, loop: str) -> bool:
    """Tell whether a part that must be there went back, so that even a step told in words is open again.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    return [part for part in of(job, loop) if part["need"] == "must" and part["state"] == "returned"] != []


def against_stop(job: dict, loop: str) -> list:
    """Return what was picked although the comparison said stop: [[what, reason given], ...].

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    return [[part["what"], part["entry"]["data"]["note"] or ""] for part in of(job, loop)
            if part["state"] == "picked" and part["entry"]["data"]["shown"].get("kind") == "stop"]


def belt_wanted(job: dict, loop: str) -> list:
    """Return what the new belt is compared with.

    The old belt, unless it was named as the wrong one; else the belt of the recorded drive.

    Parameters:  job: the folded job · loop: "1" to "3"
    Returns:     ["old", "drive" or "", data of a belt_recorded event or None, marking in words]
    """
    old = card.belt_of(job, loop, "old")
    if old is not None and "B_WRONG" not in causes(job, loop):
        return ["old", old["data"], old["data"]["marking"] or _in_words(old["data"])]
    entry = card.drive_of(job, loop)
    belt = (entry["data"]["drive"].get("belt") or {}) if entry is not None else {}
    if belt.get("section") and belt.get("length") is not None:
        from . import drive_data
        data = belts.blank("old")
        stretch = (entry["data"]["drive"].get("tensioner") or {}).get("kind") == "stretch_fit"
        data.update({"section": belt["section"], "ribs": belt.get("ribs"), "length": belt["length"], "length_kind": drive_data.sold_by(belt["section"]),
                     "double_sided": bool(belt.get("double_sided")), "stretch": stretch})
        return ["drive", data, _in_words(data)]
    return ["", None, ""]


def _in_words(data):
    parts = [str(data["ribs"] or data["ribs_counted"] or ""), ("D" if data["double_sided"] else "") + (data["section"] or "")]
    if data["length"] is not None:
        try:
            parts.append(numbers.trimmed(units.to_si(data["length"], "length") * 1000, 1))
        except CoreError:
            parts.append("")
    return " ".join([part for part in parts if part])
