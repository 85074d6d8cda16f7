"""The office puts another table of causes in force, goes back to the built-in one, and sees the workshop's own counts."""

import json

from flask import Blueprint, Response, redirect, request

from . import causes, context, office, people, strict_json
from .core import times, words
from .core.errors import CoreError

blueprint = Blueprint("causetables", __name__, url_prefix="/office/causes")

# Every screen that reasons carries the table through the phone's core.
MOST_BYTES = 300_000


def _page(error="", status=200):
    db = context.database()
    held = causes.in_force(db)
    table = held["table"]
    counts = causes.counts(db, table) or {"causes": [], "cells": []}
    names = {row["code"]: row["name"] for row in table["causes"]}
    return office.show("causes.html", "Table of causes", status, error=error, own=held["own"], statement=table["statement"],
                       causes=str(len(table["causes"])), checks=str(len(table["checks"])), by=people.name(db, held["by"]),
                       changed=times.shown(held["at"]) if held["at"] else "", prior_jobs=str(table["prior_jobs"]),
                       row_jobs=str(table["row_jobs"]), proved=str(sum(jobs for _, jobs in counts["causes"])),
                       rows=[[names[code], str(jobs)] for code, jobs in counts["causes"]])


@blueprint.get("")
def show():
    context.need_supervisor()
    return _page()


@blueprint.get("/file")
def give_out():
    """The table in force as a file, to be changed and taken in again."""
    context.need_supervisor()
    text = json.dumps(causes.in_force(context.database())["table"], ensure_ascii=False, indent=1)
    return Response(text, mimetype="application/json", headers={"Content-Disposition": 'attachment; filename="causes.json"'})


@blueprint.post("")
def take_in():
    context.need_supervisor()
    file = request.files.get("file")
    try:
        causes.take_in(context.database(), _table(file.read() if file else b""), context.person()["id"], context.now())
    except CoreError as error:
        return _page(words.sentence(error), 422)
    return redirect("/office/causes", 303)


def _table(body):
    if not body:
        raise CoreError("empty", "file")
    if len(body) > MOST_BYTES:
        raise CoreError("too-much", "file", {"most": f"{MOST_BYTES // 1000} kB"})
    try:
        return strict_json.read(body)
    except strict_json.NotJson:
        raise CoreError("table-form", "file", {"place": "the file itself, which is not JSON"}) from None


@blueprint.post("/back")
def back():
    context.need_supervisor()
    causes.back(context.database(), context.person()["id"], context.now())
    return redirect("/office/causes", 303)
