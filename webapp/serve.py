"""The listeners: HTTPS for the workshop, plain HTTP for connecting a phone and for a try-out on this machine.

cheroot is the web server: pure Python and so at home on any workshop PC, kept up, and threads in one process,
which suits one SQLite writer. A server that runs several processes would need a lock between them.
"""

import logging
import select
import signal
import socket
import ssl
import sys
import threading

from cheroot import errors, makefile, server, wsgi
from cheroot.ssl import Adapter

from . import origin as origins

log = logging.getLogger("spanwright")

THREADS = 16
# Twenty phones keep a connection or two each.
KEPT_CONNECTIONS = 64
# Headers and bodies beyond these are no request of ours; the app's own limits are lower and answer in words.
MAX_HEADER = 64 * 1024
MAX_BODY = 64 * 1024 * 1024
CHECK_EVERY_SECONDS = 600

# What a phone may load over plain HTTP before it trusts the workshop.
OPEN_PATHS = ("/connect/", "/static/css/", "/static/icons/", "/static/fonts/")


class TlsAdapter(Adapter):
    """Hands out sockets whose handshake is still to come, and takes a renewed certificate while running."""

    def __init__(self, certificates):
        self._certificates = certificates
        self.context = certificates.context()

    def reload(self):
        """Use the certificate that is on disk now; connections already open keep the old one."""
        self.context = self._certificates.context()

    def bind(self, sock):
        return sock

    def wrap(self, sock):
        try:
            wrapped = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        except OSError as error:
            # The client is gone already.
            raise errors.FatalSSLAlert(*error.args) from error
        return wrapped, self.get_environ()

    def get_environ(self):
        return {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def makefile(self, sock, mode="r", bufsize=-1):
        return makefile.MakeFile(sock, mode, bufsize)


class Connection(server.HTTPConnection):
    """Waits outside the worker threads until the client speaks: browsers open connections that they use much later."""

    def communicate(self):
        return super().communicate() if self._has_spoken() else True

    def _has_spoken(self):
        return self.rfile.has_data() or bool(select.select([self.socket], [], [], 0)[0])


class TlsConnection(Connection):
    """Shakes hands in the worker thread: in the accepting thread one phone at the edge of the network stalls all."""

    shaken = False

    def communicate(self):
        if not self.shaken and self._has_spoken():
            try:
                self.socket.do_handshake()
            except ssl.SSLError as error:
                if error.reason == "HTTP_REQUEST":
                    self._point_to_https()
                return False
            except OSError:
                return False
            self.shaken = True
        return super().communicate()

    def _has_spoken(self):
        return self.socket.pending() > 0 or super()._has_spoken()

    def _point_to_https(self):
        """Typed without https, the address still leads somewhere."""
        answer = f"HTTP/1.1 303 See Other\r\nLocation: {self.server.goto}\r\nContent-Length: 0\r\n\r\n"
        try:
            socket.socket.sendall(self.socket, answer.encode("ascii"))
        except OSError:
            log.debug("a client left before it was pointed to the secure address")


class Listener(wsgi.Server):
    """cheroot with our limits and a short log."""

    def __init__(self, address, app):
        super().__init__(address, app, numthreads=THREADS, request_queue_size=128, server_name="spanwright")
        self.version = "spanwright"
        self.ConnectionClass = Connection
        self.max_request_header_size = MAX_HEADER
        self.max_request_body_size = MAX_BODY
        self.keep_alive_conn_limit = KEPT_CONNECTIONS

    def error_log(self, msg="", level=20, traceback=False):
        log.log(level, "%s", msg, exc_info=traceback)


def plain_http_gate(app, origin):
    """Let plain HTTP reach the whole app only from this machine; others get the pages that connect a phone.

    Address and Host must both be loopback: a page elsewhere whose name is made to point at this machine
    (DNS rebinding) brings its own Host along.
    """

    def gate(environ, start_response):
        path = environ.get("PATH_INFO", "/")
        if _is_try_out(environ) or path == "/connect" or path.startswith(OPEN_PATHS):
            return app(environ, start_response)
        start_response("303 See Other", [("Location", origin.connect_url), ("Content-Length", "0")])
        return [b""]

    return gate


def _is_try_out(environ):
    host = environ.get("HTTP_HOST", "").partition(":")[0]
    return environ.get("REMOTE_ADDR") == "127.0.0.1" and host in ("localhost", "127.0.0.1")


class Server:
    """Both listeners over one app, with a watch over certificate and name."""

    def __init__(self, app, origin, certificates, bind="0.0.0.0"):
        self.origin = origin
        self._certificates = certificates
        self._check()
        self._adapter = TlsAdapter(certificates)
        secure = Listener((bind, origin.https_port), app)
        secure.ssl_adapter = self._adapter
        secure.ConnectionClass = TlsConnection
        secure.goto = origin.url + "/"
        self._listeners = [Listener((bind, origin.http_port), plain_http_gate(app, origin)), secure]
        self._stop = threading.Event()
        self._threads = []

    def start(self):
        """Open both ports and serve; raises OSError with the port when one is taken."""
        for listener in self._listeners:
            try:
                listener.prepare()
            except OSError as error:
                self.stop()
                raise OSError(f"Port {listener.bind_addr[1]} cannot be opened: {error}") from error
        jobs = [listener.serve for listener in self._listeners] + [self._watch]
        self._threads = [threading.Thread(target=job, daemon=True) for job in jobs]
        for thread in self._threads:
            thread.start()

    def stop(self):
        """Stop accepting, let running requests end, close."""
        self._stop.set()
        for listener in self._listeners:
            listener.stop()
        for thread in self._threads:
            thread.join(10)

    def wait(self):
        """Go on serving until SIGINT or SIGTERM, then stop."""
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, lambda *_: self._stop.set())
        # A wait with an end lets the signal through on every system.
        while not self._stop.wait(1):
            pass
        log.info("stopping")
        self.stop()

    def refresh(self):
        """Renew the certificate when it is due or the machine's addresses changed, and use it from then on."""
        if self._check():
            self._adapter.reload()

    def _check(self):
        names, addresses = origins.names_and_addresses(self.origin)
        done = self._certificates.ensure(names, addresses)
        for sentence in done:
            log.info("%s", sentence)
        for name in self._certificates.left_out(names, addresses):
            log.warning("The authority may not vouch for %s, so phones will refuse it under that name.", name)
        if not origins.leads_here(self.origin.name):
            log.warning("%s does not lead to this machine: tags and phones will not find it. Give the machine its "
                        "old name or address back, or see “Moving the server” in the README.", self.origin.name)
        return bool(done)

    def _watch(self):
        while not self._stop.wait(CHECK_EVERY_SECONDS):
            try:
                self.refresh()
            # The watch has to outlive whatever is wrong for a moment: a full disk, a changed file mode.
            except Exception as error:
                log.error("The certificate could not be checked: %s", error)


def log_to_stderr():
    """One short line per event on stderr; a service manager adds the time."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(levelname)s %(message)s"))
    log.addHandler(handler)
    log.setLevel(logging.INFO)
