"""The drawn route in a browser: one sheet of paper, letters to be read on a narrow phone, the words behind the picture."""

import re

import pytest

from demo_db import build
from tests.browser import screens

NAMES = sorted(path.stem for path in build.DRIVES.glob("*.json"))


@pytest.fixture(scope="module")
def opened(chromium, demo_workshop):
    with screens.workshop(chromium, demo_workshop) as pair:
        yield pair


def test_every_saved_drive_prints_on_one_sheet(opened):
    server, page = opened
    sheets = {}
    for name in NAMES:
        page.goto(f"{server.url}/drives/{build.drive_id(name)}/print")
        # A page object of the PDF form, ISO 32000-1, 7.7.3.3; "/Pages" is their tree.
        sheets[name] = len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(format="A4")))
    assert sheets == dict.fromkeys(NAMES, 1)


def test_letters_can_be_read_and_stay_inside_on_a_narrow_phone(opened):
    server, page = opened
    page.set_viewport_size({"width": 360, "height": 740})
    for name in NAMES:
        page.goto(f"{server.url}/drives/{build.drive_id(name)}")
        seen = page.evaluate("""() => {
            const picture = document.querySelector("svg.route").getBoundingClientRect();
            return [...document.querySelectorAll("svg.route text")].map((text) => {
                const box = text.getBoundingClientRect();
                return [text.textContent, box.height, box.left >= picture.left && box.right <= picture.right];
            });
        }""")
        assert seen
        for text, height, inside in seen:
            # The box of a line is about 1.15 times its letters' size.
            assert height > 12.5 and inside, (name, text, height)


def test_the_route_is_told_to_those_who_cannot_see_it(opened):
    server, page = opened
    page.goto(f"{server.url}/drives/{build.drive_id(NAMES[0])}")
    picture = page.get_by_role("img", name=re.compile("Route of the belt: .* pulleys, seen from the belt side"))
    assert picture.count() == 1
    words = page.locator("#route-words").text_content()
    page.get_by_text("The route in words").click()
    for item in page.locator(".thread li").all():
        assert item.is_visible()
        assert item.text_content().split(":")[0] in words




def test_the_slip_comes_after_the_page_and_without_scripts_by_a_link(opened, chromium):
    server, page = opened
    address = f"{server.url}/drives/{build.drive_id('van')}"
    page.goto(address)
    page.locator("#answer-running").wait_for()
    assert not page.locator("#answer-running dl").is_visible()
    page.locator("#answer-running > summary").click()
    told = page.locator("#answer-running").inner_text()
    assert "times its load" in told
    context = chromium.new_context(java_script_enabled=False, storage_state=page.context.storage_state())
    plain = context.new_page()
    plain.goto(address)
    assert plain.locator("#answer-running").count() == 0
    plain.get_by_role("link", name="Where it slips first").click()
    assert plain.locator("#answer-running").inner_text() == told
    context.close()
