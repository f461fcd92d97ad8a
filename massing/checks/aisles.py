"""Is there room between two work fronts that face each other: a layout in, clear widths out.

A front is a side of a thing at which someone stands to work: of a kitchen, laundry, workshop or
work place, or of the project's own making. What one worker needs is each thing's own zone to say;
an aisle adds the one behind. So a width under the least is a conflict where the project's
``together`` says both are used at once, and worth a second look where they are not: as with zones
that share floor, one person is on one side at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.ahead import Face, pushes_out, things_in, zone_faces, zone_sides
from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.hung import LOW
from massing.checks.moved import as_before
from massing.checks.sharing import at_once
from massing.checks.words import mm, place
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Placed, Zone

__all__ = ["CHECK", "read"]

CHECK = "work aisle"
_WORK = frozenset({"kitchen", "laundry", "workshop", "work", "own"})  # groups of the catalogue
_OPPOSITE = (
    -0.7
)  # cosine; fronts that look more than half a right angle past each other do not face
_SHARE = 0.5  # of the narrower front; with less of it opposite, two people stand side by side


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """A side where someone stands to work; level : (worlds,) of the floor before it."""

    item: Placed
    face: Face
    level: Floats


def read(context: Context) -> Iterator[Reading]:
    """Readings of the clear width between every two facing work fronts, where it is short."""
    known = as_before(context.layout, "work fronts", lambda layout: layout.items, _fronts)
    sides = [side for own in known.values() for side in own]
    if len(sides) < 2 or not any(context.wanted(item.name) for item, _, _ in sides):
        return
    faces = zone_faces(sides, context.layout.worlds)
    items = [item for item, _, _ in sides]
    for i, j in _facing(faces, max(context.rules.aisle, context.rules.aisle_least)):
        if items[i] is items[j] or not context.wanted(items[i].name, items[j].name):
            continue
        one, other = (_Front(items[k], faces[k], sides[k][1].level) for k in (i, j))
        width = _width(context, one, other)
        reading = None if width is None else _reading(context, one, other, width)
        if reading is not None:
            yield reading


def _fronts(_: Layout, items: list[Placed]) -> list[list[tuple[Placed, Zone, str]]]:
    """The work fronts of each of some items."""
    return [
        [
            (item, zone, side)
            for zone, spec, side in (zone_sides(item) if _worked_at(item) else ())
            if spec.kind == "person"
            and spec.posture == "standing"
            and float(item.low[0, 2] - zone.level[0]) < LOW
        ]
        for item in items
    ]


def _worked_at(item: Placed) -> bool:
    return item.spec.group in _WORK and not item.spec.passable


def _facing(faces: Face, reach: float) -> list[tuple[int, int]]:
    """Pairs of fronts that look at each other: which do is decided in the nominal world.

    Pairs that are further apart than that in every world are left out. Behind its front a thing
    comes no nearer.
    """
    out, along = faces.out[:, 0], faces.along[:, 0]
    sides = np.stack([faces.left, faces.right], axis=2)[..., None]
    ends = sides * faces.along[:, :, None] + (faces.level[..., None] * faces.out)[:, :, None]
    # How far ahead of each front, and from where to where along it, every other one lies.
    ahead = np.einsum("iwk,jwek->ijwe", faces.out, ends) - faces.level[:, None, :, None]
    across = np.einsum("ik,jek->ije", along, ends[:, 0])
    common = np.minimum(across.max(axis=2), faces.right[:, None, 0])
    common = common - np.maximum(across.min(axis=2), faces.left[:, None, 0])
    wide = faces.right[:, 0] - faces.left[:, 0]
    enough = common >= _SHARE * np.minimum(wide[:, None], wide[None]) - TOUCH
    near = (ahead[:, :, 0].max(axis=2) > TOUCH) & (ahead.min(axis=(2, 3)) < reach - TOUCH)
    met = (out @ out.T < _OPPOSITE) & near & enough
    return [(i, j) for i, j in np.argwhere(np.triu(met & met.T, 1)).tolist()]


def _width(context: Context, one: _Front, other: _Front) -> Floats | None:
    """(worlds,) clear width, square to either front, over what of it lies opposite the other.

    None where something built stands across.
    """
    things = things_in(context.layout)
    deep = np.full(context.layout.worlds, max(context.rules.aisle, context.rules.aisle_least))
    found = []
    for here, there in ((one, other), (other, one)):
        face = _opposite(here.face, there.face)
        if float((face.right - face.left).min()) <= 1.0:
            return None
        low, high = here.level + context.rules.step_over, here.level + LOW
        air = face.air(np.zeros_like(deep), deep, low, high)
        met = set(things.near(air.solid.low.min(axis=0), air.solid.high.max(axis=0)).tolist())
        own = [k for k in met if things.every[things.owner[k]].item is there.item]
        free = air.free([things.solids[k] for k in own]) if own else air.deep
        built = [k for k in met if things.every[things.owner[k]].item is None]
        across = [things.solids[k] for k in built if _across(things.solids[k], face)]
        if across and float(air.free(across)[0]) < float(free[0]) - TOUCH:
            return None
        found.append(free)
    return np.minimum(*found)


def _opposite(here: Face, there: Face) -> Face:
    """The part of one front that has the other opposite."""
    ends = (there.left, there.right)
    points = [end[:, None] * there.along + there.level[:, None] * there.out for end in ends]
    across = np.stack([np.einsum("wi,wi->w", here.along, point) for point in points])
    left, right = (
        np.maximum(here.left, across.min(axis=0)),
        np.minimum(here.right, across.max(axis=0)),
    )
    return replace(here, left=left, right=right)


def _across(solid: Convex, face: Face) -> bool:
    """Whether a part of the building spans a whole front, as a partition does."""
    reach = outline_of(solid)[0] @ face.along[0]
    least, most = float(reach.min()), float(reach.max())
    return least <= float(face.left[0]) + TOUCH and most >= float(face.right[0]) - TOUCH


def _reading(context: Context, one: _Front, other: _Front, width: Floats) -> Reading | None:
    rules, least = context.rules, float(width.min())
    if least >= max(rules.aisle, rules.aisle_least) - TOUCH:
        return None
    both = at_once(context.layout, one.item.name, other.item.name)
    close = least < rules.aisle_least - TOUCH
    conflict = both and close
    return Reading(
        check=CHECK,
        items=(one.item.name, other.item.name),
        gap=width,
        needs=rules.aisle_least if conflict else max(rules.aisle, rules.aisle_least),
        detail=_later(context, one, other, float(width[0]), both=both),
        weight=Verdict.CONFLICT if conflict else Verdict.CAUTION,
        source=rules.source("aisle_least" if close else "aisle"),
    )


def _later(
    context: Context, one: _Front, other: _Front, width: float, *, both: bool
) -> Callable[[], Detail]:
    rules = context.rules

    def told() -> Detail:
        says = f"{mm(width)} between the fronts of {one.item.name} and {other.item.name}; "
        if width < rules.aisle_least - TOUCH:
            says += f"{mm(rules.aisle_least)} is the least"
            says += (
                ", and both are in use at once" if both else ", fine while one is used at a time"
            )
        else:
            says += f"{mm(rules.aisle)} asked for where two people work"
        face = _opposite(one.face, other.face)
        across, ahead = (face.left[0] + face.right[0]) / 2.0, face.level[0] + width / 2.0
        x, y = across * face.along[0] + ahead * face.out[0]
        need = rules.aisle_least if width < rules.aisle_least - TOUCH else rules.aisle
        pushes = pushes_out(one.item, other.item, max(need - width, 0.0) * one.face.out[0])
        return Detail(says=says, at=place(np.array([x, y, one.level[0]])), pushes=pushes)

    return told
