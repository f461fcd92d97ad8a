"""A placed scheme in many worlds: what every check, void, route and drawing reads.

All arrays carry the worlds on their first axis. Millimetres; room axes.
"""

from __future__ import annotations

from dataclasses import dataclass

from massing.errors import Mark
from massing.geometry.solids import Convex, Floats
from massing.items.spec import ItemSpec
from massing.room.shape import Room

__all__ = ["Gap", "Layout", "Leaf", "Motion", "Part", "Placed", "Zone"]


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

    @property
    def worlds(self) -> int:
        """Number of worlds."""
        return self.room.worlds

    def item(self, name: str) -> Placed:
        """Return the item of that name; KeyError where there is none."""
        for placed in self.items:
            if placed.name == name:
                return placed
        raise KeyError(name)

    def bottom_of(self, name: str) -> str:
        """Name of the lowest item of the stack an item is in; its own when it is in none."""
        held = {item.name: item.footing for item in self.items}
        while held.get(name) in held:
            name = held[name]
        return name

    def stack_from(self, name: str) -> frozenset[str]:
        """The item and all that stands on it, tier upon tier."""
        found = {name}
        while more := {item.name for item in self.items if item.footing in found} - found:
            found |= more
        return frozenset(found)
