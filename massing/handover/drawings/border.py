"""What every sheet carries round its drawings: border, title block, findings, scale bar, notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.checks.finding import Finding
from massing.handover.answer import GENERAL_CAUTION
from massing.handover.drawings.board import Board
from massing.handover.drawings.facts import badge_of
from massing.handover.drawings.label import BADGE, PITCH
from massing.handover.drawings.lettering import width_of, wrapped
from massing.handover.drawings.sheet import BODY, DIM, FRAME, SEEN, Box, Words

__all__ = ["Heading", "area_of", "border", "column_of", "findings_column", "frame_of"]

_COLUMN = 84.0
_LEFT, _EDGE = 20.0, 10.0
"""Filing margin and the others, mm. Source: ISO 5457."""
_BLOCK = 71.0


@dataclass(frozen=True, slots=True)
class Heading:
    """What the title block says."""

    project: str
    scheme: str
    drawing: str
    number: int
    count: int
    scale: str
    paper: str


def frame_of(width: float, height: float) -> Box:
    """The border of a sheet, mm."""
    return (_LEFT, _EDGE, width - _EDGE, height - _EDGE)


def area_of(width: float, height: float) -> Box:
    """Where drawings go, mm."""
    left, bottom, right, top = frame_of(width, height)
    return (left, bottom, right - _COLUMN, top)


def column_of(width: float, height: float) -> Box:
    """Where findings and notes go, above the title block, mm."""
    _, bottom, right, top = frame_of(width, height)
    return (right - _COLUMN + 3.0, bottom + _BLOCK, right - 3.0, top - 3.0)


def line_at(board: Board, left: float, middle: float, words: Words) -> None:
    """Write lettering from a left end, its middle at a height."""
    board.words(
        Words(
            (left + words.width / 2.0, middle),
            words.text,
            words.height,
            words.bold,
            tone=words.tone,
            subject=words.subject,
        )
    )


def border(board: Board, heading: Heading, scale: float) -> None:
    """Border and title block; scale 0 where the sheet is not to scale."""
    left, bottom, right, top = frame_of(board.width, board.height)
    ring = [(left, bottom), (right, bottom), (right, top), (left, top)]
    board.line(ring, FRAME, closed=True)
    edge = right - _COLUMN
    board.line([(edge, bottom), (edge, top)], BODY)
    y = bottom + _BLOCK
    board.line([(edge, y), (right, y)], BODY)
    x = edge + 3.0
    if scale:
        _scale_bar(board, x, y - 8.0, scale)
    board.line([(edge, y - 12.0), (right, y - 12.0)], SEEN)
    _cautions(board, x, y - 15.0)
    _block(board, (edge, bottom, right, bottom + 36.0), heading)


def _scale_bar(board: Board, x: float, y: float, scale: float) -> None:
    """Five parts of a round length, filled in turn; figures in metres."""
    part = next(p for p in (1e2, 2e2, 5e2, 1e3, 2e3, 5e3, 1e4, 2e4, 5e4, 1e5) if 5 * p / scale > 28)
    long = part / scale
    for k in range(5):
        ring = [(x + k * long, y), (x + (k + 1) * long, y)]
        ring += [(x + (k + 1) * long, y + 1.2), (x + k * long, y + 1.2)]
        board.area(ring, DIM, "#000000" if k % 2 == 0 else "#FFFFFF")
    for k in (0, 1, 5):
        told = f"{k * part / 1000:g}" + (" m" if k == 5 else "")
        board.words(Words((x + k * long + (0.8 if k == 0 else 0.0), y + 4.0), told, 2.0))


def _cautions(board: Board, x: float, y: float) -> None:
    lines = wrapped("All sizes in mm. Measure on site before ordering.", 2.0, 78.0, bold=True)
    for line in lines:
        line_at(board, x, y, Words((0, 0), line, 2.0, bold=True))
        y -= 3.2
    for line in wrapped(GENERAL_CAUTION, 1.8, 78.0):
        line_at(board, x, y, Words((0, 0), line, 1.8))
        y -= 2.8


def _block(board: Board, box: Box, heading: Heading) -> None:
    """Project, scheme, drawing; scale, paper, sheet; revision and date left to be filled in."""
    left, bottom, right, top = box
    rows = [top, top - 9.0, top - 18.0, top - 27.0, bottom]
    for y in rows[:-1]:
        board.line([(left, y), (right, y)], SEEN)
    _field(board, (left, rows[1], right, rows[0]), "project", heading.project, 3.5)
    _field(board, (left, rows[2], right, rows[1]), "scheme", heading.scheme, 3.5)
    _field(board, (left, rows[3], right, rows[2]), "drawing", heading.drawing, 2.5)
    told = (
        ("scale", heading.scale, 18.0),
        ("paper", heading.paper, 12.0),
        ("sheet", f"{heading.number} of {heading.count}", 20.0),
        ("revision", "", 15.0),
        ("date", "", 19.0),
    )
    x = left
    for name, words, wide in told:
        if x > left:
            board.line([(x, bottom), (x, rows[3])], SEEN)
        _field(board, (x, bottom, x + wide, rows[3]), name, words, 2.5)
        x += wide


def _field(board: Board, box: Box, name: str, words: str, height: float) -> None:
    left, _, right, top = box
    line_at(board, left + 1.5, top - 2.2, Words((0, 0), name, 1.5, tone="#505050"))
    room = right - left - 3.0
    while height > 1.2 and width_of(words, height, bold=height > 3) > room:
        height -= 0.1
    if words:
        told = words
        while width_of(told, height) > room and len(told) > 1:
            told = told[:-2] + "…"
        line_at(board, left + 1.5, top - 6.2, Words((0, 0), told, height, bold=height > 3))


def findings_column(
    board: Board, box: Box, held: Sequence[tuple[int, Finding]], title: str
) -> list[int]:
    """Numbered findings down a column; returns the numbers that found no room."""
    left, bottom, right, top = box
    y = top - 2.5
    for line in wrapped(title, 2.5, right - left, bold=True):
        line_at(board, left, y, Words((0, 0), line, 2.5, bold=True))
        y -= PITCH
    y -= 1.0
    for place, (number, finding) in enumerate(held):
        lines = wrapped(finding.says, 2.2, right - left - BADGE - 2.5)
        tall = max(BADGE, (len(lines) + 1) * PITCH * 0.88) + 1.6
        last = place == len(held) - 1
        if y - tall < bottom + (0.0 if last else 6.0):
            return [n for n, _ in held[place:]]
        board.write(badge_of(number, finding), left, y - BADGE)
        x = left + BADGE + 2.0
        told = [*lines, f"{finding.verdict.value}, {finding.check}"]
        for k, line in enumerate(told):
            tone = "#505050" if k == len(told) - 1 else "#000000"
            words = Words((0, 0), line, 2.2 if k < len(told) - 1 else 1.8, tone=tone)
            line_at(board, x, y - 2.0 - k * PITCH * 0.88, words)
        y -= tall
    return []


def north_arrow(board: Board, at: tuple[float, float], north_deg: float) -> None:
    """A circle with a needle to the north; ``north_deg`` clockwise from the room's +y."""
    turn = np.deg2rad(north_deg)
    way, wing = np.array([np.sin(turn), np.cos(turn)]), np.array([np.cos(turn), -np.sin(turn)])
    middle = np.array(at)
    board.disc(at, 6.0, SEEN)
    tip, tail = middle + way * 6.0, middle - way * 4.6
    board.area(np.array([tip, tail + wing * 2.6, middle - way * 3.0]), DIM, "#000000")
    board.area(np.array([tip, tail - wing * 2.6, middle - way * 3.0]), DIM, "#FFFFFF")
    spot = middle + way * 8.6
    board.words(Words((float(spot[0]), float(spot[1])), "N", 3.5, bold=True, subject="north"))
