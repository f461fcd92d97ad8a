"""Elevations: a checked scheme in, each wall that has something on or against it, drawn, out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from massing.checks.run import Answer
from massing.handover.drawings.board import Board
from massing.handover.drawings.dimensions import Line, running
from massing.handover.drawings.facts import (
    Drawn,
    badge_of,
    height_words,
    level_words,
    numbered,
    opening_words,
)
from massing.handover.drawings.label import Label
from massing.handover.drawings.moving import draw_opened, opening_sign, part_sign
from massing.handover.drawings.section import edge_heights
from massing.handover.drawings.shapes import Facing, Placing, draw_rings, silhouette
from massing.handover.drawings.sheet import CUT, SEEN, Box
from massing.handover.drawings.upright import (
    Span,
    Thing,
    clearest,
    draw_things,
    facing_wall,
    floor_runs,
    head_figures,
    head_lines,
    heights_at,
    profile,
    shade,
)
from massing.handover.opened import opened_parts
from massing.room.measure import cells
from massing.room.shape import Opening, Room, Wall
from massing.scheme.layout import Placed

__all__ = ["against", "draw_elevation", "walls_to_draw"]

_NEAR = 60.0
"""Not farther from a wall's face than this is against it, mm."""


def walls_to_draw(answer: Answer) -> tuple[Wall, ...]:
    """Walls and partition faces with anything on or against them, or an opening in them."""
    room = answer.layout.room
    return tuple(
        wall
        for wall in room.walls
        if against(answer, wall) or any(o.wall == wall.name for o in room.openings)
    )


def against(answer: Answer, wall: Wall) -> tuple[Placed, ...]:
    """Items within reach of a wall's face, between its ends."""
    view, length = facing_wall(wall), float(wall.length[0])
    held = []
    for item in answer.layout.items:
        corners = np.vstack([part.solid.corners[0] for part in item.parts])
        depth, u = view.depth(corners), view.flat(corners)[:, 0]
        near = float(depth.max())
        if -_NEAR <= near <= _NEAR and float(u.max()) > 1.0 and float(u.min()) < length - 1.0:
            held.append(item)
    return tuple(held)


def wall_spans(room: Room, wall: Wall) -> tuple[Span, ...]:
    """Floor and ceiling along a wall's face, from its left end."""
    view, length = facing_wall(wall), float(wall.length[0])
    found = []
    for cell in cells(room):
        ring = np.hstack([cell.polygon, np.zeros((len(cell.polygon), 1))])
        depth, u = view.depth(ring), view.flat(ring)[:, 0]
        after = np.roll(np.arange(len(u)), -1)
        for k, m in enumerate(after):
            # A partition's face lies inside a cell; an outside wall's is a side of one.
            on = max(abs(depth[k]), abs(depth[m])) <= 0.01 and abs(u[k] - u[m]) > 0.01
            if on and not wall.partition:
                found.append(_span(wall, cell.plane, cell.floor, sorted((u[k], u[m]))))
        if wall.partition:
            over = (depth < 0) != (depth[after] < 0)
            share = depth[over] / (depth[over] - depth[after][over])
            ends = u[over] + share * (u[after][over] - u[over])
            if len(ends) >= 2:
                found.append(_span(wall, cell.plane, cell.floor, [ends.min(), ends.max()]))
    kept = []
    for s in found:
        a, b = max(0.0, s.start), min(length, s.end)
        if b - a > 0.5:
            kept.append(Span(a, b, s.floor, (s.top(a), s.top(b))))
    return tuple(sorted(kept, key=lambda s: s.start))


def _span(wall: Wall, plane: np.ndarray, floor: float, ends: list[float]) -> Span:
    points = wall.left[0] + np.array(ends)[:, None] * wall.along[0]
    tops = points @ plane[:2] + plane[2]
    return Span(float(ends[0]), float(ends[1]), floor, (float(tops[0]), float(tops[1])))


def draw_elevation(answer: Answer, wall: Wall, board: Board, placing: Placing, area: Box) -> Drawn:
    """Draw a wall as seen from inside, with what stands against it or hangs on it."""
    room = answer.layout.room
    view, held = facing_wall(wall), wall_spans(room, wall)
    items = against(answer, wall)
    openings = [o for o in room.openings if o.wall == wall.name]
    drawn = Drawn(set(), [])
    runs = head_lines(board, placing, held)
    things = []
    for item in items:
        solids = [part.solid for part in item.parts]
        corners = np.vstack([s.corners[0] for s in solids])
        things.append(
            Thing(
                float(view.depth(corners).min()),
                silhouette(solids, view),
                SEEN,
                "#FFFFFF",
                dashed=True,
            )
        )
    things += [Thing(1e4, _hole(o), SEEN, dashed=True) for o in openings]
    draw_things(board, placing, things, None)
    draw_rings(board, placing, profile(held), CUT)
    for opening in openings:
        opening_sign(board, placing, opening)
    _moving(board, placing, answer, view, items)
    edge_heights(board, placing, held, area)
    if not _setting_out(board, placing, answer, wall, held, area):
        drawn.missed.append("setting-out figures (see the schedule)")
    for item in items:
        _hung(board, placing, item, wall, held, area)
    for _, finding in numbered(answer):
        if finding.at_mm is not None:
            u, z = view.flat(np.array([finding.at_mm]))[0]
            board.spare(placing.point(float(u), float(z)))
    for thing in things:
        shade(board, placing, thing.shape)
    head_figures(board, placing, runs)
    for label in _labels(answer, wall, placing, held, drawn):
        if not board.place(label, area):
            drawn.missed.append(" ".join(label.lines))
    return drawn


