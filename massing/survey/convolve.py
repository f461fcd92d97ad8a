"""Sums of independent rectangular errors: half-widths in, the chance the sum stays below x out.

Three methods, each exact to about 1e-10 where it is used, and used to check one another:

- ``below_closed``: the closed piecewise polynomial of a sum of uniforms (Bradley & Gupta,
  Annals of the Institute of Statistical Mathematics 54, 2002), 2^n terms. It also returns a
  bound on its own rounding, because unequal widths cancel badly.
- ``below_series``: the Fourier series of the distribution, whose coefficients are products of
  sinc functions (and a Gaussian when there is a normal part). The neglected tail is bounded.
- ``below_pieces``: repeated averaging of a piecewise polynomial held in local coordinates.
  Averaging cannot amplify an error, so it is safe whatever the widths, only slower.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from numpy.typing import NDArray

__all__ = ["below_closed", "below_pieces", "below_series", "series_terms"]

Floats = NDArray[np.float64]

_TAILS = 9.0  # a normal part is cut at nine sigma, 1e-19 of it beyond
_NEGLECT = 1e-11  # bound on the tail of the Fourier series
_NARROW = 1e-4  # windows narrower than this share of the whole are averaged piece by piece


def below_closed(x: float, widths: Floats) -> tuple[float, float]:
    """Return P(S <= x) for S uniform on ±each width summed, and a bound on the rounding error.

    widths : (n,) positive half-widths; work and rounding grow as 2^n, meant for n <= 8

    >>> below_closed(0.0, np.array([1.0, 2.0, 3.0]))[0]
    0.5
    """
    n = len(widths)
    signs = np.array(list(product((-1.0, 1.0), repeat=n)))
    base = np.maximum(x + signs @ widths, 0.0)
    scale = 1.0 / (math.factorial(n) * float(np.prod(2.0 * widths)))
    terms = np.prod(signs, axis=1) * base**n
    slack = float(np.abs(terms).sum()) * scale * (n + 2) * np.finfo(np.float64).eps
    return math.fsum(terms.tolist()) * scale, slack


def series_terms(widths: Floats, sigma: float, half_period: float, most: int) -> int | None:
    """Return how many Fourier terms leave a tail below 1e-11, or None when ``most`` are too few."""
    count = 16
    while count <= most:
        step = math.pi * count / half_period
        size = float(np.prod(np.minimum(1.0, 1.0 / (widths * step))))
        size *= math.exp(-0.5 * (sigma * step) ** 2)
        order = int((widths * step > 1.0).sum()) + (sigma * step) ** 2
        # Beyond here the terms fall at least as fast as k^-(order + 1).
        if order > 0 and size / (math.pi * order) < _NEGLECT:
            return count
        count *= 2
    return None


def below_series(x: float, widths: Floats, sigma: float, most: int = 1 << 16) -> float | None:
    """Return P(S <= x), S the rectangular sum plus a normal part, by Fourier series.

    None when ``most`` terms would not bring the neglected tail below 1e-11.

    >>> round(384 * below_series(0.5, np.full(4, 0.5), 0.0), 6)
    307.0
    """
    reach = float(widths.sum()) + _TAILS * sigma
    if abs(x) >= reach:
        return float(x > 0)
    terms = series_terms(widths, sigma, reach, most)
    if terms is None:
        return None
    k = np.arange(1, terms + 1, dtype=np.float64)
    step = math.pi * k / reach
    wave = np.exp(-0.5 * (sigma * step) ** 2)
    for width in widths:
        wave *= np.sinc(width * step / math.pi)
    total = math.fsum((wave * np.sin(step * x) / (math.pi * k)).tolist())
    return 0.5 + x / (2.0 * reach) + total


def _powers(x: Floats, breaks: Floats, coefficients: Floats) -> Floats:
    """Evaluate local polynomials (coordinate -1..1 on each piece) at x, ends held constant."""
    piece = np.clip(np.searchsorted(breaks, x, side="right") - 1, 0, len(breaks) - 2)
    half = 0.5 * np.diff(breaks)[piece]
    u = np.clip((x - breaks[piece]) / half - 1.0, -1.0, 1.0)
    out = np.zeros_like(u)
    for column in coefficients.T[::-1]:
        out = out * u + column[piece]
    return out


def _integral(breaks: Floats, coefficients: Floats) -> Floats:
    """Return local coefficients of the running integral from the first break."""
    degree = coefficients.shape[1]
    half = 0.5 * np.diff(breaks)[:, None]
    grown = np.zeros((len(coefficients), degree + 1))
    grown[:, 1:] = half * coefficients / np.arange(1, degree + 1)
    signs = np.where(np.arange(degree + 1) % 2, -1.0, 1.0)
    start, end = grown @ signs, grown.sum(axis=1)
    grown[:, 0] += np.concatenate([[0.0], np.cumsum(end - start)[:-1]]) - start
    return grown


def _window_means(x: Floats, breaks: Floats, coefficients: Floats, width: float) -> Floats:
    """Return the mean of a distribution function over x ± width."""
    if width > _NARROW * (breaks[-1] - breaks[0]):
        total = _integral(breaks, coefficients)

        def running(at: Floats) -> Floats:
            beyond = np.maximum(at - breaks[-1], 0.0)
            return np.asarray(_powers(at.ravel(), breaks, total).reshape(at.shape) + beyond)

        return np.asarray((running(x + width) - running(x - width)) / (2.0 * width))
    # A difference of integrals would lose the digits of a narrow window: go piece by piece.
    nodes, weights = np.polynomial.legendre.leggauss(coefficients.shape[1] // 2 + 1)
    out = np.clip(x + width - breaks[-1], 0.0, 2.0 * width)  # beyond the end it is 1
    # Dividing by the lengths as they were rounded, not by 2 width, keeps a mean a mean.
    window = out + np.clip(breaks[0] - x + width, 0.0, 2.0 * width)
    for i in range(len(breaks) - 1):
        low = np.maximum(x - width, breaks[i])
        half = 0.5 * (np.minimum(x + width, breaks[i + 1]) - low)
        hit = half > 0.0
        at = (low[hit] + half[hit])[:, None] + half[hit][:, None] * nodes
        twice = _powers(at.ravel(), breaks, coefficients).reshape(at.shape) @ weights
        out[hit] += twice * half[hit]
        window[hit] += 2.0 * half[hit]
    return np.asarray(out / window)


def _averaged(breaks: Floats, coefficients: Floats, width: float) -> tuple[Floats, Floats]:
    """Average a distribution function over ±width: breaks and coefficients one degree up."""
    wide = np.sort(np.concatenate([breaks - width, breaks + width]))
    keep = np.concatenate([[True], np.diff(wide) > 1e-14 * (wide[-1] - wide[0])])
    wide = wide[keep]
    size = coefficients.shape[1] + 1
    nodes = np.cos(np.pi * (np.arange(size) + 0.5) / size)
    half = 0.5 * np.diff(wide)[:, None]
    x = (wide[:-1, None] + half) + half * nodes

    values = _window_means(x, breaks, coefficients, width)
    inverse = np.linalg.inv(np.vander(nodes, size, increasing=True))
    return wide, values @ inverse.T


def below_pieces(x: float, widths: Floats, sigma: float = 0.0) -> float:
    """Return P(S <= x) by repeated averaging, then one quadrature when there is a normal part.

    >>> round(384 * below_pieces(0.5, np.full(4, 0.5)), 6)
    307.0
    """
    ordered = np.sort(widths)[::-1]
    breaks = np.array([-ordered[0], ordered[0]])
    coefficients = np.array([[0.5, 0.5]])
    for width in ordered[1:]:
        breaks, coefficients = _averaged(breaks, coefficients, float(width))
    if sigma == 0.0:
        return float(_powers(np.array([x]), breaks, coefficients)[0])
    low, high = x - _TAILS * sigma, x + _TAILS * sigma
    inside = breaks[(breaks > low) & (breaks < high)]
    cuts = np.unique(np.concatenate([np.linspace(low, high, 37), inside]))
    nodes, weights = np.polynomial.legendre.leggauss(16)
    half = 0.5 * np.diff(cuts)[:, None]
    at = cuts[:-1, None] + half + half * nodes
    bell = np.exp(-0.5 * ((at - x) / sigma) ** 2) / (sigma * math.sqrt(2.0 * math.pi))
    values = _powers(at.ravel(), breaks, coefficients).reshape(at.shape)
    return float((half * weights * bell * values).sum())
