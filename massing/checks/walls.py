"""Does a body pass into a wall: a layout in, gaps square to each wall out."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading
from massing.checks.words import litres, mm
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.outline import outline_of
from massing.geometry.overlap import taken_up
from massing.geometry.polygons import highest_over
from massing.geometry.solids import Floats, Ints, spread
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.shape import OutsidePiece, Room, Wall
from massing.scheme.extents import Extents, extents_of
from massing.scheme.layout import Placed

__all__ = ["CHECK", "read", "wall_gap"]

CHECK = "walls"
SOURCE = "geometry: measured level and square to the wall"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every body that comes near a wall it does not stand against."""
    room, items = context.layout.room, context.layout.items
    pieces = _near_pieces(context)
    asked = [n for n, item in enumerate(items) if pieces[n] and context.wanted(item.name)]
    square: dict[int, dict[int, Floats]] = {}
    for number in {p.walls[0] for n in asked for p in pieces[n] if len(p.walls) == 1}:
        before = [n for n in asked if any(p.walls == (number,) for p in pieces[n])]
        square[number] = _squares(room.walls[number], extents_of(context.layout), before)
    for number in asked:
        item = items[number]
        seen: dict[str, Floats] = {}
        for piece in pieces[number]:
            if len(piece.walls) == 1:
                wall = room.walls[piece.walls[0]]
                found = [(wall, square[piece.walls[0]][number])]
            else:
                found = list(wall_gap(room, piece, item))
            for wall, gap in found:
                held = seen.get(wall.name)
                seen[wall.name] = gap if held is None else np.minimum(held, gap)
        for name, gap in seen.items():
            if float(gap.min()) <= context.reach:
                yield _reading(room, item, room.wall(name), gap)


def _squares(wall: Wall, parts: Extents, items: list[int]) -> dict[int, Floats]:
    """For each of some items, by number, its least distance (worlds,) in from the line of a wall.

    As ``_square`` tells it of one part after the other.
    """
    rings = [outline_of(solid) for n in items for solid in parts.solids[parts.parts(n)]]
    counts = [int(parts.first[n + 1] - parts.first[n]) for n in items]
    worlds = max(len(ring) for ring in rings)
    first = np.cumsum([0, *(ring.shape[1] for ring in rings[:-1])])
    corners = np.concatenate([spread(ring, worlds) for ring in rings], axis=1)
    out = np.einsum("wi,wni->wn", wall.outward, corners)
    face = np.einsum("wi,wi->w", wall.outward, wall.left)
    most = np.maximum.reduceat(out, first, axis=1)
    gaps = np.minimum.reduceat(face[:, None] - most, np.cumsum([0, *counts[:-1]]), axis=1)
    return {n: gaps[:, k].copy() for k, n in enumerate(items)}


def _near_pieces(context: Context) -> list[list[OutsidePiece]]:
    """For each item the outside regions it may come near; those that share a wall go together."""
    room, parts = context.layout.room, extents_of(context.layout)
    far = context.reach + EXACT
    near = []
    for piece in room.outside:
        if len(piece.walls) == 1:
            apart = _surely_in(room.walls[piece.walls[0]], parts)
        else:
            low, high = piece.polygon.min(axis=(0, 1)), piece.polygon.max(axis=(0, 1))
            off = np.maximum(parts.least[:, :2] - high, low - parts.most[:, :2])
            apart = off.max(axis=1)
        meets = parts.owner[apart <= far]
        near.append(np.bincount(meets, minlength=len(context.layout.items)) > 0)
    if not near:
        return [[] for _ in context.layout.items]
    together = _sharing_walls(tuple(room.outside))
    kept = (together @ np.stack(near).astype(np.int64)) > 0
    return [
        [piece for piece, near_it in zip(room.outside, column, strict=True) if near_it]
        for column in kept.T.tolist()
    ]


def _surely_in(wall: Wall, parts: Extents) -> Floats:
    """(parts,) what bounds certainly keep from the line of a wall, in the worst world, mm."""
    out = wall.outward[:, None]
    most = np.maximum(out * parts.low[:, :, :2], out * parts.high[:, :, :2]).sum(axis=2)
    face = np.einsum("wi,wi->w", wall.outward, wall.left)
    return np.asarray((face[:, None] - most).min(axis=0))


@lru_cache(maxsize=16)
def _sharing_walls(pieces: tuple[OutsidePiece, ...]) -> Ints:
    """(pieces, pieces) 1 where two outside regions share a wall, straight or through others."""
    walls = [set(piece.walls) for piece in pieces]
    linked = np.array([[int(bool(a & b)) for b in walls] for a in walls])
    for _ in pieces:
        linked = np.minimum(linked @ linked, 1)
    return np.asarray(linked)


def _reading(room: Room, item: Placed, wall: Wall, gap: Floats) -> Reading:
    flush = abs(float(gap[0])) <= TOUCH
    return Reading(
        check=CHECK,
        items=(item.name, wall.name),
        gap=gap,
        detail=lambda: _detail(room, item, wall, float(gap[0])),
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


def _detail(room: Room, item: Placed, wall: Wall, gap: float) -> Detail:
    corners = np.concatenate([part.solid.corners[0] for part in item.parts])
    deepest = corners[int(np.argmax(np.round(corners[:, :2] @ wall.outward[0], 6)))]
    at = (float(deepest[0]), float(deepest[1]), float(deepest[2]))
    if gap >= -TOUCH:
        return Detail(says=f"{mm(gap)} between {item.name} and the {wall.name} wall", at=at)
    beyond = _litres_beyond(room, item, wall)
    out = wall.outward[0]
    push = Push(item.name, (float(out[0] * gap), float(out[1] * gap), 0.0))
    return Detail(
        says=f"{item.name} passes {mm(-gap)} into the {wall.name} wall ({beyond:.1f} L)",
        at=at,
        overlap_l=beyond,
        pushes=() if item.stays else (push,),
    )


def _litres_beyond(room: Room, item: Placed, wall: Wall) -> float:
    """Litres of the body behind a wall, nominal world, each place counted once."""
    plane = np.array([[*(-wall.outward[0]), 0.0, -float(wall.outward[0] @ wall.left[0])]])
    number = next(k for k, other in enumerate(room.walls) if other is wall)
    behind = [
        np.vstack([plane, prism_planes(piece.polygon[0])])
        for piece in room.outside
        if number in piece.walls
    ]
    cut = (clip_solid(p.solid.world(0), planes) for planes in behind for p in item.parts)
    return litres(taken_up([solid for solid in cut if solid is not None]))
