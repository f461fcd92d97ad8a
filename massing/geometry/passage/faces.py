"""Where a way through a plan pinches: free floor in, pairs of wall points and faces between out.

A pair is kept when the disc on it as diameter holds no other wall point: only there does the
clearance have a pass. Pairs never cross one another (but for the two diagonals of a rectangle,
where one does for both), so they cut the floor into faces with one summit of clearance each.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from massing.geometry.solids import Floats, Ints

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["Floor", "Gate", "floor_faces", "open_floor"]

_SAME = 1e-6  # mm; points this near are one point
_LEAN = 1e-5  # cosine; a wall edge this square to a pair does not lean into its disc
_FEW = 6  # corners near each corner that are tried first
_ON_WALL = 1.0  # mm; a start drawn this near the wall line lies in the wall: it is a doorway


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """The free floor and what bounds it.

    free : the floor less the obstacles
    ends : (e, 2, 2) straight pieces of its edge; doorway : (e,) bool, the open ones
    walls : the other pieces, as one geometry
    """

    free: BaseGeometry
    ends: Floats
    doorway: np.ndarray[Any, np.dtype[np.bool_]]
    walls: BaseGeometry


@dataclass(frozen=True, slots=True, eq=False)
class Gate:
    """A cut between two faces: its two wall points (2, 2), its width, the faces either side."""

    pair: Floats
    width: float
    sides: tuple[int, int]


def open_floor(outline: BaseGeometry, obstacles: BaseGeometry, start: Floats) -> Floor:
    """Take obstacles off the outline and open the wall along a start segment lying in it.

    start : (1, 2) a point, or (2, 2) a segment
    """
    import shapely

    free = shapely.set_precision(outline.difference(obstacles), _SAME)
    pieces: list[tuple[Floats, Floats]] = []
    for ring in _rings([free]):
        for a, b in pairwise(ring):
            pieces += _split_at(a, b, start) if len(start) == 2 else [(a, b)]
    ends = np.array(pieces, dtype=np.float64).reshape(-1, 2, 2)
    doorway = np.zeros(len(ends), dtype=bool)
    if len(start) == 2 and len(ends):
        gate = shapely.LineString(start)
        far = [shapely.distance(shapely.points(ends[:, k]), gate) for k in range(2)]
        doorway = np.maximum(far[0], far[1]) <= _ON_WALL
    walls = shapely.MultiLineString(list(ends[~doorway]))
    return Floor(free, ends, doorway, walls)


def _rings(shapes: Iterable[BaseGeometry]) -> list[Floats]:
    import shapely

    lines = [
        ring
        for shape in shapes
        for part in shapely.get_parts(shape)
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]
    return [np.asarray(ring.coords) for ring in lines]


def _split_at(a: Floats, b: Floats, points: Floats) -> list[tuple[Floats, Floats]]:
    """Pieces of a wall edge cut at the points that lie on it."""
    along = b - a
    size = float(np.hypot(along[0], along[1]))
    if size <= _SAME:
        return [(a, b)]
    place = (points - a) @ along / size
    off = np.abs((points - a) @ np.array([-along[1], along[0]])) / size
    inner = np.sort(place[(off <= _ON_WALL) & (place > _ON_WALL) & (place < size - _ON_WALL)])
    stops = [a, *(a + along * (each / size) for each in inner), b]
    return list(pairwise(stops))


def floor_faces(floor: Floor) -> tuple[list[BaseGeometry], list[Gate]]:
    """Faces of the free floor between its gates, and the gates; a doorway leads to face -1."""
    import shapely

    tips, where = _pairs(floor)
    lines = [*_noded(floor.ends, tips, where), *_no_crossing(tips)]
    faces = [
        face
        for face in shapely.get_parts(shapely.polygonize(shapely.linestrings(lines)))
        if shapely.intersects_xy(floor.free, *face.representative_point().coords[0])
    ]
    beside: dict[tuple[tuple[float, ...], ...], list[int]] = {}
    for number, face in enumerate(faces):
        for ring in _rings([face]):
            for a, b in pairwise(ring.tolist()):
                beside.setdefault(_edge(a, b), []).append(number)
    gates = []
    for a, b in _no_crossing(tips).tolist():
        sides = beside.get(_edge(a, b), [])
        if len(sides) == 2:
            width = float(np.hypot(b[0] - a[0], b[1] - a[1]))
            gates.append(Gate(np.array([a, b]), width, (sides[0], sides[1])))
    return faces, gates + _doorways(floor, beside)


def _edge(a: list[float], b: list[float]) -> tuple[tuple[float, ...], ...]:
    return (tuple(a), tuple(b)) if a < b else (tuple(b), tuple(a))


def _doorways(floor: Floor, beside: dict[tuple[tuple[float, ...], ...], list[int]]) -> list[Gate]:
    """The way in: each face behind the open wall, as wide as the unbroken opening before it."""
    import shapely

    pieces = floor.ends[floor.doorway]
    if len(pieces) == 0:
        return []
    runs = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(list(pieces))))
    gates = []
    for piece in pieces.tolist():
        middle = shapely.Point(np.mean(piece, axis=0))
        run = min(runs, key=lambda each: float(each.distance(middle)))
        pair = np.array([run.coords[0], run.coords[-1]])
        gates += [Gate(pair, float(run.length), (-1, n)) for n in beside.get(_edge(*piece), [])]
    return gates


def _pairs(floor: Floor) -> tuple[Floats, Ints]:
    """Tips (p, 2, 2) of every pair, and the edge (p,) its second tip splits, or -1."""
    import shapely

    walls = floor.ends[~floor.doorway]
    numbers = np.flatnonzero(~floor.doorway)
    corners, index = np.unique(walls.reshape(-1, 2), axis=0, return_inverse=True)
    index = index.reshape(-1, 2)
    near = _nearest(corners)
    one, two = np.triu_indices(len(corners), 1)
    open_ = ~(
        _blocked(corners, near, one, corners[two]) | _blocked(corners, near, two, corners[one])
    )
    one, two = one[open_], two[open_]
    tips = [np.stack([corners[one], corners[two]], axis=1)]
    edges = [np.full(len(one), -1, dtype=np.int64)]
    along = walls[:, 1] - walls[:, 0]
    size = np.hypot(along[:, 0], along[:, 1])
    unit = along / size[:, None]
    place = np.einsum("ved,ed->ve", corners[:, None] - walls[None, :, 0], unit)
    v, e = np.nonzero((place > _SAME) & (place < size - _SAME))
    foot = walls[e, 0] + unit[e] * place[v, e][:, None]
    open_ = ~_blocked(corners, near, v, foot)
    v, e, foot = v[open_], e[open_], foot[open_]
    tips.append(np.stack([corners[v], foot], axis=1))
    edges.append(numbers[e])
    all_tips, all_edges = np.concatenate(tips), np.concatenate(edges)
    first = np.concatenate([one, v])
    second = np.concatenate([two, np.full(len(v), -1)])
    radius = 0.5 * np.hypot(*(all_tips[:, 1] - all_tips[:, 0]).T)
    touching = (radius <= _SAME) & (all_edges >= 0)
    all_tips[touching, 1] = all_tips[touching, 0]
    keep = _faces_away(all_tips, first, walls, index)
    keep &= _faces_away(all_tips[:, ::-1], second, walls, index) | (second < 0)
    keep |= touching
    all_tips, all_edges = all_tips[keep], all_edges[keep]
    radius, touching = radius[keep], touching[keep]
    middle = all_tips.mean(axis=1)
    shapely.prepare(floor.free)
    shapely.prepare(floor.walls)
    keep = shapely.intersects_xy(floor.free, middle[:, 0], middle[:, 1])
    keep[keep] = ~shapely.dwithin(
        floor.walls, shapely.points(middle[keep]), np.maximum(radius[keep] - _SAME, 0.0)
    )
    keep |= touching
    if floor.doorway.any():
        door = shapely.multilinestrings(list(floor.ends[floor.doorway]))
        keep &= ~shapely.crosses(shapely.linestrings(all_tips), door)
        keep &= shapely.distance(shapely.points(middle), door) > _SAME
    return all_tips[keep], all_edges[keep]


def _nearest(corners: Floats) -> Ints:
    """(v, k) the few corners nearest to each corner, itself left out."""
    off = corners[:, None] - corners[None]
    square = off[..., 0] ** 2 + off[..., 1] ** 2
    np.fill_diagonal(square, np.inf)
    few = min(_FEW, len(corners) - 1)
    return np.argpartition(square, few - 1, axis=1)[:, :few] if few > 0 else np.empty((0, 0), int)


def _blocked(
    corners: Floats, near: Ints, first: Ints, second: Floats
) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Which discs between a corner and another point surely hold a corner near the first.

    A point is inside the disc on a pair exactly where it sees the two at more than a right angle.
    """
    x, y = corners[first, 0], corners[first, 1]
    inside = np.zeros(len(first), dtype=bool)
    # The test by the walls allows _SAME; twice that is surely inside.
    rim = 0.5 * np.hypot(second[:, 0] - x, second[:, 1] - y) - 2.0 * _SAME
    middle = 0.5 * (x + second[:, 0]), 0.5 * (y + second[:, 1])
    square = np.where(rim > 0.0, rim * rim, -1.0)
    for k in range(near.shape[1]):
        other = corners[near[first, k]]
        inside |= (other[:, 0] - middle[0]) ** 2 + (other[:, 1] - middle[1]) ** 2 < square
    return inside


