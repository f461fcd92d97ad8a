"""What a gap kernel needs to know of each solid: solids in, faces, edges and their sides out.

Arrays are stored component first and row last, ``(3, n, rows)``, where a row is one solid in
one world. Solids of different make-up share one array: the short ones repeat their last corner,
face and edge, which changes no answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from massing.geometry.gaps.plan import NOTHING
from massing.geometry.solids import Convex, Faces, Floats, Ints

__all__ = ["SLIVER", "Frame", "cross", "dot", "face_tables", "frames_of", "size_class"]

# A face thinner than this share of its rim squared has no direction worth trusting.
SLIVER = 1e-10
# Edge counts are rounded up to one of these, so that few groups cover every mixture of solids.
_CLASSES = (6, 9, 12, 18, 24, 36, 48, 72, 96, 144, 192, 288, 384, 576, 768)


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Rows of convex solids.

    corners : (3, v, rows) mm
    normals : (3, f, rows) outward and unit, or zero where the face has no area
    levels : (f, rows) greatest reach of the solid along each normal, mm
    heads, ways : (3, e, rows) start and unit direction of each edge, zero where it has no length
    lengths : (e, rows) mm
    left, right : (3, e, rows) normals of the faces either side, zero where unknown
    """

    corners: Floats
    normals: Floats
    levels: Floats
    heads: Floats
    ways: Floats
    lengths: Floats
    left: Floats
    right: Floats

    def take(self, rows: Ints) -> Frame:
        """The rows asked for, in that order."""
        return Frame(*(part.take(rows, axis=-1) for part in self._parts()))

    def moved(self, by: Floats) -> Frame:
        """Every row shifted by its own (3, rows) vector."""
        shift = by[:, None]
        return Frame(
            self.corners + shift,
            self.normals,
            self.levels + dot(self.normals, shift),
            self.heads + shift,
            self.ways,
            self.lengths,
            self.left,
            self.right,
        )

    def _parts(self) -> tuple[Floats, ...]:
        return (
            self.corners,
            self.normals,
            self.levels,
            self.heads,
            self.ways,
            self.lengths,
            self.left,
            self.right,
        )


def dot(a: Floats, b: Floats) -> Floats:
    """Dot product along the first axis."""
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


def cross(a: Floats, b: Floats) -> Floats:
    """Cross product along the first axis."""
    return np.stack(
        [
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        ]
    )


def size_class(faces: Faces) -> int:
    """Number of the size class a solid's frame belongs to."""
    count = len(face_tables(faces)[1])
    return next((k for k, most in enumerate(_CLASSES) if count <= most), count)


def frames_of(solids: Sequence[Convex], low: int, high: int) -> Frame:
    """Frames of all solids in worlds low..high-1: solid by solid, worlds within.

    A solid with one world takes one row.
    """
    by_faces: dict[Faces, list[int]] = {}
    for number, solid in enumerate(solids):
        by_faces.setdefault(solid.faces, []).append(number)
    counts = np.array([1 if solid.worlds == 1 else high - low for solid in solids])
    blocks, rows = [], []
    for faces, members in by_faces.items():
        blocks.append(
            _frame(faces, np.concatenate([_slice(solids[k], low, high) for k in members]))
        )
        rows.append(np.repeat(members, counts[members]))
    frame = _packed(blocks)
    order = np.argsort(np.concatenate(rows), kind="stable")
    return frame if len(blocks) == 1 else frame.take(order)


def _slice(solid: Convex, low: int, high: int) -> Floats:
    return solid.corners if solid.worlds == 1 else solid.corners[low:high]


@lru_cache(maxsize=4096)
def face_tables(faces: Faces) -> tuple[Ints, Ints, Ints]:
    """Ring corners (f, r), edges (e, 2) and the two faces of each edge (e, 2), -1 for none."""
    longest = max(len(ring) for ring in faces.rings)
    rings = np.array([ring + ring[-1:] * (longest - len(ring)) for ring in faces.rings])
    beside: dict[tuple[int, int], list[int]] = {}
    for number, ring in enumerate(faces.rings):
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            beside.setdefault((min(a, b), max(a, b)), []).append(number)
    edges = sorted(beside)
    sides = [beside[edge] if len(beside[edge]) == 2 else [-1, -1] for edge in edges]
    return rings.astype(np.int64), np.array(edges, np.int64), np.array(sides, np.int64)


def _frame(faces: Faces, corners: Floats) -> Frame:
    """Frame of (rows, n, 3) solids that share their faces."""
    rings, edges, sides = face_tables(faces)
    points = np.ascontiguousarray(corners.transpose(2, 1, 0))
    normals = _normals(points, rings)
    reach = dot(normals[:, :, None], points[:, None]).max(axis=1)
    heads = points[:, edges[:, 0]]
    ways = points[:, edges[:, 1]] - heads
    lengths = np.sqrt(dot(ways, ways))
    real = lengths > NOTHING
    known = (sides >= 0)[:, :, None]
    return Frame(
        points,
        normals,
        reach,
        heads,
        np.where(real, ways / np.where(real, lengths, 1.0), 0.0),
        np.where(real, lengths, 0.0),
        np.where(known[:, 0], normals[:, sides[:, 0]], 0.0),
        np.where(known[:, 1], normals[:, sides[:, 1]], 0.0),
    )


def _normals(points: Floats, rings: Ints) -> Floats:
    """Unit outward normals (3, f, rows) by summing the fan of each ring; zero for slivers."""
    arms = points[:, rings] - points[:, rings[:, :1]]
    area = cross(arms[:, :, 1:-1], arms[:, :, 2:]).sum(axis=2)
    size = np.sqrt(dot(area, area))
    steps = np.diff(arms, axis=2)
    rim = np.sqrt(dot(steps, steps)).sum(axis=1)
    real = size > SLIVER * rim * rim + NOTHING * NOTHING
    return np.where(real, area / np.where(real, size, 1.0), 0.0)


def _packed(blocks: list[Frame]) -> Frame:
    """One frame out of several, each padded to the largest by repeating its last entries.

    A repeated edge has no direction and a length below nothing, so that it carries no point and
    the middle of what two solids share does not lean to it.
    """
    if len(blocks) == 1:
        return blocks[0]
    columns = zip(*(block._parts() for block in blocks), strict=True)  # noqa: SLF001
    frame = Frame(*(_stacked(column) for column in columns))
    rows = [block.lengths.shape[1] for block in blocks]
    counts = np.repeat([len(block.lengths) for block in blocks], rows)
    spare = np.arange(len(frame.lengths))[:, None] >= counts
    frame.ways[:, spare] = 0.0
    frame.lengths[spare] = -1.0
    return frame


def _stacked(parts: tuple[Floats, ...]) -> Floats:
    most = max(part.shape[-2] for part in parts)
    padded = [part.take(np.minimum(np.arange(most), part.shape[-2] - 1), axis=-2) for part in parts]
    return np.concatenate(padded, axis=-1)
