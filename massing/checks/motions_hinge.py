"""Is there room beside the hinge of an item's door, where a wall runs on past it? Readings out.

The thickness of a door, its handle and the hands that work it need a little beside the hinge. How
far the door opens is for ``motions`` to say; this is the gap it has left when it stands square.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.motions import Mover, item_movers
from massing.checks.words import mm
from massing.geometry.gaps.candidates import bounds
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH

__all__ = ["CHECK", "read"]

CHECK = "hinge side"
_FAR = 2e4  # mm, beyond any room
_FACING = 0.7  # cosine; a wall that looks more than half a right angle away is not beside it


def read(context: Context) -> Iterator[Reading]:
    """Readings of every item's upright leaf whose hinge is too near a wall or a partition."""
    movers = [
        mover
        for mover in item_movers(context.layout)
        if mover.kind == "leaf" and context.wanted(mover.owner)
    ]
    if not movers:
        return
    beside = _beside(context)
    low, high = bounds([solid for _, solid in beside])
    need = context.rules.hinge_side
    worst: dict[tuple[str, str], tuple[Mover, Floats]] = {}
    for mover in movers:
        path = mover.paths[0]
        square = path.at(np.minimum(np.pi / 2.0, path.full))
        near = np.maximum(low - square.high.max(axis=0), square.low.min(axis=0) - high)
        for number in np.flatnonzero((near < need).all(axis=1)).tolist():
            name, solid = beside[number]
            gap = _on_hinge_side(mover, square, solid)
            if gap is None or float(gap[0]) < -TOUCH or float(gap.min()) >= need - TOUCH:
                continue
            held = worst.get((mover.owner, name))
            if held is None or float(gap[0]) < float(held[1][0]):
                worst[(mover.owner, name)] = (mover, gap)
    for (owner, name), (mover, gap) in worst.items():
        yield Reading(
            check=CHECK,
            items=(owner, name),
            gap=np.broadcast_to(gap, (context.layout.worlds,)),
            needs=need,
            detail=_later(mover, name, float(gap[0]), need),
            weight=Verdict.CAUTION,
            source=context.rules.source("hinge_side"),
        )


def _beside(context: Context) -> list[tuple[str, Convex]]:
    """Walls and partitions as solids, each with its name."""
    room = context.layout.room
    found = []
    for piece in room.outside:
        name = " and ".join(room.walls[number].name for number in piece.walls) + " wall"
        found.append((name, prism(piece.polygon, -_FAR, _FAR)))
    for fabric in room.fabric:
        found.extend((fabric.name, part) for part in fabric.parts if part.faces.upright)
    return found


def _on_hinge_side(mover: Mover, square: Convex, solid: Convex) -> Floats | None:
    """(worlds,) plan gap from the leaf standing square, where that is on its hinge's side."""
    path = mover.paths[0]
    assert path.about is not None  # noqa: S101
    met = polygon_gap(outline_of(square), outline_of(solid))
    middle = path.solid.corners[0, :, :2].mean(axis=0)
    back = path.about[0, :2] - middle
    back = back / max(float(np.linalg.norm(back)), 1e-9)
    return met.gap if float(met.normal[0] @ back) > _FACING else None


def _later(mover: Mover, name: str, gap: float, need: float):  # type: ignore[no-untyped-def]  # noqa: ANN202
    says = f"hinge of {mover.label} is {mm(gap)} from the {name}, wants {mm(need)} for its handle"
    assert mover.paths[0].about is not None  # noqa: S101
    x, y, z = (float(v) for v in mover.paths[0].about[0])
    return lambda: Detail(says=says, at=(round(x, 1), round(y, 1), round(z, 1)))
