"""The old and the new belt side by side: what each shows, what is missing, and whether one may stand for the other."""

from .. import belts
from .. import card
from .. import events
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import belts as asking
from . import beltwords
from . import jobs
from . import measuring


def overview(request: dict, given: dict) -> dict:
    """Show the old and the new belt side by side, what is missing, and the verdict."""
    return _overview(request, given, forms.Reading(request), 200)


def accept(request: dict, given: dict) -> dict:
    """Record why a new belt that differs is fitted all the same."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    job, loop = given["job"], request["params"]["loop"]
    form = forms.Reading(request)
    form.person(given)
    reason = form.text("reason", 300, needed=True)
    if form.errors:
        return _overview(request, given, form, 422)
    event = events.make(given, 0, "difference_accepted", job["id"], {"reason": reason}, loop)
    return reply.record([event], "/jobs/" + job["id"] + "/" + loop + "/belts")


def _overview(request, given, form, status):
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    context = measuring.frame(given, loop, "Old and new belt")
    entries = [card.belt_of(job, loop, "old"), card.belt_of(job, loop, "new")]
    sides = [_side(job, loop, "old", entries[0], context["path"]), _side(job, loop, "new", entries[1], context["path"])]
    verdict, reasons = _judge(job, loop, entries)
    if card.drive_of(job, loop) is not None:
        # Imported here, so that a job without a drive does not load the drive's modules.
        from . import drivebelts
        added = drivebelts.add(job, loop, entries, verdict, reasons, given["shop"])
        verdict, reasons = added["verdict"], added["reasons"]
        context["drive_hints"] = added["drive_hints"]
    accepted = _accepted(given, loop)
    context.update({
        "sides": sides, "rows": _rows(entries), "verdict": verdict, "reasons": reasons,
        "means": words.reason("means-" + measuring.tensioner(job, loop), {}),
        "accepted": accepted, "may_accept": verdict["kind"] in ("watch", "stop") and not accepted,
        "reason": forms.field("reason", "Fit it all the same? Say why.", forms.value(request, "reason"), form.errors,
                              "Who decided, and on what grounds: it stands in the record.", lines=2, most=300),
        "problems": form.problems(asking.LABELS), "next": _next(sides, context), "cautions": card.cautions(job, "belts", loop)})
    return reply.page("belts.html", context, status)


def _side(job, loop, place, entry, path):
    pictures = asking.pictures_of(job, loop, place)
    data = entry["data"] if entry else None
    return {"place": place, "name": words.label("belt_place", place), "path": path + "/belts/" + place,
            "change": ("Change the " if entry else "Record the ") + words.label("belt_place", place).lower(),
            "recorded": entry is not None, "pictures": pictures, "open_step": asking.first_open(job, loop, place),
            "missing": [m[1] for m in asking.lacking(data, len(pictures) > 0)] if data else ["nothing recorded yet"],
            "findings": [words.reason(f[0], f[1]) for f in belts.findings(data)] if data else []}


def _rows(entries):
    """The table of both belts: [[what, old, new], ...]; a row that neither belt fills is left out."""
    rows = []
    for name, tell in _ROWS:
        cells = [tell(entry["data"]) if entry else "" for entry in entries]
        if cells[0] or cells[1]:
            rows.append([name, cells[0] or "–", cells[1] or "–"])
    return rows


def _tell_marking(data):
    return belts.parse(data["marking"])["text"] if _readable(data["marking"]) else "none readable"


def _readable(marking):
    return marking is not None and beltwords.marking_words(marking)["state"] == "read"


def _tell_ribs(data):
    return "" if data["ribs_counted"] is None else str(data["ribs_counted"]) + (", on a photo" if data.get("ribs_source") == "photo" else "")


def _tell_length(data):
    return "" if data["length"] is None else measuring.shown(data["length"])


def _tell_tape(data):
    """The length that the tape speaks for, short enough for the table."""
    constant = data["tape_constant"]
    try:
        found = belts.effective_from_tape(units.to_si(data["taped"], "length") * 1000,
                                          None if constant is None else units.to_si(constant, "length") * 1000,
                                          data["section"])
    except CoreError:
        return measuring.shown(data["taped"])
    return numbers.fixed(found["effective_mm"], 0) + " mm, from " + measuring.shown(data["taped"]) + " taped"


def _tell_wear(data):
    return ", ".join([words.label("wear", code) for code in data["wear"]])


_ROWS = [["Marking", _tell_marking], ["Section", lambda data: data["section"] or ""],
         ["Printed length", _tell_length], ["Ribs counted", _tell_ribs],
         ["Width", lambda data: measuring.shown(data["width"])], ["By tape", lambda data: _tell_tape(data) if data["taped"] else ""],
         ["Stretch-fit", lambda data: "yes" if data["stretch"] else ""], ["Wear", _tell_wear],
         ["Seen", lambda data: data["wear_note"] or ""], ["Batch", lambda data: data["batch"] or ""]]


def _judge(job, loop, entries):
    """The verdict on two belts and its reasons in words."""
    if entries[0] is None or entries[1] is None:
        return {"kind": "open", "word": "Not compared yet", "sentence": words.reason("both-needed", {})}, []
    found = card.belt_verdict(job, loop)
    reasons = found["sentences"]
    if found["verdict"] == "same" and found["taped"]:
        return {"kind": "watch", "word": "Same, by tape only", "sentence": words.reason("tape-only", {})}, []
    if found["verdict"] == "same" and _contradicted(entries):
        return {"kind": "watch", "word": "Same by marking only", "sentence": words.reason("marking-doubted", {})}, []
    return verdict_of(found), reasons


def _contradicted(entries):
    """Whether something that was counted or measured speaks against what is printed on one of the belts."""
    for entry in entries:
        for found in belts.findings(entry["data"]):
            if found[0] not in ("tape-no-constant", "tape-stretch"):
                return True
    return False


def verdict_of(found: dict) -> dict:
    """Return a comparison's verdict in words.

    Parameters:  found: from `belts.compare`
    Returns:     {"kind", "word", "sentence"} as `_verdict.html` takes it
    """
    kind, word, code = _VERDICTS[found["verdict"]]
    if found["verdict"] == "differs":
        word += " in " + _differs_in(found["reasons"])
    return {"kind": kind, "word": word, "sentence": words.reason(code, {})}


_VERDICTS = {"same": ("good", "Same", "verdict-same"), "differs": ("watch", "Differs", "verdict-differs"),
             "do_not_fit": ("stop", "Stop: do not fit", "verdict-stop"),
             "cannot_tell": ("open", "Cannot tell yet", "verdict-open")}


def _differs_in(reasons):
    parts = []
    for code, _ in reasons:
        part = "cogs" if code == "cogs-differ" else "length"
        if part not in parts:
            parts.append(part)
    return " and ".join(parts)


def _accepted(given, loop):
    found = card.accepted_difference(given["job"], loop)
    if found is None:
        return None
    return {"reason": found["data"]["reason"], "who": jobs.person_name(given, found["who"])}


def _next(sides, context):
    """The one main action: the next belt that lacks something, else the way back to the card."""
    for side in sides:
        if side["open_step"]:
            verb = "Go on with the " if side["recorded"] else "Record the "
            return {"path": side["path"] + "?step=" + side["open_step"], "label": verb + side["name"].lower()}
    return {"path": context["card_path"], "label": "Back to the card"}
