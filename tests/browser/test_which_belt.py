"""A car with two belts on a phone without network: which one complains is one tap, and cause and parts belong to it."""

from demo_db import jobs
from tests.browser import flow

TWO = dict(flow.FACTS, count="2", name1="Alternator belt", belt1="vbelt", ribs1="", tensioner1="slotted", marks1="none", pin_hole1="no",
           name2="Compressor belt", belt2="ribbed", ribs2="6", tensioner2="automatic", marks2="limits", pin_hole2="yes")


def test_one_belt_of_two_complains_without_network(chromium, demo_copy):
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        job = phone.book("WB 22", "Rattles at idle")
        gate = [["voltage", "12"], ["start_stop", "none"], *[["confirmed", line] for line in jobs.GATE]]
        for page, form in (("facts", TWO), ("gate", gate)):
            assert phone.fetch(f"/jobs/{job}/{page}", form)[0] == 200
        phone.send_all()
        server.end()

        phone.open(f"/jobs/{job}/cause")
        assert "Which belt complains?" in phone.page.locator("main").text_content() and "an answer tells of every belt" in phone.text()
        phone.go('button[name=belt][value="2"]')
        assert "kept for this belt" in phone.text()
        phone.open(f"/jobs/{job}/cause/check/tensioner-arm-sweep")
        assert "Compressor belt" in phone.page.locator("main").text_content()
        phone.go("button[name=outcome][value=play]")
        phone.open(f"/jobs/{job}/cause/name")
        if not phone.page.locator("input[value=TN_DAMP]").locator("xpath=ancestor::label").is_visible():
            phone.press("summary:has-text('Other causes')")
        phone.press("label:has(input[value=TN_DAMP])")
        phone.fill(reason="Play at the pivot")
        phone.save()
        assert phone.path() == f"/jobs/{job}/cause/looks" and "Compressor belt: Tensioner damping" in phone.text()
        phone.open(f"/jobs/{job}/2/parts")
        assert "Tensioner, complete" in phone.text()
        phone.open(f"/jobs/{job}/1/parts")
        assert "Tensioner, complete" not in phone.text() and "The cause is on another belt" in phone.text()
        phone.open(f"/jobs/{job}?loop=1")
        assert phone.text().count("Not the belt that complains") == 6
        assert [event["loop"] for event in phone.unsent()[0]] == ["", "2", "2"]

        server.start()
        phone.send_all()
        assert server.faults() == []
        phone.context.close()
