"""What makes one place better than another: items and a project's wishes in, weights out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from massing.checks.rules import Rules
from massing.geometry.solids import Floats
from massing.project.project import Project
from massing.scheme.layout import Layout, Placed

__all__ = ["back_to_wall", "highest", "loose", "near", "weights"]

_LIFTED = 10.0  # kg; what is lighter is lifted to any height within reach
_HEAVY = 40.0  # kg; what is heavier and used from its front is not left standing free if it can be
_LOOSE = (0.02, 0.1)  # m²
_TOGETHER = 0.004  # m² a metre; things alike are kept in one place
_RATE = 0.05  # cost of a mm of penetration, in m² of standing floor


def weights(project: Project) -> Floats:
    """The project's ``prefer``, else clear standing floor alone."""
    said = project.prefer
    given = [said.standing, said.open_floor, said.daily, said.wet, said.reach]
    if all(value is None for value in given):
        given = [1.0, None, None, None, None]
    return np.array([*(float(value or 0.0) for value in given), _RATE])


def highest(item: Placed | None, rules: Rules) -> float:
    """How far above the floor an item's base may be, by what is kept in it."""
    if item is None or not item.spec.stores:
        return 1e9
    stack, weight = item.spec.stack, item.spec.weight
    lifted = stack is not None and stack.on and weight is not None and weight > _LIFTED
    return min(rules.top_shelf, rules.shoulder) if lifted else rules.top_shelf


def loose(item: Placed | None) -> float:
    """Cost of standing free, m²: of equals what is tidier; hoses and heavy things want a wall."""
    if item is None:
        return 0.0
    heavy = item.spec.weight is not None and item.spec.weight >= _HEAVY
    return _LOOSE[1] if item.spec.wet or (heavy and item.zones) else _LOOSE[0]


def near(items: Sequence[Placed | None], wet: float) -> Floats:
    """(n, n) cost of a metre between two units: wet things by weight, alike stores a little."""
    table = np.zeros((len(items), len(items)))
    for u, one in enumerate(items):
        for v, other in enumerate(items):
            if u == v or one is None or other is None:
                continue
            alike = one.spec.name == other.spec.name and one.spec.stores
            both = one.spec.wet and other.spec.wet
            table[u, v] = wet * both + _TOGETHER * alike
    return table


def back_to_wall(layout: Layout, names: Sequence[str], count: int) -> Floats:
    """What is used from its front mostly has its back to a wall; other things as they come."""
    found = np.full(count, 0.4)
    for k, name in enumerate(names):
        if layout.item(name).zones:
            found[k] = 0.75
    return found
