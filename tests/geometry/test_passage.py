"""Tests for massing.geometry.passage.ways and the modules under it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from massing.errors import GeometryError
from massing.geometry.passage.faces import floor_faces, open_floor
from massing.geometry.passage.line import roomiest
from massing.geometry.passage.ways import way_to, ways_from, widest_path, width_to
from tests.oracles_routes import grid_width

STEP = 40.0


def rect(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


ROOM = rect(0, 0, 4000, 3000)
START, GOAL = np.array([300.0, 300.0]), rect(3300, 2300, 4000, 3000)


def scene(seed: int, count: int) -> list[np.ndarray]:
    """Yawed boxes and triangles strewn about, clear of the start and the middle of the goal."""
    rng = np.random.default_rng(seed)
    keep_out = shapely.MultiPoint([START, [3650, 2650]]).buffer(280)
    found: list[np.ndarray] = []
    while len(found) < count:
        size, at, yaw = rng.uniform(150, 700, 2), rng.uniform(0, [4000, 3000]), rng.uniform(0, 3)
        ring = rect(*(-size / 2), *(size / 2))[: rng.integers(3, 5)]
        turn = np.array([[math.cos(yaw), math.sin(yaw)], [-math.sin(yaw), math.cos(yaw)]])
        ring = ring @ turn + at
        if not shapely.Polygon(ring).intersects(keep_out):
            found.append(ring)
    return found


def free_floor(outline: np.ndarray, obstacles: list[np.ndarray]):
    free = shapely.Polygon(outline).difference(
        shapely.union_all([shapely.Polygon(ring) for ring in obstacles])
    )
    return free, free.boundary


@pytest.mark.parametrize("seed", range(12))
def test_width_against_a_dense_grid(seed: int) -> None:
    """A grid way is a real way, so never wider; and within what the grid's step can cost."""
    obstacles = scene(seed, 3 + seed % 8)
    free, walls = free_floor(ROOM, obstacles)

    found = widest_path(ROOM, obstacles, START, GOAL)
    seen = grid_width(free, walls, START, shapely.Polygon(GOAL), STEP)

    assert seen <= found.width + 0.1
    assert seen >= found.width - 1.5 * STEP or (seen == 0.0 and found.width < 1.5 * STEP)


@pytest.mark.parametrize("seed", range(12))
def test_the_path_keeps_half_the_width_and_joins_start_and_goal(seed: int) -> None:
    obstacles = scene(seed, 3 + seed % 8)
    _, walls = free_floor(ROOM, obstacles)

    found = widest_path(ROOM, obstacles, START, GOAL)

    if found.width < 10:
        assert found.path.shape == (0, 2)
        return
    line = shapely.LineString(found.path)
    assert line.distance(walls) >= found.width / 2 - 0.1 - 1e-6
    assert np.allclose(found.path[0], START)
    assert shapely.Polygon(GOAL).distance(shapely.Point(found.path[-1])) < 1e-6
    assert line.distance(shapely.Point(found.pinch)) < 0.5 * found.width
    gap = float(np.hypot(*(found.pair[1] - found.pair[0])))
    assert found.width == pytest.approx(gap if found.limit == "between" else 2 * gap, abs=0.1)


def test_the_grid_oracle_sees_a_planted_fault() -> None:
    """Leaving one of two blocking bodies out of the walls makes the oracle's way too wide."""
    bodies = [rect(1800, 0, 2200, 1200), rect(1800, 1700, 2200, 3000)]
    free, walls = free_floor(ROOM, bodies)
    _, fewer = free_floor(ROOM, bodies[:1])
    goal = shapely.Polygon(GOAL)

    right = grid_width(free, walls, START, goal, STEP)
    wrong = grid_width(free, fewer, START, goal, STEP)

    assert right == pytest.approx(500, abs=STEP)
    assert widest_path(ROOM, bodies, START, GOAL).width == pytest.approx(500, abs=1e-6)
    assert wrong > 550


@pytest.mark.parametrize("angle", [0.0, 0.3, math.pi / 4, 2.0])
@pytest.mark.parametrize("seed", [2, 5])
def test_turning_and_mirroring_everything_changes_nothing(seed: int, angle: float) -> None:
    obstacles = scene(seed, 7)
    spin = np.array([[math.cos(angle), math.sin(angle)], [math.sin(angle), -math.cos(angle)]])

    plain = widest_path(ROOM, obstacles, START, GOAL)
    moved = widest_path(ROOM @ spin, [ring @ spin for ring in obstacles], START @ spin, GOAL @ spin)

    assert moved.width == pytest.approx(plain.width, abs=0.1)


