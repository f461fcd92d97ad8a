"""glTF 2.0 and its binary form GLB: a model in, one self-contained file out."""

from __future__ import annotations

from massing.handover.gltf.file import write
from massing.handover.registry import Format, register

__all__ = ["write"]

register(
    Format(
        name="glTF",
        endings=(".glb", ".gltf"),
        write=write,
        unit="metre",
        unit_mm=1000.0,
        up="+Y",
        axes="+X = room x, +Y = up (room z), +Z = towards the front (room -y)",
    )
)
