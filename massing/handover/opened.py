"""What stands open, and how far? A checked scheme in; all that turns or slides in it, out.

Leaves on an upright hinge (doors, both halves of double doors, side-hung windows) come as
``Leaf``; everything else (drawers, lids, flaps, rising tops, sliding and overhead doors) as a
path with its reach. The nominal world only.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Finding
from massing.checks.motions_doors import door_movers
from massing.checks.run import Answer
from massing.geometry.motions.stops import Path
from massing.geometry.outline import outline_of
from massing.geometry.solids import Convex, Floats
from massing.room.shape import Opening
from massing.scheme.doors import room_leaves
from massing.scheme.ground import level_under
from massing.scheme.layout import Leaf

__all__ = ["Hung", "Opened", "far_edge", "hung_leaves", "opened_doors", "opened_parts", "swing"]

_TURN = np.radians(2.5)  # of one step along an arc that is drawn


@dataclass(frozen=True, slots=True, eq=False)
class Hung:
    """A leaf on an upright hinge; reach : radians, how far it gets; kind : door or window."""

    leaf: Leaf
    reach: float
    kind: str


@dataclass(frozen=True, slots=True, eq=False)
class Opened:
    """A moving part that is no leaf on an upright hinge of the room.

    owner : the item or the door; kind : leaf, flap, lid, drawer, rise, overhead or sliding
    reach : radians or mm it gets to before something stops it
    """

    owner: str
    name: str
    kind: str
    path: Path
    reach: float

    @property
    def full(self) -> float:
        """Its whole travel, radians or mm."""
        return float(self.path.full[0])

    @property
    def turns(self) -> bool:
        """Whether it turns rather than slides."""
        return self.path.about is not None

    @property
    def axis(self) -> Floats:
        """(3,) what it turns about or slides along."""
        return np.asarray(self.path.axis[0])

    @property
    def stopped(self) -> bool:
        """Whether something stops it short."""
        return self.full - self.reach > (1e-3 if self.turns else 0.5)

    def at(self, amount: float) -> Convex:
        """The solid so far open, radians or mm."""
        return self.path.at(amount).world(0)


def hung_leaves(answer: Answer) -> tuple[Hung, ...]:
    """Every leaf on an upright hinge: single doors, then double ones, then windows."""
    room = answer.layout.room
    found = [Hung(leaf, _leaf_reach(answer, leaf), "door") for leaf in answer.layout.leaves]
    for opening in room.openings:
        if opening.leaf is None:
            continue
        sides: tuple[str, ...] = ()
        if opening.motion == "double":
            sides = ("left", "right")
        elif opening.kind == "window" and opening.motion == "hinged":
            sides = tuple({opening.hinge} & {"left", "right"})
        doors = tuple(replace(opening, kind="door", motion="hinged", hinge=side) for side in sides)
        leaves = room_leaves(replace(room, openings=doors))
        found += [Hung(one, _leaf_reach(answer, one, leaves), opening.kind) for one in leaves]
    return tuple(found)


def _leaf_reach(answer: Answer, leaf: Leaf, both: tuple[Leaf, ...] = ()) -> float:
    """How far a leaf opens before something stops it, radians.

    The check tells of a double door by the half that opens least: the one nearer to where it is
    stopped.
    """
    reach = leaf.full
    for finding in _about(answer, leaf.name, {"door leaf", "window leaf"}):
        at = finding.at_mm
        if at is not None and any(
            np.hypot(*(other.pin[0] - at[:2])) < np.hypot(*(leaf.pin[0] - at[:2])) - 1e-6
            for other in both
        ):
            continue
        reach = min(reach, float(np.deg2rad(finding.reaches or 0.0)))
    return reach


def _about(answer: Answer, name: str, checks: set[str]) -> Iterator[Finding]:
    """Findings of a check that say how far the thing of a name gets."""
    for finding in answer.findings:
        if finding.check in checks and finding.items[:1] == (name,) and finding.reaches is not None:
            yield finding


def opened_parts(answer: Answer) -> tuple[Opened, ...]:
    """Everything of the items that moves, in order."""
    found = []
    for item in answer.layout.items:
        for motion in item.motions:
            path = Path(motion.solid, motion.axis, motion.turn_about, np.atleast_1d(motion.full))
            begins = f"{motion.name} of {item.name} "
            if motion.kind == "rise" and item.footing == "ceiling":
                path, begins = _let_down(answer, path), f"{item.name} comes down "
            reach = float(path.full[0])
            unit = 1.0 if path.about is None else np.radians(1.0)
            for finding in _about(answer, item.name, {"motion"}):
                # One item may have several parts that move: the finding begins with its name.
                if finding.says.startswith(begins):
                    reach = min(reach, float(finding.reaches or 0.0) * unit)
            found.append(Opened(item.name, motion.name, motion.kind, path, reach))
    return tuple(found)


def _let_down(answer: Answer, path: Path) -> Path:
    """The way down of what hangs as drawn: from its highest as far as its cord and the floor let.

    path : from its lowest up
    """
    up = float(path.full[0])
    raised = path.at(up).world(0)
    ring = outline_of(raised)[:1]
    room = float(raised.low[0, 2] - level_under(answer.layout.room, ring)[0])
    down = np.array([max(min(up, room), 0.0)])
    return Path(raised, -path.axis, None, down)


def opened_doors(answer: Answer) -> tuple[Opened, ...]:
    """Sliding and overhead doors of the room, as they stand open."""
    context = Context(answer.layout, answer.rules, reach=0.0, nudges=False)
    found = []
    for opening in answer.layout.room.openings:
        if opening.leaf is None or opening.motion not in {"sliding", "overhead"}:
            continue
        for mover in door_movers(context, replace(opening, opens="in", kind="door")):
            path = _outside(answer, opening, mover.paths[0])
            reach = float(path.full[0])
            unit = np.radians(1.0) if mover.turns else 1.0
            for finding in _about(answer, opening.name, {"door leaf"}):
                reach = min(reach, float(finding.reaches or 0.0) * unit)
            found.append(Opened(opening.name, opening.name, opening.motion, path, reach))
    return tuple(found)


def _outside(answer: Answer, opening: Opening, path: Path) -> Path:
    """The path of a leaf that slides along the outside face, if it does."""
    assert opening.leaf is not None  # noqa: S101
    if opening.opens == "in" or opening.motion != "sliding":
        return path
    wall = answer.layout.room.wall(opening.wall)
    off = (wall.thickness + opening.leaf[:, 2])[:, None] * wall.outward
    return replace(path, solid=path.solid.moved(np.hstack([off, np.zeros((len(off), 1))])))


def far_edge(opened: Opened, amount: float) -> Floats:
    """(3,) the middle of the edge that moves most, so far open."""
    corners = opened.at(amount).corners[0]
    off = opened.path.solid.corners[0]
    if opened.path.about is None:
        share = off @ opened.axis
        return np.asarray(corners[share > share.max() - 1e-6].mean(axis=0))
    off = off - opened.path.about[0]
    away = np.linalg.norm(off - np.outer(off @ opened.axis, opened.axis), axis=1)
    return np.asarray(corners[np.argsort(-away, kind="stable")[:4]].mean(axis=0))


def swing(opened: Opened, first: float, last: float) -> Floats:
    """(n, 3) where the leading free corner of a part that turns goes, from one turn to another."""
    assert opened.path.about is not None  # noqa: S101
    off = opened.path.solid.corners[0] - opened.path.about[0]
    away = np.linalg.norm(off - np.outer(off @ opened.axis, opened.axis), axis=1)
    ahead = np.cross(opened.axis, off.mean(axis=0))
    free = np.flatnonzero(away > 0.9 * away.max())
    corner = int(free[np.argmax(np.round(off[free] @ ahead, 6))])
    turns = np.linspace(first, last, max(2, int(abs(last - first) / _TURN) + 2))
    return np.array([opened.at(float(turn)).corners[0, corner] for turn in turns])
