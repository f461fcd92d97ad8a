"""What moves, drawn as it stands open: fine dashed outlines, the arc or the arrow of the way there.

In plan what swings or slides level, in sections what moves in their plane, in elevations the sign
on the face of what opens towards you: lines that meet at the hinge side. Where something stops a
part, its outline is drawn where it gets to and again, dotted, where it should go.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

import numpy as np

from massing.checks.run import Answer
from massing.geometry.offset import offset_by
from massing.geometry.solids import Floats
from massing.handover.drawings.board import Board
from massing.handover.drawings.shapes import Facing, Placing, draw_lines, silhouette
from massing.handover.drawings.sheet import DIM, OPEN, SEEN, ZONE, Pen
from massing.handover.opened import Hung, Opened, far_edge, opened_doors, opened_parts, swing
from massing.room.shape import Opening

__all__ = ["draw_leaf", "draw_opened", "open_points", "opening_sign", "part_sign", "touches"]

_ALONG = 0.99
"""A direction this near to another, as a cosine, counts as it."""
_HEAD = 1.8
"""Length of an arrow's head, mm; an arrow not twice as long is left out."""


def open_points(
    answer: Answer, view: Facing, only: Collection[str] | None = None, *, cut: bool = False
) -> list[Floats]:
    """Corners, in a view, of all that stands open in it.

    only : names of the items whose parts count; cut : only what the picture plane cuts
    """
    return [
        view.flat(one.at(amount).corners[0])
        for one in (*opened_parts(answer), *opened_doors(answer))
        if _shown(one, view)
        and (only is None or one.owner in only)
        and (not cut or touches(one, view))
        for amount in np.linspace(0.0, one.full, 7)
    ]


def touches(opened: Opened, view: Facing) -> bool:
    """Whether the picture plane cuts the part, shut or open."""
    depths = [view.depth(opened.at(amount).corners[0]) for amount in (0.0, opened.reach)]
    return min(float(d.min()) for d in depths) < 0.0 < max(float(d.max()) for d in depths)


def _shown(opened: Opened, view: Facing) -> bool:
    """Whether its movement shows in a view as more than a change of depth."""
    share = abs(float(opened.axis @ view.away))
    if opened.turns:
        return share > _ALONG or share < 1.0 - _ALONG
    return share < _ALONG


def draw_opened(
    board: Board, placing: Placing, held: Iterable[Opened], view: Facing, bodies: dict[str, Any]
) -> None:
    """Draw parts as they stand open, each kind of movement once where several look alike.

    bodies : what the view shows of each item; nothing is drawn over the part's own
    """
    done: set[bytes] = set()
    for one in held:
        if not _shown(one, view):
            continue
        body = bodies.get(one.owner)
        shape = _outside(one, one.reach, view, body)
        key = bytes(repr((one.owner, shape.wkt, round(one.reach, 6))), "utf-8")
        if key in done:
            continue
        done.add(key)
        if one.stopped:
            full = _outside(one, one.full, view, body)
            draw_lines(board, placing, full.difference(offset_by(shape, 0.5)).boundary, ZONE)
        draw_lines(board, placing, shape.boundary, OPEN)
        _way(board, placing, one, view, shape)


def _outside(one: Opened, amount: float, view: Facing, body: Any) -> Any:
    """Outline of a part so far open, less what its own item covers of it."""
    shape = silhouette([one.at(amount)], view)
    return shape if body is None else shape.difference(offset_by(body, 0.01))


def _way(board: Board, placing: Placing, one: Opened, view: Facing, shape: Any) -> None:
    """The arc of what turns in the picture, the arrow of what comes out in it."""
    if one.turns and abs(float(one.axis @ view.away)) > _ALONG:
        _arc(board, placing, view.flat(swing(one, 0.0, one.reach)), OPEN)
        if one.stopped:
            _arc(board, placing, view.flat(swing(one, one.reach, one.full)), ZONE)
    elif not shape.is_empty:
        start, end = (view.flat(far_edge(one, t)[None]) for t in (0.0, one.reach))
        _arrow(board, placing.points(start)[0], placing.points(end)[0])


def _arc(board: Board, placing: Placing, points: Floats, pen: Pen) -> None:
    board.line(placing.points(points), pen)


def _arrow(board: Board, start: Floats, end: Floats) -> None:
    """A fine arrow of a movement, left out where it would be all head."""
    way = end - start
    length = float(np.hypot(*way))
    if length < 2 * _HEAD:
        return
    way = way / length
    wing = np.array([-way[1], way[0]]) * 0.5
    board.line(np.array([start + way * 0.6, end - way * 0.4]), DIM)
    neck = end - way * (_HEAD + 0.4)
    board.area(np.array([end - way * 0.4, neck + wing, neck - wing]), DIM, "#000000")


