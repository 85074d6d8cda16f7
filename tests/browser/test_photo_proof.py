"""A photo as proof on a phone without network: tied to its check, in the history and on the sheet, then its pair side by side.

The pictures are invented and drawn; they go through the page's file input as a phone's camera gives them.
"""

from demo_db import photos
from tests.browser import flow

CHECK = "tensioner-pointer-engine-off"
NAME = "Tensioner pointer, engine off"


def take(phone, slot, picture):
    """Give the slot's file input a picture, wherever on the page it stands; wait for the page that follows."""
    with phone.leaving():
        phone.page.set_input_files(f"input[type=file][form={slot}]", picture)


def sides(phone):
    """Where the two pictures of the first pair lie on the page: [left, top, width] of each."""
    return phone.page.eval_on_selector_all(".photo-pair:first-of-type img", """found => found.map(one => {
        const box = one.getBoundingClientRect(); return [box.left, box.top, box.width]; })""")


def test_from_the_check_to_the_pair_without_network(chromium, demo_copy, tmp_path):
    before, after, soft = tmp_path / "before.jpg", tmp_path / "after.jpg", tmp_path / "no-picture.jpg"
    before.write_bytes(photos.pointer(61, 57))
    after.write_bytes(photos.pointer(62, 3))
    soft.write_bytes(b"a shopping list")
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        job = phone.through_the_gate("PH 0770")
        facts = dict(flow.FACTS, tensioner1="automatic", name1="Main belt", marks1="limits", pin_hole1="yes")
        assert phone.fetch(f"/jobs/{job}/facts", facts)[0] == 200
        phone.wait_ready()
        server.end()

        # Of the four states of no answer, the last is the photo; a file that is none loses nothing that was typed.
        check = f"/jobs/{job}/cause/check/{CHECK}"
        phone.open(check)
        row = phone.page.locator("#check .button-row > *")
        assert [row.nth(i).inner_text().split("\n")[0] for i in range(4)] == ["Not done", "Cannot be done here", "Unclear", "Photo"]
        phone.fill(note="Spring hardly pulls")
        slot = phone.page.locator("form[data-photo-slot]").get_attribute("id")
        phone.page.set_input_files(f"input[type=file][form={slot}]", soft)
        phone.wait_main("That is not a picture this phone can read.")
        assert phone.page.input_value("[name=note]") == "Spring hardly pulls"
        take(phone, slot, before)
        assert phone.path() == check and phone.page.input_value("[name=note]") == "Spring hardly pulls"
        assert phone.page.locator(".photos figure").inner_text().strip() == "Before the work"
        phone.page.locator(".photos img").scroll_into_view_if_needed()
        phone.wait_until("document.querySelector('.photos img').naturalWidth > 0")
        assert "Answered" not in phone.text()

        phone.open(f"/jobs/{job}/cause")
        phone.press(phone.page.locator("summary", has_text="answered"))
        assert "1 photo" in phone.page.locator("a.row", has_text=NAME).inner_text()
        phone.open(f"/jobs/{job}/history")
        assert f"Check: {NAME}, before the work" in phone.text()
        phone.open(f"/jobs/{job}/sheet")
        assert f"Check: {NAME}, before the work" in phone.text() and phone.page.locator(".photo-pair").count() == 0

        # A line of fitting begins the work; Proved then asks for the same thing again.
        phone.open(f"/jobs/{job}/1/fitted")
        phone.pick("done", "clean")
        phone.save()
        phone.open(f"/jobs/{job}/proved")
        phone.press(phone.page.locator("summary", has_text="Photos still to take"))
        assert f"PHOTO: {NAME.upper()}" in phone.text().upper()
        remark = phone.page.locator("#photos-after [name=remark]")
        remark.fill("Chalk mark on the arm")
        # The key that ends it sends nothing.
        remark.press("Enter")
        assert phone.page.locator("#photos-after").count() == 1
        take(phone, phone.page.locator("#photos-after form").get_attribute("id"), after)
        assert phone.page.locator("#photos-after").count() == 0
        pair = phone.page.locator(".photo-pair")
        assert pair.locator("h3").inner_text() == f"Check: {NAME}" and pair.inner_text().count("Mara Tiller") == 2
        first, second = sides(phone)
        assert first[0] == second[0] and second[1] > first[1] and first[2] > 340, "one above the other on a phone, as wide as the page"
        assert "After the work: Chalk mark on the arm" in pair.inner_text()

        phone.open(f"/jobs/{job}/sheet")
        phone.page.set_viewport_size({"width": 720, "height": 1000})
        phone.page.emulate_media(media="print")
        first, second = sides(phone)
        assert first[1] == second[1] and second[0] > first[0] + first[2] and abs(first[2] - second[2]) < 1, "side by side on paper"
        phone.page.emulate_media(media="screen")
        _events, unsent = phone.unsent()
        assert len(unsent) == 2

        server.start()
        phone.send_all()
        kept = [event["data"] for event in server.events(job) if event["kind"] == "photo_taken"]
        assert [[one["check"], one["what"], one["stage"], one["note"]] for one in kept] \
            == [["C7", NAME, "before", None], ["C7", NAME, "after", "Chalk mark on the arm"]]
        assert all(flow.stored_photo(server, one["sha256"]) for one in kept)
        assert [event for event in server.events(job) if event["kind"] == "check_answered"] == []
        assert server.faults() == []
        phone.context.close()
