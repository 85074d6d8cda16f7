"""A drive from a photo: the pulleys' rims and one known size are tapped, the core measures and draws the route over the picture."""

from .. import card
from .. import drive
from .. import drive_entry
from .. import drive_spread
from .. import forms
from .. import json_text
from .. import numbers
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
# The route is drawn with this diameter of the crankshaft's pulley before a size is known [mm]; no length is told then.
_STAND_IN_MM = 150.0
_STAND_IN_SECTION = "PK"
_LABELS = [["taps", "Taps"], ["size", "Known size"], ["known", "Known size"], ["wide", "Width"], ["high", "Height"],
           ["reference", "Known size"]]


def show(request: dict, given: dict) -> dict:
    """Show the newest photo of the route to tap on, or ask for one."""
    away = measuring.turned_away(request, given)
    if away:
        return away
    form = forms.Reading(measuring.query_as_form(request))
    return _page(form, given, request["params"]["loop"], 200)


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
    plane = _plane(form, taps, photo) if taps is not None else None
    entry = _entry(form, data["drive"], plane, taps["rims"], photo)[0] if plane is not None else None
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
        if not isinstance(point, list) or len(point) != 2:
            return None
        for number in point:
            if isinstance(number, bool) or not isinstance(number, (int, float)) or not -1e5 < number < 1e5:
                return None
    return [[float(point[0]), float(point[1])] for point in value]


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


def _plane(form, taps, photo):
    """The picture's plane, None with what is lacking noted in the form."""
    kind = forms.value(form.request, "size")
    if not words.is_choice("photo_size", kind):
        form.fail("size", "size-needed")
        return None
    if kind == "rectangle":
        sides = [form.quantity(name, "length", _KNOWN_M[0], _KNOWN_M[1], True) for name in ("wide", "high")]
    else:
        low, high = _DIAMETER_M if kind == "pulley" else _KNOWN_M
        sides = [form.quantity("known", "length", low, high, True)]
    if len(taps["size"]) != _SIZE_POINTS[kind] and kind != "pulley":
        form.fail("reference", "taps-reference")
    if form.errors:
        return None
    sides = [units.to_si(side, "length") * 1000 for side in sides]
    tap = phototaps.tap_px([photo["width"], photo["height"]])
    try:
        if kind == "rectangle":
            return phototaps.plane_by_rectangle(taps["size"], sides[0], sides[1], tap)
        if kind == "distance":
            return phototaps.plane_by_distance(taps["size"], sides[0], tap)
        index = _known_pulley(form)
        if index >= len(taps["rims"]):
            form.fail("known", "size-needed")
            return None
        return phototaps.plane_by_pulley(taps["rims"][index], sides[0], tap)
    except CoreError as error:
        if error.code == "taps-on-line":
            error.values["pulley"] = str(index + 1)
        form.fail("reference" if error.code != "taps-on-line" else "taps", error.code, error.values)
    return None


def _known_pulley(form):
    """Index of the pulley whose diameter is typed."""
    typed = forms.value(form.request, "size_pulley")
    return int(typed) - 1 if typed in [str(k + 1) for k in range(MOST_PULLEYS)] else 0


def _quantity(millimetres):
    return {"value": numbers.trimmed(millimetres, 1), "unit": "mm"}


