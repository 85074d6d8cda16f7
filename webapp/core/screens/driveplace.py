"""A place told by tape: across and up from the crankshaft's centre, or by its distances to two pulleys.

Used for a pulley ("place") and for the pivot of a tensioner ("pivot"); the name stands in front of each field.
"""

from .. import drive_entry
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from . import driverecord
from . import measuring

_WAYS = [["across_up", "From the crankshaft: across and up"], ["from_two", "From two pulleys: two distances"]]
_SIDES = {"across": [["right", "Right"], ["left", "Left"]], "up": [["up", "Up"], ["down", "Down"]]}
_NEGATIVE = {"across": "left", "up": "down"}
# As far as the drive form allows; wide, so that it only stops slips of the finger and swapped units.
_PLACE_M = (-3.0, 3.0)
_DISTANCE_M = (0.01, 4.0)
# Width of the little picture of both spots, and the radius of a pulley whose size is not known [mm].
_PICTURE = 320.0
_USUAL_RADIUS = 30.0


def labels(name: str, what: str) -> list:
    """Return the fields' labels for the summary of errors.

    Parameters:  name: of the place · what: what it is the place of
    """
    return [[name + "_way", what], [name + "_across", "Across"], [name + "_up", "Up or down"],
            [name + "_first", "First pulley"], [name + "_first_distance", "First distance"],
            [name + "_second", "Second pulley"], [name + "_second_distance", "Second distance"], [name + "_side", "Which spot"]]


def pairs(name: str, place, unit: str) -> list:
    """Return a recorded place as a form holds it.

    Parameters:  name: of the place · place: see `drive_entry`, or None · unit: unit of length when nothing is recorded
    Returns:     [[field, text], ...]
    """
    out = [[name + "_way", place["way"] if place else "across_up"]]
    for key in ("across", "up"):
        typed = place.get(key) if place else None
        value = typed["value"] if typed else ""
        side = _SIDES[key][1 if value.startswith("-") else 0][0]
        out += [[name + "_" + key, value.lstrip("-")], [name + "_" + key + "_unit", typed["unit"] if typed else unit],
                [name + "_" + key + "_side", side]]
    for key in ("first", "second"):
        typed = place.get(key + "_distance") if place else None
        out += [[name + "_" + key, (place.get(key) if place else None) or ""],
                [name + "_" + key + "_distance", typed["value"] if typed else ""],
                [name + "_" + key + "_distance_unit", typed["unit"] if typed else unit]]
    return out + [[name + "_side", (place.get("side") if place else None) or ""]]


# ---- reading ----

def read(form, name: str, known: dict):
    """Read a place; what is wrong is noted in the form.

    Parameters:  form: forms.Reading · name: of the place · known: {name: [x, y]} of the pulleys it may be measured from
    Returns:     the place as recorded, None when nothing was typed or something is wrong
    """
    if forms.value(form.request, name + "_way") == "from_two":
        return _read_from_two(form, name, known)
    across, up = _read_signed(form, name, "across"), _read_signed(form, name, "up")
    for one, other, key in ((across, up, "_up"), (up, across, "_across")):
        if one is not None and other is None:
            form.fail(name + key, "empty")
    if across is None or up is None:
        return None
    return {"way": "across_up", "across": across, "up": up}


def _read_signed(form, name, key):
    """A number and its side; who types a minus sign means left or down, whichever switch is on."""
    field = name + "_" + key
    quantity = form.quantity(field, "length", _PLACE_M[0], _PLACE_M[1])
    if quantity is None or forms.value(form.request, field + "_side") != _NEGATIVE[key]:
        return quantity
    if quantity["value"].startswith("-") or float(quantity["value"]) == 0:
        return quantity
    return {"value": "-" + quantity["value"], "unit": quantity["unit"]}


def _read_from_two(form, name, known):
    two = _read_two(form, name, known)
    if two is None or two["both"] is None:
        return None
    side = "left" if two["both"][0] == two["both"][1] else forms.value(form.request, name + "_side")
    if side not in ("left", "right"):
        form.fail(name + "_side", "pick-spot")
        return None
    return dict(two["place"], side=side)


def _read_two(form, name, known):
    """{"place": without its side, "both": the spots it leaves, None when the distances do not meet}, or None."""
    fields = [name + "_first_distance", name + "_second_distance"]
    if not forms.value(form.request, fields[0]) and not forms.value(form.request, fields[1]):
        return None
    before = len(form.order)
    place = {"way": "from_two"}
    for key in ("first", "second"):
        place[key] = forms.value(form.request, name + "_" + key)
        if place[key] not in known:
            form.fail(name + "_" + key, "not-a-choice")
        place[key + "_distance"] = form.quantity(name + "_" + key + "_distance", "length", _DISTANCE_M[0], _DISTANCE_M[1], True)
    if place["first"] == place["second"]:
        form.fail(name + "_second", "same-pulley-twice")
    if len(form.order) > before:
        return None
    both = _both(place, known)
    if both is None:
        code, values = _miss(place, known)
        form.fail(fields[1], code, values)
    return {"place": place, "both": both}


def _mm(quantity):
    return units.to_si(quantity, "length") * 1000


def _both(place, known):
    """[spot on the left, spot on the right] of the way from the first pulley to the second, None when there is none."""
    out = []
    for side in ("left", "right"):
        out.append(drive_entry.meeting(known[place["first"]], _mm(place["first_distance"]), known[place["second"]],
                                       _mm(place["second_distance"]), side))
    return None if out[0] is None else out


