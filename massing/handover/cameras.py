"""Which views does everyone ask for? A room's bounds in; eye, plan and section cameras out."""

from __future__ import annotations

import math

from massing.handover.model import Camera, Point

__all__ = ["standard_cameras"]

_ASPECT = 1.5
_MARGIN = 1.1  # of the room's size, so that its edges are not at the picture's
_CORNER = 0.08  # of the room's size, how far from the corner the eye stands


def _frame(across: float, up: float) -> float:
    """Height of a parallel view that holds so much, mm."""
    return max(up, across / _ASPECT, 1.0) * _MARGIN


def standard_cameras(
    low: Point, high: Point, *, eye_height: float = 1600.0, cut: float | None = None
) -> tuple[Camera, ...]:
    """Eye, plan, long section and cross section of a room.

    low, high : mm, corners of the room's bounds
    eye_height : mm above ``low``; the eye stands in the front left corner and looks across, level
    cut : mm above ``low`` where the plan cuts, looking down; None looks from above everything

    The sections cut through the middle, looking to the back (+y) and to the right (+x): a
    parallel camera shows nothing nearer than itself, so the camera stands on the cut.

    >>> [camera.name for camera in standard_cameras((0, 0, 0), (6000, 2400, 2750))]
    ['eye', 'plan', 'long section', 'cross section']
    """
    width, depth, height = (b - a for a, b in zip(low, high, strict=True))
    mx, my, mz = ((a + b) / 2.0 for a, b in zip(low, high, strict=True))
    level = low[2] + eye_height
    eye = (low[0] + _CORNER * width, low[1] + _CORNER * depth, level)
    top = high[2] + 1000.0 if cut is None else low[2] + cut
    far = width + depth + height + 2000.0

    def parallel(name: str, eye: Point, target: Point, size: float, up: Point) -> Camera:
        return Camera(name, eye, target, up, None, size, _ASPECT, near=0.0, far=far)

    up, back = (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
    middle = (mx, my, mz)
    across, along = _frame(width, height), _frame(depth, height)
    return (
        Camera("eye", eye, (high[0], high[1], level), yfov=math.radians(60.0), aspect=_ASPECT),
        parallel("plan", (mx, my, top), (mx, my, top - 1.0), _frame(width, depth), back),
        parallel("long section", middle, (mx, high[1], mz), across, up),
        parallel("cross section", middle, (high[0], my, mz), along, up),
    )
