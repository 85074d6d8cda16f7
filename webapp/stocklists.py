"""The office takes a stock list in: a file, its columns, a look at it, and only then the old list gives way."""

from flask import Blueprint, redirect, request

from . import context, office, people, stock
from .core import times, words
from .core.errors import CoreError

blueprint = Blueprint("stocklists", __name__, url_prefix="/office/stock")

_SHOWN = 8
_SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "upright stroke"}


def _name(person, everybody):
    return next((one["name"] for one in everybody if one["id"] == person), person)


def _page(error="", status=200):
    db = context.database()
    everybody = people.listed(db)
    held = stock.in_force(db)
    now = None
    if held is not None:
        now = {"name": held["name"], "lines": str(held["lines"]), "by": _name(held["by"], everybody), "at": times.shown(held["at"])}
    waiting = stock.waiting(db)
    return office.show("stock.html", "Stock list", status, error=error, now=now,
                       waiting=_waiting(waiting, everybody) if waiting else None)


def _waiting(held, everybody):
    table, columns = held["table"], held["columns"]
    found = stock.lines_of(table, columns) if "number" in columns else {"lines": [], "errors": []}
    labels = {name: label for name, label, _needed, _meanings in stock.COLUMNS}
    shown = [name for name in stock.NAMES if name in columns]
    errors = [[str(line), words.sentence(CoreError(code, "", values))] for line, code, values in found["errors"][:stock.MOST_ERRORS]]
    return {"name": held["name"], "by": _name(held["by"], everybody), "at": times.shown(held["at"]), "encoding": table["encoding"].upper(),
            "separator": _SEPARATORS[table["separator"]], "rows": str(len(table["rows"])), "good": str(len(found["lines"])),
            "bad": str(len(found["errors"])) if found["errors"] else "", "errors": errors,
            "more": str(len(found["errors"]) - len(errors)) if len(found["errors"]) > len(errors) else "",
            "usable": bool(found["lines"]), "choices": [_choice(column, table["headings"], columns) for column in stock.COLUMNS],
            "heads": [labels[name] for name in shown], "lines": [[line[name] for name in shown] for line in found["lines"][:_SHOWN]]}


def _choice(column, headings, columns):
    name, label, needed, _meanings = column
    options = [{"value": "", "label": "Not in this file", "on": name not in columns}]
    options += [{"value": str(place), "label": heading or f"Column {place + 1}", "on": columns.get(name) == place}
                for place, heading in enumerate(headings)]
    return {"name": name, "label": label + (" (needed)" if needed else ""), "options": options}


@blueprint.get("")
def show():
    context.need_supervisor()
    return _page()


@blueprint.post("")
def take_in():
    context.need_supervisor()
    file = request.files.get("file")
    body = file.read() if file else b""
    if not body:
        return _page(words.ERRORS["empty"], 422)
    try:
        stock.hold(context.database(), file.filename or "stock list", body, context.person()["id"], context.now())
    except CoreError as error:
        return _page(words.sentence(error), 422)
    return redirect("/office/stock", 303)


@blueprint.post("/columns")
def columns():
    context.need_supervisor()
    held = stock.waiting(context.database())
    if held is None:
        return redirect("/office/stock", 303)
    chosen = {}
    for name in stock.NAMES:
        place = request.form.get(name, "")
        if place.isascii() and place.isdigit() and int(place) < len(held["table"]["headings"]):
            chosen[name] = int(place)
    stock.map_columns(context.database(), chosen)
    if "number" not in chosen:
        return _page(words.ERRORS["stock-columns"], 422)
    return redirect("/office/stock", 303)


@blueprint.post("/use")
def use():
    context.need_supervisor()
    try:
        stock.put_in_force(context.database(), context.person()["id"], context.now())
    except CoreError as error:
        return _page(words.sentence(error), 422)
    return redirect("/office/stock", 303)


@blueprint.post("/drop")
def drop():
    context.need_supervisor()
    stock.drop(context.database())
    return redirect("/office/stock", 303)
