"""What a drawing says of a scheme in words and figures: an answer in, numbers and heights out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.checks.words import mm
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.label import Label
from massing.handover.signs import SIGNS
from massing.room.measure import cells
from massing.room.shape import Opening, Room
from massing.scheme.ground import floors_under
from massing.scheme.layout import Placed

__all__ = [
    "Drawn",
    "badge_of",
    "datum_of",
    "floors_of",
    "height_words",
    "level_words",
    "numbered",
    "opening_words",
    "size_words",
]


@dataclass(slots=True)
class Drawn:
    """What came of drawing a view: findings it shows, and what found no room on it."""

    findings: set[int]
    missed: list[str]


def numbered(answer: Answer) -> tuple[tuple[int, Finding], ...]:
    """Findings with the numbers the check's own list gives them; those that are clear have none."""
    held = [f for f in answer.findings if f.verdict is not Verdict.CLEAR]
    return tuple(enumerate(held, 1))


def badge_of(number: int, finding: Finding, at: tuple[float, float] = (0.0, 0.0)) -> Label:
    """The numbered sign of a finding."""
    told = f"{number}{SIGNS[finding.verdict]}"
    return Label(
        (told,),
        at,
        f"finding {number}",
        near=0.8,
        height=2.5 if len(told) < 3 else 2.1,
        bold=True,
        badge=finding.verdict.value,
    )


def datum_of(room: Room) -> Floats:
    """(2,) the inside corner all setting-out is from: the one farthest south-west."""
    ring = room.outline[0]
    order = np.lexsort((np.round(ring[:, 1], 3), np.round(ring.sum(axis=1), 3)))
    return np.asarray(ring[order[0]])


def level_words(level: float) -> str:
    """A level against the datum, signed.

    >>> level_words(180.0), level_words(0.0), level_words(-50.0)
    ('+180', '±0', '−50')
    """
    told = mm(abs(level))
    return "±0" if told == "0" else f"+{told}" if level > 0 else f"−{told}"


def floors_of(room: Room, item: Placed) -> tuple[float, ...]:
    """Levels of the floor under an item's body, the highest first."""
    levels: set[float] = set()
    for part in item.parts:
        low, high = part.solid.low[0], part.solid.high[0]
        ring = np.array(
            [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]]
        )
        levels.update(
            round(float(room.floors[k].level[0]), 3) for k in floors_under(room, ring[None])
        )
    lowest = min(float(floor.level[0]) for floor in room.floors)
    return tuple(sorted(levels, reverse=True)) or (lowest,)


def height_words(room: Room, item: Placed) -> tuple[str, ...]:
    """Base and top of an item above each floor it is over."""
    floors = floors_of(room, item)
    base, top = float(item.low[0, 2]), float(item.high[0, 2])
    if len(floors) == 1:
        return (f"{mm(base - floors[0])} to {mm(top - floors[0])} AFL",)
    return tuple(f"{mm(base - f)} to {mm(top - f)} over {level_words(f)}" for f in floors)


def size_words(item: Placed) -> str:
    """Width × depth × height of the body's own bounds as it stands in front of you."""
    turn = -float(item.yaw[0])
    cloud = np.vstack([part.solid.corners[0] for part in item.parts])
    flat = cloud[:, :2] @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    wide, deep = np.ptp(flat, axis=0)
    return f"{mm(wide)} × {mm(deep)} × {mm(float(np.ptp(cloud[:, 2])))}"


def opening_words(room: Room, opening: Opening) -> tuple[str, ...]:
    """Name and sizes of a door or a window, its sill above the floor by it."""
    size = f"{mm(float(opening.width[0]))} × {mm(float(opening.height[0]))}"
    if opening.kind != "window":
        return (opening.name, size)
    wall = room.wall(opening.wall)
    inside = wall.point(opening.left + opening.width / 2.0, np.full(room.worlds, 1.0))[0]
    floor = _floor_at(room, inside)
    return (opening.name, f"{size}, sill {mm(float(opening.sill[0]) - floor)} AFL")


def _floor_at(room: Room, point: Floats) -> float:
    from massing.room.heights import floor_level

    level = float(floor_level(room, np.broadcast_to(point, (room.worlds, 1, 2)))[0, 0])
    return min(c.floor for c in cells(room)) if np.isnan(level) else level


def same(one: float, other: float) -> bool:
    """Whether two true sizes are one."""
    return abs(one - other) <= TOUCH
