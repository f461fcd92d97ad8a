"""The drawn scene: an answer and a view in, an RGB image array out. Loads pyvista.

Walls face inwards and are culled from behind, so those nearest the eye open up by themselves.
"""

from __future__ import annotations

import ctypes.util
import os
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.checks.run import Answer
from massing.errors import MissingToolError
from massing.geometry.solids import Convex, Floats
from massing.handover.looks import look
from massing.handover.opened import hung_leaves, opened_doors
from massing.handover.pictures.clashes import clash_solids
from massing.handover.pictures.paper import Paper
from massing.handover.pictures.views import View
from massing.handover.shell import Surface, shell_surfaces
from massing.scheme.layout import Leaf

__all__ = ["draw_scene", "require_gl", "swing_line"]


def require_gl() -> None:
    """Raise MissingToolError unless the system has a GL library VTK can draw with.

    VTK ends the whole process when there is none, so this is asked first.
    """
    if os.name != "posix" or os.uname().sysname == "Darwin":
        return
    if not any(ctypes.util.find_library(name) for name in ("EGL", "OSMesa", "GL")):
        says = (
            "no OpenGL library for pictures; on Debian or Ubuntu: "
            "apt-get install libegl1 libgl1-mesa-dri"
        )
        raise MissingToolError(says)


def draw_scene(answer: Answer, view: View, paper: Paper) -> NDArray[np.uint8]:
    """The scene as (height, width, 3) pixels."""
    require_gl()
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    try:
        import pyvista
    except ImportError as error:
        raise MissingToolError("pictures need pyvista: pip install pyvista") from error
    stage = pyvista.Plotter(off_screen=True, window_size=list(view.size), lighting="none")
    stage.set_background(paper.ground)
    _light(pyvista, stage, view)
    surfaces = shell_surfaces(answer.layout.room)
    for surface in surfaces:
        _surface(pyvista, stage, surface, paper)
    for ends, seen in shell_edges(surfaces, view.towards):
        _edge(pyvista, stage, ends, paper, seen=seen)
    for solid, colour in _bodies(answer):
        _body(pyvista, stage, solid, colour, paper)
    for item in answer.layout.items:
        for zone in item.zones:
            _patch(pyvista, stage, zone.polygon[0], float(zone.level[0]), zone.kind, paper)
    for hung in hung_leaves(answer):
        _swing(pyvista, stage, hung.leaf, paper)
    for door in opened_doors(answer):
        edges = _mesh(pyvista, door.at(door.reach)).extract_feature_edges(20)
        stage.add_mesh(edges, color=paper.ink, line_width=1.5, lighting=False)
    for solid in clash_solids(answer):
        mesh = _mesh(pyvista, solid)
        actor = stage.add_mesh(mesh, color=paper.alarm, opacity=0.92, lighting=False)
        _forward(actor, -60)
        _lines(stage, mesh.extract_feature_edges(20), paper.alarm, 3.0, -80)
    _aim(stage, view)
    stage.enable_anti_aliasing("ssaa")
    image = stage.screenshot(return_img=True)
    stage.close()
    return np.asarray(image, dtype=np.uint8)[:, :, :3]


def _light(pyvista: Any, stage: Any, view: View) -> None:
    """A soft key light from over the eye's shoulder, a fill from the other side."""
    key = view.towards * 0.8 - view.right * 0.7 + np.array([0.0, 0.0, 0.9])
    fill = view.towards * 0.6 + view.right * 0.9 + np.array([0.0, 0.0, 0.2])
    for way, power in ((key, 0.62), (fill, 0.25)):
        light = pyvista.Light(position=tuple(way), focal_point=(0, 0, 0), intensity=power)
        light.positional = False
        stage.add_light(light)


def _bodies(answer: Answer) -> Iterator[tuple[Convex, str]]:
    """Every solid to draw and its colour: fabric, then items."""
    for fabric in answer.layout.room.fabric:
        for solid in fabric.parts:
            yield solid, look("fabric").srgb
    for item in answer.layout.items:
        for part in item.parts:
            yield part.solid, look(part.kind, stays=item.stays, stores=item.spec.stores).srgb


def _mesh(pyvista: Any, solid: Convex) -> Any:
    faces = np.concatenate([[len(ring), *ring] for ring in solid.faces.rings])
    return pyvista.PolyData(solid.corners[0], faces)


