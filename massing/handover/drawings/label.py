"""A label: what is said of a place, and how much it matters where, in; its size and lines out."""

from __future__ import annotations

from dataclasses import dataclass

from massing.geometry.solids import Floats
from massing.handover.drawings.lettering import width_of
from massing.handover.drawings.sheet import Point, Words

__all__ = ["BADGE", "LEVEL", "PITCH", "Label"]

PITCH = 4.0
"""From one line of 2.5 mm lettering to the next, mm."""
BADGE = 8.4
"""Across the sign round a finding's number, mm."""
LEVEL = 5.0
"""Paper a level mark takes before its figure, mm."""


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering that belongs to a place.

    anchor : what it speaks of; home : convex rings it sits in without a leader, or none
    near : how much distance counts; leader : draw one where it is away
    badge : the verdict whose sign goes round it; level : with a level mark before it
    own : its home is a body that is its own, not floor that others may stand on
    short : what stands for the lines where a sheet is too small to letter in full
    """

    lines: tuple[str, ...]
    anchor: Point
    subject: str = ""
    home: tuple[Floats, ...] = ()
    near: float = 0.5
    height: float = 2.5
    bold: bool = False
    leader: bool = True
    badge: str = ""
    level: bool = False
    own: bool = True
    short: str = ""

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the block, mm; a badge is as wide as it is tall."""
        if self.badge:
            return BADGE, BADGE
        wide = max(width_of(line, self.height, bold=self.bold) for line in self.lines)
        wide += LEVEL if self.level else 0.0
        return wide, (len(self.lines) - 1) * self._pitch + self.height * 1.42

    @property
    def _pitch(self) -> float:
        return PITCH * self.height / 2.5

    def words(self, left: float, bottom: float) -> list[Words]:
        """Its lines, the block's bottom left corner at a point."""
        wide, tall = self.size
        top = bottom + (tall / 2.0 if self.badge else tall - self.height * 0.71)
        return [
            Words(
                (left + (wide + (LEVEL if self.level else 0.0)) / 2.0, top - k * self._pitch),
                line,
                self.height,
                self.bold,
                tone="#FFFFFF" if self.badge == "conflict" else "#000000",
                subject=self.subject,
                halo=not self.badge,
            )
            for k, line in enumerate(self.lines)
        ]
