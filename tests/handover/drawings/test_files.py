"""The files: pages of the true size, walls to scale in pixels, SVG in mm, the same bytes twice."""

from __future__ import annotations

import subprocess
import sys
from xml.etree import ElementTree as ET

import numpy as np
import pypdfium2
import pytest
from click.testing import CliRunner

from massing.cli.draw_command import command
from massing.handover.drawings.drawings import drawing_set
from massing.handover.drawings.lettering import font_file, width_of, wrapped
from massing.handover.drawings.pdf import pdf_of
from massing.handover.drawings.sheet import DIM, Sheet, Stroke, Words
from massing.handover.drawings.svg import svg_of
from tests.handover.drawings.sheets import BOATHOUSE, answer_of, drawn

SVG = "{http://www.w3.org/2000/svg}"
BARE = {
    "massing": 1,
    "project": "bare",
    "room": {"size": "4200 x 2000", "ceiling": [{"flat": 2400}]},
    "items": {},
    "schemes": {"only": []},
}


def _pixels(data: bytes, page: int = 0, per_mm: int = 10) -> np.ndarray:
    """Grey pixels of a page, so many a millimetre."""
    with pypdfium2.PdfDocument(data) as document:
        sheet = document[page]
        grey = sheet.render(scale=per_mm * 25.4 / 72.0, grayscale=True).to_numpy()
        return np.array(grey).reshape(grey.shape[0], grey.shape[1])


def test_a_wall_is_to_scale_to_the_pixel():
    """A 4200 x 2000 room at 1:25: its cut walls lie 168.0 and 80.0 mm apart on the page."""
    sheets = drawing_set(answer_of(BARE), paper="A3", scale=25)
    grey = _pixels(pdf_of(sheets, "bare"))
    # A page is written in hundredths of a point, so its last pixel may be a sliver.
    assert grey.shape[1] == 4200
    assert grey.shape[0] in {2970, 2971}
    # The walls are the only heavy lines in the drawing area: 0.5 mm is 5 pixels.
    dark = grey[150:2600, 300:3050] < 90
    columns, rows = dark.sum(axis=0), dark.sum(axis=1)
    for counts, true in ((columns, 4200.0 / 25.0), (rows, 2000.0 / 25.0)):
        other = 2000.0 / 25.0 if counts is columns else 4200.0 / 25.0
        heavy = np.flatnonzero(counts > 0.95 * other * 10)
        groups = np.split(heavy, np.flatnonzero(np.diff(heavy) > 1) + 1)
        thick = [group for group in groups if 4 <= len(group) <= 6]
        assert len(thick) == 2
        middles = [group.mean() for group in thick]
        assert abs((middles[1] - middles[0]) / 10.0 - true) <= 0.1


@pytest.mark.parametrize(
    ("paper", "size"), [("A4", (297, 210)), ("A3", (420, 297)), ("A2", (594, 420))]
)
def test_pages_are_of_the_standard_size(paper, size):
    """Page boxes in mm. Source of the sizes: ISO 216."""
    data = pdf_of(drawing_set(answer_of(BARE), paper=paper, scale=50), "bare")
    with pypdfium2.PdfDocument(data) as document:
        for page in document:
            assert np.array(page.get_size()) * 25.4 / 72.0 == pytest.approx(size, abs=0.01)


