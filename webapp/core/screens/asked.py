"""The customer: what was offered, and whether it was accepted or declined, by whom."""

from .. import card
from .. import events
from .. import forms
from .. import picklist
from .. import reply
from .. import words
from . import signed

_LABELS = [["what", "What is offered?"], ["by", "Who was asked?"], ["answer", "Answer"]]
_MOST = 300


def show(request: dict, given: dict) -> dict:
    """Show what was offered with the answers, and the form for an offer."""
    return _page(request, given, forms.filled([["what", proposed(given["job"])]]), forms.Reading(request), 200)


def save(request: dict, given: dict) -> dict:
    """Record an offer, or the answer to one."""
    job = given["job"]
    offer = forms.value(request, "offer")
    form = forms.Reading(request)
    form.person(given)
    answer = form.choice("answer", "customer_answer")
    by = form.text("by", 80, True)
    replaces = None
    if offer:
        standing = [entry for entry in card.open_offers(job) if entry["id"] == offer]
        if not standing:
            form.fail("", "offer-gone")
        what = standing[0]["data"]["what"] if standing else ""
        replaces = offer
    else:
        what = form.text("what", _MOST, True)
    if form.errors:
        return _page(request, given, request, form, 422)
    made = events.make(given, 0, "customer_asked", job["id"], {"what": what, "answer": answer, "by": by}, "", replaces)
    return reply.record([made], "/jobs/" + job["id"] + "/asked")


def proposed(job: dict) -> str:
    """Return what there is to offer: causes and the parts that must be there, "" when all of it was offered.

    Parameters:  job: the folded job
    """
    names = []
    for loop, _ in card.loops_of(job):
        for part in picklist.of(job, loop):
            if part["need"] == "must" and part["state"] != "not_needed" and part["what"] not in names:
                names.append(part["what"])
    text = ", ".join(card.cause_names(job)) + ". " if job["causes"] else ""
    text += "Parts: " + ", ".join(names) + "." if names else ""
    text = text.strip()
    if len(text) > _MOST:
        text = text[:_MOST - 1] + "\u2026"
    return "" if text in [entry["data"]["what"] for entry in job["asked"]] else text


def _page(request, given, typed, form, status):
    job = given["job"]
    path = "/jobs/" + job["id"]
    answering = forms.value(request, "offer")
    errors = form.errors
    own = {} if answering else errors
    context = {
        "title": "Customer", "on_job": card.heading(job), "back": path, "action": path + "/asked",
        "offers": [_offer(entry, given, request, errors) for entry in job["asked"]], "cautions": card.cautions(job, "parts"),
        "what": forms.field("what", "What is offered?", "" if answering else forms.value(typed, "what"), own,
                            "What was found and what it needs. The price belongs to the office.", lines=4, most=_MOST),
        "by": forms.field("by", "Who was asked, and how?", "" if answering else forms.value(typed, "by"), own,
                          "For example: owner, by telephone.", most=80),
        "answer": forms.tiles("answer", "Answer", words.choice_pairs("customer_answer"),
                              ["offered" if answering else forms.value(typed, "answer") or "offered"], own, wordy=True),
        "problems": form.problems(_LABELS)}
    return reply.page("asked.html", context, status)


_KINDS = {"offered": ["watch", "clock"], "accepted": ["good", "tick"], "declined": ["stop", "cross"]}


def _offer(entry, given, request, errors):
    data = entry["data"]
    mine = forms.value(request, "offer") == entry["id"]
    kind, icon = _KINDS[data["answer"]]
    return {"id": entry["id"], "what": data["what"], "by": data["by"], "kind": kind, "icon": icon,
            "label": words.label("customer_answer", data["answer"]), "open": data["answer"] == "offered",
            "entered": signed.by(entry, given), "typed_by": forms.value(request, "by") if mine else data["by"],
            "error": errors.get("by", "") if mine else "", "undo": "/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"]}


def lines(job: dict, given: dict) -> list:
    """Return the printed sheet's lines on what the customer was asked; what was declined is said as such.

    Parameters:  job: the folded job · given: the host's `people`
    """
    return [signed.line("Customer", words.label("customer_answer", entry["data"]["answer"]) + ": " + entry["data"]["what"] + " "
                        + entry["data"]["by"], entry, given) for entry in job["asked"]]
