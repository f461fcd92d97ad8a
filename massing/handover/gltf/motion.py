"""How does a door swing in glTF? A motion in, its animation out.

Viewers turn from one key to the next the short way round, and some only blend the four numbers, so
a turn gets a key at least every 15 degrees: a leaf that swings 200 degrees then goes the way it
really goes, at an even speed. Source for the short way: glTF 2.0 specification, appendix C,
"Spherical Linear Interpolation" (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from massing.geometry.solids import Floats
from massing.handover.gltf.axes import metres, turned
from massing.handover.gltf.pool import Json, Pool
from massing.handover.model import Motion, Point

__all__ = ["Played", "animation", "keys"]

_STEP = math.radians(15.0)
_SECONDS = 1.0  # every motion runs as long, so several can be looped together


class Played(NamedTuple):
    """A motion and the node it moves; ``seat`` is the node's place in its parent, room mm."""

    name: str
    node: int
    motion: Motion
    seat: Point


def keys(motion: Motion) -> list[float]:
    """How far the motion has gone at each key, evenly from start to stop.

    >>> swing = Motion("swing", "turn", (0, 0, 1), (0, 0, 0), 0.0, math.pi)
    >>> len(keys(swing)), len(keys(Motion("pull", "slide", (0, 1, 0), (0, 0, 0), 0.0, 450.0)))
    (13, 2)
    """
    span = motion.stop - motion.start
    steps = max(1, math.ceil(abs(span) / _STEP - 1e-9)) if motion.kind == "turn" else 1
    return [motion.start + span * k / steps for k in range(steps + 1)]


@cache
def _times(count: int) -> Floats:
    return np.linspace(0.0, _SECONDS, count)[:, None]


def animation(played: Played, pool: Pool) -> Json:
    """One animation with one channel, named after the motion."""
    motion = played.motion
    amounts = keys(motion)
    rows: list[Sequence[float]]
    if motion.kind == "turn":
        path = "rotation"
        rows = [turned(motion.axis, amount) for amount in amounts]
    else:
        path = "translation"
        seat, axis = played.seat, motion.axis
        rows = [
            metres((seat[0] + axis[0] * a, seat[1] + axis[1] * a, seat[2] + axis[2] * a))
            for a in amounts
        ]
    sampler = {
        "input": pool.floats("time", _times(len(amounts))),
        "interpolation": "LINEAR",
        "output": pool.floats(path, np.array(rows)),
    }
    return {
        "name": played.name,
        "channels": [{"sampler": 0, "target": {"node": played.node, "path": path}}],
        "samplers": [sampler],
        "extras": {"kind": motion.kind, "name_as_written": motion.name},
    }
