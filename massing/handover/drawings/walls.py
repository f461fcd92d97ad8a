"""Walls in plan: a room in; the rings of masonry between openings out, corners mitred."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import Opening, Room, Wall

__all__ = ["WallPlan", "outer_bounds", "outer_corners", "wall_plans"]

_LONGEST_MITRE = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class WallPlan:
    """One outside wall in plan, mm of the room.

    pieces : (n, 2) rings between openings; for a wall of unknown thickness, two-point lines
    holes : the openings cut through it, each with its four corners, inner left first
    """

    wall: Wall
    pieces: tuple[Floats, ...]
    holes: tuple[tuple[Opening, Floats], ...]


def wall_plans(room: Room, level: float) -> tuple[WallPlan, ...]:
    """Every wall of the outline as a level plane cuts it."""
    walls = [wall for wall in room.walls if not wall.partition]
    return tuple(_plan(room, wall, _ends(walls, k), level) for k, wall in enumerate(walls))


def outer_corners(room: Room) -> dict[str, tuple[Floats, Floats]]:
    """By wall, the (2,) points of the outside face behind its left and its right end."""
    walls = [wall for wall in room.walls if not wall.partition]
    return {wall.name: _ends(walls, k) for k, wall in enumerate(walls)}


def outer_bounds(room: Room) -> tuple[Floats, Floats]:
    """Least and greatest (x, y) of the outside faces, mm."""
    walls = [wall for wall in room.walls if not wall.partition]
    points = np.vstack([np.vstack([*_ends(walls, k), room.outline[0]]) for k in range(len(walls))])
    return points.min(axis=0), points.max(axis=0)


def _ends(walls: list[Wall], k: int) -> tuple[Floats, Floats]:
    """Outer points behind the left end and the right end of wall k."""
    # The outline runs counter-clockwise, so seen from inside the next wall is at the left.
    wall = walls[k]
    return (
        _mitre(wall, walls[(k + 1) % len(walls)], wall.left[0]),
        _mitre(wall, walls[k - 1], wall.right[0]),
    )


def _mitre(wall: Wall, other: Wall, corner: Floats) -> Floats:
    thick, thin = float(wall.thickness[0]), float(other.thickness[0])
    normals = np.array([wall.outward[0], other.outward[0]])
    square = corner + thick * wall.outward[0]
    if abs(np.linalg.det(normals)) < 0.02:
        return np.asarray(square)
    off = np.linalg.solve(normals, np.array([thick, thin]))
    if float(np.hypot(*off)) > _LONGEST_MITRE * max(thick, thin, 1.0):
        return np.asarray(square)
    return np.asarray(corner + off)


def _plan(room: Room, wall: Wall, ends: tuple[Floats, Floats], level: float) -> WallPlan:
    length = float(wall.length[0])
    cut = sorted(
        (
            (max(0.0, float(o.left[0])), min(length, float(o.left[0] + o.width[0])), o)
            for o in room.openings
            if o.wall == wall.name and float(o.sill[0]) < level < float(o.sill[0] + o.height[0])
        ),
        key=lambda held: held[:2],
    )
    stops = [0.0, *(s for a, b, _ in cut for s in (a, b)), length]
    pieces = [
        _ring(wall, ends, a, b)
        for a, b in zip(stops[::2], stops[1::2], strict=True)
        if b - a > TOUCH
    ]
    holes = [(o, _hole(wall, a, b)) for a, b, o in cut]
    return WallPlan(wall, tuple(pieces), tuple(holes))


def _ring(wall: Wall, ends: tuple[Floats, Floats], a: float, b: float) -> Floats:
    left, along, out = wall.left[0], wall.along[0], wall.outward[0]
    inner = [left + a * along, left + b * along]
    thick = float(wall.thickness[0])
    if thick <= 0:
        return np.array(inner)
    at_right = abs(b - float(wall.length[0])) <= TOUCH
    far = ends[1] if at_right else inner[1] + thick * out
    near = ends[0] if a <= TOUCH else inner[0] + thick * out
    return np.array([*inner, far, near])


def _hole(wall: Wall, a: float, b: float) -> Floats:
    left, along = wall.left[0], wall.along[0]
    back = float(wall.thickness[0]) * wall.outward[0]
    p, q = left + a * along, left + b * along
    return np.array([p, q, q + back, p + back])
