"""The listeners on real sockets: who reaches what, a renewed certificate while running, phones that stall."""

import datetime
import hashlib
import http.client
import socket
import ssl
import threading
import time

import pytest
from bs4 import BeautifulSoup
from cryptography import x509
from flask import Flask

from tests.conftest import free_port
from webapp import connect, serve, tls
from webapp.origin import NotAnOrigin, Origin, check, leads_here, load, names_and_addresses, save

# RFC 5737: addresses for documentation, no machine has them.
ELSEWHERE = "203.0.113.77"


class App:
    """Answers everything; `/slow` waits until it is let go."""

    def __init__(self):
        self.entered = threading.Event()
        self.go_on = threading.Event()

    def __call__(self, environ, start_response):
        if environ["PATH_INFO"] == "/slow":
            self.entered.set()
            self.go_on.wait(5)
        body = environ["wsgi.url_scheme"].encode()
        start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
        return [body]


@pytest.fixture
def app():
    return App()


@pytest.fixture
def running(tmp_path, app):
    origin = Origin("127.0.0.1", free_port(), free_port())
    certificates = tls.Certificates(tmp_path / "tls")
    server = serve.Server(app, origin, certificates, bind="127.0.0.1")
    server.start()
    yield server, certificates
    server.stop()


def get(port, path="/jobs", host=None, trusting=None):
    if trusting is None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    else:
        connection = http.client.HTTPSConnection("127.0.0.1", port, timeout=5, context=trusting)
    try:
        connection.request("GET", path, headers={"Host": host} if host else {})
        answer = connection.getresponse()
        return answer.status, answer.getheader("Location"), answer.read()
    finally:
        connection.close()


def trust(certificates):
    return ssl.create_default_context(cadata=certificates.authority_der())


def test_https_serves_the_app_to_a_client_that_trusts_the_authority(running):
    server, certificates = running
    assert get(server.origin.https_port, trusting=trust(certificates)) == (200, None, b"https")


def test_https_means_nothing_to_a_client_that_does_not(running):
    server, _ = running
    with pytest.raises(ssl.SSLCertVerificationError):
        get(server.origin.https_port, trusting=ssl.create_default_context())


def test_plain_http_on_this_machine_is_the_whole_app(running):
    port = running[0].origin.http_port
    for host in (None, f"localhost:{port}", "localhost", f"127.0.0.1:{port}"):
        assert get(port, host=host) == (200, None, b"http")


def test_a_name_made_to_point_at_this_machine_does_not_open_the_app(running):
    server, _ = running
    status, goto, _ = get(server.origin.http_port, host="rebound.example")
    assert (status, goto) == (303, server.origin.connect_url)


@pytest.mark.parametrize("path, status", [
    ("/connect", 200), ("/connect/authority.crt", 200), ("/static/css/spanwright.css", 200),
    ("/", 303), ("/jobs", 303), ("/connected", 303), ("/sync/pull", 303), ("/photos/00", 303), ("/static/js/page.js", 303),
    ("/connect-jobs", 303)])
def test_others_reach_only_the_connect_pages_over_plain_http(app, path, status):
    seen = []
    environ = {"PATH_INFO": path, "REMOTE_ADDR": ELSEWHERE, "HTTP_HOST": "localhost",
               "wsgi.url_scheme": "http"}
    gate = serve.plain_http_gate(app, Origin("bay.example", 80, 443))
    list(gate(environ, lambda line, headers: seen.append((int(line[:3]), dict(headers).get("Location")))))
    assert seen == [(status, "http://bay.example/connect" if status == 303 else None)]


def test_typed_without_https_the_secure_port_still_leads_somewhere(running):
    server, _ = running
    assert get(server.origin.https_port)[:2] == (303, server.origin.url + "/")


def test_phones_that_stall_in_the_handshake_hold_up_nobody(running):
    server, certificates = running
    stalled = [socket.create_connection(("127.0.0.1", server.origin.https_port)) for _ in range(8)]
    try:
        for one in stalled:
            # The first bytes of a handshake record (RFC 8446, 5.1), and then nothing.
            one.sendall(b"\x16\x03\x01\x02\x00\x01")
        time.sleep(0.2)
        before = time.monotonic()
        assert get(server.origin.https_port, trusting=trust(certificates))[0] == 200
        assert time.monotonic() - before < 2
    finally:
        for one in stalled:
            one.close()


