"""One written part of a body in, convex solids in many worlds out."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from massing.errors import GeometryError
from massing.geometry.pieces import convex_parts, crossing_sides
from massing.geometry.polygons import Ring, area
from massing.geometry.solids import Convex, Faces, Floats, box, prism, prism_faces, prism_to_planes
from massing.geometry.tolerance import EXACT, TOUCH
from massing.items.spec import CylinderSpec, PartSpec, PrismSpec, WedgeSpec
from massing.survey.values import Values
from massing.units import Length

__all__ = ["OVERSIZE", "build_part", "cylinder_sides"]

OVERSIZE = 0.5
"""The most a corner of a many-sided cylinder stands outside the true round, mm."""

_TURNED = {"x": (2, 0, 1), "y": (1, 2, 0), "z": (0, 1, 2)}
"""Which of (across, up, along) each of x, y, z is; even orders, so faces keep looking out."""


def build_part(
    spec: PartSpec, values: Values, *, key: str, folder: Path | None = None
) -> tuple[Convex, ...]:
    """The convex solids of a part, in the item's frame; they do not overlap.

    Raises GeometryError for an outline that crosses itself, a wedge that does not slope or a
    mesh that bounds no volume, and InputError where there is no such file.

    >>> part = PartSpec.model_validate({"name": "carcass", "box": "0..600 x 20..600 x 0..850"})
    >>> build_part(part, Values(), key="sink")[0].low.tolist()
    [[0.0, 20.0, 0.0]]
    """
    if spec.box is not None:
        return (box(*_corners(spec.box, values, key)),)
    if spec.cylinder is not None:
        return (_cylinder(spec.cylinder, values, key),)
    if spec.prism is not None:
        return _prism(spec.prism, values, key)
    if spec.wedge is not None:
        return (_wedge(spec.wedge, values, key),)
    return _mesh(spec, values, key, folder)


def _corners(
    ranges: tuple[tuple[Length, Length], ...], values: Values, key: str
) -> tuple[Floats, Floats]:
    """(worlds, 3) low and high corner of a written box."""
    ends = [
        [values(end, key=f"{key} {axis}{k}") for k, end in enumerate(pair)]
        for axis, pair in zip("xyz", ranges, strict=True)
    ]
    low = np.stack([pair[0] for pair in ends], axis=1)
    high = np.stack([pair[1] for pair in ends], axis=1)
    return low, high


def cylinder_sides(radius: float) -> int:
    """Sides of a prism around a circle whose corners stand out no more than OVERSIZE.

    A multiple of four, so that the prism's bounds are the circle's own.

    >>> cylinder_sides(25.0), cylinder_sides(450.0)
    (16, 68)
    """
    least = math.pi / math.acos(radius / (radius + OVERSIZE))
    return max(8, 4 * math.ceil(least / 4))


def _cylinder(spec: CylinderSpec, values: Values, key: str) -> Convex:
    """A prism of so many sides around the round; its flats touch it."""
    n = cylinder_sides((spec.diameter.mm + (spec.diameter.pm or 0.0)) / 2)
    radius = values(spec.diameter, key=f"{key} diameter") / 2
    length = values(spec.length, key=f"{key} length")
    at = np.stack(
        [values(c, key=f"{key} {a}") for a, c in zip("xyz", spec.at, strict=True)], axis=1
    )
    turn = (np.arange(n) + 0.5) * (2 * math.pi / n)
    # The flats must lie on the axes to the last digit, or the bounds would be a hair too small.
    corner = np.stack([np.cos(turn), np.sin(turn)], axis=1) / math.cos(math.pi / n)
    corner = np.where(np.abs(np.abs(corner) - 1.0) < 1e-12, np.sign(corner), corner)
    upright = prism(radius[:, None, None] * corner[None], np.zeros_like(length), length)
    corners = upright.corners[:, :, _TURNED[spec.axis]] + at[:, None, :]
    return Convex(corners, prism_faces(n, upright=spec.axis == "z"))


def _prism(spec: PrismSpec, values: Values, key: str) -> tuple[Convex, ...]:
    ring = np.stack(
        [
            np.stack(
                [
                    values(c, key=f"{key} corner {k + 1} {a}")
                    for a, c in zip("xy", pair, strict=True)
                ],
                axis=1,
            )
            for k, pair in enumerate(spec.corners)
        ],
        axis=1,
    )
    steps = np.linalg.norm(np.roll(ring[0], -1, axis=0) - ring[0], axis=1)
    if steps.min() <= TOUCH:
        raise GeometryError(f"two corners of '{key}' next to each other are the same")
    if crossing_sides(ring[0]):
        first, second = crossing_sides(ring[0])[0]
        raise GeometryError(f"sides {first + 1} and {second + 1} of '{key}' meet or cross")
    if abs(area(ring)[0]) <= EXACT:
        raise GeometryError(f"the outline of '{key}' has no area")
    if area(ring)[0] < 0:
        ring = ring[:, ::-1]
    low, high = (values(end, key=f"{key} z{k}") for k, end in enumerate(spec.z))
    return tuple(prism(piece.points, low, high) for piece in convex_parts(Ring.of(ring)))


def _wedge(spec: WedgeSpec, values: Values, key: str) -> Convex:
    """A box cut by the plane from its full height down to the low side's edge height."""
    low, high = _corners(spec.box, values, key)
    edge = low[:, 2] + values(spec.edge_height, key=f"{key} edge height")
    if not 0.0 <= spec.edge_height.mm < spec.box[2][1].mm - spec.box[2][0].mm:
        raise GeometryError(f"the edge height of '{key}' is not below the height of its box")
    ring = box(low, high).corners[:, :4, :2]
    at_low = {"front": (0, 1), "right": (1, 2), "back": (2, 3), "left": (3, 0)}[spec.low_side]
    if spec.edge_height.mm <= TOUCH:
        return _sharp_wedge(ring, low[:, 2], high[:, 2], at_low)
    tops = np.repeat(high[:, 2:], 4, axis=1)
    tops[:, at_low] = edge[:, None]
    return prism_to_planes(ring, low[:, 2], tops)


def _sharp_wedge(ring: Floats, floor: Floats, top: Floats, at_low: tuple[int, int]) -> Convex:
    """A wedge that runs out to nothing: a triangle's prism lying on its side."""
    first, second = at_low
    third, fourth = (second + 1) % 4, (second + 2) % 4
    n = [
        (first, floor),
        (fourth, floor),
        (fourth, top),
        (second, floor),
        (third, floor),
        (third, top),
    ]
    corners = np.stack(
        [np.concatenate([ring[:, k], level[:, None]], axis=1) for k, level in n], axis=1
    )
    faces = Faces(((0, 2, 1), (3, 4, 5), (0, 1, 4, 3), (1, 2, 5, 4), (2, 0, 3, 5)))
    solid = Convex(corners, faces)
    if solid.volume[0] < 0:
        solid = Convex(corners, Faces(tuple(face[::-1] for face in faces.rings)))
    return solid


def _mesh(spec: PartSpec, values: Values, key: str, folder: Path | None) -> tuple[Convex, ...]:
    from massing.items.mesh import mesh_solids

    mesh = spec.mesh
    if mesh is None:
        raise GeometryError(f"'{key}' has no form")
    at = np.zeros((values.worlds, 3))
    if mesh.at is not None:
        at = np.stack(
            [values(c, key=f"{key} {a}") for a, c in zip("xyz", mesh.at, strict=True)], axis=1
        )
    return tuple(
        Convex(solid.corners + at[:, None, :], solid.faces) for solid in mesh_solids(mesh, folder)
    )
