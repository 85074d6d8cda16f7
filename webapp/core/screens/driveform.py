"""The drive of one belt: how to begin, how it stands, what it still lacks, and the order of its pulleys."""

from .. import card
from .. import drive_entry
from .. import forms
from .. import library
from .. import reply
from .. import times
from .. import words
from . import driverecord
from . import driveview
from . import jobs
from . import measuring
from . import photos


def overview(request: dict, given: dict) -> dict:
    """Show the drive of a belt, or the ways to begin one."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    entry = card.drive_of(job, loop)
    if entry is None:
        return reply.page("drive_begin.html", _beginning(given, loop))
    return _page(request, given, loop, entry, forms.Reading(request), 200)


def _frame(given, loop):
    job = given["job"]
    context = measuring.frame(given, loop, "Drive")
    told = card.standing_step(job, loop, "drive")
    base = driverecord.path_of(job, loop)
    context.update({"base": base, "shots": [photos.shot(job, "route", loop, base)], "words_path": context["path"] + "/step/drive",
                    "cautions": card.cautions(job, "drive", loop),
                    "told": "" if told is None else told["data"]["text" if told["kind"] == "step_recorded" else "reason"]})
    return context


def _beginning(given, loop):
    return dict(_frame(given, loop), lede="Which pulleys, where, and how the belt runs: then spans, tensions and faults are computed.")


def _page(request, given, loop, entry, form, status):
    job, data = given["job"], entry["data"]
    drive = data["drive"]
    context = _frame(given, loop)
    base = context["base"]
    lacking = driverecord.lacking(drive, base)
    faults = driverecord.faults(drive, base)
    rows = [_row(drive, i, base) for i in range(len(drive["pulleys"]))]
    for row in rows:
        row["faulty"] = len([f for f in faults if f["kind"] == "stop" and row["name"] in f["pulleys"] and len(f["pulleys"]) < 3]) > 0
    context.update({
        "name": data["name"], "engine": data["engine"] or "", "origin": words.label("drive_origin", data["origin"]),
        "who": jobs.person_name(given, entry["who"]), "ago": times.ago(entry["at"], given["now"]), "shared": data["shared"],
        "rows": rows, "order_open": forms.asked(request, "open") == "order" or status != 200, "lacking": lacking, "faults": faults,
        "belt": library.belt_words(drive) or "Not recorded yet", "tensioner": _tensioner_words(drive),
        "crank_turns": words.label("sense", drive.get("rotation") or "clockwise").lower(),
        "view": _view(given, loop, data, base, forms.asked(request, "slip") == "yes"), "removed": _removed(job, entry), "problems": form.problems([]),
        "next": _next(context, drive, lacking, faults)})
    return reply.page("drive.html", context, status)


def _view(given, loop, data, base, whole):
    """The route and the answers; what is lacking or faulty is listed on this page with a way to mend it."""
    target = driveview.target_n(measuring.target_of(given["job"], loop))
    shown = driveview.view(drive_entry.to_drive(data["drive"], data["name"], loop), given["shop"], target, base, whole)
    shown["problems"], shown["lacking"] = [], ""
    return shown


def _row(drive, index, base):
    pulley = drive["pulleys"][index]
    size = measuring.shown(pulley.get("diameter"))
    place = "at the centre" if pulley["kind"] == "crank" else driverecord.place_words(pulley.get("place"))
    kind = words.label("pulley_kind", pulley["kind"])
    return {"number": str(index + 1), "index": str(index), "name": pulley["name"], "path": base + "/pulleys/" + str(index),
            "kind": "" if kind.lower() == pulley["name"].lower() else kind, "face": words.label("belt_face", pulley.get("face") or "ribs"),
            "size": "⌀ " + size if size else "no diameter yet", "place": place or "no place yet",
            "first": index == 0, "last": index == len(drive["pulleys"]) - 1, "crank": pulley["kind"] == "crank"}


def _tensioner_words(drive):
    tensioner = drive.get("tensioner") or {}
    if not tensioner:
        return "Not recorded yet"
    kind = words.label("tensioner", tensioner.get("kind") or "unknown")
    return kind + (", moves " + tensioner["pulley"] if tensioner.get("pulley") else "")


def _next(context, drive, lacking, faults):
    """The one main action: go on along the belt, then its belt, its tensioner, what is lacking, what cannot be, the card."""
    base = context["base"]
    if not drive.get("belt") and not drive.get("tensioner"):
        if drive["pulleys"][0].get("diameter") is None and len(drive["pulleys"]) == 1:
            return {"path": base + "/pulleys/0", "label": "Crankshaft pulley"}
        return {"path": base + "/pulleys/new", "label": "Next pulley"}
    if not drive.get("belt"):
        return {"path": base + "/belt", "label": "Belt"}
    if not drive.get("tensioner"):
        return {"path": base + "/tensioner", "label": "Tensioner"}
    if lacking:
        return {"path": lacking[0]["path"], "label": "Fill in what is lacking"}
    if faults and faults[0]["kind"] == "stop":
        return {"path": faults[0]["path"], "label": "Check " + faults[0]["link"]}
    return {"path": context["card_path"], "label": "Done"}


def _before(job, entry):
    """The drive entry that this one replaced, None when there is none."""
    for old in job["history"]:
        if old["id"] == entry["replaces"] and old["kind"] == "drive_recorded":
            return old
    return None


def _removed(job, entry):
    """Name of the pulley that the last change took out, "" when it did something else."""
    before = _before(job, entry)
    if before is None or len(before["data"]["drive"]["pulleys"]) <= len(entry["data"]["drive"]["pulleys"]):
        return ""
    kept = driverecord.names(entry["data"]["drive"])
    return ", ".join([name for name in driverecord.names(before["data"]["drive"]) if name not in kept])


# ---- the order of the pulleys ----

def change(request: dict, given: dict) -> dict:
    """Move a pulley along the belt, take one out, or put the one taken out back."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    entry = card.drive_of(job, loop)
    base = driverecord.path_of(job, loop)
    if entry is None:
        return reply.go(base)
    data = driverecord.standing(job, loop)
    what, goto = forms.value(request, "do"), base + "?open=order#order"
    if what == "undo" and _removed(job, entry):
        data = _before(job, entry)["data"]
        goto = base
    elif not _changed(data["drive"], what, forms.value(request, "pulley"), forms.value(request, "name")):
        return reply.go(goto)  # A page that is no longer true, or nothing to do.
    form = forms.Reading(request)
    return driverecord.record(form, given, loop, data, goto) or _page(request, given, loop, entry, form, 422)


