"""The drive solved: spans, wraps, lengths, speeds, and the faults that can be seen in it."""

import math

from . import drive_data
from . import drive_form
from . import geometry
from . import layout
from . import tensioner
from .errors import CoreError

# Accessories that a flat back cannot be trusted to drive (common practice, no source).
_NEEDS_RIBS = ("crank", "alternator", "compressor", "steering_pump", "supercharger")
# A span may touch the rim of a pulley that it passes by no more than this [mm].
_TOUCH_MM = 0.5


def form(drive: dict) -> dict:
    """Return a drive in its full form (see `drive_form.form`).

    Parameters:  drive: a drive as plain data
    Returns:     a new dict
    Raises:      CoreError as `drive_form.form`
    """
    return drive_form.form(drive)


def check(drive: dict) -> list:
    """Refuse a drive whose form is wrong, and say what its geometry lacks.

    Parameters:  drive: a drive as plain data
    Returns:     the paths of the numbers that are lacking, such as ["pulleys.3.diameter_mm"]
    Raises:      CoreError as `drive_form.form`
    """
    return drive_form.check(drive)


def solve(drive: dict) -> dict:
    """Return the geometry of a drive, and its faults.

    Parameters:  drive: a drive as plain data (see `drive_form`) [mm, deg]
    Returns:     {"spans": [{"from", "to", "length_mm", "x1_mm", "y1_mm", "x2_mm", "y2_mm"}] in the listed
                 order, "wraps": [{"pulley", "deg", "sense"}], "effective_mm", "pitch_mm": length of the path
                 on the effective and on the cord line, "low_mm", "high_mm": effective length over the
                 range of the cord-to-back distance, "back_offset_mm": [value, low, high], "belt_minus_path_mm":
                 how much longer the belt is than the path as drawn, "runs_as_listed": whether the belt moves
                 in the listed order, "faults": see `faults`, "missing": paths of the numbers that are lacking};
                 None stands for what cannot be computed
    Valid:       an uncrossed belt in one plane, 2 to 24 pulleys
    Raises:      CoreError as `drive_form.form`
    Source:      plane geometry of signed radii; see `geometry` and `layout`
    """
    full = drive_form.form(drive)
    laid = layout.lay_out(full)
    count = len(full["pulleys"])
    spans = []
    wraps = []
    for i in range(count):
        spans.append(_span_of(full, laid, i, (i + 1) % count))
        beta = laid["wraps"][i]
        wraps.append({"pulley": full["pulleys"][i]["name"], "deg": None if beta is None else math.degrees(beta),
                      "sense": layout.sense(full, laid, i)})
    low, high = _length_range(full, laid)
    return {"spans": spans, "wraps": wraps, "effective_mm": laid["effective_mm"], "pitch_mm": laid["pitch_mm"],
            "low_mm": low, "high_mm": high, "back_offset_mm": laid["belt"]["back_mm"],
            "belt_minus_path_mm": _spare(full, laid), "runs_as_listed": layout.travel(full, laid) > 0,
            "faults": faults_of(full, laid), "missing": drive_form.missing(full)}


def _span_of(full, laid, i, j):
    span = laid["spans"][i]
    out = {"from": full["pulleys"][i]["name"], "to": full["pulleys"][j]["name"], "length_mm": None,
           "x1_mm": None, "y1_mm": None, "x2_mm": None, "y2_mm": None}
    if span is not None:
        out["length_mm"] = span[0]
        out["x1_mm"], out["y1_mm"], out["x2_mm"], out["y2_mm"] = span[2:]
    return out


def _length_range(full, laid):
    """A pulley's radius lengthens the path by its wrap: dL = beta dR."""
    length = laid["effective_mm"]
    if length is None:
        return None, None
    beta = 0.0
    for i in range(len(full["pulleys"])):
        if full["pulleys"][i]["face"] == "back" and not full["belt"]["double_sided"]:
            beta += laid["wraps"][i]
    if beta == 0:
        return length, length
    value, low, high = laid["belt"]["back_mm"]
    return length - beta * (value - low), length + beta * (high - value)


def _spare(full, laid):
    if laid["effective_mm"] is None or full["belt"]["effective_mm"] is None:
        return None
    return full["belt"]["effective_mm"] - laid["effective_mm"]


