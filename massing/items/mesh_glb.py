"""The bytes of a GLB file in, the triangles its scene shows out.

Read are the scene's nodes with their places, and of each mesh the corners and the order of its
triangles. Every count, offset and reference is checked against what the file holds before it is
followed, and data outside the file is not looked for.
Source: glTF 2.0 specification, ISO/IEC 12113: GLB file format, accessors, scene graph.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats, Ints
from massing.items.mesh_surface import MOST_CORNERS, MOST_FACES, MeshError, Surface, TooFineError
from massing.units import quoted

__all__ = ["read_glb"]

_MAGIC, _JSON, _BIN = b"glTF", b"JSON", b"BIN\0"
_LARGEST_JSON = 4 * 1024 * 1024
_NUMBERS = {5120: "i1", 5121: "u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_INDICES = (5121, 5123, 5125)
_PLACES = (5120, 5121, 5122, 5123, 5126)
_NO_MATTER = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_", "KHR_mesh_quanti")
_TRIANGLES, _STRIP, _FAN = 4, 5, 6
_NOWHERE = 1e12


def read_glb(data: bytes) -> Surface:
    """The triangles, places of the nodes worked in; metres with y up, as the file has them.

    Points and lines show no surface and are passed over. Raises MeshError saying what is
    wrong, or what a reader of plain triangles cannot do: data compressed or kept elsewhere.
    """
    file = _File(data)
    surface = Surface()
    waiting = [(node, np.eye(4)) for node in reversed(_roots(file))]
    seen: set[int] = set()
    while waiting:
        number, above = waiting.pop()
        if number in seen:
            raise MeshError(f"node {number} stands in two places or inside itself")
        seen.add(number)
        node = file.entry("nodes", number)
        place = above @ _place(node, number)
        if "mesh" in node:
            _add_mesh(file, _whole(node, "mesh", f"node {number}"), place, surface)
        children = _rows(node, "children", f"node {number}")
        waiting += [(_number(child, f"a child of node {number}"), place) for child in children]
    return surface


class _File:
    """The JSON of a GLB and the bytes beside it."""

    def __init__(self, data: bytes) -> None:
        if data[:4] != _MAGIC or len(data) < 20:
            raise MeshError("it is not a GLB file")
        version = int.from_bytes(data[4:8], "little")
        if version != 2:
            raise MeshError(f"it is a GLB of version {version}; version 2 is read")
        length = int.from_bytes(data[8:12], "little")
        if length > len(data):
            raise MeshError(f"it says it has {length:,} bytes and holds {len(data):,}")
        text, at = _chunk(data, 12, length, _JSON)
        if len(text) > _LARGEST_JSON:
            raise TooFineError("has more than 4 MB of JSON")
        self.bin = _chunk(data, at, length, _BIN)[0] if at + 8 <= length else b""
        try:
            self.json: Any = json.loads(text.decode("utf-8"))
        except (ValueError, RecursionError) as error:
            raise MeshError(f"its JSON cannot be read: {error}") from None
        if not isinstance(self.json, dict):
            raise MeshError("its JSON is not a table")
        for word in _rows(self.json, "extensionsRequired", "the file"):
            if not str(word).startswith(_NO_MATTER):
                raise MeshError(f"it needs {quoted(str(word))}, which is not read; export without")

    def entry(self, kind: str, number: int) -> dict[str, Any]:
        """Entry ``number`` of one of the file's lists."""
        rows = _rows(self.json, kind, "the file")
        if number >= len(rows):
            raise MeshError(f"there is no {kind}[{number}]; it has {len(rows)}")
        if not isinstance(rows[number], dict):
            raise MeshError(f"{kind}[{number}] is not a table")
        return dict(rows[number])

    def numbers(self, accessor: int, form: str, kinds: tuple[int, ...]) -> NDArray[Any]:
        """What an accessor gives: (n, 3) for VEC3, (n,) for SCALAR."""
        told = f"accessors[{accessor}]"
        entry = self.entry("accessors", accessor)
        if "sparse" in entry or "bufferView" not in entry:
            raise MeshError(f"{told} holds no plain data; export without compression")
        kind = _whole(entry, "componentType", told)
        if entry.get("type") != form or kind not in kinds:
            raise MeshError(f"{told} is not {form} of a kind that belongs there")
        count = _whole(entry, "count", told)
        most = MOST_CORNERS if form == "VEC3" else 3 * MOST_FACES
        if count > most:
            raise TooFineError(f"lists {count} {'corners' if form == 'VEC3' else 'indices'}")
        number = np.dtype(_NUMBERS[kind])
        wide = 3 if form == "VEC3" else 1
        view, step = self._view(_whole(entry, "bufferView", told), number.itemsize * wide)
        at = _whole(entry, "byteOffset", told, 0)
        if count and at + step * (count - 1) + number.itemsize * wide > len(view):
            raise MeshError(f"{told} reaches beyond its data")
        got = np.ndarray((count, wide), number, view, at, (step, number.itemsize))
        if kind != 5126 and entry.get("normalized") is True:
            got = np.maximum(got / np.iinfo(number).max, -1.0)
        return got if wide == 3 else got[:, 0]

    def _view(self, number: int, tight: int) -> tuple[bytes, int]:
        """The bytes of a buffer view and its step from one element to the next."""
        told = f"bufferViews[{number}]"
        entry = self.entry("bufferViews", number)
        buffer = _whole(entry, "buffer", told)
        if buffer != 0 or "uri" in self.entry("buffers", 0):
            raise MeshError(f"{told} lies in another file; export as one GLB")
        at, size = _whole(entry, "byteOffset", told, 0), _whole(entry, "byteLength", told)
        if at + size > len(self.bin):
            raise MeshError(f"{told} reaches beyond the file's {len(self.bin):,} bytes of data")
        step = _whole(entry, "byteStride", told, tight)
        if not tight <= step <= 252:
            raise MeshError(f"{told} has a stride of {step}, where {tight} to 252 belongs")
        return self.bin[at : at + size], step


