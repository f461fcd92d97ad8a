"""What do the walls leave of a zone: a layout in, readings out.

A zone may run on behind a wall, where the room is skew or short. What counts is whether someone
still stands in it: how deep it is before the thing's face, over the breadth of a person. A
service zone is wanted over its whole width.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.standing import ZONE
from massing.checks.words import mm, place
from massing.geometry.solids import Floats, spread
from massing.geometry.tolerance import TOUCH
from massing.room.shape import OutsidePiece, Room
from massing.scheme.layout import Placed, Zone

__all__ = ["depth_left", "read"]

_PART = 25.0  # % of a zone behind walls that is worth a note where someone still stands in it
_HALVINGS = 48  # of the depth, so that it is exact to far less than a touch


@dataclass(frozen=True, slots=True, eq=False)
class _Before:
    """A zone from the face it lies before: origin, along and out (worlds, 2), sizes (worlds,)."""

    origin: Floats
    along: Floats
    out: Floats
    width: Floats
    depth: Floats

    def own(self, ring: Floats) -> Floats:
        """A ring (worlds, n, 2) as distances along the face and out from it."""
        off = spread(ring, len(self.origin)) - self.origin[:, None]
        ways = (self.along, self.out)
        return np.stack([np.einsum("wni,wi->wn", off, way) for way in ways], axis=2)


def read(context: Context) -> Iterator[Reading]:
    """Readings of every zone that a wall leaves too shallow, or takes a good part of."""
    held = [(item, zone) for item in context.items for zone in item.zones]
    for (item, zone), pieces in zip(held, _near(context.layout.room, held), strict=True):
        before = _before(item, zone) if pieces else None
        if before is not None:
            yield from _readings(context, item, zone, before, pieces)


def _near(room: Room, held: list[tuple[Placed, Zone]]) -> list[list[OutsidePiece]]:
    """The outside regions whose bounds overlap those of each zone in some world."""
    if not held:
        return []
    rings = [spread(zone.polygon, room.worlds) for _, zone in held]
    first = np.cumsum([0, *(ring.shape[1] for ring in rings[:-1])])
    corners = np.concatenate(rings, axis=1)
    low = np.minimum.reduceat(corners, first, axis=1)
    high = np.maximum.reduceat(corners, first, axis=1)
    found: list[list[OutsidePiece]] = [[] for _ in held]
    for piece in room.outside:
        under, over = piece.polygon.min(axis=1)[:, None], piece.polygon.max(axis=1)[:, None]
        meets = ((over > low + TOUCH) & (under < high - TOUCH)).all(axis=2).any(axis=0)
        for k in np.flatnonzero(meets).tolist():
            found[k].append(piece)
    return found


def _before(item: Placed, zone: Zone) -> _Before | None:
    """The zone seen from the side of the body it lies on; None for one beneath it."""
    ring = zone.polygon
    if ring.shape[1] != 4:
        return None
    x, y = ring[:, 1] - ring[:, 0], ring[:, 3] - ring[:, 0]
    wide, deep = np.hypot(x[:, 0], x[:, 1]), np.hypot(y[:, 0], y[:, 1])
    x, y = x / wide[:, None], y / deep[:, None]
    body = np.concatenate([part.solid.corners[0, :, :2] for part in item.parts]) - ring[0, 0]
    across, ahead = body @ x[0], body @ y[0]
    if ahead.min() >= deep[0] - TOUCH:
        return _Before(ring[:, 3], x, -y, wide, deep)
    if ahead.max() <= TOUCH:
        return _Before(ring[:, 0], x, y, wide, deep)
    if across.min() >= wide[0] - TOUCH:
        return _Before(ring[:, 1], y, -x, deep, wide)
    if across.max() <= TOUCH:
        return _Before(ring[:, 0], y, x, deep, wide)
    return None


def depth_left(rings: list[Floats], width: Floats, depth: Floats, span: Floats) -> Floats:
    """(worlds,) how far out a stretch of a face as long as ``span`` stays free, up to ``depth``.

    rings : convex (worlds, n, 2), along the face from its left end and out from it, mm
    width : of the face; all (worlds,) mm

    >>> wall = np.array([[[-100.0, 700], [2000, 700], [2000, 900], [-100, 900]]])
    >>> post = np.array([[[0.0, 300], [100, 300], [100, 900], [0, 900]]])
    >>> sizes = [np.array([size]) for size in (700.0, 800.0, 600.0)]
    >>> depth_left([wall, post], *sizes).round(6).tolist()
    [700.0]
    >>> depth_left([wall, post], *sizes[:2], np.array([601.0])).round(6).tolist()
    [300.0]
    """
    low, high = np.zeros(len(depth)), depth.copy()
    free = _longest(rings, width, depth) >= span - TOUCH
    low = np.where(free, depth, low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        free = _longest(rings, width, middle) >= span - TOUCH
        low, high = np.where(free, middle, low), np.where(free, high, middle)
    return low


def _longest(rings: list[Floats], width: Floats, depth: Floats) -> Floats:
    """(worlds,) longest stretch of a face that nothing comes before, out to a depth."""
    spans = [_span(ring, depth) for ring in rings]
    least = np.clip([span[0] for span in spans], 0.0, width)
    most = np.clip([span[1] for span in spans], 0.0, width)
    order = np.argsort(least, axis=0, kind="stable")
    least = np.take_along_axis(least, order, axis=0)
    most = np.maximum.accumulate(np.take_along_axis(most, order, axis=0), axis=0)
    begins = np.concatenate([np.zeros((1, len(width))), most])
    ends = np.concatenate([least, width[None]])
    return np.asarray((ends - begins).max(axis=0))


def _span(ring: Floats, depth: Floats) -> tuple[Floats, Floats]:
    """(worlds,) least and greatest distance along the face of a ring before it, out to a depth."""
    after = np.concatenate([ring[:, 1:], ring[:, :1]], axis=1)
    along, out = ring[..., 0], ring[..., 1]
    near, far = np.full((len(depth), 1), TOUCH), depth[:, None]
    found = [np.where((out >= near) & (out < far), along, np.nan)]
    for level in (near, far):
        rise = after[..., 1] - out
        crosses = (out < level) != (after[..., 1] < level)
        share = (level - out) / np.where(crosses, rise, 1.0)
        found.append(np.where(crosses, along + share * (after[..., 0] - along), np.nan))
    points = np.concatenate(found, axis=1)
    none = np.isnan(points).all(axis=1)
    points[none] = np.inf
    return np.nanmin(points, axis=1), np.nanmax(points, axis=1)


def _readings(
    context: Context, item: Placed, zone: Zone, before: _Before, pieces: list[OutsidePiece]
) -> Iterator[Reading]:
    rules = context.rules
    breadth = before.width
    if zone.posture != "none":
        breadth = np.minimum(rules.breadth, before.width)
    left = depth_left(
        [before.own(piece.polygon) for piece in pieces], before.width, before.depth, breadth
    )
    # In a world where the zone itself is deeper, it may lose as much more.
    gap = left - (before.depth - before.depth[0])
    share = rules.zone_lost / 100.0
    needs = float(before.depth[0]) * (1.0 - share)
    if float(gap.min()) < needs - TOUCH:
        yield Reading(
            check=ZONE,
            items=(item.name, _wall(context.layout.room, zone, pieces)),
            gap=gap,
            needs=needs,
            detail=_later(context, item, zone, before, (float(gap[0]), float(breadth[0]))),
            source=rules.source("zone_lost"),
        )
        return
    kept = _kept(context.layout.room, zone)
    if kept < 1.0 - _PART / 100.0 - 1e-6:
        yield _noted(context, item, zone, kept, _wall(context.layout.room, zone, pieces))


def _noted(context: Context, item: Placed, zone: Zone, kept: float, wall: str) -> Reading:
    """Someone stands in it, and a good part of it lies behind a wall all the same."""
    says = f"{100.0 * (1.0 - kept):.0f} % of the {zone.name} zone of {item.name} lies behind {wall}"
    middle = place(np.append(zone.polygon[0].mean(axis=0), zone.level[0]))
    return Reading(
        check=ZONE,
        items=(item.name, wall),
        gap=np.full(context.layout.worlds, 100.0 * kept),
        needs=100.0 - _PART,
        unit="%",
        weight=Verdict.CAUTION,
        detail=lambda: Detail(says=says, at=middle),
        source="common practice, no source: a quarter of a zone is missed",
    )


def _kept(room: Room, zone: Zone) -> float:
    """Share of a zone inside the room's outline, nominal world."""
    from shapely import Polygon

    whole = Polygon(zone.polygon[0])
    return float(whole.intersection(Polygon(room.outline[0])).area / whole.area)


