"""Mistakes that planted changes showed no test would notice in plan: exact values."""

# ruff: noqa: RUF005 - an array plus a list is a shift here, no longer list

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.errors import GeometryError
from massing.geometry import pieces
from massing.geometry.clip import clip_solid, prism_planes, volume_and_middle
from massing.geometry.outline import counter_clockwise, outline_of, plan_hull, shared_sides
from massing.geometry.overlap import common_volume, overlap_volume, union_volume
from massing.geometry.plan_parts import convex_parts, outside
from massing.geometry.polygons import (
    CUT,
    Ring,
    area,
    bounds_apart,
    centroid,
    contains,
    deeper_than,
    distances,
    highest_over,
    line_through,
    meet,
    overlap,
    side_lines,
    split,
    touching,
)
from massing.geometry.solids import Convex, Faces, box, hull

NINE = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])


def worlds(*shapes):
    return np.stack([np.asarray(shape, dtype=float) for shape in shapes])


# ---- lines and rings


def test_lines_in_two_worlds_by_hand():
    line = line_through(np.array([[0.0, 0.0], [1.0, 2.0]]), np.array([[4.0, 3.0], [5.0, 5.0]]))
    assert line == pytest.approx(np.array([[-0.6, 0.8, 0.0], [-0.6, 0.8, -1.0]]))
    same = np.array([[3.0, 4.0]])
    assert np.abs(line_through(same, same)).max() == 0.0
    points = worlds([[0.0, 5.0], [5.0, 0.0]], [[0.0, 5.0], [5.0, 0.0]])
    assert distances(points, line) == pytest.approx(np.array([[4.0, -3.0], [3.0, -4.0]]))
    one = np.array([[1.0, 0.0, -3.0], [0.6, 0.8, -5.0]])
    other = np.array([[0.0, 1.0, -7.0], [-0.8, 0.6, 10.0]])
    assert meet(one, other) == pytest.approx(np.array([[3.0, 7.0], [11.0, -2.0]]))
    lines = side_lines(Ring.of(NINE))
    assert [each[0].tolist() for each in lines] == [[0, 1, 0], [-1, 0, 9], [0, -1, 9], [1, 0, 0]]


def test_area_and_centroid_of_a_trapezium_far_off():
    """Sides 6 and 2 over a height of 3: area 12, centre h/3 (6 + 2·2)/(6 + 2) = 1.25 up."""
    trapezium = np.array([[0.0, 0.0], [6.0, 0.0], [2.0, 3.0], [0.0, 3.0]])
    far = worlds(trapezium, trapezium[::-1]) + [5000.0, -700.0]
    assert area(far).tolist() == [12.0, -12.0]
    parts = (2.0 * 3.0 * 1.0 + 0.5 * 4.0 * 3.0 * (2.0 + 4.0 / 3.0)) / 12.0
    assert centroid(far) == pytest.approx(np.array([[5000.0 + parts, -698.75]] * 2))
    flat = worlds([[3.0, 4.0], [5.0, 4.0], [8.0, 4.0]])
    assert centroid(flat).tolist() == [[3.0, 4.0]]


def test_a_split_names_its_sides_and_keeps_what_is_on_the_line():
    """Along the diagonal, off a corner by more and by less than 1e-6, and past the whole."""
    ring = Ring.of(NINE)
    left, right = split(ring, line_through(NINE[None, 0], NINE[None, 2]), 7)
    assert (left.points[0].tolist(), left.sides) == ([[0, 0], [9, 9], [0, 9]], (7, 2, 3))
    assert (right.points[0].tolist(), right.sides) == ([[0, 0], [9, 0], [9, 9]], (0, 1, 7))
    low, high = split(ring, np.array([[0.0, -1.0, 3.0]]))
    assert (low.points[0].tolist(), low.sides) == (
        [[0, 0], [9, 0], [9, 3], [0, 3]], (0, 1, CUT, 3),
    )  # fmt: skip
    assert (high.points[0].tolist(), high.sides) == (
        [[9, 3], [9, 9], [0, 9], [0, 3]], (1, 2, 3, CUT),
    )  # fmt: skip
    for off, whole in ((0.5e-6, True), (2e-6, False)):
        kept, gone = split(ring, np.array([[1.0, 0.0, -off]]))
        assert (kept is ring, gone is None) == (whole, whole)
        gone, kept = split(ring, np.array([[-1.0, 0.0, off]]))
        assert (kept is ring, gone is None) == (whole, whole)


