"""Tests that the outside is covered, and never reaches into the room."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.geometry.pieces import convex_parts, hull_corners, turns
from massing.geometry.polygons import Ring, contains, overlap
from massing.room.outside import outside_pieces
from tests.geometry.test_polygons import right_angled_polygon, star_polygon
from tests.zoo import ROOMS, named_room

seeds = st.integers(0, 2**32 - 1)
shapes = st.sampled_from([star_polygon, right_angled_polygon])


def covered(pieces, points, world=0):
    """(m,) whether each plan point is in some piece."""
    return np.any(
        [contains(p.polygon[world : world + 1], points[None], 1e-4)[0] for p in pieces], axis=0
    )


def samples(outline, rng, count=600):
    """Points within 7 m of an outline, those on or beyond it and those well within."""
    import shapely

    low, high = outline.min(axis=0) - 5000, outline.max(axis=0) + 5000
    near = outline[rng.integers(0, len(outline), count)] + rng.normal(0, 120, (count, 2))
    points = np.concatenate([rng.uniform(low, high, (count, 2)), near])
    polygon = shapely.Polygon(outline)
    spots = shapely.points(points)
    off = shapely.distance(spots, polygon) > 0.01
    return points[off], points[shapely.contains(polygon.buffer(-0.01), spots)]


@settings(deadline=None, max_examples=60)
@given(seeds, shapes)
def test_all_outside_is_covered_and_nothing_inside(seed, shape):
    """Any simple outline, convex or not."""
    rng = np.random.default_rng(seed)
    outline = shape(rng)
    pieces = outside_pieces(outline[None])
    beyond, within = samples(outline, rng)

    assert covered(pieces, beyond).all()
    assert not any(contains(p.polygon, within[None], -1e-3)[0].any() for p in pieces)


@settings(deadline=None, max_examples=60)
@given(seeds, shapes)
def test_no_piece_overlaps_the_room_or_is_dented(seed, shape):
    """Exactly, by the overlap with each convex part of the room."""
    rng = np.random.default_rng(seed)
    outline = shape(rng)
    rooms = convex_parts(Ring.of(outline))
    for piece in outside_pieces(outline[None]):
        assert turns(piece.polygon[0]).min() >= -1e-6
        for part in rooms:
            both = overlap(Ring.of(piece.polygon), part)
            assert both is None or np.ptp(both.points[0], axis=0).min() < 1e-3


@settings(deadline=None, max_examples=40)
@given(seeds)
def test_it_stays_covered_when_every_corner_is_a_little_out(seed):
    """The pattern decided in the nominal world holds in the others."""
    rng = np.random.default_rng(seed)
    outline = star_polygon(rng, 9)
    inner = np.delete(np.arange(9), hull_corners(outline))
    shaken = np.repeat(outline[None], 3, axis=0)
    shaken[1:] += rng.uniform(-1, 1, (2, 9, 2))
    # A corner that pops in or out of the hull would change the pattern itself.
    if any(set(hull_corners(w)) != set(hull_corners(outline)) for w in shaken) or not inner.size:
        return
    pieces = outside_pieces(shaken)
    for world in (1, 2):
        beyond, within = samples(shaken[world], rng, 200)
        assert covered(pieces, beyond, world).all()
        depth = [contains(p.polygon[world : world + 1], within[None], -3.0)[0] for p in pieces]
        assert not np.any(depth)


def test_an_uncovered_pocket_is_noticed():
    """The check above fails when a piece is left out: planted fault."""
    rng = np.random.default_rng(3)
    outline = np.array(
        [[0, 0], [4000, 0], [4000, 3000], [2800, 3000], [2800, 900], [900, 900], [900, 3000],
         [0, 3000]], float,
    )  # fmt: skip
    pieces = outside_pieces(outline[None])
    beyond, _ = samples(outline, rng)

    assert covered(pieces, beyond).all()
    for k in range(len(pieces)):
        left = pieces[:k] + pieces[k + 1 :]
        assert not covered(left, beyond).all(), k


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_every_wall_bounds_some_piece(name):
    room = named_room(name)
    bounding = {wall for piece in room.outside for wall in piece.walls}

    assert bounding == set(range(len(room.walls)))


def test_walls_in_one_line_keep_their_own_faces():
    """Where one of two walls in line stands 5 mm further out, the next is not in front of it."""
    outline = np.array([[0, 0], [2000, 0], [4000, 0], [4000, 3000], [0, 3000]], float)
    shaken = np.stack([outline, outline])
    shaken[1, 0, 1] = shaken[1, 1, 1] = -5.0
    pieces = outside_pieces(shaken)
    room_points = np.array([[[500.0, -4.0], [1900.0, -4.0]]])

    assert not any(contains(p.polygon[1:], room_points)[0].any() for p in pieces)
