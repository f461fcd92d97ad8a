"""What does a model look like in USD? A model and an empty stage in, the stage filled.

/NAME > shell, kept, proposed ... > item > part; Looks and Cameras beside them. Metres, +Y up, as
in glTF. Every node is an Xform whose origin is its pivot, so a leaf turns on its hinge. Numbers of
a mesh are single floats: 2.4e-4 mm at 4 m.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.flat import Flat, flatten
from massing.handover.gltf.axes import metres, turned, y_up
from massing.handover.gltf.looks import linear
from massing.handover.gltf.motion import keys
from massing.handover.model import Camera, Extras, Material, MeshPart, Model, Motion, Point
from massing.handover.names import NamedNode, name_model
from massing.handover.rings import ring_pattern
from massing.handover.usd.cameras import add_camera
from massing.handover.usd.names import prim_names

__all__ = ["fill"]

_ROOT: Point = (0.0, 0.0, 0.0)
_FRAMES = 24.0  # a second, and every motion runs one second


def fill(stage: Any, model: Model) -> None:
    """Put everything of the model into the stage.

    Raises GeometryError, naming the part, for a face that crosses itself.
    """
    _Filler(stage, model).fill()


class _Filler:
    """Walks the named model once; all meshes are flattened in one go first."""

    def __init__(self, stage: Any, model: Model) -> None:
        self.stage = stage
        self.model = model
        self.named = name_model(model)
        self.parts: list[MeshPart] = []
        self.origins: list[Point] = []
        for node in self.named.nodes:
            self._collect(node, _ROOT)
        self.flat = flatten(self.parts, self.origins)
        self.looks: dict[Material, Any] = {}
        self.done = 0

    def _collect(self, node: NamedNode, above: Point) -> None:
        here = node.node.origin or above
        self.parts += [part for _, part in node.parts]
        self.origins += [here] * len(node.parts)
        for child in node.children:
            self._collect(child, here)

    def fill(self) -> None:
        from pxr import Kind, Usd, UsdGeom

        UsdGeom.SetStageUpAxis(self.stage, UsdGeom.Tokens.y)
        UsdGeom.SetStageMetersPerUnit(self.stage, 1.0)
        (root_name,) = prim_names([self.named.name])
        root = UsdGeom.Xform.Define(self.stage, f"/{root_name}")
        self.stage.SetDefaultPrim(root.GetPrim())
        Usd.ModelAPI(root.GetPrim()).SetKind(Kind.Tokens.component)
        _describe(root.GetPrim(), self.named.name, self.model.name, self.model.notes)
        path = root.GetPath()
        looks, cameras = prim_names(["Looks", "Cameras"])
        tops = prim_names([node.name for node in self.named.nodes], [looks, cameras])
        self._add_looks(path.AppendChild(looks))
        for name, node in zip(tops, self.named.nodes, strict=True):
            self._node(path.AppendChild(name), node, _ROOT)
        self._add_cameras(path.AppendChild(cameras))
        if any(_moves(node) for node in self.named.nodes):
            self.stage.SetTimeCodesPerSecond(_FRAMES)
            self.stage.SetFramesPerSecond(_FRAMES)
            self.stage.SetStartTimeCode(0.0)
            self.stage.SetEndTimeCode(_FRAMES)

    def _add_looks(self, path: Any) -> None:
        from pxr import UsdGeom

        if not self.named.materials:
            return
        UsdGeom.Scope.Define(self.stage, path)
        called = prim_names(self.named.materials.values())
        for (look, name), prim in zip(self.named.materials.items(), called, strict=True):
            self.looks[look] = _material(self.stage, path.AppendChild(prim), look, name)

    def _add_cameras(self, path: Any) -> None:
        from pxr import UsdGeom

        if not self.model.cameras:
            return
        UsdGeom.Scope.Define(self.stage, path)
        called = prim_names(self.named.cameras)
        rows: list[tuple[Camera, str, str]] = list(
            zip(self.model.cameras, self.named.cameras, called, strict=True)
        )
        for camera, name, prim in rows:
            found = add_camera(self.stage, path.AppendChild(prim), camera)
            _describe(found.GetPrim(), name, camera.name, {})

    def _node(self, path: Any, named: NamedNode, above: Point) -> None:
        from pxr import Gf, UsdGeom

        node = named.node
        here = node.origin or above
        xform = UsdGeom.Xform.Define(self.stage, path)
        _describe(xform.GetPrim(), named.name, node.name, node.extras)
        seat = (here[0] - above[0], here[1] - above[1], here[2] - above[2])
        place = None
        if any(seat) or node.motion is not None:
            place = xform.AddTranslateOp()
            place.Set(Gf.Vec3d(*metres(seat)))
        if node.motion is not None:
            _move(xform, place, node.motion, named.motion, seat)
        called = prim_names([name for name, _ in named.parts])
        below = prim_names([child.name for child in named.children], called)
        for prim, (name, part) in zip(called, named.parts, strict=True):
            self._mesh(path.AppendChild(prim), name, part)
        for prim, child in zip(below, named.children, strict=True):
            self._node(path.AppendChild(prim), child, here)

    def _mesh(self, path: Any, name: str, part: MeshPart) -> None:
        from pxr import Gf, Sdf, UsdGeom, UsdShade, Vt

        number, self.done = self.done, self.done + 1
        points, counts, corners, texture, normals = _arrays(self.flat, number, part)
        mesh = UsdGeom.Mesh.Define(self.stage, path)
        _describe(mesh.GetPrim(), name, part.name, {"kind": part.kind})
        mesh.CreatePointsAttr(Vt.Vec3fArray.FromNumpy(points.astype(np.float32)))
        mesh.CreateFaceVertexCountsAttr(Vt.IntArray(counts))
        mesh.CreateFaceVertexIndicesAttr(Vt.IntArray(corners))
        mesh.CreateExtentAttr(UsdGeom.PointBased.ComputeExtent(mesh.GetPointsAttr().Get()))
        mesh.CreateSubdivisionSchemeAttr(UsdGeom.Tokens.none)
        mesh.CreateDoubleSidedAttr(part.open)
        mesh.CreateNormalsAttr(Vt.Vec3fArray.FromNumpy(normals.astype(np.float32)))
        mesh.SetNormalsInterpolation(UsdGeom.Tokens.uniform)
        primvars = UsdGeom.PrimvarsAPI(mesh)
        st = primvars.CreatePrimvar(
            "st", Sdf.ValueTypeNames.TexCoord2fArray, UsdGeom.Tokens.faceVarying
        )
        st.Set(Vt.Vec2fArray.FromNumpy(texture.astype(np.float32)))
        colour = Gf.Vec3f(*linear(part.material.srgb))
        mesh.CreateDisplayColorAttr([colour])
        if part.material.alpha < 1.0:
            mesh.CreateDisplayOpacityAttr([part.material.alpha])
        UsdShade.MaterialBindingAPI.Apply(mesh.GetPrim()).Bind(self.looks[part.material])


def _moves(named: NamedNode) -> bool:
    return named.node.motion is not None or any(_moves(child) for child in named.children)


def _describe(prim: Any, name: str, written: str, extras: Extras) -> None:
    """Keep the name the other formats use, the one the user wrote, and what is known of it."""
    prim.SetDisplayName(name)
    told = {**{key: extras[key] for key in sorted(extras)}, "name_as_written": written}
    for key, value in told.items():
        whole = isinstance(value, int) and not isinstance(value, bool)
        prim.SetCustomDataByKey(key, float(value) if whole else _clean(value))


def _clean(value: str | float | bool) -> str | float | bool:
    """Half a surrogate pair, which UTF-8 cannot hold, becomes "?"."""
    return value.encode("utf-8", "replace").decode("utf-8") if isinstance(value, str) else value


def _arrays(
    flat: Flat, number: int, part: MeshPart
) -> tuple[Floats, list[int], list[int], Floats, Floats]:
    """Points, corners a face, point of each corner, texture a corner and normal a face.

    A ring stays one face where it can be fanned, as readers do; any other goes as triangles.
    """
    pattern = ring_pattern(part.rings)
    c0, t0, r0 = (
        int(starts[number]) for starts in (flat.starts, flat.triangle_starts, flat.ring_starts)
    )
    triangles = flat.triangles[t0 : int(flat.triangle_starts[number + 1])]
    faces: list[list[int]] = []
    ring_of: list[int] = []
    for ring, (start, size) in enumerate(zip(pattern.starts, pattern.sizes, strict=True)):
        if flat.fanned[r0 + ring]:
            faces.append(list(range(int(start), int(start + size))))
        else:
            faces += triangles[pattern.fan_ring == ring].tolist()
        ring_of += [ring] * (len(faces) - len(ring_of))
    corner = np.array([c for face in faces for c in face], dtype=np.int64)
    at = np.searchsorted(pattern.used, pattern.corners)
    points = np.zeros((len(pattern.used), 3))
    points[at] = flat.points[c0 : c0 + len(at)]
    return (
        y_up(points) / 1000.0,
        [len(face) for face in faces],
        at[corner].tolist(),
        flat.texture[c0 + corner],
        y_up(flat.ring_normals[r0 + np.array(ring_of)]),
    )


def _material(stage: Any, path: Any, look: Material, name: str) -> Any:
    from pxr import Gf, Sdf, UsdShade

    material = UsdShade.Material.Define(stage, path)
    _describe(material.GetPrim(), name, look.name, {"kind": look.kind, "srgb": look.srgb.upper()})
    shader = UsdShade.Shader.Define(stage, path.AppendChild("Surface"))
    shader.CreateIdAttr("UsdPreviewSurface")
    kinds = Sdf.ValueTypeNames
    shader.CreateInput("diffuseColor", kinds.Color3f).Set(Gf.Vec3f(*linear(look.srgb)))
    shader.CreateInput("opacity", kinds.Float).Set(look.alpha)
    shader.CreateInput("roughness", kinds.Float).Set(look.roughness)
    shader.CreateInput("metallic", kinds.Float).Set(0.0)
    material.CreateSurfaceOutput().ConnectToSource(shader.ConnectableAPI(), "surface")
    return material


def _move(xform: Any, place: Any, motion: Motion, name: str, seat: Point) -> None:
    """Time samples over one second from start to stop; the pose without a time is the drawn one."""
    from pxr import Gf

    amounts = keys(motion)
    times = [_FRAMES * k / (len(amounts) - 1) for k in range(len(amounts))]
    if motion.kind == "turn":
        turn = xform.AddOrientOp()
        turn.Set(Gf.Quatf(1.0, 0.0, 0.0, 0.0))
        for time, amount in zip(times, amounts, strict=True):
            x, y, z, w = turned(motion.axis, amount)
            turn.Set(Gf.Quatf(w, x, y, z), time)
    else:
        for time, amount in zip(times, amounts, strict=True):
            moved = tuple(s + a * amount for s, a in zip(seat, motion.axis, strict=True))
            place.Set(Gf.Vec3d(*metres((moved[0], moved[1], moved[2]))), time)
    prim = xform.GetPrim()
    prim.SetCustomDataByKey("motion", name)
    prim.SetCustomDataByKey("motion_kind", motion.kind)
    stop = math.degrees(motion.stop) if motion.kind == "turn" else motion.stop
    unit = "deg" if motion.kind == "turn" else "mm"
    prim.SetCustomDataByKey(f"motion_stop_{unit}", round(stop, 6))