def test_a_split_is_worked_out_in_each_world_and_held_to_its_side():
    ring = Ring(worlds(NINE, NINE * 2.0, NINE + 30.0), (0, 1, 2, 3))
    left, right = split(ring, np.array([[1.0, 0.0, -3.0]] * 3))
    assert left.points[:, 0].tolist() == [[3.0, 0.0], [3.0, 0.0], [30.0, 30.0]]
    assert right.points[:, 1].tolist() == [[3.0, 0.0], [3.0, 0.0], [30.0, 30.0]]


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_bounds_that_touch_are_apart_and_a_hair_more_is_not(axis, sign):
    shift = np.zeros(2)
    for size, apart in ((9.0, True), (9.0 - 0.5e-6, True), (9.0 - 2e-6, False), (12.0, True)):
        shift[axis] = sign * size
        assert bounds_apart(NINE[None], (NINE + shift)[None]) is apart
        assert (overlap(Ring.of(NINE), Ring.of(NINE + shift)) is None) is apart


def test_a_diamond_whose_bounds_meet_a_square_may_be_apart_or_cut_its_corner():
    """|x - 12| + |y - 12| <= r meets the corner (9, 9) from r = 6 on."""
    for r, left in ((5.9, 0.0), (7.0, 0.5), (8.0, 2.0)):
        diamond = Ring.of([[12 - r, 12], [12, 12 - r], [12 + r, 12], [12, 12 + r]])
        found = overlap(Ring.of(NINE), diamond)
        assert (0.0 if found is None else float(area(found.points)[0])) == pytest.approx(left)
        if found is not None:
            assert found.sides == (1, 2, CUT)


@pytest.mark.parametrize("quarter", range(4))
def test_touching_is_told_from_near_and_from_end_to_end(quarter):
    c, s = round(math.cos(quarter * math.pi / 2)), round(math.sin(quarter * math.pi / 2))
    turn = np.array([[c, s], [-s, c]], dtype=float)

    def beside(gap, along):
        other = (NINE + [9.0 + gap, along]) @ turn
        return touching(Ring.of(NINE @ turn), Ring.of(other))

    assert beside(0.0, 0.0)
    assert beside(0.0, 8.9)
    assert beside(0.0, -8.9)
    assert beside(0.5e-3, 3.0)
    assert not beside(2e-3, 3.0)
    assert not beside(0.0, 9.0)
    assert not beside(0.0, -9.0)
    assert not beside(0.0, 12.0)


def test_slack_is_a_distance_whatever_the_length_of_the_side():
    ring = worlds(NINE, NINE * 100.0)
    points = worlds([[-0.4, 4.0], [-0.6, 4.0]], [[-0.4, 4.0], [900.6, 4.0]])
    assert contains(ring, points, 0.5).tolist() == [[True, False], [True, False]]
    assert contains(ring, points).tolist() == [[False, False], [False, False]]
    assert contains(ring, worlds([[-0.5e-6, 4.0]], [[-2e-6, 4.0]])).tolist() == [[True], [False]]


def test_the_highest_over_what_two_share():
    """Plane 2x - y + 1 over [5, 9] x [3, 9]: 18 - 3 + 1; over a diamond's corner, at a crossing."""
    other = NINE + [5.0, 3.0]
    plane = np.array([[2.0, -1.0, 1.0]])
    assert highest_over(NINE[None], other[None], plane, 0.01).tolist() == [16.0]
    assert highest_over(NINE[None], (NINE + [8.995, 0.0])[None], plane, 0.01).tolist() == [-np.inf]
    diamond = np.array([[4.0, 12.0], [12.0, 4.0], [20.0, 12.0], [12.0, 20.0]])
    # x + y >= 16 within the square: corners (7, 9), (9, 7), (9, 9); 3x - y is most at (9, 7).
    steep = np.array([[3.0, -1.0, 0.0]])
    assert highest_over(NINE[None], diamond[None], steep, 0.01) == pytest.approx([20.0])
    assert highest_over(diamond[None], NINE[None], steep, 0.01) == pytest.approx([20.0])


@pytest.mark.parametrize("swap", [False, True])
def test_depth_of_two_rings_against_a_limit(swap):
    """Into the corner by 1 along the diagonal's normal: sides of both are asked."""
    r = 6.0 + math.sqrt(2.0)
    diamond = np.array([[12 - r, 12], [12, 12 - r], [12 + r, 12], [12, 12 + r]])
    pair = (NINE[None], diamond[None])[:: -1 if swap else 1]
    assert [bool(deeper_than(*pair, least)[0]) for least in (0.999, 1.001)] == [True, False]
    doubled = np.concatenate([NINE, NINE[-1:]])
    assert deeper_than(doubled[None], (NINE + 8.0)[None], 0.5).tolist() == [True]


# ---- taking outlines apart


def test_how_far_corners_stand_out():
    """The notch of the L stands in by 5·4/5 = 4 from the longer neighbour."""
    ell = np.array([[0.0, 0], [9, 0], [9, 4], [5, 4], [5, 9], [0, 9]])
    assert pieces.turns(ell) == pytest.approx([9.0, 4.0, 4.0, -4.0, 5.0, 5.0])


