"""A plan of where a thing can stand: maps of walls and a layout in, PNG bytes out. Loads Pillow."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats
from massing.scheme.layout import Layout, Leaf, Placed
from massing.voids.where import WallMap

__all__ = ["Font", "Tones", "mixed", "where_png"]

_MARGIN = 170  # pixels round the plan
_HEAD = 96  # pixels for the title
_FOOT = 70  # pixels for the key
_CLEAR = 30  # pixels between a leaf swung out and what is written

Font = Callable[[int], Any]


@dataclass(frozen=True, slots=True)
class Tones:
    """Colours as #RRGGBB."""

    ground: str
    floor: str
    wall: str
    ink: str
    faint: str
    quiet: str
    body: str
    kept: str
    free: str
    shut: str


def where_png(
    layout: Layout, maps: Sequence[WallMap], title: str, tones: Tones, font: Font
) -> bytes:
    """Draw the plan: along each wall the floor a thing may take, and the play of its left end.

    layout : without the thing; title : what is asked, in words; font : a size in, a font out
    """
    from PIL import Image, ImageDraw

    outline = layout.room.outline[0]
    low, high = outline.min(axis=0), outline.max(axis=0)
    scale = min(1300.0 / float(high[0] - low[0]), 900.0 / float(high[1] - low[1]))
    wide, tall = ((high - low) * scale).round().astype(int).tolist()
    over, under = (
        max(0, round(out * scale) + _CLEAR - _MARGIN)
        for out in (_swung(layout, 1.0) - float(high[1]), _swung(layout, -1.0) + float(low[1]))
    )
    size = (wide + 2 * _MARGIN, tall + 2 * _MARGIN + _HEAD + _FOOT + over + under)

    def at(points: Floats) -> list[tuple[float, float]]:
        spots = (np.asarray(points) - low) * scale
        return [(_MARGIN + float(x), _HEAD + over + _MARGIN + tall - float(y)) for x, y in spots]

    sheet = Image.new("RGB", size, tones.ground)
    pen = ImageDraw.Draw(sheet)
    pen.polygon(at(outline), fill=tones.floor)
    for found in maps:
        for piece in found.stretches:
            pen.polygon(at(_band(found, piece.start, piece.stop)), fill=mixed(tones, 0.35))
    _things(pen, layout, at, tones, font)
    pen.line([*at(outline), at(outline)[0]], fill=tones.ink, width=3, joint="curve")
    _doors(pen, layout, at, tones)
    for found in maps:
        _bar(pen, found, at, tones, font, scale)
    _title(pen, layout, title, size, tones, font)
    store = io.BytesIO()
    sheet.save(store, "PNG")
    return store.getvalue()


def mixed(tones: Tones, share: float) -> str:
    """The free tone laid thinly over the floor's."""

    def parts(colour: str) -> list[int]:
        return [int(colour[k : k + 2], 16) for k in (1, 3, 5)]

    pairs = zip(parts(tones.free), parts(tones.floor), strict=True)
    return "#" + "".join(f"{round(a * share + b * (1 - share)):02X}" for a, b in pairs)


def _on(found: WallMap, along: float, inward: float) -> Floats:
    point = np.array(found.left) + along * np.array(found.along)
    return np.asarray(point + inward * np.array(found.inward))


def _band(found: WallMap, start: float, stop: float) -> Floats:
    """All the floor the thing takes as its left end goes from start to stop."""
    end = stop + found.width
    return np.array(
        [
            _on(found, start, 0),
            _on(found, end, 0),
            _on(found, end, found.depth),
            _on(found, start, found.depth),
        ]
    )


def _things(pen: Any, layout: Layout, at: Any, tones: Tones, font: Font) -> None:
    """Standing things filled, then what hangs as an outline, so that it hides nothing."""
    for item in sorted(layout.items, key=lambda i: (float(i.high[0, 2]), i.name)):
        fill = None if _hangs(item) else tones.kept if item.stays else tones.body
        for part in item.parts:
            pen.polygon(at(outline_of(part.solid)[0]), fill=fill, outline=tones.ink, width=2)
    for fabric in layout.room.fabric:
        for solid in fabric.parts:
            pen.polygon(at(outline_of(solid)[0]), fill=tones.wall, outline=tones.ink)
    for item in layout.items:
        if layout.bottom_of(item.name) != item.name:
            continue
        (spot,) = at((item.low[:1, :2] + item.high[:1, :2]) / 2.0)
        ink, rim = (tones.ink, tones.floor) if _hangs(item) else (tones.ground, tones.ink)
        # The names of a stack stand over one another as its things do: none hides another.
        stack = layout.stack_from(item.name)
        tiers = sorted((i for i in layout.items if i.name in stack), key=lambda i: -i.low[0, 2])
        pen.multiline_text(
            spot,
            "\n".join(tier.name for tier in tiers),
            font=font(16),
            fill=ink,
            anchor="mm",
            align="center",
            stroke_width=2,
            stroke_fill=rim,
        )


