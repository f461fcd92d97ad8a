"""A section: a checked scheme and where to cut it in, what it cuts and sees on the board out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from massing.checks.run import Answer
from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.drawings.board import Board
from massing.handover.drawings.cutting import Section
from massing.handover.drawings.dimensions import Line, chain
from massing.handover.drawings.facts import Drawn, badge_of, level_words, numbered
from massing.handover.drawings.label import Label
from massing.handover.drawings.moving import draw_opened, touches
from massing.handover.drawings.shapes import (
    Facing,
    Placing,
    cut_of,
    draw_lines,
    draw_rings,
    hatch,
    rings_in,
    silhouette,
)
from massing.handover.drawings.sheet import BEYOND, BODY, CUT, SEEN, Box
from massing.handover.drawings.upright import (
    Span,
    Thing,
    clearest,
    draw_things,
    floor_runs,
    head_figures,
    head_lines,
    heights_at,
    profile,
    shade,
    spans,
    wall_faces,
)
from massing.handover.opened import opened_doors, opened_parts
from massing.room.shape import Room
from massing.scheme.layout import Placed

__all__ = ["draw_section", "edge_heights"]

_TINT = "#ECECEC"


def draw_section(
    answer: Answer, section: Section, board: Board, placing: Placing, area: Box
) -> Drawn:
    """Draw one section within an area."""
    room, view = answer.layout.room, section.view
    held = spans(room, view)
    drawn = Drawn(set(), [])
    window = profile(held)
    runs = head_lines(board, placing, held)
    seen = draw_things(board, placing, _things(answer, view), window)
    _cut_fabric(board, placing, room, view, window)
    _cut_walls(board, placing, room, view, held)
    draw_rings(board, placing, window, CUT)
    cut = [(i, cut_of([p.solid for p in i.parts], view)) for i in answer.layout.items]
    cut = [(item, shape) for item, shape in cut if not shape.is_empty]
    for _, shape in cut:
        draw_lines(board, placing, shape.boundary, BODY)
    _moving(board, placing, answer, view, {i.name: shape for i, shape in cut})
    edge_heights(board, placing, held, area)
    for item, shape in cut:
        if not _item_heights(board, placing, (item, shape), held, cut, area):
            drawn.missed.append(f"heights of {item.name}")
    for shape in (*(shape for _, shape in cut), *seen.values()):
        shade(board, placing, shape)
    for _, finding in numbered(answer):
        if finding.at_mm is not None:
            u, z = view.flat(np.array([finding.at_mm]))[0]
            board.spare(placing.point(float(u), float(z)))
    head_figures(board, placing, runs)
    for label in _labels(answer, section, placing, cut, held, seen, drawn):
        if not board.place(label, area):
            drawn.missed.append(" ".join(label.lines))
    return drawn


def _moving(
    board: Board, placing: Placing, answer: Answer, view: Facing, cut: dict[str, Any]
) -> None:
    """What the plane cuts and moves in it, open: a lid, a rising top, an up-and-over leaf."""
    held = [one for one in (*opened_parts(answer), *opened_doors(answer)) if touches(one, view)]
    draw_opened(board, placing, held, view, cut)


def _things(answer: Answer, view: Facing) -> Iterator[Thing]:
    for item in answer.layout.items:
        solids = [part.solid for part in item.parts]
        shape = cut_of(solids, view)
        if not shape.is_empty:
            yield Thing(-1.0, shape, BODY, _TINT)
        seen = silhouette(solids, view, beyond=TOUCH)
        corners = np.vstack([s.corners[0] for s in solids])
        near = max(0.0, float(view.depth(corners).min()))
        if not seen.is_empty:
            yield Thing(near, seen, SEEN if near < 1.0 else BEYOND, name=item.name)
    for fabric in answer.layout.room.fabric:
        for part in fabric.parts:
            seen = silhouette([part], view, beyond=TOUCH)
            if not seen.is_empty:
                near = max(0.0, float(view.depth(part.corners[0]).min()))
                yield Thing(near, seen, BEYOND)
    for depth, shape in wall_faces(answer.layout.room, view):
        yield Thing(depth + 0.5, shape, BEYOND)


def _cut_fabric(board: Board, placing: Placing, room: Room, view: Facing, window: Any) -> None:
    for fabric in room.fabric:
        shape = cut_of(fabric.parts, view).intersection(window)
        rings = [placing.points(ring) for ring in rings_in(shape)]
        for ring in rings:
            board.area(ring, CUT, "#FFFFFF")
        hatch(board, rings, 1.6, -1.0)


def _cut_walls(
    board: Board, placing: Placing, room: Room, view: Facing, held: tuple[Span, ...]
) -> None:
    """Walls at the ends of the cut, hatched where an opening does not part them."""
    for u, span, way in _edges(held):
        point = view.at[:2] + u * view.right[:2]
        for wall in room.walls:
            off = point - wall.left[0]
            s = float(off @ wall.along[0])
            if wall.partition or abs(float(off @ wall.outward[0])) > 0.5:
                continue
            if not -0.5 <= s <= float(wall.length[0]) + 0.5:
                continue
            slant = abs(float(wall.outward[0] @ view.right[:2]))
            thick = float(wall.thickness[0]) / max(slant, 0.2)
            holes = [
                (float(o.sill[0]), float(o.sill[0] + o.height[0]))
                for o in room.openings
                if o.wall == wall.name and o.left[0] < s < o.left[0] + o.width[0]
            ]
            _wall_cut(board, placing, (u, way * thick), span, sorted(holes))
            break


def _wall_cut(
    board: Board,
    placing: Placing,
    at: tuple[float, float],
    span: Span,
    holes: list[tuple[float, float]],
) -> None:
    u, thick = at
    if abs(thick) < TOUCH:
        return
    slope = (span.ceiling[1] - span.ceiling[0]) / max(span.end - span.start, 1e-9)
    top, far = span.top(u), span.top(u) + slope * thick
    far = max(far, span.floor + 1.0)
    level = span.floor
    for low, high in [*holes, (np.inf, np.inf)]:
        end = min(low, top)
        if end - level > TOUCH:
            last = far if low >= top else end
            ring = placing.points(
                np.array([[u, level], [u, end], [u + thick, last], [u + thick, level]])
            )
            hatch(board, [ring])
            board.line(ring, CUT, closed=True)
        if high < top:
            ends = np.array([[u + thick, low], [u + thick, high]])
            board.line(placing.points(ends), SEEN)
        level = high


def _edges(held: tuple[Span, ...]) -> Iterator[tuple[float, Span, float]]:
    """Ends of each stretch of room along the cut: u, the span there, and the way out."""
    for k, span in enumerate(held):
        if k == 0 or span.start - max(s.end for s in held[:k]) > TOUCH:
            yield span.start, span, -1.0
        if k == len(held) - 1 or min(s.start for s in held[k + 1 :]) - span.end > TOUCH:
            yield span.end, span, 1.0


def edge_heights(board: Board, placing: Placing, held: tuple[Span, ...], area: Box) -> None:
    """Ceiling heights at both ends, outside the walls, and where it is highest between."""
    for u, span, way in _edges(held):
        x, y = placing.point(u, span.floor)
        outermost = u in (held[0].start, held[-1].end)
        at = x + way * (12.0 if outermost else -5.0)
        line = Line(upright=True, at=at, origin=y, scale=placing.scale, side=-1.0)
        chain(board, line, [0.0, span.top(u) - span.floor], area, x)
    ends = [(s.ceiling[k], u, s.floor) for s in held for k, u in enumerate((s.start, s.end))]
    top, u, floor = max(ends, key=lambda end: end[0])
    if top > max(span.top(at) for at, span, _ in _edges(held)) + 5.0:
        told = f"CH {_mm(top - floor)}"
        x, y = placing.point(u, top)
        board.place(Label((told,), (x, y + 3.0), told, near=0.8), area)


def _item_heights(
    board: Board,
    placing: Placing,
    one: tuple[Placed, Any],
    held: tuple[Span, ...],
    cut: list[tuple[Placed, Any]],
    area: Box,
) -> bool:
    """Floor, what is below, the item, what is above, ceiling: in a chain beside its middle."""
    item, shape = one
    left, _, right, _ = shape.bounds

    def stops(u: float) -> list[float]:
        span = next((s for s in held if s.start <= u <= s.end), None)
        return [] if span is None else _stops(item, shape, cut, u, span)

    # A hair inside the ends, where an upright line still meets the body.
    inset = min(0.02, (right - left) / 10.0)
    tops = {}
    for k in range(21):
        at = left + inset + k / 20.0 * (right - left - 2.0 * inset)
        span = next((s for s in held if s.start <= at <= s.end), None)
        if span is not None:
            tops[at] = span.top(at)
    u: float | None
    if tops and max(tops.values()) - min(tops.values()) > 5.0:
        # Under a slope the tightest place is the one to build to.
        u = min(tops, key=lambda end: tops[end])
    else:
        u = clearest(board, placing, (left, right), stops)
    return u is None or heights_at(board, placing, u, stops(u), area)


def _stops(
    item: Placed, shape: Any, cut: list[tuple[Placed, Any]], u: float, span: Span
) -> list[float]:
    """The z an upright line at u meets: from what is below the item to what is above it."""
    from shapely import LineString

    upright = LineString([(u, -1e5), (u, 1e5)])
    own = shape.intersection(upright).bounds
    base, top = (
        (own[1], own[3]) if own and not np.isnan(own[0]) else (shape.bounds[1], shape.bounds[3])
    )
    under, over = [span.floor], [span.top(u)]
    for other, outline in cut:
        if other is item:
            continue
        met = outline.intersection(upright)
        if met.is_empty:
            continue
        _, a, _, b = met.bounds
        if b <= base + TOUCH:
            under.append(b)
        elif a >= top - TOUCH:
            over.append(a)
    stops = [round(z, 3) for z in (max(under), base, top, min(over))]
    return [z for k, z in enumerate(stops) if k == 0 or abs(z - stops[k - 1]) > TOUCH]


def _labels(
    answer: Answer,
    section: Section,
    placing: Placing,
    cut: list[tuple[Placed, Any]],
    held: tuple[Span, ...],
    seen: dict[str, Any],
    drawn: Drawn,
) -> Iterator[Label]:
    numbers = {item.name: k for k, item in enumerate(answer.layout.items, 1)}
    for item, shape in cut:
        ring = placing.points(max(rings_in(shape), key=lambda r: float(np.ptp(r, axis=0).prod())))
        middle = ring.mean(axis=0)
        span = _span_at(held, (shape.bounds[0] + shape.bounds[2]) / 2)
        top = float(item.high[0, 2]) - span.floor
        lines = (f"{numbers[item.name]} {item.name}", f"top {_mm(top)} AFL")
        short = str(numbers[item.name])
        yield Label(lines, _pair(middle), item.name, (ring,), near=0.4, short=short)
    cut_names = {item.name for item, _ in cut}
    for item in answer.layout.items:
        if item.name in cut_names:
            continue
        shape = seen.get(item.name)
        if shape is not None and shape.area / placing.scale**2 > 4.0:
            rings = list(rings_in(shape))
            point = max(getattr(shape, "geoms", [shape]), key=lambda g: g.area)
            point = point.representative_point()
            ring = placing.points(rings[0])
            told, short = f"{numbers[item.name]} {item.name} beyond", str(numbers[item.name])
            yield Label((told,), placing.point(point.x, point.y), item.name, (ring,), short=short)
    for number, finding in numbered(answer):
        if finding.at_mm is None:
            continue
        at = np.array([finding.at_mm])
        u, z = section.view.flat(at)[0]
        low, high = held[0].floor, max(max(s.ceiling) for s in held)
        inside = held[0].start <= u <= held[-1].end and min(low, 0.0) <= z <= high
        if inside and abs(float(section.view.depth(at)[0])) <= 150.0:
            drawn.findings.add(number)
            yield badge_of(number, finding, placing.point(float(u), float(z)))
    for start, end, floor in floor_runs(held):
        told = f"floor {level_words(floor)}"
        x, y = placing.point((start + end) / 2, floor)
        yield Label((told,), (x, y - 3.0), told, near=0.4, leader=False, bold=True, level=True)


def _span_at(held: tuple[Span, ...], u: float) -> Span:
    return next((s for s in held if s.start <= u <= s.end), held[0])


def _mm(value: float) -> str:
    from massing.checks.words import mm

    return mm(value)


def _pair(point: Floats) -> tuple[float, float]:
    return (float(point[0]), float(point[1]))