def speeds(drive: dict, engine_rpm: float) -> dict:
    """Return how fast and which way everything turns, without slip.

    v = omega r_cord;  each pulley n = v / (2 pi r_cord)

    Parameters:  drive: a drive as plain data · engine_rpm: crankshaft speed, 0 to 12000 [1/min]
    Returns:     {"belt_m_s", "pulleys": [{"pulley", "rpm", "sense", "ratio": of its speed to the
                 crankshaft's}]}; None for what cannot be computed
    Raises:      CoreError as `drive_form.form`; "out-of-range" for the speed
    Source:      ISO 9981:2020, 5.4: speed ratios use the pitch diameter
    """
    full = drive_form.form(drive)
    if not 0 <= engine_rpm <= 12000:
        raise CoreError("out-of-range", "engine_rpm", {"low": "0", "high": "12000"})
    laid = layout.lay_out(full)
    radii = [layout.cord_radius_mm(p, laid["belt"], full["belt"]["double_sided"]) for p in full["pulleys"]]
    crank = None
    for i in range(len(radii)):
        if full["pulleys"][i]["kind"] == "crank":
            crank = radii[i]
    pulleys = []
    for i in range(len(radii)):
        ratio = None if crank is None or radii[i] is None else crank / radii[i]
        pulleys.append({"pulley": full["pulleys"][i]["name"], "ratio": ratio, "sense": layout.sense(full, laid, i),
                        "rpm": None if ratio is None else engine_rpm * ratio})
    return {"belt_m_s": None if crank is None else engine_rpm * math.pi / 30 * crank / 1000, "pulleys": pulleys}


def faults(drive: dict) -> list:
    """Return what is wrong, or worth a second look, in a drive.

    Parameters:  drive: a drive as plain data
    Returns:     list of {"code": key of words.FAULTS, "weight": "stop" (it cannot run so) | "check" (look
                 again) | "note", "pulleys": names of those concerned, "field": path of the number concerned,
                 "values": texts for the sentence}; the heaviest first. `words.fault_sentence` has the words
    Raises:      CoreError as `drive_form.form`
    Source:      geometry; least diameters from `sections.py`; least wraps and which accessory needs ribs:
                 common practice, no source
    """
    full = drive_form.form(drive)
    return faults_of(full, layout.lay_out(full))


def faults_of(full: dict, laid: dict) -> list:
    """Return the faults of a drive that is laid out already (see `faults`).

    Parameters:  full: a drive in its full form · laid: `layout.lay_out` of it
    Returns:     list as `faults`
    Source:      as `faults`
    """
    found = []
    _overlaps(full, laid, found)
    _route(full, laid, found)
    if laid["sound"] is not False:
        _blocked(full, laid, found)
        _wraps(full, laid, found)
        _short_spans(full, laid, found)
    _pulleys(full, laid, found)
    if laid["sound"]:
        for fault in tensioner.reach(full, laid):
            found.append(fault)
    order = ["stop", "check", "note"]
    out = []
    for weight in order:
        out += [f for f in found if f["weight"] == weight]
    return out


def _fault(found, code, weight, pulleys, field, values=None):
    found.append({"code": code, "weight": weight, "pulleys": [p["name"] for p in pulleys], "field": field,
                  "values": values or {}})


def _path(i, key):
    return "pulleys." + str(i) + "." + key


def _overlaps(full, laid, found):
    pulleys = full["pulleys"]
    for i in range(len(pulleys)):
        for j in range(i + 1, len(pulleys)):
            a = pulleys[i]
            b = pulleys[j]
            if None in (a["x_mm"], a["y_mm"], a["diameter_mm"], b["x_mm"], b["y_mm"], b["diameter_mm"]):
                continue
            dx = a["x_mm"] - b["x_mm"]
            dy = a["y_mm"] - b["y_mm"]
            reach = (a["diameter_mm"] + b["diameter_mm"]) / 2
            if dx * dx + dy * dy < reach * reach:
                by = reach - math.sqrt(dx * dx + dy * dy)
                _fault(found, "overlap", "stop", [a, b], _path(j, "x_mm"), {"by": str(int(by + 0.5))})


def _route(full, laid, found):
    """Say why a route does not close, at the pulley where it goes wrong."""
    if laid["sound"] is not False:
        return
    off = laid["turning"] * laid["way"] - 1
    if abs(off + 2) < 1e-6:
        _fault(found, "faces-swapped", "stop", full["pulleys"], "pulleys")
        return
    # A pulley that the belt would have to go round the long way adds a turn: on the ribs forwards, on the back
    # backwards.
    face = "ribs" if off > 0 else "back"
    long_way = [(-laid["wraps"][i], i) for i in range(len(laid["wraps"]))
                if full["pulleys"][i]["face"] == face and laid["wraps"][i] > math.pi]
    turns = int(abs(off) + 0.5)
    for _, i in sorted(long_way)[:turns]:
        _fault(found, "not-reached", "stop", [full["pulleys"][i]], _path(i, "face"))
    if len(long_way) < turns:
        _fault(found, "route-crossed", "stop", full["pulleys"], "pulleys")


