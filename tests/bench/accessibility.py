"""axe-core on every screen in all four looks, as a table; `tests/browser/test_accessibility.py` asserts on two of them."""

import collections
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from demo_db import build
from tests.bench import tables
from tests.browser import screens
from tests.conftest import CHROMIUM, FLAGS


def main():
    looked, found = collections.Counter(), collections.defaultdict(list)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        build.build(Path(name) / "data")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with screens.workshop(browser, Path(name) / "data") as (server, page):
            for path in screens.every_screen(server, page):
                for title, *look in screens.LOOKS:
                    screens.look(page, *look)
                    looked[title] += 1
                    found[title] += [(path, *one) for one in screens.violations(page, files=True)]
        browser.close()
    tables.show("axe-core, all rules with AAA, best practice and experimental ones (budget: 0 violations)",
                ["look", "screens", "violations"], [[title, looked[title], len(found[title])] for title in looked])
    broken = [[title, *one] for title in looked for one in found[title]]
    if broken:
        tables.show("Violations", ["look", "screen", "rule", "impact", "where and why"], broken)


if __name__ == "__main__":
    main()
