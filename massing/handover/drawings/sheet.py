"""A sheet of drawing paper: sizes, line classes and the marks on it, all in mm of paper.

The origin is the paper's bottom left corner, x to the right, y up. Renderers turn a sheet into
a file and add nothing of their own. Line widths and types follow ISO 128-2, lettering heights
ISO 3098-1 (the height of a capital), sheet sizes ISO 216, borders ISO 5457.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from massing.handover.drawings.lettering import width_of

__all__ = [
    "AXIS",
    "BEYOND",
    "BODY",
    "CUT",
    "DIM",
    "FRAME",
    "HALO",
    "HATCH",
    "HEADROOM",
    "HIDDEN",
    "OPEN",
    "PAPERS",
    "PROJECT",
    "SEEN",
    "ZONE",
    "Box",
    "Disc",
    "Mark",
    "Pen",
    "Point",
    "Sheet",
    "Stroke",
    "Words",
    "bounds_of",
]

Point: TypeAlias = tuple[float, float]
Box: TypeAlias = tuple[float, float, float, float]
"""Left, bottom, right, top."""

PAPERS = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "A2": (594.0, 420.0)}
"""Landscape sheets, mm. Source: ISO 216."""


@dataclass(frozen=True, slots=True)
class Pen:
    """A class of line: width and dashes in mm of paper, tone as #RRGGBB."""

    name: str
    width: float
    dash: tuple[float, float] | None = None
    tone: str = "#000000"


FRAME = Pen("frame", 0.7)
CUT = Pen("cut", 0.5)
BODY = Pen("cut body", 0.35)
SEEN = Pen("seen", 0.25)
BEYOND = Pen("beyond", 0.18, tone="#6E6E6E")
HIDDEN = Pen("above or hidden", 0.25, (2.4, 1.2))
ZONE = Pen("zone", 0.18, (1.0, 1.0), "#505050")
OPEN = Pen("open position", 0.18, (1.8, 0.9), "#303030")
DIM = Pen("dimension", 0.13, tone="#202020")
PROJECT = Pen("projection", 0.13, tone="#9C9C9C")
HATCH = Pen("hatch", 0.13, tone="#404040")
HEADROOM = Pen("headroom", 0.13, (4.0, 2.0), "#7A7A7A")
AXIS = Pen("cutting plane", 0.35)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points, closed or open; ``fill`` is #RRGGBB or None."""

    points: tuple[Point, ...]
    pen: Pen
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    at: Point
    radius: float
    pen: Pen
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """One line of lettering about the middle of its box.

    height : mm of a capital; upright : turned to read from the right; subject : what it speaks of
    halo : keeps a little white round it, so that it reads where lines run behind
    """

    middle: Point
    text: str
    height: float = 2.5
    bold: bool = False
    upright: bool = False
    tone: str = "#000000"
    subject: str = ""
    halo: bool = False

    @property
    def width(self) -> float:
        """Length of the line of lettering, mm."""
        return width_of(self.text, self.height, bold=self.bold)

    @property
    def box(self) -> Box:
        """What the lettering takes, from below its tails to above its capitals."""
        half, tall = self.width / 2.0, self.height * (_OVER + _UNDER) / 2.0
        if self.upright:
            half, tall = tall, half
        x, y = self.middle
        return (x - half, y - tall, x + half, y + tall)

    @property
    def start(self) -> Point:
        """Where its baseline begins."""
        drop, half = self.height * (_OVER - _UNDER) / 2.0, self.width / 2.0
        x, y = self.middle
        return (x + drop, y - half) if self.upright else (x - half, y - drop)


HALO = 0.7
"""Width of the white line lettering is drawn over, mm: half of it shows on either side."""
_OVER, _UNDER = 1.08, 0.34
"""Of a capital's height: above and below the baseline."""

Mark: TypeAlias = Stroke | Disc | Words


@dataclass(frozen=True, slots=True)
class Sheet:
    """One finished sheet.

    width, height : mm; frame : the border everything lies within
    """

    title: str
    paper: str
    width: float
    height: float
    frame: Box
    marks: tuple[Mark, ...]

    @property
    def words(self) -> tuple[Words, ...]:
        """All lettering, in the order it was written."""
        return tuple(mark for mark in self.marks if isinstance(mark, Words))


def bounds_of(mark: Mark) -> Box:
    """The least upright box round a mark, its line's width left out."""
    if isinstance(mark, Words):
        return mark.box
    if isinstance(mark, Disc):
        (x, y), r = mark.at, mark.radius
        return (x - r, y - r, x + r, y + r)
    xs, ys = zip(*mark.points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))
