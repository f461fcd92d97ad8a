"""Which drawings show a finding? A finding in, its plan and its section out, cropped to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.checks.words import mm
from massing.geometry.solids import Convex, Floats
from massing.handover.pictures.clashes import clash_solids
from massing.handover.report.drawn import Dimension, Subject, draw_plan, draw_section
from massing.handover.report.markup import Markup
from massing.handover.report.paper import Mark, Paper
from massing.handover.report.slices import Line, cut_room
from massing.handover.shell import shell_surfaces
from massing.handover.signs import SIGNS
from massing.room.heights import floor_level
from massing.room.naming import compass_word
from massing.room.shape import Room

__all__ = ["clashes_of", "drawings_of", "key_drawings", "room_bounds"]

_ACROSS, _TALL = 2500.0, 2100.0
"""mm; what a crop shows, the same for all so that they compare."""
_UNIT = 10.0
_GROUND = 230.0
"""mm of ground drawn under a section: the scale lies in it."""
_EDGE = 300.0
"""mm of the building around the room that a crop shows at most."""
_STEP = 300.0
"""mm to either side of a place, where a step under it is looked for."""
_PLAN_ONLY = frozenset({"door leaf", "shared floor"})


def clashes_of(answer: Answer, finding: Finding) -> tuple[Convex, ...]:
    """The volumes in conflict of one finding."""
    return tuple(clash_solids(replace(answer, findings=(finding,))))


def room_bounds(room: Room) -> tuple[Floats, Floats]:
    """Least and greatest corner of the shell, mm."""
    rings = np.vstack([surface.ring for surface in shell_surfaces(room)])
    return rings.min(axis=0), rings.max(axis=0)


def key_drawings(
    answer: Answer, found: Sequence[tuple[int, Finding]]
) -> tuple[tuple[str, Markup], ...]:
    """The whole room in plan and in a section across its slope, every finding marked."""
    low, high = room_bounds(answer.layout.room)
    unit = max(float(high[0] - low[0] + 700) / 640.0, float(high[1] - low[1] + 700) / 560.0)
    marked = [(n, f, f.at_mm) for n, f in found if f.at_mm is not None]
    flat = [_mark(n, f, (at[0], at[1])) for n, f, at in marked]
    subject = Subject("Plan with every finding", marks=tuple(flat))
    plan = draw_plan(answer, _sheet(low[:2], high[:2], unit), subject)
    middle = np.array([float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2])
    way = _slope_way(answer.layout.room, middle)
    line = Line(middle, way)
    s = line.along(answer.layout.room.outline[0])
    ends = (np.array([s.min(), low[2]]), np.array([s.max(), high[2]]))
    across = Subject("Section across the room")
    section = draw_section(answer, _sheet(*ends, unit), line, across)
    return (("Plan", plan), (f"Section, looking {_looking(way)}", section))


def _sheet(low: Floats, high: Floats, unit: float) -> Paper:
    edge = 350.0
    wide, tall = float(high[0] - low[0]) + 2 * edge, float(high[1] - low[1]) + 2 * edge
    return Paper(float(low[0]) - edge, float(low[1]) - edge, wide, tall, unit)


def _mark(number: int, finding: Finding, at: tuple[float, float]) -> Mark:
    return Mark(number, SIGNS[finding.verdict], finding.verdict.value, at)


def drawings_of(answer: Answer, number: int, finding: Finding) -> tuple[tuple[str, Markup], ...]:
    """Plan and section about a finding, each with its caption; none for one without a place."""
    if finding.at_mm is None:
        return ()
    at = np.array(finding.at_mm)
    clashes = () if finding.verdict is Verdict.CLEAR else clashes_of(answer, finding)
    ring = answer.layout.room.outline[0]
    x, y = (
        _window(float(at[k]), size, float(ring[:, k].min()), float(ring[:, k].max()))
        for k, size in ((0, _ACROSS), (1, _TALL))
    )
    paper = Paper(x, y, _ACROSS, _TALL, _UNIT)
    subject = Subject(
        f"Plan about finding {number}",
        finding.items,
        clashes,
        (_mark(number, finding, (at[0], at[1])),),
        _flat_dimension(answer, finding, at),
    )
    plan = draw_plan(answer, paper, subject)
    if finding.check in _PLAN_ONLY:
        return (("Plan", plan),)
    line = _cut_line(answer, finding, at)
    spot = (float(line.along(at[None, :2])[0]), float(at[2]))
    through = Subject(
        f"Section through finding {number}",
        finding.items,
        clashes,
        (_mark(number, finding, spot),),
        _upright_dimension(finding, spot),
    )
    section = draw_section(answer, _section_paper(answer.layout.room, line, spot), line, through)
    return (("Plan", plan), (f"Section, looking {_looking(line.way)}", section))


def _window(at: float, size: float, low: float, high: float) -> float:
    """Where a window about a place starts, so that little of it lies outside the room."""
    first, last = low - _EDGE, high + _EDGE - size
    return min(max(at - size / 2, first), last) if first <= last else (low + high - size) / 2


def _section_paper(room: Room, line: Line, spot: tuple[float, float]) -> Paper:
    """As wide as the plan; floor to ceiling when that fits, else about the place."""
    low, high = room_bounds(room)
    needs = float(high[2] - low[2]) + _GROUND + 150.0
    tall = max(_TALL, min(needs, 3300.0))
    bottom = float(low[2]) - _GROUND
    if needs > tall:
        bottom = min(max(spot[1] - tall / 2, bottom), float(high[2]) + 150.0 - tall)
    pieces = cut_room(room, line)
    if not pieces:
        return Paper(spot[0] - _ACROSS / 2, bottom, _ACROSS, tall, _UNIT)
    left = _window(spot[0], _ACROSS, pieces[0][0], max(piece[1] for piece in pieces))
    return Paper(left, bottom, _ACROSS, tall, _UNIT)


def _cut_line(answer: Answer, finding: Finding, at: Floats) -> Line:
    """Through the finding's place, a hand inside what it is about so that the cut meets it."""
    way = _way(answer, finding, at[:2])
    left = np.array([-way[1], way[0]])
    point = at[:2].copy()
    held = [item for item in answer.layout.items if item.name in finding.items]
    if held:
        parts = [p for item in held for p in item.parts]
        plan = np.vstack([p.solid.corners[0, :, :2] for p in parts])
        zones = [z.polygon[0] for item in held for z in item.zones]
        if finding.check == "headroom" and zones:
            plan = np.vstack(zones)
        off = (plan - point) @ left
        point = point + left * float(np.clip((off.min() + off.max()) / 2, -25.0, 25.0))
    return Line(point, way)


