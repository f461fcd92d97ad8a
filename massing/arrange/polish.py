"""A found arrangement in the words of a project file: poses in, a checked scheme out.

Places are written as a designer would say them: against a wall and how far along, in a corner, on
another item, or at a point; sizes in whole millimetres, on a 5 mm grid where that still checks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from massing.arrange.arrays import CEILING, WALL
from massing.arrange.model import Model
from massing.arrange.search import Found
from massing.checks.finding import Finding
from massing.checks.run import Answer, check_scheme
from massing.errors import Fault, InputError
from massing.geometry.solids import Floats
from massing.project.project import Project
from massing.project.resolve import resolve_schemes
from massing.project.scheme_spec import SchemeSpec
from massing.scheme.ground import ceiling_over, level_under

__all__ = [
    "Polished",
    "homes_of",
    "polish",
    "remaining",
    "ring_of",
    "walls_of",
    "with_scheme",
]

_QUARTERS = ("front", "left", "back", "right")  # the side at a wall, by quarter turns from facing
_FLUSH = 0.5  # mm
_GRIDS = (5.0, 1.0)  # mm
_NO_NUDGE = frozenset({"passage", "escape"})  # a way through is not widened by one short move
_ROUNDS = 4  # of repair, each moving what still fails by its nudge

Words = dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class Polished:
    """A scheme that says where everything goes, and what every check makes of it.

    base : the scheme it is from; extra : what it says beside the moves (remove, doors)
    moves : for each item that moves, the words of its new place
    homes : where each unit that may move is, to tell arrangements apart
    """

    base: str
    extra: Words
    moves: tuple[tuple[str, Words], ...]
    answer: Answer
    conflicts: tuple[Finding, ...]
    homes: tuple[tuple[str, str], ...]
    found: Found


def with_scheme(project: Project, name: str, said: Words) -> Project:
    """The project with one more scheme, resolved as if it stood in the file.

    Raises InputError where the scheme says what cannot be.
    """
    spec = SchemeSpec.model_validate(said)
    faults: list[Fault] = []
    schemes = {**project.schemes, name: spec}
    arrangements = resolve_schemes(schemes, faults)
    if faults:
        raise InputError(faults)
    return replace(project, schemes=schemes, arrangements=arrangements)


def polish(model: Model, found: Found, name: str, base: str, extra: Words) -> Polished | None:
    """The found arrangement as a scheme without conflicts; None where no rounding or nudge does.

    base : a scheme of the model's project; extra : what to say beside the moves
    """
    for grid in _GRIDS:
        trial = _repaired(model, found, name, (base, extra), grid)
        if not trial.conflicts:
            return trial
    return None


def _repaired(
    model: Model, found: Found, name: str, said: tuple[str, Words], grid: float
) -> Polished:
    trial = _checked(model, found, name, said, grid)
    for _ in range(_ROUNDS):
        if not trial.conflicts:
            return trial
        nudged = _nudged(model, trial)
        if nudged is None:
            return trial
        trial = _checked(model, nudged, name, said, 1.0)
    return trial


def _checked(
    model: Model, found: Found, name: str, said: tuple[str, Words], grid: float
) -> Polished:
    """The arrangement as a scheme, checked."""
    base, extra = said
    moves = tuple(_moves(model, found, grid))
    scheme = {"from": base, **extra, "move": dict(moves)}
    project = with_scheme(model.project, name, scheme)
    answer = check_scheme(project, name, nudges=False)
    free = {item for k in model.free for item in _members(model, int(k))}
    given = _given(model)
    conflicts = tuple(
        f for f in answer.conflicts if free & set(f.items) or (f.check, f.items) not in given
    )
    return Polished(base, extra, moves, answer, conflicts, homes_of(model, found), found)


@lru_cache(maxsize=8)
def _given(model: Model) -> frozenset[tuple[str, tuple[str, ...]]]:
    """Conflicts of the scheme as it is: between things that stay they are not for the search."""
    answer = check_scheme(model.project, model.arrangement.name, nudges=False)
    return frozenset((finding.check, finding.items) for finding in answer.conflicts)


def _members(model: Model, unit: int) -> tuple[str, ...]:
    return (model.units[unit].name, *model.units[unit].riders)


def _nudged(model: Model, trial: Polished) -> Found | None:
    """The poses with the first nudge that clears something made; None when there is none."""
    if any(finding.check in _NO_NUDGE for finding in trial.conflicts):
        return None
    answer = check_scheme(trial.answer.project, trial.answer.layout.name)
    owner = {item: int(k) for k in model.free for item in _members(model, int(k))}
    for finding in answer.conflicts:
        nudge = finding.nudge
        if nudge is None or nudge.item not in owner:
            continue
        pose = trial.found.pose.copy()
        unit = owner[nudge.item]
        pose[unit, [0, 1, 4]] += nudge.by_mm
        return replace(trial.found, pose=pose)
    return None


def remaining(model: Model, found: Found) -> tuple[Finding, ...]:
    """Conflicts the full checks still find in an arrangement, those of what may move."""
    name = "as searched"
    return _checked(model, found, name, (model.arrangement.name, {}), 1.0).conflicts


def homes_of(model: Model, found: Found) -> tuple[tuple[str, str], ...]:
    """The kind of each unit that may move, and the wall, item or floor it is at."""
    return tuple(_homes(model, found))


def walls_of(model: Model, found: Found, k: int) -> tuple[str, ...]:
    """The walls and faces of partitions a unit stands flush against."""
    return tuple(wall for wall, _, _ in _flush(model, found.pose[k], k))


def _homes(model: Model, found: Found) -> Iterator[tuple[str, str]]:
    items = {item.name: item for item in model.layout.items}
    for k in model.free:
        kind = str(items[model.units[k].name].spec.name)
        if found.on[k] >= 0:
            yield kind, "on"
            continue
        walls = [wall for wall, _, _ in _flush(model, found.pose[k], int(k))]
        yield kind, " and ".join(sorted(walls)) if walls else "free"


def _moves(model: Model, found: Found, grid: float) -> Iterator[tuple[str, Words]]:
    for k in map(int, model.free):
        same = found.on[k] == model.on[k] and (
            found.on[k] >= 0 or np.abs(found.pose[k] - model.pose[k]).max() < 1e-6
        )
        if not same:
            yield model.units[k].name, _words(model, found, k, grid)


def _words(model: Model, found: Found, k: int, grid: float) -> Words:
    """Where one unit is, in words."""
    if found.on[k] >= 0:
        return {"on": model.units[int(found.on[k])].name}
    pose = found.pose[k]
    mount = int(model.fixed["mount"][0][k])
    flush = _flush(model, pose, k)
    words: Words
    corner = _corner(model, flush)
    if mount == CEILING:
        words = _at(model, pose, k, grid)
    elif corner is not None and mount != WALL:
        (first, _, side), (second, _, _) = corner
        words = {"corner": [first, second], "side": side}
    elif flush:
        wall, along, side = flush[0]
        words = {"against": wall, **_along(model, (wall, along), pose, k, grid), "side": side}
    else:
        words = _at(model, pose, k, grid)
    return {**words, **_height(model, pose, k, mount, grid)}


def _along(
    model: Model, at: tuple[str, float], pose: Floats, k: int, grid: float
) -> dict[str, int | float]:
    """How far along its wall, from the right end where it is right at it."""
    wall = model.layout.room.wall(at[0])
    ring = ring_of(model, pose, k)
    left = float(wall.length[0]) - float(((ring - wall.left[0]) @ wall.along[0]).max())
    if abs(left) <= _FLUSH and not wall.partition:
        return {"from-right": 0}
    return {"along": _rounded(at[1], grid)}


def _rounded(size: float, grid: float) -> int | float:
    value = math.floor(size / grid + 0.5) * grid
    return int(value) if value == int(value) else value


def _height(model: Model, pose: Floats, k: int, mount: int, grid: float) -> Words:
    """How high something hangs, as its mount has it."""
    ring = ring_of(model, pose, k)
    low, high = (float(model.fixed["bounds"][0][k, e]) + float(pose[4]) for e in (2, 5))
    room = model.layout.room
    if mount == CEILING:
        drop = float(ceiling_over(room, ring[None])[0]) - high
        return {"drop": _rounded(max(drop, 0.0), 1.0)}
    if mount == WALL:
        level = float(level_under(room, ring[None])[0])
        # Rounded down: what hangs under a slope has its room above.
        return {"height": int(math.floor((low - level) / grid + 1e-6) * grid)}
    return {}


def ring_of(model: Model, pose: Floats, k: int) -> Floats:
    """Plan ring (4, 2) of the bounds of a unit's bottom item."""
    x0, y0, _, x1, y1, _ = model.fixed["bounds"][0][k]
    own = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    c, s = pose[2], pose[3]
    turned = np.stack([c * own[:, 0] - s * own[:, 1], s * own[:, 0] + c * own[:, 1]], axis=1)
    return np.asarray(turned + pose[:2])


