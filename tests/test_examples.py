"""Every example reads, and every scheme of it is checked, told and placed without a slip."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from massing.checks.run import check_scheme
from massing.cli.text import WIDTH, answer_text
from massing.handover.answer import answer_dict
from massing.project.edit import replace_value
from massing.project.read import parse_project, read_project
from massing.scheme.place import place
from massing.survey.values import Values

FILES = sorted(Path(__file__).resolve().parents[1].glob("examples/*.yaml"))
SCHEMES = [(file, name) for file in FILES for name in read_project(file).arrangements]


def test_there_are_examples():
    """The folder is found."""
    assert {"boathouse", "loft"} <= {file.stem for file in FILES}


@pytest.mark.parametrize(("file", "name"), SCHEMES, ids=lambda part: getattr(part, "stem", part))
def test_scheme_is_checked_and_told(file, name):
    """Every number is finite, every line fits, every size is placed."""
    answer = check_scheme(read_project(file), name, nudges=False)
    told = json.dumps(answer_dict(answer), allow_nan=False, ensure_ascii=False)
    assert json.loads(told)["scheme"] == name
    assert max(map(len, answer_text(answer, every=True).splitlines())) <= WIDTH
    for item in answer.layout.items:
        assert np.isfinite(item.low).all()
        assert (item.high > item.low).all()
    for finding in answer.findings:
        assert finding.says
        assert finding.worst_mm <= finding.gap_mm <= finding.best_mm
        assert 0 <= finding.chance_clear <= 1


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_example_survives_an_edit(file):
    """Its name changed in place: the same project otherwise, to the bit."""
    text = file.read_text()
    changed = parse_project(replace_value(text, ("project",), "Another name"), file)
    project = parse_project(text, file)
    assert changed.name == "Another name"
    for name in project.arrangements:
        one, other = place(project, name, Values()), place(changed, name, Values())
        for here, there in zip(one.items, other.items, strict=True):
            assert np.array_equal(here.low, there.low)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_no_line_of_an_example_is_too_wide(file):
    """They are read on a page."""
    assert max(map(len, file.read_text().splitlines())) <= 120
