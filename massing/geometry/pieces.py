"""Simple polygons taken apart: an outline in, convex pieces, hull and crossings out.

Cuts follow the line of a side past an inward corner, so a piece stays convex in every world.
"""

from __future__ import annotations

import numpy as np

from massing.geometry.polygons import CUT, Ring, line_through
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT

__all__ = ["convex_parts", "crossing_sides", "hull_corners", "turns"]


def turns(points: Floats) -> Floats:
    """(n,) how far each corner of (n, 2) stands out from the line past its neighbours, mm.

    Negative at an inward corner of a counter-clockwise polygon.

    >>> turns(np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 8.0]])).round(3).tolist()
    [4.8, 6.0, 4.8]
    """
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    u, v = points - before, after - points
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    longest = np.maximum(np.hypot(u[:, 0], u[:, 1]), np.hypot(v[:, 0], v[:, 1]))
    return np.asarray(cross / np.where(longest > 0, longest, 1.0))


def convex_parts(ring: Ring) -> tuple[Ring, ...]:
    """Disjoint convex rings that together cover a simple counter-clockwise ring.

    >>> L = Ring.of([[0, 0], [9, 0], [9, 4], [4, 4], [4, 9], [0, 9]])
    >>> [part.points[0].tolist()[0] for part in convex_parts(L)], convex_parts(L)[0].sides
    ([[0.0, 4.0], [4.0, 4.0]], (5, 0, 1, 2))
    """
    waiting, done = [ring], []
    while waiting:
        piece = waiting.pop()
        inward = np.flatnonzero(turns(piece.points[0]) < -EXACT)
        if inward.size == 0:
            done.append(piece)
            continue
        waiting.extend(_cut_at(piece, int(inward[0])))
    return tuple(done)


def _cut_at(ring: Ring, corner: int) -> tuple[Ring, Ring]:
    """Cut along the better of the two sides meeting at an inward corner.

    A cut that ends within a side keeps both pieces convex in every world; one that happens to
    end at another corner does so only in world 0, so it is the second choice.
    """
    count = ring.points.shape[1]
    tries = []
    for onward, source in ((True, (corner - 1) % count), (False, (corner + 1) % count)):
        way = ring.points[0, corner] - ring.points[0, source]
        side, share, length = _first_hit(ring.points[0], corner, way)
        run = float(np.hypot(*(ring.points[0, (side + 1) % count] - ring.points[0, side])))
        at_corner = share * run <= EXACT or (1 - share) * run <= EXACT
        tries.append((at_corner, length, not onward, source, side, share))
    at_corner, _, back, source, side, share = min(tries)
    if at_corner:
        end = side if share < 0.5 else (side + 1) % count
        return _between(ring, corner, end), _between(ring, end, corner)
    return _cut_to_side(ring, corner, source, side, onward=not back)


def _first_hit(points: Floats, corner: int, way: Floats) -> tuple[int, float, float]:
    """The first side a ray from a corner meets: its number, the share along it, the distance."""
    start, after = points, np.roll(points, -1, axis=0)
    way = way / np.hypot(way[0], way[1])
    step = after - start
    to = start - points[corner]
    bottom = way[0] * step[:, 1] - way[1] * step[:, 0]
    flat = np.abs(bottom) <= 1e-12 * np.hypot(step[:, 0], step[:, 1])
    safe = np.where(flat, 1.0, bottom)
    reach = (to[:, 0] * step[:, 1] - to[:, 1] * step[:, 0]) / safe
    share = (to[:, 0] * way[1] - to[:, 1] * way[0]) / safe
    slack = EXACT / np.maximum(np.hypot(step[:, 0], step[:, 1]), EXACT)
    hit = ~flat & (reach > EXACT) & (share >= -slack) & (share <= 1 + slack)
    hit[[corner, corner - 1]] = False
    side = int(np.argmin(np.where(hit, reach, np.inf)))
    return side, float(np.clip(share[side], 0.0, 1.0)), float(reach[side])


def _between(ring: Ring, first: int, last: int) -> Ring:
    """Corners ``first`` to ``last`` in order, closed by a cut."""
    count = ring.points.shape[1]
    chosen = [(first + k) % count for k in range((last - first) % count + 1)]
    return Ring(ring.points[:, chosen], (*(ring.sides[k] for k in chosen[:-1]), CUT))


