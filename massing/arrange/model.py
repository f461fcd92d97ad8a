"""A scheme compiled once for searching: a project in, units, their places and the room out.

Bodies are boxed: each convex part becomes the upright box about it in its item's own frame, never
smaller than the part. What moves (doors, drawers, lids) becomes the box about its sweep. So the
search may refuse a place that would do, and what it finds is still checked by every rule.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.arrange.arrays import CEILING, FIXED, FLOOR, WALL, Record, packed
from massing.arrange.building import building_arrays
from massing.arrange.stacks import stand_table
from massing.arrange.uses import leaves_at_once, units_at_once
from massing.arrange.walking import walking_arrays
from massing.arrange.wishes import back_to_wall, highest, loose, near, weights
from massing.checks.context import Context
from massing.checks.rules import Rules, rules_of
from massing.checks.standing import needed
from massing.errors import MassingError
from massing.geometry.outline import outline_of
from massing.geometry.solids import Floats, Ints
from massing.project.project import Arrangement, Project
from massing.room.shape import Fabric
from massing.scheme.ground import level_under
from massing.scheme.layout import Gap, Layout, Motion, Placed
from massing.scheme.place import place
from massing.scheme.sizes import default_half_width_of
from massing.survey.values import Values

__all__ = ["Model", "Unit", "compile_scheme"]

_SIDES = {"front": 0, "back": 1, "left": 2, "right": 3}
_DAILY_LIGHT = 15.0  # kg; lighter things are moved out of a service zone
_FRONT, _FRONT_HIGH = 450.0, 1300.0  # mm; sidestepping and kneeling before a store, as practised


@dataclass(frozen=True, slots=True)
class Unit:
    """What moves as one: the bottom item and what is written to stand on it."""

    name: str
    riders: tuple[str, ...]
    stays: bool


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """A scheme ready to be searched.

    units : items and stacks first, in file order, then the parts of the building's fabric
    pose, on, yaw : where they are in the scheme (see ``arrays.Moving``)
    free : indices of the units that may move; sides (n,) how likely each has its back to a wall
    """

    project: Project
    arrangement: Arrangement
    layout: Layout
    rules: Rules
    units: tuple[Unit, ...]
    fixed: Record
    pose: Floats
    on: Ints
    yaw: Ints
    free: Ints
    sides: Floats


@dataclass(slots=True, eq=False)
class _Parts:
    """Rows gathered unit by unit."""

    boxes: list[list[float]]
    zones: list[list[float]]
    needs: list[float]
    kinds: list[list[int]]
    leaves: list[int]
    air: list[list[float]]
    air_kinds: list[int]
    feet: list[list[float]]
    offsets: list[tuple[int, int, int, int]]


def compile_scheme(project: Project, scheme: str | None) -> Model:
    """Compile one scheme; nominal sizes. Raises MassingError when nothing in it may move."""
    layout = place(project, scheme, Values(default=default_half_width_of(project)))
    arrangement = project.arrangement(scheme)
    rules = rules_of(project)
    units = _units(layout, arrangement)
    if all(unit.stays for unit in units):
        raise MassingError(f"nothing in '{arrangement.name}' may move: all of it stays")
    rows = _Parts([], [], [], [], [], [], [], [], [(0, 0, 0, 0)])
    poses, bounds, mounts = [], [], []
    context = Context(layout, rules, 0.0)
    for unit in units:
        bottom = layout.item(unit.name)
        frame = _frame(bottom)
        bounds.append(_box_of([part.solid.corners[0] for part in bottom.parts], frame))
        for name in (unit.name, *unit.riders):
            _add_item(rows, layout.item(name), frame, context)
        _end_unit(rows)
        poses.append(frame)
        mounts.append(_mount(bottom, stays=unit.stays))
    fabric = [(f, n) for f in layout.room.fabric for n in range(len(f.parts))]
    for piece, number in fabric:
        frame = _fabric_frame(piece, number)
        box = _box_of([piece.parts[number].corners[0]], frame)
        bounds.append(box)
        rows.boxes.append(box)
        _end_unit(rows)
        poses.append(frame)
        mounts.append(FIXED)
    every = (*units, *(Unit(f.name, (), stays=True) for f, _ in fabric))
    fixed = _fixed(rows, np.array(bounds), np.array(mounts), every, (project, layout, rules))
    pose = np.array(poses)
    return Model(
        project=project,
        arrangement=arrangement,
        layout=layout,
        rules=rules,
        units=every,
        fixed=fixed,
        pose=pose,
        on=_standing(layout, units, len(every)),
        yaw=_yaws(pose, fixed["yaws"][0][: 4 * len(layout.room.walls)]),
        free=np.array([k for k, unit in enumerate(every) if not unit.stays], dtype=np.int64),
        sides=back_to_wall(layout, [unit.name for unit in units], len(every)),
    )


def _units(layout: Layout, arrangement: Arrangement) -> tuple[Unit, ...]:
    """Bottoms with what rides on them; things alike that are stacked may be taken apart."""
    riders: dict[str, list[str]] = {}
    bottoms: list[str] = []
    for name, spec in arrangement.placements:
        item = layout.item(name)
        if item.mounted == "on" and not item.stays:
            below = layout.item(item.footing)
            root = below
            while root.mounted == "on" and not root.stays:
                root = layout.item(root.footing)
            if not root.stays and below.spec.name != item.spec.name:
                riders.setdefault(_owner(layout, below.name), []).append(name)
                continue
        del spec
        bottoms.append(name)
    return tuple(
        Unit(name, tuple(riders.get(name, ())), layout.item(name).stays) for name in bottoms
    )


def _owner(layout: Layout, name: str) -> str:
    """The bottom of the unit an item belongs to."""
    item = layout.item(name)
    while item.mounted == "on":
        below = layout.item(item.footing)
        if below.spec.name == item.spec.name or below.stays:
            break
        item = below
    return item.name


def _frame(item: Placed) -> list[float]:
    yaw = float(item.yaw[0])
    c, s = math.cos(yaw), math.sin(yaw)
    c, s = (round(v) + 0.0 if abs(v - round(v)) < 1e-15 else v for v in (c, s))
    x, y, z = item.origin[0]
    return [float(x), float(y), c, s, float(z)]


def _fabric_frame(fabric: Fabric, number: int) -> list[float]:
    """A frame along the longest side of a part in plan, so that a skew wall is boxed tightly."""
    ring = outline_of(fabric.parts[number])[0]
    ways = np.roll(ring, -1, axis=0) - ring
    way = ways[int(np.argmax(np.round(np.linalg.norm(ways, axis=1), 6)))]
    way = way / np.linalg.norm(way)
    return [float(ring[0, 0]), float(ring[0, 1]), float(way[0]), float(way[1]), 0.0]


def _own(points: Floats, frame: list[float]) -> Floats:
    """Points (n, 2 or 3) of the room in a frame."""
    x, y, c, s, z = frame
    dx, dy = points[:, 0] - x, points[:, 1] - y
    flat = [c * dx + s * dy, c * dy - s * dx]
    return np.stack([*flat, points[:, 2] - z] if points.shape[1] == 3 else flat, axis=1)


def _box_of(points: list[Floats], frame: list[float]) -> list[float]:
    own = np.round(_own(np.concatenate(points), frame), 7) + 0.0
    return [*map(float, own.min(axis=0)), *map(float, own.max(axis=0))]


def _add_item(rows: _Parts, item: Placed, frame: list[float], context: Context) -> None:
    boxes = [_box_of([part.solid.corners[0]], frame) for part in item.parts]
    rows.boxes += boxes
    for zone in item.zones:
        own = _own(zone.polygon[0], frame)
        rows.zones.append([*map(float, own.min(axis=0)), *map(float, own.max(axis=0))])
        rows.needs.append(float(needed(context, zone)[0]))
        asked = not (zone.posture == "none" and zone.headroom is None)
        walked = zone.kind == "person" and zone.posture != "none"
        rows.kinds.append([int(zone.kind == "service"), int(asked), int(walked)])
        rows.leaves.append(leaves_at_once(context.layout, item.name))
    if item.spec.stores and not item.zones and not item.stays:
        (x0, y0, _), (x1, _, _) = (
            np.min([b[:3] for b in boxes], 0),
            np.max([b[3:] for b in boxes], 0),
        )
        rows.zones.append([float(x0), float(y0) - _FRONT, float(x1), float(y0)])
        rows.needs.append(_FRONT_HIGH)
        rows.kinds.append([0, 2, 0])
        rows.leaves.append(0)
    for gap in item.gaps:
        rows.air.append(_box_of([gap.solid.corners[0]], frame))
        rows.air_kinds.append({"top": 1, "under": 2}.get(gap.side, 0))
    for motion in item.motions:
        if motion.kind != "rise":
            rows.air.append(_box_of([_swept(motion)], frame))
            rows.air_kinds.append(3)


def _swept(motion: Motion) -> Floats:
    """Points of a part on its way to what it needs: ends of a slide, or turned by small steps."""
    corners = motion.solid.corners[0]
    full = float(np.broadcast_to(motion.full, (1,))[0])
    far = full if motion.needs is None else min(full, motion.needs)
    if motion.turn_about is None:
        share = far / full if full > 0 else 0.0
        slide = np.zeros(3) if motion.slide is None else motion.slide[0]
        return np.concatenate([corners, corners + share * slide])
    if motion.needs is None:
        far = min(full, math.pi / 2)
    about, axis = motion.turn_about[0], np.broadcast_to(motion.axis, (1, 3))[0]
    arm = corners - about
    rise = (arm @ axis)[:, None] * axis
    flat, aside = arm - rise, np.cross(axis, arm)
    # A step of 5 degrees misses less than 1 mm of the arc of a metre.
    turns = np.linspace(0.0, far, max(int(far / math.radians(5.0)) + 1, 2))
    return np.concatenate([about + rise + math.cos(t) * flat + math.sin(t) * aside for t in turns])


def _end_unit(rows: _Parts) -> None:
    first = rows.offsets[-1][0]
    rows.feet += _feet(rows.boxes[first:])
    sizes = (len(rows.boxes), len(rows.zones), len(rows.air), len(rows.feet))
    rows.offsets.append(sizes)


def _feet(boxes: list[list[float]]) -> list[list[float]]:
    """Disjoint rectangles that cover the boxes in plan, each with the lowest body over it."""
    xs = sorted({b[k] for b in boxes for k in (0, 3)})
    ys = sorted({b[k] for b in boxes for k in (1, 4)})
    found: list[list[float]] = []
    for y0, y1 in pairwise(ys):
        for x0, x1 in pairwise(xs):
            over = [b[2] for b in boxes if b[0] <= x0 and b[3] >= x1 and b[1] <= y0 and b[4] >= y1]
            if not over:
                continue
            last = found[-1] if found else None
            if last and last[2] == x0 and last[1] == y0 and last[4] == min(over):
                last[2] = x1
            else:
                found.append([x0, y0, x1, y1, min(over)])
    return found


def _mount(item: Placed, *, stays: bool) -> int:
    if stays:
        return FIXED
    return {"wall": WALL, "ceiling": CEILING}.get(item.footing, FLOOR)


def _fixed(
    rows: _Parts,
    bounds: Floats,
    mounts: Ints,
    units: tuple[Unit, ...],
    about: tuple[Project, Layout, Rules],
) -> Record:
    project, layout, rules = about
    offsets = np.array(rows.offsets, dtype=np.int64)
    items = {item.name: item for item in layout.items}
    held = [items.get(unit.name) for unit in units]
    zones_at = offsets[:, 1]
    values = dict(
        boxes=_table(rows.boxes, 6),
        box_at=offsets[:, 0].copy(),
        bounds=bounds,
        zones=_table(rows.zones, 4),
        zone_needs=np.array(rows.needs, dtype=np.float64),
        zone_kind=np.array(rows.kinds, dtype=np.int64).reshape(-1, 3),
        zone_leaves=np.array(rows.leaves, dtype=np.int64),
        at_once=units_at_once(layout, [(u.name, *u.riders) for u in units]),
        zone_at=zones_at.copy(),
        air=_table(rows.air, 6),
        air_kind=np.array(rows.air_kinds, dtype=np.int64),
        air_at=offsets[:, 2].copy(),
        feet=_table(rows.feet, 5),
        feet_at=offsets[:, 3].copy(),
        mount=mounts.astype(np.int64),
        light=_flags(
            i is not None
            and i.spec.weight is not None
            and i.spec.weight < _DAILY_LIGHT
            and not i.stays
            for i in held
        ),
        passable=_flags(i is not None and i.spec.passable for i in held),
        shallow=_flags(bool(min(b[3] - b[0], b[4] - b[1]) <= 400.0) for b in bounds),
        side_gap=np.array([_side_gaps(i.gaps if i else ()) for i in held]),
        may_stand=stand_table(layout, [(u.name, u.stays, bool(u.riders)) for u in units]),
        weight_of=np.array(
            [
                [
                    int(i is not None and any(z.kind == "person" for z in i.zones)),
                    int(i is not None and i.spec.wet),
                    int(i is not None and i.spec.stores),
                ]
                for i in held
            ],
            dtype=np.int64,
        ),
        weights=weights(project),
        highest=np.array([highest(i, rules) for i in held]),
        loose=np.array([loose(i) for i in held]),
        hung_at=np.array([_hung_at(i, layout) for i in held]),
        near=near(held, float(weights(project)[3])),
        n=len(units),
        n_items=sum(i is not None for i in held),
        n_feet=len(rows.feet),
        **building_arrays(layout, rules),
        **walking_arrays(layout, rules),
    )
    values["stackable"] = (np.asarray(values["may_stand"]).any(axis=1)).astype(np.int64)
    return packed(values)


def _hung_at(item: Placed | None, layout: Layout) -> float:
    """How far above the floor something hangs; 0 where it does not."""
    if item is None or item.footing != "wall":
        return 0.0
    (x0, y0, z), (x1, y1, _) = item.low[0], item.high[0]
    ring = np.array([[[x0, y0], [x1, y0], [x1, y1], [x0, y1]]])
    return float(z) - float(level_under(layout.room, ring)[0])


def _table(rows: list[list[float]], width: int) -> Floats:
    return np.array(rows, dtype=np.float64).reshape(-1, width)


def _flags(values: object) -> Ints:
    return np.array([int(v) for v in values], dtype=np.int64)  # type: ignore[attr-defined]


def _side_gaps(gaps: tuple[Gap, ...]) -> list[float]:
    found = [0.0] * 4
    for gap in gaps:
        if gap.side in _SIDES:
            found[_SIDES[gap.side]] = float(np.broadcast_to(gap.depth, (1,))[0])
    return found


def _standing(layout: Layout, units: tuple[Unit, ...], count: int) -> Ints:
    """Index of the unit each stands on in the scheme, or -1."""
    numbers = {unit.name: k for k, unit in enumerate(units)}
    found = np.full(count, -1, dtype=np.int64)
    for k, unit in enumerate(units):
        item = layout.item(unit.name)
        if item.mounted == "on" and not unit.stays:
            found[k] = numbers.get(item.footing, -1)
    return found


def _yaws(pose: Floats, yaws: Floats) -> Ints:
    """Row of the table of yaws each pose has, or -1."""
    far = np.abs(pose[:, None, 2:4] - yaws[None]).max(axis=2)
    nearest = far.argmin(axis=1)
    return np.where(far[np.arange(len(pose)), nearest] < 1e-9, nearest, -1).astype(np.int64)
