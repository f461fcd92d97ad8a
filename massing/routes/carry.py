"""Can an item be carried in to its place, and how: a layout and its name in, a path out.

The thing moves level and rigid; it may be turned, lifted to another level, laid down and tilted
up on the spot. Each way of holding it at each level is a pose with its own footprint and its own
obstacles: what stands between its bottom and its top, and where the ceiling is lower than it. A
path found is exact; "no path at this resolution" is not a proof that there is none. A doorway
too narrow or too low for every way of holding it is a proof, and needs no search.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from massing.checks.words import mm
from massing.geometry.carry import CarryPath, Effort
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.routes.plan import Doorway, doorway_of, outer_doors, without_riders
from massing.routes.search import PLACE, Held, Stage, search, stages, tightest
from massing.routes.thing import HEAVY, Hold, holds_of, least_width, widened
from massing.scheme.layout import Layout, Placed

__all__ = ["EFFORT", "Asked", "CarryAnswer", "carry_in"]

EFFORT = Effort(levels=((20.0, 72),), most_nodes=60_000_000)
"""How finely a route is searched: 20 mm and 5 degrees."""
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


def carry_in(
    layout: Layout, name: str, asked: Asked | None = None, effort: Effort = EFFORT
) -> CarryAnswer:
    """Search a way from outside through a door to an item's place, in the nominal world.

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
    reach = 2.0 * max(hold.radius for hold in holds) + asked.knuckles + 700.0
    possible = False
    for door in doors:
        way = doorway_of(rest, door, hall=asked.hall, reach=reach)
        closed = _too_small(way, holds, asked.knuckles / 2.0)
        if closed:
            notes.append(f"{door.name}: {closed}")
            continue
        possible = True
        tried: dict[str, str] = {}
        for stage in stages(rest, item, way, holds):
            margin = asked.knuckles / 2.0
            found, poses = search(rest, item, way, stage, margin, effort)
            if found.found:
                best = (0.0, (found, poses))
                if asked.roomy:
                    best = _roomier(rest, item, way, stage, margin, effort, (found, poses))
                return _answer(item, way, best, notes)
            tried[found.says] = stage.says
        told = "; ".join(f"{says}, {stage}" for says, stage in tried.items())
        notes.append(f"{door.name}: {told}")
    if not doors:
        return CarryAnswer(name, False, "impossible", f"no door leads to {name}", tuple(notes))  # noqa: FBT003
    proof = "none at this resolution" if possible else "impossible"
    words = "no way in found for" if possible else "there is no way in for"
    return CarryAnswer(name, False, proof, f"{words} {name}", tuple(notes))  # noqa: FBT003


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


_Found = tuple[CarryPath, list[Held]]


def _roomier(
    layout: Layout,
    item: Placed,
    way: Doorway,
    stage: Stage,
    margin: float,
    effort: Effort,
    found: _Found,
) -> tuple[float, _Found]:
    """The way that keeps most to each side among the sizes tried, by halving."""
    best: tuple[float, _Found] = (0.0, found)
    low, high = 0, len(_SPARES)
    while low < high:
        middle = (low + high) // 2
        spare = _SPARES[middle]
        wider = search(layout, item, way, stage, margin + spare, effort)
        if wider[0].found:
            best, low = (spare, wider), middle + 1
        else:
            high = middle
    return best


def _answer(
    item: Placed, way: Doorway, best: tuple[float, _Found], notes: list[str]
) -> CarryAnswer:
    spare, (found, poses) = best
    tight = tightest(found, poses)
    used = list(dict.fromkeys(found.poses))
    ways = " and ".join(dict.fromkeys(name.split(",")[0] for name in used if name != PLACE))
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
        footprints=tuple((h.pose.name, h.rings) for h in poses if h.pose.name in used),
        spare=spare,
        gap=tight.gap,
        where=tight.where,
        against=tight.against,
        way=way,
    )
