"""What has to be looked at again: proposals from what was fitted and found, what is due, and the same car's earlier jobs."""

from . import card
from . import numbers
from . import proving
from . import times
from . import units
from .errors import CoreError

# Per kind of tensioner: [kinds, what, grade, days, kilometres, reason]. Common practice, no source; days and kilometres are where
# the form starts, the vehicle maker's interval comes first.
_BY_TENSIONER = [
    [("eccentric", "slotted", "lead_screw"), "Measure the tension again", "soon", 14, 1000,
     "Set by hand: a new belt gives tension away in its run-in, and nothing takes it up."],
    [("automatic", "automatic_set", "two_arm"), "Look at belt and pointer", "watch", 365, 15000, "The pointer tells wear before the belt does."],
    [("hydraulic",), "Look for oil at the strut", "watch", 365, 15000, "Oil on rod or boot comes before it loses its damping."],
    [("stretch_fit",), "Look at the ribs with a wear gauge", "watch", 180, 10000, "Nothing takes up what it wears, and the eye sees it late."],
    [("fixed",), "Look at the belt", "watch", 180, 10000, "Nothing takes up what it wears."],
]
# For what was left open or declined.
_LEFT_DAYS = 30
_GRADES = ["urgent", "soon", "watch"]


def proposals(job: dict, now: str) -> list:
    """Return what may be agreed as a next check, and is not agreed yet.

    Parameters:  job: the folded job · now: the host's time
    Returns:     [{"code", "item", "grade", "date", "distance": quantity or None, "reason"}, ...]
    Source:      common practice, no source
    """
    found = _by_tensioner(job, now) + _left_open(job, now)
    agreed = [entry["data"]["item"] for entry in job["due"]] + [entry["data"].get("follows") for entry in job["due"]]
    return [one for one in found if one["item"] not in agreed and one["code"] not in agreed]


def _by_tensioner(job, now):
    found = []
    several = len(card.loops_of(job)) > 1
    for loop, name in card.loops_of(job):
        facts = card.loop_facts(job, loop)
        for kinds, what, grade, days, km, reason in _BY_TENSIONER:
            if facts is not None and facts["tensioner"] in kinds and not card.left_out(job, loop):
                found.append(_proposal(proving.RECHECK + loop, what + (": " + name if several else ""), grade, times.date_after(now, days),
                                       _distance_after(job, km), reason))
    return found


def _distance_after(job, km):
    """The reading at which so many kilometres more are driven, in the unit that the car was booked in with; None when not known."""
    booked = job["booked"]["data"]["distance"]
    if booked is None:
        return None
    metres = units.to_si(booked, "distance") + 1000 * km
    # To the next hundred: nobody waits for the last kilometre.
    return {"value": str(int(units.from_si(metres, booked["unit"], "distance") / 100 + 0.5) * 100), "unit": booked["unit"]}


def _left_open(job, now):
    """What was declined, left out or not sharp enough."""
    date = times.date_after(now, _LEFT_DAYS)
    found = []
    for i, what in enumerate(declined(job)):
        found.append(_proposal("declined" + str(i), what, "soon", date, None, "Offered and declined."))
    for check in proving.of(job):
        if check["result"] == "not_done":
            found.append(_proposal("run-" + check["key"], check["what"], "soon", date, None, "Not done when the repair was proved."))
    for entry in job["looks"]:
        if entry["data"]["result"] == "accepted":
            found.append(_proposal("look-" + entry["data"]["look"], entry["data"]["what"], "soon", date, None, "Left with the gap accepted."))
        elif entry["data"]["result"] == "found":
            found.append(_proposal("look-" + entry["data"]["look"], entry["data"]["what"], "watch", date, None,
                                   "Found: " + (entry["data"]["note"] or "see the card")))
    return found


def _proposal(code, item, grade, date, distance, reason):
    return {"code": code, "item": item[:120], "grade": grade, "date": date, "distance": distance, "reason": reason[:300]}


def declined(job: dict) -> list:
    """Return what the customer declined and has not accepted since.

    Parameters:  job: the folded job
    """
    return [entry["data"]["what"] for entry in job["asked"] if entry["data"]["answer"] == "declined"]


def _plate(text):
    return "".join([c for c in text.upper() if c not in " -.\u00b7"])


def _marks(summary):
    """What a car is known by: its registration, however it is spaced, and its VIN."""
    return [mark for mark in ("plate " + _plate(summary["registration"]), "vin " + (summary.get("vin") or "")) if mark not in ("plate ", "vin ")]


def earlier(cars: list, car: dict) -> list:
    """Return the other jobs of a car, the newest first.

    Parameters:  cars: summaries of jobs · car: {"registration", "vin", "id": of a job to leave out, or ""}; when it has a
                 "booked_turn", jobs booked in after it are left out
    Returns:     summaries
    """
    marks = _marks(car)
    found = [one for one in cars if one["id"] != car["id"] and [mark for mark in _marks(one) if mark in marks]
             and ("booked_turn" not in car or _turn(one) < _turn(car))]
    found.sort(key=lambda one: (_turn(one), one["id"]))
    found.reverse()
    return found


def _turn(summary):
    return tuple(summary.get("booked_turn") or summary["turn"])


def due(cars: list, now: str) -> list:
    """Return what is due on cars that were not signed off again since, what is overdue first.

    A later job of the same car ends it once it is signed: what is still to be watched was agreed there anew.

    Parameters:  cars: summaries of jobs · now: the host's time
    Returns:     [{"job": summary, "due": data of a "check_due" event, "overdue": flag, "by_distance": flag, "here": summary of the
                 open job that the car is here for, None}, ...] by date, what has none last
    """
    known = _by_car(cars)
    found = []
    for summary in cars:
        if not summary.get("due"):
            continue
        after = [other for other in _of_same_car(known, summary) if _turn(other) > _turn(summary)]
        if [other for other in after if other["signed"]]:
            continue
        for one in summary["due"]:
            reached = one["distance"] is not None and _driven(after + [summary]) >= units.to_si(one["distance"], "distance")
            late = one["date"] is not None and one["date"] < now[:10]
            found.append({"job": summary, "due": one, "overdue": late or reached, "by_distance": reached, "here": after[0] if after else None})
    found.sort(key=lambda row: (0 if row["overdue"] else 1, row["due"]["date"] or "9999", _GRADES.index(row["due"]["grade"]),
                                row["job"]["id"], row["due"]["item"]))
    return found


def _by_car(cars):
    """{what a car is known by: its jobs}, so that no job is held against every other one."""
    known = {}
    for summary in cars:
        for mark in _marks(summary):
            known.setdefault(mark, []).append(summary)
    return known


def _of_same_car(known, summary):
    found = []
    for mark in _marks(summary):
        found += [other for other in known[mark] if other["id"] not in [one["id"] for one in found] and other["id"] != summary["id"]]
    return found


def _driven(summaries):
    """The furthest reading of a car's distance [m], 0 while none is known."""
    furthest = 0.0
    for summary in summaries:
        if summary.get("distance"):
            try:
                furthest = max(furthest, units.to_si(summary["distance"], "distance"))
            except CoreError:
                continue
    return furthest


def when(one: dict) -> str:
    """Return date and distance of what is due, in words.

    Parameters:  one: data of a "check_due" event
    """
    parts = [times.date_shown(one["date"])] if one["date"] else []
    if one["distance"]:
        parts.append("at " + numbers.trimmed(float(one["distance"]["value"]), 0) + " " + one["distance"]["unit"])
    return " or ".join(parts)
