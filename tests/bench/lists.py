"""Long lists: a stock list of 100,000 lines at the office and on a phone, and what is due on thousands of cars."""

import shutil
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from demo_db import build
from tests.bench import tables
from tests.browser import flow
from tests.conftest import CHROMIUM, FLAGS
from tests.host.test_stock import long_list, made
from webapp import stock, store
from webapp.core import followup

LINES = 100_000
CARS = 2_000
ROUNDS = 20
NOW = "2026-03-09T08:05:00Z"
# The browser's own count of what this site keeps; its log is packed in the background, so it is asked until it stands still.
USAGE = "async () => { const { usageDetails } = await navigator.storage.estimate(); return usageDetails.indexedDB ?? 0; }"
SETTLED_S = 20


def timed(work, *values):
    start = time.perf_counter()
    work(*values)
    return time.perf_counter() - start


def office(data):
    """Take a list in; rows of [what, time]."""
    db = store.open_database(data / "spanwright.db")
    try:
        body = made(rows=long_list(LINES))
        rows = [[f"look at a file of {LINES:,} lines, once", f"{timed(stock.hold, db, 'long.csv', body, '', NOW):.1f} s"],
                ["show it again", tables.ms(tables.middle([timed(stock.waiting, db) for _ in range(ROUNDS)]))],
                ["put it in force", f"{timed(stock.put_in_force, db, '', NOW):.1f} s"],
                ["look three keys up", tables.ms(tables.middle([timed(stock.given, db, ["P099999", "04PK705", "none"]) for _ in range(ROUNDS)]))]]
    finally:
        db.close()
    return rows


def due():
    """What is due among cars that came twice; one row of [what, time]."""
    check = {"item": "Belt", "grade": "watch", "date": "2026-05-01", "distance": None, "reason": "New"}
    cars = [{"id": f"job{i}", "registration": f"R {i // 2}", "vin": "", "signed": False, "turn": [0, i], "booked_turn": [0, i], "distance": None,
             "due": [check]} for i in range(CARS)]
    return [f"what is due among {CARS:,} jobs of {CARS // 2:,} cars", tables.ms(tables.middle([timed(followup.due, cars, NOW) for _ in range(ROUNDS)]))]


def on_phone(server, browser):
    """A phone takes the list in; rows of [what, figure]."""
    flow.LATER = 400_000  # a long list on a busy machine
    context = browser.new_context(**flow.PHONE)
    phone = flow.Hand(context, server)
    start = time.perf_counter()
    phone.sign_in("sunna")
    phone.wait_until(HOLDS_LIST)
    taken = time.perf_counter() - start
    first = phone.page.evaluate(USAGE)
    time.sleep(SETTLED_S)
    used = phone.page.evaluate(USAGE)
    job = phone.book("LIST 1", "Squeals")
    asked = [timed(phone.fetch, f"/jobs/{job}/1/parts/belt?hand=P-099999") for _ in range(ROUNDS)]
    found = "P-099999" in phone.fetch(f"/jobs/{job}/1/parts/belt?hand=P-099999")[1]
    context.close()
    return [["sign in and take the whole list in", f"{taken:.0f} s"],
            ["kept on the phone at once, by navigator.storage.estimate", f"{first / 1e6:.1f} MB"],
            [f"the same {SETTLED_S} s later", f"{used / 1e6:.1f} MB"],
            ["a part's page with a number in the hand" + ("" if found else ", NOT FOUND"), tables.ms(tables.middle(asked))]]


# The database opens at the version that it has.
HOLDS_LIST = """() => new Promise((done) => {
  const asked = indexedDB.open("spanwright");
  asked.onerror = () => done(false);
  asked.onsuccess = () => {
    const db = asked.result;
    if (!db.objectStoreNames.contains("meta")) { db.close(); done(false); return; }
    const got = db.transaction("meta").objectStore("meta").get("stock_seal");
    got.onsuccess = () => { db.close(); done(Boolean(got.result)); };
  };
})"""


def main():
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        data = Path(name) / "data"
        build.build(data)
        rows = office(data)
        tables.show("Long lists at the office", ["what", "time"], rows + [due()])
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with flow.serving(data) as server:
            tables.show(f"A stock list of {LINES:,} lines on a phone", ["what", "figure"], on_phone(server, browser))
        browser.close()
        shutil.rmtree(data)


if __name__ == "__main__":
    main()
