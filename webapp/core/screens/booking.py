"""Booking a car in, and correcting the booking."""

from .. import card
from .. import events
from .. import forms
from .. import reply
from .. import vin
from ..errors import CoreError

# A car's distance: up to ten million kilometres, so that a slip of the keys is caught and no taxi is refused.
_FURTHEST_M = 1e10
_LABELS = [["registration", "Registration"], ["vin", "VIN"], ["car", "Car"], ["engine", "Engine"],
           ["distance", "Distance"], ["complaint", "Complaint"], ["kind", "Service or fault"]]
_KINDS = [["fault", "Fault: something is wrong"], ["service", "Service: due, nothing wrong"]]


def _start(given, booked):
    """What stands in the form at first: nothing, or the booking to correct."""
    typed = {"registration": "", "vin": "", "car": "", "engine": "", "distance": "", "complaint": "", "kind": "",
             "distance_unit": given["shop"]["distance_unit"]}
    if booked is None:
        return typed
    for name in ("registration", "vin", "car", "engine", "complaint"):
        typed[name] = booked[name] or ""
    if booked["distance"] is not None:
        typed["distance"] = booked["distance"]["value"]
        typed["distance_unit"] = booked["distance"]["unit"]
    typed["kind"] = "service" if booked["service"] else "fault"
    return typed


def _typed(request):
    typed = {}
    for pair in request["form"]:
        typed[pair[0]] = pair[1]
    for pair in _LABELS + [["distance_unit", ""]]:
        if pair[0] not in typed:
            typed[pair[0]] = ""
    return typed


def _form(typed, errors, problems, job, ask_vin, status):
    f = [forms.field("registration", "Registration", typed["registration"], errors, upper=True),
         forms.field("complaint", "In the customer's own words", typed["complaint"], errors,
                     "What, when, cold or wet or under load, which lamps, what was replaced lately.", lines=4, most=600),
         forms.tiles("kind", "Service or fault?", _KINDS, [typed["kind"]], errors, wordy=True),
         forms.field("car", "Car", typed["car"], errors, "Make, model, year."),
         forms.field("engine", "Engine", typed["engine"], errors, "Engine code and what hangs on the belt, if known.",
                     upper=True),
         forms.field("vin", "VIN", typed["vin"], errors, "17 signs. May stay empty.", upper=True)]
    distance = forms.measure("distance", "Distance", typed["distance"], typed["distance_unit"],
                             [["km", "km"], ["mi", "mi"]], errors, "Read off, not remembered.")
    context = {"title": "Correct the booking" if job else "Book a car in", "fields": f, "distance": distance,
               "problems": problems, "ask_vin": ask_vin, "correcting": job is not None,
               "action": "/jobs/" + job["id"] + "/booking" if job else "/book",
               "back": "/jobs/" + job["id"] if job else "/jobs", "on_job": card.heading(job) if job else None}
    return reply.page("booking.html", context, status)


def _read_vin(reading, request):
    """Return the VIN and whether a wrong check digit has to be confirmed."""
    typed = forms.value(request, "vin")
    if not typed:
        return None, False
    try:
        found = vin.check(typed)
    except CoreError as error:
        reading.fail("vin", error.code, error.values)
        return None, False
    if found["state"] == "check-wrong":
        if forms.value(request, "vin_anyway") != "yes":
            reading.fail("vin", "vin-check", {"found": found["found"], "expected": found["expected"]})
        return found["vin"], True
    return found["vin"], False


def _read(request, given):
    reading = forms.Reading(request)
    reading.person(given)
    data = {"registration": reading.text("registration", 16, True), "complaint": reading.text("complaint", 600, True),
            "car": reading.text("car", 60), "engine": reading.text("engine", 60),
            "distance": reading.quantity("distance", "distance", 0.0, _FURTHEST_M)}
    if data["registration"]:
        data["registration"] = data["registration"].upper()
    kind = forms.value(request, "kind")
    if kind not in ("fault", "service"):
        reading.fail("kind", "not-a-choice")
    data["service"] = kind == "service"
    number, ask_vin = _read_vin(reading, request)
    data["vin"] = number
    return reading, data, ask_vin


def new(request: dict, given: dict) -> dict:
    """Show the empty booking form."""
    if not given["who"]:
        return reply.go("/who?next=/book")
    return _form(_start(given, None), {}, [], None, False, 200)


def book(request: dict, given: dict) -> dict:
    """Book a car in: the job, and its tag."""
    reading, data, ask_vin = _read(request, given)
    if reading.errors:
        return _form(_typed(request), reading.errors, reading.problems(_LABELS), None, ask_vin, 422)
    job = given["ids"][11]
    token = given["ids"][10].replace("-", "")
    made = [events.make(given, 0, "booked_in", job, data), events.make(given, 1, "tag_issued", job, {"token": token})]
    return reply.record(made, "/jobs/" + job)


def show(request: dict, given: dict) -> dict:
    """Show the booking for correction."""
    return _form(_start(given, given["job"]["booked"]["data"]), {}, [], given["job"], False, 200)


def correct(request: dict, given: dict) -> dict:
    """Replace the booking; the old one stays in the history."""
    job = given["job"]
    reading, data, ask_vin = _read(request, given)
    if reading.errors:
        return _form(_typed(request), reading.errors, reading.problems(_LABELS), job, ask_vin, 422)
    made = events.make(given, 0, "booked_in", job["id"], data, "", job["booked"]["id"])
    return reply.record([made], "/jobs/" + job["id"])