def _cut_to_side(
    ring: Ring, corner: int, source: int, side: int, *, onward: bool
) -> tuple[Ring, Ring]:
    """Cut from a corner, along the line from ``source``, to a side; the straight corner goes.

    Where in some world the line misses the side, the cut ends at the side's end instead and the
    corner is not straight there: then it stays, and what runs on from it is a cut.
    """
    count = ring.points.shape[1]
    after = (side + 1) % count
    line = line_through(ring.points[:, source], ring.points[:, corner])
    ends = ring.points[:, [side, after]]
    far = ends[:, :, 0] * line[:, :1] + ends[:, :, 1] * line[:, 1:2] + line[:, 2:3]
    gap = far[:, 0] - far[:, 1]
    met = far[:, 0] / np.where(gap == 0, np.inf, gap)
    share = np.clip(met, 0.0, 1.0)[:, None]
    straight = bool((np.abs(met - share[:, 0]) <= 1e-12).all())
    landing = ends[:, 0] + share * (ends[:, 1] - ends[:, 0])
    one, two = _between(ring, corner, side), _between(ring, after, corner)
    first = Ring(
        np.concatenate([one.points, landing[:, None]], axis=1),
        (*one.sides[:-1], ring.sides[side], CUT),
    )
    second = Ring(
        np.concatenate([landing[:, None], two.points], axis=1),
        (ring.sides[side], *two.sides),
    )
    if not straight:
        return first, second
    if onward:
        # ... source, corner, landing run straight on in the second piece.
        return first, Ring(second.points[:, :-1], second.sides[:-1])
    # landing, corner, source run straight on in the first piece.
    return Ring(first.points[:, 1:], (*first.sides[1:-1], first.sides[0])), second


def hull_corners(points: Floats) -> tuple[int, ...]:
    """Numbers of the corners of (n, 2) on the convex hull, in order; straight ones left out.

    >>> hull_corners(np.array([[0.0, 0.0], [4.0, 0.0], [8.0, 0.0], [8.0, 8.0], [5.0, 3.0]]))
    (0, 2, 3)
    """
    order = sorted(range(len(points)), key=lambda k: (points[k, 0], points[k, 1], k))
    lower, upper = _chain(points, order), _chain(points, order[::-1])
    ring = lower[:-1] + upper[:-1]
    first = ring.index(min(ring))
    return tuple(ring[first:] + ring[:first])


def _chain(points: Floats, order: list[int]) -> list[int]:
    chain: list[int] = []
    for k in order:
        while len(chain) >= 2 and _stands_out(points, chain[-2], chain[-1], k) <= EXACT:
            chain.pop()
        chain.append(k)
    return chain


def _stands_out(points: Floats, a: int, b: int, c: int) -> float:
    """Distance of corner b to the right of the line from a to c, mm."""
    step, to = points[c] - points[a], points[b] - points[a]
    length = float(np.hypot(step[0], step[1]))
    return float(to[0] * step[1] - to[1] * step[0]) / length if length > 0 else 0.0


def crossing_sides(points: Floats) -> tuple[tuple[int, int], ...]:
    """Pairs of sides of (n, 2) that are not neighbours and yet meet, lower number first.

    >>> crossing_sides(np.array([[0.0, 0.0], [9.0, 9.0], [9.0, 0.0], [0.0, 9.0]]))
    ((0, 2),)
    """
    count = len(points)
    start, end = points, np.roll(points, -1, axis=0)
    step = end - start
    length = np.maximum(np.hypot(step[:, 0], step[:, 1]), EXACT)[:, None]

    def off(p: Floats) -> Floats:
        """Signed distance of each p[j] from the line of each side i, 0 within tolerance."""
        to = p[None] - start[:, None]
        far = (step[:, None, 0] * to[..., 1] - step[:, None, 1] * to[..., 0]) / length
        return np.where(np.abs(far) <= EXACT, 0.0, far)

    a, b = np.sign(off(start)), np.sign(off(end))
    low = np.minimum(start, end)
    high = np.maximum(start, end)
    near = ((low[:, None] <= high[None] + EXACT) & (low[None] <= high[:, None] + EXACT)).all(axis=2)
    hit = (a * b <= 0) & (a * b <= 0).T & near
    pairs = [
        (i, j)
        for i, j in zip(*np.nonzero(np.triu(hit, 2)), strict=True)
        if (int(i), int(j)) != (0, count - 1)
    ]
    return tuple((int(i), int(j)) for i, j in pairs)
