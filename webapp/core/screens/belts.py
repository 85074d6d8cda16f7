"""The old and the new belt: what is written on them, what was measured, and whether one may stand for the other."""

from .. import belts
from .. import card
from .. import events
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import jobs
from . import measuring
from . import photos

# One question at a time; each is saved before the next is asked.
STEPS = [["marking", "Marking"], ["ribs", "Ribs and width"], ["length", "Length by tape"], ["wear", "Wear"],
         ["photo", "Photo"]]

BLANK = [["marking", None], ["section", None], ["ribs", None], ["length", None], ["length_kind", None],
         ["double_sided", False], ["stretch", False], ["ribs_counted", None], ["width", None], ["taped", None],
         ["tape_constant", None], ["wear", []], ["wear_note", None], ["batch", None]]

LABELS = [["marking", "Marking"], ["section", "Kind of belt"], ["ribs_counted", "Ribs counted"], ["width", "Width"],
          ["taped", "Taped length"], ["tape_constant", "Your tape constant"], ["wear", "Wear"],
          ["wear_note", "Anything else"], ["batch", "Batch or date mark"], ["reason", "Reason"]]

# The kinds offered when the belt says nothing itself; the rest are rare at the front of an engine.
SECTIONS = [["PK", "Ribbed, car size (PK)"], ["PJ", "Ribbed, fine (PJ)"], ["AV10", "V-belt, 10 mm"],
            ["AV13", "V-belt, 13 mm"], ["", "Something else"]]

# Limits of what a belt at the front of an engine can be; wide, so that they only stop slips of the finger.
WIDTH_M = (0.005, 0.1)
LENGTH_M = (0.2, 6.0)
CONSTANT_M = (-0.03, 0.05)


def overview(request: dict, given: dict) -> dict:
    """Show the old and the new belt side by side, what is missing, and the verdict."""
    return _overview(request, given, forms.Reading(request), 200)


def accept(request: dict, given: dict) -> dict:
    """Record why a new belt that differs is fitted all the same."""
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    door = measuring.gate_first(request, given)
    if door:
        return door
    form = forms.Reading(request)
    form.person(given)
    reason = form.text("reason", 300, needed=True)
    if form.errors:
        return _overview(request, given, form, 422)
    event = events.make(given, 0, "difference_accepted", job["id"], {"reason": reason}, loop)
    return reply.record([event], "/jobs/" + job["id"] + "/" + loop + "/belts")


def show(request: dict, given: dict) -> dict:
    """Ask one thing about one belt."""
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
    if not measuring.knows(job, loop) or not words.is_choice("belt_place", place):
        return measuring.no_such_belt()
    door = measuring.gate_first(request, given)
    if door:
        return door
    step = forms.asked(request, "step")
    if _step_index(step) is None:
        step = _first_open(job, loop, place) or "marking"
    standing = card.belt_of(job, loop, place)
    data = standing["data"] if standing else _blank(job, loop, place)
    typed = {"marking": data["marking"] or "", "section": data["section"] or "", "stretch": data["stretch"],
             "ribs_counted": "" if data["ribs_counted"] is None else str(data["ribs_counted"]), "width": data["width"],
             "taped": data["taped"], "tape_constant": data["tape_constant"], "wear": data["wear"],
             "wear_note": data["wear_note"] or "", "batch": data["batch"] or ""}
    return _step_page(request, given, step, typed, forms.Reading(request), 200)


def save(request: dict, given: dict) -> dict:
    """Save the answer to one question about one belt."""
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
    if not measuring.knows(job, loop) or not words.is_choice("belt_place", place):
        return measuring.no_such_belt()
    door = measuring.gate_first(request, given)
    if door:
        return door
    step = forms.value(request, "step")
    if step not in _READERS:
        return reply.go(request["path"])
    standing = card.belt_of(job, loop, place)
    data = {}
    before = standing["data"] if standing else _blank(job, loop, place)
    for key in before:
        data[key] = before[key]
    form = forms.Reading(request)
    form.person(given)
    _READERS[step](form, data)
    if form.errors:
        return _step_page(request, given, step, _typed(request), form, 422)
    event = events.make(given, 0, "belt_recorded", job["id"], data, loop, standing["id"] if standing else None)
    return reply.record([event], request["path"] + "?step=" + STEPS[_step_index(step) + 1][0])


