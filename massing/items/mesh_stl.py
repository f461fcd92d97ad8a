"""The bytes of an STL file in, its triangles out.

Binary: 80 bytes of anything, the count of faces, then 50 bytes each: normal, three corners, an
attribute. Text: ``facet`` ... ``vertex x y z`` thrice ... ``endfacet``. Normals are not read:
the order of the corners says which side is out. A binary file may begin with the text's word
``solid``, so the length decides.
"""

from __future__ import annotations

import numpy as np

from massing.geometry.solids import Floats
from massing.items.mesh_surface import MeshError, Surface
from massing.units import quoted

__all__ = ["read_stl"]

_FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_HEAD = 84
_LONGEST = 400


def read_stl(data: bytes) -> Surface:
    r"""The triangles, each with corners of its own.

    Raises MeshError where the file breaks off or is no STL.

    >>> one = b"solid s\nfacet\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 9 0\nendfacet\nendsolid"
    >>> read_stl(one).whole()[0].tolist()
    [[0.0, 0.0, 0.0], [9.0, 0.0, 0.0], [0.0, 9.0, 0.0]]
    """
    count = int.from_bytes(data[80:_HEAD], "little") if len(data) >= _HEAD else -1
    exact = count >= 0 and len(data) == _HEAD + 50 * count
    surface = Surface()
    if data.lstrip()[:5].lower() == b"solid" and not exact:
        corners = _from_text(data, surface)
    elif count < 0:
        raise MeshError("it is too short to be an STL file")
    else:
        surface.take_faces(count)
        surface.face_count = 0
        if len(data) < _HEAD + 50 * count:
            held = (len(data) - _HEAD) // 50
            raise MeshError(f"it says it has {count:,} faces and holds {held:,}")
        faces = np.frombuffer(data, dtype=_FACE, count=count, offset=_HEAD)
        # A number that is none in a way of its own is told of later, like any other.
        with np.errstate(invalid="ignore"):
            corners = faces["corners"].astype(np.float64).reshape(-1, 3)
    surface.add(corners, np.arange(len(corners)).reshape(-1, 3))
    return surface


def _from_text(data: bytes, surface: Surface) -> Floats:
    rows: list[list[float]] = []
    begun = 0
    for number, line in enumerate(data.splitlines(), 1):
        words = line.split()
        word = words[0].lower() if words else b""
        if word == b"vertex":
            rows.append(_numbers(words[1:], number, line))
        elif word in (b"endloop", b"endfacet", b"endsolid"):
            if len(rows) - begun not in (0, 3):
                raise MeshError(f"line {number}: a face of {len(rows) - begun} corners")
            if len(rows) != begun:
                surface.take_faces(1)
            begun = len(rows)
    if len(rows) != begun:
        raise MeshError("it breaks off inside a face")
    surface.face_count = 0
    return np.array(rows, dtype=np.float64).reshape(-1, 3)


def _numbers(words: list[bytes], number: int, line: bytes) -> list[float]:
    try:
        (x, y, z) = (float(word) for word in words)
    except ValueError:
        told = quoted(line[:_LONGEST].decode("utf-8", "replace"))
        raise MeshError(f"line {number}: {told} is not three numbers") from None
    return [x, y, z]
