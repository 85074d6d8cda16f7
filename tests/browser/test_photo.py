"""The photo slot: what leaves the page, byte by byte, and what is said when nothing may leave.

Pillow reads back what the browser made, so the two are independent of each other. The stub sees the very
bytes of the PUT. The limits of darkness and blur are our own: the pictures below are drawn for them.
"""

import functools
import hashlib
import io
import math
import random
import struct
import tempfile
from pathlib import Path

import numpy
import pytest
from PIL import Image, ImageDraw, ImageFilter, ImageFont
from scipy import ndimage

from demo_db import photos
from tests.browser.page_stub import page_at_stub, page_in

REPO = Path(__file__).parents[2]

GPS = 0x8825
ORIENTATION = 0x0112


@functools.cache
def bay(size=(2400, 1800), seed=1) -> Image.Image:
    """A drawn engine bay: pulleys, a ribbed belt and fine speckle, as rich in detail as a photo."""
    chance = random.Random(seed)
    image = Image.new("RGB", size, (118, 122, 120))
    pen = ImageDraw.Draw(image)
    for _ in range(60):
        x, y, r = chance.randrange(size[0]), chance.randrange(size[1]), chance.randrange(20, 260)
        shade = chance.randrange(30, 230)
        pen.ellipse((x - r, y - r, x + r, y + r), fill=(shade, shade, shade - 20), outline=(20, 20, 20), width=5)
    for i in range(0, size[0], 16):
        pen.line((i, size[1] * 0.45, i + 40, size[1] * 0.55), fill=(25, 25, 25), width=7)
    speckle = Image.effect_noise((size[0] // 2, size[1] // 2), 40).resize(size).convert("RGB")
    return Image.blend(image, speckle, 0.15)


def jpeg_with_place(image: Image.Image, orientation: int = 1) -> bytes:
    """A JPEG as a phone's camera writes it: with the place it was taken at (Exif 2.32, GPS IFD)."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F] = "Imaginary Camera"
    exif.get_ifd(GPS).update({1: "N", 2: (48.0, 8.0, 14.0), 3: "E", 4: (11.0, 34.0, 31.0)})
    out = io.BytesIO()
    image.save(out, "JPEG", quality=92, exif=exif)
    return out.getvalue()


def choose(page, data: bytes):
    with tempfile.NamedTemporaryFile(suffix=".jpg") as file:
        file.write(data)
        file.flush()
        page.set_input_files("input[type=file]", file.name)
        # The browser reads the file when the page does, so it has to stay until then.
        page.locator("form[data-photo-slot]:not([data-state=working])[data-state]").or_(
            page.locator("#typed")).wait_for(timeout=30000)


def state(page, text: str):
    page.locator("[data-photo-state]", has_text=text).wait_for(timeout=15000)


def test_what_reaches_the_server_is_small_without_place_and_named_by_its_hash(chromium):
    given = jpeg_with_place(bay())
    assert Image.open(io.BytesIO(given)).getexif().get_ifd(GPS)[1] == "N"  # the place was there
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, given)
        page.wait_for_url("**/form", timeout=15000)
        (name, kept), = stub.puts
        post, = stub.posts
    assert name == hashlib.sha256(kept).hexdigest()
    assert len(kept) <= 450_000
    assert b"Exif" not in kept and b"Imaginary" not in kept and b"http://ns.adobe.com" not in kept
    image = Image.open(io.BytesIO(kept))
    assert image.format == "JPEG" and image.size == (1600, 1200) and not dict(image.getexif())
    assert post == {"sha256": name, "width": "1600", "height": "1200", "size": str(len(kept)),
                    "subject": "old_belt", "loop": "1", "next": "/form", "check": "", "what": "", "stage": "before", "remark": ""}


def test_a_picture_taken_upright_stays_upright(chromium):
    # Orientation 6: the camera lay on its side, the viewer turns the picture a quarter to the right.
    image = bay((1200, 900)).copy()
    ImageDraw.Draw(image).rectangle((0, 0, 400, 300), fill=(255, 0, 0))
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, jpeg_with_place(image, orientation=6))
        page.wait_for_url("**/form", timeout=15000)
        kept = Image.open(io.BytesIO(stub.puts[0][1]))
    assert kept.size == (900, 1200)
    red, green, _ = kept.convert("RGB").getpixel((kept.width - 60, 60))
    assert red > 200 and green < 60  # the marked corner is now on top, to the right


def test_a_picture_that_hardly_compresses_still_fits(chromium):
    noise = Image.effect_noise((3000, 2000), 160).convert("RGB")
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, jpeg_with_place(noise))
        page.wait_for_url("**/form", timeout=30000)
        assert len(stub.puts[0][1]) <= 450_000


def small_jpeg_that_claims(width: int, height: int) -> bytes:
    """A small JPEG whose frame header (ITU-T T.81, B.2.2) says it is huge."""
    data = bytearray(jpeg_with_place(bay((320, 240))))
    at = data.index(b"\xff\xc0")
    data[at + 5:at + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def huge_png() -> bytes:
    out = io.BytesIO()
    Image.new("1", (9000, 7000)).save(out, "PNG")
    return out.getvalue()


def gif_that_claims(width: int, height: int) -> bytes:
    """A GIF whose logical screen descriptor (GIF89a, 18) says it is huge."""
    data = bytearray(moving_gif())
    data[6:10] = struct.pack("<HH", width, height)
    return bytes(data)


def moving_gif() -> bytes:
    """Two frames: the first shows a bay, the second is plain red."""
    out = io.BytesIO()
    bay((640, 480)).quantize(64).save(out, "GIF", save_all=True, append_images=[Image.new("RGB", (640, 480), (255, 0, 0))], duration=100)
    return out.getvalue()


# The file type box of ISO/IEC 14496-12 with the brand of ISO/IEC 23008-12 (HEIF with HEVC), then nonsense.
HEIC = struct.pack(">I", 24) + b"ftypheic" + bytes(4) + b"mif1heic" + bytes(range(256)) * 8


@pytest.mark.parametrize("data, said", [
    (b"a shopping list", "That is not a picture this phone can read."),
    (b"", "That file is empty."),
    (jpeg_with_place(bay((320, 240)))[:400], "This picture is damaged or cut short."),
    (b"\xff\xd8", "That is not a picture this phone can read."),
    (small_jpeg_that_claims(12000, 9000), "That picture is over 60 megapixels."),
    (huge_png(), "That picture is over 60 megapixels."),
    (gif_that_claims(12000, 9000), "That picture is over 60 megapixels."),
    (b"\xff\xd8" + bytes(25_000_001), "That picture is over 25 MB."),
    (HEIC, "This is a HEIC picture, which this browser cannot read."),
    (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><rect width="9" height="9"/></svg>',
     "That is a drawing, not a photo."),
], ids=["text", "empty", "cut off", "two bytes", "huge JPEG", "huge PNG", "huge GIF", "heavy", "HEIC", "SVG"])
def test_what_is_no_picture_or_too_large_is_refused_and_nothing_leaves(chromium, data, said):
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, data)
        state(page, said)
        choose(page, jpeg_with_place(bay((800, 600))))  # the slot is still good
        page.wait_for_url("**/form", timeout=15000)
        assert len(stub.puts) == 1 and len(stub.posts) == 1


@pytest.mark.parametrize("image, said", [
    (bay().point(lambda v: v // 8), "This picture is very dark."),
    (bay().filter(ImageFilter.GaussianBlur(12)), "This picture looks blurred."),
    (bay().point(lambda v: min(255, 3 * v)), "Much of this picture is plain white."),
], ids=["dark", "blurred", "glare"])
def test_a_poor_picture_is_named_and_kept_only_when_wanted(chromium, image, said):
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, jpeg_with_place(image))
        state(page, said)
        assert page.get_by_role("img", name="The picture as it will be kept").is_visible()
        assert stub.puts == []
        with page.expect_file_chooser():
            page.get_by_role("button", name="Take it again").click()
        page.get_by_role("button", name="Keep it anyway").click()
        page.wait_for_url("**/form", timeout=15000)
        assert len(stub.puts) == 1


def test_a_plain_sharp_marking_is_not_called_blurred(chromium):
    image = Image.new("RGB", (2400, 1800), (90, 90, 90))
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 700, 2400, 1100), fill=(40, 40, 42))
    pen.text((600, 800), "6PK1500", fill=(200, 200, 200), font=ImageFont.load_default(180))
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, jpeg_with_place(image.filter(ImageFilter.GaussianBlur(2))))
        page.wait_for_url("**/form", timeout=15000)


@pytest.mark.parametrize("status, said", [
    (507, "There is no room left on this phone"),
    (403, "this device is not signed in"),
    (422, "The picture was not taken in."),
    (500, "no answer from the workshop"),
    (None, "no answer from the workshop"),
], ids=["full", "signed out", "refused", "broken", "no network"])
def test_a_failure_keeps_the_picture_on_screen_and_can_be_tried_again(chromium, status, said):
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        if status is None:
            page.context.set_offline(True)
        else:
            stub.status = status
        choose(page, jpeg_with_place(bay((800, 600))))
        state(page, said)
        assert page.get_by_role("img", name="The picture as it will be kept").is_visible()
        assert stub.posts == []
        stub.status = 201
        page.context.set_offline(False)
        page.get_by_role("button", name="Try again").click()
        page.wait_for_url("**/form", timeout=15000)
        assert len(stub.posts) == 1


def test_on_a_plain_address_a_photo_is_not_taken_and_the_reason_is_said(playwright):
    with page_at_stub(playwright, "--host-resolver-rules=MAP plain.test 127.0.0.1") as (stub, page):
        page.goto(stub.url.replace("127.0.0.1", "plain.test") + "/slot")
        choose(page, jpeg_with_place(bay((800, 600))))
        state(page, "Photos need the workshop's secure address")
        assert stub.puts == []


def test_of_a_moving_picture_the_first_one_is_kept_when_wanted(chromium):
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        choose(page, moving_gif())
        state(page, "only its first picture is kept")
        page.get_by_role("button", name="Keep it anyway").click()
        page.wait_for_url("**/form", timeout=15000)
        kept = Image.open(io.BytesIO(stub.puts[0][1])).convert("RGB")
    assert kept.size == (640, 480) and kept.resize((1, 1)).getpixel((0, 0))[1] > 60  # not the red one


# What the doubts rest on: static/js/photo.js names these limits.
DARK_MEAN, BLACK_SHARE, WHITE_SHARE, LEAST_SHARPNESS = 40, 0.6, 0.35, 0.0005


def measured(chromium, images) -> list:
    """What the page measures of each picture, sent as a PNG that loses nothing."""
    told = []
    with page_in(chromium) as (stub, page):
        page.goto(stub.url + "/slot")
        for image in images:
            out = io.BytesIO()
            image.save(out, "PNG", compress_level=1)
            stub.picture = out.getvalue()
            told.append(page.evaluate("""async () => (await import('/static/js/photo.js')).measure(
                await createImageBitmap(await (await fetch('/given.png')).blob()))"""))
    return told


def grey(image: Image.Image) -> numpy.ndarray:
    return numpy.asarray(image, dtype=float) @ [0.299, 0.587, 0.114]


def sharpness(image: Image.Image) -> float:
    """Pech-Pacheco et al. (2000): variance of the image after the kernel 0 1 0 / 1 -4 1 / 0 1 0; here after the weights
    1 2 1 both ways, by SciPy, and as a share of the mean squared. The outermost rows, which the page leaves as they are, are left out."""
    light = ndimage.correlate1d(ndimage.correlate1d(grey(image), [0.25, 0.5, 0.25], axis=1), [0.25, 0.5, 0.25], axis=0)
    edges = ndimage.laplace(light)[2:-2, 2:-2]
    return float(edges.var() / grey(image).mean() ** 2)


def marking() -> Image.Image:
    image = Image.new("RGB", (640, 480), (90, 90, 90))
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 190, 640, 290), fill=(40, 40, 42))
    pen.text((160, 210), "6PK1500", fill=(200, 200, 200), font=ImageFont.load_default(48))
    return image.filter(ImageFilter.GaussianBlur(0.5))


def invented_photo(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data)).convert("RGB").resize((640, 480), Image.Resampling.LANCZOS)


@functools.cache
def scenes() -> list:
    return [bay((1280, 960)).resize((640, 480), Image.Resampling.LANCZOS), marking(), invented_photo(photos.belt_ribs(12, 6, 24, 0.25, "6PK2105")),
            invented_photo(photos.belt_ribs(13, 6, 0, 0.1)), invented_photo(photos.drive_route(11)), invented_photo(photos.pointer(14, 4))]


def test_the_measures_are_those_of_numpy_and_fall_with_blur_and_light(chromium):
    source = bay((640, 480))
    images = [source.filter(ImageFilter.GaussianBlur(radius)) for radius in (0, 1, 2, 4, 8)]
    images += [source.point(lambda v, gain=gain: min(255, int(v * gain))) for gain in (0.05, 0.4, 3)]
    told = measured(chromium, images)
    for one, image in zip(told, images):
        assert math.isclose(one["sharpness"], sharpness(image), rel_tol=0.05, abs_tol=2e-5)
        assert math.isclose(one["mean"], grey(image).mean(), abs_tol=0.5)
        assert math.isclose(one["black"], (grey(image) <= 8).mean(), abs_tol=0.01)
        assert math.isclose(one["white"], (grey(image) >= 250).mean(), abs_tol=0.01)
    assert [one["sharpness"] for one in told[:5]] == sorted((one["sharpness"] for one in told[:5]), reverse=True)


def grainy(image: Image.Image, deviation: float) -> Image.Image:
    """The same with grain of a known standard deviation, in levels of 255, from a fixed seed."""
    grain = numpy.random.default_rng(7).normal(0, deviation, (image.height, image.width, 1))
    return Image.fromarray(numpy.clip(numpy.asarray(image) + grain, 0, 255).round().astype(numpy.uint8))


def test_a_sharp_picture_in_dim_light_is_not_called_blurred_and_a_blurred_one_is(chromium):
    """Six drawn scenes: sharp at full and three tenths of the light; blurred by two points of the small copy, and by three with grain of one level."""
    sharp = [scene.point(lambda v, gain=gain: int(v * gain)) for scene in scenes() for gain in (1, 0.3)]
    soft = [scene.filter(ImageFilter.GaussianBlur(2)) for scene in scenes()]
    soft += [grainy(scene.filter(ImageFilter.GaussianBlur(3)), 1) for scene in scenes()]
    told = [one["sharpness"] for one in measured(chromium, sharp + soft)]
    assert min(told[:len(sharp)]) > 1.2 * LEAST_SHARPNESS, "room on the sharp side"
    assert max(told[len(sharp):]) < LEAST_SHARPNESS


def test_light_is_doubted_where_detail_is_lost_and_not_before(chromium):
    lit = bay((640, 480))
    half = Image.new("RGB", (640, 480), (2, 2, 2))
    half.paste(lit.crop((0, 0, 200, 480)), (0, 0))  # 440 of 640 columns are black
    told = measured(chromium, [lit, lit.point(lambda v: v // 2), lit.point(lambda v: v // 4), half, lit.point(lambda v: min(255, 3 * v)),
                                 lit.point(lambda v: min(255, v * 3 // 2))])
    assert [one["mean"] < DARK_MEAN or one["black"] > BLACK_SHARE for one in told] == [False, False, True, True, False, False]
    assert [one["white"] > WHITE_SHARE for one in told] == [False, False, False, False, True, False]


def test_the_limits_are_those_of_the_page():
    script = (REPO / "static" / "js" / "photo.js").read_text(encoding="utf-8")
    for name, value in (("DARK_MEAN", DARK_MEAN), ("BLACK_SHARE", BLACK_SHARE), ("WHITE_SHARE", WHITE_SHARE), ("LEAST_SHARPNESS", LEAST_SHARPNESS)):
        assert f"const {name} = {value};" in script
