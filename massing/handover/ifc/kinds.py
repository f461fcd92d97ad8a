"""What is a node in IFC? A node and the group it lies in, in; its class and type out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Floats
from massing.geometry.tolerance import TOUCH
from massing.handover.model import Node

__all__ = ["Kind", "door_swing", "kind_of"]


@dataclass(frozen=True, slots=True)
class Kind:
    """An IFC class with what it needs said.

    predefined : its PredefinedType; "" where the class has none
    object_type : what a user-defined type is called
    """

    name: str
    predefined: str = "NOTDEFINED"
    object_type: str = ""


_SHELL = {
    "wall": Kind("IfcWall"),
    "partition": Kind("IfcWall", "PARTITIONING"),
    "floor": Kind("IfcSlab", "FLOOR"),
    "ceiling": Kind("IfcCovering", "CEILING"),
    "glass": Kind("IfcWindow", "WINDOW"),
    "door": Kind("IfcDoor", "DOOR"),
    "fabric": Kind("IfcBuildingElementProxy", "USERDEFINED", "fabric"),
}


def kind_of(node: Node, group: str) -> Kind:
    """Return the IFC class of a node that holds parts.

    >>> kind_of(Node("desk"), "proposed").name
    'IfcFurniture'
    """
    kinds = {part.kind for part in node.parts}
    if kinds and kinds <= {"zone", "void"}:
        return Kind("IfcSpatialZone", "USERDEFINED", "zone" if "zone" in kinds else "void")
    if group == "shell":
        return next((_SHELL[part.kind] for part in node.parts if part.kind in _SHELL), _PROXY)
    if group in {"kept", "proposed"}:
        called = node.extras.get("item")
        return Kind("IfcFurniture", "USERDEFINED", str(called or "item"))
    return _PROXY


_PROXY = Kind("IfcBuildingElementProxy")


def door_swing(node: Node) -> tuple[str, Floats] | None:
    """How a leaf swings, and its axes as columns: x along the shut leaf, y the way it opens, z up.

    The hinge stands left where x leads from it along the leaf, looking the way the leaf opens.
    None where the node is no leaf hinged on an upright edge of its own.
    Source: ISO 16739-1, IfcDoorTypeOperationEnum (from memory).
    """
    motion = node.motion
    if motion is None or motion.kind != "turn" or abs(motion.axis[2]) < 1.0 or not node.parts:
        return None
    points = node.parts[0].vertices
    off = points[:, :2] - np.array(motion.origin[:2])
    size = np.hypot(off[:, 0], off[:, 1])
    if size.min() > TOUCH:
        return None
    swing = motion.axis[2] * (1.0 if motion.stop >= motion.start else -1.0)
    for way in off[np.argsort(-size, kind="stable")]:
        along = way / np.hypot(*way)
        opens = swing * np.array([-along[1], along[0]])
        # The leaf's thickness trails the face that turns about the pin.
        if (off @ opens).max() <= TOUCH:
            x = np.array([opens[1], -opens[0]])
            left = float(x @ along) > 0.0
            columns = np.array([[x[0], opens[0], 0.0], [x[1], opens[1], 0.0], [0.0, 0.0, 1.0]])
            return ("SINGLE_SWING_LEFT" if left else "SINGLE_SWING_RIGHT"), columns
    return None
