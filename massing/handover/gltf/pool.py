"""Where do numbers sit in the binary buffer? Arrays in, accessor numbers and one buffer out.

Equal bytes are stored once: two equal boxes share every accessor, and all boxes share their
triangles. Source for every rule: glTF 2.0 specification, "Accessors" and "Buffers and Buffer
Views".
"""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from massing.geometry.solids import Floats

__all__ = ["FLOAT", "UINT16", "UINT32", "Json", "Pool"]

Json: TypeAlias = dict[str, Any]

UINT16, UINT32, FLOAT = 5123, 5125, 5126
_ARRAY_BUFFER, _ELEMENT_ARRAY_BUFFER = 34962, 34963
_VIEWS: dict[str, tuple[int, int, str, int | None, int | None]] = {
    # component type, bytes an element, element type, bufferView target, bufferView stride
    "position": (FLOAT, 12, "VEC3", _ARRAY_BUFFER, 12),
    "normal": (FLOAT, 12, "VEC3", _ARRAY_BUFFER, 12),
    "texture": (FLOAT, 8, "VEC2", _ARRAY_BUFFER, 8),
    "index32": (UINT32, 4, "SCALAR", _ELEMENT_ARRAY_BUFFER, None),
    "index16": (UINT16, 2, "SCALAR", _ELEMENT_ARRAY_BUFFER, None),
    "time": (FLOAT, 4, "SCALAR", None, None),
    "rotation": (FLOAT, 16, "VEC4", None, None),
    "translation": (FLOAT, 12, "VEC3", None, None),
}


class Pool:
    """Collects accessors by role; each role has one bufferView."""

    def __init__(self) -> None:
        self.accessors: list[Json] = []
        self._chunks: dict[str, list[bytes]] = {role: [] for role in _VIEWS}
        self._length = dict.fromkeys(_VIEWS, 0)
        self._known: dict[tuple[str, bytes], int] = {}

    def add(self, role: str, data: bytes, limits: tuple[list[float], list[float]] | None) -> int:
        """Number of the accessor that holds these little-endian bytes.

        limits : least and greatest value, exactly as stored; wanted for positions and times
        """
        key = (role, data)
        known = self._known.get(key)
        if known is not None:
            return known
        component, size, kind, _, _ = _VIEWS[role]
        accessor: Json = {
            "bufferView": role,
            "byteOffset": self._length[role],
            "componentType": component,
            "count": len(data) // size,
            "type": kind,
        }
        if limits is not None:
            accessor["min"], accessor["max"] = limits
        number = self._known[key] = len(self.accessors)
        self.accessors.append(accessor)
        self._chunks[role].append(data)
        self._length[role] += len(data)
        return number

    def floats(self, role: str, rows: Floats) -> int:
        """Add (n, k) numbers as single floats, with their least and greatest."""
        stored = np.ascontiguousarray(rows, dtype="<f4")
        limits = (stored.min(axis=0).tolist(), stored.max(axis=0).tolist())
        return self.add(role, stored.tobytes(), limits)

    def finish(self) -> tuple[list[Json], bytes]:
        """Return the bufferViews and the buffer, and settle each accessor's bufferView number."""
        views: list[Json] = []
        pieces: list[bytes] = []
        numbers: dict[str, int] = {}
        place = 0
        for role, (_, _, _, target, stride) in _VIEWS.items():
            length = self._length[role]
            if not length:
                continue
            numbers[role] = len(views)
            view: Json = {"buffer": 0, "byteOffset": place, "byteLength": length}
            if stride is not None:
                view["byteStride"] = stride
            if target is not None:
                view["target"] = target
            views.append(view)
            padding = -length % 4
            pieces += [*self._chunks[role], bytes(padding)]
            place += length + padding
        for accessor in self.accessors:
            accessor["bufferView"] = numbers[accessor["bufferView"]]
        return views, b"".join(pieces)
