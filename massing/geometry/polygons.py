"""Plan polygons in many worlds: corner arrays in, cut pieces and plain answers out.

Which side a corner lies on, and so how many pieces a cut leaves, is decided in world 0, the
nominal one; every new corner is then worked out in all worlds at once as the place where the
same side meets the same line. A crossing never leaves the side it was found on, so pieces keep
their pattern, and keep covering what they covered, even where a world is far from nominal.

Arrays are (worlds, n, 2), mm, counter-clockwise. A line is (worlds, 3): ``a x + b y + c`` is the
distance to its left, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.solids import Floats, following
from massing.geometry.tolerance import EXACT

__all__ = [
    "CUT",
    "Ring",
    "area",
    "bounds_apart",
    "centroid",
    "contains",
    "deeper_than",
    "distances",
    "highest_over",
    "inside_of",
    "line_through",
    "meet",
    "outside_of",
    "overlap",
    "side_lines",
    "split",
    "touching",
]

Bools: TypeAlias = NDArray[np.bool_]

CUT = -1
"""Label of a side that a cut made."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A polygon whose sides remember what they lie on.

    points : (worlds, n, 2) corners, mm, counter-clockwise
    sides : n labels; side k runs from corner k to the next, ``CUT`` where a cut made it
    """

    points: Floats
    sides: tuple[int, ...]

    @classmethod
    def of(cls, points: object) -> Ring:
        """Ring of (n, 2) or (worlds, n, 2) corners, its sides numbered in order."""
        array = np.asarray(points, dtype=np.float64)
        array = array[None] if array.ndim == 2 else array
        return cls(array, tuple(range(array.shape[1])))


def line_through(start: Floats, end: Floats) -> Floats:
    """(worlds, 3) line through two points, each (worlds, 2), positive to the left of the walk.

    >>> line_through(np.array([[0.0, 5.0]]), np.array([[10.0, 5.0]])).tolist()
    [[-0.0, 1.0, -5.0]]
    """
    return _lines(start[:, None], end[:, None])[:, 0]


def _lines(start: Floats, end: Floats) -> Floats:
    """(worlds, n, 3) lines through n pairs of points, each (worlds, n, 2)."""
    step = end - start
    length = np.hypot(step[..., 0], step[..., 1])
    length[length == 0] = 1.0
    line = np.empty((*step.shape[:2], 3))
    line[..., 0] = -step[..., 1] / length
    line[..., 1] = step[..., 0] / length
    line[..., 2] = -line[..., 0] * start[..., 0] - line[..., 1] * start[..., 1]
    return line


def distances(points: Floats, line: Floats) -> Floats:
    """(worlds, n) signed distances of points from a line, mm, positive to its left."""
    return np.asarray(points[:, :, 0] * line[:, :1] + points[:, :, 1] * line[:, 1:2] + line[:, 2:3])


def meet(one: Floats, other: Floats) -> Floats:
    """(worlds, 2) point where two lines cross; far off where they are parallel."""
    bottom = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    bottom = np.where(np.abs(bottom) < 1e-300, 1e-300, bottom)
    x = (one[:, 1] * other[:, 2] - one[:, 2] * other[:, 1]) / bottom
    y = (one[:, 2] * other[:, 0] - one[:, 0] * other[:, 2]) / bottom
    return np.stack([x, y], axis=1)


def area(points: Floats) -> Floats:
    """(worlds,) signed area, mm², positive when counter-clockwise.

    >>> area(np.array([[[0.0, 0.0], [40.0, 0.0], [40.0, 30.0]]])).tolist()
    [600.0]
    """
    local = points - points[:, :1]
    after = following(local)
    turn = local[:, :, 0] * after[:, :, 1] - after[:, :, 0] * local[:, :, 1]
    return np.asarray(0.5 * turn.sum(axis=1))


def centroid(points: Floats) -> Floats:
    """(worlds, 2) centre of area, mm; the first corner where there is no area."""
    local = points - points[:, :1]
    after = following(local)
    cross = local[:, :, 0] * after[:, :, 1] - after[:, :, 0] * local[:, :, 1]
    total = cross.sum(axis=1)
    shift = ((local + after) * cross[:, :, None]).sum(axis=1)
    return np.asarray(points[:, 0] + shift / np.where(total == 0, np.inf, 3 * total)[:, None])


def split(ring: Ring, line: Floats, label: int = CUT) -> tuple[Ring | None, Ring | None]:
    """The parts of a convex ring to the left and to the right of a line.

    A corner within 1e-6 mm of the line in world 0 counts as on it. ``label`` marks the new side.

    >>> left, right = split(Ring.of([[0, 0], [9, 0], [9, 9], [0, 9]]), np.array([[1.0, 0.0, -3.0]]))
    >>> left.points[0].tolist(), right.sides
    ([[3.0, 0.0], [9.0, 0.0], [9.0, 9.0], [3.0, 9.0]], (0, -1, 2, 3))
    """
    far = distances(ring.points, line)
    side = [0 if abs(d) <= EXACT else (1 if d > 0 else -1) for d in far[0].tolist()]
    if min(side) >= 0:
        return ring, None
    if max(side) <= 0:
        return None, ring
    return _kept(ring, far, side, 1, label), _kept(ring, far, side, -1, label)


def _kept(ring: Ring, far: Floats, side: list[int], sign: int, label: int) -> Ring:
    """The corners on one side of a cut, with the two crossings."""
    corners: list[Floats] = []
    sides: list[int] = []
    count = len(side)
    for k in range(count):
        after = (k + 1) % count
        here, there = side[k] * sign, side[after] * sign
        if here >= 0:
            corners.append(ring.points[:, k])
            sides.append(label if here == 0 and there < 0 else ring.sides[k])
        if here * there < 0:
            corners.append(_crossing(ring.points, far, k, after))
            sides.append(label if here > 0 else ring.sides[k])
    return Ring(np.stack(corners, axis=1), tuple(sides))


def _crossing(points: Floats, far: Floats, k: int, after: int) -> Floats:
    """(worlds, 2) where side k crosses the line, held between the side's ends."""
    gap = far[:, k] - far[:, after]
    share = np.clip(far[:, k] / np.where(gap == 0, np.inf, gap), 0.0, 1.0)[:, None]
    return np.asarray(points[:, k] + share * (points[:, after] - points[:, k]))


