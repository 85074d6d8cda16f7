"""Plane geometry of taps on a photo, against NumPy's solvers and Shapely's distances.

The cameras are invented: a pinhole in front of the drive, straight or tilted. NumPy projects, the core measures.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from tests.core import drive_samples
from webapp.core import drive, photofit, phototaps
from webapp.core.errors import CoreError

SIZE = [1600, 1200]
NAMES = [name for name in drive_samples.NAMES if name != "two_arm"]
RECTANGLE = [[-60.0, 60.0], [150.0, 60.0], [150.0, -88.0], [-60.0, -88.0]]


def camera(tilt_deg=0.0, about_deg=0.0, away=900.0, turn_deg=0.0, focal_times=1.0):
    """A pinhole camera as a function from millimetres on the belt's plane to pixels, by NumPy."""
    tilt, about, turn = np.radians([tilt_deg, about_deg, turn_deg])
    axis = np.array([math.cos(about), math.sin(about), 0.0])
    skew = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    tilting = np.eye(3) + math.sin(tilt) * skew + (1 - math.cos(tilt)) * skew @ skew
    upright = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    focal = focal_times * phototaps.FOCAL_SHARE * SIZE[0]

    def project(point):
        x, y, z = tilting @ upright @ np.array([point[0], point[1], point[2] if len(point) > 2 else 0.0])
        return [SIZE[0] / 2 + focal * x / (away - z), SIZE[1] / 2 - focal * y / (away - z)]
    return project


def rims_of(sample, project, count=3):
    """Points on the rims as a person taps them, the crankshaft first."""
    out = []
    for k, pulley in enumerate(sample["pulleys"]):
        radius = pulley["diameter_mm"] / 2
        turns = [0.3 * k + 2 * math.pi * i / count for i in range(count)]
        out.append([project((pulley["x_mm"] + radius * math.cos(t), pulley["y_mm"] + radius * math.sin(t))) for t in turns])
    return out


def crank_first(name):
    sample = drive_samples.load(name)
    at = [p["kind"] for p in sample["pulleys"]].index("crank")
    sample["pulleys"] = sample["pulleys"][at:] + sample["pulleys"][:at]
    return sample


def spans(one):
    return [span["length_mm"] for span in drive.solve(one)["spans"]]


# ---- against NumPy and Shapely ----

@given(st.lists(st.floats(-10, 10), min_size=20, max_size=20))
def test_linear_systems_as_numpy_solves_them(values):
    rows = [values[4 * i:4 * i + 4] for i in range(4)]
    right = values[16:]
    if abs(np.linalg.det(rows)) < 1e-3 or np.linalg.cond(rows) > 1e6:
        return
    assert phototaps.solve_linear(rows, right) == pytest.approx(np.linalg.solve(rows, right), rel=1e-7, abs=1e-7)


def test_a_singular_system_has_no_answer():
    assert phototaps.solve_linear([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]) is None


@given(st.integers(3, 8), st.integers(0, 10_000))
def test_circles_as_numpy_fits_them(count, seed):
    chance = np.random.default_rng(seed)
    turns = np.linspace(0, 2 * math.pi, count, endpoint=False) + chance.uniform(-0.3, 0.3, count)
    radii = 80 + chance.normal(0, 1.0 if count > 3 else 0.0, count)
    points = np.column_stack([500 + radii * np.cos(turns), 300 + radii * np.sin(turns)])
    a, b, c = np.linalg.lstsq(np.column_stack([2 * points, np.ones(count)]), (points ** 2).sum(axis=1), rcond=None)[0]
    found = phototaps.circle(points.tolist())
    assert [found["x"], found["y"], found["r"]] == pytest.approx([a, b, math.sqrt(c + a * a + b * b)], rel=1e-8)
    if count == 3:
        rim = shapely.Point(found["x"], found["y"])
        assert all(rim.distance(shapely.Point(p)) == pytest.approx(80) for p in points)


@given(st.lists(st.floats(-30, 30), min_size=8, max_size=8))
def test_homographies_as_the_singular_vectors_give_them(shift):
    seen = [[400.0 + shift[0], 300 + shift[1]], [900 + shift[2], 320 + shift[3]], [880 + shift[4], 700 + shift[5]],
            [420 + shift[6], 690 + shift[7]]]
    known = [[0.0, 0.0], [210.0, 0.0], [210.0, -148.0], [0.0, -148.0]]
    rows = []
    for (x, y), (u, v) in zip(seen, known):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]]
    reference = np.linalg.svd(np.array(rows))[2][-1]
    told = np.array(phototaps.homography(seen, known))
    assert told / told[8] == pytest.approx(reference / reference[8], rel=1e-6, abs=1e-9)
    for point in seen:
        assert phototaps.mapped(phototaps.inverse(told.tolist()), phototaps.mapped(told.tolist(), point)) == pytest.approx(point)


def test_the_route_lies_on_the_pulleys_in_the_picture():
    """The belt drawn over the photo, against a hull of the rims by Shapely: an open two-pulley belt is their hull."""
    sample = drive_samples.two(160, 80, 300)
    project = camera(12, 30)
    # Set from close up: what is usual of hands and phones then hardly pulls.
    rims = [[[*point, 8.0] for point in rim] for rim in rims_of(sample, project, 12)]
    found = photofit.fit(SIZE, rims, {"diameters": [160, 80], "kind": "rectangle", "points": [[*project(p), 8.0] for p in RECTANGLE],
                                      "sides": [210.0, 148.0]})
    told = dict(sample, pulleys=[dict(p, **q) for p, q in zip(sample["pulleys"], found["pulleys"], strict=True)])
    lines = phototaps.outlines(found["to_picture"], found["pulleys"], drive.solve(told))
    around = rims_of(sample, project, 400)
    hull = shapely.MultiPoint([point for rim in around for point in rim]).convex_hull
    drawn = shapely.Polygon([point for line in lines["belt"] for point in line])
    assert drawn.hausdorff_distance(hull) < 2.0
    for line, rim in zip(lines["pulleys"], around):
        assert shapely.Polygon(line).hausdorff_distance(shapely.Polygon(rim)) < 2.0


# ---- bad input ----

def test_rim_points_on_one_line_make_no_circle():
    assert phototaps.circle([[0, 0], [10, 10], [20, 20.1]]) is None
    assert phototaps.circle([[5, 5], [5, 5], [5, 5]]) is None


@pytest.mark.parametrize("corners", [
    [[0, 0], [500, 0], [0, 400], [500, 400]], [[0, 0], [500, 0], [1000, 0], [500, 400]], [[0, 0], [2, 0], [2, 2], [0, 2]],
    [[0, 0], [500, 0], [100, 100], [0, 500]]])
def test_corners_that_are_no_rectangle_are_refused(corners):
    with pytest.raises(CoreError) as caught:
        phototaps.plane_by_rectangle(corners, 210, 148, 5)
    assert caught.value.code == "taps-no-rectangle"


def test_two_points_at_one_place_are_refused():
    with pytest.raises(CoreError) as caught:
        phototaps.check_distance([[100, 100], [101, 100]], 5)
    assert caught.value.code == "taps-close"
