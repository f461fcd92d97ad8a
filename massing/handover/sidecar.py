"""What was handed over? A model and its written files in, one JSON beside them out.

It says what a mesh file cannot: the unit and axes, how big everything is, which colour is which
item in a mask picture, and the hash by which a file can be told from a changed one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from massing.handover.model import MeshPart, Model, Point, bounds
from massing.handover.names import NamedModel, NamedNode, name_model
from massing.handover.registry import format_for, formats
from massing.handover.rings import ring_pattern
from massing.reading.files import write_beside_then_rename

__all__ = ["id_colour", "sidecar", "write_sidecar"]


def id_colour(number: int) -> str:
    """Colour of an ID mask: black for 0 (nothing), every other below 2**24 unlike any before.

    The lowest bits of the number become the highest of red, green and blue in turn, so the first
    few colours lie far apart.

    >>> [id_colour(n) for n in range(5)]
    ['#000000', '#800000', '#008000', '#808000', '#000080']
    """
    channels = [0, 0, 0]
    for bit in range(24):
        if number >> bit & 1:
            channels[bit % 3] |= 0x80 >> bit // 3
    return "#{:02x}{:02x}{:02x}".format(*channels)


def _names_under(node: NamedNode) -> list[str]:
    below = [name for child in node.children for name in _names_under(child)]
    return [name for name, _ in node.parts] + below


def _objects(nodes: Sequence[NamedNode]) -> list[dict[str, Any]]:
    """One row an item: a group's children, or a group itself for the parts it holds directly."""
    rows: list[dict[str, Any]] = []
    for group in nodes:
        own = [name for name, _ in group.parts]
        if own:
            rows.append({"name": group.name, "group": group.name, "parts": own})
        rows += [
            {"name": item.name, "group": group.name, "parts": _names_under(item)}
            for item in group.children
        ]
    return [{**row, "id_colour": id_colour(number)} for number, row in enumerate(rows, start=1)]


def _motions(nodes: Sequence[NamedNode]) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for named in nodes:
        motion = named.node.motion
        if motion is not None:
            unit = "radians" if motion.kind == "turn" else "mm"
            rows.append(
                {
                    "name": named.motion,
                    "node": named.name,
                    "kind": motion.kind,
                    "axis": list(motion.axis),
                    "origin_mm": list(motion.origin),
                    f"start_{unit}": motion.start,
                    f"stop_{unit}": motion.stop,
                }
            )
        rows += _motions(named.children)
    return rows


def _box(low: Point, high: Point, unit_mm: float) -> dict[str, list[float]]:
    def scaled(point: Point) -> list[float]:
        return [round(value / unit_mm, 9) + 0.0 for value in point]

    size: Point = (high[0] - low[0], high[1] - low[1], high[2] - low[2])
    return {"low": scaled(low), "high": scaled(high), "size": scaled(size)}


def _parts_under(node: NamedNode) -> list[MeshPart]:
    below = [part for child in node.children for part in _parts_under(child)]
    return [part for _, part in node.parts] + below


def _counts(named: NamedModel, objects: int, motions: int) -> dict[str, int]:
    parts = [part for node in named.nodes for part in _parts_under(node)]
    patterns = [ring_pattern(part.rings) for part in parts]
    return {
        "items": objects,
        "parts": len(parts),
        "faces": sum(len(pattern.starts) for pattern in patterns),
        "triangles": sum(len(pattern.fan) for pattern in patterns),
        "materials": len(named.materials),
        "cameras": len(named.cameras),
        "motions": motions,
    }


def _file_row(path: Path, box: tuple[Point, Point] | None) -> dict[str, Any]:
    """Name, size and hash of a written file; unit, axes and bounds too when it holds the mesh."""
    data = path.read_bytes()
    row: dict[str, Any] = {"name": path.name, "bytes": len(data)}
    row["sha256"] = hashlib.sha256(data).hexdigest()
    if path.suffix.lower() not in {ending for entry in formats() for ending in entry.endings}:
        return row
    entry = format_for(path)
    row |= {"format": entry.name, "unit": entry.unit, "axes": entry.axes}
    if box is not None:
        (x0, y0, z0), (x1, y1, z1) = box
        low, high = ((x0, z0, -y1), (x1, z1, -y0)) if entry.up == "+Y" else box
        row["bounds"] = _box(low, high, entry.unit_mm)
    return row


def sidecar(model: Model, written: Sequence[Path]) -> dict[str, Any]:
    """Everything to say about the model and its files, as plain JSON data in a fixed order.

    model : as it was written (inset, if the files were)
    written : the files, as the writers returned them; each is read for its hash
    """
    named = name_model(model)
    box = bounds(model)
    objects, motions = _objects(named.nodes), _motions(named.nodes)
    materials = [
        {"name": name, "kind": look.kind, "srgb": look.srgb.upper(), "alpha": look.alpha}
        | {"id_colour": id_colour(number)}
        for number, (look, name) in enumerate(named.materials.items(), start=1)
    ]
    return {
        "name": named.name,
        "name_as_written": model.name,
        "unit": "mm",
        "axes": "right-handed, z up, as in the room",
        "bounds_mm": None if box is None else _box(*box, 1.0),
        "counts": _counts(named, len(objects), len(motions)),
        "notes": {key: model.notes[key] for key in sorted(model.notes)},
        "materials": materials,
        "objects": objects,
        "motions": motions,
        "cameras": list(named.cameras),
        "files": [_file_row(path, box) for path in written],
    }


def write_sidecar(model: Model, written: Sequence[Path], path: Path) -> Path:
    """Write ``sidecar`` as UTF-8 JSON; the old file stays until the new one is whole."""
    text = json.dumps(sidecar(model, written), ensure_ascii=False, indent=2, allow_nan=False)
    write_beside_then_rename(path, (text + "\n").encode("utf-8", "replace"))
    return path
