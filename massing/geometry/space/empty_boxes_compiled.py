"""Root ranges, obstacles and half-space rows in, the largest empty box out: the compiled search.

Best first over *ranges* (see ``empty_boxes_bounds``). The range with the largest bound is opened;
if its best box meets no obstacle that box is the largest empty one. Otherwise one obstacle it
meets is the pivot, and every empty box is clear of the pivot on one of finitely many sides: the
six sides of its bounds, or a tilted plane of the sum of the pivot and a box turned inside out.
The six come first, each later child keeping only boxes that the earlier ones do not, so no
arrangement of sides is opened twice; that is what keeps equal gaps from multiplying.

Whitespace cover by best-first splitting: Breuel, "Two geometric algorithms for layout analysis"
(2002), from memory; the disjoint split, tilted sides and ceilings are this project's own.

Compiled; import this module only inside the function that needs it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from massing.geometry.solids import Floats, Ints
from massing.geometry.space.empty_boxes_bounds import (
    HIT,
    cheap_bound,
    compiled,
    narrow,
    narrow_to_row,
    one_row,
    room_left,
)
from massing.geometry.space.empty_boxes_program import full_bound

__all__ = ["CAPPED", "DIVE", "EMPTY", "FOUND", "FULL", "OPENED", "Pool", "Scene", "add", "search"]

EMPTY, FOUND, FULL, CAPPED = 0, 1, 2, 3
OPENED, DIVE = 0, 1  # places in Pool.state the caller reads and sets
_HEAP, _FRESH, _FREE, _CHAIN, _STAMP = 2, 3, 4, 5, 6
_ROUGH, _SETTLED = 0, 1  # whether a node's bound is the cheap one or final
_ABOVE = 1e13  # mm³; larger than any room, so that a dive's nodes come first


class Scene(NamedTuple):
    """What a box must keep clear of.

    bounds : (n, 6) bounds of each obstacle, mm
    starts : (n + 1,) where each obstacle's tilted planes begin in ``rows``
    rows : (r, 4) tilted planes; the first ``shared`` hold for every box
    mins : (2, 3) smallest sides, by kind of root
    """

    bounds: Floats
    starts: Ints
    rows: Floats
    shared: int
    mins: Floats


class Pool(NamedTuple):
    """The open nodes, their heap, and what they have in common.

    spans : (m, 12) range    best : (m, 6) best box so far    key : (m,) bound, mm³
    stamp : (m,) age    links : (m, 3) chain entry or next free node, kind, rough or settled
    heap : (m,) nodes, largest key first
    chain : (c, 2) tilted planes taken on the way to a node: row, entry before it
    state : (7,) counters
    """

    spans: Floats
    best: Floats
    key: Floats
    stamp: Ints
    links: Ints
    heap: Ints
    chain: Ints
    state: Ints


@compiled
def _before(pool: Pool, i: int, j: int) -> bool:
    """Whether node i is opened before node j: larger bound first, then the newer one."""
    if pool.key[i] == pool.key[j]:
        return bool(pool.stamp[i] > pool.stamp[j])
    return bool(pool.key[i] > pool.key[j])


@compiled
def _push(pool: Pool, node: int) -> None:
    heap, state = pool.heap, pool.state
    state[_STAMP] += 1
    pool.stamp[node] = state[_STAMP]
    at = state[_HEAP]
    state[_HEAP] += 1
    heap[at] = node
    while at > 0:
        up = (at - 1) // 2
        if not _before(pool, heap[at], heap[up]):
            return
        heap[at], heap[up] = heap[up], heap[at]
        at = up


@compiled
def _pop(pool: Pool) -> int:
    heap = pool.heap
    top = heap[0]
    pool.state[_HEAP] -= 1
    size = pool.state[_HEAP]
    heap[0] = heap[size]
    at = 0
    while True:
        best = at
        for down in (2 * at + 1, 2 * at + 2):
            if down < size and _before(pool, heap[down], heap[best]):
                best = down
        if best == at:
            return int(top)
        heap[at], heap[best] = heap[best], heap[at]
        at = best


@compiled
def _release(pool: Pool, node: int) -> None:
    pool.links[node, 0] = pool.state[_FREE] - 1
    pool.state[_FREE] = node + 1


@compiled
def _claim(pool: Pool) -> int:
    node = pool.state[_FREE] - 1
    if node < 0:
        node = pool.state[_FRESH]
        pool.state[_FRESH] += 1
    else:
        pool.state[_FREE] = pool.links[node, 0] + 1
    return int(node)


@compiled
def _cuts(row: Floats, span: Floats) -> bool:
    """Whether a row forbids any box of a range."""
    least = 0.0
    for k in range(3):
        least += row[k] * (span[k] if row[k] > 0.0 else span[9 + k])
    return bool(least < row[3] - 1e-9)


@compiled
def _gathered(scene: Scene, pool: Pool, span: Floats, link: int) -> Floats:
    """(m, 4) the rows that cut a range: the shared ones, then those along the node's chain."""
    count = scene.shared
    entry = link
    while entry >= 0:
        count += 1
        entry = pool.chain[entry, 1]
    rows = np.empty((count, 4))
    count = 0
    for i in range(scene.shared):
        if _cuts(scene.rows[i], span):
            rows[count] = scene.rows[i]
            count += 1
    while link >= 0:
        row = scene.rows[pool.chain[link, 0]]
        if _cuts(row, span):
            rows[count] = row
            count += 1
        link = pool.chain[link, 1]
    return rows[:count]


