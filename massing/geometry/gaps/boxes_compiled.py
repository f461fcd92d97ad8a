"""How far apart are two upright boxes, compiled: two short rows in, a gap out or word of none.

A box is its middle, the way it faces and its half sizes, so two of them are told apart along four
directions without their corners. What this cannot settle is answered with NaN, and is for
massing.geometry.gaps.pairs_compiled: boxes apart in plan and turned from one another, and prisms
that are no boxes.

A row is middle x, y, unit way x, y, half sizes along and across it, least and greatest height;
half a size of -1 stands for what is no box.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from massing.geometry.gaps.pairs import BOUNDS, EDGE
from massing.geometry.gaps.plan import NOTHING
from massing.geometry.solids import Floats

__all__ = ["BOX", "box_gap", "fill_box", "fill_box_of_row"]

BOX = 8  # numbers a row
_OFF = 1e-10  # mm that a corner may be off the box
_ALIKE = 1e-13  # sine of the angle between boxes that are square to one another
_A, _B, _C, _D = BOUNDS, BOUNDS + EDGE, BOUNDS + 2 * EDGE, BOUNDS + 3 * EDGE


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_box(corners: Floats, box: Floats) -> None:
    """A row from the (2n, 3) corners of an upright prism."""
    box[4] = -1.0
    if len(corners) != 8:
        return
    x, y = corners[1, 0] - corners[0, 0], corners[1, 1] - corners[0, 1]
    over_x, over_y = corners[3, 0] - corners[0, 0], corners[3, 1] - corners[0, 1]
    off = abs(x - corners[2, 0] + corners[3, 0]) + abs(y - corners[2, 1] + corners[3, 1])
    wide, deep = np.sqrt(x * x + y * y), np.sqrt(over_x * over_x + over_y * over_y)
    longer = max(wide, deep)
    if min(wide, deep) <= NOTHING or off > _OFF or abs(x * over_x + y * over_y) > _OFF * longer:
        return
    box[0] = (corners[0, 0] + corners[2, 0]) / 2.0
    box[1] = (corners[0, 1] + corners[2, 1]) / 2.0
    # The longer side says more surely which way a box faces.
    box[2] = (x if wide >= deep else over_y) / longer
    box[3] = (y if wide >= deep else -over_x) / longer
    box[4], box[5] = wide / 2.0, deep / 2.0
    box[6], box[7] = corners[0, 2], corners[4, 2]


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_box_of_row(row: Floats, box: Floats) -> None:
    """A row from that of a prism_table, whose edges are measured already."""
    wide, deep = row[_A + 4], row[_B + 4]
    off = abs(row[_B] - row[_A] - row[_C] + row[_D])
    off += abs(row[_B + 1] - row[_A + 1] - row[_C + 1] + row[_D + 1])
    skew = abs(row[_A + 2] * row[_B + 2] + row[_A + 3] * row[_B + 3]) * min(wide, deep)
    good = (row[6] == 4.0) & (off <= _OFF) & (skew <= _OFF) & (min(wide, deep) > 0.0)
    box[0], box[1] = (row[_A] + row[_C]) / 2.0, (row[_A + 1] + row[_C + 1]) / 2.0
    box[2] = -row[_A + 3] if wide >= deep else row[_B + 2]
    box[3] = row[_A + 2] if wide >= deep else row[_B + 3]
    box[4], box[5] = wide / 2.0 if good else -1.0, deep / 2.0
    box[6], box[7] = row[2], row[5]


@njit(cache=True)  # type: ignore[untyped-decorator]
def box_gap(p: Floats, q: Floats, limit: float) -> float:
    """Signed gap of two rows, inf where it is sure to be above the limit, NaN where not settled."""
    if p[4] < 0.0 or q[4] < 0.0:
        return np.nan
    rise = max(q[6] - p[7], p[6] - q[7])
    x, y = q[0] - p[0], q[1] - p[1]
    cos, sin = abs(p[2] * q[2] + p[3] * q[3]), abs(p[2] * q[3] - p[3] * q[2])
    along = abs(x * p[2] + y * p[3]) - (p[4] + cos * q[4] + sin * q[5])
    across = abs(y * p[2] - x * p[3]) - (p[5] + sin * q[4] + cos * q[5])
    theirs = max(
        abs(x * q[2] + y * q[3]) - (q[4] + cos * p[4] + sin * p[5]),
        abs(y * q[2] - x * q[3]) - (q[5] + sin * p[4] + cos * p[5]),
    )
    side = max(along, across, theirs)
    if max(side, rise) > limit:
        return np.inf
    if side <= 0.0:
        return float(max(side, rise))
    if min(cos, sin) > _ALIKE:
        return np.nan
    side = max(along, across)
    if along > 0.0 and across > 0.0:
        side = np.sqrt(along * along + across * across)
    return float(np.sqrt(side * side + rise * rise) if rise > 0.0 else side)
