"""A printed tag is read by an independent decoder (zxing-cpp) from simulated photos.

The SVG of the sheet is printed at 300 dots an inch and photographed at 60-100 pixels a centimetre, with blur,
tilt, low contrast and grease. The camera is a model, invented, not measured on a phone: sizes and limits below
tell how much a tag has in hand, not what a certain phone can do. `python -m tests.host.test_tag_qr` prints the
grid for three levels of correction. Not claimed: a tag of 15 mm is read only sharp and from near (80 pixels a
centimetre), and grease over a corner mark can hide any tag, which is why the typed code stands beside it.
"""

import io
import math
import re

import numpy
import pytest
import qrcode
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from webapp import tags

URL = "https://spanwright.local:8443/t/3f2a9b1c4d5e6f708192a3b4c5d6e7f8"
DOTS_PER_MM = 300 / 25.4
SIZES_MM = [15, 20, 25, 30, 40, 44]  # with the quiet zone; 44 mm is the size on the sheet
SCALES = [60, 80, 100]  # pixels of the photo for a centimetre of paper
GREY = 140


def modules_of(svg: str) -> numpy.ndarray:
    """The dark modules (1) that the SVG's path draws, quiet zone included."""
    side = int(re.search(r'viewBox="0 0 (\d+) (\d+)"', svg)[1])
    field = numpy.zeros((side, side), int)
    for x, y, x2, y2, x3 in re.findall(r"M(\d+),(\d+)H(\d+)V(\d+)H(\d+)z", svg):
        field[int(y):int(y2), int(x):int(x2)] = 1
    return field


def printed(field: numpy.ndarray, size_mm: float) -> Image.Image:
    """The print: module edges fall on whole printer dots, and ink spreads by a fraction of a dot."""
    dots = round(size_mm * DOTS_PER_MM)
    index = numpy.arange(dots) * len(field) // dots
    paper = numpy.where(field[numpy.ix_(index, index)] == 1, 20, 245).astype("uint8")
    return Image.fromarray(paper).filter(ImageFilter.GaussianBlur(0.7)).point(lambda v: 20 if v < 150 else 245)


def smear(print_: Image.Image, share: float, chance, corners_free: bool) -> Image.Image:
    """One round patch of dark grease over a share of the whole tag, quiet zone included."""
    side = print_.width
    radius = side * math.sqrt(share / math.pi)
    while True:
        x, y = chance.uniform(radius, side - radius, 2)
        finders = [(0.2, 0.2), (0.8, 0.2), (0.2, 0.8)]
        if not corners_free or all(math.dist((x, y), (fx * side, fy * side)) > radius + 0.16 * side for fx, fy in finders):
            break
    out = print_.copy()
    ImageDraw.Draw(out).ellipse((x - radius, y - radius, x + radius, y + radius), fill=45)
    return out


def perspective(tilt: float, turn: float, side: float, out: float) -> list:
    """Coefficients that show a square of `side` pixels tilted about its vertical axis, in a picture of `out` pixels."""
    far = 4.0 * side
    cos_t, sin_t, cos_r, sin_r = math.cos(tilt), math.sin(tilt), math.cos(turn), math.sin(turn)
    rows, wanted = [], []
    for u, v in [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]:
        x, y = side * (u * cos_r - v * sin_r), side * (u * sin_r + v * cos_r)
        depth = far / (far + x * sin_t)
        px, py = out / 2 + x * cos_t * depth, out / 2 + y * depth
        sx, sy = (u + 0.5), (v + 0.5)
        rows += [[px, py, 1, 0, 0, 0, -px * sx, -py * sx], [0, 0, 0, px, py, 1, -px * sy, -py * sy]]
        wanted += [sx, sy]
    return list(numpy.linalg.solve(numpy.array(rows), numpy.array(wanted)))


