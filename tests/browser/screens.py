"""Every screen of the app with the invented workshop behind it, and what to look for on each.

A new screen is covered by its row in the route table. axe-core comes inside the axe-playwright-python wheel.
"""

import contextlib
import shutil
import tempfile
import uuid
from pathlib import Path

from axe_playwright_python.base import AXE_SCRIPT

from demo_db import build, jobs
from tests.browser import pieces
from tests.conftest import AppServer
from webapp.core import routes, words

# The job in which every route is looked at: signed, with a late entry.
ROUTE_JOB = "squeal"
# Screens that look different in every state of a job, and those that a few jobs show in every state.
STATE_ROUTES = ["/jobs/{job}", "/jobs/{job}/sheet", "/jobs/{job}/sign"]
SOME_ROUTES = ["/jobs/{job}/1/belts", "/jobs/{job}/1/tension", "/jobs/{job}/cause", "/jobs/{job}/cause/looks", "/jobs/{job}/history"]
SOME_JOBS = ["two_belts", "fresh", "offered"]
# What another size or colour scheme can change on one and the same page, of axe-core's rules.
RULES_OF_A_LOOK = ["color-contrast", "color-contrast-enhanced", "link-in-text-block", "target-size", "scrollable-region-focusable"]
# What axe-core's rules read from files, the same on every page with the same ones.
RULES_OF_FILES = ["css-orientation-lock", "no-autoplay-audio"]
# A saved drive's file is no page: a browser puts it away.
DOWNLOADS = ["/drives/{drive}/file"]
PARAMETERS = {"loop": ["1"], "ask": ["voltage", "count", "ribs1"], "place": ["old", "new"], "method": ["pluck", "press"],
              "step": [code for code, _label in words.choice_pairs("step")], "drive": [build.drive_id("van")], "pulley": ["0", "new"], "check": ["kind-of-noise", "water-mist-on-the-ribs", "tensioner-pointer-engine-off"], "cause": ["alternator-pulley-seized"], "part": ["belt"], "token": ["0" * 32], "sha256": ["0f" * 32]}

READING = ("span=Crank+to+pump&length=262&length_unit=mm&length_error=2&length_error_unit=mm&section=PK&ribs=6"
           "&engine_temperature=cold&step=read")
FILLED = [f"/sums/span?method=pluck&{READING}&reading=81.5&reading=82.1&reading=82",
          f"/sums/span?method=pluck&{READING}&reading=81.5&reading=82.1&reading=41&reading=82",
          f"/sums/span?method=press&{READING}&force=25&force_unit=N&reading_unit=mm&reading=6.5&reading=6",
          f"/drives/{build.drive_id('van')}/what-if?a=6PK1420&b=nonsense",
          f"/drives/{build.drive_id('van')}/what-if/pulley?rpm=1500&engine=diesel",
          f"/jobs/{uuid.uuid5(build.SPACE, ROUTE_JOB)}/cause/check/water-mist-on-the-ribs?stopped=yes",
          f"/jobs/{uuid.uuid5(build.SPACE, ROUTE_JOB)}/cause/looks?look=leak",
          *[f"/jobs/{uuid.uuid5(build.SPACE, 'manual')}/{page}" for page in ("proved?stopped=yes", "1/aligned?way=angle", "next-check?take=belt1")],
          "/sums/marking?marking=6PK1500", "/sums/marking?marking=nonsense", "/find?code=0000+0000"]
SERVER_PAGES = ["/signin", "/office", "/office/people", "/office/phones", "/office/shop", "/office/tags", "/office/take-in", "/office/stock",
                "/office/causes", "/connect", "/connect/check", "/no-such-page"]

# (name, width, height, colour scheme)
LOOKS = [("phone, light", 390, 844, "light"), ("phone, dark", 390, 844, "dark"), ("desk, light", 1280, 900, "light"),
         ("desk, dark", 1280, 900, "dark")]


@contextlib.contextmanager
def workshop(browser, demo):
    """Yield (server, page) with a supervisor signed in; no worker, so that the server renders every page."""
    with tempfile.TemporaryDirectory() as folder:
        server = AppServer(shutil.copytree(demo, Path(folder) / "data"))
        server.start()
        context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, service_workers="block")
        try:
            page = context.new_page()
            person, _name, pin = server.people["ruben"]
            page.goto(f"{server.url}/signin?person={person}")
            page.fill("#pin", pin)
            page.click("button[form=signin]")
            page.wait_for_url("**/jobs")
            yield server, page
        finally:
            context.close()
            server.stop()


def job_id(name: str) -> str:
    """Return the id of a job of the invented workshop."""
    return str(uuid.uuid5(build.SPACE, name))


def pages() -> list:
    """Return the address of every page: each GET row of the table, and the server's own."""
    found = []
    for method, pattern, _needs, _module, _function in routes.TABLE:
        # A fragment is part of a page.
        if method == "GET" and "/_" not in pattern and pattern not in DOWNLOADS:
            found += _filled(pattern, [ROUTE_JOB])
    for pattern in STATE_ROUTES:
        found += _filled(pattern, [tell.__name__ for tell in jobs.JOBS])
    for pattern in SOME_ROUTES:
        found += _filled(pattern, SOME_JOBS)
    return list(dict.fromkeys(found + FILLED + SERVER_PAGES))


