"""A sheet in, SVG text out: one unit of the viewBox is one millimetre of paper."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from massing.handover.drawings.lettering import font_size
from massing.handover.drawings.sheet import HALO, Disc, Mark, Pen, Sheet, Stroke, Words

__all__ = ["svg_of"]


_FAMILY = "'DejaVu Sans', 'Bitstream Vera Sans', Verdana, sans-serif"
"""The font it is laid out in, then those of nearly its widths; textLength holds them to it."""
_HALO = f' stroke="#FFFFFF" stroke-width="{HALO}" stroke-linejoin="round" paint-order="stroke"'


def svg_of(sheet: Sheet) -> str:
    """The sheet as SVG 1.1; the width of each line of lettering is held whatever font is there."""
    w, h = _n(sheet.width), _n(sheet.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<svg xmlns="http://www.w3.org/2000/svg" version="1.1"',
        f' width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">',
        f"<title>{escape(sheet.title)}</title>",
        f'<rect width="{w}" height="{h}" fill="#FFFFFF"/>',
        '<g fill="none" stroke-linecap="square" stroke-linejoin="miter"',
        f' font-family="{_FAMILY}">',
        *(line for mark in sheet.marks for line in _mark(mark, sheet.height)),
        "</g>",
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _n(value: float) -> str:
    """At most three decimals, no negative zero."""
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".")


def _pen(pen: Pen, fill: str | None) -> str:
    dash = f' stroke-dasharray="{pen.dash[0]} {pen.dash[1]}"' if pen.dash else ""
    inside = f' fill="{fill}"' if fill else ""
    return f'stroke="{pen.tone}" stroke-width="{pen.width}"{dash}{inside}'


def _mark(mark: Mark, tall: float) -> Iterator[str]:
    if isinstance(mark, Words):
        yield _words(mark, tall)
    elif isinstance(mark, Disc):
        x, y = mark.at
        yield (
            f'<circle cx="{_n(x)}" cy="{_n(tall - y)}" r="{_n(mark.radius)}" '
            f"{_pen(mark.pen, mark.fill)}/>"
        )
    else:
        yield _stroke(mark, tall)


def _stroke(mark: Stroke, tall: float) -> str:
    path = " ".join(f"{_n(x)},{_n(tall - y)}" for x, y in mark.points)
    name = "polygon" if mark.closed else "polyline"
    return f'<{name} points="{path}" {_pen(mark.pen, mark.fill)}/>'


def _words(mark: Words, tall: float) -> str:
    x, y = mark.start
    turn = f' transform="rotate(-90 {_n(x)} {_n(tall - y)})"' if mark.upright else ""
    bold = ' font-weight="bold"' if mark.bold else ""
    halo = _HALO if mark.halo else ""
    about = f" data-subject={quoteattr(mark.subject)}" if mark.subject else ""
    return (
        f'<text x="{_n(x)}" y="{_n(tall - y)}" font-size="{_n(font_size(mark.height))}" '
        f'textLength="{_n(mark.width)}" lengthAdjust="spacingAndGlyphs" fill="{mark.tone}"'
        f"{bold}{halo}{turn}{about}>{escape(mark.text)}</text>"
    )