def _hole(opening: Opening) -> Any:
    from shapely import box

    a, low = float(opening.left[0]), float(opening.sill[0])
    return box(a, low, a + float(opening.width[0]), low + float(opening.height[0]))


def _moving(
    board: Board, placing: Placing, answer: Answer, view: Facing, items: tuple[Placed, ...]
) -> None:
    """The sign of what opens towards you on its face; open, what moves in the picture."""
    named = {item.name: silhouette([p.solid for p in item.parts], view) for item in items}
    held = [one for one in opened_parts(answer) if one.owner in named]
    aside = [one for one in held if not part_sign(board, placing, one, view)]
    draw_opened(board, placing, aside, view, named)


def _setting_out(
    board: Board, placing: Placing, answer: Answer, wall: Wall, held: tuple[Span, ...], area: Box
) -> bool:
    """Running dimensions from the wall's left end, below the floor."""
    view = facing_wall(wall)
    lowest = min(s.floor for s in held)
    _, bottom = placing.point(0.0, lowest)
    line = Line(upright=False, at=bottom - 5.0, origin=placing.left, scale=placing.scale, side=-1.0)
    stops = [(0.0, bottom), (float(wall.length[0]), bottom)]
    for item in against(answer, wall):
        corners = np.vstack([part.solid.corners[0] for part in item.parts])
        flat = view.flat(corners)
        _, y = placing.point(0.0, max(float(flat[:, 1].min()), lowest))
        stops += [(float(flat[:, 0].min()), y), (float(flat[:, 0].max()), y)]
    for opening in answer.layout.room.openings:
        if opening.wall == wall.name:
            _, y = placing.point(0.0, float(opening.sill[0]))
            left = float(opening.left[0])
            stops += [(left, y), (left + float(opening.width[0]), y)]
    return running(board, line, stops, area)


def _hung(
    board: Board, placing: Placing, item: Placed, wall: Wall, held: tuple[Span, ...], area: Box
) -> None:
    """From the floor to an item's underside and its top; its label says so where it is narrow."""
    corners = np.vstack([part.solid.corners[0] for part in item.parts])
    u = facing_wall(wall).flat(corners)[:, 0]
    if float(np.ptp(u)) / placing.scale < 8.0:
        return

    def stops(at: float) -> list[float]:
        span = next((s for s in held if s.start <= at <= s.end), None)
        if span is None:
            return []
        levels = (span.floor, float(item.low[0, 2]), float(item.high[0, 2]))
        return sorted({round(z, 3) for z in levels})

    at = clearest(board, placing, (float(u.min()), float(u.max())), stops)
    if at is not None:
        heights_at(board, placing, at, stops(at), area)


def _labels(
    answer: Answer, wall: Wall, placing: Placing, held: tuple[Span, ...], drawn: Drawn
) -> Iterator[Label]:
    room, view = answer.layout.room, facing_wall(wall)
    items = against(answer, wall)
    numbers = {item.name: k for k, item in enumerate(answer.layout.items, 1)}
    for item in items:
        shape = silhouette([part.solid for part in item.parts], view)
        left, low, right, high = shape.bounds
        ring = placing.points(np.array([[left, low], [right, low], [right, high], [left, high]]))
        lines = (f"{numbers[item.name]} {item.name}", *height_words(room, item))
        middle = placing.point((left + right) / 2, (low + high) / 2)
        yield Label(lines, middle, item.name, (ring,), near=0.4, short=str(numbers[item.name]))
    names = {item.name for item in items}
    for number, finding in numbered(answer):
        if finding.at_mm is None:
            continue
        at = np.array([finding.at_mm])
        u, z = view.flat(at)[0]
        near = -700.0 <= float(view.depth(at)[0]) <= 60.0 and 0 <= u <= float(wall.length[0])
        near = near and min(s.floor for s in held) <= z <= max(max(s.ceiling) for s in held)
        if near and (names | {wall.name}) & set(finding.items):
            drawn.findings.add(number)
            yield badge_of(number, finding, placing.point(float(u), float(z)))
    for opening in room.openings:
        if opening.wall == wall.name:
            a, low, b, high = _hole(opening).bounds
            ring = placing.points(np.array([[a, low], [b, low], [b, high], [a, high]]))
            yield Label(
                opening_words(room, opening),
                placing.point((a + b) / 2, (low + high) / 2),
                opening.name,
                (ring,),
            )
    for start, end, floor in floor_runs(held):
        told = f"floor {level_words(floor)}"
        x, y = placing.point((start + end) / 2, floor)
        yield Label((told,), (x, y - 3.0), told, near=0.4, leader=False, bold=True, level=True)
