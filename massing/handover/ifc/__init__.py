"""IFC4 (ISO 16739): a model in, one STEP file out."""

from __future__ import annotations

from massing.handover.ifc.file import write
from massing.handover.registry import Format, register

__all__ = ["write"]

register(
    Format(
        name="IFC",
        endings=(".ifc",),
        write=write,
        unit="millimetre",
        unit_mm=1.0,
        up="+Z",
        axes="+X = room x, +Y = room y, +Z = up (room z)",
    )
)
