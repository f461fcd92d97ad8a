"""Gaps of two upright boxes without their corners, against the same two as prisms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.geometry.gaps.boxes_compiled import BOX, box_gap, fill_box, fill_box_of_row
from massing.geometry.gaps.pairs import pairs_within, prism_table
from massing.geometry.gaps.pairs_compiled import pairs_within_compiled
from massing.geometry.solids import Convex, box, prism

SQUARE = np.array([[-1.0, -1.0], [1, -1], [1, 1], [-1, 1]])
SIZES = st.integers(20, 900)
PLACES = st.tuples(st.integers(-900, 900), st.integers(-900, 900), st.integers(-900, 900))


def turned(size: tuple[int, int, int], yaw: float, at: tuple[float, float, float]) -> Convex:
    """An upright box about a middle."""
    cos, sin = np.cos(yaw), np.sin(yaw)
    ring = SQUARE * np.array(size[:2]) / 2.0 @ np.array([[cos, sin], [-sin, cos]])
    return prism(ring + at[:2], at[2] - size[2] / 2.0, at[2] + size[2] / 2.0)


def row_of(solid: Convex) -> np.ndarray:
    """Its row both ways, which must agree."""
    one, other = np.empty(BOX), np.empty(BOX)
    fill_box(solid.corners[0], one)
    fill_box_of_row(prism_table([solid])[0], other)
    assert np.abs(one - other).max() < 1e-11
    return one


def by_prisms(a: Convex, b: Convex) -> float:
    """The gap of the arrays."""
    return float(pairs_within(prism_table([a, b]), 1e5).gap[0])


@given(
    sizes=st.tuples(st.tuples(SIZES, SIZES, SIZES), st.tuples(SIZES, SIZES, SIZES)),
    yaw=st.floats(-3.2, 3.2),
    more=st.one_of(st.floats(-3.2, 3.2), st.sampled_from([0.0, np.pi / 2, np.pi, -np.pi / 2])),
    place=PLACES,
)
def test_what_is_settled_is_the_gap_of_the_prisms(sizes, yaw, more, place) -> None:
    a, b = turned(sizes[0], yaw, (0.0, 0.0, 0.0)), turned(sizes[1], yaw + more, place)
    must = by_prisms(a, b)
    for found in (box_gap(row_of(a), row_of(b), np.inf), box_gap(row_of(b), row_of(a), np.inf)):
        if np.isnan(found):
            assert must > 0.0  # only boxes apart and turned are left to others
            assert abs(np.sin(2.0 * more)) > 1e-14
        else:
            assert abs(found - must) < 1e-9
    if abs(must) > 1e-6:
        assert not box_gap(row_of(a), row_of(b), must - 1e-6) <= must - 1e-6


@pytest.mark.parametrize("yaw", [0.0, 0.4, np.pi / 2, 2.9])
def test_flush_boxes_touch_however_they_face(yaw: float) -> None:
    turn = np.array([[np.cos(yaw), np.sin(yaw)], [-np.sin(yaw), np.cos(yaw)]])
    first = prism(np.array([[0.0, 0], [400, 0], [400, 320], [0, 320]]) @ turn, 0, 350)
    for low, high in (((400, 0), (777, 320)), ((100, 320), (900, 500)), ((400, 320), (410, 999))):
        (x0, y0), (x1, y1) = low, high
        ring = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) * 1.0
        other = prism(ring @ turn, 0, 350)
        assert abs(box_gap(row_of(first), row_of(other), np.inf)) < 1e-10
    assert box_gap(row_of(first), row_of(first.moved([0.0, 0.0, 350.0])), np.inf) == 0.0


def test_square_sizes_in_whole_numbers_are_exact() -> None:
    first, other = box([0, 0, 0], [1200, 600, 720]), box([1203, 604, 0], [1400, 800, 300])
    assert box_gap(row_of(first), row_of(other), np.inf) == 5.0
    inside = box([1100, 500, 0], [1400, 800, 300])
    assert box_gap(row_of(first), row_of(inside), np.inf) == -100.0


def test_what_is_no_box_is_left_to_others() -> None:
    plain = row_of(box([0, 0, 0], [10, 10, 10]))
    leaning = prism([[0, 0], [10, 0], [11, 10], [1, 10]], 0, 10)
    wedge = prism([[0, 0], [10, 0], [10, 10], [0, 9]], 0, 10)
    flat = prism([[0, 0], [10, 0], [10, 0], [0, 0]], 0, 10)
    for solid in (leaning, wedge, flat, prism([[0, 0], [10, 0], [0, 10]], 0, 10)):
        one, other = np.empty(BOX), np.empty(BOX)
        fill_box(solid.corners[0], one)
        fill_box_of_row(prism_table([solid])[0], other)
        assert one[4] == other[4] == -1.0
        assert np.isnan(box_gap(plain, one, np.inf))
        assert np.isnan(box_gap(other, plain, np.inf))


def test_a_corner_out_of_place_is_seen() -> None:
    """The comparison sees a planted fault: half a size a thousandth of a millimetre too large."""
    a, b = turned((300, 200, 100), 0.3, (0, 0, 0)), turned((250, 150, 90), 0.3, (260.0, 20.0, 5.0))
    row = row_of(a)
    assert abs(box_gap(row, row_of(b), np.inf) - by_prisms(a, b)) < 1e-9
    row[4] += 1e-3
    assert abs(box_gap(row, row_of(b), np.inf) - by_prisms(a, b)) > 1e-4


def test_rooms_of_any_size_one_after_the_other() -> None:
    """What is kept to work in from a larger room changes nothing in a smaller, nor the reverse."""
    rng = np.random.default_rng(3)
    for count in (40, 700, 3, 300, 0, 700):
        solids = [
            turned(
                tuple(rng.integers(100, 900, 3).tolist()),
                float(rng.uniform(0, 7)),
                (*rng.uniform(0, 450 * np.sqrt(count), 2).tolist(), float(rng.uniform(0, 2000))),
            )
            for _ in range(count)
        ]
        table = prism_table(solids)
        for reach in (0.0, 90.0):
            found, must = pairs_within_compiled(table, reach), pairs_within(table, reach)
            assert np.array_equal(found.pairs, must.pairs)
            assert np.abs(found.gap - must.gap).max(initial=0.0) < 1e-9


def test_more_pairs_and_columns_than_there_was_room_for() -> None:
    nest = [box([k, 2 * k, 0], [3000 + k, 3000, 200]) for k in range(60)]
    posts = [box([200 * k, 9000, 0], [200 * k + 5, 9005, 2000]) for k in range(60)]
    wall = [box([-10, 3500, 0], [12_000, 9000, 2000])]
    table = prism_table([*nest, *posts, *wall])
    found, must = pairs_within_compiled(table, 1.0), pairs_within(table, 1.0)
    assert len(must.pairs) > 8 * len(table)
    assert np.array_equal(found.pairs, must.pairs)
    assert np.abs(found.gap - must.gap).max() < 1e-9
