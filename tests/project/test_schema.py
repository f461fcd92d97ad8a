"""The JSON Schema agrees with the reader: what reads validates, and clear slips do not."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from ruamel.yaml import YAML

from massing.project.file import ProjectFile
from massing.project.schema import project_schema, schema_dict
from massing.project.template import template
from tests.strategies import projects

EXAMPLES = sorted(Path(__file__).resolve().parents[2].glob("examples/*.yaml"))
GOOD: dict[str, Any] = {
    "massing": 1,
    "project": "p",
    "room": {"size": "4000 x 3000 ±5", "ceiling": [{"flat": 2400}]},
    "items": {"crate": {"body": "600 x 400 x 500"}},
    "schemes": {
        "a": [{"item": "crate", "at": [0, 0]}],
        "b": {"from": "a", "move": {"crate": {"by": [0, 100]}}},
    },
}


def validator() -> jsonschema.Draft202012Validator:
    schema = schema_dict()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def loaded(text: str) -> Any:
    """The text as an editor's own reader has it (YAML 1.2: `yes` is a word)."""
    return YAML(typ="safe", pure=True).load(text)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_examples_validate(file):
    """Every example fits the schema an editor uses."""
    errors = [
        f"{e.json_path}: {e.message}" for e in validator().iter_errors(loaded(file.read_text()))
    ]
    assert errors == []


def test_starting_file_validates():
    """So does what `massing new` writes, for an odd name too."""
    for name in ("shed", "null", "1:30"):
        validator().validate(loaded(template(name)))


@settings(max_examples=30, deadline=None)
@given(projects())
def test_drawn_projects_validate(data):
    """And what is drawn by chance."""
    validator().validate(data)


def test_plain_project_validates():
    """The base of the slips below."""
    validator().validate(GOOD)


def changed(path: tuple[str | int, ...], value: Any) -> Any:
    data = copy.deepcopy(GOOD)
    holder: Any = data
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    return data


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("massing",), 2),
        (("project",), ""),
        (("rooms",), {}),
        (("room",), {"size": "4000 x 3000"}),
        (("room", "size"), "4000"),
        (("room", "size"), "4000 x 3000 x 2000"),
        (("room", "ceiling"), {"flat": 2400}),
        (("room", "measured"), "outwards"),
        (("room", "doors"), [{"name": "d", "wall": "west", "along": 0, "hinge": "top"}]),
        (("items", "crate"), {"bodie": "600 x 400 x 500"}),
        (("items", "crate", "body"), "600 x 400"),
        (("items", "crate", "zone"), {"front": -5}),
        (("schemes", "a"), 5),
        (("schemes", "a", 0), {"at": [0, 0]}),
        (("schemes", "a", 0, "at"), [0]),
        (("schemes", "a", 0, "side"), "top"),
        (("schemes", "a", 0, "stays"), "maybe"),
        (("schemes", "a", 0, "along"), {}),
        (("schemes", "b", "moves"), {}),
        (("rules",), {"headroom": 0}),
        (("survey",), {"by": "eye"}),
    ],
)
def test_slips_do_not_validate(path, value):
    """An editor marks these before the file is ever checked."""
    assert list(validator().iter_errors(changed(path, value)))


def test_schema_is_made_from_the_models():
    """Every key a file may use is in it, and making it again gives the same bytes."""
    made = json.loads(project_schema())
    assert project_schema() == project_schema()
    assert made["title"] == "massing project"
    assert set(made["properties"]) == set(ProjectFile.file_words())
    for name, part in made["$defs"].items():
        assert part.get("additionalProperties", False) is False, name
