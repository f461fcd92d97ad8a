"""Does a body pass into a wall: a layout in, gaps square to each wall out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import litres, mm
from massing.geometry.clip import clip_solid
from massing.geometry.outline import outline_of
from massing.geometry.plan import polygon_gap
from massing.geometry.polygons import highest_over
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import OutsidePiece, Room, Wall
from massing.scheme.layout import Placed

__all__ = ["CHECK", "read", "wall_gap"]

CHECK = "walls"
SOURCE = "geometry: measured level and square to the wall"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body that comes near a wall it does not stand against."""
    room = context.layout.room
    for item in context.items:
        seen: dict[str, Floats] = {}
        for piece in room.outside:
            for wall, gap in wall_gap(room, piece, item):
                held = seen.get(wall.name)
                seen[wall.name] = gap if held is None else np.minimum(held, gap)
        for name, gap in seen.items():
            if float(gap.min()) <= context.reach:
                yield _reading(item, room.wall(name), gap)


def _reading(item: Placed, wall: Wall, gap: Floats) -> Reading:
    flush = abs(float(gap[0])) <= TOUCH
    return Reading(
        check=CHECK,
        items=(item.name, wall.name),
        gap=gap,
        detail=lambda: _detail(item, wall, float(gap[0])),
        touching=flush,
        source=SOURCE,
    )


def wall_gap(room: Room, piece: OutsidePiece, item: Placed) -> Iterator[tuple[Wall, Floats]]:
    """Signed gap (worlds,) of an item to the wall of an outside region that it is nearest to.

    Behind a straight wall that is the plain square distance. In the corner of a room that is not
    convex, the wall that needs the shorter way back is the one that counts.
    """
    walls = [room.walls[number] for number in piece.walls]
    rings = [outline_of(part.solid) for part in item.parts]
    if len(walls) == 1:
        yield walls[0], np.min([_square(walls[0], ring) for ring in rings], axis=0)
        return
    gaps = np.min([polygon_gap(ring, piece.polygon).gap for ring in rings], axis=0)
    if float(gaps[0]) >= -TOUCH:
        nearest = max(walls, key=lambda wall: max(float(_square(wall, r)[0]) for r in rings))
        yield nearest, gaps
        return
    back = [(_depth(wall, piece, rings), wall) for wall in walls]
    depth, wall = min(back, key=lambda pair: (float(pair[0][0]), pair[1].name))
    yield wall, -depth


def _square(wall: Wall, ring: Floats) -> Floats:
    """(worlds,) least distance of a ring in from the line of a wall."""
    out = np.einsum("wi,wni->wn", wall.outward, ring)
    face = np.einsum("wi,wi->w", wall.outward, wall.left)
    return np.asarray(face - out.max(axis=1))


def _depth(wall: Wall, piece: OutsidePiece, rings: list[Floats]) -> Floats:
    """(worlds,) how far the rings reach behind a wall where they lie in an outside region."""
    plane = np.concatenate(
        [wall.outward, -np.einsum("wi,wi->w", wall.outward, wall.left)[:, None]], axis=1
    )
    worlds = max([len(plane), *(len(ring) for ring in rings)])
    area = np.broadcast_to(piece.polygon, (worlds, *piece.polygon.shape[1:]))
    rows = np.broadcast_to(plane, (worlds, 3))
    deep = [
        highest_over(np.broadcast_to(r, (worlds, *r.shape[1:])), area, rows, TOUCH) for r in rings
    ]
    return np.asarray(np.maximum(np.max(deep, axis=0), 0.0))


def _detail(item: Placed, wall: Wall, gap: float) -> Detail:
    corners = np.concatenate([part.solid.corners[0] for part in item.parts])
    deepest = corners[int(np.argmax(np.round(corners[:, :2] @ wall.outward[0], 6)))]
    at = (float(deepest[0]), float(deepest[1]), float(deepest[2]))
    if gap >= -TOUCH:
        return Detail(says=f"{mm(gap)} between {item.name} and the {wall.name} wall", at=at)
    beyond = _litres_beyond(item, wall)
    out = wall.outward[0]
    push = Push(item.name, (float(out[0] * gap), float(out[1] * gap), 0.0))
    return Detail(
        says=f"{item.name} passes {mm(-gap)} into the {wall.name} wall ({beyond:.1f} L)",
        at=at,
        overlap_l=beyond,
        pushes=() if item.stays else (push,),
    )


def _litres_beyond(item: Placed, wall: Wall) -> float:
    """Litres of the body behind the line of a wall, nominal world."""
    plane = np.array([[*(-wall.outward[0]), 0.0, -float(wall.outward[0] @ wall.left[0])]])
    parts = (clip_solid(part.solid.world(0), plane) for part in item.parts)
    return litres(sum(float(found.volume[0]) for found in parts if found is not None))
