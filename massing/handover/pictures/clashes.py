"""The volumes in conflict, for showing: an answer in, convex pieces out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.finding import Verdict
from massing.checks.leaves import leaf_sweep
from massing.checks.run import Answer
from massing.geometry.clip import clip_solid, prism_planes
from massing.geometry.solids import Convex, Floats
from massing.scheme.layout import Layout, Placed

__all__ = ["clash_solids", "face_planes"]


def face_planes(solid: Convex) -> Floats:
    """(k, 4) rows a, b, c, d of a x + b y + c z <= d of a one-world solid's faces."""
    rows = []
    for ring in solid.faces.rings:
        points = solid.corners[0, list(ring)]
        normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
        size = float(np.linalg.norm(normal))
        if size > 1e-9:
            normal = normal / size
            rows.append([*normal, float(points.mean(axis=0) @ normal)])
    return np.array(rows)


def clash_solids(answer: Answer) -> Iterator[Convex]:
    """Every shared volume of a conflict between bodies, or of a body and the ceiling or a leaf."""
    layout = answer.layout
    for finding in answer.findings:
        if finding.verdict is not Verdict.CONFLICT:
            continue
        if finding.check == "bodies":
            first = _solids(layout, finding.items[0])
            second = _solids(layout, finding.items[1])
            yield from _common(first, second)
        elif finding.check == "ceiling":
            yield from _above(layout, layout.item(finding.items[0]))
        elif finding.check == "door leaf":
            leaf = next((x for x in layout.leaves if x.name == finding.items[0]), None)
            if leaf is not None:
                yield from _common(_solids(layout, finding.items[1]), [leaf_sweep(leaf).world(0)])


def _solids(layout: Layout, name: str) -> list[Convex]:
    for item in layout.items:
        if item.name == name:
            return [part.solid.world(0) for part in item.parts]
    for fabric in layout.room.fabric:
        if fabric.name == name:
            return [part.world(0) for part in fabric.parts]
    return []


def _common(first: list[Convex], second: list[Convex]) -> Iterator[Convex]:
    for a in first:
        for b in second:
            found = clip_solid(a, face_planes(b))
            if found is not None:
                yield found


def _above(layout: Layout, item: Placed) -> Iterator[Convex]:
    for part in item.parts:
        for piece in layout.room.ceilings:
            inside = clip_solid(part.solid.world(0), prism_planes(piece.polygon[0]))
            if inside is None:
                continue
            for plane in piece.planes[0]:
                over = np.array([[plane[0], plane[1], -1.0, -plane[2]]])
                found = clip_solid(inside, over)
                if found is not None:
                    yield found
