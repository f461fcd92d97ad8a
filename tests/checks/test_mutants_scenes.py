"""Whole findings of small scenes, every figure of them: what a planted change must not get past."""

from __future__ import annotations

from pathlib import Path

import pytest
from ruamel.yaml import YAML

from massing.checks.run import check_scheme
from massing.project.read import parse_project

SCENES = YAML(typ="safe", pure=True).load(Path(__file__).with_name("mutants_scenes.yaml"))
ASKED = {row[0] for scene in SCENES.values() for row in scene["found"]}


def told(text):
    """Findings of the checks asked for: gap, needs, place, litres, m², the move and the words."""
    return [
        [
            f.check,
            list(f.items),
            f.verdict.value,
            round(f.gap_mm, 3),
            f.needs_mm,
            None if f.at_mm is None else list(f.at_mm),
            None if f.overlap_l is None else round(f.overlap_l, 3),
            None if f.area_m2 is None else round(f.area_m2, 6),
            None if f.nudge is None else list(f.nudge.by_mm),
            f.says,
        ]
        for f in check_scheme(parse_project(f"massing: 1\nproject: p\n{text}"), "only").findings
        if f.check in ASKED
    ]


@pytest.mark.parametrize("scene", SCENES)
def test_every_figure_of_a_scene(scene):
    """What is not listed is not found."""
    assert told(SCENES[scene]["text"]) == SCENES[scene]["found"]
