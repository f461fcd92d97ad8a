"""What does a model look like in glTF? A model in, the JSON object and the binary buffer out.

Scene > group > item > part. A part's corners are given from its node's origin, so two equal bodies
share one mesh, and a door's node sits on its hinge line, ready to be turned.
"""

from __future__ import annotations

from functools import cache
from importlib.metadata import PackageNotFoundError, version

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.flat import Flat, flatten
from massing.handover.gltf.axes import look, metres, y_up
from massing.handover.gltf.looks import material
from massing.handover.gltf.motion import Played, animation
from massing.handover.gltf.pool import Json, Pool
from massing.handover.model import Camera, Extras, Material, MeshPart, Model, Point
from massing.handover.names import NamedNode, name_model, unique_names

__all__ = ["document"]

_ROOT: Point = (0.0, 0.0, 0.0)


@cache
def _generator() -> str:
    try:
        return f"massing {version('massing')}"
    except PackageNotFoundError:
        return "massing"


class _Shapes:
    """The accessors of each part in turn, cut from arrays that hold all of them."""

    def __init__(self, flat: Flat, pool: Pool) -> None:
        self._pool = pool
        self._positions = _stored(y_up(flat.points) / 1000.0)
        self._normals = _stored(y_up(flat.normals))
        self._texture = _stored(flat.texture * (1.0, -1.0) + 0.0)  # glTF counts v downwards
        self._triangles = flat.triangles
        self._corners: list[int] = flat.starts.tolist()
        self._ends: list[int] = flat.triangle_starts.tolist()
        if len(flat.points):
            starts = flat.starts[:-1]
            self._low = np.minimum.reduceat(self._positions, starts, axis=0).tolist()
            self._high = np.maximum.reduceat(self._positions, starts, axis=0).tolist()

    def primitive(self, part: int) -> Json:
        """Return the part's primitive, still without its material."""
        a, b = self._corners[part : part + 2]
        t, u = self._ends[part : part + 2]
        role, kind = ("index16", "<u2") if b - a < UINT16_END else ("index32", "<u4")
        limits = (self._low[part], self._high[part])
        add = self._pool.add
        return {
            "attributes": {
                "POSITION": add("position", self._positions[a:b].tobytes(), limits),
                "NORMAL": add("normal", self._normals[a:b].tobytes(), None),
                "TEXCOORD_0": add("texture", self._texture[a:b].tobytes(), None),
            },
            "indices": add(role, self._triangles[t:u].astype(kind).tobytes(), None),
        }


UINT16_END = 65535  # the largest 16-bit number is kept back for restarting a strip


