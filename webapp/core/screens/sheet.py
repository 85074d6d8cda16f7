"""The record of a job in words: for the signer, and as the sheet for customer and warranty."""

from .. import card
from .. import codes
from .. import gaps
from .. import library
from .. import numbers
from .. import reply
from .. import times
from .. import words
from . import listening
from . import photos
from . import signed

_DRIVE = [["alternator_pulley", "Alternator pulley"], ["crank_pulley", "Crank pulley"], ["compressor", "Compressor"],
          ["steering", "Steering"], ["water_pump", "Water pump"], ["access", "Access"]]
# What a reading's `shown` map says beside the tension itself, in the order of the sheet.
_SHOWN = [["target", "Target"], ["next", "Next"], ["belt", "Belt"], ["length_from", "Span length from"], ["length_error", "Span length good to"],
          ["expected", "Expected"], ["drive", "Recorded drive"], ["drive_working", "Working of it"],
          ["spread", "Spread of the readings"], ["working", "Working"]]


def _quantity(quantity):
    return quantity["value"] + " " + quantity["unit"] if quantity is not None else ""


def vehicle(job: dict) -> list:
    """Return [[label, text], ...] on the car; only what is known.

    Parameters:  job: the folded job
    """
    booked = job["booked"]["data"]
    pairs = [["Registration", booked["registration"]], ["Car", booked["car"]], ["Engine", booked["engine"]],
             ["VIN", booked["vin"]], ["Distance", _quantity(booked["distance"])]]
    source = job["gate"] or job["facts"]
    if source is not None:
        pairs.append(["Voltage class", words.label("voltage", source["data"]["voltage"])])
        pairs.append(["Start-stop", words.label("start_stop", source["data"]["start_stop"])])
    return [pair for pair in pairs if pair[1]]


def drive(job: dict) -> list:
    """Return [[label, text], ...] on the drive; only what is known.

    Parameters:  job: the folded job
    """
    if job["facts"] is None:
        return []
    data = job["facts"]["data"]
    pairs = []
    for loop in data["loops"]:
        parts = [words.label("belt_kind", loop["belt"])]
        if loop["ribs"] is not None:
            parts.append(str(loop["ribs"]) + " ribs")
        parts.append("tensioner: " + words.label("tensioner", loop["tensioner"]))
        pairs.append([loop["name"], ", ".join(parts)])
    for name, label in _DRIVE:
        if data[name] != "unknown":
            pairs.append([label, words.label(name, data[name])])
    return pairs


def drive_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's line on a loop's drive as it was recorded, none while there is none.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    entry = card.drive_of(job, loop)
    if entry is None:
        return []
    data = entry["data"]
    recorded = data["drive"]
    line = signed.line("Drive", ". ".join([part for part in (data["name"], data["engine"], words.label("drive_origin", data["origin"]))
                                     if part]), entry, given)
    span = library.longest_span(recorded)
    kind = (recorded.get("tensioner") or {}).get("kind")
    line["shown"] = [pair for pair in (
        ["Belt", library.belt_words(recorded)], ["Pulleys in belt order, with the belt face", library.pulley_words(recorded)],
        ["Crankshaft turns, seen from the belt side", words.label("sense", recorded.get("rotation") or "clockwise").lower()],
        ["Tensioner", words.label("tensioner", kind) if kind else ""],
        ["Longest span, computed", span["from"] + " to " + span["to"] + ", " + numbers.fixed(span["length_mm"], 0) + " mm"
         if span is not None else ""]) if pair[1]]
    return [line]


def _belt_text(data):
    parts = [data["marking"] or "no marking"]
    if data["ribs"] is not None:
        parts.append(str(data["ribs"]) + " ribs" + (", counted " + str(data["ribs_counted"]) if data["ribs_counted"] else "")
                     + (" on a photo" if data["ribs_counted"] and data.get("ribs_source") == "photo" else ""))
    if data["length"] is not None:
        parts.append(_quantity(data["length"]) + (" " + words.label("length_kind", data["length_kind"])
                                                  if data["length_kind"] else ""))
    if data["taped"] is not None:
        parts.append("taped " + _quantity(data["taped"]))
    if data["width"] is not None:
        parts.append("width " + _quantity(data["width"]))
    if data["wear"]:
        parts.append("seen: " + ", ".join([words.label("wear", code).lower() for code in data["wear"]]))
    if data["wear_note"]:
        parts.append(data["wear_note"])
    if data["batch"]:
        parts.append("batch " + data["batch"])
    return "; ".join(parts)


