"""How many of one box go into another: two sizes in, a packing and what no packing beats out.

First the whole blocks and the cuts from side to side that one would try by hand; then, for every
number between the best of these and what volume and colouring allow, the complete search.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from math import gcd, prod
from typing import TypeAlias

from massing.geometry.space.packing import Budget, Cells, Piece, packings, sums

__all__ = ["Most", "balance_bound", "most"]

Laid: TypeAlias = tuple[tuple[Cells, Cells], ...]

_COLOURED = 4000  # cells; a box of more is not coloured
_BLOCKS = (1, 2, 3, 4)  # cells; sides of the cubes coloured by turns
_PARTS = 3000  # boxes that cuts may leave before only whole blocks are laid


@dataclass(frozen=True, slots=True)
class Most:
    """A packing, and the number that none beats.

    laid : the least corner and the size of each piece
    """

    laid: Laid
    bound: int

    @property
    def count(self) -> int:
        """How many the packing has."""
        return len(self.laid)

    @property
    def proved(self) -> bool:
        """Whether no packing has more."""
        return self.count == self.bound


def most(piece: Piece, box: Cells, nodes: int = 100_000) -> Most:
    """The most of one piece that go into a box, whatever its count.

    nodes : how many placings the complete search looks at in all; where they run out the bound
        stays above what was found

    >>> most(Piece((3, 2, 1), flat=True), (5, 5, 1)).count
    4
    """
    if piece.turns and not piece.flat:
        return _searched(piece, box, Budget(nodes))
    # Pieces that all stay upright stand in layers once they are pushed down, and one of the
    # layers has the most: that one again and again is no worse.
    high = piece.size[2]
    layers = box[2] // high
    if not layers:
        return Most((), 0)
    one = _searched(piece, (box[0], box[1], high), Budget(nodes))
    laid = tuple(((x, y, k * high), size) for k in range(layers) for (x, y, _), size in one.laid)
    return Most(laid, layers * one.bound)


def _searched(piece: Piece, box: Cells, budget: Budget) -> Most:
    lines = tuple(sums([way[axis] for way in piece.ways], box[axis]) for axis in range(3))
    # Nothing lies behind the last sum of sides.
    used = (lines[0][-1], lines[1][-1], lines[2][-1])
    bound = min([prod(used) // piece.volume, *_coloured(piece, box)])
    best = _by_cuts(piece, used)
    for wanted in range(bound, len(best), -1):
        pieces = [Piece(piece.size, wanted, piece.turns, piece.flat)]
        grid = (lines[0], lines[1], lines[2])
        # Each number has half of what is left, so that none starves the next.
        share = Budget(budget.nodes // 2)
        budget.nodes -= share.nodes
        found = next(packings(pieces, used, lines=grid, budget=share), None)
        budget.nodes += share.nodes
        if found is not None:
            return Most(tuple((at, size) for _, at, size in found), bound)
        if not share.ran_out and wanted == bound:
            bound -= 1
    return Most(best, bound)


def _by_cuts(piece: Piece, box: Cells) -> Laid:
    """The best of whole blocks in the parts that cuts from side to side leave."""
    known: dict[Cells, tuple[int, Callable[[Cells], Laid]]] = {}

    def best(part: Cells) -> tuple[int, Callable[[Cells], Laid]]:
        if part in known:
            return known[part]
        limit = prod(part) // piece.volume
        count, laid = max(((n, lay) for n, lay in _blocks(piece, part)), key=lambda one: one[0])
        if len(known) < _PARTS and count < limit:
            known[part] = (count, laid)  # what is met again on the way down is no better
            for axis, at in _cuts(piece, part):
                near = (*part[:axis], at, *part[axis + 1 :])
                far = (*part[:axis], part[axis] - at, *part[axis + 1 :])
                (a, lay_a), (b, lay_b) = best(_three(near)), best(_three(far))
                if a + b > count:
                    count, laid = a + b, _joined(lay_a, lay_b, axis, at)
                if count == limit:
                    break
        known[part] = (count, laid)
        return known[part]

    return best(box)[1]((0, 0, 0))


def _three(cells: tuple[int, ...]) -> Cells:
    x, y, z = cells
    return (x, y, z)


def _blocks(piece: Piece, part: Cells) -> Iterator[tuple[int, Callable[[Cells], Laid]]]:
    """Each way of turning all pieces alike: how many go in, and where."""
    for way in piece.ways:
        numbers = [part[axis] // way[axis] for axis in range(3)]

        def laid(at: Cells, way: Cells = way, numbers: list[int] = numbers) -> Laid:
            steps = product(*(range(n) for n in numbers))
            return tuple(
                (_three(tuple(a + w * k for a, w, k in zip(at, way, step, strict=True))), way)
                for step in steps
            )

        yield prod(numbers), laid


def _cuts(piece: Piece, part: Cells) -> Iterator[tuple[int, int]]:
    """Axis and place of every cut worth trying: at a sum of sides, up to the middle."""
    for axis in range(3):
        for at in sums([way[axis] for way in piece.ways], part[axis] // 2)[1:]:
            yield axis, at


def _joined(
    near: Callable[[Cells], Laid], far: Callable[[Cells], Laid], axis: int, at: int
) -> Callable[[Cells], Laid]:
    def laid(corner: Cells) -> Laid:
        moved = (*corner[:axis], corner[axis] + at, *corner[axis + 1 :])
        return (*near(corner), *far(_three(moved)))

    return laid


def _coloured(piece: Piece, box: Cells) -> Iterator[int]:
    """What colourings say of a box that is not too fine for the sides of the piece."""
    unit = gcd(*piece.size)
    size = _three(tuple(side // unit for side in piece.size))
    cells = _three(tuple(side // unit for side in box))
    if piece.turns and not piece.flat and 0 < prod(cells) <= _COLOURED:
        for block in _BLOCKS:
            bound = balance_bound(size, cells, block)
            if bound is not None:
                yield bound


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
    half, odd = divmod(prod(size), 2)
    if odd:
        return None
    for way in Piece(size).ways:
        for corner in product(*(range(b - w + 1) for b, w in zip(box, way, strict=True))):
            inside = product(*(range(c, c + w) for c, w in zip(corner, way, strict=True)))
            if sum(cell in dark for cell in inside) != half:
                return None
    return min(len(dark), prod(box) - len(dark)) // half
