"""Mistakes that planted changes showed no test would notice, in height and space: exact values."""

# ruff: noqa: RUF005 - an array plus a list is a shift here, no longer list

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.errors import GeometryError
from massing.geometry.gaps.asked import Gaps
from massing.geometry.gaps.candidates import (
    bounds,
    candidate_pairs,
    candidate_pairs_between,
    near_bounds,
)
from massing.geometry.gaps.frames import cross, dot, face_tables, frames_of, size_class
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.signed import directed_depth, signed_gaps
from massing.geometry.gaps.vertical import (
    apart_in_plan,
    clear_under,
    gap_below,
    gap_under,
    ring_gap,
    stepped_gap,
)
from massing.geometry.solids import Convex, Faces, box, hull, prism, prism_to_planes
from tests.oracles_corners import rectangle_round_corner, stands_that_tilt, tilt_up

NINE = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])


def worlds(*shapes):
    return np.stack([np.asarray(shape, dtype=float) for shape in shapes])


ROOM = np.array([[[0.0, 0.0], [3000.0, 0.0], [3000.0, 2400.0], [0.0, 2400.0]]])


def test_heights_under_two_planes_in_two_worlds():
    """A box to y 1800 under 2200 and under 1900 + y/10 or 3000 - y/2 (2080 or 2100 at its back)."""
    case = box([100, 800, 0], [600, 1800, 2000])
    planes = np.array([[[0.0, 0.0, 2200.0], [0.0, 0.1, 1900.0]],
                       [[0.0, 0.0, 2200.0], [0.0, -0.5, 3000.0]]])  # fmt: skip
    assert gap_under(case, ROOM, planes) == pytest.approx([-20.0, 100.0])
    assert gap_under(case.moved([5000, 0, 0]), ROOM, planes).tolist() == [np.inf, np.inf]
    assert gap_under(case.moved([2899.995, 0, 0]), ROOM, planes).tolist() == [np.inf, np.inf]
    assert gap_under(case.moved([2890.0, 0, 0]), ROOM, planes) == pytest.approx([-20.0, 100.0])
    # Seen from below: the least of 3000 - y/2 over only what lies under the polygon.
    half = ROOM * [1.0, 0.5]
    assert gap_under(case, half, planes) == pytest.approx([-20.0, 200.0])


def test_a_leaning_top_and_a_leaning_foot():
    """Top from 1000 at x 0 to 1400 at x 400 under a ceiling of 1500 - x/10: least at the far end.

    The foot, turned over, rises the same way over a floor at -100 and at 50.
    """
    ring = np.array([[0.0, 0], [400, 0], [400, 300], [0, 300]])
    wedge = prism_to_planes(ring, 0.0, [1000, 1400, 1400, 1000])
    plane = np.array([[[-0.1, 0.0, 1500.0]]])
    assert gap_under(wedge, ROOM, plane) == pytest.approx([1460.0 - 1400.0])
    strip = np.array([[[0.0, 0.0], [200.0, 0.0], [200.0, 2400.0], [0.0, 2400.0]]])
    assert gap_under(wedge, strip, plane) == pytest.approx([1480.0 - 1200.0])
    foot = hull([[0, 0, 200], [400, 0, 600], [400, 300, 600], [0, 300, 200],
                 [0, 0, 900], [400, 0, 900], [400, 300, 900], [0, 300, 900]])  # fmt: skip
    assert gap_below(foot, ROOM, np.array([-100.0, 50.0])) == pytest.approx([300.0, 150.0])
    right = np.array([[[200.0, 0.0], [900.0, 0.0], [900.0, 2400.0], [200.0, 2400.0]]])
    assert gap_below(foot, right, np.array([50.0])) == pytest.approx([350.0])
    assert gap_below(foot, right + [300.0, 0.0], np.array([50.0])).tolist() == [np.inf]
    level = box([0, 0, 120], [400, 300, 900])
    assert gap_below(level, right, np.array([50.0, 130.0])).tolist() == [70.0, -10.0]
    assert gap_below(level, right + [199.995, 0], np.array([50.0])).tolist() == [np.inf]