def test_the_same_bytes_twice():
    """In one process, and in another with another hash seed."""
    code = (
        "import sys, hashlib\n"
        "from tests.handover.drawings.sheets import BOATHOUSE, drawn\n"
        "from massing.handover.drawings.pdf import pdf_of\n"
        "from massing.handover.drawings.svg import svg_of\n"
        "sheets = drawn(BOATHOUSE, 'first try')\n"
        "data = pdf_of(sheets, 'x') + ''.join(map(svg_of, sheets)).encode()\n"
        "print(hashlib.sha256(data).hexdigest())\n"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": "", "PYTHONPATH": "."},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1
    sheets = drawn(BOATHOUSE, "first try")
    assert pdf_of(sheets, "x") == pdf_of(sheets, "x")


def test_the_text_is_in_the_pdf():
    """Names and figures can be searched for, in the font the file carries."""
    data = pdf_of(drawn(BOATHOUSE, "first try"), "x")
    with pypdfium2.PdfDocument(data) as document:
        text = document[0].get_textpage().get_text_bounded()
    for word in (
        "Ternholt slip boathouse",
        "4 bench",
        "2020 to 2420 over +180",
        "floor ±0",
        "1:25",
    ):
        assert word in text
    assert b"FontFile2" in data


def test_svg_is_in_millimetres():
    """Well formed, a viewBox of the paper, one unit a millimetre, and the same lettering."""
    for sheet in drawn(BOATHOUSE, "first try"):
        root = ET.fromstring(svg_of(sheet))  # noqa: S314
        assert root.get("width") == "420mm"
        assert root.get("height") == "297mm"
        assert root.get("viewBox") == "0 0 420 297"
        told = [node.text for node in root.iter(f"{SVG}text")]
        assert told == [w.text for w in sheet.words]
        for node, words in zip(root.iter(f"{SVG}text"), sheet.words, strict=True):
            assert float(node.get("textLength")) == pytest.approx(words.width, abs=1e-3)


def test_svg_walls_are_to_scale():
    """The cut line of the room in the SVG is 168 units long for 4200 at 1:25."""
    root = ET.fromstring(svg_of(drawing_set(answer_of(BARE), paper="A3", scale=25)[0]))  # noqa: S314
    lengths = []
    for node in root.iter(f"{SVG}polyline"):
        if node.get("stroke-width") == "0.5":
            points = np.array([p.split(",") for p in node.get("points").split()], dtype=float)
            lengths.append(float(np.hypot(*(points[-1] - points[0]))))
    assert sorted(round(length, 2) for length in lengths) == [80.0, 80.0, 168.0, 168.0]


def test_awkward_names_are_kept():
    """Marks that mean something to XML, accents, and a name too long for its field."""
    data = {**BARE, "project": "Ä <b> & 'q' " + "long " * 13}
    sheets = drawing_set(answer_of(data))
    root = ET.fromstring(svg_of(sheets[0]))  # noqa: S314
    assert any("Ä <b> & 'q'" in (node.text or "") for node in root.iter(f"{SVG}text"))
    assert pdf_of(sheets, data["project"]).startswith(b"%PDF")


def test_widths_are_the_pdfs():
    """Widths used for laying out are those the PDF is written with."""
    from fpdf import FPDF

    pdf = FPDF(unit="mm")
    for bold in (False, True):
        pdf.add_font("F", "B" if bold else "", font_file(bold=bold))
        pdf.set_font("F", "B" if bold else "", 2.5 * 2048 / 1493 * 72 / 25.4)
        for text in ("1234.5", "paddle bench", "±0 − × ° m²", "Ärger"):
            assert width_of(text, 2.5, bold=bold) == pytest.approx(
                pdf.get_string_width(text), rel=1e-3
            )
    for font in pdf.fonts.values():
        font.ttfont.close()


def test_wrapping_loses_nothing():
    """Every letter is kept, and no line is wider than the column."""
    text = "one two threeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeee four"
    lines = wrapped(text, 2.5, 20.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(width_of(line, 2.5) <= 20.0 for line in lines)


def test_the_command(tmp_path):
    """One PDF and an SVG a sheet, named after project and scheme; faults are told plainly."""
    run = CliRunner().invoke(
        command, [str(BOATHOUSE), "-s", "first", "-o", str(tmp_path)], standalone_mode=False
    )
    assert run.exception is None
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names[-1] == "boathouse-first-try-drawings.pdf"
    assert names[0] == "boathouse-first-try-drawings-1.svg"
    run = CliRunner().invoke(command, [str(BOATHOUSE), "--scale", "1:33"], standalone_mode=False)
    assert "'1:33' is not a scale" in str(run.exception)
    run = CliRunner().invoke(command, [str(BOATHOUSE), "-o", "x.png"], standalone_mode=False)
    assert "named as another" in str(run.exception)


def test_widths_hold_whatever_font_is_there():
    """Other fonts of like widths are named, a generic one last; each line is held to its length."""
    for sheet in drawn(BOATHOUSE, "first try"):
        root = ET.fromstring(svg_of(sheet))  # noqa: S314
        (family,) = {node.get("font-family") for node in root.iter() if node.get("font-family")}
        assert family.split(", ")[0] == "'DejaVu Sans'"
        assert family.split(", ")[-1] == "sans-serif"
        for node in root.iter(f"{SVG}text"):
            assert float(node.get("textLength")) > 0
            assert node.get("lengthAdjust") == "spacingAndGlyphs"


def test_lettering_over_lines_keeps_a_little_white():
    """Labels and figures are drawn over a white line of 0.7 mm, in both files alike."""
    sheet = drawn(BOATHOUSE, "first try")[0]
    halos = [words for words in sheet.words if words.halo]
    assert {"4600", "4 bench"} <= {words.text for words in halos}
    assert svg_of(sheet).count('stroke-width="0.7" stroke-linejoin="round"') == len(halos)
    line = Stroke(((30.0, 50.0), (90.0, 50.0)), DIM)
    dark = []
    for halo in (False, True):
        words = Words((60.0, 50.0), "wwwwwww", halo=halo)
        page = Sheet("planted", "A4", 297.0, 210.0, (20.0, 10.0, 287.0, 200.0), (line, words))
        grey = _pixels(pdf_of((page,), "x"))
        left, _, right, _ = (round(v * 10) for v in words.box)
        dark.append(int((grey[1600, left + 5 : right - 5] < 128).sum()))
    # Between the strokes of the letters the line itself is gone; the letters are not.
    assert 0 < dark[1] < 0.75 * dark[0]
