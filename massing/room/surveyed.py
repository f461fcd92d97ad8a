"""What a file says was measured of an outline in; the survey and its adjustment out.

The adjusted corners carry every raw measurement: in each world they are the nominal ones moved by
each reading's own influence, so a verdict can hang on a single diagonal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from massing.errors import GeometryError, Mark
from massing.geometry.solids import Floats
from massing.reading.words import nearest
from massing.room.angles import Angle
from massing.room.naming import Faults, size_label, wall_names
from massing.room.spec import RoomSpec
from massing.survey.adjust import UndeterminedError
from massing.survey.blunders import Blunder
from massing.survey.forms import Form, adjust_form, form_blunder
from massing.survey.outline import OutlineAdjustment
from massing.survey.readings import (
    OutlineSurvey,
    Reading,
    corner_angle,
    length,
    offset,
    turn,
)
from massing.survey.surveyed import Observation, Surveyed
from massing.survey.values import Values
from massing.units import Length

__all__ = ["FIRM", "Gathered", "fit", "gather"]

FIRM = 0.1
"""Half-width, mm, a length said to be exact has when it shares in a misclosure."""
_SQUARE = 1.0
"""Degrees within which a room given by its size has square corners. Common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Gathered:
    """Everything measured of an outline.

    shifts : (worlds, m) each reading's departure from its nominal value
    """

    survey: OutlineSurvey
    observations: tuple[Observation, ...]
    shifts: Floats


class _Gatherer:
    """Collects readings in order, each with its place, its measure and its shifts."""

    def __init__(self, spec: RoomSpec, values: Values, faults: Faults) -> None:
        self.spec = spec
        self.values = values
        self.faults = faults
        self.clockwise = spec.size is None
        if spec.size is not None:
            self.walls: tuple[str, ...] = ("south", "east", "north", "west")
            self.corners: tuple[str, ...] = ("south-west", "south-east", "north-east", "north-west")
        else:
            self.walls = wall_names(wall.name for wall in spec.walls or ())
            joint = "/" if any("-" in name or " " in name for name in self.walls) else "-"
            self.corners = tuple(
                joint.join(_north_or_south_first(self.walls[k - 1], name))
                for k, name in enumerate(self.walls)
            )
        self.readings: list[Reading] = []
        self.observations: list[Observation] = []
        self.shifts: list[Floats] = []

    def survey(self) -> OutlineSurvey:
        hints = self.hints() if self.spec.walls is not None else ()
        return OutlineSurvey(
            self.corners, tuple(self.readings), self.clockwise, hints=hints, walls=self.walls
        )

    def hints(self) -> tuple[float | None, ...]:
        """The turn at each corner as walked, left positive; a turn left out is to the right.

        The last turn closes the walk, so left out it is unknown.
        """
        turns = [wall.turn for wall in self.spec.walls or ()]
        if all(t is None for t in turns) and len(turns) != 4:
            return ()
        told = [-90.0 if t is None else -float(t) for t in turns]
        last = None if turns[-1] is None else told[-1]
        return (last, *told[:-1])

    def corner(self, word: str, mark: Mark | None) -> int | None:
        """The number of a corner, or a fault and None."""
        known: dict[str, int] = {}
        for k, (before, after) in enumerate(
            zip((self.walls[-1], *self.walls[:-1]), self.walls, strict=True)
        ):
            for joint in ("/", "-"):
                known.setdefault(f"{before}{joint}{after}", k)
                known.setdefault(f"{after}{joint}{before}", k)
        for k in range(min(len(self.walls), 26)):
            known.setdefault(chr(ord("A") + k), k)
        said = str(word).replace(" / ", "/").replace(" - ", "-")
        if said in known:
            return known[said]
        told = ", ".join(self.corners[:8]) + (", …" if len(self.corners) > 8 else "")
        self.faults.add(
            f"there is no corner '{word}'; the corners are {told}", mark, nearest(said, known)
        )
        return None

    def add_length(self, reading: Reading, size: Length, label: str) -> None:
        """One length; taken with a tape where nothing is said of its ±."""
        key = size.path or f"room: {label}"
        if self.spec.crossed:
            size = self.values.taped(size, key=key)
        half = self.values.half_width(size, key=key)
        self.shifts.append(self.values(size, key=key, label=label) - size.mm)
        self._note(replace(reading, half_width=half or FIRM), key, size.method, size.mark)

    def add_angle(self, corner: int, angle: Angle, what: str, *, inside: bool) -> None:
        """One angle: inside the room, or the turn of a walk (right positive)."""
        label = f"{what} at the {self.corners[corner]} corner"
        key = angle.path or f"room: {label}"
        size = Length(float(angle), angle.half_width, None, angle.mark, key)
        moved = self.values(size, key=key, label=label, unit="deg") - size.mm
        if inside:
            reading = corner_angle(corner, size.mm, angle.half_width, clockwise=self.clockwise)
        else:
            reading = turn(corner, -size.mm, angle.half_width)
        self.shifts.append(moved if inside and self.clockwise else -moved)
        self._note(reading, key, None, angle.mark)

    def add_square(self, corner: int, degrees: float, half_width: float) -> None:
        """A corner taken to be square: an assumption, with a doubt of its own."""
        where = "the room" if self.spec.size is not None else self.corners[corner]
        label = f"squareness of {where}"
        mark = self.spec.mark_of("square") or self.spec.mark_of("size")
        size = Length(degrees, half_width, "square", mark, f"room.square {where}")
        self.shifts.append(self.values(size, label=label, unit="deg") - degrees)
        self._note(turn(corner, degrees, half_width), size.path, "square", mark, f"the {label}")

    def _note(
        self, reading: Reading, key: str, method: str | None, mark: Mark | None, name: str = ""
    ) -> None:
        self.readings.append(reading)
        unit = "deg" if reading.kind == "turn" else "mm"
        self.observations.append(
            Observation(
                key,
                name or self.survey().name(reading),
                reading.value,
                reading.half_width,
                unit,
                method,
                mark,
            )
        )


