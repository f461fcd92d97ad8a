"""Paths against obstacles: closed forms, laws, and an oracle that steps and measures gaps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.motions.leaves import swept_area
from massing.geometry.motions.stops import Path, eased, first_contacts, path_bounds, turns_of
from massing.geometry.motions.sweep import swept_solids
from massing.geometry.overlap import overlap_volume
from massing.geometry.solids import Convex, box, hull, prism, prism_to_planes
from massing.geometry.tolerance import TOUCH

FAR = 1e5


def lid(length: float, high: float, thick: float = 20.0, *, wide: float = 600.0) -> Path:
    """A lid hinged along x at y = 0 and the height said, reaching to -y while shut."""
    solid = box([0, -length, high - thick], [wide, 0, high])
    about = np.array([[0.0, 0.0, high]])
    return Path(solid, np.array([[-1.0, 0, 0]]), about, np.array([math.pi / 2]))


def leaf(width: float, thick: float, tall: float = 800.0, *, angle: float = math.pi / 2) -> Path:
    """A leaf hinged at the origin, shut along +x behind y = 0, opening to -y."""
    solid = box([0, 0, 0], [width, thick, tall])
    return Path(solid, np.array([[0.0, 0, -1.0]]), np.zeros((1, 3)), np.array([angle]))


def drawer(travel: float = 480.0) -> Path:
    """A drawer 600 wide that slides to -y from y = 0."""
    return Path(
        box([0, 0, 100], [600, 500, 300]), np.array([[0.0, -1.0, 0]]), None, np.array([travel])
    )


def reach(path: Path, obstacle: Convex, limit: float | None = None) -> float:
    far = float(path.full[0]) if limit is None else limit
    return float(
        first_contacts([path], [obstacle], np.array([[0, 0]]), np.array([far])).reach[0, 0]
    )


def sampled(path: Path, obstacle: Convex, steps: int = 720, depth: float = TOUCH) -> float:
    """The first of many even steps at which the moved solid is deeper than contact."""
    for amount in np.linspace(0.0, float(path.full[0]), steps + 1):
        gap = signed_gaps([path.at(float(amount)), obstacle], np.array([[0, 1]])).gap[0, 0]
        if gap < -depth:
            return float(amount)
    return float(path.full[0])


# ---------------------------------------------------------------------------- closed forms


@pytest.mark.parametrize(("length", "high", "a", "b"), [(500, 900, 1300, 0.5), (700, 740, 1700, 1)])
def test_lid_under_a_slope(length, high, a, b):
    """A thin lid turned by t has its tip at y = -L cos t, z = h + L sin t.

    The slope z = a + b y is met where h + L sin t = a - b L cos t, so
    sin(t + atan b) = (a - h) / (L sqrt(1 + b²)).
    """
    path = lid(length, high, thick=0.05)
    ring = np.array([[-100.0, -2000], [900, -2000], [900, 2000], [-100, 2000]])
    slope = prism_to_planes(ring, [a + b * ring[:, 1]], np.full(4, FAR))
    wanted = math.asin((a - high) / (length * math.hypot(1, b))) - math.atan(b)
    assert wanted > 0
    assert reach(path, slope) == pytest.approx(wanted, abs=math.radians(0.02))


def test_lid_under_a_flat_shelf():
    """A lid 500 long at 800 meets a shelf 300 above it at asin(300/500)."""
    shelf = box([-100, -600, 1100], [900, 300, 1120])
    assert math.degrees(reach(lid(500, 800), shelf)) == pytest.approx(36.8699, abs=0.01)


def test_thick_leaf_is_met_by_its_far_corner():
    """Beyond the thin leaf's arc, within the far corner's: the end of the leaf meets it later."""
    post = box([700, -400, 0], [720, -330.0, 800])
    thin, thick = leaf(762, 0.05), leaf(762, 60)
    # Nearest corner (700, -330) is 773.9 from the pin: past 762, short of hypot(762, 60) = 764.4.
    assert reach(thin, post) == pytest.approx(math.pi / 2)
    nearer = box([693, -400, 0], [720, -320.0, 800])
    radius = math.hypot(693, 320)
    assert 762 < radius < math.hypot(762, 60)
    lag = math.acos(762 / radius)
    wanted = math.atan2(320, 693) + lag
    assert reach(thick, nearer) == pytest.approx(wanted, abs=2e-3)
    assert reach(thin, nearer) == pytest.approx(math.pi / 2)


def test_drawer_stops_at_an_exact_distance():
    assert reach(drawer(), box([550, -900, 0], [900, -317.25, 700])) == 317.25
    assert reach(drawer(), box([600, -900, 0], [900, -100, 700])) == 480.0
    assert reach(drawer(), box([0, -900, 300], [900, -100, 700])) == 480.0


def test_drawer_at_an_angle_meets_a_corner():
    turned = math.radians(30)
    way = np.array([[math.sin(turned), -math.cos(turned), 0.0]])
    path = Path(box([0, 0, 0], [10, 10, 10]), way, None, np.array([500.0]))
    # The corner (10, 0) runs into the face x = 110 after 100 / sin 30°.
    assert reach(path, box([110, -900, 0], [200, 900, 10])) == pytest.approx(200.0, abs=1e-9)


def test_rise_under_a_slope():
    """A top 1200 x 600 rising under z = 1000 + y / 2 stops when its low edge meets the slope."""
    top = Path(
        box([0, 100, 590], [1200, 700, 620]), np.array([[0.0, 0, 1]]), None, np.array([650.0])
    )
    ring = np.array([[-50.0, 0], [1300, 0], [1300, 900], [-50, 900]])
    slope = prism_to_planes(ring, [1000 + ring[:, 1] / 2], np.full(4, FAR))
    assert reach(top, slope) == pytest.approx(1050 - 620, abs=1e-9)


def test_flap_over_a_step():
    """A flap hinged 120 up drops onto a slab 60 high: its face falls below level, where it may.

    Hinged at z 120 and 620 long, its leading face lies level at 90°; a step 180 high that begins
    200 out is met earlier, when the face passes the step's edge at (200, 60 above the hinge).
    """
    solid = box([0, 0, 120], [600, 40, 740])
    path = Path(solid, np.array([[1.0, 0, 0]]), np.array([[0.0, 0, 120]]), np.array([math.pi / 2]))
    assert reach(path, box([-500, -3000, -500], [1500, -200, 60])) == pytest.approx(math.pi / 2)
    step = box([-500, -3000, -500], [1500, -200, 180])
    wanted = math.pi / 2 - math.atan2(60, 200)
    assert reach(path, step) == pytest.approx(wanted, abs=1e-4)


def test_overhead_panel_meets_a_shelf():
    """A panel 2000 high swinging up and in meets the front of a low shelf with its foot."""
    solid = box([0, -40, 0], [2400, 0, 2000])
    about = np.array([[0.0, 0.0, 2000]])
    path = Path(solid, np.array([[1.0, 0, 0]]), about, np.array([math.pi / 2]))
    shelf = box([0, 900, 0], [2400, 1500, 600])
    # Its foot is 900 in at asin(900 / 2000), still only 214 up: it meets the shelf's front.
    assert reach(path, shelf) == pytest.approx(math.asin(900 / 2000), abs=1e-4)
    assert reach(path, box([0, 10, 2000.0], [2400, 2100, 2300])) == pytest.approx(math.pi / 2)


@pytest.mark.parametrize("thin", [1.0, 0.1, 0.03])
def test_a_tiny_thin_thing_is_not_jumped(thin):
    post = box([300, -400, 0], [300 + thin, -400 + thin, 2400])
    assert reach(drawer(), post) == pytest.approx(400 - thin, abs=1e-9)
    wanted = math.atan2(400 - thin, 300 + thin)
    assert reach(leaf(600, 20), post) == pytest.approx(wanted, abs=1e-4)
    wire = box([0, -300, 950], [600, -300 + thin, 950 + thin])
    assert reach(lid(500, 800), wire) == pytest.approx(math.atan2(150, 300), abs=1e-3)


def test_touching_and_leaving_do_not_stop():
    """Flush neighbours, the wall behind, the floor below and a worktop above are no obstacle."""
    around = [
        box([-300, 0, 0], [0, 600, 800]),
        box([600, 0, 0], [900, 600, 800]),
        box([0, 20, 0], [600, 600, 800]),
        box([-300, -900, -100], [900, 900, 0]),
        box([-300, -900, 800], [900, 900, 840]),
    ]
    for obstacle in around:
        assert reach(eased([leaf(600, 20)])[0], obstacle) == pytest.approx(math.pi / 2)


def test_a_square_edge_binds_and_an_eased_one_does_not():
    """A leaf 600 x 50 reaches hypot(600, 50) - 600 = 2.08 past its own width, unless eased."""
    flush = box([600, 0, 0], [900, 600, 800])
    assert reach(leaf(600, 50), flush) < 0.001
    assert reach(leaf(600, 50), flush.moved(np.array([2.1, 0, 0]))) == pytest.approx(math.pi / 2)
    assert reach(eased([leaf(600, 50)])[0], flush) == pytest.approx(math.pi / 2)
    # The leading face is as it was: what it meets, it meets at the same angle.
    post = box([300, -400, 0], [310, -390, 2400])
    assert reach(eased([leaf(600, 50)])[0], post) == pytest.approx(
        reach(leaf(600, 50), post), abs=1e-6
    )
    assert len(eased([drawer()])) == 1


def test_swept_area_of_thin_and_thick_leaves():
    """The sweep's plan area is the closed form less the shut place: angle/2 (w² + t²)."""
    for wide, thick in ((762.0, 1.0), (762.0, 44.0), (480.0, 60.0)):
        path = leaf(wide, thick, tall=1.0)
        swept = swept_solids(path, path.full)
        truth = swept_area(wide, thick, math.pi / 2) - wide * thick
        got = float(swept[0].volume[0])
        # What the far corner sweeps before the leading face's start is in the shut place's shadow.
        assert truth - wide * thick <= got <= truth + 0.05 * wide * 2


