"""Ceiling entries in; disjoint pieces, each the least of some planes, that cover the room out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from massing.errors import GeometryError, Mark
from massing.geometry.pieces import turns
from massing.geometry.polygons import Ring
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT, TOUCH
from massing.reading.fields import Name
from massing.room.lowest import level_plane
from massing.room.naming import Faults, wall_number
from massing.room.outline import Shell
from massing.room.regions import Division, divide, region_of
from massing.room.shape import CeilingPiece
from massing.room.spec import CeilingSpec, HipSpec, RidgeSpec, RoomSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

if TYPE_CHECKING:
    from massing.survey.surveyed import Surveyed

__all__ = ["ceiling_name", "lay_ceilings"]

_SQUARE = math.sin(math.radians(10))
"""Walls up to 10 degrees out of parallel still count as opposite, or as along a ridge."""


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A ring and the planes over it so far; None where nothing is yet."""

    ring: Ring
    planes: Floats | None
    name: str


def lay_ceilings(
    spec: RoomSpec,
    shell: Shell,
    values: Values,
    faults: Faults,
    surveys: list[Surveyed] | None = None,
) -> tuple[CeilingPiece, ...]:
    """The ceiling's pieces, in the order of the entries as they finally lie.

    surveys : takes the adjustment of each entry whose slopes were measured more than once
    """
    laid = [_Laid(part, None, "") for part in shell.parts]
    before = len(faults.found)
    for number, entry in enumerate(spec.ceiling):
        name = ceiling_name(entry, number)
        region = region_of(entry, shell, values, faults, f"ceiling '{name}'")
        maker = _Planes(entry, name, shell, values, faults)
        planes = maker.make()
        if maker.survey is not None and surveys is not None:
            surveys.append(maker.survey)
        if region is None or planes is None:
            continue
        laid = _entered(laid, divide([piece.ring for piece in laid], region), planes, name, entry)
    for piece in laid:
        if piece.planes is None and len(faults.found) == before:
            x, y = piece.ring.points[0].mean(axis=0)
            faults.add(
                f"no ceiling is given near {format_mm(float(x))}, {format_mm(float(y))}; begin "
                "with an entry for the whole room",
                spec.mark_of("ceiling"),
            )
    return tuple(
        CeilingPiece(piece.name, piece.ring.points, piece.planes)
        for piece in laid
        if piece.planes is not None
    )


def ceiling_name(entry: CeilingSpec, number: int) -> str:
    """What an entry is called: its own name, or one from where it lies."""
    if entry.name:
        return str(entry.name)
    if entry.from_:
        return f"ceiling from {entry.from_}"
    return "ceiling" if number == 0 else f"ceiling {number + 1}"


def _entered(
    laid: list[_Laid], divisions: list[Division], planes: Floats, name: str, entry: CeilingSpec
) -> list[_Laid]:
    """The pieces with one more entry over its region."""
    made: list[_Laid] = []
    for piece, division in zip(laid, divisions, strict=True):
        made.extend(_Laid(ring, piece.planes, piece.name) for ring in division.beyond)
        if division.within is None:
            continue
        both: Floats | None = planes
        if entry.lowers and piece.planes is None:
            both = None
        elif entry.lowers and piece.planes is not None:
            both = np.concatenate([piece.planes, planes], axis=1)
        made.append(_Laid(division.within, both, name))
    return made


