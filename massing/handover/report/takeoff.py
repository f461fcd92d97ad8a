"""What is a partition made of? A partition as it stands in; studs, plates and boards out.

Everything follows the partition's own shape: the slope over it, the step under it, the openings
in it. Setting out runs from its start. Nominal sizes, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.checks.run import Answer
from massing.errors import InputError
from massing.geometry.polygons import area
from massing.geometry.solids import Floats
from massing.handover.report.cutting import Bought, lengths_to_buy, sheets_to_buy
from massing.handover.report.slices import Line, cut_solid
from massing.room.shape import Opening, Room
from massing.room.spec import PartitionSpec
from massing.survey.buildups import BuildUp, load_build_up

__all__ = ["KERF_NOTE", "TakeOff", "take_off"]

SHEETS = ((1200.0, 2400.0), (1200.0, 2700.0), (1200.0, 3000.0))
LENGTHS = (2400.0, 3000.0, 3600.0, 4200.0, 4800.0)
NOGGING_FROM = 1350.0
"""Stock sizes, and the stud length from which a row of noggings is counted: common practice,
no source."""
KERF_NOTE = (
    "Counted from each partition as it stands: studs follow the slope and are given to the long "
    "point, with a stud at each end and beside each opening; heads and sills are single; one row "
    "of noggings where studs are longer than 1350. Fixings, linings, packers and a builder's own "
    "allowance are not counted. Waste is what the bought pieces hold over what is used."
)
_LEAST = 30.0
"""mm; a shorter stud is a packing piece."""

_Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class TakeOff:
    """One partition.

    length : along its centre line; face_m2 : of one face, openings out
    studs : (place along it, length) of each, in order; short ones stand over and under openings
    plates : (what, total length); boards : for each sheet size; timber : for each stock length
    faces : boarded faces; build_up : None where only a thickness is said
    """

    name: str
    build_up: BuildUp | None
    thickness: float
    length: float
    highest: float
    lowest: float
    face_m2: float
    openings: int
    studs: tuple[tuple[float, float], ...] = ()
    plates: tuple[tuple[str, float], ...] = ()
    noggings: int = 0
    timber: tuple[Bought, ...] = ()
    faces: int = 0
    boards: tuple[Bought, ...] = ()


def take_off(answer: Answer) -> tuple[TakeOff, ...]:
    """Every partition of a scheme, in file order."""
    arrangement = answer.project.arrangements[answer.layout.name]
    return tuple(_one(answer.layout.room, spec) for spec in arrangement.partitions)


@dataclass(frozen=True, slots=True, eq=False)
class _Elevation:
    """A partition seen square on: convex outlines s, z; s from its start."""

    rings: tuple[Floats, ...]
    openings: tuple[Opening, ...]

    @property
    def ends(self) -> _Span:
        s = np.concatenate([ring[:, 0] for ring in self.rings])
        return float(s.min()), float(s.max())

    @property
    def breaks(self) -> list[float]:
        """Every s where an outline has a corner, once."""
        rows = sorted(float(s) for ring in self.rings for s in ring[:, 0])
        return [s for k, s in enumerate(rows) if k == 0 or s - rows[k - 1] > 0.01]

    def spans(self, s: float) -> list[_Span]:
        """Where it is solid at s, from the floor up."""
        found = sorted(span for ring in self.rings if (span := _at(ring, s)) is not None)
        merged: list[_Span] = []
        for low, high in found:
            if merged and low <= merged[-1][1] + 0.5:
                merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
            else:
                merged.append((low, high))
        return merged


def _at(ring: Floats, s: float) -> _Span | None:
    """Least and greatest z of a convex outline at s."""
    if not ring[:, 0].min() - 1e-6 <= s <= ring[:, 0].max() + 1e-6:
        return None
    z: list[float] = []
    for p, q in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        low, high = sorted((float(p[0]), float(q[0])))
        if low - 1e-6 <= s <= high + 1e-6:
            wide = float(q[0] - p[0])
            if abs(wide) < 1e-6:
                z += [float(p[1]), float(q[1])]
            else:
                z.append(float(p[1] + (s - p[0]) / wide * (q[1] - p[1])))
    return (min(z), max(z)) if z and max(z) - min(z) > 1e-6 else None


def _one(room: Room, spec: PartitionSpec) -> TakeOff:
    name = str(spec.name)
    face = next(wall for wall in room.walls if wall.partition and wall.name.startswith(f"{name} "))
    thick = float(face.thickness[0])
    line = Line(face.left[0] + face.outward[0] * thick / 2, face.along[0])
    fabric = next(fabric for fabric in room.fabric if fabric.name == name)
    rings = tuple(ring for solid in fabric.parts if len(ring := cut_solid(solid, line)))
    openings = tuple(opening for opening in room.openings if opening.wall == face.name)
    seen = _Elevation(rings, openings)
    start, end = seen.ends
    tall = [span[-1][1] - span[0][0] for s in _inner(seen.breaks) if (span := seen.spans(s))]
    square = math.fsum(float(area(ring[None])[0]) for ring in rings)
    found = TakeOff(
        name, _build_up(spec), thick, end - start, max(tall), min(tall), square / 1e6, len(openings)
    )
    return _built(found, seen, square)


def _inner(breaks: list[float]) -> list[float]:
    """Places just inside every break, on both sides of it."""
    return [s for a, b in pairwise(breaks) for s in (a + 0.02, b - 0.02) if b - a > 0.05]


def _build_up(spec: PartitionSpec) -> BuildUp | None:
    if spec.build_up is None:
        return None
    try:
        return load_build_up(str(spec.build_up))
    except InputError:  # a project may name its own
        return None


def _built(found: TakeOff, seen: _Elevation, square: float) -> TakeOff:
    made = found.build_up
    studs: list[tuple[float, float]] = []
    plates: tuple[tuple[str, float], ...] = ()
    timber: tuple[Bought, ...] = ()
    noggings = 0
    if made is not None and made.studs is not None:
        wide = float(made.studs.size[0])
        studs = list(_studs(seen, wide, float(made.studs.centres)))
        plates = _plates(seen)
        bays = list(_noggings(studs, wide))
        noggings = len(bays)
        cut = [length for _, length in studs] + bays + _stocked(plates)
        timber = lengths_to_buy(cut, LENGTHS)
        if bays:
            plates = (*plates, ("noggings, one row", math.fsum(bays)))
    boards: tuple[Bought, ...] = ()
    faces = 0
    if made is not None and made.boards is not None:
        faces = int(made.boards.faces)
        pieces = list(_board_pieces(seen)) * faces
        boards = sheets_to_buy(pieces, SHEETS, square * faces)
    return TakeOff(
        found.name,
        made,
        found.thickness,
        found.length,
        found.highest,
        found.lowest,
        found.face_m2,
        found.openings,
        tuple(studs),
        plates,
        noggings,
        timber,
        faces,
        boards,
    )


def _stocked(plates: tuple[tuple[str, float], ...]) -> list[float]:
    """Plates as pieces no longer than the shortest stock length; long ones are joined."""
    pieces: list[float] = []
    for _, total in plates:
        whole, rest = divmod(total, LENGTHS[0])
        pieces += [LENGTHS[0]] * int(whole) + ([rest] if rest > 1.0 else [])
    return pieces


def _places(seen: _Elevation, wide: float, centres: float) -> list[float]:
    """Middles of studs: one at each end and beside each opening, the others at their centres."""
    start, end = seen.ends
    fixed = [start + wide / 2, end - wide / 2]
    for opening in seen.openings:
        left, right = _jambs(opening)
        fixed += [left - wide / 2, right + wide / 2]
    fixed = [s for s in fixed if start <= s <= end]
    count = int((end - start) / centres)
    between = [start + k * centres for k in range(1, count + 1)]
    clear = [s for s in between if all(abs(s - other) >= wide for other in fixed)]
    ordered = sorted({round(s, 3) for s in (*fixed, *clear)})
    return [s for k, s in enumerate(ordered) if k == 0 or s - ordered[k - 1] >= wide - 0.01]


def _jambs(opening: Opening) -> _Span:
    left = float(opening.left[0])
    return left, left + float(opening.width[0])


def _studs(seen: _Elevation, wide: float, centres: float) -> Iterator[tuple[float, float]]:
    """Each stud's place and its length to the long point, the plates at its ends taken off."""
    start, _ = seen.ends
    for s in _places(seen, wide, centres):
        sides = [seen.spans(s - wide / 2 + 0.02), seen.spans(s + wide / 2 - 0.02)]
        for low, high in seen.spans(s):
            tops, bottoms = [high], [low]
            for spans in sides:
                near = [x for x in spans if x[0] < (low + high) / 2 < x[1]]
                tops += [x[1] for x in near]
                bottoms += [x[0] for x in near]
            # A plate that lies on the slope takes more of the height than its own thickness.
            rise = (max(tops) - min(tops)) / (wide - 0.04)
            length = max(tops) - min(bottoms) - wide - wide * math.hypot(1.0, rise)
            if length >= _LEAST:
                yield round(s - start, 1), round(length, 1)


