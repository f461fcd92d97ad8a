"""Room cells and solids in, the largest empty axis-aligned boxes out, each with its proof.

Which box would go in the space nobody uses? The answer is exact, not sampled: under a flat or
one-plane ceiling with axis-aligned bodies to rounding, with yawed bodies, wedges and several
slopes to 1e-7 of the volume. Every box comes with a proven upper bound; when the search is cut
short by its node cap the best box seen is returned with that bound and ``proved`` False.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.geometry.solids import Convex, Floats
from massing.geometry.space.empty_boxes_room import (
    CeilingCell,
    Surround,
    bounds_and_rows,
    contact_rows,
    surround,
)

if TYPE_CHECKING:
    from massing.geometry.space.empty_boxes_compiled import Pool, Scene

__all__ = ["CeilingCell", "EmptyBoxes", "Wanted", "largest_empty_boxes", "penetrations"]

_PROVED = 1e-6  # relative; the bound and the box agree to this when a box counts as proved
_LEEWAY = 100_000  # nodes a search may still open for an unproved box after its cap


def _no_boxes() -> Floats:
    return np.zeros((0, 6))


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """What makes an empty box useful.

    smallest : least width (x), depth (y) and height (z), mm
    turnable : the box may also be useful with width and depth swapped
    base_at_most, top_at_most : highest level of the box's base and of its top, mm (reach)
    aisles : (m, 6) float, mm    boxes of free air a person stands in. When there are any, the box
        must open on one of them: through a side square to x or to y, or through its top, box and
        aisle must touch or overlap across a patch of at least ``opening``. Give an aisle as an
        obstacle too if the box may not stand in it.
    opening : least (plan, height) of that patch, mm; through the top both plan sides count
    from_to : the y of the box's two sides, when they are given, mm
    most_nodes : search cap
    """

    smallest: tuple[float, float, float] = (1.0, 1.0, 1.0)
    turnable: bool = False
    base_at_most: float = np.inf
    top_at_most: float = np.inf
    aisles: Floats = field(default_factory=_no_boxes)
    opening: tuple[float, float] = (1.0, 1.0)
    from_to: tuple[float, float] | None = None
    most_nodes: int = 1_000_000


@dataclass(frozen=True, slots=True, eq=False)
class EmptyBoxes:
    """Disjoint boxes, each the largest that the ones before it leave.

    boxes : (n, 6) float, mm    low x y z, high x y z
    volumes : (n,) float, mm³
    bounds : (n,) float, mm³    no empty box clear of the earlier ones is larger than this
    proved : (n,) bool    the bound and the volume agree to 1e-6
    nodes : ranges opened
    """

    boxes: Floats
    volumes: Floats
    bounds: Floats
    proved: NDArray[np.bool_]
    nodes: int


def largest_empty_boxes(
    room: Sequence[CeilingCell],
    obstacles: Floats | None = None,
    solids: Sequence[Convex] = (),
    *,
    count: int = 1,
    wanted: Wanted | None = None,
) -> EmptyBoxes:
    """The largest empty boxes of a room, greedily one after the other, each one exact.

    room : cells that may touch in plan but not overlap
    obstacles : (k, 6) float, mm    axis-aligned boxes, low x y z, high x y z
    solids : convex obstacles of any other shape, one world each
    count : how many disjoint boxes; fewer come back when nothing useful is left

    Raises GeometryError for a room that cannot be, or obstacles turned inside out.

    Under x + 2y + 3z = 6 (here in metres) the largest box is 4/3 at (2, 1, 2/3):

    >>> wedge = np.array([[0, 0], [6000, 0], [0, 3000.0]])
    >>> cell = CeilingCell(wedge, 0.0, np.array([-1 / 3, -2 / 3, 2000.0]))
    >>> found = largest_empty_boxes([cell])
    >>> found.boxes[0].round(3).tolist(), bool(found.proved[0])
    ([0.0, 0.0, 0.0, 2000.0, 1000.0, 666.667], True)
    """
    wish = wanted or Wanted()
    around = surround(room)
    scene = _scene(around, obstacles, solids, count, wish.smallest)
    return _searched(scene, _roots(around, wish), count, wish.most_nodes)


def penetrations(box: Floats, solids: Sequence[Convex]) -> Floats:
    """(n,) how deep a box is inside each solid by the separating-axis test, mm; 0 or less is clear.

    >>> from massing.geometry.solids import box as solid_box
    >>> penetrations(np.array([0, 0, 0, 10, 10, 10.0]), [solid_box([8, 0, 0], [20, 9, 9])]).tolist()
    [2.0]
    """
    corners = np.array(list(product(*zip(box[:3], box[3:], strict=True))))
    depths = []
    for solid in solids:
        points = solid.corners[0]
        axes = np.vstack([np.eye(3), -np.eye(3), contact_rows(solid)[:, :3]])
        depths.append(float(((points @ axes.T).max(axis=0) - (corners @ axes.T).min(axis=0)).min()))
    return np.array(depths)


def _scene(
    around: Surround,
    obstacles: Floats | None,
    solids: Sequence[Convex],
    spare: int,
    smallest: tuple[float, float, float],
) -> Scene:
    """The compiled search's scene; its last ``spare`` obstacles are nowhere, still to be filled."""
    from massing.geometry.space.empty_boxes_compiled import Scene

    given = np.zeros((0, 6)) if obstacles is None else np.asarray(obstacles, dtype=np.float64)
    given = given.reshape(-1, 6)
    if bool((given[:, 3:] < given[:, :3]).any()):
        raise GeometryError("an obstacle's high corner must not be below its low corner")
    if any(solid.worlds != 1 for solid in solids):
        raise GeometryError("empty boxes are looked for in one world at a time")
    bodies = [*around.solids, *solids]
    limits, planes = bounds_and_rows(bodies)
    flat = np.vstack([around.boxes, given])
    # Sorted, so that the order in which boxes are listed cannot choose between equal answers.
    flat = flat[np.lexsort(flat.T[::-1])]
    nowhere = np.tile([np.inf] * 3 + [-np.inf] * 3, (spare, 1))
    sizes = [len(plane) for plane in planes] + [0] * (len(flat) + spare)
    starts = len(around.rows) + np.concatenate([[0], np.cumsum(sizes)])
    x, y, z = (max(float(side), 1e-3) for side in smallest)
    return Scene(
        bounds=np.vstack([limits, flat, nowhere]),
        starts=starts.astype(np.int64),
        rows=np.vstack([around.rows, *planes]),
        shared=len(around.rows),
        mins=np.array([[x, y, z], [y, x, z]]),
    )


