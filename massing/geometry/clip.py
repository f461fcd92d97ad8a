"""Cutting convex solids by half-spaces: a one-world solid and planes in, the kept solid out."""

from __future__ import annotations

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
    corners = solid.corners[0]
    faces = [corners[list(ring)] for ring in solid.faces.rings]
    for plane in np.asarray(planes, dtype=np.float64):
        scale = float(np.linalg.norm(plane[:3]))
        faces = _cut(faces, plane[:3] / scale, float(plane[3]) / scale)
        if len(faces) < 4:
            return None
    return _joined(faces)


def _cut(faces: list[Floats], normal: Floats, distance: float) -> list[Floats]:
    """Keep the side normal . p <= distance of a closed set of face polygons."""
    signed = [face @ normal - distance for face in faces]
    if all(s.max() <= EXACT * 1e-3 for s in signed):
        return faces
    if all(s.min() >= -EXACT * 1e-3 for s in signed):
        return []
    kept: list[Floats] = []
    rim: list[Floats] = []
    for face, side in zip(faces, signed, strict=True):
        ring = _cut_ring(face, side, rim)
        if len(ring) >= 3:
            kept.append(np.array(ring))
    cap = _cap(rim, normal)
    if cap is not None:
        kept.append(cap)
    return kept


def _cut_ring(face: Floats, side: Floats, rim: list[Floats]) -> list[Floats]:
    """One face cut by the plane; every point made on the plane is added to the rim."""
    tiny = EXACT * 1e-3
    ring: list[Floats] = []
    for k in range(len(face)):
        here, there = side[k], side[(k + 1) % len(face)]
        if here <= tiny:
            ring.append(face[k])
            if here >= -tiny:
                rim.append(face[k])
        if (here < -tiny and there > tiny) or (here > tiny and there < -tiny):
            part = here / (here - there)
            point = face[k] + part * (face[(k + 1) % len(face)] - face[k])
            ring.append(point)
            rim.append(point)
    return ring


def _cap(rim: list[Floats], normal: Floats) -> Floats | None:
    """Close the hole a cut leaves: the convex ring through the rim points, seen along normal."""
    if len(rim) < 3:
        return None
    points = np.array(rim)
    axis = np.eye(3)[int(np.argmin(np.abs(normal)))]
    right = cross_of(axis, normal)
    right = right / np.linalg.norm(right)
    up = cross_of(normal, right)
    flat = points - points.mean(axis=0)
    order = np.argsort(np.arctan2(flat @ up, flat @ right), kind="stable")
    ring = points[order]
    keep = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > EXACT * 1e-2
    ring = ring[keep]
    return ring if len(ring) >= 3 else None


def _joined(faces: list[Floats]) -> Convex | None:
    """Number the corners of a face set, merging those that coincide."""
    numbers: dict[tuple[float, ...], int] = {}
    corners: list[Floats] = []
    rings = []
    for face in faces:
        ring: list[int] = []
        for point in face:
            key = tuple((np.round(point, 5) + 0.0).tolist())
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