def forms() -> list:
    """Return the address of every form, to be sent empty so that it comes back with its errors."""
    found = [_filled(pattern, ["two_belts"]) for method, pattern, *_rest in routes.TABLE if method == "POST"]
    return [path for paths in found for path in paths]


def _filled(pattern, names):
    paths = [pattern]
    for name, values in dict(PARAMETERS, job=[job_id(name) for name in names]).items():
        if "{" + name + "}" in pattern:
            paths = [path.replace("{" + name + "}", value) for path in paths for value in values]
    return paths


def open_empty_form(page, url):
    """Send a form with nothing in it, as a browser does, from a page of the app that it shows."""
    with page.expect_navigation():
        page.evaluate("""(address) => {
            const form = document.createElement("form");
            form.method = "post"; form.action = address; document.body.append(form); form.submit(); }""", url)


def violations(page, rules=None, files=False) -> list:
    """Run rules of axe-core: by default every one, those of level AAA, best practice and the experimental ones too.

    files: read the page's style sheets and sounds again, which RULES_OF_FILES need
    Returns:  [(rule, impact, selector and reason), ...]
    """
    if not page.evaluate("typeof axe === 'object'"):
        page.evaluate(AXE_SCRIPT)
    # axe-core judges no contrast on a gradient: the faint grid behind every page would hide the texts that stand on it.
    found = page.evaluate("""async ([rules, files]) => {
        document.body.style.backgroundImage = "none";
        const tags = [...new Set(axe.getRules().flatMap((rule) => rule.tags))];
        const only = rules ? { type: "rule", values: rules } : { type: "tag", values: tags };
        const answer = await axe.run(document, { runOnly: only, resultTypes: ["violations"], preload: files });
        return answer.violations.flatMap((rule) => rule.nodes.map((node) =>
            [rule.id, rule.impact, node.target.join(" ") + ": " + node.failureSummary.replace(/\\s+/g, " ")])); }""", [rules, files])
    return [tuple(one) for one in found]


def wrong_sizes(page) -> list:
    """Return the main actions under 126 by 76 px, the key numbers under 44 px, what makes the page scroll sideways, and what
    sticks out of the bar below."""
    return page.evaluate("""() => {
        const shown = (selector) => [...document.querySelectorAll(selector)].filter((one) => one.getClientRects().length);
        const words = (one, size) => `too small: ${one.className} "${one.innerText}": ${size}`;
        const actions = shown("main ~ .actions :is(.button, .next), .answer, .button-main").map((one) => [one, one.getBoundingClientRect()])
            .filter(([, box]) => box.width < 126 || box.height < 76).map(([one, box]) => words(one, `${box.width} x ${box.height}`));
        const numbers = shown(".key-value").map((one) => [one, parseFloat(getComputedStyle(one).fontSize)])
            .filter(([, size]) => size < 44).map(([one, size]) => words(one, size));
        const root = document.documentElement;
        const wide = root.scrollWidth <= root.clientWidth ? [] : [...document.querySelectorAll("body *")]
            .filter((one) => one.getBoundingClientRect().right > root.clientWidth + 0.5)
            .map((one) => `sticks out: ${one.tagName} ${one.className.baseVal ?? one.className}`).slice(0, 5);
        // The bar is fixed: what sticks out of it cannot be scrolled to.
        const bar = shown(".actions *").filter((one) => one.getBoundingClientRect().right > root.clientWidth + 0.5)
            .map((one) => `sticks out of the bar: ${one.tagName} ${one.className.baseVal ?? one.className}`);
        return [...actions, ...numbers, ...wide, ...bar]; }""")


def every_screen(server, page):
    """Open every page and every form with errors in turn; yield its address."""
    yield from _opened(server, page, pages(), forms())


def unlike_screens(server, page):
    """Open those pages and forms that hold a piece of structure that none opened before holds; yield their addresses."""
    seen = set()
    yield from _opened(server, page, _with_new_pieces(server, page.request.get, pages(), seen),
                       _with_new_pieces(server, page.request.post, forms(), seen))


def _with_new_pieces(server, ask, paths, seen):
    found = [(path, pieces.of(ask(server.url + path, headers={"Origin": server.url}).text())) for path in paths]
    # Those with the most first: fewer are opened.
    for path, held in sorted(found, key=lambda one: -len(one[1])):
        if held - seen:
            seen |= held
            yield path


def _opened(server, page, paths, forms_sent):
    # Sent to the browser once, not again for every page.
    page.add_init_script(AXE_SCRIPT)
    for path in paths:
        page.goto(server.url + path)
        yield path
    for path in forms_sent:
        open_empty_form(page, server.url + path)
        yield "POST " + path


def sheets(page) -> tuple:
    """Return the addresses of the page's style sheets and sounds."""
    return tuple(page.evaluate("[...document.styleSheets, ...document.querySelectorAll('audio, video')].map((one) => one.href ?? one.src)"))


def look(page, width, height, scheme):
    """Show the page at another size and colour scheme."""
    page.set_viewport_size({"width": width, "height": height})
    page.emulate_media(color_scheme=scheme)