def _blank(job, loop, place):
    data = {"place": place}
    for pair in BLANK:
        data[pair[0]] = pair[1]
    facts = card.loop_facts(job, loop)
    data["stretch"] = bool(facts) and (facts["belt"] == "stretch" or facts["tensioner"] == "stretch_fit")
    return data


def _step_index(step):
    for i in range(len(STEPS)):
        if STEPS[i][0] == step:
            return i
    return None


def _photos(job, loop, place):
    return photos.of_subject(job, place + "_belt", loop)


def _first_open(job, loop, place):
    """The first question that still needs an answer, "" when none does."""
    entry = card.belt_of(job, loop, place)
    if entry is None:
        return "marking"
    lacking = _lacking(entry["data"], len(_photos(job, loop, place)) > 0)
    return lacking[0][0] if lacking else ""


def _lacking(data, has_photo):
    """What a belt's record still lacks, as [[question, words], ...]. A taped length is a must only without a marking."""
    out = []
    if _is_ribbed(data) and data["ribs_counted"] is None:
        out.append(["ribs", "ribs not counted"])
    if data["length"] is None and data["taped"] is None and not data["stretch"]:
        out.append(["length", "no length"])
    if not data["wear"] and data["place"] == "old":
        out.append(["wear", "wear not judged"])
    if not has_photo:
        out.append(["photo", "no photo"])
    return out


def _is_ribbed(data):
    return data["section"] is None or belts.is_ribbed(data["section"])


# ---- reading the answers ----

def _read_marking(form, data):
    """A belt without a readable marking is a normal answer: the parts of the marking are then empty."""
    data["stretch"] = forms.value(form.request, "stretch") == "yes"
    for key in ("marking", "section", "ribs", "length", "length_kind"):
        data[key] = None
    data["double_sided"] = False
    if forms.value(form.request, "unreadable"):
        section = forms.value(form.request, "section")
        data["section"] = section if section in belts.section_names() else None
        return
    marking = form.text("marking", 60, needed=True)
    if form.errors:
        return
    try:
        parsed = belts.parse(marking)
    except CoreError as error:
        form.fail("marking", error.code, error.values)
        return
    data["marking"] = marking
    data["section"] = parsed["section"]
    data["ribs"] = parsed["ribs"]
    data["length"] = {"value": numbers.trimmed(parsed["length_mm"], 1), "unit": "mm"}
    data["length_kind"] = parsed["length_kind"]
    data["double_sided"] = parsed["double_sided"]


def _read_ribs(form, data):
    data["ribs_counted"] = measuring.whole(form, "ribs_counted", 1, 60)
    data["width"] = form.quantity("width", "length", WIDTH_M[0], WIDTH_M[1])


def _read_length(form, data):
    data["taped"] = form.quantity("taped", "length", LENGTH_M[0], LENGTH_M[1])
    data["tape_constant"] = form.quantity("tape_constant", "length", CONSTANT_M[0], CONSTANT_M[1])


def _read_wear(form, data):
    data["wear"] = form.choices("wear", "wear")
    if "none_seen" in data["wear"] and len(data["wear"]) > 1:
        form.fail("wear", "wear-or-none")
    data["wear_note"] = form.text("wear_note", 300)
    data["batch"] = form.text("batch", 40)


_READERS = {"marking": _read_marking, "ribs": _read_ribs, "length": _read_length, "wear": _read_wear}


# ---- showing a question ----

def _typed(request):
    return {"marking": forms.value(request, "marking"), "section": forms.value(request, "section"),
            "stretch": forms.value(request, "stretch") == "yes", "ribs_counted": forms.value(request, "ribs_counted"),
            "width": measuring.typed_quantity(request, "width"), "taped": measuring.typed_quantity(request, "taped"),
            "tape_constant": measuring.typed_quantity(request, "tape_constant"), "wear": forms.values(request, "wear"),
            "wear_note": forms.value(request, "wear_note"), "batch": forms.value(request, "batch")}


