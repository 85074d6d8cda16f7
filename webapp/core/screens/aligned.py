"""Aligned: the offset of each span by straightedge or angle, against a limit that says where it is from.

The verdict is shown while the numbers are typed, and once more with each reading that was saved.
"""

from .. import alignment
from .. import card
from .. import events
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from . import measuring
from . import photos
from . import signed

_KINDS = {"inside": "good", "outside": "stop", "cannot_tell": "watch"}
_LABELS = [["span", "Between which pulleys"], ["gap", "Gap"], ["over", "Over which length"], ["angle", "Angle"], ["good", "Good to"],
           ["limit", "Limit"], ["maker", "The maker's limit"], ["maker_source", "Where from"], ["tool", "Measured with"]]
# A slip of the keys is caught here [m]: no gap is wider, no straightedge shorter or longer.
_GAP, _OVER, _GOOD = (0.0, 0.05), (0.02, 2.0), (0.00001, 0.005)
_MAKER = "maker"


def show(request: dict, given: dict) -> dict:
    """Show the readings so far and the form for another one."""
    away = measuring.turned_away(request, given)
    if away is not None:
        return away
    way = "angle" if forms.asked(request, "way") == "angle" else "straightedge"
    filled = forms.filled([["span", forms.asked(request, "span")], ["way", way], ["limit", _last_limit(given["job"], request["params"]["loop"])]])
    filled["params"] = request["params"]
    return _page(filled, given, way, None, 200)


def _last_limit(job, loop):
    """The limit that the last reading was held against; the strictest while there is none."""
    entries = [entry for entry in job["offsets"] if entry["loop"] == loop]
    rows = _limits(job, loop)
    if not entries:
        return "0"
    for i in range(len(rows)):
        if rows[i][1] == entries[-1]["data"]["limit_source"]:
            return str(i)
    return _MAKER


def _limits(job, loop):
    """[[limit as text in mm/m, source, degrees as text], ...] for the belt's kind."""
    facts = card.loop_facts(job, loop)
    rows = alignment.limits(facts["belt"] if facts is not None else "unknown")
    return [[numbers.trimmed(limit, 2), source, numbers.fixed(alignment.to_degrees(limit), 2)] for limit, source in rows]


def spans(job: dict, loop: str) -> list:
    """Return the names of a belt's spans from its recorded drive, [] while there is none."""
    entry = card.drive_of(job, loop)
    names = [pulley.get("name") or "" for pulley in (entry["data"]["drive"].get("pulleys") or [])] if entry is not None else []
    names = [name for name in names if name]
    if len(names) < 2:
        return []
    following = names[1:] + names[:1] if len(names) > 2 else names[1:]
    return [(names[i] + " to " + following[i])[:60] for i in range(len(following))]


def _page(request, given, way, reading, status):
    job, loop = given["job"], request["params"]["loop"]
    errors = reading.errors if reading else {}
    typed = {name: forms.value(request, name) for name, _label in _LABELS}
    named = spans(job, loop)
    context = measuring.frame(given, loop, "Aligned")
    facts = card.loop_facts(job, loop)
    known = facts is not None and facts["belt"] != "unknown"
    offered = [[str(i), row[0] + " mm per m (" + row[2] + "\u00b0): " + row[1]] for i, row in enumerate(_limits(job, loop))]
    here = context["path"] + "/aligned"
    context.update({
        "action": here, "way": way, "told": _live(given, loop, request, way), "straightedge": way == "straightedge", "results": [_result(e, given) for e in alignment.standing(job, loop)],
        "ways": [{"name": label, "path": here + "?way=" + code, "here": code == way} for code, label in words.choice_pairs("offset_way")],
        "span": forms.tiles("span", "Between which pulleys?", [[name, name] for name in named], [typed["span"]], errors, wordy=True)
        if named else forms.field("span", "Between which pulleys?", typed["span"], errors, "Such as crank to alternator.", most=60),
        "span_tiles": bool(named),
        "measures": _measures(request, way, errors), "angles": _angles(typed, errors) if way == "angle" else [],
        "limit": forms.tiles("limit", "Against which limit?", offered + [[_MAKER, "The vehicle maker's own"]], [typed["limit"]], errors,
                             wordy=True, hint="Sources disagree. The maker's own value comes first."
                             + ("" if known else " The belt's kind is not known yet: these are the stricter ones, for ribs.")),
        "maker": [forms.field("maker", "The maker's limit, mm per m", typed["maker"], errors, mode="decimal", most=10),
                  forms.field("maker_source", "Where it is from", typed["maker_source"], errors, most=120)],
        "maker_open": bool(typed["limit"] == _MAKER),
        "tool": forms.field("tool", "Measured with", typed["tool"], errors, most=80), "cautions": card.cautions(job, "aligned", loop),
        "shots": [photos.shot(job, "alignment", loop, here)], "words_path": context["path"] + "/step/aligned", "problems": reading.problems(_LABELS) if reading else []})
    return reply.page("aligned.html", context, status)


