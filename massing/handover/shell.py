"""The room's shell as surfaces: a room in, floor, ceiling, wall and step faces out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from massing.geometry.outline import shared_sides
from massing.geometry.polygons import Ring, area, outside_of, side_lines
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.walls import outer_corners
from massing.room.measure import cells
from massing.room.shape import Cell, Opening, Room, Wall

__all__ = ["Surface", "shell_surfaces"]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A flat face of the shell, seen from inside the room.

    name : floor, ceiling, wall NAME, step or bulkhead; kind : floor, ceiling, wall
    ring : (n, 3) mm, counter-clockwise as seen from inside
    back : (n, 3) mm, the outside of what it is the face of, corner by corner; None where its
        thickness was not said
    """

    name: str
    kind: str
    ring: Floats
    back: Floats | None = None


def shell_surfaces(room: Room) -> tuple[Surface, ...]:
    """Every face of the shell of the nominal room, openings cut out, in a fixed order."""
    found = cells(room)
    faces = [*_floors(found), *_ceilings(found)]
    ends = outer_corners(room)
    for wall in room.walls:
        if not wall.partition:
            faces.extend(_wall_faces(room, wall, found, ends[wall.name]))
    faces.extend(_breaks(found))
    return tuple(face for face in faces if len(face.ring) >= 3)


def _floors(found: tuple[Cell, ...]) -> Iterator[Surface]:
    for cell in found:
        level = np.full((len(cell.polygon), 1), cell.floor)
        yield Surface("floor", "floor", np.hstack([cell.polygon, level]))


def _ceilings(found: tuple[Cell, ...]) -> Iterator[Surface]:
    for cell in found:
        top = _roof(cell, cell.polygon)
        yield Surface("ceiling", "ceiling", np.hstack([cell.polygon, top[:, None]])[::-1])


def _roof(cell: Cell, points: Floats) -> Floats:
    return np.asarray(points @ cell.plane[:2] + cell.plane[2])


def _wall_faces(
    room: Room, wall: Wall, found: tuple[Cell, ...], ends_behind: tuple[Floats, Floats]
) -> Iterator[Surface]:
    """The wall in its own plane, x from its left end and y up, cell by cell, less its openings."""
    holes = [_hole(opening) for opening in room.openings if opening.wall == wall.name]
    for cell in found:
        for start, end in _on_wall(cell, wall):
            a, b = sorted((start, end))
            ends = np.array([wall.left[0] + a * wall.along[0], wall.left[0] + b * wall.along[0]])
            tops = _roof(cell, ends)
            ring = _polygon([(a, cell.floor), (b, cell.floor), (b, tops[1]), (a, tops[0])])
            for piece in _without(ring, holes):
                back = _behind(wall, ends_behind, piece)
                yield Surface(f"wall {wall.name}", "wall", _upright(wall, piece), back)


def _polygon(points: list[tuple[float, float]]) -> Floats:
    """Drop corners that fall together, as where a slope meets the floor."""
    kept = [p for k, p in enumerate(points) if np.hypot(*np.subtract(p, points[k - 1])) > TOUCH]
    return np.array(kept, dtype=np.float64).reshape(-1, 2)


def _on_wall(cell: Cell, wall: Wall) -> Iterator[tuple[float, float]]:
    """Stretches of a cell's sides that lie on a wall face, as distances along it."""
    ring = cell.polygon
    after = np.roll(ring, -1, axis=0)
    left, along, out = wall.left[0], wall.along[0], wall.outward[0]
    length = float(wall.length[0])
    for p, q in zip(ring, after, strict=True):
        if max(abs((p - left) @ out), abs((q - left) @ out)) > TOUCH:
            continue
        a, b = float((p - left) @ along), float((q - left) @ along)
        # Seen counter-clockwise a side on this wall runs from its right end to its left.
        if a - b > TOUCH and b > -TOUCH and a < length + TOUCH:
            yield a, b


