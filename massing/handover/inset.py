"""What do bodies look like a hair smaller? A model in, the same model with faces drawn inwards out.

Two faces in one plane flicker in a picture. Moving every face of every closed body inwards by half
a millimetre parts them without being seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from massing.errors import GeometryError
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT
from massing.handover.model import MeshPart, Model, Node
from massing.handover.rings import RingPattern, area_vectors, ring_pattern

__all__ = ["inset_model", "inset_part"]


def _area_vectors(part: MeshPart, vertices: Floats) -> Floats:
    pattern = ring_pattern(part.rings)
    points = vertices[pattern.corners]
    return area_vectors(points, pattern.starts, pattern.ring_of, pattern.following)


def _steps(normals: Floats, pattern: RingPattern, by: float) -> Floats:
    """(n, 3) how far each vertex must go for its faces to move in, as near as can be, mm.

    Three faces that are not nearly in one plane, as at every corner of a prism, are solved for
    all corners at once; any other corner has its least-squares step.
    """
    order = np.argsort(pattern.corners, kind="stable")
    around = normals[pattern.ring_of[order]]
    ends = np.searchsorted(pattern.corners[order], pattern.used, side="right").tolist()
    steps = np.zeros((int(pattern.used[-1]) + 1, 3))
    if ends == list(range(3, len(order) + 1, 3)):
        threes = around.reshape(-1, 3, 3)
        if np.abs(np.linalg.det(threes)).min() > 1e-3:
            wanted = np.full((len(threes), 3, 1), -by)
            steps[pattern.used] = np.linalg.solve(threes, wanted)[:, :, 0]
            return steps
    for vertex, start, end in zip(pattern.used, [0, *ends[:-1]], ends, strict=True):
        planes = around[start:end]
        steps[vertex] = np.linalg.lstsq(planes, np.full(end - start, -by), rcond=1e-9)[0]
    return steps


def inset_part(part: MeshPart, by: float) -> MeshPart | None:
    """Return the body with each face moved inwards by exactly ``by`` mm.

    None when that cannot be done with the same faces: an open surface, a corner where more than
    three planes meet that would part, or a body too thin to lose twice ``by``.

    >>> from massing.geometry.solids import box
    >>> from massing.handover.model import Material
    >>> bin_ = box([0, 0, 0], [300, 300, 600])
    >>> part = MeshPart("bin", bin_.corners[0], bin_.faces.rings, Material("tin", "#888888"))
    >>> inset_part(part, 0.5).vertices.max(axis=0).tolist()
    [299.5, 299.5, 599.5]
    """
    if part.open:
        return None
    pattern = ring_pattern(part.rings)
    vectors = _area_vectors(part, part.vertices)
    normals = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    moved = part.vertices.copy()
    steps = _steps(normals, pattern, by)
    if np.abs((steps[pattern.corners] * normals[pattern.ring_of]).sum(axis=1) + by).max() > EXACT:
        return None
    moved[: len(steps)] += steps
    after = _area_vectors(part, moved)
    if (np.einsum("ri,ri->r", after, vectors) <= 0.0).any():
        return None
    try:
        return replace(part, vertices=moved)
    except GeometryError:
        return None


def _inset_node(node: Node, by: float, left: list[str]) -> Node:
    def drawn(part: MeshPart) -> MeshPart:
        smaller = inset_part(part, by)
        if smaller is None and not part.open:
            left.append(part.name)
        return smaller or part

    parts = tuple(drawn(part) for part in node.parts)
    return replace(node, parts=parts, children=tuple(_inset_children(node, by, left)))


def _inset_children(node: Node, by: float, left: list[str]) -> Iterator[Node]:
    return (_inset_node(child, by, left) for child in node.children)


def inset_model(model: Model, by: float) -> Model:
    """Draw every closed body in by ``by`` mm a face, and say so in the notes.

    Bodies that cannot be drawn in stay as they are and are named in the note ``inset_left_alone``.
    """
    left: list[str] = []
    nodes = tuple(_inset_node(node, by, left) for node in model.nodes)
    notes = {**model.notes, "inset_mm": by}
    if left:
        notes["inset_left_alone"] = ", ".join(left)
    return replace(model, nodes=nodes, notes=notes)
