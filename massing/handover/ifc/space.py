"""What is the air of the room? A shell's floor and ceiling faces in, convex solids out.

Every ceiling face of a shell stands straight over the floor face of the same cell, so the two
make a solid. Together the solids are the room's exact volume, and none laps over another.
"""

from __future__ import annotations

from massing.geometry.solids import Convex, Floats, hull
from massing.geometry.tolerance import TOUCH
from massing.handover.model import Model, Node

__all__ = ["air"]


def air(model: Model) -> tuple[Convex, ...]:
    """One solid a cell of the model's shell, in file order; none without a ceiling."""
    shell = next((node for node in model.nodes if node.name == "shell"), None)
    if shell is None:
        return ()
    floors = [ring for ring in _faces(shell, "floor") if _level(ring)]
    ceilings = {_plan(ring): ring for ring in _faces(shell, "ceiling")}
    return tuple(
        hull(_joined(floor, ceilings[plan]))
        for floor in floors
        if (plan := _plan(floor)) in ceilings
    )


def _faces(shell: Node, kind: str) -> list[Floats]:
    return [
        part.vertices[list(ring)]
        for node in shell.children
        for part in node.parts
        if part.open and part.kind == kind
        for ring in part.rings
    ]


def _level(ring: Floats) -> bool:
    return float(ring[:, 2].max() - ring[:, 2].min()) <= TOUCH


def _plan(ring: Floats) -> frozenset[tuple[float, float]]:
    return frozenset((round(float(x), 3), round(float(y), 3)) for x, y in ring[:, :2])


def _joined(floor: Floats, ceiling: Floats) -> Floats:
    """Both rings' corners, those that meet (a slope that comes down to the floor) once."""
    import numpy as np

    kept = [point for point in ceiling if np.abs(floor - point).max(axis=1).min() > TOUCH]
    return np.vstack([floor, *kept])
