"""Published limits of reach, stored in inches: a depth or an opening in, millimetres out.

Codes print rounded millimetres; the inch value rules and is turned into mm exactly (25.4).
"""

from __future__ import annotations

__all__ = ["INCH", "REACH_SOURCE", "forward_reach_over", "side_reach_over"]

INCH = 25.4

REACH_SOURCE = (
    "published: ADA Standards 2010, 308.2 (clause seen in a reprint): reach of someone seated, "
    "forward over what stands before it"
)

# How deep the obstruction may be, and the highest one reaches over it, inches.
_FORWARD = ((20.0, 48.0), (25.0, 44.0))
_SIDE = ((10.0, 48.0), (24.0, 46.0))


def forward_reach_over(depth: float) -> float | None:
    """Highest forward reach over an obstruction so deep, mm; None where it is too deep.

    ADA Standards 2010, 308.2.1 and 308.2.2: 48 in, and 48 in over up to 20 in, 44 in over up to
    25 in.

    >>> round(forward_reach_over(500.0), 4), round(forward_reach_over(600.0), 4)
    (1219.2, 1117.6)
    >>> forward_reach_over(650.0) is None
    True
    """
    return _highest(_FORWARD, depth)


def side_reach_over(depth: float) -> float | None:
    """Highest side reach over an obstruction (itself at most 34 in high), mm; None where too deep.

    ADA Standards 2010, 308.3.1 and 308.3.2: 48 in over up to 10 in, 46 in over up to 24 in (the
    obstructed case seen second-hand).

    >>> round(side_reach_over(254.0), 4), round(side_reach_over(500.0), 4)
    (1219.2, 1168.4)
    """
    return _highest(_SIDE, depth)


def _highest(steps: tuple[tuple[float, float], ...], depth: float) -> float | None:
    for deep, high in steps:
        if depth <= deep * INCH + 1e-6:
            return high * INCH
    return None
