"""USD as text, crate or package: a model in, one self-contained file out."""

from __future__ import annotations

from massing.handover.registry import Format, register
from massing.handover.usd.file import write

__all__ = ["write"]

register(
    Format(
        name="USD",
        endings=(".usda", ".usdc", ".usdz"),
        write=write,
        unit="metre",
        unit_mm=1000.0,
        up="+Y",
        axes="+X = room x, +Y = up (room z), +Z = towards the front (room -y)",
    )
)