def _measure(name, label, typed, unit, errors, hint):
    return measuring.measure(name, label, typed, unit, measuring.length_units(), errors, hint)


def _step_page(request, given, step, typed, form, status):
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
    index = _step_index(step)
    name = words.label("belt_place", place)
    context = measuring.frame(given, loop, name + ": " + STEPS[index][1].lower())
    following = STEPS[index + 1][0] if index + 1 < len(STEPS) else ""
    context.update({
        "place": place, "place_name": name, "step": step, "step_name": STEPS[index][1],
        "step_number": str(index + 1), "step_count": str(len(STEPS)), "here": context["path"] + "/belts/" + place,
        "next_step": following, "back_step": STEPS[index - 1][0] if index else "",
        "problems": form.problems(LABELS)})
    _ASKERS[step](context, given, loop, place, typed, form.errors)
    return reply.page("belts_" + step + ".html", context, status)


def _ask_marking(context, given, loop, place, typed, errors):
    standing = card.belt_of(given["job"], loop, place)
    unreadable = standing is not None and standing["data"]["marking"] is None
    context["marking"] = forms.field("marking", "What is printed on the belt?", typed["marking"], errors,
                                     "As it stands there: 6PK1500, 6 PK 1500, 845K8, AV10x1000 La …", upper=True, most=60)
    context["unreadable_open"] = unreadable and not errors
    context["section"] = forms.tiles("section", "What kind of belt is it?", SECTIONS, [typed["section"]], errors)
    context["stretch"] = forms.tiles("stretch", "Is it a stretch-fit belt?", [["yes", "Yes, stretch-fit"], ["no", "No"]],
                                     ["yes" if typed["stretch"] else "no"], errors,
                                     hint="Often marked elastic or stretch; the drive has no tensioner.")
    context["read"] = marking_words(typed["marking"])


def _belt_data(given, loop, place):
    entry = card.belt_of(given["job"], loop, place)
    return entry["data"] if entry else _blank(given["job"], loop, place)


def _ask_ribs(context, given, loop, place, typed, errors):
    data = _belt_data(given, loop, place)
    section = data["section"] or "PK"
    context["ribbed"] = belts.is_ribbed(section)
    context["section"] = section
    context["ribs_counted"] = forms.field("ribs_counted", "How many ribs?", typed["ribs_counted"], errors,
                                          "Count twice, once from each edge, with a pick.", mode="numeric", most=2)
    context["width"] = _measure("width", "How wide is it?", typed["width"], given["shop"]["length_unit"], errors,
                                "It checks the count. You may leave it empty.")
    context["widths"] = [[str(n), numbers.fixed(belts.rib_width_mm(section, n), 1)] for n in (3, 4, 5, 6, 7, 8)] \
        if context["ribbed"] else []
    context["read"] = width_words(section, typed["ribs_counted"], typed["width"])


def _ask_length(context, given, loop, place, typed, errors):
    data = _belt_data(given, loop, place)
    section = data["section"] or "PK"
    constant = given["shop"]["tape_constants"].get(section)
    context["stretch"] = data["stretch"]
    context["section"] = section
    context["constant"] = constant + " mm" if constant else ""
    context["taped"] = _measure("taped", "Length round the back", typed["taped"], given["shop"]["length_unit"], errors,
                                "Held as a circle, tape snug, not pulled. You may leave it empty.")
    if typed["tape_constant"] is None and constant:
        typed["tape_constant"] = {"value": constant, "unit": "mm"}
    context["tape_constant"] = _measure("tape_constant", "Your tape constant", typed["tape_constant"], "mm", errors,
                                        "How much more your tape reads than the belt says.")
    context["read"] = tape_words(section, typed["taped"], typed["tape_constant"])


