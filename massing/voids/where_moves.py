"""Over which moves in a plane is a thing clear of all else: a thing and axes in, regions out.

Where its body overlaps nothing is exact: the moves that make two convex solids overlap are a
convex ring, the cut through their Minkowski difference. So are the moves at which its zones, gaps
and moving parts overlap other things, or its body theirs; each piece of those is tried once with
the checks themselves, on the two alone, because a check may let an overlap by. What then is left
is looked at with every check on squares of 250 mm, for what is weighed by share, such as support
and the ways through the room. Regions are shapely geometries in mm of the move.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from massing.checks.context import Context
from massing.checks.nudges import Key, moved_context
from massing.checks.rules import Rules
from massing.geometry.offset import offset_by
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Placed
from massing.voids.in_the_way import Element, moving, standing
from massing.voids.meeting import meeting, overlap_moves
from massing.voids.regions import polygons_of
from massing.voids.trial import first_conflict, standing_conflicts

__all__ = ["SQUARE", "Allowed", "Lift", "Moves"]

SQUARE = 250.0
"""What is weighed by share is looked at once in each square of this size, mm."""

_GRID = 1e-6  # mm; corners are snapped to this
_NARROW = 40.0  # mm; a square halved to less than this is not halved again
_REACH = 1e4  # mm; further than a square reaches
_SPECK = 1.0  # mm²; smaller pieces are not looked at
_SLIT = 0.005  # mm; bodies may overlap so much when places without play are looked for


@dataclass(frozen=True, slots=True, eq=False)
class Lift:
    """One height to look at: how far up, and what the feet must not be over, as solids.

    gone : rings of moves at which it is not at this height
    """

    up: float
    feet: tuple[Convex, ...] = ()
    off: tuple[Convex, ...] = ()
    gone: tuple[Floats, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Allowed:
    """Where a thing may go.

    body : moves at which its body is clear; clear : those of them with no conflict at all
    slits : (n, 2) moves without any play, such as into a gap of its very size
    blocked : (what, mm²) what takes the rest of ``body``, the most first
    """

    body: Any
    clear: Any
    slits: Floats
    blocked: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """A thing of a one-world layout and the plane it moves in.

    axes : (3, 3) unit rows; it moves along the first two
    domain : (2, 2) least and greatest moves; lifts : heights to look at
    zones : whether its zones move along with both axes, and not with the first alone
    rise : how much it rises a mm along each of the two, both level then; its zones do not
    """

    layout: Layout
    rules: Rules
    mover: Placed
    axes: Floats
    domain: Floats
    lifts: tuple[Lift, ...]
    zones: bool = True
    rise: tuple[float, float] = (0.0, 0.0)

    def allowed(self) -> Allowed:
        """Where the thing may go."""
        from shapely import union_all

        others = standing(self.layout, self.rules, self.mover, margin=self._margin())
        body, clear, slits = [], [], []
        blocked: dict[str, float] = {}
        judge = _Judge(self.layout, self.rules, self.mover)
        for lift in self.lifts:
            free, tight = self._free(others, lift)
            body.append(free)
            slits += [spot for spot in tight if not judge.fails(self._by(spot))]
            left = self._overlaps(free, others, lift, judge, blocked)
            clear.append(self._looked_at(left, judge, blocked))
        rows = sorted(blocked.items(), key=lambda row: (-round(row[1]), row[0]))
        return Allowed(
            body=union_all(body, grid_size=_GRID),
            clear=union_all(clear, grid_size=_GRID),
            slits=np.array(slits).reshape(-1, 2),
            blocked=tuple(rows),
        )

    def _margin(self) -> float:
        """Walls thicker than the thing, so that it cannot be past them."""
        return float(np.ptp(np.concatenate([self.mover.low, self.mover.high]), axis=0).sum()) + 1e3

    def _by(self, spot: Floats) -> Floats:
        by = np.asarray(spot @ self.axes[:2])
        by[2] += spot @ np.array(self.rise)
        return by

    def _sheared(self) -> Floats:
        """The axes, the third of them so that nothing moves along it."""
        axes = self.axes.copy()
        axes[2] -= np.array(self.rise) @ self.axes[:2]
        return axes

    def _free(self, others: Iterable[Element], lift: Lift) -> tuple[Any, list[Floats]]:
        """Where the body overlaps nothing, and places without play."""
        from shapely import Polygon, box, union_all

        (own, *_) = moving(self.rules, self.mover)
        bodies = [solid for other in others if other.kind == "body" for solid in other.solids]
        pairs = [(a, b) for a in self._lifted(own, lift) for b in bodies]
        feet = [(a, b) for a in lift.feet for b in lift.off]
        found = [
            *(self._ring(a, b) for a, b in pairs),
            *(self._level(a, b) for a, b in feet),
            *lift.gone,
        ]
        rings = [Polygon(ring) for ring in found if ring is not None]
        whole = box(*self.domain[0], *self.domain[1])
        free = whole.difference(union_all(rings, grid_size=_GRID), grid_size=_GRID)
        small = [offset_by(ring, -_SLIT, join_style="mitre") for ring in rings]
        loose = whole.difference(union_all(small, grid_size=_GRID))
        tight = polygons_of(loose.difference(offset_by(free, 4 * _SLIT, join_style="mitre")))
        return free, [_inside(piece) for piece in tight]

    def _lifted(self, element: Element, lift: Lift) -> tuple[Convex, ...]:
        if not lift.up:
            return element.solids
        return tuple(solid.moved(np.array([0.0, 0.0, lift.up])) for solid in element.solids)

    def _ring(self, a: Convex, b: Convex) -> Floats | None:
        """The moves that make a overlap b, None where the domain has none of them."""
        return self._within(overlap_moves(a, b, self._sheared()))

    def _level(self, a: Convex, b: Convex) -> Floats | None:
        """The same for what does not rise on its way."""
        return self._within(overlap_moves(a, b, self.axes))

    def _within(self, ring: Floats | None) -> Floats | None:
        if ring is None:
            return None
        low, high = ring.min(axis=0), ring.max(axis=0)
        outside = (low >= self.domain[1]).any() or (high <= self.domain[0]).any()
        return None if outside or (high - low).min() <= _GRID else ring

    def _strip(self, a: Convex, b: Convex) -> Floats | None:
        """The moves that make a overlap b where only those along the first axis move it."""
        stretch = meeting(a, b, self.axes[0])
        if stretch is None:
            return None
        low, high = self.domain[:, 1]
        ring = [(stretch[0], low), (stretch[1], low), (stretch[1], high), (stretch[0], high)]
        return np.array(ring) if high > low else None

    def _overlaps(
        self,
        free: Any,
        others: Iterable[Element],
        lift: Lift,
        judge: _Judge,
        blocked: dict[str, float],
    ) -> Any:
        """What is left of the free moves where overlaps of zones, gaps and motions are clear."""
        from shapely import Polygon, union_all

        left = free
        for other in others:
            for own in moving(self.rules, self.mover):
                if own.kind == other.kind == "body":
                    continue
                meet = self._ring
                if own.kind == "zone":
                    meet = self._level if self.zones else self._strip
                pairs = ((a, b) for a in self._lifted(own, lift) for b in other.solids)
                rings = [Polygon(ring) for a, b in pairs if (ring := meet(a, b)) is not None]
                over = left.intersection(union_all(rings), grid_size=_GRID) if rings else None
                for piece in polygons_of(over) if over is not None else ():
                    if piece.area < _SPECK:
                        continue
                    if judge.fails(self._by(_inside(piece)), other.owner):
                        what = _words(own, other)
                        blocked[what] = blocked.get(what, 0.0) + piece.area
                        left = left.difference(piece, grid_size=_GRID)
        return left

    def _looked_at(self, left: Any, judge: _Judge, blocked: dict[str, float]) -> Any:
        """What is left where every check, asked once a square, finds nothing."""
        from shapely import union_all

        gone = []
        for square in _squares(left):
            for piece in polygons_of(left.intersection(square, grid_size=_GRID)):
                for part, found in self._judged(piece, judge, SQUARE):
                    blocked[found] = blocked.get(found, 0.0) + part.area
                    gone.append(part)
        return left.difference(union_all(gone), grid_size=_GRID) if gone else left

    def _judged(self, piece: Any, judge: _Judge, size: float) -> Iterator[tuple[Any, str]]:
        """Parts of a piece that are in conflict, and with what.

        What rises on its way is looked at where it is lowest and highest in a square. Where only
        one of them is clear the square is halved across the rise until it is narrow, and what
        then still differs is left out.
        """
        if piece.area < _SPECK:
            return
        if not any(self.rise):
            found = judge.first(self._by(_inside(piece)))
            if found is not None:
                yield piece, found
            return
        ends = self._ends(piece)
        low, high = (judge.first(self._by(end)) for end in ends)
        if (low is None) is (high is None) or size < _NARROW:
            if (why := low or high) is not None:
                yield piece, why
            return
        for half in _halves(piece, ends, np.array(self.rise)):
            for part in polygons_of(half):
                yield from self._judged(part, judge, size / 2.0)

    def _ends(self, piece: Any) -> tuple[Floats, Floats]:
        """The lowest and the highest corner of a piece, drawn in a little."""
        corners = np.array(piece.exterior.coords)
        order = corners @ np.array(self.rise)
        middle = _inside(piece)
        low, high = (
            corners[k] + 1e-3 * (middle - corners[k]) for k in (order.argmin(), order.argmax())
        )
        return low, high


def _halves(piece: Any, ends: tuple[Floats, Floats], rise: Floats) -> Iterator[Any]:
    """A piece cut square to the rise, half-way between two places."""
    from shapely import Polygon

    up = rise / np.hypot(*rise)
    along, middle = np.array([-up[1], up[0]]), (ends[0] + ends[1]) / 2.0
    for side in (-_REACH * up, _REACH * up):
        ring = [middle - _REACH * along, middle + _REACH * along]
        half = Polygon([*ring, ring[1] + side, ring[0] + side])
        yield piece.intersection(half, grid_size=_GRID)


def _inside(piece: Any) -> Floats:
    """A place within a region, well off its edges where it has room."""
    point = piece.centroid if piece.contains(piece.centroid) else piece.representative_point()
    return np.array([point.x, point.y])


def _squares(region: Any) -> Iterator[Any]:
    """Squares that cover a region, row by row."""
    from shapely import box

    if region.is_empty:
        return
    low, high = np.array(region.bounds[:2]), np.array(region.bounds[2:])
    count = np.maximum(np.ceil((high - low) / SQUARE - 1e-9), 1).astype(int)
    for j in range(count[1]):
        for i in range(count[0]):
            corner = low + SQUARE * np.array([i, j])
            yield box(*corner, *(corner + SQUARE))


def _words(own: Element, other: Element) -> str:
    """Such as ``its zone and chest``, ``its body and the motion of washer``."""
    return f"its {own.kind} and " + (
        other.owner if other.kind == "body" else f"the {other.kind} of {other.owner}"
    )


class _Judge:
    """Asks the checks about one thing, in the whole layout or with one other thing alone."""

    def __init__(self, layout: Layout, rules: Rules, mover: Placed) -> None:
        self._layout, self._rules, self._mover = layout, rules, mover
        self._known: dict[str | None, tuple[Layout, frozenset[Key]]] = {}

    def fails(self, by: Floats, owner: str | None = None) -> bool:
        """Whether anything is in conflict at a move; with an owner, of the two alone."""
        return self._found(by, owner) is not None

    def first(self, by: Floats) -> str | None:
        """The check and the things of the first conflict found at a move, in words."""
        found = self._found(by, None)
        if found is None:
            return None
        others = [name for name in found[1] if name != self._mover.name]
        return found[0] + (f" ({', '.join(others)})" if others else "")

    def _found(self, by: Floats, owner: str | None) -> Key | None:
        layout, known = self._alone(owner)
        before = Context(layout, self._rules, reach=TOUCH)
        moved = moved_context(before, self._mover.name, by).layout
        return first_conflict(moved, self._rules, self._mover.name, known)

    def _alone(self, owner: str | None) -> tuple[Layout, frozenset[Key]]:
        if owner not in self._known:
            kept = tuple(
                item
                for item in self._layout.items
                if owner is None or item is self._mover or item.name == owner
            )
            layout = replace(self._layout, items=kept)
            rest = replace(layout, items=tuple(i for i in kept if i is not self._mover))
            self._known[owner] = (layout, standing_conflicts(rest, self._rules))
        return self._known[owner]
