"""The pick list of a belt: what must be there and what if needed, how each part stands, and parts that people add."""

from .. import card
from .. import events
from .. import evidence
from .. import forms
from .. import picklist
from .. import reply
from .. import stocklist
from .. import words
from . import inhand
from . import measuring
from . import signed

_LABELS = [["what", "Which part?"], ["how_many", "How many?"], ["need", "Must or if needed"], ["number", "Part number"],
           ["why", "Why?"]]
# How a state looks: badge and icon.
LOOKS = {"open": ["", "ring"], "ordered": ["watch", "clock"], "arrived": ["watch", "arrow"], "picked": ["good", "tick"],
         "returned": ["watch", "back"], "not_needed": ["", "dash"]}
_LABEL_OF_OPEN = "Open"


def show(request: dict, given: dict) -> dict:
    """Show the pick list."""
    if not measuring.knows(given["job"], request["params"]["loop"]):
        return measuring.no_such_belt()
    return _page(request, given, forms.Reading(request), 200)


def add(request: dict, given: dict) -> dict:
    """Add a part that the causes do not bring."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    form = forms.Reading(request)
    form.person(given)
    data = {"part": picklist.own_code(given["ids"][0]), "what": form.text("what", 80, True), "how_many": form.text("how_many", 30, True),
            "need": form.choice("need", "part_need"), "number": form.text("number", 60), "why": form.text("why", 300)}
    if form.errors:
        return _page(request, given, form, 422)
    return reply.record([events.make(given, 0, "part_listed", job["id"], data, loop)], path_of(job, loop))


def path_of(job: dict, loop: str) -> str:
    """Return the address of a belt's pick list.

    Parameters:  job: the folded job · loop: "1" to "3"
    """
    return "/jobs/" + job["id"] + "/" + loop + "/parts"


def state_of(part: dict) -> dict:
    """Return how a part stands as a badge shows it.

    Parameters:  part: of `picklist.of`
    Returns:     {"kind", "icon", "label"}
    """
    kind, icon = LOOKS[part["state"]]
    label = _LABEL_OF_OPEN if part["state"] == "open" else words.label("part_state", part["state"])
    if part["state"] == "ordered" and part["due"]:
        label += ", due " + part["due"]
    if part["state"] == "returned":
        label += ": open again"
    return {"kind": kind, "icon": icon, "label": label}


def first_open(parts: list, after: str = ""):
    """Return the part to see to next, None when the list is settled.

    Parameters:  parts: of `picklist.of` · after: code of the part that the next one is looked for behind, "" for the start
    """
    left = [part for part in parts if part["state"] not in picklist.SETTLED
            and (part["need"] == "must" or part["state"] in ("ordered", "arrived"))]
    codes = [part["code"] for part in parts]
    for part in left:
        if after not in codes or codes.index(part["code"]) > codes.index(after):
            return part
    return left[0] if left else None


def _page(request, given, form, status):
    job, loop = given["job"], request["params"]["loop"]
    parts = picklist.of(job, loop)
    context = measuring.frame(given, loop, "Parts")
    path = path_of(job, loop)
    following = first_open(parts)
    stock = in_stock(job, loop, parts, given)
    state = picklist.stands(job, loop)
    entry = card.standing_step(job, loop, "parts")
    named = evidence.named(job, loop)
    told = ""
    if entry is not None:
        told = entry["data"]["text"] if entry["kind"] == "step_recorded" else "Not applicable: " + entry["data"]["reason"]
    context.update({
        "back": context["card_path"], "action": path, "groups": _groups(parts, path, given, stock), "stands": state[1],
        "complete": state[0] == "done" and job["moves"] != [], "told": told, "told_by": signed.by(entry, given) if entry else None,
        "causes": ", ".join(named["data"]["names"]) if named is not None else "", "elsewhere": named is None and bool(job["causes"]), "cause_path": context["card_path"] + "/cause",
        "service": job["booked"]["data"]["service"], "several": len(card.loops_of(job)) > 1 and named is not None and named["loop"] == "", "customer": customer(job),
        "asked_path": context["card_path"] + "/asked", "cautions": card.cautions(job, "parts", loop),
        "plain": context["path"] + "/step/parts", "add_open": form.errors != {}, "fields": _fields(request, form.errors),
        "need": forms.tiles("need", "Must or if needed?", words.choice_pairs("part_need"),
                            [forms.value(request, "need") or "must"], form.errors),
        "next": {"path": path + "/" + following["code"], "label": following["what"]} if following else None,
        "problems": form.problems(_LABELS)})
    return reply.page("parts.html", context, status)


def _fields(request, errors):
    def field(name, label, hint, lines, most):
        return forms.field(name, label, forms.value(request, name), errors, hint, lines=lines, most=most)
    return {"what": field("what", "Which part?", "", 0, 80),
            "how_many": forms.field("how_many", "How many?", forms.value(request, "how_many") or "1", errors, most=30),
            "number": field("number", "Part number", "If you know it.", 0, 60), "why": field("why", "Why?", "", 2, 300)}


def customer(job: dict) -> dict:
    """Return how the customer's word stands: {"kind": "good", "watch" or "open", "sentence"}.

    Parameters:  job: the folded job
    """
    if not job["asked"]:
        return {"kind": "open", "sentence": "The customer has not been asked yet. Ask before you order."}
    if card.open_offers(job):
        return {"kind": "watch", "sentence": "The customer was asked and has not answered yet."}
    declined = [entry for entry in job["asked"] if entry["data"]["answer"] == "declined"]
    last = job["asked"][-1]["data"]
    if declined:
        return {"kind": "watch", "sentence": "Declined: " + "; ".join([entry["data"]["what"] for entry in declined])}
    return {"kind": "good", "sentence": "Accepted by " + last["by"] + "."}


def in_stock(job: dict, loop: str, parts: list, given: dict) -> dict:
    """Return what the stock list says of parts: {code: as `stocklist.told`}, without those that it does not know.

    Parameters:  job: the folded job · loop: "1" to "3" · parts: of `picklist.of` · given: of the screen
    """
    lines = inhand.lines_of(given)
    if not lines:
        return {}
    marking = picklist.belt_wanted(job, loop)[2]
    found = {}
    for part in parts:
        line = stocklist.line_for(part, marking, lines)
        if line is not None:
            found[part["code"]] = stocklist.told(part, line)
    return found


def _groups(parts, path, given, stock):
    groups = []
    for need, label in words.choice_pairs("part_need"):
        rows = [_row(part, path, given, stock.get(part["code"])) for part in parts if part["need"] == need]
        if rows:
            groups.append({"code": need, "name": label, "rows": rows})
    return groups


def _row(part, path, given, stock):
    return {"what": part["what"], "how_many": part["how_many"], "state": state_of(part), "why": "; ".join(part["why"]),
            "number": part["number"], "single_use": part["single_use"], "stock": stock if part["state"] not in picklist.SETTLED else None, "path": path + "/" + part["code"],
            "by": signed.by(part["entry"], given) if part["entry"] is not None else None}
