"""Whether an outline survey says too little or contradicts itself: readings in, plain words out."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.survey.adjust import Problem, UndeterminedError, best_guess, free_moves
from massing.survey.readings import OutlineSurvey, Reading, length, predicted, turn

__all__ = ["contradiction", "free_columns", "outline_points", "shortfall"]

Floats: TypeAlias = NDArray[np.float64]

_FELT = 1e-3  # a measurement that changes less than this, relatively, would not settle a move


def free_columns(n: int) -> NDArray[np.int64]:
    """Columns of the 2n coordinates that are unknown: all but the first corner and y of the 2nd."""
    return np.array([2, *range(4, 2 * n)], dtype=np.int64)


def outline_points(x: Floats, n: int) -> Floats:
    """Return (n, 2) corners from the unknown coordinates.

    >>> outline_points(np.array([3.0, 3.0, 2.0]), 3).tolist()
    [[0.0, 0.0], [3.0, 0.0], [3.0, 2.0]]
    """
    full = np.zeros(2 * n)
    full[free_columns(n)] = x
    return full.reshape(n, 2)


def contradiction(survey: OutlineSurvey) -> str | None:
    """Name a length that is longer than the way round by other measured lengths."""
    spans: dict[tuple[int, int], Reading] = {}
    for reading in survey.readings:
        if reading.kind == "length":
            a, b = sorted(reading.at)
            spans.setdefault((a, b), reading)
    for (a, b), reading in spans.items():
        way = _shortest(spans, a, b)
        if way is None:
            continue
        others = [spans[pair] for pair in way]
        round_about = sum(other.value for other in others)
        slack = reading.half_width + sum(other.half_width for other in others)
        if reading.value > round_about + slack:
            names = [survey.name(other) for other in others]
            return (
                f"{survey.name(reading)} ({reading.value:.0f}) is longer than "
                f"{' and '.join(names)} together ({round_about:.0f})"
            )
    return None


def _shortest(
    spans: dict[tuple[int, int], Reading], start: int, end: int
) -> list[tuple[int, int]] | None:
    """Return the pairs on the shortest way from start to end not using that pair itself."""
    best: dict[int, tuple[float, list[tuple[int, int]]]] = {start: (0.0, [])}
    for _ in range(len(spans)):
        for pair, reading in spans.items():
            if pair == (start, end):
                continue
            for here, there in (pair, pair[::-1]):
                if here not in best:
                    continue
                total = best[here][0] + reading.value
                if there not in best or total < best[there][0]:
                    best[there] = (total, [*best[here][1], pair])
    return best[end][1] if end in best else None


def _candidates(survey: OutlineSurvey) -> list[Reading]:
    """Every wall, diagonal and turn not yet measured, in that order."""
    n = len(survey.corners)
    have = {(r.kind, tuple(sorted(r.at))) for r in survey.readings}
    pairs = [(i, j) for i in range(n) for j in range(i + 1, n)]
    walls = [(i, j) for i, j in pairs if j - i in {1, n - 1}]
    wanted = [length(i, j, 0.0, 1.0) for i, j in walls]
    wanted += [length(i, j, 0.0, 1.0) for i, j in pairs if (i, j) not in walls]
    wanted += [turn(i, 0.0, 1.0) for i in range(n)]
    return [r for r in wanted if (r.kind, tuple(sorted(r.at))) not in have]


def shortfall(survey: OutlineSurvey, problem: Problem) -> UndeterminedError | None:
    """Say what is still free and which further measurements would settle it."""
    n = len(survey.corners)
    if problem.observed.size:
        x = best_guess(problem)
        slopes = problem.observe(x)[1]
    else:
        x, slopes = problem.starts[0], np.zeros((0, 2 * n - 3))
    moves = free_moves(slopes)
    if not len(moves):
        return None
    # A right angle or a straight line can hide a way to move, so ask at a slightly bent shape.
    bent = x + 0.03 * float(np.abs(x).max()) * np.sin(1.0 + 2.4 * np.arange(len(x)))
    bent_slopes = problem.observe(bent)[1] if problem.observed.size else slopes
    if len(free_moves(bent_slopes)) == len(moves):
        x, slopes, moves = bent, bent_slopes, free_moves(bent_slopes)
    points = outline_points(x, n)
    rows = [(r, predicted(r, points)[1].ravel()[free_columns(n)]) for r in _candidates(survey)]
    felt = [(r, row) for r, row in rows if np.abs(moves @ row).max() > _FELT * np.abs(row).max()]
    shift = np.zeros((len(moves), 2 * n))
    shift[:, free_columns(n)] = moves
    size = np.abs(shift).max(axis=0).reshape(n, 2).max(axis=1)
    loose = [survey.corners[i] for i in range(n) if size[i] > 1e-3 * size.max()]
    listed = " and ".join([", ".join(loose[:-1]), loose[-1]] if len(loose) > 1 else loose)
    where = f"corner{'s' if len(loose) > 1 else ''} {listed} can still move"
    if len(moves) == 1:
        settles = tuple(survey.name(r) for r, _ in felt)
        says = f"one measurement is missing: {where}; any one of these settles it: "
        return UndeterminedError(says + ", ".join(settles), 1, settles)
    chosen: list[str] = []
    for r, row in felt:
        if len(moves) and np.abs(moves @ row).max() > _FELT * np.abs(row).max():
            slopes = np.vstack([slopes, row])
            moves = free_moves(slopes)
            chosen.append(survey.name(r))
    says = f"{len(chosen)} measurements are missing: {where}; these would settle it: "
    return UndeterminedError(says + ", ".join(chosen), len(chosen), tuple(chosen))
