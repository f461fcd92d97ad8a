"""Walls walked clockwise in; corners that close, in every world, out.

Walls that are all measured never quite close. The misclosure is shared out by least squares, in
proportion to the square of each wall's ±, as a condition adjustment of a closed traverse
(common practice in surveying, no source).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from massing.geometry.solids import Floats
from massing.room.naming import Faults
from massing.room.spec import RoomSpec, WallSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

__all__ = ["walk"]

_HEADINGS = {"north": 0.0, "east": -90.0, "south": 180.0, "west": 90.0}
_SLACK = 1.0
"""Misclosure, mm, allowed beyond the sum of what each wall's ± allows: rounding to whole mm."""
_FIRM = 0.1
"""Half-width, mm, a wall without a ± has when it shares in the misclosure."""


def walk(spec: RoomSpec, values: Values, faults: Faults) -> tuple[Floats, tuple[bool, ...]] | None:
    """(worlds, n, 2) corners in walking order, from the first wall's left end, mm.

    With them, for each wall, whether its length was worked out. None after a fault.
    """
    walls = spec.walls or ()
    headings = _headings(walls, faults)
    if headings is None:
        return None
    ways = np.array([_way(degrees) for degrees in headings])
    missing = [k for k, wall in enumerate(walls) if wall.length is None]
    lengths = np.zeros((values.worlds, len(walls)))
    for k, wall in enumerate(walls):
        if wall.length is not None:
            label = f"length of {wall.name or f'wall {k + 1}'}"
            lengths[:, k] = values(wall.length, label=label)
    shares = np.array([_half_width(wall.length, values) for wall in walls])
    nominal = np.array([wall.length.mm if wall.length else 0.0 for wall in walls])
    if len(missing) > 2:
        faults.add(
            f"{len(missing)} walls have no length; at most two can be worked out from the others",
            walls[missing[2]].mark,
        )
        return None
    solve = (_share_out, _one_missing, _two_missing)[len(missing)]
    closed = solve(lengths, ways, shares, missing)
    if closed is None:
        faults.add(
            "the two walls without a length run the same way; give one of them",
            walls[missing[1]].mark,
        )
        return None
    if not _closes(nominal, ways, shares, missing, spec, faults):
        return None
    for k in missing:
        if closed[0, k] <= 0:
            faults.add(
                f"the walls do not close: {walls[k].name or f'wall {k + 1}'} would be "
                f"{format_mm(float(closed[0, k]))} long",
                walls[k].mark,
            )
            return None
    steps = closed[:, :, None] * ways
    corners = np.concatenate([np.zeros((len(steps), 1, 2)), steps[:, :-1].cumsum(axis=1)], axis=1)
    return corners, tuple(k in missing for k in range(len(walls)))


def _headings(walls: tuple[WallSpec, ...], faults: Faults) -> list[float] | None:
    """Direction of each wall, degrees anticlockwise from +x."""
    turns = [90.0 if wall.turn is None else wall.turn for wall in walls]
    if walls and walls[-1].turn is None:
        turns[-1] = 360.0 - sum(turns[:-1])
        told = f"the turns before the last add up to {sum(turns[:-1]):g} degrees to the right"
    else:
        told = f"the turns add up to {sum(turns):g} degrees to the right"
    if abs(sum(turns) - 360.0) > 0.01 or not -180 < turns[-1] < 180:
        faults.add(
            f"the walls do not come round: {told}, where a walk clockwise makes 360",
            walls[-1].mark if walls else None,
        )
        return None
    heading = _HEADINGS.get(str(walls[0].name), 0.0)
    headings = []
    for turn in turns:
        headings.append(heading)
        heading -= turn
    return headings


def _way(degrees: float) -> tuple[float, float]:
    """Unit vector, exact for the four square directions."""
    square = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return square.get(degrees % 360.0) or (
        math.cos(math.radians(degrees)),
        math.sin(math.radians(degrees)),
    )


def _half_width(length: Length | None, values: Values) -> float:
    if length is None:
        return 0.0
    recorded: dict[str, float] = {m.key: m.half_width for m in values.measures}
    return recorded.get(length.path, length.pm or 0.0)


def _closes(
    nominal: Floats,
    ways: Floats,
    shares: Floats,
    missing: list[int],
    spec: RoomSpec,
    faults: Faults,
) -> bool:
    """Whether the lengths as written close within what their ± allow."""
    if len(missing) == 2:
        return True
    miss = nominal @ ways
    allowed = shares @ np.abs(ways) + _SLACK
    if missing:
        across = np.array([-ways[missing[0], 1], ways[missing[0], 0]])
        miss = np.array([miss @ across])
        allowed = np.array([shares @ np.abs(ways @ across) + _SLACK])
    if (np.abs(miss) <= allowed).all():
        return True
    short = format_mm(float(np.sqrt((miss**2).sum())))
    faults.add(
        f"the walls do not close: the walk ends {short} mm from where it began",
        spec.mark_of("walls"),
    )
    return False


def _adjusted(lengths: Floats, ways: Floats, shares: Floats) -> Floats:
    """Lengths changed least, weighed by their ±, so that lengths @ ways = 0."""
    weights = np.maximum(shares, _FIRM) ** 2
    system = ways.T @ (weights[:, None] * ways)
    miss = lengths @ ways
    return np.asarray(lengths - miss @ np.linalg.pinv(system) @ (weights[:, None] * ways).T)


_Solver = Callable[[Floats, Floats, Floats, list[int]], Floats | None]


def _share_out(lengths: Floats, ways: Floats, shares: Floats, missing: list[int]) -> Floats | None:
    del missing
    return _adjusted(lengths, ways, shares)


def _one_missing(
    lengths: Floats, ways: Floats, shares: Floats, missing: list[int]
) -> Floats | None:
    """What lies across the missing wall is shared out; what lies along it is the wall."""
    (k,) = missing
    across = np.array([[-ways[k, 1]], [ways[k, 0]]])
    others = ways @ across
    others[k] = 0.0
    closed = _adjusted(lengths, others, shares)
    closed[:, k] = 0.0
    closed[:, k] = -(closed @ ways) @ ways[k]
    return closed


def _two_missing(
    lengths: Floats, ways: Floats, shares: Floats, missing: list[int]
) -> Floats | None:
    del shares
    pair = ways[missing]
    if abs(float(np.linalg.det(pair))) < 1e-3:
        return None
    closed = lengths.copy()
    closed[:, missing] = -(lengths @ ways) @ np.linalg.inv(pair)
    return closed
