"""Tests for plan polygons in many worlds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.geometry.pieces import convex_parts, crossing_sides, hull_corners, turns
from massing.geometry.polygons import (
    Ring,
    area,
    centroid,
    contains,
    distances,
    highest_over,
    inside_of,
    line_through,
    meet,
    outside_of,
    overlap,
    side_lines,
    split,
    touching,
)

pytestmark = pytest.mark.filterwarnings("error")

seeds = st.integers(0, 2**32 - 1)


def convex_polygon(rng, corners=7, size=3000.0):
    """Corners on an ellipse, in order: always strictly convex."""
    angles = np.sort(rng.uniform(0, 2 * np.pi, corners))
    angles = angles[np.concatenate([[True], np.diff(angles) > 0.05])]
    if len(angles) < 3 or np.diff(np.append(angles, angles[0] + 2 * np.pi)).max() > 3.0:
        angles = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    centre = rng.uniform(-500, 500, 2)
    radii = rng.uniform(0.3, 1.0, 2) * size
    return centre + radii * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def star_polygon(rng, corners=14, size=3000.0):
    """Corners at every bearing in turn, at any distance: simple, and mostly not convex."""
    angles = 2 * np.pi * (np.arange(corners) + rng.uniform(-0.3, 0.3, corners)) / corners
    radii = rng.uniform(0.15, 1.0, corners) * size
    return radii[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def right_angled_polygon(rng, steps=4, size=3000.0):
    """A staircase between two walls: many corners in line with one another."""
    xs = np.sort(rng.choice(np.arange(1, 30), steps, replace=False)) * size / 30
    ys = np.sort(rng.choice(np.arange(1, 30), steps, replace=False))[::-1] * size / 30
    points = [(0.0, 0.0), (xs[-1], 0.0)]
    for k in range(steps - 1, -1, -1):
        points.append((xs[k], ys[k]))
        points.append((xs[k - 1] if k else 0.0, ys[k]))
    return np.array(points)


def worlds_of(rng, points, count=4, by=3.0):
    """The nominal polygon, then shaken ones."""
    shaken = points + rng.uniform(-by, by, (count, *points.shape))
    shaken[0] = points
    return shaken


@given(seeds)
def test_a_split_keeps_the_area_in_every_world_and_each_part_on_its_side(seed):
    """Left and right add up, and no corner of a part is across the line in world 0."""
    rng = np.random.default_rng(seed)
    ring = Ring.of(worlds_of(rng, convex_polygon(rng)))
    ends = rng.uniform(-2000, 2000, (2, 1, 2))
    line = line_through(np.repeat(ends[0], 4, axis=0), np.repeat(ends[1], 4, axis=0))
    left, right = split(ring, line)
    parts = [part for part in (left, right) if part is not None]

    assert sum(area(part.points) for part in parts) == pytest.approx(area(ring.points), rel=1e-12)
    for part, sign in ((left, 1), (right, -1)):
        if part is not None:
            assert (sign * distances(part.points, line)[0] >= -1e-6).all()
            assert len(part.sides) == part.points.shape[1]


@given(seeds)
def test_a_split_corner_is_where_its_own_side_meets_the_line_in_every_world(seed):
    """Every new corner lies on the cutting line and on the side it was found on."""
    rng = np.random.default_rng(seed)
    ring = Ring.of(worlds_of(rng, convex_polygon(rng)))
    aim = rng.uniform(-200, 200, (2, 1, 2)) + ring.points.mean(axis=(0, 1))
    line = line_through(np.repeat(aim[0], 4, axis=0), np.repeat(aim[1] + 900, 4, axis=0))
    left, right = split(ring, line)
    if left is None or right is None:
        return
    clear = np.abs(distances(ring.points, line)).min() > 10
    for part in (left, right):
        k = part.sides.index(-1)
        ends = part.points[:, [k, (k + 1) % len(part.sides)]]
        if clear:
            assert np.abs(distances(ends, line)).max() < 1e-9


@given(seeds)
def test_overlap_and_what_is_beyond_it_part_a_ring(seed):
    """Area within another ring plus area beyond it is the area, and agrees with shapely."""
    import shapely

    rng = np.random.default_rng(seed)
    one, other = Ring.of(convex_polygon(rng)), Ring.of(convex_polygon(rng))
    both = overlap(one, other)
    beyond = outside_of(one, side_lines(other))
    within = 0.0 if both is None else float(area(both.points)[0])
    truth = shapely.Polygon(one.points[0]).intersection(shapely.Polygon(other.points[0])).area

    assert within == pytest.approx(truth, rel=1e-9, abs=1e-3)
    assert within + sum(float(area(b.points)[0]) for b in beyond) == pytest.approx(
        float(area(one.points)[0]), rel=1e-9
    )


@given(seeds)
def test_one_world_overlaps_as_many_do(seed):
    """Worked in plain numbers, one world keeps the corners and the labels that arrays keep."""
    rng = np.random.default_rng(seed)
    if seed % 2:
        one, other = convex_polygon(rng), convex_polygon(rng)
    else:  # sides that lie on one another, and corners that only touch
        squares = rng.integers(0, 4, (2, 1, 2)) + np.array([[0, 0], [2, 0], [2, 2], [0, 2]])
        one, other = squares.astype(float)
    alone = overlap(Ring.of(one), Ring.of(other))
    several = overlap(Ring.of(np.stack([one] * 3)), Ring.of(np.stack([other] * 3)))

    assert (alone is None) == (several is None)
    if alone is not None and several is not None:
        assert alone.sides == several.sides
        assert np.abs(several.points - alone.points).max() < 1e-9


@settings(deadline=None)
@given(seeds, st.sampled_from([star_polygon, right_angled_polygon]))
def test_convex_parts_are_convex_disjoint_and_cover(seed, shape):
    """Areas add up in every world, each part is convex in world 0, and no two overlap."""
    rng = np.random.default_rng(seed)
    points = shape(rng)
    ring = Ring.of(worlds_of(rng, points, by=0.5))
    parts = convex_parts(ring)

    assert sum(area(part.points) for part in parts) == pytest.approx(area(ring.points), rel=1e-9)
    for k, part in enumerate(parts):
        assert turns(part.points[0]).min() >= -1e-6
        assert float(area(part.points)[0]) > 0
        for other in parts[:k]:
            both = overlap(part, other)
            assert both is None or float(area(both.points)[0]) < 1e-2


@given(seeds)
def test_the_sides_of_convex_parts_lie_on_the_walls_they_are_labelled_with(seed):
    """A label from the outline is kept only by a side on that side's line, in every world."""
    rng = np.random.default_rng(seed)
    ring = Ring.of(worlds_of(rng, star_polygon(rng), by=0.2))
    lines = side_lines(ring)
    seen = set()
    for part in convex_parts(ring):
        ends = np.stack([part.points, np.roll(part.points, -1, axis=1)], axis=2)
        for k, label in enumerate(part.sides):
            if label >= 0:
                seen.add(label)
                assert np.abs(distances(ends[:, k], lines[label])).max() < 1e-6

    assert seen == set(range(len(lines)))


