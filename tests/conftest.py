"""What several layers of tests share: a running demo workshop, a browser, and the rule on skipping.

Browser tests need Debian's chromium. Without it they are skipped and the end of the run says so in capitals; where
CI=true nothing may be skipped.
"""

import os
import shutil
import socket
from pathlib import Path

import argon2
import pytest
from playwright.sync_api import sync_playwright

from demo_db import build, jobs
from webapp import origin, people, serve, store, tls
from webapp.app import create_app

CHROMIUM = shutil.which("chromium")
CI = os.environ.get("CI") == "true"
# Each page's window would keep two pages of the address bar ready, at two thirds of a second of processor time. The last list
# of features counts for Chromium, so the others are those that Playwright switches off as well.
NO_FEATURES = ["WebUIOmniboxPopup", "WebUIOmniboxAimPopup", "AimEnabled", "AvoidUnnecessaryBeforeUnloadCheckSync", "DestroyProfileOnBrowserClose",
               "HttpsFirstBalancedModeAutoEnable", "HttpsUpgrades", "LensOverlay", "MediaRouter", "NetworkTimeServiceQuerying",
               "OptimizationHints", "PaintHolding", "PreconnectToSearch", "ThirdPartyStoragePartitioning"]
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--disable-features=" + ",".join(NO_FEATURES)]
# The cheapest hash that argon2 allows: these tests are not about its cost.
QUICK_PINS = argon2.PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
HOW = "install Debian's chromium (apt-get install chromium) and run: make test"


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser/" in item.path.as_posix():
            item.add_marker("browser")
        if item.get_closest_marker("browser") and CHROMIUM is None and not CI:
            item.add_marker(pytest.mark.skip(reason="chromium is missing"))


def pytest_terminal_summary(terminalreporter):
    # Figures that a test measured, told here because tests run side by side in processes without a terminal.
    for report in terminalreporter.stats.get("passed", []):
        for name, figures in report.user_properties:
            terminalreporter.write_line(f"{name}: {figures}")
    skipped = terminalreporter.stats.get("skipped", [])
    if skipped:
        terminalreporter.write_line(f"NOT RUN: {len(skipped)} TESTS WERE SKIPPED. To run them: {HOW}", red=True, bold=True)


def pytest_sessionfinish(session, exitstatus):
    # Workers of a parallel run have none; the process that collects their results decides.
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if CI and reporter is not None and exitstatus == pytest.ExitCode.OK and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def demo_workshop(tmp_path_factory) -> Path:
    """The invented workshop, built once; never write to it, take `demo_copy`."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    with pytest.MonkeyPatch.context() as patch:
        # A hash names its own cost, so this also makes every sign-in of a served workshop quick.
        patch.setattr(people, "hasher", QUICK_PINS)
        build.build(folder)
    return folder


@pytest.fixture
def demo_copy(demo_workshop, tmp_path) -> Path:
    """A workshop of one's own."""
    return shutil.copytree(demo_workshop, tmp_path / "data")


class AppServer:
    """A served demo workshop.

    url: plain HTTP on this machine, a secure context for the browser · https_url: the same over HTTPS ·
    data: its folder · people: {key of demo_db.jobs.PEOPLE: (id, name, PIN)}
    """

    def __init__(self, data):
        self.data = data
        self.certificates = tls.Certificates(data / "tls")
        self.origin = origin.Origin("localhost", free_port(), free_port())
        self.url = f"http://localhost:{self.origin.http_port}"
        self.https_url = self.origin.url
        db = store.open_database(data / "spanwright.db")
        ids = {person["name"]: person["id"] for person in people.listed(db)}
        db.close()
        self.people = {key: (ids[name], name, pin) for key, name, _roles, pin in jobs.PEOPLE}
        self._server = None

    def start(self):
        app = create_app({"DATA": self.data, "ORIGIN": self.origin, "CERTIFICATES": self.certificates})
        self._server = serve.Server(app, self.origin, self.certificates, bind="127.0.0.1")
        self._server.start()

    def stop(self):
        """Cut the network; `start` brings it back on the same ports."""
        if self._server is not None:
            self._server.stop()
            self._server = None


def free_port() -> int:
    """Return a port that nothing uses now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def app_server(demo_copy):
    """A demo workshop of one's own, served by the real listeners."""
    server = AppServer(demo_copy)
    server.start()
    yield server
    server.stop()


# One per module: two of them cannot run side by side in one thread.
@pytest.fixture(scope="module")
def playwright():
    """Playwright, for tests that start a browser in their own way."""
    assert CHROMIUM, f"chromium is missing: {HOW}"
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="module")
def chromium(playwright):
    """A browser for the tests of one module; open a context of your own in it."""
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
    yield browser
    browser.close()
