"""What sort of drive it is: facts that every later step, check and caution depends on.

One question a screen, each answer saved before the next is asked; and all of them on one page, to correct them.
"""

from .. import card
from .. import drawings
from .. import events
from .. import forms
from .. import reply
from .. import words

# Asked once for the car, in this order.
_CAR = [["voltage", "Voltage class"], ["start_stop", "Start-stop"], ["alternator_pulley", "Alternator pulley"],
        ["crank_pulley", "Crank pulley"], ["compressor", "Air-conditioning compressor"], ["steering", "Steering"],
        ["water_pump", "Water pump"], ["access", "Access"]]
# Asked for each belt.
_BELT = [["belt", "Belt", "belt_kind"], ["tensioner", "Tensioner", "tensioner"], ["marks", "Pointer and marks", "marks"],
         ["pin_hole", "Hole for a locking pin", "pin_hole"]]
_COUNTS = [["1", "One belt"], ["2", "Two belts"], ["3", "Three belts"]]
_NAMES = {"1": "Main belt", "2": "Second belt", "3": "Third belt"}


def _start(job):
    typed = {"count": ["1"]}
    for loop in ("1", "2", "3"):
        typed["name" + loop] = [_NAMES[loop]]
        typed["ribs" + loop] = [""]
    if job["facts"] is None:
        return typed
    facts = job["facts"]["data"]
    typed["count"] = [str(len(facts["loops"]))]
    for name, _ in _CAR:
        typed[name] = [facts[name]]
    for loop in facts["loops"]:
        typed["name" + loop["loop"]] = [loop["name"]]
        typed["ribs" + loop["loop"]] = [str(loop["ribs"]) if loop["ribs"] is not None else ""]
        for name, _, _ in _BELT:
            typed[name + loop["loop"]] = [loop[name]]
    return typed


def _typed(request):
    typed = {}
    for name, value in request["form"]:
        if name not in typed:
            typed[name] = []
        typed[name].append(value)
    return typed


def _belt_fields(loop, typed, errors):
    fields = [forms.tiles(name + loop, label, words.choice_pairs(list_name), typed.get(name + loop, []), errors)
              for name, label, list_name in _BELT]
    return {"loop": loop, "heading": _NAMES[loop],
            "name": forms.field("name" + loop, "What you call this belt", (typed.get("name" + loop) or [""])[0], errors),
            "ribs": forms.field("ribs" + loop, "Ribs of the pulleys", (typed.get("ribs" + loop) or [""])[0], errors,
                                "Count them; leave empty for a V-belt or when not known.", mode="numeric"),
            "fields": fields}


def _labels():
    labels = [["count", "How many belts"]] + _CAR
    for loop in ("1", "2", "3"):
        for name, label, _ in _BELT:
            labels.append([name + loop, _NAMES[loop] + ", " + label])
        labels.append(["name" + loop, _NAMES[loop] + ", name"])
        labels.append(["ribs" + loop, _NAMES[loop] + ", ribs"])
    return labels


def _form(job, typed, reading, status):
    errors = reading.errors if reading else {}
    fields = [forms.tiles(name, label, words.choice_pairs(name), typed.get(name, []), errors) for name, label in _CAR]
    context = {"title": "The drive", "on_job": card.heading(job), "back": "/jobs/" + job["id"],
               "action": "/jobs/" + job["id"] + "/facts", "fields": fields, "correcting": job["facts"] is not None,
               "count": forms.tiles("count", "How many accessory belts?", _COUNTS, typed.get("count", []), errors),
               "belts": [_belt_fields(loop, typed, errors) for loop in ("1", "2", "3")],
               "problems": reading.problems(_labels()) if reading else []}
    return reply.page("facts.html", context, status)


def show(request: dict, given: dict) -> dict:
    """Show all facts on one page."""
    return _form(given["job"], _start(given["job"]), None, 200)


