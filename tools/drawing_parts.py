"""Parts of the small drawings: lines, arrows, pulleys, belts, arms. `tools/drawings.py` puts them together.

A drawing is a list of (style, path), 64 wide and 40 high. The page gives colour and line. Angles are degrees, clockwise
from three o'clock.
"""

import math

# Styles: the attributes of a path beyond what the page gives.
LINE = ""
THIN = ' stroke-width="1.5"'
BOLD = ' stroke-width="4"'
# What is not there now: a part's other place.
GHOST = ' stroke-width="1.5" stroke-dasharray="2 4"'
# Round ends make dots of dashes without length.
DOTTED = ' stroke-dasharray="0 4"'
SPARSE = ' stroke-dasharray="0 8"'
LUMPS = ' stroke-width="5"'
FULL = ' fill="currentColor"'
# Rubber, in a cut.
SHADE = ' fill="currentColor" fill-opacity=".25"'
STYLES = (SHADE, FULL, LINE, BOLD, THIN, GHOST, DOTTED, SPARSE, LUMPS)


def near(value):
    """A coordinate to a half: finer is not seen at this size."""
    return round(2 * value) / 2


def number(value):
    """A coordinate as short as it can be written."""
    text = f"{near(value) + 0:.1f}".removesuffix(".0")
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text


def joined(values):
    """Coordinates as short as a path allows: a minus sign parts them too."""
    found = ""
    for text in map(number, values):
        found += text if text[0] == "-" or text[0] == "." and "." in found[-3:] else " " + text
    return found.lstrip()


def path(d, style=LINE):
    return [(style, d)]


def line(*points, style=LINE, close=""):
    """A polyline through (x, y), (x, y), ..."""
    points = [(near(x), near(y)) for x, y in points]
    steps = [part - before for here, there in zip(points[1:], points) for part, before in zip(here, there)]
    return path("M" + joined(points[0]) + "l" + joined(steps) + close, style)


def circle(x, y, r, style=LINE):
    """A whole circle as one arc: its two ends lie a tenth apart."""
    return path(f"M{joined([x + r, y])}a{joined([r, r])} 0 1 1 0-.1z", style)


def dot(x, y, style=LINE):
    """A line without length: its round ends make a dot."""
    return path(f"M{joined([x, y])}h0", style)


def box(x, y, width, height, style=LINE):
    return path(f"M{joined([x, y])}h{number(width)}v{number(height)}h{number(-width)}z", style)


def at(x, y, r, angle):
    return x + r * math.cos(math.radians(angle)), y + r * math.sin(math.radians(angle))


def head(x, y, angle, size=5):
    """The two strokes of an arrow that comes to (x, y) from its direction."""
    return line(at(x, y, size, angle + 140), (x, y), at(x, y, size, angle - 140))


def arrow(x, y, to_x, to_y, both=False):
    angle = math.degrees(math.atan2(to_y - y, to_x - x))
    return line((x, y), (to_x, to_y)) + head(to_x, to_y, angle) + (head(x, y, angle + 180) if both else [])


def arc(x, y, r, start, end, style=LINE):
    """Part of a circle, no more than a turn."""
    large, sweep = int(abs(end - start) > 180), int(end > start)
    (from_x, from_y), (to_x, to_y) = at(x, y, r, start), at(x, y, r, end)
    return path(f"M{joined([from_x, from_y])}a{joined([r, r])} 0 {large} {sweep} {joined([to_x - from_x, to_y - from_y])}", style)


def turn(x, y, r, start, end, both=False):
    """An arrow round a centre."""
    way = 78 if end > start else -78
    return (arc(x, y, r, start, end) + head(*at(x, y, r, end), end + way)
            + (head(*at(x, y, r, start), start - way) if both else []))


def coil(x, y, r, to_r, halves):
    """A winding from the top, clockwise: so many half turns, from r to to_r."""
    found, way = f"M{joined([x, y - r])}", 1
    for i in range(halves):
        across = 2 * r + (to_r - r) * (2 * i + 1) / halves
        found += f"a{joined([across / 2, across / 2])} 0 0 1 {joined([0, way * across])}"
        way = -way
    return path(found)


def star(x, y, r, angles, style=LINE, start=0.0):
    """Spokes from the radius `start` to r."""
    return [part for angle in angles for part in line(at(x, y, start, angle), at(x, y, r, angle), style=style)]


def pulley(x, y, r):
    return circle(x, y, r) + dot(x, y)


def loop(x, y, to_x, to_y, r):
    """A belt round two like pulleys, side by side."""
    return line((x, y - r), (to_x, to_y - r)) + line((x, y + r), (to_x, to_y + r)) + pulley(x, y, r) + pulley(to_x, to_y, r)


def wave(start, end, y, high, count):
    """A jagged noise, drawn over time."""
    width = (end - start) / count
    return line((start, y), *[(start + width * (i + .5), y + (high if i % 2 else -high)) for i in range(count)], (end, y))


def hum(start, end, y, high, count):
    """A smooth tone, drawn over time."""
    width = (end - start) / count
    return path(f"M{joined([start, y])}q{joined([width / 2, -2 * high, width, 0])}" + f"t{joined([width, 0])}" * (count - 1))


def drop(x, y, size=1.0):
    """A drop that hangs from (x, y)."""
    wide, high = 3.5 * size, 7 * size
    return path(f"M{joined([x, y])}q{joined([wide, .65 * high, 0, high])}{joined([-wide, -.35 * high, 0, -high])}z", FULL)


def spring(x, y, to_x, to_y, count=4, high=3.5):
    gap = math.hypot(to_x - x, to_y - y)
    way = math.degrees(math.atan2(to_y - y, to_x - x))
    middle = [at(*at(x, y, gap * (i + .5) / count, way), high, way + (90 if i % 2 else -90)) for i in range(count)]
    return line((x, y), *middle, (to_x, to_y))


