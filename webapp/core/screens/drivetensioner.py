"""What keeps the belt of a drive tight: the kind of tensioner, and only the numbers that this kind needs."""

import math

from .. import card
from .. import drive_entry
from .. import drive_form
from .. import forms
from .. import numbers
from .. import reply
from .. import words
from . import driveplace
from . import drivepulley
from . import driverecord
from . import measuring

# What each kind needs besides its name.
_USES = [["automatic", ["pulley", "pivot", "spring"]], ["automatic_set", ["pulley", "pivot", "spring"]],
         ["hydraulic", ["pulley", "pivot", "spring"]], ["eccentric", ["pulley", "pivot"]],
         ["slotted", ["pulley", "slot", "pivot"]], ["lead_screw", ["pulley", "slot", "screw"]]]
# The numbers of each part: [key, label, unit, hint]. Typical ranges are from memory, with low confidence.
_NUMBERS = [
    ["torque_nm", "spring", "Spring torque", "N m", "At the angle below. Empty: not known. Typical 15 to 40, from memory."],
    ["rate_nm_per_deg", "spring", "Torque gained per degree", "N m/°", "As the belt pushes the arm back. Typical 0.2 to 0.6, from memory."],
    ["friction", "spring", "Friction, as a share of the torque", "",
     "Half the band. Typical 0.10 to 0.25; up to 0.6 in one-sided types. From memory."],
    ["damping_nms", "spring", "Damping of a strut", "N m s", "Hydraulic only. Empty: not known."],
    ["inertia_kgm2", "spring", "Inertia of arm and roller", "kg m²", "About the pivot. Empty: 0.0025 is taken, from memory."],
    ["slot_deg", "slot", "Angle of the slot", "°", "Which way the pulley moves: 0 to the right, 90 up, 180 left, 270 down."],
    ["mm_per_turn", "screw", "One turn of the screw moves", "mm", "M8: 1.25 mm, M10: 1.5 mm (coarse pitch, ISO 261)."],
]
_PAIRS = [
    ["stops_deg", "spring", "End stops of the arm", "°", "Angles of the arm, in either order. Empty: not known."],
    ["marks_deg", "spring", "Marks of the pointer", "°", "Angles of the arm with the pointer at each mark. Empty: not known."],
    ["travel_mm", "slot", "Travel along the slot", "mm", "From where the pulley was measured: such as −10 and 25. Empty: not known."],
]
_AT = [["drawn", "As it stands where it was measured"], ["typed", "At another angle"]]
_RARE = ("damping_nms", "inertia_kgm2")
_NOTES = [["two_arm", "Two arms: the marks alone decide, so nothing more is asked."],
          ["stretch_fit", "Stretch-fit: the belt itself keeps the tension. Nothing more is asked."],
          ["fixed", "Fixed centres: the belt's length alone sets the tension. Nothing more is asked."],
          ["unknown", "Not known yet: the route is computed all the same, the tension is not."]]


def show(request: dict, given: dict) -> dict:
    """Ask what keeps the belt tight."""
    return _visit(request, given, False)


def save(request: dict, given: dict) -> dict:
    """Record what keeps the belt tight."""
    return _visit(request, given, True)


def _visit(request, given, saving):
    job, loop = given["job"], request["params"]["loop"]
    away = measuring.turned_away(request, given)
    if away:
        return away
    data = driverecord.standing(job, loop)
    if data is None:
        return reply.go(driverecord.path_of(job, loop))
    form = forms.Reading(request)
    if not saving:
        return _page(forms.filled(_pairs(data["drive"], job, loop, given["shop"])), given, loop, data, form, 200)
    data["drive"]["tensioner"] = _read(form, data["drive"])
    saved = None if form.errors else driverecord.record(form, given, loop, data, driverecord.path_of(job, loop))
    return saved or _page(request, given, loop, driverecord.standing(job, loop), form, 422)


def _uses(kind):
    for code, parts in _USES:
        if code == kind:
            return parts
    return []


def _rows_of(table, kind):
    return [row for row in table if row[1] in _uses(kind)]


# ---- what is recorded, as the form holds it ----

def _pairs(entry, job, loop, shop):
    tensioner = entry.get("tensioner") or {}
    kind = tensioner.get("kind") or measuring.tensioner(job, loop)
    out = [["kind", kind], ["pulley", tensioner.get("pulley") or _likely_pulley(entry)]]
    out += [[row[0], tensioner.get(row[0]) or ""] for row in _NUMBERS]
    for row in _PAIRS:
        both = tensioner.get(row[0]) or ["", ""]
        out += [[row[0] + "_low", both[0]], [row[0] + "_high", both[1]]]
    at = tensioner.get("at_deg")
    out += [["at_way", "drawn" if at is None else "typed"], ["at_deg", at or ""]]
    return out + driveplace.pairs("pivot", tensioner.get("pivot"), shop["length_unit"])


def _likely_pulley(entry):
    for pulley in entry["pulleys"]:
        if pulley["kind"] == "tensioner":
            return pulley["name"]
    return ""


# ---- reading ----

def _read(form, entry):
    """The tensioner as typed; what this kind does not need stays as it is recorded."""
    tensioner = dict(entry.get("tensioner") or {})
    kind = form.choice("kind", "tensioner")
    tensioner["kind"] = kind
    uses = _uses(kind)
    if "pulley" in uses:
        tensioner["pulley"] = forms.value(form.request, "pulley") or None
        if tensioner["pulley"] is not None and tensioner["pulley"] not in driverecord.names(entry):
            form.fail("pulley", "not-a-choice")
    elif kind in ("stretch_fit", "fixed"):
        tensioner["pulley"] = None
    if "pivot" in uses:
        tensioner["pivot"] = driveplace.read(form, "pivot", driverecord.points(entry))
    for row in _rows_of(_NUMBERS, kind):
        tensioner[row[0]] = measuring.decimal(form, row[0], *drivepulley.limits(drive_form.TENSIONER_KEYS, row[0]))
    for row in _rows_of(_PAIRS, kind):
        tensioner[row[0]] = _read_pair(form, row[0])
    if "spring" in uses:
        tensioner["at_deg"] = _read_at(form, entry, tensioner)
    return tensioner


