"""The safety gate before the first step that touches the belt."""

from .. import card
from .. import events
from .. import forms
from .. import reply
from .. import words

_LABELS = [["voltage", "Voltage class"], ["start_stop", "Start-stop"], ["confirmed", "Confirm each line"],
           ["authorised", "Trained person"]]
_STOPS = {
    "voltage": "Voltage class not known. Whoever knows this vehicle's voltage class may proceed: ask the supervisor.",
    "start_stop": "Start-stop state not known. Nobody may proceed until it is known that the engine cannot start by itself.",
    "awake": "Start-stop is still awake. Whoever can put it to sleep as the vehicle maker says may proceed.",
    "48": "48 V starter-generator. Only a person trained and authorised for it may proceed.",
    "high": "High-voltage hybrid. Only a person trained and authorised for high voltage may proceed.",
    "confirm": "Not every line of the safety questions could be confirmed. Ask the supervisor.",
}


def _start(job):
    typed = {"voltage": "", "start_stop": "", "confirmed": [], "authorised": ""}
    source = job["gate"] or job["facts"]
    if source is not None:
        typed["voltage"] = source["data"]["voltage"]
        typed["start_stop"] = source["data"]["start_stop"]
    return typed


def _form(job, typed, reading, stopped, status, goto):
    errors = reading.errors if reading else {}
    context = {
        "title": "Safety", "on_job": card.heading(job), "back": "/jobs/" + job["id"],
        "action": "/jobs/" + job["id"] + "/gate", "stopped": stopped, "next": goto, "passed": job["gate"] is not None,
        "problems": reading.problems(_LABELS) if reading else [],
        "voltage": forms.tiles("voltage", "Voltage class", words.choice_pairs("voltage"), [typed["voltage"]], errors),
        "start_stop": forms.tiles("start_stop", "Start-stop", words.choice_pairs("start_stop"), [typed["start_stop"]],
                                  errors, wordy=True),
        "confirmed": forms.tiles("confirmed", "Confirm each line", words.choice_pairs("gate"), typed["confirmed"],
                                 errors, many=True, wordy=True),
        "authorised": forms.field("authorised", "Trained and authorised person", typed["authorised"], errors,
                                  "Only for 48 V and high voltage: name, and what the training is.", most=120)}
    return reply.page("gate.html", context, status)


def show(request: dict, given: dict) -> dict:
    """Show the safety questions."""
    job = given["job"]
    stopped = job["gate_stop"]["data"]["reason"] if job["gate_stop"] is not None else ""
    goto = forms.local_path(forms.asked(request, "next"), "/jobs/" + job["id"])
    return _form(job, _start(job), None, stopped, 200, goto)


def _why_stopped(request):
    voltage = forms.value(request, "voltage")
    start_stop = forms.value(request, "start_stop")
    if voltage in ("48", "high") and not forms.value(request, "authorised"):
        return _STOPS[voltage]
    if start_stop == "awake":
        return _STOPS["awake"]
    if start_stop in ("unknown", ""):
        return _STOPS["start_stop"]
    if voltage in ("unknown", ""):
        return _STOPS["voltage"]
    return _STOPS["confirm"]


def answer(request: dict, given: dict) -> dict:
    """Let the job through the gate, or stop it and say who may proceed."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    goto = forms.local_path(forms.value(request, "next"), "/jobs/" + job["id"])
    if forms.value(request, "stop") == "yes" and not reading.errors:
        reason = _why_stopped(request)
        return reply.record([events.make(given, 0, "gate_stopped", job["id"], {"reason": reason})],
                            "/jobs/" + job["id"] + "/gate")
    data = {"voltage": reading.choice("voltage", "voltage"), "start_stop": reading.choice("start_stop", "start_stop"),
            "confirmed": reading.choices("confirmed", "gate"), "authorised": reading.text("authorised", 120)}
    _judge(reading, data)
    if reading.errors:
        typed = {"voltage": data["voltage"], "start_stop": data["start_stop"], "confirmed": data["confirmed"],
                 "authorised": forms.value(request, "authorised")}
        return _form(job, typed, reading, "", 422, goto)
    return reply.record([events.make(given, 0, "gate_passed", job["id"], data)], goto)


def _judge(reading, data):
    if data["voltage"] == "unknown":
        reading.fail("voltage", "gate-unknown")
    if data["start_stop"] == "unknown":
        reading.fail("start_stop", "gate-unknown")
    if data["start_stop"] == "awake":
        reading.fail("start_stop", "gate-awake")
    if data["voltage"] in ("48", "high") and data["authorised"] is None:
        reading.fail("authorised", "trained-first")
    if len(data["confirmed"]) < len(words.choice_pairs("gate")):
        reading.fail("confirmed", "not-confirmed")
