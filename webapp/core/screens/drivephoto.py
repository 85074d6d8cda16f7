"""A drive from a photo: the pulleys' rims and known sizes are tapped, the core measures and draws the route over the picture.

What was tapped and typed stays with the drive, so that it can be checked and corrected later.
"""

from .. import card
from .. import drive
from .. import drive_entry
from .. import drive_spread
from .. import forms
from .. import json_text
from .. import numbers
from .. import photofit
from .. import phototaps
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import driverecord
from . import drivewords
from . import measuring
from . import photos

MOST_PULLEYS = 12
_RIM_POINTS = 3
_SIZE_POINTS = {"pulley": 0, "distance": 2, "rectangle": 4}
_LONGEST_TAPS = 6000
_DIAMETER_M = (0.008, 1.5)
_KNOWN_M = (0.02, 3.0)
_SIDES = {"pulley": [], "distance": ["known"], "rectangle": ["wide", "high"]}
# The route is drawn with this diameter of the crankshaft's pulley before a size is known [mm]; no length is told then.
_STAND_IN_MM = 150.0
_STAND_IN_SECTION = "PK"
_LABELS = [["taps", "Taps"], ["size", "Known size"], ["known", "Known size"], ["wide", "Width"], ["high", "Height"],
           ["reference", "Known size"]] + [["dia_" + str(k), "Diameter of pulley " + str(k + 1)] for k in range(MOST_PULLEYS)]
# How many points a rim gets; three make a circle, five show a tilt.
_POINTS = [["3", "Three"], ["5", "Five"]]
_USUAL_POINTS = "5"
# What of the form stays with the drive.
_KEPT = ["taps", "points", "size", "known", "known_unit", "wide", "wide_unit", "high", "high_unit"]
# Closer than this is close; fewer known sizes than this are few.
_CLOSE, _SEVERAL = 2.0, 3
_MISFIT = 1.5


def show(request: dict, given: dict) -> dict:
    """Show the newest photo of the route to tap on, or ask for one."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    loop = request["params"]["loop"]
    return _page(forms.Reading(forms.filled(request["query"] or _kept(given["job"], loop))), given, loop, 200)


def save(request: dict, given: dict) -> dict:
    """Record the drive that the taps give and go on with its belt."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    job, loop = given["job"], request["params"]["loop"]
    form = forms.Reading(request)
    photo = _photo(job, loop, forms.value(request, "photo"))
    if photo is None:
        form.fail("", "no-picture")
        return _page(form, given, loop, 422)
    data = driverecord.standing(job, loop) or driverecord.started(job, loop, "photo")
    taps = _taps(form, True)
    found = _fitted(form, taps, photo) if taps is not None else None
    entry = _entry(form, data["drive"], found, photo) if found is not None else None
    if entry is None or form.errors:
        return _page(form, given, loop, 422)
    data.update({"drive": entry, "origin": "photo", "copied_from": None})
    goto = driverecord.path_of(job, loop) + ("/tensioner" if (entry.get("belt") or {}).get("length") else "/belt")
    return driverecord.record(form, given, loop, data, goto) or _page(form, given, loop, 422)


def fragment(request: dict, given: dict) -> dict:
    """Draw the route over the photo as far as it is tapped, with what is wrong and the lengths."""
    job, loop = given["job"], request["params"]["loop"]
    form = forms.Reading(measuring.query_as_form(request))
    photo = _photo(job, loop, forms.value(form.request, "photo")) if measuring.knows(job, loop) else None
    return reply.page("_drive_photo_drawn.html", {"drawn": _drawn(form, given, loop, photo)})


def _photo(job, loop, name):
    """The data of a photo of the route: the named one, or the newest; None when there is none."""
    found = [p["data"] for p in job["photos"] if p["data"]["subject"] == "route" and p["loop"] in (loop, "")]
    named = [data for data in found if data["sha256"] == name]
    if name:
        return named[0] if named else None
    return found[-1] if found else None


# ---- reading ----

def _points(value):
    """A list of points, None when it is none."""
    if not isinstance(value, list):
        return None
    for point in value:
        if not isinstance(point, list) or len(point) not in (2, 3):
            return None
        for number in point:
            if isinstance(number, bool) or not isinstance(number, (int, float)) or not -1e5 < number < 1e5:
                return None
    return [[float(point[0]), float(point[1]), min(8.0, max(1.0, float(point[2]))) if len(point) > 2 else 1.0] for point in value]


