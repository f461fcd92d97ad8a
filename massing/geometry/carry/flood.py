"""Compiled flood over a carry lattice: blocked nodes in, what is joined to a node out.

Neighbouring nodes that are both free are joined, whatever lies between: where nodes are blocked
only when a thing overlaps by more than it can move within its cell, nothing that is joined in
truth is missed, and what the flood does not reach cannot be reached.

Nodes are (pose, turn, row, column); turns wrap round. A node is marked 0 while unseen, 1 to 4
and 5 to 6 by the shift or turn that led there, 7 and up by the change of pose.
"""

# ruff: noqa: C901, PLR0912, PLR0915
# Same reason as in carry_compiled.

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.carry.moves import compiled
from massing.geometry.solids import Ints

__all__ = ["BEGUN", "CLOSED", "OTHER", "bridge", "flood", "trail"]

Bytes: TypeAlias = NDArray[np.uint8]

OTHER, CLOSED, BEGUN = 253, 254, 255  # marks of the far side, of what is blocked, of the first


@compiled
def flood(marks: Bytes, changes: Ints, begin: int, end: int, stack: Ints) -> bool:
    """Whether ``end`` is joined to ``begin``; goes towards it where it can.

    marks : (poses, turns, rows, columns) 0 or CLOSED, written
    changes : (poses, c) the pose each change leads to, or -1; stack : (nodes,) room
    """
    poses, turns, rows, columns = marks.shape
    plane = rows * columns
    flat = marks.reshape(poses * turns * plane)
    if flat[begin] or flat[end]:
        return False
    goal_j, goal_i = end % plane // columns, end % columns
    flat[begin], stack[0] = BEGUN, begin
    count = 1
    while count:
        count -= 1
        node = stack[count]
        layer = node // plane
        cell = node - layer * plane
        p = layer // turns
        k = layer - p * turns
        j = cell // columns
        i = cell - j * columns
        for c in range(changes.shape[1]):
            if changes[p, c] >= 0:
                target = (changes[p, c] * turns + k) * plane + cell
                if flat[target] == 0:
                    flat[target] = 7 + c
                    stack[count] = target
                    count += 1
        target = node + plane if k + 1 < turns else node - (turns - 1) * plane
        if flat[target] == 0:
            flat[target] = 5
            stack[count] = target
            count += 1
        target = node - plane if k > 0 else node + (turns - 1) * plane
        if flat[target] == 0:
            flat[target] = 6
            stack[count] = target
            count += 1
        # What is put on the stack last is looked at first: away from the end, then towards it.
        for m in range(4):
            away = m < 2
            if m % 2 == 0:
                up = (goal_i > i) != away
                if (up and i + 1 == columns) or (not up and i == 0):
                    continue
                target = node + (1 if up else -1)
                code = 1 if up else 3
            else:
                up = (goal_j > j) != away
                if (up and j + 1 == rows) or (not up and j == 0):
                    continue
                target = node + (columns if up else -columns)
                code = 2 if up else 4
            if flat[target] == 0:
                flat[target] = code
                stack[count] = target
                count += 1
        if flat[end]:
            return True
    return False


@compiled
def bridge(marks: Bytes, changes: Ints, queue: Ints) -> int:
    """The first node marked OTHER that is come to from those marked BEGUN; -1 for none.

    marks, changes : as for ``flood``; all steps are of one length, so the bridge is a shortest one
    """
    poses, turns, rows, columns = marks.shape
    plane = rows * columns
    flat = marks.reshape(poses * turns * plane)
    head = tail = 0
    for node in range(flat.shape[0]):
        if flat[node] == BEGUN:
            queue[tail] = node
            tail += 1
    while head < tail:
        node = queue[head]
        head += 1
        layer = node // plane
        cell = node - layer * plane
        p = layer // turns
        k = layer - p * turns
        j = cell // columns
        i = cell - j * columns
        for m in range(6 + changes.shape[1]):
            target = -1
            if m == 0 and i + 1 < columns:
                target = node + 1
            elif m == 1 and j + 1 < rows:
                target = node + columns
            elif m == 2 and i > 0:
                target = node - 1
            elif m == 3 and j > 0:
                target = node - columns
            elif m == 4:
                target = node + plane if k + 1 < turns else node - (turns - 1) * plane
            elif m == 5:
                target = node - plane if k > 0 else node + (turns - 1) * plane
            elif m > 5 and changes[p, m - 6] >= 0:
                target = (changes[p, m - 6] * turns + k) * plane + cell
            if target < 0:
                continue
            if flat[target] == OTHER:
                flat[target] = m + 1
                return int(target)
            if flat[target] == 0:
                flat[target] = m + 1
                queue[tail] = target
                tail += 1
    return -1


@compiled
def trail(marks: Bytes, changes: Ints, end: int) -> Ints:
    """(n,) nodes from ``end`` back to where the flood began."""
    poses, turns, rows, columns = marks.shape
    plane = rows * columns
    flat = marks.reshape(poses * turns * plane)
    found = np.empty(flat.shape[0], dtype=np.int64)
    node, count = end, 0
    while True:
        found[count] = node
        count += 1
        code = flat[node]
        if code == BEGUN:
            return found[:count].copy()
        layer, cell = node // plane, node % plane
        p, k = layer // turns, layer % turns
        if code == 1:
            node -= 1
        elif code == 3:
            node += 1
        elif code == 2:
            node -= columns
        elif code == 4:
            node += columns
        elif code == 5:
            node += -plane if k > 0 else (turns - 1) * plane
        elif code == 6:
            node += plane if k + 1 < turns else -(turns - 1) * plane
        else:
            # Column c leads both ways, so the pose come from is where it leads back to.
            node = (changes[p, code - 7] * turns + k) * plane + cell
