"""What moves along with a thing, and what it may come to overlap: a layout in, solids out.

Each with whose it is and what kind: a body, a zone with the air over it, a gap, the way of a moving
part, or the clear depth of a door or window. One world.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.leaves import leaf_sweep
from massing.checks.rules import Rules
from massing.geometry.motions.sweep import swept_solids
from massing.geometry.outline import counter_clockwise
from massing.geometry.solids import Convex, Floats, box, prism
from massing.geometry.space.empty_boxes_room import surround
from massing.scheme.layout import Layout, Placed
from massing.voids.space import motion_path, room_cells

__all__ = ["FAR", "ROOM", "Element", "moving", "standing"]

FAR = 1e5
"""As high and as low as anything is, mm."""

ROOM = "walls, steps or ceiling"
_MARGIN = 1000.0  # mm; how thick walls, floor and ceiling are taken to be


@dataclass(frozen=True, slots=True, eq=False)
class Element:
    """Solids of one kind that belong to one thing, or to the room."""

    owner: str
    kind: str
    solids: tuple[Convex, ...]


def moving(rules: Rules, mover: Placed) -> tuple[Element, ...]:
    """What moves along with a thing: its body, zones, gaps and motions, in that order."""
    return tuple(_of_item(rules, mover))


def _of_item(rules: Rules, item: Placed) -> Iterator[Element]:
    yield Element(item.name, "body", tuple(part.solid.world(0) for part in item.parts))
    zones = []
    for zone in item.zones:
        need = rules.headroom if zone.headroom is None else float(zone.headroom[0])
        zones.append(prism(zone.polygon[:1], zone.level[:1], zone.level[:1] + need))
    gaps = [gap.solid.world(0) for gap in item.gaps if float(gap.depth[0]) > 0]
    paths = [motion_path(motion) for motion in item.motions]
    sweeps = [solid.world(0) for path in paths for solid in swept_solids(path, path.full)]
    for kind, solids in (("zone", zones), ("gap", gaps), ("motion", sweeps)):
        if solids:
            yield Element(item.name, kind, tuple(solids))


def standing(
    layout: Layout, rules: Rules, mover: Placed, *, margin: float = _MARGIN
) -> tuple[Element, ...]:
    """What a thing may come to overlap: all that is no room, the building, and other things.

    margin : mm, how thick what is no room is taken to be
    """
    around = surround(room_cells(layout.room), margin=margin)
    solid = (*around.solids, *(box(row[:3], row[3:]) for row in around.boxes))
    # One by one: where a step is in the way need not be where the ceiling is.
    found = [Element(ROOM, "body", (part,)) for part in solid]
    found += [
        Element(fabric.name, "body", tuple(part.world(0) for part in fabric.parts))
        for fabric in layout.room.fabric
    ]
    found += [Element(name, "clear depth", (solid,)) for name, solid in _doorsteps(layout, rules)]
    for leaf in layout.leaves:
        if leaf.opens == "in":
            found.append(Element(leaf.name, "motion", (leaf_sweep(leaf).world(0),)))
    for item in layout.items:
        if item is not mover:
            found += _of_item(rules, item)
    return tuple(found)


def _doorsteps(layout: Layout, rules: Rules) -> Iterator[tuple[str, Convex]]:
    """The depth in front of each door and window that is to stay clear, at every height."""
    room = layout.room
    for opening in room.openings:
        wall = room.wall(opening.wall)
        depth = rules.doorway if opening.kind == "door" else rules.window
        ends = [opening.left, opening.left + opening.width]
        ring = [wall.point(end, np.array([0.0])) for end in ends]
        ring += [wall.point(end, np.array([depth])) for end in reversed(ends)]
        plan: Floats = np.stack(ring, axis=1)
        yield opening.name, prism(counter_clockwise(plan), -FAR, FAR)
