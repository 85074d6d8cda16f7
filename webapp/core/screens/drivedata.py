"""A drive's own data apart from its pulleys: what it is called, how its crankshaft turns, and its belt."""

from .. import belts
from .. import card
from .. import drive_entry
from .. import drive_form
from .. import forms
from .. import reply
from .. import words
from . import drivepulley
from . import driverecord
from . import measuring

_BELT_M = (0.1, 10.0)
_GOOD_TO_M = (0.0, 0.1)
_YES_NO = [["yes", "Yes"], ["no", "No"]]
# Kinds of belt offered; the rest are rare at the front of an engine.
_SECTIONS = [["PK", "Ribbed, car size (PK)"], ["PJ", "Ribbed, fine (PJ)"], ["AV10", "V-belt, 10 mm"], ["AV13", "V-belt, 13 mm"]]
# Numbers of the belt that stand in for the usual ones of its section: [key, label, unit, hint].
_NUMBERS = [["kg_per_m", "Mass per length", "kg/m", "Of the whole belt."],
            ["differential_mm", "Cord above the effective line", "mm", ""], ["back_mm", "Cord to the belt's back", "mm", ""],
            ["axial_n", "Stiffness along the belt, EA", "N", ""], ["bending_nm2", "Stiffness in bending, EI", "N m²", ""]]
_ABOUT_LABELS = [["name", "Name"], ["engine", "Engine"], ["rotation", "Crankshaft turns"], ["alternator_pulley", "Alternator pulley"],
                 ["crank_pulley", "Crank pulley"], ["good_to", "Places good to"], ["shared", "Saved drive"]]
_BELT_LABELS = [["section", "Kind of belt"], ["ribs", "Ribs"], ["length", "Length"], ["double_sided", "Ribs on both faces"]] \
    + [[row[0], row[1]] for row in _NUMBERS]


def _tiles(typed, name, label, choices, errors, hint="", wordy=False):
    return forms.tiles(name, label, choices, [forms.value(typed, name)], errors, hint=hint, wordy=wordy)


# ---- about the drive ----

def show_about(request: dict, given: dict) -> dict:
    """Ask what the drive is called and which way its crankshaft turns; the first page of a drive by tape."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    job, loop = given["job"], request["params"]["loop"]
    data = driverecord.standing(job, loop) or driverecord.started(job, loop, "tape")
    return _about_page(forms.filled(_about_pairs(data, given["shop"])), given, loop, forms.Reading(request), 200)


def save_about(request: dict, given: dict) -> dict:
    """Record what the drive is called; a new one goes on with its crankshaft."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    job, loop = given["job"], request["params"]["loop"]
    form = forms.Reading(request)
    old = driverecord.standing(job, loop)
    data = old or driverecord.started(job, loop, "tape")
    data["name"] = form.text("name", 60, True)
    data["engine"] = form.text("engine", 60)
    data["shared"] = forms.value(request, "shared") == "yes"
    for key, choices in (("rotation", "sense"), ("alternator_pulley", "alternator_pulley"), ("crank_pulley", "crank_pulley")):
        data["drive"][key] = form.choice(key, choices)
    data["drive"]["good_to"] = form.quantity("good_to", "length", _GOOD_TO_M[0], _GOOD_TO_M[1])
    base = driverecord.path_of(job, loop)
    saved = None if form.errors else driverecord.record(form, given, loop, data, base if old else base + "/pulleys/0")
    return saved or _about_page(request, given, loop, form, 422)


def _about_pairs(data, shop):
    entry = data["drive"]
    good_to = entry.get("good_to") or {"value": "", "unit": shop["length_unit"]}
    return [["name", data["name"]], ["engine", data["engine"] or ""], ["shared", "yes" if data["shared"] else "no"],
            ["rotation", entry.get("rotation") or "clockwise"], ["alternator_pulley", entry.get("alternator_pulley") or "unknown"],
            ["crank_pulley", entry.get("crank_pulley") or "unknown"], ["good_to", good_to["value"]], ["good_to_unit", good_to["unit"]]]


def _about_page(typed, given, loop, form, status):
    job = given["job"]
    started = card.drive_of(job, loop) is None
    context = measuring.frame(given, loop, "Drive by tape measure" if started else "About this drive")
    errors = form.errors
    unit = given["shop"]["length_unit"]
    base = driverecord.path_of(job, loop)
    known = forms.value(typed, "alternator_pulley") != "unknown" and forms.value(typed, "crank_pulley") != "unknown"
    context.update({
        "base": base, "here": base + "/about", "started": started, "problems": form.problems(_ABOUT_LABELS),
        "types_open": not known or "alternator_pulley" in errors or "crank_pulley" in errors,
        "name": forms.field("name", "What do you call this drive?", forms.value(typed, "name"), errors, "So that others find it.", most=60),
        "engine": forms.field("engine", "Engine", forms.value(typed, "engine"), errors, "Such as 2.0 diesel.", most=60),
        "rotation": _tiles(typed, "rotation", "Which way does the crankshaft turn?", words.choice_pairs("sense"), errors,
                           "As you look at the belt. Most turn clockwise (common practice, no source): check it on this engine.", wordy=True),
        "good_to": measuring.measure("good_to", "How good are your places?", measuring.typed_quantity(typed, "good_to"), unit,
                                     measuring.length_units(), errors,
                                     "Each within ± this, 95 times out of 100. 3 mm is common for a tape (no source). Empty: not known."),
        "types": [_tiles(typed, key, label, words.choice_pairs(key), errors) for key, label in
                  (["alternator_pulley", "Which alternator pulley?"], ["crank_pulley", "Which crank pulley?"])],
        "shared": _tiles(typed, "shared", "Offer it to other jobs, as a saved drive?", _YES_NO, errors)})
    return reply.page("drive_about.html", context, status)


