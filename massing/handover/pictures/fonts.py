"""The lettering of pictures: a size in, a font out."""

from __future__ import annotations

from typing import Any

from massing.handover.drawings.lettering import font_file

__all__ = ["font"]


def font(size: int, *, bold: bool = False) -> Any:
    """The font that comes with the package, as on the sheets."""
    from PIL import ImageFont

    return ImageFont.truetype(str(font_file(bold=bold)), size)
