"""Which boxes of unused space are worth having: a layout and wishes in, boxes out, largest first.

Boxes lie along the room's axes, or along its walls where that is asked, clear of everything that
takes up the room, and are each the largest that the ones before leave. They are exact (see
``massing.geometry.space.empty_boxes``).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from massing.checks.rules import Rules
from massing.geometry.polygons import Ring, overlap
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.space.empty_boxes import CeilingCell, Wanted, largest_empty_boxes
from massing.geometry.space.empty_runs import largest_front
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Room
from massing.scheme.layout import Layout
from massing.voids.regions import convex_pieces
from massing.voids.space import PASSAGE, Group, room_cells, taken_up, walked_floor

__all__ = ["BoxWish", "Run", "UsableBox", "aisles", "eaves_runs", "spun", "usable_boxes"]

_SAME = 0.01  # degrees; directions nearer than this are one
_NONE = np.zeros((0, 6))


@dataclass(frozen=True, slots=True)
class BoxWish:
    """What makes a box worth having.

    count : how many disjoint boxes at most
    smallest : least size west to east, south to north and up, mm
    turnable : the box may as well lie the other way round
    reach : its base is at most so high above the lowest floor, mm
    open_front : it must open on floor a person stands on, or on the space above a thing's zone
    floor : also look on open floor with head height, which is otherwise kept for people
    turned : also look along walls that lie askew to the room's axes
    """

    count: int = 8
    smallest: tuple[float, float, float] = (300.0, 300.0, 300.0)
    turnable: bool = True
    reach: float = 1800.0
    open_front: bool = True
    floor: bool = False
    turned: bool = False


@dataclass(frozen=True, slots=True)
class UsableBox:
    """An empty box, mm; bound is the largest volume any such box can have, mm³.

    turn : degrees counter-clockwise about the room's origin by which the box lies turned; low and
        high are along its own sides
    """

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    bound: float
    proved: bool
    turn: float = 0.0

    @property
    def ring(self) -> Floats:
        """(4, 2) its plan in the room's axes, counter-clockwise."""
        (x0, y0, _), (x1, y1, _) = self.low, self.high
        return spun(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), self.turn)

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
    solids = _solids(taken_up(layout, rules, passage=passage), wish)
    turns = _turns(layout.room) if wish.turned else [0.0]
    ways = [aisles(layout, rules, passage, turn) if wish.open_front else _NONE for turn in turns]
    if len(turns) == 1:
        return _found(layout, solids, wish, (0.0, ways[0]), wish.count)
    boxes: list[UsableBox] = []
    for _ in range(wish.count):
        taken = [*solids, *(prism(box.ring, box.low[2], box.high[2]) for box in boxes)]
        firsts = [
            box
            for frame in zip(turns, ways, strict=True)
            for box in _found(layout, taken, wish, frame, 1)
        ]
        if not firsts:
            break
        most = max(box.bound for box in firsts)
        largest = max(firsts, key=lambda box: round(box.volume, 3))
        boxes.append(replace(largest, bound=most))
    return tuple(boxes)


def _found(
    layout: Layout,
    solids: Sequence[Convex],
    wish: BoxWish,
    frame: tuple[float, Floats],
    count: int,
) -> tuple[UsableBox, ...]:
    """The largest boxes that lie at one turn, given with its aisles."""
    turn, ways = frame
    if wish.open_front and not len(ways):
        return ()
    wanted = Wanted(
        smallest=wish.smallest,
        turnable=wish.turnable,
        base_at_most=_lowest(layout) + wish.reach,
        aisles=ways,
        opening=(min(wish.smallest[:2]), wish.smallest[2]),
    )
    cells = [
        CeilingCell(spun(cell.plan, -turn), cell.floor, _spun_plane(cell.plane, -turn))
        for cell in room_cells(layout.room)
    ]
    found = largest_empty_boxes(
        cells, solids=[_spun_solid(solid, -turn) for solid in solids], count=count, wanted=wanted
    )
    rows = zip(found.boxes.tolist(), found.bounds.tolist(), found.proved.tolist(), strict=True)
    return tuple(
        UsableBox((x0, y0, z0), (x1, y1, z1), bound, proved, turn)
        for (x0, y0, z0, x1, y1, z1), bound, proved in rows
    )


