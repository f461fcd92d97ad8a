"""Make everything in exports/ again: `python -m tests.exports.remake [FOLDER]`.

Models, sidecars and answers come out byte for byte the same on every machine; pictures depend on
the system's GL and are compared by eye and by size, not by byte.
"""

from __future__ import annotations

import sys
from pathlib import Path

from massing.checks.run import check_scheme
from massing.handover.answer import answer_json
from massing.handover.from_layout import model_of
from massing.handover.pictures.paper import DARK, LIGHT
from massing.handover.pictures.sheet import picture
from massing.handover.registry import write
from massing.handover.sidecar import write_sidecar
from massing.handover.targets import target_files
from massing.project.read import read_project

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
EXPORTS = ROOT / "exports"

# Which schemes of which example are handed over.
HANDED_OVER = {"boathouse": ("first try", "worked out")}


def remake(folder: Path) -> None:
    """Write every byte-stable export below a folder."""
    for name, schemes in HANDED_OVER.items():
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        file = EXAMPLES / f"{name}.yaml"
        project = read_project(file)
        for scheme in schemes:
            answer = check_scheme(project, scheme)
            targets = target_files(file, scheme, place, ("glb", "obj", "json"))
            model = model_of(answer)
            written = [path for target in targets[:2] for path in write(model, target)]
            write_sidecar(model, written, targets[0].with_suffix(".model.json"))
            targets[2].write_text(answer_json(answer) + "\n", encoding="utf-8")


def redraw(folder: Path) -> None:
    """Draw every picture below a folder."""
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


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else EXPORTS
    remake(where)
    redraw(where)
