"""What every page does: typed text outlives a reload, taking away asks twice, the screen stays on during a job."""

import pytest

from tests.browser.page_stub import page_at_stub


@pytest.fixture
def form(playwright):
    with page_at_stub(playwright) as (stub, page):
        page.goto(stub.url + "/form")
        yield stub, page


def type_into(page):
    page.fill("[name=note]", "Squeals when cold")
    page.fill("[name=pin]", "1234")
    page.locator("[name=u][value=in]").check(force=True)


def test_a_reload_brings_back_what_was_typed_but_never_a_pin(form):
    _stub, page = form
    type_into(page)
    page.reload()
    assert page.input_value("[name=note]") == "Squeals when cold"
    assert page.locator("[name=u][value=in]").is_checked()
    assert page.input_value("[name=pin]") == ""
    assert page.get_by_text("What you had typed is back.").is_visible()
    assert "1234" not in page.evaluate("JSON.stringify(sessionStorage)")


def test_after_a_good_post_the_form_is_fresh(form):
    stub, page = form
    type_into(page)
    with page.expect_navigation():
        page.click("text=Save")
    assert page.input_value("[name=note]") == ""
    page.reload()
    assert page.input_value("[name=note]") == ""
    assert [post["note"] for post in stub.posts] == ["Squeals when cold"]


def test_a_post_that_failed_leaves_the_text_to_come_back(form):
    stub, page = form
    type_into(page)
    stub.fail_posts = True
    page.click("text=Save")
    page.wait_for_selector("text=broken")
    page.goto(stub.url + "/form")
    assert page.input_value("[name=note]") == "Squeals when cold"


def test_a_post_without_network_leaves_the_text_to_come_back(form):
    stub, page = form
    type_into(page)
    page.context.set_offline(True)
    page.click("text=Save")
    page.wait_for_url("chrome-error://**")
    page.context.set_offline(False)
    page.goto(stub.url + "/form")
    assert page.input_value("[name=note]") == "Squeals when cold"
    assert stub.posts == []


def test_a_draft_does_not_cover_a_form_that_the_record_has_filled_since(form):
    stub, page = form
    type_into(page)
    stub.note = "Belt thrown"
    page.reload()
    assert page.input_value("[name=note]") == "Belt thrown"


def test_taking_away_asks_again_in_another_place(form):
    stub, page = form
    button = page.get_by_role("button", name="Void the tag")
    first = button.bounding_box()
    button.click()
    dialog = page.get_by_role("dialog", name="Void this tag?")
    second = dialog.get_by_role("button", name="Void the tag").bounding_box()
    assert second["y"] + second["height"] < first["y"]
    dialog.get_by_role("button", name="No, leave it").click()
    assert stub.posts == [] and dialog.count() == 0
    button.click()
    with page.expect_navigation():
        dialog.get_by_role("button", name="Void the tag").click()
    assert len(stub.posts) == 1


def test_print_opens_the_browsers_own_dialog(form):
    _stub, page = form
    page.evaluate("window.print = () => { window.printed = true; }")
    page.get_by_role("button", name="Print").click()
    assert page.evaluate("window.printed")


def test_the_screen_stays_on_during_a_job_and_only_then(form):
    stub, page = form
    page.add_init_script("""window.asked = []; navigator.wakeLock.request = async (kind) => {
        window.asked.push(kind); return { released: false, release() { this.released = true; } }; };""")
    page.goto(stub.url + "/jobs/1")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("asked") == ["screen"]
    page.goto(stub.url + "/form")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("asked") == []