# ---------------------------------------------------------------------------- oracle


def random_path(rng: np.random.Generator) -> Path:
    kind = rng.integers(4)
    size = rng.uniform(200, 800, 3)
    if kind == 0:
        path = leaf(size[0], rng.uniform(5, 60), size[2], angle=rng.uniform(0.5, 4.5))
    elif kind == 1:
        path = replace(lid(size[0], size[2], rng.uniform(5, 60)), full=rng.uniform(0.5, 3.0, 1))
    elif kind == 2:
        path = drawer(size[0])
    else:
        path = Path(box([0, -400, 0], [600, 0, 30]), np.array([[0.0, 0, 1]]), None, size[:1])
    yaw = rng.choice([0.0, math.pi / 2, rng.uniform(0, 6.28)])
    return moved(path, yaw, rng.uniform(-500, 500, 3))


def moved(path: Path, yaw: float, by: np.ndarray) -> Path:
    def points(p: np.ndarray) -> np.ndarray:
        return turned(p, yaw) + by

    solid = Convex(points(path.solid.corners), path.solid.faces)
    about = None if path.about is None else points(path.about)
    return Path(solid, turned(path.axis, yaw), about, path.full)


def turned(p: np.ndarray, yaw: float) -> np.ndarray:
    cos, sin = math.cos(yaw), math.sin(yaw)
    out = np.array(p, dtype=float)
    out[..., 0], out[..., 1] = cos * p[..., 0] - sin * p[..., 1], sin * p[..., 0] + cos * p[..., 1]
    return out