def test_the_least_height_over_what_two_polygons_share():
    """Ceiling 1000 + x/2 and 1600 - y over [200, 500] x [100, 400], floor 50 and 80."""
    one = np.array([[[0.0, 100], [500, 100], [500, 400], [0, 400]]])
    other = np.array([[[200.0, 0], [900, 0], [900, 900], [200, 900]]])
    roof = np.array([[[0.5, 0.0, 1000.0], [0.0, -1.0, 1600.0]]])
    assert ring_gap(one, other, roof, np.array([50.0, 80.0])) == pytest.approx([1050.0, 1020.0])
    assert ring_gap(one, other, roof[:, 1:], np.array([50.0])) == pytest.approx([1150.0])
    assert ring_gap(one, other + [800.0, 0], roof, np.array([50.0])).tolist() == [np.inf]


def test_plan_bounds_apart_on_either_axis_and_in_every_world_only():
    for shift, apart in (([9.5, 0], True), ([-9.5, 0], True), ([0, 9.5], True), ([0, -9.5], True),
                         ([8.5, 8.5], False), ([9.0, 0], False)):  # fmt: skip
        assert apart_in_plan(NINE[None], NINE[None] + shift) is apart
    both = worlds(NINE + 9.5, NINE + 8.5)
    assert apart_in_plan(worlds(NINE, NINE), both) is False


def test_what_bounds_keep_under_planes_is_the_worst_of_all():
    low = np.array([[[0.0, 0, 0], [100, 200, 0]], [[0, 0, 0], [100, 200, 0]]])
    high = low + [[[50, 60, 900]], [[50, 60, 950]]]
    planes = np.array([[[0.5, -0.25, 1000.0], [0.0, 0.0, 2000.0]]])
    # 1000 + x/2 - y/4 at the low x and the high y of each: 985 and 1050 - 65 = 985, less 950.
    assert clear_under(low, high, planes) == pytest.approx([35.0, 35.0])
    assert clear_under(low, high, planes[:, 1:]).tolist() == [1050.0, 1050.0]


def test_gaps_to_a_step_beside_it_and_over_it():
    inf = np.inf
    over = stepped_gap(np.array([12.0, inf, inf, inf]), np.array([12.0, 0.5, -40.0, 4.0]),
                       np.array([-5.0, 3.0, 3.0, -3.0]))  # fmt: skip
    assert over == pytest.approx([12.0, math.hypot(3.0, 0.5), 3.0, 4.0])
    beside = stepped_gap(np.array([inf, 12.0, -180.0, inf]), np.array([3.0, 12.0, -180.0, -1.0]),
                         np.array([4.0, -15.0, -15.0, 6.0]))  # fmt: skip
    assert beside == pytest.approx([5.0, 12.0, -15.0, 6.0])


# ---- gaps in space


def one_gap(a, b) -> Gaps:
    return signed_gaps([a, b], np.array([[0, 1]]))


def slab(low, high):
    """A box that is not known to be upright, so that it goes the general way."""
    solid = box(low, high)
    return Convex(solid.corners, Faces(solid.faces.rings))


@pytest.mark.parametrize("make", [box, slab])
def test_gaps_directions_and_places_of_two_boxes(make):
    """Over a face, an edge and a corner, and pushed out by each way."""
    one = make([0, 0, 0], [10, 20, 30])
    cases = (
        ([14, 5, 6], [20, 9, 12], 4.0, [1, 0, 0], [12.0, 7.0, 9.0]),
        ([-9, 5, 6], [-4, 9, 12], 4.0, [-1, 0, 0], [-2.0, 7.0, 9.0]),
        ([13, 24, 6], [20, 30, 12], 5.0, [0.6, 0.8, 0], [11.5, 22.0, 9.0]),
        ([13, 2, 34], [20, 8, 40], 5.0, [0.6, 0, 0.8], [11.5, 5.0, 32.0]),
        ([12, 23, 36], [20, 30, 40], 7.0, [2 / 7, 3 / 7, 6 / 7], [11.0, 21.5, 33.0]),
        ([2, 3, 28], [6, 9, 40], -2.0, [0, 0, 1], [4.0, 6.0, 29.0]),
        ([2, 17, 6], [6, 40, 12], -3.0, [0, 1, 0], [4.0, 18.5, 9.0]),
        ([10, 4, 6], [20, 8, 12], 0.0, [1, 0, 0], [10.0, 6.0, 9.0]),
    )
    for low, high, gap, normal, at in cases:
        for first, second, sign in ((one, make(low, high), 1), (make(low, high), one, -1)):
            found = one_gap(first, second)
            assert found.gap[0, 0] == pytest.approx(gap, abs=1e-9)
            assert found.normal[0, 0] == pytest.approx(sign * np.array(normal), abs=1e-9)
            if make is box or gap >= 0.0:
                assert found.at[0, 0] == pytest.approx(np.array(at), abs=1e-5)