def _ask_wear(context, given, loop, place, typed, errors):
    context["wear"] = forms.tiles("wear", "What does the belt show?", words.choice_pairs("wear"), typed["wear"], errors,
                                  many=True, hint="Turn it inside out and bend it under a lamp.")
    context["wear_note"] = forms.field("wear_note", "Anything else", typed["wear_note"], errors, lines=2, most=300)
    context["batch"] = forms.field("batch", "Batch or date mark", typed["batch"], errors,
                                   "For age and warranty. You may leave it empty.", most=40)


def _ask_photo(context, given, loop, place, typed, errors):
    context["slot"] = photos.slot(given["job"], place + "_belt", loop, context["path"] + "/belts")
    context["pictures"] = _photos(given["job"], loop, place)


_ASKERS = {"marking": _ask_marking, "ribs": _ask_ribs, "length": _ask_length, "wear": _ask_wear, "photo": _ask_photo}


# ---- what was read, in words: shown with the page and again while somebody types ----

def marking_words(marking: str) -> dict:
    """Say what a marking means, or exactly what is wrong with it.

    Parameters:  marking: as typed
    Returns:     {"state": "none" | "read" | "wrong", "name": own form, "lines": [[part, meaning], ...], "wrong": sentence}
    """
    if not marking.strip():
        return {"state": "none", "name": "", "lines": [], "wrong": ""}
    try:
        belt = belts.parse(marking)
    except CoreError as error:
        return {"state": "wrong", "name": "", "lines": [], "wrong": words.sentence(error)}
    return {"state": "read", "name": belt["text"], "lines": _explain(belt), "wrong": ""}


def _explain(belt):
    lines = []
    if belt["ribs"] is not None:
        lines.append(["Ribs", str(belt["ribs"]) + (", on both faces" if belt["double_sided"] else "")])
    lines.append(["Section", belt["section"] + (", cogged" if belt["cogged"] else "")])
    if belt["ribs"] is not None or not belts.is_ribbed(belt["section"]):
        lines.append(["Width", numbers.fixed(belts.rib_width_mm(belt["section"], belt["ribs"]), 1) + " mm"])
    length = numbers.trimmed(belt["length_mm"], 1) + " mm"
    inches = numbers.trimmed(belt["length_mm"] / 25.4, 2) + " in"
    lines.append(["Length", length + " (" + inches + ")"])
    lines.append(["Measured as", words.label("length_kind", belt["length_kind"])])
    if belt["strands"] is not None:
        lines.append(["Joined strands", str(belt["strands"])])
    if belt["double_sided"] and belt["ribs"] is None:
        lines.append(["Faces", "works on both faces"])
    if belt["stretch"]:
        lines.append(["Kind", "stretch-fit"])
    return lines


def width_words(section: str, counted: str, width: dict) -> dict:
    """Say whether a width agrees with the count of ribs.

    Parameters:  section: section name · counted: ribs as typed, "" for none · width: {"value", "unit"} as typed, or None
    Returns:     {"state": "none" | "good" | "watch", "sentence"}
    """
    nothing = {"state": "none", "sentence": ""}
    if width is None:
        return nothing
    try:
        ribs = int(numbers.read_number(counted, "", 1, 60)) if belts.is_ribbed(section) else None
        measured = units.read_quantity(width["value"], width["unit"], "length", "", WIDTH_M[0], WIDTH_M[1])
        mm = units.to_si(measured, "length") * 1000
        seen = belts.check_width(section, ribs, mm)
    except CoreError:
        return nothing
    values = {"width": numbers.trimmed(mm, 1), "expected": numbers.trimmed(seen["expected_mm"], 1)}
    if seen["state"] == "fits":
        return {"state": "good", "sentence": words.reason("width-fits", values)}
    if seen["state"] == "other_count":
        values["ribs"] = str(seen["ribs"])
        return {"state": "watch", "sentence": words.reason("width-other-count", values)}
    return {"state": "watch", "sentence": words.reason("width-no-fit", values)}


