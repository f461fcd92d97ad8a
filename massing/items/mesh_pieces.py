"""A closed polyhedron in, convex polyhedra of exactly the same volume out.

Each edge where the solid turns inward (a reflex edge) is resolved by cutting along the plane of
one of its two faces, again and again until none is left.
Source: B. Chazelle, Convex partitions of polyhedra, SIAM J. Computing 13 (1984), the naive cut.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Faces, Floats, Ints, hull
from massing.geometry.tolerance import EXACT, TOUCH

__all__ = ["MOST_PIECES", "convex_pieces"]

MOST_PIECES = 200
"""Convex parts of one mesh; beyond it a check would be slow and the mesh is no massing."""

FLAT = (EXACT, 100 * EXACT, TOUCH / 2)
"""How far a face may turn in and still pass for flat, mm: tried in this order."""

SAME_VOLUME = 1e-9
"""How well the pieces' volumes must add up to that of a mesh with plane faces, relative."""

THIN = EXACT
"""A triangle less high than this, mm, has no plane to speak of."""

SAME_PLANE = 1e-9
"""Difference of unit normals, and of offsets relative to the part, that rounding explains."""

_TRIED = 24
"""Cutting planes compared at each step."""


def convex_pieces(corners: Floats, triangles: Ints) -> tuple[Convex, ...] | None:
    """One-world convex solids whose union is the polyhedron, or None if too many.

    corners : (n, 3) mm; triangles : (m, 3), closed and facing out

    Pieces of one connected surface do not overlap; separate surfaces are cut up each on its own.

    Edges that turn inward by less than 1e-6 mm over their faces are flat. Where the pieces then
    are too many or do not add up, as in a file of numbers rounded to single precision, it is
    tried again with 1e-4 and with 5e-3 mm. Each piece is its own hull, so together they differ
    from the mesh by less than a touch.

    Raises GeometryError where the surface crosses itself.

    >>> from massing.geometry.solids import box
    >>> cube = box([0, 0, 0], [2, 2, 2])
    >>> len(convex_pieces(cube.corners[0], cube.faces.triangles))
    1
    """
    whole = _manifold(corners, triangles)
    error = None
    for flat in FLAT:
        parts = _cut_up(whole, flat)
        if parts is None:
            continue
        pieces = tuple(solid for part in parts if (solid := _solid(part, flat)) is not None)
        error = _volume_error(pieces, whole, flat)
        if error is None:
            return _ordered(pieces)
    if error is not None:
        raise GeometryError(error)
    return None


def _manifold(corners: Floats, triangles: Ints) -> Any:
    import manifold3d

    mesh = manifold3d.Mesh64(
        vert_properties=np.array(corners, dtype=np.float64, order="C"),
        tri_verts=np.array(triangles, dtype=np.uint64, order="C"),
    )
    made = manifold3d.Manifold(mesh)
    if made.status() != manifold3d.Error.NoError or made.is_empty():
        raise GeometryError("the mesh is not the surface of a solid")
    return made


def _solid(part: Any, flat: float) -> Convex | None:
    """The part's hull with its coplanar triangles merged; unmerged where that goes astray.

    None for a sheet too thin to have one; what that loses is weighed with the rest.
    """
    corners, triangles = _surface(part)
    planes = _planes(corners, triangles)
    planes = planes[np.abs(planes[:, :3]).max(axis=1) > 0]
    widths = np.ptp(corners @ planes[:, :3].T, axis=0)
    if widths.size == 0 or widths.min() <= 10 * flat:
        return None
    try:
        merged, loose = hull(corners), _unmerged_hull(corners)
    except GeometryError:
        return None
    off = abs(float(merged.volume[0] - loose.volume[0]))
    return merged if off <= SAME_VOLUME * float(loose.volume[0]) else loose


def _unmerged_hull(corners: Floats) -> Convex:
    """Convex hull of (n, 3) points with triangles for faces, however near to coplanar."""
    from scipy.spatial import ConvexHull

    found = ConvexHull(corners)
    used = np.sort(found.vertices)
    number = {int(old): new for new, old in enumerate(used)}
    triangles = np.asarray(found.simplices)
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    outward = np.einsum("ti,ti->t", np.cross(b - a, c - a), found.equations[:, :3]) >= 0
    triangles = np.where(outward[:, None], triangles, triangles[:, ::-1])
    rings = tuple(tuple(number[int(k)] for k in ring) for ring in triangles)
    return Convex(corners[used][None], Faces(rings))


def _surface(part: Any) -> tuple[Floats, Ints]:
    """Corners (n, 3) and triangles (m, 3) of a part, each edge shared by exactly two of them."""
    mesh = part.to_mesh64()
    corners = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    one = np.arange(len(corners))
    one[np.asarray(mesh.merge_from_vert, dtype=np.int64)] = np.asarray(
        mesh.merge_to_vert, dtype=np.int64
    )
    return corners, one[np.asarray(mesh.tri_verts, dtype=np.int64)]