def _whole(reading, name):
    typed = forms.value(reading.request, name)
    if not typed:
        return None
    number = 0
    for c in typed:
        if c not in "0123456789" or number > 1000:
            reading.fail(name, "not-whole")
            return None
        number = number * 10 + int(c)
    if number < 1 or number > 60:
        reading.fail(name, "out-of-range", {"low": "1", "high": "60"})
    return number


def _read_loop(reading, loop):
    data = {"loop": loop, "name": reading.text("name" + loop, 40, True), "ribs": _whole(reading, "ribs" + loop)}
    for name, _, list_name in _BELT:
        data[name] = reading.choice(name + loop, list_name)
    return data


def record(request: dict, given: dict) -> dict:
    """Record all facts of the page, or replace them."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    count = forms.value(request, "count")
    if count not in ("1", "2", "3"):
        reading.fail("count", "not-a-choice")
        count = "1"
    data = {}
    for name, _ in _CAR:
        data[name] = reading.choice(name, name)
    data["loops"] = [_read_loop(reading, str(i + 1)) for i in range(int(count))]
    if reading.errors:
        return _form(job, _typed(request), reading, 422)
    old = job["facts"]["id"] if job["facts"] is not None else None
    return reply.record([events.make(given, 0, "facts_recorded", job["id"], data, "", old)], "/jobs/" + job["id"])


# ---- one question a screen ----

_QUESTIONS = [
    ["voltage", "Which voltage class?", "The label on the starter-generator or the vehicle papers say."],
    ["start_stop", "Start-stop?", "Asleep means: put to sleep as the vehicle maker says."],
    ["count", "How many accessory belts?", "A second belt may hide behind the first."],
    ["belt", "What kind of belt?", ""],
    ["ribs", "How many ribs have the pulleys?", "Count the ridges between the grooves of a ribbed pulley."],
    ["tensioner", "What holds it tight?", ""],
    ["marks", "What marks has the pointer?", ""],
    ["pin_hole", "A hole for a locking pin?", ""],
    ["alternator_pulley", "Which alternator pulley?", "Never swap one kind for another."],
    ["crank_pulley", "Which crank pulley?", ""],
    ["compressor", "Which air-conditioning compressor?", ""],
    ["steering", "Which steering?", ""],
    ["water_pump", "Where is the water pump?", ""],
    ["access", "How does one get at it?", ""],
]
_RIBS = [[str(n), str(n)] for n in range(3, 11)]
_RIBBED = ["ribbed", "double_ribbed", "stretch", "unknown"]
_MOVING_ARM = ["automatic", "automatic_set", "hydraulic", "two_arm", "unknown"]


def _blank_loop(loop):
    return {"loop": loop, "name": _NAMES[loop], "belt": "unknown", "ribs": None, "tensioner": "unknown", "marks": "unknown",
            "pin_hole": "unknown"}


def _known(job):
    """The facts so far as fresh plain data, "unknown" where nobody has answered."""
    data = {}
    for name, _ in _CAR:
        data[name] = "unknown"
    data["loops"] = [_blank_loop("1")]
    if job["facts"] is not None:
        old = job["facts"]["data"]
        for name, _ in _CAR:
            data[name] = old[name]
        data["loops"] = [dict(loop) for loop in old["loops"]]
    return data


def _applies(name, loop):
    if name == "ribs":
        return loop["belt"] in _RIBBED
    if name in ("marks", "pin_hole"):
        return loop["tensioner"] in _MOVING_ARM
    return True


def asks(job: dict) -> list:
    """Return the questions that apply to a job, in order: "voltage", "count", "belt1", ...

    Parameters:  job: the folded job
    """
    data = _known(job)
    of_belt = ["belt", "ribs", "tensioner", "marks", "pin_hole"]
    names = []
    for name, _, _ in _QUESTIONS:
        if name == of_belt[0]:
            for loop in data["loops"]:
                names += [one + loop["loop"] for one in of_belt if _applies(one, loop)]
        elif name not in of_belt:
            names.append(name)
    return names


def _split(ask):
    """["belt", "2"] of "belt2"; ["voltage", ""] of "voltage"."""
    return [ask[:-1], ask[-1]] if ask[-1] in "123" else [ask, ""]


def _answer_to(data, ask):
    name, number = _split(ask)
    if name == "count":
        return str(len(data["loops"]))
    if not number:
        return data[name]
    for loop in data["loops"]:
        if loop["loop"] == number:
            return ("unknown" if loop["ribs"] is None else str(loop["ribs"])) if name == "ribs" else loop[name]
    return "unknown"


def _choices(name):
    if name == "count":
        return _COUNTS
    if name == "ribs":
        return _RIBS + [["unknown", "Not known yet"]]
    return words.choice_pairs("belt_kind" if name == "belt" else name)


def _put(data, ask, answer):
    name, number = _split(ask)
    if name == "count":
        loops = data["loops"][:int(answer)]
        while len(loops) < int(answer):
            loops.append(_blank_loop(str(len(loops) + 1)))
        data["loops"] = loops
    elif not number:
        data[name] = answer
    else:
        for loop in data["loops"]:
            if loop["loop"] == number:
                loop[name] = (None if answer == "unknown" else int(answer)) if name == "ribs" else answer


def _ask_page(job, ask, error, status):
    order = asks(job)
    place = order.index(ask)
    name, number = _split(ask)
    data = _known(job)
    now = _answer_to(data, ask) if job["facts"] is not None else ""
    if name == "count" and data["loops"][0]["belt"] == "unknown":
        now = ""  # One belt is only assumed until something is said about it.
    base = "/jobs/" + job["id"]
    title, hint = [[q[1], q[2]] for q in _QUESTIONS if q[0] == name][0]
    several = number and len(data["loops"]) > 1
    context = {"title": title, "on_job": card.heading(job), "hint": hint, "error": error, "action": base + "/facts/" + ask,
               "belt": card.loop_name(job, number) if several else "", "place": str(place + 1) + " of " + str(len(order)),
               "answers": [{"value": p[0], "label": p[1], "on": p[0] == now, "drawing": drawings.of_fact(name, p[0])} for p in _choices(name) if p[0] != "unknown"],
               "may_not_know": name != "count", "unknown_now": now == "unknown", "all": base + "/facts",
               "back": base + "/facts/" + order[place - 1] if place else base}
    return reply.page("ask.html", context, status)


def ask(request: dict, given: dict) -> dict:
    """Ask one question on the drive."""
    job, name = given["job"], request["params"]["ask"]
    if name not in asks(job):
        return reply.missing("There is no such question about this drive.")
    if not given["who"]:
        return reply.go("/who?next=" + request["path"])
    return _ask_page(job, name, "", 200)


def answer(request: dict, given: dict) -> dict:
    """Save one answer and go to the next question."""
    job, name = given["job"], request["params"]["ask"]
    if name not in asks(job):
        return reply.missing("There is no such question about this drive.")
    reading = forms.Reading(request)
    reading.person(given)
    picked = forms.value(request, "answer")
    if picked not in [pair[0] for pair in _choices(_split(name)[0])]:
        reading.fail("answer", "not-a-choice")
    if reading.errors:
        return _ask_page(job, name, reading.errors[reading.order[0]], 422)
    data = _known(job)
    changed = job["facts"] is None or _answer_to(data, name) != picked
    _put(data, name, picked)
    old = job["facts"]["id"] if job["facts"] is not None else None
    made = events.make(given, 0, "facts_recorded", job["id"], data, "", old)
    goto = _after(dict(job, facts=made), name)
    return reply.record([made], goto) if changed else reply.go(goto)


def _after(job, name):
    """The next question that nobody has answered yet, else the card."""
    data = _known(job)
    order = asks(job)
    for later in order[order.index(name) + 1:]:
        if _answer_to(data, later) == "unknown" or later == "count":
            return "/jobs/" + job["id"] + "/facts/" + later
    return "/jobs/" + job["id"]