# ---- the belt ----

def show_belt(request: dict, given: dict) -> dict:
    """Ask for the belt of the drive; what the belts step knows stands there already."""
    return _visit_belt(request, given, False)


def save_belt(request: dict, given: dict) -> dict:
    """Record the belt of the drive and go on."""
    return _visit_belt(request, given, True)


def _visit_belt(request, given, saving):
    away = measuring.turned_away(request, given)
    if away:
        return away
    job, loop = given["job"], request["params"]["loop"]
    base = driverecord.path_of(job, loop)
    data = driverecord.standing(job, loop)
    if data is None:
        return reply.go(base)
    form = forms.Reading(request)
    if not saving:
        typed, source = _belt_pairs(data["drive"], job, loop, given["shop"])
        return _belt_page(forms.filled(typed), given, loop, data, form, source, 200)
    first = not data["drive"].get("belt")
    data["drive"]["belt"] = _read_belt(form, data["drive"].get("belt") or {})
    goto = base + "/tensioner" if first and not data["drive"].get("tensioner") else base
    saved = None if form.errors else driverecord.record(form, given, loop, data, goto)
    return saved or _belt_page(request, given, loop, driverecord.standing(job, loop), form, "", 422)


def _belt_pairs(entry, job, loop, shop):
    """[the form's pairs, where they come from when nothing is recorded yet]."""
    belt = entry.get("belt") or {}
    source = ""
    if not belt:
        belt, source = _from_belts_step(job, loop)
    length = belt.get("length") or {"value": "", "unit": shop["length_unit"]}
    out = [["section", belt.get("section") or ""], ["ribs", "" if belt.get("ribs") is None else str(belt["ribs"])],
           ["length", length["value"]], ["length_unit", length["unit"]], ["double_sided", "yes" if belt.get("double_sided") else "no"]]
    return out + [[row[0], belt.get(row[0]) or ""] for row in _NUMBERS], source


def _from_belts_step(job, loop):
    """What the belts step recorded of the belt that is on, and the words for it."""
    known = measuring.belt_on(job, loop)
    facts = card.loop_facts(job, loop) or {"ribs": None, "belt": "unknown"}
    if known is None:
        return {"ribs": facts["ribs"], "double_sided": facts["belt"] == "double_ribbed"}, ""
    ribs = known["ribs"] if known["ribs"] is not None else known["ribs_counted"]
    belt = {"section": known["section"], "ribs": ribs, "double_sided": known["double_sided"]}
    what = words.label("belt_place", known["place"]).lower()
    if known["length"] is not None and known["length_kind"] in ("effective", "datum"):
        belt["length"] = known["length"]
        return belt, "Taken from the " + what + ", " + (known["marking"] or "as recorded") + ". Check it."
    if known["length"] is not None:
        return belt, "The " + what + " is sold by its " + words.label("length_kind", known["length_kind"]) + ": type the effective length."
    return belt, "Taken from the " + what + ". Its printed length is not known."


def _read_belt(form, old):
    belt = dict(old)
    section = forms.value(form.request, "section")
    if section and section not in belts.section_names():
        form.fail("section", "not-a-choice")
    belt["section"] = section or None
    belt["ribs"] = measuring.whole(form, "ribs", 1, 60)
    belt["length"] = form.quantity("length", "length", _BELT_M[0], _BELT_M[1])
    belt["double_sided"] = forms.value(form.request, "double_sided") == "yes"
    for row in _NUMBERS:
        belt[row[0]] = measuring.decimal(form, row[0], *drivepulley.limits(drive_form.BELT_KEYS, row[0]))
    return belt


def _belt_page(typed, given, loop, data, form, source, status):
    context = measuring.frame(given, loop, "Belt of this drive")
    errors = form.errors
    base = driverecord.path_of(given["job"], loop)
    section = forms.value(typed, "section")
    offered = _SECTIONS if section in [""] + [pair[0] for pair in _SECTIONS] else _SECTIONS + [[section, section]]
    rare = [row[0] for row in _NUMBERS]
    context.update({
        "base": base, "here": base + "/belt", "source": source, "problems": form.problems(_BELT_LABELS),
        "faults": [fault for fault in driverecord.faults(data["drive"], base) if "/belt#" in fault["path"]],
        "section": _tiles(typed, "section", "What kind of belt?", offered, errors),
        "ribs": forms.field("ribs", "How many ribs?", forms.value(typed, "ribs"), errors, "For V-belts: how many strands side by side.",
                            mode="numeric", most=2),
        "length": measuring.measure("length", "How long is it?", measuring.typed_quantity(typed, "length"), given["shop"]["length_unit"],
                                    measuring.length_units(), errors,
                                    "The effective length: what is printed on a ribbed belt. For V-belts the datum length. Empty: not known."),
        "double_sided": _tiles(typed, "double_sided", "Ribs on both faces?", _YES_NO, errors),
        "numbers": [drivepulley.number_field(typed, row[0], row[1], row[2], errors, row[3]) for row in _NUMBERS],
        "rare_open": len([name for name in rare if errors.get(name) or forms.value(typed, name)]) > 0})
    return reply.page("drive_belt.html", context, status)
