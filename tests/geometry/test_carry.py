"""Tests for massing.geometry.carry.search and the modules under it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.carry.lattice import fill_layers, lattice, make_table
from massing.geometry.carry.layers import layer, stays_clear
from massing.geometry.carry.search import Change, Effort, Pose, Stand, carry_path
from massing.geometry.plan_parts import convex_parts, outside
from tests.oracles_corners import rectangle_round_corner
from tests.oracles_routes import placed_overlaps, worst_overlap

COARSE = Effort(((20.0, 72),))
FINE = Effort(((10.0, 144),), 60_000_000)


def rect(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def block(length: float, depth: float) -> np.ndarray:
    return rect(-length / 2, -depth / 2, length / 2, depth / 2)


ROOM, DOOR = rect(0, 0, 5000, 3000), rect(1000, -120, 1760, 0)
HALL, NARROW = rect(0, -1820, 5000, -120), rect(0, -1220, 5000, -120)
BODIES = [
    rect(0, 2400, 900, 3000),
    rect(0, 1200, 400, 2200),
    rect(2900, 0, 3500, 600),
    rect(4400, 900, 5000, 1500),
    rect(3600, 0, 5000, 600),
    rect(2200, 2500, 3100, 3000),
]
BOX = (0.0, -1820.0, 5000.0, 3000.0)
SOFA = block(1800, 600)
ENDS = np.array([[800.0, 800, 0.2], [4200, 2200, 1.5]])
ELL = [rect(-500, -500, -200, 500), rect(-200, -500, 500, -200)]


def room(hall: np.ndarray = HALL) -> list[np.ndarray]:
    return outside([ROOM, DOOR, hall], 400) + BODIES


def through_the_door(footprint: list[np.ndarray], goal: Stand, effort: Effort = COARSE):
    pose = Pose("flat", footprint, room())
    return carry_path([pose], Stand(1000, -900), goal, bounds=BOX, effort=effort)


def test_a_sofa_goes_through_the_door_and_the_whole_motion_is_clear() -> None:
    """Dense shapely sampling of the swept footprint: nothing beyond contact, anywhere."""
    found = through_the_door([SOFA], Stand(4050, 2600))

    assert found.found
    assert np.allclose(found.path[0], [1000, -900, 0])
    assert np.allclose(found.path[-1, :2], [4050, 2600])
    assert math.remainder(found.path[-1, 2], 2 * math.pi) == pytest.approx(0, abs=1e-9)
    assert worst_overlap([SOFA], room(), found.path, shift=1.0, turn=math.radians(0.05)) < 18.0


def test_the_sampling_oracle_sees_a_planted_fault() -> None:
    """Push the same path 40 mm into the jamb and it is no longer clear."""
    found = through_the_door([SOFA], Stand(4050, 2600))
    pushed = found.path + np.array([40.0, 0.0, 0.0])

    assert worst_overlap([SOFA], room(), pushed, shift=5.0, turn=math.radians(0.5)) > 1000.0


def test_tightest_gap_is_the_least_over_a_dense_sampling() -> None:
    """The gap is never more than what sampling finds, and sampling comes down to it."""
    import shapely

    found = through_the_door([SOFA], Stand(4050, 2600))
    solid = shapely.union_all([shapely.Polygon(ring) for ring in room()])
    least = math.inf
    for a, b in zip(found.path, found.path[1:], strict=False):
        shift, turn = math.hypot(*(b - a)[:2]), abs(b[2] - a[2])
        share = np.linspace(0, 1, int(shift / 2 + turn / 0.001) + 2)[:, None]
        rows = a + share * (b - a)
        cosine, sine = np.cos(rows[:, 2:]), np.sin(rows[:, 2:])
        x = rows[:, :1] + cosine * SOFA[:, 0] - sine * SOFA[:, 1]
        y = rows[:, 1:2] + sine * SOFA[:, 0] + cosine * SOFA[:, 1]
        bodies = shapely.polygons(np.stack([x, y], axis=2))
        least = min(least, float(shapely.distance(bodies, solid).min()))

    assert found.gap <= least + 0.01
    assert found.gap == pytest.approx(least, abs=2.0)
    assert shapely.Point(found.where).distance(solid) <= found.gap + 1e-6
    ring = shapely.Polygon(room()[found.against])
    assert ring.distance(shapely.Point(found.where)) == pytest.approx(found.gap / 2, abs=1e-6)


def test_a_narrow_hall_gives_no_path_at_this_resolution() -> None:
    """The turning limit of a 1.1 m hall and a 0.76 m door forbids 1.8 m x 0.6 m."""
    pose = Pose("flat", [SOFA], room(NARROW))
    found = carry_path([pose], Stand(1000, -700), Stand(4050, 2600), bounds=BOX, effort=COARSE)

    assert not found.found
    assert found.says == "none found looking at every 20 mm and 5°"
    assert found.path.shape == (0, 3)
    assert math.isnan(found.gap)


@pytest.mark.parametrize(("stand", "place"), [("start", "start"), ("goal", "goal")])
def test_standing_in_a_wall_is_said_plainly(stand: str, place: str) -> None:
    ends = {"start": Stand(1000, -900), "goal": Stand(4050, 2600), stand: Stand(100, 100)}
    found = carry_path([Pose("flat", [SOFA], room())], ends["start"], ends["goal"])

    assert found.says == f"it does not stand free at its {place}"


@pytest.mark.parametrize(("a", "b", "t"), [(900, 900, 300), (1200, 900, 600), (750, 1000, 0)])
def test_longest_round_a_corner_comes_up_to_the_closed_form(a: float, b: float, t: float) -> None:
    """Never above the closed form, and closer to it on a finer lattice."""
    exact = rectangle_round_corner(a, b, t)

    def goes(length: float, effort: Effort) -> bool:
        arm = length + a + b
        walls = outside([rect(0, 0, b, arm), rect(0, 0, arm, a)], 50)
        start = Stand(b / 2, arm - length / 2 - 100, math.pi / 2)
        goal = Stand(arm - length / 2 - 100, a / 2, math.pi)
        pose = Pose("level", [block(length, t)], walls)
        box = (0.0, 0.0, arm, arm)
        return carry_path([pose], start, goal, bounds=box, effort=effort).found

    assert not goes(1.0005 * exact, COARSE)
    assert goes(0.94 * exact, COARSE)
    assert not goes(1.0005 * exact, FINE)
    assert goes(0.955 * exact, FINE)


@pytest.mark.parametrize("footprint", [[SOFA], ELL, [block(700, 0)], [block(900, 900)]])
def test_no_node_is_wrong_against_shapely(footprint: list[np.ndarray]) -> None:
    """20,000 random nodes: blocked ones overlap, free ones by no more than contact."""
    slanted = np.array([[2500.0, 900], [3300, 1300], [2700, 2100], [2600, 1500]])
    hook = np.array(
        [[600.0, 600], [1400, 600], [1400, 1200], [1200, 1200], [1200, 800], [600, 800]]
    )
    stones = [*room(), slanted, hook]
    of = layer(footprint, stones)
    on = lattice(BOX, np.array([4050.0, 2600.0, 0.1]), 20.0, 72)
    table, angles = make_table([of], on)
    blocked = fill_layers(table, 1, angles.size, on)[0]
    rng = np.random.default_rng(11)
    index = np.stack([rng.integers(0, n, 20_000) for n in (on.turns, on.rows, on.columns)], axis=1)
    places = np.array([on.place(*row) for row in index.tolist()])
    marked = blocked[index[:, 0] % len(angles), index[:, 1], index[:, 2]] == 1
    sides = 0.02 * sum(np.abs(ring - np.roll(ring, 1, axis=0)).sum() for ring in footprint)

    area = placed_overlaps(footprint, stones, places)

    assert 1000 < marked.sum() < 19_900
    assert area[~marked].max() <= sides
    if np.ptp(footprint[0][:, 1]) > 0:
        assert area[marked].min() > 0.0


def test_the_overlap_oracle_sees_a_planted_fault() -> None:
    """A footprint 1 mm into a wall overlaps by its side times 1 mm."""
    places = np.array([[900.0, 301, 0], [900.0, 299, 0]])
    area = placed_overlaps([SOFA], [rect(-500, -100, 3000, 0)], places)

    assert area.tolist() == pytest.approx([0.0, 1800.0])


def comes_within(reach: float, footprint: list, stones: list, path: np.ndarray) -> bool:
    """Whether the sampled motion comes that near; what happens between two samples."""
    import shapely

    grown = [np.asarray(shapely.Polygon(s).buffer(reach).exterior.coords)[:-1] for s in stones]
    return worst_overlap(footprint, grown, path, shift=0.25, turn=0.001) > 0.0


@settings(max_examples=60, deadline=None)
@given(
    x=st.floats(-900, 900),
    y=st.floats(-900, 900),
    turn=st.floats(-3, 3),
    by=st.tuples(st.floats(-60, 60), st.floats(-60, 60), st.floats(-0.2, 0.2)),
    ell=st.booleans(),
)
def test_a_link_is_free_exactly_when_no_moment_of_it_overlaps(
    x: float, y: float, turn: float, by: tuple[float, float, float], ell: bool
) -> None:
    """Against a spike and a slanted block, sampled at 400 moments of the shift and the turn."""
    footprint = ELL if ell else [block(800, 300)]
    stones = [
        np.array([[0.0, 0], [300, 20], [300, -20]]),
        np.array([[-500.0, 500], [-200, 700], [-400, 900]]),
    ]
    of = layer(footprint, stones)
    at = np.array([x, y, turn])
    moved = at + np.array([by[0], by[1], 0.0])
    ends = np.array([at, moved, moved + np.array([0.0, 0.0, by[2]])])

    free = stays_clear(of, at, np.array(by))
    worst = worst_overlap(footprint, stones, ends, shift=0.25, turn=0.001)

    if free:
        assert worst <= 10.0
    else:
        assert worst > 0.0 or comes_within(0.3, footprint, stones, ends)


def test_what_one_line_clears_is_clear() -> None:
    """The quick tests of a whole move never pass one that the full test refuses."""
    from massing.geometry.carry.moves import shift_clears, turn_clears

    stones = [np.array([[0.0, 0], [400, 30], [380, -60]]), block(300, 200) + np.array([-500, 200])]
    of = layer([block(900, 250)], stones)
    on = lattice((-900, -900, 900, 900), np.zeros(3), 20.0, 72)
    (lines, bounds, first, _, _), angles = make_table([of], on)
    alone = [layer([block(900, 250)], [stone]) for stone in stones]
    rng = np.random.default_rng(7)
    passed = np.zeros(2, dtype=int)
    step = 2 * math.pi / 72
    for _ in range(3000):
        k, q = int(rng.integers(0, len(angles) - 1)), int(rng.integers(0, 2))
        at = np.array([*rng.uniform(-700, 700, 2), angles[k]])
        vx, vy = rng.uniform(-20, 20, 2)
        start, stop = first[q], first[q + 1]
        if shift_clears(lines[k], start, stop, at, vx, vy):
            passed[0] += 1
            assert stays_clear(alone[q], at, np.array([vx, vy, 0.0]))
        ends = lines[k], lines[k + 1], start, bounds[k, q], at, of.radius, step, 4, stop
        if turn_clears(*ends):
            passed[1] += 1
            assert stays_clear(alone[q], at, np.array([0.0, 0.0, step]))

    assert passed.min() > 500


@pytest.mark.parametrize("seed", range(8))
def test_every_path_found_among_random_bodies_is_clear(seed: int) -> None:
    """Five strewn yawed blocks, a straight or an L-shaped thing; coarse, then finer."""
    rng = np.random.default_rng(seed)
    footprint = [block(1100, 350)] if seed % 2 else ELL
    stones = outside([ROOM], 60)
    while len(stones) < 9:
        spin = rng.uniform(0, 3)
        turn = np.array([[math.cos(spin), math.sin(spin)], [-math.sin(spin), math.cos(spin)]])
        ring = block(*rng.uniform(200, 800, 2)) @ turn + rng.uniform(0, [5000, 3000])
        if max(placed_overlaps([block(1500, 1500)], [ring], ENDS)) == 0.0:
            stones.append(ring)
    start, goal = (Stand(*end) for end in ENDS)
    effort = Effort(((40.0, 36), (20.0, 72)))
    pose = Pose("level", footprint, stones)
    found = carry_path([pose], start, goal, bounds=(0, 0, 5000, 3000), effort=effort)

    if found.found:
        assert worst_overlap(footprint, stones, found.path, shift=2.0, turn=0.002) < 15.0
        assert found.gap >= -0.01
    else:
        assert found.says.startswith("none found looking at every")


def test_half_the_turns_say_the_same_as_all() -> None:
    """A footprint that half a turn maps onto itself is filled once for both."""
    of = layer([SOFA], room())
    on = lattice(BOX, np.array([4050.0, 2600.0, 0.1]), 40.0, 72)
    table, angles = make_table([of], on)
    half = fill_layers(table, 1, angles.size, on)[0]
    uneven = layer([SOFA, rect(-900, -300, -880, 300)], room())
    table, all_angles = make_table([uneven], on)
    full = fill_layers(table, 1, all_angles.size, on)[0]

    assert (len(half), len(full)) == (36, 72)
    assert (np.concatenate([half, half]) == full).all()


def test_a_wardrobe_goes_in_on_its_side_and_stands_up_inside() -> None:
    """Upright it meets the low lobby ceiling; lying it passes, and stands up in the high room."""
    free = outside([ROOM, DOOR, HALL], 400)
    low_lobby = [*free, HALL, DOOR]
    lying, upright = block(1900, 580), block(1000, 580)
    poses = [Pose("on its back", [lying], free), Pose("upright", [upright], low_lobby)]
    tilt = Change((0, 1), [block(1900, 580)], low_lobby)
    start, goal = Stand(2500, -900), Stand(2500, 2600, math.pi, 1)

    stuck = carry_path(poses, start, goal, bounds=BOX, effort=COARSE)
    found = carry_path(poses, start, goal, changes=[tilt], bounds=BOX, effort=COARSE)

    assert not stuck.found
    assert found.found
    assert [found.poses[0], found.poses[-1]] == ["on its back", "upright"]
    swap = found.poses.index("upright")
    assert np.allclose(found.path[swap - 1], found.path[swap])
    assert placed_overlaps([lying], low_lobby, found.path[swap : swap + 1])[0] < 20.0
    fine = {"shift": 2.0, "turn": 0.002}
    assert worst_overlap([lying], free, found.path[:swap], **fine) < 20.0
    assert worst_overlap([upright], low_lobby, found.path[swap:], **fine) < 20.0


def test_finer_levels_are_tried_when_the_coarse_one_fails() -> None:
    """A 690 mm box in a 700 mm door whose middle lies between two coarse nodes."""
    walls = outside(
        [rect(0, 0, 3000, 2000), rect(1000, -120, 1700, 0), rect(0, -1620, 3000, -120)], 50
    )
    pose = Pose("upright", [block(690, 690)], walls)
    box = (0.0, -1620.0, 3000.0, 2000.0)
    start, goal = Stand(1350, -800), Stand(2400, 1300)

    coarse = carry_path([pose], start, goal, bounds=box, effort=COARSE)
    found = carry_path([pose], start, goal, bounds=box)

    assert not coarse.found
    assert (found.found, found.step) == (True, 10.0)
    assert worst_overlap([block(690, 690)], walls, found.path, shift=1, turn=0.001) < 10.0


def test_moving_everything_changes_no_verdict() -> None:
    """Turning the whole plan by 30 degrees and shifting it keeps path and gap."""
    spin = math.radians(30)
    turn = np.array([[math.cos(spin), math.sin(spin)], [-math.sin(spin), math.cos(spin)]])
    plain = carry_path([Pose("a", [SOFA], room())], Stand(1000, -900), Stand(4050, 2600))
    ends = np.array([[1000.0, -900], [4050, 2600]]) @ turn + [700, -300]
    moved = carry_path(
        [Pose("a", [SOFA], [ring @ turn + [700, -300] for ring in room()])],
        Stand(*ends[0], spin),
        Stand(*ends[1], spin),
    )

    assert plain.found
    assert moved.found


def test_a_level_too_large_is_not_tried() -> None:
    pose = Pose("flat", [SOFA], room())
    ends = Stand(1000, -900), Stand(4050, 2600)

    assert not carry_path([pose], *ends, effort=Effort(most_nodes=1000)).found


def test_bad_input_is_refused() -> None:
    with pytest.raises(GeometryError):
        carry_path([], Stand(0, 0), Stand(1, 1))
    with pytest.raises(GeometryError):
        carry_path([Pose("a", [SOFA], [])], Stand(0, 0), Stand(1, 1, 0, 1))
    with pytest.raises(GeometryError):
        carry_path([Pose("a", [], [])], Stand(0, 0), Stand(1, 1))
    with pytest.raises(GeometryError):
        convex_parts([[0.0, 0.0], [0.0, 0.0]])
    with pytest.raises(GeometryError):
        convex_parts([[0.0, math.nan], [1.0, 0.0]])


def test_nothing_in_the_way() -> None:
    found = carry_path([Pose("a", [SOFA], [])], Stand(0, 0), Stand(400, 0), effort=COARSE)

    assert found.found
    assert found.gap == math.inf
    assert found.against == -1


def test_convex_parts_cover_the_ring_once() -> None:
    """Areas add up, every piece is convex, and a hole stays out."""
    import shapely

    rng = np.random.default_rng(5)
    for _ in range(50):
        angle = np.sort(rng.uniform(0, 2 * math.pi, 12))
        ring = (rng.uniform(200, 1000, 12) * np.array([np.cos(angle), np.sin(angle)])).T
        if np.diff(angle).max() > 3:
            continue
        hole = 60 * np.array([[1.0, 0.2], [-0.4, 1], [-1, -0.6]])
        shape = shapely.Polygon(ring, [hole])
        if not shape.is_valid:
            continue
        parts = [shapely.Polygon(part) for part in convex_parts(ring, hole)]
        assert sum(part.area for part in parts) == pytest.approx(shape.area, rel=1e-9)
        assert shapely.union_all(parts).symmetric_difference(shape).area < 1e-3
        for part in parts:
            assert part.convex_hull.area == pytest.approx(part.area, rel=1e-9)
