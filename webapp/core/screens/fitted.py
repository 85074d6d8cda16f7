"""Fitted: the order of work for the belt's kind of tensioner, ticked line by line; bolts with torque, angle and source."""

from .. import card
from .. import drawings
from .. import events
from .. import fitting
from .. import forms
from .. import reply
from .. import words
from . import measuring
from . import photos
from . import signed

# A bolt of an accessory drive lies well inside this [N·m, degrees]: it catches slips of the keys and of the unit.
_TORQUE = (0.5, 1000.0)
_ANGLE = (0.0, 720.0)
_LABELS = [["bolt", "Which bolt"], ["torque", "Torque"], ["angle", "Angle"], ["source", "Where from"], ["lines", "Order of work"]]
_UNITS = ["N\u00b7m", "lbf\u00b7ft"]


def show(request: dict, given: dict) -> dict:
    """Show the order of work with what is done of it."""
    away = measuring.turned_away(request, given)
    return away if away is not None else _page(request, given, None, 200)


def _page(request, given, reading, status):
    job, loop = given["job"], request["params"]["loop"]
    errors = reading.errors if reading else {}
    found = fitting.of(job, loop)
    ticked = forms.values(request, "done")
    context = measuring.frame(given, loop, "Fitted")
    shown = [_row(line, given, ticked) for line in found]
    in_lines = [line["caution"] for line in found]
    left = len([line for line in found if line["state"] == "open"])
    context.update({
        "action": context["path"] + "/fitted", "lines": shown, "tensioner": words.label("tensioner", measuring.tensioner(job, loop)),
        "unknown": not found, "facts_path": context["card_path"] + "/facts", "left": str(left) if left else "", "count": str(len(found)),
        "cautions": [text for text in card.cautions(job, "fitted", loop) if text not in in_lines],
        "bolts": [_bolt(entry, given) for entry in fitting.bolts(job, loop)],
        "bolts_open": bool([name for name in ("bolt", "torque", "angle", "source") if name in errors]),
        "fields": [forms.field("bolt", "Which bolt", forms.value(request, "bolt"), errors, most=30)],
        "torque": measuring.measure("torque", "Torque", measuring.typed_quantity(request, "torque"), _UNITS[0], _UNITS, errors,
                                    "From the vehicle maker's data. Nothing is filled in for you."),
        "more": [forms.field("angle", "Then angle, degrees", forms.value(request, "angle"), errors, "Only where the maker gives one.",
                             mode="decimal", most=8),
                 forms.field("source", "Where the value is from", forms.value(request, "source"), errors,
                             "Which sheet or page, and which wrench.", most=120)],
        "shots": _shots(job, loop, context["path"] + "/fitted"),
        "lines_error": errors.get("lines", ""), "words_path": context["path"] + "/step/fitted",
        "problems": reading.problems(_LABELS) if reading else []})
    return reply.page("fitted.html", context, status)


def _shots(job, loop, goto):
    seats, route = [photos.shot(job, subject, loop, goto) for subject in ("seating", "route")]
    return [seats, dict(route, slot=photos.afterwards(route["slot"]))]


def _row(line, given, ticked):
    entry = line["entry"]
    return {"item": line["item"], "what": line["what"], "why": line["why"], "caution": line["caution"],
            # Drawn where the reason is told: once for all pulleys.
            "drawing": drawings.of_work(line["item"]) if line["why"] else "",
            "bolts": line["kind"] == "bolts", "may_lack": line["kind"] != "must", "open": line["state"] == "open",
            "on": line["item"] in ticked, "done": line["state"] == "done",
            "by": signed.by(entry, given) if entry is not None else None,
            "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"] if entry is not None else ""}


def _bolt(entry, given):
    return {"text": bolt_words(entry["data"]), "by": signed.by(entry, given),
            "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"]}


