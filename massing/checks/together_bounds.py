"""How far does the air reach that things in use take up? Movers, leaves and zones in, bounds out.

What stands still when something else is moved has the bounds it had: they are taken over.
"""

from __future__ import annotations

import numpy as np

from massing.checks.context import Context
from massing.checks.leaves import leaf_sweep
from massing.checks.motions import Mover, item_movers
from massing.checks.moved import as_before
from massing.checks.standing import grounds, needed
from massing.geometry.motions.stops import path_bounds
from massing.geometry.solids import Convex, Floats
from massing.room.shape import Room
from massing.scheme.layout import Layout, Leaf, Zone

__all__ = ["inward_sweeps", "mover_bounds", "zone_bounds"]


def inward_sweeps(layout: Layout) -> dict[Leaf, Convex]:
    """The air of each hinged door that opens into the room."""
    return as_before(
        layout,
        "inward sweeps",
        lambda layout: [leaf for leaf in layout.leaves if leaf.opens == "in"],
        lambda _, leaves: [leaf_sweep(leaf) for leaf in leaves],
    )


def mover_bounds(layout: Layout, movers: list[Mover]) -> tuple[Floats, Floats]:
    """Least and greatest corner of what each mover sweeps, over every world, (movers, 3) each."""
    known = as_before(layout, "mover bounds", item_movers, lambda _, some: _mover_rows(some))
    others = [mover for mover in movers if mover not in known]
    rest = dict(zip(others, _mover_rows(others), strict=True))
    rows = [known[mover] if mover in known else rest[mover] for mover in movers]
    every = np.array(rows).reshape(-1, 2, 3)
    return every[:, 0], every[:, 1]


def _mover_rows(movers: list[Mover]) -> list[Floats]:
    """(2, 3) of each mover."""
    if not movers:
        return []
    limits = np.array([float(mover.full.max()) for mover in movers])
    return list(np.stack(path_bounds([mover.paths[0] for mover in movers], limits), axis=1))


def zone_bounds(context: Context, zones: list[Zone]) -> tuple[Floats, Floats]:
    """Least and greatest corner of the air of each zone, over every world, (zones, 3) each."""
    known = as_before(context.layout, "zone bounds", _all_zones, _zone_rows)
    every = np.array([known[zone] for zone in zones]).reshape(-1, 2, 3)
    low, high = every[:, 0], every[:, 1]
    if zones:
        level = np.array([zone.level for zone in zones])
        high[:, 2] = (level + np.array([needed(context, zone) for zone in zones])).max(axis=1)
    return low, high


def _all_zones(layout: Layout) -> list[Zone]:
    return [zone for item in layout.items for zone in item.zones]


def _zone_rows(layout: Layout, zones: list[Zone]) -> list[Floats]:
    """(2, 3) of each zone, its top left open."""
    if not zones:
        return []
    every = np.zeros((len(zones), 2, 3))
    points = np.concatenate([zone.polygon for zone in zones], axis=1)
    first = np.cumsum([0, *(zone.polygon.shape[1] for zone in zones[:-1])])
    every[:, 0, :2] = np.minimum.reduceat(points.min(axis=0), first)
    every[:, 1, :2] = np.maximum.reduceat(points.max(axis=0), first)
    nominal = (np.minimum.reduceat(points[0], first), np.maximum.reduceat(points[0], first))
    every[:, 0, 2] = _lowest_grounds(layout.room, zones, nominal)
    return list(every)


def _lowest_grounds(room: Room, zones: list[Zone], nominal: tuple[Floats, Floats]) -> list[float]:
    """The lowest level under each zone in any world: over a step the lower floor counts too.

    nominal : bounds of each zone in the nominal world, (zones, 2) each
    """
    low, high = nominal
    level = [float(floor.level[0]) for floor in room.floors]
    pieces = [floor.polygon[0] for floor in room.floors]
    least = np.array([piece.min(axis=0) for piece in pieces])
    most = np.array([piece.max(axis=0) for piece in pieces])
    meets = np.all((low[:, None] < most) & (high[:, None] > least), axis=2).tolist()
    found = []
    for zone, row in zip(zones, meets, strict=True):
        # What comes over one level by its bounds does so by its shape.
        if len({z for z, may in zip(level, row, strict=True) if may}) < 2:
            found.append(float(zone.level.min()))
        else:
            found.append(min(float(each.min()) for _, each in grounds(room, zone)))
    return found
