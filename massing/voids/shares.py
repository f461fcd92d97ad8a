"""How a room's volume is shared out and where the unused part lies: a layout in, volumes out.

Every litre is counted once and the shares add up to the room. Exact: parts are cut as polyhedra.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.checks.rules import Rules
from massing.geometry.outline import outline_of
from massing.geometry.polygons import (
    Ring,
    inside_of,
    line_through,
    outside_of,
    overlap,
    side_lines,
    split,
)
from massing.geometry.solids import Convex, Floats
from massing.geometry.space.balance import BANDS, UNUSED, volume_balance
from massing.geometry.space.empty_boxes_room import CeilingCell
from massing.room.cells import plan_area
from massing.room.shape import Room, Wall
from massing.scheme.layout import Layout, Placed
from massing.voids.space import PASSAGE, Group, room_cells, taken_up
from massing.voids.store import REACH
from massing.voids.tally import above_item

__all__ = ["Above", "Shares", "share_out", "wall_parts"]

_THIN = 1e-3  # mm²; a thinner part of a cell holds nothing


@dataclass(frozen=True, slots=True)
class Above:
    """The room straight above one item, mm³: all of it, and the part that is unused."""

    item: str
    room: float
    unused: float


@dataclass(frozen=True, slots=True)
class Shares:
    """A room's volume shared out, mm³.

    groups : (name, volume), the last ``unused``; they add up to ``room``
    heights, reaches : unused volume by height band and by reach band above the local floor
    walls : unused volume by the wall of the outline it is nearest to, square to the wall
    above : for every item, in the layout's order
    """

    room: float
    groups: tuple[tuple[str, float], ...]
    heights: tuple[tuple[str, float], ...]
    reaches: tuple[tuple[str, float], ...]
    walls: tuple[tuple[str, float], ...]
    above: tuple[Above, ...]

    @property
    def unused(self) -> float:
        """What nothing takes up, mm³."""
        return self.groups[-1][1]


def share_out(layout: Layout, rules: Rules, *, passage: float = PASSAGE) -> Shares:
    """Share a room's volume out among what is in it.

    layout : one world; passage : least width of open floor that counts as a way through, mm
    """
    groups = taken_up(layout, rules, passage=passage)
    given = [(group.name, group.solids) for group in groups if group.solids]
    bands = sorted({*BANDS, *REACH})
    whole = volume_balance(room_cells(layout.room), given, bands=bands)
    unused = whole.volumes[-1]
    return Shares(
        room=whole.room,
        groups=tuple(whole.totals.items()),
        heights=_regrouped(unused, bands, BANDS),
        reaches=_regrouped(unused, bands, REACH),
        walls=tuple(_by_wall(layout.room, given)),
        above=tuple(_above(layout, item, groups) for item in layout.items),
    )


def _regrouped(
    volumes: Floats, bands: Sequence[float], wanted: Sequence[float]
) -> tuple[tuple[str, float], ...]:
    """Volumes of fine bands added up into coarser ones, each with its words."""
    edges = [-np.inf, *bands]
    found = []
    for low, high in pairwise([-np.inf, *wanted, np.inf]):
        part = [v for edge, v in zip(edges, volumes, strict=True) if low <= edge < high]
        if np.isinf(low):
            words = f"below {high:g}"
        else:
            words = f"{low:g} and up" if np.isinf(high) else f"{low:g} to {high:g}"
        found.append((words, float(sum(part))))
    return tuple(found)


def _unused(cells: Sequence[CeilingCell], groups: Sequence[tuple[str, Sequence[Convex]]]) -> float:
    """Volume of some cells that no group takes, mm³."""
    return volume_balance(cells, groups, bands=()).totals[UNUSED] if cells else 0.0


def _by_wall(
    room: Room, groups: Sequence[tuple[str, Sequence[Convex]]]
) -> Iterable[tuple[str, float]]:
    cells = room_cells(room)
    walls = [wall for wall in room.walls if not wall.partition]
    for wall in walls:
        parts = [
            CeilingCell(ring.points[0], cell.floor, cell.plane)
            for cell in cells
            for ring in wall_parts(Ring.of(cell.plan), wall, walls)
        ]
        yield wall.name, _unused(parts, groups)


def wall_parts(ring: Ring, wall: Wall, walls: Sequence[Wall]) -> tuple[Ring, ...]:
    """The parts of a convex ring nearest to a wall, square to it, of all the walls they lie before.

    A place lies before a wall when a line square from the wall's own length reaches it. Disjoint
    over the walls; in a room with slanting walls a corner may lie before none.
    """
    number = walls.index(wall)
    first = inside_of(ring, _strip(wall))
    parts = [] if first is None else [first]
    for k, other in enumerate(walls):
        if k == number:
            continue
        kept: list[Ring] = []
        for part in parts:
            kept.extend(outside_of(part, _strip(other)))
            shared = inside_of(part, _strip(other))
            if shared is not None:
                near = _nearer(shared, wall, other, first=number < k)
                if near is not None:
                    kept.append(near)
        parts = kept
    return tuple(part for part in parts if _area(part) > _THIN)


def _strip(wall: Wall) -> tuple[Floats, ...]:
    """Lines round all that lies before a wall, that to their left."""
    left, right = wall.left[:1], wall.right[:1]
    inward = -np.broadcast_to(wall.outward, (1, 2))
    return (
        line_through(right, left),
        line_through(right + inward, right),
        line_through(left, left + inward),
    )


def _nearer(ring: Ring, wall: Wall, other: Wall, *, first: bool) -> Ring | None:
    """The part of a ring at least as near to a wall as to another; a tie goes to the first."""
    line = _face(other) - _face(wall)
    size = float(np.hypot(line[0, 0], line[0, 1]))
    if size < 1e-9:
        nearer = float(line[0, 2])
        return ring if nearer > 1e-9 or (abs(nearer) <= 1e-9 and first) else None
    return split(ring, line / size)[0]


def _face(wall: Wall) -> Floats:
    """(1, 3) line whose value is the distance in from a wall's face."""
    return line_through(wall.right[:1], wall.left[:1])


