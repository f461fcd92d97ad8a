"""Ranges for a box's six sides and half-spaces it must keep to in, the largest such box out.

A *range* is twelve numbers: where the low sides may lie (``span[0:3]`` to ``span[3:6]``) and
where the high sides may lie (``span[6:9]`` to ``span[9:12]``), x y z each, mm. A *row* is
``(nx, ny, nz, h)``: every point of the box must have ``n . p >= h``. Which corner of the box is
the critical one depends only on the signs of ``n``, so a row is linear in the six sides, and the
logarithm of the volume is concave in them: the largest box under any set of rows is a small
concave program. One row has a closed form, here; several are solved in ``empty_boxes_program``.

Compiled; import this module only inside the function that needs it. The compiled copies of the
modules that call this one do not notice a change here: touch them too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias, TypeVar, cast

import numba
import numpy as np

from massing.geometry.solids import Floats

__all__ = [
    "EASE",
    "HIT",
    "THIN",
    "cheap_bound",
    "compiled",
    "narrow",
    "narrow_to_row",
    "one_row",
    "room_left",
]

_Sides: TypeAlias = tuple[float, float, float]
F = TypeVar("F", bound=Callable[..., object])

HIT = 1e-7  # mm; a box deeper than this inside an obstacle is not empty
EASE = 5e-8  # mm; rows are eased by half of HIT so that an exact fit keeps an interior
THIN = 1e-9  # mm; two sides nearer than this are one


def compiled(function: F) -> F:
    """Compile a function once per machine; the result is kept beside the source."""
    return cast("F", numba.njit(cache=True)(function))


@compiled
def narrow(span: Floats, mins: Floats) -> bool:
    """Shrink a range to what the smallest sides allow; False when nothing is left."""
    for k in range(3):
        if span[9 + k] - span[k] < mins[k] - THIN:
            return False
        span[3 + k] = min(span[3 + k], span[9 + k] - mins[k])
        span[6 + k] = max(span[6 + k], span[k] + mins[k])
        if span[k] > span[3 + k] + THIN or span[6 + k] > span[9 + k] + THIN:
            return False
        span[3 + k] = max(span[3 + k], span[k])
        span[6 + k] = min(span[6 + k], span[9 + k])
    return True


@compiled
def narrow_to_row(span: Floats, mins: Floats, row: Floats) -> bool:
    """Shrink a range to what one row allows; False when nothing is left."""
    most = 0.0
    for k in range(3):
        most += row[k] * (span[3 + k] if row[k] > 0.0 else span[6 + k])
    if most < row[3] - HIT:
        return False
    for k in range(3):
        if row[k] > 0.0:
            span[k] = max(span[k], (row[3] - EASE - most) / row[k] + span[3 + k])
        elif row[k] < 0.0:
            span[9 + k] = min(span[9 + k], (row[3] - EASE - most) / row[k] + span[6 + k])
    return narrow(span, mins)


@compiled
def room_left(box: Floats, row: Floats) -> float:
    """How far a box (low x y z, high x y z) clears one row, mm; negative when it does not."""
    total = -row[3]
    for k in range(3):
        total += row[k] * (box[k] if row[k] > 0.0 else box[3 + k])
    return float(total)


@compiled
def _level(total: float, low: _Sides, high: _Sides) -> float:
    """Water level t with ``sum(clip(t, low, high)) = total``; total lies between the extremes."""
    level = 0.0
    for _ in range(8):
        value, slope, following = 0.0, 0, np.inf
        for k in range(3):
            if level < low[k]:
                value += low[k]
                following = min(following, low[k])
            elif level < high[k]:
                value += level
                slope += 1
                following = min(following, high[k])
            else:
                value += high[k]
        if value >= total or following == np.inf:
            return level
        if slope > 0 and (total - value) / slope <= following - level:
            return float(level + (total - value) / slope)
        level = following
    return level


@compiled
def _weighed(span: Floats, row: Floats, k: int) -> tuple[float, float]:
    """Least and greatest side of a range along one axis, weighed by a row."""
    width = span[9 + k] - span[k]
    give = span[3 + k] - span[k] if row[k] > 0.0 else span[9 + k] - span[6 + k]
    return max(0.0, abs(row[k]) * (width - give)), abs(row[k]) * width


@compiled
def one_row(span: Floats, row: Floats, out: Floats) -> float:
    """Volume of the largest box in a range on the good side of one row, the box in ``out``.

    With the sides weighed by ``|n|`` the row caps their sum, so the product is largest when all
    are level, each kept between its own limits. Returns -1 when no box fits.
    """
    for k in range(3):
        out[k], out[3 + k] = span[k], span[9 + k]
    short = -room_left(out, row)
    if short > 0.0:
        (a, d), (b, e), (c, f) = (
            _weighed(span, row, 0),
            _weighed(span, row, 1),
            _weighed(span, row, 2),
        )
        low, high = (a, b, c), (d, e, f)
        total = d + e + f - short
        if total < a + b + c - HIT:
            return -1.0
        level = _level(total, low, high)
        for k in range(3):
            side = min(max(level, low[k]), high[k])
            if row[k] > 0.0:
                out[k] = max(span[k], min(span[9 + k] - side / row[k], span[3 + k]))
            elif row[k] < 0.0:
                out[3 + k] = min(span[9 + k], max(span[k] - side / row[k], span[6 + k]))
    volume = 1.0
    for k in range(3):
        volume *= max(0.0, out[3 + k] - out[k])
    return volume


@compiled
def cheap_bound(span: Floats, rows: Floats, out: Floats) -> tuple[float, bool]:
    """Upper bound of the volume by the tightest single row, and whether its box obeys them all."""
    volume = 1.0
    for k in range(3):
        out[k], out[3 + k] = span[k], span[9 + k]
        volume *= span[9 + k] - span[k]
    trial = np.empty(6)
    for i in range(rows.shape[0]):
        found = one_row(span, rows[i], trial)
        if found < 0.0:
            return -1.0, True
        if found < volume:
            volume = found
            out[:] = trial
    for i in range(rows.shape[0]):
        if room_left(out, rows[i]) < -EASE:
            return volume, False
    return volume, True
