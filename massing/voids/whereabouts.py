"""Where an empty box is, in plain words: a layout and a box in, words out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.words import mm
from massing.geometry.outline import outline_of
from massing.geometry.polygons import Ring, overlap
from massing.room.cells import plan_area
from massing.room.measure import cells
from massing.scheme.layout import Layout
from massing.voids.boxes import Run, UsableBox

__all__ = ["box_words", "run_words", "size_words"]

_NEAR = 50.0  # mm; a thing or wall within this is told of
_SHARE = 0.25  # of the box's plan that a thing must lie under or over to be told of


def box_words(layout: Layout, box: UsableBox) -> str:
    """Where a box is: what it is above, below or beside, and which walls it touches."""
    told = [*_stacked(layout, box)]
    if not told:
        told = [*_beside(layout, box)][:2]
    walls = [*_walls(layout, box)]
    if walls:
        told.append("against " + " and ".join(f"the {name} wall" for name in walls[:2]))
    slope = _under_slope(layout, box)
    if slope:
        told.append("under the slope")
    return ", ".join(told) if told else "in the middle of the room"


def size_words(box: UsableBox) -> str:
    """Its size and the height of its base, mm, such as ``1800 x 650 x 640 at 1080``."""
    turned = f", turned {box.turn:.4g}°" if box.turn else ""
    return " x ".join(mm(side) for side in box.size) + f" at {mm(box.low[2])}{turned}"


def run_words(run: Run) -> str:
    """A shelf run: where, how long, how deep, how high, mm."""
    return (
        f"{run.wall} wall, {mm(run.start)} to {mm(run.stop)} along: {mm(run.stop - run.start)} x "
        f"{mm(run.depth)} x {mm(run.high - run.low)} at {mm(run.low)}"
    )


def _stacked(layout: Layout, box: UsableBox) -> Iterator[str]:
    """The thing nearest below and nearest above, when it lies under or over enough of the box."""
    ring = Ring.of(box.ring)
    whole = plan_area(box.ring)
    over: list[tuple[float, str]] = []
    under: list[tuple[float, str]] = []
    for item in layout.items:
        for part in item.parts:
            shared = overlap(ring, Ring.of(outline_of(part.solid)[:1]))
            if shared is None or plan_area(shared.points[0]) < _SHARE * whole:
                continue
            low, high = float(part.solid.low[0, 2]), float(part.solid.high[0, 2])
            if high <= box.low[2] + 1.0:
                over.append((box.low[2] - high, item.name))
            elif low >= box.high[2] - 1.0:
                under.append((low - box.high[2], item.name))
    if over and under and min(over)[1] == min(under)[1]:
        yield f"within {min(over)[1]}"
        return
    if over:
        yield f"above {min(over)[1]}"
    if under:
        yield f"below {min(under)[1]}"


def _beside(layout: Layout, box: UsableBox) -> Iterator[str]:
    """Things level with the box and near its side, the nearest first."""
    found = []
    least = np.array([*box.ring.min(axis=0), box.low[2]])
    most = np.array([*box.ring.max(axis=0), box.high[2]])
    for item in layout.items:
        for part in item.parts:
            low, high = part.solid.low[0], part.solid.high[0]
            gaps = np.maximum(low - most, least - high)
            if gaps[2] < -1.0 and float(np.maximum(gaps[:2], 0.0).max()) <= _NEAR:
                found.append((round(float(np.maximum(gaps[:2], 0.0).max()), 3), item.name))
    for name in dict.fromkeys(name for _, name in sorted(found)):
        yield f"beside {name}"


def _walls(layout: Layout, box: UsableBox) -> Iterator[str]:
    """Walls with a side of the box flat on them or within reach of a hand's breadth."""
    corners = box.ring
    for wall in layout.room.walls:
        off = (wall.left[0] - corners) @ wall.outward[0]
        along = (corners - wall.left[0]) @ wall.along[0]
        beside = min(float(along.max()), float(wall.length[0])) - max(float(along.min()), 0.0)
        if np.count_nonzero(np.abs(off) <= _NEAR) >= 2 and beside > 1.0:
            yield wall.name


def _under_slope(layout: Layout, box: UsableBox) -> bool:
    """Whether a corner of its top touches a sloping ceiling."""
    for cell in cells(layout.room):
        if float(np.hypot(cell.plane[0], cell.plane[1])) < 1e-9:
            continue
        shared = overlap(Ring.of(cell.polygon), Ring.of(box.ring))
        if shared is None:
            continue
        tops = shared.points[0] @ cell.plane[:2] + cell.plane[2]
        if float(tops.min()) - box.high[2] <= 1.0:
            return True
    return False
