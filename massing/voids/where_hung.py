"""Where can a thing hang from the ceiling: a scheme and a thing in, regions of the plan out.

For each turn along the room's walls, and the thing's own, it hangs as high under each plane of the
ceiling as its placement says, so that under a slope it rises and sinks as it is moved. Across a
ridge it hangs under the lower end; where it would be under two planes of a ceiling that is not the
least of its planes, such as at a step, is left out. Its body is exact; what its zones meet on
floors of several levels is looked at in squares, as ``massing.voids.where_moves`` tells. The
nominal world decides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.checks.nudges import moved_layout
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.space.empty_boxes_room import CeilingCell
from massing.project.project import Project
from massing.scheme.ground import hung_from, level_under
from massing.scheme.layout import Placed
from massing.scheme.place import place
from massing.survey.values import Values
from massing.voids.in_the_way import FAR
from massing.voids.regions import polygons_of
from massing.voids.space import room_cells
from massing.voids.trial import Trial, added, item_of
from massing.voids.where import asked
from massing.voids.where_free import FloorMap, floor_map, foot_of, turns_of
from massing.voids.where_moves import Allowed, Lift, Moves

__all__ = ["HungMap", "where_under_ceiling"]

_PLANE = 9  # decimals; planes that agree to these are one
_FLAT = 1e-6  # mm; levels nearer than this are one
_LEVEL = 1e-12  # a slope less than this is none


@dataclass(frozen=True, slots=True, eq=False)
class HungMap:
    """Where a thing can hang at one turn.

    plan : the places of the middle of its body, as for a thing on the floor
    undersides : least and greatest z of its underside in ``plan.clear``, None where that is empty
    spot_underside, spot_over : z of its underside at ``plan.spot``, and how far that is over the
        floor there, mm; nought without a spot
    """

    plan: FloorMap
    undersides: tuple[float, float] | None
    spot_underside: float
    spot_over: float


def where_under_ceiling(project: Project, scheme: str, item: str) -> tuple[HungMap, ...]:
    """Where a thing that hangs from the ceiling can hang, turn by turn; none for any other.

    item : as for ``where_against``
    Raises InputError for an unknown item.
    """
    words, rest = asked(project, scheme, item, None)
    old = place(project, scheme, Values()).found(item)
    hangs = item_of(rest, words["item"]).mount == "ceiling" or (
        old is not None and old.footing == "ceiling"
    )
    if not hangs:
        return ()
    base = place(rest, scheme, Values())
    own = math.degrees(float(old.yaw[0])) if old is not None else 0.0
    outline = base.room.outline[0]
    middle = ((outline.min(axis=0) + outline.max(axis=0)) / 2.0).round()
    told = {**words, "mount": "ceiling", "centre": middle.tolist()}
    if item in (placed := dict(project.arrangement(scheme).placements)):
        drop = placed[item].drop
        told |= {} if drop is None else {"drop": float(drop)}
    return tuple(
        _at_turn(added(rest, scheme, {**told, "turn": turn}, base), (turn, facing))
        for turn, facing in turns_of(base.room, own)
    )


def _at_turn(trial: Trial, turned: tuple[float, str]) -> HungMap:
    mover = trial.layout.item(trial.name)
    allowed = _joined([moves.allowed() for moves in _planes(trial, mover)])
    plan = floor_map(allowed, turned, mover)
    room = trial.layout.room
    tall = float(hung_from(room, foot_of(mover)[None])[0] - mover.low[0, 2])
    # Under each plane it rises evenly, so it is lowest and highest at corners of the region.
    levels = [
        float(hung_from(room, (plan.foot + np.array(corner))[None])[0]) - tall
        for piece in polygons_of(plan.clear)
        for ring in (piece.exterior, *piece.interiors)
        for corner in ring.coords
    ]
    if plan.spot is None:
        return HungMap(plan, (min(levels), max(levels)) if levels else None, 0.0, 0.0)
    there = (plan.foot + np.array(plan.spot))[None]
    under = float(hung_from(room, there)[0]) - tall
    over = under - float(level_under(room, there)[0])
    return HungMap(plan, (min(levels), max(levels)), under, over)


def _planes(trial: Trial, mover: Placed) -> Iterator[Moves]:
    """The thing under each plane of the ceiling, with what of the ceiling is not that plane."""
    room = trial.layout.room
    cells = room_cells(room)
    foot, outline = foot_of(mover), room.outline[0]
    middle = (mover.low[0, :2] + mover.high[0, :2]) / 2.0
    start, least = float(hung_from(room, foot[None])[0]), _is_least(cells)
    for key in sorted({_plane(cell) for cell in cells}):
        plane = next(cell.plane for cell in cells if _plane(cell) == key)
        up = float((foot @ plane[:2] + plane[2]).min()) - start
        layout = moved_layout(trial.layout, mover.name, np.array([0.0, 0.0, up]))[0]
        others = [cell for cell in cells if _plane(cell) != key]
        off: tuple[Convex, ...] = ()
        gone: tuple[Floats, ...] = ()
        if least:
            rings = (_higher(foot, plane, cell.plane) for cell in others)
            gone = tuple(ring for ring in rings if ring is not None)
        else:
            off = tuple(prism(cell.plan, -FAR, FAR) for cell in others)
        yield Moves(
            layout=layout,
            rules=trial.rules,
            mover=layout.item(mover.name),
            axes=np.eye(3),
            domain=np.array([outline.min(axis=0), outline.max(axis=0)]) - middle,
            lifts=(Lift(0.0, (prism(foot, -FAR, FAR),), off, gone),),
            rise=(float(plane[0]), float(plane[1])),
        )


def _is_least(cells: Sequence[CeilingCell]) -> bool:
    """Whether the ceiling is everywhere the least of all its planes."""
    return all(
        bool((cell.plan @ other.plane[:2] + other.plane[2] >= cell.tops - _FLAT).all())
        for cell in cells
        for other in cells
    )


def _higher(foot: Floats, plane: Floats, other: Floats) -> Floats | None:
    """(4, 2) moves that put the lowest corner under one plane higher than under another."""
    slope = plane[:2] - other[:2]
    ahead = float((foot @ plane[:2]).min() + plane[2] - (foot @ other[:2]).min() - other[2])
    steep = float(np.hypot(*slope))
    if steep < _LEVEL:
        return FAR * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1.0]]) if ahead > _FLAT else None
    up = slope / steep
    along, start = np.array([-up[1], up[0]]), -ahead / steep * up
    return np.array(
        [
            start - FAR * along,
            start + FAR * (up - along),
            start + FAR * (up + along),
            start + FAR * along,
        ]
    )


def _plane(cell: CeilingCell) -> tuple[float, ...]:
    return tuple((np.round(cell.plane, _PLANE) + 0.0).tolist())


def _joined(parts: list[Allowed]) -> Allowed:
    from shapely import union_all

    blocked: dict[str, float] = {}
    for part in parts:
        for what, area in part.blocked:
            blocked[what] = blocked.get(what, 0.0) + area
    body: Any = union_all([part.body for part in parts])
    return Allowed(
        body=body,
        clear=union_all([part.clear for part in parts]),
        slits=np.concatenate([part.slits for part in parts]),
        blocked=tuple(sorted(blocked.items(), key=lambda row: (-round(row[1]), row[0]))),
    )
