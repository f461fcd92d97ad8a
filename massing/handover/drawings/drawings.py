"""A set of drawings: a checked scheme in, finished sheets out, at the largest scale that fits.

Every view is at one scale, so that a size read off one sheet is a size on the next. With nothing
asked for, an A3 sheet is tried from 1:10 to 1:50, then an A2 sheet, then smaller scales; where
that is too crowded to letter, a larger sheet at the same scale, or on a sheet that was asked for
the items' numbers alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from massing.checks.run import Answer
from massing.errors import Fault, InputError
from massing.handover.drawings.board import Board
from massing.handover.drawings.border import (
    Heading,
    area_of,
    border,
    column_of,
    findings_column,
    frame_of,
    line_at,
    north_arrow,
)
from massing.handover.drawings.facts import numbered
from massing.handover.drawings.lettering import wrapped
from massing.handover.drawings.schedule import draw_table, rows_of, table_height
from massing.handover.drawings.sheet import BODY, PAPERS, Box, Sheet, Words
from massing.handover.drawings.views import View, views_of

__all__ = ["SCALES", "drawing_set", "ranges"]

SCALES = (10, 20, 25, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
"""Reductions. Source: ISO 5455; 1:25 is common practice, no source."""
_USUAL = 50
_FEW = 3
"""Leaders that may cross others on a sheet before it is too crowded."""


@dataclass(slots=True)
class _Page:
    """A sheet being made."""

    board: Board
    drawing: str
    scaled: bool = True
    findings: set[int] = field(default_factory=set)
    missed: list[str] = field(default_factory=list)
    plan: bool = False
    table: bool = False


def drawing_set(
    answer: Answer, *, paper: str | None = None, scale: int | None = None
) -> tuple[Sheet, ...]:
    """All sheets of a scheme.

    paper : A4, A3 or A2; scale : one of SCALES, as 25 for 1:25
    Raises InputError where what was asked for does not fit, saying what would.
    """
    views = views_of(answer)
    tries = [pair for pair in _tries(paper, scale) if _fits(views, *pair)]
    if not tries:
        raise InputError([Fault(_why(views, paper, scale))])
    best: tuple[str, int, list[_Page]] | None = None
    for name, number, terse in _worth_trying(tries, fixed=paper is not None):
        pages = _pages(answer, views, name, number, terse=terse)
        if best is None or _crowd(pages) < _crowd(best[2]):
            best = (name, number, pages)
        if not _crowd(pages):
            break
    assert best is not None  # noqa: S101
    return tuple(_finished(answer, *best))


def _worth_trying(
    tries: Sequence[tuple[str, int]], *, fixed: bool
) -> Iterator[tuple[str, int, bool]]:
    """The first that fits; where that is too crowded, the next sheet, or shorter lettering.

    A smaller scale was tried and is no help: there is more paper round a view, but what it shows
    moves closer together, and more leaders cross.
    """
    paper, scale = tries[0]
    yield paper, scale, False
    if fixed:
        yield paper, scale, True
    else:
        yield from [(p, s, False) for p, s in tries if s == scale and p != paper][:1]


def _crowd(pages: Sequence[_Page]) -> int:
    """What found no room, and the leaders on a sheet that cross others beyond a few."""
    missed = sum(len(page.missed) for page in pages)
    return missed + sum(max(0, page.board.crossings - _FEW) for page in pages)


def _tries(paper: str | None, scale: int | None) -> Iterator[tuple[str, int]]:
    papers = ["A3", "A2"] if paper is None else [paper]
    scales = SCALES if scale is None else (scale,)
    usual = [s for s in scales if s <= _USUAL]
    rest = [s for s in scales if s > _USUAL]
    yield from ((p, s) for p in papers for s in usual)
    yield from ((p, s) for s in rest for p in papers)


def _fits(views: Sequence[View], paper: str, scale: int) -> bool:
    left, bottom, right, top = area_of(*PAPERS[paper])
    return all(
        w <= right - left and h <= top - bottom for w, h in (view.size(scale) for view in views)
    )


def _why(views: Sequence[View], paper: str | None, scale: int | None) -> str:
    asked = f"1:{scale}" if scale is not None else "any scale"
    sheet = paper or "A2"
    fit = next((s for s in SCALES if _fits(views, sheet, s)), None)
    tail = f"; 1:{fit} does" if fit is not None else ""
    return f"the drawings do not fit {sheet} at {asked}{tail}"


def _with_table(
    answer: Answer, views: Sequence[View], size: tuple[float, float], scale: int
) -> float:
    """Height of the schedule under the plan, mm; 0 where it goes on its own sheet."""
    area = area_of(*size)
    tall = table_height(area[2] - area[0] - 10.0, rows_of(answer)) + 12.0
    plan = next(view for view in views if view.kind == "plan")
    return tall if plan.size(scale)[1] + tall + 10.0 <= area[3] - area[1] else 0.0


def _pages(
    answer: Answer, views: Sequence[View], paper: str, scale: int, *, terse: bool
) -> list[_Page]:
    size = PAPERS[paper]
    pages = []
    table = _with_table(answer, views, size, scale)
    for group in _grouped(views, size, scale, table):
        board = Board(*size, terse=terse)
        page = _Page(board, _named([view for view, _ in group]))
        board.keep((0.0, 0.0, 0.1, 0.1))
        for view, cell in group:
            placing = view.placing(scale, cell)
            page.plan |= view.kind == "plan"
            if page.plan and table:
                _table_under(board, answer, area_of(*size), table)
                page.table = True
            _title(board, view, cell, scale)
            if page.plan:
                spot = (cell[2] - 10.0, cell[3] - 14.0)
                north_arrow(board, spot, answer.layout.room.north_deg)
                board.keep((spot[0] - 7, spot[1] - 7, spot[0] + 7, spot[1] + 7))
            drawn = view.draw(board, placing, _inner(cell))
            page.findings |= drawn.findings
            page.missed += drawn.missed
        pages.append(page)
    return pages


def _named(views: Sequence[View]) -> str:
    """What a sheet's title block calls it."""
    if len(views) == 1:
        return views[0].name
    heads = {"section": "Sections", "elevation": "Elevations"}
    told = []
    for kind, head in heads.items():
        short = [view.short for view in views if view.kind == kind]
        if short:
            word = head if len(short) > 1 else head.removesuffix("s")
            told.append(f"{word} {', '.join(short)}")
    return "; ".join(told)


