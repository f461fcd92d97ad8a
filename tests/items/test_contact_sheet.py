"""Every catalogue entry: placed alone nothing is in conflict, and the sheet shows it."""

from __future__ import annotations

import io

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from massing.checks.finding import Finding, Verdict
from massing.checks.run import check_scheme
from massing.cli.catalog_command import command
from massing.errors import InputError
from massing.geometry.solids import box
from massing.handover.pictures.contact_sheet import CELL, PICTURE, contact_sheet, sheet_plan
from massing.handover.pictures.paper import DARK, LIGHT
from massing.handover.pictures.solid_drawing import (
    RIGHT,
    TOWARDS,
    UP,
    Drawn,
    Frame,
    Shade,
    draw_solids,
    frame_of,
    rgb,
)
from massing.items.catalog import item_names, load_item
from massing.items.spec import ItemSpec
from massing.project.read import parse_project

# Wide and high enough for the longest hull and for what is swung or jumped over head.
ROOM = """
massing: 1
project: One thing alone
room: {{size: 16 m x 12 m, ceiling: [{{flat: {ceiling}}}]}}
schemes:
  alone:
{placements}
"""
ON_THE_FLOOR = {"overhead door panel", "side hung garage door", "bicycle on a hook"}


def _hung_at(spec: ItemSpec) -> float:
    """The height of its base on the wall: what its controls ask for, else a usual one."""
    for control in spec.controls:
        if control.between is not None:
            low, high = (float(end) for end in control.between)
            return (low + high) / 2.0 - float(control.height)
    if str(spec.name) in ON_THE_FLOOR:
        return 0.0
    under = float(spec.gaps.under) if spec.gaps is not None and spec.gaps.under else 0.0
    return max(900.0, under)


def _placements(spec: ItemSpec, *, behind: float | None = None) -> list[str]:
    """As it is meant to stand: the air it asks for behind it, on what it is made for, or hung."""
    name = str(spec.name)
    if spec.mount == "on":
        assert spec.stack is not None
        base = f"{{item: {spec.stack.on[0]}, name: below, against: north, along: 7 m, off: 1 m}}"
        return [base, f"{{item: {name}, name: thing, on: below}}"]
    wall = f"{{item: {name}, name: thing, against: north, along: 7 m"
    if spec.mount == "wall":
        return [f"{wall}, height: {_hung_at(spec):g}}}"]
    if spec.mount == "ceiling":
        return [f"{{item: {name}, name: thing, centre: [8 m, 6 m], drop: 0}}"]
    if any(zone.back for zone in spec.all_zones):
        return [f"{{item: {name}, name: thing, centre: [8 m, 6 m]}}"]
    if behind is None:
        behind = float(spec.gaps.back) if spec.gaps is not None and spec.gaps.back else 0.0
    return [f"{wall}, off: {behind:g}}}"]


def _wrong(placements: list[str], ceiling: float = 4000) -> list[str]:
    lines = "\n".join(f"    - {line}" for line in placements)
    project = parse_project(ROOM.format(ceiling=ceiling, placements=lines))
    bad = {Verdict.CONFLICT, Verdict.REMEASURE}
    findings = check_scheme(project, "alone", nudges=False).findings
    # How deep the machine below a kit is has to be measured: that one verdict is right.
    told = (f for f in findings if f.check != "support" or not _hangs_on_what_is_below(f))
    return [finding.says for finding in told if finding.verdict in bad]


def _hangs_on_what_is_below(finding: Finding) -> bool:
    return finding.verdict is Verdict.REMEASURE and all(
        name.startswith("below body ") for name, _ in finding.turns_on
    )


@pytest.mark.parametrize("name", item_names())
def test_it_stands_alone_without_conflict(name):
    assert _wrong(_placements(load_item(name))) == []


def test_a_thing_without_its_air_or_its_height_would_be_noticed():
    """A washer flush to the wall, and each thing taller than 1500 under a ceiling of 1500."""
    assert len(_wrong(_placements(load_item("washer"), behind=0.0))) == 1
    for name in ("wardrobe", "bicycle on a hook", "skipping space", "wall boiler"):
        assert _wrong(_placements(load_item(name)), ceiling=1500) != []


@pytest.fixture(scope="module")
def whole() -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(contact_sheet(item_names(), LIGHT))))


def test_every_entry_has_one_cell_of_its_own():
    plan = sheet_plan(item_names())
    assert sorted(cell.name for cell in plan.cells) == list(item_names())
    taken = np.zeros((plan.size[1], plan.size[0]), dtype=int)
    for cell in plan.cells:
        taken[cell.top : cell.top + CELL[1], cell.left : cell.left + CELL[0]] += 1
    for _, top in plan.headings:
        taken[top : top + 40] += 1
    assert taken.max() == 1
    assert taken.sum() >= len(plan.cells) * CELL[0] * CELL[1]  # none hangs over the edge


