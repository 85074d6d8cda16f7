"""What the measuring screens share: which belt is meant, the safety gate, and what was typed."""

from .. import card
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError

# With these the tensioner's own marks decide, so that a reading is a second look only.
MARKS_DECIDE = ["automatic", "automatic_set", "hydraulic", "two_arm"]


def knows(job: dict, loop: str) -> bool:
    """Tell whether the job has such a belt.

    Parameters:  job: the folded job · loop: text of the address
    """
    return loop in [pair[0] for pair in card.loops_of(job)]


def no_such_belt() -> dict:
    """Answer for a belt that the job does not have."""
    return reply.missing("This car has no such belt.")


def gate_first(request: dict, given: dict):
    """Return where to send someone before the safety questions are answered, None afterwards.

    Parameters:  request, given: of the screen, with the job
    """
    if given["job"]["gate"] is None:
        return reply.go("/jobs/" + given["job"]["id"] + "/gate?next=" + request["path"])
    return None


def turned_away(request: dict, given: dict, parameter: str = "", choices: str = ""):
    """Return the answer for a belt or a choice that is not there, or for safety questions still open; None to go on.

    Parameters:  request, given: of the screen, with the job · parameter: of the address, one that has to be a choice; "" for
                 none · choices: key in words.CHOICES
    """
    if not knows(given["job"], request["params"]["loop"]):
        return no_such_belt()
    if parameter and not words.is_choice(choices, request["params"][parameter]):
        return no_such_belt()
    return gate_first(request, given)


def frame(given: dict, loop: str, title: str) -> dict:
    """Return what every measuring page of a job shows: its title, the car, the belt's name and where things are.

    Parameters:  given: of the screen, with the job · loop: "1".."3" · title: the page's title
    """
    job = given["job"]
    path = "/jobs/" + job["id"]
    return {"title": title, "on_job": card.heading(job), "card_path": path, "path": path + "/" + loop,
            "belt_name": card.loop_name(job, loop) if len(card.loops_of(job)) > 1 else ""}


def tensioner(job: dict, loop: str) -> str:
    """Return the belt's kind of tensioner, a code of words.CHOICES["tensioner"].

    Parameters:  job: the folded job · loop: "1".."3"
    """
    facts = card.loop_facts(job, loop)
    return facts["tensioner"] if facts else "unknown"


def target_of(job: dict, loop: str):
    """Return the target entry that stands for a belt, None when none is set.

    Parameters:  job: the folded job · loop: "1".."3"
    """
    last = None
    for entry in job["targets"]:
        if entry["loop"] == loop:
            last = entry
    return last


def belt_on(job: dict, loop: str):
    """Return the data of the belt that is on: the new one, else the old one; None while neither is recorded.

    Parameters:  job: the folded job · loop: "1".."3"
    """
    entry = card.belt_of(job, loop, "new") or card.belt_of(job, loop, "old")
    return entry["data"] if entry else None


def query_as_form(request: dict) -> dict:
    """Return the request with its query in the place of the form, so that an address is read as a form is.

    Parameters:  request: the request
    """
    return {"method": request["method"], "path": request["path"], "query": request["query"], "form": request["query"],
            "params": request.get("params", {})}


def typed_quantity(request: dict, name: str) -> dict:
    """Return a number and its unit just as they were typed, also when they are wrong.

    Parameters:  request: the request · name: the field
    """
    return {"value": forms.value(request, name), "unit": forms.value(request, name + "_unit")}


def whole(form, name: str, low: int, high: int, needed: bool = False):
    """Read a whole number within limits; what is wrong is noted in the form.

    Parameters:  form: forms.Reading · name: the field · low, high: limits [-] · needed: whether empty is wrong
    Returns:     the number, or None when empty or wrong
    """
    def read(typed):
        value = numbers.read_number(typed, name)
        if value < low or value > high:
            raise CoreError("out-of-range", name, {"low": str(low), "high": str(high)})
        if value != int(value):
            raise CoreError("not-whole", name)
        return int(value)
    return _read(form, name, needed, read)


def decimal(form, name: str, low: float, high: float, needed: bool = False):
    """Read a number without a unit of its own as a record holds it; what is wrong is noted in the form.

    Parameters:  form: forms.Reading · name: the field · low, high: limits [-] · needed: whether empty is wrong
    Returns:     decimal text, or None when empty or wrong
    """
    def read(typed):
        numbers.read_number(typed, name, low, high)
        return numbers.plain(typed, name)
    return _read(form, name, needed, read)


def _read(form, name, needed, read):
    typed = forms.value(form.request, name)
    if not typed and not needed:
        return None
    try:
        return read(typed)
    except CoreError as error:
        form.fail(name, error.code, error.values)
        return None


def shown(quantity) -> str:
    """Return a quantity as it was typed, such as "412.5 mm"; "" for none.

    Parameters:  quantity: {"value", "unit"} or None
    """
    return quantity["value"] + " " + quantity["unit"] if quantity else ""


def window(data: dict) -> str:
    """Return a target as one line, such as "300 to 560 N".

    Parameters:  data: with its "low" and "high" quantities of force
    """
    return data["low"]["value"] + " to " + shown(data["high"])


def one_line(working: list) -> str:
    """Return a working in one line, as far as a record's text goes.

    Parameters:  working: [[label, text], ...]
    """
    line = ""
    for label, text in working:
        more = (line + "; " if line else "") + label + ": " + text
        if len(more) > 400:
            break
        line = more
    return line


def measure(name: str, label: str, typed, unit: str, offered: list, errors: dict, hint: str = "") -> dict:
    """Return the data of `_measure.html` for what was typed or recorded.

    Parameters:  name, label, hint: texts · typed: {"value", "unit"} or None · unit: the unit when none was chosen ·
                 offered: unit names · errors: sentences by field
    """
    if typed and typed["unit"] in offered:
        unit = typed["unit"]
    return forms.measure(name, label, typed["value"] if typed else "", unit, [[u, u] for u in offered], errors, hint)


def length_units() -> list:
    """Return the units that a length may be typed in."""
    return units.names("length")
