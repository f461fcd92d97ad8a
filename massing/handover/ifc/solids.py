"""What stands behind a face of the shell? A model in, the same with closed solids for its faces.

A wall whose thickness is known is that thick. Floors, ceilings and walls of unknown thickness
become solids of ``THIN``: the face stays where it was measured.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from massing.handover.model import MeshPart, Model, Node

__all__ = ["THIN", "with_solids"]

THIN = 1.0
"""Thickness of what is not known to have any, mm; a file of solids has no word for none."""


def with_solids(model: Model) -> Model:
    """The model with every open face of one ring turned into a closed solid behind it."""
    return replace(model, nodes=tuple(_node(node) for node in model.nodes))


def _node(node: Node) -> Node:
    parts = tuple(_solid(part) if part.open else part for part in node.parts)
    return replace(node, parts=parts, children=tuple(_node(child) for child in node.children))


def _solid(part: MeshPart) -> MeshPart:
    """A face and its back joined by a side along each edge; one of several rings stays a face."""
    if len(part.rings) != 1 or sorted(part.rings[0]) != list(range(len(part.vertices))):
        return part
    ring = part.rings[0]
    count = len(part.vertices)
    points = part.vertices[list(ring)]
    if part.back is None:
        turn = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
        back = part.vertices - THIN * turn / np.linalg.norm(turn)
    else:
        back = part.back
    after = ring[1:] + ring[:1]
    sides = tuple((b, a, a + count, b + count) for a, b in zip(ring, after, strict=True))
    rings = (ring, tuple(k + count for k in reversed(ring)), *sides)
    return replace(
        part, vertices=np.vstack([part.vertices, back]), rings=rings, open=False, back=None
    )
