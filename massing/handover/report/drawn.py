"""Line drawings for the page: a checked scheme and a window in, plan and section as SVG out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from massing.checks.leaves import opens_to
from massing.checks.run import Answer
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats, prism
from massing.handover.report.markup import Markup
from massing.handover.report.paper import Mark, Paper
from massing.handover.report.slices import Line, cut_room, cut_solid
from massing.room.shape import Opening, Room
from massing.scheme.layout import Leaf, Placed, Zone

__all__ = ["Dimension", "Subject", "draw_plan", "draw_section"]

Dimension = tuple[tuple[float, float], tuple[float, float], str]
Air = list[tuple[float, float, float, float, float, float]]
_LINING = 100.0
"""mm; how deep an opening is drawn in a wall of unsaid thickness."""
_HUNG = 1500.0
"""mm; what starts higher is drawn light in plan, as one walks under it."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What a drawing is about.

    focus : names drawn strong and named; None names everything
    clashes : volumes in conflict; dimensions : sizes drawn; marks : findings' numbers
    """

    title: str
    focus: tuple[str, ...] | None = None
    clashes: tuple[Convex, ...] = ()
    marks: tuple[Mark, ...] = ()
    dimensions: tuple[Dimension, ...] = ()

    def names(self, item: Placed) -> bool:
        """Whether the drawing is about it."""
        return self.focus is None or item.name in self.focus

    def strong(self, item: Placed) -> str:
        """The class of what the drawing singles out."""
        return " involved" if self.focus is not None and item.name in self.focus else ""


def draw_plan(answer: Answer, paper: Paper, subject: Subject) -> Markup:
    """The room from above."""
    layout = answer.layout
    paper.keep_off(subject.marks, subject.dimensions)
    paper.fill("ground", layout.room.outline[0])
    for floor in layout.room.floors:
        paper.fill("level", floor.polygon[0])
    for zone in (z for item in layout.items if subject.names(item) for z in item.zones):
        paper.fill(f"zone {zone.kind}", zone.polygon[0])
    for solid in (s for fabric in layout.room.fabric for s in fabric.parts):
        paper.fill("fabric", outline_of(solid)[0])
    for item in sorted(layout.items, key=lambda one: float(one.high[0, 2])):
        _item_above(paper, layout.room, item, subject)
    for solid in subject.clashes:
        paper.fill("clash", outline_of(solid)[0])
    _walls(paper, layout.room)
    for leaf in layout.leaves:
        _leaf(paper, answer, leaf)
    for item in filter(subject.names, layout.items):
        x, y = _plan_middle(item)
        paper.words("name", x, y - 3.5 * paper.unit, item.name)
    return _finished(paper, subject, "plan")


def _finished(paper: Paper, subject: Subject, kind: str) -> Markup:
    for dimension in subject.dimensions:
        paper.dimension(*dimension)
    paper.scale_bar()
    paper.marks(subject.marks)
    return paper.svg(subject.title, kind)


def _item_above(paper: Paper, room: Room, item: Placed, subject: Subject) -> None:
    kind = "body kept" if item.stays else "body"
    lowest = min(float(floor.level[0]) for floor in room.floors)
    if item.mounted in {"wall", "ceiling"} and float(item.low[0, 2]) - lowest > _HUNG:
        kind += " hung"
    for part in item.parts:
        paper.fill(kind + subject.strong(item), outline_of(part.solid)[0])


def _walls(paper: Paper, room: Room) -> None:
    """Everything outside in the tone of a cut wall, openings taken out of it."""
    x, y = paper.x0, paper.y0
    # The outline may reach past the window, and so must what lies around it.
    low, high = room.outline[0].min(axis=0), room.outline[0].max(axis=0)
    x0, y0 = min(x, float(low[0])) - 1.0, min(y, float(low[1])) - 1.0
    x1 = max(x + paper.width, float(high[0])) + 1.0
    y1 = max(y + paper.height, float(high[1])) + 1.0
    paper.fill("outside", [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], room.outline[0])
    for opening in room.openings:
        paper.fill(f"opening {opening.kind}", _opening_ring(room, opening))


def _opening_ring(room: Room, opening: Opening) -> Floats:
    wall = room.wall(opening.wall)
    deep = float(wall.thickness[0]) or _LINING
    a, b = float(opening.left[0]), float(opening.left[0] + opening.width[0])
    left, along, out = wall.left[0], wall.along[0], wall.outward[0]
    corners = ((a, 0.0), (b, 0.0), (b, deep), (a, deep))
    return np.array([left + s * along + d * out for s, d in corners])


def _leaf(paper: Paper, answer: Answer, leaf: Leaf) -> None:
    """The leaf as far as it opens, and its whole swing as a light line."""
    full = float(np.rad2deg(leaf.full))
    reached = opens_to(answer.layout, leaf)[0] if leaf.opens == "in" else full
    start = float(np.arctan2(leaf.shut[0, 1], leaf.shut[0, 0]))
    pin, wide = leaf.pin[0], float(leaf.width[0])

    def tips(*turns: float) -> Floats:
        angles = start + leaf.swing * np.array(turns)
        return np.asarray(pin + wide * np.stack([np.cos(angles), np.sin(angles)], axis=1))

    paper.line("swing", tips(*(leaf.full * k / 24 for k in range(25))))
    paper.line("leaf", np.vstack([pin[None], tips(float(np.deg2rad(reached)))]))


def _plan_middle(item: Placed) -> tuple[float, float]:
    middle = (item.low[0] + item.high[0]) / 2
    return float(middle[0]), float(middle[1])


def draw_section(answer: Answer, paper: Paper, line: Line, subject: Subject) -> Markup:
    """The room cut upright along a line; what lies past the cut is drawn in outline behind it."""
    layout = answer.layout
    paper.keep_off(subject.marks, subject.dimensions)
    pieces = cut_room(layout.room, line)
    _air(paper, pieces, layout.items, line, subject)
    for opening in layout.room.openings:
        _opening_cut(paper, layout.room, opening, line)
    _cut_things(paper, answer, line, subject)
    for a, b, f0, f1, c0, c1 in pieces:
        paper.line("profile", [(a, f0), (b, f1)])
        paper.line("profile", [(a, c0), (b, c1)])
    _upright_edges(paper, pieces)
    for item in filter(subject.names, layout.items):
        if subject.focus is not None or _seen(item, line):
            s = float(line.along(np.array([_plan_middle(item)]))[0])
            z = float(item.low[0, 2] + item.high[0, 2]) / 2
            paper.words("name", s, z - 3.5 * paper.unit, item.name)
    return _finished(paper, subject, "section")


def _air(
    paper: Paper, pieces: Air, items: tuple[Placed, ...], line: Line, subject: Subject
) -> None:
    """The room's air, what stands behind the cut in it, and the building cut around it."""
    rings = [[(a, f0), (b, f1), (b, c1), (a, c0)] for a, b, f0, f1, c0, c1 in pieces]
    for ring in rings:
        paper.fill("air", ring)
    for item in items:
        if next(_cuts(item, line), None) is not None:
            continue
        strong = subject.strong(item)
        for part in item.parts:
            if strong or float(line.beside(part.solid.corners[0, :, :2]).min()) > -1.0:
                paper.fill(f"behind{strong}", _face(part.solid, line))
    x0, y0, x1, y1 = paper.x0, paper.y0, paper.x0 + paper.width, paper.y0 + paper.height
    paper.fill("outside", [(x0, y0), (x1, y0), (x1, y1), (x0, y1)], *rings)


