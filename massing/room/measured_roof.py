"""A ceiling entry whose slopes were measured in several ways in; adjusted heights and runs out."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from massing.geometry.solids import Floats
from massing.room.angles import Angle
from massing.room.spec import CeilingSpec
from massing.survey.blunders import Blunder, find_blunder
from massing.survey.roofs import RoofReading, RoofSurvey, adjust_roof
from massing.survey.surveyed import Observation, Surveyed
from massing.survey.values import Values
from massing.units import Length

__all__ = ["MeasuredRoof"]

_FIRM = 0.1
"""mm, half-width of the width below: the plan is settled by its own measurements."""


class MeasuredRoof:
    """Collects what was measured of an entry's slopes, one side or two, and adjusts it."""

    def __init__(
        self, entry: CeilingSpec, name: str, sides: tuple[str, ...], values: Values
    ) -> None:
        self.name = name
        self.sides = sides
        self.values = values
        self.readings: list[RoofReading] = []
        self.observations: list[Observation] = []
        self.shifts: list[Floats] = []
        measured = entry.measured or {}
        for side, wall in enumerate(sides):
            if wall not in measured:
                continue
            more = measured[wall]
            if more.run is not None:
                self._length("run", side, more.run)
            if more.slope is not None:
                self._length("slope", side, more.slope)
            if more.pitch is not None:
                self._pitch(side, more.pitch)

    def height(
        self, kind: Literal["eaves", "ridge"], side: int, length: Length, found: Floats
    ) -> None:
        """Add a height, whose true sizes (worlds,) are already known."""
        half = self.values.half_width(length) or _FIRM
        reading = RoofReading(kind, side, length.mm, half)
        self._note(reading, length.path, found - length.mm, length)

    def width(self, found: Floats) -> None:
        """Add the width of the room below, (worlds,) mm."""
        nominal = float(found[0])
        reading = RoofReading("width", 0, nominal, _FIRM)
        self._note(reading, "", found - nominal, Length(nominal, method="plan"))

    def fit(self) -> tuple[Floats, Surveyed]:
        """(worlds, 1 + 2 sides) ridge, then eaves and run of each side; and the survey.

        Raises GeometryError where the measurements are too few or cannot be true together.
        """
        survey = RoofSurvey(self.sides, tuple(self.readings))
        found = adjust_roof(survey)

        def find() -> Blunder | None:
            starts = (found.unknowns, *found.problem.starts)
            return find_blunder(replace(found.problem, starts=starts), found.adjustment)

        surveyed = Surveyed(
            what=self.name,
            observations=tuple(self.observations),
            adjustment=found.adjustment,
            says=found.adjustment.says,
            find=find,
        )
        moved = np.stack(self.shifts, axis=1) @ found.influence.T
        return found.unknowns[None] + moved, surveyed

    def _length(self, kind: Literal["run", "slope"], side: int, length: Length) -> None:
        length = self.values.taped(length)
        half = self.values.half_width(length)
        reading = RoofReading(kind, side, length.mm, half or _FIRM)
        label = f"{RoofSurvey(self.sides, ()).name(reading)}, {self.name}".removeprefix("the ")
        self._note(reading, length.path, self.values(length, label=label) - length.mm, length)

    def _pitch(self, side: int, angle: Angle) -> None:
        reading = RoofReading("pitch", side, float(angle), angle.half_width)
        label = f"{RoofSurvey(self.sides, ()).name(reading)}, {self.name}".removeprefix("the ")
        path = angle.path or f"room: {label}"
        size = Length(float(angle), angle.half_width, None, angle.mark, path)
        found = self.values(size, label=label, unit="deg") - size.mm
        self._note(reading, size.path, found, size)

    def _note(self, reading: RoofReading, key: str, shift: Floats, size: Length) -> None:
        self.readings.append(reading)
        self.shifts.append(np.broadcast_to(shift, (self.values.worlds,)))
        unit = "deg" if reading.kind == "pitch" else "mm"
        name = RoofSurvey(self.sides, ()).name(reading)
        self.observations.append(
            Observation(key, name, reading.value, reading.half_width, unit, size.method, size.mark)
        )
