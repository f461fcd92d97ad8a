"""Tolerances in, combined uncertainty and chances out, after JCGM 100:2008.

A tolerance ``±a`` is a half-width with a shape. Rectangular says nothing inside ±a is likelier
than anything else (clause 4.3.7), triangular that the middle is likelier (4.3.9), normal that
±a is k standard uncertainties (4.3.3).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.survey.convolve import below_closed, below_pieces, below_series

__all__ = [
    "SHAPES",
    "Shape",
    "chance_above",
    "chi_square_point",
    "coverage_factor",
    "effective_freedom",
    "expanded",
    "root_sum_square",
    "standard_uncertainty",
    "worst_case",
]

Shape: TypeAlias = Literal["rectangular", "triangular", "normal"]
SHAPES: tuple[Shape, ...] = ("rectangular", "triangular", "normal")

_CLOSED_MOST = 8  # shares the 2^n closed form and the piecewise form are asked to hold
_GOOD_ENOUGH = 1e-11
_NEGLIGIBLE = 1e-9  # a share this small beside the largest moves a chance by less than that


def standard_uncertainty(half_width: float, shape: Shape = "rectangular", k: float = 2.0) -> float:
    """Standard uncertainty of a half-width: a/√3, a/√6 or a/k (JCGM 100, 4.3.7, 4.3.9, 4.3.3).

    Raises ValueError on a negative half-width or an unknown shape.

    >>> round(standard_uncertainty(1.5), 2), round(standard_uncertainty(3, "triangular"), 4)
    (0.87, 1.2247)
    """
    if not half_width >= 0.0:
        raise ValueError(f"a half-width cannot be {half_width}")
    if shape == "rectangular":
        return half_width / math.sqrt(3.0)
    if shape == "triangular":
        return half_width / math.sqrt(6.0)
    if shape == "normal":
        return half_width / k
    raise ValueError(f"no such shape {shape!r}; it is one of {', '.join(SHAPES)}")


def root_sum_square(parts: Iterable[float]) -> float:
    """Combine independent standard uncertainties, sensitivities included (JCGM 100, 5.1.2).

    >>> root_sum_square([3.0, 4.0]), root_sum_square([])
    (5.0, 0.0)
    """
    return math.hypot(*parts)


def worst_case(parts: Iterable[float]) -> float:
    """Add half-widths as if every error were at its limit and the same way.

    >>> worst_case([20.0, -20.0])
    40.0
    """
    return math.fsum(abs(part) for part in parts)


def effective_freedom(parts: Sequence[float], freedoms: Sequence[float]) -> float:
    """Welch-Satterthwaite degrees of freedom of a root-sum-square (JCGM 100, G.4.1, G.2b).

    parts : standard uncertainties; freedoms : theirs, ``math.inf`` for a known tolerance

    >>> round(effective_freedom([1.0, 1.0], [4.0, math.inf]), 9)
    16.0
    """
    if len(parts) != len(freedoms):
        raise ValueError("one number of degrees of freedom for each part")
    below = math.fsum(u**4 / freedom for u, freedom in zip(parts, freedoms, strict=True))
    return math.inf if below == 0.0 else math.hypot(*parts) ** 4 / below


def coverage_factor(freedom: float = math.inf, level: float = 0.95) -> float:
    """Two-sided Student factor k for a level of confidence (JCGM 100, G.3, table G.2).

    Degrees of freedom are first cut to the next lower whole number, as G.4.1 allows.

    >>> round(coverage_factor(16, 0.99), 2), round(coverage_factor(), 2)
    (2.92, 1.96)
    """
    # scipy.special starts three times faster than scipy.stats, which wraps it.
    from scipy.special import ndtri, stdtrit

    if not 0.0 < level < 1.0:
        raise ValueError(f"a level of confidence lies between 0 and 1, not {level}")
    tail = 0.5 + 0.5 * level
    if math.isinf(freedom):
        return float(ndtri(tail))
    return float(stdtrit(math.floor(freedom), tail))


def _chi_square_beyond(x: float, freedom: int) -> float:
    """Chance that chi-square exceeds x, by its finite sum (Abramowitz & Stegun 26.4.4, 26.4.5)."""
    half = 0.5 * x
    if freedom % 2:
        total, term = math.erfc(math.sqrt(half)), math.sqrt(2.0 * x / math.pi) * math.exp(-half)
        for k in range(1, freedom // 2 + 1):
            total += term
            term *= x / (2 * k + 1)
        return total
    total, term = 0.0, math.exp(-half)
    for k in range(1, freedom // 2 + 1):
        total += term
        term *= half / k
    return total


def chi_square_point(freedom: int, level: float = 0.95) -> float:
    """Value that chi-square stays below with that chance; no heavy library is loaded for it.

    Raises ValueError when ``freedom`` is below one.

    >>> round(chi_square_point(1), 3), round(chi_square_point(5), 3)
    (3.841, 11.07)
    """
    if freedom < 1 or not 0.0 < level < 1.0:
        raise ValueError("chi-square needs a degree of freedom and a level between 0 and 1")
    low, high = 0.0, 10.0 + 3.0 * freedom
    while _chi_square_beyond(high, freedom) > 1.0 - level:
        high *= 2.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _chi_square_beyond(middle, freedom) > 1.0 - level:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def expanded(parts: Iterable[float], k: float = 2.0) -> float:
    """Expanded uncertainty k·u of a root-sum-square; k = 2 is about 95 % (JCGM 100, 6.2).

    >>> round(expanded([0.5 / 3**0.5, 0.7 / 3**0.5, 3 / 6**0.5]), 4)
    2.6432
    """
    return k * root_sum_square(parts)


def _split(
    half_widths: Sequence[float], shapes: Sequence[Shape], k: float
) -> tuple[NDArray[np.float64], float]:
    """Return the rectangular half-widths and the one normal sigma that stand for the shares."""
    widths: list[float] = []
    sigmas: list[float] = []
    for signed, shape in zip(half_widths, shapes, strict=True):
        width = abs(float(signed))
        if not math.isfinite(width):
            raise ValueError("a half-width must be finite")
        if shape == "rectangular":
            widths.append(width)
        elif shape == "triangular":
            widths += [0.5 * width, 0.5 * width]  # a triangle is the sum of two equal rectangles
        else:
            sigmas.append(standard_uncertainty(width, shape, k))
    sigma = math.hypot(*sigmas)
    largest = max([*widths, sigma], default=0.0)
    kept = sorted((w for w in widths if w > _NEGLIGIBLE * largest), reverse=True)
    return np.array(kept, dtype=np.float64), sigma


def chance_above(
    mean: float,
    half_widths: Sequence[float],
    shapes: Shape | Sequence[Shape] = "rectangular",
    *,
    k: float = 2.0,
) -> float:
    """Chance that mean + Σ errors >= 0, each error independent, centred, of the given half-width.

    half_widths : share of each measurement (sensitivity times ±, either sign), mm
    shapes : one shape for all, or one each; ``k`` is what a normal ± is worth in sigmas

    Good to 1e-9. Up to eight rectangles (a triangle counts as two) are exact: the closed form
    where its rounding allows, else repeated averaging. More shares, or a normal part, go by a
    Fourier series with a bounded tail. Only when that would need more than 65,536 terms and
    there are over eight rectangles (a few large beside many thousands of times smaller) are the
    smallest ones taken as normal. A mean exactly at zero with no error counts as above.

    >>> chance_above(0.0, [10.0, 10.0]), chance_above(10.0, [10.0, 10.0])
    (0.5, 0.875)
    >>> chance_above(21.0, [10.0, 10.0]), chance_above(0.0, [])
    (1.0, 1.0)
    """
    each = [shapes] * len(half_widths) if isinstance(shapes, str) else list(shapes)
    widths, sigma = _split(half_widths, each, k)
    largest = max([*widths.tolist(), sigma])
    if largest > 0.0:  # sizes near the ends of the number range would overflow when multiplied
        mean, widths, sigma = mean / largest, widths / largest, sigma / largest
    if not len(widths) and sigma == 0.0:
        return float(mean >= 0.0)
    if not len(widths):
        return 0.5 * math.erfc(-mean / (sigma * math.sqrt(2.0)))
    if sigma == 0.0 and abs(mean) >= float(widths.sum()):
        return float(mean > 0.0)
    if sigma == 0.0 and len(widths) <= _CLOSED_MOST:
        value, slack = below_closed(mean, widths)
        if slack < _GOOD_ENOUGH:
            return min(max(value, 0.0), 1.0)
    found = below_series(mean, widths, sigma)
    if found is None:
        rest = widths[_CLOSED_MOST:]
        sigma = math.hypot(sigma, *(rest / math.sqrt(3.0)))
        found = below_pieces(mean, widths[:_CLOSED_MOST], sigma)
    return min(max(found, 0.0), 1.0)
