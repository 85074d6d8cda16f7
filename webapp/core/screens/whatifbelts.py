"""What if another belt went on: where the arm would stand, how tight it would be, how far a manual tensioner moves."""

from .. import belts
from .. import card
from .. import drive_data
from .. import drive_form
from .. import drive_spread
from .. import forms
from .. import layout
from .. import numbers
from .. import sections
from .. import tensioner
from .. import units
from .. import words
from ..errors import CoreError
from . import measuring
from . import whatif

# A belt's length as far as the drive form takes it [m].
_BELT_M = (0.1, 10.0)
# The curve reaches this far beyond the belts [mm], and up to this many times the higher tension.
_BEYOND_MM = 25.0
_TOO_TIGHT = 2.5
_LINE_POINTS = 9
_STAYS = "stays"


def show(request: dict, given: dict) -> dict:
    """Compare two belts on a drive."""
    about, refused = whatif.opened(request, given, "")
    if refused is not None:
        return refused
    typed = measuring.query_as_form(request)
    if not typed["form"]:
        typed["form"] = [["a", _own_belt(about)], ["b", _new_belt(about)]]
    form = forms.Reading(typed)
    pair = [_read(form, "a", about), _read(form, "b", about)]
    context = about["context"]
    context["fields"] = [forms.field("a", "Belt A", forms.value(typed, "a"), form.errors,
                                     "The belt of this drive, or another one.", upper=True, most=60),
                         forms.field("b", "Belt B", forms.value(typed, "b"), form.errors,
                                     "A marking such as 6PK1425, or a length such as 1425.", upper=True, most=60)]
    return whatif.page("whatif_belts.html", about, form, lambda: {"answer": _answer(about, pair)})


# ---- which belts ----

def _own_belt(about):
    belt = about["drive"]["belt"]
    if belt["effective_mm"] is None:
        return _of_job(about, "old")
    return _named(belt["section"], belt["ribs"], belt["effective_mm"], about)


def _new_belt(about):
    return _of_job(about, "new")


def _of_job(about, place):
    """A belt of the job as it would be typed here."""
    entry = card.belt_of(about["job"], about["loop"], place) if about["job"] is not None else None
    if entry is None:
        return ""
    data = entry["data"]
    if data["marking"]:
        return data["marking"]
    return "" if data["length"] is None else measuring.shown(data["length"])


def _named(section, ribs, mm, about):
    if section is not None and belts.is_ribbed(section) and ribs is not None:
        return str(ribs) + section + numbers.trimmed(mm, 1)
    return units.text(mm / 1000, about["shop"]["length_unit"], "length", 5)


def _read(form, name, about):
    """A belt as typed: {"text", "mm", "ribs"}, None when nothing is typed or it cannot be read."""
    typed = forms.value(form.request, name)
    if not typed:
        return None
    try:
        number, unit = _split(typed, about["shop"]["length_unit"])
        if number:
            quantity = units.read_quantity(number, unit, "length", name, _BELT_M[0], _BELT_M[1])
            return {"text": measuring.shown(quantity), "mm": units.to_si(quantity, "length") * 1000, "ribs": None}
        found = belts.parse(typed)
        return {"text": belts.text(found), "mm": _effective(found, about["drive"]["belt"]["section"], name), "ribs": found["ribs"]}
    except CoreError as error:
        form.fail(name, error.code, error.values)
    return None


def _split(typed, unit):
    """["1425", "mm"] of a plain length with or without its unit, ["", ""] of anything else."""
    body = typed.lower()
    for name in units.names("length"):
        if body.endswith(name):
            body = body[:-len(name)].strip()
            unit = name
            break
    for c in body:
        if c not in "0123456789.,+- ":
            return ["", ""]
    return [body, unit]


def _effective(found, section, name):
    """The length of a marking on the line that the drive counts on [mm]."""
    if section is not None and found["section"] != section:
        raise CoreError("if-other-section", name, {"section": section, "other": found["section"]})
    length = found["length_mm"]
    if belts.is_ribbed(found["section"]) or found["length_kind"] == drive_data.sold_by(found["section"]):
        if not _BELT_M[0] <= length / 1000 <= _BELT_M[1]:
            raise CoreError("out-of-range", name, {"low": "100", "high": "10000"})
        return length
    data = sections.V_BELTS[found["section"]]
    if found["length_kind"] == "inside" and "datum_mm" in data:
        return length + data["datum_mm"]
    if found["length_kind"] == "outside" and "datum_mm" in data and "outside_mm" in data:
        return length - data["outside_mm"] + data["datum_mm"]
    raise CoreError("if-other-line", name, {"kind": words.label("length_kind", found["length_kind"]).lower()})


# ---- answers ----

