"""Every catalogue entry drawn small on one sheet: names in, a PNG out. Loads Pillow."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.checks.words import mm
from massing.handover.looks import look
from massing.handover.pictures.fonts import font
from massing.handover.pictures.paper import DARK, Paper
from massing.handover.pictures.solid_drawing import (
    Drawn,
    Frame,
    Patch,
    Shade,
    draw_solids,
    frame_of,
    rgb,
)
from massing.items.body import build_item
from massing.items.catalog import load_item
from massing.items.shape import ItemShape, ZoneShape
from massing.survey.values import Values

__all__ = ["CELL", "PICTURE", "Cell", "Plan", "contact_sheet", "item_picture", "sheet_plan"]

COLUMNS = 8
CELL, PICTURE = (224, 214), (208, 144)  # pixels
_MARGIN, _TITLE, _HEADING = 44, 96, 44
_BARS = (100.0, 250.0, 500.0, 1000.0, 2000.0)  # mm


@dataclass(frozen=True, slots=True)
class Cell:
    """Where one entry is drawn: its upper left corner, pixels."""

    name: str
    left: int
    top: int


@dataclass(frozen=True, slots=True)
class Plan:
    """The sheet: its size, the group headings with their tops, and a cell an entry."""

    size: tuple[int, int]
    headings: tuple[tuple[str, int], ...]
    cells: tuple[Cell, ...]


def sheet_plan(names: tuple[str, ...]) -> Plan:
    """Entries by group, each group under its heading, in rows of eight.

    >>> plan = sheet_plan(("desk", "washer", "basin"))
    >>> [heading for heading, _ in plan.headings], [cell.name for cell in plan.cells]
    (['laundry', 'sanitary', 'work'], ['washer', 'basin', 'desk'])
    """
    groups: dict[str, list[str]] = {}
    for name in names:
        groups.setdefault(str(load_item(name).group), []).append(name)
    top, headings, cells = _TITLE, [], []
    for group in sorted(groups):
        headings.append((group, top))
        top += _HEADING
        for number, name in enumerate(groups[group]):
            row, column = divmod(number, COLUMNS)
            cells.append(Cell(name, _MARGIN + column * CELL[0], top + row * CELL[1]))
        top += -(-len(groups[group]) // COLUMNS) * CELL[1]
    size = (2 * _MARGIN + COLUMNS * CELL[0], top + _MARGIN)
    return Plan(size, tuple(headings), tuple(cells))


def contact_sheet(names: tuple[str, ...], paper: Paper) -> bytes:
    """A PNG of the entries, each as large as its cell allows, with a bar that says its scale."""
    from PIL import Image, ImageDraw

    plan = sheet_plan(names)
    sheet = Image.new("RGB", plan.size, paper.ground)
    pen = ImageDraw.Draw(sheet)
    pen.text((_MARGIN, 26), "Catalogue", font=font(28, bold=True), fill=paper.ink)
    told = (
        "width x depth x height, mm; each drawn to its own scale; "
        "floor for people plain, for service striped"
    )
    pen.text((_MARGIN + 1, 62), told, font=font(14), fill=paper.quiet)
    for heading, top in plan.headings:
        pen.text((_MARGIN, top + 10), heading, font=font(18, bold=True), fill=paper.ink)
        line = (_MARGIN, top + 36, plan.size[0] - _MARGIN, top + 36)
        pen.line(line, fill=paper.faint)
    for cell in plan.cells:
        _cell(sheet, pen, cell, paper)
    buffer = io.BytesIO()
    sheet.save(buffer, "PNG", optimize=False)
    return buffer.getvalue()


def _cell(sheet: Any, pen: Any, cell: Cell, paper: Paper) -> None:
    from PIL import Image

    spec = load_item(cell.name)
    shape = build_item(spec, Values(), key=cell.name)
    pixels, frame = item_picture(shape, paper)
    sheet.paste(Image.fromarray(pixels), (cell.left, cell.top))
    _bar(pen, cell, frame, paper)
    size = " x ".join(mm(v) for v in shape.high[0])
    weight = "" if spec.weight is None else f"  {spec.weight:g} kg"
    top = cell.top + PICTURE[1] + 14
    pen.text((cell.left, top), _short(pen, cell.name), font=font(14, bold=True), fill=paper.ink)
    pen.text((cell.left, top + 20), size + weight, font=font(12), fill=paper.quiet)


def _short(pen: Any, name: str) -> str:
    """The name as far as the cell is wide."""
    letters = font(14, bold=True)
    while pen.textlength(name, font=letters) > PICTURE[0]:
        name = name.removesuffix("…")[:-1] + "…"
    return name


def _bar(pen: Any, cell: Cell, frame: Frame, paper: Paper) -> None:
    """A length one can count: the longest that is at most a quarter of the picture."""
    fits = [bar for bar in _BARS if bar * frame.scale <= PICTURE[0] / 4.0]
    bar = fits[-1] if fits else _BARS[0]
    left, low = cell.left, cell.top + PICTURE[1] + 6
    right = left + bar * frame.scale
    pen.line((left, low, right, low), fill=paper.quiet)
    for end in (left, right):
        pen.line((end, low - 3, end, low + 1), fill=paper.quiet)
    pen.text((right + 5, low + 1), mm(bar), font=font(10), fill=paper.quiet, anchor="ls")


def item_picture(shape: ItemShape, paper: Paper) -> tuple[NDArray[np.uint8], Frame]:
    """One entry, shut, with its zones flat at its foot, and the frame it is drawn in."""
    stores = bool(shape.spec.stores)
    drawn = [
        Drawn(part.solid, Shade(part.name, rgb(look(part.kind, stores=stores).srgb)))
        for part in shape.parts
    ]
    leaf = rgb(look("door").srgb)
    drawn += [
        Drawn(motion.solid, Shade(f"moving {motion.name}", leaf), before=1.0)
        for motion in shape.motions
        if motion.kind in {"leaf", "flap", "lid", "drawer"}
    ]
    floor = [_patch(zone, paper) for zone in shape.zones]
    cloud = [part.solid.corners[0] for part in shape.parts] + [patch.ring for patch in floor]
    frame = frame_of(np.vstack(cloud), PICTURE, 6.0)
    ink = rgb("#0E0F10" if paper is DARK else paper.ink)
    return draw_solids(drawn, floor, frame, PICTURE, rgb(paper.ground), ink), frame


def _patch(zone: ZoneShape, paper: Paper) -> Patch:
    ring = np.column_stack([zone.polygon[0], np.zeros(len(zone.polygon[0]))])
    service = zone.kind == "service"
    return Patch(ring, rgb(paper.zone["service" if service else "person"]), service)
