"""Sheets in, one PDF out, a page each: the same marks as the SVG, the font inside the file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from massing.handover.drawings.lettering import font_file, font_size
from massing.handover.drawings.sheet import HALO, Disc, Mark, Pen, Sheet, Words

__all__ = ["pdf_of"]

_POINT = 25.4 / 72.0


def pdf_of(sheets: Sequence[Sheet], title: str) -> bytes:
    """The sheets as PDF bytes; the same sheets give the same bytes, as no clock is asked."""
    from fpdf import FPDF

    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(auto=False)
    pdf.set_margin(0)
    pdf.set_title(title)
    pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))
    pdf.add_font("Drawn", "", font_file(bold=False))
    pdf.add_font("Drawn", "B", font_file(bold=True))
    for sheet in sheets:
        pdf.add_page(format=(sheet.width, sheet.height))
        for mark in sheet.marks:
            _mark(pdf, mark, sheet.height)
    data = bytes(pdf.output())
    for font in pdf.fonts.values():
        font.ttfont.close()
    return data


def _rgb(tone: str) -> tuple[int, int, int]:
    return int(tone[1:3], 16), int(tone[3:5], 16), int(tone[5:7], 16)


def _use(pdf: Any, pen: Pen, fill: str | None) -> None:
    pdf.set_draw_color(*_rgb(pen.tone))
    pdf.set_line_width(pen.width)
    if pen.dash:
        pdf.set_dash_pattern(dash=pen.dash[0], gap=pen.dash[1])
    else:
        pdf.set_dash_pattern()
    if fill:
        pdf.set_fill_color(*_rgb(fill))


def _mark(pdf: Any, mark: Mark, tall: float) -> None:
    if isinstance(mark, Words):
        _words(pdf, mark, tall)
        return
    _use(pdf, mark.pen, mark.fill)
    style = "DF" if mark.fill else "D"
    if isinstance(mark, Disc):
        (x, y), r = mark.at, mark.radius
        pdf.ellipse(x - r, tall - y - r, 2 * r, 2 * r, style=style)
        return
    points = [(x, tall - y) for x, y in mark.points]
    if mark.closed:
        pdf.polygon(points, style=style)
    else:
        pdf.polyline(points, style="D")


def _words(pdf: Any, mark: Words, tall: float) -> None:
    pdf.set_font("Drawn", "B" if mark.bold else "", font_size(mark.height) / _POINT)
    pdf.set_text_color(*_rgb(mark.tone))
    if mark.halo:
        with pdf.local_context(
            text_mode="STROKE",
            draw_color=(255, 255, 255),
            line_width=HALO / _POINT,  # the writer takes it for points where it letters
            dash_pattern={"dash": 0, "gap": 0, "phase": 0},
            stroke_join_style="round",
        ):
            _written(pdf, mark, tall)
    _written(pdf, mark, tall)


def _written(pdf: Any, mark: Words, tall: float) -> None:
    x, y = mark.start
    if mark.upright:
        with pdf.rotation(90, x, tall - y):
            pdf.text(x, tall - y, mark.text)
    else:
        pdf.text(x, tall - y, mark.text)
