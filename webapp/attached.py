"""Files that entries name by the SHA-256 of their bytes, stored unchanged: photos and sounds."""

import hashlib
import os
import secrets
from pathlib import Path

from flask import Blueprint, abort, current_app, jsonify, request, send_file

from .core import events, words
from .core.errors import CoreError


def path_of(folder: str, name: str, ending: str) -> Path:
    """Return where a file of this name stands in the data folder."""
    return Path(current_app.config["DATA"]) / folder / name[:2] / (name + ending)


def write(path: Path, body: bytes):
    """Write a file whole or not at all, and outlast a power cut: the phone drops its copy in time."""
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(secrets.token_hex(8) + ".new")
    with open(fresh, "wb") as out:
        out.write(body)
        out.flush()
        os.fsync(out.fileno())
    os.replace(fresh, path)
    for folder in (path.parent, path.parent.parent):
        handle = os.open(folder, os.O_RDONLY)
        os.fsync(handle)
        os.close(handle)


def is_name(name) -> bool:
    """Tell whether a text may name such a file."""
    return isinstance(name, str) and len(name) == 64 and events.is_hex(name)


class Store:
    """One kind of file.

    folder: under the data folder, and the first part of the address · what: begins the codes of words.ERRORS on it, such as
    "photo" · ending, media_type: of its files · check: refuses bytes of another kind with a CoreError
    """

    def __init__(self, folder, what, ending, media_type, check):
        self.folder, self.what, self.ending, self.media_type, self.check = folder, what, ending, media_type, check
        self.blueprint = Blueprint(folder, __name__, url_prefix="/" + folder)
        self.blueprint.add_url_rule("/<name>", "put", self._put, methods=["PUT"])
        self.blueprint.add_url_rule("/<name>", "show", self._show)

    def path(self, name: str) -> Path:
        return path_of(self.folder, name, self.ending)

    def held(self, name: str) -> bool:
        """Tell whether the file of this name is stored."""
        return is_name(name) and self.path(name).exists()

    def keep(self, name: str, body: bytes):
        """Store a file; what is stored already stays as it is. CoreError says why it is refused."""
        if self.held(name):
            return
        if hashlib.sha256(body).hexdigest() != name:
            raise CoreError(self.what + "-hash", self.what)
        self.check(body)
        write(self.path(name), body)

    def send(self, name: str, path: Path):
        """Answer with a file. A name stands for its bytes for ever, but only the workshop's devices may see them: ask each time."""
        if not self.held(name):
            abort(404)
        response = send_file(path, mimetype=self.media_type, conditional=True, etag=name)
        response.headers["Cache-Control"] = "private, no-cache"
        return response

    def _put(self, name):
        if not is_name(name):
            abort(404)
        try:
            self.keep(name, request.get_data())
        except CoreError as error:
            return jsonify({"code": error.code, "sentence": words.sentence(error)}), 422
        return jsonify({"stored": name}), 201

    def _show(self, name):
        return self.send(name, self.path(name))
