"""A drive of six pulleys taken by tape on a phone without network, by touch, one pulley after the other.

The drive is the invented sample with a spring arm; one of its pulleys is placed by two distances (plane geometry).
"""

import math

from tests.browser import flow, screens
from tests.core import drive_samples

SAMPLE = drive_samples.load("automatic")
NAME = "Delivery van, by tape"


def place(phone, name, x, y):
    """Across and up, with the switches instead of minus signs."""
    phone.fill(**{name + "_across": str(abs(x)), name + "_up": str(abs(y))})
    phone.pick(name + "_across_side", "left" if x < 0 else "right")
    phone.pick(name + "_up_side", "down" if y < 0 else "up")


def begin(phone, job):
    phone.open(f"/jobs/{job}/1/drive")
    phone.go(".row:has-text('Measure by tape')")
    assert "/gate" in phone.path(), "nothing is measured before the safety questions"
    phone.pick("voltage", "12")
    phone.pick("start_stop", "none")
    phone.gate()
    assert phone.path().endswith("/drive/about")
    phone.fill(name=NAME)
    phone.save()
    phone.fill(diameter="15o")
    phone.save()
    assert "Please type a plain number" in phone.text() and phone.page.input_value("#diameter") == "15o"
    phone.fill(diameter="150")
    phone.save()


def pulley(phone, one):
    """One pulley on the page of the next one; its name follows from its kind, as the alternator's shows."""
    assert phone.path().endswith("/pulleys/new") and phone.page.input_value("#diameter") == "", "a fresh page for each pulley"
    phone.pick("kind", one["kind"])
    phone.pick("face", one["face"])
    phone.fill(diameter=str(one["diameter_mm"]))


def by_two_distances(phone, one):
    """Which of the two spots it is, the page asks while the numbers are typed."""
    known = {p["name"]: p for p in SAMPLE["pulleys"]}
    phone.pick("place_way", "from_two")
    for key, name in (("first", "crank"), ("second", "idler")):
        phone.pick("place_" + key, name)
        apart = math.hypot(one["x_mm"] - known[name]["x_mm"], one["y_mm"] - known[name]["y_mm"])
        phone.fill(**{f"place_{key}_distance": f"{apart:.2f}"})
    phone.wait_until("document.querySelector('#spots svg') !== null")
    assert "A: 235 mm right, 285 mm up" in phone.text()
    phone.pick("place_side", "left")


def tensioner(phone):
    arm = SAMPLE["tensioner"]
    phone.pick("kind", "automatic")
    phone.pick("pulley", "tensioner")
    place(phone, "pivot", arm["pivot_x_mm"], arm["pivot_y_mm"])
    phone.fill(**{key: str(arm[key]) for key in ("torque_nm", "rate_nm_per_deg", "friction")})
    for key in ("stops_deg", "marks_deg"):
        phone.fill(**{key + "_low": str(arm[key][0]), key + "_high": str(arm[key][1])})
    phone.save()


def test_six_pulleys_by_tape_without_network(chromium, demo_copy):
    job = screens.job_id("fresh")
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        phone.wait_ready()
        server.end()
        begin(phone, job)
        for one in SAMPLE["pulleys"][1:]:
            pulley(phone, one)
            if one["kind"] == "alternator":
                by_two_distances(phone, one)
            else:
                place(phone, "place", one["x_mm"], one["y_mm"])
            phone.save()
        phone.go('a[href$="/drive/belt"]')
        phone.pick("section", "PK")
        phone.fill(ribs="6", length="1420")
        phone.save()
        tensioner(phone)

        assert phone.path() == f"/jobs/{job}/1/drive" and "Still lacking" not in phone.text()
        assert len(phone.page.locator(".rows-close").first.locator("li").all()) == 6
        for words in (NAME, "2. compressor", "Air-conditioning compressor", "250 mm right, 15 mm up", "42 mm left, 125 mm up", "6 PK 1420"):
            assert words in phone.text(), words
        take_one_out_and_put_it_back(phone)
        phone.save()
        assert phone.path() == f"/jobs/{job}"
        station = phone.page.locator(".station:has(.station-name:text-is('Drive'))")
        assert "station-done" in station.get_attribute("class") and NAME in station.inner_text()

        server.start()
        phone.send_all()
        recorded = [event for event in server.events(job) if event["kind"] == "drive_recorded"]
        # About, the crankshaft, five pulleys, belt, tensioner, one out, one back.
        assert len(recorded) == 11 and [event["replaces"] for event in recorded[1:]] == [event["id"] for event in recorded[:-1]]
        assert recorded[-1]["data"]["drive"] == recorded[-3]["data"]["drive"]
        assert server.faults() == []
        phone.context.close()


def take_one_out_and_put_it_back(phone):
    phone.press("#order summary")
    phone.go('#order form:has(input[name=name][value=idler]) button[value=remove]')
    assert "Taken out: idler." in phone.text() and "6. tensioner" not in phone.text()
    phone.go('button[value=undo]')
    assert "6. tensioner" in phone.text() and "Still lacking" not in phone.text()
