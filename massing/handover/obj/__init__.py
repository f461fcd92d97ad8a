"""OBJ with its MTL: a model in, two text files out."""

from __future__ import annotations

from massing.handover.obj.file import write
from massing.handover.registry import Format, register

__all__ = ["write"]

register(
    Format(
        name="OBJ",
        endings=(".obj",),
        write=write,
        unit="millimetre",
        unit_mm=1.0,
        up="+Z",
        axes="+X = room x, +Y = room y, +Z = up (room z)",
    )
)