def _plates(seen: _Elevation) -> tuple[tuple[str, float], ...]:
    """Total lengths of floor plates, top plates (along the slope), heads and sills."""
    totals = dict.fromkeys(("floor plate", "top plate", "heads", "sills"), 0.0)
    for a, b in pairwise(seen.breaks):
        if b - a <= 0.05:
            continue
        left, right = seen.spans(a + 0.02), seen.spans(b - 0.02)
        if not left or len(left) != len(right):
            continue
        for k, (one, other) in enumerate(zip(left, right, strict=True)):
            top, bottom = math.hypot(b - a, other[1] - one[1]), math.hypot(b - a, other[0] - one[0])
            totals["top plate" if k == len(left) - 1 else "sills"] += top
            over = k > 0 or _over_opening(seen, (a + b) / 2, one[0])
            totals["heads" if over else "floor plate"] += bottom
    return tuple((what, total) for what, total in totals.items() if total > 1.0)


def _over_opening(seen: _Elevation, s: float, low: float) -> bool:
    for opening in seen.openings:
        left, right = _jambs(opening)
        head = float(opening.sill[0] + opening.height[0])
        if left - 1.0 < s < right + 1.0 and abs(low - head) < 1.0:
            return True
    return False


def _noggings(studs: list[tuple[float, float]], wide: float) -> Iterator[float]:
    """Clear lengths between neighbouring studs that are both tall."""
    for (a, one), (b, other) in pairwise(studs):
        if min(one, other) > NOGGING_FROM and b - a - wide > _LEAST:
            yield b - a - wide


def _board_pieces(seen: _Elevation) -> Iterator[tuple[float, float]]:
    """What one face is cut from: upright strips a sheet wide, as tall as the wall is in each."""
    start, end = seen.ends
    wide = SHEETS[0][0]
    count = math.ceil((end - start) / wide - 1e-9)
    for k in range(count):
        a, b = start + k * wide, min(start + (k + 1) * wide, end)
        places = [s for s in (*_inner(seen.breaks), a + 0.02, b - 0.02) if a <= s <= b]
        spans = [span for s in places for span in seen.spans(s)]
        if spans:
            yield b - a, max(span[1] for span in spans) - min(span[0] for span in spans)
