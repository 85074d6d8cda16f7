"""The drawn route against geometry from outside: its own length measured anew from the picture, and Shapely for what overlaps.

The picture's texts hold two decimals of a unit; a unit is about a millimetre, so a length of a dozen pieces is good to 0.1 mm.
"""

import copy
import math
import re

import drive_samples as samples
import pytest
from shapely.geometry import LineString, Point, box

from webapp.core import drawing, drive, layout, tensioner, vibration
from webapp.core.errors import CoreError

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
LETTER = 7.4


def picture_of(data):
    solved = drive.solve(data)
    rest = tensioner.rest(data) if data["tensioner"]["kind"] in tensioner.ARM else None
    try:
        first = vibration.best_span(data, 300.0, 300.0)[0]
        best = {"from": first["from"], "to": first["to"], "text": "250 mm"}
    except CoreError:
        best = None
    return solved, drawing.drawing(data, solved, best, rest)


def pieces(path):
    """[(kind, start, end, radius, large, sweep), ...] of an SVG path of M, L, A and Z; written from the SVG 2 grammar."""
    out = []
    at = first = None
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", path):
        given = [float(n) for n in NUMBER.findall(rest)]
        if letter == "M":
            at = first = tuple(given)
        elif letter == "Z":
            out.append(("L", at, first, 0, 0, 0))
        elif letter == "L":
            out.append(("L", at, tuple(given), 0, 0, 0))
            at = tuple(given)
        else:
            out.append(("A", at, (given[5], given[6]), given[0], given[3], given[4]))
            at = (given[5], given[6])
    return out


def length_of(piece):
    kind, start, end, radius, large, _sweep = piece
    chord = math.dist(start, end)
    if kind == "L":
        return chord
    angle = 2 * math.asin(min(1.0, chord / (2 * radius)))
    return radius * (2 * math.pi - angle if large else angle)


def scale_of(picture):
    """Units per mm, by what the scale bar says of itself."""
    bar = picture["bar"]
    return (float(bar["x2"]) - float(bar["x1"])) / float(bar["text"].split()[0])


@pytest.mark.parametrize("name", samples.NAMES)
def test_the_drawn_belt_is_as_long_as_the_path(name):
    solved, picture = picture_of(samples.load(name))
    drawn = sum(length_of(piece) for piece in pieces(picture["belt"])) / scale_of(picture)
    assert drawn == pytest.approx(solved["effective_mm"], abs=0.4)


@pytest.mark.parametrize("name", samples.NAMES)
def test_the_line_of_the_ribs_is_shorter_by_a_whole_turn(name):
    # Offset curves: moving a closed uncrossed line inwards by b shortens it by 2 pi b, whatever its route (Steiner).
    _, picture = picture_of(samples.load(name))
    belt, ribs = [sum(length_of(piece) for piece in pieces(picture[key])) for key in ("belt", "ribs")]
    assert belt - ribs == pytest.approx(2 * math.pi * drawing._RIB_GAP, abs=0.3)


@pytest.mark.parametrize("name", samples.NAMES)
def test_every_piece_begins_and_ends_on_its_pulley(name):
    data = samples.load(name)
    _, picture = picture_of(data)
    laid = layout.lay_out(drive.form(data))
    scale = scale_of(picture)
    straight = [piece for piece in pieces(picture["belt"]) if piece[0] == "L"][:len(data["pulleys"])]
    count = len(data["pulleys"])
    for i in range(count):
        for place, point in ((i, straight[i][1]), ((i + 1) % count, straight[i][2])):
            circle = picture["pulleys"][place]
            far = math.dist(point, (float(circle["x"]), float(circle["y"])))
            assert far == pytest.approx(abs(laid["circles"][place][2]) * scale, abs=0.03)
            # A tangent meets its radius at a right angle.
            dx, dy = straight[i][2][0] - straight[i][1][0], straight[i][2][1] - straight[i][1][1]
            along = dx * (point[0] - float(circle["x"])) + dy * (point[1] - float(circle["y"]))
            assert abs(along) / far / math.hypot(dx, dy) < 0.01


