"""First guesses from lengths alone: each corner from two others, on either side of their line.

A room of walls and diagonals is a chain of triangles; each may lie on either side of the line it
hangs on, and all those rooms are tried at once.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.survey.readings import OutlineSurvey
from massing.survey.shapes import crosses_itself, signed_area

__all__ = ["trilaterated", "turns_of", "unlike_hints"]

Floats: TypeAlias = NDArray[np.float64]

_MOST = 512  # rooms kept while corners are added


def _order(
    survey: OutlineSurvey,
) -> tuple[dict[tuple[int, int], float], list[tuple[int, int, int]]]:
    """Lengths by pair of corners, and (corner, a, b) in the order corners can be placed."""
    spans: dict[tuple[int, int], float] = {}
    for reading in survey.readings:
        if reading.kind == "length":
            a, b = reading.at
            spans.setdefault((a, b), reading.value)
            spans.setdefault((b, a), reading.value)
    placed, order = [0, 1], []
    while len(placed) < len(survey.corners):
        for corner in range(len(survey.corners)):
            known = [p for p in placed if (corner, p) in spans]
            if corner not in placed and len(known) >= 2:
                order.append((corner, known[0], known[1]))
                placed.append(corner)
                break
        else:
            return spans, []
    return spans, order if (0, 1) in spans else []


def trilaterated(survey: OutlineSurvey, most: int = 3) -> tuple[Floats, ...]:
    """Return a few (n, 2) outlines made of the lengths, those nearest to what is hinted first.

    None where some corner is not tied to two others by lengths.

    >>> from massing.survey.readings import length
    >>> sides = [length(0, 1, 4.0, 1.0), length(1, 2, 3.0, 1.0), length(0, 2, 5.0, 1.0)]
    >>> trilaterated(OutlineSurvey(tuple("ABC"), tuple(sides)))[0].round(6).tolist()
    [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]]
    """
    spans, order = _order(survey)
    if not order:
        return ()
    rooms = np.zeros((1, len(survey.corners), 2))
    rooms[0, 1, 0] = spans[0, 1]
    for corner, a, b in order:
        one, other = _both_sides(rooms[:, a], rooms[:, b], spans[corner, a], spans[corner, b])
        grown = np.repeat(rooms, 2, axis=0)
        grown[0::2, corner], grown[1::2, corner] = one, other
        rooms = grown[:_MOST]
    way = -1.0 if survey.clockwise else 1.0
    ranked = sorted(range(len(rooms)), key=lambda k: (unlike_hints(survey, rooms[k]), k))
    proper = [
        rooms[k]
        for k in ranked
        if way * signed_area(rooms[k]) > 0.0 and not crosses_itself(rooms[k])
    ]
    return tuple(proper[:most])


def _both_sides(a: Floats, b: Floats, from_a: float, from_b: float) -> tuple[Floats, Floats]:
    """(rooms, 2) points at two distances from (rooms, 2) ends, left of the line and right of it."""
    line = b - a
    size = np.maximum(np.hypot(line[:, 0], line[:, 1]), 1e-9)[:, None]
    way = line / size
    along = (from_a**2 - from_b**2 + size**2) / (2.0 * size)
    up = np.sqrt(np.maximum(from_a**2 - along**2, 0.0))  # lengths a little short still meet
    foot, left = a + along * way, np.stack([-way[:, 1], way[:, 0]], axis=1)
    return foot + up * left, foot - up * left


def turns_of(points: Floats) -> Floats:
    """(n,) turn at each corner of an outline, degrees, left positive.

    >>> turns_of(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])).round(6).tolist()
    [90.0, 90.0, 90.0, 90.0]
    """
    step = np.roll(points, -1, axis=0) - points
    bearing = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    return np.asarray((bearing - np.roll(bearing, 1) + 180.0) % 360.0 - 180.0)


def unlike_hints(survey: OutlineSurvey, points: Floats) -> int:
    """How many corners turn the other way than they are roughly known to."""
    if not survey.hints:
        return 0
    pairs = zip(turns_of(points).tolist(), survey.hints, strict=True)
    return sum(hint is not None and turned * hint < 0.0 for turned, hint in pairs)
