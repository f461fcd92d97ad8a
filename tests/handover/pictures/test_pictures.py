"""Pictures show the whole room, number what is wrong, and say so where nothing can draw."""

from __future__ import annotations

import ctypes.util
import io
from pathlib import Path

import numpy as np
import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.errors import MissingToolError
from massing.handover.pictures.clashes import clash_solids
from massing.handover.pictures.paper import DARK, LIGHT
from massing.handover.pictures.sheet import _spread, picture, shown_in
from massing.handover.pictures.stage import require_gl
from massing.handover.pictures.views import VIEWS, view_of
from massing.project.read import read_project

FILE = Path(__file__).resolve().parents[3] / "examples" / "boathouse.yaml"


@pytest.fixture(scope="module")
def answer():
    return check_scheme(read_project(FILE), "first try", nudges=False)


@pytest.mark.parametrize("name", VIEWS)
def test_every_corner_is_in_the_picture(name):
    """The fit keeps each corner of the bounds inside, and fills one way or the other."""
    low, high = np.array([100.0, -50.0, 0.0]), np.array([6100.0, 2350.0, 2750.0])
    view = view_of(name, low, high, (1000, 700))
    spots = np.array(
        [view.pixel(np.array([x, y, z])) for x in (low[0], high[0]) for y in (low[1], high[1])
         for z in (low[2], high[2])]
    )  # fmt: skip
    assert spots.min() >= 0
    assert spots[:, 0].max() <= 1000
    assert spots[:, 1].max() <= 700
    fill = np.ptp(spots, axis=0) / (1000, 700)
    assert fill.max() == pytest.approx(1 / 1.08, abs=1e-6)


def test_clash_volumes_are_the_reported_litres(answer):
    """What is painted as conflict has the volumes the findings give."""
    solids = list(clash_solids(answer))
    painted = sum(float(solid.volume[0]) for solid in solids) / 1e6
    told = sum(
        f.overlap_l or 0.0
        for f in answer.findings
        if f.verdict is Verdict.CONFLICT and f.check in {"ceiling", "bodies", "door leaf"}
    )
    assert painted == pytest.approx(told, abs=2e-3)  # findings are rounded to 0.001 L


@pytest.mark.parametrize(("view", "paper"), [("corner", LIGHT), ("plan", DARK)])
def test_a_picture_is_drawn(answer, view, paper):
    """The size asked for, the paper's own ground, and the alarm colour where conflicts are."""
    from PIL import Image

    image = Image.open(io.BytesIO(picture(answer, view, paper, (1200, 800))))
    assert image.size == (1200, 800)
    pixels = np.asarray(image.convert("RGB")).reshape(-1, 3)
    ground = np.array([int(paper.ground[k : k + 2], 16) for k in (1, 3, 5)])
    assert (np.abs(pixels.astype(int) - ground).max(axis=1) <= 2).mean() > 0.3
    alarm = np.array([int(paper.alarm[k : k + 2], 16) for k in (1, 3, 5)])
    assert (np.abs(pixels.astype(int) - alarm).max(axis=1) <= 30).sum() > 500


def test_without_a_gl_library_it_says_so(monkeypatch):
    """A clear error with the way out, instead of a crash in the drawing library."""
    monkeypatch.setattr(ctypes.util, "find_library", lambda _name: None)
    with pytest.raises(MissingToolError, match="apt-get install libegl1"):
        require_gl()


def test_numbers_never_lie_over_one_another():
    """Discs are pushed apart and stay on the sheet, even when every finding is in one place."""
    spots = _spread([(500.0, 400.0)] * 12 + [(10.0, 100.0), (1190.0, 700.0)], (1200, 800))
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=-1) + 1e9 * np.eye(len(spots))
    assert apart.min() > 2 * 17
    assert spots.min() >= 0
    assert spots[:, 0].max() <= 1200
    assert spots[:, 1].max() <= 800


def test_a_section_letters_only_what_it_shows(answer):
    """What lies wholly before the cut is not drawn, so it is not named; the rest is."""
    low, high = np.zeros(3), np.array([6000.0, 2400.0, 2750.0])
    cut = view_of("long section", low, high, (900, 600))
    shown = {item.name for item in answer.layout.items if shown_in(item, cut)}
    assert shown == {"wall unit", "kayak", "bin", "screen"}
    plan = view_of("plan", low, high, (900, 600))
    assert all(shown_in(item, plan) for item in answer.layout.items)