def _roots(around: Surround, wish: Wanted) -> list[tuple[Floats, int]]:
    """First ranges of the search with the number of their smallest sides."""
    span = np.concatenate([around.low, around.high, around.low, around.high])
    span[5] = min(span[5], wish.base_at_most)
    span[11] = min(span[11], wish.top_at_most)
    if wish.from_to is not None:
        near, far = wish.from_to
        if near < span[1] or far > span[10]:
            return []
        span[[1, 4]], span[[7, 10]] = near, far
    kinds = (0, 1) if wish.turnable and wish.smallest[0] != wish.smallest[1] else (0,)
    aisles = np.asarray(wish.aisles, dtype=np.float64).reshape(-1, 6)
    ways = (
        [_opened(span, aisle, axis, wish.opening) for aisle in aisles for axis in range(3)]
        if len(aisles)
        else [span]
    )
    return [(way, kind) for way in ways if way is not None for kind in kinds]


def _opened(
    span: Floats, aisle: Floats, through: int, opening: tuple[float, float]
) -> Floats | None:
    """Range of the boxes that meet an aisle across a patch square to one axis."""
    patch = np.array([opening[0], opening[0], opening[1]])
    patch[through] = 0.0
    if bool((aisle[3:] - aisle[:3] < patch).any()):
        return None
    way = span.copy()
    way[3:6] = np.minimum(span[3:6], aisle[3:] - patch)
    way[6:9] = np.maximum(span[6:9], aisle[:3] + patch)
    if through == 2:  # an opening overhead: the box starts below the aisle's base
        way[5] = min(way[5], aisle[2])
    return way


def _pool(nodes: int, entries: int, old: Pool | None = None) -> Pool:
    """Room for so many nodes and chain entries, with whatever an old pool holds."""
    from massing.geometry.space.empty_boxes_compiled import Pool

    new = Pool(
        spans=np.zeros((nodes, 12)),
        best=np.zeros((nodes, 6)),
        key=np.zeros(nodes),
        stamp=np.zeros(nodes, np.int64),
        links=np.zeros((nodes, 3), np.int64),
        heap=np.zeros(nodes, np.int64),
        chain=np.zeros((entries, 2), np.int64),
        state=np.zeros(7, np.int64),
    )
    if old is not None:
        for before, after in zip(old, new, strict=True):
            after[: len(before)] = before
    return new


def _searched(
    scene: Scene, roots: list[tuple[Floats, int]], count: int, most_nodes: int
) -> EmptyBoxes:
    from massing.geometry.space import empty_boxes_compiled as kernel

    pool = _pool(len(roots) + 4096, 4096)
    for span, kind in roots:
        kernel.add(scene, pool, span.copy(), np.array([-1.0, kind, np.inf]), -1)
    found = np.zeros(6)
    boxes: list[Floats] = []
    bounds: list[float] = []
    cap, limit = most_nodes, np.inf
    while len(boxes) < count:
        status, bound = kernel.search(scene, pool, cap, found)
        if status == kernel.FULL:
            pool = _pool(2 * len(pool.key), 2 * len(pool.chain), pool)
        elif status == kernel.CAPPED and not pool.state[kernel.DIVE]:
            # Out of nodes: nothing is larger than this bound. Go straight down for some box.
            limit, cap = bound, cap + _LEEWAY
            pool.state[kernel.DIVE] = 1
        elif status == kernel.FOUND:
            # The next obstacle that was nowhere becomes this box, and the search goes on.
            scene.bounds[len(scene.bounds) - count + len(boxes)] = found
            boxes.append(found.copy())
            bounds.append(limit if pool.state[kernel.DIVE] else bound)
        else:
            break
    return _answer(boxes, bounds, int(pool.state[kernel.OPENED]))


def _answer(boxes: list[Floats], bounds: list[float], nodes: int) -> EmptyBoxes:
    table = np.array(boxes).reshape(-1, 6)
    volumes = np.prod(table[:, 3:] - table[:, :3], axis=1)
    limit = np.maximum(np.array(bounds, dtype=np.float64), volumes)
    return EmptyBoxes(table, volumes, limit, volumes >= limit * (1 - _PROVED), nodes)