def _chunk(data: bytes, at: int, length: int, kind: bytes) -> tuple[bytes, int]:
    """The next chunk's bytes and where it ends."""
    size, got = int.from_bytes(data[at : at + 4], "little"), data[at + 4 : at + 8]
    if got != kind:
        if kind == _BIN:
            return b"", length
        raise MeshError("it does not begin with its JSON")
    if at + 8 + size > length:
        raise MeshError(f"a part of {size:,} bytes reaches beyond its end")
    return data[at + 8 : at + 8 + size], at + 8 + size


def _rows(table: dict[str, Any], key: str, told: str) -> list[Any]:
    rows = table.get(key, [])
    if not isinstance(rows, list):
        raise MeshError(f"'{key}' of {told} is not a list")
    return rows


def _number(value: object, told: str) -> int:
    if type(value) is float and value.is_integer() and abs(value) < 2**53:
        value = int(value)
    if type(value) is not int or not 0 <= value < 2**53:
        raise MeshError(f"{told} is not a whole number from 0 up")
    return value


def _whole(table: dict[str, Any], key: str, told: str, left_out: int | None = None) -> int:
    if key not in table and left_out is not None:
        return left_out
    return _number(table.get(key), f"'{key}' of {told}")


def _roots(file: _File) -> list[int]:
    """The nodes of the scene shown; without scenes, those that stand in no other."""
    if _rows(file.json, "scenes", "the file"):
        scene = file.entry("scenes", _whole(file.json, "scene", "the file", 0))
        return [_number(node, "a node of the scene") for node in _rows(scene, "nodes", "a scene")]
    nodes = [file.entry("nodes", n) for n in range(len(_rows(file.json, "nodes", "the file")))]
    held = {
        _number(child, "a child") for node in nodes for child in _rows(node, "children", "a node")
    }
    return [n for n in range(len(nodes)) if n not in held]


def _floats(node: dict[str, Any], key: str, count: int, told: str) -> Floats | None:
    """So many numbers, or None when they are left out."""
    if key not in node:
        return None
    rows = _rows(node, key, told)
    plain = len(rows) == count and all(type(v) in (int, float) for v in rows)
    if not plain or not all(abs(v) < _NOWHERE for v in rows):
        raise MeshError(f"'{key}' of {told} is not {count} numbers of a bearable size")
    return np.array(rows, dtype=np.float64)


def _place(node: dict[str, Any], number: int) -> Floats:
    """(4, 4) from the node's own axes to those above it."""
    told = f"node {number}"
    matrix = _floats(node, "matrix", 16, told)
    if matrix is not None:
        return matrix.reshape(4, 4).T
    place = np.eye(4)
    turn = _floats(node, "rotation", 4, told)
    if turn is not None:
        size = float(np.linalg.norm(turn))
        if size == 0.0:
            raise MeshError(f"'rotation' of {told} turns nowhere")
        x, y, z, w = turn / size
        place[:3, :3] = [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    scale = _floats(node, "scale", 3, told)
    if scale is not None:
        place[:3, :3] *= scale
    shift = _floats(node, "translation", 3, told)
    if shift is not None:
        place[:3, 3] = shift
    return place


def _add_mesh(file: _File, mesh: int, place: Floats, surface: Surface) -> None:
    told = f"meshes[{mesh}]"
    for part in _rows(file.entry("meshes", mesh), "primitives", told):
        if not isinstance(part, dict) or not isinstance(part.get("attributes"), dict):
            raise MeshError(f"{told} has a part without attributes")
        mode = _whole(part, "mode", told, _TRIANGLES)
        if mode not in (_TRIANGLES, _STRIP, _FAN) or "POSITION" not in part["attributes"]:
            continue
        position = _whole(part["attributes"], "POSITION", told)
        with np.errstate(invalid="ignore"):
            corners = np.asarray(file.numbers(position, "VEC3", _PLACES), dtype=np.float64)
        order = np.arange(len(corners))
        if "indices" in part:
            got = file.numbers(_whole(part, "indices", told), "SCALAR", _INDICES)
            order = np.asarray(got, dtype=np.int64)
        triangles = _in_threes(order, mode, told)
        # A mirrored mesh keeps its outside: there the corners run the other way round.
        if np.linalg.det(place[:3, :3]) < 0:
            triangles = triangles[:, ::-1]
        if not (np.abs(corners) < _NOWHERE).all():
            raise MeshError(f"{told} has a corner that is not a number, or out of all bounds")
        surface.add(corners @ place[:3, :3].T + place[:3, 3], triangles)


def _in_threes(order: Ints, mode: int, told: str) -> Ints:
    """(m, 3) triangles of a list, a strip or a fan of corners."""
    if mode == _TRIANGLES:
        if len(order) % 3:
            raise MeshError(f"{told} has {len(order)} corners, not three to a face")
        return order.reshape(-1, 3)
    if len(order) < 3:
        raise MeshError(f"{told} has too few corners for a face")
    first, second, third = order[:-2], order[1:-1], order[2:]
    if mode == _FAN:
        return np.stack([np.full_like(second, order[0]), second, third], axis=1)
    odd = np.arange(len(first)) % 2 == 1
    return np.stack([first, np.where(odd, third, second), np.where(odd, second, third)], axis=1)