def _ink(sheet: np.ndarray, left: int, top: int, width: int, height: int) -> int:
    """Pixels in a part of the sheet that are far from the paper's own tone."""
    part = sheet[top : top + height, left : left + width].astype(int)
    return int((np.abs(part - np.array(rgb(LIGHT.ground)) * 255).max(axis=2) > 60).sum())


def test_every_entry_appears_with_its_name_and_size(whole):
    """Each cell has a drawing that fills its picture one way, and two lines of writing."""
    for cell in sheet_plan(item_names()).cells:
        assert _ink(whole, cell.left, cell.top, *PICTURE) > 150, cell.name
        part = whole[cell.top : cell.top + PICTURE[1], cell.left : cell.left + PICTURE[0]]
        drawn = np.argwhere(np.abs(part.astype(int) - part[0, 0].astype(int)).max(axis=2) > 4)
        filled = (np.ptp(drawn, axis=0) + 1) / np.array([PICTURE[1] - 12, PICTURE[0] - 12])
        assert 0.97 < filled.max() <= 1.03, cell.name
        below = cell.top + PICTURE[1]
        assert _ink(whole, cell.left, below + 14, PICTURE[0], 18) > 20, cell.name
        assert _ink(whole, cell.left, below + 34, PICTURE[0], 16) > 20, cell.name
        assert _ink(whole, cell.left + PICTURE[0], cell.top, CELL[0] - PICTURE[0], CELL[1]) == 0


def test_the_sheet_is_the_same_every_time():
    names = ("basin", "kayak", "stopcock")
    for paper in (LIGHT, DARK):
        assert contact_sheet(names, paper) == contact_sheet(names, paper)
    assert contact_sheet(names, LIGHT) != contact_sheet(names, DARK)


def test_the_command_writes_a_sheet(tmp_path):
    file = tmp_path / "one.png"
    done = CliRunner().invoke(command, ["tool", "chest", "--sheet", str(file)])
    assert done.exit_code == 0
    assert done.output == f"wrote {file}\n"
    with Image.open(file) as sheet:
        assert sheet.size == sheet_plan(("tool chest",)).size
    for words in (["--sheet", str(tmp_path / "one.svg")], ["tol chest", "--sheet", str(file)]):
        with pytest.raises(InputError):
            CliRunner().invoke(command, words, catch_exceptions=False, standalone_mode=False)


# The drawing itself ------------------------------------------------------------------------------

WHITE, BLACK, RED, BLUE = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
SIZE = (120, 100)


def _draw(*boxes, frame=None):
    drawn = [
        Drawn(box(low, high), Shade(f"part {k}", colour))
        for k, (low, high, colour) in enumerate(boxes)
    ]
    frame = frame or Frame(0.05, np.array([50.0, 70.0]))
    return draw_solids(drawn, [], frame, SIZE, WHITE, BLACK)


def test_the_view_is_square_to_itself():
    axes = np.stack([RIGHT, UP, TOWARDS])
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert UP[2] > 0
    assert TOWARDS[1] < 0 < TOWARDS[2]


sides = st.integers(200, 900)


@settings(max_examples=20, deadline=None)
@given(sides, sides, sides)
def test_a_box_covers_as_much_paper_as_its_faces_seen_at_a_slant(x, y, z):
    """Area in the picture: front, right side and top, each times the cosine it is turned by."""
    size = np.array([x, y, z], dtype=float)
    faces = np.array([y * z, x * z, x * y]) * np.abs(TOWARDS)
    frame = frame_of(np.array(box([0, 0, 0], size).corners[0]), SIZE, 4.0)
    picture = _draw(([0, 0, 0], size, RED), frame=frame)
    covered = float((picture < 250).any(axis=2).sum())
    assert covered == pytest.approx(faces.sum() * frame.scale**2, rel=0.06)


def test_what_is_behind_is_hidden_and_what_is_before_is_not():
    """In whichever order they are drawn."""
    wall = ([0, 0, 0], [900, 50, 900], RED)
    behind = ([300, 200, 300], [500, 300, 500], BLUE)
    before = ([300, -300, 300], [500, -200, 500], BLUE)
    alone = _draw(wall)
    assert (_draw(wall, behind) == alone).all()
    assert (_draw(behind, wall) == alone).all()
    blue = _draw(wall, before)
    assert (blue != alone).any()
    assert (_draw(before, wall) == blue).all()
