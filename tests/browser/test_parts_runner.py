"""A parts runner at a counter without network: the pick list, STOP for a wrong belt, the right one picked."""

import zxingcpp
from PIL import Image, ImageOps

from tests.browser import flow, screens
from tests.browser.test_scan import CAMERA, GREY, HIGH, WIDE, film
from tests.conftest import CHROMIUM, FLAGS
from webapp import stock, store

LIST = b"number;name;quantity;marking;ean\nVR-6 1500;Belt;1;6PK1500;6291041500213\nVR-6 1510;Belt;4;6PK1510;9520123456788\n"


def code(folder, text, kind):
    """A photo of a packet's code, drawn by zxing-cpp."""
    drawn = zxingcpp.create_barcode(text, kind, gs1=text.startswith("(")).to_image(scale=4)
    path = folder / "code.png"
    ImageOps.expand(Image.fromarray(drawn).convert("L"), 90, 255).rotate(4, expand=True, fillcolor=255).save(path)
    return path


def scan(phone, path):
    """Take a photo of a code; the verdict comes by itself."""
    with phone.leaving():
        phone.page.set_input_files("[data-photo]", path)


def test_the_wrong_belt_is_stopped_and_the_right_one_picked_without_network(chromium, demo_copy, tmp_path):
    db = store.connect(demo_copy / "spanwright.db")
    stock.hold(db, "list.csv", LIST, "", "2026-03-09T08:05:00Z")
    stock.put_in_force(db, "", "2026-03-09T08:06:00Z")
    db.close()
    with flow.serving(demo_copy) as server:
        sunna = flow.Hand(chromium.new_context(**flow.PHONE), server)
        sunna.sign_in("sunna")
        job = sunna.through_the_gate("PR 1600")
        old = [["step", "marking"], ["marking", "6PK1500"], ["stretch", "no"]]
        assert sunna.fetch(f"/jobs/{job}/1/belts/old", old)[0] == 200
        named = [["cause", "B_WORN"], ["reason", "Ribs worn to a U"], ["own", ""]]
        assert sunna.fetch(f"/jobs/{job}/cause/name", named)[0] == 200
        sunna.send_all()

        server.end()
        sunna.open(f"/jobs/{job}/1/parts")
        assert "Belt worn" in sunna.text() and "not been asked yet" in sunna.text()
        assert "1 in stock" in sunna.text()
        sunna.save()
        assert "6PK1500" in sunna.page.locator(".part-number").inner_text()
        sunna.fill(hand="5PK1500", note="Shelf 4")
        sunna.go("text=Compare it")
        assert "STOP" in sunna.page.locator(".verdict-word").inner_text()
        assert "One rib less: 6 needed, 5 in the hand." in sunna.text()
        assert sunna.page.input_value("[name=note]") == "Shelf 4"
        sunna.press("text=Scan its code")
        scan(sunna, code(tmp_path, "(01)09520123456788(17)301231(10)A7(21)9", zxingcpp.BarcodeFormat.DataMatrix))
        assert "Expires on (17)" in sunna.text() and "2030-12-31" in sunna.text() and "Serial number (21)" in sunna.text()
        assert sunna.page.input_value("[name=note]") == "Shelf 4"
        assert "STOP" in sunna.page.locator(".verdict-word").inner_text() and "10 mm longer" in sunna.text()
        sunna.press("text=Scan its code")
        scan(sunna, code(tmp_path, "6291041500213", zxingcpp.BarcodeFormat.EAN13))
        assert "Right" in sunna.page.locator(".verdict-word").inner_text()
        sunna.save()
        assert sunna.path() == f"/jobs/{job}/1/parts"
        assert "1 of 1 settled." in sunna.text() and "Sunna" in sunna.text()
        kinds = [event["kind"] for event in sunna.unsent()[0]]
        assert kinds == ["part_moved"]

        server.start()
        sunna.send_all()
        kept = [event["data"] for event in server.events(job) if event["kind"] == "part_moved"]
        assert kept[0]["shown"]["verdict"] == "Right" and kept[0]["note"] == "Shelf 4" and kept[0]["number"] == "VR-6 1500"
        assert server.faults() == []


def packet(text, k):
    """A grey scene with a packet's EAN-13, which leans and drifts with `k`."""
    drawn = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.EAN13).to_image(scale=4)
    label = ImageOps.expand(Image.fromarray(drawn).convert("L"), 30, 255).resize((440, 200))
    scene = Image.new("L", (WIDE, HIGH), GREY)
    scene.paste(label.rotate(k / 3, resample=Image.Resampling.BICUBIC, expand=True, fillcolor=GREY), (80 + k, 110 + k))
    return scene


def test_a_code_before_the_camera_gives_the_verdict(playwright, demo_workshop, tmp_path):
    """The item of the invented stock list that was ordered for this job."""
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, *CAMERA, film(tmp_path, "2000047110081", packet)])
    with screens.workshop(browser, demo_workshop) as (server, page):
        page.goto(f"{server.url}/jobs/{screens.job_id('parts')}/1/parts/idler")
        page.get_by_text("Scan its code").click()
        page.get_by_role("button", name="Start the camera").click()
        page.wait_for_url("**/idler?hand=*", timeout=20_000)
        assert "Right" in page.locator(".verdict-word").inner_text() and "ID-70-26" in page.locator("#verdict").inner_text()
    browser.close()
