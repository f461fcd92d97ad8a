"""The finished picture: a drawn scene and findings in, a captioned PNG out. Loads Pillow."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.checks.finding import Finding, Verdict
from massing.checks.run import Answer
from massing.geometry.tolerance import TOUCH
from massing.handover.opened import hung_leaves, opened_doors
from massing.handover.pictures.fonts import font
from massing.handover.pictures.paper import Paper
from massing.handover.pictures.stage import draw_scene, swing_line
from massing.handover.pictures.views import View, view_of
from massing.handover.shell import shell_surfaces
from massing.handover.signs import SIGNS
from massing.scheme.layout import Placed

__all__ = ["picture"]

_RADIUS = 17
_SCALED = frozenset({"plan", "long section", "cross section"})
_BAR = 52  # pixels kept free for the scale bar below what is drawn to scale
# Where a name may go, the nearest first, pixels from the middle of the item's face.
_TRIES = tuple(
    (dx, dy) for dy in (0, 20, -20, 40, -40, 60, -60) for dx in (0, 50, -50, 100, -100, 150, -150)
)


def picture(answer: Answer, view: str, paper: Paper, size: tuple[int, int]) -> bytes:
    """One view of a scheme as PNG bytes, findings numbered as in the check's own list.

    size : of the whole picture, pixels; the list of findings takes the right third
    Raises MissingToolError where nothing can draw.
    """
    from PIL import Image

    width, height = size
    column = max(360, width // 3)
    surfaces = shell_surfaces(answer.layout.room)
    points = [surface.ring for surface in surfaces]
    points += [part.solid.corners[0] for item in answer.layout.items for part in item.parts]
    points += [swing_line(hung.leaf) for hung in hung_leaves(answer)]
    points += [door.at(door.reach).corners[0] for door in opened_doors(answer)]
    cloud = np.vstack(points)
    tall = height - 90 - (_BAR if view in _SCALED else 0)
    seen = view_of(view, cloud.min(axis=0), cloud.max(axis=0), (width - column, tall))
    scene = draw_scene(answer, seen, paper)
    sheet = Image.new("RGB", size, paper.ground)
    sheet.paste(Image.fromarray(scene), (0, 90))
    numbered = [f for f in answer.findings if f.verdict is not Verdict.CLEAR]
    marks = [
        (number, finding, _offset(seen.pixel(np.array(finding.at_mm))))
        for number, finding in enumerate(numbered, 1)
        if finding.at_mm is not None
    ]
    _write(sheet, answer, view, paper, numbered, column)
    if seen.name in _SCALED:
        _scale_bar(sheet, seen, paper)
    names = [
        (item.name, _offset(seen.pixel(_face_middle(item, seen))))
        for item in answer.layout.items
        if shown_in(item, seen)
    ]
    _mark(sheet, marks, paper, (width - column, height), names)
    buffer = io.BytesIO()
    sheet.save(buffer, "PNG", optimize=False)
    return buffer.getvalue()


def shown_in(item: Placed, view: View) -> bool:
    """Whether any of an item is drawn: a section leaves out what lies wholly before its cut."""
    if "section" not in view.name:
        return True
    corners = np.concatenate([part.solid.corners[0] for part in item.parts])
    return bool(((corners - view.middle) @ view.towards).min() < -TOUCH)


def _offset(point: tuple[float, float]) -> tuple[float, float]:
    return point[0], point[1] + 90.0


def _write(
    sheet: Any, answer: Answer, view: str, paper: Paper, numbered: list[Finding], column: int
) -> None:
    """Title, what the view is, and the numbered list."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(sheet)
    width, height = sheet.size
    pen.text((36, 24), answer.project.name, font=font(27, bold=True), fill=paper.ink)
    pen.text((37, 62), f"{answer.layout.name}, {view}", font=font(17), fill=paper.quiet)
    left, top = width - column + 10, 36
    if not numbered:
        pen.text((left, top), "Nothing in conflict.", font=font(17), fill=paper.ink)
        return
    roomy, dense = _Letters(15, 21, 34, kind=True), _Letters(13, 17, 14, kind=False)
    told = [finding.says for finding in numbered]
    fits = sum(roomy.tall(pen, says, column) for says in told) + top < height
    letters = roomy if fits else dense
    for number, finding in enumerate(numbered, 1):
        if top + letters.tall(pen, finding.says, column) + 30 > height and number < len(numbered):
            more = f"and {len(numbered) - number + 1} more, in the list of the check"
            pen.text((left + 44, top), more, font=font(letters.size), fill=paper.quiet)
            break
        _badge(pen, (left + 16, top + 12), number, finding.verdict, paper)
        down = top
        for line in _wrapped(pen, finding.says, font(letters.size), column - 80):
            pen.text((left + 44, down), line, font=font(letters.size), fill=paper.ink)
            down += letters.line
        if letters.kind:
            pen.text((left + 44, down), _kind(finding), font=font(13), fill=paper.quiet)
        top += letters.tall(pen, finding.says, column)


@dataclass(frozen=True, slots=True)
class _Letters:
    """How the list is set: letters, lines and the air below, pixels; whether kinds are told."""

    size: int
    line: int
    air: int
    kind: bool

    def tall(self, pen: Any, says: str, column: int) -> int:
        """What one finding takes; two discs never touch."""
        lines = len(_wrapped(pen, says, font(self.size), column - 80))
        return max(self.line * lines + self.air, 2 * _RADIUS + 4)


