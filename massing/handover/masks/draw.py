"""The drawn model: a model, a camera and a size in, an RGB image array out. Loads pyvista.

The shell's faces look inwards and are culled from behind, so walls nearest the eye open up by
themselves. A parallel camera cuts what lies nearer than it stands.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from massing.errors import MissingToolError
from massing.handover.flat import flatten
from massing.handover.model import Camera, MeshPart, Model
from massing.handover.names import NamedNode, name_model
from massing.handover.pictures.paper import LIGHT
from massing.handover.pictures.stage import require_gl

__all__ = ["draw_flat", "draw_shaded", "shown_parts"]

_HIDDEN = {"zone", "void"}  # they stand for air, and would cover what stands in it


def shown_parts(model: Model) -> tuple[tuple[str, MeshPart], ...]:
    """Each part that is drawn, with its name in the files; zones and voids are air and are not."""

    def under(node: NamedNode) -> Iterator[tuple[str, MeshPart]]:
        yield from (pair for pair in node.parts if pair[1].kind not in _HIDDEN)
        for child in node.children:
            yield from under(child)

    return tuple(pair for node in name_model(model).nodes for pair in under(node))


def draw_flat(
    model: Model, camera: Camera, size: tuple[int, int], colours: Mapping[str, str]
) -> NDArray[np.uint8]:
    """(height, width, 3) pixels, each part in exactly its colour, black where there is nothing.

    colours : #rrggbb by the part's name in the files
    No light, no smoothing, no blending: a pixel is one part's colour or black.
    """
    stage = _stage(size, "#000000")
    for name, part, mesh in _meshes(model):
        culling = "back" if part.open or camera.yfov is not None else None
        actor = stage.add_mesh(mesh, color=colours[name], lighting=False, culling=culling)
        _ahead(actor, part)
    return _taken(stage, camera)


def draw_shaded(
    model: Model,
    camera: Camera,
    size: tuple[int, int],
    *,
    marked: Mapping[str, str] | None = None,
    smooth: bool = False,
) -> NDArray[np.uint8]:
    """The same view in the model's own colours, softly lit.

    marked : #rrggbb by the part's name in the files, of parts to show in another colour
    smooth : with softened edges, as for a picture to look at; without, each pixel has the part
        the mask says
    """
    stage = _stage(size, LIGHT.ground)
    import pyvista  # after the stage, which settles what it draws with

    away = np.subtract(camera.eye, camera.target)
    away = away / np.linalg.norm(away)
    right = np.cross(camera.up, away)
    right = right / np.linalg.norm(right)
    above = np.array([0.0, 0.0, 0.9])
    for way, power in ((away * 0.8 - right * 0.7 + above, 0.62), (away * 0.6 + right * 0.9, 0.25)):
        light = pyvista.Light(position=tuple(way), focal_point=(0, 0, 0), intensity=power)
        light.positional = False
        stage.add_light(light)
    for name, part, mesh in _meshes(model):
        actor = stage.add_mesh(
            mesh,
            color=(marked or {}).get(name, part.material.srgb),
            ambient=0.72 if part.open else 0.62,
            diffuse=0.5,
            specular=0.0,
            culling="back" if part.open or camera.yfov is not None else None,
        )
        _ahead(actor, part)
    if smooth:
        stage.enable_anti_aliasing("ssaa")
    return _taken(stage, camera)


def _ahead(actor: Any, part: MeshPart) -> None:
    """A door or handle wins over the body it is flush with, a hair of depth nearer."""
    if part.open or part.kind == "body":
        return
    mapper = actor.GetMapper()
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0, -4)


def _stage(size: tuple[int, int], ground: str) -> Any:
    require_gl()
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
    try:
        import pyvista
    except ImportError as error:
        raise MissingToolError("masks need pyvista: pip install pyvista") from error
    stage = pyvista.Plotter(off_screen=True, window_size=list(size), lighting="none")
    stage.disable_anti_aliasing()
    stage.render_window.SetMultiSamples(0)
    stage.set_background(ground)
    return stage


def _meshes(model: Model) -> Iterator[tuple[str, MeshPart, Any]]:
    """Each shown part as triangles with corners of their own, so that faces are lit flat."""
    import pyvista

    shown = shown_parts(model)
    flat = flatten([part for _, part in shown], [(0.0, 0.0, 0.0)] * len(shown))
    for number, (name, part) in enumerate(shown):
        c0, c1 = flat.starts[number : number + 2]
        t0, t1 = flat.triangle_starts[number : number + 2]
        rows = flat.triangles[t0:t1]
        faces = np.hstack([np.full((len(rows), 1), 3), rows]).ravel()
        yield name, part, pyvista.PolyData(flat.points[c0:c1], faces)


def _taken(stage: Any, camera: Camera) -> NDArray[np.uint8]:
    view = stage.camera
    view.position, view.focal_point, view.up = camera.eye, camera.target, camera.up
    if camera.yfov is None:
        view.parallel_projection = True
        view.parallel_scale = (camera.height or 1.0) / 2.0
    else:
        view.view_angle = float(np.degrees(camera.yfov))
    view.clipping_range = (max(camera.near, 1e-3), camera.far)
    image = stage.screenshot(return_img=True)
    stage.close()
    return np.asarray(image, dtype=np.uint8)[:, :, :3]