@compiled
def _beside_a_plane(box: Floats, scene: Scene, obstacle: int) -> bool:
    """Whether a tilted plane parts a box from an obstacle, to within HIT."""
    for r in range(scene.starts[obstacle], scene.starts[obstacle + 1]):
        if room_left(box, scene.rows[r]) >= -HIT:
            return True
    return False


@compiled
def _worst_child(box: Floats, span: Floats, scene: Scene, obstacle: int, limit: float) -> float:
    """Cheap guess of the largest child if this obstacle were the pivot.

    Whoever asks takes it only when it is under ``limit``: from there on it may be too small.
    """
    bounds = scene.bounds[obstacle]
    volume = (box[3] - box[0]) * (box[4] - box[1]) * (box[5] - box[2])
    worst = -1.0
    for k in range(3):
        width = box[3 + k] - box[k]
        if bounds[k] >= span[6 + k]:
            worst = max(worst, volume * (bounds[k] - box[k]) / width)
        if bounds[3 + k] <= span[3 + k]:
            worst = max(worst, volume * (box[3 + k] - bounds[3 + k]) / width)
    first, last = scene.starts[obstacle], scene.starts[obstacle + 1]
    if last > first and worst < limit:
        trial, cut = np.empty(12), np.empty(6)
        for k in range(3):
            trial[k], trial[9 + k] = box[k], box[3 + k]
            trial[3 + k] = max(box[k], min(span[3 + k], bounds[3 + k]))
            trial[6 + k] = min(box[3 + k], max(span[6 + k], bounds[k]))
        for r in range(first, last):
            if worst >= limit:
                break
            worst = max(worst, one_row(trial, scene.rows[r], cut))
    return worst


@compiled
def _pivot(box: Floats, span: Floats, scene: Scene) -> int:
    """Obstacle met by a box whose guessed largest child is smallest; -1 when it meets none."""
    best, pivot = np.inf, -1
    for o in range(scene.bounds.shape[0]):
        b = scene.bounds[o]
        if (
            box[3] > b[0] + HIT
            and box[0] < b[3] - HIT
            and box[4] > b[1] + HIT
            and box[1] < b[4] - HIT
            and box[5] > b[2] + HIT
            and box[2] < b[5] - HIT
            and not _beside_a_plane(box, scene, o)
        ):
            guess = _worst_child(box, span, scene, o, best)
            if guess < best:
                best, pivot = guess, o
    return pivot


