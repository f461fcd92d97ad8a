"""Can what is stored, lifted and worked be reached: a layout in, heights and free arms out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from massing.checks.alike import alike, by_world, item_arrays, near_box, room_arrays
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.moved import as_before, may_matter
from massing.checks.published import INCH, REACH_SOURCE, forward_reach_over
from massing.checks.standing import LIGHT
from massing.checks.strip import FAR, Band, Stretch, Strip, free_runs, item_strip, stretches
from massing.checks.strip_bounds import span_of, surely_within
from massing.checks.words import mm, place
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.items.spec import ControlSpec
from massing.scheme.extents import extents_of
from massing.scheme.ground import level_under
from massing.scheme.layout import Layout, Placed

__all__ = ["ACCESS", "LIFT", "OVER", "STORE", "read_controls", "read_stores"]

STORE, LIFT, ACCESS, OVER = "out of reach", "heavy lift", "control access", "reach over"
_HEAVY = 10.0  # kg; what is lighter is lifted to any height within reach
_ARM_WIDE, _ARM_DEEP = 300.0, 600.0  # mm; the air an arm and its sleeve need to a control
_DEEPEST = 25.0 * INCH  # mm; over what is deeper one does not reach at all
_HABIT = "common practice, no source"


def read_stores(context: Context) -> Iterator[Reading]:
    """Readings of stores that begin too high to reach, and of heavy boxes kept over the shoulder.

    Heights are above the floor one stands on to reach them. What is out of reach altogether is
    not told again as too heavy to lift there.
    """
    rules = context.rules
    for item in context.items:
        if not item.spec.stores:
            continue
        base = item.low[:, 2] - _floor_before(context.layout, item)
        high = rules.top_shelf - base
        if float(high.min()) < -TOUCH:
            source = rules.source("top_shelf")
            yield _told(STORE, item, high, _too_high(item, base, rules.top_shelf), source)
        lift = rules.shoulder - base
        if _lifted(item) and float(lift.min()) < -TOUCH and float(high[0]) >= -TOUCH:
            source = rules.source("shoulder")
            yield _told(LIFT, item, lift, _too_heavy(item, base, rules.shoulder), source)


def _lifted(item: Placed) -> bool:
    """A box taken down to get at what is in it, heavier than is lifted anywhere."""
    stack, weight = item.spec.stack, item.spec.weight
    return stack is not None and bool(stack.on) and weight is not None and weight > _HEAVY


def _floor_before(layout: Layout, item: Placed) -> Floats:
    """(worlds,) level of the floor one stands on to use an item: its zone's, else under it."""
    if item.zones:
        return item.zones[0].level
    low, high = item.low, item.high
    x0, y0, x1, y1 = low[:, 0], low[:, 1], high[:, 0], high[:, 1]
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return level_under(layout.room, np.stack([np.stack(c, axis=1) for c in corners], axis=1))


def _too_high(item: Placed, base: Floats, limit: float) -> str:
    return f"{item.name} begins {mm(base[0])} above the floor, out of reach beyond {mm(limit)}"


def _too_heavy(item: Placed, base: Floats, limit: float) -> str:
    return (
        f"{item.name} ({item.spec.weight:g} kg) is lifted down from {mm(base[0])} above the floor, "
        f"over the shoulder at {mm(limit)}; heavy things belong between 700 and 1200"
    )


def _told(check: str, item: Placed, gap: Floats, says: str, source: str) -> Reading:
    middle = (item.low[0] + item.high[0]) / 2.0
    at = place(np.array([middle[0], middle[1], item.low[0, 2]]))
    return Reading(
        check=check,
        items=(item.name,),
        gap=gap,
        detail=lambda: Detail(says=says, at=at),
        weight=Verdict.CAUTION,
        source=source,
    )


def read_controls(context: Context) -> Iterator[Reading]:
    """Readings of controls an arm does not get to, or only over something deep.

    The arm's air is 300 wide and high and 600 deep; it need not be centred on the control but
    takes it in. What someone moves aside with one hand does not count as in the way.
    """
    for item, control in _looked_at(context):
        for reading in (
            *_access(context, item, control),
            *_reached_over(context, item, control),
        ):
            if context.wanted(*reading.items):
                yield reading


def _looked_at(context: Context) -> list[tuple[Placed, ControlSpec]]:
    """The controls of what is in focus, and those it comes near the front of, in plan."""
    layout, focus = context.layout, context.focus
    every = _controls(layout)
    if focus is None or not every:
        return every
    ways = as_before(layout, "arms before", _with_controls, _arms_before)
    plan = np.concatenate([ways[item] for item in _with_controls(layout)])
    near = may_matter(layout, focus, plan[:, 0], plan[:, 1]).tolist()
    return [pair for pair, may in zip(every, near, strict=True) if may or pair[0].name in focus]


def _with_controls(layout: Layout) -> list[Placed]:
    return [item for item in layout.items if item.spec.controls]


def _controls(layout: Layout) -> list[tuple[Placed, ControlSpec]]:
    return [(item, control) for item in _with_controls(layout) for control in item.spec.controls]


