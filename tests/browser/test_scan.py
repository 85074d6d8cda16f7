"""The scan screen, with a film of a printed tag in place of the camera.

The tag is drawn by `webapp.tags`; the film moves, turns and blurs it. Chromium on Linux has no reader of its
own, so these tests go through the bundled one; the phone's own reader is stood in for where it is named.
"""

import io
import math

import pytest
import zxingcpp
from PIL import Image, ImageFilter, ImageOps

from tests.browser.page_stub import page_at_stub
from webapp import tags

TOKEN = "3f2a9b1c4d5e6f708192a3b4c5d6e7f8"
OURS = f"https://bench.local:8443/t/{TOKEN}"
CAMERA = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
WIDE, HIGH, GREY = 640, 480, 150


def picture_of(text: str, k: int = 0) -> Image.Image:
    """A grey scene with a tag that leans and drifts with `k`, a little out of focus."""
    code = Image.open(io.BytesIO(tags.qr_png(text, 6))).convert("L").resize((280, 280))
    leaning = code.rotate(6 * math.sin(k / 2), resample=Image.Resampling.BICUBIC, expand=True, fillcolor=GREY)
    scene = Image.new("L", (WIDE, HIGH), GREY)
    scene.paste(leaning, (160 + 3 * k, 90 + k))
    return scene.filter(ImageFilter.GaussianBlur(1.3))


