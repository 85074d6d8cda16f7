"""What if a pulley were locked: the same engine speed with the pulley healthy and with it solid, side by side.

The page asks, a long sum (see `door.LONG_SUMS`) answers: it takes seconds on a phone.
"""

from .. import drive_data
from .. import drive_form
from .. import forms
from .. import json_text
from .. import numbers
from .. import tensioner
from .. import units
from .. import vibration
from .. import words
from ..errors import CoreError
from . import measuring
from . import whatif

_SPEEDS = [["750", "Idle, 750"], ["1100", "Cold idle, 1100"], ["1500", "1500"], ["2000", "2000"]]
_ENGINES = [["petrol", "Petrol"], ["diesel", "Diesel, or running rough"]]
_AMPERES = [["20", "Little, 20 A"], ["60", "60 A"], ["100", "Much, 100 A"]]
# How unevenly an engine turns at 750 per minute, value, low, high, falling with the square of the speed: from
# memory with low confidence.
_IRREGULARITY = {"petrol": [0.035, 0.02, 0.05], "diesel": [0.08, 0.05, 0.12]}
_MOST_IRREGULAR = 0.15
_VOLTS = 14.0
# Engine time of the two runs that are shown, and of the four that tell how much hangs on what is not known [s]. The
# swings of the example drives are the same after 0.75 s as after 4 s.
_SECONDS = 1.0
_SECONDS_ENDS = 0.75
# A step smaller than this [s] comes from an inertia that no part has, and the sum would take minutes; usual ones need
# some hundred microseconds.
_LEAST_STEP_S = 1.0e-5
# The last part of the run that the curves show, and how many points [ms].
_SHOWN_MS = 200.0
_POINTS = 161
# Swings of the arm below this are none that anybody would see [deg].
_STILL_DEG = 0.05
# A clutch that is free for less of the time than this is not.
_HARDLY_FREE = 0.005
# Ratios nearer to one than this are called the same.
_ALIKE = 1.15


def show(request: dict, given: dict) -> dict:
    """Ask about a locked pulley, and hand the sum to the page."""
    about, refused = whatif.opened(request, given, "/pulley")
    if refused is not None:
        return refused
    form = forms.Reading(measuring.query_as_form(request))
    parts = _parts(about["drive"])
    asked = {"rpm": whatif.picked(form, "rpm", _SPEEDS, "1500"), "engine": whatif.picked(form, "engine", _ENGINES, "petrol"),
             "cylinders": whatif.picked(form, "cylinders", whatif.CYLINDERS, "4"),
             "amperes": whatif.picked(form, "amperes", _AMPERES, "20"),
             "part": whatif.picked(form, "part", parts, parts[0][0]) if parts else "", "static": whatif.read_static(form)}
    context = about["context"]
    context["fields"] = []
    if len(parts) > 1 or "part" in form.errors:
        context["fields"].append(forms.tiles("part", "Which pulley?", parts, [asked["part"]], form.errors, wordy=True))
    context["fields"] += [forms.tiles("rpm", "Engine speed, per minute", _SPEEDS, [asked["rpm"]], form.errors),
                          forms.tiles("engine", "Engine", _ENGINES, [asked["engine"]], form.errors),
                          forms.tiles("cylinders", "Cylinders", whatif.CYLINDERS, [asked["cylinders"]], form.errors),
                          forms.tiles("amperes", "Alternator's current", _AMPERES, [asked["amperes"]], form.errors)]
    context["static"] = whatif.static_field(form, about)
    context["sum"] = None
    # A page that was only opened starts no sum by itself.
    return whatif.page("whatif_pulley.html", about, form, lambda: _sum(about, parts, asked, bool(request["query"])))


def _sum(about, parts, asked, wanted):
    """What the page hands to its long sum."""
    _check(about["drive"], parts, asked)
    if not wanted:
        return {}
    argument = {"drive": about["drive"], "asked": asked, "shop": {"force_unit": about["shop"]["force_unit"]}}
    return {"sum": {"name": "what_if_pulley", "argument": json_text.write(argument), "title": _question(about["drive"], asked)}}


def _parts(drive):
    """What can be locked on this drive: [[code, label], ...]."""
    out = []
    if "alternator" in [pulley["kind"] for pulley in drive["pulleys"]]:
        out.append(["alternator", "Alternator: " + words.label("alternator_pulley", drive["alternator_pulley"]).lower()])
    if drive["crank_pulley"] == "decoupler":
        out.append(["crank", "Crankshaft: " + words.label("crank_pulley", "decoupler").lower()])
    return out


