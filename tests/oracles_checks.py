"""What the checks tell, worked out by other roads: plan clips, separating axes and scans.

A shell is made of the plain data of a room's file, not of the built room. Heights come of clipping
plan polygons with shapely; travels of separating axes at closely spaced places; ways of growing
walls disc by disc. Nothing here shares code with the checks.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.spatial import ConvexHull
from shapely import MultiPoint, Polygon, box, constrained_delaunay_triangles, get_parts, union_all

__all__ = [
    "FAR",
    "Shell",
    "ceiling_gap",
    "eased",
    "half",
    "headroom",
    "hung_over",
    "shell_solids",
    "slab",
    "travel",
    "widest",
]

FAR = 2e4  # mm, beyond any room
Data = dict[str, Any]


class Shell:
    """A room's outline, floors and ceiling planes by plan polygon, from the data of its file.

    floors : polygons with their levels; cells : polygons with the one plane that is lowest there
    pieces : polygons with all the planes over them
    The outline is a rectangle, or one with a corner cut out of its greatest x and y.
    """

    def __init__(self, room: Data) -> None:
        self.outline = Polygon(room["corners"])
        self.floors: list[tuple[Polygon, float]] = []
        left = self.outline
        for floor in reversed(room.get("floor") or [{"level": 0}]):
            area = self._area(floor)
            self.floors += [(part, float(floor["level"])) for part in _parts(left & area)]
            left = left - area
        self.pieces: list[tuple[Polygon, list[tuple[float, ...]]]] = []
        for entry in room["ceiling"]:
            self._add(entry)
        self.cells = [
            (part, plane)
            for piece, planes in self.pieces
            for plane in planes
            for part in _parts(_lowest(piece, plane, planes))
        ]

    def _area(self, entry: Data) -> Polygon:
        if "area" not in entry:
            return self.outline
        x, y = ([float(end) for end in part.split("..")] for part in entry["area"].split(" x "))
        return box(x[0], y[0], x[1], y[1]) & self.outline

    def _add(self, entry: Data) -> None:
        plane: tuple[float, ...] = (0.0, 0.0, float(entry.get("flat", 0.0)))
        if "plane" in entry:
            points = np.array(entry["plane"], dtype=float)
            plane = tuple(np.linalg.solve(np.c_[points[:, :2], np.ones(3)], points[:, 2]))
        area, found = self._area(entry), []
        for piece, planes in self.pieces:
            found += [(part, planes) for part in _parts(piece - area)]
            both = [*planes, plane] if entry.get("lowers") else [plane]
            found += [(part, both) for part in _parts(piece & area)]
        self.pieces = found or [(area, [plane])]

    def beyond(self) -> list[Polygon]:
        """Convex regions outside the outline."""
        x0, y0, x1, y1 = self.outline.bounds
        found = [
            box(x0 - FAR, y0 - FAR, x0, y1 + FAR),
            box(x1, y0 - FAR, x1 + FAR, y1 + FAR),
            box(x0 - FAR, y0 - FAR, x1 + FAR, y0),
            box(x0 - FAR, y1, x1 + FAR, y1 + FAR),
        ]
        notch = box(x0, y0, x1, y1) - self.outline
        if notch.area > 1.0:
            found.append(box(notch.bounds[0], notch.bounds[1], x1 + FAR, y1 + FAR))
        return found


def _parts(shape: Any) -> list[Polygon]:
    return [part for part in get_parts(shape) if part.geom_type == "Polygon" and part.area > 1.0]


def half(a: float, b: float, c: float) -> Polygon:
    """The plan half where a x + b y + c is no more than nought."""
    size = math.hypot(a, b)
    if size < 1e-12:
        return box(-1e5, -1e5, 1e5, 1e5) if c <= 0.0 else Polygon()
    foot = -c / size**2 * np.array([a, b])
    way, back = 1e5 * np.array([-b, a]) / size, -1e5 * np.array([a, b]) / size
    return Polygon([foot + way, foot - way, foot - way + back, foot + way + back])


def _lowest(piece: Polygon, plane: tuple[float, ...], planes: list[tuple[float, ...]]) -> Polygon:
    for other in planes:
        if other is not plane:
            piece = piece & half(*(p - q for p, q in zip(plane, other, strict=True)))
    return piece


def _corners(shape: Any) -> np.ndarray:
    rings = [np.array(part.exterior.coords) for part in _parts(shape)]
    return np.concatenate(rings) if rings else np.zeros((0, 2))


def _faces(corners: np.ndarray, sign: float) -> list[tuple[Polygon, np.ndarray]]:
    """Triangles of a hull that look up (+1) or down (-1), with z = a x + b y + c of each."""
    hull = ConvexHull(corners)
    return [
        (Polygon(corners[ring, :2]), -plane[[0, 1, 3]] / plane[2])
        for ring, plane in zip(hull.simplices, hull.equations, strict=True)
        if sign * plane[2] > 1e-9
    ]


def _height(plane: Any, points: np.ndarray) -> np.ndarray:
    return np.asarray(points @ np.asarray(plane[:2]) + plane[2])


def ceiling_gap(solids: list[np.ndarray], shell: Shell) -> float:
    """Least height straight up from any of some solids (n, 3) to the ceiling, inf where outside."""
    least = np.inf
    for corners in solids:
        for face, top in _faces(corners, 1.0):
            for cell, plane in shell.cells:
                points = _corners(face & cell)
                if len(points):
                    spare = _height(plane, points) - _height(top, points)
                    least = min(least, float(spare.min()))
    return least


def headroom(ring: np.ndarray, need: float, shell: Shell) -> tuple[float, float]:
    """Least clear height over a plan ring above the floor just there; the area short, mm²."""
    zone, least, low = Polygon(ring), np.inf, 0.0
    for cell, plane in shell.cells:
        for floor, level in shell.floors:
            both = zone & cell & floor
            points = _corners(both)
            if len(points):
                least = min(least, float((_height(plane, points) - level).min()))
                # What is just enough is not short.
                low += (both & half(plane[0], plane[1], plane[2] - level - need + 1e-6)).area
    return least, low


def hung_over(solids: list[np.ndarray], shell: Shell, level: float, need: float) -> Any:
    """Least height of some solids above a level of the floor, and the area short, mm²."""
    ground = union_all([floor for floor, own in shell.floors if own == level])
    least, low = np.inf, []
    for corners in solids:
        for face, foot in _faces(corners, -1.0):
            over = face & ground
            points = _corners(over)
            if len(points):
                least = min(least, float((_height(foot, points) - level).min()))
                low.append(over & half(foot[0], foot[1], foot[2] - level - need))
    return least, union_all(low).area


def slab(corners: np.ndarray, low: float, high: float) -> Polygon:
    """Plan of what of a solid lies between two levels."""
    points = [tuple(p[:2]) for p in corners if low <= p[2] <= high]
    for ring in ConvexHull(corners).simplices:
        for one, other in zip(corners[ring], corners[np.roll(ring, 1)], strict=True):
            for z in (low, high):
                if (one[2] - z) * (other[2] - z) < 0.0:
                    cut = one + (z - one[2]) / (other[2] - one[2]) * (other - one)
                    points.append(tuple(cut[:2]))
    return MultiPoint(points).convex_hull


def shell_solids(shell: Shell, walls: list[Polygon]) -> list[np.ndarray]:
    """The building round a room as convex solids (n, 3): ceilings, floors, and some walls."""
    found = []
    for piece, planes in shell.pieces:
        for part in _convex(piece):
            ring = np.array(part.exterior.coords)[:-1]
            found += [_prism(ring, _height(plane, ring), FAR) for plane in planes]
    for floor, level in shell.floors:
        rings = (np.array(part.exterior.coords)[:-1] for part in _convex(floor))
        found += [_prism(ring, level - FAR, level) for ring in rings]
    return [*found, *(_prism(np.array(w.exterior.coords)[:-1], -FAR, FAR) for w in walls)]


def _convex(shape: Polygon) -> list[Polygon]:
    if abs(shape.convex_hull.area - shape.area) < 1e-3:
        return [shape]
    return list(get_parts(constrained_delaunay_triangles(shape)))


def _prism(ring: np.ndarray, low: Any, high: Any) -> np.ndarray:
    ends = (np.broadcast_to(z, len(ring)) for z in (low, high))
    return np.concatenate([np.c_[ring, end] for end in ends])


def eased(corners: np.ndarray, axis: np.ndarray, about: np.ndarray) -> np.ndarray:
    """A panel (8, 3) hung by an edge, its far edge kept within the circle of its leading face."""
    off = corners - about
    along = (off @ axis)[:, None] * axis
    out = off - along
    far = np.linalg.norm(out, axis=1)
    wide = np.sort(np.round(far, 6))[4]
    lead = out[int(np.argmin(np.abs(far - wide)))] / wide
    found = corners.copy()
    for k in np.flatnonzero(far > wide + 1e-6):
        across = out[k] - (out[k] @ lead) * lead
        found[k] = about + along[k] + across + lead * math.sqrt(wide**2 - across @ across)
    return found


def _ways(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Directions square to the faces, and along the edges, of a hull, each once."""
    hull = ConvexHull(corners)
    normals, edges = [], []
    for k, plane in enumerate(hull.equations):
        if all(abs(abs(plane[:3] @ n) - 1.0) > 1e-8 for n in normals):
            normals.append(plane[:3])
        for other in hull.neighbors[k]:
            if other > k and not np.allclose(plane, hull.equations[other], atol=1e-7):
                a, b = sorted(set(hull.simplices[k]) & set(hull.simplices[other]))
                way = (corners[b] - corners[a]) / np.linalg.norm(corners[b] - corners[a])
                if all(abs(abs(way @ e) - 1.0) > 1e-10 for e in edges):
                    edges.append(way)
    return np.array(normals), np.array(edges)


