"""Does a drawer pass the front beside it, handles and all? A layout in, gaps beside drawers out.

In an inside corner a drawer runs past the front that looks at its side. A filler between them
keeps it off that front's handles. Where either draws its handles as parts, ``motions`` meets them
as they are, and nothing need be guessed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from massing.checks.ahead import Air, Face, face_of, pushes_out, side_face
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.words import mm, place
from massing.geometry.solids import Floats, spread
from massing.geometry.tolerance import TOUCH
from massing.scheme.extents import bounds_by_world
from massing.scheme.layout import Layout, Motion, Placed

__all__ = ["CHECK", "read"]

CHECK = "filler"
_FRONTS = frozenset({"drawer", "leaf", "flap"})
_LOOKS = (
    -0.7
)  # cosine; a front that looks more than half a right angle past a drawer's side does not
_Pair = tuple[Placed, Motion]


def read(context: Context) -> Iterator[Reading]:
    """Readings of each drawer and front beside it that are nearer than a filler; the worst a pair.

    A drawer that is stopped by that front is for ``motions`` to say.
    """
    fronts = _fronts(context.layout)
    drawers = [k for k, (_, motion) in enumerate(fronts) if motion.kind == "drawer"]
    if not drawers or len(fronts) < 2:
        return
    worst: dict[tuple[str, ...], tuple[Floats, _Pair, _Pair, Air]] = {}
    for i, j in _near(context, fronts, drawers):
        looks = _out(*fronts[j])
        if abs(float(looks @ fronts[i][1].axis[0])) > -_LOOKS:
            continue
        for air in _beside(context, fronts[i][1]):
            if float(air.way[0] @ looks) < _LOOKS:
                gap = air.free([fronts[j][1].solid])
                key = tuple(sorted((fronts[i][0].name, fronts[j][0].name)))
                if key not in worst or float(gap[0]) < float(worst[key][0][0]):
                    worst[key] = (gap, fronts[i], fronts[j], air)
    for gap, one, other, air in worst.values():
        if float(gap.min()) < context.rules.filler - TOUCH:
            yield Reading(
                check=CHECK,
                items=(one[0].name, other[0].name),
                gap=gap,
                needs=context.rules.filler,
                detail=_later(context, one, other, air, float(gap[0])),
                weight=Verdict.CAUTION,
                source=context.rules.source("filler"),
            )


def _fronts(layout: Layout) -> list[_Pair]:
    """Every drawer, door and flap in the side of a thing that does not draw its handles."""
    return [
        (item, motion)
        for item in layout.items
        if not any(part.kind == "handle" for part in item.parts)
        for motion in item.motions
        if motion.kind in _FRONTS
    ]


def _near(context: Context, fronts: list[_Pair], drawers: list[int]) -> list[tuple[int, int]]:
    """Drawers and the fronts of other stacks that may lie within a filler of their travel."""
    layout = context.layout
    lows, highs = bounds_by_world([motion.solid for _, motion in fronts], layout.worlds)
    low, high = lows.min(axis=0), highs.max(axis=0)
    ways = np.array([motion.axis[0] for _, motion in fronts])[drawers]
    full = np.array([float(motion.full.max()) for _, motion in fronts])[drawers]
    far = ways * full[:, None] + context.rules.filler * np.sign(ways)
    least = low[drawers] + np.minimum(far, 0.0) - context.rules.filler
    most = high[drawers] + np.maximum(far, 0.0) + context.rules.filler
    met = ((least[:, None] < high[None]) & (low[None] < most[:, None])).all(axis=2)
    stacks = [layout.bottom_of(item.name) for item, _ in fronts]
    pairs = [(drawers[d], j) for d, j in np.argwhere(met).tolist()]
    return [
        (i, j)
        for i, j in pairs
        if stacks[i] != stacks[j] and context.wanted(fronts[i][0].name, fronts[j][0].name)
    ]


def _out(item: Placed, motion: Motion) -> Floats:
    """(3,) way a shut front looks, nominal world: out of the side it is in."""
    sides = [spec.side for spec in item.spec.motions if spec.name == motion.name]
    x, y = side_face(item, sides[0]).out[0]
    return np.array([x, y, 0.0])


def _beside(context: Context, motion: Motion) -> Iterator[Air]:
    """The air on either side of a drawer's travel, as deep as a filler."""
    worlds = context.layout.worlds
    out = spread(motion.axis[:, :2], worlds)
    face = face_of(spread(motion.solid.corners[:, :, :2], worlds), out)
    ahead = (face.level, face.level + np.broadcast_to(motion.full, (worlds,)))
    low, high = (spread(z, worlds) for z in (motion.solid.low[:, 2], motion.solid.high[:, 2]))
    none = np.zeros(worlds)
    for way, level in ((face.along, face.right), (-face.along, -face.left)):
        along = np.stack([-way[:, 1], way[:, 0]], axis=1)
        sign = np.einsum("wi,wi->w", along, out)[:, None]
        ends = np.sort(np.stack(ahead, axis=1) * sign, axis=1)
        side = Face(way, along, level, ends[:, 0], ends[:, 1])
        yield side.air(none, none + context.rules.filler, low, high)


def _later(
    context: Context, one: _Pair, other: _Pair, air: Air, gap: float
) -> Callable[[], Detail]:
    need = context.rules.filler

    def told() -> Detail:
        names = [motion.name.removesuffix("s") for _, motion in (one, other)]
        says = (
            f"{names[0]} of {one[0].name} runs {mm(gap)} past the {names[1]} of {other[0].name}: "
            f"a filler of {mm(need)} keeps it off its handle"
        )
        pushes = pushes_out(one[0], other[0], max(need - gap, 0.0) * air.way[0, :2])
        return Detail(says=says, at=place(air.solid.corners[0].mean(axis=0)), pushes=pushes)

    return told
