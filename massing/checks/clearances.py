"""Is the air each item needs really there: a layout in, clear depths side by side out."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ceiling import ceiling_gap
from massing.checks.context import Context, Group, near_pairs, things_of
from massing.checks.finding import Detail, Push, Reading
from massing.checks.moved import as_before, may_matter
from massing.checks.words import mm, place
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.gaps.signed import directed_depth
from massing.geometry.gaps.vertical import clear_under
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import OutsidePiece, Room
from massing.scheme.extents import bounds_by_world
from massing.scheme.layout import Gap, Layout, Placed

__all__ = ["CHECK", "read", "way_out"]

CHECK = "clearance"
_MARGIN = 10.0  # mm; a clearance met by less than this is worth saying
SOURCE = "the item's own entry: common practice unless its basis says more"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every clearance that something comes into.

    The gap of a reading is the depth left clear, needs the depth asked for; both mm. What the
    item stands on, or what stands on it, is not in its air: a stack is judged as a stack.
    """
    layout = context.layout
    others = things_of(layout)
    held = [(item, gap) for item in layout.items for gap in item.gaps if _asks(gap)]
    held = _asked(context, held)
    airs = [Group(item.name, (gap.solid,)) for item, gap in held]

    def met(other: int, air: int) -> bool:
        item, name = held[air][0], others[other].name
        return context.wanted(item.name, name) and not _stacked(context, item, name)

    found: dict[int, list[Group]] = {}
    for other, air in near_pairs(others, airs, 0.0, met):
        found.setdefault(air, []).append(others[other])
    beside = _beside_walls(layout.room, [gap for _, gap in held])
    clear = _clear_of_shell(layout.room, [gap for _, gap in held], beside)
    for number, (item, gap) in enumerate(held):
        shell = context.wanted(item.name) and not clear[number]
        if not shell and number not in found:
            continue
        way = way_out(item, gap)
        for group in found.get(number, ()):
            depth = _intrusion(gap.solid, group.solids, way)
            yield from _reading(context, item, gap, group.name, depth, way)
        if shell:
            yield from _shell(context, item, gap, way, beside[number])


def _beside_walls(room: Room, gaps: list[Gap]) -> list[list[OutsidePiece]]:
    """The outside regions that the bounds of each air come to in some world."""
    found: list[list[OutsidePiece]] = [[] for _ in gaps]
    if not gaps:
        return found
    low, high = bounds_by_world([gap.solid for gap in gaps], room.worlds)
    for piece in room.outside:
        under, over = piece.polygon.min(axis=1)[:, None], piece.polygon.max(axis=1)[:, None]
        apart = ((low[:, :, :2] > over) | (high[:, :, :2] < under)).any(axis=2).all(axis=0)
        for number in np.flatnonzero(~apart).tolist():
            found[number].append(piece)
    return found


def _clear_of_shell(room: Room, gaps: list[Gap], beside: list[list[OutsidePiece]]) -> list[bool]:
    """Whether bounds alone show each air clear of what of the shell is looked at on its side."""
    found = [gap.side == "under" or not near for gap, near in zip(gaps, beside, strict=True)]
    tops = [number for number, gap in enumerate(gaps) if gap.side == "top"]
    if tops:
        low, high = bounds_by_world([gaps[number].solid for number in tops], room.worlds)
        above = np.min([clear_under(low, high, piece.planes) for piece in room.ceilings], axis=0)
        for number, top in zip(tops, (above > _MARGIN + TOUCH).tolist(), strict=True):
            found[number] = top
    return found


def _asked(context: Context, held: list[tuple[Placed, Gap]]) -> list[tuple[Placed, Gap]]:
    """The airs that are asked about: all, or what is in focus has, and what it may come into."""
    layout, focus = context.layout, context.focus
    if focus is None or not held:
        return held
    known = as_before(layout, "bounds of airs", _airs, _bounds)
    ends = np.array([known[gap] for _, gap in held])
    near = may_matter(layout, focus, ends[:, 0], ends[:, 1]).tolist()
    return [each for each, may in zip(held, near, strict=True) if may or each[0].name in focus]


def _airs(layout: Layout) -> list[Gap]:
    return [gap for item in layout.items for gap in item.gaps]


def _bounds(layout: Layout, gaps: list[Gap]) -> list[Floats]:
    """(2, 3) least and greatest corner of the air of each over all worlds."""
    low, high = bounds_by_world([gap.solid for gap in gaps], layout.worlds)
    return list(np.stack([low.min(axis=0), high.max(axis=0)], axis=1))


def _asks(gap: Gap) -> bool:
    return float(gap.depth[0]) > TOUCH


def way_out(item: Placed, gap: Gap) -> Floats:
    """(worlds, 3) unit direction from the body out through the gap's side."""
    own = {
        "front": (0.0, -1.0, 0.0),
        "back": (0.0, 1.0, 0.0),
        "left": (-1.0, 0.0, 0.0),
        "right": (1.0, 0.0, 0.0),
        "top": (0.0, 0.0, 1.0),
        "under": (0.0, 0.0, -1.0),
    }[gap.side]
    cos, sin = np.cos(item.yaw), np.sin(item.yaw)
    x, y, z = own
    found = np.empty((len(cos), 3))
    found[:, 0], found[:, 1], found[:, 2] = cos * x - sin * y, sin * x + cos * y, z
    found[np.abs(found) < 1e-12] = 0.0
    return found


