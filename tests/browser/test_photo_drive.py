"""A drive tapped on a photo, by touch on a phone without network: spans within 1 % of the drive that the picture shows.

The picture is drawn here from an invented sample drive, through a tilted pinhole camera by NumPy; Pillow paints it.
"""

import io
import json
import math

import pytest
from PIL import Image, ImageDraw

from tests.browser import fingers, screens
from tests.core import test_phototaps as cameras
from webapp.core import drive, drive_entry, drive_spread

SIZE = fingers.SIZE
# A sheet of card in the plane of the belt, in the corner that the drive leaves free [mm].
SHEET = [[-150.0, 330.0], [60.0, 330.0], [60.0, 182.0], [-150.0, 182.0]]


def shifted(project, aside, up):
    """The camera moved sideways, so that the whole drive is in the picture."""
    return lambda point: project((point[0] - aside, point[1] - up))


def painted(sample, project) -> bytes:
    """A JPEG of the drive: grey discs with hubs, the sheet, and speckle as rich in detail as a photo."""
    image = Image.effect_noise((SIZE[0] // 2, SIZE[1] // 2), 60).resize(SIZE).convert("RGB")
    pen = ImageDraw.Draw(image)
    pen.polygon([tuple(project(p)) for p in SHEET], fill=(240, 240, 235), outline=(20, 20, 20))
    for pulley in sample["pulleys"]:
        for share, shade in ((1.0, (60, 62, 66)), (0.85, (150, 152, 150)), (0.25, (40, 40, 42))):
            rim = [math.radians(2 * k) for k in range(180)]
            pen.polygon([tuple(project((pulley["x_mm"] + share * pulley["diameter_mm"] / 2 * math.cos(t),
                                        pulley["y_mm"] + share * pulley["diameter_mm"] / 2 * math.sin(t)))) for t in rim], fill=shade)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85)
    return out.getvalue()


@pytest.fixture
def phone(chromium, demo_copy):
    with fingers.phone_without_network(chromium, demo_copy) as phone:
        yield phone


def take(phone, job, picture, folder):
    path = folder / "drive.jpg"
    path.write_bytes(picture)
    phone.open(f"/jobs/{job}/1/drive/photo")
    phone.photo(path)
    assert phone.path() == f"/jobs/{job}/1/drive/photo"
    assert phone.page.evaluate("document.querySelector('#tap-stage img').naturalWidth") == SIZE[0]


def recorded(phone):
    """The drive that was recorded last, of what this phone has not sent."""
    entries = [event["data"] for event in phone.unsent()[0] if event["kind"] == "drive_recorded"]
    return entries[-1]


def test_taps_on_a_tilted_picture_give_the_drive(phone, tmp_path):
    sample = cameras.crank_first("automatic")
    middle = [sum(p[key] for p in sample["pulleys"]) / len(sample["pulleys"]) for key in ("x_mm", "y_mm")]
    project = shifted(cameras.camera(12, 40, 700), *middle)
    job = screens.job_id("manual")
    take(phone, job, painted(sample, project), tmp_path)
    finger = fingers.Finger(phone)
    phone.pick("points", "3")
    for k, rim in enumerate(cameras.rims_of(sample, project)):
        for point in rim:
            finger.tap(point)
        if k:
            phone.page.select_option(f"[name=kind_{k}]", sample["pulleys"][k]["kind"])
        phone.page.select_option(f"[name=face_{k}]", sample["pulleys"][k].get("face", "ribs"))
    # The route is there before any size is known, and says so.
    phone.wait_until("document.querySelectorAll('#tap-route .tap-belt').length === 6")
    phone.wait_main("Lengths follow once one size is known.")

    # Sent without a size: everything tapped is still there.
    phone.pick("size", "rectangle")
    phone.save()
    assert "Not saved yet" in phone.text()
    assert phone.page.locator("#tap-points .tap-point").count() == 18
    assert phone.page.input_value("[name=kind_1]") == sample["pulleys"][1]["kind"]
    phone.pick("size", "distance")
    phone.pick("size", "rectangle")
    for corner in SHEET:
        finger.tap(project(corner))
    assert phone.page.locator("#tap-points .tap-size").count() == 4
    phone.fill(wide="210", high="148")
    phone.wait_main("Each ± holds 95 times out of 100")
    assert phone.page.locator("#tap-route .tap-belt").count() == 6
    phone.save()
    assert phone.path().startswith(f"/jobs/{job}/1/drive/")

    data = recorded(phone)
    assert data["origin"] == "photo"
    told = drive_entry.to_drive(data["drive"])
    told["belt"] = dict(sample["belt"])
    # Three points a rim in the whole picture: within the stated error, not within 1 %; for that see the next test.
    off = drive_spread.spread(told)["spans_mm"]
    for span, true, half in zip(drive.solve(told)["spans"], cameras.spans(sample), off, strict=True):
        assert abs(span["length_mm"] - true) < half < 20
    assert [p["kind"] for p in told["pulleys"]] == [p["kind"] for p in sample["pulleys"]]
    assert 1 < told["pulleys"][1]["good_to_mm"] < 40
    # What was tapped is there again, to be checked and corrected.
    phone.open(f"/jobs/{job}/1/drive/photo")
    phone.wait_until("document.querySelectorAll('#tap-points .tap-point').length === 18")
    assert phone.page.input_value("[name=wide]") == "210" and phone.page.locator("#tap-points .tap-size").count() == 4
    phone.wait_until("document.querySelectorAll('#tap-route .tap-belt').length === 6")


def test_five_points_a_rim_from_close_up_take_a_tilt_out(phone, tmp_path):
    """No rectangle: the rims' own shape and measured diameters straighten the picture."""
    sample = cameras.crank_first("automatic")
    middle = [sum(p[key] for p in sample["pulleys"]) / len(sample["pulleys"]) for key in ("x_mm", "y_mm")]
    project = shifted(cameras.camera(14, 65, 800), *middle)
    job = screens.job_id("manual")
    take(phone, job, painted(sample, project), tmp_path)
    finger = fingers.Finger(phone)
    for k, rim in enumerate(cameras.rims_of(sample, project, 5)):
        finger.come_closer(project((sample["pulleys"][k]["x_mm"], sample["pulleys"][k]["y_mm"])))
        for point in rim:
            finger.tap(point)
        assert phone.page.locator("#tap-points .tap-point").count() == 5 * (k + 1)
        if k:
            phone.page.select_option(f"[name=kind_{k}]", sample["pulleys"][k]["kind"])
        phone.page.select_option(f"[name=face_{k}]", sample["pulleys"][k].get("face", "ribs"))
    phone.fill(**{f"dia_{k}": str(pulley["diameter_mm"]) for k, pulley in enumerate(sample["pulleys"])})
    phone.wait_main("Each ± holds 95 times out of 100")
    assert "The picture is tilted by 1" in phone.text()
    taps = json.loads(phone.page.input_value("[name=taps]", timeout=1000))
    assert all(point[2] > 1.5 for rim in taps["rims"] for point in rim)
    phone.save()
    told = drive_entry.to_drive(recorded(phone)["drive"])
    told["belt"] = dict(sample["belt"])
    off = drive_spread.spread(told)["spans_mm"]
    for span, true, half in zip(drive.solve(told)["spans"], cameras.spans(sample), off, strict=True):
        assert span["length_mm"] == pytest.approx(true, rel=0.01) and abs(span["length_mm"] - true) < half < 8


def test_points_are_dragged_undone_and_refused_in_words(phone, tmp_path):
    sample = cameras.crank_first("fixed")
    project = shifted(cameras.camera(), 100, 0)
    job = screens.job_id("manual")
    take(phone, job, painted(sample, project), tmp_path)
    finger = fingers.Finger(phone)
    phone.save()
    assert "Tap at least two pulleys" in phone.text()
    finger = fingers.Finger(phone)
    phone.pick("points", "3")

    # Three points on one line.
    for x in (300, 500, 700):
        finger.tap((x, 600))
    phone.wait_main("lie on one line")
    # The middle one dragged away from it makes a rim.
    finger.drag((500, 600), (500, 400))
    assert phone.page.locator("[data-lens]").is_visible()
    finger.touch("touchEnd")
    assert phone.page.locator("[data-lens]").is_hidden()
    phone.wait_until("document.querySelectorAll('#tap-route .tap-rim').length === 1")
    phone.wait_until("!document.querySelector('#drawn').innerText.includes('lie on one line')")

    # Two more pulleys, the second on top of the first: said at once; taken out again, it is gone.
    for point in ((420, 560), (520, 480), (520, 640), (1000, 600), (1100, 500)):
        finger.tap(point)
    phone.wait_main("overlap")
    assert phone.page.locator("[data-pulley]:visible").count() == 3
    phone.press("[data-take-out='1']")
    phone.wait_until("!document.querySelector('#drawn').innerText.includes('overlap')")
    phone.fill(dia_0="150")
    phone.save()
    assert "Pulley 2 has 2 of its three rim points" in phone.text()
    phone.press("#tap-undo")
    assert phone.page.locator("#tap-points .tap-point").count() == 4
    # A reload keeps the taps.
    phone.page.reload()
    phone.wait_until("document.querySelectorAll('#tap-points .tap-point').length === 4")
