"""What only people know of the car and the complaint: its use, and the engine speed at which the noise is worst."""

from .. import card
from .. import evidence
from .. import forms
from .. import reply
from . import cause
from . import causelooks
from . import causewords

# Circumstances that facts and distance tell, so that nobody is asked.
_TOLD = ["high", "very_high", "manual", "stretch_fit"]
# Circumstances offered, and entries of one reply, at most.
_MOST = 9
_MOST_ENTRIES = 12
_NOT_KNOWN = "unknown"


def _circumstances(given):
    """[[code, name], ...] of the table's circumstances that no check tells and the facts do not tell either."""
    told = evidence.said(given["job"])
    facts = evidence.facts(given["job"], evidence.belt(given["job"]))
    return [[row["code"], row["name"]] for row in given["table"]["contexts"] if not row["same_as"] and row["code"] not in _TOLD
            and (row["code"] not in facts["contexts"] or told.get(row["code"]) == "yes")][:_MOST]


def show(request: dict, given: dict) -> dict:
    """Ask what only people know."""
    if given["table"] is None:
        return causewords.no_table()
    told = evidence.said(given["job"])
    return _page(given, told, [code for code, _ in _circumstances(given) if told.get(code) == "yes"], None, 200)


def save_belt(request: dict, given: dict) -> dict:
    """Record which belt complains; what is answered from then on tells of that one."""
    job = given["job"]
    reading = forms.Reading(request)
    reading.person(given)
    said = forms.value(request, "belt")
    if said not in [pair[0] for pair in card.loops_of(job)] + [evidence.NO_BELT]:
        reading.fail("belt", "not-a-choice")
    if reading.errors:
        return cause.show_with(request, given, reading, 422)
    return reply.record([causelooks.about_event(given, 0, evidence.BELT, said)], "/jobs/" + job["id"] + "/cause")


def _choices():
    return [["noise_now", causewords.YES_NO], ["short_run", causewords.YES_NO],
            ["rpm", [[speed, speed] for speed in evidence.SPEEDS] + [[_NOT_KNOWN, "Not known"]]],
            ["cylinders", [[count, count] for count in evidence.CYLINDERS] + [[_NOT_KNOWN, "Not known"]]]]


def _page(given, told, ticked, reading, status):
    job = given["job"]
    errors = reading.errors if reading else {}
    path = "/jobs/" + job["id"] + "/cause"
    context = {
        "title": "Car and complaint", "on_job": card.heading(job), "back": path, "action": path + "/about",
        "tiles": [causewords.said_tiles(name, pairs, told.get(name, _NOT_KNOWN), errors) for name, pairs in _choices()],
        "use": forms.tiles("use", "Tick what is true of this car", _circumstances(given), ticked, errors, many=True, wordy=True),
        "problems": reading.problems([["use", "This car"], ["noise_now", "Noise now"], ["short_run", "Short run"],
                                      ["rpm", "Engine speed"], ["cylinders", "Cylinders"]]) if reading else []}
    return reply.page("cause_about.html", context, status)


def save(request: dict, given: dict) -> dict:
    """Record what has changed."""
    if given["table"] is None:
        return causewords.no_table()
    reading = forms.Reading(request)
    reading.person(given)
    ticked = forms.values(request, "use")
    wanted = {code: "yes" if code in ticked else "no" for code, _ in _circumstances(given)}
    for name, pairs in _choices():
        wanted[name] = forms.value(request, name)
        if wanted[name] not in [pair[0] for pair in pairs]:
            reading.fail(name, "not-a-choice")
    told = evidence.said(given["job"])
    # What was never said stays unsaid.
    usual = [[name, _NOT_KNOWN if name in [choice for choice, _ in _choices()] else "no"] for name in sorted(wanted)]
    changed = [name for name, otherwise in usual if wanted[name] != told.get(name, otherwise)]
    if len(changed) > _MOST_ENTRIES:
        reading.fail("use", "too-many", {"most": str(_MOST_ENTRIES)})
    if reading.errors:
        return _page(given, wanted, ticked, reading, 422)
    goto = "/jobs/" + given["job"]["id"] + "/cause"
    if not changed:
        return reply.go(goto)
    return reply.record([causelooks.about_event(given, i, changed[i], wanted[changed[i]]) for i in range(len(changed))], goto)
