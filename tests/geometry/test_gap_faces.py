"""Tests for measuring face by face, compiled, asked directly of pairs that quicker ways settle."""

from __future__ import annotations

import numpy as np
import pytest

from massing.geometry.gaps.faces_compiled import (
    exact_gap,
    fill_edges,
    fill_faces,
    point_between,
    work_for,
)
from massing.geometry.gaps.rows import rows_of
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.solids import Convex, box, hull
from tests.convex_pairs import flush_pairs, rotation, scattered_pairs, turned


def _framed(solid: Convex):
    rows = rows_of([solid])
    count, longest, _, sides, _ = rows.patterns[0]
    faces, edges = np.empty((count, 4)), np.empty((sides, 13))
    fill_faces(solid.corners[0], rows.rings.reshape(count, longest), faces)
    fill_edges(solid.corners[0], rows.edges, faces, edges)
    return solid.corners[0].copy(), faces, edges, rows.edges


def _measured(a: Convex, b: Convex) -> tuple[np.ndarray, np.ndarray]:
    """Gap and normal, and the point between."""
    one, two = _framed(a), _framed(b)
    best, at = np.empty(4), np.empty(3)
    most = [max(len(one[k]), len(two[k])) for k in (1, 2)]
    exact_gap(one, two, work_for(*most), best)
    point_between(one, two, best, np.empty((len(one[2]) + len(two[2]), 4)), at)
    return best, at


def _apart(rng: np.random.Generator, gap: float) -> tuple[Convex, Convex]:
    """Two small hulls of which the second lies beyond a plane so far from the first."""
    a, b = (
        turned(hull(rng.normal(size=(n, 3)) * 150.0), rotation(rng), np.zeros(3)) for n in (4, 5)
    )
    way = rotation(rng)[0]
    lift = (a.corners[0] @ way).max() - (b.corners[0] @ way).min() + gap
    return a, b.moved(way * lift + np.cross(way, rng.normal(size=3)) * 40.0)


@pytest.mark.parametrize("gap", [0.002, 0.3, 1.5, 60.0, 900.0])
@pytest.mark.parametrize("seed", range(3))
def test_any_distance(gap: float, seed: int) -> None:
    """Corner to face, edge to edge, corner to edge and corner to corner, near and far."""
    rng = np.random.default_rng([66, seed])
    for _ in range(14):
        a, b = _apart(rng, gap)
        said = signed_gaps([a, b], np.array([[0, 1]]))

        best, at = _measured(a, b)

        assert best[0] == pytest.approx(said.gap[0, 0], abs=1e-9)
        assert best[1:] == pytest.approx(said.normal[0, 0], abs=1e-6)
        assert at == pytest.approx(said.at[0, 0], abs=1e-4)


@pytest.mark.parametrize("make", [scattered_pairs, flush_pairs])
@pytest.mark.parametrize("seed", range(4))
def test_whatever_lies_how(make, seed: int) -> None:
    """Overlapping, flush and apart: the gap, and a push by it that brings them to touch."""
    found = make(np.random.default_rng([67, seed]), 6)
    for a, b in zip(found.firsts, found.seconds, strict=True):
        best, _ = _measured(a, b)
        assert best[0] == pytest.approx(signed_gaps([a, b], np.array([[0, 1]])).gap[0, 0], abs=1e-8)
        pushed = a.moved(best[1:] * best[0])
        assert abs(signed_gaps([pushed, b], np.array([[0, 1]])).gap[0, 0]) < 1e-6


def test_corner_to_edge_and_to_corner() -> None:
    """Boxes beyond each other's edge and corner: 3, 4 and 12 off are 5 and 13, from each side."""
    a = box([0, 0, 0], [10, 20, 30])
    for ways in ((1, 1, 1), (-1, 1, 1), (1, -1, 1), (1, 1, -1), (-1, -1, -1)):
        sign = np.array(ways)
        size, high = np.array([7.0, 8.0, 9.0]), np.array([10.0, 20.0, 30.0])
        for off in ((3, 4, 12), (3, 4, -5), (12, -5, 5), (-5, 3, 4)):
            gap = np.array(off, dtype=float)
            low = np.where(sign > 0, high + gap, -gap - size)
            clear = np.maximum(gap, 0.0)
            far = float(np.linalg.norm(clear))

            best, _ = _measured(a, box(low, low + size))

            assert best[0] == pytest.approx(far, abs=1e-12)
            assert best[1:] == pytest.approx(sign * clear / far, abs=1e-12)


def test_faces_and_edges_are_what_they_say() -> None:
    """Normals outward, reaches, ways and lengths of a box; a face without area is left nothing."""
    corners, faces, edges, sides = _framed(box([1, 2, 3], [11, 22, 33]))

    assert np.abs(faces[:, :3]).sum(axis=1).tolist() == [1.0] * 6
    assert sorted(faces[:, 3].tolist()) == [-3.0, -2.0, -1.0, 11.0, 22.0, 33.0]
    assert sorted(edges[:, 6].tolist()) == [10.0] * 4 + [20.0] * 4 + [30.0] * 4
    for edge, (head, tail, left, right) in zip(edges, sides, strict=True):
        assert edge[:3].tolist() == corners[head].tolist()
        assert edge[:3] + edge[3:6] * edge[6] == pytest.approx(corners[tail])
        assert edge[7:10].tolist() == faces[left, :3].tolist()
        assert edge[10:].tolist() == faces[right, :3].tolist()
    flat, out = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]), np.ones((1, 4))
    fill_faces(flat, np.array([[0, 1, 2]]), out)
    assert out.tolist() == [[0.0, 0.0, 0.0, 0.0]]
