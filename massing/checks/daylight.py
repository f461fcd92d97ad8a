"""How much glass is hidden, can one get out by it, is water kept off: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.alike import alike, item_arrays, near_box, opening_arrays, room_arrays
from massing.checks.context import Context, bodies_of, body_group, meetings
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.moved import as_before, may_matter
from massing.checks.openings import opening_way
from massing.checks.strip import Band, Stretch, Strip, free_runs, stretches, wall_strip
from massing.checks.strip_bounds import block_bounds, surely_within
from massing.checks.words import mm, place
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Opening, Room
from massing.scheme.layout import Layout

__all__ = [
    "DAYLIGHT",
    "ESCAPE",
    "WATER",
    "hidden_together",
    "read",
    "read_escape_windows",
    "read_water",
]

DAYLIGHT, ESCAPE, WATER = "daylight", "escape window", "water and electricity"
ESCAPE_SOURCE = (
    "published: Approved Document B, England: 0.33 m2, at least 450 either way, sill at most 1100 "
    "(seen second-hand); 600 of clear floor before it is common practice"
)
_AREA = 0.33e6  # mm2
_LEAST = 450.0  # mm, either way
_SILL = 1100.0  # mm above the floor, at most
_FLOOR = 600.0  # mm clear before it, as wide as it is deep


def read(context: Context) -> Iterator[Reading]:
    """One reading for each window that two or more things hide: the share of glass left clear.

    What one thing alone hides is told with that thing. Here the shadows of all, as seen square
    to the wall, are counted once where they overlap.
    """
    layout = context.layout
    for opening in layout.room.openings:
        if opening.kind != "window" or not _may_hide(context, opening):
            continue
        names = _before(context, opening)
        if len(names) < 2 or not context.wanted(*names):
            continue
        depth = context.rules.window
        worlds = range(layout.worlds)
        hidden = np.array([hidden_together(layout, opening, depth, world) for world in worlds])
        if float(hidden.max()) <= 1e-9:
            continue
        yield Reading(
            check=DAYLIGHT,
            items=(opening.name,),
            gap=100.0 * (1.0 - hidden),
            needs=100.0,
            unit="%",
            detail=_hidden(layout.room, opening, names, float(hidden[0])),
            weight=Verdict.CAUTION,
            source=context.rules.source("window"),
        )


def _may_hide(context: Context, opening: Opening) -> bool:
    """Whether what is in focus stands, or stood, near the air before the glass."""
    if context.focus is None:
        return True
    window = context.rules.window

    def bounds(layout: Layout, openings: list[Opening]) -> list[tuple[Floats, Floats]]:
        return [_glass_bounds(layout.room, each, window) for each in openings]

    low, high = as_before(context.layout, ("before glass", window), _openings, bounds)[opening]
    return bool(may_matter(context.layout, context.focus, low[None], high[None])[0])


def _openings(layout: Layout) -> tuple[Opening, ...]:
    return layout.room.openings


def _glass_bounds(room: Room, opening: Opening, depth: float) -> tuple[Floats, Floats]:
    """Plan bounds (2,) of all that may lie in the air before an opening."""
    wall = room.wall(opening.wall)
    ends = np.concatenate(
        [wall.point(along, 0.0 * along) for along in (opening.left, opening.left + opening.width)]
    )
    far = depth + float(wall.thickness.max())
    return ends.min(axis=0) - far, ends.max(axis=0) + far


def _before(context: Context, opening: Opening) -> tuple[str, ...]:
    """Names of the bodies that come into the air before the glass, in any world."""
    way = opening_way(context.layout.room, opening, context.rules.window)
    bodies = list(bodies_of(context.layout))
    return tuple(
        meeting.first.name
        for meeting in meetings(bodies, [way], 0.0)
        if float(meeting.gap.min()) < -TOUCH
    )


def hidden_together(layout: Layout, opening: Opening, depth: float, world: int = 0) -> float:
    """Share of an opening hidden by all bodies within a depth of the wall, seen square to it.

    Only what of a body lies before the glass itself, within the depth, casts a shadow on it.
    """
    from shapely import Polygon, union_all
    from shapely.geometry import MultiPoint

    room = layout.room
    (way,) = opening_way(room, opening, depth).solids
    air = way.world(min(world, way.worlds - 1))
    ends = np.array(
        [[0.0, 0.0, 1.0, air.high[0, 2]], [0.0, 0.0, -1.0, -air.low[0, 2]]], dtype=np.float64
    )
    planes = np.vstack([prism_planes(outline_of(air)[0]), ends])
    wall = room.wall(opening.wall)
    shadows = []
    for item in layout.items:
        for part in item.parts:
            solid = part.solid.world(min(world, part.solid.worlds - 1))
            if np.any(solid.high[0] <= air.low[0]) or np.any(solid.low[0] >= air.high[0]):
                continue
            cut = clip_solid(solid, planes)
            if cut is None:
                continue
            corners = cut.corners[0]
            along = (corners[:, :2] - wall.left[world]) @ wall.along[world]
            shadows.append(MultiPoint(np.stack([along, corners[:, 2]], axis=1)).convex_hull)
    if not shadows:
        return 0.0
    left, width = _at(opening.left, world), _at(opening.width, world)
    low, high = _at(opening.sill, world), _at(opening.sill, world) + _at(opening.height, world)
    pane = Polygon([(left, low), (left + width, low), (left + width, high), (left, high)])
    return float(union_all(shadows).intersection(pane).area / pane.area)


def _at(values: Floats, world: int) -> float:
    return float(values[min(world, len(values) - 1)])


def _hidden(
    room: Room, opening: Opening, names: tuple[str, ...], share: float
) -> Callable[[], Detail]:
    told = ", ".join(names[:-1]) + f" and {names[-1]}"
    says = f"{100 * share:.0f} % of {opening.name} is hidden by {told} together"
    return lambda: Detail(says=says, at=_middle(room, opening))


def _middle(room: Room, opening: Opening) -> tuple[float, float, float]:
    half = opening.left + opening.width / 2.0
    x, y = room.wall(opening.wall).point(half, np.zeros(len(half)))[0]
    return place(np.array([x, y, opening.sill[0] + opening.height[0] / 2.0]))


@dataclass(frozen=True, slots=True)
class _Way:
    """The opening one gets out by in one world: its clear size, sill and floor before it, mm."""

    width: float
    height: float
    sill: float
    floor: float
    taken: tuple[str, ...]

    @property
    def spare(self) -> float:
        """Least that is left over of all that is asked for, mm.

        An area too small is told by how much its longer side is short.
        """
        narrow = min(self.width, self.height)
        area = max(self.width, self.height) - _AREA / narrow if narrow > 0 else -_LEAST
        return min(narrow - _LEAST, area, _SILL - self.sill, self.floor - _FLOOR)


def read_escape_windows(context: Context) -> Iterator[Reading]:
    """Readings of each window people are to get out by: opening, sill and clear floor."""
    layout = context.layout
    for opening in layout.room.openings:
        if not opening.escape or not _may_block(context, opening):
            continue
        ways = _ways_out(layout, opening)
        yield Reading(
            check=ESCAPE,
            items=(opening.name,),
            gap=np.array([way.spare for way in ways]),
            detail=_escape(layout.room, opening, ways[0]),
            noted=True,
            source=ESCAPE_SOURCE,
        )


def _may_block(context: Context, opening: Opening) -> bool:
    """Whether what is in focus stands, or stood, in the air or on the floor before a window."""
    if context.focus is None or context.layout.worlds > 1:
        return True

    def bounds(layout: Layout, openings: list[Opening]) -> list[tuple[Floats, Floats]]:
        return [block_bounds(*_before_window(layout, each, 0)) for each in openings]

    low, high = as_before(context.layout, "before escape windows", _escapes, bounds)[opening]
    return bool(may_matter(context.layout, context.focus, low[None], high[None])[0])


def _escapes(layout: Layout) -> list[Opening]:
    return [opening for opening in layout.room.openings if opening.escape]


def _ways_out(layout: Layout, opening: Opening) -> list[_Way]:
    """The opening one gets out by in every world."""
    wall = layout.room.wall(opening.wall)
    own = alike(layout.worlds, (*opening_arrays(opening, wall), *room_arrays(layout.room)))
    boxes, plain = [], {}
    for world in sorted(set(own.tolist())):
        strip, band = _before_window(layout, opening, world)
        boxes.append(block_bounds(strip, band))
        floor = _best_run(surely_within(layout, frozenset(), strip, band, world), strip.width)[0]
        way = _sized(opening, floor, (), band.low, world)
        # Where as much as this is free, what is asked of the opening itself decides.
        if floor >= _FLOOR and floor - _FLOOR >= way.spare:
            plain[world] = way
    if len(plain) == len(boxes):
        return [plain[int(world)] for world in own]
    low, high = np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)
    near = near_box(layout, low, high)
    arrays = (*opening_arrays(opening, wall), *room_arrays(near.room), *item_arrays(near.items))
    same = alike(layout.worlds, arrays)
    found = {w: _way_out(near, opening, w) for w in sorted(set(same.tolist()))}
    return [found[int(world)] for world in same]


def _before_window(layout: Layout, opening: Opening, world: int) -> tuple[Strip, Band]:
    """The strip of floor before an opening, and the air over it up to its head."""
    wall = layout.room.wall(opening.wall)
    strip = wall_strip(wall, _at(opening.left, world), _at(opening.width, world), world)
    level = strip.level(layout.room, _FLOOR, world)
    return strip, Band(_FLOOR, level, _at(opening.sill, world) + _at(opening.height, world))


def _way_out(layout: Layout, opening: Opening, world: int) -> _Way:
    strip, band = _before_window(layout, opening, world)
    taken = list(stretches(layout, frozenset(), strip, band, world))
    floor, names = _best_run(taken, strip.width)
    return _sized(opening, floor, names, band.low, world)


def _best_run(taken: list[Stretch], width: float) -> tuple[float, tuple[str, ...]]:
    """The longest free floor that reaches the opening far enough, and what ends it."""
    meets = min(_LEAST, width)
    floor, names = 0.0, tuple(dict.fromkeys(n for n, a, b in taken if a < width and b > 0))
    for left, right, before, after in free_runs(taken, width):
        if min(right, width) - max(left, 0.0) >= meets - TOUCH and right - left > floor:
            floor, names = right - left, tuple(dict.fromkeys(n for n in (before, after) if n))
    return floor, names


def _sized(
    opening: Opening, floor: float, names: tuple[str, ...], level: float, world: int
) -> _Way:
    """A sliding window opens by half its width; others are taken to open to their whole size."""
    width, height = _at(opening.width, world), _at(opening.height, world)
    opens = width / 2.0 if opening.motion == "sliding" else width
    return _Way(opens, height, _at(opening.sill, world) - level, floor, names)


def _escape(room: Room, opening: Opening, way: _Way) -> Callable[[], Detail]:
    def told() -> Detail:
        area = way.width * way.height / 1e6
        says = (
            f"{opening.name} opens {mm(way.width)} x {mm(way.height)} ({area:.2f} m²) at most, "
            f"sill {mm(way.sill)} above the floor, "
        )
        short = []
        if way.floor < _FLOOR - TOUCH:
            by = f", taken by {' and '.join(way.taken)}" if way.taken else ""
            short.append(f"{mm(_FLOOR)} of clear floor{by}")
        if min(way.width, way.height) < _LEAST - TOUCH:
            short.append(f"{mm(_LEAST)} either way")
        if way.width * way.height < _AREA - 1.0:
            short.append("0.33 m²")
        if way.sill > _SILL + TOUCH:
            short.append(f"a sill at {mm(_SILL)} or lower")
        says += f"short of {'; of '.join(short)}" if short else "enough to get out by"
        return Detail(says=f"{says}; local codes govern ways out", at=_middle(room, opening))

    return told


def read_water(context: Context) -> Iterator[Reading]:
    """Readings of electrical fittings near what holds or runs water."""
    items = context.layout.items
    if not any(item.spec.electrical or item.spec.wet for item in context.items):
        return
    dry = [body_group(item) for item in items if item.spec.electrical]
    wet = [body_group(item) for item in items if item.spec.wet and not item.spec.electrical]
    need = context.rules.water
    for meeting in meetings(dry, wet, need + context.reach):
        first, second = meeting.first.name, meeting.second.name
        if not context.wanted(first, second) or float(meeting.gap.min()) >= need - TOUCH:
            continue
        says = f"{first} is {mm(meeting.gap[0])} from {second}, which holds water"
        at = place(meeting.at)
        yield Reading(
            check=WATER,
            items=(first, second),
            gap=meeting.gap,
            needs=need,
            detail=_say(f"{says}; {mm(need)} asked for", at),
            weight=Verdict.CAUTION,
            source=context.rules.source("water"),
        )


def _say(says: str, at: tuple[float, float, float]) -> Callable[[], Detail]:
    return lambda: Detail(says=says, at=at)
