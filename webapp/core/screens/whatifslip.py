"""What if everything is switched on: where the belt slips first, how much grip is left, when a span rings."""

import math

from .. import drive_data
from .. import drive_form
from .. import forms
from .. import layout
from .. import loads
from .. import numbers
from .. import tensioner
from .. import vibration
from .. import words
from . import measuring
from . import whatif

_SPEEDS = [["750", "Idle, 750"], ["1500", "1500"], ["2500", "2500"], ["6000", "6000"]]
_USE = [["all", "Everything on"], ["usual", "As usual on the road"]]
_CONDITIONS = [["dry", "Dry"], ["worn", "Worn"], ["wet", "Wet"]]
# A bar is full at so many times the grip that is needed.
_BAR_FULL = 4.0
# So many times the grip is more than anybody needs to know exactly.
_PLENTY = 10.0
# Engine speeds of the curves [1/min], and how near idle a ringing span is told of.
_CURVE_RPM = [500.0 * k for k in range(1, 14)]
_IDLE = [600.0, 1000.0]
# More than the car can run.
_MOST_RPM = 7000.0


def show(request: dict, given: dict) -> dict:
    """Show where a drive slips first, and when its spans ring."""
    about, refused = whatif.opened(request, given, "/slip")
    if refused is not None:
        return refused
    form = forms.Reading(measuring.query_as_form(request))
    asked = {"rpm": whatif.picked(form, "rpm", _SPEEDS, "750"), "cylinders": whatif.picked(form, "cylinders", whatif.CYLINDERS, "4"),
             "use": whatif.picked(form, "use", _USE, "all"), "static": whatif.read_static(form)}
    context = about["context"]
    context["fields"] = [forms.tiles("rpm", "Engine speed, per minute", _SPEEDS, [asked["rpm"]], form.errors),
                         forms.tiles("use", "What is running?", _USE, [asked["use"]], form.errors),
                         forms.tiles("cylinders", "Cylinders", whatif.CYLINDERS, [asked["cylinders"]], form.errors)]
    context["static"] = whatif.static_field(form, about)
    return whatif.page("whatif_slip.html", about, form, lambda: {"answer": _answer(about, asked)})


# ---- slip ----

def _answer(about, asked):
    full = drive_form.form(about["drive"])
    rpm = float(asked["rpm"])
    states = loads.first_slip(full, None, asked["static"])
    answer = {"verdict": _verdict(full, states, asked["static"]), "states": [_state_words(one) for one in states],
              "bars_title": words.reason("if-bars", {"rpm": asked["rpm"]}),
              "doubts": [words.reason("if-typical-loads", {})], "working": _working(full, rpm, asked)}
    answer.update(_bars(full, rpm, asked))
    answer.update(_ringing(full, int(asked["cylinders"]), asked["static"]))
    return answer


def _verdict(full, states, static):
    if not states:
        return {"kind": "open", "word": "Nothing can slip", "sentence": words.reason("if-no-load", {})}
    worst = states[0]
    for point in loads.POINTS:
        if point["name"] == worst["name"]:
            runs = _ends(full, loads.at_point(full, point), point["engine_rpm"], point["condition"], static)
    i = drive_form.index_of(full, worst["pulley"])
    values = {"state": worst["name"], "pulley": worst["pulley"], "times": _times_range([one["pulleys"][i]["reserve"] for one in runs])}
    if worst["slips"]:
        return {"kind": "watch", "word": "May slip", "sentence": words.reason("if-slips", values)}
    return {"kind": "good", "word": "Grip to spare", "sentence": words.reason("if-grips", values)}


def _times_range(reserves):
    if reserves[0] > _PLENTY:
        return "over 10 times"
    return _times(reserves[0]) + " times (" + _times(min(reserves)) + " to " + _times(max(reserves)) + ")"


def _times(value):
    """How many times as much, as people say it."""
    return "over 10" if value > _PLENTY else numbers.short(value, 2)


def _state_words(state):
    return {"name": state["name"][:1].upper() + state["name"][1:], "rpm": numbers.fixed(state["engine_rpm"], 0),
            "pulley": state["pulley"], "times": _times(state["reserve"]), "slips": state["slips"]}


def _used_loads(full, use):
    return loads.at_point(full, loads.POINTS[1]) if use == "all" else {}


def _ends(full, used, rpm, condition, static):
    """Three runs: as usual, little grip with heavy loads, much grip with light ones."""
    usual = loads.run(full, used, rpm, condition, static)
    return [usual] + loads.ends(full, usual, rpm, condition, [static, static])


def _bars(full, rpm, asked):
    """Grip of each pulley that takes or gives power, dry, worn and wet."""
    used = _used_loads(full, asked["use"])
    runs = [_ends(full, used, rpm, code, asked["static"]) for code, _ in _CONDITIONS]
    out = {"bars": [], "firm": []}
    for i in range(len(full["pulleys"])):
        reserves = [[found["pulleys"][i]["reserve"] for found in condition] for condition in runs]
        all_reserves = [one for three in reserves for one in three]
        # Rollers turn with next to no load.
        if full["pulleys"][i]["kind"] in ("idler", "tensioner") or None in all_reserves:
            continue
        if min(all_reserves) > _PLENTY:
            out["firm"].append(full["pulleys"][i]["name"])
            continue
        out["bars"].append({"pulley": full["pulleys"][i]["name"],
                            "bars": [_bar(_CONDITIONS[k][1], reserves[k]) for k in range(len(_CONDITIONS))]})
    return out


