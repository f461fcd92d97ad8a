"""What goes round a plain corner or tilts up under a ceiling: sizes in, closed-form limits out.

A closed form is a proof: when it says an item is too long for a plain right-angle corner, no
search can find a way. It only covers the plain case (two straight passages, nothing standing in
them), so a longer reach than the closed form is impossible there and a shorter one still has to
be searched where furniture stands.

Millimetres; the formulas hold in any one unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Floats

__all__ = [
    "Tilt",
    "rectangle_round_corner",
    "rod_round_corner",
    "rod_round_corner_tilting",
    "stands_that_tilt",
    "tilt_up",
    "tilt_up_height",
]

_SAMPLES = 2048
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True, slots=True)
class Tilt:
    """The tightest moment of tilting a cabinet up.

    gap : mm, vertical, signed; negative when the cabinet cannot be tilted up there
    angle : radians still to turn at that moment; 0 upright, pi/2 lying down
    """

    gap: float
    angle: float


def _positive(**sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size > 0.0):
            raise GeometryError(f"{name} must be a positive size, not {size}")


def rod_round_corner(a: float, b: float) -> float:
    """Longest thin rod carried level round a right-angle corner between passages a and b wide.

    Raises GeometryError unless both widths are positive.
    Source: the classical ladder problem, (a^(2/3) + b^(2/3))^(3/2).

    >>> round(rod_round_corner(3, 4), 6)
    9.865663
    """
    _positive(a=a, b=b)
    return float((a ** (2.0 / 3.0) + b ** (2.0 / 3.0)) ** 1.5)


def rod_round_corner_tilting(a: float, b: float, height: float) -> float:
    """Longest thin rod round the corner when it may also tilt under a level ceiling.

    The level rod is the plan of the tilted one, so the two legs are square to each other.

    >>> round(rod_round_corner_tilting(1.2, 0.9, 2.1), 6)
    3.629024
    """
    _positive(height=height)
    return math.hypot(rod_round_corner(a, b), height)


def rectangle_round_corner(a: float, b: float, thickness: float) -> float:
    """Longest rectangle of a thickness carried level round a right-angle corner.

    a, b : widths of the two passages; thickness : the rectangle's shorter side
    Returns the greater of the turning limit, the least over theta of
    (a sin theta + b cos theta - thickness) / (sin theta cos theta), and of the wider passage,
    which takes the rectangle sideways without turning; 0 when the thickness does not enter.
    The least is taken to about 1e-9 relative.

    >>> round(rectangle_round_corner(0.9, 0.9, 0.3), 6), rectangle_round_corner(1, 2, 1.1)
    (1.945584, 0.0)
    """
    _positive(a=a, b=b)
    if thickness < 0.0:
        raise GeometryError(f"thickness must not be negative, not {thickness}")
    if thickness > min(a, b):
        return 0.0

    def reach(theta: Floats) -> Floats:
        sine, cosine = np.sin(theta), np.cos(theta)
        return np.asarray((a * sine + b * cosine - thickness) / (sine * cosine))

    grid = np.linspace(0.0, math.pi / 2.0, _SAMPLES + 1)[1:-1]
    least = int(np.argmin(reach(grid)))
    low, high = grid[max(least - 1, 0)], grid[min(least + 1, grid.size - 1)]
    for _ in range(48):
        inner = np.array([high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)])
        left, right = reach(inner)
        low, high = (low, inner[1]) if left < right else (inner[0], high)
    turning = float(reach(np.array([0.5 * (low + high)]))[0])
    return max(turning, a, b)


def tilt_up_height(height: float, depth: float) -> float:
    """Level ceiling height needed to tilt a cabinet up from lying on its back: its diagonal.

    >>> round(tilt_up_height(1850, 600), 2), round(tilt_up_height(2000, 600), 2)
    (1944.87, 2088.06)
    """
    _positive(height=height, depth=depth)
    return math.hypot(height, depth)


def tilt_up(height: float, depth: float, stand: float, ceiling: object) -> Tilt:
    """Least vertical gap while a cabinet is tilted up off its back about its front bottom edge.

    The cabinet ends upright with its back ``stand`` from a wall at x = 0, its depth along +x;
    before that it lies on the floor (z = 0), its top away from the wall.

    ceiling : (k, 2) float; rows are height over the wall line (mm) and rise per mm away from the
        wall. The ceiling is the lowest of the rows, so a slope with a level part is two rows.
    Each corner moves on a circle, so its gap to a plane is one sinusoid and the least is exact.
    Raises GeometryError on a size that is not positive or a ceiling without rows.

    >>> tilt = tilt_up(1850, 600, 0, [[1900, 0.0]])
    >>> round(tilt.gap, 2), round(tilt.angle, 4)
    (-44.87, 0.3136)
    """
    tilts = _tilts(height, depth, ceiling)
    gaps = [tilt.gap + rise * stand for tilt, rise in tilts]
    tightest = int(np.argmin(gaps))
    return Tilt(gaps[tightest], tilts[tightest][0].angle)


def stands_that_tilt(height: float, depth: float, ceiling: object) -> tuple[float, float] | None:
    """Range of distances from the wall at which the cabinet can be tilted up, or None.

    Returns (least, greatest) distance of its back from the wall, mm; greatest may be infinite.
    ceiling : as in ``tilt_up``; each plane's gap is linear in the distance, so this is exact.

    >>> least, most = stands_that_tilt(1850, 600, [[1600, 0.5]])
    >>> abs(tilt_up(1850, 600, least, [[1600, 0.5]]).gap) < 1e-9, most
    (True, inf)
    >>> stands_that_tilt(1850, 600, [[1900, 0.0]]) is None
    True
    """
    least, most = 0.0, math.inf
    for tilt, rise in _tilts(height, depth, ceiling):
        if rise > 0.0:
            least = max(least, -tilt.gap / rise)
        elif rise < 0.0:
            most = min(most, tilt.gap / -rise)
        elif tilt.gap < 0.0:
            return None
    return (least, most) if least <= most else None


def _tilts(height: float, depth: float, ceiling: object) -> list[tuple[Tilt, float]]:
    """Tightest moment under each plane with the back at the wall, and the plane's rise."""
    _positive(height=height, depth=depth)
    rows = np.atleast_2d(np.asarray(ceiling, dtype=np.float64))
    if rows.size == 0 or rows.shape[1] != 2:
        raise GeometryError("a ceiling section needs rows of height over the wall and rise")
    corners = ((-depth, 0.0), (0.0, 0.0), (0.0, height), (-depth, height))
    found = []
    for over_wall, rise in rows.tolist():
        at_pivot = over_wall + rise * depth
        moments = [_least_sinusoid(at_pivot, rise * x - z, rise * z + x) for x, z in corners]
        found.append((min(moments, key=lambda tilt: tilt.gap), float(rise)))
    return found


def _least_sinusoid(level: float, cosine: float, sine: float) -> Tilt:
    """Least of level + cosine cos(t) + sine sin(t) for t from 0 to pi/2."""
    trough = math.atan2(-sine, -cosine)
    if 0.0 < trough < math.pi / 2.0:
        return Tilt(level - math.hypot(cosine, sine), trough)
    return min(
        (Tilt(level + cosine, 0.0), Tilt(level + sine, math.pi / 2.0)), key=lambda tilt: tilt.gap
    )
