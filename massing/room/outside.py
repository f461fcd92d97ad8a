"""An outline in; convex regions that together cover everything beyond it out.

Behind each wall on the convex hull lies a half-plane. Each pocket between hull and outline is cut
into convex pieces, and those that reach the hull run on through it. All are closed off
``FAR`` beyond, so they are plain polygons.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from massing.geometry.pieces import convex_parts, hull_corners
from massing.geometry.polygons import Ring, bounds_apart, line_through, meet, outside_of, side_lines
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.room.shape import OutsidePiece

__all__ = ["FAR", "outside_pieces"]

FAR = 20_000.0
"""How far the outside reaches, mm: more than any body in a small room sticks out."""
_LID = -2
"""Label of the side of a pocket that lies on the hull."""


def outside_pieces(outline: Floats) -> tuple[OutsidePiece, ...]:
    """Convex regions covering the outside of an outline to ``FAR`` around, in every world.

    outline : (worlds, n, 2), mm, counter-clockwise and simple in world 0

    >>> square = np.array([[[0.0, 0.0], [3000.0, 0.0], [3000.0, 3000.0], [0.0, 3000.0]]])
    >>> [piece.walls for piece in outside_pieces(square)]
    [(0,), (1,), (2,), (3,)]
    """
    hull = hull_corners(outline[0])
    count = outline.shape[1]
    pieces: list[OutsidePiece] = []
    pockets: list[list[int]] = []
    for start, end in zip(hull, hull[1:] + hull[:1], strict=True):
        chain = [(start + k) % count for k in range((end - start) % count + 1)]
        if len(chain) == 2:
            pieces.append(OutsidePiece(_behind(outline[:, start], outline[:, end]), (start,)))
        elif _straight(outline[0], chain):
            pieces.extend(_behind_chain(outline, chain))
        else:
            pieces.extend(_pocket(outline, chain))
            pockets.append(chain)
    lids = []
    for chain in pockets:
        start, end = outline[:, chain[0]], outline[:, chain[-1]]
        if _bare(_behind(start, end, FAR / 2), pieces):
            lids.append(OutsidePiece(_behind(start, end), tuple(chain[:-1])))
    return (*pieces, *lids)


def _unit(vector: Floats) -> Floats:
    length = np.hypot(vector[:, 0], vector[:, 1])
    return np.asarray(vector / np.where(length > 0, length, 1.0)[:, None])


def _out(start: Floats, end: Floats) -> Floats:
    """(worlds, 2) unit vector to the right of the walk from start to end."""
    way = _unit(end - start)
    return np.stack([way[:, 1], -way[:, 0]], axis=1)


def _behind(start: Floats, end: Floats, reach: float = FAR) -> Floats:
    """(worlds, 4, 2) the half-plane behind a side of the hull, closed off."""
    way, out = _unit(end - start), _out(start, end)
    near, far = start - reach * way, end + reach * way
    return np.stack([near, near + reach * out, far + reach * out, far], axis=1)


def _straight(points: Floats, chain: list[int]) -> bool:
    """Whether a chain of corners runs along its chord, in world 0."""
    line = line_through(points[None, chain[0]], points[None, chain[-1]])[0]
    return bool((np.abs(points[chain] @ line[:2] + line[2]) <= TOUCH).all())


def _behind_chain(outline: Floats, chain: list[int]) -> list[OutsidePiece]:
    """Walls in one line: a strip behind each, parted square to the line at their joints.

    Each keeps its own face, so that in a world where one stands a little back the next does not
    reach in front of it.
    """
    first, last = outline[:, chain[0]], outline[:, chain[-1]]
    out = _out(first, last)
    pieces = []
    for start, end in pairwise(chain):
        a, b = outline[:, start], outline[:, end]
        way = _unit(b - a)
        near = a - FAR * way if start == chain[0] else a
        far = b + FAR * way if end == chain[-1] else b
        polygon = np.stack([near, near + FAR * out, far + FAR * out, far], axis=1)
        pieces.append(OutsidePiece(polygon, (start,)))
    return pieces


def _pocket(outline: Floats, chain: list[int]) -> list[OutsidePiece]:
    """The pocket between a chain of walls and the hull, run on through the hull."""
    back = chain[::-1]
    # Walked backwards, the side from corner k + 1 to corner k is wall k; the last side is the lid.
    ring = Ring(outline[:, back], (*back[1:], _LID))
    pieces = []
    for part in convex_parts(ring):
        walls = tuple(sorted({side for side in part.sides if side >= 0}))
        pieces.append(OutsidePiece(_through_lid(part), walls))
    return pieces


def _through_lid(part: Ring) -> Floats:
    """The ring with its side on the lid, if any, moved out between its two neighbours."""
    if _LID not in part.sides:
        return part.points
    count = len(part.sides)
    k = part.sides.index(_LID)
    order = [(k + 1 + j) % count for j in range(count)]
    points = part.points[:, order]
    # Now the lid runs from the last corner back to the first.
    start, end = points[:, -1], points[:, 0]
    rising = _unit(start - points[:, -2])
    falling = _unit(end - points[:, 1])
    closing = falling[0, 0] * rising[0, 1] - falling[0, 1] * rising[0, 0]
    if closing > 1e-9:
        apex = meet(
            line_through(points[:, -2], start),
            line_through(points[:, 1], end),
        )
        if float(np.hypot(*(apex[0] - start[0]))) <= FAR:
            inner = points[:, 1:-1]
            return np.concatenate([apex[:, None], inner], axis=1)
    far_end, far_start = end + FAR * falling, start + FAR * rising
    return np.concatenate([far_end[:, None], points[:, 1:-1], far_start[:, None]], axis=1)


def _bare(lid: Floats, pieces: list[OutsidePiece]) -> bool:
    """Whether the pieces leave some of a region beyond a lid uncovered, in world 0."""
    left = [Ring.of(lid[:1])]
    for piece in pieces:
        lines = side_lines(Ring.of(piece.polygon[:1]))
        left = [
            part
            for ring in left
            for part in (
                (ring,) if bounds_apart(ring.points, piece.polygon[:1]) else outside_of(ring, lines)
            )
        ]
    return any(float(np.ptp(part.points[0], axis=0).min()) > TOUCH for part in left)