def _answer(about, pair):
    full = drive_form.form(about["drive"])
    tensioner.refuse_uncomputed(full)
    kind = full["tensioner"]["kind"]
    known = [[name, belt] for name, belt in (("A", pair[0]), ("B", pair[1])) if belt is not None]
    if not known:
        raise CoreError("number-missing", "belt.effective_mm")
    if kind in tensioner.ARM:
        answer = _by_arm(about, full, known)
    else:
        answer = _by_length(about, full, known)
    _judge_ribs(answer, full, known)
    answer["head"] = [[name, belt["text"]] for name, belt in known]
    return answer


def _judge_ribs(answer, full, known):
    """A belt with another count of ribs is not to be fitted, wherever the arm would stand."""
    ribs = full["belt"]["ribs"]
    for _, belt in known:
        if ribs is not None and belt["ribs"] is not None and belt["ribs"] != ribs:
            sentence = words.reason("if-ribs", {"belt": belt["text"], "ribs": str(ribs)})
            if belt is known[-1][1]:
                answer["sentences"].insert(0, answer["verdict"]["sentence"])
                answer["verdict"] = {"kind": "stop", "word": "Other count of ribs", "sentence": sentence}
            else:
                answer["doubts"].append(sentence)


def _with_length(full, mm):
    return dict(full, belt=dict(full["belt"], effective_mm=mm))


# ---- a spring arm ----

def _rested(full, mm):
    """The arm with a belt of a length, or why that belt does not lie on the drive."""
    try:
        return tensioner.rest(_with_length(full, mm))
    except CoreError as error:
        if error.code not in ("belt-too-long", "belt-too-short"):
            raise
        return {"error": error}


def _ranges(full, mm, found, half_mm):
    """[[used, low, high], [tension, low, high]]: a path that is off by half_mm acts as a belt that is off by as much."""
    used = [found["travel_used"]]
    pulls = [found["low_n"], found["high_n"]]
    for other in (mm - half_mm, mm + half_mm):
        end = _rested(full, other)
        # Beyond the travel the arm stands at its end.
        used.append((0.0 if end["error"].code == "belt-too-long" else 1.0) if "error" in end else end["travel_used"])
        if "error" not in end:
            pulls += [end["low_n"], end["high_n"]]
    return [[used[0], min(used), max(used)], [found["tension_n"], min(pulls), max(pulls)]]


def _by_arm(about, full, known):
    off = drive_spread.spread(full)["effective_mm"]
    half = 0.0 if off is None else off
    columns = []
    for name, belt in known:
        found = _rested(full, belt["mm"])
        columns.append({"name": name, "belt": belt, "found": found,
                        "ranges": None if "error" in found else _ranges(full, belt["mm"], found, half)})
    last = columns[-1]
    answer = {"verdict": _verdict(last), "rows": _arm_rows(about, columns), "sentences": _arm_sentences(about, full, columns),
              "doubts": _arm_doubts(full, off), "chart": _arm_chart(about, full, columns),
              "working": _arm_working(about, full, columns, off)}
    if last["ranges"] is not None:
        answer["sentences"] += [words.fault_sentence(fault) for fault in last["found"]["faults"] if fault["code"] != "outside-marks"]
    return answer


def _verdict(column):
    found, values = column["found"], {"belt": column["belt"]["text"]}
    if "error" in found:
        return {"kind": "stop", "word": "Does not fit", "sentence": words.sentence(found["error"])}
    values["used"] = numbers.fixed(100 * found["travel_used"], 0)
    if found["in_marks"] is None:
        return {"kind": "watch", "word": "No marks known", "sentence": words.reason("if-no-marks", values)}
    if found["in_marks"]:
        return {"kind": "good", "word": "Between the marks", "sentence": words.reason("if-in-marks", values)}
    return {"kind": "stop", "word": "Outside the marks", "sentence": words.reason("if-outside-marks", values)}


def _arm_rows(about, columns):
    rows = [["Arm stands at"], ["Tension"], ["Belt left to take up"], ["Marks"]]
    for column in columns:
        found = column["found"]
        if "error" in found:
            cells = ["not on the drive", "none", "none", "none"]
        else:
            used, pulls = column["ranges"]
            marks = {True: "between", False: "outside", None: "not known"}[found["in_marks"]]
            cells = [_percent(used) + " of its travel", whatif.force(about, pulls),
                     about["shown"].length(found["take_up_mm"]) + " (" + numbers.fixed(found["take_up_percent"], 1) + " %)", marks]
        for i in range(len(rows)):
            rows[i].append(cells[i])
    return rows


def _percent(used):
    texts = [numbers.fixed(100 * one, 0) for one in used]
    if texts[1] == texts[2]:
        return texts[0] + " %"
    return texts[0] + " % (" + texts[1] + " to " + texts[2] + ")"


