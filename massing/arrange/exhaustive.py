"""Every way to stand a few things along the walls: a model and a step in, one that works or none.

Only floor-standing units, each with one of its four sides to a wall, at every multiple of the
step and at both ends: within those stops the answer is proved, and the stops are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from massing.arrange.arrays import FLOOR, new_moving
from massing.arrange.model import Model
from massing.arrange.search import Found
from massing.geometry.solids import Floats

__all__ = ["MOST", "Every", "try_every"]

MOST = 5  # units; more are not tried


@dataclass(frozen=True, slots=True, eq=False)
class Every:
    """What trying everything came to.

    found : one arrangement that is clear, or None; stops : how many places each unit had
    """

    found: Found | None
    stops: tuple[int, ...]
    step: float


def try_every(model: Model, step: float = 50.0) -> Every | None:
    """Try every combination of wall stops; None when there are too many units or some hang.

    step : mm along the walls
    """
    from massing.arrange.exhaustive_compiled import clear_alone, clear_together, wall_stops

    free = [int(k) for k in model.free]
    mounts = model.fixed["mount"][0]
    if len(free) > MOST or any(int(mounts[k]) != FLOOR for k in free) or (model.on >= 0).any():
        return None
    record = new_moving(model.pose, model.on, model.yaw)
    records = (model.fixed, record)
    places: list[Floats] = []
    for k in free:
        stops = wall_stops(records, k, step)
        stops = stops[np.unique(np.round(stops[:, :4], 6), axis=0, return_index=True)[1]]
        places.append(stops[clear_alone(records, k, stops)])
    stops_of = tuple(len(rows) for rows in places)
    if min(stops_of) == 0:
        return Every(None, stops_of, step)
    fits: dict[tuple[int, int], list[int]] = {}
    for a in range(len(free)):
        for b in range(a):
            table = clear_together(records, free[a], places[a], free[b], places[b])
            fits[a, b] = [_bits(row) for row in table]
            fits[b, a] = [_bits(row) for row in table.T]
    chosen = _choose([(1 << count) - 1 for count in stops_of], fits)
    if chosen is None:
        return Every(None, stops_of, step)
    pose, yaw = model.pose.copy(), model.yaw.copy()
    for place, (k, row) in zip(chosen, zip(free, places, strict=True), strict=True):
        pose[k] = row[place, :5]
        yaw[k] = int(row[place, 5])
    return Every(Found(0.0, 0.0, pose, model.on.copy(), yaw, 0), stops_of, step)


def _bits(row: Sequence[bool]) -> int:
    return int("".join("1" if v else "0" for v in reversed(row)) or "0", 2)


def _choose(left: list[int], fits: dict[tuple[int, int], list[int]]) -> list[int] | None:
    """One place for each so that all fit two by two; the unit with fewest places left first."""
    chosen = [-1] * len(left)

    def go(open_: list[int]) -> bool:
        waiting = [k for k in range(len(chosen)) if chosen[k] < 0]
        if not waiting:
            return True
        k = min(waiting, key=lambda j: (open_[j].bit_count(), j))
        rest = open_[k]
        while rest:
            place = (rest & -rest).bit_length() - 1
            rest &= rest - 1
            chosen[k] = place
            after = [
                bits & fits[k, j][place] if chosen[j] < 0 else bits for j, bits in enumerate(open_)
            ]
            if all(after[j] for j in waiting if j != k) and go(after):
                return True
        chosen[k] = -1
        return False

    return chosen if go(left) else None
