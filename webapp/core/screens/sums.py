"""Quick sums: a span, a marking, a unit, without a job. Nothing is recorded."""

from .. import belts
from .. import forms
from .. import numbers
from .. import reply
from .. import units
from .. import words
from ..errors import CoreError
from . import beltpair
from . import beltwords
from . import measuring
from . import spanform

CONVERSIONS = [["force", "Force"], ["length", "Length"], ["distance", "Distance"], ["mass", "Mass"]]


def choose(request: dict, given: dict) -> dict:
    """Offer the sums."""
    return reply.page("sums.html", {"title": "Quick sums"})


def span(request: dict, given: dict) -> dict:
    """Work out a span's tension; the address holds everything typed."""
    method = forms.asked(request, "method")
    if not words.is_choice("method", method):
        method = "pluck"
    typed = measuring.query_as_form(request)
    if not spanform.wants_readings(typed):
        if not forms.value(typed, "length_unit"):
            typed = forms.filled(spanform.blank(method, given["shop"]) + [["section", "PK"]])
        return _setup(typed, method, given, {}, [], 200)
    typed = forms.filled(spanform.without(typed))
    form = forms.Reading(typed)
    data = spanform.read_setup(form, method, False)
    if form.errors:
        return _setup(typed, method, given, form.errors, form.problems(spanform.LABELS), 422)
    readings = spanform.read_readings(form, method)
    told = _told(form, given, data, readings)
    context = spanform.readings_context(typed, form, data, readings)
    context.update({"title": "Quick sum: a span", "told": told, "here": "/sums/span",
                    "result_path": "/sums/_result", "problems": form.problems(spanform.labels(readings)),
                    "may_save": False, "saves": False, "route": None, "headline": measuring.shown(data["length"]), "belt_name": ""})
    return reply.page("tension_readings.html", context, 422 if form.errors else 200)


def _setup(typed, method, given, errors, problems, status):
    context = {"title": "Quick sum: a span", "here": "/sums/span", "back": "/sums", "problems": problems, "named": False,
               "caution": words.caution("stopped"), "belt_name": "", "stretch": False,
               "tabs": spanform.tabs("/sums/span?method=", method)}
    context.update(spanform.setup_context(typed, method, given["shop"], errors))
    return reply.page("tension_setup.html", context, status)


def _told(form, given, data, readings):
    told = spanform.tell(spanform.compute(form, data, readings), data, given["shop"], None, "unknown")
    if told["some"] and told["decided"]:
        told["verdict"] = None
    return told


def result_fragment(request: dict, given: dict) -> dict:
    """Show the result while readings are typed."""
    typed = measuring.query_as_form(request)
    form = forms.Reading(typed)
    data = spanform.read_setup(form, forms.value(typed, "method"), False)
    told = {"some": False}
    if not form.errors:
        told = _told(form, given, data, spanform.read_readings(form, data["method"]))
    return reply.page("_result.html", {"told": told})


def marking(request: dict, given: dict) -> dict:
    """Read a marking, and compare it with a second one."""
    first, second = forms.asked(request, "marking"), forms.asked(request, "second")
    tensioner = forms.asked(request, "tensioner")
    if not words.is_choice("tensioner", tensioner):
        tensioner = "unknown"
    reads = [beltwords.marking_words(first), beltwords.marking_words(second)]
    verdict, reasons = None, []
    if reads[0]["state"] == "read" and reads[1]["state"] == "read":
        found = belts.compare(belts.parse(first), belts.parse(second), tensioner)
        verdict, reasons = beltpair.verdict_of(found), found["sentences"]
    errors = {}
    context = {"title": "Quick sum: a marking", "reads": reads, "verdict": verdict, "reasons": reasons,
               "marking": forms.field("marking", "What is printed on the belt?", first, errors,
                                      "Such as 6PK1500, 845K8, AV10x1000 La, A 62.", upper=True, most=60),
               "second": forms.field("second", "Compare with", second, errors, "You may leave it empty.", upper=True, most=60),
               "tensioner": forms.tiles("tensioner", "Which tensioner?", words.choice_pairs("tensioner"), [tensioner], errors)}
    return reply.page("sums_marking.html", context)


def convert(request: dict, given: dict) -> dict:
    """Turn a number into the other units of its kind."""
    kind = forms.asked(request, "kind")
    if kind not in [pair[0] for pair in CONVERSIONS]:
        kind = "force"
    typed = measuring.query_as_form(request)
    unit = forms.value(typed, "value_unit")
    if unit not in units.names(kind):
        unit = units.names(kind)[0]
    errors, lines = {}, []
    if forms.value(typed, "value"):
        try:
            value = numbers.plain(forms.value(typed, "value"), "value")
            size = units.to_si({"value": value, "unit": unit}, kind)
            lines = [units.text(size, other, kind, 6) for other in units.names(kind) if other != unit]
        except CoreError as error:
            errors["value"] = words.sentence(error)
    context = {"title": "Quick sum: units", "lines": lines, "typed": forms.value(typed, "value") + " " + unit, "kind": kind,
               "tabs": [{"path": "/sums/convert?kind=" + k[0], "name": k[1], "here": k[0] == kind} for k in CONVERSIONS],
               "value": forms.measure("value", "How much?", forms.value(typed, "value"), unit,
                                      [[u, u] for u in units.names(kind)], errors)}
    return reply.page("sums_convert.html", context, 422 if errors else 200)