def _bar(name, reserves):
    kind = "good" if min(reserves) >= 1 else "watch" if max(reserves) >= 1 else "stop"
    return {"name": name, "kind": kind, "text": _times_range(reserves),
            "width": numbers.fixed(100 * min(1.0, reserves[0] / _BAR_FULL), 1)}


def _working(full, rpm, asked):
    found = loads.run(full, _used_loads(full, asked["use"]), rpm, "dry", asked["static"])
    least = found["least"]
    out = [["Formula", "grip left = (tight / slack at slip - 1) slack / pull;  tight / slack at slip = e^(mu' wrap);  pull = torque / radius"],
           ["Belt", numbers.fixed(found["belt_m_s"], 1) + " m/s at " + asked["rpm"] + " per minute; tension at rest "
            + numbers.fixed(found["static_n"], 0) + " N"]]
    laid = layout.lay_out(full)
    for i in range(len(full["pulleys"])):
        if least is not None and full["pulleys"][i]["name"] == least["pulley"]:
            one = found["pulleys"][i]
            out.append([one["pulley"] + ", dry", "torque " + numbers.short(one["torque_nm"], 3) + " N m ("
                        + numbers.short(one["torque_low_nm"], 3) + " to " + numbers.short(one["torque_high_nm"], 3) + "); tight "
                        + numbers.fixed(one["tight_n"], 0) + " N, slack " + numbers.fixed(one["slack_n"], 0) + " N; slip at ratio "
                        + numbers.fixed(one["limit"], 2) + " over " + numbers.fixed(math.degrees(laid["wraps"][i]), 0) + " degrees"])
    out.append(["Friction", ", ".join([name + " " + _friction(code) for code, name in (("ribs", "ribs"), ("v", "V"), ("back", "back"))])
                + ": from memory, V from Shigley; worn " + numbers.short(drive_data.CONDITION["worn"]) + " and wet "
                + numbers.short(drive_data.CONDITION["wet"]) + " of dry: common practice, no source"])
    out.append(["Loads", "as typed in for the drive, else typical, from memory with low confidence"])
    out.append(["Source", "Euler-Eytelwein and centrifugal tension: Shigley, Mechanical Engineering Design, ch. 17"])
    return out


def _friction(code):
    value, low, high = drive_data.FRICTION[code]
    return numbers.fixed(value, 2) + " (" + numbers.fixed(low, 2) + " to " + numbers.fixed(high, 2) + ")"


# ---- ringing ----

def _tension_ends(full, static):
    """[value, low, high] of the tension at rest [N]."""
    if static is not None:
        return [static, static, static]
    found = tensioner.rest(full) if full["tensioner"]["kind"] in tensioner.ARM else tensioner.fitted(full)
    return [found["tension_n"], found["low_n"], found["high_n"]]


def _ringing(full, cylinders, static):
    tension = _tension_ends(full, static)
    if tension[0] <= 0:
        return {"chart": None, "rings": [], "ring_words": [words.reason("if-slack-belt", {})]}
    mass = drive_data.belt_numbers(full)["kg_per_m"]
    found = [vibration.resonances(dict(full, belt=dict(full["belt"], kg_per_m=mass[k])), cylinders, max(1.0, tension[pull]))
             for k, pull in ((0, 0), (2, 1), (1, 2))]
    rings = [dict(_ring([one[i] for one in found]), number=str(i + 1)) for i in range(len(found[0]))]
    near = [ring["name"] for ring in rings if ring["near"]]
    told = [words.reason("if-rings-idle", {"span": name}) for name in near] or [words.reason("if-no-ring-idle", {})]
    return {"rings": rings, "ring_words": told, "chart": _chart(full, cylinders, tension[0])}


def _ring(found):
    """One span in words: [value, at least, at most] of each number; a speed that the engine cannot reach is left out."""
    out = {"name": found[0]["from"] + " to " + found[0]["to"], "hz": _range([one["hz"] for one in found]), "near": False}
    for key in ("direct_rpm", "parametric_rpm"):
        values = [one[key] for one in found]
        known = None not in values
        out[key] = _range(values) if known and values[1] < _MOST_RPM else "above " + numbers.fixed(_MOST_RPM, 0)
        if known and values[1] < _IDLE[1] and values[2] > _IDLE[0]:
            out["near"] = True
    return out


def _range(values):
    texts = numbers.with_interval(values[0], min(values), max(values))
    return texts[0] + " (" + texts[1] + " to " + texts[2] + ")"


def _chart(full, cylinders, static):
    chart = whatif.curve(_CURVE_RPM, "Engine speed", "per minute")
    chart["y_label"] = "Frequency [Hz]"
    curves = vibration.span_curves(full, _CURVE_RPM, static)
    for i in range(len(curves)):
        whatif.line(chart, curves[i]["from"] + " to " + curves[i]["to"], "quiet", curves[i]["hz"], str(i + 1))
    firing = [vibration.firing_hz(rpm, cylinders) for rpm in _CURVE_RPM]
    whatif.line(chart, "Firing", "one", firing)
    whatif.line(chart, "Half of firing", "dashed", [hz / 2 for hz in firing])
    text = ("Frequency over engine speed. Each span's own frequency is a nearly level line; firing rises to "
            + numbers.fixed(firing[-1], 0) + " Hz at " + numbers.fixed(_CURVE_RPM[-1], 0)
            + " per minute. Where the lines cross, that span rings: the speeds are in the list.")
    return whatif.drawn(chart, "When the spans ring", text)