@pytest.mark.parametrize("seed", range(3))
def test_adding_a_body_widens_nothing(seed: int) -> None:
    obstacles = scene(seed, 8)
    widths = [widest_path(ROOM, obstacles[:n], START, GOAL).width for n in range(9)]

    assert all(b <= a + 0.1 for a, b in pairwise(widths))


def test_square_posts_in_rows() -> None:
    """A regular grid of posts: rectangles of four equal corners, and rows in line."""
    rows, columns = (600, 1400, 2200), (600, 1400, 2200, 3000)
    posts = [rect(x, y, x + 300, y + 300) for x in columns for y in rows]
    found = widest_path(ROOM, posts, START, rect(3400, 2600, 4000, 3000))

    assert found.width == pytest.approx(600, abs=1e-6)
    inner = widest_path(ROOM, posts, np.array([1150.0, 1150]), rect(1950, 1950, 2150, 2150))
    assert inner.width == pytest.approx(500, abs=1e-6)


def test_a_corner_to_corner_gap_between_touching_neighbours() -> None:
    """Bodies flush to walls and to one another; the only gap is corner to corner, 3-4-5."""
    bodies = [rect(0, 1000, 1500, 1500), rect(1500, 1000, 1700, 1500), rect(2000, 1900, 4000, 2400)]
    found = widest_path(ROOM, bodies, START, rect(0, 2600, 800, 3000))

    assert found.width == pytest.approx(500, abs=1e-6)
    assert sorted(found.pair.tolist()) == [[1700.0, 1500.0], [2000.0, 1900.0]]


def test_no_way_through_bodies_that_touch() -> None:
    """Flush bodies, and two that meet in one corner only, let nobody through."""
    flush = [rect(1800, 0, 2200, 1500), rect(1800, 1500, 2200, 3000)]
    corner = [rect(0, 0, 0.5, 0.5), rect(1800, 0, 2200, 1500), rect(2200, 1500, 2600, 3000)]
    tip = [rect(1800, 0, 2200, 1500), np.array([[2000.0, 1500], [2300, 3000], [1700, 3000]])]

    for bodies in (flush, corner, tip):
        found = widest_path(ROOM, bodies, START, GOAL)
        assert (found.width, found.limit) == (0.0, "closed")
        assert np.isnan(found.pinch).all()


def test_a_doorway_counts_like_any_gap() -> None:
    """A 760 mm opening in the wall limits the way, unless a post stands before it."""
    door = np.array([[0.0, 500], [0, 1260]])
    free = widest_path(ROOM, [], door, GOAL)
    post = widest_path(ROOM, [rect(200, 700, 400, 900)], door, GOAL)

    assert (free.width, free.pinch.tolist()) == (760.0, [0.0, 880.0])
    wide = math.hypot(200, 360)
    assert post.width == pytest.approx(wide, abs=1e-6)


def test_a_body_across_part_of_the_doorway_narrows_it() -> None:
    door = np.array([[0.0, 500], [0, 1260]])
    found = widest_path(ROOM, [rect(0, 400, 300, 700)], door, GOAL)

    assert found.width == pytest.approx(560, abs=1e-6)


def test_start_and_goal_may_limit() -> None:
    """A start 150 mm off a wall, and a goal 200 mm deep against one."""
    near = widest_path(ROOM, [], np.array([150.0, 1500]), GOAL)
    shallow = widest_path(ROOM, [], START + 900, rect(1000, 2800, 3000, 3000))

    assert (near.width, near.limit) == (300.0, "start")
    assert shallow.limit == "goal"
    assert shallow.width == pytest.approx(400, abs=0.1)


def test_a_neck_in_the_outline_itself() -> None:
    """An hourglass outline pinches between two corners of one ring."""
    low = [[0, 0], [1800, 900], [2200, 900], [4000, 0]]
    high = [[4000, 3000], [2200, 1600], [1800, 1600], [0, 3000]]
    outline = np.array([*low, *high], dtype=float)
    found = widest_path(outline, [], np.array([600.0, 1400]), rect(3200, 1000, 3800, 1800))

    assert found.width == pytest.approx(700, abs=1e-6)