def _called(wall: str) -> str:
    return wall if wall.startswith("wall") else f"the {wall} wall"


def _north_or_south_first(one: str, other: str) -> tuple[str, str]:
    """Two wall names in the order a compass says them."""
    return (other, one) if other in {"north", "south"} and one in {"east", "west"} else (one, other)


def gather(spec: RoomSpec, values: Values, faults: Faults) -> Gathered | None:
    """Everything measured of an outline given by its size or walls, or None after a fault."""
    found = _Gatherer(spec, values, faults)
    before = len(faults.found)
    if spec.size is not None:
        for k, (size, axis) in enumerate(zip(spec.size, "xy", strict=True)):
            label = size_label(axis, spec.measured)
            found.add_length(length(k, k + 1, size.mm, 0.0), size, label)
    else:
        _gather_walls(spec, found)
    _gather_across(spec, found)
    if len(faults.found) > before:
        return None
    shifts = np.stack(found.shifts, axis=1) if found.shifts else np.zeros((values.worlds, 0))
    return Gathered(found.survey(), tuple(found.observations), shifts)


def _gather_walls(spec: RoomSpec, found: _Gatherer) -> None:
    walls = spec.walls or ()
    for k, wall in enumerate(walls):
        if wall.length is not None:
            reading = length(k, (k + 1) % len(walls), wall.length.mm, 0.0)
            found.add_length(reading, wall.length, f"length of {_called(found.walls[k])}")
    if not spec.crossed:
        return
    for k, wall in enumerate(walls):
        if isinstance(wall.turn, Angle) and wall.turn.read:
            found.add_angle((k + 1) % len(walls), wall.turn, "turn to the right", inside=False)


