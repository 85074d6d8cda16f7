"""Two phones without network on one job at the same time: both sets of entries survive, and corrections find their order."""

from demo_db import photos
from tests.browser import flow

FIRST = "Belt glazed, cause not known yet."
MARAS = "Belt glazed by oil from the filter housing."
JOOSTS = "Belt glazed, alternator pulley stuck."


def picture(folder, name, seed):
    path = folder / name
    path.write_bytes(photos.belt_ribs(seed, marking=name))
    return path


def cause(phone, job, text):
    phone.open(f"/jobs/{job}/0/step/cause")
    phone.tell(text)


def belt(phone, job, place, marking, path):
    phone.open(f"/jobs/{job}/1/belts/{place}")
    phone.belt(marking, "6", "21.4", "1514", "glazed", path)


def see(phone, job):
    """What a phone knows of the cause, and of the pictures."""
    phone.open(f"/jobs/{job}/0/step/cause")
    told = phone.page.input_value("[name=text]")
    phone.open(f"/jobs/{job}/photos")
    return told, phone.page.locator(".photos img").count()


def test_both_sets_survive_and_the_later_correction_in_the_servers_order_stands(chromium, demo_copy, tmp_path):
    with flow.serving(demo_copy) as server:
        mara = flow.Hand(chromium.new_context(**flow.PHONE), server)
        joost = flow.Hand(chromium.new_context(**flow.PHONE), server)
        mara.sign_in("mara")
        job = mara.book("TP 2600", "Squeals when cold")
        mara.next()
        mara.facts()
        mara.open(f"/jobs/{job}/gate")
        mara.gate()
        cause(mara, job, FIRST)
        mara.wait_sent()
        joost.sign_in("joost")
        joost.open(f"/jobs/{job}")
        assert "TP 2600" in joost.text()

        server.end()
        # Turn by turn, so that neither set comes before the other by the clocks.
        belt(mara, job, "old", "6PK1500", picture(tmp_path, "6PK1500", 21))
        cause(joost, job, JOOSTS)
        cause(mara, job, MARAS)
        belt(joost, job, "new", "6PK1500", picture(tmp_path, "6PK1500 new", 22))
        note(joost, job, "New belt is on the bench.")
        note(mara, job, "Old belt is in the bin by the lift.")
        sets = [mara.unsent(), joost.unsent()]
        assert [len(events) for events, _photos in sets] == [7, 7] and [len(names) for _events, names in sets] == [1, 1]

        # Mara corrected last by the clock; her phone gets through first, so Joost's correction stands.
        joost.out_of_reach()
        server.start()
        mara.sync()
        mara.wait_sent()
        joost.in_reach()
        joost.sync()
        joost.wait_sent()
        mara.sync()
        mara.wait_until("async job => (await (await fetch(`/jobs/${job}/0/step/cause`)).text()).includes('pulley stuck')", job)

        held = server.events(job)
        for events, names in sets:
            assert [event["id"] for event in held if event["device"] == events[0]["device"]][-7:] == [e["id"] for e in events]
            assert all(flow.stored_photo(server, name) for name in names)
        assert len({event["id"] for event in held}) == len({(e["device"], e["n"]) for e in held}) == len(held)
        assert server.faults() == []
        told = [event["data"]["text"] for event in held if event["kind"] == "step_recorded"]
        assert told == [FIRST, MARAS, JOOSTS]
        for phone in (mara, joost):
            assert see(phone, job) == (JOOSTS, 2)
            phone.open(f"/jobs/{job}/1/belts")
            assert "Same" in phone.page.locator(".verdict-word").first.inner_text()
            both_are_shown(phone, job)
        mara.context.close()
        joost.context.close()


def note(phone, job, text):
    phone.open(f"/jobs/{job}/notes")
    phone.fill(text=text)
    phone.save()


def both_are_shown(phone, job):
    phone.open(f"/jobs/{job}/history")
    entries = {text: phone.page.locator(".entry", has_text=text).first.inner_text() for text in (MARAS, JOOSTS)}
    assert "Replaced or taken back" in entries[MARAS] and "Mara Tiller" in entries[MARAS]
    assert "Replaced or taken back" not in entries[JOOSTS] and "Joost Pellam" in entries[JOOSTS]
    text = phone.text()
    assert "New belt is on the bench." in text and "Old belt is in the bin by the lift." in text
