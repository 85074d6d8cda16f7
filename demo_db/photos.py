"""Pictures for the invented workshop, drawn with Pillow: a belt's ribs, a routed drive, a tensioner's pointer.

They look like photographs taken in poor light and show no real thing. The same seed draws the same picture.
"""

import io
import math
import random

from PIL import Image, ImageChops, ImageDraw, ImageFilter

WIDTH, HEIGHT = 1280, 960
# Drawn twice as large and shrunk: smooth edges without an own anti-aliasing.
SCALE = 2


def belt_ribs(seed: int, ribs: int = 6, cracks: int = 0, shine: float = 0.0, marking: str = "") -> bytes:
    """A ribbed belt across the picture, seen from its ribs; `cracks` run across them, `shine` is glazing from 0 to 1."""
    rng = random.Random(seed)
    picture, draw = _canvas((58, 56, 54))
    _workbench(draw, rng)
    top, pitch = 250 * SCALE, 76 * SCALE * 6 // ribs
    bottom = top + pitch * ribs
    draw.rectangle((0, top - 14 * SCALE, WIDTH * SCALE, bottom + 14 * SCALE), fill=(24, 24, 26))
    for rib in range(ribs):
        _one_rib(draw, top + rib * pitch, pitch, shine)
    for _ in range(cracks):
        _crack(draw, rng, top, pitch, ribs)
    if marking:
        draw.text((90 * SCALE, bottom + 44 * SCALE), marking, fill=(196, 190, 176), font_size=64 * SCALE)
    return _photograph(picture, rng)


def drive_route(seed: int) -> bytes:
    """Five pulleys and the belt around them."""
    rng = random.Random(seed)
    picture, draw = _canvas((70, 72, 74))
    _castings(draw, rng)
    pulleys = [(640, 730, 130, "ribs"), (330, 560, 92, "ribs"), (360, 230, 66, "ribs"), (700, 380, 48, "back"),
               (960, 250, 84, "ribs")]
    pulleys = [(x * SCALE, y * SCALE, r * SCALE, face) for x, y, r, face in pulleys]
    for i, (x, y, r, face) in enumerate(pulleys):
        _tangent(draw, pulleys[i], pulleys[(i + 1) % len(pulleys)])
        draw.ellipse((x - r - 20, y - r - 20, x + r + 20, y + r + 20), fill=(22, 22, 24))
    for x, y, r, _ in pulleys:
        _pulley(draw, x, y, r, rng)
    return _photograph(picture, rng)


def pointer(seed: int, degrees: float) -> bytes:
    """A tensioner's arm with its pointer at `degrees` between the stops of a cast scale."""
    rng = random.Random(seed)
    picture, draw = _canvas((66, 66, 68))
    _castings(draw, rng)
    x, y, r = 560 * SCALE, 520 * SCALE, 300 * SCALE
    draw.ellipse((x - r, y - r, x + r, y + r), fill=(126, 128, 130), outline=(70, 72, 74), width=10)
    for mark in range(-60, 61, 10):
        inner = r * (0.78 if mark in (-60, 60) else 0.86)
        draw.line(_ray(x, y, inner, mark) + _ray(x, y, r * 0.96, mark), fill=(40, 42, 44), width=12)
    tip = _ray(x, y, r * 0.9, degrees)
    left, right = _ray(x, y, r * 0.3, degrees - 18), _ray(x, y, r * 0.3, degrees + 18)
    draw.polygon([tip, left, right], fill=(206, 202, 190))
    _pulley(draw, x, y, int(r * 0.42), rng)
    return _photograph(picture, rng)


def _canvas(colour):
    picture = Image.new("RGB", (WIDTH * SCALE, HEIGHT * SCALE), colour)
    return picture, ImageDraw.Draw(picture)


def _workbench(draw, rng):
    """Scratches on a steel bench."""
    for _ in range(260):
        x, y = rng.randrange(WIDTH * SCALE), rng.randrange(HEIGHT * SCALE)
        length, grey = rng.randrange(60, 700), rng.randrange(48, 84)
        draw.line((x, y, x + length, y + rng.randrange(-14, 14)), fill=(grey, grey, grey - 4), width=rng.randrange(1, 4))


def _castings(draw, rng):
    """Ribs and bolts of a timing cover behind the drive."""
    for _ in range(9):
        x, y = rng.randrange(WIDTH * SCALE), rng.randrange(HEIGHT * SCALE)
        grey = rng.randrange(78, 104)
        box = (x, y, x + rng.randrange(200, 900), y + rng.randrange(200, 700))
        draw.rounded_rectangle(box, 60, fill=(grey, grey, grey + 2), outline=(grey - 22,) * 3, width=8)
    for _ in range(12):
        x, y = rng.randrange(WIDTH * SCALE), rng.randrange(HEIGHT * SCALE)
        draw.regular_polygon((x, y, 30), 6, rotation=rng.randrange(60), fill=(140, 138, 130), outline=(60, 60, 58))