def side_lines(ring: Ring) -> tuple[Floats, ...]:
    """The line of each side, the ring to its left."""
    lines = _lines(ring.points, following(ring.points))
    return tuple(lines[:, k] for k in range(lines.shape[1]))


def inside_of(ring: Ring, lines: Iterable[Floats]) -> Ring | None:
    """The part of a convex ring to the left of every line, or None."""
    for line in lines:
        kept = split(ring, line)[0]
        if kept is None:
            return None
        ring = kept
    return ring


def outside_of(ring: Ring, lines: Iterable[Floats]) -> tuple[Ring, ...]:
    """Disjoint convex parts of a ring that are to the right of some line."""
    parts = []
    for line in lines:
        kept, off = split(ring, line)
        if off is not None:
            parts.append(off)
        if kept is None:
            break
        ring = kept
    return tuple(parts)


def bounds_apart(one: Floats, other: Floats) -> bool:
    """Whether the upright bounds of two polygons are apart or only touch, in world 0."""
    return any(
        max(own) <= min(theirs) + EXACT or max(theirs) <= min(own) + EXACT
        for own, theirs in zip(one[0].T.tolist(), other[0].T.tolist(), strict=True)
    )


def overlap(one: Ring, other: Ring) -> Ring | None:
    """The common part of two convex rings, sides labelled as in the first, or None."""
    if bounds_apart(one.points, other.points):
        return None
    if len(one.points) == len(other.points) == 1:
        return _overlap_once(one, other.points[0].tolist())
    lines = _lines(other.points, following(other.points))
    # Which lines cut at all is seen for all at once: cutting makes no corner further out.
    x, y = one.points[0, :, :1], one.points[0, :, 1:]
    far = x * lines[0, :, 0] + y * lines[0, :, 1] + lines[0, :, 2]
    cuts = far.min(axis=0) < -EXACT
    if (cuts & (far.max(axis=0) <= EXACT)).any():
        return None
    return inside_of(one, [lines[:, k] for k in np.flatnonzero(cuts)])


def _overlap_once(ring: Ring, other: list[list[float]]) -> Ring | None:
    """What ``overlap`` answers in one world, where plain numbers are far quicker than arrays."""
    corners, sides = ring.points[0].tolist(), list(ring.sides)
    cuts = []
    for (ax, ay), (bx, by) in zip(other, other[1:] + other[:1], strict=True):
        length = math.hypot(bx - ax, by - ay) or 1.0
        a, b = (ay - by) / length, (bx - ax) / length
        c = -a * ax - b * ay
        far = [x * a + y * b + c for x, y in corners]
        if min(far) < -EXACT:
            if max(far) <= EXACT:
                return None
            cuts.append((a, b, c))
    if not cuts:
        return ring
    for a, b, c in cuts:
        far = [x * a + y * b + c for x, y in corners]
        if min(far) < -EXACT:
            if max(far) <= EXACT:
                return None
            corners, sides = _kept_once(corners, sides, far)
    return Ring(np.array([corners]), tuple(sides))


