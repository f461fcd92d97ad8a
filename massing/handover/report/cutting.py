"""How many lengths and sheets must be bought? Pieces to cut in; how many, and the waste, out.

Pieces are packed longest first into the first place that takes them, as a careful builder does by
hand; a cleverer packing may save a piece now and then.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["Bought", "lengths_to_buy", "sheets_to_buy"]

KERF = 4.0
"""mm lost to each cut (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Bought:
    """What one stock size comes to.

    size : mm, of a length (its own) or a sheet (width, length); waste : share not used, 0..1
    """

    size: tuple[float, ...]
    count: int
    waste: float


def lengths_to_buy(pieces: Iterable[float], stock: Sequence[float]) -> tuple[Bought, ...]:
    """For each stock length that takes the longest piece, how many, the least waste first.

    >>> [(b.size, b.count) for b in lengths_to_buy([1100, 1100, 900], (2400, 3300))]
    [((3300,), 1), ((2400,), 2)]
    """
    wanted = sorted(pieces, reverse=True)
    found = []
    for size in stock:
        if not wanted or wanted[0] > size:
            continue
        left: list[float] = []
        for piece in wanted:
            for k, rest in enumerate(left):
                if piece <= rest:
                    left[k] = rest - piece - KERF
                    break
            else:
                left.append(size - piece - KERF)
        used = math.fsum(wanted)
        found.append(Bought((size,), len(left), 1.0 - used / (len(left) * size)))
    return tuple(sorted(found, key=lambda b: (b.waste, b.size)))


def sheets_to_buy(
    pieces: Iterable[tuple[float, float]], stock: Sequence[tuple[float, float]], area: float
) -> tuple[Bought, ...]:
    """For each sheet size, how many, the least waste first.

    pieces : width along the wall and height, mm, none wider than a sheet; one taller than a sheet
        gets a level joint; area : mm², what is covered in the end

    >>> [(b.size, b.count) for b in sheets_to_buy([(1200, 2300), (500, 2300)], [(1200, 2400)], 1.0)]
    [((1200, 2400), 2)]
    """
    rows = list(pieces)
    found = []
    for width, length in stock:
        cut = [piece for w, h in rows for piece in _within(w, h, length)]
        count = _packed(cut, width, length)
        if count:
            found.append(Bought((width, length), count, 1.0 - area / (count * width * length)))
    return tuple(sorted(found, key=lambda b: (b.waste, b.size)))


def _within(width: float, height: float, length: float) -> list[tuple[float, float]]:
    """A piece as pieces no taller than a sheet is long."""
    whole, rest = divmod(height, length)
    cut = [(width, length)] * int(whole)
    return [*cut, (width, rest)] if rest > 1.0 else cut


def _packed(pieces: list[tuple[float, float]], width: float, length: float) -> int:
    """Sheets used: pieces side by side on rows across a sheet, tallest first."""
    sheets: list[list[list[float]]] = []  # a sheet is rows of [height, width left]
    for w, h in sorted(pieces, key=lambda p: (-p[1], -p[0])):
        if not _placed(sheets, w, h, width, length):
            sheets.append([[h, width - w - KERF]])
    return len(sheets)


def _placed(
    sheets: list[list[list[float]]], w: float, h: float, width: float, length: float
) -> bool:
    for rows in sheets:
        for row in rows:
            if h <= row[0] and w <= row[1]:
                row[1] -= w + KERF
                return True
        if math.fsum(row[0] + KERF for row in rows) + h <= length:
            rows.append([h, width - w - KERF])
            return True
    return False
