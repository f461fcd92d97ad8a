"""The drawing board: marks go on one at a time; what is taken and what is inked is remembered.

Lettering is kept apart exactly: a new line of it goes only where no other is. Linework counts
against a place without forbidding it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.drawings.clearings import Bools, crossing, in_way, inside, starts_of, sums
from massing.handover.drawings.label import BADGE, Label
from massing.handover.drawings.sheet import (
    BODY,
    DIM,
    SEEN,
    Box,
    Disc,
    Mark,
    Pen,
    Point,
    Stroke,
    Words,
)

__all__ = ["Board"]

_GAP, _ASIDE = 0.6, 1.8
"""Paper kept between one label and the next above or below, and beside it, mm."""
_CLEAR_OF_EDGE = 0.5
_ELBOWS = tuple(
    (round(r * float(np.cos(t)), 3), round(r * float(np.sin(t)), 3))
    for r in (6.0, 10.0, 16.0, 24.0)
    for t in np.arange(16) * np.pi / 8.0
)
"""Where a leader that cannot run straight may turn, mm from its end."""
_SHARES = tuple((a, b) for a in (0.5, 0.3, 0.7, 0.12, 0.88) for b in (0.5, 0.25, 0.75, 0.08, 0.92))
_KEEP = 250
_NEAR = 60.0
"""How far from its place a label is first looked for room, mm."""


@dataclass(slots=True, eq=False)
class Board:
    """Marks on a sheet of a size, mm, and the cells of 1 mm they take.

    crossings : leaders that cross another; terse : labels are written short
    """

    width: float
    height: float
    marks: list[Mark] = field(default_factory=list)
    ink: Floats = field(init=False)
    bodies: Floats = field(init=False)
    taken: Floats = field(init=False)
    lettering: list[Box] = field(default_factory=list)
    leaders: list[tuple[Point, Point]] = field(default_factory=list)
    spots: list[Point] = field(default_factory=list)
    crossings: int = 0
    terse: bool = False

    def __post_init__(self) -> None:
        shape = (int(np.ceil(self.width)) + 1, int(np.ceil(self.height)) + 1)
        self.ink = np.zeros(shape)
        self.bodies = np.zeros(shape)
        self.taken = np.zeros(shape)

    def line(self, points: Sequence[Point] | Floats, pen: Pen, *, closed: bool = False) -> None:
        """Draw through points."""
        self.area(points, pen, None, closed=closed)

    def area(
        self,
        points: Sequence[Point] | Floats,
        pen: Pen,
        fill: str | None,
        *,
        closed: bool = True,
        weight: float | None = None,
    ) -> None:
        """Draw a line, closed and filled where asked.

        weight : how much lettering shuns it; the heavier the line the more when left out
        """
        held = tuple((float(x), float(y)) for x, y in points)
        self.marks.append(Stroke(held, pen, closed, fill))
        ring = [*held, held[0]] if closed else list(held)
        self._inked(ring, max(0.4, 5.0 * pen.width) if weight is None else weight)

    def disc(self, at: Point, radius: float, pen: Pen, fill: str | None = None) -> None:
        """Draw a circle."""
        self.marks.append(Disc(at, radius, pen, fill))
        self._cells((at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius), self.ink, 0.7)

    def chain(self, start: Point, end: Point, pen: Pen) -> None:
        """Draw a long dash, dot line: the trace of a cutting plane or an axis."""
        way = np.subtract(end, start)
        length = float(np.hypot(*way))
        if length < 1e-9:
            return
        at, k = 0.0, 0
        while at < length:
            long = (9.0, 0.4)[k % 2]
            a, b = (np.add(start, way * min(t, length) / length) for t in (at, at + long))
            self.line([(float(a[0]), float(a[1])), (float(b[0]), float(b[1]))], pen)
            at, k = at + long + 1.8, k + 1

    def words(self, words: Words) -> None:
        """Write lettering where it is told to go."""
        self.marks.append(words)
        self.keep(words.box)

    def keep(self, box: Box) -> None:
        """Take a box, so that no lettering is put there."""
        self.lettering.append(box)
        self._cells(box, self.taken, 1.0)

    def shade(self, box: Box, weight: float) -> None:
        """Make a body's box less welcome to the lettering of other things."""
        self._cells(box, self.bodies, weight)

    def spare(self, at: Point) -> None:
        """Keep labels off a small spot, so that a leader can end there."""
        self.spots.append(at)
        self._cells((at[0] - 2.0, at[1] - 2.0, at[0] + 2.0, at[1] + 2.0), self.ink, 3.0)

    def crowd(self, box: Box) -> float:
        """How much line and lettering a box would cover."""
        i0, j0 = max(0, int(np.floor(box[0]))), max(0, int(np.floor(box[1])))
        i1, j1 = int(np.ceil(box[2])), int(np.ceil(box[3]))
        part = self.ink[i0:i1, j0:j1].sum() + 20.0 * self.taken[i0:i1, j0:j1].sum()
        return float(part)

    def free(self, box: Box, gap: float = _GAP) -> bool:
        """Whether a box touches no lettering."""
        return bool(self._free(np.array([box]), gap)[0])

    def place(self, label: Label, within: Box) -> bool:
        """Write a label at the best free place within a box, with a leader where it is away."""
        if self.terse and label.short:
            label = replace(label, lines=(label.short,))
        x, y = self._bare_point(label)
        spot = (min(max(x, within[0]), within[2]), min(max(y, within[1]), within[3]))
        at = replace(label, anchor=spot)
        if self._placed(at, within, apart=True):
            return True
        if not label.leader:
            return False
        if any(self._bent(label, spot, elbow, within, apart=True) for elbow in _ELBOWS):
            return True
        # Rather over another leader than not at all, for what is a thing of its own.
        if label.own and self._placed(at, within, apart=False):
            self.crossings += 1
            return True
        if label.own and any(
            self._bent(label, spot, elbow, within, apart=False) for elbow in _ELBOWS
        ):
            self.crossings += 1
            return True
        return False

    def _placed(self, label: Label, within: Box, via: Point | None = None, *, apart: bool) -> bool:
        """Write a label where its leader runs straight to its anchor, and on to ``via``.

        apart : its leader crosses no other
        """
        spot = label.anchor
        for corners, home in self._everywhere(label, within, bent=apart and via is not None):
            boxes = np.hstack([corners, corners + label.size])
            good = self._free(boxes, _GAP, _ASIDE if apart else _GAP)
            starts, long = starts_of(boxes, spot)
            drawn = (~home | (via is not None)) & long & label.leader
            tried = good & drawn
            good[tried] = ~self._crosses(starts[tried], spot)
            if apart and self.leaders:
                tried = good & drawn
                good[tried] = ~crossing(starts[tried], spot, self.leaders)
            if via is not None:
                good &= long & ~in_way(boxes, spot, via)
            if not good.any():
                continue
            k = int(np.argmax(good))
            if drawn[k]:
                end = spot if via is None else via
                path = [(float(starts[k, 0]), float(starts[k, 1])), spot]
                self.line([*path, end], DIM)
                self.disc(end, 0.5, DIM, "#000000")
                self.leaders += [leg for leg in pairwise([*path, end]) if leg[0] != leg[1]]
            self.write(label, float(corners[k, 0]), float(corners[k, 1]))
            return True
        return False

    def _bent(self, label: Label, spot: Point, elbow: Point, within: Box, *, apart: bool) -> bool:
        """Write a label with a leader that turns once, off what lies round its end."""
        x, y = spot[0] + elbow[0], spot[1] + elbow[1]
        held = within[0] <= x <= within[2] and within[1] <= y <= within[3]
        if not held or self._covered((x, y)) or self._crosses(np.array([[x, y]]), spot)[0]:
            return False
        if apart and crossing(np.array([[x, y]]), spot, self.leaders)[0]:
            return False
        return self._placed(replace(label, anchor=(x, y)), within, spot, apart=apart)

    def write(self, label: Label, left: float, bottom: float) -> None:
        """Write a label with its bottom left corner at a point."""
        wide, tall = label.size
        if label.badge:
            self._badge(label.badge, (left + wide / 2.0, bottom + tall / 2.0))
        if label.level:
            self._level_mark((left + 1.7, bottom + tall / 2.0))
        self.marks.extend(label.words(left, bottom))
        self.keep((left, bottom, left + wide, bottom + tall))

    def _level_mark(self, at: Point) -> None:
        """A circle quartered, two quarters filled: the level of a finished surface."""
        x, y = at
        self.disc(at, 1.5, DIM, "#FFFFFF")
        for sign in (1.0, -1.0):
            turns = np.linspace(0.0, np.pi / 2.0, 9)
            arc = np.stack([x + sign * 1.5 * np.cos(turns), y + sign * 1.5 * np.sin(turns)], axis=1)
            self.area(np.vstack([[x, y], arc]), DIM, "#000000")

    def _badge(self, kind: str, at: Point) -> None:
        """The sign round a finding's number: filled disc, heavy ring, or square."""
        half = BADGE / 2.0 - 0.3
        if kind == "caution":
            (x, y), side = at, half - 0.3
            ring = [(x - side, y - side), (x + side, y - side), (x + side, y + side)]
            self.area([*ring, (x - side, y + side)], SEEN, "#FFFFFF")
        else:
            self.disc(at, half, BODY, "#000000" if kind == "conflict" else "#FFFFFF")

    def _everywhere(
        self, label: Label, within: Box, *, bent: bool
    ) -> Iterator[tuple[Floats, Bools]]:
        """Free places in turn, the best first: those near what it speaks of, then all of them.

        bent : its leader may turn in many ways, so only the best places near by are tried
        """
        x, y = label.anchor
        near = (x - _NEAR, y - _NEAR * 0.6, x + _NEAR, y + _NEAR * 0.6)
        inner = (
            max(within[0], near[0]),
            max(within[1], near[1]),
            min(within[2], near[2]),
            min(within[3], near[3]),
        )
        tries = ((inner, _KEEP),) if bent else ((inner, 4 * _KEEP), (within, 30 * _KEEP))
        for box, most in tries:
            corners, home = self._spots(label, box, most)
            for first in range(0, len(corners), _KEEP):
                yield corners[first : first + _KEEP], home[first : first + _KEEP]

    def _spots(self, label: Label, within: Box, most: int) -> tuple[Floats, Bools]:
        """Bottom left corners (n, 2) of free places, the best first, and which are at home."""
        wide, tall = size = label.size
        lefts = np.arange(np.ceil(within[0] + _CLEAR_OF_EDGE), within[2] - wide - _CLEAR_OF_EDGE)
        bottoms = np.arange(np.ceil(within[1] + _CLEAR_OF_EDGE), within[3] - tall - _CLEAR_OF_EDGE)
        none = np.zeros((0, 2)), np.zeros(0, dtype=bool)
        if not len(lefts) or not len(bottoms):
            return none
        x, y = (grid.ravel() for grid in np.meshgrid(lefts, bottoms, indexing="ij"))
        free = sums(self.taken, x, y, size) == 0.0
        x, y = x[free], y[free]
        if not len(x):
            return none
        home = inside(label.home, x, y, size)
        off = np.hypot(x + wide / 2 - label.anchor[0], y + tall / 2 - label.anchor[1])
        ink = sums(self.ink, x, y, size)
        bodies = 0.5 * sums(self.bodies, x, y, size)
        at_home = 0.0 if label.own else bodies
        far = np.where(home, label.near, max(label.near, 0.5))
        cost = ink * 0.9 + off * far + np.where(home, at_home, 14.0 + bodies)
        best = np.argsort(cost, kind="stable")[:most]
        return np.stack([x[best], y[best]], axis=1), home[best]

    def _bare_point(self, label: Label) -> Point:
        """What a leader points at, moved within its home off any lettering there."""
        if not self._covered(label.anchor):
            return label.anchor
        for ring in label.home:
            low, high = ring.min(axis=0), ring.max(axis=0)
            for share in _SHARES:
                spot = low + np.array(share) * (high - low)
                point = (float(spot[0]), float(spot[1]))
                here = inside((ring,), spot[:1], spot[1:], (0.0, 0.0), 0.1)
                if here[0] and not self._covered(point):
                    return point
        return label.anchor

    def _covered(self, point: Point) -> bool:
        return not self.free((*point, *point), 0.4)

    def _free(self, boxes: Floats, gap: float, aside: float = 0.0) -> Bools:
        """(n,) whether each of (n, 4) boxes touches no lettering."""
        held = self._held()
        beside = max(gap, aside)
        apart = boxes[:, :1] >= held[2] + beside
        apart |= boxes[:, 1:2] >= held[3] + gap
        apart |= boxes[:, 2:3] <= held[0] - beside
        apart |= boxes[:, 3:] <= held[1] - gap
        good = np.asarray(apart.all(axis=1))
        for x, y in self.spots:
            off = np.maximum(boxes[:, :2] - (x, y), (x, y) - boxes[:, 2:])
            good &= off.max(axis=1) > 0.7
        for start, end in self.leaders:
            good &= ~in_way(boxes + np.array([-0.2, -0.2, 0.2, 0.2]), start, end)
        return good

    def _held(self) -> Floats:
        """(4, n) left, bottom, right and top of all lettering."""
        return np.array(self.lettering, dtype=np.float64).reshape(-1, 4).T

    def _crosses(self, starts: Floats, end: Point) -> Bools:
        """(n,) whether leaders pass through lettering other than what is on their very end."""
        left, bottom, right, top = self._held() + np.array([[-0.2], [-0.2], [0.2], [0.2]])
        x, y = end
        under = (left <= x) & (right >= x) & (bottom <= y) & (top >= y)
        near, far = 0.0, 1.0
        for k, (low, high) in enumerate(((left, right), (bottom, top))):
            step = end[k] - starts[:, k : k + 1]
            step = np.where(np.abs(step) < 1e-9, 1e-9, step)
            one, two = (low - starts[:, k : k + 1]) / step, (high - starts[:, k : k + 1]) / step
            near = np.maximum(near, np.minimum(one, two))
            far = np.minimum(far, np.maximum(one, two))
        return np.asarray(((near < far) & ~under).any(axis=1))

    def _inked(self, ring: Sequence[Point], weight: float) -> None:
        for a, b in pairwise(ring):
            length = float(np.hypot(b[0] - a[0], b[1] - a[1]))
            t = np.linspace(0.0, 1.0, max(2, int(length) + 1))
            i = np.clip(a[0] + t * (b[0] - a[0]), 0, self.ink.shape[0] - 1).astype(int)
            j = np.clip(a[1] + t * (b[1] - a[1]), 0, self.ink.shape[1] - 1).astype(int)
            self.ink[i, j] = np.maximum(self.ink[i, j], weight)

    def _cells(self, box: Box, raster: Floats, value: float) -> None:
        i0, j0 = max(0, int(np.floor(box[0]))), max(0, int(np.floor(box[1])))
        i1, j1 = max(0, int(np.ceil(box[2]))), max(0, int(np.ceil(box[3])))
        raster[i0:i1, j0:j1] = np.maximum(raster[i0:i1, j0:j1], value)
