"""An item's description and the true sizes in, its whole shape in its own frame out."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from massing.errors import Fault, GeometryError, InputError
from massing.geometry.solids import Convex, Floats, box
from massing.geometry.tolerance import TOUCH
from massing.items.motions import build_motions
from massing.items.parts import build_part
from massing.items.shape import ItemShape, PartShape
from massing.items.spec import ItemSpec
from massing.items.zones import build_gaps, build_zones
from massing.survey.values import Values
from massing.units import format_mm

__all__ = ["build_item"]


def build_item(
    spec: ItemSpec, values: Values, *, folder: Path | None = None, key: str = ""
) -> ItemShape:
    """The item's body, zones, gaps and motions, the low corner of the body at the origin.

    folder : where the meshes it names are
    key : the placed item's name; each of its sizes with a ± is a measure ``key what-it-is``

    A body alone is one box called "body". Parts alone bound the item. Where both are given they
    must agree, or the item says ``stretch`` and its parts are stretched to fill the body; either
    way the parts follow the body's ±.

    Raises InputError for an item without a body, and GeometryError where parts and body disagree
    or a part cannot exist.

    >>> from massing.items.catalog import load_item
    >>> shape = build_item(load_item("consumer unit"), Values(), key="unit")
    >>> shape.high.tolist(), [part.name for part in shape.parts], shape.zones[0].headroom.tolist()
    ([[300.0, 120.0, 300.0]], ['body'], [2000.0])
    """
    name = key or spec.name
    size = _body_size(spec, values, name)
    parts = _parts(spec, values, name, folder) if spec.parts else _one_box(size, spec, name)
    if spec.parts or size is None:
        low, high = _bounds(parts)
        if size is None:
            size = high - low
        else:
            _require_agreement(spec, (high - low)[0], size[0], folder)
        parts = _fitted(parts, low, high, size)
    return ItemShape(
        spec=spec,
        parts=parts,
        low=np.zeros_like(size),
        high=size,
        zones=build_zones(spec.all_zones, size, values, name),
        gaps=build_gaps(spec.gaps, size, values, name),
        motions=build_motions(spec.motions, size, values, name),
    )


def _body_size(spec: ItemSpec, values: Values, name: str) -> Floats | None:
    """(worlds, 3) size of the written body, or None."""
    if spec.body is None:
        return None
    words = ("width", "depth", "height")
    return np.stack(
        [values(s, key=f"{name} body {w}") for w, s in zip(words, spec.body, strict=True)], axis=1
    )


def _parts(spec: ItemSpec, values: Values, name: str, folder: Path | None) -> tuple[PartShape, ...]:
    return tuple(
        PartShape(part.name, part.kind, solid)
        for part in spec.parts
        for solid in build_part(part, values, key=f"{name} {part.name}", folder=folder)
    )


def _one_box(size: Floats | None, spec: ItemSpec, name: str) -> tuple[PartShape, ...]:
    if size is None:
        raise InputError([Fault(f"the item '{name}' says neither body nor parts", spec.mark)])
    return (PartShape("body", "body", box(np.zeros_like(size), size)),)


def _bounds(parts: tuple[PartShape, ...]) -> tuple[Floats, Floats]:
    low = np.min([part.solid.low for part in parts], axis=0)
    high = np.max([part.solid.high for part in parts], axis=0)
    return np.asarray(low), np.asarray(high)


def _require_agreement(spec: ItemSpec, drawn: Floats, size: Floats, folder: Path | None) -> None:
    """Parts of another size than the body are a slip, unless they are said to stretch."""
    if spec.stretch or np.abs(drawn - size).max() <= TOUCH:
        return
    # Away from the sizes as written they differ rightly, where only the body carries a ±.
    low, high = _bounds(_parts(spec, Values(), spec.name, folder))
    nominal = _body_size(spec, Values(), spec.name)
    if nominal is None or np.abs(high - low - nominal).max() <= TOUCH:
        return
    parts, body = (" x ".join(format_mm(float(x)) for x in row[0]) for row in (high - low, nominal))
    raise GeometryError(
        f"the parts of '{spec.name}' measure {parts} together but its body says {body}; "
        "correct one, leave out the body, or say 'stretch: yes'"
    )


def _fitted(
    parts: tuple[PartShape, ...], low: Floats, high: Floats, size: Floats
) -> tuple[PartShape, ...]:
    """The parts moved and scaled so that their bounds run from the origin to ``size``."""
    drawn = high - low
    if not low.any() and np.array_equal(drawn, size):
        return parts
    return tuple(
        PartShape(part.name, part.kind, _stretched(part.solid, low, drawn, size)) for part in parts
    )


def _stretched(solid: Convex, low: Floats, drawn: Floats, size: Floats) -> Convex:
    """Each corner at the same share of the whole, so that what was flush stays exactly flush."""
    share = (solid.corners - low[:, None, :]) / drawn[:, None, :]
    as_drawn = (low == 0.0) & (drawn == size)
    return Convex(
        np.where(as_drawn[:, None, :], solid.corners, share * size[:, None, :]), solid.faces
    )