def random_obstacle(rng: np.random.Generator, near: np.ndarray) -> Convex:
    middle = near + rng.uniform(-700, 700, 3)
    kind = rng.integers(4)
    size = rng.uniform(20, 500, 3)
    if kind == 0:
        return box(middle - size / 2, middle + size / 2)
    if kind == 1:
        around = np.sort(rng.uniform(0, 2 * math.pi, 7))
        ring = middle[:2] + np.stack([np.cos(around), np.sin(around)], axis=1) * size[0]
        return prism(ring, middle[2] - size[2], middle[2] + size[2])
    if kind == 2:
        return hull(middle + rng.normal(size=(9, 3)) * size / 2)
    ring = np.array([[-400.0, -400], [400, -400], [400, 400], [-400, 400]]) + middle[:2]
    slope = rng.uniform(-1, 1, 2)
    low = middle[2] + (ring - middle[:2]) @ slope
    return prism_to_planes(ring, low[None], np.full(4, low.max() + 500))


def check_against_oracle(path: Path, obstacle: Convex, found: float, steps: int) -> None:
    """Between the sampled step before and the one after, within what a graze may hide."""
    step = float(path.full[0]) / steps
    seen = sampled(path, obstacle, steps, depth=3 * TOUCH)
    assert found <= seen + 1e-9, (found, seen)
    if found < float(path.full[0]) - 1e-9:
        # It must really touch there, and not before.
        gap = signed_gaps([path.at(found), obstacle], np.array([[0, 1]])).gap[0, 0]
        assert abs(gap) <= 3 * TOUCH or (found == 0.0 and gap < 0), gap
    for amount in np.arange(0.0, found - 1e-9, max(step, 1e-9)):
        gap = signed_gaps([path.at(float(amount)), obstacle], np.array([[0, 1]])).gap[0, 0]
        assert gap >= -3 * TOUCH, (amount, gap)


@pytest.mark.parametrize("seed", range(40))
def test_against_dense_sampling(seed):
    rng = np.random.default_rng(seed)
    path = random_path(rng)
    obstacle = random_obstacle(
        rng, path.at(float(path.full[0]) * rng.uniform(0, 1)).corners[0].mean(0)
    )
    check_against_oracle(path, obstacle, reach(path, obstacle), 60)


def test_the_oracle_sees_planted_faults():
    """A reach a degree too far, one too short, and a thin thing jumped are all caught."""
    post = box([300, -400, 0], [310, -390, 2400])
    path = leaf(600, 20)
    right = reach(path, post)
    check_against_oracle(path, post, right, 180)
    for wrong in (right + math.radians(1), right - math.radians(1), float(path.full[0])):
        with pytest.raises(AssertionError):
            check_against_oracle(path, post, wrong, 180)


