"""Can a rigid thing be carried from one place to another in plan: outlines in, a path out.

The thing is moved level in (x, y, turn) on a lattice. Every node is tested exactly against every
obstacle, and so is the motion between neighbouring nodes: a shift sweeps a convex outline, a turn
is halved until the separation at mid-turn exceeds what is left of it. A path found is therefore
a proof. A path not found is only "none found" at the steps it says.

A thing may be carried in several poses (upright, on its side), each with its own footprint and
its own obstacles: what stands in its height band, and the floor where the ceiling is lower than
it. Touching is clear: overlaps up to ``TOUCH`` are contact.

Source: configuration space obstacles as Minkowski differences, after Lozano-Perez,
"Spatial planning: a configuration space approach", IEEE Trans. Computers C-32 (1983).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.errors import GeometryError
from massing.geometry.carry.lattice import lattice, search_lattice
from massing.geometry.carry.layers import (
    Group,
    Layer,
    Slope,
    Stones,
    joined,
    layer,
    link_gap,
    stays_clear,
)
from massing.geometry.solids import Floats, Ints

__all__ = [
    "NOT_HOME",
    "CarryPath",
    "Change",
    "Effort",
    "Pose",
    "Stand",
    "carry_path",
    "pack_carry",
]


NOT_HOME = "it does not stand free at its goal"
"""What is said where the goal itself overlaps something."""
_NOT_BEGUN = "it does not stand free at its start"


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """One way of carrying the thing.

    footprint : rings (n, 2), mm, in the thing's own frame; it turns about the origin, so put the
        origin near its middle. One ring or several (their union moves as one).
    obstacles : rings (n, 2), mm, simple, that this pose must not overlap; packed ones will do
    more : further rings that move with it and meet obstacles of their own, at another height;
        their obstacles are numbered on
    """

    name: str
    footprint: Sequence[Floats]
    obstacles: Sequence[Floats] | Stones
    more: Sequence[Group] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """A change between two poses on the spot, both ways, wherever its own footprint is free.

    between : numbers of the two poses
    footprint, obstacles : as for a pose: the plan of everything the change sweeps, and what may
        not be under it (a ceiling lower than the diagonal, say); without a footprint the change
        happens wherever both poses are free
    slopes : ceilings that come down over it; more : as for a pose
    """

    between: tuple[int, int]
    footprint: Sequence[Floats] = ()
    obstacles: Sequence[Floats] | Stones = ()
    slopes: Sequence[Slope] = ()
    more: Sequence[Group] = ()


@dataclass(frozen=True, slots=True)
class Stand:
    """A place to stand: the footprint's origin (mm), its turn (radians) and the pose's number."""

    x: float
    y: float
    turn: float = 0.0
    pose: int = 0


@dataclass(frozen=True, slots=True)
class Effort:
    """How finely to search.

    levels : pairs of step (mm) and turns in a full circle, tried in order until a path is found
    most_nodes : levels with more nodes than this are not tried; a node costs about 7 bytes, and
        40 more once it is reached
    """

    levels: tuple[tuple[float, int], ...] = ((20.0, 72), (10.0, 144), (5.0, 288))
    most_nodes: int = 40_000_000


@dataclass(frozen=True, slots=True, eq=False)
class CarryPath:
    """What the search found.

    says : one line of plain words
    path : (k, 3) x, y (mm) and turn (radians, unwrapped); between rows the thing shifts or turns
        evenly. Empty when not found.
    poses : pose name at each row; where it differs between two equal rows the pose changes
    gap : tightest gap along the whole motion, mm, exact while shifting and within 0.01 mm while
        turning; changes of pose are not in it. nan when not found
    where : (2,) place of the tightest gap; against : number of the obstacle met there, -1 if none
    step, turn : the lattice, mm and radians; 0 when nothing was searched
    """

    found: bool
    says: str
    path: Floats
    poses: tuple[str, ...]
    gap: float
    where: Floats
    against: int
    step: float
    turn: float


def carry_path(
    poses: Sequence[Pose],
    start: Stand,
    goal: Stand,
    *,
    changes: Sequence[Change] = (),
    bounds: tuple[float, float, float, float] | None = None,
    effort: Effort | None = None,
    gaps: bool = True,
) -> CarryPath:
    """Search a way to carry the thing from start to goal.

    bounds : least x, y and greatest x, y its origin may take, mm; default those of the obstacles
    gaps : whether to look for the tightest gap of a way found; else it stays nan
    Returns a CarryPath; "not found" is an answer, not an error.
    Raises GeometryError for shapes that cannot exist, no poses, or a pose number out of range.

    >>> from massing.geometry.plan_parts import outside
    >>> rod = np.array([[-400.0, -50], [400, -50], [400, 50], [-400, 50]])
    >>> hall = np.array([[0.0, 0], [3000, 0], [3000, 500], [0, 500]])
    >>> walls = outside([hall], 200)
    >>> found = carry_path([Pose("flat", [rod], walls)], Stand(500, 250), Stand(2400, 250))
    >>> found.says, found.gap
    ('found looking at every 20 mm and 5°', 100.0)
    """
    effort = effort or Effort()
    layers, between = pack_carry(poses, changes)
    numbers = [start.pose, goal.pose, *between[:, :2].ravel().tolist()]
    if not poses or not all(0 <= n < len(poses) for n in numbers):
        raise GeometryError("a carry needs its poses, and only their numbers")
    ends = [(stand.pose, np.array([stand.x, stand.y, stand.turn])) for stand in (start, goal)]
    for (pose, at), says in zip(ends, (_NOT_BEGUN, NOT_HOME), strict=True):
        if not stays_clear(layers[pose], at, np.zeros(3)):
            return _nothing(says)
    box = _bounds(layers, start, goal) if bounds is None else bounds
    tried: tuple[float, int] | None = None
    for step, turns in effort.levels:
        on = lattice(box, ends[1][1], step, turns)
        if len(layers) * on.nodes > effort.most_nodes:
            break
        tried = (step, turns)
        moves = search_lattice(layers, between, on, ends[0], ends[1])
        if moves is not None:
            return _answer(poses, layers, moves, (step, turns), gaps=gaps)
    if tried is None:
        return _nothing("the plan is too large to search at the coarsest resolution allowed")
    return _nothing(f"none found looking at {_resolution(*tried)}", *tried)


def pack_carry(poses: Sequence[Pose], changes: Sequence[Change]) -> tuple[list[Layer], Ints]:
    """Layers of the poses and of the changes that have a footprint, and (c, 3) what each joins.

    Rows are the two poses and the change's layer, -1 for one that has none.
    """
    layers = [layer(p.footprint, p.obstacles, more=p.more) for p in poses]
    rows = []
    for change in changes:
        number = len(layers) if len(change.footprint) else -1
        if number >= 0:
            layers.append(layer(change.footprint, change.obstacles, change.slopes, change.more))
        rows.append((*change.between, number))
    return layers, np.array(rows, dtype=np.int64).reshape(-1, 3)


def _resolution(step: float, turns: int) -> str:
    return f"every {step:g} mm and {360.0 / turns:g}°"


def _nothing(says: str, step: float = 0.0, turns: int = 0) -> CarryPath:
    empty = np.empty((0, 3))
    nowhere = np.full(2, np.nan)
    turn = 2.0 * math.pi / turns if turns else 0.0
    return CarryPath(False, says, empty, (), math.nan, nowhere, -1, step, turn)  # noqa: FBT003


def _bounds(layers: Sequence[Layer], start: Stand, goal: Stand) -> tuple[float, ...]:
    ends = np.array([[start.x, start.y], [goal.x, goal.y]])
    reach = 2.0 * max(layer.radius for layer in layers)
    points = np.concatenate([ends - reach, ends + reach, *(each.solids[:, :2] for each in layers)])
    return (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())


def _answer(
    poses: Sequence[Pose],
    layers: Sequence[Layer],
    moves: list[tuple[int, Floats]],
    level: tuple[float, int],
    *,
    gaps: bool,
) -> CarryPath:
    (first, at), (_, node) = moves[0], moves[1]
    halfway = joined(layers[first], at, node)
    if halfway is None:
        raise GeometryError("the search left its own start")
    rows = _tidy([moves[0], (first, halfway), *moves[1:]])
    best = np.array([math.inf, math.nan, math.nan, -1.0])
    against = -1
    for (pose, a), (after, b) in pairwise(rows):
        if gaps and pose == after:
            owner = link_gap(layers[pose], a, b - a, best)
            against = against if owner is None else owner
    return CarryPath(
        found=True,
        says=f"found looking at {_resolution(*level)}",
        path=np.array([row for _, row in rows]),
        poses=tuple(poses[pose].name for pose, _ in rows),
        gap=float(best[0]) if gaps else math.nan,
        where=best[1:3].copy(),
        against=against,
        step=level[0],
        turn=2.0 * math.pi / level[1],
    )


def _tidy(rows: list[tuple[int, Floats]]) -> list[tuple[int, Floats]]:
    """Leave out moves of no length."""
    kept = rows[:1]
    for pose, place in rows[1:]:
        if pose != kept[-1][0] or float(np.abs(place - kept[-1][1]).max()) > 1e-9:
            kept.append((pose, place))
    return kept
