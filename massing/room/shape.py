"""The shape of a room in many worlds: what every check, void and drawing reads.

All arrays carry the worlds on their first axis (see ``massing.geometry.solids``).
Millimetres, z = 0 at the survey datum. Plan polygons run counter-clockwise seen from above.
"Left" and "right" of a wall are as you face it from inside the room.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from massing.errors import Mark
from massing.geometry.solids import Convex, Floats

if TYPE_CHECKING:
    from massing.survey.surveyed import Surveyed

__all__ = [
    "CeilingPiece",
    "Cell",
    "Fabric",
    "FloorPiece",
    "Opening",
    "OutsidePiece",
    "Room",
    "Wall",
]


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """One wall face, seen from inside.

    left, right : (worlds, 2) ends of the face, mm
    along : (worlds, 2) unit vector from left to right
    outward : (worlds, 2) unit vector out of the room, square to the face
    thickness : (worlds,) mm, 0 where not said
    provenance : "measured", "derived" (outside less build-ups) or "guessed"
    part_of : the partition whose face it is; "" for a wall of the room
    """

    name: str
    left: Floats
    right: Floats
    along: Floats
    outward: Floats
    thickness: Floats
    provenance: str = "measured"
    partition: bool = False
    part_of: str = ""

    @property
    def length(self) -> Floats:
        """(worlds,) length of the face, mm."""
        return np.asarray(np.linalg.norm(self.right - self.left, axis=-1))

    def point(self, along: Floats, inward: Floats) -> Floats:
        """(worlds, 2) plan point at a distance from the left end and in from the face, mm."""
        return np.asarray(
            self.left + along[:, None] * self.along - np.asarray(inward)[:, None] * self.outward
        )


@dataclass(frozen=True, slots=True, eq=False)
class FloorPiece:
    """A level part of the floor: polygon (worlds, n, 2) convex, level (worlds,) mm."""

    name: str
    polygon: Floats
    level: Floats


@dataclass(frozen=True, slots=True, eq=False)
class CeilingPiece:
    """A part of the ceiling: over the convex polygon, the least of k planes z = a x + b y + c.

    polygon : (worlds, n, 2) mm
    planes : (worlds, k, 3) rows a, b, c
    """

    name: str
    polygon: Floats
    planes: Floats

    def height(self, points: Floats) -> Floats:
        """(worlds, m) ceiling z over plan points (worlds, m, 2), mm, ignoring the polygon."""
        slope = np.einsum("wki,wmi->wkm", self.planes[:, :, :2], points)
        return np.asarray((slope + self.planes[:, :, 2:]).min(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Fabric:
    """A solid part of the building inside the room: a beam, breast, duct or partition."""

    name: str
    parts: tuple[Convex, ...]
    kind: str = "fabric"
    stays: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A door or window in a wall.

    left : (worlds,) distance of its left jamb from the wall's left end, mm
    width, height, sill : (worlds,) mm; sill is the z of its lowest edge, datum as the room
    leaf : (worlds, 3) leaf width, height, thickness, or None where there is no leaf
    hinge : "left" or "right" as you face the wall from inside; opens : "in" or "out"
    escape : people get out by it in a fire
    """

    name: str
    kind: str
    wall: str
    left: Floats
    width: Floats
    height: Floats
    sill: Floats
    leaf: Floats | None = None
    hinge: str = "left"
    opens: str = "in"
    motion: str = "hinged"
    angle: float = 90.0
    mark: Mark | None = None
    escape: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class OutsidePiece:
    """A convex plan region outside the room, bounded by the wall faces it lies behind.

    polygon : (worlds, n, 2) mm, closed off far from the room where it is endless
    walls : indices into ``Room.walls`` of the faces on its boundary
    """

    polygon: Floats
    walls: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """A convex plan polygon with one floor level and one ceiling plane, in the nominal world.

    polygon : (n, 2) mm, counter-clockwise; floor : z, mm; plane : (3,) a, b, c of the ceiling
    """

    polygon: Floats
    floor: float
    plane: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """The whole room.

    outline : (worlds, n, 2) inside corners, counter-clockwise, mm
    walls : one a side of the outline, then the faces of partitions
    floors, ceilings : disjoint pieces that each cover the outline
    outside : convex regions that together cover everything beyond the outline
    surveys : the measurements its walls and slopes were adjusted from, where there were any
    """

    outline: Floats
    walls: tuple[Wall, ...]
    floors: tuple[FloorPiece, ...]
    ceilings: tuple[CeilingPiece, ...]
    outside: tuple[OutsidePiece, ...]
    fabric: tuple[Fabric, ...] = ()
    openings: tuple[Opening, ...] = ()
    north_deg: float = 0.0
    surveys: tuple[Surveyed, ...] = ()

    @property
    def worlds(self) -> int:
        """Number of worlds."""
        return int(self.outline.shape[0])

    def wall(self, name: str) -> Wall:
        """Return the wall of that name; KeyError where there is none."""
        for wall in self.walls:
            if wall.name == name:
                return wall
        raise KeyError(name)
