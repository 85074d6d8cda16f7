"""One pulley of a drive at a time, in belt order: kind, belt face, diameter, place, and what is rarely known."""

from .. import drive_form
from .. import forms
from .. import reply
from .. import words
from . import driveplace
from . import driverecord
from . import measuring

_DIAMETER_M = (0.008, 1.5)
# Numbers that are rarely known: [key of the drive form, label, unit, hint].
_RARE = [["inertia_kgm2", "Inertia at its own shaft", "kg m²", "Empty: typical of its kind."],
         ["decoupler_nm_per_deg", "Spring inside this pulley", "N m/°", "Only where a spring sits in the pulley."]]
_LOADS = [["torque_nm", "Torque it takes", "N m", "Empty: typical of its kind."], ["power_w", "Power it takes", "W", ""],
          ["amperes", "Alternator: current", "A", "Rated, as on its plate."], ["volts", "Alternator: voltage", "V", ""],
          ["efficiency", "Efficiency", "", "As a share of 1."]]
_OPEN_LOADS = ("torque_nm", "amperes", "volts")
_RIMS = [["", "As usual for that face"]] + words.choice_pairs("rim")
_TURNS = [["", "Not known"]] + words.choice_pairs("sense")
_LABELS = [["kind", "What is it?"], ["face", "Which face of the belt?"], ["diameter", "Diameter"], ["name", "Name"], ["rim", "Rim"],
           ["turns", "Must turn"]]


def show(request: dict, given: dict) -> dict:
    """Ask for one pulley, or for the next one along the belt."""
    return _visit(request, given, False)


def save(request: dict, given: dict) -> dict:
    """Record one pulley and go straight to the next."""
    return _visit(request, given, True)


def _visit(request, given, saving):
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["pulley"]
    away = measuring.turned_away(request, given)
    if away:
        return away
    base = driverecord.path_of(job, loop)
    data = driverecord.standing(job, loop)
    if data is None:
        return reply.go(base)
    pulleys = data["drive"]["pulleys"]
    index = -1
    if place != "new":
        if place not in [str(i) for i in range(len(pulleys))]:
            return reply.missing("This drive has no such pulley.")
        index = int(place)
    if saving:
        return _save(request, given, loop, data, index)
    before = pulleys[index] if index >= 0 else {}
    return _page(forms.filled(_pairs(before, given["shop"])), given, loop, data, index, forms.Reading(request), 200)


# ---- what is recorded, as the form holds it ----

def _pairs(pulley, shop):
    unit = shop["length_unit"]
    diameter = pulley.get("diameter") or {"value": "", "unit": unit}
    out = [[key, pulley.get(key) or ""] for key in ("kind", "face", "name", "rim", "turns")]
    out += [["diameter", diameter["value"]], ["diameter_unit", diameter["unit"]]]
    out += [[row[0], pulley.get(row[0]) or ""] for row in _RARE]
    load = pulley.get("load") or {}
    out += [["load_" + row[0], load.get(row[0]) or ""] for row in _LOADS]
    return out + driveplace.pairs("place", pulley.get("place"), unit)


# ---- reading ----

def limits(keys: list, key: str) -> tuple:
    """Return (low, high) that the drive form sets for a number.

    Parameters:  keys: a table of `drive_form` · key: of the number
    """
    for name, rule, _ in keys:
        if name == key:
            return rule[1], rule[2]
    raise KeyError(key)


def _read(form, data, index):
    """The pulley as typed; keys that the page does not show stay as they are recorded."""
    entry = data["drive"]
    old = entry["pulleys"][index] if index >= 0 else {}
    pulley = dict(old)
    if old.get("kind") != "crank":
        pulley["kind"] = form.choice("kind", "pulley_kind")
        if pulley["kind"] == "crank" and _crank(entry) is not None:
            form.fail("kind", "no-crank")
        pulley["place"] = driveplace.read(form, "place", driverecord.points(entry, index))
        pulley["turns"] = forms.value(form.request, "turns") or None
        if pulley["turns"] is not None:
            form.choice("turns", "sense")
    pulley["face"] = form.choice("face", "belt_face")
    pulley["diameter"] = form.quantity("diameter", "length", _DIAMETER_M[0], _DIAMETER_M[1])
    pulley["rim"] = forms.value(form.request, "rim") or None
    if pulley["rim"] is not None:
        form.choice("rim", "rim")
    for row in _RARE:
        pulley[row[0]] = measuring.decimal(form, row[0], *limits(drive_form.PULLEY_KEYS, row[0]))
    pulley["load"] = _read_load(form, old.get("load"))
    name = form.text("name", 40)
    if name in driverecord.names(entry, index):
        form.fail("name", "same-name", {"value": name})
    if not form.errors:
        pulley["name"] = name or driverecord.free_name(entry, pulley["kind"], index)
    return pulley


def _read_load(form, old):
    load = dict(old or {})
    for row in _LOADS:
        if row[0] in _OPEN_LOADS or load.get(row[0]) is not None:
            load[row[0]] = measuring.decimal(form, "load_" + row[0], *limits(drive_form.LOAD_KEYS, row[0]))
    load = {key: load[key] for key in load if load[key] is not None}
    return load or None


def _crank(entry):
    for pulley in entry["pulleys"]:
        if pulley["kind"] == "crank":
            return pulley
    return None


