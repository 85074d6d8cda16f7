"""Before and after, side by side: what was read and found of the same thing, for the page of the proof and for the sheet."""

from .. import card
from .. import compared
from .. import numbers
from .. import units
from .. import words
from ..errors import CoreError
from . import causewords
from . import measuring

# Whether the difference is a good one the verdicts of the readings say.
_WORDS = {"more": ["", "arrow", "Differs"], "less": ["", "arrow", "Differs"], "unsure": ["watch", "watch", "Not told apart"]}
_NOT_READ = "Not read."


def blocks(job: dict, given: dict) -> list:
    """Return one block for each belt, and one for what belongs to the whole car.

    Parameters:  job: the folded job · given: the host's `table`, with answers in words where it is None
    Returns:     [{"name": of the belt or "", "rows": [{"what", "before": [texts], "after": [texts], "change": {"kind", "icon", "word",
                 "sentence"} or None}, ...]}, ...], none without rows
    """
    loops = card.loops_of(job)
    several = len(loops) > 1
    found = [{"name": "", "rows": _found(job, "", given)}]
    for loop, name in loops:
        rows = _tensions(job, loop) + _offsets(job, loop)
        if several:
            found.append({"name": name, "rows": rows + _found(job, loop, given)})
        else:
            found[0]["rows"] = rows + found[0]["rows"]
    return [block for block in found if block["rows"]]


# ---- readings ----

def _rows(job, loop, entries, what, texts, change):
    """One row for each span that was read before the work; texts and change put its entries into words."""
    return [{"what": what + ", " + span, "before": texts(before), "after": texts(after), "change": change(before, after)}
            for span, before, after in compared.spans(job, loop, entries)]


def _tensions(job, loop):
    return _rows(job, loop, card.readings_of(job, loop), "Tension", _tension_texts, _tension_change)


def _tension_texts(entry):
    if entry is None:
        return [_NOT_READ]
    data, shown = entry["data"], entry["data"]["shown"]
    texts = [shown["tension"] + " " + shown.get("unit", "") if shown.get("tension") else "No tension in its record."]
    if shown.get("low") and shown.get("high"):
        texts.append(shown["low"] + " to " + shown["high"] + " " + shown.get("unit", "") + " (95 %)")
    if shown.get("verdict"):
        texts.append(shown["verdict"])
    read = words.label("method", data["method"]).split(":")[0] + " " + ", ".join(data["readings"]) + " " + data["reading_unit"]
    if data["force"] is not None:
        read += " at " + measuring.shown(data["force"])
    return texts + [read + ", engine " + words.label("engine_temperature", data["engine_temperature"]).lower()]


def _tension_change(before, after):
    ends = [compared.tension_of(before), compared.tension_of(after) if after is not None else None]
    if None in ends:
        return None
    code, moved = compared.change(ends[0], ends[1])
    try:
        size = units.from_si(abs(moved), after["data"]["shown"]["unit"], "force")
    except CoreError:
        return None
    return _change(code, ("Tighter by " if moved >= 0 else "Slacker by ") + numbers.short(size, 2) + " " + after["data"]["shown"]["unit"])


def _offsets(job, loop):
    entries = [entry for entry in job["offsets"] if entry["loop"] == loop]
    return _rows(job, loop, entries, "Offset", _offset_texts, _offset_change)


def _offset_texts(entry):
    if entry is None:
        return [_NOT_READ]
    shown = entry["data"]["shown"]
    texts = [shown.get("slope", ""), shown.get("angle", ""), words.label("offset_verdict", shown.get("verdict", "")),
             "Limit " + entry["data"]["limit_mm_per_m"] + " mm per m"]
    return [text for text in texts if text]


def _offset_change(before, after):
    ends = [compared.offset_of(before), compared.offset_of(after) if after is not None else None]
    if None in ends:
        return None
    code, moved = compared.change(ends[0], ends[1])
    return _change(code, numbers.short(abs(moved), 2) + " mm per m " + ("more" if moved >= 0 else "less"))


def _change(code, text):
    kind, icon, word = _WORDS[code]
    return {"kind": kind, "icon": icon, "word": word,
            "sentence": text + (": less than the two readings are not sure of." if code == "unsure" else ": the two intervals do not overlap.")}


# ---- checks ----

def _found(job, loop, given):
    rows = []
    for row in compared.same(job, loop):
        before, after = _answers(job, row["before"], given), _answers(job, row["after"], given)
        what = row["what"] or causewords.answer_words(row["before"][0], given["table"], job)[0]
        if row["complaint"]:
            before = ["\u201c" + row["complaint"] + "\u201d"] + before
        for check in row["runs"]:
            note = check["entry"]["data"]["note"]
            after.append(words.label("run_result", check["result"]) + ". " + check["entry"]["data"]["what"] + (". " + note if note else ""))
        after += [entry["data"]["what"] for entry in row["lines"]]
        rows.append({"what": what, "before": before, "after": after, "change": None})
    return rows


def _answers(job, entries, given):
    return [causewords.with_note(causewords.answer_words(entry, given["table"], job)[1], entry) for entry in entries]
