"""First guesses at an outline: measured walls and turns, some missing, in; corner sets out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.survey.traverse import compass_rule, corners, directions, legs

__all__ = ["first_guesses", "way_round"]

Floats: TypeAlias = NDArray[np.float64]

_MOST = 64
_SHARPEST = 170.0  # degrees, the sharpest turn to expect of a corner nobody measured


def way_round(turns: Sequence[float | None], *, clockwise: bool = False) -> int:
    """Return +1 for a counter-clockwise outline, -1 for a clockwise one.

    The turns decide when the missing ones could make only one full circle; else ``clockwise``.

    >>> way_round([-90.0, -90.0, None, None]), way_round([-90.0, None, None, None])
    (-1, 1)
    """
    known = sum(angle for angle in turns if angle is not None)
    gaps = sum(angle is None for angle in turns)
    left, right = (abs(full - known) <= _SHARPEST * gaps for full in (360.0, -360.0))
    if gaps == 0:
        return 1 if known > 0.0 else -1
    if left == right:
        return -1 if clockwise else 1
    return 1 if left else -1


def _fillings(turns: Sequence[float | None], full: float) -> Iterator[list[float]]:
    """Yield turns with the missing ones filled: shared evenly first, then as square corners."""
    known = sum(angle for angle in turns if angle is not None)
    gaps = [i for i, angle in enumerate(turns) if angle is None]
    filled = [0.0 if angle is None else angle for angle in turns]
    if not gaps:
        yield filled
        return
    rest = full - known
    for i in gaps:
        filled[i] = rest / len(gaps)
    yield list(filled)
    square = 90.0 if full > 0 else -90.0
    # so many of the gaps turn the other way that the whole comes nearest to one full circle
    back = min(max(round((len(gaps) - rest / square) / 2), 0), len(gaps))
    for chosen in combinations(gaps, back):
        for i in gaps:
            filled[i] = -square if i in chosen else square
        yield list(filled)


def _lengths(walls: Sequence[float | None], bearings: Floats) -> Floats:
    """Return wall lengths, missing ones chosen so that the walk comes nearest to closing."""
    known = [size for size in walls if size is not None]
    ordered = sorted(known) or [1000.0]
    usual = (ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2.0
    sizes = np.array([usual if size is None else size for size in walls])
    gaps = [i for i, size in enumerate(walls) if size is None]
    if gaps and known:
        unit = legs(np.ones(len(walls)), bearings)
        rest = np.array([i for i in range(len(walls)) if i not in gaps])
        missing = -(unit[rest] * sizes[rest, None]).sum(axis=0)
        found = np.linalg.lstsq(unit[gaps].T, missing, rcond=None)[0]
        sizes[gaps] = np.where(found > 0.05 * usual, found, usual)
    return sizes


def first_guesses(
    walls: Sequence[float | None], turns: Sequence[float | None], *, clockwise: bool = False
) -> tuple[Floats, ...]:
    """Return (n, 2) corner sets to start from, first wall along +x, the plainest first.

    walls : wall i runs from corner i to the next, mm; turns : at corner i, degrees, left positive

    >>> first_guesses([2000.0, 1000.0, None, None], [None, 90.0, 90.0, 90.0])[0].round(6).tolist()
    [[0.0, 0.0], [2000.0, 0.0], [2000.0, 1000.0], [0.0, 1000.0]]
    """
    full = 360.0 * way_round(turns, clockwise=clockwise)
    guesses = []
    for filled in islice(_fillings(turns, full), _MOST):
        bearings = directions(filled)
        sizes = _lengths(walls, bearings)
        steps = compass_rule(legs(sizes, bearings), sizes)
        first = np.arctan2(steps[0, 1], steps[0, 0])
        cos, sin = np.cos(first), np.sin(first)
        points = corners(steps) @ np.array([[cos, -sin], [sin, cos]])
        points[:2, 1] = 0.0
        guesses.append(points)
    return tuple(guesses)