def _area(ring: Ring) -> float:
    return plan_area(ring.points[0])


def _above(layout: Layout, item: Placed, groups: Sequence[Group]) -> Above:
    """What is straight above an item: each place counts from the item's own top there."""
    cells = []
    for ring, top in _tops(item):
        for cell in room_cells(layout.room):
            both = overlap(Ring.of(cell.plan), ring)
            if both is None or _area(both) <= _THIN:
                continue
            under = float((both.points[0] @ cell.plane[:2] + cell.plane[2]).max())
            if under > max(cell.floor, top) + 1e-6:
                cells.append((both, max(cell.floor, top), cell.plane))
    parts = [
        CeilingCell(kept.points[0], low, plane)
        for whole, low, plane in cells
        if (kept := _above_level(whole, low, plane)) is not None
    ]
    given = [(group.name, group.solids) for group in groups if group.solids]
    return Above(item.name, above_item(layout, item), _unused(parts, given))


def _above_level(ring: Ring, level: float, plane: Floats) -> Ring | None:
    """The part of a ring where a ceiling plane is above a level."""
    line = np.array([[plane[0], plane[1], plane[2] - level]])
    size = float(np.hypot(line[0, 0], line[0, 1]))
    return ring if size < 1e-12 else split(ring, line / size)[0]


def _tops(item: Placed) -> list[tuple[Ring, float]]:
    """Disjoint plan pieces of an item with the height of its top there, the highest first."""
    found: list[tuple[Ring, float]] = []
    for part in sorted(item.parts, key=lambda p: -float(p.solid.high[0, 2])):
        pieces = [Ring.of(outline_of(part.solid)[0])]
        for taken, _ in found:
            sides = side_lines(taken)
            pieces = [rest for piece in pieces for rest in _outside(piece, taken, sides)]
        found += [(piece, float(part.solid.high[0, 2])) for piece in pieces]
    return found


def _outside(piece: Ring, taken: Ring, sides: tuple[Floats, ...]) -> tuple[Ring, ...]:
    return (piece,) if overlap(piece, taken) is None else outside_of(piece, sides)
