"""The questions about one belt: what is written on it, what was measured, how it looks."""

from .. import belts
from .. import card
from .. import events
from .. import forms
from .. import numbers
from .. import reply
from .. import words
from ..errors import CoreError
from . import beltwords
from . import measuring
from . import photos
from . import ribphoto

# One question at a time; each is saved before the next is asked.
STEPS = [["marking", "Marking"], ["ribs", "Ribs and width"], ["length", "Length by tape"], ["wear", "Wear"],
         ["photo", "Photo"]]

LABELS = [["marking", "Marking"], ["section", "Kind of belt"], ["ribs_counted", "Ribs counted"], ["width", "Width"],
          ["taped", "Taped length"], ["tape_constant", "Your tape constant"], ["wear", "Wear"],
          ["wear_note", "Anything else"], ["batch", "Batch or date mark"], ["reason", "Reason"]]

# The kinds offered when the belt says nothing itself; the rest are rare at the front of an engine.
SECTIONS = [["PK", "Ribbed, car size (PK)"], ["PJ", "Ribbed, fine (PJ)"], ["AV10", "V-belt, 10 mm"],
            ["AV13", "V-belt, 13 mm"], ["", "Something else"]]


def show(request: dict, given: dict) -> dict:
    """Ask one thing about one belt."""
    away = measuring.turned_away(request, given, "place", "belt_place")
    if away:
        return away
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
    step = forms.asked(request, "step")
    if _step_index(step) is None:
        step = first_open(job, loop, place) or "marking"
    standing = card.belt_of(job, loop, place)
    data = standing["data"] if standing else _blank(job, loop, place)
    typed = {"marking": data["marking"] or "", "section": data["section"] or "", "stretch": data["stretch"],
             "ribs_counted": "" if data["ribs_counted"] is None else str(data["ribs_counted"]), "width": data["width"],
             "taped": data["taped"], "tape_constant": data["tape_constant"], "wear": data["wear"],
             "wear_note": data["wear_note"] or "", "batch": data["batch"] or "", "counted": forms.asked(request, "counted")}
    if ribphoto.proposed(typed["counted"]):
        typed["ribs_counted"] = typed["counted"]
    elif "ribs_source" in data:
        typed["counted"] = typed["ribs_counted"]
    return _step_page(request, given, step, typed, forms.Reading(request), 200)


def save(request: dict, given: dict) -> dict:
    """Save the answer to one question about one belt."""
    away = measuring.turned_away(request, given, "place", "belt_place")
    if away:
        return away
    job, loop, place = given["job"], request["params"]["loop"], request["params"]["place"]
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
    data = belts.blank(place)
    facts = card.loop_facts(job, loop)
    data["stretch"] = bool(facts) and (facts["belt"] == "stretch" or facts["tensioner"] == "stretch_fit")
    return data


def _step_index(step):
    for i in range(len(STEPS)):
        if STEPS[i][0] == step:
            return i
    return None


def pictures_of(job: dict, loop: str, place: str) -> list:
    """Return the pictures of a belt, as `_photo.html` takes them.

    Parameters:  job: the folded job · loop: "1".."3" · place: "old" or "new"
    """
    return photos.of_subject(job, place + "_belt", loop)


def first_open(job: dict, loop: str, place: str) -> str:
    """Return the first question about a belt that still needs an answer, "" when none does.

    Parameters:  job: the folded job · loop: "1".."3" · place: "old" or "new"
    """
    entry = card.belt_of(job, loop, place)
    if entry is None:
        return "marking"
    open_ones = lacking(entry["data"], len(pictures_of(job, loop, place)) > 0)
    return open_ones[0][0] if open_ones else ""


def lacking(data: dict, has_photo: bool) -> list:
    """Return what a belt's record still lacks, as [[question, words], ...]. A taped length is a must only without a marking.

    Parameters:  data: data of the "belt_recorded" event · has_photo: whether the belt has a picture
    """
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
    on_photo = forms.value(form.request, "counted")
    if data["ribs_counted"] is not None and on_photo == str(data["ribs_counted"]):
        data["ribs_source"] = "photo"
    elif "ribs_source" in data:
        del data["ribs_source"]
    data["width"] = form.quantity("width", "length", beltwords.WIDTH_M[0], beltwords.WIDTH_M[1])


def _read_length(form, data):
    data["taped"] = form.quantity("taped", "length", beltwords.LENGTH_M[0], beltwords.LENGTH_M[1])
    data["tape_constant"] = form.quantity("tape_constant", "length", beltwords.CONSTANT_M[0], beltwords.CONSTANT_M[1])


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
            "counted": forms.value(request, "counted"),
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
    context["read"] = beltwords.marking_words(typed["marking"])


def _belt_data(given, loop, place):
    entry = card.belt_of(given["job"], loop, place)
    return entry["data"] if entry else _blank(given["job"], loop, place)


def _ask_ribs(context, given, loop, place, typed, errors):
    data = _belt_data(given, loop, place)
    section = data["section"] or "PK"
    context["ribbed"] = belts.is_ribbed(section)
    context["section"] = section
    context["counted"] = typed["counted"]
    context["on_photo"] = ribphoto.proposed(typed["counted"])
    context["ribs_counted"] = forms.field("ribs_counted", "How many ribs?", typed["ribs_counted"], errors,
                                          "Count twice, once from each edge, with a pick.", mode="numeric", most=2)
    context["width"] = _measure("width", "How wide is it?", typed["width"], given["shop"]["length_unit"], errors,
                                "It checks the count. You may leave it empty.")
    context["widths"] = [[str(n), numbers.fixed(belts.rib_width_mm(section, n), 1)] for n in (3, 4, 5, 6, 7, 8)] \
        if context["ribbed"] else []
    context["read"] = beltwords.width_words(section, typed["ribs_counted"], typed["width"])


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
    context["read"] = beltwords.tape_words(section, typed["taped"], typed["tape_constant"])


def _ask_wear(context, given, loop, place, typed, errors):
    context["wear"] = forms.tiles("wear", "What does the belt show?", words.choice_pairs("wear"), typed["wear"], errors,
                                  many=True, hint="Turn it inside out and bend it under a lamp.")
    context["wear_note"] = forms.field("wear_note", "Anything else", typed["wear_note"], errors, lines=2, most=300)
    context["batch"] = forms.field("batch", "Batch or date mark", typed["batch"], errors,
                                   "For age and warranty. You may leave it empty.", most=40)
    context["shots"] = [photos.shot(given["job"], "ribs", loop, context["here"] + "?step=wear")] if place == "old" else []


def _ask_photo(context, given, loop, place, typed, errors):
    context["shots"] = [photos.shot(given["job"], place + "_belt", loop, context["path"] + "/belts")]


_ASKERS = {"marking": _ask_marking, "ribs": _ask_ribs, "length": _ask_length, "wear": _ask_wear, "photo": _ask_photo}
