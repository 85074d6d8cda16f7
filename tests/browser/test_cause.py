"""Finding the cause on a phone without network: the story, three checks, the ranking, the cause named, the looks behind it.

The table of causes came with the enrolment. The server is the real command in a process of its own, and gone meanwhile.
"""

from tests.browser import flow
from webapp.core import events, looks

# So many small drawings are there, and each has strokes, not an empty place.
ALL_DRAWN = """(least) => { const drawn = [...document.querySelectorAll("main .drawn use")];
    return drawn.length >= least && drawn.every((one) => one.getBBox().width > 20); }"""


def answered(phone, tile):
    phone.go(phone.page.locator("#check button", has_text=tile))
    return phone.page.locator("[role=status]").first.inner_text()


def test_from_the_complaint_to_the_looks_behind_the_cause_without_network(chromium, demo_copy):
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        job = phone.through_the_gate("CS 4100")
        phone.wait_ready()
        server.end()

        phone.open(f"/jobs/{job}")
        phone.next()
        assert phone.path() == f"/jobs/{job}/cause" and "Kind of noise" in phone.text()
        phone.save()
        assert "Squeal: long, high and steady" in answered(phone, "Squeal")
        for tile in ("Cold or damp", "Nothing else", "No work in three months"):
            phone.save()
            answered(phone, tile)
        assert "Judgement." in phone.text() and "SPEAKS FOR IT" in phone.text().upper()

        # The engine runs: instructions first, the answers on a page of their own.
        phone.open(f"/jobs/{job}/cause/check/water-mist-on-the-ribs")
        assert phone.page.locator("#check").count() == 0
        phone.save()
        answered(phone, "Gets louder when wet")
        phone.open(f"/jobs/{job}/cause/check/belt-ribs-by-eye")
        phone.wait_until(ALL_DRAWN, 7)
        answered(phone, "Polished ribs")
        phone.open(f"/jobs/{job}/cause/check/belt-tension")
        answered(phone, "Tension is below its window")
        assert phone.page.locator("main li h3").first.inner_text() == "Belt tension too low"

        phone.go(phone.page.locator("main li", has_text="Belt tension too low").locator("a", has_text="What it does"))
        assert phone.path() == f"/jobs/{job}/cause/known/belt-tension-too-low" and "Grip comes from tension" in phone.text()
        phone.wait_until(ALL_DRAWN, 2)
        phone.open(f"/jobs/{job}/1/step/parts")
        phone.press(phone.page.locator("summary", has_text="Why this step"))
        assert "What failed has often hurt its neighbours" in phone.text()
        phone.open(f"/jobs/{job}/cause")

        phone.go(phone.page.locator(".actions a", has_text="Name the cause"))
        phone.press(phone.page.locator(".tile", has_text="Belt tension too low"))
        phone.save()
        assert "Please fill this in" in phone.text() and phone.page.locator("[name=cause]:checked").count() == 1
        phone.fill(reason="Low by the reading, polished, louder with water")
        phone.save()
        assert phone.path() == f"/jobs/{job}/cause/looks"
        tried = phone.page.locator("#look h2").inner_text()
        phone.go(phone.page.locator("#look button", has_text="I accept the gap"))
        assert "Please fill this in" in phone.text() and phone.page.locator("#look h2").inner_text() == tried
        count = 0
        while phone.page.locator("#look").count():
            phone.fill(note="Owner comes back next week" if count == 0 else "")
            phone.go(phone.page.locator("#look button", has_text="I accept the gap" if count == 0 else "Looked at: fine"))
            count += 1
        assert "Every look has an answer" in phone.text() and count > 3
        phone.open(f"/jobs/{job}/sign")
        assert "Behind the cause" not in phone.page.locator("section").first.inner_text()

        server.start()
        phone.send_all()
        held = events.fold(server.events(job))
        assert [["T_LOW"]] == [entry["data"]["causes"] for entry in held["causes"]] and 7 == len(held["answers"])
        assert [] == looks.open_upstream(held) and count == len(held["looks"])
        assert ["accepted"] == [entry["data"]["result"] for entry in held["looks"] if entry["data"]["note"]]
        assert server.faults() == []
        phone.context.close()
