"""What a file says of a room in, with true sizes for every world; the room's shape out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from massing.errors import InputError, Mark
from massing.geometry.polygons import Ring, overlap
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.room.ceilings import ceiling_name, lay_ceilings
from massing.room.fabric import lay_fabric
from massing.room.floors import lay_floors
from massing.room.naming import Faults
from massing.room.openings import cut_openings
from massing.room.outline import lay_out
from massing.room.outside import outside_pieces
from massing.room.shape import (
    CeilingPiece,
    Fabric,
    FloorPiece,
    Opening,
    OutsidePiece,
    Room,
    Wall,
)
from massing.room.spec import RoomSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

__all__ = ["build_room", "one_world"]


def build_room(spec: RoomSpec, values: Values, thickness_of: Callable[[str], Length]) -> Room:
    """The room in every world ``values`` answers for.

    What meets what is decided in world 0 and holds in all; ``thickness_of`` gives the thickness
    of a wall build-up by name, and raises KeyError or InputError for a name it does not know.

    Raises InputError with everything that is wrong.

    >>> spec = RoomSpec.model_validate({"size": "3000 x 2000", "ceiling": [{"flat": 2400}]})
    >>> [wall.name for wall in build_room(spec, Values(), {}.__getitem__).walls]
    ['south', 'east', 'north', 'west']
    """
    faults = Faults()
    shell = lay_out(spec, values, thickness_of, faults)
    if shell is None:
        raise InputError(faults.found)
    floors = lay_floors(spec, shell, values, faults)
    surveys = [] if shell.survey is None else [shell.survey]
    ceilings = lay_ceilings(spec, shell, values, faults, surveys)
    if not faults.found:
        marks = {ceiling_name(entry, k): entry.mark for k, entry in enumerate(spec.ceiling)}
        _check_headroom(floors, ceilings, marks, faults)
    fabric: tuple[Fabric, ...] = ()
    if ceilings:
        fabric = lay_fabric(spec, shell, floors, ceilings, values, faults)
    openings = cut_openings(spec, shell, floors, ceilings, values, faults)
    if faults.found:
        raise InputError(faults.found)
    return Room(
        outline=shell.outline,
        walls=shell.walls,
        floors=floors,
        ceilings=ceilings,
        outside=outside_pieces(shell.outline),
        fabric=fabric,
        openings=openings,
        north_deg=spec.north,
        surveys=tuple(surveys),
    )


def _check_headroom(
    floors: tuple[FloorPiece, ...],
    ceilings: tuple[CeilingPiece, ...],
    marks: dict[str, Mark | None],
    faults: Faults,
) -> None:
    """A fault where the nominal ceiling is below the floor. It is lowest at some corner."""
    for ceiling in ceilings:
        lowest = float(_tops(ceiling, ceiling.polygon[0]).min())
        for floor in floors:
            # No ceiling is lower over a part of it than over all of it.
            if lowest >= float(floor.level[0]) - TOUCH:
                continue
            both = overlap(Ring.of(floor.polygon[:1]), Ring.of(ceiling.polygon[:1]))
            if both is None:
                continue
            tops = _tops(ceiling, both.points[0])
            k = int(np.argmin(tops))
            level = float(floor.level[0])
            if float(tops[k]) < level - TOUCH:
                x, y = both.points[0, k]
                faults.add(
                    f"ceiling '{ceiling.name}' is below {floor.name} at {format_mm(float(x))}, "
                    f"{format_mm(float(y))}: {format_mm(float(tops[k]))} against "
                    f"{format_mm(level)}",
                    marks.get(ceiling.name),
                )
                return


def _tops(ceiling: CeilingPiece, points: Floats) -> Floats:
    """(m,) nominal height of a ceiling over (m, 2) points."""
    planes = ceiling.planes[0]
    lowest: Floats = (np.einsum("ki,mi->km", planes[:, :2], points) + planes[:, 2:]).min(axis=0)
    return lowest


def one_world(room: Room, number: int) -> Room:
    """The one-world room of that world."""
    rows = slice(number, number + 1) if number >= 0 else slice(number, None)

    def wall(w: Wall) -> Wall:
        return replace(
            w,
            left=w.left[rows],
            right=w.right[rows],
            along=w.along[rows],
            outward=w.outward[rows],
            thickness=w.thickness[rows],
        )

    def opening(o: Opening) -> Opening:
        return replace(
            o,
            left=o.left[rows],
            width=o.width[rows],
            height=o.height[rows],
            sill=o.sill[rows],
            leaf=None if o.leaf is None else o.leaf[rows],
        )

    return Room(
        outline=room.outline[rows],
        walls=tuple(wall(w) for w in room.walls),
        floors=tuple(FloorPiece(f.name, f.polygon[rows], f.level[rows]) for f in room.floors),
        ceilings=tuple(
            CeilingPiece(c.name, c.polygon[rows], c.planes[rows]) for c in room.ceilings
        ),
        outside=tuple(OutsidePiece(o.polygon[rows], o.walls) for o in room.outside),
        fabric=tuple(
            replace(f, parts=tuple(Convex(p.corners[rows], p.faces) for p in f.parts))
            for f in room.fabric
        ),
        openings=tuple(opening(o) for o in room.openings),
        north_deg=room.north_deg,
        surveys=room.surveys,
    )
