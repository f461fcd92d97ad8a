"""What stands open: a placed item and its states in, the item with its open parts as bodies out.

A door, drawer or lid that stands open is where it is, not where it might go: its open place is a
body like any other, and it no longer moves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from massing.geometry.motions.stops import Path, eased
from massing.scheme.layout import Motion, Part, Placed

__all__ = ["OPEN", "open_part", "with_states"]

OPEN = frozenset({"open", "up", "out"})
"""Words for a motion at its full travel; any other says that it is shut."""


def open_part(motion: Motion) -> Part:
    """The moving part of a motion at its full travel, in every world."""
    worlds = len(motion.axis)
    full = np.broadcast_to(motion.full, (worlds,))
    path = eased([Path(motion.solid, motion.axis, motion.turn_about, full)])[0]
    return Part(f"{motion.name} open", "door", path.at(full))


def with_states(item: Placed, states: Mapping[str, str]) -> Placed:
    """The item with each motion that a state calls open standing open.

    Its bounds stay those of its body, by which it is placed and stands. A state that names no
    motion of the item changes nothing.
    """
    standing = [motion for motion in item.motions if states.get(motion.name, "") in OPEN]
    if not standing:
        return item
    return replace(
        item,
        parts=(*item.parts, *(open_part(motion) for motion in standing)),
        motions=tuple(motion for motion in item.motions if motion not in standing),
    )
