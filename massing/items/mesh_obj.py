"""The bytes of an OBJ file in, its triangles out.

Read are ``v`` and ``f``; a face may have any number of corners, be concave, and count its
corners from the first (``1``) or back from the last (``-1``). Colours, textures, groups and the
files they name are passed over.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.geometry.solids import Floats, Ints
from massing.items.mesh_surface import MOST_FACES, MeshError, Surface
from massing.units import quoted

__all__ = ["read_obj"]

_LONGEST = 400


def read_obj(data: bytes) -> Surface:
    r"""The triangles; corners used by several faces stay one.

    Raises MeshError with the line that cannot be read.

    >>> square = b"v 0 0 0\nv 9 0 0\nv 9 9 0\nv 0 9 0\nf 1 2 3 4"
    >>> read_obj(square).whole()[1].shape
    (2, 3)
    """
    surface, counted = Surface(), Surface()
    corners: list[list[float]] = []
    rings: list[tuple[int, list[int]]] = []
    for number, words in _lines(data):
        if words[0] == b"v":
            counted.take_corners(1)
            corners.append(_corner(number, words))
        elif words[0] == b"f":
            counted.take_faces(max(len(words) - 3, 1))
            rings.append((number, _ring(number, words, len(corners))))
    places = np.array(corners, dtype=np.float64).reshape(-1, 3)
    for number, ring in rings:
        if max(ring) >= len(places):
            raise MeshError(f"line {number}: a face uses corner {max(ring) + 1} of {len(places)}")
    parts = [_triangles(places[ring], np.array(ring)) for _, ring in rings]
    surface.add(places, np.concatenate([np.empty((0, 3), dtype=np.int64), *parts]))
    return surface


def _lines(data: bytes) -> Iterator[tuple[int, list[bytes]]]:
    r"""The words of each line that says something; one that ends in ``\`` goes on below."""
    held: list[bytes] = []
    began = 0
    for number, line in enumerate(data.splitlines(), 1):
        words = line.split(b"#", 1)[0].split()
        began = began or number
        if words and words[-1].endswith(b"\\"):
            held += [*words[:-1], words[-1][:-1]]
            continue
        if words := [word for word in held + words if word]:
            yield began, words
        held, began = [], 0
    if words := [word for word in held if word]:
        yield began, words


def _told(words: list[bytes]) -> str:
    return quoted(b" ".join(words)[:_LONGEST].decode("utf-8", "replace"))


def _corner(number: int, words: list[bytes]) -> list[float]:
    try:
        x, y, z = (float(word) for word in words[1:4])
    except ValueError:
        raise MeshError(f"line {number}: {_told(words)} is not three numbers") from None
    return [x, y, z]


def _ring(number: int, words: list[bytes], count: int) -> list[int]:
    """Corner numbers from 0; those counted back are resolved, those ahead may come later."""
    if not 3 <= len(words) - 1 <= MOST_FACES + 2:
        raise MeshError(f"line {number}: a face of {len(words) - 1} corners")
    ring = []
    for word in words[1:]:
        try:
            told = int(word.split(b"/", 1)[0])
        except ValueError:
            told = 0
        at = told - 1 if told > 0 else count + told
        if told == 0 or at < 0:
            raise MeshError(f"line {number}: {_told([word])} in {_told(words)} is no corner")
        ring.append(at)
    return ring


def _triangles(corners: Floats, ring: Ints) -> Ints:
    """A ring's triangles, none of them outside it."""
    if len(ring) == 3:
        return ring[None]
    rest = np.arange(1, len(ring) - 1)
    fan = np.stack([np.zeros_like(rest), rest, rest + 1], axis=1)
    if not np.isfinite(corners).all():
        return np.asarray(ring[fan])
    spokes = corners - corners[0]
    turns = np.cross(spokes[1:-1], spokes[2:])
    whole = turns.sum(axis=0)
    # Where every triangle of a fan turns as the ring does, none of them is outside it.
    if (turns @ whole >= 0).all():
        return np.asarray(ring[fan])
    import manifold3d

    drop = int(np.argmax(np.abs(whole)))
    one, other = (drop + 1) % 3, (drop + 2) % 3
    plan = corners[:, [one, other] if whole[drop] > 0 else [other, one]]
    clipped = np.asarray(manifold3d.triangulate([plan], -1.0), dtype=np.int64).reshape(-1, 3)
    # Seen from outside the ring runs counter-clockwise, and its triangles as it does.
    return np.asarray(ring[clipped if len(clipped) == len(fan) else fan])