def test_an_inward_corner_is_cut_along_the_shorter_way():
    """The notch (5, 4): down to y = 0 is 4, left to x = 0 is 5."""
    ell = Ring.of([[0, 0], [9, 0], [9, 4], [5, 4], [5, 9], [0, 9]])
    parts = pieces.convex_parts(ell)
    assert sorted(float(area(part.points)[0]) for part in parts) == [16.0, 45.0]
    for part in parts:
        for line, side in zip(side_lines(part), part.sides, strict=True):
            if side != CUT:
                assert np.abs(distances(ell.points[:, [side, (side + 1) % 6]], line)).max() < 1e-9


def test_a_hull_leaves_out_what_is_straight_and_what_is_within():
    points = np.array([[4.0, 4.0], [0.0, 0.0], [4.0, 0.0], [8.0, 0.0], [8.0, 8.0], [0.0, 8.0],
                       [0.0, 3.0]])  # fmt: skip
    assert pieces.hull_corners(points) == (1, 3, 4, 5)
    moved = points.copy()
    moved[2, 1] = -0.001
    assert pieces.hull_corners(moved) == (1, 2, 3, 4, 5)
    assert plan_hull(worlds(points, points * 2.0))[1].tolist() == [
        [0.0, 0.0], [16.0, 0.0], [16.0, 16.0], [0.0, 16.0],
    ]  # fmt: skip


def test_sides_cross_when_they_meet_at_all():
    ell = np.array([[0.0, 0], [9, 0], [9, 4], [5, 4], [5, 9], [0, 9]])
    assert pieces.crossing_sides(ell) == ()
    touching_notch = ell.copy()
    touching_notch[3] = [5.0, 0.0]
    # The pulled corner lies on side 0, so both its sides meet it.
    assert pieces.crossing_sides(touching_notch) == ((0, 2), (0, 3))
    through = ell.copy()
    through[3] = [5.0, -1.0]
    assert pieces.crossing_sides(through) == ((0, 2), (0, 3))


def test_parts_of_rings_with_holes_cover_what_is_left():
    frame = [[0, 0], [10, 0], [10, 8], [0, 8]]
    hole = [[2, 2], [2, 5], [6, 5], [6, 2]]
    parts = convex_parts(frame, hole)
    assert sum(float(area(part[None])[0]) for part in parts) == pytest.approx(80.0 - 12.0)
    assert all(float(area(part[None])[0]) > 0 for part in parts)
    assert len(parts) == 4
    bow = convex_parts([[0, 0], [4, 0], [4, 0], [8, 0], [8, 3], [0, 3]])
    assert [part.tolist() for part in bow] == [[[0, 0], [8, 0], [8, 3], [0, 3]]]
    (segment,) = convex_parts([[1.0, 2.0], [7.0, 2.0], [4.0, 2.0]])
    assert segment.tolist() == [[1.0, 2.0], [7.0, 2.0]]
    for bad in ([[1.0, 2.0]], [[1.0, np.nan], [0, 0], [1, 1]], [[1.0, 2.0, 3.0]] * 3):
        with pytest.raises(GeometryError):
            convex_parts(bad)
    # An arrow: 8 less the notch of 2, three of its four parts triangles.
    arrow = convex_parts([[0, 0], [4, 2], [0, 4], [1, 2]])
    assert sum(float(area(part[None])[0]) for part in arrow) == pytest.approx(6.0)
    around = outside([np.array([[0.0, 0], [10, 0], [10, 8], [0, 8]])], 5.0)
    assert sum(float(area(part[None])[0]) for part in around) == pytest.approx(20 * 18 - 80)


# ---- outlines and cuts


def test_outlines_of_a_leaning_solid_and_shared_sides():
    wedge = hull([[0, 0, 0], [4, 0, 0], [4, 3, 0], [0, 3, 0], [2, 1, 5], [6, 1, 5]])
    ring = outline_of(wedge)
    assert ring.shape[0] == 1
    assert ring[0].tolist() == [[0.0, 0.0], [4.0, 0.0], [6.0, 1.0], [4.0, 3.0], [0.0, 3.0]]
    two = Convex(worlds(box([0, 0, 0], [2, 1, 1]).corners[0], box([0, 0, 0], [3, 1, 1]).corners[0]),
                 box([0, 0, 0], [2, 1, 1]).faces)  # fmt: skip
    assert outline_of(two)[:, 1].tolist() == [[2.0, 0.0], [3.0, 0.0]]
    clock = NINE[::-1]
    assert counter_clockwise(clock).tolist() == NINE.tolist()
    assert counter_clockwise(NINE) is NINE
    both = worlds(clock, clock * 2.0)
    assert counter_clockwise(both)[1].tolist() == (NINE * 2.0).tolist()