def tape_words(section: str, taped: dict, constant: dict) -> str:
    """Say how the tape constant turns the tape's reading into a length; "" while that cannot be said.

    Parameters:  section: section name · taped, constant: {"value", "unit"} as typed, or None
    """
    if taped is None:
        return ""
    try:
        read = units.read_quantity(taped["value"], taped["unit"], "length", "", LENGTH_M[0], LENGTH_M[1])
        own = None
        if constant is not None and constant["value"]:
            own = units.read_quantity(constant["value"], constant["unit"], "length", "", CONSTANT_M[0], CONSTANT_M[1])
        found = belts.effective_from_tape(units.to_si(read, "length") * 1000,
                                          None if own is None else units.to_si(own, "length") * 1000, section)
    except CoreError:
        return ""
    less = measuring.shown(own) + ", your constant" if own else found["source"]
    return (measuring.shown(read) + " taped, less " + less + ": " + numbers.fixed(found["effective_mm"], 0)
            + " mm effective length, between " + numbers.fixed(found["low_mm"], 0) + " and "
            + numbers.fixed(found["high_mm"], 0) + " mm")


def marking_fragment(request: dict, given: dict) -> dict:
    """Read a marking while it is typed."""
    return reply.page("_marking.html", {"read": marking_words(forms.asked(request, "marking"))})


def width_fragment(request: dict, given: dict) -> dict:
    """Check a width while it is typed."""
    asked = measuring.query_as_form(request)
    read = width_words(forms.value(asked, "section"), forms.value(asked, "ribs_counted"), measuring.typed_quantity(asked, "width"))
    return reply.page("_width.html", {"read": read})


def tape_fragment(request: dict, given: dict) -> dict:
    """Turn a tape's reading into a length while it is typed."""
    asked = measuring.query_as_form(request)
    read = tape_words(forms.value(asked, "section"), measuring.typed_quantity(asked, "taped"), measuring.typed_quantity(asked, "tape_constant"))
    return reply.page("_tape.html", {"read": read})


# ---- side by side ----

def _overview(request, given, form, status):
    job, loop = given["job"], request["params"]["loop"]
    if not measuring.knows(job, loop):
        return measuring.no_such_belt()
    context = measuring.frame(given, loop, "Old and new belt")
    entries = [card.belt_of(job, loop, "old"), card.belt_of(job, loop, "new")]
    sides = [_side(job, loop, "old", entries[0], context["path"]), _side(job, loop, "new", entries[1], context["path"])]
    verdict, reasons = _judge(job, loop, entries)
    accepted = _accepted(given, loop)
    context.update({
        "sides": sides, "rows": _rows(entries), "verdict": verdict, "reasons": reasons,
        "means": words.reason("means-" + measuring.tensioner(job, loop), {}),
        "accepted": accepted, "may_accept": verdict["kind"] in ("watch", "stop") and not accepted,
        "reason": forms.field("reason", "Fit it all the same? Say why.", forms.value(request, "reason"), form.errors,
                              "Who decided, and on what grounds: it stands in the record.", lines=2, most=300),
        "problems": form.problems(LABELS), "next": _next(sides, context), "cautions": card.cautions(job, "belts", loop)})
    return reply.page("belts.html", context, status)


def _side(job, loop, place, entry, path):
    pictures = _photos(job, loop, place)
    data = entry["data"] if entry else None
    return {"place": place, "name": words.label("belt_place", place), "path": path + "/belts/" + place,
            "change": ("Change the " if entry else "Record the ") + words.label("belt_place", place).lower(),
            "recorded": entry is not None, "pictures": pictures, "open_step": _first_open(job, loop, place),
            "missing": [m[1] for m in _lacking(data, len(pictures) > 0)] if data else ["nothing recorded yet"],
            "findings": [words.reason(f[0], f[1]) for f in belts.findings(data)] if data else []}


def _rows(entries):
    """The table of both belts: [[what, old, new], ...]; a row that neither belt fills is left out."""
    rows = []
    for name, tell in _ROWS:
        cells = [tell(entry["data"]) if entry else "" for entry in entries]
        if cells[0] or cells[1]:
            rows.append([name, cells[0] or "–", cells[1] or "–"])
    return rows


