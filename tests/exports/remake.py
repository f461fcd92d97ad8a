"""Make everything in exports/ again: `python -m tests.exports.remake [FOLDER]`.

Models, issues, answers, SVG drawings and reports come out byte for byte the same on every machine.
Pictures depend on the system's GL, and PDFs on the version of the library that writes them, so
those are renewed but not compared.
"""

from __future__ import annotations

import sys
from pathlib import Path

from massing.checks.run import Answer, check_scheme
from massing.handover.answer import answer_json
from massing.handover.bcf.file import Beside, write_bcf
from massing.handover.drawings.drawings import drawing_set
from massing.handover.drawings.pdf import pdf_of
from massing.handover.drawings.svg import svg_of
from massing.handover.from_layout import model_of
from massing.handover.pictures.paper import DARK, LIGHT
from massing.handover.pictures.sheet import picture
from massing.handover.registry import write
from massing.handover.report.page import report_page
from massing.handover.sidecar import write_sidecar
from massing.handover.targets import target_files
from massing.project.read import read_project

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
EXPORTS = ROOT / "exports"

# Which schemes of which example are handed over: the first, where there is something to settle,
# with USD, IFC and issues as well; the last with its report.
HANDED_OVER = {
    "boathouse": ("first try", "worked out"),
    "lean-to": ("first try", "worked out"),
    "loft": ("first try", "worked out"),
}


def remake(folder: Path) -> None:
    """Write every byte-stable export below a folder."""
    for name, schemes in HANDED_OVER.items():
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        file = EXAMPLES / f"{name}.yaml"
        project = read_project(file)
        before = check_scheme(project, next(iter(project.arrangements)), nudges=False)
        for scheme in schemes:
            answer = check_scheme(project, scheme)
            _hand_over(answer, file, place)
            if scheme == schemes[0]:
                _for_builders(answer, file, place)
        (page,) = target_files(file, f"{schemes[-1]} report", place, ("html",))
        page.write_text(report_page(answer, before), encoding="utf-8")


def _hand_over(answer: Answer, file: Path, place: Path) -> None:
    scheme = answer.layout.name
    glb, obj, told = target_files(file, scheme, place, ("glb", "obj", "json"))
    model = model_of(answer)
    written = [path for target in (glb, obj) for path in write(model, target)]
    write_sidecar(model, written, glb.with_suffix(".model.json"))
    told.write_text(answer_json(answer) + "\n", encoding="utf-8")
    (stem,) = target_files(file, f"{scheme} drawings", place, ("svg",))
    for number, sheet in enumerate(drawing_set(answer), 1):
        path = stem.with_name(f"{stem.stem}-{number}.svg")
        path.write_text(svg_of(sheet), encoding="utf-8")


def _for_builders(answer: Answer, file: Path, place: Path) -> None:
    """USD and IFC of a scheme, and its issues, which point at the IFC's elements."""
    usd, ifc, bcf = target_files(file, answer.layout.name, place, ("usda", "ifc", "bcf"))
    model = model_of(answer)
    for target in (usd, ifc):
        write(model, target)
    write_bcf(answer, bcf, Beside.of(model, ifc))


def redraw(folder: Path) -> None:
    """Draw every picture, and print every set of drawings, below a folder."""
    for name, schemes in HANDED_OVER.items():
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        file = EXAMPLES / f"{name}.yaml"
        project = read_project(file)
        for scheme in schemes:
            answer = check_scheme(project, scheme, nudges=False)
            for view, paper in (("corner", LIGHT), ("plan", LIGHT), ("long section", DARK)):
                (target,) = target_files(file, f"{scheme} {view}", place, ("png",))
                target.write_bytes(picture(answer, view, paper, (1600, 1000)))
            (target,) = target_files(file, f"{scheme} drawings", place, ("pdf",))
            target.write_bytes(pdf_of(drawing_set(answer), f"{project.name}, {scheme}"))


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else EXPORTS
    remake(where)
    redraw(where)