def _wall(room: Room, zone: Zone, pieces: list[OutsidePiece]) -> str:
    """The wall behind which most of the zone lies, nominal world; the first where none does."""
    from shapely import Polygon

    own = Polygon(zone.polygon[0])
    most = max(pieces, key=lambda piece: own.intersection(Polygon(piece.polygon[0])).area)
    return " and ".join(room.walls[number].name for number in most.walls)


def _later(
    context: Context, item: Placed, zone: Zone, before: _Before, sizes: tuple[float, float]
) -> Callable[[], Detail]:
    return lambda: _detail(context, item, zone, before, sizes)


def _detail(
    context: Context, item: Placed, zone: Zone, before: _Before, sizes: tuple[float, float]
) -> Detail:
    left, breadth = sizes
    whole = float(before.depth[0])
    needs = whole * (1.0 - context.rules.zone_lost / 100.0)
    says = (
        f"{item.name}, {zone.name} zone: the walls leave {mm(left)} of its {mm(whole)} depth "
        f"{mm(breadth)} wide, {mm(needs)} will do"
    )
    middle = before.origin[0] + before.along[0] * before.width[0] / 2.0 + before.out[0] * left
    short = needs - left
    back = -before.out[0] * short
    push = Push(item.name, (float(back[0]), float(back[1]), 0.0))
    return Detail(
        says=says,
        at=place(np.append(middle, zone.level[0])),
        pushes=() if item.stays or short <= TOUCH else (push,),
    )