def _arm_sentences(about, full, columns):
    out = []
    if len(columns) == 2 and columns[0]["ranges"] and columns[1]["ranges"]:
        one, other = columns[0]["found"], columns[1]["found"]
        turn = abs(other["angle_deg"] - one["angle_deg"])
        if numbers.fixed(turn, 1) == "0.0":
            out.append(words.reason("if-same-place", {}))
        else:
            way = "if-turn-free" if other["travel_used"] < one["travel_used"] else "if-turn-full"
            apart = other["tension_n"] - one["tension_n"]
            out.append(words.reason(way, {
                "turn": numbers.fixed(turn, 1), "by": units.text(abs(apart), about["shop"]["force_unit"], "force", 2),
                "way": "more" if apart > 0 else "less"}))
    window = tensioner.length_window(full)
    if window is not None:
        out.append(words.reason("if-window", {"low": about["shown"].length(window[0]), "high": about["shown"].length(window[1])}))
    elif full["tensioner"]["marks_deg"] is None:
        out.append(words.reason("if-window-marks", {}))
    return out


def _arm_doubts(full, off):
    out = []
    if off is None:
        out.append(words.reason("if-places-unknown", {}))
    if full["tensioner"]["friction"] is None:
        out.append(words.reason("if-friction-unknown", {}))
    if full["tensioner"]["stops_deg"] is None:
        out.append(words.reason("if-stops-unknown", {}))
    return out


