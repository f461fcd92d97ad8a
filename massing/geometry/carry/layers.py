"""One way of holding a thing, packed for compiled loops: outlines in, convex parts out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from massing.errors import GeometryError
from massing.geometry.plan_parts import convex_parts
from massing.geometry.solids import Floats, Ints

__all__ = [
    "Group",
    "Layer",
    "Slope",
    "Stones",
    "joined",
    "layer",
    "link_gap",
    "stays_clear",
    "stones_of",
]


_LEFT = 1e-6  # mm²; less than this is no turn


@dataclass(frozen=True, slots=True, eq=False)
class Stones:
    """Obstacles packed: rows x, y, nx, ny, the offsets of the convex parts, and their owners."""

    solids: Floats
    solid: Ints
    owner: Ints

    @classmethod
    def beside(cls, each: Sequence[Stones]) -> Stones:
        """All of them packed as one, the owners numbered on from one to the next."""
        packed = cls.joined(each)
        counts = [int(one.owner.max(initial=-1)) + 1 for one in each]
        base = np.cumsum([0, *counts])
        owners = [np.where(o.owner < 0, -1, o.owner + k) for o, k in zip(each, base, strict=False)]
        return cls(packed.solids, packed.solid, np.concatenate(owners))

    @classmethod
    def joined(cls, each: Sequence[Stones]) -> Stones:
        """All of them packed as one, owned by their places in the sequence."""
        ends = np.cumsum([0, *(len(one.solids) for one in each)])
        return cls(
            np.concatenate([np.empty((0, 4)), *(one.solids for one in each)]),
            np.concatenate(
                [*(one.solid[:-1] + end for one, end in zip(each, ends, strict=False)), ends[-1:]]
            ).astype(np.int64),
            np.repeat(np.arange(len(each)), [len(one.owner) for one in each]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Slope:
    """A ceiling that comes down: where the footprint meets ``ring``, the origin keeps off a line.

    ring : (n, 2) convex plan ring of that part of the ceiling
    lines : (turns,) radians in, (turns, 3) nx, ny, limit out: in the way where
        nx * x + ny * y < limit, n of length 1
    """

    ring: Floats
    lines: Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One pose or change, packed: rows x, y, nx, ny with the offsets of the convex parts.

    owner : the ring each convex obstacle part came from; radius : furthest corner from the origin
    slopes : only of changes; their rings come last among the obstacles
    groups : (g, 4) first and last (exclusive) part of the footprint, then of the obstacles that
        these may meet
    """

    feet: Floats
    foot: Ints
    solids: Floats
    solid: Ints
    owner: Ints
    radius: float
    groups: Ints
    slopes: tuple[Slope, ...] = ()

    @property
    def pairs(self) -> list[tuple[int, int]]:
        """Every part of the footprint with every part of the obstacles that it may meet."""
        return [
            (a, b)
            for a0, a1, b0, b1 in self.groups.tolist()
            for a in range(a0, a1)
            for b in range(b0, b1)
        ]

    @property
    def even(self) -> bool:
        """Whether half a turn brings the footprint back onto itself."""
        parts = [self.feet[a:b, :2] for a, b in pairwise(self.foot)]
        seen = {_key(part) for part in parts}
        return all(_key(-part) in seen for part in parts)


Group: TypeAlias = tuple[Sequence[Floats], Sequence[Floats] | Stones]
"""Rings of a footprint, and the obstacles that these rings may meet."""


def _key(ring: Floats) -> tuple[tuple[float, float], ...]:
    rounded = np.round(ring, 9) + 0.0
    return tuple(sorted((float(x), float(y)) for x, y in rounded))