def _check(drive, parts, asked):
    """Refuse what a run could not answer, before anybody waits for it."""
    full = drive_form.form(drive)
    if not parts:
        raise CoreError("if-no-pulley", "pulleys")
    if asked["part"] == "alternator" and full["alternator_pulley"] == "unknown":
        raise CoreError("if-pulley-unknown", "alternator_pulley")
    if asked["part"] == "alternator" and full["alternator_pulley"] == "starter_generator":
        raise CoreError("if-starter-generator", "alternator_pulley")
    for alternator, crank in _kinds(full, asked)[0]:
        built = vibration.model(full, _engine(asked, 2), alternator, crank, _loads(full, asked), asked["static"])
        if vibration.step_of(built) < _LEAST_STEP_S:
            raise CoreError("if-too-light", "pulleys")


def _engine(asked, end):
    irregular = _IRREGULARITY[asked["engine"]][end] * (750.0 / float(asked["rpm"])) ** 2
    return {"rpm": float(asked["rpm"]), "cylinders": int(asked["cylinders"]), "irregularity": min(_MOST_IRREGULAR, irregular)}


def _loads(full, asked):
    return {pulley["name"]: {"amperes": float(asked["amperes"]), "volts": _VOLTS} for pulley in full["pulleys"]
            if pulley["kind"] == "alternator"}


def _states(full, asked):
    """Both states in the middle of a sentence."""
    return ["with a one-way clutch", "solid"] if asked["part"] != "crank" and full["alternator_pulley"] == "solid" else ["healthy", "locked"]


def _kinds(full, asked):
    """[[healthy alternator, crank], [locked alternator, crank]] and the names of both states."""
    fitted, crank = full["alternator_pulley"], full["crank_pulley"]
    if asked["part"] == "crank":
        return [[fitted, "decoupler"], [fitted, "solid"]], ["Crank decoupler healthy", "Crank decoupler locked"]
    if fitted == "solid":
        return [["one_way", crank], ["solid", crank]], ["One-way clutch instead", "Solid, as fitted"]
    name = words.label("alternator_pulley", fitted)
    return [[fitted, crank], ["solid", crank]], [name + " healthy", name + " locked"]


def _question(drive, asked):
    first, second = _states(drive, asked)
    return first[:1].upper() + first[1:] + " against " + second


# ---- the long sum ----

def pulley_told(argument: dict, told: object) -> dict:
    """Run both states and say in words how they differ.

    Parameters:  argument: {"drive": in the drive form, "asked": {"part", "rpm", "engine", "cylinders", "amperes", "static"},
                 "shop": {"force_unit"}} · told: function that is called with the share done
    Returns:     {"verdict", "sentences", "head": names of both states, "rows": [{"what", "one", "other"}], "charts", "doubts",
                 "working": [{"name", "text"}]}, all finished texts
    Raises:      CoreError as `vibration.respond`
    """
    drive, asked = argument["drive"], argument["asked"]
    full = drive_form.form(drive)
    kinds, names = _kinds(full, asked)
    runs = _Runs(full, asked, told)
    pair = [runs.respond(kind, 0, full, _SECONDS) for kind in kinds]
    ends = [[runs.respond(kind, end, _with_rotor(full, end), _SECONDS_ENDS) for kind in kinds] for end in (1, 2)]
    about = {"shop": argument["shop"]}
    worst = _worst_span(pair)
    arm = pair[0]["arm"] is not None
    figures = [_figure(pair, ends, lambda one: one["spans"][worst]["swing_n"])]
    if arm:
        figures.append(_figure(pair, ends, lambda one: one["arm"]["swing_deg"]))
    return {"verdict": _verdict(figures[-1], arm, full, asked), "sentences": _sentences(about, pair, ends, figures, worst, full, asked),
            "head": names, "rows": _rows(about, pair, ends, worst), "charts": _charts(about, pair, names, worst, full),
            "doubts": [words.reason("if-typical", {}), words.reason("if-one-model", {})],
            "working": [{"name": one[0], "text": one[1]} for one in _working(full, asked, pair)]}


class _Runs:
    """Runs the model again and again, and tells how far all of it is."""

    def __init__(self, full, asked, told):
        self.asked = asked
        self.loads = _loads(full, asked)
        self.told = told
        self.done = 0.0

    def respond(self, kind, end, full, seconds):
        """One run: kind [alternator, crank], end 0, 1 or 2: usual, gentle or rough engine and rotor."""
        whole = 2 * _SECONDS + 4 * _SECONDS_ENDS

        def tell(share):
            self.told((self.done + share * seconds) / whole)

        found = vibration.respond(full, _engine(self.asked, end), kind[0], kind[1], self.loads, self.asked["static"], seconds, tell)
        self.done += seconds
        return found