def _save(request, given, loop, data, index):
    form = forms.Reading(request)
    entry = data["drive"]
    base = driverecord.path_of(given["job"], loop)
    pulley = _read(form, data, index)
    if index < 0 and len(entry["pulleys"]) >= drive_form.MOST_PULLEYS:
        form.fail("", "too-many", {"most": str(drive_form.MOST_PULLEYS)})
    if form.errors:
        return _page(request, given, loop, data, index, form, 422)
    # The first time through, each pulley leads to the next one; a later correction leads back.
    on = index < 0 or len(entry["pulleys"]) == 1
    if index < 0:
        entry["pulleys"].append(pulley)
    else:
        driverecord.rename(entry, entry["pulleys"][index]["name"], pulley["name"])
        entry["pulleys"][index] = pulley
    saved = driverecord.record(form, given, loop, data, base + "/pulleys/new" if on else base)
    return saved or _page(request, given, loop, driverecord.standing(given["job"], loop), index, form, 422)


# ---- showing ----

def _page(typed, given, loop, data, index, form, status):
    entry = data["drive"]
    base = driverecord.path_of(given["job"], loop)
    pulley = entry["pulleys"][index] if index >= 0 else {}
    crank = pulley.get("kind") == "crank"
    number = str(index + 1 if index >= 0 else len(entry["pulleys"]) + 1)
    title = "Pulley " + number + (": " + pulley["name"] if index >= 0 else "")
    context = measuring.frame(given, loop, title)
    errors = form.errors
    unit = given["shop"]["length_unit"]
    all_names = driverecord.names(entry)
    known = driverecord.points(entry, index)
    rare = [row[0] for row in _RARE] + ["load_" + row[0] for row in _LOADS] + ["name", "rim", "turns"]
    context.update({
        "base": base, "here": base + "/pulleys/" + ("new" if index < 0 else str(index)), "crank": crank, "new": index < 0,
        "may_go_on": index < 0 and len(all_names) > 1, "own": "" if index < 0 else str(index),
        "after": all_names[-1] if index < 0 and all_names else "",
        "faults": _faults(entry, base, index), "f": _fields(typed, data, index, errors, unit),
        "place": driveplace.ask(typed, "place", "Where is it?", errors, [n for n in all_names if n in known], unit),
        "spots": driveplace.spots(typed, "place", entry, index, errors, unit),
        "rare_open": len([name for name in rare if errors.get(name) or (index >= 0 and name != "name" and forms.value(typed, name))]) > 0,
        "problems": form.problems(_labels())})
    return reply.page("drive_pulley.html", context, status)


def _labels():
    numbers_ = [[row[0], row[1]] for row in _RARE] + [["load_" + row[0], row[1]] for row in _LOADS]
    return _LABELS + numbers_ + driveplace.labels("place", "Place")


def _faults(entry, base, index):
    """On a pulley's own page what concerns it; on the next one's page what is already sure."""
    found = driverecord.faults(entry, base)
    if index < 0:
        return [fault for fault in found if fault["kind"] == "stop" and len(fault["pulleys"]) == 2]
    return [fault for fault in found if entry["pulleys"][index]["name"] in fault["pulleys"] and len(fault["pulleys"]) < 3]


def number_field(typed: dict, name: str, label: str, unit: str, errors: dict, hint: str = "") -> dict:
    """Return the data of `_measure.html` for a number that has one unit only.

    Parameters:  typed: with everything in its form · name, label, unit, hint: texts · errors: sentences by field
    """
    return forms.measure(name, label, forms.value(typed, name), unit, [[unit, unit]], errors, hint)


def _breakable(label):
    """Soft hyphens, for browsers that do not know where an English word may break."""
    return label.replace("conditioning", "condition\u00ading").replace("Supercharger", "Super\u00adcharger")


def _fields(typed, data, index, errors, unit):
    entry = data["drive"]
    own_crank = index >= 0 and entry["pulleys"][index]["kind"] == "crank"
    crank = _crank(entry)
    kinds = [[code, _breakable(label)] for code, label in words.choice_pairs("pulley_kind") if code != "crank" or crank is None]

    def tiles(name, label, choices, hint=""):
        return forms.tiles(name, label, choices, [forms.value(typed, name)], errors, hint=hint)

    load = (entry["pulleys"][index].get("load") if index >= 0 else None) or {}
    loads = [row for row in _LOADS if row[0] in _OPEN_LOADS or load.get(row[0]) is not None]
    named = "" if own_crank else "Empty: named after its kind."
    return {"kind": tiles("kind", "What is it?", kinds),
            "face": tiles("face", "Which face of the belt touches it?", words.choice_pairs("belt_face")),
            "diameter": measuring.measure("diameter", "Diameter", measuring.typed_quantity(typed, "diameter"), unit,
                                          measuring.length_units(), errors,
                                          "Grooved: over the tops of the grooves. Flat: over the rim. Empty: not known yet."),
            "name": forms.field("name", "Name", forms.value(typed, "name"), errors, named, most=40),
            "rim": tiles("rim", "Rim", _RIMS), "turns": forms.tiles("turns", "Which way must it turn?", _TURNS, [forms.value(typed, "turns")], errors, wordy=True,
                                 hint="As its maker says, seen from the belt side."),
            "numbers": [number_field(typed, row[0], row[1], row[2], errors, row[3]) for row in _RARE]
                       + [number_field(typed, "load_" + row[0], row[1], row[2], errors, row[3]) for row in loads]}