def test_plan_gaps_of_a_square_and_a_diamond_both_ways():
    """Corner to side: the diamond's west corner 3 east; side to corner: over (9, 9) by 2."""
    reach = math.sqrt(2.0)
    east = np.array([[12.0, 4.0], [16.0, 0.0], [20.0, 4.0], [16.0, 8.0]])
    for first, second, sign in ((NINE, east, 1.0), (east, NINE, -1.0)):
        found = polygon_gap(first, second)
        assert found.gap.tolist() == [3.0]
        assert found.normal[0] == pytest.approx([sign, 0.0])
        assert found.at[0] == pytest.approx([10.5, 4.0], abs=1e-5)
    # x + y >= 18 + 2 sqrt 2 is 2 from the corner (9, 9), which meets the middle of that side.
    over = 9.0 + 2.0 * reach + np.array([[-5.0, 5.0], [5.0, -5.0], [5.0, 5.0]]) - reach
    found = polygon_gap(NINE, over)
    assert found.gap[0] == pytest.approx(2.0)
    assert found.normal[0] == pytest.approx([1 / reach, 1 / reach])
    assert found.at[0] == pytest.approx([9.0 + 1 / reach] * 2, abs=1e-5)
    corner = polygon_gap(NINE, NINE + [12.0, 13.0])
    assert corner.gap.tolist() == [5.0]
    assert corner.at[0] == pytest.approx([10.5, 11.0])
    slope = np.array([[12 - 6 - 4.0, 12.0], [12.0, 12 - 6 - 4.0], [12.0, 12.0]])
    found = polygon_gap(NINE, slope)  # x + y >= 14, into the corner by 4 / sqrt 2
    assert found.gap[0] == pytest.approx(-4.0 / reach)
    assert found.normal[0] == pytest.approx([1 / reach, 1 / reach])


def test_crossed_bars_are_as_far_as_their_edges():
    """Two bars turned on edge, square to each other, 5 apart: edge to edge, neither a face."""
    r = math.sqrt(2.0)
    lower = hull([[x, y, z] for x in (-50, 50) for y, z in ((0, r), (r, 0), (0, -r), (-r, 0))])
    upper = hull([[x, y, z + 2 * r + 5] for y in (-50, 50) for x, z in
                  ((0, r), (r, 0), (0, -r), (-r, 0))])  # fmt: skip
    found = one_gap(lower, upper)
    assert found.gap[0, 0] == pytest.approx(5.0)
    assert found.normal[0, 0] == pytest.approx([0, 0, 1], abs=1e-9)
    assert found.at[0, 0] == pytest.approx([0, 0, r + 2.5], abs=1e-5)
    sunk = one_gap(lower, upper.moved([0, 0, -6]))
    assert sunk.gap[0, 0] == pytest.approx(-1.0)
    assert sunk.normal[0, 0] == pytest.approx([0, 0, 1], abs=1e-9)