class _Planes:
    """Works out the planes of one entry: (worlds, k, 3), or None after a fault."""

    def __init__(
        self, entry: CeilingSpec, name: str, shell: Shell, values: Values, faults: Faults
    ) -> None:
        self.entry = entry
        self.name = name
        self.shell = shell
        self.values = values
        self.faults = faults
        self.survey: Surveyed | None = None

    def make(self) -> Floats | None:
        """The planes of the entry's own form, then its collar."""
        planes: list[Floats] | None = getattr(self, f"_{self.entry.form}")()
        if planes is None:
            return None
        if self.entry.collar is not None:
            planes.append(level_plane(self._size(self.entry.collar, "collar")))
        return np.stack(planes, axis=1)

    def _size(self, length: Length, what: str) -> Floats:
        if self.entry.measured:
            length = self.values.taped(length)
        return self.values(length, label=f"{what} of {self.name}")

    def _fault(self, says: str, mark: Mark | None) -> None:
        self.faults.add(f"ceiling '{self.name}': {says}", mark)

    def _wall(self, name: str, field: str) -> int | None:
        return wall_number(name, self.shell.names, self.faults, self.entry.mark_of(field))

    def _flat(self) -> list[Floats]:
        length = self.entry.flat
        return [] if length is None else [level_plane(self._size(length, "height"))]

    def _plane(self) -> list[Floats] | None:
        points = [
            np.stack([self._size(length, f"corner {k + 1}") for length in point], axis=1)
            for k, point in enumerate(self.entry.plane or ())
        ]
        normal = np.cross(points[1] - points[0], points[2] - points[0])
        size = float(np.linalg.norm(normal[0]))
        if size < 1.0 or abs(float(normal[0, 2])) < 1e-3 * size:
            self._fault(
                "its three points are in line or in an upright plane", self.entry.mark_of("plane")
            )
            return None
        slope = -normal[:, :2] / normal[:, 2:]
        rest = points[0][:, 2] - np.einsum("wi,wi->w", slope, points[0][:, :2])
        return [np.concatenate([slope, rest[:, None]], axis=1)]

    def _slopes(self) -> list[Floats] | None:
        entries = list((self.entry.slopes or {}).items())
        numbers = [self._wall(str(name), "slopes") for name, _ in entries]
        sizes = [self._size(length, f"height at {name}") for name, length in entries]
        low = numbers[0]
        if low is None or None in numbers:
            return None
        mark = self.entry.mark_of("slopes")
        if self.entry.pitch is not None:
            if not 0 <= abs(self.entry.pitch) < 89:
                self._fault("a pitch is less than 89 degrees", self.entry.mark_of("pitch"))
                return None
            rise = np.full(self.values.worlds, math.tan(math.radians(self.entry.pitch)))
            return [self._rising(low, sizes[0], rise)]
        return self._between(entries, (low, numbers[1] or 0), sizes, mark)

    def _between(
        self,
        entries: list[tuple[Name, Length]],
        walls: tuple[int, int],
        sizes: list[Floats],
        mark: Mark | None,
    ) -> list[Floats] | None:
        """The plane between two opposite walls."""
        low, high = walls
        face = self.shell.line(low)
        away = self.shell.walls[high]
        middle = (away.left + away.right) / 2
        far = np.einsum("wi,wi->w", face[:, :2], middle) + face[:, 2]
        if (
            float(away.along[0] @ self.shell.walls[low].along[0]) > -math.sqrt(1 - _SQUARE**2)
            or far[0] < 1.0
        ):
            names = " and ".join(f"'{name}'" for name, _ in entries)
            self._fault(f"walls {names} are not opposite each other; give a plane", mark)
            return None
        if self.entry.measured:
            return self._measured_slope(entries, walls, sizes, far)
        return [self._rising(low, sizes[0], (sizes[1] - sizes[0]) / far)]

    def _measured_slope(
        self,
        entries: list[tuple[Name, Length]],
        walls: tuple[int, int],
        sizes: list[Floats],
        far: Floats,
    ) -> list[Floats] | None:
        """One slope from heights, slope length and pitch together; it rises from the low wall."""
        (low, first), (_, second) = entries
        named = next(iter(self.entry.measured or {}))
        if named != low:
            entries, walls, sizes = entries[::-1], walls[::-1], sizes[::-1]
            (low, first), (_, second) = entries
            away = self.shell.walls[walls[1]]
            face = self.shell.line(walls[0])
            far = np.einsum("wi,wi->w", face[:, :2], (away.left + away.right) / 2) + face[:, 2]
        found = self._adjusted((str(low),), (first,), (sizes[0],), second, sizes[1], far)
        if found is None:
            return None
        return [self._rising(walls[0], found[:, 1], (found[:, 0] - found[:, 1]) / found[:, 2])]

    def _adjusted(
        self,
        sides: tuple[str, ...],
        lows: tuple[Length, ...],
        heights: tuple[Floats, ...],
        high: Length,
        ridge: Floats,
        width: Floats,
    ) -> Floats | None:
        """(worlds, 1 + 2 sides) ridge, then eaves and run of each side."""
        from massing.room.measured_roof import MeasuredRoof

        roof = MeasuredRoof(self.entry, self.name, sides, self.values)
        for side, (length, height) in enumerate(zip(lows, heights, strict=True)):
            roof.height("eaves", side, length, height)
        roof.height("ridge", 0, high, ridge)
        roof.width(width)
        try:
            found, self.survey = roof.fit()
        except GeometryError as error:
            says = f"its measurements cannot make a slope: {error}"
            self._fault(says, self.entry.mark_of("measured"))
            return None
        return found

    def _rising(self, wall: int, height: Floats, rise: Floats) -> Floats:
        """(worlds, 3) plane at a height along a wall's face, rising into the room."""
        plane = self.shell.line(wall) * rise[:, None]
        plane[:, 2] += height
        return np.asarray(plane)

    def _ridge(self) -> list[Floats] | None:
        ridge = self.entry.ridge
        if ridge is None or self.entry.eaves is None:
            return None
        across = 1 if ridge.along == "x" else 0
        numbers: list[int] = []
        eaves: list[Floats] = []
        for name, length in self.entry.eaves.items():
            number = self._wall(str(name), "eaves")
            eaves.append(self._size(length, f"eaves at {name}"))
            if number is None:
                continue
            if abs(float(self.shell.walls[number].along[0, across])) > _SQUARE:
                says = f"wall '{name}' does not run along the ridge"
                self._fault(says, self.entry.mark_of("eaves"))
                continue
            numbers.append(number)
        height = self._size(ridge.height, "ridge height")
        highest = max(float(low[0]) for low in eaves)
        if float(height[0]) < highest - TOUCH:
            said = f"{format_mm(float(height[0]))} is lower than the eaves at {format_mm(highest)}"
            self._fault(f"the ridge at {said}; give a valley as planes", ridge.mark_of("height"))
            return None
        if len(numbers) < 2:
            return None
        return self._two_slopes(ridge, across, numbers, eaves, height)

    def _two_slopes(
        self,
        ridge: RidgeSpec,
        across: int,
        numbers: list[int],
        eaves: list[Floats],
        height: Floats,
    ) -> list[Floats] | None:
        """A plane from each eaves wall up to the ridge line."""
        starts = [
            (self.shell.walls[k].left[:, across] + self.shell.walls[k].right[:, across]) / 2
            for k in numbers
        ]
        at = (starts[0] + starts[1]) / 2
        if ridge.at is not None:
            at = self._size(ridge.at, "place of the ridge")
        if self.entry.measured:
            lows = list((self.entry.eaves or {}).items())
            width = np.abs(starts[1] - starts[0])
            sides = (str(lows[0][0]), str(lows[1][0]))
            found = self._adjusted(
                sides, (lows[0][1], lows[1][1]), (eaves[0], eaves[1]), ridge.height, height, width
            )
            if found is None:
                return None
            height, eaves = found[:, 0], [found[:, 1], found[:, 3]]
            forward = 1.0 if starts[1][0] > starts[0][0] else -1.0
            at = starts[0] + forward * found[:, 2]
        if (at[0] - starts[0][0]) * (at[0] - starts[1][0]) >= -EXACT:
            self._fault(
                f"the ridge at {format_mm(float(at[0]))} is not between its eaves walls",
                ridge.mark_of("at") or self.entry.mark_of("ridge"),
            )
            return None
        planes = []
        for start, low in zip(starts, eaves, strict=True):
            plane = np.zeros((self.values.worlds, 3))
            plane[:, across] = (height - low) / (at - start)
            plane[:, 2] = low - plane[:, across] * start
            planes.append(plane)
        return planes

    def _hip(self) -> list[Floats] | None:
        hip = self.entry.hip
        if hip is None:
            return None
        if (turns(self.shell.outline[0]) < -EXACT).any():
            self._fault(
                "a hip needs a room without inward corners; give each part its own ridge or plane",
                self.entry.mark_of("hip"),
            )
            return None
        pitches = self._pitches(hip)
        eaves = self._size(hip.eaves, "eaves")
        if pitches is None:
            return None
        return [
            self._rising(wall, eaves, np.full(self.values.worlds, math.tan(math.radians(pitch))))
            for wall, pitch in pitches
        ]

    def _pitches(self, hip: HipSpec) -> list[tuple[int, float]] | None:
        if isinstance(hip.pitch, dict):
            pairs = [(self._wall(str(name), "hip"), angle) for name, angle in hip.pitch.items()]
        else:
            pairs = [(k, hip.pitch) for k in range(len(self.shell.walls))]
        sloped = [(wall, angle) for wall, angle in pairs if wall is not None]
        if len(sloped) < len(pairs) or not sloped:
            return None
        if not all(0 < angle < 89 for _, angle in sloped):
            self._fault("a pitch is more than 0 and less than 89 degrees", hip.mark_of("pitch"))
            return None
        return sloped
