"""The Flask application."""

import logging
import sqlite3
from pathlib import Path

from flask import Flask, jsonify, render_template, request
from flask_compress import Compress
from werkzeug.exceptions import HTTPException
from werkzeug.middleware.proxy_fix import ProxyFix

from . import auth, build, causetables, connect, context, drivefiles, guard, host, office, photos, signing, sounds, stock, stocklists, store, sync, \
    tagsheets, takein

log = logging.getLogger("spanwright")

ROOT = Path(__file__).resolve().parent.parent

# Name, default, meaning. DATA is needed.
SETTINGS = [
    ("DATA", None, "folder that holds the database, the photos and the sounds"),
    ("ORIGIN", None, "the permanent origin (origin.Origin); None: the address of each request"),
    ("CERTIFICATES", None, "the workshop's certificates (tls.Certificates), for the page that connects a phone"),
    ("HOPS", 0, "how many proxies in front of this server may say where a request comes from"),
]

SENTENCES = {
    403: ("Not for you", "Only a supervisor can do this."),
    404: ("Not found", "There is nothing at this address."),
    405: ("Not possible", "This address does not take that kind of request."),
    413: ("Too large", "That was too large to take in, so nothing was saved."),
    500: ("Something went wrong", "The server could not answer. Nothing that was stored is lost. Try again; if it "
                                  "happens again, the server's log says more."),
}


def create_app(settings: dict) -> Flask:
    """Return the app for these settings (see `SETTINGS`); it brings the database up to date."""
    app = Flask("webapp", root_path=str(ROOT / "webapp"), static_folder=str(ROOT / "static"))
    for name, default, _meaning in SETTINGS:
        app.config[name] = settings.get(name, default)
    # Flask looks for files to send beside the package, so a relative folder has to be made absolute.
    data = Path(app.config["DATA"]).resolve()
    app.config["DATA"] = data
    data.mkdir(parents=True, exist_ok=True)
    app.config["DATABASE"] = data / "spanwright.db"
    store.open_database(app.config["DATABASE"]).close()
    app.config["BODY_LIMITS"] = {"photos.put": photos.MAX_BYTES, "sounds.put": sounds.MAX_BYTES, "takein.take_in": takein.MAX_FILE,
                                 "stocklists.take_in": stock.MOST_BYTES}
    # Asset addresses carry no version, so browsers ask each time whether they changed; the worker keeps its own copy.
    app.config["SEND_FILE_MAX_AGE_DEFAULT"] = None
    if app.config["HOPS"]:
        hops = app.config["HOPS"]
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=hops, x_proto=hops, x_host=hops)
    _compress(app)
    app.before_request(guard.limit_body)
    app.before_request(guard.refuse_forged)
    app.before_request(auth.need_device)
    app.after_request(guard.add_headers)
    app.teardown_appcontext(context.close)
    for part in (build, connect, auth, sync, photos, sounds, signing, office, tagsheets, takein, drivefiles, causetables, stocklists, host):
        app.register_blueprint(part.blueprint)
    app.register_error_handler(HTTPException, _say)
    app.register_error_handler(Exception, _say_sorry)
    return app


def _compress(app):
    app.config["COMPRESS_ALGORITHM"] = ["br", "gzip"]
    # Makes a first visit 7 % smaller than the usual level 4; all of its large files together take 66 ms instead of 44.
    app.config["COMPRESS_BR_LEVEL"] = 6
    app.config["COMPRESS_STREAMS"] = False
    app.config["COMPRESS_MIMETYPES"] = ["text/html", "text/css", "text/javascript", "application/json", "application/octet-stream",
                                        "application/wasm", "image/svg+xml", "application/manifest+json"]
    Compress(app)
    # Runs before the compression, which would leave the file of a streamed answer open.
    app.after_request(_read_whole)


def _read_whole(response):
    if request.endpoint in ("static", "build.module") and response.status_code == 200:
        response.direct_passthrough = False
        response.make_sequence()
    return response


def _say(error):
    """An error of the request, in words: a page, or JSON where a script asked."""
    title, sentence = SENTENCES.get(error.code, ("Not possible", "This request cannot be answered."))
    if error.code == 403 and error.description != type(error).description:
        sentence = error.description
    return _answer(title, sentence, error.code)


def _say_sorry(error):
    log.error("%s %s failed", request.method, request.path, exc_info=error)
    if isinstance(error, sqlite3.OperationalError) and "locked" in str(error):
        return _answer("Busy", "The server was busy for too long and saved nothing. Try again.", 503)
    return _answer(*SENTENCES[500], 500)


def _answer(title, sentence, status):
    if request.path.startswith(("/sync/", "/photos/", "/sounds/")):
        return jsonify({"code": str(status), "sentence": sentence}), status
    # No frame of the person's: the database itself may be what is wrong.
    page = render_template("office/message.html", title=title, sentence=sentence, frame=context.blank_frame())
    return page, status
