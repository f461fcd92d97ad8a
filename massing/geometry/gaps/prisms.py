"""How far apart two upright prisms are: corner rows in, signed gap, direction and point out.

A right prism is a plan polygon times a height interval, so the question splits: the distance is
the hypotenuse of the plan distance and the height gap, and the shortest push out is the smaller
of the plan push and the vertical one.
"""

from __future__ import annotations

import numpy as np

from massing.geometry.gaps.plan import ALIKE, plan_gaps
from massing.geometry.solids import Floats

__all__ = ["prism_gaps"]


def prism_gaps(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats]:
    """Signed gaps of upright prisms given as (3, 2n, rows) corners, bottom ring first.

    Returns gap (rows,), unit normal (3, rows) from a to b, and point (3, rows).
    """
    low_a, high_a = a[2, 0], a[2, -1]
    low_b, high_b = b[2, 0], b[2, -1]
    plan, plan_normal, plan_at = plan_gaps(a[:2, : a.shape[1] // 2], b[:2, : b.shape[1] // 2])
    above, below = low_b - high_a, low_a - high_b
    rise = np.maximum(above, below)
    up = np.where(above >= below - ALIKE, 1.0, -1.0)

    # Which of the two counts: both when apart in both, else the larger; a tie is settled
    # sideways because furniture slides more easily than it lifts.
    sideways, upward = _shares(plan, rise)
    both = (plan > 0.0) & (rise > 0.0)
    gap = np.where(both, np.hypot(plan, rise), np.where(sideways > 0.0, plan, rise))
    normal = np.stack([*(plan_normal * sideways), up * upward])

    # Midway in height: of the shared stretch when there is one, else of the empty stretch.
    middle = (np.maximum(low_a, low_b) + np.minimum(high_a, high_b)) / 2.0
    return gap, normal, np.stack([*plan_at, middle])


def _shares(plan: Floats, rise: Floats) -> tuple[Floats, Floats]:
    """How much of the unit direction is sideways and how much upward."""
    across, along = np.maximum(plan, 0.0), np.maximum(rise, 0.0)
    whole = np.hypot(across, along)
    apart = whole > 0.0
    flat = (plan >= rise - ALIKE).astype(np.float64)
    safe = np.where(apart, whole, 1.0)
    return np.where(apart, across / safe, flat), np.where(apart, along / safe, 1.0 - flat)
