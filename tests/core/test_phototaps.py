"""A drive from taps on a photo, against NumPy's solvers, Shapely's distances, and drives that are drawn and tapped back.

The cameras are invented: a pinhole in front of the drive, straight or tilted. NumPy projects, the core measures.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings, strategies as st

from tests.core import drive_samples
from webapp.core import drive, drive_spread, phototaps
from webapp.core.errors import CoreError

SIZE = [1600, 1200]
NAMES = [name for name in drive_samples.NAMES if name != "two_arm"]
RECTANGLE = [[-60.0, 60.0], [150.0, 60.0], [150.0, -88.0], [-60.0, -88.0]]


def camera(tilt_deg=0.0, about_deg=0.0, away=900.0, turn_deg=0.0):
    """A pinhole camera as a function from millimetres on the belt's plane to pixels, by NumPy."""
    tilt, about, turn = np.radians([tilt_deg, about_deg, turn_deg])
    axis = np.array([math.cos(about), math.sin(about), 0.0])
    skew = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    tilting = np.eye(3) + math.sin(tilt) * skew + (1 - math.cos(tilt)) * skew @ skew
    upright = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    focal = phototaps.FOCAL_SHARE * SIZE[0]

    def project(point):
        x, y, z = tilting @ upright @ np.array([point[0], point[1], 0.0])
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


def tapped(sample, plane, rims):
    """The sample drive with its pulleys where the taps put them, as good as the core says; recorded as a job does it."""
    found = phototaps.pulleys(plane, rims)["pulleys"]
    out = dict(sample, pulleys=[dict(p, **q) for p, q in zip(sample["pulleys"], found, strict=True)])
    good = phototaps.good_to(plane, rims, SIZE, out)
    for k, pulley in enumerate(out["pulleys"]):
        pulley["good_to_mm"] = good if k else None
    return out


def crank_first(name):
    sample = drive_samples.load(name)
    at = [p["kind"] for p in sample["pulleys"]].index("crank")
    sample["pulleys"] = sample["pulleys"][at:] + sample["pulleys"][:at]
    return sample


def spans(one):
    return [span["length_mm"] for span in drive.solve(one)["spans"]]


def assert_spans_agree(sample, plane, rims, share):
    for told, true in zip(spans(tapped(sample, plane, rims)), spans(sample), strict=True):
        assert told == pytest.approx(true, rel=share)


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


def test_the_spread_of_a_circle_as_simulation_gives_it():
    """Taps that are off by one unit (1 sigma) move centre and radius as `centre_off` and `radius_off` say."""
    chance = np.random.default_rng(3)
    for turns in ([0.1, 2.2, 4.3], [0.0, 1.0, 2.0], [0.0, 0.7, 1.5, 3.0, 4.0]):
        exact = np.array([[200 * math.cos(t), 200 * math.sin(t)] for t in turns])
        told = phototaps.circle(exact.tolist())
        runs = [phototaps.circle((exact + chance.normal(0, 1, exact.shape)).tolist()) for _ in range(1500)]
        worst = max(np.std([r["x"] for r in runs]), np.std([r["y"] for r in runs]))
        # The worse of two axes, which need not be the worst direction; 1500 runs are good to 4 %.
        assert told["centre_off"] == pytest.approx(worst, rel=0.1)
        assert told["radius_off"] == pytest.approx(np.std([r["r"] for r in runs]), rel=0.1)


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


@pytest.mark.parametrize("tilt", [2.0, 5.0, 10.0, 20.0])
def test_the_share_of_a_tilt_as_a_tilted_camera_shows_it(tilt):
    project = camera(tilt_deg=tilt, about_deg=90.0)
    # A straight camera at the same distance shows a millimetre at this many pixels.
    scale = phototaps.FOCAL_SHARE * SIZE[0] / 900.0
    off = []
    for x in (-300, 300):
        seen = project((x, 0))
        taken = abs(seen[0] - SIZE[0] / 2) / scale
        off.append([300 / taken - 1, phototaps.tilt_share(tilt, phototaps.reach(SIZE, [seen]))])
    # The side that leans away looks too short: there the formula is exact, and on the other side it is more than enough.
    assert max(off)[0] == pytest.approx(max(off)[1], rel=1e-9)
    assert all(abs(one[0]) <= one[1] + 1e-9 for one in off)


# ---- drawn, tapped, back ----

@pytest.mark.parametrize("name", NAMES)
def test_a_straight_picture_gives_the_drive_back(name):
    sample = crank_first(name)
    project = camera()
    rims = rims_of(sample, project)
    tap = phototaps.tap_px(SIZE)
    for plane in (phototaps.plane_by_pulley(rims[0], sample["pulleys"][0]["diameter_mm"], tap),
                  phototaps.plane_by_distance([project((-60, 100)), project((140, 100))], 200.0, tap),
                  phototaps.plane_by_rectangle([project(p) for p in RECTANGLE], 210.0, 148.0, tap)):
        assert_spans_agree(sample, plane, rims, 1e-6)


@settings(max_examples=40)
@given(st.sampled_from(NAMES), st.floats(0, 30), st.floats(0, 360), st.floats(700, 1500), st.integers(3, 6), st.integers(0, 3),
       st.booleans())
