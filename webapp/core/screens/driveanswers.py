"""The answers that a drive gives: each with its uncertainty, its working, and what is missing when it cannot be had."""

import math

from .. import drive as geometry
from .. import drive_spread
from .. import layout
from .. import loads
from .. import numbers
from .. import sections
from .. import tensioner
from .. import words

# Engine speeds at which speeds are told [1/min].
_IDLE = 800.0
_FAST = 3000.0
# Half width of an arm's friction band when nobody said: 10 to 25 % is usual, from memory; the wide end counts.
_USUAL_FRICTION = 0.25
_NOT_SAID = "How good the measured places are is not recorded, so lengths, angles and what follows from them have no ± here."


def _answer(name, title):
    return {"id": name, "title": title, "value": "", "unit": "", "between": "", "lines": [], "rows": [], "wide": False,
            "working": [], "source": "", "missing": "", "open": False}


def _without(name, title, missing):
    out = _answer(name, title)
    out["missing"] = missing
    return out


def answers(facts) -> list:
    """Return every answer of a drive but `slip`.

    Parameters:  facts: `driveview.Facts`
    Returns:     [{"id", "title", "value", "unit", "between": the key number and its interval, "lines": sentences, "rows":
                 [[term, text], ...], "wide": whether their texts are long, "working": lines of the sum, "source", "missing": what it needs, "" when it is
                 there, "open": whether it is shown unfolded}, ...]
    """
    if facts.problem is not None:
        return []
    return [_length(facts), _spans(facts), _turning(facts), _measure(facts), _arm(facts), _tension(facts)]


def remark(facts) -> str:
    """Return what has to be said of all answers together, or "".

    Parameters:  facts: `driveview.Facts`
    """
    if facts.problem is None and None in drive_spread.good_to(facts.full):
        return _NOT_SAID
    return ""


# ---- geometry ----

def _length(facts):
    solved, shown = facts.solved, facts.shown
    if solved["effective_mm"] is None:
        paths = [path for path in solved["missing"] if path != "belt.effective_mm"]
        return _without("length", "Length of the path", "Needs " + ", ".join(shown.names(paths)) + "." if paths
                        else words.ERRORS["route-crossed"])
    out = _answer("length", "Length of the path")
    half = facts.spread["effective_mm"]
    out["value"], out["unit"] = shown.bare_length(solved["effective_mm"]), shown.length_unit
    out["between"] = shown.length(solved["effective_mm"], half) + " with 95 %" if half else ""
    out["lines"].append(_spare(facts, half))
    straight = 0.0
    for span in solved["spans"]:
        straight += span["length_mm"]
    out["working"] = ["path = spans + radius x angle of contact of each pulley, on the line by which the belt is sold",
                      numbers.fixed(straight, 1) + " + " + numbers.fixed(solved["effective_mm"] - straight, 1) + " = "
                      + numbers.fixed(solved["effective_mm"], 1) + " mm"]
    differential = facts.laid["belt"]["differential_mm"]
    if differential is not None:
        out["working"].append("on the cord: " + numbers.fixed(solved["effective_mm"], 1) + " + 2 x 3.1416 x "
                              + numbers.short(differential) + " = " + numbers.fixed(solved["pitch_mm"], 1) + " mm")
    if half:
        parts = facts.spread["parts_mm"]
        out["working"].append("± from places " + numbers.fixed(parts[0], 1) + ", diameters " + numbers.fixed(parts[1], 1)
                              + ", back of the belt on rollers " + numbers.fixed(parts[2], 1) + "; together the root of their squares: "
                              + numbers.fixed(half, 1) + " mm")
    out["source"] = "Plane geometry. " + _pulleys_source(facts) + " " + _cord_source(facts)
    return out


def _pulleys_source(facts):
    """How good the pulleys are, and where that comes from."""
    tapped = len([pulley for pulley in facts.full["pulleys"] if pulley["moves_mm"] is not None])
    out = []
    if tapped:
        out.append("Pulleys tapped on a photo: as good as taps, typed sizes and a phone's camera allow; their limits are our own choice, no source.")
    if tapped < len(facts.full["pulleys"]):
        out.append("Diameters taken as good to ± " + numbers.short(drive_spread.DIAMETER_GOOD_TO_MM) + " mm: common practice, no source.")
    return " ".join(out)


