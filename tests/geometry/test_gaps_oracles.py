"""The oracles themselves: closed forms they must meet, and planted faults they must catch."""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import box
from tests.convex_pairs import flush_pairs, scattered_pairs
from tests.oracles import (
    clear_travel,
    minkowski_gap,
    point_to_triangles,
    polygon_gap_by_minkowski,
)

CUBE = box([0, 0, 0], [10, 10, 10]).corners[0]


@pytest.mark.parametrize(
    ("shift", "gap"),
    [
        ([12.0, 13.0, 16.0], 7.0),  # corner to corner: 2, 3, 6
        ([13.0, 14.0, 5.0], 5.0),  # edge to edge: 3, 4
        ([10.0, 2.0, 3.0], 0.0),
        ([9.0, 2.0, 3.0], -1.0),
        ([0.0, 0.0, 0.0], -10.0),
    ],
)
def test_minkowski_gap_of_cubes(shift: list[float], gap: float) -> None:
    assert minkowski_gap(CUBE, CUBE + shift) == pytest.approx(gap, abs=1e-9)


def test_point_to_triangles_on_face_edge_and_corner() -> None:
    flat = np.array([[1.0, 0, 0], [0, 1, 0], [-1, -1, 0]])
    lifted = np.add(flat, [0, 0, 3])
    aside = np.add(flat, [4, -1, 0])  # nearest its edge from (3, -2) to (4, 0)
    ahead = np.add(flat, [4, 0, 0])  # nearest its corner (3, -1)
    found = point_to_triangles(np.stack([lifted, aside, ahead]))
    assert found == pytest.approx([3.0, 8 / np.sqrt(5), np.sqrt(10)])


def test_polygon_and_travel_closed_forms() -> None:
    square = CUBE[:4, :2]
    assert polygon_gap_by_minkowski(square, np.add(square, [13, 14])) == pytest.approx(5.0)
    assert polygon_gap_by_minkowski(square, np.add(square, [8, 3])) == pytest.approx(-2.0)
    up = np.array([0.0, 0.6, 0.8])
    assert clear_travel(CUBE, np.add(CUBE, [0, 0, 6]), up) == pytest.approx(10 / 0.6)


def _wrong_by(fault: str) -> float:
    """Largest disagreement with the oracle of gaps with one known mistake planted."""
    rng = np.random.default_rng(21)
    worst = 0.0
    for make in (scattered_pairs, flush_pairs):
        found = make(rng, 150)
        pairs = np.stack([np.arange(150), np.arange(150) + 150], axis=1)
        answer = signed_gaps(found.firsts + found.seconds, pairs)
        for a, b, gap in zip(found.firsts, found.seconds, answer.gap[0], strict=True):
            wrong = float(gap)
            if fault == "face normals only":
                wrong = _axes_only(a, b)
            elif fault == "no depth":
                wrong = max(wrong, 0.0)
            elif fault == "a corner forgotten":
                worst = max(worst, abs(minkowski_gap(a.corners[0][1:], b.corners[0]) - wrong))
                continue
            worst = max(worst, abs(minkowski_gap(a.corners[0], b.corners[0]) - wrong))
    return worst


def _axes_only(a, b) -> float:  # the classical mistake: the best axis taken for the distance
    best = -np.inf
    for one, other, sign in ((a, b, 1.0), (b, a, -1.0)):
        for ring in one.faces.rings:
            p = one.corners[0][list(ring)]
            n = np.cross(p[1:-1] - p[0], p[2:] - p[0]).sum(axis=0)
            if np.linalg.norm(n) > 1e-3:
                n = sign * n / np.linalg.norm(n)
                best = max(best, (b.corners[0] @ n).min() - (a.corners[0] @ n).max())
        del other
    return float(best)


@pytest.mark.parametrize("fault", ["face normals only", "no depth", "a corner forgotten"])
def test_planted_faults_are_caught(fault: str) -> None:
    assert _wrong_by(fault) > 1.0


def test_without_a_fault_the_oracle_agrees() -> None:
    assert _wrong_by("none") < 1e-6
