"""Before and after the work: what was read and found of the same thing, and whether it differs by more than it is good to.

Loaded only where a repair is proved or the record of a job is shown.
"""

from . import alignment
from . import card
from . import evidence
from . import proving
from . import units
from .errors import CoreError

# What is set side by side: its name, the checks of the table of causes that tell of it before the work, the running checks and the
# lines of fitting that tell of it after. A table without such a check has nothing to compare there.
SAME = [
    ["Noise and symptom", ["I1", "I2", "I3"], ["complaint"], []],
    ["Tensioner pointer", ["C7"], [], ["pointer_again", "window_again", "marks_both_again", "strut_pointer"]],
    ["Tensioner arm at idle", ["C6"], ["arm"], []],
    ["How the belt runs", ["C3"], ["idle"], []],
    ["Electrical loads", ["C23"], ["loads"], []],
    ["Air conditioning", ["C24"], ["air"], []],
    ["Steering", ["C25"], ["steer"], []],
    ["As the engine stops", ["C12"], ["off"], []],
]


def change(before: list, after: list) -> list:
    """Return how far a reading moved, and whether that is more than what either is not sure of.

    Parameters:  before, after: [value, low end, high end of its 95 % interval], in one unit [-]
    Returns:     ["more", "less" or "unsure", after minus before]; "unsure" while the intervals overlap
    Source:      two readings whose intervals do not overlap differ by more than both errors together; careful, since the errors of
                 two readings of one kind partly cancel
    """
    moved = after[0] - before[0]
    if after[1] > before[2]:
        return ["more", moved]
    return ["less" if after[2] < before[1] else "unsure", moved]


def tension_of(entry: dict):
    """Return a span reading as [tension, low, high] [N], None where its record does not tell.

    Parameters:  entry: of kind "span_read"
    """
    shown = entry["data"]["shown"]
    try:
        return [units.to_si({"value": shown[key], "unit": shown["unit"]}, "force") for key in ("tension", "low", "high")]
    except (CoreError, KeyError):
        return None


def offset_of(entry: dict):
    """Return an offset as [slope, low, high] [mm/m], None where its record does not tell.

    Parameters:  entry: of kind "offset_read"
    """
    told = alignment.of_data(entry["data"])
    if told is None:
        return None
    return [told["mm_per_m"], max(0.0, told["mm_per_m"] - told["error_mm_per_m"]), told["mm_per_m"] + told["error_mm_per_m"]]


def spans(job: dict, loop: str, entries: list) -> list:
    """Return what was read of each span before the work on a belt and after it.

    Parameters:  job: the folded job · loop: "1" to "3" · entries: of one kind, all of that belt
    Returns:     [[span, last entry before, last entry after or None], ...]; [] while nothing was read after the work, since until
                 then there is nothing to compare
    """
    before, after = card.around_work(job, loop, entries)
    found = []
    for i, side in ((1, before), (2, after)):
        for entry in side:
            name = _plain(entry["data"]["span"])
            rows = [row for row in found if _plain(row[0]) == name]
            if not rows:
                rows = [[entry["data"]["span"], None, None]]
                found.append(rows[0])
            rows[0][i] = entry
    return [row for row in found if row[1] is not None] if after else []


def _plain(span):
    """A span's name as people mean it: "Crank – pump" and "crank to pump" are one."""
    text = " " + span.lower() + " "
    for sign in ("\u2013", "-", "\u2192", "/", " to "):
        text = text.replace(sign, " ")
    return " ".join(text.split())


def same(job: dict, loop: str) -> list:
    """Return what the checks found before the work and after it, the same thing side by side.

    Parameters:  job: the folded job · loop: "1" to "3" for what belongs to one belt, "" for the whole car
    Returns:     [{"what": name or "", "complaint": in the customer's words where it belongs, or "", "before": answers, "after": answers, "runs": running checks of `proving.of`, "lines": entries of
                 fitting}, ...] where both sides have something; "what" is "" for a check that was answered again, and named by it
    """
    one = card.loops_of(job)[0][0] if loop == "" and len(card.loops_of(job)) == 1 else loop
    own = [entry for entry in job["answers"] if entry["loop"] == loop and not entry["data"]["check"].startswith(evidence.ABOUT)]
    sides = [card.last_of_each(side, "check") for side in card.around_work(job, one, own)]
    runs = [check for check in proving.of(job) if check["loop"] == loop and check["result"] not in ("", "not_done")]
    work = [entry for entry in job["work"] if entry["loop"] == one and entry["data"]["result"] == "done"]
    found, told = [], []
    for what, checks, items, lines in SAME:
        told += checks
        row = {"what": what, "complaint": _complaint(job, loop) if "complaint" in items else "", "before": _answered(sides[0], checks), "after": _answered(sides[1], checks),
               "runs": [check for check in runs if check["item"] in items], "lines": [entry for entry in work if entry["data"]["item"] in lines]}
        if (row["before"] or row["complaint"]) and (row["after"] or row["runs"] or row["lines"]):
            found.append(row)
    for entry in sides[1]:
        before = _answered(sides[0], [entry["data"]["check"]])
        if before and entry["data"]["check"] not in told:
            found.append({"what": "", "complaint": "", "before": before, "after": [entry], "runs": [], "lines": []})
    return found


def _complaint(job, loop):
    booked = job["booked"]["data"]
    return "" if loop or booked["service"] else booked["complaint"]


def _answered(entries, checks):
    return [entry for entry in entries if entry["data"]["check"] in checks]