@pytest.mark.parametrize("name", samples.NAMES)
def test_arcs_bend_round_their_own_pulley(name):
    """The middle of each arc, found from the SVG flags, lies on the circle and on the belt's side of the chord."""
    _, picture = picture_of(samples.load(name))
    centres = [(float(p["x"]), float(p["y"])) for p in picture["pulleys"]]
    for kind, start, end, radius, large, sweep in pieces(picture["belt"]):
        if kind == "L" or math.dist(start, end) < 1:
            continue
        half = math.dist(start, end) / 2
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        off = math.sqrt(max(0.0, radius * radius - half * half))
        # SVG 2, implementation notes F.6.5: the centre's side follows from whether the two flags are alike.
        side = -1 if large == sweep else 1
        nx, ny = -(end[1] - start[1]) / (2 * half), (end[0] - start[0]) / (2 * half)
        centre = (middle[0] + side * off * nx, middle[1] + side * off * ny)
        assert min(math.dist(centre, one) for one in centres) < 0.2


def _boxes(picture):
    out = []
    for label in picture["labels"]:
        wide = max(len(line["text"]) for line in label["lines"]) * LETTER / 2
        x, top = float(label["lines"][0]["x"]), float(label["lines"][0]["y"]) - 11
        out.append((label, box(x - wide, top, x + wide, float(label["lines"][-1]["y"]) + 3)))
    return out


@pytest.mark.parametrize("name", samples.NAMES)
def test_labels_cover_neither_belt_nor_each_other(name):
    data = samples.load(name)
    _, picture = picture_of(data)
    belt = [LineString([piece[1], piece[2]]) for piece in pieces(picture["belt"]) if piece[0] == "L"]
    boxes = _boxes(picture)
    width, height = [float(n) for n in picture["view_box"].split()[2:]]
    for k, (label, one) in enumerate(boxes):
        assert one.within(box(0, 0, width, height)), label
        assert not [line for line in belt if line.distance(one) < 2], label
        assert not [other for _l, other in boxes[k + 1:] if other.intersects(one)], label
        for p in picture["pulleys"]:
            disc = Point(float(p["x"]), float(p["y"])).buffer(float(p["r"]))
            assert one.within(disc) or not one.intersects(disc.buffer(2)), (label, p)


def test_every_name_stands_in_the_picture_once():
    data = samples.load("automatic")
    _, picture = picture_of(data)
    names = [" ".join(line["text"] for line in label["lines"]) for label in picture["labels"] if not label["measure"]]
    assert sorted(names) == sorted(p["name"] for p in data["pulleys"])


@pytest.mark.parametrize("name", samples.NAMES)
def test_turning_arrows_point_as_the_pulley_turns(name):
    """The tip of each arrow's head lies ahead of its path's end, clockwise on the screen when it turns clockwise."""
    data = samples.load(name)
    solved, picture = picture_of(data)
    for wrap, pulley in zip(solved["wraps"], picture["pulleys"], strict=True):
        tip = [float(n) for n in NUMBER.findall(pulley["head"].split()[0])]
        end = [float(n) for n in NUMBER.findall(pulley["turn"])][-2:]
        rx, ry = end[0] - float(pulley["x"]), end[1] - float(pulley["y"])
        # y points down: a positive cross product is clockwise to the eye.
        ahead = rx * (tip[1] - end[1]) - ry * (tip[0] - end[0])
        assert (ahead > 0) == (wrap["sense"] == "clockwise")


def test_belt_arrows_follow_the_crankshaft():
    data = samples.load("fixed")
    for sense in ("clockwise", "anticlockwise"):
        data["rotation"] = sense
        solved, picture = picture_of(data)
        start, end = [piece for piece in pieces(picture["belt"]) if piece[0] == "L"][0][1:3]
        points = [[float(n) for n in pair.split(",")] for pair in picture["arrows"][0].split()]
        ahead = (points[0][0] - points[1][0]) * (end[0] - start[0]) + (points[0][1] - points[1][1]) * (end[1] - start[1])
        assert (ahead > 0) == solved["runs_as_listed"]