def _one_rib(draw, top, pitch, shine):
    """Shades from groove to crest and back; glazed ribs mirror the lamp."""
    for row in range(pitch):
        crest = math.sin(math.pi * row / pitch)
        grey = int(14 + 38 * crest + shine * 120 * crest ** 12)
        draw.line((0, top + row, WIDTH * SCALE, top + row), fill=(grey, grey, grey + 2))


def _crack(draw, rng, top, pitch, ribs):
    x, first = rng.randrange(60, WIDTH * SCALE - 60), rng.randrange(ribs)
    last = min(ribs, first + rng.randrange(1, 4))
    points, y = [], top + first * pitch + pitch // 8
    while y < top + last * pitch - pitch // 8:
        x += rng.randrange(-9, 10)
        points.append((x, y))
        y += rng.randrange(10, 26)
    if len(points) < 2:
        return
    draw.line(points, fill=(2, 2, 2), width=rng.randrange(5, 12), joint="curve")
    draw.line([(px + 7, py) for px, py in points], fill=(72, 70, 66), width=2)


def _tangent(draw, one, two):
    """The belt between two pulleys: the outer tangent, or the crossing one when the back of the belt runs on one."""
    x1, y1, r1, face1 = one
    x2, y2, r2, face2 = two
    sign1, sign2 = (1 if face == "ribs" else -1 for face in (face1, face2))
    along, far = math.atan2(y2 - y1, x2 - x1), math.hypot(x2 - x1, y2 - y1)
    turn = along - math.acos((sign1 * r1 - sign2 * r2) / far)
    ends = [(x + sign * r * math.cos(turn), y + sign * r * math.sin(turn))
            for x, y, r, sign in ((x1, y1, r1, sign1), (x2, y2, r2, sign2))]
    draw.line(ends, fill=(22, 22, 24), width=22 * SCALE)
    draw.line([(x - 6, y - 6) for x, y in ends], fill=(58, 58, 60), width=4 * SCALE)


def _pulley(draw, x, y, r, rng):
    for ring, grey in ((1.0, 150), (0.93, 96), (0.86, 168), (0.6, 120), (0.52, 178), (0.22, 90)):
        q = r * ring
        draw.ellipse((x - q, y - q, x + q, y + q), fill=(grey, grey, grey - 4))
    start = rng.randrange(120)
    for spoke in range(start, start + 360, 120):
        px, py = _ray(x, y, r * 0.73, spoke)
        q = r * 0.09
        draw.ellipse((px - q, py - q, px + q, py + q), fill=(58, 58, 60))
    draw.regular_polygon((x, y, max(6, int(r * 0.16))), 6, rotation=start % 60, fill=(66, 64, 62))


def _ray(x, y, length, degrees):
    """A point `length` away; 0 degrees is up, clockwise is positive."""
    angle = math.radians(degrees)
    return x + length * math.sin(angle), y - length * math.cos(angle)


def _photograph(picture, rng):
    """One lamp to the side, a soft lens, grain; then JPEG, which holds nothing but the picture."""
    picture = picture.reduce(SCALE)
    lamp = Image.radial_gradient("L").resize((WIDTH * 2, HEIGHT * 2)).point(lambda v: 255 - v * 3 // 4)
    x, y = rng.randrange(WIDTH // 3, WIDTH * 2 // 3), rng.randrange(HEIGHT // 3, HEIGHT * 2 // 3)
    lamp = lamp.crop((x, y, x + WIDTH, y + HEIGHT))
    warm = Image.merge("RGB", (lamp, lamp.point(lambda v: v * 97 // 100), lamp.point(lambda v: v * 90 // 100)))
    picture = ImageChops.multiply(picture, warm).point(lambda v: min(255, v * 3 // 2))
    picture = picture.filter(ImageFilter.GaussianBlur(1.1))
    grain = Image.frombytes("L", (WIDTH, HEIGHT), rng.randbytes(WIDTH * HEIGHT))
    grain = grain.filter(ImageFilter.GaussianBlur(0.8)).point(lambda v: 118 + v // 13)
    picture = ImageChops.overlay(picture, Image.merge("RGB", (grain, grain, grain)))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=82, optimize=True)
    return out.getvalue()