def _box(x1, x2, y1, y2):
    return (min(x1, x2), max(x1, x2), min(y1, y2), max(y1, y2))


def _apart(one, other):
    """Tell whether two upright boxes do not touch: most pulleys and spans are far from each other, and this is quick."""
    return one[1] < other[0] or other[1] < one[0] or one[3] < other[2] or other[3] < one[2]


def _blocked(full, laid, found):
    """A span that runs through a pulley, or across another span."""
    spans = laid["spans"]
    pulleys = full["pulleys"]
    count = len(spans)
    boxes = [None if s is None else _box(s[2], s[4], s[3], s[5]) for s in spans]
    rims = []
    for p in pulleys:
        if None in (p["x_mm"], p["y_mm"], p["diameter_mm"]):
            rims.append(None)
        else:
            reach = p["diameter_mm"] / 2 - _TOUCH_MM
            rims.append(_box(p["x_mm"] - reach, p["x_mm"] + reach, p["y_mm"] - reach, p["y_mm"] + reach))
    for i in range(count):
        if spans[i] is None:
            continue
        ends = (i, (i + 1) % count)
        for j in range(count):
            if j in ends or rims[j] is None or _apart(boxes[i], rims[j]):
                continue
            p = pulleys[j]
            if geometry.distance_to_span(p["x_mm"], p["y_mm"], spans[i]) < p["diameter_mm"] / 2 - _TOUCH_MM:
                _fault(found, "span-blocked", "stop", [pulleys[ends[0]], pulleys[ends[1]], p], _path(j, "x_mm"))
        for j in range(i + 2, count):
            if boxes[j] is not None and not _apart(boxes[i], boxes[j]) and geometry.spans_cross(spans[i], spans[j]):
                _fault(found, "spans-cross", "stop", [pulleys[ends[0]], pulleys[ends[1]], pulleys[j],
                                                     pulleys[(j + 1) % count]], "pulleys")


def _wraps(full, laid, found):
    for i in range(len(laid["wraps"])):
        pulley = full["pulleys"][i]
        beta = laid["wraps"][i]
        if beta is None:
            continue
        least = drive_data.LEAST_WRAP[pulley["kind"]]
        if math.degrees(beta) < least:
            _fault(found, "small-wrap", "check", [pulley], _path(i, "x_mm"),
                   {"wrap": str(int(math.degrees(beta) + 0.5)), "least": str(int(least))})


def _short_spans(full, laid, found):
    count = len(laid["spans"])
    for i in range(count):
        span = laid["spans"][i]
        if span is not None and span[0] < drive_data.SHORTEST_SPAN_MM:
            ends = [full["pulleys"][i], full["pulleys"][(i + 1) % count]]
            _fault(found, "short-span", "note", ends, _path(i, "x_mm"),
                   {"length": str(int(span[0] + 0.5)), "least": str(int(drive_data.SHORTEST_SPAN_MM))})


def _pulleys(full, laid, found):
    """What can be seen at one pulley alone."""
    least = laid["belt"]["least_mm"]
    single = not full["belt"]["double_sided"]
    for i in range(len(full["pulleys"])):
        pulley = full["pulleys"][i]
        on_back = pulley["face"] == "back" and single
        if on_back and pulley["kind"] in _NEEDS_RIBS:
            _fault(found, "wrong-face", "stop", [pulley], _path(i, "face"))
        elif on_back and pulley["rim"] == "grooved":
            _fault(found, "grooves-on-back", "check", [pulley], _path(i, "rim"))
        elif not on_back and pulley["rim"] == "flat" and pulley["kind"] not in ("idler", "tensioner"):
            _fault(found, "flat-under-ribs", "stop", [pulley], _path(i, "rim"))
        turns = pulley["turns"]
        if turns is not None and laid["sound"] is not False and turns != layout.sense(full, laid, i):
            _fault(found, "turns-backwards", "stop", [pulley], _path(i, "turns"), {"way": turns})
        diameter = pulley["diameter_mm"]
        if least is not None and diameter is not None and not on_back and diameter < least:
            _fault(found, "small-pulley", "check", [pulley], _path(i, "diameter_mm"),
                   {"least": str(int(least)), "section": full["belt"]["section"]})