def _entry(form, old, plane, rims, photo):
    """(entry of the drive, what `phototaps.pulleys` gives); (None, None) with what is wrong noted in the form."""
    try:
        found = phototaps.pulleys(plane, rims)
    except CoreError as error:
        form.fail("taps", error.code, error.values)
        return None, None
    # The tensioner was measured from pulleys that are replaced now.
    entry = dict(old, pulleys=[], tensioner={}, good_to=None)
    for k in range(len(rims)):
        kind = "crank" if k == 0 else forms.value(form.request, "kind_" + str(k))
        if kind == "crank" and k or not words.is_choice("pulley_kind", kind):
            kind = "idler"
        face = forms.value(form.request, "face_" + str(k))
        one = found["pulleys"][k]
        entry["pulleys"].append({
            "name": driverecord.free_name(entry, kind, -1), "kind": kind, "face": face if words.is_choice("belt_face", face) else "ribs",
            "diameter": _quantity(one["diameter_mm"]),
            "place": {"way": "across_up", "across": _quantity(one["x_mm"]), "up": _quantity(one["y_mm"])} if k else None})
    if forms.value(form.request, "size") == "pulley" and forms.value(form.request, "known") and _known_pulley(form) < len(rims):
        typed = form.quantity("known", "length", _DIAMETER_M[0], _DIAMETER_M[1])
        # A size that is wrong is told already; the picture's own stands in for it.
        entry["pulleys"][_known_pulley(form)]["diameter"] = typed or entry["pulleys"][_known_pulley(form)]["diameter"]
    try:
        good = phototaps.good_to(plane, rims, [photo["width"], photo["height"]], _computed(entry)) if len(rims) > 1 else None
        entry["good_to"] = None if good is None else _quantity(min(good, 100.0))
        drive_entry.to_drive(entry)
    except CoreError:
        form.fail("size", "taps-too-large")
        return None, None
    return entry, found


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
    plane = _plane(form, taps, photo)
    sized = plane is not None
    if not sized:
        form = forms.Reading(form.request)
        try:
            plane = phototaps.plane_by_pulley(taps["rims"][0], _STAND_IN_MM, phototaps.tap_px([photo["width"], photo["height"]]))
        except CoreError:
            form.fail("taps", "taps-on-line", {"pulley": "1"})
    data = driverecord.standing(given["job"], loop) or driverecord.started(given["job"], loop, "photo")
    entry, found = _entry(form, data["drive"], plane, taps["rims"], photo) if plane is not None else (None, None)
    out["notes"] = [form.errors[name] for name in form.order if name != "known"]
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
        _tell_lengths(out, given, full, entry, solved, plane, taps, photo)
        return out
    # Without a size no millimetre is told, not even of a fault.
    for fault in solved["faults"]:
        if fault["code"] == "overlap":
            out["notes"].append("In the picture " + " and ".join(fault["pulleys"]) + " overlap. Look at their rim points.")
    out["notes"].append("Lengths follow once one size is known.")
    return out


def _tell_lengths(out, given, full, entry, solved, plane, taps, photo):
    shown = drivewords.Shown(given["shop"], full)
    off = drive_spread.spread(full)["spans_mm"]
    for k in range(len(solved["spans"])):
        span = solved["spans"][k]
        out["spans"].append({"name": span["from"] + " – " + span["to"],
                             "length": shown.length(span["length_mm"], off[k]).replace(" ", "\u00a0") or "cannot be told"})
    if entry["good_to"] is not None:
        out["good"] = "Places are good to ± " + shown.length(float(entry["good_to"]["value"])) + ", 95 times out of 100."
    size = [photo["width"], photo["height"]]
    if not plane["square"]:
        reach = phototaps.reach(size, [point for rim in taps["rims"] for point in rim])
        out["notes"].append("Perspective is not removed: a tilt of 5° puts lengths off by up to " + _percent(5.0, reach) + ", 10° by "
                            + _percent(10.0, reach) + ". 5° is counted in. Step back, hold the phone square, or tap a rectangle.")


def _percent(tilt_deg, reach):
    return numbers.fixed(100 * phototaps.tilt_share(tilt_deg, reach), 0) + " %"


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
        "rows": [_row(typed, k) for k in range(MOST_PULLEYS)], "drawn": _drawn(forms.Reading(typed), given, loop, photo),
        "size": forms.tiles("size", "One known size", words.choice_pairs("photo_size"), [size], errors, wordy=True,
                            hint="In the plane of the belt: the larger, the better."),
        "of_pulley": [{"value": str(k + 1), "on": _known_pulley(form) == k} for k in range(MOST_PULLEYS)],
        "known": measure("known", "Its size", "A diameter over the tops of the grooves or over a flat rim; a distance between the two points."),
        "wide": measure("wide", "Width of the rectangle", "From the first corner to the second."),
        "high": measure("high", "Height of the rectangle", "From the second corner to the third. A sheet of paper of ISO A4 is 297 by 210 mm (ISO 216).")})
    if photo is not None:
        context["photo"] = {"sha256": photo["sha256"], "path": "/photos/" + photo["sha256"], "width": str(photo["width"]),
                            "height": str(photo["height"])}
    return reply.page("drive_photo.html", context, status)


def _row(typed, k):
    """One pulley's choices; the first is the crankshaft's."""
    number = str(k)
    kinds = [pair for pair in words.choice_pairs("pulley_kind") if (pair[0] == "crank") == (k == 0)]
    kind = forms.value(typed, "kind_" + number) or ("crank" if k == 0 else "idler")
    face = forms.value(typed, "face_" + number) or "ribs"
    return {"number": str(k + 1), "index": number, "kinds": [{"value": p[0], "label": p[1], "on": p[0] == kind} for p in kinds],
            "faces": [{"value": p[0], "label": p[1], "on": p[0] == face} for p in words.choice_pairs("belt_face")]}