def photographed(print_: Image.Image, size_mm: float, scale: float, chance, blur=0.6, tilt=0.0, turn=0.1, contrast=1.0,
                 noise=4.0) -> Image.Image:
    """The photo: seen at a slant, out of focus by `blur` pixels, with less contrast and sensor noise."""
    over = 3  # drawn three times finer and averaged, as a sensor's pixel averages its area
    side = size_mm / 10 * scale * over
    out = round(side * 1.7 / over) * over
    a, b, c, d, e, f, g, h = perspective(tilt, turn, side, out)
    w = print_.width
    view = print_.transform((out, out), Image.Transform.PERSPECTIVE, (a * w, b * w, c * w, d * w, e * w, f * w, g, h),
                            Image.Resampling.BILINEAR, fillcolor=GREY)
    view = view.resize((out // over, out // over), Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(blur))
    light = (numpy.asarray(view, float) - GREY) * contrast + GREY + chance.normal(0, noise, (out // over, out // over))
    return Image.fromarray(light.clip(0, 255).astype("uint8"))


def is_read(photo: Image.Image) -> bool:
    return [found.text for found in zxingcpp.read_barcodes(photo, formats=zxingcpp.BarcodeFormat.QRCode)] == [URL]


CASES = {
    "good light": {},
    "blur 1.2 px": {"blur": 1.2},
    "blur 2 px": {"blur": 2.0},
    "tilt 30°": {"tilt": 30},
    "tilt 50°": {"tilt": 50},
    "contrast 30 %": {"contrast": 0.3},
    "smear 15 %, corners free": {"smear": True},
    "smear 15 % anywhere": {"smear": False},
    "blur 1, tilt 25°, contrast 50 %": {"blur": 1.0, "tilt": 25, "contrast": 0.5},
    "the same and smear 8 %": {"blur": 1.0, "tilt": 25, "contrast": 0.5, "smear": True, "share": 0.08},
}


def share_read(field, size_mm, scale, case, tries, seed=7) -> float:
    """Share of simulated photos that are read; every photo has its own lean, noise and smear."""
    chance = numpy.random.default_rng([seed, size_mm, scale])
    options = dict(CASES[case])
    corners_free, share = options.pop("smear", None), options.pop("share", 0.15)
    tilt = math.radians(options.pop("tilt", 0))
    good = 0
    for _ in range(tries):
        paper = printed(field, size_mm)
        if corners_free is not None:
            paper = smear(paper, share, chance, corners_free)
        good += is_read(photographed(paper, size_mm, scale, chance, tilt=tilt, turn=chance.uniform(-0.5, 0.5), **options))
    return good / tries


@pytest.fixture(scope="module")
def field():
    return modules_of(tags.qr_svg(URL))


def test_the_svg_has_the_quiet_zone_of_the_standard(field):
    dark = numpy.argwhere(field)
    # ISO/IEC 18004, 9.1: four modules on every side, and nothing in them.
    assert dark.min() == 4 and dark.max() == len(field) - 5


def test_the_png_holds_the_same_modules(field):
    with Image.open(io.BytesIO(tags.qr_png(URL, 3))) as image:
        assert (numpy.asarray(image.convert("L"))[1::3, 1::3] < 128).astype(int).tolist() == field.tolist()


@pytest.mark.parametrize("size_mm", [25, 30, 44])
@pytest.mark.parametrize("case", ["good light", "blur 1.2 px", "tilt 30°", "tilt 50°", "contrast 30 %",
                                  "blur 1, tilt 25°, contrast 50 %"])
def test_a_tag_of_25_mm_or_more_is_read_in_a_working_bay(field, size_mm, case):
    assert share_read(field, size_mm, 80, case, 4) == 1


@pytest.mark.parametrize("size_mm", [20, 25, 44])
def test_a_clean_tag_is_read_from_20_mm_at_60_pixels_a_centimetre(field, size_mm):
    assert share_read(field, size_mm, 60, "good light", 4) == 1


def test_a_tag_of_the_sheets_size_is_mostly_read_with_grease_and_poor_light(field):
    assert share_read(field, 44, 80, "the same and smear 8 %", 10) >= 0.9


def test_grease_over_15_percent_is_why_the_level_is_h(field):
    q = numpy.array(tags.qr_code(URL, qrcode.constants.ERROR_CORRECT_Q).get_matrix(), int)
    case = "smear 15 %, corners free"
    with_h, with_q = share_read(field, 30, 80, case, 20), share_read(q, 30, 80, case, 20)
    assert with_h >= 0.5 and with_h >= 2 * with_q


def grid(field, tries=20):
    print(f"{'share read':34}" + "".join(f"{size:>16} mm" for size in SIZES_MM))
    print(f"{'pixels a centimetre':34}" + f"{'   60   80  100':>19}" * len(SIZES_MM))
    for case in CASES:
        cells = ["".join(f"{share_read(field, size, scale, case, tries):5.2f}" for scale in SCALES) for size in SIZES_MM]
        print(f"{case:34}" + "".join(f"{cell:>19}" for cell in cells))


if __name__ == "__main__":
    for level, name in ((qrcode.constants.ERROR_CORRECT_M, "M"), (qrcode.constants.ERROR_CORRECT_Q, "Q"), (qrcode.constants.ERROR_CORRECT_H, "H")):
        code = tags.qr_code(URL, level)
        print(f"\nlevel {name}, {code.modules_count} modules and the quiet zone, address of {len(URL)} characters")
        grid(numpy.array(code.get_matrix(), int))
