"""Every way to put boxes into a box, on a grid: pieces and a box in, a packing or a proof out.

The cell looked at is always the first empty one, so each packing is met once: a piece has its
least corner there, or the cell stays empty for good. The search is complete: when it ends without
a packing there is none with corners on the grid, and for whole sizes there is then none at all
that is square to the box, since pieces can be pushed to the corner until they lie on whole sums.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations, product
from typing import TypeAlias

__all__ = ["Best", "Budget", "Piece", "balance_bound", "best_value", "most", "packings"]

Cells: TypeAlias = tuple[int, int, int]


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


@dataclass(slots=True)
class Budget:
    """How many placings may be looked at; ``ran_out`` is set where that ended a search early."""

    nodes: int
    ran_out: bool = False


Packing: TypeAlias = tuple[tuple[int, Cells, Cells], ...]


def packings(
    pieces: Sequence[Piece], box: Cells, *, all_of: bool = True, budget: Budget | None = None
) -> Iterator[Packing]:
    """Every packing: for each piece placed its number in ``pieces``, its corner and its size.

    all_of : every piece must be used; otherwise as many as go, and only packings to which the
        order of looking adds nothing are met
    budget : much empty space can take for ever; where it runs out nothing more is said, and an
        end without a packing is no proof

    >>> tiles = [Piece((3, 2, 1), 2, flat=True)]
    >>> next(packings(tiles, (3, 4, 1)))
    ((0, (0, 0, 0), (3, 2, 1)), (0, (0, 2, 0), (3, 2, 1)))
    """
    volume = box[0] * box[1] * box[2]
    need = sum(_cells(p.size) * p.count for p in pieces)
    if all_of and need > volume:
        return
    spare = volume - need if all_of else volume
    yield from _fill(pieces, box, spare, all_of=all_of, budget=budget or Budget(1 << 62))


def _cells(size: Cells) -> int:
    return size[0] * size[1] * size[2]


def _fill(  # noqa: C901
    pieces: Sequence[Piece], box: Cells, spare: int, *, all_of: bool, budget: Budget
) -> Iterator[Packing]:
    wide, deep, tall = box
    volume = wide * deep * tall
    left = [piece.count for piece in pieces]
    shapes = [
        [(way, _mask(way, box)) for way in piece.ways if all(a <= b for a, b in zip(way, box))]  # noqa: B905
        for piece in pieces
    ]
    placed: list[tuple[int, Cells, Cells]] = []
    full = (1 << volume) - 1

    def go(taken: int, empty: int) -> Iterator[Packing]:  # noqa: C901
        if budget.nodes <= 0:
            budget.ran_out = True
            return
        budget.nodes -= 1
        if not any(left):
            yield tuple(placed)
            return
        free = ~taken & full
        if not free:
            if not all_of:
                yield tuple(placed)
            return
        cell = (free & -free).bit_length() - 1
        x, y, z = cell % wide, cell // wide % deep, cell // (wide * deep)
        for number, count in enumerate(left):
            if count == 0:
                continue
            for way, mask in shapes[number]:
                if x + way[0] > wide or y + way[1] > deep or z + way[2] > tall:
                    continue
                if taken & (mask << cell):
                    continue
                left[number] -= 1
                placed.append((number, (x, y, z), way))
                yield from go(taken | (mask << cell), empty)
                placed.pop()
                left[number] += 1
        if empty > 0:
            yield from go(taken | (1 << cell), empty - 1)

    yield from go(0, spare)


def _mask(size: Cells, box: Cells) -> int:
    mask = 0
    for x, y, z in product(*(range(n) for n in size)):
        mask |= 1 << (x + box[0] * (y + box[1] * z))
    return mask


def most(piece: Piece, box: Cells) -> int:
    """The most of one piece that go into a box, by trying every number from the volume down.

    >>> most(Piece((3, 2, 1), flat=True), (5, 5, 1))
    4
    """
    count = _cells(box) // _cells(piece.size)
    while count > 0:
        one = Piece(piece.size, count, piece.turns, piece.flat)
        if next(packings([one], box), None) is not None:
            return count
        count -= 1
    return 0


@dataclass(frozen=True, slots=True)
class Best:
    """The most that pieces put into a box are worth.

    packing : one that is worth so much; bound : what none is worth more than, the value itself
        where it is proved
    """

    value: int
    packing: Packing
    bound: int


def best_value(
    pieces: Sequence[Piece], values: Sequence[int], box: Cells, nodes: int = 200_000
) -> Best:
    """The best choice of pieces that go into a box, no more of each than there are.

    Choices are tried from the most worth down, so the first that goes in is the best. nodes : how
    many placings are looked at for each choice; what is given up so keeps the bound up.

    >>> best_value([Piece((2, 2, 1)), Piece((3, 1, 1))], [5, 2], (3, 3, 1)).value
    7
    """
    bound = 0
    for value, counts in _choices(pieces, values, _cells(box)):
        chosen = [k for k, count in enumerate(counts) if count]
        some = [Piece(pieces[k].size, counts[k], pieces[k].turns, pieces[k].flat) for k in chosen]
        some_first = sorted(zip(chosen, some, strict=True), key=lambda one: -_cells(one[1].size))
        budget = Budget(nodes)
        order = [piece for _, piece in some_first]
        found = next(packings(order, box, budget=budget), None)
        if found is not None:
            named = tuple((some_first[n][0], corner, size) for n, corner, size in found)
            return Best(value, named, max(bound, value))
        if budget.ran_out:
            bound = max(bound, value)
    return Best(0, (), bound)


def _choices(
    pieces: Sequence[Piece], values: Sequence[int], volume: int
) -> list[tuple[int, tuple[int, ...]]]:
    """Every choice whose volume goes into the box, the most worth first, then the smallest."""
    choices: list[tuple[int, int, tuple[int, ...]]] = [(0, 0, ())]
    for piece, value in zip(pieces, values, strict=True):
        size = _cells(piece.size)
        choices = [
            (worth + count * value, taken + count * size, (*counts, count))
            for worth, taken, counts in choices
            for count in range(piece.count + 1)
            if taken + count * size <= volume
        ]
    ranked = sorted(choices, key=lambda one: (-one[0], one[1], one[2]))
    return [(worth, counts) for worth, _, counts in ranked]


def balance_bound(size: Cells, box: Cells, block: int) -> int | None:
    """An upper bound on how many pieces go in, by colouring cubes of cells by turns.

    Cells are coloured in cubes of ``block`` by turns, two colours. Where every place a piece can
    lie in covers as many of one colour as of the other, which is looked at place by place, the
    rarer colour bounds the number. None where the colouring says nothing.
    Source: the argument of N. G. de Bruijn, "Filling boxes with bricks", American Mathematical
    Monthly 76, 1969 (from memory).

    >>> balance_bound((1, 2, 4), (6, 6, 6), 2)
    26
    """
    dark = {
        cell for cell in product(*(range(n) for n in box)) if sum(v // block for v in cell) % 2 == 0
    }
    half, odd = divmod(_cells(size), 2)
    if odd:
        return None
    for way in Piece(size).ways:
        for corner in product(*(range(b - w + 1) for b, w in zip(box, way, strict=True))):
            inside = product(*(range(c, c + w) for c, w in zip(corner, way, strict=True)))
            if sum(cell in dark for cell in inside) != half:
                return None
    return min(len(dark), _cells(box) - len(dark)) // half