def _changed(drive, what, place, name):
    """Carry out one change of the order; false when the pulley is not where the page showed it."""
    pulleys = drive["pulleys"]
    if place not in [str(i) for i in range(len(pulleys))] or pulleys[int(place)]["name"] != name:
        return False
    index = int(place)
    if what == "remove" and pulleys[index]["kind"] != "crank":
        driverecord.remove(drive, index)
        return True
    other = index + {"up": -1, "down": 1}.get(what, 0)
    if other == index or other < 0 or other >= len(pulleys):
        return False
    pulleys[index], pulleys[other] = pulleys[other], pulleys[index]
    return True


# ---- copying ----

def choose(request: dict, given: dict) -> dict:
    """Offer the saved drives, those of a like car and engine first."""
    return _choose(request, given, forms.Reading(request), 200)


def copy(request: dict, given: dict) -> dict:
    """Record a copy of a saved drive for this belt."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    form = forms.Reading(request)
    found = given["drive"]
    saved = None
    if found is None:
        form.fail("", "no-such-saved-drive")
    else:
        data = driverecord.fresh(found["data"]["drive"], "copied", found["data"]["name"], found["data"]["engine"], found["id"])
        saved = driverecord.record(form, given, loop, data, driverecord.path_of(job, loop))
    return saved or _choose(request, given, form, 422)


def _choose(request, given, form, status):
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    context = _frame(given, loop)
    booked = job["booked"]["data"]
    wanted = _words_of([booked["car"], booked["engine"]])
    order = []
    for i, saved in enumerate(given["drives"]):
        same = [word for word in _words_of([saved["name"], saved["engine"]]) if word in wanted]
        order.append([-len(same), i])
    order.sort()
    standing = card.drive_of(job, loop)
    context.update({
        "title": "Copy a saved drive", "problems": form.problems([]), "standing": "" if standing is None else standing["data"]["name"],
        "car": ", ".join([text for text in (booked["car"], booked["engine"]) if text]),
        "rows": [dict(_saved_row(given["drives"][i], given), alike=score < -1) for score, i in order]})
    return reply.page("drive_copy.html", context, status)


def _words_of(texts):
    """The words of some texts in small letters; one or two signs, such as L4, say little, "2.0" does."""
    found = []
    for text in texts:
        for word in (text or "").replace(",", " ").lower().split():
            if len(word) > 2 and word not in found:
                found.append(word)
    return found


def _saved_row(saved, given):
    facts = [text for text in (saved["engine"], saved["belt"], saved["pulleys"] + " pulleys") if text]
    return {"id": saved["id"], "name": saved["name"], "facts": ", ".join(facts), "who": jobs.person_name(given, saved["who"]),
            "ago": times.ago(saved["at"], given["now"]), "origin": words.label("drive_origin", saved["origin"]),
            "path": "/drives/" + saved["id"]}
