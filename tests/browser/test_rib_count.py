"""Ribs counted on a drawn belt, by touch on a phone without network: a proposal, confirmed on the belt's page, or declined."""

import pytest
from PIL import Image

from tests import ribbelts
from tests.browser import fingers, screens

WIDE, HIGH = fingers.SIZE
SEED = 500_003


def pictured(path, array):
    """The drawn belt in the middle of a bench; returns where its own pixels begin."""
    image = Image.effect_noise((WIDE, HIGH), 40)
    left, top = (WIDE - array.shape[1]) // 2, (HIGH - array.shape[0]) // 2
    image.paste(Image.fromarray(array.astype("uint8")), (left, top))
    image.save(path, quality=95)
    return left, top


@pytest.fixture
def phone(chromium, demo_copy):
    with fingers.phone_without_network(chromium, demo_copy) as phone:
        yield phone


def test_a_belt_is_counted_confirmed_and_recorded(phone, tmp_path):
    one = ribbelts.drawn(SEED, "plain", 5)
    left, top = pictured(tmp_path / "belt.jpg", one["picture"])
    job = screens.job_id("manual")
    phone.open(f"/jobs/{job}/1/belts/new?step=ribs")
    phone.go(phone.page.locator("main a", has_text="Count on a photo"))
    phone.photo(tmp_path / "belt.jpg")
    assert phone.path() == f"/jobs/{job}/1/belts/new/count"
    ends = [(left + x, top + y) for x, y in one["ends"]]
    finger = fingers.Finger(phone)
    middle = [sum(end[i] for end in ends) / 2 for i in (0, 1)]
    # Two fingers bring the belt closer and leave no point behind.
    finger.come_closer(middle)
    view = phone.page.locator("#tap-stage [data-view]").bounding_box()["width"] / phone.page.locator("#tap-stage").bounding_box()["width"]
    assert view == pytest.approx(3, abs=0.2)
    assert phone.page.locator("#tap-points .tap-point").count() == 0
    phone.press("[data-whole]")
    finger.tap(ends[0])
    phone.wait_main("Now the other edge")
    # The second end lands too far in; it is dragged to the edge.
    finger.tap((ends[1][0] - 150, ends[1][1]))
    phone.wait_until("document.querySelectorAll('#tap-points .tap-point').length === 2")
    phone.wait_until("document.querySelector('#rib-said').dataset.state")
    finger.drag((ends[1][0] - 150, ends[1][1]), ends[1])
    assert phone.page.locator("[data-lens]").is_visible()
    finger.touch("touchEnd")
    phone.wait_main("5 ribs, it seems")
    assert phone.page.locator("#tap-points .rib-tick").count() == 6
    # By key: right behind a drag a busy Chromium now and then makes no click of a tap, though both its ends arrive.
    with phone.leaving():
        phone.page.press("#rib-use", "Enter")
    assert phone.page.input_value("[name=ribs_counted]") == "5" and "The photo says 5 ribs" in phone.text()
    phone.save()
    data = [event["data"] for event in phone.unsent()[0] if event["kind"] == "belt_recorded"][-1]
    assert (data["ribs_counted"], data["ribs_source"]) == (5, "photo")

    # Across what is no belt: declined in words, and typing is one tap away.
    phone.open(f"/jobs/{job}/1/belts/new/count")
    finger = fingers.Finger(phone)
    finger.tap((200, 100))
    finger.tap((1400, 120))
    phone.wait_main("No count: no even stripes")
    assert phone.page.locator("#rib-use").is_hidden()
    phone.go(phone.page.locator(".actions a", has_text="Type the count"))
    assert phone.page.locator("[name=ribs_counted]").is_visible()
