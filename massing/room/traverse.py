"""Walls walked clockwise in; corners that close, in every world, out.

Walls that are all measured never quite close. With their turns taken as exact the misclosure is
shared out by least squares, in proportion to the square of each wall's ±; with diagonals, offsets
or angles everything is adjusted together and the turns come out of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats
from massing.room.naming import Faults
from massing.room.spec import RoomSpec, WallSpec
from massing.room.surveyed import FIRM, Gathered, fit, gather
from massing.survey.forms import FixedTurns, form_blunder
from massing.survey.outline import OutlineAdjustment
from massing.survey.surveyed import Surveyed
from massing.survey.values import Values
from massing.units import format_mm

__all__ = ["Walked", "in_worlds", "walk"]

_HEADINGS = {"north": 0.0, "east": -90.0, "south": 180.0, "west": 90.0}
_SLACK = 1.0
"""Misclosure, mm, allowed beyond the sum of what each wall's ± allows: rounding to whole mm."""


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """An outline in walking order.

    corners : (worlds, n, 2) mm, each where the wall of that number begins
    derived : for each wall, whether its length was worked out
    survey : the measurements it was adjusted from
    """

    corners: Floats
    derived: tuple[bool, ...]
    survey: Surveyed


def walk(spec: RoomSpec, values: Values, faults: Faults) -> Walked | None:
    """The walls of a room joined up, or None after a fault."""
    walls = spec.walls or ()
    derived = tuple(wall.length is None for wall in walls)
    form = None
    if not spec.crossed:
        headings = _headings(walls, faults)
        if headings is None or not _solvable(walls, headings, faults):
            return None
        form = FixedTurns(tuple(headings))
    gathered = gather(spec, values, faults)
    found = None if gathered is None else fit(gathered, form, spec, faults)
    if gathered is None or found is None:
        return None
    if form is not None and not _closes(gathered, form, found[0], spec, faults):
        return None
    corners = in_worlds(found[0], gathered.shifts)
    if form is None:
        corners = _turned(corners, _HEADINGS.get(str(walls[0].name), 0.0))
    return Walked(corners, derived, found[1])


def in_worlds(found: OutlineAdjustment, shifts: Floats) -> Floats:
    """(worlds, n, 2) adjusted corners, each moved by its readings' departures (worlds, m)."""
    moved = shifts @ found.influence.T
    return np.asarray(found.corners[None] + moved.reshape(len(shifts), -1, 2))


def _turned(corners: Floats, degrees: float) -> Floats:
    """Corners turned so that the first wall runs the way its name says."""
    cos, sin = FixedTurns((degrees,)).ways()[0]
    return np.asarray(corners @ np.array([[cos, sin], [-sin, cos]]))


def _solvable(walls: tuple[WallSpec, ...], headings: list[float], faults: Faults) -> bool:
    """Whether the lengths left out can be worked out from the others."""
    missing = [k for k, wall in enumerate(walls) if wall.length is None]
    if len(missing) > 2:
        faults.add(
            f"{len(missing)} walls have no length; at most two can be worked out from the others",
            walls[missing[2]].mark,
        )
        return False
    ways = FixedTurns(tuple(headings)).ways()[missing]
    if len(missing) == 2 and abs(float(np.linalg.det(ways))) < 1e-3:
        faults.add(
            "the two walls without a length run the same way; give one of them",
            walls[missing[1]].mark,
        )
        return False
    return True


def _headings(walls: tuple[WallSpec, ...], faults: Faults) -> list[float] | None:
    """Direction of each wall, degrees anticlockwise from +x."""
    turns = [90.0 if wall.turn is None else wall.turn for wall in walls]
    if walls and walls[-1].turn is None:
        turns[-1] = 360.0 - sum(turns[:-1])
        told = f"the turns before the last add up to {sum(turns[:-1]):g} degrees to the right"
    else:
        told = f"the turns add up to {sum(turns):g} degrees to the right"
    if abs(sum(turns) - 360.0) > 0.01 or not -180 < turns[-1] < 180:
        faults.add(
            f"the walls do not come round: {told}, where a walk clockwise makes 360",
            walls[-1].mark if walls else None,
        )
        return None
    heading = _HEADINGS.get(str(walls[0].name), 0.0)
    headings = []
    for turn in turns:
        headings.append(heading)
        heading -= turn
    return headings


def _closes(
    gathered: Gathered, form: FixedTurns, found: OutlineAdjustment, spec: RoomSpec, faults: Faults
) -> bool:
    """Whether the lengths as written close within what their ± allow, and run forward."""
    walls = spec.walls or ()
    ways = form.ways()
    steps = np.roll(found.corners, -1, axis=0) - found.corners
    forward = (steps * ways).sum(axis=1)
    missing = [k for k, wall in enumerate(walls) if wall.length is None]
    nominal = np.array([wall.length.mm if wall.length else 0.0 for wall in walls])
    shares = np.zeros(len(walls))
    for reading, held in zip(gathered.survey.readings, gathered.observations, strict=True):
        shares[reading.at[0]] = 0.0 if held.half_width == FIRM else held.half_width
    if len(missing) < 2:
        across = np.eye(2)
        if missing:
            across = np.array([[-ways[missing[0], 1]], [ways[missing[0], 0]]])
        miss = nominal @ ways @ across
        allowed = shares @ np.abs(ways @ across) + _SLACK
        if (np.abs(miss) > allowed).any():
            short = format_mm(float(np.sqrt((miss**2).sum())))
            says = f"the walls do not close: the walk ends {short} mm from where it began"
            blunder = form_blunder(found, form)
            if blunder is not None and len(blunder.rivals) > 1:
                names = [rival.name for rival in blunder.rivals]
                says += f"; {', '.join(names[:-1])} or {names[-1]} is wrong"
            faults.add(f"{says}. A diagonal would tell", spec.mark_of("walls"))
            return False
    for k in missing:
        if forward[k] <= 0:
            faults.add(
                f"the walls do not close: {walls[k].name or f'wall {k + 1}'} would be "
                f"{format_mm(float(forward[k]))} long",
                walls[k].mark,
            )
            return False
    return True