def _faces_away(
    tips: Floats, corner: Ints, walls: Floats, index: Ints
) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Whether no wall edge at the first tip leans into the disc on the pair."""
    lean = np.ones(len(tips), dtype=bool)
    toward = tips[:, 1] - tips[:, 0]
    size = np.maximum(np.hypot(toward[:, 0], toward[:, 1]), _SAME)
    for end in range(2):
        order = np.argsort(index[:, end], kind="stable")
        most = int(np.bincount(index[:, end]).max(initial=0))
        starts = np.searchsorted(index[order, end], corner)
        for k in range(most):
            slot = np.minimum(starts + k, len(order) - 1)
            edge = order[slot]
            mine = (starts + k < len(order)) & (index[edge, end] == corner)
            away = walls[edge, 1 - end] - walls[edge, end]
            length = np.hypot(away[:, 0], away[:, 1])
            lean &= ~mine | ((away * toward).sum(axis=1) <= _LEAN * length * size)
    return lean


def _noded(ends: Floats, tips: Floats, where: Ints) -> Floats:
    """Wall pieces cut at every tip that lies within them."""
    pieces = []
    for number, (a, b) in enumerate(ends):
        feet = tips[where == number, 1]
        order = np.argsort((feet - a) @ (b - a), kind="stable")
        pieces += list(pairwise([a, *feet[order], b]))
    lines = np.array(pieces)
    return np.asarray(lines[np.abs(lines[:, 0] - lines[:, 1]).max(axis=1) > 0.0])


def _no_crossing(tips: Floats) -> Floats:
    """Pairs longer than nothing, the longer of two that cross left out."""
    import shapely

    long: Floats = tips[np.hypot(*(tips[:, 1] - tips[:, 0]).T) > 2.0 * _SAME]
    if len(long) == 0:
        return long
    lines = np.asarray(shapely.linestrings(long))
    one, two = shapely.STRtree(lines).query(lines, predicate="crosses")
    size = np.asarray(shapely.length(lines))
    worse = (size[one] > size[two]) | ((size[one] == size[two]) & (one > two))
    return np.delete(long, one[worse], axis=0)
