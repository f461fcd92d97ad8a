"""Beams, breasts and ducts as written in; convex solids inside the room out."""

from __future__ import annotations

import numpy as np

from massing.errors import Mark
from massing.geometry.pieces import convex_parts, crossing_sides
from massing.geometry.polygons import Ring, area, overlap
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.room.columns import columns
from massing.room.naming import Faults
from massing.room.outline import Shell
from massing.room.shape import CeilingPiece, Fabric, FloorPiece
from massing.room.spec import FabricSpec, RoomSpec
from massing.survey.values import Values

__all__ = ["lay_fabric"]


def lay_fabric(
    spec: RoomSpec,
    shell: Shell,
    floors: tuple[FloorPiece, ...],
    ceilings: tuple[CeilingPiece, ...],
    values: Values,
    faults: Faults,
) -> tuple[Fabric, ...]:
    """Every part of the fabric, as solids."""
    made = []
    seen: set[str] = set()
    for entry in spec.fabric:
        mark = entry.mark_of("name")
        if entry.name in seen:
            faults.add(f"two parts of the fabric are called '{entry.name}'", mark)
        seen.add(str(entry.name))
        footprint = _footprint(entry, values, faults)
        if footprint is None:
            continue
        if not _meets(footprint, shell):
            faults.add(f"fabric '{entry.name}' is wholly outside the room", entry.mark)
            continue
        solids = _solids(entry, footprint, floors, ceilings, values)
        if _missed(solids, floors, ceilings):
            says = f"fabric '{entry.name}' is wholly above the ceiling or below the floor"
            faults.add(says, entry.mark)
            continue
        made.append(Fabric(str(entry.name), solids, stays=entry.stays))
    return tuple(made)


def _meets(footprint: Floats, shell: Shell) -> bool:
    """Whether any of a footprint is in the room, in world 0."""
    return any(
        overlap(piece, part) is not None
        for piece in convex_parts(Ring.of(footprint))
        for part in shell.parts
    )


def _footprint(entry: FabricSpec, values: Values, faults: Faults) -> Floats | None:
    """(worlds, n, 2) plan of a part, counter-clockwise, or None after a fault."""
    if entry.box is not None:
        (x0, x1), (y0, y1) = (
            tuple(values(end, label=f"{axis} of {entry.name}") for end in ends)
            for axis, ends in zip("xy", entry.box[:2], strict=True)
        )
        return np.stack([x0, y0, x1, y0, x1, y1, x0, y1], axis=1).reshape(-1, 4, 2)
    columns_ = [
        values(length, label=f"{axis} of corner {k + 1} of {entry.name}")
        for k, point in enumerate(entry.prism or ())
        for axis, length in zip("xy", point, strict=True)
    ]
    plan = np.stack(columns_, axis=1).reshape(values.worlds, -1, 2)
    mark: Mark | None = entry.mark_of("prism")
    size = float(area(plan)[0])
    if crossing_sides(plan[0]) or abs(size) < 1.0:
        faults.add(f"the corners of fabric '{entry.name}' cross or have no area", mark)
        return None
    return plan if size > 0 else np.ascontiguousarray(plan[:, ::-1])


def _solids(
    entry: FabricSpec,
    footprint: Floats,
    floors: tuple[FloorPiece, ...],
    ceilings: tuple[CeilingPiece, ...],
    values: Values,
) -> tuple[Convex, ...]:
    rings = convex_parts(Ring.of(footprint))
    if entry.to == "ceiling":
        low = None
        if entry.above is not None:
            low = values(entry.above, label=f"underside of {entry.name}")
        return tuple(solid for ring in rings for solid in columns(ring, floors, ceilings, low=low))
    ends = entry.z or (entry.box[2] if entry.box is not None and len(entry.box) == 3 else None)
    if ends is None:
        return ()
    low = values(ends[0], label=f"underside of {entry.name}")
    high = values(ends[1], label=f"top of {entry.name}")
    return tuple(prism(ring.points, low, high) for ring in rings)


def _missed(
    solids: tuple[Convex, ...],
    floors: tuple[FloorPiece, ...],
    ceilings: tuple[CeilingPiece, ...],
) -> bool:
    """Whether nothing of the solids is between the floor and the ceiling, in world 0."""
    lowest = min(float(floor.level[0]) for floor in floors)
    highest = max(float(c.height(c.polygon)[0].max()) for c in ceilings)
    return all(
        float(solid.low[0, 2]) > highest - TOUCH or float(solid.high[0, 2]) < lowest + TOUCH
        for solid in solids
    )
