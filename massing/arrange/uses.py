"""What is used at once, as the search needs it: a layout and its units in, flags out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.geometry.solids import Ints
from massing.scheme.layout import Layout

__all__ = ["leaves_at_once", "units_at_once"]


def _groups(layout: Layout) -> list[set[str]]:
    """The names used at once: of items and of doors, without what they do."""
    return [
        {use.removesuffix(" in use").removesuffix(" open") for use in g} for g in layout.together
    ]


def leaves_at_once(layout: Layout, item: str) -> int:
    """Bits of the inward leaves that are opened while an item is in use."""
    inward = [leaf.name for leaf in layout.leaves if leaf.opens == "in"]
    together = [group for group in _groups(layout) if item in group]
    return sum(1 << k for k, name in enumerate(inward) if any(name in g for g in together))


def units_at_once(layout: Layout, units: Sequence[tuple[str, ...]]) -> Ints:
    """(n, n) whether something of one unit is used at once with something of another."""
    table = np.zeros((len(units), len(units)), dtype=np.int64)
    for group in _groups(layout):
        held = [k for k, names in enumerate(units) if group & set(names)]
        for u in held:
            for v in held:
                table[u, v] = int(u != v)
    return table