def bolt_words(data: dict) -> str:
    """Return one line on a bolt that was tightened, with its value and where that is from."""
    parts = [measuring.shown(data["torque"])] if data["torque"] else []
    if data["angle_deg"]:
        parts.append(data["angle_deg"] + "\u00b0")
    return data["what"] + ": " + ", then ".join(parts) + (" (" + data["source"] + ")" if data["source"] else "")


def save(request: dict, given: dict) -> dict:
    """Record the lines ticked, the line said not to be there, and a bolt with its value."""
    away = measuring.turned_away(request, given)
    if away is not None:
        return away
    job, loop = given["job"], request["params"]["loop"]
    found = fitting.of(job, loop)
    reading = forms.Reading(request)
    reading.person(given)
    ticked = [value for value in forms.values(request, "done") if value]
    lacking = [value for value in forms.values(request, "not_here") if value]
    rows = [_work(line["item"], line["what"], "not_here" if line["item"] in lacking else "done") for line in found
            if line["state"] == "open" and (line["item"] in ticked and line["kind"] != "bolts"
                                            or line["item"] in lacking and line["kind"] != "must")]
    rows += _read_bolt(reading, request)
    # What the form named and the order of work does not ask for any more: the facts were changed meanwhile.
    if [item for item in ticked + lacking if item not in [line["item"] for line in found]]:
        reading.fail("lines", "not-a-choice")
    early = fitting.too_early(found, ticked + lacking)
    if early:
        reading.fail("lines", "before-turning", {"what": "; ".join(early)})
    if not rows and not reading.errors:
        reading.fail("lines", "nothing-ticked")
    if len(rows) > len(given["ids"]):
        reading.fail("lines", "too-many", {"most": str(len(given["ids"]))})
    if reading.errors:
        return _page(request, given, reading, 422)
    bolts = {entry["data"]["item"]: entry["id"] for entry in fitting.bolts(job, loop)}
    made = [events.make(given, i, "work_done", job["id"], rows[i], loop, bolts.get(rows[i]["item"])) for i in range(len(rows))]
    answered = [row["item"] for row in rows] + (["bolts"] if [row for row in rows if row["torque"]] else [])
    left = [line for line in found if line["state"] == "open" and line["item"] not in answered]
    return reply.record(made, "/jobs/" + job["id"] + ("/" + loop + "/fitted" if left else ""))


def _work(item, what, result):
    return {"item": item, "what": what, "result": result, "torque": None, "angle_deg": None, "source": None, "note": None}


def _read_bolt(reading, request):
    """The bolt that was typed as [data], [] when nothing of it was."""
    if not [name for name in ("bolt", "torque", "angle", "source") if forms.value(request, name)]:
        return []
    name = reading.text("bolt", 30, True)
    torque = reading.quantity("torque", "torque", _TORQUE[0], _TORQUE[1], True)
    source = reading.text("source", 120, True)
    angle = measuring.decimal(reading, "angle", _ANGLE[0], _ANGLE[1])
    if name is None or torque is None or source is None:
        return []
    return [{"item": fitting.bolt_item(name), "what": name, "result": "done", "torque": torque, "angle_deg": angle, "source": source,
             "note": None}]


def lines(job: dict, loop: str, given: dict) -> list:
    """Return the printed sheet's lines on how a belt was fitted, none while nothing is ticked."""
    done = [entry for entry in job["work"] if entry["loop"] == loop]
    bolts = fitting.bolts(job, loop)
    plain = [entry for entry in done if entry not in bolts]
    found = []
    if plain:
        last = {entry["data"]["item"]: entry["id"] for entry in plain}
        line = {"label": "Fitted", "text": "", "by": signed.by(plain[-1], given)}
        line["shown"] = [[entry["data"]["what"], words.label("work_result", entry["data"]["result"])] for entry in plain
                         if last[entry["data"]["item"]] == entry["id"]]
        found.append(line)
    for entry in bolts:
        found.append({"label": "Bolt", "text": bolt_words(entry["data"]), "by": signed.by(entry, given)})
    return found