def _tell_marking(data):
    return belts.parse(data["marking"])["text"] if _readable(data["marking"]) else "none readable"


def _readable(marking):
    return marking is not None and marking_words(marking)["state"] == "read"


def _tell_ribs(data):
    return "" if data["ribs_counted"] is None else str(data["ribs_counted"])


def _tell_length(data):
    return "" if data["length"] is None else measuring.shown(data["length"])


def _tell_tape(data):
    """The length that the tape speaks for, short enough for the table."""
    constant = data["tape_constant"]
    try:
        found = belts.effective_from_tape(units.to_si(data["taped"], "length") * 1000,
                                          None if constant is None else units.to_si(constant, "length") * 1000,
                                          data["section"])
    except CoreError:
        return measuring.shown(data["taped"])
    return numbers.fixed(found["effective_mm"], 0) + " mm, from " + measuring.shown(data["taped"]) + " taped"


def _tell_wear(data):
    return ", ".join([words.label("wear", code) for code in data["wear"]])


_ROWS = [["Marking", _tell_marking], ["Section", lambda data: data["section"] or ""],
         ["Printed length", _tell_length], ["Ribs counted", _tell_ribs],
         ["Width", lambda data: measuring.shown(data["width"])], ["By tape", lambda data: _tell_tape(data) if data["taped"] else ""],
         ["Stretch-fit", lambda data: "yes" if data["stretch"] else ""], ["Wear", _tell_wear],
         ["Seen", lambda data: data["wear_note"] or ""], ["Batch", lambda data: data["batch"] or ""]]


def _judge(job, loop, entries):
    """The verdict on two belts and its reasons in words."""
    if entries[0] is None or entries[1] is None:
        return {"kind": "open", "word": "Not compared yet", "sentence": words.reason("both-needed", {})}, []
    found = card.belt_verdict(job, loop)
    reasons = found["sentences"]
    if found["verdict"] == "same" and found["taped"]:
        return {"kind": "watch", "word": "Same, by tape only", "sentence": words.reason("tape-only", {})}, []
    if found["verdict"] == "same" and _contradicted(entries):
        return {"kind": "watch", "word": "Same by marking only", "sentence": words.reason("marking-doubted", {})}, []
    return verdict_of(found), reasons


def _contradicted(entries):
    """Whether something that was counted or measured speaks against what is printed on one of the belts."""
    for entry in entries:
        for found in belts.findings(entry["data"]):
            if found[0] not in ("tape-no-constant", "tape-stretch"):
                return True
    return False


def verdict_of(found: dict) -> dict:
    """Return a comparison's verdict in words.

    Parameters:  found: from `belts.compare`
    Returns:     {"kind", "word", "sentence"} as `_verdict.html` takes it
    """
    kind, word, code = _VERDICTS[found["verdict"]]
    if found["verdict"] == "differs":
        word += " in " + _differs_in(found["reasons"])
    return {"kind": kind, "word": word, "sentence": words.reason(code, {})}


_VERDICTS = {"same": ("good", "Same", "verdict-same"), "differs": ("watch", "Differs", "verdict-differs"),
             "do_not_fit": ("stop", "Stop: do not fit", "verdict-stop"),
             "cannot_tell": ("open", "Cannot tell yet", "verdict-open")}


def _differs_in(reasons):
    parts = []
    for code, _ in reasons:
        part = "cogs" if code == "cogs-differ" else "length"
        if part not in parts:
            parts.append(part)
    return " and ".join(parts)


def _accepted(given, loop):
    found = card.accepted_difference(given["job"], loop)
    if found is None:
        return None
    return {"reason": found["data"]["reason"], "who": jobs.person_name(given, found["who"])}


def _next(sides, context):
    """The one main action: the next belt that lacks something, else the way back to the card."""
    for side in sides:
        if side["open_step"]:
            verb = "Go on with the " if side["recorded"] else "Record the "
            return {"path": side["path"] + "?step=" + side["open_step"], "label": verb + side["name"].lower()}
    return {"path": context["card_path"], "label": "Back to the card"}