def _stacked(context: Context, item: Placed, other: str) -> bool:
    if other in {item.name, item.footing}:
        return True
    above = context.layout.found(other)
    return above is not None and above.footing == item.name


def _intrusion(air: Convex, others: tuple[Convex, ...], way: Floats) -> Floats:
    """(worlds,) how far something reaches into the air, measured square to the item's side."""
    near = [other for other in others if _may_meet(air, other)]
    if not near:
        return np.zeros(max(air.worlds, len(way)))
    return np.asarray(np.max([directed_depth(air, other, -way) for other in near], axis=0))


def _may_meet(one: Convex, other: Convex) -> bool:
    """Whether the bounds of two solids share room in some world; apart, neither is in the other."""
    low, high = one.corners.min(axis=1), one.corners.max(axis=1)
    under, over = other.corners.min(axis=1), other.corners.max(axis=1)
    return bool(((low < over) & (under < high)).all(axis=1).any())


def _reading(
    context: Context,
    item: Placed,
    gap: Gap,
    other: str,
    depth: Floats,
    way: Floats,
    *,
    wall: bool = False,
) -> Iterator[Reading]:
    asked = np.broadcast_to(gap.depth, (context.layout.worlds,))
    left = asked - np.minimum(depth, asked)
    if float((left - asked).min()) >= -TOUCH:
        return
    words = f"the {other} wall" if wall else other
    yield _told(context, item, gap, other, left, way, words)


def _told(
    context: Context, item: Placed, gap: Gap, other: str, left: Floats, way: Floats, words: str
) -> Reading:
    """The reading of a side with so much left clear (worlds,) before something."""
    asked = np.broadcast_to(gap.depth, (context.layout.worlds,))
    return Reading(
        check=CHECK,
        items=(item.name, other),
        gap=left - asked + float(asked[0]),
        needs=float(asked[0]),
        detail=_later(item, gap, words, float(left[0]), way),
        noted=float(left[0] - asked[0]) >= -TOUCH,
        source=item.spec.basis.get(f"gap {gap.side}", SOURCE),
    )


def _shell(
    context: Context, item: Placed, gap: Gap, way: Floats, beside: list[OutsidePiece]
) -> Iterator[Reading]:
    """Walls beside the item, of the regions its air may come to, and the ceiling over it."""
    room = context.layout.room
    if gap.side == "top":
        over = np.min([ceiling_gap(gap.solid, piece) for piece in room.ceilings], axis=0)
        asked = np.broadcast_to(gap.depth, (context.layout.worlds,))
        if float(over.min()) <= _MARGIN:
            left = np.maximum(asked + over, 0.0)
            yield _told(context, item, gap, "ceiling", left, way, "the ceiling")
        return
    if gap.side == "under":
        return
    for name, depth in _behind_walls(room, gap.solid, way, beside):
        yield from _reading(context, item, gap, name, depth, way, wall=True)


def _behind_walls(
    room: Room, air: Convex, way: Floats, beside: list[OutsidePiece]
) -> Iterator[tuple[str, Floats]]:
    """Walls the air reaches behind, and how far, measured along the side's own direction."""
    ring = outline_of(air)
    for piece in beside:
        if _behind_no_line(room, ring, piece):
            continue
        if float(polygon_gap(ring, piece.polygon).gap.min()) >= -TOUCH:
            continue
        for number in piece.walls:
            wall = room.walls[number]
            facing = np.einsum("wi,wi->w", wall.outward, way[:, :2])
            if float(facing[0]) < 0.5:
                continue
            face = np.einsum("wi,wi->w", wall.outward, wall.left)
            beyond = np.einsum("wi,wni->wn", wall.outward, ring).max(axis=1) - face
            yield wall.name, np.maximum(beyond / facing, 0.0)


def _behind_no_line(room: Room, ring: Floats, piece: OutsidePiece) -> bool:
    """Whether square to one of its walls an outside region keeps clear of a ring in every world."""
    for number in piece.walls:
        out = room.walls[number].outward
        theirs = np.einsum(
            "wi,wni->wn", out, np.broadcast_to(piece.polygon, (len(out), *piece.polygon.shape[1:]))
        )
        ours = np.einsum("wi,wni->wn", out, np.broadcast_to(ring, (len(out), *ring.shape[1:])))
        if float((theirs.min(axis=1) - ours.max(axis=1)).min()) >= -TOUCH:
            return True
    return False


def _later(item: Placed, gap: Gap, other: str, left: float, way: Floats) -> Callable[[], Detail]:
    asked = float(gap.depth[0])
    where = {"top": "above", "under": "under", "back": "behind", "front": "in front of"}
    side = where.get(gap.side, f"to the {gap.side} of")
    says = f"{mm(left)} {side} {item.name}, up to {other}; {mm(asked)} asked for: {gap.why}"
    middle = gap.solid.corners[0].mean(axis=0)
    back = (asked - left) * -way[0]
    push = Push(item.name, (float(back[0]), float(back[1]), float(back[2])))
    flat = abs(push.by[2]) <= TOUCH or item.footing in {"wall", "ceiling"}
    pushes = () if item.stays or not flat else (push,)
    return lambda: Detail(says=says, at=place(middle), pushes=pushes)
