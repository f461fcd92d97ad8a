"""Which upright prisms come within reach, and how far apart they are: solids in, pairs out.

Broad and narrow phase in one question, for a whole room or for one moved thing against the rest.
A pair that some edge normal already holds beyond reach is dropped there, so the exact gap is only
worked out for pairs that are told. The plain way here needs numpy alone;
``massing.geometry.gaps.pairs_compiled`` has the same answers for rooms of hundreds of things.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.errors import GeometryError
from massing.geometry.gaps.candidates import near_bounds
from massing.geometry.gaps.plan import NOTHING
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import EXACT

__all__ = ["BOUNDS", "EDGE", "Near", "pairs_within", "prism_table"]

BOUNDS = 7  # numbers before the ring: least corner, greatest corner, count of ring corners
EDGE = 5  # numbers a ring corner: x, y, unit outward normal x, y of the edge from it, its length


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Pairs within reach, sorted, first number below the second.

    pairs : (m, 2) numbers of prisms
    gap : (m,) mm, signed as in massing.geometry.gaps.signed
    """

    pairs: Ints
    gap: Floats


def prism_table(solids: Sequence[Convex], world: int = 0) -> Floats:
    """Upright prisms of one world as rows of (n, BOUNDS + EDGE * most corners) numbers, mm.

    Rings with fewer corners, and triangles always, are filled up with edges of no length.
    Raises GeometryError when a solid is not an upright prism.

    >>> from massing.geometry.solids import box
    >>> prism_table([box([0, 0, 0], [10, 20, 30])])[0, :9].tolist()
    [0.0, 0.0, 0.0, 10.0, 20.0, 30.0, 4.0, 0.0, 0.0]
    """
    if not all(solid.faces.upright for solid in solids):
        raise GeometryError("only upright prisms go in a table of prisms")
    layers = [s.corners[world if len(s.corners) > 1 else 0] for s in solids]
    counts = np.array([len(layer) for layer in layers], dtype=np.int64) // 2
    most = int(counts.max(initial=4))
    table = np.empty((len(layers), BOUNDS + EDGE * most))
    for count in np.unique(counts).tolist():
        rows = np.flatnonzero(counts == count)
        cloud = np.concatenate([layers[k] for k in rows.tolist()]).reshape(-1, 2 * count, 3)
        table[rows] = _rows(cloud, count, most)
    return table


def _rows(corners: Floats, count: int, most: int) -> Floats:
    """Rows of prisms that have the same number of ring corners."""
    plan = corners[:, :count, :2]
    rows = np.empty((len(corners), BOUNDS + EDGE * most))
    rows[:, :2], rows[:, 3:5] = plan.min(axis=1), plan.max(axis=1)
    rows[:, 2], rows[:, 5], rows[:, 6] = corners[:, 0, 2], corners[:, count, 2], count
    way = plan[:, [*range(1, count), 0]] - plan
    length = np.hypot(way[..., 0], way[..., 1])
    real = length > NOTHING
    safe = np.where(real, length, 1.0)
    ring = rows[:, BOUNDS:].reshape(-1, most, EDGE)
    ring[:, :count, :2] = plan
    ring[:, :count, 2] = np.where(real, way[..., 1] / safe, 0.0)
    ring[:, :count, 3] = np.where(real, -way[..., 0] / safe, 0.0)
    ring[:, :count, 4] = np.where(real, length, 0.0)
    ring[:, count:, :2] = plan[:, -1:]
    ring[:, count:, 2:] = 0.0
    return rows


def pairs_within(table: Floats, reach: float) -> Near:
    """Pairs of a table whose gap is at most ``reach`` mm (to EXACT), with that gap, by numpy.

    >>> from massing.geometry.solids import box
    >>> row = prism_table([box([x, 0, 0], [x + 10, 10, 10]) for x in (0, 8, 22)])
    >>> near = pairs_within(row, 5.0)
    >>> near.pairs.tolist(), near.gap.tolist()
    ([[0, 1], [1, 2]], [-2.0, 4.0])
    """
    i, j = near_bounds(table[:, :3], table[:, 3:6], reach)
    limit = reach + EXACT
    a, b = table[i], table[j]
    rise = np.maximum(b[:, 2] - a[:, 5], a[:, 2] - b[:, 5])
    side = np.maximum(_side(a, b), _side(b, a))
    near = np.flatnonzero(np.maximum(side, rise) <= limit)
    i, j, side, rise = i[near], j[near], side[near], rise[near]
    apart = np.flatnonzero(side > 0.0)
    if len(apart):
        one, two = a[near[apart]], b[near[apart]]
        square = np.minimum(_corner_to_edge(one, two), _corner_to_edge(two, one))
        side[apart] = np.sqrt(square)
    both = (side > 0.0) & (rise > 0.0)
    gap = np.where(both, np.hypot(side, rise), np.maximum(side, rise))
    kept = np.flatnonzero(gap <= limit)
    kept = kept[np.argsort(i[kept] * len(table) + j[kept], kind="stable")]
    return Near(np.stack([i[kept], j[kept]], axis=1), gap[kept])


def _ring(rows: Floats) -> Floats:
    """(EDGE, corners, rows) view of the rings."""
    sides = (rows.shape[1] - BOUNDS) // EDGE
    return rows[:, BOUNDS:].reshape(len(rows), sides, EDGE).transpose(2, 1, 0)


def _side(a: Floats, b: Floats) -> Floats:
    """Greatest separation along the edge normals of a."""
    x, y, out_x, out_y, length = _ring(a)
    other_x, other_y = _ring(b)[:2]
    most = np.full(len(a), -np.inf)
    for k in range(len(x)):
        least = (out_x[k] * (other_x - x[k]) + out_y[k] * (other_y - y[k])).min(axis=0)
        np.maximum(most, least, out=most, where=length[k] > 0.0)
    return most


def _corner_to_edge(a: Floats, b: Floats) -> Floats:
    """Least squared distance from a corner of a to an edge of b."""
    x, y = _ring(a)[:2]
    edge_x, edge_y, out_x, out_y, length = _ring(b)
    best = np.full(len(a), np.inf)
    for k in range(len(edge_x)):
        to_x, to_y = x - edge_x[k], y - edge_y[k]
        along = np.minimum(np.maximum(to_y * out_x[k] - to_x * out_y[k], 0.0), length[k])
        off_x, off_y = to_x + out_y[k] * along, to_y - out_x[k] * along
        np.minimum(best, (off_x * off_x + off_y * off_y).min(axis=0), out=best)
    return best
