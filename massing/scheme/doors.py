"""The leaves that hang in a room's doorways: a room in, leaves out, in many worlds."""

from __future__ import annotations

import numpy as np

from massing.room.shape import Opening, Room
from massing.scheme.layout import Leaf

__all__ = ["room_leaves"]


def room_leaves(room: Room) -> tuple[Leaf, ...]:
    """Every hinged leaf of the room, in the order its doors are written."""
    return tuple(
        _leaf(room, door)
        for door in room.openings
        if door.kind == "door" and door.leaf is not None and door.motion == "hinged"
    )


def _leaf(room: Room, door: Opening) -> Leaf:
    """One leaf, shut flush with the face it opens towards.

    An inward leaf turns about a pin on the inside face, an outward one about a pin on the outside.
    """
    assert door.leaf is not None  # noqa: S101
    wall = room.wall(door.wall)
    right = door.hinge == "right"
    jamb = door.left + (door.width if right else 0.0)
    inward = np.zeros(room.worlds) if door.opens == "in" else -wall.thickness
    # Seen from above, facing the wall from inside, "left" and "right" swap sense with the swing:
    # an inward leaf hinged on the right turns counter-clockwise, one on the left clockwise.
    swing = (1.0 if right else -1.0) * (1.0 if door.opens == "in" else -1.0)
    return Leaf(
        name=door.name,
        wall=door.wall,
        pin=wall.point(
            np.broadcast_to(jamb, (room.worlds,)), np.broadcast_to(inward, (room.worlds,))
        ),
        shut=wall.along * (-1.0 if right else 1.0),
        swing=swing,
        width=door.leaf[:, 0],
        thickness=door.leaf[:, 2],
        low=door.sill,
        high=door.sill + door.leaf[:, 1],
        full=float(np.deg2rad(door.angle)),
        # On whichever side of a partition a leaf opens, it opens into the room.
        opens="in" if wall.partition else door.opens,
    )
