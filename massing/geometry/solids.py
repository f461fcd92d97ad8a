"""Convex solids in many worlds at once: corner arrays in, solids out.

A *world* is one possible set of true sizes. Every array of corners carries the worlds on its
first axis, so a nominal model is simply one world, and the question "what if this wall were
20 mm out" costs one more row rather than one more run. The pattern of faces is the same in
every world.

Millimetres, right-handed, z up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError

__all__ = [
    "Convex",
    "Faces",
    "Floats",
    "Ints",
    "box",
    "cross_of",
    "following",
    "hull",
    "prism",
    "prism_faces",
    "prism_to_planes",
    "spread",
]

_MANY = 64  # worlds from which on a call for each corner costs less than one for all

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]


def spread(array: Floats, worlds: int) -> Floats:
    """Repeat a one-world array, worlds first, so that it answers for every world."""
    if len(array) == worlds:
        return array
    return np.broadcast_to(array, (worlds, *array.shape[1:]))


@cache
def _onward(count: int) -> Ints:
    """The number after each of so many, the first after the last."""
    return np.array([*range(1, count), 0][:count], dtype=np.int64)


def following(ring: Floats) -> Floats:
    """The corner after each of some rings (worlds, n, ...), the first after the last.

    For rings this short it is several times quicker than rolling them.

    >>> following(np.array([[[0.0, 0.0], [9.0, 0.0], [9.0, 5.0]]]))[0].tolist()
    [[9.0, 0.0], [9.0, 5.0], [0.0, 0.0]]
    """
    return ring.take(_onward(ring.shape[1]), axis=1)


def cross_of(one: Floats, other: Floats) -> Floats:
    """Cross products (..., 3) of vectors whose shapes go together; plain arithmetic is quicker.

    >>> cross_of(np.array([[1.0, 0.0, 0.0]]), np.array([0.0, 1.0, 0.0])).tolist()
    [[0.0, 0.0, 1.0]]
    """
    a, b, c = one[..., 0], one[..., 1], one[..., 2]
    u, v, w = other[..., 0], other[..., 1], other[..., 2]
    found = np.empty(np.broadcast(one, other).shape)
    found[..., 0] = b * w - c * v
    found[..., 1] = c * u - a * w
    found[..., 2] = a * v - b * u
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """How corners join into the faces of a convex solid.

    rings : one tuple of corner numbers a face, counter-clockwise seen from outside
    upright : the solid is a right prism: corners 0..n-1 the bottom ring counter-clockwise seen
        from above, corners n..2n-1 the same ring lifted straight up to one level
    """

    rings: tuple[tuple[int, ...], ...]
    upright: bool = False

    @property
    def edges(self) -> Ints:
        """(e, 2) corner numbers of each edge once, lower number first, sorted."""
        pairs = {
            (min(a, b), max(a, b))
            for ring in self.rings
            for a, b in zip(ring, ring[1:] + ring[:1], strict=True)
        }
        return np.array(sorted(pairs), dtype=np.int64)

    @property
    def triangles(self) -> Ints:
        """(t, 3) corner numbers, each face fanned from its first corner."""
        fans = [
            (ring[0], ring[k], ring[k + 1]) for ring in self.rings for k in range(1, len(ring) - 1)
        ]
        return np.array(fans, dtype=np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class Convex:
    """A convex solid in each of ``worlds`` worlds.

    corners : (worlds, n, 3) float, mm
    faces : the same in every world
    """

    corners: Floats
    faces: Faces

    @property
    def worlds(self) -> int:
        """Number of worlds."""
        return int(self.corners.shape[0])

    @property
    def low(self) -> Floats:
        """(worlds, 3) least corner of the axis-aligned bounds, mm."""
        return _over_corners(np.minimum, self.corners)

    @property
    def high(self) -> Floats:
        """(worlds, 3) greatest corner of the axis-aligned bounds, mm."""
        return _over_corners(np.maximum, self.corners)

    def moved(self, by: Floats) -> Convex:
        """Return the solid shifted; ``by`` is (3,) or (worlds, 3), mm."""
        shift = np.asarray(by, dtype=np.float64).reshape(-1, 1, 3)
        return Convex(self.corners + shift, self.faces)

    def world(self, number: int) -> Convex:
        """Return the one-world solid of that world."""
        return Convex(self.corners[number : number + 1], self.faces)

    @property
    def volume(self) -> Floats:
        """(worlds,) volume, mm³, by the divergence theorem over the face fans.

        >>> float(box([0, 0, 0], [100, 200, 300]).volume[0])
        6000000.0
        """
        fans = self.corners[:, self.faces.triangles] - self.corners[:, :1, None, :]
        a, b, c = fans[:, :, 0], fans[:, :, 1], fans[:, :, 2]
        return np.asarray(np.einsum("wti,wti->w", a, cross_of(b, c)) / 6.0)


def _over_corners(pick: np.ufunc, corners: Floats) -> Floats:
    """(worlds, 3) least or greatest of the corners; corner by corner where worlds are many."""
    if len(corners) < _MANY:
        return np.asarray(pick.reduce(corners, axis=1))
    found = corners[:, 0].copy()
    for k in range(1, corners.shape[1]):
        pick(found, corners[:, k], out=found)
    return found


@cache
def prism_faces(sides: int, *, upright: bool = True) -> Faces:
    """Faces of a prism of so many sides: bottom ring first, then the top ring.

    >>> len(prism_faces(4).rings), len(prism_faces(4).edges)
    (6, 12)
    """
    bottom = tuple(range(sides - 1, -1, -1))
    top = tuple(range(sides, 2 * sides))
    walls = tuple((k, (k + 1) % sides, sides + (k + 1) % sides, sides + k) for k in range(sides))
    return Faces((bottom, top, *walls), upright=upright)


def _levels(value: object) -> Floats:
    """Shape a height given as number, (worlds,) or (worlds, n) so that it fills (worlds, n)."""
    array = np.asarray(value, dtype=np.float64)
    return array if array.ndim == 2 else array.reshape(-1, 1)


def prism(ring: object, low: object, high: object) -> Convex:
    """Upright prism over a convex plan ring.

    ring : (n, 2) or (worlds, n, 2) float, mm, counter-clockwise seen from above
    low, high : number or (worlds,) levels, mm

    >>> prism([[0, 0], [10, 0], [0, 10]], 0, 5).volume.tolist()
    [250.0]
    """
    plan = np.asarray(ring, dtype=np.float64)
    if plan.ndim == 2:
        plan = plan[None]
    bottom, top = _levels(low), _levels(high)
    worlds, n = max(len(plan), len(bottom), len(top)), plan.shape[1]
    corners = np.empty((worlds, 2, n, 3))
    corners[..., :2] = plan[:, None]
    corners[:, 0, :, 2] = bottom
    corners[:, 1, :, 2] = top
    return Convex(corners.reshape(worlds, 2 * n, 3), prism_faces(n))


def prism_to_planes(ring: object, low: object, tops: object) -> Convex:
    """Prism over a convex ring whose top is one tilted plane, given by its height at each corner.

    tops : (n,) or (worlds, n) heights at the ring's corners, mm; they must lie in one plane
    """
    plan = np.asarray(ring, dtype=np.float64)
    if plan.ndim == 2:
        plan = plan[None]
    heights = np.asarray(tops, dtype=np.float64)
    if heights.ndim == 1:
        heights = heights[None]
    bottom = _levels(low)
    worlds, n = max(len(plan), len(heights), len(bottom)), plan.shape[1]
    corners = np.empty((worlds, 2 * n, 3))
    corners[:, :n, :2] = plan
    corners[:, n:, :2] = plan
    corners[:, :n, 2] = bottom
    corners[:, n:, 2] = heights
    return Convex(corners, prism_faces(n, upright=False))


def box(low: object, high: object) -> Convex:
    """Axis-aligned box between two opposite corners, each (3,) or (worlds, 3), mm."""
    a = np.atleast_2d(np.asarray(low, dtype=np.float64))
    b = np.atleast_2d(np.asarray(high, dtype=np.float64))
    corners = np.empty((max(len(a), len(b)), 2, 4, 3))
    low_x, low_y, low_z = (a[:, None, None, axis] for axis in range(3))
    high_x, high_y, high_z = (b[:, None, None, axis] for axis in range(3))
    corners[:, :, 0::3, 0], corners[:, :, 1:3, 0] = low_x, high_x
    corners[:, :, :2, 1], corners[:, :, 2:, 1] = low_y, high_y
    corners[:, :1, :, 2], corners[:, 1:, :, 2] = low_z, high_z
    return Convex(corners.reshape(-1, 8, 3), prism_faces(4))


def hull(points: object) -> Convex:
    """Convex hull of (n, 3) points as a one-world solid, coplanar triangles merged into one face.

    Raises GeometryError when the points have no volume.
    """
    from scipy.spatial import ConvexHull, QhullError

    cloud = np.asarray(points, dtype=np.float64)
    try:
        found = ConvexHull(cloud)
    except (QhullError, ValueError) as error:
        raise GeometryError("these points have no volume") from error
    number = {int(old): new for new, old in enumerate(sorted(int(v) for v in found.vertices))}
    rings = []
    for members, normal in _flat_faces(cloud, found):
        ring = [i for i in _ring_about(cloud, members, normal) if i in number]
        if len(ring) >= 3:
            rings.append(tuple(number[i] for i in ring))
    return Convex(cloud[sorted(number)][None], Faces(tuple(rings)))


def _flat_faces(cloud: Floats, found: Any) -> list[tuple[list[int], Floats]]:
    """Corner numbers and outward normal of each face, triangles in one plane joined."""
    scale = float(np.ptp(cloud, axis=0).max())
    face = np.full(len(found.simplices), -1)
    faces: list[tuple[list[int], Floats]] = []
    # Growing from the largest triangle keeps slivers, whose normals are poor, from leading.
    sides = cloud[found.simplices]
    size = np.linalg.norm(np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0]), axis=1)
    for first in np.argsort(-size, kind="stable"):
        if face[first] >= 0:
            continue
        plane = found.equations[first]
        members: set[int] = set()
        front = [int(first)]
        face[first] = len(faces)
        while front:
            here = front.pop()
            members.update(int(i) for i in found.simplices[here])
            for other in found.neighbors[here]:
                if face[other] >= 0:
                    continue
                off = np.abs(cloud[found.simplices[other]] @ plane[:3] + plane[3]).max()
                if off <= 1e-9 * scale:
                    face[other] = len(faces)
                    front.append(int(other))
        faces.append((sorted(members), plane[:3]))
    return faces


def _ring_about(cloud: Floats, members: list[int], normal: Floats) -> list[int]:
    """Order coplanar corners counter-clockwise about an outward normal."""
    points = cloud[members]
    middle = points.mean(axis=0)
    axis = np.eye(3)[int(np.argmin(np.abs(normal)))]
    right = np.cross(axis, normal)
    up = np.cross(normal, right)
    angles = np.arctan2((points - middle) @ up, (points - middle) @ right)
    return [members[i] for i in np.argsort(angles, kind="stable")]
