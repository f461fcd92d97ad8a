"""What is each thing nearest to? A layout in; its gaps up, to a wall and to another thing, told."""

from __future__ import annotations

import numpy as np

from massing.checks.ceiling import ceiling_gap
from massing.checks.words import mm
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Placed

__all__ = ["gaps_told"]


def gaps_told(layout: Layout) -> dict[str, tuple[str, ...]]:
    """By item: how far its ceiling is above it, the nearest wall and the nearest thing beside it.

    What it stands on, or hangs from, is left out.
    """
    return {item.name: tuple(_told(layout, item)) for item in layout.items}


def _told(layout: Layout, item: Placed) -> list[str]:
    found = []
    if item.footing != "ceiling":
        up = min(
            float(ceiling_gap(part.solid, piece)[0])
            for part in item.parts
            for piece in layout.room.ceilings
        )
        found.append(_words(up, "the ceiling"))
    wall = _wall(layout, item)
    if wall is not None:
        found.append(_words(*wall))
    other = _beside(layout, item)
    if other is not None:
        found.append(_words(*other))
    return found


def _words(gap: float, name: str) -> str:
    """A gap as one says it: 120 to the ceiling, touches bench, 50 into the ceiling."""
    if abs(gap) <= TOUCH:
        return f"touches {name}"
    return f"{mm(gap)} to {name}" if gap > 0 else f"{mm(-gap)} into {name}"


def _wall(layout: Layout, item: Placed) -> tuple[float, str] | None:
    """The nearest wall of the room that faces it, measured level and square to the wall."""
    corners = np.vstack([part.solid.corners[0, :, :2] for part in item.parts])
    found = []
    for wall in layout.room.walls:
        off = corners - wall.left[0]
        along = off @ wall.along[0]
        if wall.partition or along.max() < TOUCH or along.min() > wall.length[0] - TOUCH:
            continue
        name = wall.name if "wall" in wall.name else f"{wall.name} wall"
        found.append((float(-(off @ wall.outward[0]).max()), f"the {name}"))
    return min(found, default=None)


def _beside(layout: Layout, item: Placed) -> tuple[float, str] | None:
    """The nearest other thing, what it stands on and what stands on it left out."""
    others = [
        other
        for other in layout.items
        if other is not item and other.name != item.footing and other.footing != item.name
    ]
    if not others:
        return None
    own = [part.solid.world(0) for part in item.parts]
    theirs = [part.solid.world(0) for other in others for part in other.parts]
    names = [other.name for other in others for _ in other.parts]
    pairs = np.array([[a, len(own) + b] for a in range(len(own)) for b in range(len(theirs))])
    gaps = signed_gaps([*own, *theirs], pairs).gap[0]
    best = int(np.argmin(np.round(gaps, 6)))
    return float(gaps[best]), names[int(pairs[best, 1]) - len(own)]
