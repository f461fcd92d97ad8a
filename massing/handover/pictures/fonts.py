"""The lettering of pictures: a size in, a font out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

__all__ = ["font"]


def font(size: int, *, bold: bool = False) -> Any:
    """The plotting library's sans serif where it is there, else the drawing library's own."""
    from PIL import ImageFont

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    try:
        import matplotlib as mpl

        return ImageFont.truetype(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / name), size)
    except (ImportError, OSError):
        return ImageFont.load_default(size)
