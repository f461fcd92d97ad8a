"""Can an item be carried in to its place, and how: a layout and its name in, a path out.

The thing moves level and rigid; it may be turned, lifted to another level, laid down and tilted
up on the spot. Each way of holding it at each level is a pose with its own footprint and its own
obstacles: what stands between its bottom and its top, and where the ceiling is lower than it. A
path found is exact; "none found" is not a proof that there is none. A doorway
too narrow or too low for every way of holding it is a proof, and needs no search.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from massing.checks.words import mm
from massing.geometry.carry.bound import CarryBound
from massing.geometry.carry.search import NOT_HOME, CarryPath, Effort
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.routes.plan import Doorway, Scene, doorway_of, outer_doors, without_riders
from massing.routes.search import Build, Held, Stage, build, stages, tightest
from massing.routes.thing import HEAVY, Hold, holds_of, least_width, widened
from massing.routes.tilts import leans_of
from massing.scheme.layout import Layout, Placed

__all__ = ["EFFORT", "Asked", "CarryAnswer", "carry_in"]

EFFORT = Effort(levels=((40.0, 48), (20.0, 72)), most_nodes=120_000_000)
"""How finely a route is searched: 40 mm and 7.5 degrees; where that finds none, 20 mm and 5."""
_SWING = 260.0  # mm of open ground beyond twice its own reach; the greatest spare, and a little
_SCOUT = (50.0, 36)
"""Step, mm, and turns to look for the tightest place on, where a finer lattice gave the proof."""
_SPARES = (5.0, 10.0, 25.0, 50.0, 100.0)  # mm each side, tried once a way is found


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a route.

    hall : width of the hall outside, mm, None for open ground; empty : only what stays is there
    tilting : whether it may be laid down, None for by its weight
    through : name of the one door to use, None for any
    knuckles : width for hands, mm, both sides together
    roomy : also look how much the way keeps to each side; a few searches more
    """

    hall: float | None = None
    empty: bool = False
    tilting: bool | None = None
    through: str | None = None
    knuckles: float = 0.0
    roomy: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class CarryAnswer:
    """How an item comes in, or why not.

    says : one line; notes : what was tried at each door, and what was taken for granted
    proof : "path" when found, "impossible" by closed form, else "none at this resolution"
    path : (k, 3) x, y, mm, and turn, radians, of the item's middle; poses : its pose at each row
    footprints : plan rings of each pose about the middle
    spare : mm to each side the whole way can keep, as far as was tried (5 to 100)
    gap : the tightest before it is pushed home, mm; where : (2,); against : what is met there
    missing : where there is shown to be none, what the way that lacks least lacks to each side at
        least, mm, at ``where``
    """

    item: str
    found: bool
    proof: str
    says: str
    notes: tuple[str, ...]
    door: str = ""
    path: Floats | None = None
    poses: tuple[str, ...] = ()
    footprints: tuple[tuple[str, tuple[Floats, ...]], ...] = ()
    spare: float = 0.0
    gap: float = float("nan")
    where: Floats | None = None
    against: str = ""
    way: Doorway | None = None
    missing: float = float("nan")


def carry_in(
    layout: Layout, name: str, asked: Asked | None = None, effort: Effort = EFFORT
) -> CarryAnswer:
    """Search a way from outside through a door to an item's place, in the nominal world.

    effort : lattices to search, coarse to fine; a path on any of them is one, and only where none
        is found is the next tried
    Raises KeyError for an item that is not in the layout.
    """
    asked = asked or Asked()
    item = layout.item(name)
    tilting = asked.tilting
    if tilting is None:
        tilting = item.spec.weight is None or float(item.spec.weight) <= HEAVY
    holds = _usable(layout, holds_of(item, tilting=tilting))
    rest = without_riders(layout, name, empty=asked.empty)
    doors = [d for d in outer_doors(layout) if asked.through in {None, d.name}]
    notes = list(_notes(item, asked, tilting=tilting, doors=len(doors)))
    reach = 2.0 * max(hold.radius for hold in holds) + asked.knuckles + _SWING
    refused: list[_Refusal] = []
    for door in doors:
        way = doorway_of(rest, door, hall=asked.hall, reach=reach)
        closed = _too_small(way, holds, asked.knuckles / 2.0)
        if closed:
            notes.append(f"{door.name}: {closed}")
            continue
        found = _through(Scene(rest, way), item, holds, asked, effort)
        if isinstance(found, _Found):
            return _answer(item, way, found, notes)
        notes.append(f"{door.name}: {found.says}")
        refused.append(found)
    return _refused(name, doors=len(doors), refused=refused, notes=tuple(notes))


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    path: CarryPath
    poses: list[Held]
    spare: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Refusal:
    """Why not by one door: in words, whether that is proved, and what lacks least where.

    level : it is proved held level, but not tilted
    """

    says: str
    proved: bool
    level: bool = False
    missing: float = float("nan")
    where: Floats | None = None
    against: str = ""