def test_grooved_pulleys_have_an_inner_ring_and_flat_ones_none():
    data = samples.load("automatic")
    _, picture = picture_of(data)
    assert [bool(p["inner"]) for p in picture["pulleys"]] == [p.get("rim") != "flat" for p in data["pulleys"]]


def test_a_faulty_pulley_is_marked_and_a_sound_drive_has_no_mark():
    data = samples.load("automatic")
    assert not [p for p in picture_of(data)[1]["pulleys"] if p["mark"]]
    data["pulleys"][3]["face"] = "back"
    solved = drive.solve(data)
    picture = drawing.drawing(data, solved)
    assert picture["pulleys"][3]["mark"] is not None


def test_the_pointer_stands_where_the_arm_rests():
    data = samples.load("automatic")
    rest = tensioner.rest(data)
    _, picture = picture_of(data)
    arm = picture["arm"]
    tip = [float(n) for n in arm["pointer"].split()[0].split(",")]
    angle = math.degrees(math.atan2(float(arm["y"]) - tip[1], tip[0] - float(arm["x"])))
    assert angle == pytest.approx(rest["angle_deg"], abs=0.3)
    ends = [float(n) for n in NUMBER.findall(arm["dial"])]
    seen = sorted(math.degrees(math.atan2(float(arm["y"]) - y, x - float(arm["x"]))) for x, y in (ends[:2], ends[-2:]))
    assert seen == pytest.approx(sorted(data["tensioner"]["stops_deg"]), abs=0.3)


@pytest.mark.parametrize("name", samples.NAMES)
def test_half_a_drive_is_drawn_as_far_as_it_is_known(name):
    data = samples.load(name)
    for i in range(len(data["pulleys"])):
        for key in ("x_mm", "diameter_mm"):
            half = copy.deepcopy(data)
            half["pulleys"][i][key] = None
            picture = drawing.drawing(half, drive.solve(half))
            assert len(picture["pulleys"]) == len(data["pulleys"]) - (key == "x_mm")
            assert "Z" not in picture["belt"]
            assert picture["belt"].count("L") == max(0, len(data["pulleys"]) - 2)


def test_nothing_placed_gives_no_picture_and_one_pulley_gives_one():
    assert drawing.drawing({"pulleys": [{"name": "crank", "kind": "crank"}]}) is None
    assert drawing.drawing({}) is None
    one = drawing.drawing({"pulleys": [{"name": "crank", "kind": "crank", "x_mm": 0, "y_mm": 0}]})
    assert one["belt"] == "" and len(one["pulleys"]) == 1 and not one["pulleys"][0]["sized"]


def test_a_crossed_route_is_drawn_as_it_was_entered():
    data = samples.load("automatic")
    data["pulleys"][1], data["pulleys"][3] = data["pulleys"][3], data["pulleys"][1]
    picture = drawing.drawing(data, drive.solve(data))
    assert picture["belt"].endswith("Z")


def test_the_way_in_words():
    data = samples.two(140, 60, 200, 750)
    solved = drive.solve(data)
    thread = drawing.thread(drive.form(data), solved, ["204 mm", "204 mm"])
    assert [step["then"] for step in thread] == ["then right, 204 mm, to 2 other", "then left, 204 mm, to 1 crank"]
    assert thread[0]["how"].startswith("ribs of the belt, turns clockwise, ")
    upright = samples.moved(data, turn_deg=90)
    thread = drawing.thread(drive.form(upright), drive.solve(upright), ["", ""])
    assert thread[0]["then"].startswith("then up, ") and thread[1]["then"].startswith("then down, ")


def test_long_names_are_cut_and_small_pulleys_carry_their_number_in_the_name():
    data = samples.load("fixed")
    data["pulleys"][1]["name"] = "a pump with a name that goes on and on"
    data["pulleys"].append({"name": "far", "kind": "idler", "x_mm": 2900, "y_mm": 0, "diameter_mm": 60})
    picture = drawing.drawing(data, drive.solve(data))
    texts = [line["text"] for label in picture["labels"] for line in label["lines"]]
    assert all(len(text) <= 18 for text in texts) and [text for text in texts if text.endswith("…")]
    assert "3 far" in texts