@compiled
def add(scene: Scene, pool: Pool, span: Floats, origin: Floats, row: int) -> None:
    """Narrow a range, bound it and put it on the heap, unless nothing fits in it.

    origin : (3,) chain entry, kind and bound of the node it comes from; -1, kind, inf for a root
    row : the tilted plane newly taken, or -1
    """
    link, kind = int(origin[0]), int(origin[1])
    mins = scene.mins[kind]
    if not narrow(span, mins) or (row >= 0 and not narrow_to_row(span, mins, scene.rows[row])):
        return
    if row >= 0:
        entry = pool.state[_CHAIN]
        pool.chain[entry, 0], pool.chain[entry, 1] = row, link
        link = entry
    rows = _gathered(scene, pool, span, link)
    for i in range(rows.shape[0]):
        if not narrow_to_row(span, mins, rows[i]):
            return
    box = np.empty(6)
    bound, settled = cheap_bound(span, rows, box)
    if bound <= 0.0:
        return
    if row >= 0:
        pool.state[_CHAIN] += 1
    node = _claim(pool)
    pool.spans[node] = span
    pool.best[node] = box
    pool.links[node, 0], pool.links[node, 1] = link, kind
    pool.links[node, 2] = _SETTLED if settled else _ROUGH
    pool.key[node] = min(bound, origin[2])
    if pool.state[DIVE] > 0:  # newest family first, its most promising member first
        pool.key[node] = _ABOVE + 1e3 * pool.state[OPENED] + math.log(bound)
    _push(pool, node)


@compiled
def _split(scene: Scene, pool: Pool, node: int, pivot: int) -> None:
    """Replace a node by its children beside one obstacle."""
    span, child, origin = pool.spans[node].copy(), np.empty(12), np.empty(3)
    origin[0], origin[1], origin[2] = pool.links[node, 0], pool.links[node, 1], pool.key[node]
    mins = scene.mins[pool.links[node, 1]]
    _release(pool, node)
    bounds = scene.bounds[pivot]
    for k in range(3):
        child[:] = span
        child[9 + k] = min(span[9 + k], bounds[k])
        add(scene, pool, child, origin, -1)
        child[:] = span
        child[k] = max(span[k], bounds[3 + k])
        add(scene, pool, child, origin, -1)
        # from here on only boxes that lie beside the pivot on no side tried so far
        span[6 + k] = max(span[6 + k], bounds[k] + HIT)
        span[3 + k] = min(span[3 + k], bounds[3 + k] - HIT)
        if not narrow(span, mins):
            return
    for r in range(scene.starts[pivot], scene.starts[pivot + 1]):
        child[:] = span
        add(scene, pool, child, origin, r)


@compiled
def _settle(scene: Scene, pool: Pool, node: int) -> bool:
    """Replace a rough bound by the proven one; False when the node must wait or is gone."""
    span, links = pool.spans[node], pool.links[node]
    rows = _gathered(scene, pool, span, links[0])
    bound = full_bound(span, scene.mins[links[1]], rows, pool.best[node])
    if bound < 0.0:
        _release(pool, node)
        return False
    links[2] = _SETTLED
    pool.key[node] = min(pool.key[node], bound)
    heap, state = pool.heap, pool.state
    if state[DIVE] == 0 and state[_HEAP] > 0 and pool.key[heap[0]] > pool.key[node]:
        _push(pool, node)
        return False
    return True


@compiled
def search(scene: Scene, pool: Pool, most_nodes: int, found: Floats) -> tuple[int, float]:
    """Open nodes until the best box is empty; returns (status, proven bound).

    FOUND leaves the box in ``found`` and its node on the heap, so that the search can go on once
    the box has become an obstacle itself. FULL asks for larger arrays, CAPPED says that
    ``most_nodes`` were opened.
    """
    state = pool.state
    spare = 8
    for o in range(scene.bounds.shape[0]):
        spare = max(spare, 8 + scene.starts[o + 1] - scene.starts[o])
    while state[_HEAP] > 0:
        if state[_FRESH] + spare > pool.key.shape[0] or state[_CHAIN] + spare > pool.chain.shape[0]:
            return FULL, 0.0
        if state[OPENED] >= most_nodes:
            return CAPPED, pool.key[pool.heap[0]]
        node = _pop(pool)
        state[OPENED] += 1
        if pool.links[node, 2] == _ROUGH and not _settle(scene, pool, node):
            continue
        pivot = _pivot(pool.best[node], pool.spans[node], scene)
        if pivot < 0:
            found[:] = pool.best[node]
            _push(pool, node)
            return FOUND, pool.key[node]
        _split(scene, pool, node, pivot)
    return EMPTY, 0.0
