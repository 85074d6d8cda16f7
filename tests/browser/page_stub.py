"""A small host for the page scripts alone: the real templates and static files, no worker and no records.

It notes what reaches it, so that a test can look at the very bytes a page sends.
"""

import contextlib
import mimetypes
import threading
from pathlib import Path

from flask import Flask, Response, redirect, render_template, request
from jinja2 import ChoiceLoader, DictLoader
from werkzeug.serving import make_server

from tests.conftest import CHROMIUM, FLAGS

ROOT = Path(__file__).resolve().parent.parent.parent
POLICY = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; object-src 'none'; base-uri 'none'"
FRAME = {"person": "", "person_verified": False, "shop": "Stub", "host": "server", "unsent": "", "path": "",
         "build": "stub"}
SLOT = {"job": "j", "subject": "old_belt", "label": "Old belt", "loop": "1", "goto": "/form", "id": "one", "idle": "Ready.",
        "hint": "", "stage": "before", "stages": [], "code": "", "what": "", "apart": False, "gallery": False, "remark": ""}

FORM = """{% extends "base.html" %}{% block main %}<h1>Form</h1>
<form method="post" action="/form" class="stack" id="typed">
<label class="field">Note <input class="input" name="note" value="{{ note }}"></label>
<label class="field">PIN <input class="input input-pin" name="pin" type="text"></label>
<div class="units">
<label class="unit"><input type="radio" name="u" value="mm" checked><span>mm</span></label>
<label class="unit"><input type="radio" name="u" value="in"><span>in</span></label></div>
<button class="button" type="submit">Save</button></form>
<form method="post" action="/gone">
<button class="button button-stop" data-confirm="Void this tag?">Void the tag</button></form>
<button class="button" type="button" data-print>Print</button>
{% endblock %}"""
SLOT_PAGE = """{% extends "base.html" %}{% block main %}<div class="stack narrow"><h1>Old belt</h1>
{% include "_photo_slot.html" %}</div>{% endblock %}"""
CODE_PAGE = """{% extends "base.html" %}{% block main %}<h1>Code</h1>
<form action="/judged"><label class="field">Code <input class="input" name="hand"></label><button class="button" formmethod="get">Compare</button></form>
<div data-scan data-origin="" data-fill="hand">{% with photo = "Photo of the code" %}{% include "_finder.html" %}{% endwith %}</div>{% endblock %}"""


def static(name):
    """A file read whole: one that is sent piece by piece stays open when the browser leaves in between."""
    return Response((ROOT / "static" / name).read_bytes(), mimetype=mimetypes.guess_type(name)[0])


class Stub:
    """What the pages sent, and how the stub is to answer."""

    def __init__(self):
        self.puts, self.posts, self.status, self.fail_posts, self.note = [], [], 201, False, ""
        self.picture = b""
        self.app = Flask("stub", template_folder=ROOT / "webapp" / "templates", static_folder=None)
        self.app.add_url_rule("/static/<path:name>", "static", static)
        self.app.add_url_rule("/scan", view_func=self.scan)
        self.app.add_url_rule("/slot", view_func=self.slot)
        self.app.add_url_rule("/code", "code", lambda: render_template("code.html", title="Code", frame=FRAME))
        self.app.add_url_rule("/judged", "judged", lambda: f"code {request.args['hand']}")
        self.app.add_url_rule("/form", view_func=self.form, methods=["GET", "POST"])
        self.app.add_url_rule("/gone", "gone", self.posted, methods=["POST"])
        self.app.add_url_rule("/jobs/<job>/photos", "photos", self.posted, methods=["POST"])
        self.app.add_url_rule("/photos/<name>", view_func=self.put, methods=["PUT"])
        self.app.add_url_rule("/given.png", "given", lambda: self.picture)
        self.app.add_url_rule("/t/<token>", "tag", lambda token: f"tag {token}")
        self.app.add_url_rule("/find", "find", lambda: f"code {request.args['code']}")
        self.app.add_url_rule("/jobs/<job>", "job", lambda job: render_template("base.html", title="Job", frame=FRAME))
        self.app.after_request(self.guard)
        self.server = make_server("127.0.0.1", 0, self.app, threaded=True)
        self.url = f"http://127.0.0.1:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def stop(self):
        self.server.shutdown()
        self.server.server_close()

    def guard(self, response):
        response.headers["Content-Security-Policy"] = POLICY
        return response

    def scan(self):
        return render_template("scan.html", title="Scan a tag", origin="https://bench.local:8443", frame=FRAME)

    def slot(self):
        return render_template("slot.html", title="Slot", slot=SLOT, frame=FRAME)

    def form(self):
        if request.method == "POST":
            self.posts.append(request.form.to_dict())
            return ("broken", 500) if self.fail_posts else redirect("/form", 303)
        return render_template("form.html", title="Form", note=self.note, frame=FRAME)

    def posted(self, **_):
        self.posts.append(request.form.to_dict())
        return redirect("/form", 303)

    def put(self, name):
        self.puts.append((name, request.get_data()))
        return "", self.status


@contextlib.contextmanager
def page_in(browser):
    """Yield a running stub and a page of a phone's size in a browser.

    The worker stays out: here the stub is the one to see what the page sends.
    """
    stub = start()
    context = browser.new_context(viewport={"width": 390, "height": 844}, service_workers="block")
    page = context.new_page()
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield stub, page
    context.close()
    stub.stop()
    assert errors == []


@contextlib.contextmanager
def page_at_stub(playwright, *flags):
    """Yield the same in a browser of its own, started with extra flags."""
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS + list(flags))
    with page_in(browser) as pair:
        yield pair
    browser.close()


def start() -> Stub:
    """Return a running stub on a free port."""
    stub = Stub()
    stub.app.jinja_loader = ChoiceLoader([DictLoader({"form.html": FORM, "slot.html": SLOT_PAGE, "code.html": CODE_PAGE}), stub.app.jinja_loader])
    return stub