def _measures(request, way, errors):
    if way == "angle":
        return []
    offered = measuring.length_units()
    rows = [["gap", "Gap at the far pulley", "Under the straightedge, held flat on the first pulley."],
            ["over", "Over which length", "From the edge that it lies on to the place of the gap."],
            ["good", "Gap good to", "Empty: 0.25 mm, a feeler gauge or a scale by eye. Common practice, no source."]]
    return [measuring.measure(name, label, measuring.typed_quantity(request, name), "mm", offered, errors, hint) for name, label, hint in rows]


def _angles(typed, errors):
    return [forms.field("angle", "Angle, degrees", typed["angle"], errors, mode="decimal", most=10),
            forms.field("good", "Angle good to, degrees", typed["good"], errors, "Empty: 0.1 degrees. Common practice, no source.",
                        mode="decimal", most=10)]


def _result(entry, given):
    data = entry["data"]
    return dict(_view(data["shown"], data["limit_mm_per_m"], data["limit_source"], data["span"] + ": "), how=how(data),
                by=signed.by(entry, given), undo="/jobs/" + given["job"]["id"] + "/withdraw?event=" + entry["id"])


def _view(shown, limit, source, of_span):
    """A reading's verdict as a page shows it; `shown`: of the function of that name."""
    code = shown.get("verdict", "")
    held = "Limit " + limit + " mm per m, " + numbers.fixed(alignment.to_degrees(float(limit)), 2) + "\u00b0: " + source + "." if limit else ""
    return {"verdict": {"kind": _KINDS.get(code, "open"), "word": words.label("offset_verdict", code) or "Read", "sentence": of_span + shown.get("sentence", "")}, "angle": shown.get("angle", ""),
            "slope": shown.get("slope", ""), "held": held, "next": shown.get("next", ""),
            "sources": [text for text in shown.get("sources", "").split("; ") if text]}


def fragment(request: dict, given: dict) -> dict:
    """Show what the numbers typed so far are worth, while they are typed."""
    away = measuring.turned_away(request, given)
    if away is not None:
        return away
    typed = measuring.query_as_form(request)
    way = "angle" if forms.value(typed, "way") == "angle" else "straightedge"
    return reply.page("_offset.html", {"told": _live(given, request["params"]["loop"], typed, way)})


def _live(given, loop, request, way):
    """The verdict on what is typed; None while a number is missing or cannot be read."""
    reading = forms.Reading(request)
    told = _read_angle(reading, {}) if way == "angle" else _read_gap(reading, {})
    if told is None:
        return None
    limit, source = _read_limit(reading, request, given["job"], loop)
    return _view(shown(told, limit, _limits(given["job"], loop)), limit, source or "where it is from is not said yet", "")


def how(data: dict) -> str:
    """Return how an offset was read, in one line."""
    if data["way"] == "angle":
        text = "Angle " + data["angle_deg"] + "\u00b0"
    else:
        text = "Gap " + measuring.shown(data["gap"]) + " over " + measuring.shown(data["over"])
    good = data["shown"].get("good_to", "")
    return text + (", good to " + good if good else "") + (", " + data["tool"] if data["tool"] else "")


def save(request: dict, given: dict) -> dict:
    """Record an offset with its verdict."""
    away = measuring.turned_away(request, given)
    if away is not None:
        return away
    job, loop = given["job"], request["params"]["loop"]
    way = "angle" if forms.value(request, "way") == "angle" else "straightedge"
    reading = forms.Reading(request)
    reading.person(given)
    data = {"span": reading.text("span", 60, True), "way": way, "gap": None, "over": None, "angle_deg": None, "tool": reading.text("tool", 80)}
    told = _read_angle(reading, data) if way == "angle" else _read_gap(reading, data)
    data["limit_mm_per_m"], data["limit_source"] = _read_limit(reading, request, job, loop)
    if reading.errors:
        return _page(request, given, way, reading, 422)
    data["shown"] = shown(told, data["limit_mm_per_m"], _limits(job, loop))
    return reply.record([events.make(given, 0, "offset_read", job["id"], data, loop)], "/jobs/" + job["id"] + "/" + loop + "/aligned")


def _read_gap(reading, data):
    data["gap"] = reading.quantity("gap", "length", _GAP[0], _GAP[1], True)
    data["over"] = reading.quantity("over", "length", _OVER[0], _OVER[1], True)
    good = reading.quantity("good", "length", _GOOD[0], _GOOD[1])
    if data["gap"] is None or data["over"] is None or "good" in reading.errors:
        return None
    error = units.to_si(good, "length") if good is not None else alignment.GAP_ERROR_M
    told = alignment.by_straightedge(units.to_si(data["gap"], "length"), units.to_si(data["over"], "length"), error)
    return dict(told, good_to=measuring.shown(good) or numbers.trimmed(alignment.GAP_ERROR_M * 1000, 2) + " mm")