def bolt(x, y, r=4.0):
    """The head of a bolt."""
    return line(*[at(x, y, r, 60 * i) for i in range(6)], close="z") + dot(x, y)


def comb(x, y, count, pitch, deep, flat, style=LINE, close=""):
    """A rib profile from left to right: flank to a tip, flank back; a negative depth points up."""
    flank = (pitch - flat) / 2
    return path(f"M{joined([x, y])}" + f"l{joined([flank, deep])}h{number(flat)}l{joined([flank, -deep])}" * count + close, style)


def belt_cut(x, y, count=4, pitch=13, deep=12):
    """A ribbed belt cut across, its ribs below, its cords as dots."""
    wide = count * pitch
    return comb(x, y + 9, count, pitch, deep, 4, SHADE, f"v-9h{-wide}z") + path(f"M{x + 4} {y + 4}h{wide - 8}", DOTTED)


def strip(ribs=3, top=7, bottom=33):
    """A piece of belt seen on its face; no ribs show its back."""
    gap = (bottom - top) / (ribs + 1)
    between = [part for i in range(ribs) for part in path(f"M3 {number(top + gap * (i + 1))}H61", THIN)]
    return path(f"M3 {top}H61M3 {bottom}H61") + between


def rim(left, right):
    """A flanged pulley seen on its edge, where the belt between left and right leaves it bare."""
    bare = (f"M11 9H{left}M11 31H{left}" if left > 11 else "") + (f"M{right} 9H53M{right} 31H53" if right < 53 else "")
    return path("M11 5V35M53 5V35" + bare)


def band(left, right):
    """A belt that runs upright over a rim."""
    third = (right - left) / 3
    return path(f"M{left} 1V39M{right} 1V39") + path(f"M{number(left + third)} 1V39M{number(right - third)} 1V39", THIN)


def edge_on(x, y=20, high=28, tilt=0, style=LINE):
    """A pulley seen on its edge, upright about (x, y)."""
    corner, lean = math.hypot(6, high / 2), math.degrees(math.atan2(high / 2, 6))
    return line(*[at(x, y, corner, angle + tilt) for angle in (lean, 180 - lean, 180 + lean, -lean)], style=style, close="z")


def on_shaft(tilt=0):
    """A pulley seen on its edge before the housing that carries it."""
    return box(4, 8, 16, 24) + path("M20 17H34M20 23H34", THIN) + edge_on(40, tilt=tilt)


def arm(x=13, y=31, to_x=45, to_y=17, r=9):
    """A tensioner's arm with its roller, which hides the arm's end; its pivot is (x, y)."""
    way = math.degrees(math.atan2(to_y - y, to_x - x))
    end = math.hypot(to_x - x, to_y - y) - math.sqrt(r * r - 16)
    sides = [part for side in (90, -90) for part in line(at(x, y, 4, way + side), at(*at(x, y, 4, way + side), end, way))]
    return circle(x, y, 4) + sides + pulley(to_x, to_y, r)


def dial(angle):
    """Pointer and marks: a long belt at the right mark, a short one at the left."""
    return (arc(32, 44, 30, -132, -48) + star(32, 44, 34, (-118, -62), BOLD, 26) + circle(10, 7, 3, THIN)
            + path("M48 4h10a3 3 0 0 1 0 6H48a3 3 0 0 1 0-6z", THIN) + circle(32, 37, 2)
            + line((32, 37), at(32, 44, 26, angle), style=BOLD))


def overrun(x, way, driven):
    """An overrunning pulley round its hub: spokes where the hub goes with it, an arrow for how it is turned."""
    spokes = star(x, 23, 11, (30, 150, 270), BOLD, 4) if driven else []
    start, end = (-150, -40) if way > 0 else (-30, -140)
    return circle(x, 23, 11) + circle(x, 23, 4, FULL if driven else LINE) + spokes + turn(x, 23, 16, start, end)


def damper(ring_x=32):
    """A crank damper from the front: ring, rubber, hub, bolt."""
    return circle(ring_x, 20, 18) + circle(ring_x, 20, 14) + circle(32, 20, 8) + dot(32, 20)


def grooves():
    """A pulley's grooves cut across."""
    return comb(4, 12, 4, 14, 16, 2) + path("M4 12V37H60V12")


def load(before, after):
    """Noise over time, above the moment when a load is switched on."""
    return path("M3 37H26V31H61", THIN) + (before or path("M3 15H25")) + (after or path("M27 15H61"))


def seat(x):
    """A belt of three ribs that begins at x, above a pulley of three grooves, both cut across."""
    return (comb(4, 24, 3, 14, 8, 2, close="V38H4z") + comb(x, 16, 3, 14, 8, 2, SHADE, "V3h-42z")
            + path(f"M{x + 4} 9h34", DOTTED))


def strut(rod):
    """A hydraulic strut; rod is how far it stands out."""
    return box(8, 12, 28, 16) + circle(5, 20, 3) + path(f"M36 18h{rod}M36 22h{rod}") + circle(39.5 + rod, 20, 3.5)


def eccentric():
    """A roller whose bolt stands off its centre."""
    return circle(30, 20, 15) + circle(30, 20, 10, THIN) + bolt(25, 22, 5)


def slot():
    """An accessory on a slotted bracket: pivot bolt at the left, slot bolt at the right."""
    return (pulley(31, 20, 10) + bolt(8, 33, 5) + arc(8, 33, 42, -36, -4) + arc(8, 33, 50, -36, -4)
            + arc(*at(8, 33, 46, -36), 4, 144, 324) + arc(*at(8, 33, 46, -4), 4, -4, 176) + bolt(*at(8, 33, 46, -20), 3))
