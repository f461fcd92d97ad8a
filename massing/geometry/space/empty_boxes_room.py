"""A room as cells in, its free space as bounds, half-spaces and solid surroundings out.

What is not room is as solid as an item: raised floors, lower ceilings and the plan outside.
A wall or ceiling plane that has the whole room on one side needs no solid; it is one half-space.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats, prism, prism_faces, prism_to_planes

__all__ = ["CeilingCell", "Surround", "bounds_and_rows", "contact_rows", "surround"]

_SAME = 1e-9  # mm; levels and sides nearer than this are one
_SQUARE = 1e-12  # part of a unit normal that counts as none


@dataclass(frozen=True, slots=True, eq=False)
class CeilingCell:
    """A piece of a room: a convex plan, one floor level, one ceiling plane.

    plan : (n, 2) float, mm, counter-clockwise seen from above, convex
    floor : mm
    plane : (3,) float ``a, b, c``; the ceiling over (x, y) is ``a x + b y + c``, mm
    """

    plan: Floats
    floor: float
    plane: Floats

    @property
    def tops(self) -> Floats:
        """(n,) ceiling height at each corner of the plan, mm."""
        return np.asarray(self.plan @ self.plane[:2] + self.plane[2])

    @property
    def solid(self) -> Convex:
        """The cell's air as a convex solid.

        >>> cell = CeilingCell(np.array([[0, 0], [4, 0], [4, 2], [0, 2.0]]), 0, np.array([1, 0, 1]))
        >>> cell.solid.volume.tolist()
        [24.0]
        """
        return prism_to_planes(self.plan, self.floor, self.tops)


@dataclass(frozen=True, slots=True, eq=False)
class Surround:
    """Everything that is not room.

    low, high : (3,) float, mm    the room's bounds
    rows : (r, 4) float    unit ``nx, ny, nz, h``; the whole room has ``n . p >= h``
    boxes : (k, 6) float, mm    axis-aligned solid parts of the surroundings within the bounds
    solids : the other solid parts
    """

    low: Floats
    high: Floats
    rows: Floats
    boxes: Floats
    solids: tuple[Convex, ...]


def surround(room: Sequence[CeilingCell], margin: float = 0.0) -> Surround:
    """Surroundings of a room whose cells may touch in plan but not overlap.

    margin : mm the solid surroundings reach past the room's bounds; with a margin nothing is
        left to half-spaces, so the solids alone close the room

    Raises GeometryError for an empty room, a plan without area, or a ceiling under its floor.

    >>> square = np.array([[0, 0], [1000, 0], [1000, 1000], [0, 1000.0]])
    >>> around = surround([CeilingCell(square, 0.0, np.array([0.5, 0.0, 2000.0]))])
    >>> around.high.tolist(), len(around.rows), len(around.boxes), len(around.solids)
    ([1000.0, 1000.0, 2500.0], 1, 0, 0)
    """
    cells = [_checked(cell) for cell in room]
    if not cells:
        raise GeometryError("a room needs at least one cell")
    corners = np.concatenate([cell.plan for cell in cells])
    floor = min(cell.floor for cell in cells)
    top = max(float(cell.tops.max()) for cell in cells)
    low, high = np.array([*corners.min(axis=0), floor]), np.array([*corners.max(axis=0), top])
    walls = [] if margin > 0 else _shared_walls(cells)
    ceilings = [] if margin > 0 else _shared_ceilings(cells, top)
    under = cells if margin > 0 else [c for c in cells if not _is_shared(c.plane, cells)]
    parts = [
        *_outside(cells, walls, low - margin, high + margin),
        *_floors(cells, floor - margin),
        *_lower_ceilings(under, top + margin),
    ]
    rows = np.array([*walls, *ceilings]).reshape(-1, 4)
    boxes, solids = _sorted_out(parts)
    return Surround(low, high, rows, boxes, solids)


def bounds_and_rows(solids: Sequence[Convex]) -> tuple[Floats, list[Floats]]:
    """(n, 6) bounds of one-world solids, low x y z and high x y z, and the contact rows of each.

    Upright prisms of as many sides are worked out together: there may be hundreds.
    """
    bounds = np.zeros((len(solids), 6))
    rows: list[Floats] = [np.zeros((0, 4))] * len(solids)
    alike: dict[int, list[int]] = {}
    for number, solid in enumerate(solids):
        alike.setdefault(solid.corners.shape[1] if solid.faces.upright else 0, []).append(number)
    for sides, numbers in alike.items():
        if sides:
            corners = np.concatenate([solids[k].corners for k in numbers])
            bounds[numbers, :3], bounds[numbers, 3:] = corners.min(axis=1), corners.max(axis=1)
            for k, planes in zip(numbers, _prism_rows(corners), strict=True):
                rows[k] = planes
        else:
            for k in numbers:
                bounds[k] = *solids[k].low[0], *solids[k].high[0]
                rows[k] = contact_rows(solids[k])
    return bounds, rows


def contact_rows(solid: Convex) -> Floats:
    """(r, 4) tilted planes ``n . p >= h`` one of which parts any box from the solid.

    The planes are the faces of the solid plus a box turned inside out that are not square to the
    axes: tilted faces of the solid, and edges of the solid rolled over an axis. Which planes they
    are does not depend on the size of the box. A box and a solid do not overlap exactly when the
    box is clear of the solid's bounds or on the far side of one of these planes.

    >>> contact_rows(prism([[1, 0], [2, 1], [1, 2], [0, 1]], 0, 5)).shape
    (4, 4)
    """
    if solid.faces.upright:
        return _prism_rows(solid.corners)[0]
    corners, normals = solid.corners[0], _all_sides(solid)
    normals = np.where(np.abs(normals) < _SQUARE, 0.0, normals)
    normals = normals[np.count_nonzero(normals, axis=1) > 1]
    # An edge rolled over an axis often repeats a face.
    _, first = np.unique(np.round(normals, 10) + 0.0, axis=0, return_index=True)
    normals = normals[first]
    return np.column_stack([normals, (corners @ normals.T).max(axis=0)])


def _prism_rows(corners: Floats) -> list[Floats]:
    """Contact rows of upright prisms (n, 2 k, 3): the walls askew to the axes."""
    ring = corners[:, : corners.shape[1] // 2, :2]
    along = np.concatenate([ring[:, 1:], ring[:, :1]], axis=1) - ring
    size = np.hypot(along[..., 0], along[..., 1])
    along = along / np.where(size > 0.0, size, 1.0)[..., None]
    along = np.where(np.abs(along) < _SQUARE, 0.0, along)
    askew = (along != 0.0).all(axis=2)
    rows = np.zeros((*askew.shape, 4))
    rows[..., 0], rows[..., 1] = along[..., 1], -along[..., 0]
    rows[..., 3] = (rows[..., :2] @ ring.swapaxes(1, 2)).max(axis=2)
    ends = np.cumsum(askew.sum(axis=1))[:-1]
    return np.split(rows[askew], ends)


def _all_sides(solid: Convex) -> Floats:
    """Unit normals of every face, and of every edge rolled over an axis where it is outermost."""
    corners = solid.corners[0]
    faces = np.array([_newell(corners[list(ring)]) for ring in solid.faces.rings])
    edges = solid.faces.edges
    along = corners[edges[:, 1]] - corners[edges[:, 0]]
    across = np.cross(np.eye(3)[None], along[:, None]).reshape(-1, 3)
    across = np.concatenate([across, -across])
    start = np.tile(np.repeat(edges[:, 0], 3), 2)
    length = np.tile(np.repeat(np.linalg.norm(along, axis=1), 3), 2)
    size = np.linalg.norm(across, axis=1)
    real = size > 1e-9 * length
    across, start = across[real] / size[real, None], start[real]
    reach = (corners @ across.T).max(axis=0) - np.einsum("ij,ij->i", corners[start], across)
    size = np.linalg.norm(faces, axis=1)
    return np.concatenate([faces[size > 0] / size[size > 0, None], across[reach <= _SAME]])


def _newell(ring: Floats) -> Floats:
    """Normal of a planar ring, as long as twice its area (Newell)."""
    return np.asarray(np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0))


def _checked(cell: CeilingCell) -> CeilingCell:
    plan = np.asarray(cell.plan, dtype=np.float64)
    following = np.roll(plan, -1, axis=0)
    area = float((plan[:, 0] * following[:, 1] - following[:, 0] * plan[:, 1]).sum()) / 2
    if area <= 0:
        raise GeometryError("a cell's plan must have area and run counter-clockwise")
    turn = following - plan
    after = np.roll(turn, -1, axis=0)
    if (turn[:, 0] * after[:, 1] - turn[:, 1] * after[:, 0]).min() < -1e-6 * area:
        raise GeometryError("a cell's plan must be convex")
    checked = CeilingCell(plan, float(cell.floor), np.asarray(cell.plane, dtype=np.float64))
    if float(checked.tops.max()) <= checked.floor:
        raise GeometryError("a cell's ceiling is under its floor")
    return checked


def _shared_walls(cells: list[CeilingCell]) -> list[Floats]:
    """Slanted plan edges that have every cell on their inner side, as rows."""
    corners = np.concatenate([cell.plan for cell in cells])
    found = []
    for cell in cells:
        for start, end in zip(cell.plan, np.roll(cell.plan, -1, axis=0), strict=True):
            along = end - start
            size = float(np.linalg.norm(along))
            if size == 0 or np.abs(along).min() < 1e-12 * size:
                continue
            inward = np.array([-along[1], along[0]]) / size
            least = float((corners @ inward).min())
            if least >= float(start @ inward) - _SAME:
                found.append(np.array([*inward, 0.0, least]))
    return found


def _ceiling_row(cell: CeilingCell) -> Floats:
    a, b, c = (float(v) for v in cell.plane)
    a, b = (0.0 if abs(v) < 1e-12 else v for v in (a, b))
    return np.array([a, b, -1.0, -c]) / float(np.sqrt(a * a + b * b + 1.0))


def _is_shared(plane: Floats, cells: list[CeilingCell]) -> bool:
    return all(
        bool((cell.plan @ plane[:2] + plane[2] >= cell.tops - _SAME).all()) for cell in cells
    )


def _shared_ceilings(cells: list[CeilingCell], top: float) -> list[Floats]:
    """Ceiling planes no part of the room rises above, as rows; the top level itself is a bound."""
    rows: dict[tuple[float, ...], Floats] = {}
    for cell in cells:
        level = np.abs(cell.plane[:2]).max() < 1e-12 and cell.plane[2] >= top - _SAME
        if not level and _is_shared(cell.plane, cells):
            row = _ceiling_row(cell)
            rows.setdefault(tuple(np.round(row, 9)), row)
    return list(rows.values())


def _floors(cells: list[CeilingCell], lowest: float) -> Iterator[Convex]:
    for cell in cells:
        if cell.floor > lowest + _SAME:
            yield prism(cell.plan, lowest, cell.floor)


def _lower_ceilings(cells: list[CeilingCell], top: float) -> Iterator[Convex]:
    for cell in cells:
        if float(cell.tops.min()) < top - _SAME:
            n = len(cell.plan)
            corners = np.empty((1, 2 * n, 3))
            corners[0, :, :2] = np.concatenate([cell.plan, cell.plan])
            corners[0, :n, 2], corners[0, n:, 2] = cell.tops, top
            yield Convex(corners, prism_faces(n, upright=False))


def _outside(
    cells: list[CeilingCell], walls: list[Floats], low: Floats, high: Floats
) -> Iterator[Convex]:
    """Upright prisms over the bounds less the plans, cut in bands at every corner's y."""
    levels = _distinct([low[1], high[1], *np.concatenate([c.plan for c in cells])[:, 1]])
    for south, north in pairwise(levels):
        spans = sorted(
            (span for cell in cells if (span := _across(cell.plan, south, north)) is not None),
            key=lambda span: (span[0] + span[2], span[1] + span[3]),
        )
        left = (float(low[0]), float(low[0]))
        for a, b, c, d in [*spans, (float(high[0]), 0.0, float(high[0]), 0.0)]:
            ring = _trapezium(left, (a, c), south, north)
            if ring is not None and not _beyond(ring, walls):
                yield prism(ring, low[2], high[2])
            left = (max(left[0], b), max(left[1], d))


