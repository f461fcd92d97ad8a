"""An item's description in, its shape out, without building anew what every tape agrees on.

Most things of a catalogue are of exact size, and a room is asked about many times: again for
each true size of something else, each nudge, each edit. A shape none of whose lengths is in doubt
is the same every time.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from massing.geometry.solids import Floats
from massing.items.body import build_item
from massing.items.shape import ItemShape
from massing.items.spec import ItemSpec
from massing.survey.values import Values
from massing.units import Length

__all__ = ["shape_of"]

_MOST = 512  # shapes held at once, more than any room has kinds of things


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """A shape in one world; of what it was built, and every length that was asked for.

    asked : the name of each length but for the item's own, and the length
    """

    spec: ItemSpec
    asked: tuple[tuple[str, Length], ...]
    shape: ItemShape


_held: dict[int, _Held] = {}


def shape_of(
    spec: ItemSpec, values: Values, *, folder: Path | None = None, key: str = ""
) -> ItemShape:
    """What ``build_item`` answers, kept while its description is and all its sizes are exact.

    A shape of exact size has one world, which stands for all. Shapes are shared: their arrays are
    not to be written to. What is drawn as a mesh is read anew, since its file may have changed.

    >>> from massing.items.catalog import load_item
    >>> unit = load_item("consumer unit")
    >>> shape_of(unit, Values(), key="unit") is shape_of(unit, Values(), key="other unit")
    True
    """
    name = key or spec.name
    held = _held.get(id(spec))
    if held is not None and held.spec is spec and _exact(held, values, name):
        return held.shape
    if any(part.mesh is not None for part in spec.parts):
        return build_item(spec, values, folder=folder, key=key)
    listening = _Listening(values)
    shape = build_item(spec, listening, folder=folder, key=key)
    # Every length goes by a name that begins with the item's own; one that does not is not held.
    asked = tuple((full.removeprefix(name), length) for full, length in listening.asked)
    own = all(full.startswith(name) for full, _ in listening.asked)
    if own and all(_sure(values, full, length) for full, length in listening.asked):
        if len(_held) >= _MOST:
            _held.clear()
        if values.worlds > 1:
            shape = build_item(spec, Values(), folder=folder, key=key)
        _held[id(spec)] = _Held(spec, asked, shape)
    return shape


class _Listening(Values):
    """Answers as other values do, and notes what it was asked."""

    def __init__(self, of: Values) -> None:
        super().__init__()
        self._of = of
        self.asked: list[tuple[str, Length]] = []

    @property
    def worlds(self) -> int:
        """Number of worlds answered for."""
        return self._of.worlds

    def __call__(
        self, length: Length, *, key: str = "", label: str = "", unit: str = "mm"
    ) -> Floats:
        """(worlds,) true sizes of the length, mm."""
        self.asked.append((key or length.path, length))
        return self._of(length, key=key, label=label, unit=unit)


def _sure(values: Values, key: str, length: Length) -> bool:
    return values.half_width(length, key=key) <= 0.0


def _exact(held: _Held, values: Values, name: str) -> bool:
    """Whether every length it was built of is exact by these values."""
    half_width = values.half_width
    return all(half_width(length, key=name + rest) <= 0.0 for rest, length in held.asked)
