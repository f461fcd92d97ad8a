"""What may a prim be called? File names in, names USD allows out, each once among its siblings."""

from __future__ import annotations

import re
from collections.abc import Iterable

__all__ = ["prim_names"]


def prim_names(names: Iterable[str], taken: Iterable[str] = ()) -> tuple[str, ...]:
    """Names of letters, digits and ``_`` that start with no digit, in the same order.

    taken : names of siblings there already

    >>> prim_names(["wall-unit", "wall_unit", "2_drawers"])
    ('wall_unit', 'wall_unit_2', '_2_drawers')
    """
    held = set(taken)
    found = []
    for name in names:
        base = re.sub(r"[^A-Za-z0-9_]", "_", name)
        base = f"_{base}" if not base or base[0].isdigit() else base
        called, number = base, 1
        while called in held:
            number += 1
            called = f"{base}_{number}"
        held.add(called)
        found.append(called)
    return tuple(found)
