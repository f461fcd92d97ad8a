"""A placed scheme in many worlds: what every check, void, route and drawing reads.

All arrays carry the worlds on their first axis. Millimetres; room axes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from massing.errors import Mark
from massing.geometry.solids import Convex, Floats
from massing.items.spec import ItemSpec
from massing.room.shape import Room

__all__ = ["Gap", "Layout", "Leaf", "Motion", "Part", "Placed", "Zone"]

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One convex part of a placed body."""

    name: str
    kind: str
    solid: Convex


@dataclass(frozen=True, slots=True, eq=False)
class Zone:
    """Floor a person or a service needs: convex plan polygon (worlds, n, 2), counter-clockwise.

    level : (worlds,) z of the highest floor under it; headroom : (worlds,) mm or None when the
    rule's default applies
    """

    item: str
    name: str
    kind: str
    posture: str
    polygon: Floats
    level: Floats
    headroom: Floats | None


@dataclass(frozen=True, slots=True, eq=False)
class Gap:
    """Clear air an item needs on one side, as a solid; depth (worlds,) mm."""

    item: str
    side: str
    why: str
    depth: Floats
    solid: Convex


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """Something of an item that turns or slides, in room axes (see items.shape.MotionShape)."""

    item: str
    name: str
    kind: str
    solid: Convex
    axis: Floats
    turn_about: Floats | None
    slide: Floats | None
    full: Floats
    needs: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Leaf:
    """A door leaf of the room, hinged on an upright line.

    pin : (worlds, 2) the hinge in plan, on the inside face of the wall
    shut : (worlds, 2) unit vector from the pin along the shut leaf
    swing : +1 when it opens counter-clockwise seen from above, -1 clockwise
    width, thickness : (worlds,); the leading face turns about the pin, the thickness trails
    low, high : (worlds,) z of its edges
    full : radians
    """

    name: str
    wall: str
    pin: Floats
    shut: Floats
    swing: float
    width: Floats
    thickness: Floats
    low: Floats
    high: Floats
    full: float
    opens: str


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """One item in its place.

    origin : (worlds, 3) where the item's own origin went; yaw : (worlds,) radians
    low, high : (worlds, 3) bounds of the body
    footing : "floor", "wall", "ceiling" or the name of the item it stands on
    """

    name: str
    spec: ItemSpec
    parts: tuple[Part, ...]
    origin: Floats
    yaw: Floats
    low: Floats
    high: Floats
    footing: str
    zones: tuple[Zone, ...] = ()
    gaps: tuple[Gap, ...] = ()
    motions: tuple[Motion, ...] = ()
    stays: bool = False
    accept: tuple[str, ...] = ()
    mark: Mark | None = None

    @property
    def mounted(self) -> str:
        """How it is carried: floor, wall, ceiling or on."""
        return self.footing if self.footing in {"floor", "wall", "ceiling"} else "on"


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """A room with everything in it, in every world."""

    name: str
    room: Room
    items: tuple[Placed, ...]
    leaves: tuple[Leaf, ...] = ()
    together: tuple[tuple[str, ...], ...] = ()
    _named: dict[str, Placed] = field(init=False, repr=False)
    _bottoms: dict[str, str] = field(init=False, repr=False)
    _kept: dict[object, Any] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        named: dict[str, Placed] = {}
        for item in self.items:
            named.setdefault(item.name, item)
        object.__setattr__(self, "_named", named)
        object.__setattr__(self, "_bottoms", _bottoms(self.items))
        object.__setattr__(self, "_kept", {})

    def kept(self, key: object, make: Callable[[Layout], Found]) -> Found:
        """What ``make`` answers of this layout, worked out once under its key and kept with it."""
        if key not in self._kept:
            self._kept[key] = make(self)
        found: Found = self._kept[key]
        return found

    @property
    def worlds(self) -> int:
        """Number of worlds."""
        return self.room.worlds

    def item(self, name: str) -> Placed:
        """Return the item of that name; KeyError where there is none."""
        return self._named[name]

    def found(self, name: str) -> Placed | None:
        """The item of that name, None where there is none."""
        return self._named.get(name)

    def bottom_of(self, name: str) -> str:
        """Name of the lowest item of the stack an item is in; its own when it is in none."""
        return self._bottoms.get(name, name)

    def stack_from(self, name: str) -> frozenset[str]:
        """The item and all that stands on it, tier upon tier."""
        found = {name}
        while more := {item.name for item in self.items if item.footing in found} - found:
            found |= more
        return frozenset(found)


def _bottoms(items: tuple[Placed, ...]) -> dict[str, str]:
    """The lowest item of the stack that each item is in, by name."""
    held = {item.name: item.footing for item in items}
    found: dict[str, str] = {}
    for name in held:
        lowest, passed = name, {name}
        # A thing may bear the name of what carries it: "floor", "wall".
        while (below := held[lowest]) in held and below not in passed:
            lowest = below
            passed.add(below)
        found[name] = lowest
    return found
