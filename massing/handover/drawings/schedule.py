"""The setting-out schedule: an answer in; each item's size, place and heights as a table out."""

from __future__ import annotations

from massing.checks.run import Answer
from massing.checks.words import mm
from massing.handover.drawings.board import Board
from massing.handover.drawings.border import line_at
from massing.handover.drawings.dimensions import figure
from massing.handover.drawings.facts import datum_of, floors_of, size_words
from massing.handover.drawings.lettering import width_of, wrapped
from massing.handover.drawings.sheet import DIM, SEEN, Box, Words
from massing.scheme.layout import Placed

__all__ = ["HEADS", "draw_table", "rows_of", "table_height"]

HEADS = (
    ("no.", 9.0),
    ("item", 0.0),
    ("W × D × H", 42.0),
    ("from datum x, y", 34.0),
    ("turned", 15.0),
    ("base AFL", 17.0),
    ("top AFL", 17.0),
    ("on", 30.0),
    ("kg", 13.0),
)
"""Columns and their widths, mm; the item's takes what is left."""
_ROW = 4.4
_HEIGHT = 2.2
_ITEM = 34.0


def rows_of(answer: Answer) -> tuple[tuple[str, ...], ...]:
    """A row an item, in the order of the file. AFL is above the highest floor under it."""
    return tuple(_row(answer, k, item) for k, item in enumerate(answer.layout.items, 1))


def _row(answer: Answer, number: int, item: Placed) -> tuple[str, ...]:
    room = answer.layout.room
    datum = datum_of(room)
    floor = floors_of(room, item)[0]
    x, y = item.low[0, :2] - datum
    turn = round(float(item.yaw[0]) * 57.29577951308232 % 360.0, 1) % 360.0
    return (
        str(number),
        item.name,
        size_words(item),
        f"{figure(x)}, {figure(y)}",
        f"{mm(turn)}°",
        mm(float(item.low[0, 2]) - floor),
        mm(float(item.high[0, 2]) - floor),
        item.footing,
        "" if item.spec.weight is None else mm(item.spec.weight),
    )


def draw_table(board: Board, box: Box, rows: tuple[tuple[str, ...], ...]) -> tuple[int, float]:
    """Draw as many rows as fit; returns how many, and the y under the last."""
    left, bottom, right, top = box
    widths = _widths(right - left)
    y = top
    y = _line(board, left, widths, y, [name for name, _ in HEADS], bold=True)
    board.line([(left, y), (left + sum(widths), y)], SEEN)
    for done, row in enumerate(rows):
        tall = _tall(row, widths)
        if y - tall < bottom:
            return done, y
        y = _line(board, left, widths, y, list(row))
        board.line([(left, y), (left + sum(widths), y)], DIM)
    return len(rows), y


def table_height(width: float, rows: tuple[tuple[str, ...], ...]) -> float:
    """Height of the whole table with its heads at a width, mm."""
    widths = _widths(width)
    return _ROW + sum(_tall(row, widths) for row in rows)


def _widths(width: float) -> list[float]:
    fixed = sum(wide for _, wide in HEADS)
    squeeze = min(1.0, (width - _ITEM) / fixed)
    return [wide * squeeze if wide else max(_ITEM, width - fixed) for _, wide in HEADS]


def _tall(row: tuple[str, ...], widths: list[float]) -> float:
    return max(len(_fit(text, wide)) for text, wide in zip(row, widths, strict=True)) * _ROW


def _fit(text: str, wide: float) -> list[str]:
    return wrapped(text, _HEIGHT, wide - 2.0) or [""]


def _line(
    board: Board,
    left: float,
    widths: list[float],
    top: float,
    row: list[str],
    *,
    bold: bool = False,
) -> float:
    most = 1
    for text, wide in zip(row, widths, strict=True):
        height = _HEIGHT
        while bold and width_of(text, height, bold=True) > wide - 1.5:
            height -= 0.1
        lines = [text] if bold else _fit(text, wide)
        most = max(most, len(lines))
        for k, line in enumerate(lines):
            if line:
                words = Words((0, 0), line, height, bold)
                line_at(board, left + 0.8, top - _ROW * (k + 0.5), words)
        left += wide
    return top - most * _ROW
