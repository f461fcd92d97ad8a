"""Which boxes of unused space are worth having: a layout and wishes in, boxes out, largest first.

Boxes lie along the room's axes, clear of everything that takes up the room, and are each the
largest that the ones before leave. They are exact (see ``massing.geometry.empty_boxes``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.checks.rules import Rules
from massing.geometry.empty_boxes import Wanted, largest_empty_boxes
from massing.geometry.empty_runs import largest_front
from massing.geometry.polygons import Ring, overlap
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout
from massing.voids.regions import convex_pieces
from massing.voids.space import PASSAGE, Group, room_cells, taken_up, walked_floor

__all__ = ["BoxWish", "Run", "UsableBox", "aisles", "eaves_runs", "usable_boxes"]


@dataclass(frozen=True, slots=True)
class BoxWish:
    """What makes a box worth having.

    count : how many disjoint boxes at most
    smallest : least size west to east, south to north and up, mm
    turnable : the box may as well lie the other way round
    reach : its base is at most so high above the lowest floor, mm
    open_front : it must open on floor a person stands on, or on the space above a thing's zone
    floor : also look on open floor with head height, which is otherwise kept for people
    """

    count: int = 8
    smallest: tuple[float, float, float] = (300.0, 300.0, 300.0)
    turnable: bool = True
    reach: float = 1800.0
    open_front: bool = True
    floor: bool = False


@dataclass(frozen=True, slots=True)
class UsableBox:
    """An empty box, mm; bound is the largest volume any such box can have, mm³."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    bound: float
    proved: bool

    @property
    def size(self) -> tuple[float, float, float]:
        """West to east, south to north and up, mm."""
        x, y, z = (b - a for a, b in zip(self.low, self.high, strict=True))
        return (x, y, z)

    @property
    def volume(self) -> float:
        """In mm³."""
        x, y, z = self.size
        return x * y * z


@dataclass(frozen=True, slots=True)
class Run:
    """A shelf run against a wall, mm.

    start, stop : along the wall from its left end, as you face it from inside
    low, high : z of its base and top; depth : from the wall into the room
    """

    wall: str
    start: float
    stop: float
    low: float
    high: float
    depth: float

    @property
    def volume(self) -> float:
        """In mm³."""
        return (self.stop - self.start) * self.depth * (self.high - self.low)


def usable_boxes(
    layout: Layout, rules: Rules, wish: BoxWish, *, passage: float = PASSAGE
) -> tuple[UsableBox, ...]:
    """The largest empty boxes of a one-world layout, each clear of all that is in use."""
    groups = taken_up(layout, rules, passage=passage)
    ways = aisles(layout, rules, passage) if wish.open_front else np.zeros((0, 6))
    wanted = Wanted(
        smallest=wish.smallest,
        turnable=wish.turnable,
        base_at_most=_lowest(layout) + wish.reach,
        aisles=ways,
        opening=(min(wish.smallest[:2]), wish.smallest[2]),
    )
    if wish.open_front and not len(ways):
        return ()
    found = largest_empty_boxes(
        room_cells(layout.room), solids=_solids(groups, wish), count=wish.count, wanted=wanted
    )
    rows = zip(found.boxes.tolist(), found.bounds.tolist(), found.proved.tolist(), strict=True)
    return tuple(
        UsableBox((x0, y0, z0), (x1, y1, z1), bound, proved)
        for (x0, y0, z0, x1, y1, z1), bound, proved in rows
    )


def _solids(groups: Iterable[Group], wish: BoxWish) -> list[Convex]:
    """What a box must be clear of."""
    kept = (group for group in groups if not (wish.floor and group.name == "passage"))
    return [solid for group in kept for solid in group.solids]


def _lowest(layout: Layout) -> float:
    return min(float(floor.level[0]) for floor in layout.room.floors)


def aisles(layout: Layout, rules: Rules, passage: float = PASSAGE) -> Floats:
    """(m, 6) boxes of free air where a person can stand and reach in from, mm; they may overlap.

    Open floor is cut level and upright at its corners, so that each of its sides is whole in one
    of the two; then come the zones of things where they lie along the room's axes.
    """
    region = walked_floor(layout, rules, passage)
    plans = [
        *(_rectangle(ring) for ring in convex_pieces(region)),
        *(_rectangle(ring[:, ::-1])[[1, 0, 3, 2]] for ring in convex_pieces(_swapped(region))),
    ]
    rows = [row for plan in plans for row in _standing(layout, plan, rules.headroom)]
    return np.array([*rows, *_zone_boxes(layout, rules)]).reshape(-1, 6)


def _swapped(region: Any) -> Any:
    """A region with its axes exchanged."""
    from shapely import transform

    return transform(region, lambda points: points[:, ::-1])


def _rectangle(ring: Floats) -> Floats:
    """(4,) rectangle inside a piece with level ends: low x, low y, high x, high y."""
    low, high = ring[:, 1].min(), ring[:, 1].max()
    ends = [ring[np.abs(ring[:, 1] - level) <= 1e-6, 0] for level in (low, high)]
    return np.array([max(e.min() for e in ends), low, min(e.max() for e in ends), high])


def _standing(layout: Layout, plan: Floats, need: float) -> Iterator[list[float]]:
    """A rectangle of open floor as a box that stands free on every level under it."""
    x0, y0, x1, y1 = plan.tolist()
    if x1 - x0 <= TOUCH or y1 - y0 <= TOUCH:
        return
    ring = Ring.of([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    levels = [
        float(floor.level[0])
        for floor in layout.room.floors
        if overlap(ring, Ring.of(floor.polygon)) is not None
    ]
    if levels:
        yield [x0, y0, max(levels), x1, y1, min(levels) + need]


def _zone_boxes(layout: Layout, rules: Rules) -> Iterator[list[float]]:
    for item in layout.items:
        for zone in item.zones:
            ring = zone.polygon[0]
            low, high = ring.min(axis=0), ring.max(axis=0)
            on_sides = np.isclose(ring, low, rtol=0, atol=TOUCH) | np.isclose(
                ring, high, rtol=0, atol=TOUCH
            )
            if zone.kind == "person" and bool(on_sides.all()):
                need = rules.headroom if zone.headroom is None else float(zone.headroom[0])
                level = float(zone.level[0])
                yield [*low.tolist(), level, *high.tolist(), level + need]


def eaves_runs(
    layout: Layout,
    rules: Rules,
    depth: float,
    *,
    least: tuple[float, float] = (600.0, 250.0),
    reach: float = 1800.0,
    count: int = 2,
) -> tuple[Run, ...]:
    """Shelves of one depth against each wall with the largest front, each one exact.

    depth : mm; least : length and height, mm; reach : of the shelf's base above the lowest floor
    count : at most so many along each wall, one clear of another
    """
    solids = _solids(taken_up(layout, rules), BoxWish())
    cells = room_cells(layout.room)
    runs: list[Run] = []
    wanted = Wanted(smallest=(least[0], 1.0, least[1]), base_at_most=_lowest(layout) + reach)
    for wall in layout.room.walls:
        if wall.partition:
            continue
        # The room is to the left of a walk from the wall's right end; runs are told from its left.
        line, length = np.array([wall.right[0], wall.left[0]]), float(wall.length[0])
        found = largest_front(cells, solids, line, depth, count=count, wanted=wanted)
        runs.extend(
            Run(wall.name, length - x1, length - x0, z0, z1, depth)
            for x0, _, z0, x1, _, z1 in found.boxes.tolist()
        )
    return tuple(sorted(runs, key=lambda run: (-round(run.volume, 3), run.wall, run.start)))