def _gather_across(spec: RoomSpec, found: _Gatherer) -> None:
    """Diagonals, offsets, inside angles, and what is only taken to be square."""
    for entry in spec.diagonals:
        ends = [
            found.corner(name, entry.mark_of(field))
            for name, field in ((entry.from_, "from_"), (entry.to, "to"))
        ]
        if ends[0] is not None and ends[1] is not None:
            if ends[0] == ends[1]:
                found.faults.add("a diagonal runs between two corners", entry.mark_of("to"))
                continue
            reading = length(ends[0], ends[1], entry.length.mm, 0.0)
            label = entry.name or found.survey().name(reading).removeprefix("the ")
            found.add_length(reading, entry.length, str(label))
    for row in spec.offsets:
        at = [
            found.corner(name, row.mark_of(field))
            for name, field in ((row.corner, "corner"), (row.from_, "from_"), (row.to, "to"))
        ]
        corner, a, b = at
        if corner is not None and a is not None and b is not None:
            if len({corner, a, b}) < 3:
                found.faults.add("an offset takes three different corners", row.mark_of("corner"))
                continue
            reading = offset(corner, a, b, row.length.mm, 0.0)
            label = found.survey().name(reading).removeprefix("the ")
            found.add_length(reading, row.length, label)
    for angle in spec.angles:
        corner = found.corner(angle.corner, angle.mark_of("corner"))
        if corner is not None:
            found.add_angle(corner, angle.inside, "angle inside", inside=True)
    _gather_square(spec, found)


def _gather_square(spec: RoomSpec, found: _Gatherer) -> None:
    if spec.size is not None:
        if not any(reading.kind == "turn" for reading in found.readings) or spec.square is not None:
            found.add_square(0, 90.0, spec.square or _SQUARE)
        return
    if spec.square is None:
        return
    walls = spec.walls or ()
    have = {reading.at[0] for reading in found.readings if reading.kind == "turn"}
    for k, wall in enumerate(walls):
        corner = (k + 1) % len(walls)
        if corner in have or (wall.turn is None and k == len(walls) - 1 and len(walls) != 4):
            continue
        left = wall.turn is not None and wall.turn < 0
        found.add_square(corner, 90.0 if left else -90.0, spec.square)


def fit(
    gathered: Gathered, form: Form | None, spec: RoomSpec, faults: Faults
) -> tuple[OutlineAdjustment, Surveyed] | None:
    """The adjusted outline and its survey, or None after a fault."""
    fields = [f for f in ("diagonals", "angles", "offsets", "walls", "size") if getattr(spec, f)]
    mark = spec.mark_of(fields[0]) if fields else spec.mark
    try:
        found = adjust_form(gathered.survey, form)
    except UndeterminedError as error:
        says = f"the walls are not all settled: {error}"
        if form is None and spec.square is None:
            says += "; or say how square its corners are, square: 1 deg"
        faults.add(says, spec.mark_of("walls") or mark)
        return None
    except GeometryError as error:
        faults.add(f"these measurements cannot make a room: {error}", mark)
        return None

    def find() -> Blunder | None:
        return _told(form_blunder(found, form), gathered)

    surveyed = Surveyed(
        what="the walls",
        observations=gathered.observations,
        adjustment=found.adjustment,
        says=found.says,
        find=find,
        tested=all(held.half_width > FIRM for held in gathered.observations),
        closing=found.closing,
        turn_error=found.turn_error,
        others=len(found.others),
    )
    return found, surveyed


def _told(blunder: Blunder | None, gathered: Gathered) -> Blunder | None:
    """The same outcome; where squareness is the suspect, as news about the room."""
    if blunder is None or blunder.suspect is None:
        return blunder
    if gathered.observations[blunder.suspect.row].method != "square":
        return blunder
    out = abs(blunder.suspect.disagrees)
    where = gathered.observations[blunder.suspect.row].name.removeprefix("the squareness of ")
    says = (
        f"{where} is {out:.1f} degrees out of square: the measurements agree with one another "
        f"that way. If so, write square: {math.ceil(out)} deg or more"
    )
    return replace(blunder, says=says)