def belt_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's lines on a loop's old and new belt, and how they compare.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    lines = []
    for place, label in words.choice_pairs("belt_place"):
        entry = card.belt_of(job, loop, place)
        if entry is not None:
            lines.append(signed.line(label, _belt_text(entry["data"]), entry, given))
    verdict = card.belt_verdict(job, loop)
    if verdict is not None:
        text = " ".join([words.label("compare", verdict["verdict"]) + "."] + verdict["sentences"])
        if verdict["verdict"] == "same" and verdict["taped"]:
            text += " " + words.reason("tape-only", {})
        lines.append({"label": "Old against new", "text": text, "by": None})
    for entry in job["differences"]:
        if entry["loop"] == loop:
            lines.append(signed.line("Difference accepted", entry["data"]["reason"], entry, given))
    return lines


def reading_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's lines on a loop's target and span readings.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    lines = []
    for entry in job["targets"]:
        data = entry["data"]
        if entry["loop"] == loop:
            text = data["low"]["value"] + " " + data["low"]["unit"] + " to " + _quantity(data["high"]) + ", " \
                + words.label("belt_state", data["belt_state"]).lower() + ". " + words.label("target_kind", data["kind"])
            lines.append(signed.line("Target", text + (": " + data["source"] if data["source"] else ""), entry, given))
    for entry in card.readings_of(job, loop):
        data = entry["data"]
        how = words.label("method", data["method"]) + ", span " + data["span"] + " " + _quantity(data["length"]) \
            + ", readings " + ", ".join(data["readings"]) + " " + data["reading_unit"]
        if data["force"] is not None:
            how += " at " + _quantity(data["force"])
        how += ", engine " + words.label("engine_temperature", data["engine_temperature"]).lower()
        if data["tool"]:
            how += ", " + data["tool"]
        line = signed.line("Reading", how, entry, given)
        line["shown"] = _shown(data["shown"])
        line["sounds"] = listening.kept_sounds(data)
        if line["sounds"]:
            line["shown"].append(["Sound kept at the workshop for", ", ".join([one["label"] for one in line["sounds"]])])
        lines.append(line)
    return lines


def _shown(shown):
    """The result as it was shown when it was read: tension with its interval, verdict, source, working."""
    tension = shown.get("tension", "")
    unit = shown.get("unit", "")
    if tension and unit:
        tension += " " + unit + " per strand"
    if tension and shown.get("low") and shown.get("high"):
        tension += ", between " + shown["low"] + " and " + shown["high"] + " " + unit + " (95 %)"
    if tension and shown.get("other"):
        tension += "; " + shown["other"]
    verdict = ". ".join([shown[key] for key in ("verdict", "sentence") if shown.get(key)])
    pairs = [["Tension", tension], ["Verdict", verdict]] + [[label, shown.get(key, "")] for key, label in _SHOWN]
    return [pair for pair in pairs if pair[1]]


def step_lines(job: dict, loop: str, steps: list, given: dict) -> list:
    """Return the sheet's lines on steps that were told in words or said not to apply.

    Parameters:  job: the folded job · loop: "1" to "3", "" for the whole job · steps: codes of steps in order ·
                 given: the host's `people`
    """
    lines = []
    for step in steps:
        entry = card.standing_step(job, loop, step)
        if entry is not None and entry["kind"] == "step_skipped":
            lines.append(signed.line(card.step_name(step), "Not applicable: " + entry["data"]["reason"], entry, given))
        elif entry is not None:
            lines.append(signed.line(card.step_name(step), entry["data"]["text"], entry, given))
    return lines


def part_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's lines on a loop's parts: what was added, and how each part was moved.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    if not job["parts"] and not job["moves"]:
        return []
    from . import partcard
    return partcard.lines(job, loop, given)


def asked_lines(job: dict, given: dict) -> list:
    """Return the sheet's lines on what the customer was asked; what was declined is said as such.

    Parameters:  job: the folded job · given: the host's `people`
    """
    if not job["asked"]:
        return []
    from . import asked
    return asked.lines(job, given)


def cause_lines(job: dict, given: dict) -> list:
    """Return the sheet's lines on the cause: what was named, what the checks gave, what was looked at behind it.

    Parameters:  job: the folded job · given: the host's `people` and `table`
    """
    if not job["answers"] and not job["causes"] and not job["looks"]:
        return []
    # Imported here, so that a job without any of these does not load what reasons about causes.
    from . import causewords
    return causewords.lines(job, given)


def fitted_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's lines on how a belt was fitted.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    if not job["work"]:
        return []
    # Imported here, so that a job without any does not load the order of work.
    from . import fitted
    return fitted.lines(job, loop, given)


