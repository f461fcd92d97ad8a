"""Where there is most room, and a line that keeps its distance: shapes and walls in, points out."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from massing.geometry.passage.faces import Floor
from massing.geometry.solids import Floats

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["clear_line", "roomiest"]

_FINE = 0.04  # mm; how near the greatest clearance is found
_NEAREST = 8  # crossings joined to each stop of a line


def roomiest(
    region: BaseGeometry, walls: BaseGeometry, enough: float
) -> tuple[float, tuple[float, float]]:
    """Greatest distance to the walls over a region, within 0.04 mm, and where.

    A point, line or polygon, or several; searched by splitting: no spot of a cell is further from
    the walls than its middle by more than half its diagonal. Stops as soon as ``enough`` is found.
    Returns -1 for an empty region.
    """
    import shapely

    parts = [part for part in shapely.get_parts(region) if not part.is_empty]
    best, spot = -1.0, (math.nan, math.nan)
    for part in parts:
        corners = shapely.get_coordinates(part)
        if part.geom_type == "Polygon":
            corners = np.vstack([corners, np.array(part.representative_point().coords)])
        rooms = np.asarray(shapely.distance(shapely.points(corners), walls))
        top = int(np.argmax(rooms))
        if rooms[top] > best:
            best, spot = float(rooms[top]), (float(corners[top, 0]), float(corners[top, 1]))
    for part in parts:
        if best >= enough or part.geom_type == "Point":
            continue
        split = _split_line if part.geom_type == "LineString" else _split_area
        best, spot = split(part, walls, enough, (best, spot))
    return best, spot


def _split_line(
    part: Any,
    walls: BaseGeometry,
    enough: float,
    known: tuple[float, tuple[float, float]],
) -> tuple[float, tuple[float, float]]:
    """Branch and bound along a line: no spot of a stretch is further than half of it."""
    import shapely

    best, spot = known
    half = 0.5 * part.length
    middles = np.array([half])
    while half > 1e-6 and len(middles) and best < enough:
        points = shapely.line_interpolate_point(part, middles)
        room = shapely.distance(points, walls)
        top = int(np.argmax(room))
        if room[top] > best:
            best, spot = float(room[top]), (float(points[top].x), float(points[top].y))
        middles, half = middles[room + half > best + _FINE], 0.5 * half
        middles = (middles[:, None] + np.array([-half, half])).ravel()
    return best, spot


def _split_area(
    part: BaseGeometry,
    walls: BaseGeometry,
    enough: float,
    known: tuple[float, tuple[float, float]],
) -> tuple[float, tuple[float, float]]:
    """Branch and bound over the part's bounds, level by level."""
    import shapely

    best, spot = known
    shapely.prepare(part)
    low = np.array(part.bounds[:2])
    half = 0.5 * max(part.bounds[2] - low[0], part.bounds[3] - low[1])
    cells = low[None] + half
    quarters = np.array([[-1.0, -1], [1, -1], [-1, 1], [1, 1]])
    while half > 1e-6 and len(cells) and best < enough:
        room = shapely.distance(shapely.points(cells), walls)
        inside = shapely.intersects_xy(part, cells[:, 0], cells[:, 1])
        if inside.any():
            top = int(np.argmax(np.where(inside, room, -1.0)))
            if room[top] > best:
                best, spot = float(room[top]), (float(cells[top, 0]), float(cells[top, 1]))
        hopeful = room + math.sqrt(2.0) * half > best + _FINE
        cells, half = cells[hopeful], 0.5 * half
        cells = (cells[:, None] + half * quarters[None]).reshape(-1, 2)
        boxes = shapely.box(*(cells - half).T, *(cells + half).T)
        cells = cells[shapely.intersects(part, boxes)]
    return best, spot


def clear_line(floor: Floor, stops: Floats, reach: float) -> Floats:
    """(k, 2) line through the free floor past the stops, at least ``reach`` mm from the walls.

    stops : (s, 2); where no clear way between two of them shows, the line runs straight there
    The ways tried follow the middle between walls, then are pulled straight where that is clear.
    """
    line = [stops[0]]
    web: _Web | None = None
    for a, b in pairwise(stops):
        if _clear(floor, a[None], b[None], reach)[0]:
            line.append(b)
            continue
        web = web or _Web(floor, reach)
        line += web.way(a, b)
    return _pulled(floor, np.array(line), reach)