def test_sealed_or_covered_places() -> None:
    assert widest_path(ROOM, [rect(0, 0, 600, 600)], START, GOAL).width == 0.0
    assert widest_path(ROOM, [GOAL], START, GOAL).width == 0.0
    assert widest_path(ROOM, [rect(-10, -10, 5000, 5000)], START, GOAL).width == 0.0


def test_each_face_has_one_summit() -> None:
    """The law the method rests on: no gate of a face is wider than the face's roomiest spot."""
    for seed in range(4):
        outline = shapely.Polygon(ROOM)
        solid = shapely.union_all([shapely.Polygon(ring) for ring in scene(seed, 9)])
        floor = open_floor(outline, solid, START[None])
        faces, gates = floor_faces(floor)
        rooms = [roomiest(face, floor.walls, math.inf)[0] for face in faces]
        assert sum(face.area for face in faces) == pytest.approx(floor.free.area, rel=1e-9)
        for gate in gates:
            assert all(2 * rooms[side] >= gate.width - 0.1 for side in gate.sides)


@pytest.mark.parametrize(
    "bad", [[[0, 0], [1, 1]], [[0, 0], [2, 2], [2, 0], [0, 2]], [[0, 0], [1, math.nan], [1, 0]]]
)
def test_bad_rings_are_refused(bad: list) -> None:
    with pytest.raises(GeometryError):
        widest_path(ROOM, [np.array(bad, dtype=float)], START, GOAL)


def test_one_start_many_goals_say_the_same_as_one_by_one() -> None:
    obstacles = scene(4, 8)
    ways = ways_from(ROOM, obstacles, START)
    for goal in (GOAL, rect(0, 2500, 500, 3000), rect(3500, 0, 4000, 500)):
        alone = widest_path(ROOM, obstacles, START, goal)
        assert width_to(ways, goal) == alone.width
        assert way_to(ways, goal).path.tolist() == alone.path.tolist()


def lined_up(seed: int, count: int) -> list[np.ndarray]:
    """Boxes on a 100 mm lattice: flush, nested, corner to corner, in equal rows."""
    rng = np.random.default_rng(seed)
    keep_out = shapely.MultiPoint([START, [3650, 2650]]).buffer(200)
    found: list[np.ndarray] = []
    while len(found) < count:
        at, size = rng.integers(0, [40, 30]) * 100, rng.integers(1, 8, 2) * 100
        ring = rect(*at, *(at + size))
        if not shapely.Polygon(ring).intersects(keep_out):
            found.append(ring)
    return found


@pytest.mark.parametrize("seed", range(8))
def test_lined_up_boxes_seen_straight_and_turned(seed: int) -> None:
    """Ties and contacts everywhere; turned, the same contacts are off by rounding."""
    boxes = lined_up(seed, 6 + seed)
    free, walls = free_floor(ROOM, boxes)
    angle = 0.3 + seed
    spin = np.array([[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]])

    found = widest_path(ROOM, boxes, START, GOAL)
    turned = widest_path(ROOM @ spin, [ring @ spin for ring in boxes], START @ spin, GOAL @ spin)
    seen = grid_width(free, walls, START, shapely.Polygon(GOAL), 50.0)

    assert turned.width == pytest.approx(found.width, abs=0.1)
    assert found.width - 75 <= seen <= found.width + 0.1


@pytest.mark.parametrize("seed", range(8))
def test_a_doorway_is_what_a_porch_before_it_makes_it(seed: int) -> None:
    """Coming from a wide porch through a thin wall with that opening gives the same width."""
    boxes, low, wide = lined_up(seed, 6 + seed), 300.0 + 150 * seed, 560.0 + 60 * seed
    door = np.array([[0, low], [0, low + wide]])
    porch = rect(-4000, -3000, 4000, 6000)
    walls = [
        rect(-1, -3000, 0, low),
        rect(-1, low + wide, 0, 6000),
        rect(0, -3000, 4000, 0),
        rect(0, 3000, 4000, 6000),
    ]

    found = widest_path(ROOM, boxes, door, GOAL)
    outside = widest_path(porch, boxes + walls, np.array([-2000, low + wide / 2]), GOAL)

    assert found.width == pytest.approx(outside.width, abs=0.1)
