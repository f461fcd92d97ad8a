"""The views of a set of drawings: an answer in; each view's size and how it is drawn out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import TypeAlias

import numpy as np

from massing.checks.run import Answer
from massing.checks.words import mm
from massing.geometry.solids import Floats
from massing.handover.drawings.board import Board
from massing.handover.drawings.cutting import Section, sections_of
from massing.handover.drawings.dimensions import figure
from massing.handover.drawings.elevation import against, draw_elevation, wall_spans, walls_to_draw
from massing.handover.drawings.facts import Drawn, datum_of
from massing.handover.drawings.moving import open_points
from massing.handover.drawings.plan import cut_level, draw_plan
from massing.handover.drawings.section import draw_section
from massing.handover.drawings.shapes import PLAN, Facing, Placing
from massing.handover.drawings.sheet import Box, Point
from massing.handover.drawings.upright import facing_wall, spans
from massing.handover.drawings.walls import outer_bounds
from massing.handover.opened import hung_leaves
from massing.room.shape import Wall
from massing.scheme.layout import Placed

__all__ = ["View", "views_of"]

Draw: TypeAlias = Callable[[Board, Placing, Box], Drawn]

_PLAN_EDGES = (39.0, 48.0, 14.0, 14.0)
_SECTION_EDGES = (19.0, 17.0, 16.0, 4.0)
_ELEVATION_EDGES = (19.0, 26.6, 16.0, 1.6)
"""Paper kept round a view for its figures: left, bottom, right, top, mm."""


@dataclass(frozen=True, slots=True)
class View:
    """One view: its true bounds in its own plane, mm, and the paper it needs round them."""

    kind: str
    name: str
    short: str
    low: Point
    high: Point
    edges: Box
    draw: Draw
    reach: Box

    def _edges(self, scale: float) -> Box:
        """Paper on each side: for the figures, or for what sticks out of the room there."""
        out = (
            self.low[0] - self.reach[0],
            self.low[1] - self.reach[1],
            self.reach[2] - self.high[0],
            self.reach[3] - self.high[1],
        )
        left, bottom, right, top = (
            max(edge, more / scale + 3.0) if more > 0 else edge
            for edge, more in zip(self.edges, out, strict=True)
        )
        return (left, bottom, right, top)

    def size(self, scale: float) -> Point:
        """Width and height on paper, mm."""
        left, bottom, right, top = self._edges(scale)
        return (
            left + right + (self.high[0] - self.low[0]) / scale,
            bottom + top + (self.high[1] - self.low[1]) / scale,
        )

    def placing(self, scale: float, cell: Box) -> Placing:
        """Where it lies in a cell that may be larger than it needs: in the middle."""
        wide, tall = self.size(scale)
        edges = self._edges(scale)
        left = cell[0] + (cell[2] - cell[0] - wide) / 2.0 + edges[0]
        bottom = cell[1] + (cell[3] - cell[1] - tall) / 2.0 + edges[1]
        return Placing(scale, left - self.low[0] / scale, bottom - self.low[1] / scale)


def views_of(answer: Answer) -> tuple[View, ...]:
    """Plan, two sections, then an elevation of each wall with something to show."""
    room = answer.layout.room
    low, high = outer_bounds(room)
    sections = sections_of(answer)
    traces = {section.letter: section.trace(low, high) for section in sections}
    floor = min(float(f.level[0]) for f in room.floors)
    plan = View(
        "plan",
        f"Plan, cut at {mm(cut_level(answer) - floor)} above the lowest floor",
        "Plan",
        (float(low[0]), float(low[1])),
        (float(high[0]), float(high[1])),
        _PLAN_EDGES,
        partial(draw_plan, answer, traces),
        _reach([np.array([low, high]), *_plan_points(answer)]),
    )
    upright = [_section(answer, section) for section in sections]
    walls = [_elevation(answer, wall) for wall in walls_to_draw(answer)]
    return (plan, *upright, *walls)


def _reach(points: list[Floats]) -> Box:
    """Least box round points of a view."""
    cloud = np.vstack(points)
    (left, bottom), (right, top) = cloud.min(axis=0), cloud.max(axis=0)
    return (float(left), float(bottom), float(right), float(top))


def _plan_points(answer: Answer) -> Iterator[Floats]:
    """Corners of all that the plan shows beside the room: bodies, zones, leaves, findings."""
    for item in answer.layout.items:
        yield np.array([item.low[0, :2], item.high[0, :2]])
        for zone in item.zones:
            yield zone.polygon[0]
    yield from open_points(answer, PLAN)
    for hung in hung_leaves(answer):
        leaf = hung.leaf
        turns = np.linspace(0.0, leaf.full, 13) * leaf.swing
        shut = leaf.shut[0]
        side = np.array([-shut[1], shut[0]])
        way = np.cos(turns)[:, None] * shut + np.sin(turns)[:, None] * side
        yield leaf.pin[0] + (leaf.width[0] + leaf.thickness[0]) * way
    for fabric in answer.layout.room.fabric:
        for part in fabric.parts:
            yield part.corners[0, :, :2]


def _item_points(item: Placed, view: Facing) -> Floats:
    return np.vstack([view.flat(part.solid.corners[0]) for part in item.parts])


def _section(answer: Answer, section: Section) -> View:
    held = spans(answer.layout.room, section.view)
    thick = max((float(w.thickness[0]) for w in answer.layout.room.walls), default=0.0)
    low = (held[0].start - thick, min(s.floor for s in held))
    high = (held[-1].end + thick, max(max(s.ceiling) for s in held))
    letter = section.letter
    way = _compass(section)
    axis, at = section.axis, section.at
    cut = [i for i in answer.layout.items if i.low[0, axis] <= at <= i.high[0, axis]]
    bodies = [_item_points(item, section.view) for item in cut]
    reach = _reach([np.array([low, high]), *bodies, *open_points(answer, section.view, cut=True)])
    off = section.at - float(datum_of(answer.layout.room)[section.axis])
    return View(
        "section",
        f"Section {letter}–{letter}, {figure(off)} from the datum, looking {way}",
        f"{letter}–{letter}",
        low,
        high,
        _SECTION_EDGES,
        partial(draw_section, answer, section),
        reach,
    )


def _compass(section: Section) -> str:
    x, y = section.look
    return ("east" if x > 0 else "west") if abs(x) > 0.5 else ("north" if y > 0 else "south")


def _elevation(answer: Answer, wall: Wall) -> View:
    held = wall_spans(answer.layout.room, wall)
    low = (0.0, min(s.floor for s in held))
    high = (float(wall.length[0]), max(max(s.ceiling) for s in held))
    view = facing_wall(wall)
    seen = [_item_points(item, view) for item in against(answer, wall)]
    names = {item.name for item in against(answer, wall)}
    seen += open_points(answer, view, names)
    for opening in answer.layout.room.openings:
        if opening.wall == wall.name:
            a, b = float(opening.left[0]), float(opening.sill[0])
            far = (a + float(opening.width[0]), b + float(opening.height[0]))
            seen.append(np.array([(a, b), far]))
    reach = _reach([np.array([low, high]), *seen])
    name = wall.name if "wall" in wall.name else f"{wall.name} wall"
    return View(
        "elevation",
        f"Elevation of the {name} from inside",
        name,
        low,
        high,
        _ELEVATION_EDGES,
        partial(draw_elevation, answer, wall),
        reach,
    )