def _through(
    scene: Scene, item: Placed, holds: tuple[Hold, ...], asked: Asked, effort: Effort
) -> _Found | _Refusal:
    """The way in by one door.

    The quick search first, then whether it can be shown that there is none held level, and only
    then everything, ever more finely; a long thing is tilted where it is of no use held level.
    """
    steps = stages(item, scene, holds)
    quick = _searched(scene, item, steps[:1], asked, effort.levels[:1], effort)
    if isinstance(quick, _Found) or quick.says == NOT_HOME:
        return quick
    held = _shown_shut(scene, item, steps[-1], effort)
    if held is None:
        level = _searched(scene, item, steps, asked, effort.levels, effort)
        if isinstance(level, _Found):
            return level
        held = level
    leans = () if len(holds) == 1 else leans_of(item, holds[0], _heights(scene))
    if not leans:
        return held
    tilted = Stage((*holds, *leans), steps[0].levels)
    last = _searched(scene, item, (tilted,), asked, effort.levels, effort)
    if isinstance(last, _Found):
        return last
    return replace(held, proved=False, level=held.proved, says=f"{held.says}; {last.says}")


def _heights(scene: Scene) -> tuple[float, ...]:
    """What a tilted thing has to pass below: the head of the doorway, and the ceiling."""
    room, way = scene.layout.room, scene.way
    floor = max(float(piece.level[0]) for piece in room.floors)
    roof = max(float(piece.height(piece.polygon)[0].max()) for piece in room.ceilings)
    return (roof - floor, way.head - max(way.sill, floor))


def _searched(
    scene: Scene,
    item: Placed,
    steps: Sequence[Stage],
    asked: Asked,
    levels: Sequence[tuple[float, int]],
    effort: Effort,
) -> _Found | _Refusal:
    """The first way found by any of the stages on any of the lattices, coarse to fine."""
    tried: dict[str, str] = {}
    for step, turns in levels:
        for stage in steps:
            made = build(scene, item, stage, asked.knuckles / 2.0)
            path = made.path(step, turns, effort.most_nodes)
            if path.found:
                found = _Found(path, made.poses)
                return _roomier(scene, item, stage, asked, found) if asked.roomy else found
            if path.says == NOT_HOME:
                return _Refusal(path.says, proved=True)
            if path.step > 0.0 or not tried:
                tried[path.says] = stage.says
    return _Refusal("; ".join(f"{says}, {stage}" for says, stage in tried.items()), proved=False)


def _shown_shut(scene: Scene, item: Placed, stage: Stage, effort: Effort) -> _Refusal | None:
    """A proof that there is no way with everything tried at once, where a lattice gives one."""
    made = build(scene, item, stage, 0.0)
    for level in effort.levels:
        scout = level if level == effort.levels[0] else _SCOUT
        bound = made.bound((level, scout), effort.most_nodes)
        if bound is not None and bound.shut:
            return _shut(made, bound, stage)
    return None


def _shut(made: Build, bound: CarryBound, stage: Stage) -> _Refusal:
    """A proof that there is no way, in words."""
    lattice = f"shown at every {bound.step:g} mm and {math.degrees(bound.turn):g}°"
    says = f"no way {stage.says}"
    if bound.pose < 0 or bound.where is None:
        return _Refusal(f"{says} ({lattice})", proved=True, missing=bound.missing)
    held = made.poses[bound.pose]
    names = list(dict.fromkeys(held.names[owner] for owner in bound.against))[:2]
    against = " and ".join(names)
    x, y = (mm(round(float(v), -1)) for v in bound.where)
    least = bound.missing >= 0.05
    between = f"between {against}" if len(names) > 1 else f"beside {against}"
    lacks = f"the widest lacks {mm(bound.missing)} or more each side" if least else "shut"
    says += f": {lacks} {between} near {x}, {y} ({lattice})"
    return _Refusal(says, proved=True, missing=bound.missing, where=bound.where, against=against)


def _refused(
    name: str, *, doors: int, refused: list[_Refusal], notes: tuple[str, ...]
) -> CarryAnswer:
    """No way by any door: proved where it is for each of them."""
    proved = all(each.proved for each in refused)
    proof = "impossible" if proved else "none at this resolution"
    says = f"there is no way in for {name}" if proved else f"no way in found for {name}"
    if not proved and all(each.proved or each.level for each in refused):
        says = f"there is no way in for {name} held level, and none was found for it tilted"
    if not doors:
        says = f"no door leads to {name}"
    told = [each for each in refused if each.where is not None]
    if not told:
        return CarryAnswer(name, False, proof, says, notes)  # noqa: FBT003
    best = min(told, key=lambda each: each.missing)
    return CarryAnswer(
        item=name,
        found=False,
        proof=proof,
        says=says,
        notes=notes,
        missing=best.missing,
        where=best.where,
        against=best.against,
    )