def _read_pair(form, key):
    low, high = drivepulley.limits(drive_form.TENSIONER_KEYS, key)
    ends = [measuring.decimal(form, key + end, low, high) for end in ("_low", "_high")]
    if ends == [None, None]:
        return None
    for i, end in ((0, "_low"), (1, "_high")):
        if ends[i] is None:
            form.fail(key + end, "both-ends")
    return ends


def _read_at(form, entry, tensioner):
    """The angle at which the spring's torque holds: typed, or taken from the places of pivot and pulley."""
    if forms.value(form.request, "at_way") == "typed":
        return measuring.decimal(form, "at_deg", *drivepulley.limits(drive_form.TENSIONER_KEYS, "at_deg"))
    if tensioner["torque_nm"] is None or form.errors:
        return None
    angle = _drawn_angle(entry, tensioner)
    if angle is None:
        form.fail("at_way", "arm-angle-unknown")
        return None
    return numbers.trimmed(angle, 1)


def _drawn_angle(entry, tensioner):
    """Angle of the arm where its pulley was measured [deg], None while a place is not known."""
    part = {"pulley": tensioner.get("pulley"), "kind": tensioner.get("kind"), "pivot": tensioner.get("pivot")}
    drive = drive_entry.to_drive(dict(entry, tensioner=part))
    moved = drive_form.index_of(drive, part["pulley"])
    pivot = [drive["tensioner"]["pivot_x_mm"], drive["tensioner"]["pivot_y_mm"]]
    if moved is None or pivot[0] is None or drive["pulleys"][moved]["x_mm"] is None:
        return None
    dx, dy = drive["pulleys"][moved]["x_mm"] - pivot[0], drive["pulleys"][moved]["y_mm"] - pivot[1]
    return None if dx == 0 and dy == 0 else math.degrees(math.atan2(dy, dx))


# ---- showing ----

def _page(typed, given, loop, data, form, status):
    entry, job = data["drive"], given["job"]
    base = driverecord.path_of(job, loop)
    context = measuring.frame(given, loop, "Tensioner")
    unit = given["shop"]["length_unit"]
    known = driverecord.points(entry)
    all_names = driverecord.names(entry)
    errors = form.errors
    crank = [p["name"] for p in entry["pulleys"] if p["kind"] == "crank"]
    told = [fault for fault in driverecord.faults(entry, base) if "/tensioner#" in fault["path"]]
    angle = _drawn_angle(entry, entry.get("tensioner") or {})

    def tiles(name, label, choices, hint="", wordy=False):
        return forms.tiles(name, label, choices, [forms.value(typed, name)], errors, hint=hint, wordy=wordy)

    context.update({
        "base": base, "here": base + "/tensioner", "faults": told, "problems": form.problems(_labels()), "notes": _NOTES,
        "kind": tiles("kind", "What holds it tight?", words.choice_pairs("tensioner")),
        "from_facts": not entry.get("tensioner") and card.loop_facts(job, loop) is not None,
        "pulley": tiles("pulley", "Which pulley moves?", [[n, n] for n in all_names if n not in crank]),
        "place": driveplace.ask(typed, "pivot", "Where is its pivot?", errors, [n for n in all_names if n in known], unit),
        "spots": driveplace.spots(typed, "pivot", entry, -1, errors, unit), "own": "",
        "at_way": tiles("at_way", "The spring has that torque", _AT, wordy=True),
        "at_deg": drivepulley.number_field(typed, "at_deg", "Angle of the arm", "°", errors, _angle_hint(angle)),
        "spring": _fields(typed, errors, "spring", False), "slot": _fields(typed, errors, "slot", False),
        "screw": _fields(typed, errors, "screw", False), "rare": _fields(typed, errors, "spring", True),
        "rare_open": len([name for name in _RARE if errors.get(name) or forms.value(typed, name)]) > 0,
        "ends": [_ends(typed, errors, row) for row in _PAIRS if row[1] == "spring"],
        "travel": _ends(typed, errors, _PAIRS[2])})
    return reply.page("drive_tensioner.html", context, status)


def _angle_hint(angle):
    rule = "From pivot to roller: 0 points right, 90 up, 180 left, 270 or −90 down."
    return rule if angle is None else "As measured, the arm stands at " + numbers.trimmed(angle, 1).replace("-", "\u2212") + "°. " + rule


def _fields(typed, errors, part, rare):
    return [drivepulley.number_field(typed, row[0], row[2], row[3], errors, row[4]) for row in _NUMBERS
            if row[1] == part and (row[0] in _RARE) == rare]


def _ends(typed, errors, row):
    """The two fields of a pair under one heading."""
    return {"label": row[2], "hint": row[4],
            "low": drivepulley.number_field(typed, row[0] + "_low", "One end", row[3], errors),
            "high": drivepulley.number_field(typed, row[0] + "_high", "Other end", row[3], errors)}


def _labels():
    out = [["kind", "What holds it tight?"], ["pulley", "Which pulley moves?"], ["at_way", "Angle of that torque"], ["at_deg", "Angle of the arm"]]
    out += [[row[0], row[2]] for row in _NUMBERS]
    for row in _PAIRS:
        out += [[row[0] + "_low", row[2]], [row[0] + "_high", row[2]]]
    return out + driveplace.labels("pivot", "Pivot")