def shell_edges(surfaces: tuple[Surface, ...], towards: Floats) -> list[tuple[Floats, bool]]:
    """The shell's lines as (2, 3) ends, and whether a face on them looks to the eye.

    A line between two faces in one plane is only how the room was cut up, and is left out.
    """
    found: dict[tuple[float, ...], tuple[Floats, list[Floats]]] = {}
    for surface in surfaces:
        ring = surface.ring
        normal = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
        normal = normal / np.linalg.norm(normal)
        for p, q in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            first, last = sorted((tuple(np.round(p, 2) + 0.0), tuple(np.round(q, 2) + 0.0)))
            key = (*first, *last)
            found.setdefault(key, (np.array([p, q]), []))[1].append(normal)
    lines = []
    for ends, normals in found.values():
        if len(normals) == 2 and float(normals[0] @ normals[1]) > 1 - 1e-9:
            continue
        lines.append((ends, any(float(n @ towards) > 1e-9 for n in normals)))
    return lines


def _surface(pyvista: Any, stage: Any, surface: Surface, paper: Paper) -> None:
    count = len(surface.ring)
    mesh = pyvista.PolyData(surface.ring, np.array([count, *range(count)]))
    colour = paper.surface[surface.kind]
    stage.add_mesh(mesh, color=colour, culling="back", ambient=0.72, diffuse=0.42, specular=0.0)


def _edge(pyvista: Any, stage: Any, ends: Floats, paper: Paper, *, seen: bool) -> None:
    line = pyvista.lines_from_points(ends)
    stage.add_mesh(
        line,
        color=paper.ink if seen else paper.faint,
        line_width=2.0 if seen else 1.2,
        opacity=0.9 if seen else 0.45,
        lighting=False,
    )


def _body(pyvista: Any, stage: Any, solid: Convex, colour: str, paper: Paper) -> None:
    mesh = _mesh(pyvista, solid)
    stage.add_mesh(mesh, color=colour, ambient=0.62, diffuse=0.62, specular=0.0)
    _lines(stage, mesh.extract_feature_edges(25), paper.ink, 2.0, -6)


def _lines(stage: Any, edges: Any, colour: str, width: float, forward: int) -> None:
    if edges.n_points:
        actor = stage.add_mesh(edges, color=colour, line_width=width, lighting=False)
        _forward(actor, forward)


def _forward(actor: Any, by: int) -> None:
    """Draw a little nearer than it is, so that faces in one plane do not flicker."""
    mapper = actor.GetMapper()
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0, by)
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(0, by)


def _patch(pyvista: Any, stage: Any, ring: Floats, level: float, kind: str, paper: Paper) -> None:
    """A zone as a tinted patch of floor with a firm outline."""
    points = np.hstack([ring, np.full((len(ring), 1), level + 4.0)])
    mesh = pyvista.PolyData(points, np.array([len(ring), *range(len(ring))]))
    colour = paper.zone[kind]
    stage.add_mesh(mesh, color=colour, opacity=0.30, lighting=False)
    stage.add_mesh(
        pyvista.lines_from_points(np.vstack([points, points[:1]])),
        color=colour,
        line_width=2.5,
        lighting=False,
    )


def swing_line(leaf: Leaf) -> Floats:
    """(n, 3) the line a leaf's edge draws on the floor, and back to its hinge."""
    turn = np.linspace(0.0, leaf.full, 40) * leaf.swing
    along = leaf.shut[0]
    left = np.array([-along[1], along[0]])
    ways = np.cos(turn)[:, None] * along + np.sin(turn)[:, None] * left
    arc = np.vstack([leaf.pin[0] + ways * float(leaf.width[0]), leaf.pin[0]])
    return np.hstack([arc, np.full((len(arc), 1), float(leaf.low[0]) + 5.0)])


def _swing(pyvista: Any, stage: Any, leaf: Leaf, paper: Paper) -> None:
    points = swing_line(leaf)
    stage.add_mesh(
        pyvista.lines_from_points(points), color=paper.ink, line_width=2.0, lighting=False
    )


def _aim(stage: Any, view: View) -> None:
    camera = stage.camera
    reach = 4.0 * view.half_height + 20_000.0
    camera.focal_point = tuple(view.middle)
    camera.position = tuple(view.middle + view.towards * reach)
    camera.up = tuple(view.up)
    camera.parallel_projection = True
    camera.parallel_scale = view.half_height
    near = reach if "section" in view.name else 10.0
    camera.clipping_range = (near, reach * 2.0)
