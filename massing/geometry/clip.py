"""Cutting convex solids by half-spaces: a one-world solid and planes in, the kept solid out."""

from __future__ import annotations

import math

import numpy as np

from massing.geometry.solids import Convex, Faces, Floats, cross_of
from massing.geometry.tolerance import EXACT

__all__ = ["clip_solid", "prism_planes", "volume_and_middle"]


def prism_planes(polygon: Floats) -> Floats:
    """Upright planes round a convex plan polygon (n, 2), as rows (n, 4) of a x + b y + c z <= d.

    >>> prism_planes(np.array([[0.0, 0], [2, 0], [2, 1], [0, 1]]))[1].tolist()
    [1.0, 0.0, 0.0, 2.0]
    """
    ends = np.roll(polygon, -1, axis=0)
    along = ends - polygon
    along = along / np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) + 0.0
    rows = np.zeros((len(polygon), 4))
    rows[:, :2] = normal
    rows[:, 3] = np.einsum("ni,ni->n", normal, polygon)
    return rows


def clip_solid(solid: Convex, planes: Floats) -> Convex | None:
    """The part of a one-world convex solid inside every half-space a x + b y + c z <= d.

    planes : (k, 4) rows a, b, c, d, mm; a, b, c need not be of unit length
    Returns None when nothing with volume is left (thinner than the promised accuracy).

    >>> from massing.geometry.solids import box
    >>> half = clip_solid(box([0, 0, 0], [2, 2, 2]), np.array([[1.0, 0, 1, 2]]))
    >>> float(half.volume[0])
    4.0
    """
    corners = solid.corners[0].tolist()
    faces = [[corners[k] for k in ring] for ring in solid.faces.rings]
    for a, b, c, d in np.asarray(planes, dtype=np.float64).tolist():
        scale = math.sqrt(a * a + b * b + c * c)
        faces = _cut(faces, (a / scale, b / scale, c / scale), d / scale)
        if len(faces) < 4:
            return None
    return _joined(faces)


_Point = list[float]  # so few points are far quicker worked in plain numbers than in arrays
_Way = tuple[float, float, float]


def _cut(faces: list[list[_Point]], normal: _Way, distance: float) -> list[list[_Point]]:
    """Keep the side normal . p <= distance of a closed set of face polygons."""
    a, b, c = normal
    signed = [[x * a + y * b + z * c - distance for x, y, z in face] for face in faces]
    if max(map(max, signed)) <= EXACT * 1e-3:
        return faces
    if min(map(min, signed)) >= -EXACT * 1e-3:
        return []
    kept: list[list[_Point]] = []
    rim: list[_Point] = []
    for face, side in zip(faces, signed, strict=True):
        ring = _cut_ring(face, side, rim)
        if len(ring) >= 3:
            kept.append(ring)
    cap = _cap(rim, normal)
    if cap is not None:
        kept.append(cap)
    return kept


def _cut_ring(face: list[_Point], side: list[float], rim: list[_Point]) -> list[_Point]:
    """One face cut by the plane; every point made on the plane is added to the rim."""
    tiny = EXACT * 1e-3
    ring: list[_Point] = []
    for k, here in enumerate(side):
        after = (k + 1) % len(face)
        there = side[after]
        if here <= tiny:
            ring.append(face[k])
            if here >= -tiny:
                rim.append(face[k])
        if (here < -tiny and there > tiny) or (here > tiny and there < -tiny):
            part = here / (here - there)
            point = [p + part * (q - p) for p, q in zip(face[k], face[after], strict=True)]
            ring.append(point)
            rim.append(point)
    return ring


def _cap(rim: list[_Point], normal: _Way) -> list[_Point] | None:
    """Close the hole a cut leaves: the convex ring through the rim points, seen along normal."""
    if len(rim) < 3:
        return None
    right, up = _across(normal)
    count = len(rim)
    x, y, z = (sum(values) / count for values in zip(*rim, strict=True))
    flat = [(p[0] - x, p[1] - y, p[2] - z) for p in rim]
    angles = [math.atan2(_dot(p, up), _dot(p, right)) for p in flat]
    order = sorted(range(count), key=angles.__getitem__)
    ring = [rim[k] for k in order]
    ring = [p for p, before in zip(ring, [ring[-1], *ring], strict=False) if _apart(p, before)]
    return ring if len(ring) >= 3 else None


def _across(way: _Way) -> tuple[_Way, _Way]:
    """Two directions square to a way and to each other, the first of unit length."""
    sizes = [abs(each) for each in way]
    least = sizes.index(min(sizes))
    a, b, c = way
    x, y, z = ((0.0, -c, b), (c, 0.0, -a), (-b, a, 0.0))[least]
    length = math.sqrt(x * x + y * y + z * z)
    x, y, z = x / length, y / length, z / length
    return (x, y, z), (b * z - c * y, c * x - a * z, a * y - b * x)


def _dot(one: _Way, other: _Way) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _apart(one: _Point, other: _Point) -> bool:
    return math.dist(one, other) > EXACT * 1e-2


def _joined(faces: list[list[_Point]]) -> Convex | None:
    """Number the corners of a face set, merging those that coincide."""
    numbers: dict[tuple[float, ...], int] = {}
    corners: list[_Point] = []
    rings = []
    for face in faces:
        ring: list[int] = []
        for point in face:
            key = tuple(round(value, 5) + 0.0 for value in point)
            if key not in numbers:
                numbers[key] = len(corners)
                corners.append(point)
            if not ring or ring[-1] != numbers[key]:
                ring.append(numbers[key])
        if len(ring) > 1 and ring[0] == ring[-1]:
            ring.pop()
        if len(ring) >= 3:
            rings.append(tuple(ring))
    if len(rings) < 4:
        return None
    found = Convex(np.array(corners)[None], Faces(tuple(rings)))
    return found if float(found.volume[0]) > EXACT else None


def volume_and_middle(solid: Convex) -> tuple[float, Floats]:
    """Volume, mm³, and centroid (3,), mm, of a one-world solid."""
    base = solid.corners[0, 0]
    fans = solid.corners[0][solid.faces.triangles] - base
    six = np.einsum("ti,ti->t", fans[:, 0], cross_of(fans[:, 1], fans[:, 2]))
    volume = float(six.sum()) / 6.0
    if volume <= 0:
        return 0.0, np.asarray(solid.corners[0].mean(axis=0))
    middle = base + (six[:, None] * fans.sum(axis=1)).sum(axis=0) / (24.0 * volume)
    return volume, np.asarray(middle)
