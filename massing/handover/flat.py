"""What do flat-shaded faces look like as arrays? Parts in, corners, normals, UVs and triangles out.

All parts are worked in one pass: a scheme has hundreds of parts of a dozen corners each, and array
calls on so few numbers cost more than the arithmetic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.geometry.solids import Floats, Ints
from massing.geometry.tolerance import EXACT
from massing.handover.model import MeshPart, Point
from massing.handover.rings import area_vectors, ear_clip, ring_pattern

__all__ = ["Flat", "flatten"]

Flags: TypeAlias = NDArray[np.bool_]

_LEVEL = 1e-9  # a normal whose plan length is below this looks straight up or down


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """Every face of every part with corners of its own, so that each face is shaded flat.

    points : (c, 3) float, mm    relative to each part's origin, z up
    normals : (c, 3) float    outward unit normal of the corner's face
    texture : (c, 2) float, m    along the face: to the right seen from outside, and up
    triangles : (t, 3) int    corner numbers counted from the part's first corner
    starts : (p + 1,) int    where each part's corners begin
    triangle_starts : (p + 1,) int    where each part's triangles begin
    ring_starts : (p + 1,) int    where each part's rings begin
    ring_normals : (r, 3) float    outward unit normal of each ring
    fanned : (r,) bool    the ring can be fanned from its first corner
    """

    points: Floats
    normals: Floats
    texture: Floats
    triangles: Ints
    starts: Ints
    triangle_starts: Ints
    ring_starts: Ints
    ring_normals: Floats
    fanned: Flags


def _sums(counts: Sequence[int]) -> Ints:
    """Return where each run begins, and the total at the end."""
    return np.concatenate([[0], np.cumsum(np.array(counts, dtype=np.int64))]).astype(np.int64)


def _shifted(arrays: list[Ints], by: Ints) -> Ints:
    """Join index arrays, each raised by its own offset."""
    sizes = [len(array) for array in arrays]
    joined = np.concatenate(arrays)
    lift = np.repeat(by, sizes)
    return np.asarray(joined + (lift if joined.ndim == 1 else lift[:, None]))


def _rights(normals: Floats) -> Floats:
    """(r, 3) unit vector to the right along each face, seen from outside with z up.

    A face looking straight up or down has room x to its right.
    """
    plan = np.sqrt(normals[:, 0] ** 2 + normals[:, 1] ** 2)
    level = plan < _LEVEL
    safe = np.where(level, 1.0, plan)
    out = np.zeros_like(normals)
    out[:, 0] = np.where(level, 1.0, -normals[:, 1] / safe)
    out[:, 1] = np.where(level, 0.0, normals[:, 0] / safe)
    return out


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1] + a[:, 2] * b[:, 2])


def _cross(a: Floats, b: Floats) -> Floats:
    x, y, z = a[:, 1] * b[:, 2], a[:, 2] * b[:, 0], a[:, 0] * b[:, 1]
    x, y, z = x - a[:, 2] * b[:, 1], y - a[:, 0] * b[:, 2], z - a[:, 1] * b[:, 0]
    return np.stack([x, y, z], axis=1)


def flatten(parts: Sequence[MeshPart], origins: Sequence[Point]) -> Flat:
    """Split every part at its faces.

    origins : for each part the point, mm, that its corners are given from
    Coordinates are rounded to 1e-6 mm, so that equal bodies standing apart come out equal.
    Raises GeometryError, naming the part, for a face whose outline crosses itself.

    >>> from massing.geometry.solids import box
    >>> from massing.handover.model import Material
    >>> post = box([0, 0, 0], [100, 100, 1600])
    >>> part = MeshPart("post", post.corners[0], post.faces.rings, Material("oak", "#B08D57"))
    >>> flat = flatten([part], [(0.0, 0.0, 0.0)])
    >>> len(flat.points), len(flat.triangles)
    (24, 12)
    """
    if not parts:
        none, zero = np.zeros((0, 3)), np.zeros(1, dtype=np.int64)
        triangles, fanned = np.zeros((0, 3), dtype=np.int64), np.zeros(0, dtype=bool)
        return Flat(none, none, none[:, :2], triangles, zero, zero, zero, none, fanned)
    patterns = [ring_pattern(part.rings) for part in parts]
    starts = _sums([len(pattern.corners) for pattern in patterns])
    ring_starts = _sums([len(pattern.starts) for pattern in patterns])
    offset = starts[:-1]
    vertices = np.concatenate([part.vertices for part in parts])
    first_vertex = _sums([len(part.vertices) for part in parts])[:-1]
    moved = vertices - np.repeat(np.array(origins), [len(part.vertices) for part in parts], axis=0)
    points = np.round(moved, 6)[_shifted([p.corners for p in patterns], first_vertex)] + 0.0
    ring_of = _shifted([p.ring_of for p in patterns], ring_starts[:-1])
    begins = _shifted([p.starts for p in patterns], offset)
    following = _shifted([p.following for p in patterns], offset)
    vectors = area_vectors(points, begins, ring_of, following)
    normals = np.round(vectors / np.sqrt(_dot(vectors, vectors))[:, None], 9) + 0.0
    rights = _rights(normals)
    ups = _cross(normals, rights)
    texture = np.stack([_dot(points, rights[ring_of]), _dot(points, ups[ring_of])], axis=1)
    triangles = _shifted([p.fan for p in patterns], offset)
    fan_ring = _shifted([p.fan_ring for p in patterns], ring_starts[:-1])
    fanned = _fannable(points, normals, triangles, fan_ring)
    for ring in np.flatnonzero(~fanned):
        part = int(np.searchsorted(ring_starts, ring, side="right")) - 1
        span = slice(int(begins[ring]), int((*begins, len(points))[ring + 1]))
        plane = np.stack([rights[ring], ups[ring]], axis=1)
        ears = _ears(points[span] @ plane, parts[part].name)
        triangles[fan_ring == ring] = np.array(ears) + span.start
    triangle_starts = _sums([len(pattern.fan) for pattern in patterns])
    return Flat(
        points=points,
        normals=normals[ring_of],
        texture=np.round(texture / 1000.0, 9) + 0.0,
        triangles=triangles - np.repeat(offset, np.diff(triangle_starts))[:, None],
        starts=starts,
        triangle_starts=triangle_starts,
        ring_starts=ring_starts,
        ring_normals=normals,
        fanned=fanned,
    )


def _fannable(points: Floats, normals: Floats, triangles: Ints, fan_ring: Ints) -> Flags:
    """(r,) bool: every fan triangle of the ring has an area and looks the ring's way."""
    a, b, c = points[triangles[:, 0]], points[triangles[:, 1]], points[triangles[:, 2]]
    twice = _dot(_cross(b - a, c - a), normals[fan_ring])
    longest = np.sqrt(np.maximum(_dot(b - a, b - a), _dot(c - a, c - a)))
    fanned = np.ones(len(normals), dtype=bool)
    fanned[fan_ring[twice <= EXACT * longest]] = False
    return fanned


def _ears(plan: Floats, name: str) -> list[tuple[int, int, int]]:
    try:
        return ear_clip(plan, EXACT)
    except GeometryError as error:
        raise GeometryError(f"part {name!r}: {error}") from None
