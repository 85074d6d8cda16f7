"""Hearing the pluck: what the readings page offers for it, and what a heard sound gives, in finished texts."""

from .. import events
from .. import forms
from .. import json_text
from .. import numbers
from .. import words

# What the page may have to say while it listens, and the names of what a browser may do to the sound.
_SAYS = ["ready", "starting", "listening", "working", "count-1", "count-2", "count-3", "stopped", "rest", "hidden", "denied", "none",
         "busy", "muted", "ended", "rate", "insecure", "old", "not-started", "processed", "unsaid", "silent", "nothing", "weak", "not-kept-full", "not-kept-noAnswer",
         "not-kept-signIn", "not-kept-refused", "not-kept-insecure"]
_LABELS = [["again", "Listen"], ["stop", "Stop"], ["echoCancellation", "echo cancelling"],
           ["noiseSuppression", "noise suppression"], ["autoGainControl", "automatic level"]]
# Of the samples as the microphone gave them; what the core gets is filtered, which hides it.
_CLIPPED_SHARE = 0.005
# The picture of a spectrum: its frame, the loudness it spans [dB] and the least width [Hz].
_WIDE, _HIGH, _LEFT, _TOP, _BOTTOM = 600, 260, 8, 34, 222
_DEEP_DB = 60.0
_LEAST_HZ = 300.0
_MOST_HZ = 1500.0
_BESIDE = 1.25
_STEPS = (50, 100, 200, 300, 500)
# Two names closer than this would cover each other.
_APART = 36


def offer(rows: list) -> dict:
    """Return what the readings page needs to listen.

    Parameters:  rows: further empty readings as `spanform.reading_rows` makes them
    Returns:     {"says": [[key, text], ...], "rows", "ready": the first text, "sum": name of the progress, "label": of the button, "band": JSON of the band of
                 readings to expect [Hz], "null" here, "keeps": whether the sounds may be kept, false here}
    """
    says = [[key, words.reason("pluck-" + key, {})] for key in _SAYS]
    return {"says": says + _LABELS, "rows": rows, "ready": words.reason("pluck-ready", {}), "sum": words.reason("pluck-sum", {}), "label": _LABELS[0][1], "band": "null", "keeps": False}


def expect(offered, told: dict) -> None:
    """Note the band of readings that a recorded drive lets expect, where it does.

    Parameters:  offered: from `offer`, changed in place, or None · told: a result with what `drivetension.add` added
    """
    if offered is not None and "expect" in told and "band" in told["expect"]:
        offered["band"] = json_text.write(told["expect"]["band"])


def sounds_of(request: dict, readings: list):
    """Return the sound that was kept with each reading, as a record holds it.

    A sound stands in the form as the reading that was heard and the sound's name, so that one does not stay with a value
    that was typed over.

    Parameters:  request: of the form · readings: texts as typed, in order
    Returns:     [name or None, ...] for the readings, None when no reading has a sound
    """
    left = [text.split(" ") for text in forms.values(request, "sound")]
    left = [pair for pair in left if len(pair) == 2 and len(pair[1]) == 64 and events.is_hex(pair[1])]
    kept = []
    for typed in readings:
        at = [i for i in range(len(left)) if left[i][0] == typed]
        kept.append(left.pop(at[0])[1] if at else None)
    return kept if [name for name in kept if name] else None


def kept_sounds(data: dict) -> list:
    """Return the sounds kept with a span reading: [{"path", "label"}, ...].

    Parameters:  data: of a "span_read" entry
    """
    sounds = data.get("sounds") or []
    return [{"path": "/sounds/" + sounds[i], "label": data["readings"][i] + " " + data["reading_unit"] if i < len(data["readings"]) else ""}
            for i in range(len(sounds)) if sounds[i]]


def heard(argument: dict, told: object) -> dict:
    """Work out what was plucked in a sound; a long sum (see `door.LONG_SUMS`).

    Parameters:  argument: {"samples", "rate", "band"} as `pluck.listen` takes them, and "clipped", the share of the raw samples at
                 full scale · told: not called, the work is one piece
    Returns:     {"hz": text for the reading, "" when there is none; "sentence": why not; "between": its interval; "note": remark or
                 ""; "picture": of the spectrum or None: {"line", "used": paths; "labels": [{"x", "y", "text"}]; "text"}}
    Raises:      CoreError as `pluck.listen`
    """
    # Imported here: pages that only offer to listen do not load it.
    from .. import pluck
    found = pluck.listen(argument["samples"], argument["rate"], argument["band"])
    out = {"hz": "", "sentence": "", "between": "", "note": "", "picture": _picture(found)}
    if found["hz"] is None:
        out["sentence"] = _why_not(found, argument["clipped"])
        return out
    out["hz"], low, high = numbers.with_interval(found["hz"], found["low_hz"], found["high_hz"])
    out["between"] = words.reason("pluck-heard", {"low": low, "high": high})
    if found["outside"]:
        out["note"] = words.reason("pluck-outside", {})
    return out


def _why_not(found, clipped):
    why = found["why"]
    if clipped > _CLIPPED_SHARE and why not in ("short", "silent"):
        why = "clipped"
    if why == "two-answers" and found["best_hz"] is not None and found["other_hz"] is not None:
        pair = sorted([found["best_hz"], found["other_hz"]])
        return words.reason("pluck-both", {"one": numbers.short(pair[0], 3), "other": numbers.short(pair[1], 3)})
    return words.reason("pluck-" + why, {})


# ---- the spectrum ----

def _picture(found):
    points = found["spectrum"]
    if not points:
        return None
    peaks = found["peaks"] if found["hz"] is not None else []
    widest = _LEAST_HZ
    for peak in peaks:
        widest = max(widest, peak["hz"] * _BESIDE)
    widest = min(widest, _MOST_HZ)
    shown = [point for point in points if point[0] <= widest]
    top = max([point[1] for point in shown])
    line = ""
    for hz, db in shown:
        line += (" L " if line else "M ") + _spot(hz / widest, (top - db) / _DEEP_DB)
    return {"line": line, "used": _used(peaks, widest), "labels": _names(peaks, widest) + _ticks(widest), "text": _in_words(peaks)}


def _x(share):
    return _LEFT + share * (_WIDE - 2 * _LEFT)


def _spot(across, down):
    return numbers.fixed(_x(across), 1) + " " + numbers.fixed(_TOP + min(1.0, max(0.0, down)) * (_BOTTOM - _TOP), 1)


def _used(peaks, widest):
    """The upright lines at what was used."""
    return " ".join(["M " + _spot(peak["hz"] / widest, 0.0) + " L " + _spot(peak["hz"] / widest, 1.0)
                     for peak in peaks if peak["hz"] <= widest])


def _names(peaks, widest):
    out = []
    last = -_APART
    for peak in peaks:
        x = _x(peak["hz"] / widest)
        if peak["hz"] <= widest and x - last >= _APART:
            out.append({"x": numbers.fixed(x, 1), "y": str(_TOP - 10), "text": str(peak["n"])})
            last = x
    return out


def _ticks(widest):
    step = [s for s in _STEPS if widest / s < 6][0]
    out = []
    for i in range(1, int(widest / step) + 1):
        x = _x(i * step / widest)
        if x < _WIDE - 40:
            out.append({"x": numbers.fixed(x, 1), "y": str(_HIGH - 8), "text": str(i * step)})
    out[-1]["text"] += " Hz"
    return out


def _in_words(peaks):
    if not peaks:
        return words.reason("pluck-unused", {})
    return words.reason("pluck-used", {"peaks": ", ".join([numbers.fixed(peak["hz"], 1) for peak in peaks])})