def _with_rotor(full, end):
    """The drive with the light or heavy end of what alternators weigh, unless the drive says what its own does."""
    out = dict(full, pulleys=[dict(pulley) for pulley in full["pulleys"]])
    for pulley in out["pulleys"]:
        if pulley["kind"] == "alternator" and pulley["inertia_kgm2"] is None:
            pulley["inertia_kgm2"] = drive_data.ROTOR_RANGE[end - 1]
    return out


def _worst_span(pair):
    """The span that swings most in either state."""
    place, most = 0, -1.0
    for i in range(len(pair[0]["spans"])):
        swing = max(one["spans"][i]["swing_n"] for one in pair)
        if swing > most:
            place, most = i, swing
    return place


def _figure(pair, ends, of):
    """{"one", "other": [value, low, high] of both states, "ratio": the same of other over one, or None}."""
    both = [[of(two[k]) for two in [pair] + ends] for k in (0, 1)]
    ratios = [both[1][i] / both[0][i] if both[0][i] > 0 else None for i in range(3)]
    return {"one": _ordered(both[0]), "other": _ordered(both[1]), "ratio": None if None in ratios else _ordered(ratios)}


def _ordered(values):
    return [values[0], min(values), max(values)]


def _degrees(values):
    return numbers.fixed(values[0], 2) + " (" + numbers.fixed(values[1], 2) + " to " + numbers.fixed(values[2], 2) + ")"


def _verdict(figure, arm, full, asked):
    """The one thing to remember: how much further the arm, or else the tension, swings."""
    states = _states(full, asked)
    one, other, ratio = figure["one"][0], figure["other"][0], figure["ratio"]
    values = {"part": "crank decoupler" if asked["part"] == "crank" else "pulley", "what": "the tensioner arm" if arm else "the tension",
              "first": states[0], "second": states[1]}
    if arm and max(one, other) < _STILL_DEG:
        return {"kind": "open", "word": "Hardly a swing", "sentence": words.reason("if-still", values)}
    if arm and one < _STILL_DEG:
        values["other"] = _degrees(figure["other"])
        sure = figure["other"][1] >= _STILL_DEG
        return {"kind": "stop" if sure else "watch", "word": "The arm starts to swing" if sure else "The arm may start to swing",
                "sentence": words.reason("if-starts", values)}
    if ratio is None or 1 / _ALIKE <= ratio[0] <= _ALIKE:
        return {"kind": "open", "word": "No difference here", "sentence": words.reason("if-alike", values)}
    values["times"] = numbers.short(ratio[0], 2)
    values["between"] = numbers.short(ratio[1], 2) + " to " + numbers.short(ratio[2], 2)
    if ratio[0] > 1:
        sure = ratio[1] > 1
        return {"kind": "stop" if sure else "watch", "word": "Swings further" if sure else "May swing further",
                "sentence": words.reason("if-further", values)}
    return {"kind": "open", "word": "Swings less", "sentence": words.reason("if-less", values)}


def _name(pair, worst):
    span = pair[0]["spans"][worst]
    return span["from"] + " to " + span["to"]


def _sentences(about, pair, ends, figures, worst, full, asked):
    out = [words.reason("if-span-swings", {
        "span": _name(pair, worst), "first": _states(full, asked)[0], "second": _states(full, asked)[1], "one": whatif.force(about, figures[0]["one"]), "other": whatif.force(about, figures[0]["other"])})]
    for i in range(len(pair[0]["spans"])):
        slack = [one["spans"][i]["slack"] for one in pair]
        if slack[1]:
            out.append(words.reason("if-slack-both" if slack[0] else "if-slack", {"span": _name(pair, i), "second": _states(full, asked)[1]}))
    shares = [two[0]["alternator"]["free_share"] if two[0]["alternator"] is not None else None for two in [pair] + ends]
    if asked["part"] == "alternator" and None not in shares:
        code = "if-runs-free" if max(shares) > _HARDLY_FREE else "if-never-free"
        out.append(words.reason(code, {"percent": " to ".join([numbers.fixed(100 * one, 0) for one in (min(shares), max(shares))])}))
    return out


