"""A part of the plan in words in; the convex pieces within it and beyond it out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.pieces import turns
from massing.geometry.polygons import Ring, inside_of, outside_of, touching
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT, TOUCH
from massing.room.naming import Faults, wall_number
from massing.room.outline import Shell
from massing.room.spec import RegionSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

__all__ = ["Division", "Region", "box_lines", "divide", "region_of", "whole"]


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """A convex part of the plan: to the left of every line, and joined to a wall if one is named.

    lines : each (worlds, 3); none for the whole room
    """

    lines: tuple[Floats, ...] = ()
    wall: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Division:
    """What a region makes of one convex ring: the part within it, if any, and the parts beyond."""

    within: Ring | None
    beyond: tuple[Ring, ...]


whole = Region()


def region_of(
    entry: RegionSpec, shell: Shell, values: Values, faults: Faults, what: str
) -> Region | None:
    """The region an entry speaks of, or None after a fault.

    A strip ``from`` a wall runs past the wall's end to the next wall at an outward corner, and
    stops square at its end at an inward one, or where the next wall runs straight on.
    """
    if entry.area is not None:
        (x0, x1), (y0, y1) = entry.area
        lines = box_lines((x0, x1), (y0, y1), values, what)
        rings = [inside_of(part, lines) for part in shell.parts]
        if all(ring is None for ring in rings):
            faults.add(f"the area of {what} is outside the room", entry.mark_of("area"))
            return None
        return Region(lines)
    if entry.from_ is None or entry.depth is None:
        return whole
    wall = wall_number(entry.from_, shell.names, faults, entry.mark_of("from_"))
    if wall is None:
        return None
    return _strip(entry, entry.depth, wall, shell, values, faults, what)


def _strip(
    entry: RegionSpec,
    depth: Length,
    wall: int,
    shell: Shell,
    values: Values,
    faults: Faults,
    what: str,
) -> Region | None:
    size = values(depth, label=f"depth of {what}")
    face = shell.line(wall)
    lines = [face, _flipped(face, size)]
    stops = turns(shell.outline[0]) <= EXACT
    ends = shell.walls[wall]
    along = np.concatenate([ends.along, np.zeros((len(face), 1))], axis=1)
    if stops[(wall + 1) % len(stops)]:
        line = along.copy()
        line[:, 2] = -np.einsum("wi,wi->w", ends.along, ends.left)
        lines.append(line)
    if stops[wall]:
        line = -along
        line[:, 2] = np.einsum("wi,wi->w", ends.along, ends.right)
        lines.append(line)
    region = Region(tuple(lines), wall)
    reach = _reach(region, shell)
    if float(size[0]) > reach + TOUCH:
        faults.add(
            f"{what} is {format_mm(float(size[0]))} deep from wall '{entry.from_}', where the "
            f"room is only {format_mm(reach)} deep",
            entry.mark_of("depth"),
        )
        return None
    return region


def _reach(region: Region, shell: Shell) -> float:
    """How deep the room is in front of a wall, mm, in world 0."""
    opened = Region((region.lines[0], *region.lines[2:]), region.wall)
    face = region.lines[0][0]
    corners = [
        division.within.points[0]
        for division in divide(shell.parts, opened)
        if division.within is not None
    ]
    if not corners:
        return 0.0
    return max(float((points @ face[:2] + face[2]).max()) for points in corners)


def _flipped(line: Floats, by: Floats) -> Floats:
    """The line moved to its left by a distance and turned round."""
    turned = -line
    turned[:, 2] += by
    return np.asarray(turned)


def box_lines(
    x: tuple[Length, Length], y: tuple[Length, Length], values: Values, what: str
) -> tuple[Floats, ...]:
    """The four lines of an upright rectangle, its inside to their left."""
    lines = []
    for axis, ends in enumerate((x, y)):
        for length, sign in zip(ends, (1.0, -1.0), strict=True):
            label = f"{'xy'[axis]} of {what}"
            line = np.zeros((values.worlds, 3))
            line[:, axis] = sign
            line[:, 2] = -sign * values(length, label=label)
            lines.append(line)
    return tuple(lines)


def divide(rings: tuple[Ring, ...] | list[Ring], region: Region) -> list[Division]:
    """How a region divides each of some disjoint convex rings that cover the room.

    A strip takes only what is joined, within it, to its own wall, so that it does not turn up
    again in another arm of the room.
    """
    tries = [inside_of(ring, region.lines) for ring in rings]
    taken = {k for k, ring in enumerate(tries) if ring is not None}
    if region.wall is not None:
        taken = _joined(tries, region.wall)
    return [
        Division(tries[k], outside_of(ring, region.lines))
        if k in taken
        else Division(None, (ring,))
        for k, ring in enumerate(rings)
    ]


def _joined(tries: list[Ring | None], wall: int) -> set[int]:
    reached = {k for k, ring in enumerate(tries) if ring is not None and wall in ring.sides}
    waiting = sorted(reached)
    while waiting:
        here = tries[waiting.pop()]
        for k, ring in enumerate(tries):
            if k in reached or ring is None or here is None or not touching(here, ring):
                continue
            reached.add(k)
            waiting.append(k)
    return reached
