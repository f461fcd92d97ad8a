"""A mesh file in, convex solids that together are exactly the same volume out.

A mesh is taken only when it bounds a volume. One that is wholly inside-out describes the same
solid, so it is turned right way out; anything less certain is refused with its reason.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from massing.errors import Fault, GeometryError, InputError
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import TOUCH
from massing.items.mesh_pieces import MOST_PIECES, convex_pieces
from massing.items.spec import MeshSpec

__all__ = ["MOST_FACES", "mesh_solids"]

MOST_FACES = 5000
"""Triangles; an item's massing needs a few hundred at most."""

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
_ENDINGS = (".glb", ".obj", ".stl")


def mesh_solids(spec: MeshSpec, folder: Path | None = None) -> tuple[Convex, ...]:
    """One-world convex solids of a mesh file, mm, z up, its least corner at the origin.

    folder : what the file's name is relative to

    Raises InputError where the file is missing or of another kind, and GeometryError where it
    is empty, open, tangled, flat, too fine, or falls into too many convex pieces.
    """
    path = (folder or Path()) / spec.file
    ending = path.suffix.lower()
    if ending not in _ENDINGS:
        says = f"'{spec.file}' is not a GLB, OBJ or STL mesh"
        raise InputError([Fault(says, spec.mark_of("file"))])
    if not path.is_file():
        raise InputError([Fault(f"there is no mesh file '{spec.file}'", spec.mark_of("file"))])
    unit = spec.unit or ("m" if ending == ".glb" else "mm")
    up = spec.up or ("y" if ending == ".glb" else "z")
    stamp = path.stat()
    return _solids(str(path), spec.file, unit, up, (stamp.st_mtime_ns, stamp.st_size))


@lru_cache(maxsize=64)
def _solids(path: str, name: str, unit: str, up: str, stamp: tuple[int, int]) -> tuple[Convex, ...]:
    """Kept for as long as the file is unchanged, since a scheme is placed many times over."""
    del stamp
    corners, triangles = _read(path, name)
    if up == "y":
        corners = np.stack([corners[:, 0], -corners[:, 2], corners[:, 1]], axis=1)
    corners = corners * _MM[unit]
    corners = corners - corners.min(axis=0)
    corners, triangles = _checked(corners, triangles, name)
    pieces = convex_pieces(corners, triangles)
    if pieces is None:
        raise GeometryError(
            f"the mesh '{name}' falls into more than {MOST_PIECES} convex parts; "
            "simplify it, or describe the item by boxes"
        )
    return pieces


def _read(path: str, name: str) -> tuple[Floats, Ints]:
    """Corners (n, 3) in the file's unit and triangles (m, 3), corners at one place merged."""
    import trimesh

    try:
        loaded: Any = trimesh.load_scene(path, process=False)
        mesh = loaded.to_mesh()
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OSError) as error:
        raise GeometryError(f"the mesh '{name}' cannot be read: {error}") from error
    if not hasattr(mesh, "faces") or len(mesh.faces) == 0:
        raise GeometryError(f"the mesh '{name}' is empty: it has no faces")
    if len(mesh.faces) > MOST_FACES:
        raise GeometryError(
            f"the mesh '{name}' has {len(mesh.faces)} faces, more than {MOST_FACES}; simplify it"
        )
    corners = np.asarray(mesh.vertices, dtype=np.float64)
    if not np.isfinite(corners).all():
        raise GeometryError(f"the mesh '{name}' has a corner that is not a number")
    places, number = np.unique(corners, axis=0, return_inverse=True)
    triangles = np.asarray(number, dtype=np.int64).reshape(-1)[np.asarray(mesh.faces)]
    return places, triangles


def _checked(corners: Floats, triangles: Ints, name: str) -> tuple[Floats, Ints]:
    """The mesh facing out, once it is known to bound a volume."""
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    if len(triangles) == 0 or np.ptp(corners, axis=0).min() <= TOUCH:
        raise GeometryError(f"the mesh '{name}' is flat; it bounds no volume")
    used = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    _, sharing = np.unique(np.sort(used, axis=1), axis=0, return_counts=True)
    if (sharing % 2).any():
        open_edges = int((sharing % 2).sum())
        edges = "1 edge belongs" if open_edges == 1 else f"{open_edges} edges belong"
        raise GeometryError(f"the mesh '{name}' is open: {edges} to one face without another")
    _, first, count = np.unique(used, axis=0, return_index=True, return_counts=True)
    del first
    twice = int((count > 1).sum())
    backwards = {(int(i), int(j)) for i, j in used} ^ {(int(j), int(i)) for i, j in used}
    if twice and backwards:
        raise GeometryError(
            f"the mesh '{name}' is tangled: along {twice} edges its faces do not agree "
            "which side is out"
        )
    return _facing_out(corners, triangles, name)


def _facing_out(corners: Floats, triangles: Ints, name: str) -> tuple[Floats, Ints]:
    fans = corners[triangles] - corners.mean(axis=0)
    volume = float(np.einsum("ti,ti->", fans[:, 0], np.cross(fans[:, 1], fans[:, 2]))) / 6.0
    if abs(volume) <= TOUCH**3:
        raise GeometryError(f"the mesh '{name}' bounds no volume")
    return corners, triangles if volume > 0 else triangles[:, ::-1]