def _table_under(board: Board, answer: Answer, area: Box, tall: float) -> None:
    """The schedule at the foot of the plan's sheet."""
    left, bottom, right, _ = area
    words = Words((0, 0), "Setting-out schedule", 3.0, bold=True)
    line_at(board, left + 5.0, bottom + tall - 4.0, words)
    draw_table(board, (left + 5.0, bottom, right - 5.0, bottom + tall - 8.0), rows_of(answer))


def _inner(cell: Box) -> Box:
    return (cell[0] + 1.0, cell[1] + 1.0, cell[2] - 1.0, cell[3] - 1.0)


def _title(board: Board, view: View, cell: Box, scale: int) -> None:
    """Name and scale of a view, underlined, at the bottom left of its cell."""
    words = Words((0, 0), view.name, 3.0, bold=True)
    x, y = cell[0] + 5.0, cell[1] + 3.4
    room = cell[2] - cell[0] - 24.0
    while words.width > room and words.height > 1.5:
        words = Words((0, 0), view.name, words.height - 0.1, bold=True)
    line_at(board, x, y, words)
    line_at(board, x + words.width + 4.0, y, Words((0, 0), f"1:{scale}", 2.5))
    board.line([(x, y - 2.4), (x + words.width, y - 2.4)], BODY)


def _grouped(
    views: Sequence[View], size: tuple[float, float], scale: int, table: float
) -> Iterator[list[tuple[View, Box]]]:
    """Views on sheets, each with its cell: the plan alone, the others in rows as they come."""
    area = area_of(*size)
    plans = [view for view in views if view.kind == "plan"]
    for view in plans:
        yield [(view, (area[0], area[1] + table, area[2], area[3]))]
    wide, tall = area[2] - area[0], area[3] - area[1]
    rows: list[list[View]] = []
    for view in (v for v in views if v.kind != "plan"):
        w, _ = view.size(scale)
        room = next((r for r in rows if sum(v.size(scale)[0] for v in r) + w <= wide), None)
        if room is None:
            rows.append([view])
        else:
            room.append(view)
    sheets: list[list[list[View]]] = []
    for row in rows:
        held = next((s for s in sheets if _height([*s, row], scale) <= tall), None)
        if held is None:
            sheets.append([row])
        else:
            held.append(row)
    for sheet in sheets:
        yield _cells(sheet, area, scale)


def _height(rows: list[list[View]], scale: int) -> float:
    return sum(max(view.size(scale)[1] for view in row) for row in rows)


def _cells(rows: list[list[View]], area: Box, scale: int) -> list[tuple[View, Box]]:
    """Cells for rows of views, what is left over shared between them."""
    spare = (area[3] - area[1] - _height(rows, scale)) / len(rows)
    found = []
    top = area[3]
    for row in rows:
        tall = max(view.size(scale)[1] for view in row) + spare
        extra = (area[2] - area[0] - sum(view.size(scale)[0] for view in row)) / len(row)
        left = area[0]
        for view in row:
            wide = view.size(scale)[0] + extra
            found.append((view, (left, top - tall, left + wide, top)))
            left += wide
        top -= tall
    return found