def _way(answer: Answer, finding: Finding, point: Floats) -> Floats:
    """The way a section runs: square to a wall, across a step, else up the slope."""
    room = answer.layout.room
    if finding.check == "walls" and len(finding.items) > 1:
        for wall in room.walls:
            if wall.name == finding.items[1]:
                return _eastward(wall.outward[0])
    if finding.check == "support" and len(room.floors) > 1:
        step = _step_way(room, point)
        if step is not None:
            return step
    return _slope_way(room, point)


def _step_way(room: Room, point: Floats) -> Floats | None:
    """Square to the side of a floor piece over which the level changes at a place."""
    for floor in room.floors:
        ring = floor.polygon[0]
        for p, q in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            way = (q - p) / max(float(np.hypot(*(q - p))), 1e-9)
            out = np.array([way[1], -way[0]])
            ends = np.stack([point - _STEP * out, point + _STEP * out])
            levels = floor_level(room, ends[None])[0]
            if np.isfinite(levels).all() and abs(levels[1] - levels[0]) > 1.0:
                return _eastward(out)
    return None


def _slope_way(room: Room, point: Floats) -> Floats:
    """Up the slope over a place; across the room's shorter way under a flat ceiling."""
    steepest: tuple[float, Floats] | None = None
    for piece in room.ceilings:
        ring = piece.polygon[0]
        middle = ring.mean(axis=0)
        away = float(np.hypot(*(middle - point)))
        for plane in piece.planes[0]:
            slope = np.asarray(plane[:2])
            if float(np.hypot(*slope)) > 1e-3 and (steepest is None or away < steepest[0] - 1e-6):
                steepest = (away, slope / np.hypot(*slope))
    if steepest is not None:
        return _eastward(steepest[1])
    low, high = room.outline[0].min(axis=0), room.outline[0].max(axis=0)
    wide, deep = high - low
    return np.array([1.0, 0.0]) if wide < deep else np.array([0.0, 1.0])


def _eastward(way: Floats) -> Floats:
    """The same line run to the east, or to the north."""
    turned = way if (way[0], way[1]) > (1e-9, 0.0) or (abs(way[0]) <= 1e-9 and way[1] > 0) else -way
    return np.asarray(turned + 0.0, dtype=np.float64)


def _looking(way: Floats) -> str:
    """Which way one looks at a section that runs ``way`` to the right."""
    return compass_word(-float(way[1]), float(way[0]))


def _flat_dimension(answer: Answer, finding: Finding, at: Floats) -> tuple[Dimension, ...]:
    if finding.check != "walls" or finding.unit != "mm" or len(finding.items) < 2:
        return ()
    for wall in answer.layout.room.walls:
        if wall.name == finding.items[1]:
            end = at[:2] + finding.gap_mm * wall.outward[0]
            ends = ((float(at[0]), float(at[1])), (float(end[0]), float(end[1])))
            return ((*ends, _figure(finding)),)
    return ()


def _upright_dimension(finding: Finding, spot: tuple[float, float]) -> tuple[Dimension, ...]:
    if finding.unit != "mm":
        return ()
    s, z = spot
    if finding.check == "ceiling":
        return (((s, z), (s, z + finding.gap_mm), _figure(finding)),)
    if finding.check in {"headroom", "under hung"}:
        return (((s, z - finding.gap_mm), (s, z), _figure(finding)),)
    return ()


def _figure(finding: Finding) -> str:
    return mm(finding.gap_mm).replace("-", "−")
