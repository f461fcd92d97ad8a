"""The best choice of pieces from a sheet, by trying choices from the most worth down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from massing.geometry.space.packing import Budget, Cells, Packing, Piece, packings


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

    The first choice that goes in is the best. nodes : how many placings are looked at for each
    choice; what is given up so keeps the bound up.
    """
    bound = 0
    for value, counts in _choices(pieces, values, box[0] * box[1] * box[2]):
        chosen = sorted(
            (k for k, count in enumerate(counts) if count), key=lambda k: -pieces[k].volume
        )
        order = [Piece(pieces[k].size, counts[k], pieces[k].turns, pieces[k].flat) for k in chosen]
        budget = Budget(nodes)
        found = next(packings(order, box, budget=budget), None)
        if found is not None:
            named = tuple((chosen[n], corner, size) for n, corner, size in found)
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
        choices = [
            (worth + count * value, taken + count * piece.volume, (*counts, count))
            for worth, taken, counts in choices
            for count in range(piece.count + 1)
            if taken + count * piece.volume <= volume
        ]
    ranked = sorted(choices, key=lambda one: (-one[0], one[1], one[2]))
    return [(worth, counts) for worth, _, counts in ranked]
