"""Pairs within reach, by arrays and compiled, against every pair measured one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.errors import GeometryError
from massing.geometry.gaps.pairs import BOUNDS, EDGE, pairs_within, prism_table
from massing.geometry.gaps.pairs_compiled import (
    bounds_table,
    move_within,
    one_within,
    pairs_within_compiled,
)
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, box, prism, prism_faces
from massing.geometry.tolerance import EXACT


def strewn(count: int, seed: int = 5) -> list[Convex]:
    """Yawed prisms of three to seven sides over a floor, on three levels."""
    rng = np.random.default_rng(seed)
    side = 500.0 * np.sqrt(count)
    solids = []
    for k in range(count):
        turns = np.sort(rng.uniform(0, 2 * np.pi, 3 + k % 5))
        ring = np.stack([np.cos(turns), np.sin(turns)], axis=1) * rng.uniform(50, 500)
        low = rng.uniform(0, 1500)
        solids.append(prism(ring + rng.uniform(0, side, 2), low, low + rng.uniform(50, 900)))
    return solids


def shelving(across: int, deep: int, tall: int, yaw: float = 0.0) -> list[Convex]:
    """Equal boxes, each flush with its neighbours."""
    turn = np.array([[np.cos(yaw), np.sin(yaw)], [-np.sin(yaw), np.cos(yaw)]])
    square = np.array([[0.0, 0.0], [400, 0], [400, 300], [0, 300]])
    return [
        prism((square + np.array([400 * i, 300 * j])) @ turn, 250.0 * k, 250.0 * (k + 1))
        for i in range(across)
        for j in range(deep)
        for k in range(tall)
    ]


def stack_and_outlier() -> list[Convex]:
    """Many things at one place and one far off, so that any bucket or cell is over-full."""
    nest = [box([k % 7, k % 5, 0], [300 + k, 300, 200]) for k in range(90)]
    return [*nest, box([90_000, 90_000, 0], [90_300, 90_300, 200])]


SCENES = {
    "strewn": strewn(120),
    "shelving": shelving(5, 4, 4),
    "shelving, yawed": shelving(5, 4, 4, 0.3),
    "stack": stack_and_outlier(),
    "long wall": [*strewn(60), box([-100, -100, 0], [6000, -20, 2400])],
    "flat row": [box([k * 10.0, 0, 0], [k * 10.0 + 10, 0.5, 1e-3]) for k in range(50)],
    "one": strewn(1),
    "none": [],
}


def every_pair(solids: list[Convex], reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Pairs and gaps by measuring the full square."""
    i, j = np.triu_indices(len(solids), 1)
    pairs = np.stack([i, j], axis=1)
    gap = signed_gaps(solids, pairs).gap[0] if len(pairs) else np.empty(0)
    return pairs[gap <= reach + EXACT], gap[gap <= reach + EXACT]


@pytest.mark.parametrize("reach", [0.0, 40.0])
@pytest.mark.parametrize("scene", SCENES)
def test_pairs_are_those_of_the_full_square(scene: str, reach: float) -> None:
    solids = SCENES[scene]
    pairs, gap = every_pair(solids, reach)
    table = prism_table(solids)
    for answer in (pairs_within(table, reach), pairs_within_compiled(table, reach)):
        assert np.array_equal(answer.pairs, pairs)
        assert np.abs(answer.gap - gap).max(initial=0.0) < 1e-9


@pytest.mark.parametrize("scene", ["strewn", "shelving, yawed", "stack"])
def test_one_against_all_is_its_row(scene: str) -> None:
    table = prism_table(SCENES[scene])
    near, bounds = pairs_within(table, 25.0), bounds_table(table)
    who, gap = np.empty(len(table), np.int64), np.empty(len(table))
    for number in range(0, len(table), 7):
        count = one_within(table, bounds, table[number], number, 25.0, who, gap)
        own = (near.pairs == number).any(axis=1)
        assert np.array_equal(who[:count], near.pairs[own].sum(axis=1) - number)
        assert np.abs(gap[:count] - near.gap[own]).max(initial=0.0) < 1e-9