def _arms_before(layout: Layout, items: list[Placed]) -> list[Floats]:
    """(controls, 2, 2) plan bounds of an arm's way at each control of some items."""
    return [
        np.array(
            [
                [bound[:2] for bound in _arms(layout, item, control, [0], _ARM_WIDE + 1.0)]
                for control in item.spec.controls
            ]
        )
        for item in items
    ]


def _access(context: Context, item: Placed, control: ControlSpec) -> Iterator[Reading]:
    layout = context.layout
    aside = _aside(layout, item)
    own = alike(layout.worlds, (*item_arrays([item]), *room_arrays(layout.room)))
    worlds = sorted(set(own.tolist()))
    if _surely_reached(layout, item, control, aside, worlds):
        return
    # What narrows the way to less than an arm lies within an arm of the control.
    width, _ = _arm_by_world(layout, item, control, aside, (worlds, _ARM_WIDE + 1.0))
    if float(width.min()) >= _ARM_WIDE - TOUCH:
        return
    width, names = _arm_by_world(layout, item, control, aside, (worlds, np.inf))
    between = " and ".join(names)
    says = f"{control.name} of {item.name}: {mm(width[0])} free for an arm"
    if between:
        says += f", taken by {between}" if width[0] <= TOUCH else f", between {between}"
    yield Reading(
        check=ACCESS,
        items=(item.name, *names),
        gap=width,
        needs=_ARM_WIDE,
        detail=_later(item, control, f"{says}; {mm(_ARM_WIDE)} asked for, {mm(_ARM_DEEP)} deep"),
        weight=Verdict.CAUTION,
        source=_HABIT,
    )


def _arm_by_world(
    layout: Layout,
    item: Placed,
    control: ControlSpec,
    aside: frozenset[str],
    looked: tuple[list[int], float],
) -> tuple[Floats, tuple[str, ...]]:
    """(worlds,) free width for an arm, mm, and what ends it in the nominal world.

    looked : worlds, one of each kind of the item's own, and how far off along the strip to look
    """
    near = near_box(layout, *_arms(layout, item, control, *looked))
    same = alike(layout.worlds, (*item_arrays([item, *near.items]), *room_arrays(near.room)))
    found = {w: _arm(near, item, control, aside, w) for w in sorted(set(same.tolist()))}
    return np.array([found[int(world)][0] for world in same]), found[0][1]


def _surely_reached(
    layout: Layout, item: Placed, control: ControlSpec, aside: frozenset[str], worlds: list[int]
) -> bool:
    """Whether bounds alone show room for an arm in every world; worlds : one of each kind."""
    for world in worlds:
        strip, at = _control_strip(item, control, world)
        height = _height(item, control, world)
        floors = [float(floor.level.max()) for floor in layout.room.floors]
        # The arm is no lower than the floor before it, whichever that is.
        levels = {max(height - _ARM_WIDE / 2.0, *floors), height - _ARM_WIDE / 2.0}
        band = Band(_ARM_DEEP, min(levels), max(levels) + _ARM_WIDE)
        taken = surely_within(layout, aside, strip, band, world)
        runs = free_runs(taken, strip.width)
        if not any(a <= at <= b and b - a >= _ARM_WIDE for a, b, _, _ in runs):
            return False
    return True


def _arm(
    layout: Layout, item: Placed, control: ControlSpec, aside: frozenset[str], world: int
) -> tuple[float, tuple[str, ...]]:
    """Free width for an arm at a control, mm, and what ends it; 0 when something covers it."""
    strip, at = _control_strip(item, control, world)
    height = _height(item, control, world)
    floor = strip.level(layout.room, _ARM_DEEP, world)
    low = max(height - _ARM_WIDE / 2.0, floor)
    band = Band(_ARM_DEEP, low, low + _ARM_WIDE)
    taken = list(stretches(layout, aside, strip, band, world))
    for left, right, before, after in free_runs(taken, strip.width):
        if left - TOUCH <= at <= right + TOUCH:
            return right - left, tuple(dict.fromkeys(n for n in (before, after) if n))
    return 0.0, tuple(dict.fromkeys(n for n, low, high in taken if low <= at <= high))


def _arms(
    layout: Layout, item: Placed, control: ControlSpec, worlds: list[int], far: float
) -> tuple[Floats, Floats]:
    """Bounds, (3,) and (3,), of all that is looked at for an arm at a control in any world."""
    top = max(float(floor.level.max()) for floor in layout.room.floors)
    boxes = []
    for world in worlds:
        height = _height(item, control, world)
        low, high = height - _ARM_WIDE, max(height, top) + _ARM_WIDE
        strip, at = _control_strip(item, control, world)
        left, right = max(at - far, -FAR), min(at + far, strip.width + FAR)
        plan = strip.rectangle(left, right, _ARM_DEEP)
        boxes.append((np.append(plan.min(axis=0), low), np.append(plan.max(axis=0), high)))
    return np.min([box[0] for box in boxes], axis=0), np.max([box[1] for box in boxes], axis=0)