@pytest.mark.parametrize("turn", [0.0, 33.0, 200.0])
def test_shared_stretches_are_as_long_as_they_are(turn):
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    way = np.array([[c, s], [-s, c]])

    def lengths(gap, along):
        found = shared_sides(NINE @ way, (NINE + [9.0 + gap, along]) @ way)
        return [float(np.hypot(*(q - p))) for p, q in found]

    assert lengths(0.0, 0.0) == pytest.approx([9.0])
    assert lengths(0.0, 7.0) == pytest.approx([2.0])
    assert lengths(0.0, -5.0) == pytest.approx([4.0])
    assert lengths(0.009, 2.0) == pytest.approx([7.0])
    assert lengths(0.02, 2.0) == []
    assert lengths(0.0, 8.995) == []
    assert lengths(0.0, 11.0) == []


def test_cuts_of_a_box_in_closed_form():
    """A half, a corner, a corner off twice, the whole and nothing; normals need not be unit."""
    cube = box([0, 0, 0], [2, 2, 2])

    def left(*planes):
        found = clip_solid(cube, np.array(planes, dtype=float))
        return None if found is None else float(found.volume[0])

    assert left([5, 0, 0, 5]) == pytest.approx(4.0)
    assert left([1, 0, 0, 1], [0, 1, 0, 1], [0, 0, 1, 1]) == pytest.approx(1.0)
    assert left([1, 1, 1, 1]) == pytest.approx(1.0 / 6.0)
    assert left([1, 1, 1, 5]) == pytest.approx(8.0 - 1.0 / 6.0)
    assert left([1, 1, 0, 2], [0, 0, 1, 1]) == pytest.approx(2.0)
    assert left([-1, 0, 0, -2]) is None
    assert left([-1, 0, 0, -3]) is None
    assert left([1, 0, 0, 2]) == left([1, 0, 0, 9]) == pytest.approx(8.0)
    assert left([1, 0, 0, 1], [-1, 0, 0, -1]) is None
    # A plane through four corners, then one that leaves a wedge of it.
    assert left([1, 0, 1, 2], [0, 1, 0, 0.5]) == pytest.approx(1.0)
    third = clip_solid(cube, np.array([[1.0, 1.0, 1.0, 3.0]]))
    assert float(third.volume[0]) == pytest.approx(4.0)
    assert len(third.faces.rings) == 7
    assert third.corners.shape[1] == 10


def test_volume_and_middle_of_a_tetrahedron_off_the_origin():
    corner = hull(np.array([[0, 0, 0], [6, 0, 0], [0, 3, 0], [0, 0, 2.0]]) + [10, 20, 30])
    volume, middle = volume_and_middle(corner)
    assert volume == pytest.approx(6.0)
    assert middle == pytest.approx([11.5, 20.75, 30.5])
    flat = Convex(np.array([[[0.0, 0, 0], [2, 0, 0], [0, 4, 0], [0, 0, 0]]]),
                  Faces(((0, 1, 2), (0, 2, 3), (0, 3, 1), (1, 3, 2))))  # fmt: skip
    volume, middle = volume_and_middle(flat)
    assert (volume, middle.tolist()) == (0.0, [0.5, 1.0, 0.0])
    rows = prism_planes(np.array([[0.0, 0], [4, 3], [-3, 4]]))
    assert rows[0] == pytest.approx([0.6, -0.8, 0.0, 0.0])
    assert rows[1] == pytest.approx(np.array([1.0, 7.0, 0.0, 25.0]) / np.array([50**0.5] * 2 + [1] + [50**0.5]))  # noqa: E501  # fmt: skip


def test_volumes_shared():
    one, other = box([0, 0, 0], [4, 4, 4]), box([1, 2, 3], [9, 9, 9])
    assert overlap_volume(one, other) == pytest.approx(3.0 * 2.0 * 1.0)
    assert overlap_volume(one, box([4, 0, 0], [5, 4, 4])) == 0.0
    assert overlap_volume(one, box([5, 5, 5], [6, 6, 6])) == 0.0
    assert union_volume([one, other]) == pytest.approx(64.0 + 8 * 7 * 6 - 6.0)
    assert union_volume([]) == 0.0
    assert common_volume([one], []) == common_volume([], [one]) == 0.0
    assert common_volume([one, one], [other, other]) == pytest.approx(6.0)
    # A lens thicker than the promised accuracy is told, as thin as it is.
    assert overlap_volume(one, box([3.99999, 0, 0], [9, 4, 4])) == pytest.approx(1.6e-4, rel=1e-6)
