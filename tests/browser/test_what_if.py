"""The "what if" pages in a browser: a long sum without network, beside a page that stays quick; stopped, or refused."""

import re
import shutil

import pytest

from tests.browser import flow, screens
from tests.conftest import AppServer
from tests.core import contexts

JOB = screens.job_id("two_belts")
PULLEY = f"/jobs/{JOB}/1/drive/what-if/pulley"
LOCKED = PULLEY + "?part=alternator&rpm=1500&engine=diesel&cylinders=4&amperes=20"
SHOWN = "document.querySelector('[data-sum-answer]').innerText.trim() !== ''"

# Counts how long the page's own thread was away while the sum ran, and for how long that was watched.
WATCH = """() => {
    const seen = window.seen = { gap: 0, from: performance.now(), last: performance.now(), ended: 0 };
    const beat = () => {
        const now = performance.now();
        seen.gap = Math.max(seen.gap, now - seen.last);
        seen.last = now;
        if (document.querySelector("[data-sum-answer]").childElementCount) seen.ended = now;
        else setTimeout(beat, 5);
    };
    beat(); }"""


def record_a_drive(hand):
    status, text = hand.fetch(f"/jobs/{JOB}/1/drive/file", {"text": contexts.DRIVE_FILE, "shared": "no"})
    assert status == 200, text


def inked(page):
    """Tell for each chart how many colours its canvas shows besides nothing."""
    return page.evaluate("""() => [...document.querySelectorAll(".chart-plot canvas")].map((canvas) => {
        const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
        const found = new Set();
        for (let i = 0; i < pixels.length; i += 4) if (pixels[i + 3] === 255) found.add(pixels.slice(i, i + 3).join());
        return found.size; })""")


def test_a_phone_without_network_works_a_long_sum_out_and_stays_quick(chromium, app_server):
    phone = flow.Hand(chromium.new_context(**flow.PHONE), app_server)
    phone.sign_in("mara")
    phone.wait_ready()
    app_server.stop()
    record_a_drive(phone)

    phone.open(f"/jobs/{JOB}/1/drive/what-if")
    phone.fill(a="6PK1420", b="6PK1432")
    phone.save()
    assert "Between the marks" in phone.text() and "7.7 degrees further out" in phone.text()
    assert min(inked(phone.page)) > 2

    phone.open(PULLEY)
    phone.pick("engine", "diesel")
    phone.save()
    phone.page.evaluate(WATCH)
    phone.wait_until(SHOWN)
    told = phone.text()
    assert re.search(r"With the pulley locked the tensioner arm swings \d", told), told
    assert "N (" in told and "degrees" in told and "from memory" in told
    assert len(inked(phone.page)) == 2 and min(inked(phone.page)) > 2
    seen = phone.page.evaluate("window.seen")
    # A sum on the page's own thread would be one gap as long as the sum.
    assert seen["ended"] - seen["from"] > 4 * seen["gap"], seen
    labels = phone.page.locator(".chart-plot").evaluate_all("all => all.map((one) => one.role + ': ' + one.ariaLabel)")
    assert screens.violations(phone.page) == [] and screens.wrong_sizes(phone.page) == []
    assert all(re.match(r"img: .*over 200 ms\. .* from -?\d", label) for label in labels), labels
    phone.context.close()


@pytest.fixture(scope="module")
def desk(chromium, demo_workshop, tmp_path_factory):
    """A browser without a service worker: the server gives the same files. Its one drive is only looked at."""
    server = AppServer(shutil.copytree(demo_workshop, tmp_path_factory.mktemp("what-if") / "data"))
    server.start()
    context = chromium.new_context(**flow.DESK, service_workers="block")
    hand = flow.Hand(context, server)
    hand.sign_in_at_server("mara")
    record_a_drive(hand)
    yield hand
    context.close()
    server.stop()


def test_a_sum_can_be_stopped_and_asked_again(desk):
    desk.open(LOCKED)
    desk.wait_until("document.querySelector('progress').value > 0")
    desk.press("[data-sum-stop]")
    desk.wait_main("Stopped. Nothing was worked out.")
    assert not desk.page.is_visible("progress")
    desk.page.reload()
    desk.wait_until(SHOWN)
    assert "locked" in desk.text() and not desk.page.is_visible("[data-sum-failed]")
    assert screens.violations(desk.page) == []


def test_a_sum_that_cannot_start_says_so(desk):
    desk.context.route("**/core.bin", lambda route: route.abort())
    desk.open(LOCKED)
    desk.wait_main("The sum could not be started.")
    assert not desk.page.is_visible("progress")
    desk.context.unroute("**/core.bin")
    # The core's own refusal is shown in its own words.
    desk.page.evaluate("""async () => {
        const { run } = await import("/static/js/long-sum.js");
        window.said = await run("no-such-sum", {}).catch((error) => error.message); }""")
    assert desk.page.evaluate("window.said") == "Please pick one of the choices."


def test_a_chart_follows_light_and_dark(desk):
    desk.open(f"/jobs/{JOB}/1/drive/what-if")
    light = desk.page.evaluate("document.querySelector('.chart-plot canvas').toDataURL()")
    desk.page.emulate_media(color_scheme="dark")
    desk.wait_until("light => document.querySelector('.chart-plot canvas').toDataURL() !== light", light)
    assert desk.page.locator(".chart-plot canvas").count() == 1
    desk.page.emulate_media(color_scheme="light")
    desk.wait_until("light => document.querySelector('.chart-plot canvas').toDataURL() === light", light)
