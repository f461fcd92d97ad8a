"""The checks, in the order they are reported. A new check is one file and one line here."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from massing.checks import (
    aisles,
    bodies,
    ceiling,
    clearances,
    controls,
    daylight,
    door_heights,
    drawer_floor,
    fillers,
    floor,
    hung,
    leaves,
    motions,
    motions_doors,
    motions_hinge,
    openings,
    panels,
    passage,
    reach,
    seats,
    sharing,
    shut_in,
    stacking,
    standing,
    together,
    vents,
    walls,
    working_space,
    zone_walls,
)
from massing.checks.context import Context
from massing.checks.finding import Reading

__all__ = ["CHECKS", "WAYS", "readings"]

CHECKS: tuple[Callable[[Context], Iterator[Reading]], ...] = (
    bodies.read,
    ceiling.read,
    walls.read,
    floor.read,
    floor.read_support,
    leaves.read,
    motions_doors.read,
    motions_doors.read_steps,
    motions.read,
    motions_hinge.read,
    openings.read,
    daylight.read,
    daylight.read_escape_windows,
    standing.read,
    standing.read_blocked,
    zone_walls.read,
    hung.read,
    panels.read,
    clearances.read,
    vents.read,
    shut_in.read,
    stacking.read,
    stacking.read_loads,
    sharing.read,
    together.read,
    controls.read,
    door_heights.read,
    reach.read_stores,
    reach.read_controls,
    daylight.read_water,
    working_space.read,
    aisles.read,
    seats.read,
    drawer_floor.read,
    fillers.read,
    passage.read,
    passage.read_escape,
)


# Finding the ways through a room takes as long as the other checks together.
WAYS = (passage.read, passage.read_escape)


def readings(
    context: Context, checks: tuple[Callable[[Context], Iterator[Reading]], ...] = CHECKS
) -> Iterator[Reading]:
    """Everything the checks measure, check by check."""
    for check in checks:
        yield from check(context)
