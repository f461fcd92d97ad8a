"""Tests of areas and volumes against a dense sum, and the laws they keep.

The dense sum reads floors, planes and fabric straight off the room at the middles of a fine grid:
slow, approximate, and with no cell, cut or centroid in it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.room.heights import (
    ceiling_height,
    floor_level,
    highest_floor,
    lowest_along,
    lowest_ceiling,
    lowest_floor,
)
from massing.room.measure import (
    area_where,
    cells,
    clear_height,
    describe_provenance,
    floor_area,
    height_bands,
    volume,
)
from massing.room.shape import CeilingPiece, Room
from tests.zoo import ROOMS, named_room, room_from

seeds = st.integers(0, 2**32 - 1)
STEP = 16.0


def dense_sum(room, at_least=0.0, step=STEP):
    """Net area with so much clear height, mm², and net volume, mm³, by a grid of columns."""
    import shapely

    low, high = room.outline[0].min(axis=0), room.outline[0].max(axis=0)
    # A grid turned a little, so that no wall or joint lies along it.
    x, y = np.meshgrid(np.arange(-9000, 9000, step), np.arange(-9000, 9000, step))
    turn = 0.3
    points = np.stack(
        [x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)], axis=-1
    ).reshape(-1, 2)
    points = points[((points > low) & (points < high)).all(axis=1)]
    points = points[shapely.contains_xy(shapely.Polygon(room.outline[0]), *points.T)]
    floor = floor_level(room, points[None])[0]
    top = ceiling_height(room, points[None])[0]
    free = top - floor
    spans = []
    standing = np.zeros(len(points), dtype=bool)
    for part in (p for fabric in room.fabric for p in fabric.parts):
        half = part.corners.shape[1] // 2
        ring = part.corners[0, :half]
        under = shapely.contains_xy(shapely.Polygon(ring[:, :2]), *points.T)
        ends = []
        for face in (part.corners[0, :half], part.corners[0, half:]):
            plane = np.linalg.lstsq(np.c_[face[:, :2], np.ones(half)], face[:, 2], rcond=None)[0]
            ends.append(np.clip(points @ plane[:2] + plane[2], floor, top))
        standing |= under & (ends[0] <= floor + 0.01) & (ends[1] > ends[0])
        spans.append((np.where(under, ends[0], 0), np.where(under, ends[1], 0)))
    free = free - _union(spans, len(points))
    area = (~standing & (top - floor >= at_least)).sum() * step**2
    return float(area), float(free.sum() * step**2)


def _union(spans, count):
    """Height covered by intervals over each point, overlaps once."""
    covered = np.zeros(count)
    reached = np.full(count, -np.inf)
    if not spans:
        return covered
    bottoms, tops = (np.stack(s) for s in zip(*spans, strict=True))
    order = np.argsort(bottoms, axis=0)
    for row in order:
        low = np.maximum(bottoms[row, np.arange(count)], reached)
        high = tops[row, np.arange(count)]
        covered += np.maximum(high - low, 0)
        reached = np.maximum(reached, high)
    return covered


MIXED = """
    corners: [[0, 0], [5000, 0], [5000, 2000], [2600, 2000], [2600, 3400], [0, 3400]]
    names: [south, east, ledge, inner, north, west]
    floor:
      - {level: 0}
      - {from: west, depth: 900, level: 140}
      - {area: 3000..4100 x -50..700, level: -120}
    ceiling:
      - {plane: [[0, 0, 1900], [5000, 0, 2500], [0, 3400, 2600]]}
      - {from: north, depth: 1200, flat: 2100, lowers: yes}
      - {area: 3500..4500 x 0..2000, slopes: {south: 1500, ledge: 2300}}
    fabric:
      - {name: breast, box: 1500..2100 x 1000..1700, to: ceiling}
      - {name: beam, box: 0..5000 x 600..800 x 1850..2150}
      - {name: duct, prism: [[300, 300], [1400, 300], [1400, 2900], [1000, 2900], [1000, 700],
                             [300, 700]], z: 1800..2050}
      - {name: boxing, box: 4000..4400 x 0..400, above: 1300, to: ceiling}
    """


@pytest.mark.parametrize("name", ["mixed", "bindery", "loft", "ell", "hipped"])
def test_the_exact_answers_agree_with_a_dense_sum(name):
    room = room_from(MIXED) if name == "mixed" else named_room(name)
    for height in (0.0, 1900.0, 2000.0):
        area, bulk = dense_sum(room, height)
        assert area_where(room, at_least=height) == pytest.approx(area, rel=3e-3, abs=2e4)
    assert volume(room) == pytest.approx(bulk, rel=2e-3)


def test_the_dense_sum_sees_a_planted_fault():
    """A ceiling 20 mm out, or a beam left out, is more than its error."""
    room = room_from(MIXED)
    truth = volume(room)
    raised = tuple(
        CeilingPiece(c.name, c.polygon, c.planes + np.array([0.0, 0.0, 20.0]))
        for c in room.ceilings
    )
    wrong = Room(room.outline, room.walls, room.floors, raised, (), room.fabric)
    bare = Room(room.outline, room.walls, room.floors, room.ceilings, (), room.fabric[:1])

    assert dense_sum(wrong)[1] != pytest.approx(truth, rel=2e-3)
    assert dense_sum(bare)[1] != pytest.approx(truth, rel=2e-3)


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_bands_sum_to_the_floor(name):
    room = named_room(name)
    for net in (True, False):
        for under_fabric in (True, False):
            bands = height_bands(room, (700, 900, 1500, 2000), net=net, under_fabric=under_fabric)
            assert math.fsum(band.area for band in bands) == pytest.approx(
                floor_area(room, net=net), rel=1e-12
            )


def lengths(values):
    return "[" + ", ".join(f"{v:.9f}" for v in values) + "]"


def drawn(rng, move):
    """A room of random planes, levels and fabric, its plan moved by ``move``."""
    w, d, a, b = rng.uniform([2500, 2500, 800, 800], [5000, 5000, 1600, 1600])
    plan = [(0, 0), (w, 0), (w, d - b), (w - a, d - b), (w - a, d), (0, d)]
    corners = ", ".join(lengths(move(*p)) for p in plan)

    def box(x0, x1, y0, y1):
        xs, ys = zip(move(x0, y0), move(x1, y1), strict=True)
        return f"{min(xs):.9f}..{max(xs):.9f} x {min(ys):.9f}..{max(ys):.9f}"

    heights = rng.uniform(1800, 2800, 3)
    spots = [(0, 0), (w, 0), (0, d)]
    plane = ", ".join(lengths((*move(*p), z)) for p, z in zip(spots, heights, strict=True))
    step = box(*(rng.uniform(0, 0.3, 2) * w + (0, 0.4 * w)), *(np.array([0.1, 0.5]) * d))
    low = box(*(rng.uniform(0, 0.4, 2) * w + (0, 0.2 * w)), *(np.array([0.05, 0.7]) * d))
    breast = box(0.1 * w, 0.3 * w, 0, rng.uniform(0.1, 0.4) * d)
    beam = box(0, w, 0.3 * d, 0.35 * d)
    return room_from(
        f"""
        corners: [{corners}]
        floor: [{{level: 0}}, {{area: {step}, level: {rng.uniform(-200, 200):.6f}}}]
        ceiling:
          - {{plane: [{plane}]}}
          - {{area: {low}, flat: {rng.uniform(1700, 2200):.6f}, lowers: yes}}
        fabric:
          - {{name: breast, box: {breast}, to: ceiling}}
          - {{name: beam, box: {beam} x 1700..1950}}
        """
    )


MOVES = {
    "shifted": lambda x, y: (x + 1234.5, y - 678.25),
    "mirrored": lambda x, y: (-x, y),
    "quarter turn": lambda x, y: (-y, x),
    "half turn": lambda x, y: (-x, -y),
}


@settings(deadline=None, max_examples=8)
@given(seeds, st.sampled_from(sorted(MOVES)))
def test_moving_mirroring_and_turning_change_no_area_and_no_volume(seed, move):
    here = drawn(np.random.default_rng(seed), lambda x, y: (x, y))
    there = drawn(np.random.default_rng(seed), MOVES[move])

    assert volume(there) == pytest.approx(volume(here), rel=1e-9)
    assert floor_area(there) == pytest.approx(floor_area(here), rel=1e-9)
    for one, other in zip(height_bands(here), height_bands(there), strict=True):
        assert other.area == pytest.approx(one.area, rel=1e-9, abs=1e-3)


@settings(deadline=None, max_examples=15)
@given(seeds)
def test_the_lowest_ceiling_over_a_footprint_is_never_above_a_sample_of_it(seed):
    """And where it is reached a sample comes close; floors the other way up."""
    rng = np.random.default_rng(seed)
    room = room_from(MIXED)
    centre = rng.uniform([400, 400], [2200, 1600])
    turn = rng.uniform(0, math.pi)
    way = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    half = rng.uniform(60, 380, 2)
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    footprint = (square @ way.T + centre)[None]
    inside = rng.uniform(-1, 1, (4000, 2)) * half @ way.T + centre
    tops = ceiling_height(room, inside[None])[0]
    levels = floor_level(room, inside[None])[0]
    lowest = lowest_ceiling(room, footprint)[0]

    assert lowest <= np.nanmin(tops) + 1e-6
    assert lowest >= np.nanmin(tops) - 60
    assert highest_floor(room, footprint)[0] == pytest.approx(np.nanmax(levels), abs=141)
    assert highest_floor(room, footprint)[0] >= np.nanmax(levels)
    assert lowest_floor(room, footprint)[0] <= np.nanmin(levels)


def test_a_body_flush_with_a_step_is_not_over_it():
    """Touching a lower ceiling or a higher floor does not count; 0.1 mm over it does."""
    room = named_room("boathouse")
    flush = np.array([[[2600.0, 0.0], [3600.0, 0.0], [3600.0, 600.0], [2600.0, 600.0]]])

    assert highest_floor(room, flush)[0] == 0
    assert highest_floor(room, flush + np.array([0.1, 0.0]))[0] == 180
    assert lowest_ceiling(room, flush)[0] == pytest.approx(1950, abs=1e-9)
    assert lowest_ceiling(room, flush + np.array([0.0, 300.0]))[0] == pytest.approx(2050, abs=1e-9)
    assert lowest_ceiling(room, flush + np.array([20000.0, 0.0]))[0] == np.inf


def test_clear_height_reads_from_the_local_floor_to_what_is_overhead():
    room = room_from(MIXED)
    points = np.array([[[4200.0, 200.0], [2300.0, 700.0], [1800.0, 1300.0], [9000.0, 0.0]]])
    bare = clear_height(room, points)[0]
    under = clear_height(room, points, under_fabric=True)[0]

    assert bare[0] == pytest.approx(1500 + 0.4 * 200)
    assert under[0] == pytest.approx(1300)
    assert under[1] == pytest.approx(1850)
    assert under[2] == 0
    assert np.isnan(bare[3])


def test_the_lowest_ceiling_along_a_wall_is_at_a_joint_or_an_end():
    room = room_from(MIXED)
    lowest, at = lowest_along(room.ceilings, np.array([0.0, 0.0]), np.array([5000.0, 0.0]))

    assert lowest == pytest.approx(1500)
    assert 3500 <= at[0] <= 4500


def test_provenance_names_every_wall():
    lines = describe_provenance(named_room("bindery"))

    assert len(lines) == 4
    assert lines[0] == "south wall 4960: derived, outside less walls (this one 120)"


def test_a_world_can_be_measured_by_its_number():
    """The nominal world is world 0."""
    room = named_room("plain")
    assert [c.floor for c in cells(room, 0)] == [0.0]
    assert floor_area(room, world=0) == 6e6
