"""Which unit may stand on which: a layout in, a table out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.geometry.solids import Ints
from massing.items.catalog import plain_name
from massing.scheme.layout import Layout, Placed

__all__ = ["stand_table"]


def stand_table(layout: Layout, units: Sequence[tuple[str, bool, bool]]) -> Ints:
    """What may stand on what (n, n); on the diagonal, what is never stood on the floor.

    units : name of each bottom item, whether it stays, and whether something rides on it
    """
    count = len(units)
    allowed = np.zeros((count, count), dtype=np.int64)
    items = {item.name: item for item in layout.items}
    for u, (name, stays, _) in enumerate(units):
        item = items.get(name)
        if item is None or stays or item.footing in {"wall", "ceiling"}:
            continue
        for v, (other, _, ridden) in enumerate(units):
            below = items.get(other)
            if below is None or u == v or ridden or below.footing in {"wall", "ceiling"}:
                continue
            allowed[u, v] = int(_stands(item, below))
        apart = item.mounted == "on" and layout.item(item.footing).spec.name != item.spec.name
        if (apart or item.spec.mount == "on") and allowed[u].any():
            allowed[u, u] = 1
    return allowed


def _stands(item: Placed, below: Placed) -> bool:
    """Whether one item may stand on another: written so, allowed by its entry, or alike."""
    heavy, under = item.spec.weight, below.spec.weight
    if heavy is not None and under is not None and heavy > under + 1e-9 and heavy > 3.0:
        return False
    carries = below.spec.stack.carries if below.spec.stack else None
    if carries is not None and heavy is not None and heavy > carries:
        return False
    kinds = {plain_name(name) for name in (below.spec.name, *below.spec.kin)}
    stack = item.spec.stack
    if stack is not None and stack.on:
        return bool(kinds & set(map(plain_name, stack.on)))
    alike = item.spec.name == below.spec.name and item.spec.stores and below.spec.stores
    return item.footing == below.name or alike
