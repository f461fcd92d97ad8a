"""Every way to put boxes into a box: pieces and a box of whole sizes in, a packing or a proof out.

The cell looked at is always the first empty one, so each packing is met once: a piece has its
least corner there, or the cell stays empty for good. Cells lie between lines; with a line at every
whole number, or at every sum of sides that a row of pieces can have, the search is complete, since
pieces can be pushed towards the corner until they lie on such sums (the normal patterns of
N. Christofides and C. Whitlock, Operations Research 25, 1977; from memory). When it ends without a
packing there is then none that is square to the box.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations, product
from typing import TypeAlias

__all__ = ["Budget", "Cells", "Packing", "Piece", "packings", "sums"]

Cells: TypeAlias = tuple[int, int, int]
Packing: TypeAlias = tuple[tuple[int, Cells, Cells], ...]
Lines: TypeAlias = tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Piece:
    """A box of whole sizes and how many there are; a plan rectangle has height 1.

    turns : whether it may be turned to any face; flat : only in plan
    """

    size: Cells
    count: int = 1
    turns: bool = True
    flat: bool = False

    @property
    def ways(self) -> tuple[Cells, ...]:
        """The sizes it can take."""
        a, b, c = self.size
        if not self.turns:
            return (self.size,)
        every = [(p[0], p[1], p[2]) for p in permutations((a, b, c))]
        found = {(a, b, c), (b, a, c)} if self.flat else set(every)
        return tuple(sorted(found, reverse=True))

    @property
    def volume(self) -> int:
        """Of one."""
        return self.size[0] * self.size[1] * self.size[2]


@dataclass(slots=True)
class Budget:
    """How many placings may be looked at; ``ran_out`` is set where that ended a search early."""

    nodes: int
    ran_out: bool = False


def sums(sides: Sequence[int], far: int) -> tuple[int, ...]:
    """Every sum of sides up to far, nothing included, rising.

    >>> sums((6, 4), 15)
    (0, 4, 6, 8, 10, 12, 14)
    """
    found = {0}
    for side in set(sides):
        found |= {at for least in found for at in range(least, far + 1, side)}
    return tuple(sorted(found))


def packings(
    pieces: Sequence[Piece],
    box: Cells,
    *,
    all_of: bool = True,
    lines: Lines | None = None,
    budget: Budget | None = None,
) -> Iterator[Packing]:
    """Every packing: for each piece placed its number in ``pieces``, its corner and its size.

    all_of : every piece must be used; otherwise as many as go, and only packings to which the
        order of looking adds nothing are met
    lines : where corners may lie along each side, from 0 to its end; every whole number when None
    budget : much empty space can take for ever; where it runs out nothing more is said, and an
        end without a packing is no proof

    >>> tiles = [Piece((3, 2, 1), 2, flat=True)]
    >>> next(packings(tiles, (3, 4, 1)))
    ((0, (0, 0, 0), (3, 2, 1)), (0, (0, 2, 0), (3, 2, 1)))
    """
    volume = box[0] * box[1] * box[2]
    need = sum(piece.volume * piece.count for piece in pieces)
    if all_of and need > volume:
        return
    grid = _Grid(lines or (_whole(box[0]), _whole(box[1]), _whole(box[2])))
    spare = volume - need if all_of else volume
    yield from _fill(pieces, grid, spare, all_of=all_of, budget=budget or Budget(1 << 62))


def _whole(far: int) -> tuple[int, ...]:
    return tuple(range(far + 1))


class _Grid:
    """Cells between lines, numbered west to east, then north, then up.

    corners, volumes : of each cell
    """

    def __init__(self, lines: Lines) -> None:
        self.numbers = [{at: n for n, at in enumerate(line)} for line in lines]
        self.cells = tuple(len(line) - 1 for line in lines)
        widths = [[b - a for a, b in pairwise(line)] for line in lines]
        order = [product(*reversed(rows)) for rows in ([line[:-1] for line in lines], widths)]
        self.corners = [(x, y, z) for z, y, x in order[0]]
        self.volumes = [x * y * z for z, y, x in order[1]]
        self._masks: dict[tuple[Cells, int], int] = {}

    def mask(self, size: Cells, cell: int) -> int:
        """The cells a piece covers whose least corner is that of a cell; 0 where it cannot be."""
        key = (size, cell)
        known = self._masks.get(key)
        if known is None:
            known = self._masks[key] = self._covered(size, cell)
        return known

    def _covered(self, size: Cells, cell: int) -> int:
        ends = [
            numbers.get(at + side)
            for numbers, at, side in zip(self.numbers, self.corners[cell], size, strict=True)
        ]
        wide, deep, _ = self.cells
        first = (cell % wide, cell // wide % deep, cell // (wide * deep))
        mask = 0
        if ends[0] is None or ends[1] is None or ends[2] is None:
            return mask
        row = (1 << ends[0]) - (1 << first[0])
        for z in range(first[2], ends[2]):
            for y in range(first[1], ends[1]):
                mask |= row << wide * (y + deep * z)
        return mask


def _fill(
    pieces: Sequence[Piece], grid: _Grid, spare: int, *, all_of: bool, budget: Budget
) -> Iterator[Packing]:
    left = [piece.count for piece in pieces]
    ways = [piece.ways for piece in pieces]
    placed: list[tuple[int, Cells, Cells]] = []
    full = (1 << len(grid.corners)) - 1

    def go(taken: int, empty: int) -> Iterator[Packing]:
        while empty >= 0:
            if budget.nodes <= 0:
                budget.ran_out = True
                return
            budget.nodes -= 1
            free = ~taken & full
            if not any(left) or not free:
                if not all_of or not any(left):
                    yield tuple(placed)
                return
            cell = (free & -free).bit_length() - 1
            for number, way in _choices(left, ways):
                mask = grid.mask(way, cell)
                if not mask or taken & mask:
                    continue
                left[number] -= 1
                placed.append((number, grid.corners[cell], way))
                yield from go(taken | mask, empty)
                placed.pop()
                left[number] += 1
            # Nothing has its corner here: the cell stays empty for good.
            taken |= 1 << cell
            empty -= grid.volumes[cell]

    yield from go(0, spare)


def _choices(left: Sequence[int], ways: Sequence[Sequence[Cells]]) -> Iterator[tuple[int, Cells]]:
    """Each piece that is left, each way it can lie."""
    for number, count in enumerate(left):
        if count:
            for way in ways[number]:
                yield number, way