def test_silent_connections_take_no_thread(running):
    # More than there are threads; a browser opens such connections ahead of need.
    server, certificates = running
    ports = (server.origin.http_port, server.origin.https_port)
    silent = [socket.create_connection(("127.0.0.1", port)) for port in ports for _ in range(serve.THREADS + 8)]
    shaken = [trust(certificates).wrap_socket(socket.create_connection(("127.0.0.1", ports[1])), server_hostname="localhost")
              for _ in range(serve.THREADS + 8)]
    try:
        before = time.monotonic()
        assert get(ports[0])[0] == 200
        assert get(ports[1], trusting=trust(certificates))[0] == 200
        assert time.monotonic() - before < 2
        # One of them speaks at last.
        shaken[0].sendall(b"GET /jobs HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert shaken[0].recv(15) == b"HTTP/1.1 200 OK"
    finally:
        for one in silent + shaken:
            one.close()


def serial_on_the_wire(server):
    text = ssl.get_server_certificate(("127.0.0.1", server.origin.https_port))
    return x509.load_pem_x509_certificate(text.encode()).serial_number


def test_a_renewed_certificate_is_used_without_a_restart(running, monkeypatch):
    server, certificates = running
    before = serial_on_the_wire(server)
    later = tls.now() + datetime.timedelta(days=certificates.days_left() - 20)
    monkeypatch.setattr(tls, "now", lambda: later)
    server.refresh()
    assert serial_on_the_wire(server) != before
    assert certificates.days_left() > 300


def test_a_request_that_runs_is_answered_before_the_server_stops(running, app):
    server, _ = running
    answers = []
    asking = threading.Thread(target=lambda: answers.append(get(server.origin.http_port, "/slow")))
    asking.start()
    assert app.entered.wait(5)
    stopping = threading.Thread(target=server.stop)
    stopping.start()
    app.go_on.set()
    asking.join(10)
    stopping.join(10)
    assert answers == [(200, None, b"http")]
    with pytest.raises(OSError):
        get(server.origin.http_port)


# cheroot leaves the socket that it could not bind to the garbage collector.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_taken_port_is_named(tmp_path, app):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        server = serve.Server(app, Origin("127.0.0.1", port, free_port()), tls.Certificates(tmp_path / "tls"),
                              bind="127.0.0.1")
        with pytest.raises(OSError, match=str(port)):
            server.start()


def test_a_name_that_leads_elsewhere_is_warned_about(tmp_path, app, caplog):
    # RFC 6761: .invalid never resolves.
    origin = Origin("gone.invalid", free_port(), free_port())
    serve.Server(app, origin, tls.Certificates(tmp_path / "tls"))
    assert "gone.invalid does not lead to this machine" in caplog.text


def test_where_a_name_leads():
    assert leads_here("127.0.0.1")
    assert not leads_here(ELSEWHERE)
    assert not leads_here("gone.invalid")


@pytest.mark.parametrize("name", ["", "Bay", "bay_1", "-bay", "bay:80", "http://bay", "10.0.0", "10.0.0.256", "a" * 64])
def test_names_that_are_none_are_refused(name):
    with pytest.raises(NotAnOrigin):
        check(Origin(name, 80, 443))


@pytest.mark.parametrize("ports", [(0, 443), (80, 65536), (80, 80)])
def test_ports_that_are_none_are_refused(ports):
    with pytest.raises(NotAnOrigin):
        check(Origin("bay.example", *ports))


def test_the_origin_is_kept(tmp_path):
    assert load(tmp_path) is None
    save(tmp_path, Origin("bay.example", 8080, 8443))
    assert load(tmp_path) == Origin("bay.example", 8080, 8443)
    assert load(tmp_path).url == "https://bay.example:8443"
    assert Origin("10.1.2.3", 80, 443).url == "https://10.1.2.3"
    assert Origin("10.1.2.3", 80, 443).connect_url == "http://10.1.2.3/connect"


def test_the_certificate_holds_the_origin_this_machine_and_loopback():
    names, addresses = names_and_addresses(Origin("bay.example", 80, 443))
    assert "bay.example" in names and "localhost" in names
    assert "127.0.0.1" in addresses
    assert "10.9.8.7" in names_and_addresses(Origin("10.9.8.7", 80, 443))[1]


@pytest.fixture
def pages(tmp_path):
    """The pages alone: a phone that trusts nothing yet must not need the rest of the app."""
    flask = Flask("webapp")
    certificates = tls.Certificates(tmp_path / "tls")
    certificates.ensure(["bay.example"], ["127.0.0.1"])
    flask.config.update(ORIGIN=Origin("bay.example", 8080, 8443), CERTIFICATES=certificates)
    flask.register_blueprint(connect.blueprint)
    return flask.test_client(), certificates


def test_the_authority_is_handed_out_in_the_form_phones_install(pages):
    client, certificates = pages
    answer = client.get("/connect/authority.crt")
    assert answer.mimetype == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(answer.data).subject.rfc4514_string().startswith("CN=Spanwright workshop")
    # The fingerprint is the SHA-256 of the DER bytes, by Python's own hashlib.
    page = BeautifulSoup(client.get("/connect").text, "html5lib")
    shown = page.select_one(".fingerprint").text.replace(" ", "").lower()
    assert shown == hashlib.sha256(answer.data).hexdigest()


def test_the_connect_page_needs_no_script_and_sets_no_cookie(pages):
    answer = pages[0].get("/connect")
    assert BeautifulSoup(answer.text, "html5lib").find_all("script") == []
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("agent, opened", [
    ("Mozilla/5.0 (iPhone; CPU iPhone OS 17_4 like Mac OS X)", ["iPhone and iPad"]),
    ("Mozilla/5.0 (Linux; Android 14)", ["Android"]),
    ("Mozilla/5.0 (X11; Linux x86_64)", ["iPhone and iPad", "Android"])])
def test_the_phone_in_hand_sees_its_own_steps(pages, agent, opened):
    page = BeautifulSoup(pages[0].get("/connect", headers={"User-Agent": agent}).text, "html5lib")
    steps = [d.summary.text for d in page.select("details[open]")]
    assert steps == opened


def test_the_check_needs_the_secure_address(pages):
    answer = pages[0].get("/connect/check", base_url="http://bay.example:8080")
    assert (answer.status_code, answer.location) == (303, "https://bay.example:8443/connect/check")
    page = BeautifulSoup(pages[0].get("/connect/check", base_url="https://bay.example:8443").text, "html5lib")
    assert [row["data-check"] for row in page.select("[data-check]")] == [c[0] for c in connect.CHECKS]