def _flush(model: Model, pose: Floats, k: int) -> list[tuple[str, float, str]]:
    """Walls a unit is square to and as near as its air lets it be: name, along, side at it.

    Those with its back first.
    """
    ring = ring_of(model, pose, k)
    yaws = model.fixed["yaws"][0]
    order = {"front": 0, "back": 1, "left": 2, "right": 3}
    found = []
    for w, wall in enumerate(model.layout.room.walls):
        for quarter, side in enumerate(_QUARTERS):
            if np.abs(yaws[4 * w + quarter] - pose[2:4]).max() > 1e-9:
                continue
            out, along = wall.outward[0], wall.along[0]
            asked = float(model.fixed["side_gap"][0][k, order[side]])
            gap = float(out @ wall.left[0] - (ring @ out).max()) - asked
            start = float(((ring - wall.left[0]) @ along).min())
            inside = -_FLUSH <= start <= float(wall.length[0]) - 1.0
            if abs(gap) <= _FLUSH and inside:
                found.append((wall.name, start, side))
    return sorted(found, key=lambda one: one[2] != "back")


def _corner(
    model: Model, flush: Sequence[tuple[str, float, str]]
) -> tuple[tuple[str, float, str], tuple[str, float, str]] | None:
    """The first two walls of a unit that meet one another."""
    for number, one in enumerate(flush):
        for other in flush[number + 1 :]:
            walls = [model.layout.room.wall(name) for name, _, _ in (one, other)]
            ends = ((walls[0].left, walls[1].right), (walls[0].right, walls[1].left))
            meet = any(float(np.linalg.norm(a[0] - b[0])) < 1.0 for a, b in ends)
            if meet and not any(wall.partition for wall in walls):
                return one, other
    return None


def _at(model: Model, pose: Floats, k: int, grid: float) -> Words:
    """Standing free: its least corner and what it faces."""
    ring = ring_of(model, pose, k)
    x, y = (_rounded(float(v), grid) for v in ring.min(axis=0))
    words: Words = {"at": [x, y]}
    yaws = model.fixed["yaws"][0][: 4 * len(model.layout.room.walls)]
    same = np.flatnonzero(np.abs(yaws - pose[2:4]).max(axis=1) < 1e-9)
    if len(same):
        row = min(same, key=lambda r: (r % 4, r))
        words["facing"] = model.layout.room.walls[int(row) // 4].name
        if row % 4:
            words["turn"] = int(row % 4) * 90
    else:
        words["turn"] = round(math.degrees(math.atan2(float(pose[3]), float(pose[2]))), 6)
    return words