def travel(
    corners: np.ndarray,
    axis: np.ndarray,
    about: np.ndarray | None,
    full: float,
    obstacles: list[np.ndarray],
) -> float:
    """How far a solid turns (radians) or slides (mm) before it overlaps an obstacle by a touch.

    Looked at every 0.05 degrees or 0.1 mm by separating axes; ``full`` where nothing stops it.
    """
    amounts = np.linspace(
        0.0, full, math.ceil(full / (math.radians(0.05) if about is not None else 0.1)) + 1
    )
    normals, edges = _ways(corners)
    if about is None:
        poses = corners + amounts[:, None, None] * axis
        normals, edges = (np.broadcast_to(w, (len(amounts), *w.shape)) for w in (normals, edges))
    else:
        poses = about + _spun(corners - about, axis, amounts)
        normals, edges = (_spun(w, axis, amounts) for w in (normals, edges))
    low, high = poses.min(axis=(0, 1)), poses.max(axis=(0, 1))
    least = full
    for other in obstacles:
        if np.any(other.min(axis=0) > high) or np.any(other.max(axis=0) < low):
            continue
        hits = np.flatnonzero(_apart(poses, normals, edges, other) < -0.01)
        if len(hits):
            least = min(least, float(amounts[hits[0]]))
    return least