def _kept_once(
    corners: list[list[float]], sides: list[int], far: list[float]
) -> tuple[list[list[float]], list[int]]:
    """The corners to the left of a cut in one world, with the two crossings."""
    found: list[list[float]] = []
    labels: list[int] = []
    count = len(far)
    for k in range(count):
        after = (k + 1) % count
        here, there = far[k], far[after]
        if here >= -EXACT:
            found.append(corners[k])
            labels.append(CUT if here <= EXACT and there < -EXACT else sides[k])
        if (here > EXACT and there < -EXACT) or (here < -EXACT and there > EXACT):
            share = min(max(here / (here - there), 0.0), 1.0)
            (px, py), (qx, qy) = corners[k], corners[after]
            found.append([px + share * (qx - px), py + share * (qy - py)])
            labels.append(CUT if here > 0 else sides[k])
    return found, labels


def touching(one: Ring, other: Ring) -> bool:
    """Whether two disjoint convex rings share a length of boundary, in world 0.

    >>> left = Ring.of([[0, 0], [4, 0], [4, 4], [0, 4]])
    >>> touching(left, Ring.of([[4, 3], [6, 3], [6, 9], [4, 9]]))
    True
    >>> touching(left, Ring.of([[4, 4], [6, 4], [6, 9], [4, 9]]))
    False
    """
    theirs = other.points[0]
    after = np.roll(theirs, -1, axis=0)
    for line, start, end in zip(
        side_lines(one), one.points[0], np.roll(one.points[0], -1, axis=0), strict=True
    ):
        off = theirs @ line[0, :2] + line[0, 2]
        on = (np.abs(off) <= 1e3 * EXACT) & (np.abs(np.roll(off, -1)) <= 1e3 * EXACT)
        length = float(np.hypot(*(end - start)))
        if not on.any() or length <= EXACT:
            continue
        way = (end - start) / length
        a, b = (theirs[on] - start) @ way, (after[on] - start) @ way
        if (np.minimum(np.maximum(a, b), length) - np.maximum(np.minimum(a, b), 0) > EXACT).any():
            return True
    return False


def contains(ring: Floats, points: Floats, slack: float = EXACT) -> Bools:
    """(worlds, m) True where points (worlds, m, 2) lie in a convex polygon or within ``slack``.

    >>> square = np.array([[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]]])
    >>> contains(square, np.array([[[9.0, 4.0], [9.1, 4.0]]])).tolist()
    [[True, False]]
    """
    start = ring[:, None]
    step = following(ring)[:, None] - start
    to = points[:, :, None] - start
    cross = step[..., 0] * to[..., 1] - step[..., 1] * to[..., 0]
    return np.asarray((cross >= -slack * np.hypot(step[..., 0], step[..., 1])).all(axis=2))


def highest_over(one: Floats, other: Floats, plane: Floats, least: float) -> Floats:
    """(worlds,) greatest height of a plane over the common part of two convex polygons.

    one, other : (worlds, n, 2) and (worlds, m, 2)
    plane : (worlds, 3) rows a, b, c of z = a x + b y + c
    least : -inf is answered where they overlap by less than about this, mm
    """
    points = np.concatenate([one, other, _crossings(one, other)], axis=1)
    both = contains(one, points) & contains(other, points)
    heights = np.einsum("wmi,wi->wm", points, plane[:, :2]) + plane[:, 2:]
    best = np.where(both, heights, -np.inf).max(axis=1)
    return np.asarray(np.where(deeper_than(one, other, least), best, -np.inf))


def _crossings(one: Floats, other: Floats) -> Floats:
    """(worlds, n*m, 2) where the lines of the sides cross; far off for parallel ones."""
    p, q = one[:, :, None], other[:, None]
    u = following(one)[:, :, None] - p
    v = following(other)[:, None] - q
    bottom = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    top = (q - p)[..., 0] * v[..., 1] - (q - p)[..., 1] * v[..., 0]
    parallel = np.abs(bottom) <= 1e-12 * (np.abs(u).sum(-1) * np.abs(v).sum(-1) + 1e-300)
    share = top / np.where(parallel, np.inf, bottom)
    return np.asarray((p + share[..., None] * u).reshape(one.shape[0], -1, 2))


def deeper_than(one: Floats, other: Floats, least: float) -> Bools:
    """(worlds,) whether no side of either convex polygon separates the two but for ``least`` mm.

    one, other : (worlds, n, 2) and (worlds, m, 2)

    >>> square = np.array([[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]]])
    >>> deeper_than(square, square + 8.0, 0.5).tolist(), deeper_than(square, square + 9.0, 0.5)
    ([True], array([False]))
    """
    apart = np.full(one.shape[0], -np.inf)
    for a, b in ((one, other), (other, one)):
        step = following(a) - a
        length = np.hypot(step[..., 0], step[..., 1])
        whole = np.where(length > 0, length, 1.0)
        x, y = step[..., 1] / whole, -step[..., 0] / whole
        level = x * a[..., 0] + y * a[..., 1]
        off = x[..., None] * b[:, None, :, 0] + y[..., None] * b[:, None, :, 1] - level[..., None]
        gap = np.where(length > 0, off.min(axis=2), -np.inf)
        apart = np.maximum(apart, gap.max(axis=1))
    return np.asarray(apart < -least, dtype=bool)