def _cut_things(paper: Paper, answer: Answer, line: Line, subject: Subject) -> None:
    """Zones, fabric, bodies and conflicts where the plane meets them."""
    layout = answer.layout
    for zone in (z for item in layout.items if subject.names(item) for z in item.zones):
        _fill_cut(paper, f"zone {zone.kind}", _zone_solid(answer, zone), line)
    for solid in (s for fabric in layout.room.fabric for s in fabric.parts):
        _fill_cut(paper, "fabric", solid, line)
    for item in layout.items:
        kind = f"body cut{' kept' if item.stays else ''}{subject.strong(item)}"
        for cut in _cuts(item, line):
            paper.fill(kind, cut)
    for solid in subject.clashes:
        cut = cut_solid(solid, line)
        paper.fill("clash", cut if len(cut) else _face(solid, line))


def _fill_cut(paper: Paper, kind: str, solid: Convex, line: Line) -> None:
    cut = cut_solid(solid, line)
    if len(cut):
        paper.fill(kind, cut)


def _seen(item: Placed, line: Line) -> bool:
    """Whether any of it is cut, or lies past the cut the way one looks."""
    return any(float(line.beside(p.solid.corners[0, :, :2]).max()) > 1.0 for p in item.parts)


def _cuts(item: Placed, line: Line) -> Iterator[Floats]:
    for part in item.parts:
        cut = cut_solid(part.solid, line)
        if len(cut):
            yield cut


def _face(solid: Convex, line: Line) -> Floats:
    """Bounds of a solid as seen square to the line."""
    s, z = line.along(solid.corners[0, :, :2]), solid.corners[0, :, 2]
    return np.array(
        [(s.min(), z.min()), (s.max(), z.min()), (s.max(), z.max()), (s.min(), z.max())]
    )


def _zone_solid(answer: Answer, zone: Zone) -> Convex:
    posture = "standing" if zone.posture == "none" else zone.posture
    tall = answer.rules.height(posture) if zone.headroom is None else float(zone.headroom[0])
    return prism(zone.polygon[:1], zone.level[:1], zone.level[:1] + tall)


def _opening_cut(paper: Paper, room: Room, opening: Opening, line: Line) -> None:
    ring = _opening_ring(room, opening)
    one, other = ring[1] - ring[0], ring[3] - ring[0]
    counter = one[0] * other[1] - one[1] * other[0] > 0
    low = float(opening.sill[0])
    block = prism((ring if counter else ring[::-1])[None], low, low + float(opening.height[0]))
    _fill_cut(paper, f"opening {opening.kind}", block, line)


def _upright_edges(paper: Paper, pieces: Air) -> None:
    """Lines at both ends of the cut and where floor or ceiling jumps."""
    for k, (a, b, f0, f1, c0, c1) in enumerate(pieces):
        joined = k > 0 and abs(pieces[k - 1][1] - a) < 1e-3
        if joined:
            paper.line("profile", [(a, pieces[k - 1][3]), (a, f0)])
            paper.line("profile", [(a, pieces[k - 1][5]), (a, c0)])
        else:
            paper.line("profile", [(a, f0), (a, c0)])
        if k + 1 == len(pieces) or abs(pieces[k + 1][0] - b) >= 1e-3:
            paper.line("profile", [(b, f1), (b, c1)])
