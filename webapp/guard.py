"""What every answer and every request must keep to: forged requests, sizes, headers."""

from urllib.parse import urlsplit

from flask import abort, current_app, request

from .context import SAFE_METHODS
from .headers import HEADERS

# Room for the largest form or batch; the take-in of a phone's file, photos and sounds have limits of their own.
MAX_BODY = 2 * 1024 * 1024


def limit_body():
    """Set how much this request may bring."""
    limits = current_app.config["BODY_LIMITS"]
    request.max_content_length = limits.get(request.endpoint, MAX_BODY)
    request.max_form_memory_size = request.max_content_length
    if request.content_length is not None and request.content_length > request.max_content_length:
        _read_away()
        abort(413)


def _read_away():
    """A browser shows the answer only after it has sent everything; the web server bounds how much that is."""
    stream = request.environ["wsgi.input"]
    left = request.content_length
    while left > 0:
        piece = stream.read(min(left, 64 * 1024))
        if not piece:
            return
        left -= len(piece)


def refuse_forged():
    """Refuse a change that another site's page asked for.

    Browsers tell where a request comes from by Sec-Fetch-Site, but on plain HTTP away from localhost only by
    Origin. A caller that sends neither is no browser, so it holds nobody's cookie.
    """
    if request.method in SAFE_METHODS:
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = request.headers.get("Origin")
    if site is not None:
        forged = site != "same-origin"
    else:
        forged = origin is not None and _parts(origin) != _parts(request.host_url)
    if forged:
        abort(403, "This came from another site, so nothing was changed.")


def _parts(url):
    try:
        parts = urlsplit(url)
        port = parts.port or {"http": 80, "https": 443}.get(parts.scheme)
    except ValueError:
        return None
    return parts.scheme, parts.hostname, port


def add_headers(response):
    """Say what a page may load, and that nobody keeps a copy of personal pages."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.endpoint != "static":
        response.headers.setdefault("Cache-Control", "no-store")
    return response
