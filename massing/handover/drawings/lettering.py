"""How wide lettering is: text and its height in, mm of paper out, from the font itself."""

from __future__ import annotations

from functools import cache
from pathlib import Path

__all__ = ["CAPITAL", "font_file", "font_size", "width_of", "wrapped"]

CAPITAL = 1493.0 / 2048.0
"""Height of a capital in the font's em, from the outline of its H."""


def font_file(*, bold: bool) -> Path:
    """The font that comes with the package."""
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return Path(__file__).parent / "fonts" / name


def font_size(height: float) -> float:
    """Size of the em, mm, for capitals of a height."""
    return height / CAPITAL


@cache
def _advances(bold: bool) -> tuple[dict[int, float], float]:
    """Advance of each character in ems, and of what the font lacks."""
    from fontTools.ttLib import TTFont

    with TTFont(font_file(bold=bold), lazy=True) as font:
        em = float(font["head"].unitsPerEm)
        widths = font["hmtx"].metrics
        known = {code: widths[name][0] / em for code, name in font.getBestCmap().items()}
        return known, widths[".notdef"][0] / em


def width_of(text: str, height: float, *, bold: bool = False) -> float:
    """Length of a line of lettering, mm.

    >>> round(width_of("1200", 2.5), 2)
    8.73
    """
    known, lacking = _advances(bold)
    return sum(known.get(ord(c), lacking) for c in text) * font_size(height)


def wrapped(text: str, height: float, width: float, *, bold: bool = False) -> list[str]:
    """Lines no wider than a column; a word too long for one is broken."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if width_of(longer, height, bold=bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while width_of(line, height, bold=bold) > width and len(line) > 1:
            cut = next(
                k
                for k in range(len(line) - 1, 0, -1)
                if k == 1 or width_of(line[:k], height, bold=bold) <= width
            )
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line] if line else lines
