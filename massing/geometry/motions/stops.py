"""How far does each moving solid get, and which obstacle stops it? Paths and solids in, reach out.

A path is a convex solid that turns about a line or slides along one, from where it stands shut.
Everything is in closed form (see ``motions_turn`` and ``motions_slide``): nothing is sampled, so
an obstacle of any thinness counts. Contact no deeper than TOUCH never stops anything, and neither
does leaving an obstacle that is touched at the start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from massing.errors import GeometryError
from massing.geometry.motions.slide import prism_slide, solid_slide
from massing.geometry.motions.turn import (
    inset,
    level_shadow,
    shadow,
    turn_contact,
    upright_shadow,
)
from massing.geometry.solids import Convex, Faces, Floats, Ints, cross_of
from massing.geometry.tolerance import TOUCH

__all__ = ["Contacts", "Path", "Turn", "eased", "first_contacts", "path_bounds", "turns_of"]

_ROWS = 1 << 13  # rows worked on at once
Bools = NDArray[np.bool_]
_Answer = tuple[Ints, Floats, Bools]


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A convex solid, shut, and the way it moves.

    axis : (worlds, 3) unit direction: what it turns about by the right-hand rule, or slides along
    about : (worlds, 3) a point on the axis, or None for a slide
    full : (worlds,) the whole travel, radians (under a whole turn) or mm
    A turning solid is straight along its axis: a box with four of its edges on the axis's way.
    """

    solid: Convex
    axis: Floats
    about: Floats | None
    full: Floats

    @property
    def worlds(self) -> int:
        """Number of worlds."""
        return max(self.solid.worlds, len(self.axis), len(self.full))

    def at(self, amount: Floats | float) -> Convex:
        """The solid when it has moved so far, radians or mm; amount is a number or (worlds,).

        >>> from massing.geometry.solids import box
        >>> lid = box([0, 0, 780], [600, 500, 800])
        >>> about = np.array([[0.0, 500.0, 800.0]])
        >>> open_ = Path(lid, np.array([[-1.0, 0, 0]]), about, np.array([1.5])).at(np.pi / 2)
        >>> open_.low.round(6).tolist(), open_.high.round(6).tolist()
        ([[0.0, 480.0, 800.0]], [[600.0, 500.0, 1300.0]])
        """
        far = np.broadcast_to(np.asarray(amount, dtype=np.float64), (self.worlds,))
        if self.about is None:
            return self.solid.moved(far[:, None] * self.axis)
        off = self.solid.corners - self.about[:, None]
        axis = self.axis[:, None]
        along = (off * axis).sum(axis=-1, keepdims=True) * axis
        cos, sin = np.cos(far)[:, None, None], np.sin(far)[:, None, None]
        turned = along + cos * (off - along) + sin * cross_of(axis, off)
        upright = bool((np.abs(np.abs(self.axis[:, 2]) - 1.0) < 1e-12).all())
        faces = self.solid.faces
        if faces.upright and not upright:
            faces = Faces(faces.rings)
        return Convex(turned + self.about[:, None], faces)


@dataclass(frozen=True, slots=True, eq=False)
class Contacts:
    """How far m pairs of a path and an obstacle get.

    reach : (worlds, m) radians or mm, the limit where the obstacle does not stop it
    inside : (worlds, m) the two overlap already while shut; reach is 0 there
    """

    reach: Floats
    inside: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Turn:
    """Turns in their own planes, the paths on the first axis and the worlds on the second.

    right, up, axis : (paths, worlds, 3) the plane's axes and the turning axis, right-handed; up
        is z where the axis is level
    section : (paths, worlds, 4, 2) the panel's section from the axis, counter-clockwise
    ends : (paths, worlds, 2) along the axis
    kinds : how each axis lies: upright, level or leaning
    """

    about: Floats
    right: Floats
    up: Floats
    axis: Floats
    section: Floats
    ends: Floats
    kinds: tuple[str, ...]

    def rows(self, which: Ints) -> tuple[Floats, ...]:
        """(rows, ...) arrays of the paths asked for, path by path with the worlds within."""
        parts = (self.about, self.right, self.up, self.axis, self.section, self.ends)
        return tuple(part[which].reshape(-1, *part.shape[2:]) for part in parts)


# Corners of the end of a box, by which of the edges from its first corner the axis runs along.
_END_FACES = np.array([[0, 3, 7, 4], [0, 1, 5, 4], [0, 1, 2, 3]])


def turns_of(paths: Sequence[Path], worlds: int) -> Turn:
    """The planes some paths turn in; GeometryError for a slide, or a solid that is no box."""
    return _turns_of(tuple(paths), worlds)