def _distinct(values: list[float]) -> list[float]:
    kept: list[float] = []
    for value in sorted(float(v) for v in values):
        if not kept or value > kept[-1] + _SAME:
            kept.append(value)
    return kept


def _across(plan: Floats, south: float, north: float) -> tuple[float, float, float, float] | None:
    """West and east end of a plan at the south and north side of a band: sw, se, nw, ne."""
    if plan[:, 1].min() > south + _SAME or plan[:, 1].max() < north - _SAME:
        return None
    ends: list[float] = []
    for y in (south, north):
        xs: list[float] = []
        for (x0, y0), (x1, y1) in zip(plan, np.roll(plan, -1, axis=0), strict=True):
            if min(y0, y1) - _SAME <= y <= max(y0, y1) + _SAME:
                if abs(y1 - y0) <= _SAME:
                    xs += [float(x0), float(x1)]
                else:
                    share = min(1.0, max(0.0, (y - y0) / (y1 - y0)))
                    xs.append(float(x0 + (x1 - x0) * share))
        ends += [min(xs), max(xs)]
    return ends[0], ends[1], ends[2], ends[3]


def _trapezium(
    left: tuple[float, float], right: tuple[float, float], south: float, north: float
) -> Floats | None:
    wide, far = right[0] - left[0], right[1] - left[1]
    if max(wide, far) <= _SAME:
        return None
    ring = [(left[0], south)]
    if wide > _SAME:
        ring.append((right[0], south))
    ring.append((right[1], north))
    if far > _SAME:
        ring.append((left[1], north))
    return np.array(ring)


def _beyond(ring: Floats, walls: list[Floats]) -> bool:
    return any(bool((ring @ wall[:2] <= wall[3] + _SAME).all()) for wall in walls)


def _sorted_out(parts: Sequence[Convex]) -> tuple[Floats, tuple[Convex, ...]]:
    boxes, solids = [], []
    for part in parts:
        if len(contact_rows(part)):
            solids.append(part)
        else:
            boxes.append(np.concatenate([part.low[0], part.high[0]]))
    return np.array(boxes).reshape(-1, 6), tuple(solids)
