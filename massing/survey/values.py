"""One true size for every measured length in every world: lengths in, arrays out.

Placing a scheme asks this object for each length it uses. A first run with a *recording*
object answers with the sizes as written and notes which of them carry a ±, in the order they
were asked for; those are the project's measures. Later runs answer with shifted sizes, one
world a row, so uncertainty, sampling and search are all the same call made again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from massing.errors import Mark
from massing.geometry.solids import Floats
from massing.survey.methods import default_half_width
from massing.units import Length

__all__ = ["Measure", "Values", "no_default"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A length somebody measured, guessed or looked up, with the half-width of its ±.

    key : its identity, such as ``room.size[0]`` or ``wall north thickness``
    label : the same in plain words
    nominal, half_width : mm
    method : tape, laser, client tape, photo, guess, catalogue, or None when not said
    unit : "mm", or "deg" for an angle, whose nominal and half_width are then degrees
    """

    key: str
    label: str
    nominal: float
    half_width: float
    method: str | None = None
    mark: Mark | None = field(default=None, compare=False)
    unit: str = "mm"


def no_default(length: Length) -> float:
    """Half-width of a length without a written ±: taken as exact."""
    del length
    return 0.0


class Values:
    """Answers with (worlds,) sizes for a length, mm.

    A recording object (made with ``Values()``) has one world and collects ``measures``;
    ``shifted`` makes one with many worlds.

    >>> sizes = Values()
    >>> sizes(Length(2400.0, 10.0, path="room.size[1]")).tolist()
    [2400.0]
    >>> [m.key for m in sizes.measures]
    ['room.size[1]']
    >>> Values.shifted(sizes.measures, np.array([[0.0], [-10.0]]))(
    ...     Length(2400.0, 10.0, path="room.size[1]")
    ... ).tolist()
    [2400.0, 2390.0]
    """

    def __init__(
        self,
        *,
        default: Callable[[Length], float] = no_default,
        recorded: Mapping[str, Measure] | None = None,
        shifts: Floats | None = None,
    ) -> None:
        self._default = default
        self._recorded: dict[str, Measure] = dict(recorded or {})
        self._shifts = shifts
        self._column = {key: i for i, key in enumerate(self._recorded)}

    @classmethod
    def shifted(cls, measures: tuple[Measure, ...], shifts: Floats) -> Values:
        """Many worlds: ``shifts`` is (worlds, measures) mm added to each nominal size."""
        return cls(recorded={m.key: m for m in measures}, shifts=np.asarray(shifts, dtype=float))

    @property
    def worlds(self) -> int:
        """Number of worlds answered for."""
        return 1 if self._shifts is None else int(self._shifts.shape[0])

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Every length with a ± asked for so far, in order of first use."""
        return tuple(self._recorded.values())

    def constant(self, size: float) -> Floats:
        """(worlds,) array of one size."""
        return np.full(self.worlds, float(size))

    def half_width(self, length: Length, *, key: str = "") -> float:
        """The ± a length has here, mm: as recorded, as written, or by default."""
        held = self._recorded.get(key or length.path)
        if held is not None:
            return held.half_width
        return self._default(length) if length.pm is None else length.pm

    def taped(self, length: Length, *, key: str = "") -> Length:
        """The length, got with a tape where nothing says how or how well it was measured."""
        if length.pm is not None or self.half_width(length, key=key) > 0.0:
            return length
        return replace(length, pm=default_half_width("tape", length.mm), method="tape")

    def __call__(
        self, length: Length, *, key: str = "", label: str = "", unit: str = "mm"
    ) -> Floats:
        """(worlds,) true sizes of the length, mm.

        key : identity when one written length stands for several real ones (the build-up of
            four walls); the length's own path when left out
        unit : "deg" when the length stands for an angle
        """
        name = key or length.path
        if self._shifts is not None:
            column = self._column.get(name)
            if column is None:
                return self.constant(length.mm)
            return np.asarray(length.mm + self._shifts[:, column])
        half = self._default(length) if length.pm is None else length.pm
        if half > 0 and name and name not in self._recorded:
            self._recorded[name] = Measure(
                name, label or name, length.mm, half, length.method, length.mark, unit
            )
        return self.constant(length.mm)
