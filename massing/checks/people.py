"""How much height does a person need, by what they are doing: people in, millimetres out.

Body sizes are percentiles of ANSUR II, the 2012 US Army survey (open data; 4082 men and 1986
women, unshod; percentiles worked out from the raw records, linear interpolation).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

__all__ = [
    "BODY",
    "POSTURES",
    "Posture",
    "body_size",
    "grip_reach",
    "height_needed",
    "shoulder_height",
]


@dataclass(frozen=True, slots=True)
class _Size:
    """Mean and standard deviation, and the percentiles read off the records, mm."""

    mean: float
    sd: float
    at: dict[int, float]


BODY: dict[tuple[str, str], _Size] = {
    ("stature", "man"): _Size(1756.2, 68.6, {5: 1648, 50: 1755, 95: 1870, 99: 1927}),
    ("stature", "woman"): _Size(1628.5, 64.2, {5: 1525, 50: 1626, 95: 1740, 99: 1778}),
    ("shoulder", "man"): _Size(510.4, 32.5, {5: 459, 50: 509, 95: 567, 99: 593}),
    ("shoulder", "woman"): _Size(450.3, 28.7, {5: 406, 50: 450, 95: 499, 99: 522}),
    ("reach", "man"): _Size(811.9, 43.7, {5: 742, 50: 811, 95: 886, 99: 922}),
    ("reach", "woman"): _Size(744.0, 42.8, {5: 674, 50: 742, 95: 816, 99: 852}),
}


def body_size(what: str, who: str, percentile: float) -> float:
    """A body size, mm: read off the records where known, else joined between those.

    what : stature, shoulder (width over both) or reach (thumb tip, forward)
    who : man or woman; percentile : 1 to 99
    Between two read off it runs as a normal population would; below the lowest it goes on from
    it by the survey's deviation. So it never falls as the percentile rises.
    Raises KeyError for an unknown size, ValueError for a percentile outside 1 to 99.

    >>> body_size("stature", "man", 95), round(body_size("stature", "woman", 90))
    (1870.0, 1715)
    """
    if not 1 <= percentile <= 99:
        raise ValueError(f"{percentile} is not a percentile from 1 to 99")
    size = BODY[what, who]
    known = sorted(size.at.items())
    score = _score(percentile)
    for (low, least), (high, most) in pairwise(known):
        if low <= percentile <= high:
            share = (score - _score(low)) / (_score(high) - _score(low))
            return least + share * (most - least)
    lowest, least = known[0]
    return least + (score - _score(lowest)) * size.sd


def _score(percentile: float) -> float:
    """How many deviations from the mean a percentile lies in a normal population."""
    return NormalDist().inv_cdf(percentile / 100.0)


@dataclass(frozen=True, slots=True)
class Posture:
    """What someone does, the height it takes, and why.

    fixed : mm where stature does not come into it; share, extra : else share x stature + extra
    least : mm, the default when no stature is given
    """

    name: str
    least: float
    share: float
    extra: float
    source: str


POSTURES = {
    posture.name: posture
    for posture in (
        Posture(
            "standing", 2000.0, 1.0, 100.0,
            "common practice, no source: stature + 100, 2000 when no stature is given",
        ),
        Posture(
            "sitting", 1500.0, 0.52, 500.0,
            "common practice, no source: seat 450 + sitting height (0.52 of stature) + 50",
        ),
        Posture(
            "rising", 1900.0, 1.0, 0.0,
            "common practice, no source: stature, 1900 when no stature is given",
        ),
        Posture("kneeling", 1300.0, 0.0, 1300.0, "common practice, no source"),
        Posture("crawling", 900.0, 0.0, 900.0, "common practice, no source"),
        Posture("lying", 1000.0, 0.0, 1000.0, "common practice, no source: over the pillow"),
        Posture(
            "pressing", 2310.0, 1.25, 100.0,
            "common practice, no source: overhead grip (1.25 of stature) + 100",
        ),
        Posture(
            "jumping", 2300.0, 1.0, 400.0,
            "common practice, no source: stature + 400 when skipping or jumping",
        ),
    )
}  # fmt: skip


def height_needed(posture: str, stature: float | None) -> tuple[float, str]:
    """Clear height a posture needs above the local floor, mm, and where that comes from.

    >>> height_needed("standing", None)[0], height_needed("standing", 1855.0)[0]
    (2000.0, 1955.0)
    >>> height_needed("sitting", 1855.0)[0]
    1464.6
    """
    entry = POSTURES[posture]
    if stature is None:
        return entry.least, entry.source
    return round(entry.share * stature + entry.extra, 3), entry.source


def grip_reach(stature: float) -> float:
    """Height a hand still grips at, standing upright, mm: 1.2 of stature.

    Source: British adult tables, 1806 over 1505 for the 5th percentile woman and 2210 over 1855
    (1.19) for the 95th percentile man, seen second-hand.

    >>> grip_reach(1505.0)
    1806.0
    """
    return round(1.2 * stature, 3)


def shoulder_height(stature: float) -> float:
    """Height of the shoulder, mm: 0.82 of stature (common practice, no source).

    >>> shoulder_height(1700.0)
    1394.0
    """
    return round(0.82 * stature, 3)
