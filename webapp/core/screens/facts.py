"""What sort of drive it is: facts that every later step, check and caution depends on."""

from .. import card
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
    """Show the facts as tiles."""
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
    """Record the facts, or replace them."""
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
