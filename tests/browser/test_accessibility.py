"""Every screen against axe-core's rules (WCAG 2 at A, AA and AAA, best practices), and the sizes that gloves need.

The thresholds of size come from the project's own rule: 20 by 12 mm for a thumb in a glove, at 0.16 mm to the CSS
pixel of a phone; 44 px for a number read at 70 cm. 320 px is WCAG's width for reflow (success criterion 1.4.10).
"""

import pytest

from tests.browser import pieces, screens

# (look, which of axe-core's rules, whether sizes are measured); every look of a screen in one load of it. Two of the four looks
# hold both widths and both schemes, the second asked only what a look can change; `make bench` asks all of all four.
EVERY = None
CHECKED = [(screens.LOOKS[0], EVERY, True), (("narrow, light", 320, 844, "light"), [], True),
           (screens.LOOKS[3], screens.RULES_OF_A_LOOK, False)]


@pytest.fixture(scope="module")
def opened(chromium, demo_workshop):
    with screens.workshop(chromium, demo_workshop) as pair:
        yield pair


@pytest.fixture(scope="module")
def found(opened):
    """What each check finds, every screen that is built unlike those before it opened once."""
    server, page = opened
    by_axe, by_size, files = [], [], set()
    for path in screens.unlike_screens(server, page):
        if (its := screens.sheets(page)) not in files:
            files.add(its)
            by_axe += [(path, "files", *one) for one in screens.violations(page, screens.RULES_OF_FILES, files=True)]
        # A refused form wears the colours of its page; `make bench` looks at it in the dark as well.
        for (name, *look), rules, has_sizes in CHECKED[:2] if path.startswith("POST") else CHECKED:
            screens.look(page, *look)
            if rules != []:
                by_axe += [(path, name, *one) for one in screens.violations(page, rules)]
            if has_sizes:
                by_size += [(path, name, one) for one in screens.wrong_sizes(page)]
    return by_axe, by_size


@pytest.mark.outside("axe-core 4.12.1")
def test_axe_finds_nothing_on_any_screen(found):
    assert not found[0]


def test_main_actions_fit_a_glove_key_numbers_are_large_and_nothing_scrolls_sideways(found):
    assert not found[1]


def test_these_checks_find_what_is_wrong(opened):
    """A page with known faults, one of them of level AAA."""
    server, page = opened
    page.goto(server.url + "/sums")
    page.evaluate("""document.querySelector("main").innerHTML =
        "<h1>Sums</h1><img src='/static/icons/mark.svg'><p id='pale'>pale</p>";
        document.querySelector("#pale").style.color = "#606060" """)
    assert {"image-alt", "color-contrast-enhanced"} <= {one[0] for one in screens.violations(page)}
    assert {one[0] for one in screens.violations(page, screens.RULES_OF_A_LOOK)} == {"color-contrast-enhanced"}
    page.evaluate("""document.querySelector("main").innerHTML =
        "<p class='key-value' id='small'>1</p><a class='button-main' id='thin'>x</a><p id='wide'>x</p>";
        document.querySelector("#small").style.fontSize = "43px";
        document.querySelector("#thin").style.cssText = "display: block; height: 75px";
        document.querySelector("#wide").style.width = "2000px" """)
    found = screens.wrong_sizes(page)
    assert len([one for one in found if one.startswith("too small")]) == 2 and any(one.startswith("sticks out") for one in found)


SEEN = """<main><h1>Sums</h1><h2>Belts</h2><ul><li>One</li><li>Two</li></ul><p class='key-value'>1 mm</p><label for='a'>Span</label>
    <input id='a' value='1'><img src='a.svg' alt='Mark'></main>"""


def test_a_page_with_other_words_only_is_like_one_seen():
    other = SEEN.replace("Sums", "Reads").replace("<li>Two", "<li>Two</li><li>Three &amp; four").replace("'a'", "'b'").replace("1 mm", "2 in")
    assert other != SEEN and pieces.of(other) <= pieces.of(SEEN)


@pytest.mark.parametrize("old, new", [
    ("key-value", "key"), ("<h1>Sums</h1>", "<h1></h1>"), ("h2", "h3"), ("<li>Two", "<li>Two<b>!</b>"), ("<input", "<input aria-invalid='true'"),
    ("id='a'", "id='b'"), ("</main>", "<p id='a'>Twice</p></main>"), (" alt='Mark'", ""), ("alt='Mark'", "alt=''"),
    ("</main>", "<script src='/a.js'></script></main>"), ("<li>One</li><li>Two</li>", "")])
def test_a_page_built_in_another_way_is_not(old, new):
    assert old in SEEN and pieces.of(SEEN.replace(old, new)) - pieces.of(SEEN)