def film(folder, text: str, picture=picture_of) -> str:
    """Write a film in the plain YUV4MPEG2 form that Chromium's stand-in camera plays; `picture(text, k)` is its k-th frame."""
    path = folder / "tag.y4m"
    with open(path, "wb") as out:
        out.write(f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode())
        for k in range(10):
            out.write(b"FRAME\n" + picture(text, k).tobytes() + bytes([128]) * (WIDE * HIGH // 2))
    return f"--use-file-for-fake-video-capture={path}"


def state(page, text: str):
    page.get_by_text(text).wait_for(timeout=15000)


def test_a_tag_before_the_camera_opens_its_job(playwright, tmp_path):
    with page_at_stub(playwright, *CAMERA, film(tmp_path, OURS)) as (stub, page):
        page.goto(stub.url + "/scan")
        page.wait_for_url(f"**/t/{TOKEN}", timeout=15000)


def test_the_phones_own_reader_is_used_where_there_is_one_and_replaced_when_it_fails(playwright, tmp_path):
    # A stand-in for the browser's reader: it fails, as on phones that only name one.
    failing = """globalThis.BarcodeDetector = class {
        static async getSupportedFormats() { return ["qr_code"]; }
        async detect() { sessionStorage.tried = "yes"; throw new Error("no service"); } };"""
    with page_at_stub(playwright, *CAMERA, film(tmp_path, OURS)) as (stub, page):
        page.add_init_script(failing)
        page.goto(stub.url + "/scan")
        page.wait_for_url(f"**/t/{TOKEN}", timeout=15000)
        assert page.evaluate("sessionStorage.tried") == "yes"


def test_the_bundled_reader_is_not_fetched_when_the_phone_has_its_own(playwright, tmp_path):
    working = """globalThis.BarcodeDetector = class {
        static async getSupportedFormats() { return ["qr_code"]; }
        async detect() { return [{ rawValue: "%s" }]; } };""" % OURS
    with page_at_stub(playwright, *CAMERA, film(tmp_path, "nothing to see")) as (stub, page):
        fetched = []
        page.on("request", lambda request: fetched.append(request.url))
        page.add_init_script(working)
        page.goto(stub.url + "/scan")
        page.wait_for_url(f"**/t/{TOKEN}", timeout=15000)
        assert not [url for url in fetched if "/zxing/" in url]


@pytest.mark.parametrize("text, said", [
    ("https://other.local:8443/t/" + TOKEN, "This is a tag of another workshop. Its address is other.local:8443."),
    ("https://bench.local:8443/jobs", "This is not a Spanwright tag."),
    ("javascript:alert(1)", "This is not a Spanwright tag."),
    ("6PK1500", "This is not a Spanwright tag."),
])
def test_another_code_is_named_and_the_camera_goes_on(playwright, tmp_path, text, said):
    with page_at_stub(playwright, *CAMERA, film(tmp_path, text)) as (stub, page):
        page.goto(stub.url + "/scan")
        state(page, said)
        assert page.url == stub.url + "/scan"
        assert page.evaluate("document.querySelector('video').srcObject.active")


def test_the_camera_stops_when_the_page_is_hidden_and_starts_by_a_button(playwright, tmp_path):
    with page_at_stub(playwright, *CAMERA, film(tmp_path, "6PK1500")) as (stub, page):
        page.goto(stub.url + "/scan")
        state(page, "This is not a Spanwright tag.")
        page.evaluate("""() => { window.tracks = document.querySelector('video').srcObject.getTracks();
            Object.defineProperty(document, 'hidden', { value: true, configurable: true });
            document.dispatchEvent(new Event('visibilitychange'));
            delete document.hidden; }""")
        state(page, "The camera is off to save the battery.")
        assert page.evaluate("tracks.map((t) => t.readyState)") == ["ended"]
        page.get_by_role("button", name="Start the camera").click()
        state(page, "This is not a Spanwright tag.")


@pytest.mark.parametrize("name, said", [
    ("NotAllowedError", "The camera is not allowed here."),
    ("NotFoundError", "No camera was found."),
    ("NotReadableError", "Another app is using the camera."),
])
def test_a_camera_that_fails_gets_a_sentence_and_typing_stays(playwright, name, said):
    broken = "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('no', '%s'); };" % name
    with page_at_stub(playwright) as (stub, page):
        page.add_init_script(broken)
        page.goto(stub.url + "/scan")
        state(page, said)
        page.get_by_label("Or type the code on the tag").fill("k7ma 4qx9")
        page.get_by_role("button", name="Open").click()
        assert page.text_content("body") == "code k7ma 4qx9"


def test_a_plain_address_has_no_camera_and_says_so(playwright):
    # The browser takes mediaDevices away outside a secure context; the name below is such a one.
    with page_at_stub(playwright, "--host-resolver-rules=MAP plain.test 127.0.0.1") as (stub, page):
        page.goto(stub.url.replace("127.0.0.1", "plain.test") + "/scan")
        state(page, "The camera needs the workshop's secure address (https).")


def test_a_photo_of_the_tag_opens_its_job(playwright, tmp_path):
    path = tmp_path / "tag.jpg"
    picture_of(OURS, 3).save(path)
    with page_at_stub(playwright) as (stub, page):
        page.goto(stub.url + "/scan")
        page.set_input_files("[data-photo]", path)
        page.wait_for_url(f"**/t/{TOKEN}", timeout=15000)


def test_a_photo_without_a_tag_and_a_file_that_is_no_photo_get_a_sentence(playwright, tmp_path):
    blank, text = tmp_path / "blank.jpg", tmp_path / "text.jpg"
    Image.new("RGB", (800, 600), "white").save(blank)
    text.write_text("not a picture")
    with page_at_stub(playwright) as (stub, page):
        page.goto(stub.url + "/scan")
        page.set_input_files("[data-photo]", blank)
        state(page, "No tag was found in that photo.")
        page.set_input_files("[data-photo]", text)
        state(page, "That is not a picture this phone can read.")


def short_codes():
    """One UPC-E for each rule by which zeros are left out: [(its eight digits, the thirteen that zxing-cpp reads in it), ...]."""
    for digits in [f"012345{rule}" for rule in range(10)] + ["1987650", "0456783", "0425261"]:
        drawn = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.UPCE)
        [read] = zxingcpp.read_barcodes(drawn.to_image(scale=4))
        yield digits + read.text[-1], read.text, drawn


@pytest.mark.outside("zxing-cpp")
def test_a_short_upc_is_read_whole_by_our_reader_and_by_the_phones_own(playwright, tmp_path):
    own = """if (location.search === "?own") globalThis.BarcodeDetector = class {
        static async getSupportedFormats() {
            return ["qr_code", "data_matrix", "code_128", "code_39", "ean_13", "ean_8", "upc_a", "upc_e"]; }
        async detect() { return [{ format: "upc_e", rawValue: "04252614" }]; } };"""
    codes = list(short_codes())
    short, whole, drawn = codes[-1]
    assert (short, whole) == ("04252614", "0042100005264")
    path = tmp_path / "code.png"
    ImageOps.expand(Image.fromarray(drawn.to_image(scale=4)).convert("L"), 90, 255).rotate(4, expand=True, fillcolor=255).save(path)
    with page_at_stub(playwright) as (stub, page):
        page.add_init_script(own)
        for search, said in (("", "code " + whole), ("?own", "code " + whole[1:])):
            page.goto(stub.url + "/code" + search)
            page.set_input_files("[data-photo]", path)
            page.wait_for_url("**/judged?*", timeout=15000)
            assert page.text_content("body") == said
        page.goto(stub.url + "/form")
        found = page.evaluate("""async (texts) => { const { withZeros } = await import("/static/js/upc-e.js"); return texts.map(withZeros); }""",
                              [short for short, _whole, _drawn in codes] + ["96385074", "6PK1500", ""])
    assert found == [whole[1:] for _short, whole, _drawn in codes] + ["96385074", "6PK1500", ""]


def test_the_light_a_tick_and_a_light_that_will_not(playwright, tmp_path):
    lamp = """() => { window.asked = []; window.ticks = [];
        MediaStreamTrack.prototype.getCapabilities = () => ({ torch: true });
        MediaStreamTrack.prototype.applyConstraints = async function (wanted) {
            if (window.broken) throw new DOMException("no", "OverconstrainedError");
            window.asked.push(wanted.advanced[0].torch); };
        navigator.vibrate = (ms) => { sessionStorage.tick = ms; }; }"""
    with page_at_stub(playwright, *CAMERA, film(tmp_path, "6PK1500")) as (stub, page):
        page.add_init_script(f"({lamp})()")
        page.goto(stub.url + "/scan")
        state(page, "This is not a Spanwright tag.")
        page.get_by_role("button", name="Light on").click()
        page.get_by_role("button", name="Light off").click()
        page.get_by_role("button", name="Light on").wait_for()
        assert page.evaluate("asked") == [True, False] and not page.evaluate("sessionStorage.tick")
        page.evaluate("window.broken = true")
        page.get_by_role("button", name="Light on").click()
        page.locator("[data-light]").wait_for(state="hidden")
        assert page.evaluate("document.querySelector('video').srcObject.active")
        path = tmp_path / "tag.jpg"
        picture_of(OURS, 3).save(path)
        page.set_input_files("[data-photo]", path)
        page.wait_for_url(f"**/t/{TOKEN}", timeout=15000)
        assert page.evaluate("sessionStorage.tick") == "80"
