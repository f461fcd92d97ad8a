"""Which zones share floor, and may they: a layout in, readings out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.words import mm, square_metres
from massing.geometry.gaps.plan import polygon_gap
from massing.geometry.polygons import Ring, area, overlap
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Zone

__all__ = ["CHECK", "at_once", "read"]

CHECK = "shared floor"
SOURCE = "common practice, no source: people's zones may overlap unless both are used at once"


def read(context: Context) -> Iterator[Reading]:
    """Readings of every two zones of different items that overlap in plan."""
    layout = context.layout
    zones = [zone for item in layout.items for zone in item.zones]
    if not any(context.wanted(zone.item) for zone in zones):
        return
    bottoms = [layout.bottom_of(zone.item) for zone in zones]
    pairs = [
        (i, j)
        for i, j in _near(zones)
        if bottoms[i] != bottoms[j] and context.wanted(zones[i].item, zones[j].item)
    ]
    if not pairs:
        return
    # Every zone is a rectangle: in the nominal world all pairs are measured as one row each.
    ones, others = (np.stack([zones[pair[k]].polygon[0] for pair in pairs]) for k in (0, 1))
    deep = polygon_gap(ones, others).gap < -TOUCH
    for number in np.flatnonzero(deep).tolist():
        i, j = pairs[number]
        yield _shared(context, zones[i], zones[j])


def _near(zones: list[Zone]) -> list[tuple[int, int]]:
    """Numbers of every two zones whose bounds overlap in the nominal world, in order."""
    if not zones:
        return []
    rings = np.stack([zone.polygon[0] for zone in zones])
    low, high = rings.min(axis=1), rings.max(axis=1)
    meets = ((low[:, None] < high[None]) & (low[None] < high[:, None])).all(axis=2)
    return [(i, j) for i, j in np.argwhere(np.triu(meets, 1)).tolist()]


def _shared(context: Context, one: Zone, other: Zone) -> Reading:
    both = at_once(context.layout, one.item, other.item)
    worlds = context.layout.worlds
    return Reading(
        check=CHECK,
        items=(one.item, other.item),
        gap=polygon_gap(one.polygon, other.polygon).gap if both else np.zeros(worlds),
        detail=lambda: _detail(one, other, at_once=both),
        weight=Verdict.CONFLICT,
        noted=True,
        source=SOURCE,
    )


def at_once(layout: Layout, one: str, other: str) -> bool:
    """Whether the project says these two are used together."""
    for group in layout.together:
        uses = {use.removesuffix(" in use") for use in group}
        if one in uses and other in uses:
            return True
    return False


def _detail(one: Zone, other: Zone, *, at_once: bool) -> Detail:
    shared = overlap(Ring.of(one.polygon[:1]), Ring.of(other.polygon[:1]))
    if shared is None:
        return Detail(says=f"{one.item} and {other.item} zones meet")
    low, high = shared.points[0].min(axis=0), shared.points[0].max(axis=0)
    size = square_metres(float(area(shared.points)[0]))
    rule = "though both are in use at once" if at_once else "allowed: not in use at once"
    says = (
        f"{one.name} zone of {one.item} and {other.name} zone of {other.item} share "
        f"{mm(high[0] - low[0])} x {mm(high[1] - low[1])} of floor ({size:.3f} m²), {rule}"
    )
    middle = shared.points[0].mean(axis=0)
    at = (float(middle[0]), float(middle[1]), float(one.level[0]))
    return Detail(says=says, at=at, area_m2=size)