# ---------------------------------------------------------------------------- laws


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 3), st.floats(-3000, 3000), st.floats(-3000, 3000))
def test_quarter_turns_and_shifts_change_no_reach(seed, quarters, x, y):
    rng = np.random.default_rng(seed)
    path = random_path(rng)
    obstacle = random_obstacle(rng, path.solid.corners[0].mean(axis=0))
    by, yaw = np.array([x, y, x / 2]), quarters * math.pi / 2
    there = Convex(turned(obstacle.corners, yaw) + by, obstacle.faces)
    assert reach(moved(path, yaw, by), there) == pytest.approx(reach(path, obstacle), abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6))
def test_mirroring_changes_no_reach(seed):
    rng = np.random.default_rng(seed)
    path = random_path(rng)
    obstacle = box(*np.sort(rng.uniform(-900, 900, (2, 3)), axis=0))
    low, high = obstacle.low[0] * [-1, 1, 1], obstacle.high[0] * [-1, 1, 1]
    there = box(np.minimum(low, high), np.maximum(low, high))
    # A mirror turns a turn about: its axis points the other way after reflection.
    ring = path.solid.corners * np.array([-1.0, 1, 1])
    solid = Convex(ring[:, [1, 0, 3, 2, 5, 4, 7, 6]], path.solid.faces)
    sign = -1.0 if path.about is not None else 1.0
    axis = path.axis * np.array([-1.0, 1, 1]) * sign
    about = None if path.about is None else path.about * np.array([-1.0, 1, 1])
    assert reach(Path(solid, axis, about, path.full), there) == pytest.approx(
        reach(path, obstacle), abs=1e-6
    )


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_a_larger_obstacle_never_lets_it_further(seed):
    rng = np.random.default_rng(seed)
    path = random_path(rng)
    small = np.sort(rng.uniform(-900, 900, (2, 3)), axis=0)
    grown = small + np.array([[-1.0], [1.0]]) * rng.uniform(0, 200, (1, 3))
    assert reach(path, box(*grown)) <= reach(path, box(*small)) + 1e-6


def test_many_worlds_are_one_world_at_a_time():
    rng = np.random.default_rng(5)
    worlds = 7
    paths, obstacles = [], []
    for _ in range(6):
        path = random_path(rng)
        shift = rng.normal(size=(worlds, 3)) * 20
        about = None if path.about is None else path.about + shift
        paths.append(
            Path(path.solid.moved(shift), np.repeat(path.axis, worlds, axis=0), about, path.full)
        )
        obstacle = random_obstacle(rng, path.solid.corners[0].mean(axis=0))
        still = rng.random() < 0.3
        obstacles.append(obstacle if still else obstacle.moved(rng.normal(size=(worlds, 3)) * 20))
    pairs = np.array([[i, j] for i in range(6) for j in range(6)])
    limits = np.array([float(path.full[0]) for path in paths])
    whole = first_contacts(paths, obstacles, pairs, limits)
    for w in range(worlds):
        one = [
            Path(
                p.solid.world(w),
                p.axis[w : w + 1],
                None if p.about is None else p.about[w : w + 1],
                p.full,
            )
            for p in paths
        ]
        other = [o if o.worlds == 1 else o.world(w) for o in obstacles]
        alone = first_contacts(one, other, pairs, limits)
        np.testing.assert_allclose(whole.reach[w], alone.reach[0], atol=1e-9)
        assert (whole.inside[w] == alone.inside[0]).all()


@pytest.mark.parametrize("seed", range(20))
def test_bounds_and_sweeps_hold_every_position(seed):
    rng = np.random.default_rng(seed)
    path = random_path(rng)
    low, high = path_bounds([path], path.full)
    swept = swept_solids(path, path.full)
    for share in np.linspace(0, 1, 9):
        there = path.at(float(path.full[0]) * float(share))
        assert (there.low[0] >= low[0] - 1e-6).all()
        assert (there.high[0] <= high[0] + 1e-6).all()
        held = sum(overlap_volume(_plain(there), _plain(s)) for s in swept)
        shut = overlap_volume(_plain(there), _plain(path.solid))
        assert held + shut >= float(there.volume[0]) * (1 - 1e-6)


def _plain(solid: Convex) -> Convex:
    return solid


def test_only_boxes_turn():
    round_ = prism([[0, 0], [1, 0], [0, 1]], 0, 1)
    path = Path(round_, np.array([[0.0, 0, 1]]), np.zeros((1, 3)), np.ones(1))
    with pytest.raises(GeometryError):
        turns_of([path], 1)
    with pytest.raises(GeometryError):
        turns_of([drawer()], 1)
