"""A set of measurements adjusted together and where each was written; what they say of each other.

One of these goes with a room's walls and one with each ceiling whose slopes were measured.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from massing.errors import Mark
from massing.survey.adjust import Adjustment
from massing.survey.blunders import Blunder
from massing.survey.traverse import Misclosure

__all__ = ["Observation", "Surveyed"]


@dataclass(frozen=True, slots=True)
class Observation:
    """One measurement that takes part in an adjustment.

    key : the measure it is (``room.walls[2].length``); name : in plain words
    value, half_width : as read, mm or degrees as ``unit`` says
    method : how it was taken; ``square`` where a corner is only taken to be square, ``plan``
        where it comes from another adjustment, None when not said
    """

    key: str
    name: str
    value: float
    half_width: float
    unit: str = "mm"
    method: str | None = None
    mark: Mark | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Surveyed:
    """An adjusted set of measurements.

    what : the walls, or the ceiling's name
    observations : in the order of the adjustment's readings
    closing : closing error of the walk as read, None when it is no whole walk
    find : looks for a single wrong measurement among them
    says : the global test in a sentence
    tested : every measurement has a ±, so that disagreeing means something
    others : how many other shapes fit the measurements as well
    """

    what: str
    observations: tuple[Observation, ...]
    adjustment: Adjustment
    says: str
    find: Callable[[], Blunder | None]
    tested: bool = True
    closing: Misclosure | None = None
    turn_error: float | None = None
    others: int = 0

    @property
    def notes(self) -> tuple[str, ...]:
        """What the designer should hear unasked: disagreement and its suspect, or two shapes."""
        if self.others and self.adjustment.agrees is not False:
            return (f"{self.what}: {self.says}",)
        if not self.tested or self.adjustment.agrees is not False:
            return ()
        found = self.find()
        return (f"{self.what}: {self.says if found is None else found.says}",)