def _clear(floor: Floor, a: Floats, b: Floats, reach: float) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Whether each straight line a to b keeps its distance and stays on the free floor."""
    import shapely

    lines = shapely.linestrings(np.stack([a, b], axis=1))
    kept = np.asarray(~shapely.dwithin(floor.walls, lines, max(reach, 0.0) - 1e-9))
    middle = 0.5 * (a + b)
    kept[kept] = shapely.intersects_xy(floor.free, middle[kept, 0], middle[kept, 1])
    return kept


class _Web:
    """Middle lines between the walls that keep their distance, as a graph."""

    def __init__(self, floor: Floor, reach: float) -> None:
        from scipy.spatial import Voronoi

        self.floor, self.reach = floor, reach
        walls = floor.ends[~floor.doorway]
        # Sampled walls bend the middle line by spacing squared over eight times the clearance.
        spacing = min(20.0, math.sqrt(8.0 * max(reach, 1.0) * 0.05))
        drawn = Voronoi(_sampled(walls, spacing))
        self.points = drawn.vertices
        ridges = np.array(drawn.ridge_vertices, dtype=np.int64)
        # No sample is nearer than the wall it lies on: most ridges fall out here, cheaply.
        off = self.points[ridges] - drawn.points[drawn.ridge_points[:, :1]]
        wide = np.hypot(off[:, :, 0], off[:, :, 1]).min(axis=1) >= reach
        ridges = ridges[wide & (ridges.min(axis=1) >= 0)]
        keep = _clear(floor, self.points[ridges[:, 0]], self.points[ridges[:, 1]], reach)
        self.links: dict[int, list[tuple[int, float]]] = {}
        for p, q in ridges[keep].tolist():
            size = float(np.hypot(*(self.points[p] - self.points[q])))
            self.links.setdefault(p, []).append((q, size))
            self.links.setdefault(q, []).append((p, size))
        self.used = np.array(sorted(self.links), dtype=np.int64)

    def near(self, stop: Floats) -> dict[int, float]:
        """Web points joined to a stop by a clear straight line, with their distance."""
        off = np.hypot(*(self.points[self.used] - stop).T)
        order = np.argsort(off, kind="stable")[:_NEAREST]
        some, ends = self.used[order], np.repeat(stop[None], len(order), axis=0)
        seen = _clear(self.floor, ends, self.points[some], self.reach)
        return {int(p): float(d) for p, d in zip(some[seen], off[order][seen], strict=True)}

    def way(self, a: Floats, b: Floats) -> list[Floats]:
        """Points after ``a`` up to and including ``b``; only ``b`` when no way shows."""
        import heapq

        out = self.near(b)
        queue = [(size, p, -1) for p, size in sorted(self.near(a).items())]
        heapq.heapify(queue)
        before: dict[int, int] = {}
        while queue:
            size, p, prior = heapq.heappop(queue)
            if p in before:
                continue
            before[p] = prior
            if p in out:
                line = [b]
                while p >= 0:
                    line.append(self.points[p])
                    p = before[p]
                return line[::-1]
            for q, more in self.links[p]:
                if q not in before:
                    heapq.heappush(queue, (size + more, q, p))
        return [b]


def _sampled(walls: Floats, spacing: float) -> Floats:
    """Points along every wall edge, its ends included, once each."""
    points = []
    for a, b in walls:
        count = max(1, math.ceil(float(np.hypot(*(b - a))) / spacing))
        points.append(a + np.linspace(0.0, 1.0, count + 1)[:, None] * (b - a))
    return np.unique(np.concatenate(points), axis=0)


def _pulled(floor: Floor, line: Floats, reach: float) -> Floats:
    """Leave out points that a clear straight line can skip, the furthest skip first."""
    kept, at = [0], 0
    while at < len(line) - 1:
        ahead = np.arange(at + 1, len(line))
        seen = _clear(floor, np.repeat(line[at : at + 1], len(ahead), axis=0), line[ahead], reach)
        at = int(ahead[seen].max(initial=at + 1))
        kept.append(at)
    return line[kept]
