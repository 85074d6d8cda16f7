"""What the "what if" pages share: whose drive it is, what is missing from it, texts and curves. Nothing is recorded."""

from .. import card
from .. import drive_entry
from .. import forms
from .. import json_text
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import driverecord
from . import drivewords
from . import measuring

# A page of its own for each question: end of its address and its name.
ASKS = [["", "Another belt"], ["/pulley", "A locked pulley"], ["/slip", "Slip and ringing"]]
CYLINDERS = [["3", "3"], ["4", "4"], ["5", "5"], ["6", "6"], ["8", "8"]]
# Decimals that a curve is drawn with: far finer than a screen shows.
_CURVE_PLACES = 3


def opened(request: dict, given: dict, ask: str) -> tuple:
    """Return what a page needs of its drive, and the answer that stands for the page when there is no drive to ask about.

    Parameters:  request, given: of the screen, with `job` or `drive` · ask: end of the address, see `ASKS`
    Returns:     (about, reply or None); about: {"drive": in the drive form; "shown": its words; "data"; "job", "loop": None
                 and "" for a saved drive; "base": address of the drive; "edit": of its fields, "" where it is not to be
                 edited; "shop", "context": what every page shows}
    """
    if "drive" in given:
        saved = given["drive"]
        if saved is None:
            return None, no_such_drive()
        base = "/drives/" + saved["id"]
        about = {"job": None, "loop": "", "data": saved["data"], "edit": "",
                 "context": {"title": "What if", "belt_name": ""}}
    else:
        job, loop = given["job"], request["params"]["loop"]
        if not measuring.knows(job, loop):
            return None, measuring.no_such_belt()
        base = driverecord.path_of(job, loop)
        entry = card.drive_of(job, loop)
        about = {"job": job, "loop": loop, "data": None if entry is None else entry["data"], "edit": base,
                 "context": measuring.frame(given, loop, "What if")}
    name = about["data"]["name"] if about["data"] is not None else "The drive"
    about.update({"base": base, "shop": given["shop"]})
    about["context"].update({
        "drive_name": name, "base": base, "here": base + "/what-if" + ask, "answer": None, "missing": None, "fields": [],
        "tabs": [{"path": base + "/what-if" + one[0], "name": one[1], "here": one[0] == ask} for one in ASKS]})
    if about["data"] is None:
        about["context"]["missing"] = {"sentence": words.reason("if-no-drive", {}), "path": base, "label": "The drive"}
        return None, reply.page("whatif.html", about["context"])
    about["drive"] = drive_entry.to_drive(about["data"]["drive"], name, about["loop"] or "1")
    about["shown"] = drivewords.Shown(given["shop"], about["drive"])
    return about, None


def page(template: str, about: dict, form, work) -> dict:
    """Answer with a page, worked out unless something typed is wrong.

    Parameters:  template: its name · about: see `opened` · form: forms.Reading · work: function that returns what the
                 page shows besides; a CoreError of it is told as what is missing
    """
    context = about["context"]
    if not form.errors:
        try:
            context.update(work())
        except CoreError as error:
            context["missing"] = missing(about, error)
    return reply.page(template, context, 422 if form.errors else 200)


def no_such_drive() -> dict:
    """Answer for a drive that is not here."""
    return reply.missing("This drive is not on this device.")


def missing(about: dict, error: CoreError) -> dict:
    """Return in words why a sum cannot be done with this drive, and where that can be mended.

    Parameters:  about: see `opened` · error: what the core said
    Returns:     {"sentence", "path": "" where nothing can be typed, "label": of the link}
    """
    what = about["shown"].name(error.field)
    label = what[:1].upper() + what[1:]
    path = ""
    if about["edit"]:
        path = about["edit"] + "/about" if error.field == "alternator_pulley" else driverecord.address(about["edit"], error.field)
    sentence = words.sentence(error)
    if error.code == "number-missing":
        sentence = words.reason("if-missing", {"what": what})
        if not path:
            sentence += " " + words.reason("if-saved", {})
    return {"sentence": sentence, "path": path, "label": label}


# ---- what was picked ----

def picked(form, name: str, pairs: list, otherwise: str) -> str:
    """Return the tile that was picked, the usual one when none was; a wrong one is noted.

    Parameters:  form: forms.Reading · name: of the field · pairs: [[code, label], ...] · otherwise: the usual code
    """
    code = forms.value(form.request, name) or otherwise
    if code not in [pair[0] for pair in pairs]:
        form.fail(name, "not-a-choice")
    return code


def read_static(form):
    """Return a measured tension at rest [N], None when none is typed.

    Parameters:  form: forms.Reading
    """
    typed = form.quantity("static", "force", 10.0, 5000.0)
    return None if typed is None else units.to_si(typed, "force")


def static_field(form, about: dict) -> dict:
    """Return the field for a measured tension at rest.

    Parameters:  form: forms.Reading · about: see `opened`
    """
    typed = measuring.typed_quantity(form.request, "static")
    unit = about["shop"]["force_unit"]
    return forms.measure("static", "Tension at rest, if you measured it", typed["value"], typed["unit"] or unit,
                         [[unit, unit]], form.errors, "Empty: computed from the drive.")


# ---- numbers in words ----

def spread(value: float, low: float, high: float, unit: str, dimension: str) -> str:
    """Return a value with its interval in a unit: "412 N (350 to 474)".

    Parameters:  value, low, high: in SI [m or N] · unit, dimension: see `units`
    """
    ends = [units.from_si(one, unit, dimension) for one in (value, low, high)]
    texts = numbers.with_interval(ends[0], ends[1], ends[2])
    if low >= high:
        return texts[0] + " " + unit
    return texts[0] + " " + unit + " (" + texts[1] + " to " + texts[2] + ")"


def force(about: dict, newtons: list) -> str:
    """Return a force with its interval in the workshop's unit.

    Parameters:  about: with its "shop" · newtons: [value, low, high] [N]
    """
    return spread(newtons[0], newtons[1], newtons[2], about["shop"]["force_unit"], "force")


# ---- curves ----

def curve(x: list, label: str, unit: str) -> dict:
    """Return a chart without lines yet.

    Parameters:  x: values along the chart, rising · label, unit: of that axis
    """
    return {"x": points(x), "x_label": label + " [" + unit + "]", "y_label": "", "lines": [], "bands": [], "marks": []}


def line(chart: dict, name: str, look: str, y: list, tag: str = "") -> None:
    """Add a line to a chart.

    Parameters:  chart: see `curve` · name: as the legend says · look: "one", "two" or "dashed"; "quiet" and "edge" stay
                 out of the legend · y: values, as many as the chart has along x · tag: number drawn where the line begins
    """
    chart["lines"].append({"name": name, "look": look, "tag": tag, "y": points(y)})


def mark(chart: dict, name: str, look: str, x: float) -> None:
    """Add an upright mark to a chart.

    Parameters:  chart: see `curve` · name: short · look: as for `line` · x: where
    """
    chart["marks"].append({"name": name, "look": look, "x": points([x])[0]})


def points(values: list) -> list:
    """Return numbers as a chart takes them: no longer than a screen can show.

    Parameters:  values: numbers
    """
    return [float(numbers.fixed(v, _CURVE_PLACES)) for v in values]


def drawn(chart: dict, title: str, text: str) -> dict:
    """Return a chart as its template takes it.

    Parameters:  chart: see `curve` · title: what it shows · text: the same in words, for those who do not see it
    """
    return {"title": title, "text": text, "data": json_text.write(chart)}