def test_a_moved_thing_is_measured_where_it_now_is() -> None:
    solids = SCENES["strewn"]
    table = prism_table(solids)
    bounds = bounds_table(table)
    who, gap = np.empty(len(table), np.int64), np.empty(len(table))
    moved = solids[11].moved(solids[20].low[0] - solids[11].low[0])
    count = move_within(table, bounds, 11, moved.corners[0], 300.0, who, gap)
    fresh = prism_table([*solids[:11], moved, *solids[12:]])
    assert np.abs(table - fresh).max() < 1e-9
    assert np.array_equal(bounds, bounds_table(table))
    near = pairs_within(fresh, 300.0)
    own = (near.pairs == 11).any(axis=1)
    assert count == own.sum() > 0
    assert np.array_equal(who[:count], near.pairs[own].sum(axis=1) - 11)
    assert np.abs(gap[:count] - near.gap[own]).max() < 1e-9


@settings(max_examples=25)
@given(
    seed=st.integers(0, 2**32 - 1),
    reach=st.sampled_from([0.0, 1.0, 300.0]),
    shift=st.tuples(*[st.integers(-4, 4)] * 3),
)
def test_numbering_and_place_change_nothing(
    seed: int, reach: float, shift: tuple[int, int, int]
) -> None:
    solids = [*strewn(30, seed), *shelving(3, 2, 2)]
    order = np.random.default_rng(seed).permutation(len(solids))
    moved = [solids[k].moved(np.array(shift) * 1024.0) for k in order]
    first = pairs_within_compiled(prism_table(solids), reach)
    other = pairs_within_compiled(prism_table(moved), reach)
    told = {(int(i), int(j)): g for (i, j), g in zip(first.pairs, first.gap, strict=True)}
    again = {
        (int(min(order[[i, j]])), int(max(order[[i, j]]))): g
        for (i, j), g in zip(other.pairs, other.gap, strict=True)
    }
    edge = told.keys() ^ again.keys()
    assert all(abs({**told, **again}[pair] - reach - EXACT) < 1e-8 for pair in edge)
    assert all(abs(told[pair] - again[pair]) < 1e-8 for pair in told.keys() & again.keys())


def test_a_table_without_an_edge_is_found_out() -> None:
    """The full square does see a planted fault: one outward normal turned about."""
    solids = SCENES["strewn"]
    table = prism_table(solids)
    pairs, gap = every_pair(solids, 0.0)
    deepest = int(pairs[np.argmin(gap), 0])
    table[deepest, BOUNDS + 2 : BOUNDS + 4] *= -1.0
    broken = pairs_within_compiled(table, 0.0)
    assert not np.array_equal(broken.pairs, pairs) or np.abs(broken.gap - gap).max() > 1.0


def test_the_table_is_as_it_says() -> None:
    table = prism_table([prism([[0, 0], [30, 0], [0, 40]], 5, 9), *strewn(7)])
    assert table.shape == (8, BOUNDS + EDGE * 7)
    assert table[0, :BOUNDS].tolist() == [0, 0, 5, 30, 40, 9, 3]
    ring = table[0, BOUNDS:].reshape(-1, EDGE)
    assert ring[1].tolist() == [30, 0, 0.8, 0.6, 50]
    assert (ring[3:, 2:] == 0.0).all()
    worlds = Convex(np.concatenate([box([0, 0, 0], [1, 1, 1]).corners] * 2), prism_faces(4))
    worlds.corners[1] += 7.0
    assert prism_table([worlds], 1)[0, :3].tolist() == [7, 7, 7]


def test_only_upright_prisms_go_in() -> None:
    with pytest.raises(GeometryError, match="upright"):
        prism_table([Convex(box([0, 0, 0], [1, 1, 1]).corners, prism_faces(4, upright=False))])
