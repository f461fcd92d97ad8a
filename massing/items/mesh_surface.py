"""What a mesh file may hold at most, and the triangles and corners that come out of one.

Readers are given bytes and nothing else: a mesh cannot name another file to be opened. Each
raises MeshError saying what is wrong and where; the limits are told before memory is taken.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from massing.geometry.solids import Floats, Ints

__all__ = ["LARGEST_MESH", "MOST_CORNERS", "MOST_FACES", "MeshError", "Surface", "TooFineError"]

MOST_FACES = 5000
"""Triangles; an item's massing needs a few hundred at most."""
MOST_CORNERS = 100_000
"""Corners a file may list, used or not; so many faces use a seventh at most."""
LARGEST_MESH = 32 * 1024 * 1024
"""Bytes; so many faces need a hundredth, the rest is room for the pictures in a GLB."""


class MeshError(ValueError):
    """A file that cannot be read as a mesh; says what is wrong and where."""


class TooFineError(MeshError):
    """More faces or corners than a massing needs."""


@dataclass(slots=True, eq=False)
class Surface:
    """Triangles gathered piece by piece, never more than MOST_FACES.

    corners : blocks of (n, 3) in the file's unit; triangles : blocks of (m, 3), numbered from
        the first corner of all
    """

    corners: list[Floats] = field(default_factory=list)
    triangles: list[Ints] = field(default_factory=list)
    corner_count: int = 0
    face_count: int = 0

    def add(self, corners: Floats, triangles: Ints) -> None:
        """Put in a block; its triangles count from its own first corner.

        Raises TooFineError where it would be too much, MeshError for a corner not there.
        """
        self.take_faces(len(triangles))
        self.take_corners(len(corners))
        if len(triangles) and not (triangles.min() >= 0 and triangles.max() < len(corners)):
            worst = triangles.max() if triangles.min() >= 0 else triangles.min()
            raise MeshError(f"a face uses corner {worst} of {len(corners)}")
        first = self.corner_count - len(corners)
        self.corners.append(np.asarray(corners, dtype=np.float64))
        self.triangles.append(np.asarray(triangles, dtype=np.int64) + first)

    def take_faces(self, count: int) -> None:
        """Count faces. Raises TooFineError when they are too many."""
        self.face_count += count
        if self.face_count > MOST_FACES:
            raise TooFineError(f"has {self.face_count} faces, more than {MOST_FACES}")

    def take_corners(self, count: int) -> None:
        """Count corners. Raises TooFineError when they are too many."""
        self.corner_count += count
        if self.corner_count > MOST_CORNERS:
            raise TooFineError(f"lists more than {MOST_CORNERS} corners")

    def whole(self) -> tuple[Floats, Ints]:
        """All corners (n, 3) and triangles (m, 3)."""
        if not self.triangles:
            return np.empty((0, 3)), np.empty((0, 3), dtype=np.int64)
        return np.concatenate(self.corners), np.concatenate(self.triangles)