def _scale_bar(sheet: Any, seen: View, paper: Paper) -> None:
    """A metre at the bottom left, in two halves, where everything is at one scale."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(sheet)
    (x0, _), (x1, _) = seen.pixel(np.zeros(3)), seen.pixel(seen.right * 1000.0)
    left, top, half = 37, sheet.size[1] - 44, round((x1 - x0) / 2.0)
    pen.rectangle((left, top, left + half, top + 5), fill=paper.ink)
    pen.rectangle((left, top, left + 2 * half, top + 5), outline=paper.ink)
    pen.text((left + 2 * half + 10, top + 2), "1 m", font=font(13), fill=paper.quiet, anchor="lm")


def _kind(finding: Finding) -> str:
    words = finding.verdict.value
    if finding.verdict is Verdict.REMEASURE:
        words += f", {100 * finding.chance_clear:.0f} % likely clear"
    return f"{words} · {finding.check}"


def _wrapped(pen: Any, words: str, letters: Any, width: int) -> list[str]:
    lines, line = [], ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and pen.textlength(longer, font=letters) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _badge(pen: Any, at: tuple[float, float], number: int, verdict: Verdict, paper: Paper) -> None:
    """A numbered disc; its sign and rim say the verdict without colour."""
    x, y = at
    fill = paper.alarm if verdict is Verdict.CONFLICT else paper.ground
    rim = paper.alarm if verdict is Verdict.CONFLICT else paper.tape
    words = paper.ground if verdict is Verdict.CONFLICT else paper.ink
    box = (x - _RADIUS, y - _RADIUS, x + _RADIUS, y + _RADIUS)
    pen.ellipse(box, fill=fill, outline=rim, width=3)
    told = f"{number}{SIGNS[verdict]}"
    letters = font(15 if len(told) < 3 else 12, bold=True)
    pen.text((x, y), told, font=letters, fill=words, anchor="mm")


def _mark(
    sheet: Any,
    marks: list[tuple[int, Finding, tuple[float, float]]],
    paper: Paper,
    limit: tuple[int, int],
    names: list[tuple[str, tuple[float, float]]],
) -> None:
    """Numbers on the scene, kept apart, each tied to its place by a line; then items' names."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(sheet)
    spots = _spread([point for _, _, point in marks], limit)
    for (_, _, point), spot in zip(marks, spots, strict=True):
        pen.line([point, tuple(spot)], fill=paper.ink, width=2)
        pen.ellipse((point[0] - 4, point[1] - 4, point[0] + 4, point[1] + 4), fill=paper.ink)
    for (number, finding, _), spot in zip(marks, spots, strict=True):
        _badge(pen, (float(spot[0]), float(spot[1])), number, finding.verdict, paper)
    taken = [(s[0] - _RADIUS, s[1] - _RADIUS, s[0] + _RADIUS, s[1] + _RADIUS) for s in spots]
    for name, point in names:
        taken.append(_name(pen, name, point, paper, taken))


_Box = tuple[float, float, float, float]


def _name(pen: Any, name: str, point: tuple[float, float], paper: Paper, taken: list[_Box]) -> _Box:
    """An item's name on a strip of paper, where it covers the least of what is written already."""
    small = font(13)
    half, tall = pen.textlength(name, font=small) / 2.0 + 5.0, 9.0
    best: tuple[float, _Box] | None = None
    for dx, dy in _TRIES:
        x, y = point[0] + dx, point[1] + dy
        box = (x - half, y - tall, x + half, y + tall)
        cost = sum(_shared(box, other) for other in taken) + 0.01 * abs(dx) + 0.01 * abs(dy)
        if best is None or cost < best[0]:
            best = (cost, box)
    assert best is not None  # noqa: S101
    box = best[1]
    pen.rounded_rectangle(box, radius=4, fill=paper.ground, outline=paper.faint)
    middle = ((box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0)
    pen.text(middle, name, font=small, fill=paper.ink, anchor="mm")
    return box


def _shared(one: _Box, other: _Box) -> float:
    wide = min(one[2], other[2]) - max(one[0], other[0])
    tall = min(one[3], other[3]) - max(one[1], other[1])
    return wide * tall if wide > 0 and tall > 0 else 0.0


def _face_middle(item: Placed, view: View) -> NDArray[np.float64]:
    """The middle of the item's bounds on the side nearest the eye."""
    middle: NDArray[np.float64] = (item.low[0] + item.high[0]) / 2.0
    half = (item.high[0] - item.low[0]) / 2.0
    side = int(np.argmax(np.abs(view.towards) * np.array([1.0, 1.0, 1.2])))
    middle[side] += np.sign(view.towards[side]) * half[side]
    return np.asarray(middle)


def _spread(points: list[tuple[float, float]], limit: tuple[int, int]) -> NDArray[np.float64]:
    """Places for the discs near their points, none over another, all inside the scene."""
    if not points:
        return np.zeros((0, 2))
    anchors = np.array(points, dtype=np.float64)
    spots = anchors + np.array([26.0, -44.0])
    apart = 2.0 * _RADIUS + 8.0
    for _ in range(200):
        moved = False
        for i in range(len(spots)):
            for j in range(i):
                way = spots[i] - spots[j]
                far = float(np.hypot(*way))
                if far < apart - 1e-6:
                    push = way / far if far > 1e-6 else np.array([1.0, 0.0])
                    step = push * (apart - far) / 2.0
                    spots[i] += step
                    spots[j] -= step
                    moved = True
        spots[:, 0] = np.clip(spots[:, 0], _RADIUS + 6, limit[0] - _RADIUS - 6)
        spots[:, 1] = np.clip(spots[:, 1], 96 + _RADIUS, limit[1] - _RADIUS - 6)
        if not moved:
            break
    return np.asarray(spots)
