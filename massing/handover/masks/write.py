"""Which pixel is which item? A model and a folder in, a folder a camera out.

Each holds ``NAME-mask.png``, one flat colour an item; ``NAME-shaded.png``, the same view as it
looks; and ``NAME-table.json`` and ``.csv``: each item, its colour and how many pixels it has. The
colours are those of the model's sidecar file.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.errors import MassingError
from massing.handover.masks.draw import draw_flat, draw_shaded, shown_parts
from massing.handover.model import Camera, Model
from massing.handover.names import NamedNode, ascii_name, name_model
from massing.handover.pictures.views import view_of
from massing.handover.sidecar import sidecar
from massing.reading.files import write_together

__all__ = [
    "Row",
    "count_pixels",
    "mask_cameras",
    "mask_colours",
    "part_names",
    "png",
    "write_masks",
]


@dataclass(frozen=True, slots=True)
class Row:
    """One item of a mask: its name in the files, its colour #rrggbb, its pixels."""

    name: str
    colour: str
    pixels: int


def mask_colours(model: Model) -> dict[str, tuple[str, str]]:
    """Item and colour of each shown part, by the part's name, as in the sidecar file."""
    shown = {name for name, _ in shown_parts(model)}
    return {
        part: (row["name"], row["id_colour"])
        for row in sidecar(model, [])["objects"]
        for part in row["parts"]
        if part in shown
    }


def mask_cameras(model: Model) -> tuple[Camera, ...]:
    """The model's own cameras, and one that looks in over a corner."""
    shown = [part.vertices for _, part in shown_parts(model)]
    if not shown:
        return model.cameras
    cloud = np.vstack(shown)
    aspect = model.cameras[0].aspect if model.cameras else 1.5
    view = view_of("corner", cloud.min(axis=0), cloud.max(axis=0), (round(1000 * aspect), 1000))
    reach = 4.0 * view.half_height + 20_000.0
    eye = view.middle + view.towards * reach
    corner = Camera(
        "corner",
        (float(eye[0]), float(eye[1]), float(eye[2])),
        (float(view.middle[0]), float(view.middle[1]), float(view.middle[2])),
        height=2.0 * view.half_height,
        aspect=aspect,
        far=2.0 * reach,
    )
    return (*model.cameras, corner)


def part_names(model: Model, items: tuple[str, ...]) -> tuple[str, ...]:
    """Names in the files of every closed part of the things the user calls so.

    >>> part_names(Model("bare"), ("desk",))
    ()
    """

    def under(named: NamedNode, *, wanted: bool) -> Iterator[str]:
        wanted = wanted or named.node.name in items
        yield from (name for name, part in named.parts if wanted and not part.open)
        for child in named.children:
            yield from under(child, wanted=wanted)

    return tuple(n for node in name_model(model).nodes for n in under(node, wanted=False))


def count_pixels(image: NDArray[np.uint8], colours: dict[str, tuple[str, str]]) -> tuple[Row, ...]:
    """How many pixels each item has, in the sidecar's order, items out of sight with none.

    Raises MassingError for a pixel of any other colour: the mask would be no mask.
    """
    flat = image.reshape(-1, 3).astype(np.int64)
    found, counts = np.unique(flat @ (65536, 256, 1), return_counts=True)
    pixels = {f"#{int(c):06x}": int(n) for c, n in zip(found, counts, strict=True)}
    named = {"#000000": "", **{colour: name for name, colour in colours.values()}}
    strange = sorted(set(pixels) - set(named))
    if strange:
        raise MassingError(f"the mask drawn here holds {', '.join(strange)}, colours of no item")
    return tuple(Row(name, colour, pixels.get(colour, 0)) for colour, name in named.items())


def png(image: NDArray[np.uint8]) -> bytes:
    """PNG bytes of an image, without a date."""
    from PIL import Image

    buffer = io.BytesIO()
    Image.fromarray(image).save(buffer, "PNG", optimize=False)
    return buffer.getvalue()


def write_masks(
    model: Model,
    folder: Path,
    width: int = 1500,
    told: Callable[[str], None] | None = None,
) -> tuple[Path, ...]:
    """Write every camera's folder; return the files. The height follows from the camera.

    told : called with each camera's name when its folder is done
    Raises MissingToolError where nothing can draw, OSError where a folder cannot be made.
    """
    colours = mask_colours(model)
    paint = {part: colour for part, (_, colour) in colours.items()}
    written: list[Path] = []
    for camera in mask_cameras(model):
        size = (width, max(1, round(width / camera.aspect)))
        exact = replace(camera, aspect=size[0] / size[1])
        mask = draw_flat(model, exact, size, paint)
        rows = count_pixels(mask, colours)
        name = ascii_name(camera.name).lower().replace("_", "-")
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        files = {
            f"{name}-mask.png": png(mask),
            f"{name}-shaded.png": png(draw_shaded(model, exact, size)),
            f"{name}-table.json": _json(camera, size, rows),
            f"{name}-table.csv": _csv(rows),
        }
        write_together([(place / called, data) for called, data in files.items()])
        written += [place / called for called in files]
        if told is not None:
            told(camera.name)
    return tuple(written)


def _json(camera: Camera, size: tuple[int, int], rows: tuple[Row, ...]) -> bytes:
    found: dict[str, Any] = {
        "camera": camera.name,
        "eye_mm": list(camera.eye),
        "target_mm": list(camera.target),
        "up": list(camera.up),
        "yfov_rad": camera.yfov,
        "height_mm": camera.height,
        "width_px": size[0],
        "height_px": size[1],
        "items": [
            {"name": row.name or None, "colour": row.colour, "pixels": row.pixels} for row in rows
        ],
    }
    return (json.dumps(found, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _csv(rows: tuple[Row, ...]) -> bytes:
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(["name", "colour", "pixels"])
    table.writerows([row.name or "(nothing)", row.colour, row.pixels] for row in rows)
    return text.getvalue().encode("utf-8")
