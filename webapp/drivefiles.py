"""The office takes files of drives into the library, and withdraws them again."""

from flask import Blueprint, abort, redirect, request

from . import context, drives, office, people
from .core import drive_file, times, words
from .core.errors import CoreError
from .core.screens.library import file_sentence

blueprint = Blueprint("drivefiles", __name__, url_prefix="/office/drives")

MOST_FILES = 40


def _page(rows=(), error="", status=200):
    db = context.database()
    held = [{"id": row["id"], "name": row["name"], "belt": row["belt"], "path": "/drives/" + row["id"],
             "who": people.name(db, row["who"]), "since": times.shown(row["received"])}
            for row in drives.taken_in(db)]
    return office.show("drives.html", "Saved drives from files", status, rows=rows, error=error, held=held)


@blueprint.get("")
def show():
    context.need_supervisor()
    return _page()


@blueprint.post("")
def take_in():
    """Taking the same file in twice changes nothing, so the answer may be this page itself."""
    context.need_supervisor()
    files = [file for file in request.files.getlist("file") if file.filename]
    if not files:
        return _page(error=words.sentence(CoreError("empty", "file")), status=422)
    if len(files) > MOST_FILES:
        return _page(error=words.sentence(CoreError("too-much", "file", {"most": f"{MOST_FILES} files"})), status=422)
    rows = [_take(file.filename, file.read()) for file in files]
    return _page(rows, status=422 if all(row["mark"] == "stop" for row in rows) else 200)


def _take(file_name, body):
    text = ""
    try:
        text = _text(body)
        name, again = drives.take_in(context.database(), text, context.person()["id"], context.now())
    except CoreError as error:
        if error.code == "drive-here":
            return _row(file_name, "Was here already", "good", words.sentence(error))
        return _row(file_name, "Refused", "stop", file_sentence(error, text))
    return _row(file_name, "Taken in", "good", f"“{name}”." + (" Another saved drive has this name too." if again else ""))


def _text(body):
    # Checked before it is decoded: a sign takes four bytes at most.
    if len(body) > 4 * drive_file.MOST_SIGNS:
        raise CoreError("drive-file-large", "", {"most": str(drive_file.MOST_SIGNS)})
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError:
        raise CoreError("drive-file-form") from None


def _row(file_name, verdict, mark, sentence):
    return {"name": file_name[:80], "verdict": verdict, "mark": mark, "sentence": sentence}


@blueprint.post("/<drive>/withdraw")
def withdraw(drive):
    context.need_supervisor()
    if not drives.withdraw(context.database(), drive, context.person()["id"], context.now()):
        abort(404)
    return redirect("/office/drives", 303)
