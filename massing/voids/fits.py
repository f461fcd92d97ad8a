"""What would go into an empty box: a scheme, a box and candidates in, things that fit out.

Each is put into the box's corners, turned each way, and checked as the scheme itself is, its zones
and motions included. Places are whole millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from massing.checks.rules import rules_of
from massing.geometry.outline import outline_of
from massing.geometry.polygons import Ring, inside_of, side_lines
from massing.geometry.solids import Floats
from massing.items.body import build_item
from massing.items.catalog import item_names, load_item
from massing.items.spec import ItemSpec
from massing.project.project import Project
from massing.room.shape import Room, Wall
from massing.scheme.ground import floors_under, hung_from, level_under
from massing.scheme.layout import Layout, Placed
from massing.survey.values import Values
from massing.voids.boxes import UsableBox
from massing.voids.trial import added, in_conflict, standing_conflicts

__all__ = ["Candidate", "Fit", "Words", "candidates", "fits_in", "homeless", "plain_words"]

Words: TypeAlias = tuple[tuple[str, Any], ...]
"""The words of one placement, each with its value; points are tuples."""

_FLUSH = 1.0  # mm; a box this near to a floor, a top or a wall is on it
_ARM = 300.0  # mm; nobody gets at a front nearer than this to a wall
_LIFTED = 15.0  # kg; what one person lifts onto another thing
# Which way the front looks for each quarter turn of a thing, and that as a part of a plan.
_FRONTS = {0: (0.0, -1.0), 90: (1.0, 0.0), 180: (0.0, 1.0), 270: (-1.0, 0.0)}


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A thing that may go into a box; size is width, depth and height, mm."""

    name: str
    spec: ItemSpec
    size: tuple[float, float, float]
    litres: float
    own: bool


@dataclass(frozen=True, slots=True)
class Fit:
    """A thing that fits, with the words that place it, as in the file."""

    item: str
    litres: float
    own: bool
    words: Words


def homeless(project: Project, scheme: str) -> tuple[str, ...]:
    """The project's things that a scheme does not place, in file order."""
    placed = {str(spec.item) for _, spec in project.arrangement(scheme).placements}
    return tuple(name for name in project.items if name not in placed)


def candidates(project: Project, scheme: str) -> tuple[Candidate, ...]:
    """The scheme's homeless things and what the catalogue has to store or hang from a ceiling.

    Nothing of the catalogue that needs water: a void does not bring any.
    The largest first.
    """
    own = [(name, project.items[name], True) for name in homeless(project, scheme)]
    known = {name for name, _, _ in own}
    entries = [(n, load_item(n), False) for n in item_names() if n not in known]
    useful = (e for e in entries if e[1].stores or e[1].mount == "ceiling")
    rows = [*own, *(entry for entry in useful if not entry[1].wet)]
    made = (_candidate(project, name, spec, own=mine) for name, spec, mine in rows)
    return tuple(sorted(made, key=lambda c: (-round(c.litres, 6), not c.own, c.name)))


def _candidate(project: Project, name: str, spec: ItemSpec, *, own: bool) -> Candidate:
    shape = build_item(spec, Values(), folder=project.folder, key=name)
    wide, deep, tall = (float(v) for v in (shape.high - shape.low)[0])
    litres = math.fsum(float(part.solid.volume[0]) for part in shape.parts) / 1e6
    return Candidate(name, spec, (wide, deep, tall), litres, own)


def fits_in(
    project: Project,
    layout: Layout,
    box: UsableBox,
    choices: Sequence[Candidate],
    *,
    most: int = 3,
    refused: set[Words] | None = None,
) -> tuple[Fit, ...]:
    """Things that fit a box of a scheme without a conflict, the most litres first.

    layout : the scheme, one world; most : how many are looked for
    box : along the room's axes; nothing is tried in one that lies turned
    refused : placements that are in conflict already; those found to be are added
    """
    tried = set() if refused is None else refused
    known = standing_conflicts(layout, rules_of(project))
    found: list[Fit] = []
    for choice in choices if not box.turn else ():
        if len(found) == most:
            break
        for words in _ways(layout, box, choice):
            if words in tried:
                continue
            trial = added(project, layout.name, plain_words(words), layout)
            if not in_conflict(trial.layout, trial.rules, trial.name, known):
                found.append(Fit(choice.name, choice.litres, choice.own, words))
                break
            tried.add(words)
    return tuple(found)


def plain_words(words: Words) -> dict[str, Any]:
    """The words of a placement as the file has them: a table, its points lists."""
    return {key: list(v) if isinstance(v, tuple) else v for key, v in words}


def _ways(layout: Layout, box: UsableBox, choice: Candidate) -> Iterator[Words]:
    """Placements of a thing in a box, its back to the far side first."""
    wide, deep, tall = choice.size
    room = np.array(box.size)
    for turn in _turns(layout.room, box):
        front = _FRONTS[turn]
        plan = (wide, deep) if turn in {0, 180} else (deep, wide)
        if plan[0] > room[0] or plan[1] > room[1] or tall > room[2]:
            continue
        spots = np.array([*_corners(box, plan, front)]).reshape(-1, 1, 2)
        rings = [*(spots + np.array([[0, 0], [plan[0], 0], plan, [0, plan[1]]]))]
        if choice.spec.mount == "ceiling":
            rings.sort(key=lambda ring: -round(float(hung_from(layout.room, ring[None])[0]), 3))
        for ring in rings:
            words = _held(layout, box, choice, ring, turn)
            if words is not None:
                told = {"item": choice.name, **words}
                yield tuple((k, tuple(v) if isinstance(v, list) else v) for k, v in told.items())