def _stored(rows: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    return np.ascontiguousarray(rows, dtype="<f4")


class _Builder:
    """Grows the node list while walking the named tree once."""

    def __init__(self, materials: dict[Material, str]) -> None:
        self.pool = Pool()
        self.nodes: list[Json] = []
        self.meshes: list[Json] = []
        self.materials: list[Json] = []
        self.parts: list[MeshPart] = []
        self.origins: list[Point] = []
        self.played: list[Played] = []
        self._holders: list[Json] = []
        self._names = materials
        self._slots: dict[tuple[Material, bool], int] = {}

    def node(self, named: NamedNode, parent: Point) -> int:
        node = named.node
        origin = node.origin or parent
        number = len(self.nodes)
        out: Json = {"name": named.name}
        self.nodes.append(out)
        if origin != parent:
            out["translation"] = metres(_less(origin, parent))
        held = [self._part(name, part, origin) for name, part in named.parts]
        out["children"] = held + [self.node(child, origin) for child in named.children]
        out["extras"] = _extras(node.extras, node.name)
        if node.motion is not None:
            self.played.append(Played(named.motion, number, node.motion, _less(origin, parent)))
        return number

    def _part(self, name: str, part: MeshPart, origin: Point) -> int:
        out: Json = {"name": name, "extras": {"kind": part.kind, "name_as_written": part.name}}
        self.nodes.append(out)
        self._holders.append(out)
        self.parts.append(part)
        self.origins.append(origin)
        return len(self.nodes) - 1

    def _slot(self, part: MeshPart) -> int:
        key = (part.material, part.open)
        if key not in self._slots:
            self._slots[key] = len(self.materials)
            name = self._names[part.material]
            if (part.material, not part.open) in self._slots:
                name = self._free_name(f"{name}_two_sided" if part.open else f"{name}_one_sided")
            self.materials.append(material(part.material, name, two_sided=part.open))
        return self._slots[key]

    def _free_name(self, name: str) -> str:
        """A material used on bodies and on open surfaces needs two slots, so a second name."""
        taken = {*self._names.values(), *(slot["name"] for slot in self.materials)}
        return unique_names([*sorted(taken), name])[-1]

    def fill(self) -> None:
        """Give every part its mesh; equal meshes are one mesh."""
        shapes = _Shapes(flatten(self.parts, self.origins), self.pool)
        known: dict[tuple[int, ...], int] = {}
        for number, (part, holder) in enumerate(zip(self.parts, self._holders, strict=True)):
            primitive = shapes.primitive(number)
            primitive["material"] = self._slot(part)
            key = (*primitive["attributes"].values(), primitive["indices"], primitive["material"])
            if key not in known:
                known[key] = len(self.meshes)
                self.meshes.append({"name": holder["name"], "primitives": [primitive]})
            holder["mesh"] = known[key]


def _less(point: Point, by: Point) -> Point:
    return point[0] - by[0], point[1] - by[1], point[2] - by[2]


def _extras(extras: Extras, written: str) -> Json:
    return {**{key: extras[key] for key in sorted(extras)}, "name_as_written": written}


def _camera(camera: Camera, name: str) -> Json:
    near, far = camera.near / 1000.0, camera.far / 1000.0
    if camera.yfov is not None:
        lens: Json = {"yfov": camera.yfov, "znear": near, "zfar": far}
        return {"name": name, "type": "perspective", "perspective": lens}
    half = (camera.height or 0.0) / 2000.0
    frame = {"xmag": half * camera.aspect, "ymag": half, "znear": near, "zfar": far}
    return {"name": name, "type": "orthographic", "orthographic": frame}


def document(model: Model) -> tuple[Json, bytes]:
    """Return glTF object and binary buffer of the model; lists that would be empty are left out.

    Raises GeometryError, naming the part, for a face that crosses itself.

    >>> found, buffer = document(Model("bare"))
    >>> sorted(found), buffer
    (['asset', 'scene', 'scenes'], b'')
    """
    named = name_model(model)
    builder = _Builder(named.materials)
    tops = [builder.node(node, _ROOT) for node in named.nodes]
    builder.fill()
    animations = [animation(played, builder.pool) for played in builder.played]
    cameras = [_camera(*pair) for pair in zip(model.cameras, named.cameras, strict=True)]
    for number, (camera, name) in enumerate(zip(model.cameras, named.cameras, strict=True)):
        tops.append(len(builder.nodes))
        turn = look(camera.eye, camera.target, camera.up)
        place: Json = {"name": name, "camera": number, "translation": metres(camera.eye)}
        builder.nodes.append(
            {**place, "rotation": turn, "extras": {"name_as_written": camera.name}}
        )
    views, buffer = builder.pool.finish()
    scene: Json = {"name": named.name, "nodes": tops, "extras": _extras(model.notes, model.name)}
    lists: Json = {
        "nodes": builder.nodes,
        "meshes": builder.meshes,
        "materials": builder.materials,
        "cameras": cameras,
        "animations": animations,
        "accessors": builder.pool.accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(buffer)}] if buffer else [],
    }
    if not tops:
        del scene["nodes"]
    asset = {"version": "2.0", "generator": _generator(), "extras": _AXES}
    head: Json = {"asset": asset, "scene": 0, "scenes": [scene]}
    return head | {key: value for key, value in lists.items() if value}, buffer


_AXES = {
    "unit": "metre",
    "up": "+Y",
    "handedness": "right",
    "plus_x": "room x",
    "plus_y": "room z, up",
    "plus_z": "room -y, the front",
    "modelled_in": "millimetre, z up",
    "texture_scale": "1 unit is 1 metre",
}
