"""What does a writer take? Plain named meshes, nodes, motions and cameras, checked when made.

Everything is in room coordinates: millimetres, right-handed, z up. A node's ``pivot`` says where
its origin goes in files that have one; it moves nothing. Writers turn this into their own unit and
axes.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np

from massing.errors import Fault, GeometryError, InputError
from massing.geometry.solids import Floats
from massing.geometry.tolerance import EXACT, TOUCH
from massing.handover.rings import Rings, area_vectors, ring_pattern

__all__ = [
    "Camera",
    "Extras",
    "Material",
    "MeshPart",
    "Model",
    "Motion",
    "Node",
    "Point",
    "bounds",
    "every_part",
    "resting_point",
]

Point: TypeAlias = tuple[float, float, float]
Extras: TypeAlias = Mapping[str, str | float | bool]


@dataclass(frozen=True, slots=True)
class Material:
    """One look, shared by every part of a kind.

    srgb : "#RRGGBB" as a screen shows it
    alpha : 1 opaque to 0 unseen; below 1 the surface is blended
    kind : what it stands for, such as body, door, glass, zone
    roughness : 0 mirror to 1 chalk

    Raises InputError for a colour or a share that cannot be read.

    >>> Material("oak", "brown")
    Traceback (most recent call last):
    ...
    massing.errors.InputError: material 'oak': colour 'brown' is not written #RRGGBB
    """

    name: str
    srgb: str
    alpha: float = 1.0
    kind: str = "body"
    roughness: float = 0.8

    def __post_init__(self) -> None:
        if not re.fullmatch(r"#[0-9A-Fa-f]{6}", self.srgb):
            says = f"material {self.name!r}: colour {self.srgb!r} is not written #RRGGBB"
            raise InputError([Fault(says)])
        if not (0.0 <= self.alpha <= 1.0 and 0.0 <= self.roughness <= 1.0):
            says = f"material {self.name!r}: alpha and roughness lie between 0 and 1"
            raise InputError([Fault(says)])


@dataclass(frozen=True, slots=True, eq=False)
class MeshPart:
    """One mesh of one material.

    vertices : (n, 3) float, mm, room coordinates; kept as a read-only copy
    rings : planar faces as tuples of vertex numbers, counter-clockwise seen from outside
    material : its look
    kind : body, door, glass, handle, zone, floor, ceiling ...
    open : a surface with two visible sides (a room's shell); False means a closed body
    back : (n, 3) mm, for an open one: where the solid it is the face of ends, corner by corner,
        for files that hold solids; None where that is not known

    Raises GeometryError, naming the part, for a coordinate that is not a number, a face without
    area, a bent face, and for a body that is not open: an edge not used once each way, or faces
    that look inwards.

    >>> paint = Material("paint", "#56B4E9")
    >>> flap = [[0, 0, 0], [10, 0, 0], [20, 0, 0]]
    >>> MeshPart("flap", flap, ((0, 1, 2),), paint, open=True)
    Traceback (most recent call last):
    ...
    massing.errors.GeometryError: part 'flap': face 0 has no area
    """

    name: str
    vertices: Floats
    rings: Rings
    material: Material
    kind: str = "body"
    open: bool = False
    back: Floats | None = None

    def __post_init__(self) -> None:
        vertices = np.array(self.vertices, dtype=np.float64)
        vertices.setflags(write=False)
        object.__setattr__(self, "vertices", vertices)
        object.__setattr__(self, "rings", tuple(map(tuple, self.rings)))
        try:
            _check_mesh(vertices, self.rings, closed=not self.open)
        except GeometryError as error:
            raise GeometryError(f"part {self.name!r}: {error}") from None


def _check_mesh(vertices: Floats, rings: Rings, *, closed: bool) -> None:
    """Raise GeometryError when the faces do not make the surface they claim to be."""
    if vertices.ndim != 2 or vertices.shape[1] != 3:
        raise GeometryError(f"vertices have shape {vertices.shape}, not (n, 3)")
    if not np.isfinite(vertices).all():
        raise GeometryError("a coordinate is not a finite number")
    if not rings:
        raise GeometryError("no faces")
    pattern = ring_pattern(rings)
    if pattern.used[0] < 0 or pattern.used[-1] >= len(vertices):
        raise GeometryError(f"faces name vertices outside 0 to {len(vertices) - 1}")
    points = vertices[pattern.corners]
    vectors = area_vectors(points, pattern.starts, pattern.ring_of, pattern.following)
    areas = np.sqrt(np.einsum("ri,ri->r", vectors, vectors))
    first = points[pattern.starts]
    spokes = points - first[pattern.ring_of]
    reach = np.sqrt(np.maximum.reduceat(np.einsum("ci,ci->c", spokes, spokes), pattern.starts))
    if (flat := areas <= EXACT * reach).any():
        raise GeometryError(f"face {int(np.argmax(flat))} has no area")
    normals = vectors / areas[:, None]
    bent = np.abs(np.einsum("ci,ci->c", spokes, normals[pattern.ring_of])) > TOUCH
    if bent.any():
        face = int(pattern.ring_of[np.argmax(bent)])
        raise GeometryError(f"face {face} is not flat within {TOUCH} mm")
    if closed and pattern.unpaired is not None:
        edge = pattern.unpaired
        raise GeometryError(f"edge {edge} is not used once each way, so the body is not closed")
    if closed and float(np.einsum("ri,ri->", first - vertices.mean(axis=0), vectors)) <= 0.0:
        raise GeometryError("the faces look inwards")


@dataclass(frozen=True, slots=True)
class Motion:
    """How a node moves from the pose it is drawn in.

    kind : "turn" about the line through ``origin`` along ``axis``, or "slide" along ``axis``
    axis : any length but zero; kept as a unit vector
    origin : mm, room coordinates: a point of the hinge line, or where the slide starts
    start, stop : radians (turn, right-hand rule) or mm (slide), both from the drawn pose

    Raises GeometryError for an axis without length or a number that is not finite.

    >>> Motion("lid lifts", "turn", (0, -2, 0), (0, 600, 850), 0.0, 1.5).axis
    (0.0, -1.0, 0.0)
    """

    name: str
    kind: Literal["turn", "slide"]
    axis: Point
    origin: Point
    start: float
    stop: float

    def __post_init__(self) -> None:
        if self.kind not in ("turn", "slide"):
            raise GeometryError(f"motion {self.name!r}: {self.kind!r} is neither turn nor slide")
        _finite(f"motion {self.name!r}", *self.axis, *self.origin, self.start, self.stop)
        length = math.hypot(*self.axis)
        if length == 0.0:
            raise GeometryError(f"motion {self.name!r}: the axis has no length")
        unit = tuple(value / length + 0.0 for value in self.axis)
        object.__setattr__(self, "axis", unit)


def _finite(whose: str, *values: float) -> None:
    if not all(math.isfinite(value) for value in values):
        raise GeometryError(f"{whose}: a number is not finite")


def _check_extras(whose: str, extras: Extras) -> None:
    """Only flat values: some importers stop at a list or an object among the extras."""
    for key, value in extras.items():
        if not isinstance(value, (str, bool, int, float)):
            says = f"{whose}: extra {key!r} is a {type(value).__name__}, not text, number or bool"
            raise InputError([Fault(says)])
        if isinstance(value, float) and not math.isfinite(value):
            raise InputError([Fault(f"{whose}: extra {key!r} is not a finite number")])


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """A named place in the tree: a group (shell, kept, proposed, zones, voids), an item, a leaf.

    pivot : mm, room coordinates, where the node's origin sits; None takes the motion's origin,
        or else the parent's
    extras : flat text, numbers and bools, written into files that can hold them
    motion : how the node moves, or None

    Raises GeometryError when a turning node's pivot is off its hinge line, InputError when an
    extra is not flat.
    """

    name: str
    parts: tuple[MeshPart, ...] = ()
    children: tuple[Node, ...] = ()
    pivot: Point | None = None
    extras: Extras = field(default_factory=dict)
    motion: Motion | None = None

    def __post_init__(self) -> None:
        whose = f"node {self.name!r}"
        _check_extras(whose, self.extras)
        if self.pivot is not None:
            _finite(whose, *self.pivot)
        motion = self.motion
        if motion is None or motion.kind != "turn" or self.pivot is None:
            return
        away = np.subtract(self.pivot, motion.origin)
        if float(np.linalg.norm(np.cross(away, motion.axis))) > TOUCH:
            raise GeometryError(f"{whose}: the pivot is off the hinge line")

    @property
    def origin(self) -> Point | None:
        """Where the origin sits, mm, or None for the parent's."""
        if self.pivot is not None or self.motion is None:
            return self.pivot
        return self.motion.origin


@dataclass(frozen=True, slots=True)
class Camera:
    """A view: perspective when ``yfov`` is given, parallel when ``height`` is.

    eye, target : mm, room coordinates
    up : the direction that points up in the picture
    yfov : radians, the upright angle of view
    height : mm, what a parallel view shows from bottom to top
    aspect : width over height of the picture
    near, far : mm from the eye; a parallel view cuts whatever lies nearer than ``near``

    Raises GeometryError when the view has no direction, or up lies along it.
    """

    name: str
    eye: Point
    target: Point
    up: Point = (0.0, 0.0, 1.0)
    yfov: float | None = None
    height: float | None = None
    aspect: float = 1.5
    near: float = 10.0
    far: float = 100_000.0

    def __post_init__(self) -> None:
        whose = f"camera {self.name!r}"
        sizes = [v for v in (self.yfov, self.height) if v is not None]
        _finite(whose, *self.eye, *self.target, *self.up, self.aspect, self.near, self.far, *sizes)
        if len(sizes) != 1:
            raise GeometryError(f"{whose}: give either yfov or height")
        if min(*sizes, self.aspect) <= 0.0 or not 0.0 <= self.near < self.far:
            raise GeometryError(f"{whose}: a size is not positive, or near is not before far")
        if self.yfov is not None and (self.yfov >= math.pi or self.near == 0.0):
            raise GeometryError(f"{whose}: yfov must be below pi and near above 0")
        view = np.subtract(self.target, self.eye)
        if float(np.linalg.norm(np.cross(view, self.up))) <= EXACT:
            raise GeometryError(f"{whose}: up lies along the view, or the view has no direction")


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """Everything one handover file holds; ``notes`` are flat, like a node's extras."""

    name: str
    nodes: tuple[Node, ...] = ()
    cameras: tuple[Camera, ...] = ()
    notes: Extras = field(default_factory=dict)

    def __post_init__(self) -> None:
        _check_extras(f"model {self.name!r}", self.notes)


def _parts_under(node: Node) -> Iterator[MeshPart]:
    yield from node.parts
    for child in node.children:
        yield from _parts_under(child)


def every_part(model: Model) -> tuple[MeshPart, ...]:
    """Return all parts in file order: a node's own parts, then its children's."""
    return tuple(part for node in model.nodes for part in _parts_under(node))


def _bounds_of(parts: tuple[MeshPart, ...]) -> tuple[Point, Point] | None:
    if not parts:
        return None
    used = np.concatenate([part.vertices[ring_pattern(part.rings).used] for part in parts])
    low, high = used.min(axis=0) + 0.0, used.max(axis=0) + 0.0
    return (
        (float(low[0]), float(low[1]), float(low[2])),
        (float(high[0]), float(high[1]), float(high[2])),
    )


def bounds(model: Model) -> tuple[Point, Point] | None:
    """Least and greatest corner over every part, mm; None for a model without parts.

    >>> bounds(Model("bare")) is None
    True
    """
    return _bounds_of(every_part(model))


def resting_point(parts: tuple[MeshPart, ...]) -> Point:
    """Middle of the parts' bounds in plan at their lowest level, mm: a pivot for a standing item.

    Raises GeometryError when there are no parts.
    """
    box = _bounds_of(parts)
    if box is None:
        raise GeometryError("no parts to rest")
    (x0, y0, z0), (x1, y1, _) = box
    return (x0 + x1) / 2.0, (y0 + y1) / 2.0, z0