def _hole(opening: Opening) -> Floats:
    a, b = float(opening.left[0]), float(opening.left[0] + opening.width[0])
    c, d = float(opening.sill[0]), float(opening.sill[0] + opening.height[0])
    return np.array([[a, c], [b, c], [b, d], [a, d]])


def _without(ring: Floats, holes: list[Floats]) -> list[Floats]:
    """The convex pieces of a wall ring outside every hole."""
    pieces = [ring] if len(ring) >= 3 else []
    for hole in holes:
        lines = side_lines(Ring.of(hole))
        rest: list[Floats] = []
        for piece in pieces:
            rest.extend(part.points[0] for part in outside_of(Ring.of(piece), lines))
        pieces = rest
    return [p for p in pieces if len(p) >= 3 and float(area(p[None])[0]) > 1.0]


def _upright(wall: Wall, piece: Floats) -> Floats:
    """A ring in the wall's plane back in the room, counter-clockwise from inside."""
    plan = wall.left[0] + piece[:, :1] * wall.along[0]
    return np.hstack([plan, piece[:, 1:]])


def _behind(wall: Wall, ends: tuple[Floats, Floats], piece: Floats) -> Floats | None:
    """The outside of a piece of a wall's face, mitred where it comes to a corner of the room."""
    thick = float(wall.thickness[0])
    if thick <= TOUCH:
        return None
    along, length = wall.along[0], float(wall.length[0])
    run = [float((ends[0] - wall.left[0]) @ along), float((ends[1] - wall.right[0]) @ along)]
    back = _upright(wall, piece)
    back[:, :2] += thick * wall.outward[0]
    for k, (u, z) in enumerate(piece):
        shift = run[0] if u <= TOUCH else run[1] if u >= length - TOUCH else 0.0
        back[k, :2] += shift * along
        # A top that slopes runs on at its slope, so that it stays flat.
        beside = (piece[k - 1], piece[(k + 1) % len(piece)])
        rises = [(p[1] - z) / (p[0] - u) for p in beside if abs(p[0] - u) > TOUCH]
        back[k, 2] += shift * rises[0] if rises else 0.0
    return back


def _breaks(found: tuple[Cell, ...]) -> Iterator[Surface]:
    """Upright faces where floor or ceiling jumps between neighbouring cells."""
    for number, one in enumerate(found):
        for other in found[number + 1 :]:
            for p, q in shared_sides(one.polygon, other.polygon):
                floors = (one.floor, other.floor)
                if abs(floors[0] - floors[1]) > TOUCH:
                    yield _riser("step", "floor", p, q, floors[0], floors[1])
                ends = np.array([p, q])
                a, b = _roof(one, ends), _roof(other, ends)
                if np.abs(a - b).max() > TOUCH and (a - b).min() * (a - b).max() >= -TOUCH:
                    yield _drop(p, q, a, b)


def _riser(name: str, kind: str, p: Floats, q: Floats, one: float, other: float) -> Surface:
    """The upright face of a floor step, seen from its lower side."""
    low, high = min(one, other), max(one, other)
    ring = np.array([[*p, low], [*q, low], [*q, high], [*p, high]])
    # The first cell lies left of p to q; seen from its side the face runs the other way round.
    return Surface(name, kind, ring[::-1] if one > other else ring)


def _drop(p: Floats, q: Floats, one: Floats, other: Floats) -> Surface:
    """The upright face between two ceilings, seen from under the higher one."""
    low, high = np.minimum(one, other), np.maximum(one, other)
    flat = _polygon_3d([(*p, low[0]), (*q, low[1]), (*q, high[1]), (*p, high[0])])
    return Surface("bulkhead", "ceiling", flat if one.sum() > other.sum() else flat[::-1])


def _polygon_3d(points: list[tuple[float, ...]]) -> Floats:
    kept = [
        p for k, p in enumerate(points) if np.linalg.norm(np.subtract(p, points[k - 1])) > TOUCH
    ]
    return np.array(kept, dtype=np.float64).reshape(-1, 3)
