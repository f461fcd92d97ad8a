"""Solids as a compiled gap kernel wants them: a list of solids in, a few flat arrays out.

Corners of all solids and worlds lie in one array, and how they join into faces and edges is kept
once for each pattern, so that nothing is looked up in Python for each pair.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from massing.geometry.gaps.frames import face_tables
from massing.geometry.gaps.pairs import BOUNDS, EDGE
from massing.geometry.solids import Convex, Faces, Floats, Ints

__all__ = ["Rows", "rows_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Flat arrays over n solids.

    corners : (total, 3) mm, solid by solid, worlds within
    solids : (n, 8) first corner, corners, corners on to the next world, pattern, whether upright,
        and where the solid's faces, edges and prism row begin in arrays made for one world
    patterns : (p, 5) faces, longest ring, where the rings begin, edges, where the edges begin
    rings : corner numbers of every pattern's rings, short ones filled up with their last corner
    edges : (k, 4) two corners and two faces of every pattern's edges, -1 for a face unknown
    room : numbers to make room for: faces, edges and prism rows of all solids, then the most
        faces, edges and corners of one solid
    """

    corners: Floats
    solids: Ints
    patterns: Ints
    rings: Ints
    edges: Ints
    room: Ints


def rows_of(solids: Sequence[Convex], low: int = 0, high: int | None = None) -> Rows:
    """The solids' worlds low..high-1 (all by default); a one-world solid has that one alone.

    >>> from massing.geometry.solids import box
    >>> found = rows_of([box([0, 0, 0], [1, 1, 1]), box([2, 0, 0], [3, 1, 1])])
    >>> found.corners.shape, found.solids[:, 0].tolist(), len(found.patterns)
    ((16, 3), [0, 8], 1)
    """
    parts = [s.corners if len(s.corners) == 1 else s.corners[low:high] for s in solids]
    sizes = np.array([part.shape[:2] for part in parts], dtype=np.int64).reshape(-1, 2)
    patterns, rings, edges, of = _patterns(solids)
    table = np.zeros((len(solids), 8), dtype=np.int64)
    table[:, 0] = _starts(sizes[:, 0] * sizes[:, 1])
    table[:, 1] = sizes[:, 1]
    table[:, 2] = np.where(sizes[:, 0] > 1, sizes[:, 1], 0)
    table[:, 3], table[:, 4] = of[:, 0], of[:, 1]
    faces, sides = patterns[of[:, 0], 0], patterns[of[:, 0], 3]
    prism = np.where(of[:, 1] == 1, BOUNDS + EDGE * np.maximum(sizes[:, 1] // 2, 4), 0)
    for column, each in ((5, faces), (6, sides), (7, prism)):
        table[:, column] = _starts(each)
    most = [int(each.max(initial=1)) for each in (faces, sides, sizes[:, 1])]
    room = np.array([faces.sum(), sides.sum(), prism.sum(), *most], dtype=np.int64)
    cloud = np.concatenate([part.reshape(-1, 3) for part in parts]) if parts else np.empty((0, 3))
    return Rows(cloud, table, patterns, rings, edges, room)


def _starts(counts: Ints) -> Ints:
    return np.asarray(np.cumsum(counts) - counts)


def _patterns(solids: Sequence[Convex]) -> tuple[Ints, Ints, Ints, Ints]:
    """Tables of the patterns of faces met with, and each solid's pattern and uprightness."""
    met: dict[int, int] = {}
    kinds: list[Faces] = []
    of = np.empty((len(solids), 2), dtype=np.int64)
    for number, solid in enumerate(solids):
        # By identity: a pattern's hash runs over all its rings, and solids share patterns.
        key = id(solid.faces)
        if key not in met:
            met[key] = len(kinds)
            kinds.append(solid.faces)
        of[number] = met[key], solid.faces.upright
    tables = [_flat(faces) for faces in kinds]
    sizes = np.array([size for size, _, _ in tables], dtype=np.int64).reshape(-1, 3)
    patterns = np.empty((len(kinds), 5), dtype=np.int64)
    patterns[:, :2], patterns[:, 3] = sizes[:, :2], sizes[:, 2]
    patterns[:, 2], patterns[:, 4] = _starts(sizes[:, 0] * sizes[:, 1]), _starts(sizes[:, 2])
    rings = np.concatenate([np.empty(0, np.int64), *(rings for _, rings, _ in tables)])
    edges = np.concatenate([np.empty((0, 4), np.int64), *(edges for _, _, edges in tables)])
    return patterns, rings, edges, of


@lru_cache(maxsize=4096)
def _flat(faces: Faces) -> tuple[tuple[int, int, int], Ints, Ints]:
    """Faces, longest ring and edges of a pattern; its rings on end; its edges with their faces."""
    rings, edges, sides = face_tables(faces)
    return (*rings.shape, len(edges)), rings.reshape(-1), np.concatenate([edges, sides], axis=1)