def layer(
    footprint: Sequence[Floats],
    obstacles: Sequence[Floats] | Stones,
    slopes: Sequence[Slope] = (),
    more: Sequence[Group] = (),
) -> Layer:
    """Pack a footprint and its obstacles, cut into convex parts.

    more : further rings that move with the footprint and meet obstacles of their own; owners are
        numbered on
    Raises GeometryError for a footprint without rings or a ring that is no outline.
    """
    if len(footprint) == 0:
        raise GeometryError("a footprint needs at least one ring")
    groups = [(footprint, obstacles), *more]
    feet = [[part for ring in rings for part in _parts(ring)] for rings, _ in groups]
    stones = [s if isinstance(s, Stones) else stones_of(s) for _, s in groups]
    if slopes:
        last = _pack([slope.ring for slope in slopes])
        stones[0] = Stones.beside([stones[0], Stones(*last, np.full(len(slopes), -1))])
    rows, foot = _pack([part for parts in feet for part in parts])
    every = Stones.beside(stones) if more else stones[0]
    ends = np.cumsum([0, *(len(parts) for parts in feet)])
    stops = np.cumsum([0, *(len(each.owner) for each in stones)])
    return Layer(
        feet=rows,
        foot=foot,
        solids=every.solids,
        solid=every.solid,
        owner=every.owner,
        radius=float(np.hypot(rows[:, 0], rows[:, 1]).max()),
        groups=np.stack([ends[:-1], ends[1:], stops[:-1], stops[1:]], axis=1),
        slopes=tuple(slopes),
    )


def stones_of(rings: Sequence[Floats]) -> Stones:
    """Pack obstacles, cut into convex parts; each part's owner is the number of its ring."""
    parts = [(k, part) for k, ring in enumerate(rings) for part in _parts(ring)]
    solids, solid = _pack([part for _, part in parts])
    return Stones(solids, solid, np.array([k for k, _ in parts], dtype=np.int64))


def _parts(ring: Floats) -> list[Floats]:
    """Convex pieces of a ring; one of three or four corners that all turn left is one."""
    points = np.asarray(ring, dtype=np.float64)
    if len(points) in {3, 4} and np.isfinite(points).all():
        edge = np.concatenate([points[1:], points[:1]]) - points
        after = np.concatenate([edge[1:], edge[:1]])
        if (edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0]).min() > _LEFT:
            return [points]
    return convex_parts(points)


def _pack(rings: Sequence[Floats]) -> tuple[Floats, Ints]:
    offsets = np.cumsum([0, *(len(ring) for ring in rings)]).astype(np.int64)
    if not rings:
        return np.empty((0, 4)), offsets
    rows = []
    for ring in rings:
        edge = np.concatenate([ring[1:], ring[:1]]) - ring
        size = np.hypot(edge[:, 0], edge[:, 1])
        rows.append(np.column_stack([ring, edge[:, 1] / size, -edge[:, 0] / size]))
    return np.concatenate(rows), offsets


def stays_clear(of: Layer, at: Floats, by: Floats) -> bool:
    """Whether the shift by (x, y) and then the turn overlap nothing by more than TOUCH."""
    from massing.geometry.carry.moves import link_is_free

    return all(
        link_is_free(
            of.feet, of.foot[a0 : a1 + 1], of.solids, of.solid[b0 : b1 + 1], at, by, of.radius
        )
        for a0, a1, b0, b1 in of.groups.tolist()
    )


def link_gap(of: Layer, at: Floats, by: Floats, best: Floats) -> int | None:
    """Lower ``best`` (gap, x, y, _) to that of a shift, then a turn; the owner, if lower."""
    from massing.geometry.carry.moves import link_nearest

    owner = None
    for a0, a1, b0, b1 in of.groups.tolist():
        foot, solid, before = of.foot[a0 : a1 + 1], of.solid[b0 : b1 + 1], best[0]
        link_nearest(of.feet, foot, of.solids, solid, at, by, of.radius, best)
        if best[0] < before:
            owner = int(of.owner[b0 + int(best[3])])
    return owner


def joined(of: Layer, at: Floats, node: Floats) -> Floats | None:
    """The place half-way (shift first, else turn first) of a clear two-part move, or None."""
    by = node - at
    if stays_clear(of, at, by):
        return np.array([node[0], node[1], at[2]])
    if stays_clear(of, node, -by):
        return np.array([at[0], at[1], node[2]])
    return None
