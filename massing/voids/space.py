"""What takes up a room: a layout and rules in, named groups of convex solids out.

Layouts have one world here. What no group takes is unused: above heads, under slopes, over and
under things.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.checks.leaves import leaf_sweep
from massing.checks.rules import Rules
from massing.geometry.motions.stops import Path
from massing.geometry.motions.sweep import swept_solids
from massing.geometry.polygons import Ring
from massing.geometry.solids import Convex, Floats
from massing.geometry.space.empty_boxes_room import CeilingCell
from massing.room.columns import columns
from massing.room.measure import cells
from massing.room.shape import Room
from massing.scheme.layout import Layout, Motion, Zone
from massing.voids.open_floor import open_region
from massing.voids.regions import convex_pieces, wide_parts

__all__ = ["GROUPS", "PASSAGE", "Group", "motion_path", "room_cells", "taken_up", "walked_floor"]

PASSAGE = 600.0
"""Floor narrower than this is no way through, mm. Common practice, no source."""

GROUPS = ("building", "bodies", "motions", "activity", "passage", "service gaps")
"""The groups in the order they count: what two would take, the earlier has."""


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Solids of one kind, each with the name of the thing it belongs to."""

    name: str
    owners: tuple[str, ...]
    solids: tuple[Convex, ...]


def room_cells(room: Room) -> tuple[CeilingCell, ...]:
    """The room's cells as geometry takes them, fabric not taken out."""
    return tuple(CeilingCell(cell.polygon, cell.floor, cell.plane) for cell in cells(room))


def taken_up(layout: Layout, rules: Rules, *, passage: float = PASSAGE) -> tuple[Group, ...]:
    """Everything that takes up the room, in the order of ``GROUPS``.

    passage : least width of open floor that counts as a way through, mm

    Motions are the air that doors and drawers pass through, activity the floor people need with
    the height asked for there, passage the open floor with head height.
    """
    room = layout.room
    made = {
        "building": [(f.name, part.world(0)) for f in room.fabric for part in f.parts],
        "bodies": [(i.name, part.solid.world(0)) for i in layout.items for part in i.parts],
        "motions": [*_motions(layout)],
        "activity": [*_zones(layout, rules, "person")],
        "passage": [("open floor", solid) for solid in _walked(layout, rules, passage)],
        "service gaps": [*_zones(layout, rules, "service"), *_gaps(layout)],
    }
    return tuple(
        Group(name, tuple(owner for owner, _ in made[name]), tuple(s for _, s in made[name]))
        for name in GROUPS
    )


def _motions(layout: Layout) -> Iterator[tuple[str, Convex]]:
    for item in layout.items:
        for motion in item.motions:
            path = motion_path(motion)
            for solid in swept_solids(path, path.full):
                yield item.name, solid.world(0)
    for leaf in layout.leaves:
        if leaf.opens == "in":
            yield leaf.name, leaf_sweep(leaf).world(0)


def motion_path(motion: Motion) -> Path:
    """A placed motion as a path of geometry."""
    if motion.slide is None:
        return Path(motion.solid, motion.axis, motion.turn_about, motion.full)
    size = np.linalg.norm(motion.slide, axis=1)
    unit = motion.slide / np.where(size > 0, size, 1.0)[:, None]
    return Path(motion.solid, unit, None, size)


def _zones(layout: Layout, rules: Rules, kind: str) -> Iterator[tuple[str, Convex]]:
    for item in layout.items:
        for zone in item.zones:
            if zone.kind == kind:
                rise = _needed(zone, rules)
                for solid in _over(layout.room, zone.polygon[:1], rise):
                    yield item.name, solid


def _needed(zone: Zone, rules: Rules) -> float:
    return rules.headroom if zone.headroom is None else float(zone.headroom[0])


def _gaps(layout: Layout) -> Iterator[tuple[str, Convex]]:
    for item in layout.items:
        for gap in item.gaps:
            if float(gap.depth[0]) > 0:
                yield item.name, gap.solid.world(0)


def walked_floor(layout: Layout, rules: Rules, width: float = PASSAGE) -> Any:
    """Open floor at least so wide and with head height, as a shapely geometry, mm."""
    return wide_parts(open_region(layout, rules.headroom), width)


def _walked(layout: Layout, rules: Rules, width: float) -> Iterator[Convex]:
    for ring in convex_pieces(walked_floor(layout, rules, width)):
        yield from _over(layout.room, ring[None], rules.headroom)


def _over(room: Room, ring: Floats, rise: float) -> Iterable[Convex]:
    """Solids over a ring from the floor, so high or to the ceiling."""
    return columns(Ring.of(ring), room.floors, room.ceilings, rise=np.array([rise]))