def test_a_tilted_picture_with_a_rectangle_gives_the_drive_back(name, tilt, about, away, count, first, other_way):
    sample = crank_first(name)
    project = camera(tilt, about, away)
    # From any corner, in either sense.
    order = [(first - k if other_way else first + k) % 4 for k in range(4)]
    corners = [project(RECTANGLE[k]) for k in order]
    wide = math.dist(RECTANGLE[order[0]], RECTANGLE[order[1]])
    high = math.dist(RECTANGLE[order[1]], RECTANGLE[order[2]])
    plane = phototaps.plane_by_rectangle(corners, wide, high, phototaps.tap_px(SIZE))
    rims = rims_of(sample, project, count)
    assert_spans_agree(sample, plane, rims, 1e-6)
    assert phototaps.unseen_tilt(plane, rims, SIZE) == 0.0


def truth_inside(rng, name, plane_of, tilts):
    """How often spans and path of drives tapped with a shaking finger hold the truth: (of spans, of paths), as shares."""
    sample = crank_first(name)
    true = spans(sample) + [drive.solve(sample)["effective_mm"]]
    tap = phototaps.tap_px(SIZE)
    held = []
    widths = []
    for _ in range(100):
        project = camera(rng.choice(tilts), rng.uniform(0, 360))

        def shaky(points):
            return (np.array([project(p) if len(p) == 2 else p for p in points]) + rng.normal(0, tap / 2, (len(points), 2))).tolist()
        rims = [(np.array(rim) + rng.normal(0, tap / 2, (3, 2))).tolist() for rim in rims_of(sample, project)]
        told = tapped(sample, plane_of(shaky, tap), rims)
        off = drive_spread.spread(told)
        half = off["spans_mm"] + [off["effective_mm"]]
        held.append([abs(a - b) <= c for a, b, c in zip(spans(told) + [drive.solve(told)["effective_mm"]], true, half)])
        widths.append(half)
    return np.mean(held, axis=0), np.mean(widths, axis=0)


@pytest.mark.parametrize("name", ["automatic", "hydraulic", "slotted"])
def test_the_stated_error_holds_the_truth(name):
    """Taps that shake as much as they may, a tilt up to what is allowed for or removed: at least 95 of 100 hold the truth."""
    rng = np.random.default_rng(7)
    held, by_ruler = truth_inside(rng, name, lambda shaky, tap: phototaps.plane_by_distance(shaky([(-100, -40), (100, -40)]), 200.0, tap),
                                  [0.0, 2.0, 5.0])
    assert held.min() >= 0.9 and held.mean() >= 0.95
    large = [[-150.0, 260.0], [150.0, 260.0], [150.0, -40.0], [-150.0, -40.0]]
    held, by_corners = truth_inside(rng, name, lambda shaky, tap: phototaps.plane_by_rectangle(shaky(large), 300.0, 300.0, tap), [5.0, 15.0])
    assert held.min() >= 0.9 and held.mean() >= 0.95
    # A large rectangle is worth its four taps.
    assert (by_corners < by_ruler).all()


def test_the_route_lies_on_the_pulleys_in_the_picture():
    """The belt drawn over the photo, against a hull of the rims by Shapely: an open two-pulley belt is their hull."""
    sample = drive_samples.two(160, 80, 300)
    project = camera(12, 30)
    rims = rims_of(sample, project)
    plane = phototaps.plane_by_rectangle([project(p) for p in RECTANGLE], 210.0, 148.0, phototaps.tap_px(SIZE))
    found = phototaps.pulleys(plane, rims)
    lines = phototaps.outlines(found["to_picture"], found["pulleys"], drive.solve(tapped(sample, plane, rims)))
    around = rims_of(sample, project, 400)
    hull = shapely.MultiPoint([point for rim in around for point in rim]).convex_hull
    drawn = shapely.Polygon([point for line in lines["belt"] for point in line])
    assert drawn.hausdorff_distance(hull) < 1.0
    for line, rim in zip(lines["pulleys"], around):
        assert shapely.Polygon(line).hausdorff_distance(shapely.Polygon(rim)) < 1.0


# ---- bad input ----

def test_rim_points_on_one_line_are_refused():
    assert phototaps.circle([[0, 0], [10, 10], [20, 20.1]]) is None
    assert phototaps.circle([[5, 5], [5, 5], [5, 5]]) is None
    plane = phototaps.plane_by_distance([[0, 0], [1000, 0]], 200, 5)
    with pytest.raises(CoreError) as caught:
        phototaps.pulleys(plane, [[[0, 0], [100, 0], [50, 80]], [[300, 0], [400, 0], [500, 0]]])
    assert (caught.value.code, caught.value.values) == ("taps-on-line", {"pulley": "2"})


@pytest.mark.parametrize("corners", [
    [[0, 0], [500, 0], [0, 400], [500, 400]], [[0, 0], [500, 0], [1000, 0], [500, 400]], [[0, 0], [2, 0], [2, 2], [0, 2]],
    [[0, 0], [500, 0], [100, 100], [0, 500]]])
def test_corners_that_are_no_rectangle_are_refused(corners):
    with pytest.raises(CoreError) as caught:
        phototaps.plane_by_rectangle(corners, 210, 148, 5)
    assert caught.value.code == "taps-no-rectangle"


def test_a_pulley_beyond_the_horizon_is_refused():
    plane = phototaps.plane_by_rectangle([[600, 500], [800, 500], [1100, 900], [300, 900]], 210, 148, 5)
    with pytest.raises(CoreError) as caught:
        phototaps.pulleys(plane, [[[600, 700], [700, 800], [800, 700]], [[600, 10], [700, 60], [800, 10]]])
    assert (caught.value.code, caught.value.values) == ("taps-beyond", {"pulley": "2"})


def test_two_points_at_one_place_are_refused():
    with pytest.raises(CoreError) as caught:
        phototaps.plane_by_distance([[100, 100], [101, 100]], 200, 5)
    assert caught.value.code == "taps-close"