def _miss(place, known):
    """Say how two distances fail to meet."""
    a, b = known[place["first"]], known[place["second"]]
    apart = ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5
    first, second = _mm(place["first_distance"]), _mm(place["second_distance"])
    values = {"apart": numbers.trimmed(apart, 0), "reach": numbers.trimmed(first + second, 0),
              "differ": numbers.trimmed(abs(first - second), 0)}
    return ("distances-short" if first + second < apart else "distances-long"), values


# ---- showing ----

def ask(request: dict, name: str, label: str, errors: dict, known: list, unit: str) -> dict:
    """Return the data of `_drive_place.html`.

    Parameters:  request: with everything in its form · name: of the place · label: the question · errors: sentences by
                 field · known: names of the pulleys it may be measured from, in belt order · unit: unit of length
    """
    offered = measuring.length_units()

    def number(key, text, hint=""):
        return measuring.measure(name + key, text, measuring.typed_quantity(request, name + key), unit, offered, errors, hint)

    def tiles(key, text, choices, hint=""):
        return forms.tiles(name + key, text, choices, [forms.value(request, name + key)], errors, hint=hint)

    ways = _WAYS if len(known) > 1 else _WAYS[:1]
    return {"name": name, "several": len(known) > 1,
            "way": forms.tiles(name + "_way", label, ways, [forms.value(request, name + "_way")], errors, wordy=True),
            "across": number("_across", "Across", "Centre to centre, level, as you look at the belt."),
            "across_side": tiles("_across_side", "Which way across?", _SIDES["across"]),
            "up": number("_up", "Up or down", "Centre to centre, upright."),
            "up_side": tiles("_up_side", "Up or down?", _SIDES["up"]),
            "first": tiles("_first", "From which pulley?", [[n, n] for n in known]),
            "first_distance": number("_first_distance", "Distance", "Centre to centre."),
            "second": tiles("_second", "And from which other?", [[n, n] for n in known]),
            "second_distance": number("_second_distance", "Distance to that one", "Centre to centre.")}


def spots(request: dict, name: str, entry: dict, own: int, errors: dict, unit: str) -> dict:
    """Return the data of `_drive_spots.html`: the two spots that two distances leave, in words and as a picture.

    Parameters:  request: with everything in its form · name: of the place · entry: see `drive_entry` · own: index of the
                 pulley being placed, -1 for none · errors: sentences by field · unit: unit of length to tell them in
    Returns:     {"some": whether there are two to choose from, "why": sentence when the distances do not meet, "tiles",
                 "picture"}
    """
    nothing = {"some": False, "why": "", "tiles": None, "picture": None}
    if forms.value(request, name + "_way") != "from_two":
        return nothing
    known = driverecord.points(entry, own)
    form = forms.Reading(request)
    two = _read_two(form, name, known)
    if two is None:
        return nothing
    both = two["both"]
    if both is None:
        # On a refused form the sentence stands beside the field already.
        return nothing if errors else dict(nothing, why=form.errors[name + "_second_distance"])
    if both[0] == both[1]:
        return nothing
    told = [["left", "A: " + driverecord.point_words(both[0], unit)], ["right", "B: " + driverecord.point_words(both[1], unit)]]
    side = name + "_side"
    return {"some": True, "why": "",
            "tiles": forms.tiles(side, "Two spots fit. Where is it?", told, [forms.value(request, side)], errors, wordy=True,
                                 hint="As seen from the crankshaft's centre."),
            "picture": _picture(entry, known, both)}


def _picture(entry, known, both):
    """Both spots between the pulleys that are placed, drawn to scale; y grows downwards in a picture."""
    circles = []
    for pulley in entry["pulleys"]:
        point = known.get(pulley["name"])
        if point is not None:
            diameter = pulley.get("diameter")
            circles.append([point[0], -point[1], _mm(diameter) / 2 if diameter else _USUAL_RADIUS, pulley["name"]])
    marks = [[both[i][0], -both[i][1], _USUAL_RADIUS, "AB"[i]] for i in range(2)]
    everything = circles + marks
    left, right = min([c[0] - c[2] for c in everything]), max([c[0] + c[2] for c in everything])
    top, bottom = min([c[1] - c[2] for c in everything]), max([c[1] + c[2] for c in everything])
    scale = _PICTURE / max(right - left, bottom - top)

    def drawn(circle):
        x, y, r = (circle[0] - left) * scale, (circle[1] - top) * scale, circle[2] * scale
        return {"x": numbers.fixed(x, 1), "y": numbers.fixed(y, 1), "r": numbers.fixed(max(r, 4.0), 1), "name": circle[3]}

    # The template leaves 8 on each side.
    return {"outer_width": numbers.fixed((right - left) * scale + 16, 1), "outer_height": numbers.fixed((bottom - top) * scale + 16, 1),
            "circles": [drawn(c) for c in circles], "marks": [drawn(m) for m in marks]}


def fragment(request: dict, given: dict) -> dict:
    """Show the two spots while the distances are typed."""
    job, loop = given["job"], request["params"]["loop"]
    data = driverecord.standing(job, loop) if measuring.knows(job, loop) else None
    name = forms.asked(request, "placing")
    found = {"some": False, "why": "", "tiles": None, "picture": None}
    if data is not None and name in ("place", "pivot"):
        own = forms.asked(request, "own")
        index = int(own) if own in [str(i) for i in range(len(data["drive"]["pulleys"]))] else -1
        found = spots(measuring.query_as_form(request), name, data["drive"], index, {}, given["shop"]["length_unit"])
    return reply.page("_drive_spots.html", {"spots": found})