# The same paths are asked about again: how far they reach, then what stops them.
@lru_cache(maxsize=8)
def _turns_of(paths: tuple[Path, ...], worlds: int) -> Turn:
    if any(path.about is None or path.solid.corners.shape[1] != 8 for path in paths):
        raise GeometryError("only a box turns in a plane, about one of its own ways")
    axis = _stack([path.axis for path in paths], worlds)
    about = _stack([path.about for path in paths if path.about is not None], worlds)
    corners = _stack([path.solid.corners for path in paths], worlds)
    guide = np.where(np.abs(axis[..., 2:]) > 0.9, (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    up = guide - (guide * axis).sum(axis=-1, keepdims=True) * axis
    up = up / np.linalg.norm(up, axis=-1, keepdims=True)
    right = cross_of(up, axis)
    off = corners - about[:, :, None]
    along, x, y = (np.einsum("pwni,pwi->pwn", off, way) for way in (axis, right, up))
    edges = corners[:, 0, [1, 3, 4]] - corners[:, 0, :1]
    edges = edges / np.linalg.norm(edges, axis=-1, keepdims=True)
    share = np.abs(np.einsum("pei,pi->pe", edges, axis[:, 0]))
    if float(share.max(axis=1).min(initial=1.0)) < 1.0 - 1e-9:
        raise GeometryError("only a box turns in a plane, about one of its own ways")
    face = _END_FACES[share.argmax(axis=1)][:, None]
    section = np.stack([np.take_along_axis(v, face, axis=2) for v in (x, y)], axis=-1)
    one, two = section[:, 0, 1] - section[:, 0, 0], section[:, 0, 2] - section[:, 0, 1]
    clockwise = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] < 0.0
    section = np.where(clockwise[:, None, None, None], section[:, :, ::-1], section)
    ends = np.stack([along.min(axis=2), along.max(axis=2)], axis=-1)
    rise = np.abs(axis[..., 2])
    kinds = [
        "upright" if high > 1.0 - 1e-12 else "level" if low < 1e-12 else "leaning"
        for high, low in zip(rise.min(axis=1), rise.max(axis=1), strict=True)
    ]
    return Turn(about, right, up, axis, section, ends, tuple(kinds))


def eased(paths: Sequence[Path]) -> tuple[Path, ...]:
    """Panels whose free edges are rounded off to the circle their leading edges run on.

    A square-edged leaf 600 x 50 would reach 2 mm beyond its own width as it starts to turn, and
    could not leave its own frame; a real one is eased, rebated or hung to clear it. A slide, and
    a panel that does not turn about an edge of its leading face, is left as it is.
    """
    found = list(paths)
    turning = [k for k, path in enumerate(paths) if path.about is not None]
    if not turning:
        return tuple(found)
    worlds = max(paths[k].worlds for k in turning)
    turn = turns_of([paths[k] for k in turning], worlds)
    shifts = _easing(turn, _stack([paths[k].solid.corners for k in turning], worlds))
    for row, k in enumerate(turning):
        path = paths[k]
        shift = shifts[row]
        if shift is None:
            continue
        upright = path.solid.faces.upright and turn.kinds[row] == "upright"
        faces = path.solid.faces if upright else Faces(path.solid.faces.rings)
        solid = Convex((path.solid.corners + shift)[: path.worlds], faces)
        found[k] = Path(solid, path.axis, path.about, path.full)
    return tuple(found)


def _easing(turn: Turn, corners: Floats) -> list[Floats | None]:
    """What each corner (paths, worlds, 8, 3) moves by, a path at a time."""
    radius = np.hypot(turn.section[..., 0], turn.section[..., 1])
    order = np.argsort(radius[:, 0], axis=1, kind="stable")
    every = np.arange(len(order))
    wide = radius[every, :, order[:, 2]][..., None]
    head = turn.section[every, :, order[:, 2]]
    way = (head[..., :1] * turn.right + head[..., 1:] * turn.up) / wide
    off = corners - turn.about[:, :, None]
    axial = np.einsum("pwni,pwi->pwn", off, turn.axis)
    along = np.einsum("pwni,pwi->pwn", off, way)
    across = np.maximum((off * off).sum(axis=-1) - axial**2 - along**2, 0.0)
    short = np.sqrt(np.maximum(wide**2 - across, 0.0))
    shift = np.where(along > short + 1e-9, short - along, 0.0)[..., None] * way[:, :, None]
    hinged = radius[every, :, order[:, 0]].max(axis=1) <= TOUCH
    return [shift[k] if hinged[k] else None for k in every]


def _stack(arrays: Sequence[Floats], worlds: int) -> Floats:
    """(paths, worlds, ...) of arrays that have one world or all of them."""
    if worlds == 1:
        return np.array(arrays)
    return np.stack([np.broadcast_to(a, (worlds, *a.shape[1:])) for a in arrays])


def first_contacts(
    paths: Sequence[Path], obstacles: Sequence[Convex], pairs: Ints, limits: Floats
) -> Contacts:
    """How far each pair's path gets before its obstacle stops it.

    pairs : (m, 2) numbers into paths and obstacles; limits : (paths,) how far to look, radians
    (under a whole turn) or mm

    >>> from massing.geometry.solids import box
    >>> drawer = Path(box([0, 0, 100], [600, 500, 300]), np.array([[0.0, -1, 0]]), None,
    ...               np.array([480.0]))
    >>> wall = box([-500, -500, 0], [900, -400, 2400])
    >>> first_contacts([drawer], [wall], np.array([[0, 0]]), np.array([480.0])).reach.tolist()
    [[400.0]]
    """
    worlds = max([1, *(p.worlds for p in paths), *(o.worlds for o in obstacles)])
    pairs = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    reach = np.broadcast_to(np.asarray(limits, dtype=np.float64)[pairs[:, 0]], (worlds, len(pairs)))
    found = Contacts(reach.copy(), np.zeros(reach.shape, dtype=bool))
    turning = [k for k, path in enumerate(paths) if path.about is not None]
    met = set(pairs[:, 0].tolist())
    asked = [k for k in turning if k in met]
    # Their planes are known where their bounds were asked for, of all of them.
    turning = turning if 2 * len(asked) > len(turning) else asked
    turns = turns_of([paths[k] for k in turning], worlds) if turning else None
    place = {k: number for number, k in enumerate(turning)}
    lies = {k: turns.kinds[place[k]] for k in turning} if turns else {}
    kinds: dict[tuple[str, int, int], list[int]] = {}
    for number, (p, o) in enumerate(pairs.tolist()):
        kinds.setdefault(_kind(paths[p], lies.get(p, ""), obstacles[o]), []).append(number)
    for (kind, _, _), members in kinds.items():
        step = max(1, _ROWS // worlds)
        for first in range(0, len(members), step):
            chosen = np.array(members[first : first + step])
            rows = _Rows(paths, obstacles, pairs[chosen], limits, worlds)
            if turns is None or kind.startswith("slide"):
                answer, inside = rows.slides(kind)
            else:
                which = np.array([place[p] for p in pairs[chosen, 0].tolist()])
                answer, inside = rows.turned(kind, turns.rows(which))
            found.reach[:, chosen] = answer.reshape(len(chosen), worlds).T
            found.inside[:, chosen] = inside.reshape(len(chosen), worlds).T
    return found


def _kind(path: Path, lies: str, obstacle: Convex) -> tuple[str, int, int]:
    """What can share one array: the kernel, and the corner counts it needs alike."""
    corners = obstacle.corners.shape[1]
    if not lies:
        if path.solid.faces.upright and obstacle.faces.upright:
            return ("slide prism", path.solid.corners.shape[1], corners)
        return ("slide", 0, 0)
    if obstacle.faces.upright and lies != "leaning":
        return (lies, 0, corners)
    return ("any", corners, len(obstacle.faces.edges))


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Some pairs of one kind, their arrays stacked pair by pair with the worlds within."""

    paths: Sequence[Path]
    obstacles: Sequence[Convex]
    pairs: Ints
    limits: Floats
    worlds: int

    @property
    def limit(self) -> Floats:
        return np.repeat(np.asarray(self.limits, dtype=np.float64)[self.pairs[:, 0]], self.worlds)

    def stacked(self, arrays: Sequence[Floats]) -> Floats:
        """(pairs * worlds, ...) of arrays that have one world or all of them."""
        if self.worlds == 1:
            return np.concatenate(arrays)
        return np.concatenate([np.broadcast_to(a, (self.worlds, *a.shape[1:])) for a in arrays])

    def others(self) -> tuple[Floats, Floats, Floats]:
        """Plan rings, low and high of obstacles that are upright prisms."""
        return self._prisms([self.obstacles[o] for o in self.pairs[:, 1]])

    def _prisms(self, solids: Sequence[Convex]) -> tuple[Floats, Floats, Floats]:
        corners = self.stacked([solid.corners for solid in solids])
        half = corners.shape[1] // 2
        return corners[:, :half, :2], corners[:, 0, 2], corners[:, half, 2]

    def slides(self, kind: str) -> tuple[Floats, Bools]:
        """Travel of each row."""
        movers = [self.paths[p] for p in self.pairs[:, 0]]
        if kind == "slide prism":
            way = self.stacked([path.axis for path in movers])
            return prism_slide(
                self._prisms([path.solid for path in movers]), self.others(), way, self.limit
            )
        found = list(self._one_by_one(movers))
        return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])

    def _one_by_one(self, movers: Sequence[Path]) -> Iterator[tuple[Floats, Bools]]:
        for path, (p, o) in zip(movers, self.pairs.tolist(), strict=True):
            way = np.broadcast_to(path.axis, (self.worlds, 3))
            limit = np.full(self.worlds, float(self.limits[p]))
            yield solid_slide(path.solid, self.obstacles[o], way, limit)

    def turned(self, kind: str, turns: tuple[Floats, ...]) -> tuple[Floats, Bools]:
        """Angle of each row."""
        about, right, up, axis, section, ends = turns
        ends = ends + np.array([TOUCH, -TOUCH])
        if kind == "any":
            ring, met = self._any_shadow(about, right, up, axis, ends)
        else:
            plan, low, high = self.others()
            plan, low, high = plan - about[:, None, :2], low - about[:, 2], high - about[:, 2]
            if kind == "level":
                ring, met = level_shadow(plan, low, high, ends, axis, right)
            else:
                down = axis[:, 2] < 0.0
                low, high = np.where(down, -high, low), np.where(down, -low, high)
                ring, met = upright_shadow(plan, low, high, ends, right, up)
        reach, inside = turn_contact(inset(section), ring, self.limit)
        return np.where(met, reach, self.limit), inside & met

    def _any_shadow(
        self, about: Floats, right: Floats, up: Floats, axis: Floats, ends: Floats
    ) -> tuple[Floats, Bools]:
        solids = [self.obstacles[o] for o in self.pairs[:, 1].tolist()]
        heads, tails = (
            self.stacked([solid.corners[:, solid.faces.edges[:, k]] for solid in solids])
            for k in (0, 1)
        )
        plane = np.stack([right, up, axis], axis=1)
        own = [np.einsum("rki,rei->rek", plane, e - about[:, None]) for e in (heads, tails)]
        return shadow(own[0], own[1], ends)


def path_bounds(paths: Sequence[Path], limits: Floats) -> tuple[Floats, Floats]:
    """Least and greatest corner of all that each path passes through, each (paths, 3) mm.

    Over every world, and never smaller than the truth.
    """
    limit = np.asarray(limits, dtype=np.float64)
    low, high = np.empty((len(paths), 3)), np.empty((len(paths), 3))
    slides = [k for k, path in enumerate(paths) if path.about is None]
    if slides:
        low[slides], high[slides] = _slide_bounds([paths[k] for k in slides], limit[slides])
    turning = [k for k, path in enumerate(paths) if path.about is not None]
    if turning:
        worlds = max(paths[k].worlds for k in turning)
        turn = turns_of([paths[k] for k in turning], worlds)
        spans = [*_arc_spans(turn.section, limit[turning]), turn.ends]
        least, most = turn.about, turn.about
        for span, way in zip(spans, (turn.right, turn.up, turn.axis), strict=True):
            one, two = span[..., :1] * way, span[..., 1:] * way
            least, most = least + np.minimum(one, two), most + np.maximum(one, two)
        low[turning], high[turning] = least.min(axis=1), most.max(axis=1)
    return low, high


def _slide_bounds(paths: Sequence[Path], limit: Floats) -> tuple[Floats, Floats]:
    """Bounds of what slides, (paths, 3) each: those of where it starts and of where it ends."""
    worlds = max(path.worlds for path in paths)
    sizes = [path.solid.corners.shape[1] for path in paths]
    first = np.cumsum([0, *sizes[:-1]])
    corners = np.concatenate(
        [np.broadcast_to(p.solid.corners, (worlds, *p.solid.corners.shape[1:])) for p in paths],
        axis=1,
    )
    low, high = (f.reduceat(corners, first, axis=1) for f in (np.minimum, np.maximum))
    # The least of some corners moved is the least of them, moved.
    shift = np.swapaxes(_stack([path.axis for path in paths], worlds), 0, 1) * limit[:, None]
    return (
        np.minimum(low, low + shift).min(axis=0),
        np.maximum(high, high + shift).max(axis=0),
    )


def _arc_spans(section: Floats, limit: Floats) -> Iterator[Floats]:
    """(paths, worlds, 2) least and most that turning sections reach right, and then up."""
    radius = np.hypot(section[..., 0], section[..., 1])
    start = np.arctan2(section[..., 1], section[..., 0])
    turn = limit[:, None, None]
    for quarter in (0.0, 0.5 * np.pi):
        own = start - quarter
        ends = radius * np.cos([own, own + turn])
        # The arc passes the furthest point where that lies ahead by no more than the turn.
        foot = np.mod(np.pi - own, 2.0 * np.pi) <= turn
        top = np.mod(-own, 2.0 * np.pi) <= turn
        least = np.where(foot, -radius, ends.min(axis=0)).min(axis=2)
        most = np.where(top, radius, ends.max(axis=0)).max(axis=2)
        yield np.stack([least, most], axis=-1)