def _cord_source(facts):
    """Where the cord line's place comes from."""
    belt = facts.full["belt"]
    if belt["differential_mm"] is not None:
        return "Cord line: as entered."
    if belt["section"] in sections.RIBBED:
        return "Cord line: " + sections.RIBBED[belt["section"]]["differential_mm"][3] + "."
    return "Cord line: from memory or estimated."


def _spare(facts, half):
    """The belt against its path, in words."""
    spare = facts.solved["belt_minus_path_mm"]
    if spare is None:
        return "With the belt's printed length the two can be compared."
    shown = facts.shown
    if abs(spare) < 0.5:
        text = "The belt is as long as its path as measured"
    else:
        text = ("The belt is " + shown.length(abs(spare)) + (" longer" if spare > 0 else " shorter") + " than its path as measured")
    if facts.full["tensioner"]["kind"] == "stretch_fit":
        return text + ". A stretch-fit belt has to be shorter than its path: 0.5 to 4 % is usual, from memory."
    if not half:
        return text + "."
    if abs(spare) <= half:
        return text + ": within what the measuring can tell."
    return text + ": more than the measuring can miss. Check the places, the diameters and the printed length."


def _spans(facts):
    out = _answer("spans", "Free spans")
    solved, shown = facts.solved, facts.shown
    worked = None
    for i in range(len(solved["spans"])):
        span = solved["spans"][i]
        text = shown.length(span["length_mm"], facts.spread["spans_mm"][i]) or "not known"
        out["rows"].append([span["from"] + " to " + span["to"], text])
        if worked is None and span["length_mm"] is not None:
            worked = i
    if worked is None:
        return _without("spans", "Free spans", "Needs the place and the diameter of two pulleys that follow each other.")
    j = (worked + 1) % len(solved["spans"])
    one, other = facts.laid["circles"][worked], facts.laid["circles"][j]
    apart = math.sqrt((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2)
    # Radii on the same side of the belt are taken from each other, on different sides added.
    same = (one[2] > 0) == (other[2] > 0)
    out["working"] = ["span = root of (distance of the axes² - (R1 " + ("-" if same else "+") + " R2)²)"
                      + (", same face of the belt" if same else ", other face of the belt"),
                      solved["spans"][worked]["from"] + " to " + solved["spans"][worked]["to"] + ": root of (" + numbers.fixed(apart, 1)
                      + "² - (" + numbers.fixed(abs(one[2]), 1) + (" - " if same else " + ") + numbers.fixed(abs(other[2]), 1) + ")²) = "
                      + numbers.fixed(solved["spans"][worked]["length_mm"], 1) + " mm"]
    out["source"] = "Plane geometry; ± by the law of propagation, JCGM 100:2008 (GUM), 5.1.2, 95 %."
    return out


def _turning(facts):
    solved = facts.solved
    found = geometry.speeds(facts.full, _IDLE)
    out = _answer("turning", "Which way and how fast each turns")
    out["wide"] = True
    spread = drive_spread.ratios_of(facts.full, facts.laid)
    for i in range(len(found["pulleys"])):
        one = found["pulleys"][i]
        text = "turns " + one["sense"]
        if one["ratio"] is not None:
            rpm = one["ratio"] * _IDLE
            text += (", " + numbers.plus_minus(one["ratio"], spread["ratios"][i]) + " times the crankshaft: " + _rounded(rpm) + " /min at "
                     + _rounded(_IDLE) + ", " + _rounded(rpm * _FAST / _IDLE) + " at " + _rounded(_FAST) if spread["ratios"][i] else ", as the engine does")
        if solved["wraps"][i]["deg"] is not None:
            half = facts.spread["wraps_deg"][i]
            text += ". Contact " + (numbers.plus_minus(solved["wraps"][i]["deg"], half) if half else numbers.fixed(solved["wraps"][i]["deg"], 0)) + "°"
        out["rows"].append([one["pulley"], text + "."])
    if found["belt_m_s"] is None:
        out["lines"].append("Speeds need the crankshaft's diameter and the belt's section.")
        return out
    fast = found["belt_m_s"] * _FAST / _IDLE
    out["lines"].append("The belt runs at " + numbers.plus_minus(found["belt_m_s"], found["belt_m_s"] * spread["speed"]) + " m/s at " + _rounded(_IDLE)
                        + " /min and at " + numbers.plus_minus(fast, fast * spread["speed"]) + " m/s at " + _rounded(_FAST) + ".")
    crank = [i for i in range(len(found["pulleys"])) if facts.full["pulleys"][i]["kind"] == "crank"][0]
    radius = layout.cord_radius_mm(facts.full["pulleys"][crank], facts.laid["belt"], facts.full["belt"]["double_sided"])
    out["working"] = ["belt speed = 2 x 3.1416 x speed / 60 x radius of the cord",
                      "2 x 3.1416 x " + _rounded(_IDLE) + " / 60 x " + numbers.fixed(radius, 1) + " / 1000 = " + numbers.fixed(found["belt_m_s"], 2) + " m/s",
                      "ratio = radius of the cord on the crankshaft / on the pulley, without slip"]
    out["source"] = ("ISO 9981:2020, 5.4: ratios by pitch diameter. " + _cord_source(facts) + " ± from diameters and the cord line's range. "
                     + _pulleys_source(facts))
    return out


def _degrees(angle, places=0):
    """An angle that may be below 0, with the minus sign of print."""
    return numbers.fixed(angle, places).replace("-", "\u2212") + "°"


def _rounded(rpm):
    """A speed to the nearest ten: more digits would say more than is known."""
    return numbers.fixed(math.floor(rpm / 10 + 0.5) * 10, 0)


# ---- the span to measure ----

def _measure(facts):
    title = "Span to measure"
    if facts.spans is None:
        return _without("measure", title, facts.lacks(facts.no_spans))
    best = facts.spans[0]
    shown = facts.shown
    out = _answer("measure", title)
    out["value"] = best["from"] + " to " + best["to"]
    half = None
    for i in range(len(facts.solved["spans"])):
        span = facts.solved["spans"][i]
        if span["from"] == best["from"] and span["to"] == best["to"]:
            half = facts.spread["spans_mm"][i]
    out["between"] = shown.length(best["length_mm"], half) + ("" if half else ", ± not known")
    out["lines"].append(_why(best, facts.spans))
    if facts.tension is None or facts.tension[1] <= 0:
        out["lines"].append("Set a target for the tension: then the reading to expect is shown here." if facts.no_tension is None
                            else "No reading to expect: " + facts.lacks(facts.no_tension))
        return out
    whose = "for the target" if facts.target is not None else "for the tension that the arm gives"
    out["lines"].append("Pluck: about " + numbers.fixed(best["hz"], 0) + " Hz, " + numbers.fixed(math.floor(best["hz_low"]), 0) + " to "
                        + numbers.fixed(math.ceil(best["hz_high"]), 0) + " Hz, " + whose + ".")
    out["lines"].append("Press: " + numbers.fixed(best["press_mm"], 1) + " mm deep at the middle takes " + shown.between(best["press_low_n"], best["press_high_n"]) + ".")
    mass = facts.laid["belt"]["kg_per_m"]
    out["working"] = ["string: f = root(T / m) / (2 L), stiff ends added",
                      "root(" + numbers.fixed((best["low_n"] + best["high_n"]) / 2, 0) + " N / " + numbers.short(mass[0], 3) + " kg/m) / (2 x "
                      + numbers.fixed(best["length_mm"] / 1000, 4) + " m), with the belt's stiffness: " + numbers.fixed(best["hz"], 1) + " Hz",
                      "band: tension " + shown.between(best["low_n"], best["high_n"]) + ", mass " + numbers.short(mass[1], 3) + " to " + numbers.short(mass[2], 3)
                      + " kg/m, ends between hinged and clamped",
                      "press: F = 4 T d / L with d = L / 64, exact angle, plus what the pressing stretches"]
    out["source"] = ("Rao, Vibration of Continuous Systems, ch. 8 and 11 (chapters from memory); statics; mass: "
                     + ("as entered." if facts.full["belt"]["kg_per_m"] is not None else "of the section, see its range."))
    return out


def _why(best, spans):
    if best["short"]:
        return "Every span is short, so a reading comes out high: this one suffers least."
    if best["beside_arm"]:
        return "It rings most clearly of all, though the arm beside it gives way a little."
    if [one for one in spans if one["beside_arm"] and one["length_mm"] > best["length_mm"]]:
        return "Long enough to ring clearly, and not beside the arm, which gives way as a span rings."
    return "Long enough that its stiff ends matter little, short enough to ring clearly."


# ---- the tensioner ----

def _arm(facts):
    kind = facts.full["tensioner"]["kind"]
    title = "No tensioner" if kind in tensioner.LENGTH else "Tensioner: " + words.label("tensioner", kind)
    if kind not in tensioner.ARM:
        out = _answer("tensioner", title)
        if kind == "unknown":
            return _without("tensioner", title, _not_an_arm(kind))
        out["lines"].append(_not_an_arm(kind))
        travel = facts.full["tensioner"]["travel_mm"]
        if travel is not None:
            out["lines"].append("From where it is drawn it can move " + facts.shown.length(max(travel)) + " one way and "
                                + facts.shown.length(-min(travel)) + " the other along its slot, as entered.")
        return out
    rest, shown = facts.rest, facts.shown
    if rest is None:
        return _without("tensioner", title, facts.lacks(facts.no_rest))
    out = _answer("tensioner", title)
    half = facts.spread["effective_mm"]
    swing = math.degrees(half / rest["lever_mm"]) if half else None
    if rest["travel_used"] is not None:
        per_deg = 100 / abs(rest["full_deg"] - rest["free_deg"])
        used = numbers.plus_minus(100 * rest["travel_used"], swing * per_deg) if swing else numbers.fixed(100 * rest["travel_used"], 0)
        out["value"], out["unit"] = used, "% of its travel used"
    angle = numbers.plus_minus(rest["angle_deg"], swing) if swing else numbers.fixed(rest["angle_deg"], 0)
    out["between"] = "arm at " + angle.replace("-", "\u2212") + "°"
    out["lines"] += _marks_lines(facts, rest, swing)
    out["lines"].append("It can still take up " + shown.length(rest["take_up_mm"], half) + " of belt before " + ("its stop." if rest["stops_known"] else
                        "the end of what the geometry allows; its stops are not known."))
    if rest["dead_deg"] is not None:
        out["lines"].append("Dead point " + numbers.fixed(abs(rest["angle_deg"] - rest["dead_deg"]), 0) + "° from where it stands.")
    for fault in rest["faults"]:
        out["lines"].append(words.fault_sentence(fault))
    out["working"] = ["the arm stands where path = belt x (1 + (T - T0) / EA), T = spring torque / lever",
                      "at " + _degrees(rest["angle_deg"], 1) + ": lever " + numbers.fixed(rest["lever_mm"], 1) + " mm, spring "
                      + numbers.fixed(rest["torque_nm"], 1) + " N·m, angles anticlockwise from the right, seen from the belt side",
                      "takes up belt when it turns " + rest["tightens"] + "; stops at " + _degrees(rest["free_deg"]) + " and " + _degrees(rest["full_deg"])]
    out["source"] = "Virtual work; spring, pivot, stops and marks as entered; belt stiffness of the section, from memory within a factor of two to three."
    return out


def _not_an_arm(kind):
    if kind == "two_arm":
        return words.ERRORS["two-arm"]
    if kind == "unknown":
        return words.ERRORS["tensioner-unknown"]
    if kind in tensioner.MANUAL:
        return "Set by hand: a reading of the tension decides. The tension screen tells how far to move it."
    return "Nothing to set here: the belt's own length decides."


def _marks_lines(facts, rest, swing):
    if rest["marks"] is None:
        return ["Its marks are not known, so it cannot be told whether the pointer stands between them."]
    near = min(abs(rest["angle_deg"] - rest["marks"][0]), abs(rest["angle_deg"] - rest["marks"][1]))
    out = []
    if swing and near < swing:
        out.append("The pointer stands too near a mark to tell from these measures: look at it.")
    else:
        out.append("The pointer stands between its marks." if rest["in_marks"] else "The pointer stands outside its marks.")
    if rest["window_mm"] is not None:
        window, half = rest["window_mm"], facts.spread["effective_mm"]
        text = "Belts of " + facts.shown.bare_length(window[0]) + " to " + facts.shown.length(window[1]) + " keep it between them"
        out.append(text + (", each end ± " + facts.shown.length(half) + "." if half else "."))
    return out


def arm_tension(facts) -> list:
    """Return the strand tension that a spring arm gives at rest, over its friction and what the measuring may be off.

    Parameters:  facts: `driveview.Facts` with `rest`
    Returns:     [value, low, high] [N]
    """
    rest, data = facts.rest, facts.full["tensioner"]
    friction = _USUAL_FRICTION if data["friction"] is None else data["friction"]
    found = [rest["tension_n"]]
    half = facts.spread["effective_mm"]
    if half:
        arm = tensioner.Arm(facts.full, facts.laid)
        swing = math.degrees(half / rest["lever_mm"])
        for angle in (rest["angle_deg"] - swing, rest["angle_deg"] + swing):
            # The stops end the travel whatever the measuring says.
            angle = min(max(angle, min(rest["free_deg"], rest["full_deg"])), max(rest["free_deg"], rest["full_deg"]))
            found.append(arm.tension(angle, arm.at(angle)[1]))
    return [rest["tension_n"], min(found) * (1 - friction), max(found) * (1 + friction)]


def _tension(facts):
    title = "Tension at rest, one strand"
    kind = facts.full["tensioner"]["kind"]
    if kind in ("two_arm", "unknown"):
        return _without("tension", title, _not_an_arm(kind) + " A reading tells its tension.")
    if kind in tensioner.ARM:
        if facts.rest is None:
            return _without("tension", title, facts.lacks(facts.no_rest))
        return _arm_tension_answer(facts, title)
    found, error = facts.tried(tensioner.fitted)
    if found is None:
        return _without("tension", title, facts.lacks(error))
    out = _answer("tension", title)
    half = facts.spread["effective_mm"]
    belt = facts.laid["belt"]
    per_mm = belt["axial_n"][2] / facts.full["belt"]["effective_mm"]
    shown = facts.shown
    if not half:
        out["missing"] = "Lengths alone cannot tell it: 1 mm is up to " + shown.force(per_mm) + ", and how good the places are is not recorded. Take a reading."
        return out
    low, high = max(0.0, found["low_n"] - per_mm * half), found["high_n"] + per_mm * half
    out["lines"].append("From the lengths alone: anywhere from " + shown.between(low, high) + ". Take a reading instead.")
    if found["settled_n"] is not None:
        out["lines"].append("A stretch-fit belt settles to 50 to 70 % of its first tension, from memory.")
    out["working"] = ["T = T0 + EA x (path / belt - 1), on the cord",
                      "path / belt - 1 = " + numbers.short(100 * found["strain"], 3) + " %, EA = " + _kilo(belt["axial_n"][1]) + " to " + _kilo(belt["axial_n"][2]) + " kN",
                      "each mm of the path is up to " + shown.force(per_mm) + "; the path is good to ± " + shown.length(half)]
    out["source"] = "Hooke's law; stiffness of the section from memory."
    return out


def _kilo(newtons):
    return numbers.short(newtons / 1000, 2)


def _arm_tension_answer(facts, title):
    out = _answer(title="", name="tension")
    rest, shown = facts.rest, facts.shown
    value, low, high = arm_tension(facts) if facts.target is not None else facts.tension
    friction = facts.full["tensioner"]["friction"]
    out["title"] = title
    text = shown.force(value).split(" ")
    out["value"], out["unit"] = text[0], text[1]
    out["between"] = shown.between(low, high)
    if friction is None:
        out["lines"].append("The arm's friction is not known: 25 % to either side is counted; 10 to 25 % is usual, from memory.")
    else:
        out["lines"].append("The arm's friction holds it anywhere within " + numbers.fixed(100 * friction, 0) + " % to either side.")
    if not facts.spread["effective_mm"]:
        out["lines"].append("The band holds the friction alone, not how well the drive was measured.")
    out["working"] = ["T = spring torque / lever, ± friction",
                      numbers.fixed(rest["torque_nm"], 2) + " N·m / " + numbers.fixed(rest["lever_mm"] / 1000, 4) + " m = " + numbers.fixed(rest["tension_n"], 0) + " N"]
    if facts.spread["effective_mm"]:
        out["working"].append("band: friction, and the arm where a path ± " + shown.length(facts.spread["effective_mm"]) + " would stand it")
    out["source"] = "Virtual work. Spring torque and rate as entered: no error of theirs is counted."
    return out


# ---- at work ----

def slip(facts) -> dict:
    """Return the answer that takes as long as all others together: where the belt slips first.

    Parameters:  facts: `driveview.Facts` of a drive without a problem
    Returns:     as one of `answers`
    """
    title = "Where it slips first"
    kind = facts.full["tensioner"]["kind"]
    static = facts.tension
    if static is None:
        return _without("running", title, facts.lacks(facts.no_tension) if facts.no_tension is not None else
                        "Needs the tension. " + _not_an_arm(kind))
    if static[2] > loads.MOST_STATIC_N:
        return _without("running", title, "The tension comes out at up to " + facts.shown.force(static[2])
                        + ": more than any belt here carries. Check the arm's spring, pivot and marks.")
    # An arm follows the running belt; else the static tension stands as given.
    given = None if kind in tensioner.ARM and facts.target is None else static[0]
    states, error = facts.tried(loads.first_slip, None, given)
    if states is None:
        return _without("running", title, facts.lacks(error))
    if not states:
        return _without("running", title, "Nothing on this belt takes any power, so nothing slips.")
    worst = states[0]
    out = _answer("running", title)
    out["value"] = worst["pulley"]
    usual, ends = _extremes(facts, worst, static)
    i = [one["pulley"] for one in usual].index(worst["pulley"])
    reserves = [ends[0][i]["reserve"] or 0.0, worst["reserve"], ends[1][i]["reserve"] or 0.0]
    low, high = min(reserves), max(reserves)
    out["between"] = ("can pull " + _times(worst["reserve"]) + " times its load, " + _times(low) + " at worst to " + _times(high) + " at best")
    out["lines"].append(worst["name"][:1].upper() + worst["name"][1:] + ", " + _rounded(worst["engine_rpm"]) + " /min: "
                        + ("a span goes slack." if worst["slack"] else "there the belt may slip." if worst["slips"] else "less than 1 would slip."))
    for state in states[1:]:
        out["lines"].append(state["name"][:1].upper() + state["name"][1:] + ": " + state["pulley"] + ", " + _times(state["reserve"]) + " times its load.")
    holding = [state for state in states if not state["slips"] and not state["slack"]]
    if holding:
        # A belt that slips does not pull as the loads ask.
        usual, ends = _extremes(facts, holding[0], static)
        out["lines"].append("Pull of the belt on each shaft, " + holding[0]["name"] + ", " + _rounded(holding[0]["engine_rpm"]) + " /min:")
        out["wide"] = True
        out["rows"] = [_hub(facts, *three) for three in zip(ends[0], usual, ends[1])]
    out["working"] = ["grip: (T1 - m v²) / (T2 - m v²) = e^(friction x angle of contact)",
                      "load: (T1 - T2) = torque / radius of the cord, summed from the tensioner round the belt",
                      "pull on the shaft = root(T1² + T2² - 2 T1 T2 cos(angle of contact))",
                      "worst: lowest tension and friction, highest loads; best: the other way round"]
    out["source"] = ("Euler-Eytelwein; Shigley, Mechanical Engineering Design, ch. 17. Loads typical of each accessory unless entered, friction and "
                     "states: from memory or common practice, no source. A hint where to look, not a measurement.")
    return out


def _times(value):
    return numbers.fixed(value, 1)


def _hub(facts, worst, usual, best):
    """[pulley, pull on its shaft] with its range."""
    forces = [worst["hub_n"], usual["hub_n"], best["hub_n"]]
    return [usual["pulley"], facts.shown.force(forces[1]) + ", " + facts.shown.between(min(forces), max(forces))]


def _extremes(facts, state, static):
    """(pulleys of `loads.run` in a state, [the same at worst, at best] over tension, friction and loads)."""
    point = [one for one in loads.POINTS if one["name"] == state["name"]][0]
    full = facts.full
    usual = loads.run(full, loads.at_point(full, point), point["engine_rpm"], point["condition"], static[0])
    both = loads.ends(full, usual, point["engine_rpm"], point["condition"], static[1:3])
    return usual["pulleys"], [end["pulleys"] for end in both]