def _rows(about, pair, ends, worst):
    def row(what, cells):
        return {"what": what, "one": cells[0], "other": cells[1]}

    def both(of, text):
        return [text(_ordered([of(two[k]) for two in [pair] + ends])) for k in (0, 1)]

    def pull(values):
        unit = about["shop"]["force_unit"]
        texts = [numbers.short(units.from_si(n, unit, "force"), 3) for n in values]
        return texts[0] + " " + unit + " (" + texts[1] + " to " + texts[2] + ")"

    name = _name(pair, worst)
    rows = [row("Tension, " + name + ": least", both(lambda one: one["spans"][worst]["low_n"], pull)),
            row("Most", both(lambda one: one["spans"][worst]["high_n"], pull))]
    if pair[0]["arm"] is not None:
        rows.append(row("Arm swings, degrees", both(lambda one: one["arm"]["swing_deg"], _degrees)))
    if pair[0]["alternator"] is not None:
        rows.append(row("Rotor's speed swings, %", both(lambda one: one["alternator"]["swing_percent"], _degrees)))
    return rows


# ---- curves ----

def _sampled(times, values, at):
    """A series at other times, straight between its points."""
    out = []
    k = 0
    for t in at:
        while k < len(times) - 2 and times[k + 1] < t:
            k += 1
        part = (t - times[k]) / (times[k + 1] - times[k])
        out.append(values[k] + min(1.0, max(0.0, part)) * (values[k + 1] - values[k]))
    return out


def _charts(about, pair, names, worst, full):
    x = [_SHOWN_MS * k / (_POINTS - 1) for k in range(_POINTS)]
    pull = about["shop"]["force_unit"]
    wanted = [["Tension of the span " + _name(pair, worst), "Tension [" + pull + "]",
               lambda one: [units.from_si(n, pull, "force") for n in one["spans"][worst]["series_n"]]]]
    if pair[0]["arm"] is not None:
        wanted.append(["Tensioner arm, from where it stands when all runs evenly", "Angle [degrees]", lambda one: one["arm"]["series_deg"]])
    out = []
    for title, label, of in wanted:
        chart = whatif.curve(x, "Time", "ms")
        chart["y_label"] = label
        texts = []
        for k in (0, 1):
            found = pair[k]
            end = found["t_s"][-1]
            series = _sampled(found["t_s"], of(found), [end - (_SHOWN_MS - ms) / 1000 for ms in x])
            whatif.line(chart, names[k], ["one", "two"][k], series)
            texts.append(names[k] + " from " + numbers.short(min(series), 3) + " to " + numbers.short(max(series), 3))
        out.append(whatif.drawn(chart, title, title + " over " + numbers.fixed(_SHOWN_MS, 0) + " ms. " + "; ".join(texts) + "."))
    return out


def _working(full, asked, pair):
    rotor = None
    for pulley in full["pulleys"]:
        if pulley["kind"] == "alternator":
            rotor = pulley["inertia_kgm2"]
    usual = [numbers.fixed(100 * one, 1) for one in _IRREGULARITY[asked["engine"]]]
    out = [["Formula", "inertia x angular acceleration = moments of the spans beside it; T = T0 + EA / length x stretch"],
           ["Excitation", "firing " + numbers.fixed(pair[0]["firing_hz"], 1) + " Hz; the crankshaft swings "
            + numbers.fixed(pair[0]["crank_deg"], 2) + " degrees to either side"],
           ["Uneven running", usual[0] + " % (" + usual[1] + " to " + usual[2] + ") at 750 per minute, falling with the square of "
            "the speed: from memory"],
           ["Alternator", asked["amperes"] + " A at " + numbers.fixed(_VOLTS, 0) + " V"]]
    if rotor is None:
        ends = [numbers.fixed(1000 * one, 1) for one in [drive_data.INERTIA["alternator"]] + drive_data.ROTOR_RANGE]
        out.append(["Rotor", ends[0] + " (" + ends[1] + " to " + ends[2] + ") g m2: typical, from memory with low confidence"])
    else:
        out.append(["Rotor", numbers.short(1000 * rotor) + " g m2, as typed in"])
    if full["tensioner"]["kind"] in tensioner.ARM and full["tensioner"]["inertia_kgm2"] is None:
        out.append(["Arm", numbers.short(1000 * drive_data.ARM_INERTIA) + " g m2 about its pivot: typical, from memory"])
    out.append(["Steps", numbers.fixed(pair[0]["steps"], 0) + " of " + numbers.fixed(1e6 * pair[0]["dt_s"], 0)
                + " microseconds; the ranges come from four more runs: a gentle engine with a light rotor, "
                "a rough one with a heavy rotor"])
    out.append(["Source", "Hwang, Perkins, Ulsoy and Meckstroth, J. Vib. Acoust. 116 (1994), page not seen; Stoermer-Verlet steps"])
    return out
