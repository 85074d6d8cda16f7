"""One part, large enough to hold up at a counter: what it is, what must be true of it, what is in the hand, where it stands."""

from .. import events
from .. import forms
from .. import picklist
from .. import reply
from .. import words
from . import inhand
from . import measuring
from . import parts
from . import signed

_LABELS = [["hand", "In the hand"], ["pulley", "Pulley"], ["number", "Part number"], ["due", "Due"], ["note", "Note"]]
# What may come after each state.
_STEPS = {"open": ["ordered", "arrived", "picked", "not_needed"], "ordered": ["arrived", "picked", "not_needed"],
          "arrived": ["picked", "returned"], "picked": ["returned"], "returned": ["ordered", "arrived", "picked", "not_needed"],
          "not_needed": ["ordered", "picked"]}
_PULLEYS = ["solid", "one_way", "decoupler"]


def show(request: dict, given: dict) -> dict:
    """Show a part, and the verdict on what is in the hand when that was said."""
    job, loop = given["job"], request["params"]["loop"]
    part = picklist.one(job, loop, request["params"]["part"]) if measuring.knows(job, loop) else None
    if part is None:
        return reply.missing(words.ERRORS["part-gone"])
    asked = measuring.query_as_form(request)
    if not asked["form"]:
        asked["form"] = [["number", part["number"]], ["due", part["due"]]]
    return _page(asked, given, part, forms.Reading(asked), 200)


def move(request: dict, given: dict) -> dict:
    """Record that a part was ordered, arrived, was picked, went back or is not needed."""
    job, loop = given["job"], request["params"]["loop"]
    part = picklist.one(job, loop, request["params"]["part"]) if measuring.knows(job, loop) else None
    if part is None:
        return reply.missing(words.ERRORS["part-gone"])
    form = forms.Reading(request)
    form.person(given)
    state = form.choice("state", "part_state")
    verdict = None
    hand = form.text("hand", inhand.MOST)
    if state in ("arrived", "picked") and not form.errors:
        verdict = inhand.judge(part, hand or "", _pulley(request), given, loop)
    data = {"part": part["code"], "what": part["what"], "state": state, "number": form.text("number", 60), "due": _due(form, state),
            "note": form.text("note", 300), "shown": inhand.shown(hand or "", _pulley(request), verdict)}
    if state in ("returned", "not_needed") and not data["note"]:
        form.fail("note", "say-why")
    if state == "picked" and verdict is not None and verdict["kind"] == "stop" and not data["note"]:
        form.fail("note", "stop-needs-reason")
    if form.errors:
        return _page(request, given, part, form, 422)
    if data["number"] is None and verdict is not None:
        data["number"] = verdict["number"] or None
    made = events.make(given, 0, "part_moved", job["id"], data, loop)
    return reply.record([made], parts.path_of(job, loop) + ("" if state in picklist.SETTLED else "/" + part["code"]))


def _pulley(request):
    typed = forms.value(request, "pulley")
    return typed if words.is_choice("alternator_pulley", typed) else ""


def _due(form, state):
    typed = forms.value(form.request, "due")
    if state != "ordered" or not typed:
        return None
    if not events.is_stamp(typed + "T00:00:00Z"):
        form.fail("due", "not-a-date")
        return None
    return typed