def spun(points: Floats, degrees: float) -> Floats:
    """Plan points (n, 2) turned counter-clockwise about the room's origin; by 0 they stay alike."""
    if not degrees:
        return points
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def _spun_plane(plane: Floats, degrees: float) -> Floats:
    return np.array([*spun(np.asarray(plane[None, :2]), degrees)[0], plane[2]])


def _spun_solid(solid: Convex, degrees: float) -> Convex:
    if not degrees:
        return solid
    corners = solid.corners.copy()
    corners[0, :, :2] = spun(corners[0, :, :2], degrees)
    return Convex(corners, solid.faces)


def _turns(room: Room) -> list[float]:
    """The room's own axes, then each other direction of a wall, degrees from 0 to 90."""
    turns = [0.0]
    for wall in room.walls:
        along = wall.along[0]
        turn = math.degrees(math.atan2(along[1], along[0])) % 90.0
        if all(abs((turn - other + 45.0) % 90.0 - 45.0) > _SAME for other in turns):
            turns.append(turn)
    return turns


def _solids(groups: Iterable[Group], wish: BoxWish) -> list[Convex]:
    """What a box must be clear of."""
    kept = (group for group in groups if not (wish.floor and group.name == "passage"))
    return [solid for group in kept for solid in group.solids]


def _lowest(layout: Layout) -> float:
    return min(float(floor.level[0]) for floor in layout.room.floors)


def aisles(layout: Layout, rules: Rules, passage: float = PASSAGE, turn: float = 0.0) -> Floats:
    """(m, 6) boxes of free air where a person can stand and reach in from, mm; they may overlap.

    turn : degrees by which the boxes lie turned; they are given along their own sides

    Open floor is cut level and upright at its corners, so that each of its sides is whole in one
    of the two; then come the zones of things where they lie along the room's axes.
    """
    region = _spun_region(walked_floor(layout, rules, passage), -turn)
    plans = [
        *(_rectangle(ring) for ring in convex_pieces(region)),
        *(_rectangle(ring)[[1, 0, 3, 2]] for ring in convex_pieces(_swapped(region))),
    ]
    rows = [row for plan in plans for row in _standing(layout, plan, rules.headroom, turn)]
    return np.array([*rows, *_zone_boxes(layout, rules, turn)]).reshape(-1, 6)


def _spun_region(region: Any, degrees: float) -> Any:
    from shapely import transform

    return transform(region, lambda points: spun(points, degrees)) if degrees else region


def _swapped(region: Any) -> Any:
    """A region with its axes exchanged."""
    from shapely import transform

    return transform(region, lambda points: points[:, ::-1])


def _rectangle(ring: Floats) -> Floats:
    """(4,) rectangle inside a piece with level ends: low x, low y, high x, high y."""
    low, high = ring[:, 1].min(), ring[:, 1].max()
    ends = [ring[np.abs(ring[:, 1] - level) <= 1e-6, 0] for level in (low, high)]
    return np.array([max(e.min() for e in ends), low, min(e.max() for e in ends), high])


def _standing(layout: Layout, plan: Floats, need: float, turn: float) -> Iterator[list[float]]:
    """A rectangle of open floor as a box that stands free on every level under it."""
    x0, y0, x1, y1 = plan.tolist()
    if x1 - x0 <= TOUCH or y1 - y0 <= TOUCH:
        return
    ring = Ring.of(spun(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]), turn))
    levels = [
        float(floor.level[0])
        for floor in layout.room.floors
        if overlap(ring, Ring.of(floor.polygon)) is not None
    ]
    if levels:
        yield [x0, y0, max(levels), x1, y1, min(levels) + need]


def _zone_boxes(layout: Layout, rules: Rules, turn: float) -> Iterator[list[float]]:
    for item in layout.items:
        for zone in item.zones:
            ring = spun(zone.polygon[0], -turn)
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
