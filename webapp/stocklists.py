"""The office takes a stock list in: a file, its columns, a look at it, and only then the old list gives way."""

from flask import Blueprint, redirect, request

from . import context, office, people, stock
from .core import times, words
from .core.errors import CoreError

blueprint = Blueprint("stocklists", __name__, url_prefix="/office/stock")

_SEPARATORS = {";": "semicolon", ",": "comma", "\t": "tab", "|": "upright stroke"}


def _page(error="", status=200):
    db = context.database()
    held = stock.in_force(db)
    now = None
    if held is not None:
        now = {"name": held["name"], "lines": str(held["lines"]), "by": people.name(db, held["by"]), "at": times.shown(held["at"])}
    waiting = stock.waiting(db)
    return office.show("stock.html", "Stock list", status, error=error, now=now,
                       waiting=_waiting(db, waiting) if waiting else None)


def _waiting(db, held):
    table, columns = held["preview"], held["columns"]
    labels = {name: label for name, label, _needed, _meanings in stock.COLUMNS}
    shown = [name for name in stock.NAMES if name in columns]
    errors = [[str(line), words.sentence(CoreError(code, "", values))] for line, code, values in table["errors"]]
    return {"name": held["name"], "by": people.name(db, held["by"]), "at": times.shown(held["at"]), "encoding": table["encoding"].upper(),
            "separator": _SEPARATORS[table["separator"]], "rows": str(table["rows"]), "good": str(table["good"]),
            "bad": str(table["bad"]) if table["bad"] else "", "errors": errors,
            "more": str(table["bad"] - len(errors)) if table["bad"] > len(errors) else "",
            "usable": bool(table["good"]), "choices": [_choice(column, table["headings"], columns) for column in stock.COLUMNS],
            "heads": [labels[name] for name in shown], "lines": [[line[name] for name in shown] for line in table["first"]]}


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
        if place.isascii() and place.isdigit() and int(place) < len(held["preview"]["headings"]):
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