def _taps(form, whole):
    """{"rims", "size"} as tapped, None when they cannot be used; `whole`: an unfinished pulley is refused, not left out."""
    text = forms.value(form.request, "taps")
    try:
        value = json_text.read(text, "taps") if 0 < len(text) <= _LONGEST_TAPS else {}
    except CoreError:
        value = None
    rims = value.get("rims", []) if isinstance(value, dict) else None
    size = _points(value.get("size", [])) if isinstance(value, dict) else None
    if len(text) > _LONGEST_TAPS or not isinstance(rims, list) or len(rims) > MOST_PULLEYS or size is None or len(size) > 4:
        form.fail("taps", "taps-unread")
        return None
    rims = [_points(rim) for rim in rims]
    if None in rims:
        form.fail("taps", "taps-unread")
        return None
    for k in range(len(rims)):
        if whole and len(rims[k]) < _RIM_POINTS:
            form.fail("taps", "taps-part", {"pulley": str(k + 1), "count": str(len(rims[k]))})
    rims = [rim for rim in rims if len(rim) >= _RIM_POINTS]
    if whole and len(rims) < 2:
        form.fail("taps", "taps-few")
    return {"rims": rims, "size": size}


def _fitted(form, taps, photo):
    """What `photofit.fit` gives, None with what is lacking noted in the form."""
    kind = forms.value(form.request, "size")
    if not words.is_choice("photo_size", kind):
        form.fail("size", "size-needed")
        return None
    diameters = [form.quantity("dia_" + str(k), "length", _DIAMETER_M[0], _DIAMETER_M[1]) for k in range(len(taps["rims"]))]
    sides = [form.quantity(name, "length", _KNOWN_M[0], _KNOWN_M[1], True) for name in _SIDES[kind]]
    if len(taps["size"]) != _SIZE_POINTS[kind] and kind != "pulley":
        form.fail("reference", "taps-reference")
    if kind == "pulley" and not form.errors and not [d for d in diameters if d is not None]:
        form.fail("size", "size-needed")
    if form.errors or not taps["rims"]:
        return None
    return _fit(form, taps, photo, {"diameters": [_mm(d) for d in diameters], "kind": kind, "points": taps["size"], "sides": [_mm(d) for d in sides]})


def _fit(form, taps, photo, known):
    try:
        found = photofit.fit([photo["width"], photo["height"]], taps["rims"], known)
    except CoreError as error:
        form.fail("reference" if error.code in ("taps-close", "taps-no-rectangle") else error.field, error.code, error.values)
        return None
    found["known"] = known
    return found


def _mm(quantity):
    return None if quantity is None else units.to_si(quantity, "length") * 1000


def _quantity(millimetres):
    return {"value": numbers.trimmed(millimetres, 1), "unit": "mm"}


def _entry(form, old, found, photo):
    """Entry of the drive; None with what is wrong noted in the form."""
    # The tensioner was measured from pulleys that are replaced now.
    entry = dict(old, pulleys=[], tensioner={}, good_to=drive_entry.TAPE_GOOD_TO, photo=_photo_kept(form, photo, len(found["pulleys"])))
    for k in range(len(found["pulleys"])):
        kind = "crank" if k == 0 else forms.value(form.request, "kind_" + str(k))
        if kind == "crank" and k or not words.is_choice("pulley_kind", kind):
            kind = "idler"
        face = forms.value(form.request, "face_" + str(k))
        one = found["pulleys"][k]
        # A typed diameter stands as it was typed.
        typed = form.quantity("dia_" + str(k), "length", _DIAMETER_M[0], _DIAMETER_M[1])
        place = {"way": "across_up", "across": _quantity(one["x_mm"]), "up": _quantity(one["y_mm"])} if k else None
        diameter = typed or _quantity(one["diameter_mm"])
        entry["pulleys"].append({
            "name": driverecord.free_name(entry, kind, -1), "kind": kind, "face": face if words.is_choice("belt_face", face) else "ribs",
            "diameter": diameter, "place": place,
            "seen": drive_entry.seen(place, diameter, found["moves"][k])})
    try:
        drive_entry.to_drive(entry)
    except CoreError:
        form.fail("size", "taps-too-large")
        return None
    return entry


