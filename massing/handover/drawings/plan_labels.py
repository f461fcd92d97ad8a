"""What the plan letters, in the order it finds room: an answer in, labels out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from massing.checks.run import Answer
from massing.checks.words import mm
from massing.geometry.outline import shared_sides
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.facts import (
    Drawn,
    badge_of,
    height_words,
    level_words,
    numbered,
    opening_words,
)
from massing.handover.drawings.label import Label
from massing.handover.drawings.shapes import PLAN, Placing, rings_in, silhouette
from massing.handover.drawings.sheet import Point
from massing.room.cells import plan_area
from massing.room.measure import cells
from massing.room.shape import Cell, Room
from massing.scheme.layout import Placed

__all__ = ["breaks_at", "plan_labels", "point_of"]

_TAG, _ASLANT = np.array([20.0, 9.0]), 0.2
"""Paper a ceiling height takes, with some to spare, mm; what of a direction counts as a slant."""


def plan_labels(
    answer: Answer, placing: Placing, level: float, drawn: Drawn
) -> Iterator[tuple[Label, Label | None]]:
    """Every label of the plan, and a shorter one to fall back on where there is one."""
    room = answer.layout.room
    for number, item in enumerate(answer.layout.items, 1):
        yield _item_label(room, item, placing, level, number)
    for number, finding in numbered(answer):
        if finding.at_mm is not None:
            drawn.findings.add(number)
            yield badge_of(number, finding, placing.point(*finding.at_mm[:2])), None
    for opening in room.openings:
        wall = room.wall(opening.wall)
        middle = wall.point(opening.left + opening.width / 2, -wall.thickness / 2)[0]
        words = opening_words(room, opening)
        yield Label(words, point_of(placing.points(middle[None])[0]), opening.name), None
    yield from _levels(placing, room)
    yield from _ceilings(placing, room)
    for fabric in room.fabric:
        base = min(float(part.low[0, 2]) for part in fabric.parts)
        middle = fabric.parts[0].corners[0, :, :2].mean(axis=0)
        lines = (fabric.name, f"underside {level_words(base)}") if base > level else (fabric.name,)
        rings = tuple(placing.points(ring) for ring in rings_in(silhouette(fabric.parts, PLAN)))
        at = point_of(placing.points(middle[None])[0])
        yield Label(lines, at, fabric.name, rings, near=0.4), None
    for item in answer.layout.items:
        for zone in item.zones:
            ring = placing.points(zone.polygon[0])
            kind = zone.name if zone.name.endswith("zone") else f"{zone.name} zone"
            lines = (item.name, kind)
            yield (
                Label(
                    lines,
                    point_of(ring.mean(axis=0)),
                    " ".join(lines),
                    (ring,),
                    near=0.2,
                    own=False,
                ),
                None,
            )


def _item_label(
    room: Room, item: Placed, placing: Placing, level: float, number: int
) -> tuple[Label, Label | None]:
    """Name and heights; only the name and its number in the schedule where there is less room."""
    rings = tuple(
        placing.points(ring)
        for part in item.parts
        for ring in rings_in(silhouette([part.solid], PLAN))
    )
    biggest = max(rings, key=lambda r: float(np.ptp(r[:, 0]) * np.ptp(r[:, 1])))
    anchor = point_of(biggest.mean(axis=0))
    heights = height_words(room, item)
    if float(item.low[0, 2]) >= level - TOUCH:
        heights = ("above the cut", *heights)
    turn = round(float(np.degrees(item.yaw[0])), 1) % 90.0
    if turn:
        heights = (*heights, f"turned {mm(float(np.degrees(item.yaw[0])) % 360)}°")
    full = Label(
        (f"{number} {item.name}", *heights),
        anchor,
        item.name,
        rings,
        near=0.35,
        short=str(number),
    )
    return full, replace(full, lines=full.lines[:1])


def _levels(placing: Placing, room: Room) -> Iterator[tuple[Label, None]]:
    """A level mark on each floor, on the largest of the pieces it is made of."""
    largest: dict[tuple[str, float], Floats] = {}
    for floor in room.floors:
        key = (floor.name, round(float(floor.level[0]), 3))
        ring = floor.polygon[0]
        if key not in largest or plan_area(ring) > plan_area(largest[key]):
            largest[key] = ring
    for (_, level), piece in largest.items():
        ring = placing.points(piece)
        told = f"floor {level_words(level)}"
        middle = point_of(ring.mean(axis=0))
        label = Label((told,), middle, told, (ring,), near=0.1, bold=True, level=True, own=False)
        yield label, None


def _ceilings(placing: Placing, room: Room) -> Iterator[tuple[Label, None]]:
    """Ceiling heights above the floor: once along a level side of a cell, else at its ends."""
    found = cells(room)
    for cell in found:
        told: set[str] = set()
        level: list[tuple[Floats, float, Floats]] = []
        ends: list[tuple[Floats, float, Floats]] = []
        for p, q in zip(cell.polygon, np.roll(cell.polygon, -1, axis=0), strict=True):
            heights = np.array([p, q]) @ cell.plane[:2] + cell.plane[2] - cell.floor
            corners = [_at_corner(room, point) for point in (p, q)]
            turns = any(
                breaks_at(cell, other, *shared)
                for other in found
                if other is not cell
                for shared in shared_sides(np.array([p, q]), other.polygon)
            )
            if abs(float(heights[0] - heights[1])) <= TOUCH:
                if turns or _on_wall(room, p, q):
                    level.append(((p + q) / 2, float(heights[0]), np.array([p, q])))
                continue
            for point, height, corner in zip((p, q), heights, corners, strict=True):
                if corner or turns:
                    ends.append((point, float(height), point[None]))
        middle = cell.polygon.mean(axis=0)
        flat = not cell.plane[:2].any()
        for point, height, where in (*level, *ends):
            words = f"CH {mm(height)}"
            if words in told:
                continue
            told.add(words)
            inward = (middle - point) / max(float(np.hypot(*(middle - point))), 1e-9)
            edge = placing.points(point[None])[0]
            spot = edge + inward * np.array([9.0, 5.0])
            # On a slope the height holds beside its own side only: away from there it is led back.
            ring = placing.points(cell.polygon if flat else where)
            home = (ring if flat else _beside(ring, inward),)
            at = point_of(spot if flat else edge + inward)
            label = Label((words,), at, words, home, near=0.8, own=not flat)
            yield label, None


def _beside(line: Floats, inward: Floats) -> Floats:
    """A box on the paper from a line, or a point, as far in as a height's lettering takes."""
    into = line + np.where(np.abs(inward) > _ASLANT, np.sign(inward), 0.0) * _TAG
    held = np.vstack([line, into])
    (x0, y0), (x1, y1) = held.min(axis=0), held.max(axis=0)
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def _at_corner(room: Room, point: Floats) -> bool:
    """Whether a point is a corner of the room."""
    return bool(np.hypot(*(room.outline[0] - point).T).min() < 1.0)


def _on_wall(room: Room, p: Floats, q: Floats) -> bool:
    """Whether a side lies along a wall's face."""
    return any(
        max(abs(float((end - wall.left[0]) @ wall.outward[0])) for end in (p, q)) < 0.5
        for wall in room.walls
        if not wall.partition
    )


def breaks_at(one: Cell, other: Cell, p: Floats, q: Floats) -> bool:
    """Whether the ceiling turns or drops at a shared side."""
    turn = one.plane - other.plane
    drop = np.array([p, q]) @ turn[:2] + turn[2]
    return bool(np.abs(turn[:2]).max() > 1e-6 or np.abs(drop).max() > TOUCH)


def point_of(point: Floats) -> Point:
    """A paper point as plain figures."""
    return (float(point[0]), float(point[1]))
