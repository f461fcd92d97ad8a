"""Which way does a USD camera look? A camera and a path in, a camera prim out.

A USD camera looks along its own -Z with +Y up; its film is measured in tenths of a scene unit.
Source: USD documentation, "UsdGeomCamera" (from memory).
"""

from __future__ import annotations

import math
from typing import Any

from massing.handover.gltf.axes import look, metres
from massing.handover.model import Camera

__all__ = ["add_camera"]

_FILM = 0.24  # tenths of a metre: 24 mm, the height of a small camera's film
_NEAREST = 0.001  # m; a parallel view may start at 0, which some renderers refuse


def add_camera(stage: Any, path: Any, camera: Camera) -> Any:
    """Define the camera at the path, with the view it has in the other formats."""
    from pxr import Gf, UsdGeom

    found = UsdGeom.Camera.Define(stage, path)
    found.AddTranslateOp().Set(Gf.Vec3d(*metres(camera.eye)))
    x, y, z, w = look(camera.eye, camera.target, camera.up)
    found.AddOrientOp().Set(Gf.Quatf(w, x, y, z))
    near = max(camera.near / 1000.0, _NEAREST)
    found.CreateClippingRangeAttr(Gf.Vec2f(near, camera.far / 1000.0))
    if camera.yfov is not None:
        high = _FILM
        found.CreateProjectionAttr(UsdGeom.Tokens.perspective)
        found.CreateFocalLengthAttr(round(high / 2.0 / math.tan(camera.yfov / 2.0), 9))
    else:
        high = (camera.height or 0.0) / 100.0
        found.CreateProjectionAttr(UsdGeom.Tokens.orthographic)
    found.CreateVerticalApertureAttr(round(high, 9))
    found.CreateHorizontalApertureAttr(round(high * camera.aspect, 9))
    return found
