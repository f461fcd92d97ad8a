"""Plans of where a thing can stand on the floor: maps by turn in, a PNG with them added out.

Loads Pillow.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import numpy as np

from massing.geometry.outline import outline_of
from massing.scheme.layout import Layout
from massing.voids.regions import polygons_of
from massing.voids.where_free import FloorMap
from massing.voids.where_picture import Font, Tones, mixed

__all__ = ["with_floor_maps"]

_ACROSS = 2  # plans side by side
_EDGE = 60  # pixels round a plan
_HEAD = 74  # pixels over it


def with_floor_maps(
    sheet: bytes, layout: Layout, maps: Sequence[FloorMap], tones: Tones, font: Font
) -> bytes:
    """Add one plan a turn under a picture.

    sheet : PNG; layout : without the thing
    """
    from PIL import Image

    top = Image.open(io.BytesIO(sheet)).convert("RGB")
    plans = [_plan(layout, found, top.width // _ACROSS, tones, font) for found in maps]
    rows = -(-len(plans) // _ACROSS)
    tall = max(plan.height for plan in plans)
    whole = Image.new("RGB", (top.width, top.height + rows * tall), tones.ground)
    whole.paste(top, (0, 0))
    for number, plan in enumerate(plans):
        place = (number % _ACROSS * plan.width, top.height + number // _ACROSS * tall)
        whole.paste(plan, place)
    store = io.BytesIO()
    whole.save(store, "PNG")
    return store.getvalue()


def _plan(layout: Layout, found: FloorMap, wide: int, tones: Tones, font: Font) -> Any:
    """One turn: where the middle of its body may be, where nothing is in conflict, and where to."""
    from PIL import Image, ImageDraw

    outline = layout.room.outline[0]
    low, high = outline.min(axis=0), outline.max(axis=0)
    scale = (wide - 2 * _EDGE) / float(high[0] - low[0])
    tall = round(float(high[1] - low[1]) * scale)

    def at(points: Any) -> list[tuple[float, float]]:
        spots = (np.asarray(points)[:, :2] - low) * scale
        return [(_EDGE + float(x), _HEAD + tall - float(y)) for x, y in spots]

    sheet = Image.new("RGB", (wide, _HEAD + tall + _EDGE // 2), tones.ground)
    pen = ImageDraw.Draw(sheet)
    pen.polygon(at(outline), fill=tones.floor)
    for region, share in ((found.body, 0.25), (found.clear, 0.8)):
        for piece in polygons_of(region):
            pen.polygon(at(piece.exterior.coords), fill=mixed(tones, share))
            for hole in piece.interiors:
                pen.polygon(at(hole.coords), fill=mixed(tones, 0.25 if share > 0.5 else 0.0))
    for item in layout.items:
        for part in item.parts:
            pen.line(at([*outline_of(part.solid)[0], outline_of(part.solid)[0][0]]), tones.ink, 2)
    pen.line(at([*outline, outline[0]]), fill=tones.ink, width=3, joint="curve")
    if found.spot is not None:
        _spot(pen, found, at, scale, tones)
    _words(pen, found, tones, font)
    return sheet


def _spot(pen: Any, found: FloorMap, at: Any, scale: float, tones: Tones) -> None:
    """The thing at its roomiest place, its front in bold, with the circle its middle can be in."""
    ((x, y),) = at([found.spot])
    ring = found.foot + np.array(found.spot)
    pen.polygon(at(ring), outline=tones.free, width=4)
    pen.line(at(ring[:2]), fill=tones.free, width=9)
    far = found.slack * scale
    pen.ellipse([x - far, y - far, x + far, y + far], outline=tones.ink, width=2)
    pen.ellipse([x - 5, y - 5, x + 5, y + 5], fill=tones.ink)


def _words(pen: Any, found: FloorMap, tones: Tones, font: Font) -> None:
    looks = f"front to the {found.facing} wall" if found.facing else f"turned {found.turn:g}°"
    pen.text((_EDGE, 14), looks, font=font(20), fill=tones.ink)
    says = (
        f"its middle: {found.body.area / 1e6:.2f} m² for its body, "
        f"{found.clear.area / 1e6:.2f} m² clear of all"
    )
    pen.text((_EDGE, 38), says, font=font(13), fill=tones.quiet)
    if found.spot is not None:
        play = f"roomiest where drawn: {found.slack:.0f} of play round the dot"
        pen.text((_EDGE, 55), play, font=font(13), fill=tones.quiet)