def _photo_kept(form, photo, count):
    names = list(_KEPT)
    for k in range(count):
        names += [name + str(k) for name in ("kind_", "face_", "dia_")] + ["dia_" + str(k) + "_unit"]
    return {"sha256": photo["sha256"], "typed": [[name, forms.value(form.request, name)] for name in names if forms.value(form.request, name)]}


def _kept(job, loop):
    """The form as it was sent for the drive that stands; empty without one from a photo that is on this job."""
    data = driverecord.standing(job, loop)
    kept = data["drive"].get("photo") if data is not None else None
    if kept is None or _photo(job, loop, kept["sha256"]) is None:
        return []
    return [["photo", kept["sha256"]]] + kept["typed"]


def _computed(entry):
    """The drive as it is computed before its belt is recorded: with a usual belt for the belt's thickness."""
    belt = entry.get("belt") or {}
    return drive_entry.to_drive(dict(entry, belt=dict(belt, section=belt.get("section") or _STAND_IN_SECTION)))


# ---- the route over the photo ----

def _drawn(form, given, loop, photo):
    """What `_drive_photo_drawn.html` shows: the route over the picture, what is wrong, and the lengths."""
    out = {"view_box": "", "rims": [], "belt": [], "faults": [], "notes": [], "spans": [], "good": "", "quiet": ""}
    taps = None if photo is None else _taps(form, False)
    if taps is None:
        out["notes"] = [form.errors[name] for name in form.order]
        return out
    out["view_box"] = "0 0 " + str(photo["width"]) + " " + str(photo["height"])
    if not taps["rims"]:
        out["quiet"] = "The route appears over the photo as you tap."
        return out
    found = _fitted(form, taps, photo)
    sized = found is not None
    if not sized:
        out["notes"] = [form.errors[name] for name in form.order if name not in ("size", "known", "wide", "high", "reference")]
        form = forms.Reading(form.request)
        stand_in = [_STAND_IN_MM] + [None] * (len(taps["rims"]) - 1)
        found = _fit(form, taps, photo, {"diameters": stand_in, "kind": "pulley", "points": [], "sides": []})
    data = driverecord.standing(given["job"], loop) or driverecord.started(given["job"], loop, "photo")
    entry = _entry(form, data["drive"], found, photo) if found is not None else None
    out["notes"] += [form.errors[name] for name in form.order if form.errors[name] not in out["notes"]]
    if entry is None:
        return out
    full = _computed(entry)
    solved = drive.solve(full) if len(taps["rims"]) > 1 else None
    lines = phototaps.outlines(found["to_picture"], found["pulleys"], solved)
    out["rims"] = [_path(line) + "Z" for line in lines["pulleys"]]
    out["belt"] = [_path(line) for line in lines["belt"]]
    if solved is None:
        out["quiet"] = "One pulley so far."
        return out
    if sized:
        out["faults"] = driverecord.faults(dict(entry, belt={}, tensioner={}), "")
        _tell_lengths(out, given, full, solved)
        out["notes"] += _remarks(found, taps)
        return out
    # Without a size no millimetre is told, not even of a fault.
    for fault in solved["faults"]:
        if fault["code"] == "overlap":
            out["notes"].append("In the picture " + " and ".join(fault["pulleys"]) + " overlap. Look at their rim points.")
    out["notes"].append("Lengths follow once one size is known.")
    return out


def _tell_lengths(out, given, full, solved):
    shown = drivewords.Shown(given["shop"], full)
    off = drive_spread.spread(full)["spans_mm"]
    for k in range(len(solved["spans"])):
        span = solved["spans"][k]
        out["spans"].append({"name": span["from"] + " – " + span["to"],
                             "length": shown.length(span["length_mm"], off[k]).replace(" ", "\u00a0") or "cannot be told"})
    out["good"] = "Each ± holds 95 times out of 100, for a phone’s main camera and pulley faces within 3 mm of one plane."


