"""A window on the room as drawing paper: shapes in mm in, SVG elements out.

Only classes are written, never colours: the page's style sheet says the tones of paper and ink,
on light and on dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from massing.geometry.solids import Floats
from massing.handover.report.markup import Markup, e

__all__ = ["Mark", "Paper"]

_WIDE = 5.6
"""Units a letter takes at the drawings' letter size, near enough to keep names inside."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A finding's number at a place on the paper, mm, with its sign and its verdict's class."""

    number: int
    sign: str
    verdict: str
    at: tuple[float, float]


@dataclass(slots=True)
class Paper:
    """What is drawn, in order. x0, y0 are the lower left corner of the window, mm.

    unit : mm that one drawing unit stands for; taken : boxes words keep off, in units
    """

    x0: float
    y0: float
    width: float
    height: float
    unit: float
    drawn: list[Markup] = field(default_factory=list)
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def xy(self, x: float, y: float) -> tuple[float, float]:
        """A place in mm as drawing units, y down, in tenths."""
        across = round((x - self.x0) / self.unit, 1) + 0.0
        return across, round((self.y0 + self.height - y) / self.unit, 1) + 0.0

    @property
    def size(self) -> tuple[float, float]:
        """Width and height in drawing units."""
        return round(self.width / self.unit, 1), round(self.height / self.unit, 1)

    def path(self, *rings: Iterable[Sequence[float]] | Floats, closed: bool = True) -> str:
        """Rings of points, mm, as path data."""
        told = []
        for ring in rings:
            spots = [self.xy(float(p[0]), float(p[1])) for p in ring]
            told.append("M" + "L".join(f"{x:g} {y:g}" for x, y in spots) + ("Z" if closed else ""))
        return "".join(told)

    def fill(self, kind: str, *rings: Iterable[Sequence[float]] | Floats) -> None:
        """Closed rings of one class; a ring within a ring is a hole."""
        path = self.path(*rings)
        self.drawn.append(e("path", class_=kind, d=path, fill_rule="evenodd"))

    def line(self, kind: str, points: Iterable[Sequence[float]] | Floats) -> None:
        """An open line through points."""
        self.drawn.append(e("path", class_=f"{kind} open", d=self.path(points, closed=False)))

    def sheet(self, kind: str) -> None:
        """The whole window in one tone."""
        wide, tall = self.size
        self.drawn.append(e("rect", class_=kind, width=f"{wide:g}", height=f"{tall:g}"))

    def words(self, kind: str, x: float, y: float, told: str) -> None:
        """Words centred on a place, moved as little as keeps them in the window and readable."""
        across, down = self.xy(x, y)
        wide, tall = self.size
        half = min(len(told) * _WIDE / 2 + 3, wide / 2)
        across = min(max(across, half), wide - half)
        best: tuple[float, float] | None = None
        for step in (0.0, 13.0, -13.0, 26.0, -26.0, 39.0, -39.0):
            at = min(max(down + step, 10.0), tall - 6.0)
            box = (across - half, at - 9.0, across + half, at + 3.0)
            cost = self._covered(box) + abs(step) / 150
            if best is None or cost < best[0]:
                best = (cost, at)
        down = best[1] if best is not None else down
        self.taken.append((across - half, down - 9.0, across + half, down + 3.0))
        self.drawn.append(
            e("text", told, class_=kind, x=f"{across:.1f}", y=f"{down:.1f}", text_anchor="middle")
        )

    def _covered(self, box: tuple[float, float, float, float]) -> float:
        """How much of a box is taken already, as a number of words."""
        x0, y0, x1, y1 = box
        share = 0.0
        for a0, b0, a1, b1 in self.taken:
            share += max(min(x1, a1) - max(x0, a0), 0.0) * max(min(y1, b1) - max(y0, b0), 0.0)
        return share / max((x1 - x0) * (y1 - y0), 1.0)

    def keep_off(
        self,
        marks: Sequence[Mark],
        dimensions: Sequence[tuple[tuple[float, float], tuple[float, float], str]] = (),
    ) -> None:
        """Take the places of discs, figures and the scale before any names are set."""
        for start, end, told in dimensions:
            x, y, half = self._figure(start, end, told)
            self.taken.append((x - half, y - 9.0, x + half, y + 3.0))
        _, tall = self.size
        self.taken.append((4.0, tall - 16.0, 1000.0 / self.unit + 34.0, tall))
        for x, y in _spread([self.xy(*mark.at) for mark in marks], self.size):
            self.taken.append((x - 10.0, y - 10.0, x + 10.0, y + 10.0))
        for mark in marks:
            x, y = self.xy(*mark.at)
            self.taken.append((x - 4.0, y - 4.0, x + 4.0, y + 4.0))

    def dimension(self, start: Sequence[float], end: Sequence[float], told: str) -> None:
        """A size between two places, with a tick at each end and its figure beside it."""
        (ax, ay), (bx, by) = self.xy(start[0], start[1]), self.xy(end[0], end[1])
        length = max(((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5, 0.1)
        nx, ny = (by - ay) / length * 4, (ax - bx) / length * 4
        ticks = "".join(
            f"M{x - nx:.1f} {y - ny:.1f}L{x + nx:.1f} {y + ny:.1f}" for x, y in ((ax, ay), (bx, by))
        )
        self.drawn.append(e("path", class_="dimension", d=f"M{ax:g} {ay:g}L{bx:g} {by:g}{ticks}"))
        x, y, _ = self._figure(start, end, told)
        self.drawn.append(
            e("text", told, class_="figure", x=f"{x:.1f}", y=f"{y:.1f}", text_anchor="middle")
        )

    def _figure(
        self, start: Sequence[float], end: Sequence[float], told: str
    ) -> tuple[float, float, float]:
        """Where a dimension's figure goes, and half its width: discs lie to the right, so left."""
        (ax, ay), (bx, by) = self.xy(start[0], start[1]), self.xy(end[0], end[1])
        wide, tall = self.size
        half = len(told) * _WIDE / 2 + 4
        upright = abs(by - ay) >= abs(bx - ax)
        side = 1 if ax - 2 * half - 8 < 0 else -1
        x = (ax + bx) / 2 + (side * (half + 4) if upright else 0.0)
        y = min(max((ay + by) / 2 + (3.5 if upright else -7.0), 10.0), tall - 6)
        return min(max(x, half), wide - half), y, half

    def marks(self, marks: Sequence[Mark]) -> None:
        """Numbered discs beside their places, kept off one another, each tied to its place."""
        spots = _spread([self.xy(*mark.at) for mark in marks], self.size)
        for mark, (x, y) in zip(marks, spots, strict=True):
            ax, ay = self.xy(*mark.at)
            self.drawn.append(e("path", class_="tie", d=f"M{ax:g} {ay:g}L{x:.1f} {y:.1f}"))
            self.drawn.append(e("circle", class_="dot", cx=f"{ax:g}", cy=f"{ay:g}", r="2"))
        for mark, (x, y) in zip(marks, spots, strict=True):
            disc = e("circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r="9.5")
            told = e(
                "text",
                f"{mark.number}{mark.sign}",
                x=f"{x:.1f}",
                y=f"{y + 3.4:.1f}",
                text_anchor="middle",
            )
            self.drawn.append(e("g", disc, told, class_=f"badge {mark.verdict}"))

    def scale_bar(self, length: float = 1000.0) -> None:
        """A metre, at the lower left."""
        _, tall = self.size
        run, y = length / self.unit, tall - 8
        bar = f"M8 {y - 3:g}V{y:g}H{8 + run:.1f}V{y - 3:g}"
        self.drawn.append(e("path", class_="scale", d=bar))
        told = "1 m" if length == 1000.0 else f"{length:g}"
        self.drawn.append(e("text", told, class_="scale", x=f"{12 + run:.1f}", y=f"{y:g}"))

    def svg(self, title: str, kind: str) -> Markup:
        """The drawing, with its title for those who cannot see it."""
        wide, tall = self.size
        return e(
            "svg",
            e("title", title),
            self.drawn,
            class_=f"drawing {kind}",
            viewBox=f"0 0 {wide:g} {tall:g}",
            role="img",
            aria_label=title,
        )


def _spread(
    anchors: Sequence[tuple[float, float]], size: tuple[float, float]
) -> list[tuple[float, float]]:
    """Places for discs up and to the right of their anchors, none over another, all inside."""
    spots = [(x + 13.0, y - 15.0) for x, y in anchors]
    apart = 22.0
    for _ in range(120):
        moved = False
        for i in range(len(spots)):
            for j in range(i):
                dx = spots[i][0] - spots[j][0]
                dy = spots[i][1] - spots[j][1]
                far = (dx * dx + dy * dy) ** 0.5
                if far >= apart - 1e-6:
                    continue
                if far < 1e-6:
                    dx, dy, far = 1.0, 0.0, 1.0
                push = (apart - far) / 2.0 / far
                spots[i] = (spots[i][0] + dx * push, spots[i][1] + dy * push)
                spots[j] = (spots[j][0] - dx * push, spots[j][1] - dy * push)
                moved = True
        spots = [
            (min(max(x, 11.0), size[0] - 11.0), min(max(y, 11.0), size[1] - 11.0)) for x, y in spots
        ]
        if not moved:
            break
    return spots