def _arm_chart(about, full, columns):
    points = tensioner.over_travel(full)
    if not points:
        return None
    shown = [c for c in columns if c["ranges"] is not None]
    lengths = [c["belt"]["mm"] for c in shown] or [points[len(points) // 2]["effective_mm"]]
    most = max([c["found"]["high_n"] for c in shown] or [points[len(points) // 2]["high_n"]]) * _TOO_TIGHT
    kept = [p for p in points if p["high_n"] <= most and min(lengths) - 3 * _BEYOND_MM <= p["effective_mm"] <= max(lengths) + 3 * _BEYOND_MM]
    return _chart(about, kept, columns) if kept else None


def _chart(about, points, columns):
    unit, pull = about["shop"]["length_unit"], about["shop"]["force_unit"]
    chart = whatif.curve([units.from_si(p["effective_mm"] / 1000, unit, "length") for p in points], "Belt length", unit)
    chart["y_label"] = "Tension of one strand [" + pull + "]"
    for name, look, key in (("Tension", "one", "tension_n"), ("At most", "edge", "high_n"), ("At least", "edge", "low_n")):
        whatif.line(chart, name, look, [units.from_si(p[key], pull, "force") for p in points])
    chart["bands"].append([1, 2])
    looks = ["quiet", "two"]
    for i in range(len(columns)):
        mm = columns[i]["belt"]["mm"]
        whatif.mark(chart, columns[i]["name"], looks[i], units.from_si(mm / 1000, unit, "length"))
    text = "Tension over belt length: " + "; ".join(
        [about["shown"].length(p["effective_mm"]) + ", " + whatif.force(about, [p["tension_n"], p["low_n"], p["high_n"]])
         for p in (points[0], points[len(points) // 2], points[-1])]) + "."
    return whatif.drawn(chart, "Tension over belt length", text)


def _arm_working(about, full, columns, off):
    data = full["tensioner"]
    out = [["Formula", "M = M0 + k (angle pushed back);  T = M / r;  the arm rests where path and stretched belt are equally long"],
           ["Spring", numbers.short(data["torque_nm"]) + " N m at " + numbers.short(data["at_deg"]) + " degrees, "
            + numbers.short(data["rate_nm_per_deg"]) + " N m more per degree"]]
    for column in columns:
        if column["ranges"] is not None:
            found = column["found"]
            out.append(["Belt " + column["name"], "angle " + numbers.fixed(found["angle_deg"], 1) + " degrees; M = "
                        + numbers.short(found["torque_nm"]) + " N m; r = " + numbers.short(found["lever_mm"]) + " mm; T = M / r = "
                        + numbers.short(found["tension_n"]) + " N"])
    if data["friction"] is not None:
        out.append(["Friction band", "T less and more " + numbers.fixed(100 * data["friction"], 0) + " %, as typed in for this tensioner"])
    if off is not None:
        out.append(["Path", "good to " + numbers.short(off, 2) + " mm, from how well places, diameters and the belt's back are known"])
    out.append(["Source", "Virtual work; belt stretch as in Beikmann, Perkins and Ulsoy, J. Vib. Acoust. 118 (1996), page not seen"])
    return out


# ---- no arm: the belt's own length, or a hand ----

def _by_length(about, full, known):
    kind = full["tensioner"]["kind"]
    manual = kind in tensioner.MANUAL
    columns = [{"name": name, "belt": belt, "found": tensioner.fitted(_with_length(full, belt["mm"]))} for name, belt in known]
    rows = [["Tension if the tensioner stays as drawn" if manual else "Tension"]]
    rows[0] += [whatif.force(about, [c["found"]["tension_n"], c["found"]["low_n"], c["found"]["high_n"]]) for c in columns]
    if kind == "stretch_fit":
        rows.append(["After it has settled"] + [_settled(about, c["found"]["settled_n"]) for c in columns])
    rows.append(["Stretched by"] + [numbers.fixed(100 * c["found"]["strain"], 2) + " %" for c in columns])
    sentences = [words.reason("means-" + kind, {})]
    if manual:
        moves = [_move(full, belt["mm"], known[0][1]["mm"]) for _, belt in known]
        rows.append(["Tensioner moves, from as drawn"] + ["too far" if m is None else move_words(m) for m in moves])
        verdict = _verdict_by_hand(known[-1][1], moves[-1])
        if moves[-1] is not None:
            sentences.insert(0, words.reason("if-move-then", {}))
    else:
        verdict = _verdict_by_length(full, known[-1][1])
    return {"verdict": verdict, "rows": rows, "sentences": sentences, "doubts": [words.reason("if-length-sharp", {})],
            "chart": _length_chart(about, full, columns), "working": _length_working(columns, manual)}


def _settled(about, ends):
    return whatif.force(about, [(ends[0] + ends[1]) / 2, ends[0], ends[1]])


def _length_working(columns, manual):
    out = [["Formula", "T = T0 + EA (path / belt - 1), on the cord line"]]
    for column in columns:
        out.append(["Belt " + column["name"], "path / belt - 1 = " + numbers.short(100 * column["found"]["strain"]) + " %; T = "
                    + numbers.short(column["found"]["tension_n"]) + " N"])
    out.append(["Range", "over the range of the belt's stiffness EA, from memory; the tape's error comes on top"])
    if manual:
        out.append(["Move", "the path has to grow by as much as the belt is longer; found on the exact geometry of the route"])
    out.append(["Source", "Hooke's law; plane geometry"])
    return out


def _verdict_by_length(full, belt):
    other = _with_length(full, belt["mm"])
    for fault in tensioner.reach(other, layout.lay_out(other)):
        return {"kind": "stop", "word": "Does not fit", "sentence": words.fault_sentence(fault)}
    return {"kind": "watch", "word": "Exact belt only", "sentence": words.reason("if-exact", {})}


def _move(full, mm, otherwise_mm):
    """How a manual tensioner moves for a belt from where it is drawn, None when it cannot go so far.

    It is drawn with the drive's own belt on; where that is not known, with belt A.
    """
    own = full["belt"]["effective_mm"]
    try:
        move = tensioner.move_for_length(_with_length(full, otherwise_mm if own is None else own), mm)
    except CoreError as error:
        if error.code != "move-too-far":
            raise
        return None
    return None if move["enough"] is False else move


def _verdict_by_hand(belt, move):
    if move is None:
        return {"kind": "stop", "word": "Does not fit", "sentence": words.reason("if-out-of-reach", {"belt": belt["text"]})}
    moved = move_words(move)
    sentence = words.reason("if-move" if moved != _STAYS else "if-stays", {"belt": belt["text"], "move": moved})
    return {"kind": "watch", "word": "Set it", "sentence": sentence}


def move_words(move: dict) -> str:
    """Return in words how a manual tensioner moves.

    Parameters:  move: of `tensioner.turn_for` or `tensioner.move_for_length`
    """
    if move["deg"] is not None:
        if numbers.fixed(move["deg"], 0) in ("0", "-0"):
            return _STAYS
        return "about " + numbers.fixed(abs(move["deg"]), 0) + " degrees " + move["sense"] + " about its pivot"
    if numbers.fixed(move["mm"], 1) in ("0.0", "-0.0"):
        return _STAYS
    text = "about " + numbers.fixed(abs(move["mm"]), 1) + " mm along its slot"
    if move["turns"] is not None:
        text += ", " + numbers.fixed(abs(move["turns"]), 1) + " turns of the screw"
    return text + (", out" if move["path_mm"] > 0 else ", back")


def _length_chart(about, full, columns):
    lengths = [c["belt"]["mm"] for c in columns]
    low, high = min(lengths) - _BEYOND_MM, max(lengths) + _BEYOND_MM
    points = []
    for k in range(_LINE_POINTS):
        mm = low + (high - low) * k / (_LINE_POINTS - 1)
        points.append(dict(tensioner.fitted(_with_length(full, mm)), effective_mm=mm))
    return _chart(about, points, columns) if points[0]["tension_n"] > 0 else None