def test_depth_along_a_direction_is_box_arithmetic():
    """Out of a box along d the least of (reach along each axis) / |d| that gains on it."""
    a, b = slab([0, 0, 0], [10, 10, 10]), slab([7, 4, 2], [30, 30, 30])
    for way in ([-1, 0, 0], [0, -1, 0], [0, 0, -1], [-0.6, -0.8, 0], [-0.6, 0, 0.8], [1, 0, 0]):
        out = []
        for axis, (back, on) in enumerate(((3.0, 30.0), (6.0, 30.0), (8.0, 30.0))):
            if way[axis] < 0:
                out.append(back / -way[axis])
            elif way[axis] > 0:
                out.append(on / way[axis])
        assert directed_depth(a, b, np.array(way, float)) == pytest.approx([min(out)]), way
    assert directed_depth(a, b.moved([4, 0, 0]), np.array([-1.0, 0, 0])).tolist() == [0.0]


def test_frames_hold_what_they_say_and_are_padded_by_nothing():
    tall = box([0, 0, 0], [2, 3, 6])
    small = hull([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    frame = frames_of([small, tall], 0, 1)
    assert frame.corners.shape == (3, 8, 2)
    assert sorted(frame.lengths[:, 1].tolist()) == [2.0] * 4 + [3.0] * 4 + [6.0] * 4
    assert (frame.lengths[6:, 0] < 0).all()
    assert np.abs(frame.ways[:, 6:, 0]).max() == 0.0
    assert dot(frame.normals, frame.normals) == pytest.approx(np.ones((6, 2)))
    reach = {tuple(n): d for n, d in zip(frame.normals[:, :, 1].T.tolist(),
                                         frame.levels[:, 1].tolist(), strict=True)}  # fmt: skip
    assert reach == {(1, 0, 0): 2, (-1, 0, 0): 0, (0, 1, 0): 3, (0, -1, 0): 0, (0, 0, 1): 6,
                     (0, 0, -1): 0}  # fmt: skip
    assert dot(frame.left, frame.right)[:, 1] == pytest.approx(np.zeros(12))
    moved = frame.moved(np.array([[0.0, 1.0], [0.0, 2.0], [0.0, 3.0]]))
    again = frames_of([small, tall.moved([1, 2, 3])], 0, 1)
    for name in ("corners", "normals", "levels", "heads", "ways", "left", "right"):
        assert getattr(moved, name) == pytest.approx(getattr(again, name)), name
    rings, edges, sides = face_tables(tall.faces)
    assert (rings.shape, edges.shape) == ((6, 4), (12, 2))
    assert (sides >= 0).all()
    assert (size_class(small.faces), size_class(tall.faces)) == (0, 2)
    x, y = np.array([1.0, 2.0, 3.0]), np.array([4.0, -5.0, 7.0])
    assert cross(x, y).tolist() == np.cross(x, y).tolist()


def test_an_open_edge_and_a_face_without_area_are_known_as_such():
    """A face missing: its edges have a side unknown. A ring on a line has no normal."""
    solid = box([0, 0, 0], [2, 3, 6])
    _, _, sides = face_tables(Faces(solid.faces.rings[1:]))
    assert int((sides < 0).all(axis=1).sum()) == 4
    flat = Convex(solid.corners, Faces((*solid.faces.rings, (0, 1, 1))))
    frame = frames_of([flat], 0, 1)
    assert np.abs(frame.normals[:, 6]).max() == 0.0


def test_pairs_within_reach_as_the_crow_flies():
    """Corner to corner 3, 4 apart: within 5 and not within 4.999; flush at 0; both ways round."""
    row = [
        box([0, 0, 0], [10, 10, 10]),
        box([13, 14, 0], [20, 20, 10]),
        box([10, 0, 0], [12, 9, 9]),
    ]
    assert candidate_pairs(row, 0.0).tolist() == [[0, 2]]
    assert candidate_pairs(row, 4.999).tolist() == [[0, 2]]
    assert candidate_pairs(row, 5.0).tolist() == [[0, 1], [0, 2]]
    assert candidate_pairs(row, 5.1).tolist() == [[0, 1], [0, 2], [1, 2]]
    assert candidate_pairs_between(row[:1], row[1:], 5.0).tolist() == [[0, 0], [0, 1]]
    assert candidate_pairs_between(row[1:], row[:1], 5.0).tolist() == [[0, 0], [1, 0]]
    assert candidate_pairs([], 5.0).shape == (0, 2)
    assert candidate_pairs(row[:1], 5.0).shape == (0, 2)
    alone = near_bounds(np.zeros((1, 3)), np.ones((1, 3)), 5.0)
    assert [each.shape for each in alone] == [(0,), (0,)]
    low, high = bounds([Convex(worlds(NINE3, NINE3 + 5.0), row[0].faces)])
    assert (low.tolist(), high.tolist()) == ([[0, 0, 0]], [[15, 15, 15]])


NINE3 = box([0, 0, 0], [10, 10, 10]).corners[0]


# ---- corners and tilting


def test_turning_limits_where_there_is_a_closed_form():
    """Equal passages: 2 (a sqrt 2 - t), thin or thick; a thick piece is bound by the passage."""
    for t in (0.0, 0.1, 0.3):
        assert rectangle_round_corner(0.9, 0.9, t) == pytest.approx(
            2.0 * (0.9 * math.sqrt(2.0) - t), rel=1e-8
        )
    assert rectangle_round_corner(3.0, 4.0, 0.0) == pytest.approx(
        (3 ** (2 / 3) + 4 ** (2 / 3)) ** 1.5
    )
    assert rectangle_round_corner(1.0, 9.0, 0.99) == pytest.approx(9.0, abs=0.3)
    assert rectangle_round_corner(1.0, 2.0, 1.0) >= 2.0
    for bad in ((0.0, 1.0, 0.1), (1.0, math.nan, 0.1), (1.0, 1.0, -0.1)):
        with pytest.raises(GeometryError):
            rectangle_round_corner(*bad)


def test_tilting_under_a_slope_and_a_level_part():
    """Cabinet 1850 x 600: diagonal 1944.87. Level 2000 leaves 55.13 at atan(600/1850)."""
    diagonal = math.hypot(1850, 600)
    tilt = tilt_up(1850, 600, 0, [[2000.0, 0.0]])
    assert tilt.gap == pytest.approx(2000.0 - diagonal)
    assert tilt.angle == pytest.approx(math.atan2(600, 1850))
    assert tilt_up(1850, 600, 700, [[2000.0, 0.0]]).gap == pytest.approx(2000.0 - diagonal)
    rising = tilt_up(1850, 600, 0, [[1900.0, 0.1]])
    assert tilt_up(1850, 600, 250, [[1900.0, 0.1]]).gap == pytest.approx(rising.gap + 25.0)
    both = tilt_up(1850, 600, 250, [[1900.0, 0.1], [1960.0, 0.0]])
    assert both.gap == pytest.approx(min(rising.gap + 25.0, 1960.0 - diagonal))
    least, most = stands_that_tilt(1850, 600, [[1500.0, 0.5], [2500.0, -0.25]])
    assert tilt_up(1850, 600, least, [[1500.0, 0.5]]).gap == pytest.approx(0.0, abs=1e-9)
    assert tilt_up(1850, 600, most, [[2500.0, -0.25]]).gap == pytest.approx(0.0, abs=1e-9)
    assert stands_that_tilt(1850, 600, [[diagonal, 0.0]]) is not None
    assert stands_that_tilt(1850, 600, [[diagonal - 0.01, 0.0]]) is None
    # Low over the wall and steep: the back's upper corner is what counts, upright, at angle 0.
    steep = tilt_up(1000, 600, 0, [[1000.0, 2.0]])
    assert (steep.gap, steep.angle) == (pytest.approx(0.0), 0.0)


def test_prisms_share_worlds_and_tops():
    solid = prism(worlds(NINE, NINE * 2.0), np.array([0.0, 1.0]), 5.0)
    assert solid.volume.tolist() == [405.0, 324.0 * 4.0]
    assert solid.low.tolist() == [[0, 0, 0], [0, 0, 1]]
    assert solid.high.tolist() == [[9, 9, 5], [18, 18, 5]]
    sloped = prism_to_planes(NINE, 1.0, [3.0, 3.0, 6.0, 6.0])
    assert sloped.volume == pytest.approx([81.0 * 3.5])