def draw_leaf(board: Board, placing: Placing, hung: Hung) -> None:
    """A leaf in plan as far open as it goes, its path firm to there, dashed to where it should."""
    leaf, reach = hung.leaf, hung.reach
    pin, width = leaf.pin[0], float(leaf.width[0])
    shut = leaf.shut[0]
    side = np.array([-shut[1], shut[0]]) * leaf.swing

    def way(turn: float) -> Floats:
        return np.asarray(np.cos(turn) * shut + np.sin(turn) * side)

    def arc(first: float, last: float) -> Floats:
        turns = np.linspace(first, last, max(2, int(np.degrees(abs(last - first)) / 2.5) + 2))
        return np.array([pin + width * way(turn) for turn in turns])

    tip = pin + width * way(reach)
    thick = max(float(leaf.thickness[0]), 0.6 * placing.scale)
    # The leading face turns about the pin; the thickness trails it.
    back = thick * (np.sin(reach) * shut - np.cos(reach) * side)
    ring = np.array([pin, tip, tip + back, pin + back])
    board.area(placing.points(ring), SEEN, "#FFFFFF")
    if reach > 1e-6:
        board.line(placing.points(arc(0.0, reach)), DIM)
    if leaf.full - reach > 1e-3:
        board.line(placing.points(arc(reach, leaf.full)), ZONE)
        end = pin + width * way(leaf.full)
        board.line(placing.points(np.array([pin, end])), ZONE)


def opening_sign(board: Board, placing: Placing, opening: Opening) -> None:
    """How an opening's leaves move, seen square: lines to the hinge, an arrow for a slide."""
    if opening.leaf is None:
        return
    a, low = float(opening.left[0]), float(opening.sill[0])
    b, high = a + float(opening.width[0]), low + float(opening.height[0])
    middle = (a + b) / 2.0
    if opening.motion == "double":
        _sign(board, placing, (a, low, middle, high), "left")
        _sign(board, placing, (middle, low, b, high), "right")
        board.line([placing.point(middle, low), placing.point(middle, high)], DIM)
    elif opening.motion == "overhead":
        _sign(board, placing, (a, low, b, high), "top")
    elif opening.motion == "hinged":
        _sign(board, placing, (a, low, b, high), opening.hinge)
    elif opening.motion == "sliding":
        way = 0.32 * (b - a) * (1.0 if opening.hinge == "right" else -1.0)
        z = low + 0.42 * (high - low)
        ends = [np.array(placing.point(middle - way, z)), np.array(placing.point(middle + way, z))]
        _arrow(board, ends[0], ends[1])


def part_sign(board: Board, placing: Placing, opened: Opened, view: Facing) -> bool:
    """Mark a part that opens towards the eye on the face of its item; False where it does not."""
    shut = opened.at(0.0).corners[0]
    flat = view.flat(shut)
    (left, low), (right, high) = flat.min(axis=0), flat.max(axis=0)
    ring = [(left, low), (right, low), (right, high), (left, high)]
    if not opened.turns:
        if float(opened.axis @ view.away) > -_ALONG:
            return False
        board.line([placing.point(u, z) for u, z in ring], DIM, closed=True)
        return True
    about = np.asarray(opened.path.about)[0]
    ahead = np.cross(opened.axis, shut.mean(axis=0) - about)
    ahead = ahead / max(float(np.linalg.norm(ahead)), 1e-9)
    if float(ahead @ view.away) > -0.9:
        return False
    board.line([placing.point(u, z) for u, z in ring], DIM, closed=True)
    hinge_u, hinge_z = view.flat(about[None])[0]
    if abs(float(opened.axis[2])) > _ALONG:
        side = "left" if hinge_u < (left + right) / 2.0 else "right"
    else:
        side = "bottom" if hinge_z < (low + high) / 2.0 else "top"
    _sign(board, placing, (float(left), float(low), float(right), float(high)), side)
    return True


def _sign(
    board: Board, placing: Placing, box: tuple[float, float, float, float], hinge: str
) -> None:
    """Fine lines from the free corners that meet in the middle of the hinge side."""
    a, low, b, high = box
    free = {
        "left": ((b, low), (a, (low + high) / 2), (b, high)),
        "right": ((a, low), (b, (low + high) / 2), (a, high)),
        "top": ((a, low), ((a + b) / 2, high), (b, low)),
        "bottom": ((a, high), ((a + b) / 2, low), (b, high)),
    }[hinge]
    board.line([placing.point(u, z) for u, z in free], DIM)