def test_a_cut_between_two_shoulders_in_line_is_avoided():
    """A T with level shoulders is cut along its stem, which stays straight in every world."""
    points = np.array(
        [[0, 0], [12, 0], [12, 18], [30, 18], [30, 30], [-15, 30], [-15, 18], [0, 18]], float
    )
    shaken = np.stack([points * 100, points * 100])
    shaken[1, 2:4, 1] += 7.0
    for part in convex_parts(Ring.of(shaken)):
        assert turns(part.points[1]).min() >= -1e-6


@given(seeds, st.booleans())
def test_crossings_agree_with_a_general_geometry_library(seed, shuffle):
    """A ring has no crossing sides exactly where shapely calls it valid."""
    import shapely

    rng = np.random.default_rng(seed)
    points = star_polygon(rng, 9)
    if shuffle:
        points = rng.permutation(points)

    assert (not crossing_sides(points)) == shapely.Polygon(points).is_valid


@given(seeds)
def test_the_hull_has_every_corner_to_its_left(seed):
    """No corner is right of a hull side, and the hull only ever turns left."""
    rng = np.random.default_rng(seed)
    points = star_polygon(rng)
    hull = points[list(hull_corners(points))]

    assert turns(hull).min() > 0
    assert min(distances(points[None], line).min() for line in side_lines(Ring.of(hull))) > -1e-6


def test_the_centroid_is_right_of_the_corner_mean():
    """Centre of a trapezium: 1.555556 along, not the 1.5 of its corners' mean.

    Source: worked from the centroid of a trapezium, a + b over 3 (a + b) form, as in any table
    of plane figures.
    """
    ring = np.array([[[0.0, 0.0], [4.0, 0.0], [2.0, 2.0], [0.0, 2.0]]])

    assert centroid(ring)[0, 0] == pytest.approx(14 / 9, abs=1e-12)


@given(seeds)
def test_the_highest_point_over_an_overlap_is_the_best_of_many_sampled(seed):
    """No sample in both polygons is higher, and some corner of the exact overlap is as high."""
    rng = np.random.default_rng(seed)
    one, other = convex_polygon(rng)[None], convex_polygon(rng)[None]
    plane = np.array([[*rng.uniform(-1, 1, 2), 2000.0]])
    best = float(highest_over(one, other, plane, 0.01)[0])
    both = overlap(Ring.of(one), Ring.of(other))
    if both is None:
        assert best == -np.inf
        return
    corners = both.points[0] @ plane[0, :2] + plane[0, 2]
    samples = rng.uniform(-3500, 3500, (1, 400, 2))
    held = samples[0][contains(one, samples)[0] & contains(other, samples)[0]]

    assert best == pytest.approx(corners.max(), abs=1e-6)
    assert (held @ plane[0, :2] + plane[0, 2] <= best + 1e-6).all()


def test_polygons_that_only_touch_have_no_highest_point():
    """Flush is not over."""
    square = np.array([[[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]])
    plane = np.array([[0.0, 0.0, 5.0]])

    assert highest_over(square, square + np.array([10.0, 0.0]), plane, 0.01)[0] == -np.inf
    assert highest_over(square, square + np.array([9.9, 0.0]), plane, 0.01)[0] == 5.0


def test_touching_wants_a_length_and_not_a_corner():
    square = Ring.of([[0, 0], [10, 0], [10, 10], [0, 10]])
    assert touching(square, Ring.of(square.points + np.array([10.0, 4.0])))
    assert not touching(square, Ring.of(square.points + np.array([10.0, 10.0])))
    assert not touching(square, Ring.of(square.points + np.array([11.0, 0.0])))


def test_lines_meet_and_nothing_is_inside_a_line_beyond():
    one = line_through(np.array([[0.0, 0.0]]), np.array([[1.0, 1.0]]))
    other = line_through(np.array([[0.0, 4.0]]), np.array([[1.0, 4.0]]))
    assert meet(one, other)[0].tolist() == pytest.approx([4.0, 4.0])
    assert inside_of(Ring.of([[0, 0], [1, 0], [0, 1]]), [other]) is None
