"""What an item says of the floor and air it needs in, rectangles and gap solids out."""

from __future__ import annotations

import numpy as np

from massing.geometry.solids import Floats, box
from massing.items.shape import GapShape, ZoneShape
from massing.items.sides import Side, face_side
from massing.items.spec import GapsSpec, ZoneSpec
from massing.survey.values import Values
from massing.units import Length

__all__ = ["SIDES", "build_gaps", "build_zones"]

SIDES: tuple[Side, ...] = ("front", "back", "left", "right")


def build_zones(
    specs: tuple[ZoneSpec, ...], size: Floats, values: Values, key: str
) -> tuple[ZoneShape, ...]:
    """One rectangle for each side a zone lies on, and one beneath the item for ``under``.

    size : (worlds, 3) mm of the body's bounds, low corner at the origin
    The rectangles of one zone share its name.

    >>> stand = ZoneSpec.model_validate({"front": 900, "width": 760})
    >>> build_zones((stand,), np.array([[300.0, 120, 300]]), Values(), "unit")[0].polygon.tolist()
    [[[-230.0, -900.0], [530.0, -900.0], [530.0, 0.0], [-230.0, 0.0]]]
    """
    return tuple(zone for spec in specs for zone in _zone(spec, size, values, key))


def _zone(spec: ZoneSpec, size: Floats, values: Values, key: str) -> list[ZoneShape]:
    name = f"{key} {spec.name} zone"
    headroom = values(spec.headroom, key=f"{name} headroom") if spec.headroom else None
    nothing = np.zeros(len(size))
    depths: dict[str, Floats] = {}
    for side in SIDES:
        depth = getattr(spec, side)
        depths[side] = values(depth, key=f"{name} {side}") if depth else nothing
    rectangles = []
    for side in SIDES:
        if getattr(spec, side):
            if side in {"front", "back"}:
                rectangles.append(_across(spec, side, size, depths[side], values, name))
            else:
                rectangles.append(_beside(side, size, depths, narrowed=spec.width is not None))
    if spec.under:
        rectangles.append(_beneath(spec, size, values, name))
    return [
        ZoneShape(spec.name, spec.kind, spec.posture, _ring(low, high), headroom)
        for low, high in rectangles
    ]


def _beneath(spec: ZoneSpec, size: Floats, values: Values, name: str) -> tuple[Floats, Floats]:
    """The part under the item, as wide as it unless the zone says."""
    low, high = _across(spec, "front", size, size[:, 1], values, name)
    return low + size[:, 1:2] * [0.0, 1.0], high + size[:, 1:2] * [0.0, 1.0]


def _across(
    spec: ZoneSpec, side: Side, size: Floats, depth: Floats, values: Values, name: str
) -> tuple[Floats, Floats]:
    """The part in front or at the back, as wide as the item unless the zone says."""
    width = values(spec.width, key=f"{name} width") if spec.width else size[:, 0]
    start = values(spec.shift, key=f"{name} shift") if spec.shift else (size[:, 0] - width) / 2
    near = np.zeros(len(size)) if side == "front" else size[:, 1]
    far = near - depth if side == "front" else near + depth
    return (
        np.stack([start, np.minimum(near, far)], axis=1),
        np.stack([start + width, np.maximum(near, far)], axis=1),
    )


def _beside(
    side: Side, size: Floats, depths: dict[str, Floats], *, narrowed: bool
) -> tuple[Floats, Floats]:
    """The part at the left or right, with the corners it shares with the front and back."""
    reach = 0.0 if narrowed else 1.0
    low_y, high_y = -reach * depths["front"], size[:, 1] + reach * depths["back"]
    near = np.zeros(len(size)) if side == "left" else size[:, 0]
    far = near - depths[side] if side == "left" else near + depths[side]
    return (
        np.stack([np.minimum(near, far), low_y], axis=1),
        np.stack([np.maximum(near, far), high_y], axis=1),
    )


def _ring(low: Floats, high: Floats) -> Floats:
    """(worlds, 4, 2) counter-clockwise rectangle."""
    corners = [(low, low), (high, low), (high, high), (low, high)]
    return np.stack([np.stack([a[:, 0], b[:, 1]], axis=1) for a, b in corners], axis=1)


def build_gaps(
    spec: GapsSpec | None, size: Floats, values: Values, key: str
) -> tuple[GapShape, ...]:
    """A box of air on each side that says one, over the whole of that side of the bounds.

    >>> gaps = GapsSpec.model_validate({"back": 100})
    >>> gap = build_gaps(gaps, np.array([[600.0, 600, 850]]), Values(), "washer")[0]
    >>> gap.side, gap.solid.low.tolist(), gap.solid.high.tolist()
    ('back', [[0.0, 600.0, 0.0]], [[600.0, 700.0, 850.0]])
    """
    if spec is None:
        return ()
    made = []
    for side in (*SIDES, "top", "under"):
        length: Length | None = getattr(spec, side)
        if length is not None and length.mm > 0:
            depth = values(length, key=f"{key} {side} gap")
            made.append(_gap(side, spec.why, depth, size))
    return tuple(made)


def _gap(side: str, why: str, depth: Floats, size: Floats) -> GapShape:
    nothing = np.zeros(len(size))
    if side in SIDES:
        frame = face_side(side, size)
        solid = frame.box((nothing, frame.width), (nothing, depth), (nothing, size[:, 2]))
    else:
        low, high = np.zeros_like(size), size.copy()
        if side == "top":
            low[:, 2], high[:, 2] = size[:, 2], size[:, 2] + depth
        else:
            low[:, 2], high[:, 2] = -depth, 0.0
        solid = box(low, high)
    return GapShape(side, why, depth, solid)
