"""Dimensions: places and their true sizes in, dimension lines, ticks and figures out.

Lines and figures follow ISO 129-1: thin lines, oblique strokes at the ends, figures along the
line and readable from below or from the right; running dimensions start at a circle. A figure
too wide for its place goes beside it on a leader.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.checks.words import mm
from massing.handover.drawings.board import Board
from massing.handover.drawings.label import Label
from massing.handover.drawings.lettering import width_of
from massing.handover.drawings.sheet import DIM, PROJECT, Box, Point, Words

__all__ = ["Line", "chain", "figure", "running", "spread_out"]

_TICK = 1.1
_OFF = 2.2
"""From a dimension line to the middle of its figures, mm."""
_BESIDE = 2.4
"""Kept free at either end of a level figure, so that no label beside it reads on into it, mm."""


@dataclass(frozen=True, slots=True)
class Line:
    """Where a line of dimensions lies.

    upright : it runs up the sheet; at : its x when upright, else its y
    side : +1 with figures above (or right of) the line, -1 below (or left of) it
    origin, scale : paper position of true position 0, and true mm for one of paper; ``sense``
    is -1 where true positions fall as the paper's rise
    """

    upright: bool
    at: float
    origin: float
    scale: float
    side: float = 1.0
    sense: float = 1.0

    def paper(self, true: float) -> float:
        """Position along the line on the paper."""
        return self.origin + self.sense * true / self.scale

    def point(self, along: float, off: float = 0.0) -> Point:
        """Paper point at a paper position along, and off to the right or up, of the line."""
        return (self.at + off, along) if self.upright else (along, self.at + off)


def figure(true: float) -> str:
    """A size as it is lettered.

    >>> figure(1200.0), figure(-35.04)
    ('1200', '−35')
    """
    return mm(true).replace("-", "−")


def chain(board: Board, line: Line, stops: Sequence[float], within: Box, start: float) -> bool:
    """A chain of dimensions between true stops; extension lines come from paper ``start``.

    A long extension line is broken, so that it does not run through other figures.

    A stop that comes before the one it follows shows as a size below nothing (an overlap).
    Returns False when a figure finds no place.
    """
    ends = [line.paper(stop) for stop in stops]
    low, high = min(ends), max(ends)
    board.line([line.point(low), line.point(high)], DIM)
    for end in ends:
        _extension(board, line, end, start)
        _tick(board, line, end)
    done, held = True, len(board.lettering)
    for first, last, a, b in zip(stops, stops[1:], ends, ends[1:], strict=False):
        if abs(last - first) >= 0.05:
            done &= _figure(board, line, figure(last - first), (min(a, b), max(a, b)), within)
    if not line.upright:
        for x0, y0, x1, y1 in board.lettering[held:]:
            board.keep((x0 - _BESIDE, y0, x1 + _BESIDE, y1))
    return done


def _figure(board: Board, line: Line, text: str, ends: tuple[float, float], within: Box) -> bool:
    middle = (ends[0] + ends[1]) / 2.0
    words = Words(line.point(middle, line.side * _OFF), text, upright=line.upright, halo=True)
    if words.width + 1.6 <= ends[1] - ends[0] and board.free(words.box, 0.3):
        board.words(words)
        return True
    anchor = line.point(middle)
    return board.place(Label((text,), anchor, near=0.9), within)


def _extension(board: Board, line: Line, along: float, start: float) -> None:
    way = 1.0 if line.at > start else -1.0
    far = (line.at - start) * way
    first, last = start + way * 1.0 - line.at, way * 1.2
    if far > 16.0:
        near = first + way * 2.2
        board.line([line.point(along, first), line.point(along, near)], DIM)
        first = -way * min(3.0, far)
    if far > 1.2:
        board.line([line.point(along, first), line.point(along, last)], DIM)


def _tick(board: Board, line: Line, along: float) -> None:
    x, y = line.point(along)
    board.line([(x - _TICK, y - _TICK), (x + _TICK, y + _TICK)], DIM)


def running(board: Board, line: Line, stops: Sequence[tuple[float, float]], limit: Box) -> bool:
    """Running dimensions from true position 0: (true, paper start of its extension line) each.

    Figures stand square to the line on its ``side``, pushed apart where they are close; False,
    and nothing drawn, when they do not fit within the limit.
    """
    held: dict[float, float] = {}
    for true, start in stops:
        key = round(true, 1) + 0.0
        kept = held.get(key, start)
        held[key] = max(kept, start) if line.side < 0 else min(kept, start)
    trues = sorted(held, key=line.paper)
    if not trues:
        return True
    ends = [line.paper(true) for true in trues]
    low, high = (limit[1], limit[3]) if line.upright else (limit[0], limit[2])
    places = spread_out([0.0 + end for end in ends], 4.0, low + 2.2, high - 2.2)
    if places is None:
        return False
    zero, done = line.paper(0.0), True
    (x0, y0), (x1, y1) = (
        line.point(min(zero, *ends), line.side * 14.0),
        line.point(max(zero, *ends)),
    )
    board.shade((min(x0, x1) - 1, min(y0, y1) - 1, max(x0, x1) + 1, max(y0, y1) + 1), 0.6)
    board.line([line.point(min(zero, *ends)), line.point(max(zero, *ends))], DIM)
    board.disc(line.point(zero), 1.0, DIM, "#FFFFFF")
    for true, end, place in zip(trues, ends, places, strict=True):
        board.line([line.point(end, held[true] - line.at), line.point(end)], PROJECT)
        _arrow(board, line, end, zero)
        bend = [
            line.point(end),
            line.point(end, line.side * 1.2),
            line.point(place, line.side * 3.4),
        ]
        board.line(bend, DIM)
        wide = width_of(figure(true), 2.5)
        off = line.side * (4.2 + wide / 2.0)
        words = Words(line.point(place, off), figure(true), upright=not line.upright, halo=True)
        if board.free(words.box, 0.1):
            board.words(words)
        else:
            done &= board.place(Label((words.text,), line.point(end), near=1.5), limit)
    return done


def _arrow(board: Board, line: Line, along: float, zero: float) -> None:
    if abs(along - zero) < 2.0:
        return
    back = 1.8 if along < zero else -1.8
    ring = [line.point(along), line.point(along + back, 0.45), line.point(along + back, -0.45)]
    board.area(ring, DIM, "#000000")


def spread_out(places: list[float], apart: float, low: float, high: float) -> list[float] | None:
    """Sorted places moved as little as need be to stand apart within limits; None if too many.

    Least squares under order, by pooling neighbours.

    >>> spread_out([0.0, 1.0, 20.0], 4.0, -10.0, 30.0)
    [-1.5, 2.5, 20.0]
    """
    count = len(places)
    if (count - 1) * apart > high - low:
        return None
    # With the spacing taken out, keeping apart is keeping in order.
    blocks: list[tuple[float, int]] = []
    for k, place in enumerate(places):
        mean, size = place - k * apart, 1
        while blocks and blocks[-1][0] > mean:
            other, many = blocks.pop()
            mean = (mean * size + other * many) / (size + many)
            size += many
        blocks.append((mean, size))
    flat = [mean for mean, size in blocks for _ in range(size)]
    slack = np.clip(flat, low, high - (count - 1) * apart)
    return [float(s) + k * apart for k, s in enumerate(slack)]
