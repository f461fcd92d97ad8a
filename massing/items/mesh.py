"""A mesh file in, convex solids that together are exactly the same volume out.

A mesh is taken only when it bounds a volume. One that is wholly inside-out describes the same
solid, so it is turned right way out; anything less certain is refused with its reason.

The three readers are the project's own because what comes from a stranger must be measured
rightly or refused: the general mesh library tried before fans a face that is not convex (an L
of 14 units of skin read as 15), and names no place in a broken file. Tests hold them to it.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np

from massing.errors import Fault, GeometryError, InputError
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import TOUCH
from massing.items.mesh_glb import read_glb
from massing.items.mesh_obj import read_obj
from massing.items.mesh_pieces import MOST_PIECES, convex_pieces
from massing.items.mesh_stl import read_stl
from massing.items.mesh_surface import LARGEST_MESH, MeshError, TooFineError
from massing.items.spec import MeshSpec
from massing.units import LARGEST

__all__ = ["mesh_solids"]

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
    try:
        stamp = path.stat()
    except FileNotFoundError:
        says = f"there is no mesh file '{spec.file}'"
        raise InputError([Fault(says, spec.mark_of("file"))]) from None
    except OSError as error:
        says = f"the mesh '{spec.file}' cannot be read: {error.strerror}"
        raise InputError([Fault(says, spec.mark_of("file"))]) from None
    if not path.is_file():
        raise InputError([Fault(f"the mesh '{spec.file}' is not a file", spec.mark_of("file"))])
    if stamp.st_size > LARGEST_MESH:
        says = f"the mesh '{spec.file}' is larger than {LARGEST_MESH // 2**20} MB; simplify it"
        raise InputError([Fault(says, spec.mark_of("file"))])
    unit = spec.unit or ("m" if ending == ".glb" else "mm")
    up = spec.up or ("y" if ending == ".glb" else "z")
    return _solids(str(path), spec.file, unit, up, (stamp.st_mtime_ns, stamp.st_size))


@lru_cache(maxsize=64)
def _solids(path: str, name: str, unit: str, up: str, stamp: tuple[int, int]) -> tuple[Convex, ...]:
    """Kept for as long as the file is unchanged, since a scheme is placed many times over."""
    del stamp
    corners, triangles = _read(path, name, LARGEST / _MM[unit])
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
    # Once more: the file may hold points that no face uses, and surfaces around nothing.
    low = np.min([piece.low[0] for piece in pieces], axis=0)
    return (
        tuple(Convex(piece.corners - low, piece.faces) for piece in pieces) if low.any() else pieces
    )


def _read(path: str, name: str, largest: float) -> tuple[Floats, Ints]:
    """Corners (n, 3) in the file's unit and triangles (m, 3), corners at one place merged.

    largest : how far out a corner may be, in the file's unit
    """
    reader = {".glb": read_glb, ".obj": read_obj, ".stl": read_stl}[Path(path).suffix.lower()]
    try:
        # No more than mesh_solids saw there: the file may grow, or be a device without an end.
        with Path(path).open("rb") as file:
            data = file.read(LARGEST_MESH)
        corners, triangles = reader(data).whole()
    except TooFineError as error:
        raise GeometryError(f"the mesh '{name}' {error}; simplify it") from None
    except OSError as error:
        raise GeometryError(f"the mesh '{name}' cannot be read: {error.strerror}") from None
    except MeshError as error:
        raise GeometryError(f"the mesh '{name}' cannot be read: {error}") from None
    if len(triangles) == 0:
        raise GeometryError(f"the mesh '{name}' is empty: it has no faces")
    used, number = np.unique(triangles, return_inverse=True)
    corners = corners[used]
    if not np.isfinite(corners).all():
        raise GeometryError(f"the mesh '{name}' has a corner that is not a number")
    if np.abs(corners).max() > largest:
        raise GeometryError(
            f"the mesh '{name}' has a corner more than 1 km out; is its unit right?"
        )
    places, place = np.unique(corners, axis=0, return_inverse=True)
    return places, np.asarray(place, dtype=np.int64).reshape(-1)[number.reshape(-1, 3)]


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
