"""The building as the search reads it: a layout and its rules in, padded arrays out."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.arrange.arrays import RASTER
from massing.checks.openings import opening_way
from massing.checks.rules import Rules
from massing.geometry.offset import offset_by
from massing.geometry.polygons import Ring, split
from massing.geometry.solids import Floats, Ints
from massing.room.measure import cells
from massing.room.shape import Room
from massing.scheme.layout import Layout

__all__ = ["STANDING", "building_arrays", "tall_floor"]

STANDING = 2000.0  # mm; floor with so much above it counts as standing floor
_BEFORE = 600.0  # mm of floor to get out by a window, as the check asks
_CELL = 100.0  # mm, of the raster for the largest open rectangle


def building_arrays(layout: Layout, rules: Rules) -> dict[str, Any]:
    """Walls, outside, floors, ceilings, doors and standing floor, as ``Fixed`` has them."""
    room = layout.room
    outs = [piece.polygon[0] for piece in room.outside if len(piece.walls) != 1]
    floors = [floor.polygon[0] for floor in room.floors]
    ceilings = [piece.polygon[0] for piece in room.ceilings]
    tall = tall_floor(room, STANDING)
    planes = _planes(room)
    doors = [o for o in room.openings if o.kind == "door"]
    ways = [opening_way(room, door, rules.doorway).solids[0] for door in doors]
    way_rings = [_way_ring(way.corners[0]) for way in ways]
    leaves, panes = _leaves(layout), _panes(room, rules)
    origin, mask, cell = _mask(room, tall)
    return {
        "n_walls": len(room.walls),
        "n_halves": sum(len(p.walls) == 1 for p in room.outside),
        "n_outs": len(outs),
        "n_floors": len(floors),
        "n_ceilings": len(ceilings),
        "n_planes": planes.shape[1],
        "n_tall": len(tall),
        "n_ways": len(ways),
        "n_leaves": sum(leaf.opens == "in" for leaf in layout.leaves),
        "n_doors": len(doors),
        "rows": mask.shape[0],
        "columns": mask.shape[1],
        "walls": _walls(room),
        "halves": np.array([p.walls[0] for p in room.outside if len(p.walls) == 1], dtype=np.int64),
        "outs": _padded(outs),
        "out_counts": _counts(outs),
        "floors": _padded(floors),
        "floor_counts": _counts(floors),
        "levels": np.array([float(f.level[0]) for f in room.floors]),
        "ceilings": _padded(ceilings),
        "ceiling_counts": _counts(ceilings),
        "planes": planes,
        "tall": _padded(tall),
        "tall_counts": _counts(tall),
        "ways": _padded(way_rings),
        "way_box": _bounds(way_rings)[:, :4],
        "way_z": np.array(
            [[float(w.low[0, 2]), float(w.high[0, 2])] for w in ways], dtype=np.float64
        ).reshape(-1, 2),
        "leaves": leaves,
        "leaf_box": np.array([_leaf_box(leaf) for leaf in leaves]).reshape(-1, 4),
        "floor_box": _bounds(floors),
        "tall_box": _bounds(tall),
        "panes": panes,
        "n_panes": len(panes),
        "yaws": _yaw_table(room),
        "mask": mask,
        "origin": origin,
        "cell": cell,
        "standing": float(mask.sum()) * cell * cell / 1e6,
        "doors": np.array(
            [_middle(room, door.wall, door.left + door.width / 2) for door in doors],
            dtype=np.float64,
        ).reshape(-1, 2),
        "rules": np.array([rules.headroom, rules.under, STANDING, rules.support / 100.0]),
        "concave": int(len(room.ceilings) == 1),
    }


def _counts(rings: list[Floats]) -> Ints:
    return np.array([len(ring) for ring in rings], dtype=np.int64)


def _padded(rings: list[Floats]) -> Floats:
    """Rings of unequal length in one array, the last corner repeated."""
    longest = max((len(ring) for ring in rings), default=3)
    rows = [np.concatenate([r, np.repeat(r[-1:], longest - len(r), axis=0)]) for r in rings]
    return np.array(rows, dtype=np.float64).reshape(-1, longest, 2)


def _walls(room: Room) -> Floats:
    rows = []
    for wall in room.walls:
        left, along, out = wall.left[0], wall.along[0], wall.outward[0]
        rows.append([*left, *along, *out, out @ left, wall.length[0], float(wall.partition)])
    return np.array(rows, dtype=np.float64)


def _yaw_table(room: Room) -> Floats:
    """Cosine and sine of a front towards each wall, then turned by quarters."""
    rows = []
    for wall in room.walls:
        x, y = (float(v) for v in wall.outward[0])
        c, s = -y, x
        for _ in range(4):
            rows.append([c + 0.0, s + 0.0])
            c, s = -s, c
    return np.array(rows)


def _planes(room: Room) -> Floats:
    most = max(piece.planes.shape[1] for piece in room.ceilings)
    rows = [
        np.concatenate([p.planes[0], np.repeat(p.planes[0, -1:], most - p.planes.shape[1], axis=0)])
        for p in room.ceilings
    ]
    return np.array(rows)


def _leaves(layout: Layout) -> Floats:
    rows = [
        [
            *leaf.pin[0],
            *leaf.shut[0],
            leaf.swing,
            leaf.width[0],
            leaf.low[0],
            leaf.high[0],
            leaf.full,
            0.0,
        ]
        for leaf in layout.leaves
        if leaf.opens == "in"
    ]
    return np.array(rows, dtype=np.float64).reshape(-1, 10)


def _way_ring(corners: Floats) -> Floats:
    """The plan ring of an upright prism of four corners."""
    ring = corners[:4, :2]
    x, y = ring[:, 0], ring[:, 1]
    turning = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return ring if turning > 0 else ring[::-1]


def _leaf_box(leaf: Floats) -> list[float]:
    """Plan bounds of the floor a leaf sweeps."""
    pin, shut, swing, width, angle = leaf[:2], leaf[2:4], leaf[4], leaf[5], leaf[8]
    aside = np.array([-swing * shut[1], swing * shut[0]])
    turns = np.arange(0.0, angle + 0.05, 0.05)[:, None]
    arc = pin + (width + 1.0) * (np.cos(turns) * shut + np.sin(turns) * aside)
    points = np.concatenate([pin[None], arc])
    return [*map(float, points.min(axis=0)), *map(float, points.max(axis=0))]


def _bounds(rings: list[Floats]) -> Floats:
    """Bounds of rings and 1 where a ring is just its bounds (n, 5)."""
    rows = []
    for ring in rings:
        low, high = ring.min(axis=0), ring.max(axis=0)
        x, y = ring[:, 0], ring[:, 1]
        size = 0.5 * float(x @ np.roll(y, -1) - np.roll(x, -1) @ y)
        full = float((high - low).prod())
        rows.append([*low, *high, float(abs(size - full) < 1e-3)])
    return np.array(rows, dtype=np.float64).reshape(-1, 5)


def _panes(room: Room, rules: Rules) -> Floats:
    """Windows as ``panes`` has them; one people get out by asks for floor before it too."""
    numbers = {wall.name: k for k, wall in enumerate(room.walls)}
    rows = []
    for window in (o for o in room.openings if o.kind == "window"):
        left, sill = float(window.left[0]), float(window.sill[0])
        right, head = left + float(window.width[0]), sill + float(window.height[0])
        rows.append([numbers[window.wall], left, right, sill, head, rules.window])
        if window.escape:
            rows.append([numbers[window.wall], left, right, sill - _BEFORE, sill, _BEFORE])
    return np.array(rows, dtype=np.float64).reshape(-1, 6)


def _middle(room: Room, wall: str, along: Floats) -> list[float]:
    point = room.wall(wall).point(along, np.zeros(len(along)))[0]
    return [float(point[0]), float(point[1])]


def tall_floor(room: Room, height: float) -> list[Floats]:
    """Convex plan rings of the floor with at least so much height, nominal, fabric not counted."""
    found = []
    for cell in cells(room):
        line = np.array([[cell.plane[0], cell.plane[1], cell.plane[2] - cell.floor - height]])
        size = float(np.hypot(line[0, 0], line[0, 1]))
        if size < 1e-12:
            if line[0, 2] >= -1e-6:
                found.append(cell.polygon)
            continue
        kept, _ = split(Ring.of(cell.polygon), line / size)
        if kept is not None and len(kept.points[0]) >= 3:
            found.append(kept.points[0])
    return found


def _mask(room: Room, tall: list[Floats]) -> tuple[Floats, Ints, float]:
    """A raster of the cells that lie wholly on standing floor, fabric left out."""
    from shapely import Polygon, box, covers, prepare, union_all

    low, high = room.outline[0].min(axis=0), room.outline[0].max(axis=0)
    cell = max(_CELL, float((high - low).max()) / RASTER)
    columns, rows = (math.ceil(v / cell - 1e-9) for v in high - low)
    floor: Any = offset_by(union_all([Polygon(ring) for ring in tall]), 0.01)
    solid = [
        box(*part.low[0, :2], *part.high[0, :2])
        for f in room.fabric
        for part in f.parts
        if float(part.low[0, 2]) < STANDING
    ]
    floor = floor.difference(union_all(solid)) if solid else floor
    prepare(floor)
    x = low[0] + cell * np.arange(columns)
    y = low[1] + cell * np.arange(rows)
    grid_x, grid_y = np.meshgrid(x, y)
    inside = covers(floor, box(grid_x, grid_y, grid_x + cell, grid_y + cell))
    return np.asarray(low, dtype=np.float64), inside.astype(np.int64), cell