def _finished(answer: Answer, paper: str, scale: int, pages: list[_Page]) -> Iterator[Sheet]:
    size = PAPERS[paper]
    held = numbered(answer)
    left_over: set[int] = set()
    for page in pages:
        shown = [(n, f) for n, f in held if page.plan or n in page.findings]
        left_over |= _side(page, shown, size)
    rows = () if any(page.table for page in pages) else rows_of(answer)
    pages = [*pages, *_schedule(answer, size, rows, sorted(left_over))]
    for number, page in enumerate(pages, 1):
        told = f"1:{scale}" if page.scaled else "none"
        heading = Heading(
            answer.project.name, answer.layout.name, page.drawing, number, len(pages), told, paper
        )
        border(page.board, heading, scale if page.scaled else 0.0)
        title = f"{answer.project.name}, {answer.layout.name}: {page.drawing}"
        yield Sheet(title, paper, *size, frame_of(*size), tuple(page.board.marks))


def _side(page: _Page, shown: list, size: tuple[float, float]) -> set[int]:  # type: ignore[type-arg]
    """Findings and notes in the column; returns the numbers that go to the last sheets."""
    box = column_of(*size)
    notes = list(_notes(page))
    tall = sum(len(wrapped(n, 2.0, box[2] - box[0])) for n in notes) * 3.2 + 4.0
    title = "Findings (numbers as in the check)" if shown else "No findings here"
    out = findings_column(page.board, (box[0], box[1] + tall, box[2], box[3]), shown, title)
    y = box[1] + tall - 3.0
    if out:
        told = f"Findings {ranges(out)}: continued after the schedule."
        lines = wrapped(told, 2.2, box[2] - box[0], bold=True)
        for k, line in enumerate(reversed(lines)):
            at = y + 4.5 + 3.6 * k
            line_at(page.board, box[0], at, Words((0, 0), line, 2.2, bold=True))
    for note in notes:
        for line in wrapped(note, 2.0, box[2] - box[0]):
            line_at(page.board, box[0], y, Words((0, 0), line, 2.0))
            y -= 3.2
    return set(out)


def ranges(numbers: Sequence[int]) -> str:
    """Numbers in order as a person would say them.

    >>> ranges([3, 5, 6, 7, 9])
    '3, 5 to 7, 9'
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in runs]
    return ", ".join(told)


def _notes(page: _Page) -> Iterator[str]:
    if page.plan:
        yield (
            "Heights are above the floor below (AFL); CH is the ceiling above the floor. Dashed: "
            "above the cut, or hidden; finely, as it stands open, and dotted where it cannot. "
            "Setting-out runs from the datum to each item's nearest face. Numbers before names: "
            "the schedule."
        )
    elif page.scaled:
        yield (
            "Heights are in a chain from the floor below. Grey: what is cut. Fine dashes: 900, "
            "1500 and 2000 above the floor. Lines that meet: the hinge side; arcs and arrows: "
            "how it opens."
        )
    if page.scaled and page.board.terse:
        yield "Numbers in the drawing are items: see the schedule for their names."
    if page.missed:
        yield f"No room to letter here: {'; '.join(page.missed)}."


def _schedule(
    answer: Answer,
    size: tuple[float, float],
    rows: tuple[tuple[str, ...], ...],
    left_over: list[int],
) -> Iterator[_Page]:
    """Sheets with the setting-out table, then the findings that found no room before."""
    area = area_of(*size)
    held = dict(numbered(answer))
    while rows or left_over:
        board = Board(*size)
        page = _Page(board, "Setting-out schedule" if rows else "Findings", scaled=False)
        left, bottom, right, top = area
        y = top - 8.0
        if rows:
            words = Words(
                (0, 0), "Setting-out schedule, from the inside datum corner", 3.5, bold=True
            )
            line_at(board, left + 5.0, y, words)
            done, y = draw_table(board, (left + 5.0, bottom + 5.0, right - 5.0, y - 5.0), rows)
            rows = rows[done:]
        if not rows:
            wide = (right - left - 15.0) / 2.0
            for k in range(2):
                if left_over and y - 12.0 > bottom + 25.0:
                    x = left + 5.0 + k * (wide + 5.0)
                    shown = [(n, held[n]) for n in left_over]
                    box = (x, bottom + 5.0, x + wide, y - 8.0)
                    left_over = findings_column(board, box, shown, "Findings, continued")
        yield page
