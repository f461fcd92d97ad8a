"""How far apart is every pair: convex solids and pair numbers in, signed gaps out.

Positive is the Euclidean distance, zero is touching, negative is minus the shortest move that
separates. Right to 1e-6 mm for convex polyhedra in any position, flush ones included. Pairs are
gathered by kind and measured as arrays over pairs and worlds at once, in slices of bounded size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.geometry.gaps.asked import Gaps, checked
from massing.geometry.gaps.candidates import candidate_pairs, candidate_pairs_between
from massing.geometry.gaps.frames import Frame, dot, frames_of, size_class
from massing.geometry.gaps.plan import PlanGaps, polygon_gap
from massing.geometry.gaps.polyhedra import crossings, face_directions, polyhedron_gaps, reaches
from massing.geometry.gaps.prisms import prism_gaps
from massing.geometry.solids import Convex, Floats, Ints

__all__ = [
    "Gaps",
    "PlanGaps",
    "candidate_pairs",
    "candidate_pairs_between",
    "directed_depth",
    "polygon_gap",
    "signed_gaps",
]

_WORLDS_AT_ONCE = 16384  # solids times worlds framed together
_WORK_AT_ONCE = 1 << 16  # numbers in the largest intermediate array
_COMPILED_FROM = 100_000  # pairs of prisms; about the time it takes to load the compiled kernel
_GENERAL = 20  # pairs of prisms that take as long as one of other solids
_Answer: TypeAlias = tuple[Floats, Floats, Floats]


def signed_gaps(solids: Sequence[Convex], pairs: Ints) -> Gaps:
    """Signed gaps of the numbered pairs of solids in every world.

    solids : with one world or all with the same larger number of worlds
    pairs : (m, 2) numbers into solids

    Solids need volume; a face without area is allowed, as where a slope meets the floor.
    Raises GeometryError when the worlds do not agree or a pair names no solid.

    >>> from massing.geometry.solids import box
    >>> desk, bin_ = box([0, 0, 0], [1200, 600, 720]), box([1100, 500, 0], [1400, 800, 300])
    >>> shelf = box([0, 0, 1020], [1200, 200, 1040])
    >>> found = signed_gaps([desk, bin_, shelf], np.array([[0, 1], [0, 2]]))
    >>> found.gap.tolist(), found.normal[0, 0].tolist(), found.at[0, 0].tolist()
    ([[-100.0, 300.0]], [1.0, 0.0, 0.0], [1150.0, 550.0, 150.0])
    """
    pairs = checked(solids, pairs)
    worlds = max((solid.worlds for solid in solids), default=1)
    if _work(solids, pairs) > _COMPILED_FROM:
        from massing.geometry.gaps.compiled import signed_gaps_compiled

        return signed_gaps_compiled(solids, pairs, told=worlds)
    gap = np.zeros((worlds, len(pairs)))
    normal, at = np.zeros((worlds, len(pairs), 3)), np.zeros((worlds, len(pairs), 3))
    for members, upright, many in _kinds(solids, pairs):
        span = worlds if many else 1
        if upright:
            answers = _upright_rows(solids, pairs, members, span)
        else:
            answers = _general_rows(solids, pairs, members, span)
        for low, high, which, answer in answers:
            count = high - low
            rows = slice(low, high) if many else slice(None)
            gap[rows, which] = answer[0].reshape(count, -1)
            normal[rows, which] = answer[1].reshape(3, count, -1).transpose(1, 2, 0)
            at[rows, which] = answer[2].reshape(3, count, -1).transpose(1, 2, 0)
    return Gaps(gap + 0.0, normal + 0.0, at + 0.0)  # no negative zeros to print


def directed_depth(a: Convex, b: Convex, direction: Floats) -> Floats:
    """How far a must move along a unit direction to be clear of b: (worlds,) mm, 0 when it is.

    direction : (3,) or (worlds, 3)

    >>> from massing.geometry.solids import box
    >>> case, beam = box([0, 0, 0], [400, 400, 2000]), box([300, -50, 1900], [500, 450, 2100])
    >>> directed_depth(case, beam, np.array([0.0, 0.0, -1.0])).tolist()
    [100.0]
    >>> directed_depth(case, beam, np.array([0.0, 0.6, 0.8])).round(6).tolist()
    [750.0]
    """
    checked([a, b], np.array([[0, 1]]))
    worlds = max(a.worlds, b.worlds)
    along = np.broadcast_to(np.asarray(direction, dtype=np.float64).reshape(-1, 3), (worlds, 3))
    step = max(1, _WORK_AT_ONCE // (_edge_count(a) * _edge_count(b)))
    depth = [_depth_rows(a, b, along[low : low + step].T, low) for low in range(0, worlds, step)]
    return np.concatenate(depth)


def _depth_rows(a: Convex, b: Convex, along: Floats, low: int) -> Floats:
    """Directed depth of worlds low.. as many as along (3, rows) has.

    The moves of a that leave it meeting b form the Minkowski difference; the ray leaves it
    through the nearest of its facet planes. Planes that are not facets lie further out.
    """
    count = along.shape[1]
    one, two = (
        frame.take(np.arange(count) if frame.levels.shape[1] > 1 else np.zeros(count, np.int64))
        for frame in (frames_of([solid], low, low + count) for solid in (a, b))
    )
    ways, seps = face_directions(one, two)
    exits = _exit(dot(ways, along[:, None]), seps).min(axis=0)
    apart = seps.max(axis=0)
    arcs = crossings(one, two)
    low_a, high_a = reaches(one, arcs.row, arcs.direction)
    low_b, high_b = reaches(two, arcs.row, arcs.direction)
    pace = dot(arcs.direction, along[:, arcs.row])
    for sep, sign in ((low_b - high_a, 1.0), (low_a - high_b, -1.0)):
        np.minimum.at(exits, arcs.row, _exit(sign * pace, sep))
        np.maximum.at(apart, arcs.row, sep)
    return np.asarray(np.where(apart >= 0.0, 0.0, exits))


def _exit(pace: Floats, sep: Floats) -> Floats:
    """Travel until a plane is cleared; a plane the move does not gain on never is."""
    gaining = pace < -1e-12
    return np.where(gaining & np.isfinite(sep), sep / np.where(gaining, pace, 1.0), np.inf)


def _work(solids: Sequence[Convex], pairs: Ints) -> int:
    """How much there is to measure, in pairs of prisms, all worlds together."""
    if not len(pairs):
        return 0
    upright = np.array([solid.faces.upright for solid in solids])
    general = int((~upright[pairs].all(axis=1)).sum())
    worlds = max(solid.worlds for solid in solids)
    return worlds * (len(pairs) + (_GENERAL - 1) * general)


def _kinds(solids: Sequence[Convex], pairs: Ints) -> Iterator[tuple[Ints, bool, bool]]:
    """Pairs that can share one array: their places, whether both are upright, many worlds."""
    kind = np.zeros((len(solids), 3), dtype=np.int64)
    for number in np.flatnonzero(_present(len(solids), pairs)).tolist():
        solid = solids[number]
        kind[number] = (
            solid.faces.upright,
            solid.corners.shape[1],
            solid.worlds > 1,
        )
    size = np.zeros(len(solids), dtype=np.int64)
    upright = kind[pairs[:, 0], 0] & kind[pairs[:, 1], 0]
    for number in np.flatnonzero(_present(len(solids), pairs[upright == 0])).tolist():
        size[number] = size_class(solids[number].faces)
    both = np.where(upright[:, None] == 1, kind[pairs, 1], size[pairs])
    many = kind[pairs, 2].max(axis=1, initial=0)
    most = int(both.max(initial=0)) + 1
    keys = ((upright * 2 + many) * most + both[:, 0]) * most + both[:, 1]
    for key in np.flatnonzero(_present(4 * most * most, keys)):
        flags = int(key) // (most * most)
        yield np.flatnonzero(keys == key), flags >= 2, flags % 2 == 1


def _present(count: int, numbers: Ints) -> NDArray[np.bool_]:
    """Which of 0..count-1 occur."""
    present = np.zeros(count, dtype=np.bool_)
    present[numbers.reshape(-1)] = True
    return present


def _slices(pairs: int, solids: int, worlds: int, work: int) -> Iterator[tuple[int, int, slice]]:
    """Worlds low..high-1 and a run of pairs, small enough to work on at once."""
    step = max(1, min(worlds, _WORLDS_AT_ONCE // max(solids, 1)))
    for low in range(0, worlds, step):
        high = min(low + step, worlds)
        run = max(1, _WORK_AT_ONCE // (work * (high - low)))
        for start in range(0, pairs, run):
            yield low, high, slice(start, start + run)


_Rows = Iterator[tuple[int, int, Ints, _Answer]]


def _upright_rows(solids: Sequence[Convex], pairs: Ints, members: Ints, worlds: int) -> _Rows:
    """Answers for right prisms: the slice of worlds, the places of the pairs, the three arrays."""
    sides = [_Side.of(solids, pairs[members, k]) for k in (0, 1)]
    work = int(np.prod([side.solids[0].corners.shape[1] for side in sides]))
    count = sum(len(side.solids) for side in sides)
    for low, high, run in _slices(len(members), count, worlds, work):
        a, b = (side.corners(low, high)[:, :, side.rows(low, high, run)] for side in sides)
        yield low, high, members[run], prism_gaps(a, b)


def _general_rows(solids: Sequence[Convex], pairs: Ints, members: Ints, worlds: int) -> _Rows:
    """Answers for any convex solids, in the same form."""
    sides = [_Side.of(solids, pairs[members, k]) for k in (0, 1)]
    work = int(np.prod([max(map(_edge_count, side.solids)) for side in sides]))
    count = sum(len(side.solids) for side in sides)
    framed: tuple[int, list[Frame]] = (-1, [])
    for low, high, run in _slices(len(members), count, worlds, work):
        if framed[0] != low:
            framed = (low, [side.frames(low, high) for side in sides])
        a, b = (
            frame.take(side.rows(low, high, run))
            for side, frame in zip(sides, framed[1], strict=True)
        )
        yield low, high, members[run], polyhedron_gaps(a, b)


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """The solids on one side of some pairs, and which of them each pair takes."""

    solids: list[Convex]
    who: Ints

    @classmethod
    def of(cls, solids: Sequence[Convex], numbers: Ints) -> _Side:
        present = _present(len(solids), numbers)
        who = (np.cumsum(present) - 1)[numbers]
        return cls([solids[k] for k in np.flatnonzero(present).tolist()], who)

    def corners(self, low: int, high: int) -> Floats:
        """(3, n, rows) corners of all of them, one row for each solid and world."""
        parts = [s.corners if s.worlds == 1 else s.corners[low:high] for s in self.solids]
        return np.ascontiguousarray(np.concatenate(parts).transpose(2, 1, 0))

    def frames(self, low: int, high: int) -> Frame:
        """Their frames, rows as in corners."""
        return frames_of(self.solids, low, high)

    def rows(self, low: int, high: int, run: slice) -> Ints:
        """Row of each pair of the run in each world, worlds first, flat."""
        many = np.array([solid.worlds > 1 for solid in self.solids], dtype=np.int64)
        counts = np.where(many, high - low, 1)
        first = np.cumsum(counts) - counts
        who = self.who[run]
        rows = first[who] + np.arange(high - low)[:, None] * many[who]
        return np.asarray(rows.reshape(-1))


def _edge_count(solid: Convex) -> int:
    return sum(len(ring) for ring in solid.faces.rings) // 2
