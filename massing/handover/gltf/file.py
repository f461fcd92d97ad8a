"""How is a glTF object kept in one file? JSON and binary buffer in, bytes of GLB or glTF out.

Source: glTF 2.0 specification, "GLB File Format Specification" and "GLB-stored Buffer".
"""

from __future__ import annotations

import base64
import json
import struct
from pathlib import Path

from massing.handover.gltf.pool import Json
from massing.handover.gltf.scene import document
from massing.handover.model import Model
from massing.reading.files import write_beside_then_rename

__all__ = ["glb", "gltf", "write"]

_MAGIC, _VERSION = 0x46546C67, 2
_JSON, _BIN = 0x4E4F534A, 0x004E4942


def _text(found: Json) -> bytes:
    """UTF-8 without spaces; half a surrogate pair, which UTF-8 cannot hold, becomes "?"."""
    text = json.dumps(found, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode("utf-8", "replace")


def _chunk(kind: int, data: bytes, filler: bytes) -> bytes:
    padded = data + filler * (-len(data) % 4)
    return struct.pack("<II", len(padded), kind) + padded


def glb(model: Model) -> bytes:
    """GLB bytes of the model: header, JSON chunk, and a binary chunk when there is a mesh.

    >>> glb(Model("bare"))[:4]
    b'glTF'
    """
    found, buffer = document(model)
    chunks = _chunk(_JSON, _text(found), b" ")
    if buffer:
        chunks += _chunk(_BIN, buffer, b"\0")
    return struct.pack("<III", _MAGIC, _VERSION, 12 + len(chunks)) + chunks


def gltf(model: Model) -> bytes:
    """JSON form of the same, with the buffer inside it as base64, so one file is still enough."""
    found, buffer = document(model)
    if buffer:
        inside = base64.b64encode(buffer).decode("ascii")
        found["buffers"][0]["uri"] = f"data:application/octet-stream;base64,{inside}"
    return _text(found)


def write(model: Model, path: Path) -> tuple[Path, ...]:
    """Write a .gltf path as JSON and any other as GLB; the old file stays until the new is whole.

    Raises GeometryError as ``document`` does.
    """
    data = gltf(model) if path.suffix.lower() == ".gltf" else glb(model)
    write_beside_then_rename(path, data)
    return (path,)