def _cut_up(whole: Any, flat: float) -> list[Any] | None:
    """Convex manifolds; None where there would be more than MOST_PIECES, or only crumbs.

    A part with far more triangles than the whole is a sheet near the tolerance, fraying as it is
    cut; a wider tolerance drops such sheets.
    """
    none = np.empty((0, 4))
    waiting, done, cuts = [(part, none) for part in _apart(whole, flat)], [], 0
    while waiting:
        part, spent = waiting.pop()
        plane = _best_plane(part, spent, flat)
        if plane is None:
            done.append(part)
        else:
            spent, cuts = np.vstack([spent, plane]), cuts + 1
            for half in part.split_by_plane(tuple(plane[:3]), float(plane[3])):
                waiting.extend((piece, spent) for piece in _apart(half, flat))
        frayed = part.num_tri() > 2 * whole.num_tri() + 500
        if frayed or len(waiting) + len(done) > MOST_PIECES or cuts > 2 * MOST_PIECES:
            return None
    return done


def _apart(part: Any, flat: float) -> list[Any]:
    """Its connected parts, unless one is a hollow, which only a cut can open.

    Cuts beside a face that is a hair out of plane leave sheets thinner than ``flat``; they go.
    """
    pieces = [] if part.is_empty() else part.decompose()
    if any(piece.volume() < -flat * piece.surface_area() / 2 for piece in pieces):
        return [part]
    return [piece for piece in pieces if piece.volume() > flat * piece.surface_area() / 2]


def _best_plane(part: Any, spent: Floats, flat: float) -> Floats | None:
    """(4,) unit normal and offset of a face plane through an inward edge, or None if convex.

    Of the planes compared, the one that holds most inward edges and then crosses fewest faces.
    Planes (k, 4) already ``spent`` on the part have done what they can.
    """
    corners, triangles = _surface(part)
    planes = _planes(corners, triangles)
    edges, faces, opposite = _edges(triangles)
    lift = np.einsum("ei,ei->e", planes[faces[:, 0], :3], corners[opposite])
    lift -= planes[faces[:, 0], 3]
    inward = np.flatnonzero(lift > flat)
    # A cut may leave triangles thinner than rounding, whose planes mean nothing and can hide an
    # inward edge; so where no inward edge tells, every face is asked what lies beyond it.
    for tried in (np.unique(faces[inward]), np.arange(len(triangles))):
        chosen = _fresh(_distinct(planes[tried]), spent, float(np.abs(corners).max()))
        far = corners @ chosen[:, :3].T - chosen[:, 3]
        side = np.sign(np.where(np.abs(far) <= flat, 0.0, far))
        splits = np.flatnonzero((side.min(axis=0) < 0) & (side.max(axis=0) > 0))[:_TRIED]
        if splits.size:
            held = (side[edges[inward]][:, :, splits] == 0).all(axis=1).sum(axis=0)
            at = side[triangles][:, :, splits]
            crossed = ((at.min(axis=1) < 0) & (at.max(axis=1) > 0)).sum(axis=0)
            return np.asarray(chosen[splits[np.lexsort((crossed, -held))[0]]])
    return None


def _fresh(planes: Floats, spent: Floats, reach: float) -> Floats:
    """The planes that are nowhere on the part more than a hair from every spent one."""
    apart = np.abs(planes[:, None] - spent[None]) / (1.0, 1.0, 1.0, max(reach, 1.0))
    return np.asarray(planes[(apart.max(axis=2, initial=0.0) > SAME_PLANE).all(axis=1)])


def _planes(corners: Floats, triangles: Ints) -> Floats:
    """(m, 4) outward unit normal and offset of each triangle, all nought for a thin one."""
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    span = np.maximum(np.linalg.norm(b - a, axis=1), np.linalg.norm(c - a, axis=1))[:, None]
    normal = np.where(length > THIN * span, normal / np.where(length > 0, length, 1.0), 0.0)
    return np.concatenate([normal, np.einsum("ti,ti->t", normal, a)[:, None]], axis=1)


def _edges(triangles: Ints) -> tuple[Ints, Ints, Ints]:
    """Each edge once: its corners (e, 2), its two faces (e, 2), the second face's far corner."""
    used = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    face = np.repeat(np.arange(len(triangles)), 3)
    far = np.roll(triangles, 1, axis=1).reshape(-1)
    forward = used[:, 0] < used[:, 1]
    one, other = np.flatnonzero(forward), np.flatnonzero(~forward)
    one = one[np.lexsort((used[one, 1], used[one, 0]))]
    other = other[np.lexsort((used[other, 0], used[other, 1]))]
    return used[one], np.stack([face[one], face[other]], axis=1), far[other]


def _distinct(planes: Floats) -> Floats:
    """The planes without repeats, in a stable order; empty when there are none."""
    if len(planes) == 0:
        return planes
    rounded = np.round(planes / (1.0, 1.0, 1.0, 1e3), 9)
    _, first = np.unique(rounded, axis=0, return_index=True)
    return np.asarray(planes[np.sort(first)])


def _volume_error(pieces: tuple[Convex, ...], whole: Any, flat: float) -> str | None:
    """What is wrong when a partition lost or gained volume; None when it did not."""
    found = float(sum(piece.volume[0] for piece in pieces))
    wanted = float(whole.volume())
    slack = SAME_VOLUME * wanted + flat * float(whole.surface_area())
    if abs(found - wanted) <= slack:
        return None
    return (
        "the mesh bounds no plain volume: its surface crosses itself or is partly inside-out "
        f"(its convex parts hold {found:.6g} mm³, its faces say {wanted:.6g})"
    )


def _ordered(pieces: tuple[Convex, ...]) -> tuple[Convex, ...]:
    """By least corner, so that the same mesh always gives the same list."""
    return tuple(sorted(pieces, key=lambda p: (*p.low[0].tolist(), *p.high[0].tolist())))