def _spun(points: np.ndarray, axis: np.ndarray, angles: np.ndarray) -> np.ndarray:
    along = (points @ axis)[:, None] * axis
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    return np.asarray(along + cos * (points - along) + sin * np.cross(axis, points))


def _apart(poses: np.ndarray, normals: np.ndarray, edges: np.ndarray, other: np.ndarray) -> Any:
    """(poses,) the widest gap along any separating axis of two convex solids."""
    theirs, runs = _ways(other)
    cross = np.cross(edges[:, :, None], runs[None, None]).reshape(len(poses), -1, 3)
    ways = np.concatenate(
        [normals, np.broadcast_to(theirs, (len(poses), *theirs.shape)), cross], axis=1
    )
    size = np.linalg.norm(ways, axis=2)
    ways = ways / np.where(size > 1e-7, size, 1.0)[..., None]
    own, far = np.einsum("kai,kni->kan", ways, poses), np.einsum("kai,ni->kan", ways, other)
    gap = np.maximum(far.min(axis=2) - own.max(axis=2), own.min(axis=2) - far.max(axis=2))
    return np.where(size > 1e-7, gap, -np.inf).max(axis=1)


def widest(free: Any, door: tuple[np.ndarray, np.ndarray], out: np.ndarray, goal: Any) -> float:
    """Width of the widest disc that comes in by a door over free floor and gets to a goal, mm."""
    low, high = 0.0, 3000.0
    while high - low > 0.05:
        width = (low + high) / 2.0
        porch = Polygon([*door, door[1] + width * out, door[0] + width * out])
        core = (free | porch.buffer(0.001)).buffer(-width / 2.0, quad_segs=64)
        met = any(part.intersects(porch) and part.intersects(goal) for part in _parts(core))
        low, high = (width, high) if met else (low, width)
    return low