def offset_lines(job: dict, loop: str, given: dict) -> list:
    """Return the sheet's lines on a loop's offsets.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    if not job["offsets"]:
        return []
    from . import aligned
    return aligned.lines(job, loop, given)


def proof_lines(job: dict, given: dict) -> list:
    """Return the sheet's lines on the running checks.

    Parameters:  job: the folded job · given: the host's `people`
    """
    if not job["runs"]:
        return []
    from . import proved
    return proved.lines(job, given)


def compared(job: dict, given: dict) -> list:
    """Return what was read and found before and after the work, side by side.

    Parameters:  job: the folded job · given: the host's `table`
    """
    if not job["runs"] and not job["readings"] and not job["offsets"]:
        return []
    from . import sidebyside
    return sidebyside.blocks(job, given)


def photo_pairs(job: dict, given: dict) -> list:
    """Return the photos before and after the work, side by side.

    Parameters:  job: the folded job · given: the host's `people`
    """
    if not job["photos"]:
        return []
    from . import photopairs
    return photopairs.shown(job, given)


def _other_photos(job, given, pairs):
    """The photos that no pair shows."""
    paired = [side["id"] for pair in pairs for side in pair["sides"]]
    return [dict(photos.picture(entry, job), by=signed.by(entry, given)) for entry in job["photos"] if entry["id"] not in paired]


def due_lines(job: dict, given: dict) -> list:
    """Return the sheet's lines on what has to be looked at again.

    Parameters:  job: the folded job · given: the host's `people`
    """
    if not job["due"]:
        return []
    from . import nextcheck
    return nextcheck.lines(job, given)


def loop_blocks(job: dict, given: dict) -> list:
    """Return one block of lines for each loop: belts, readings, steps in words.

    Parameters:  job: the folded job · given: the host's `people`
    """
    blocks = []
    for loop, name in card.loops_of(job):
        lines = drive_lines(job, loop, given) + step_lines(job, loop, ["drive"], given) + belt_lines(job, loop, given)
        lines += step_lines(job, loop, ["belts"], given) + part_lines(job, loop, given)
        lines += step_lines(job, loop, ["parts", "fitted"], given) + fitted_lines(job, loop, given) + reading_lines(job, loop, given)
        lines += step_lines(job, loop, ["tension", "aligned"], given) + offset_lines(job, loop, given)
        if card.left_out(job, loop):
            lines.append({"label": "Not worked on: the cause is on another belt.", "text": "", "by": None})
        if lines:
            blocks.append({"name": name, "lines": lines})
    return blocks


def gate_text(job: dict) -> str:
    """Return one line on the safety gate, "" before it was passed.

    Parameters:  job: the folded job
    """
    if job["gate"] is None:
        return ""
    data = job["gate"]["data"]
    text = ". ".join([words.label("gate", code) for code in data["confirmed"]]) + "."
    if data["authorised"]:
        text += " Trained and authorised: " + data["authorised"] + "."
    return text


def _signature(job, given):
    if not job["signatures"]:
        return None
    entry = job["signatures"][-1]
    data = entry["data"]
    return {"by": signed.by(entry, given), "head": data["head"][:16], "count": str(data["count"]),
            "looked_at": [words.label("looked_at", code) for code in data["looked_at"]], "gaps": data["gaps"] or "",
            "second_person": data["second_person"], "sentence": data["sentence"],
            "stands": job["signature"] is not None, "late": str(len(job["late"]))}


def _late_lines(job, given):
    late = [entry for entry in job["history"] if entry["late"]]
    if not late:
        return []
    from . import steps
    return [signed.line(words.label("kind", entry["kind"]), steps.described(entry, job, given), entry, given) for entry in late]


def show(request: dict, given: dict) -> dict:
    """Show the printable sheet."""
    job = given["job"]
    booked = job["booked"]
    signature = _signature(job, given)
    pairs = photo_pairs(job, given)
    context = {
        "title": "Sheet " + booked["data"]["registration"], "on_job": card.heading(job), "back": "/jobs/" + job["id"],
        "shop_name": given["shop"]["name"], "shop_address": given["shop"]["address"], "code": codes.job_code(job["id"]),
        "registration": booked["data"]["registration"], "vehicle": vehicle(job), "complaint": booked["data"]["complaint"],
        "service": booked["data"]["service"], "booked_by": signed.by(booked, given), "drive": drive(job),
        "gate": gate_text(job), "gate_by": signed.by(job["gate"], given) if job["gate"] is not None else None,
        "cause": cause_lines(job, given) + step_lines(job, "", ["cause"], given) + asked_lines(job, given), "loops": loop_blocks(job, given),
        "compared": compared(job, given),
        "proved": step_lines(job, "", ["proved"], given) + proof_lines(job, given), "next_check": step_lines(job, "", ["next_check"], given) + due_lines(job, given),
        "notes": [signed.line("Note", e["data"]["text"], e, given) for e in job["notes"]],
        "photo_pairs": pairs, "photos": _other_photos(job, given, pairs), "gaps": gaps.of(job), "signature": signature,
        "late": _late_lines(job, given), "count": str(job["count"]), "head": job["head"][:16],
        "unsent": str(job["unsent"]) if job["unsent"] else "", "printed": times.shown(given["now"]),
        "printed_at": given["now"]}
    return reply.page("sheet.html", context)