def _notes(item: Placed, asked: Asked, *, tilting: bool, doors: int) -> Iterator[str]:
    """What was taken for granted, in words."""
    if not tilting:
        weight = item.spec.weight
        heavy = f" at {weight:g} kg" if weight is not None and asked.tilting is None else ""
        yield f"carried upright only{heavy}"
    if asked.hall is None and doors:
        yield "open ground taken outside the door"
    if asked.knuckles <= 0.0:
        yield "no width allowed for hands"


def _usable(layout: Layout, holds: tuple[Hold, ...]) -> tuple[Hold, ...]:
    """Upright, and the holds that are no higher than the room is anywhere."""
    room = layout.room
    tops = [piece.height(piece.polygon)[0].max() for piece in room.ceilings]
    tall = float(max(tops)) - min(float(floor.level[0]) for floor in room.floors)
    return (holds[0], *(hold for hold in holds[1:] if hold.height <= tall))


def _too_small(way: Doorway, holds: tuple[Hold, ...], margin: float) -> str:
    """Why no hold passes a doorway, exactly, or nothing."""
    widths = [least_width(widened(hold.rings, margin)) for hold in holds]
    high = way.head - way.sill
    fits = [
        width <= way.clear + TOUCH and hold.height <= high + TOUCH
        for width, hold in zip(widths, holds, strict=True)
    ]
    if any(fits):
        return ""
    thin, low = min(widths), min(hold.height for hold in holds)
    if thin > way.clear + TOUCH:
        wide, clear = _apart(thin, way.clear)
        return f"{wide} wide does not pass a {clear} opening"
    if low > high + TOUCH:
        tall, head = _apart(low, high)
        return f"{tall} high does not pass under a {head} head"
    told = " or ".join(
        f"{mm(width)} wide and {mm(hold.height)} high {hold.name}"
        for width, hold in zip(widths, holds, strict=True)
    )
    return f"{told} does not pass a {mm(way.clear)} x {mm(high)} opening"


def _apart(one: float, other: float) -> tuple[str, str]:
    """Two sizes in words, to hundredths where tenths would show them alike."""
    words = (mm(one), mm(other))
    return words if words[0] != words[1] else (f"{one:.2f}", f"{other:.2f}")


def _roomier(scene: Scene, item: Placed, stage: Stage, asked: Asked, found: _Found) -> _Found:
    """The way that keeps most to each side among the sizes tried, by halving.

    All are tried on the lattice the way itself was found on.
    """
    step, turns = found.path.step, round(2.0 * math.pi / found.path.turn)
    low, high = 0, len(_SPARES)
    while low < high:
        middle = (low + high) // 2
        spare = _SPARES[middle]
        made = build(scene, item, stage, asked.knuckles / 2.0 + spare)
        wider = made.path(step, turns, EFFORT.most_nodes)
        if wider.found:
            found, low = _Found(wider, made.poses, spare), middle + 1
        else:
            high = middle
    return found


def _answer(item: Placed, way: Doorway, got: _Found, notes: list[str]) -> CarryAnswer:
    spare, found, poses = got.spare, got.path, got.poses
    tight = tightest(found, poses)
    used = list(dict.fromkeys(found.poses))
    held = [h.pose.name for name in used for h in poses if h.pose.name == name and h.number >= 0]
    ways = " and ".join(dict.fromkeys(name.split(",")[0] for name in held))
    keeps = f"keeps {mm(spare)} each side, " if spare else ""
    says = (
        f"{item.name} comes in by {way.name}, {ways}: {keeps}tightest {mm(tight.gap)} to "
        f"{tight.against} ({found.says})"
    )
    return CarryAnswer(
        item=item.name,
        found=True,
        proof="path",
        says=says,
        notes=tuple(notes),
        door=way.name,
        path=found.path,
        poses=found.poses,
        footprints=tuple((h.pose.name, _rings(h)) for h in poses if h.pose.name in used),
        spare=spare,
        gap=tight.gap,
        where=tight.where,
        against=tight.against,
        way=way,
    )


def _rings(held: Held) -> tuple[Floats, ...]:
    """The plan rings of a pose, without any width added; its place is the upright's own."""
    more = held.bare.more[:-1] if held.number < 0 else held.bare.more
    return (*held.bare.footprint, *(ring for rings, _ in more for ring in rings))