def _hangs(item: Placed) -> bool:
    return item.footing in {"wall", "ceiling"}


def _arc(leaf: Leaf) -> Floats:
    """(40, 2) the way of a leaf's free edge."""
    turn = np.linspace(0.0, leaf.full, 40) * leaf.swing
    way = leaf.shut[0]
    left = np.array([-way[1], way[0]])
    ways = np.cos(turn)[:, None] * way + np.sin(turn)[:, None] * left
    return np.asarray(leaf.pin[0] + ways * float(leaf.width[0]))


def _swung(layout: Layout, sign: float) -> float:
    """How far north (1) or south (-1) any leaf swings, mm; minus infinity without one."""
    return max((float((sign * _arc(leaf)[:, 1]).max()) for leaf in layout.leaves), default=-1e9)


def _doors(pen: Any, layout: Layout, at: Any, tones: Tones) -> None:
    for leaf in layout.leaves:
        arc = _arc(leaf)
        pen.line(at(arc), fill=tones.faint, width=2)
        pen.line(at(np.array([leaf.pin[0], arc[-1]])), fill=tones.faint, width=2)
    for opening in layout.room.openings:
        wall = layout.room.wall(opening.wall)
        ends = [wall.point(opening.left + d, np.zeros(1))[0] for d in (0.0, opening.width)]
        pen.line(at(np.array(ends)), fill=tones.ground, width=7)
        pen.line(at(np.array(ends)), fill=tones.quiet, width=2)


def _bar(pen: Any, found: WallMap, at: Any, tones: Tones, font: Font, scale: float) -> None:
    """A scale beside the wall: where the left end may be, with the figures."""
    off = -22.0 / scale
    ends = np.array([_on(found, 0, off), _on(found, found.length, off)])
    pen.line(at(ends), fill=tones.shut, width=3)
    last = -1e9
    for piece in found.stretches:
        pen.line(
            at(np.array([_on(found, piece.start, off), _on(found, piece.stop, off)])),
            fill=tones.free,
            width=9,
        )
        for value in dict.fromkeys((piece.start, piece.stop)):
            (spot,) = at(_on(found, value, off)[None])
            pen.ellipse([spot[0] - 5, spot[1] - 5, spot[0] + 5, spot[1] + 5], fill=tones.free)
            if (value - last) * scale >= 44:
                (text,) = at(_on(found, value, off - 24.0 / scale)[None])
                pen.text(text, f"{value:.0f}", font=font(15), fill=tones.ink, anchor="mm")
                last = value
    side = abs(found.inward[0]) > 0.7
    (name,) = at(_on(found, found.length / 2.0, off - (14.0 if side else 52.0) / scale)[None])
    anchor = ("rm" if found.inward[0] > 0 else "lm") if side else "mm"
    says = found.wall if found.stretches else f"{found.wall}: nowhere"
    pen.text(name, says, font=font(17), fill=tones.quiet, anchor=anchor)


def _title(
    pen: Any, layout: Layout, title: str, size: tuple[int, int], tones: Tones, font: Font
) -> None:
    pen.text((36, 22), title, font=font(26), fill=tones.ink)
    pen.text((37, 60), layout.name, font=font(17), fill=tones.quiet)
    key: Iterable[tuple[str, str]] = (
        (tones.free, "may stand: its left end, mm from the wall's left end as you face it"),
        (tones.shut, "in conflict"),
    )
    left = 40
    for colour, words in key:
        top = size[1] - 42
        pen.rectangle([left, top, left + 22, top + 14], fill=colour)
        pen.text((left + 32, top + 7), words, font=font(15), fill=tones.quiet, anchor="lm")
        left += 60 + int(pen.textlength(words, font=font(15)))
