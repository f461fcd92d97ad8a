"""Signed gaps: closed forms, perfect dissections and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.gaps.signed import (
    candidate_pairs,
    candidate_pairs_between,
    directed_depth,
    polygon_gap,
    signed_gaps,
)
from massing.geometry.solids import Convex, box, prism, prism_faces, prism_to_planes
from tests.convex_pairs import flush_pairs, rotation, scattered_pairs, turned
from tests.oracles import clear_travel, polygon_gap_by_minkowski

ONE = np.array([[0, 1]])
SQUARE = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])

# Perfect squared square of side 112, OEIS A014530; rows read as in Duijvestijn's code.
SQUARED_SQUARE = (
    112,
    [
        *[(50, 35, 27), (8, 19), (15, 17, 11), (6, 24), (29, 25, 9, 2)],
        *[(7, 18), (16,), (42,), (4, 37), (33,)],
    ],
)
# Squared rectangle 33 x 32 (from memory; that it fills the rectangle is checked below).
SQUARED_RECTANGLE = (33, [(18, 15), (7, 8), (14, 4), (10, 1), (9,)])


def yaw(degrees: float) -> np.ndarray:
    t = np.radians(degrees)
    return np.array([[np.cos(t), -np.sin(t), 0], [np.sin(t), np.cos(t), 0], [0, 0, 1.0]])


def lain(solid: Convex) -> Convex:
    """The same prism told to be nothing special, so that the general kernel answers."""
    return Convex(solid.corners, prism_faces(solid.corners.shape[1] // 2, upright=False))


def one_gap(a: Convex, b: Convex) -> float:
    return float(signed_gaps([a, b], ONE).gap[0, 0])


def dissection(width: int, rows: list[tuple[int, ...]]) -> list[tuple[int, int, int]]:
    """Squares (x, y, side): each row fills the leftmost lowest stretch of the skyline."""
    skyline = [0] * width
    placed = []
    for row in rows:
        x = skyline.index(min(skyline))
        for side in row:
            level = skyline[x]
            assert skyline[x : x + side] == [level] * side
            placed.append((x, level, side))
            skyline[x : x + side] = [level + side] * side
            x += side
    assert len(set(skyline)) == 1
    return placed


@pytest.mark.parametrize("kind", [lambda s: s, lain])
def test_unit_squares_at_45_degrees(kind) -> None:
    # Unit squares, centres 1.2 apart, one at 45 deg: shortest push (1 + sqrt 2)/2 - 1.2.
    turn = yaw(45)[:2, :2]
    a = kind(prism(SQUARE * 1000, 0, 5000))
    b = kind(prism((SQUARE @ turn.T + [1.2, 0]) * 1000, 0, 5000))
    found = signed_gaps([a, b], ONE)
    assert found.gap[0, 0] == pytest.approx(-7.1067811865475, abs=1e-9)
    assert found.normal[0, 0] == pytest.approx([1, 0, 0], abs=1e-12)


def test_crossed_bars_edge_to_edge() -> None:
    # Two square bars on edge, crossing at right angles: ridges 2 * 100/sqrt 2 below the axes.
    ridge = 100 / np.sqrt(2)
    bar = box([-500, -50, -50], [500, 50, 50])
    on_edge = turned(bar, np.array([[1, 0, 0], [0, *_cs(45)], [0, *_sc(45)]]), np.zeros(3))
    across = turned(on_edge, yaw(90), np.zeros(3))
    for lift in (2 * ridge + 13.0, 2 * ridge, 2 * ridge - 0.25):
        found = signed_gaps([on_edge, across.moved(np.array([0, 0, lift]))], ONE)
        assert found.gap[0, 0] == pytest.approx(lift - 2 * ridge, abs=1e-9)
        assert found.normal[0, 0] == pytest.approx([0, 0, 1], abs=1e-7)
        assert found.at[0, 0] == pytest.approx([0, 0, lift / 2], abs=1e-5)


def _cs(degrees: float) -> tuple[float, float]:
    t = np.radians(degrees)
    return float(np.cos(t)), float(-np.sin(t))


def _sc(degrees: float) -> tuple[float, float]:
    t = np.radians(degrees)
    return float(np.sin(t)), float(np.cos(t))


@pytest.mark.parametrize("kind", [lambda s: s, lain])
def test_distance_between_corners_is_no_axis_separation(kind) -> None:
    a, b = kind(box([0, 0, 0], [10, 10, 10])), kind(box([12, 13, 16], [20, 20, 20]))
    found = signed_gaps([a, b], ONE)
    assert found.gap[0, 0] == pytest.approx(7.0, abs=1e-12)  # 2, 3, 6
    assert found.normal[0, 0] == pytest.approx(np.array([2, 3, 6]) / 7, abs=1e-12)
    assert found.at[0, 0] == pytest.approx([11, 11.5, 13], abs=1e-6)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 17.3])
@pytest.mark.parametrize("kind", [lambda s: s, lain])
@pytest.mark.parametrize("known", [SQUARED_SQUARE, SQUARED_RECTANGLE])
def test_perfect_dissections_touch_and_never_collide(known, kind, degrees) -> None:
    width, rows = known
    squares = dissection(width, rows)
    solids = [
        kind(turned(box([x, y, 0], [x + s, y + s, 50]), yaw(degrees), np.array([1234.5, 77.7, 9])))
        for x, y, s in squares
    ]
    solids = [Convex(s.corners * 10.0, s.faces) for s in solids]
    pairs = candidate_pairs(solids, 0.0)
    gaps = signed_gaps(solids, pairs).gap[0]
    assert gaps.min() > -1e-6
    # They tile: every square is flush with some other along a face.
    assert set(pairs[np.abs(gaps) < 1e-6].ravel().tolist()) == set(range(len(squares)))
    # And the check is no blunt one: a hundredth of a millimetre is seen.
    solids[0] = solids[0].moved(np.array([*(yaw(degrees)[:2, :2] @ [0.01, 0]), 0]))
    assert signed_gaps(solids, pairs).gap[0].min() == pytest.approx(-0.01, abs=1e-6)


def test_a_slope_that_meets_the_floor() -> None:
    # A wedge 0..1000 high over 1000: the face at its thin end has no area.
    wedge = prism_to_planes([[0, 0], [1000, 0], [1000, 800], [0, 800]], 0, [0, 1000, 1000, 0])
    probe = box([0, 300, 500], [100, 400, 600])
    # Nearest corner (100, ., 500) to the plane z = x: 400 / sqrt 2.
    assert one_gap(wedge, probe) == pytest.approx(400 / np.sqrt(2), abs=1e-9)
    assert one_gap(wedge, probe.moved(np.array([400, 0, 0]))) == pytest.approx(0.0, abs=1e-9)
    inside = probe.moved(np.array([410, 0, 0]))
    assert one_gap(wedge, inside) == pytest.approx(-10 / np.sqrt(2), abs=1e-9)
    assert one_gap(wedge, box([-30, 0, 0], [-5, 10, 10])) == pytest.approx(5.0, abs=1e-9)


def test_worlds_broadcast_and_slicing_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    found = scattered_pairs(rng, 30)
    solids = [
        Convex(s.corners + rng.normal(size=(7, 1, 3)) * 50, s.faces) if k % 3 else s
        for k, s in enumerate(found.firsts + found.seconds)
    ]
    pairs = rng.integers(0, len(solids), (60, 2))
    whole = signed_gaps(solids, pairs)
    assert whole.gap.shape == (7, 60)
    for world in range(7):
        single = [s if s.worlds == 1 else s.world(world) for s in solids]
        assert np.array_equal(signed_gaps(single, pairs).gap[0], whole.gap[world])
    monkeypatch.setattr("massing.geometry.gaps.signed._WORK_AT_ONCE", 500)
    monkeypatch.setattr("massing.geometry.gaps.signed._WORLDS_AT_ONCE", 70)
    sliced = signed_gaps(solids, pairs)
    assert np.array_equal(sliced.gap, whole.gap)
    assert np.array_equal(sliced.at, whole.at)


def test_bad_input_is_refused() -> None:
    a, b = box(np.zeros((2, 3)), np.ones((2, 3))), box(np.zeros((3, 3)), np.ones((3, 3)))
    with pytest.raises(GeometryError, match=r"number of worlds: \[2, 3\]"):
        signed_gaps([a, b], ONE)
    with pytest.raises(GeometryError, match="not among the 1 given"):
        signed_gaps([a], ONE)
    assert signed_gaps([a], np.empty((0, 2), dtype=np.int64)).gap.shape == (2, 0)


@pytest.mark.parametrize("make", [scattered_pairs, flush_pairs])
def test_laws_over_random_pairs(make) -> None:
    rng = np.random.default_rng(11)
    n = 600
    found = make(rng, n)
    pairs = np.stack([np.arange(n), np.arange(n) + n], axis=1)
    base = signed_gaps(found.firsts + found.seconds, pairs)
    gap, normal, at = base.gap[0], base.normal[0], base.at[0]

    back = signed_gaps(found.firsts + found.seconds, pairs[:, ::-1])
    assert np.abs(back.gap[0] - gap).max() < 1e-8

    turn, shift = rotation(rng), np.array([300.0, -2000.0, 55.0])
    moved = [turned(s, turn, shift) for s in found.firsts + found.seconds]
    assert np.abs(signed_gaps(moved, pairs).gap[0] - gap).max() < 1e-8

    # Moving the first by normal * gap brings the pair to touch, from either side.
    pushed = [a.moved(v * g) for a, v, g in zip(found.firsts, normal, gap, strict=True)]
    assert np.abs(signed_gaps(pushed + found.seconds, pairs).gap[0]).max() < 1e-6

    # A move changes the gap by no more than its length.
    by = rng.normal(size=(n, 3)) * rng.choice([1e-6, 1.0, 100.0], (n, 1))
    went = [a.moved(v) for a, v in zip(found.firsts, by, strict=True)]
    change = np.abs(signed_gaps(went + found.seconds, pairs).gap[0] - gap)
    assert (change <= np.linalg.norm(by, axis=1) + 1e-8).all()

    # Any direction bounds the gap from below; the one returned attains it.
    for a, b, v, g in zip(found.firsts, found.seconds, normal, gap, strict=True):
        assert (b.corners[0] @ v).min() - (a.corners[0] @ v).max() == pytest.approx(g, abs=1e-7)

    # The point is in both when they overlap, and half the gap from both when they do not.
    dots = [Convex(p + 1e-7 * _TETRA[None], _TETRA_FACES) for p in at]
    to = signed_gaps(dots + found.firsts + found.seconds, _and_seconds(pairs, n))
    for side in to.gap[0].reshape(2, n):
        assert (side[gap <= 0] < 1e-5).all()
        assert np.abs(side[gap > 0] - gap[gap > 0] / 2).max() < 1e-5


def _and_seconds(pairs: np.ndarray, n: int) -> np.ndarray:
    """Each dot with its first solid, then each dot with its second."""
    return np.concatenate([pairs, np.add(pairs, [0, n])])


_TETRA = np.array([[1.0, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]])
_TETRA_FACES = type(prism_faces(4))(((0, 1, 2), (0, 2, 3), (0, 3, 1), (1, 3, 2)))


def test_directed_depth_against_linear_programs() -> None:
    rng = np.random.default_rng(4)
    for make in (scattered_pairs, flush_pairs):
        found = make(rng, 60)
        for a, b in zip(found.firsts, found.seconds, strict=True):
            way = rotation(rng)[0]
            depth = float(directed_depth(a, b, way)[0])
            gap = one_gap(a, b)
            assert depth == 0.0 if gap >= 0 else depth >= -gap - 1e-9
            if gap < -1e-5:
                assert depth == pytest.approx(
                    clear_travel(a.corners[0], b.corners[0], way), abs=1e-4
                )
                assert one_gap(a.moved(way * depth), b) == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(3, 9), st.integers(3, 9))
def test_polygon_gap_is_the_minkowski_one(seed: int, n: int, m: int) -> None:
    rng = np.random.default_rng(seed)
    rings = []
    for count in (n, m):
        t = np.sort(rng.uniform(0, 2 * np.pi, count)) + 1e-3 * np.arange(count)
        rings.append(np.stack([np.cos(t), np.sin(t)], axis=1) * rng.uniform(50, 500))
    rings[1] = rings[1] + rng.normal(size=2) * 300
    found = polygon_gap(rings[0], rings[1])
    assert found.gap[0] == pytest.approx(polygon_gap_by_minkowski(*rings), abs=1e-8)
    touching = polygon_gap(rings[0] + found.normal[0] * found.gap[0], rings[1])
    assert touching.gap[0] == pytest.approx(0.0, abs=1e-6)


def test_candidate_pairs_are_those_of_the_full_square() -> None:
    rng = np.random.default_rng(8)
    low = rng.integers(0, 40, (70, 3)) * 10.0
    solids = [box(p, p + rng.integers(1, 9, 3) * 10.0) for p in low]
    low = np.concatenate([s.low for s in solids])
    high = np.concatenate([s.high for s in solids])
    apart = np.maximum(0, np.maximum(low[:, None] - high, low - high[:, None]))
    for reach in (0.0, 10.0, 35.0):
        near = np.linalg.norm(apart, axis=2) <= reach + 1e-6
        expected = np.argwhere(np.triu(near, 1))
        assert np.array_equal(candidate_pairs(solids, reach), expected)
        between = candidate_pairs_between(solids[:30], solids[30:], reach)
        assert np.array_equal(between, np.argwhere(near[:30, 30:]))
    assert candidate_pairs(solids[:1], 5.0).shape == (0, 2)
    assert candidate_pairs_between([], solids, 5.0).shape == (0, 2)
