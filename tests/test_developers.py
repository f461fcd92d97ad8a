"""What the contributors' guide shows is done here: each piece runs, and its own test passes."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import trimesh
from ruamel.yaml import YAML

from massing.checks.context import Context
from massing.checks.finding import Reading
from massing.checks.rules import Rules
from massing.checks.run import check_scheme
from massing.handover import registry
from massing.handover.from_layout import model_of
from massing.handover.model import bounds
from massing.items.spec import ItemSpec
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values
from tests.pages import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text()
WORDS = {
    "Context": Context,
    "Rules": Rules,
    "Values": Values,
    "bounds": bounds,
    "check_scheme": check_scheme,
    "model_of": model_of,
    "np": np,
    "parse_project": parse_project,
    "place": place,
    "trimesh": trimesh,
}


def shown(name: str) -> str:
    """The block after `<!-- name -->`."""
    found = re.search(rf"<!-- {name} -->\n```\w+\n(.*?)```", GUIDE, re.DOTALL)
    assert found
    return found[1]


def run(*names: str) -> dict[str, Any]:
    """What the blocks define, run one after another as one module."""
    made: dict[str, Any] = {**WORDS, "__name__": "shown"}
    for name in names:
        exec(compile(shown(name), f"DEVELOPERS.md, {name}", "exec"), made)  # noqa: S102
    return made


def test_the_check_shown_passes_its_test_and_runs_among_the_others():
    """The very text of the guide; it also reads an example's layout in many worlds."""
    made = run("check", "check test")
    made["test_a_thing_three_times_as_tall_as_deep_is_tied_back"]()
    answer = check_scheme(parse_project((ROOT / "examples" / "boathouse.yaml").read_text()))
    read: Callable[[Context], list[Reading]] = made["read"]
    found = list(read(Context(answer.layout, Rules(), reach=0.0)))
    assert {reading.items[0] for reading in found} >= {"chest", "bench"}
    assert all(len(reading.gap) == answer.layout.worlds for reading in found)


def test_the_item_shown_reads():
    """With the basis every size wants."""
    spec = ItemSpec.model_validate(YAML(typ="safe").load(shown("item")))
    assert spec.name == "wet floor sign"


def test_the_format_shown_passes_its_test(tmp_path, monkeypatch):
    """It registers itself, answers to its ending, and another library reads what it wrote."""
    registry.formats()
    monkeypatch.setattr(registry, "_FORMATS", dict(registry._FORMATS))
    made = run("format", "format test")
    assert registry._FORMATS["PLY"].endings == (".ply",)
    made["test_another_reader_finds_the_same_bounds"](tmp_path)


@pytest.mark.parametrize("name", re.findall(r"`((?:tests|massing)/[a-z_/.]+)`", GUIDE))
def test_what_the_guide_names_is_there(name):
    """Files and folders it speaks of."""
    assert (ROOT / name).exists()