def _remarks(found, taps):
    """What stands out, and the one thing that narrows the result most."""
    out = []
    if found["misfit"] > _MISFIT:
        out.append(words.reason("photo-misfit", {"times": numbers.fixed(found["misfit"], 1)}))
    if found["tilt_deg"] > found["tilt_off_deg"]:
        out.append(words.reason("photo-tilt", {"tilt": numbers.fixed(found["tilt_deg"], 0), "off": numbers.fixed(found["tilt_off_deg"], 0)}))
    points = [point for rim in taps["rims"] for point in rim]
    closer = [point for point in points if point[2] >= _CLOSE]
    known = len([d for d in found["known"]["diameters"] if d is not None]) + (_SEVERAL if found["known"]["kind"] == "rectangle" else 0)
    few = len(points) < 5 * len(taps["rims"])
    if known < _SEVERAL and (few or 2 * len(closer) < len(points)):
        out.append(words.reason("photo-square", {"tilt": numbers.fixed(photofit.TILT_DEG, 0)}))
    if 2 * len(closer) < len(points):
        out.append(words.reason("photo-closer", {}))
    elif few:
        out.append(words.reason("photo-points", {}))
    elif known < min(_SEVERAL, len(taps["rims"])):
        out.append(words.reason("photo-sizes", {}))
    return out


def _path(line):
    text = ""
    for point in line:
        text += ("L" if text else "M") + numbers.fixed(point[0], 1) + " " + numbers.fixed(point[1], 1)
    return text


# ---- the page ----

def _page(form, given, loop, status):
    job, typed = given["job"], form.request
    context = measuring.frame(given, loop, "Drive from a photo")
    base = driverecord.path_of(job, loop)
    photo = _photo(job, loop, forms.value(typed, "photo")) or _photo(job, loop, "")
    errors = form.errors
    unit = given["shop"]["length_unit"]
    size = forms.value(typed, "size") or "pulley"
    problems = form.problems(_LABELS)

    def measure(name, label, hint=""):
        return measuring.measure(name, label, measuring.typed_quantity(typed, name), unit, measuring.length_units(), errors, hint)

    context.update({
        "base": base, "here": base + "/photo", "photo": None, "slot": photos.slot(job, "route", loop, base + "/photo", True),
        "replaces": card.drive_of(job, loop) is not None, "problems": problems, "taps_error": errors.get("taps", ""),
        "reference_error": errors.get("reference", ""), "taps": forms.value(typed, "taps"),
        "rows": [_row(typed, k, unit, errors) for k in range(MOST_PULLEYS)], "drawn": _drawn(forms.Reading(typed), given, loop, photo),
        "size": forms.tiles("size", "One known size", words.choice_pairs("photo_size"), [size], errors, wordy=True,
                            hint="In the plane of the belt: the larger, the better. More diameters above make it better too."),
        "points": forms.tiles("points", "Points on each rim", _POINTS, [forms.value(typed, "points") or _USUAL_POINTS], errors,
                              hint="Three make a circle. Five show a tilt of the picture as well."),
        "known": measure("known", "The distance", "Between the two points."),
        "wide": measure("wide", "Width of the rectangle", "From the first corner to the second."),
        "high": measure("high", "Height of the rectangle", "From the second corner to the third. A sheet of paper of ISO A4 is 297 by 210 mm (ISO 216).")})
    if photo is not None:
        context["photo"] = {"sha256": photo["sha256"], "path": "/photos/" + photo["sha256"], "width": str(photo["width"]),
                            "height": str(photo["height"])}
    return reply.page("drive_photo.html", context, status)


def _row(typed, k, unit, errors):
    """One pulley's choices; the first is the crankshaft's."""
    number = str(k)
    kinds = [pair for pair in words.choice_pairs("pulley_kind") if (pair[0] == "crank") == (k == 0)]
    kind = forms.value(typed, "kind_" + number) or ("crank" if k == 0 else "idler")
    face = forms.value(typed, "face_" + number) or "ribs"
    diameter = measuring.typed_quantity(typed, "dia_" + number)
    return {"number": str(k + 1), "index": number, "diameter": diameter["value"], "unit": diameter["unit"] or unit,
            "error": errors.get("dia_" + number, ""), "kinds": [{"value": p[0], "label": p[1], "on": p[0] == kind} for p in kinds],
            "faces": [{"value": p[0], "label": p[1], "on": p[0] == face} for p in words.choice_pairs("belt_face")]}