def _turns(room: Room, box: UsableBox) -> list[int]:
    """Quarter turns, those whose front is not on a wall first, then those on the long side."""

    def rank(turn: int) -> tuple[bool, float, int]:
        front = _FRONTS[turn]
        deep = box.size[0] if front[0] else box.size[1]
        return _faces_wall(room, box, front), round(deep, 3), turn

    return sorted(_FRONTS, key=rank)


def _faces_wall(room: Room, box: UsableBox, front: tuple[float, float]) -> bool:
    """Whether a wall is straight in front of the box's side."""
    corners = np.array([box.low[:2], box.high[:2]])
    for wall in room.walls:
        if float(wall.outward[0] @ np.array(front)) > 0.9:
            off = (wall.left[0] - corners) @ wall.outward[0]
            if float(off.min()) <= _ARM:
                return True
    return False


def _corners(
    box: UsableBox, plan: tuple[float, float], front: tuple[float, float]
) -> Iterable[tuple[float, float]]:
    """Least corners of a footprint in the corners of a box, whole mm, away from the front first."""
    spots = []
    for axis in (0, 1):
        low, high = math.ceil(box.low[axis] - 1e-6), math.floor(box.high[axis] - plan[axis] + 1e-6)
        if high < low:
            return ()
        ends = [float(low), float(high)] if front[axis] >= 0 else [float(high), float(low)]
        spots.append(list(dict.fromkeys(ends)))
    return [(x, y) for x in spots[0] for y in spots[1]]


def _held(
    layout: Layout, box: UsableBox, choice: Candidate, ring: Floats, turn: int
) -> dict[str, Any] | None:
    """Words that hold a thing in the box: on the floor, a thing or a wall, or from a ceiling."""
    room, base = layout.room, box.low[2]
    facing = _facing(room, turn)
    if choice.spec.mount == "wall":
        return _on_wall(room, ring, turn, base)
    if choice.spec.mount == "ceiling":
        over = float(hung_from(room, ring[None])[0])
        inside = over - choice.size[2] >= base - _FLUSH and over - choice.size[2] < box.high[2]
        return {"at": [float(ring[0, 0]), float(ring[0, 1])], **facing} if inside else None
    floor = float(level_under(room, ring[None])[0])
    if abs(base - floor) <= _FLUSH and choice.spec.mount == "floor":
        one = len(floors_under(room, ring[None])) == 1
        return {"at": [float(ring[0, 0]), float(ring[0, 1])], **facing} if one else None
    weight = choice.spec.weight
    if choice.spec.mount == "on" or (weight is not None and weight <= _LIFTED):
        return _on_thing(layout, ring, turn, base)
    return None


def _facing(room: Room, turn: int) -> dict[str, Any]:
    """The wall a thing looks at after a turn, or the turn itself where no wall lies that way."""
    for wall in room.walls:
        if not wall.partition and np.allclose(wall.outward[0], _FRONTS[turn], atol=1e-9):
            return {"facing": wall.name}
    return {"turn": float(turn)}


def _on_wall(room: Room, ring: Floats, turn: int, base: float) -> dict[str, Any] | None:
    """Against the wall its back is on."""
    back = -np.array(_FRONTS[turn])
    for wall in room.walls:
        off = (wall.left[0] - ring) @ wall.outward[0]
        if not np.allclose(wall.outward[0], back, atol=1e-9) or abs(off.min()) > _FLUSH:
            continue
        along = float(((ring - wall.left[0]) @ wall.along[0]).min())
        if along >= -_FLUSH:
            level = float(level_under(room, _flush(wall, ring)[None])[0])
            height = float(math.ceil(base - level - 1e-6))
            return {"against": wall.name, "along": round(along, 1), "height": height}
    return None


def _flush(wall: Wall, ring: Floats) -> Floats:
    """A footprint moved up to the wall."""
    off = float(((wall.left[0] - ring) @ wall.outward[0]).min())
    return np.asarray(ring + off * wall.outward[0])


def _on_thing(layout: Layout, ring: Floats, turn: int, base: float) -> dict[str, Any] | None:
    """On the thing that stores or carries whose top is the base of the box, under all of it."""
    for item in layout.items:
        if not (item.spec.stores or (item.spec.stack is not None and item.spec.stack.carries)):
            continue
        if abs(float(item.high[0, 2]) - base) > _FLUSH or not _carries(item, ring):
            continue
        yaw = float(item.yaw[0])
        middle = (item.low[0, :2] + item.high[0, :2]) / 2.0
        away = ring.mean(axis=0) - middle
        cos, sin = math.cos(yaw), math.sin(yaw)
        shift = [cos * away[0] + sin * away[1], cos * away[1] - sin * away[0]]
        angle = round(math.degrees(math.radians(turn) - yaw) % 360.0, 6) % 360.0
        words: dict[str, Any] = {"on": item.name, "shift": [round(float(v), 1) for v in shift]}
        return {**words, "turn": angle} if angle else words
    return None


def _carries(item: Placed, ring: Floats) -> bool:
    """Whether one part of the thing, its top highest, lies under the whole footprint."""
    for part in item.parts:
        if float(part.solid.high[0, 2]) < float(item.high[0, 2]) - _FLUSH:
            continue
        under = inside_of(Ring.of(ring), side_lines(Ring.of(outline_of(part.solid)[:1])))
        if under is not None and np.ptp(under.points[0], axis=0).min() > 0:
            lost = np.abs(np.ptp(under.points[0], axis=0) - np.ptp(ring, axis=0)).max()
            if float(lost) <= _FLUSH:
                return True
    return False