def _page(request, given, part, form, status):
    job, loop = given["job"], request["params"]["loop"]
    path = parts.path_of(job, loop)
    hand = forms.value(request, "hand")
    verdict = inhand.judge(part, hand[:inhand.MOST], _pulley(request), given, loop)
    context = measuring.frame(given, loop, part["what"])
    following = parts.first_open(picklist.of(job, loop), part["code"])
    note_hint = "Needed when it goes back, is not needed, or is taken although the comparison says STOP."
    context.update({
        "part": _part_view(part, job, loop, given), "back": path, "action": path + "/" + part["code"], "verdict": verdict,
        "hand": forms.field("hand", "What is in the hand?", inhand.readable(hand), form.errors, _hint(part), upper=part["code"] == "belt",
                            most=inhand.MOST),
        "pulley": forms.tiles("pulley", "Which pulley is on it?", [[code, words.label("alternator_pulley", code)] for code in _PULLEYS],
                              [_pulley(request)], form.errors, wordy=True) if part["code"] in picklist.WITH_PULLEY else None,
        "number": forms.field("number", "Part number", forms.value(request, "number"), form.errors, most=60),
        "due": {"value": forms.value(request, "due"), "error": form.errors.get("due", "")},
        "note": forms.field("note", "Note", forms.value(request, "note"), form.errors, note_hint, lines=2, most=300),
        "moves": [{"code": code, "label": words.label("part_state", code)} for code in _STEPS[part["state"]] if code != "picked"],
        "may_pick": "picked" in _STEPS[part["state"]], "may_order": "ordered" in _STEPS[part["state"]],
        "asked": parts.customer(job), "asked_path": context["card_path"] + "/asked",
        "stop": verdict is not None and verdict["kind"] == "stop",
        "next": {"path": path + "/" + following["code"], "label": following["what"]}
                if following is not None and following["code"] != part["code"] else None,
        "problems": form.problems(_LABELS)})
    return reply.page("part.html", context, status)


def _hint(part):
    if part["code"] == "belt":
        return "The marking on the belt, the number on the packet, or its barcode."
    return "The number on the packet, or its barcode."


def _part_view(part, job, loop, given):
    wanted = picklist.belt_wanted(job, loop) if part["code"] == "belt" else ["", None, ""]
    number = part["number"] or wanted[2]
    label = "Part number"
    if not part["number"] and wanted[0]:
        label = "As the old belt" if wanted[0] == "old" else "Belt of the recorded drive"
    stock = parts.in_stock(job, loop, [part], given)
    withdrawn = "/jobs/" + job["id"] + "/withdraw?event="
    return {"what": part["what"], "how_many": part["how_many"], "single_use": part["single_use"], "true": part["true"],
            "why": part["why"], "must": part["need"] == "must", "need": words.label("part_need", part["need"]),
            "stock": stock.get(part["code"]), "number": number, "number_label": label, "state": parts.state_of(part),
            "by": signed.by(part["entry"], given) if part["entry"] is not None else None,
            "undo": withdrawn + part["entry"]["id"] if part["entry"] is not None else "",
            "take_off": withdrawn + part["listed"]["id"] if part["listed"] is not None and part["entry"] is None else "",
            "moves": [_moved(entry, given) for entry in picklist.moves_of(job, loop, part["code"])]}


def _moved(entry, given):
    return {"text": told(entry["data"]), "by": signed.by(entry, given)}


def told(data: dict) -> str:
    """Return one line on how a part was moved.

    Parameters:  data: of a "part_moved" event
    """
    text = words.label("part_state", data["state"])
    if data["due"]:
        text += ", due " + data["due"]
    if data["number"]:
        text += ", " + data["number"]
    shown = data["shown"]
    if shown.get("verdict"):
        text += ". " + shown["verdict"] + ": " + shown.get("reasons", "")
    elif data["state"] == "picked":
        text += ". Not compared here."
    return text + (" " + data["note"] if data["note"] else "")


def lines(job: dict, loop: str, given: dict) -> list:
    """Return the printed sheet's lines on a loop's parts: what was added, and how each part was moved.

    Parameters:  job: the folded job · loop: "1" to "3" · given: the host's `people`
    """
    found = []
    for entry in job["parts"]:
        data = entry["data"]
        if entry["loop"] == loop:
            text = data["how_many"] + ", " + data["what"] + (". " + data["why"] if data["why"] else "")
            found.append(signed.line("Part listed", text, entry, given))
    return found + [signed.line(entry["data"]["what"], told(entry["data"]), entry, given) for entry in job["moves"] if entry["loop"] == loop]