def _control_strip(item: Placed, control: ControlSpec, world: int) -> tuple[Strip, float]:
    """The strip before the control's face, and where along it the control is, mm."""
    strip = item_strip(item, control.side, world)
    return strip, strip.width / 2.0 if control.shift is None else float(control.shift)


def _height(item: Placed, control: ControlSpec, world: int) -> float:
    return float(item.origin[min(world, len(item.origin) - 1), 2]) + float(control.height)


def _aside(layout: Layout, item: Placed) -> frozenset[str]:
    """Names that do not stand in an arm's way: itself, its own stack, what one hand moves."""
    bottom = layout.bottom_of(item.name)
    return layout.kept(
        ("aside", bottom),
        lambda layout: frozenset(
            other.name
            for other in layout.items
            if layout.bottom_of(other.name) == bottom
            or (other.spec.weight is not None and other.spec.weight < LIGHT and not other.stays)
        ),
    )


def _reached_over(context: Context, item: Placed, control: ControlSpec) -> Iterator[Reading]:
    """A reading where something lower stands before a control: how high one reaches over it."""
    layout, over = context.layout, context.rules.step_over
    nominal = _deepest_before(layout, item, control, over, 0)
    if nominal is None:
        return
    every = (item_arrays(layout.items), room_arrays(layout.room))
    same = alike(layout.worlds, (array for arrays in every for array in arrays))

    def spare(world: int) -> float:
        return _spare(_deepest_before(layout, item, control, over, world) or ("", 0.0, 0.0))

    gap = by_world(same, spare)
    if float(gap.min()) >= -TOUCH:
        return
    name, deep, height = nominal
    says = f"{control.name} of {item.name}, {mm(height)} above the floor, is reached over {name}"
    limit = forward_reach_over(deep)
    told = "too deep to reach over" if limit is None else f"reached over up to {mm(limit)}"
    yield Reading(
        check=OVER,
        items=(item.name, name),
        gap=gap,
        detail=_later(item, control, f"{says}: {mm(deep)} deep, {told} by someone seated"),
        weight=Verdict.CAUTION,
        source=REACH_SOURCE,
    )


def _spare(before: Stretch) -> float:
    """How much lower than the limit a control is, mm; how much too deep, where there is none."""
    _, deep, height = before
    limit = forward_reach_over(deep)
    return _DEEPEST - deep if limit is None else limit - height


def _deepest_before(
    layout: Layout, item: Placed, control: ControlSpec, step_over: float, world: int
) -> Stretch | None:
    """The body lower than a control that reaches out furthest before it: name, depth, height.

    depth : from the control's face to the far edge; height : of the control above the floor
    beyond. What one can stand in front of, an arm's length off the face, is not reached over.
    """
    strip, at = _control_strip(item, control, world)
    height = _height(item, control, world)
    top = height - _ARM_WIDE / 2.0
    best: Stretch | None = None
    aside, parts = _aside(layout, item), extents_of(layout)
    lows, highs = (each[min(world, len(each) - 1)] for each in (parts.low, parts.high))
    reaches = (lows[:, 2] <= top + TOUCH) & _comes_in(strip, at, lows, highs)
    if not reaches.any():
        return None
    floor = strip.level(layout.room, _ARM_DEEP, world)
    reaches &= highs[:, 2] > floor + step_over
    for number in np.flatnonzero(reaches).tolist():
        other = layout.items[int(parts.owner[number])]
        if other.spec.passable or other.name in aside:
            continue
        solid = parts.solids[number].world(min(world, parts.solids[number].worlds - 1))
        own = strip.own(solid.corners[0, :, :2])
        (left, near), (right, far) = own.min(axis=0), own.max(axis=0)
        beside = right <= at - _ARM_WIDE / 2.0 + TOUCH or left >= at + _ARM_WIDE / 2.0 - TOUCH
        if beside or far <= TOUCH or near >= _ARM_DEEP - TOUCH:
            continue
        if float(solid.high[0, 2]) > top + TOUCH:
            continue
        if best is None or far > best[1]:
            best = (other.name, float(far), height - floor)
    return best


def _comes_in(strip: Strip, at: float, low: Floats, high: Floats) -> NDArray[np.bool_]:
    """(n,) which bounds (n, 3) come into an arm's way at a place along a face."""
    along, out = span_of(low - [*strip.corner, 0.0], high - [*strip.corner, 0.0], strip)
    half = _ARM_WIDE / 2.0
    beside = (along[1] < at - half) | (along[0] > at + half)
    return np.asarray(~beside & (out[1] > 0.0) & (out[0] < _ARM_DEEP))


def _later(item: Placed, control: ControlSpec, says: str) -> Callable[[], Detail]:
    def told() -> Detail:
        strip, at = _control_strip(item, control, 0)
        x, y = strip.room(np.array([[at, 0.0]]))[0]
        return Detail(says=says, at=place(np.array([x, y, _height(item, control, 0)])))

    return told