def _read_angle(reading, data):
    data["angle_deg"] = measuring.decimal(reading, "angle", -20, 20, True)
    good = measuring.decimal(reading, "good", 0.01, 2)
    if data["angle_deg"] is None or "good" in reading.errors:
        return None
    error = float(good) if good is not None else alignment.ANGLE_ERROR_DEG
    return dict(alignment.by_angle(float(data["angle_deg"]), error), good_to=numbers.trimmed(error, 2) + "\u00b0")


def _read_limit(reading, request, job, loop):
    """(limit as text in mm/m, its source); (None, None) when it is wrong."""
    chosen = forms.value(request, "limit")
    if chosen == _MAKER:
        return measuring.decimal(reading, "maker", 0.1, 100, True), reading.text("maker_source", 120, True)
    rows = _limits(job, loop)
    for i in range(len(rows)):
        if chosen == str(i):
            return rows[i][0], rows[i][1]
    reading.fail("limit", "not-a-choice")
    return None, None


def shown(told: dict, limit: str, rows: list) -> dict:
    """Return what a reading is worth in words, as a record keeps it.

    Parameters:  told: of `alignment` with "good_to" · limit: held against, as text [mm/m], None while there is none ·
                 rows: limits of all sources
    """
    slope = numbers.plus_minus(told["mm_per_m"], told["error_mm_per_m"]) + " mm per m"
    others = [row[0] + " mm per m, " + row[1] + ": "
              + words.label("offset_verdict", alignment.judge(told["mm_per_m"], told["error_mm_per_m"], float(row[0]))).lower() for row in rows]
    found = {"slope": slope, "angle": numbers.plus_minus(told["deg"], told["error_deg"]) + "\u00b0", "sources": "; ".join(others)[:400],
             "good_to": told["good_to"]}
    if limit is None:
        return dict(found, sentence=words.reason("offset-no-limit", {"found": slope}))
    verdict = alignment.judge(told["mm_per_m"], told["error_mm_per_m"], float(limit))
    return dict(found, verdict=verdict, sentence=words.reason("offset-" + verdict, {"found": slope, "limit": limit}),
                next=words.reason("offset-next-" + verdict, {}))


def measured(job: dict, loop: str) -> dict:
    """Return what the offsets of a belt say of its pulleys, for the look behind a cause that asks for it.

    Parameters:  job: the folded job, with offsets of the belt · loop: "1" to "3"
    Returns:     {"text": each span with its offset, limit and source, and how many spans were not measured, "good": none is or was
                 out of line}
    """
    standing = alignment.standing(job, loop)
    texts, good = [], True
    for entry in standing:
        data = entry["data"]
        texts.append(data["span"] + " " + data["shown"].get("slope", "") + ", limit " + data["limit_mm_per_m"] + " mm per m (" + data["limit_source"]
                     + "): " + words.label("offset_verdict", data["shown"].get("verdict", "")).lower())
        out = [one["data"] for one in job["offsets"] if one["loop"] == loop and one["data"]["span"] == data["span"]
               and one["data"]["shown"].get("verdict") == "outside"]
        good = good and not out
        if out and data["shown"].get("verdict") != "outside":
            texts[-1] += ", out of line before with " + out[0]["shown"].get("slope", "")
    have = [entry["data"]["span"] for entry in standing]
    named = spans(job, loop)
    left = [name for name in named if name not in have]
    # Where no name fits, the drive was recorded later and the names tell nothing.
    if 0 < len(left) < len(named):
        texts.append("Spans of the recorded drive that were not measured: " + str(len(left)) + " of " + str(len(named)))
    return {"text": ". ".join(texts), "good": good}


def lines(job: dict, loop: str, given: dict) -> list:
    """Return the printed sheet's lines on a belt's offsets, none while there is no reading."""
    found = []
    for entry in job["offsets"]:
        if entry["loop"] == loop:
            data = entry["data"]
            line = {"label": "Offset", "text": data["span"] + ". " + how(data), "by": signed.by(entry, given)}
            result = ", ".join([text for text in (data["shown"].get("slope"), data["shown"].get("angle")) if text])
            line["shown"] = [pair for pair in (["Found", result], ["Limit", data["limit_mm_per_m"] + " mm per m, " + data["limit_source"]],
                                               ["Verdict", words.label("offset_verdict", data["shown"].get("verdict", ""))]) if pair[1]]
            found.append(line)
    return found
