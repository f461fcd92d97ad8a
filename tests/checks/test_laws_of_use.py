"""Laws of the checks of floor and air in use: turned, mirrored, moved and filled rooms.

Small rooms drawn at random, with benches that face, seats, drawers, vents and cupboards in them.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.context import Context
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.project.project import Project
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values
from tests.strategies import mirrored, project_of, turned

CHECKS = ("before drawer", "behind seat", "shut in", "vent", "work aisle")
RULES = {
    "work aisle": "aisle",
    "behind seat": "seat",
    "before drawer": "drawer",
    "vent": "vent",
    "shut in": "air_opening",
}
FAST = settings(max_examples=25, deadline=None)
ITEMS: dict[str, dict[str, Any]] = {
    "bench": {"body": "1200 x 600 x 900", "weight": 50, "zone": {"front": 400}},
    "desk": {"body": "1000 x 600 x 740", "zone": {"front": 400, "posture": "sitting"}},
    "drawers": {
        "body": "800 x 500 x 900",
        "motions": [{"name": "drawer", "kind": "drawer", "low": 500, "height": 200, "travel": 400}],
    },
    "stove": {"body": "500 x 400 x 700", "vents": ["front", "top", "back"], "breathes": "yes"},
    "crate": {"body": "600 x 400 x 500", "weight": 4},
}
"""Things that look the same in a mirror."""


@st.composite
def rooms(draw: st.DrawFn) -> dict[str, Any]:
    """A project of plain data, in the form of ``tests.strategies``."""
    size = [draw(st.integers(24, 36)) * 100, draw(st.integers(22, 34)) * 100]
    room: dict[str, Any] = {"size": size, "ceiling": [{"name": "over", "flat": 2400}]}
    placements: list[dict[str, Any]] = []
    for number in range(draw(st.integers(2, 6))):
        item = draw(st.sampled_from(sorted(ITEMS)))
        made: dict[str, Any] = {"item": item, "name": f"{item} no {number}"}
        if draw(st.booleans()):
            made["against"] = draw(st.sampled_from(("south", "east", "north", "west")))
            made["along"] = draw(st.integers(0, 160)) * 10
        else:
            made["centre"] = [draw(st.integers(3, length // 100 - 3)) * 100 for length in size]
            made["facing"] = draw(st.sampled_from(("south", "east", "north", "west")))
            made["turn"] = draw(st.sampled_from((0, 0, 0, 20, -45)))
        placements.append(made)
    return {
        "massing": 1,
        "project": "Use",
        "room": room,
        "items": ITEMS,
        "schemes": {"only": placements},
    }


def found(project: Project, **rules: float) -> dict[tuple[str, str], float]:
    """What fails of each check and first thing, and the least of its gap."""
    held = replace(rules_of(project), **rules)
    context = Context(place(project, "only", Values()), held, reach=151.0)
    told: dict[tuple[str, str], float] = {}
    for reading in readings(context):
        if reading.check in CHECKS:
            both = reading.items if reading.check in {"vent", "work aisle"} else reading.items[:1]
            key = (reading.check, "+".join(sorted(both)))
            told[key] = min(told.get(key, float("inf")), float(reading.gap[0]))
    return told


def assert_same(one: dict[tuple[str, str], float], other: dict[tuple[str, str], float]) -> None:
    assert one.keys() == other.keys()
    for key, gap in one.items():
        assert other[key] == pytest.approx(gap, abs=1e-3), key


@FAST
@given(rooms())
def test_mirror_and_quarter_turn(data):
    """Left and right, north and east are only names."""
    here = found(project_of(data))
    assert_same(here, found(project_of(mirrored(data))))
    assert_same(here, found(project_of(turned(data))))


@FAST
@given(rooms())
def test_another_thing_frees_nothing(data):
    """With the last thing taken away nothing is told that was not, and no gap is less."""
    fewer = {**data, "schemes": {"only": data["schemes"]["only"][:-1]}}
    before, after = found(project_of(fewer)), found(project_of(data))
    assert before.keys() <= after.keys()
    assert all(after[key] <= gap + 1e-6 for key, gap in before.items())


@FAST
@given(rooms(), st.floats(1.0, 400.0))
def test_a_larger_need_clears_nothing(data, more):
    """Whatever size is asked for, asking for more tells at least as much."""
    project = project_of(data)
    plain = found(project)
    rules = rules_of(project)
    for check, name in RULES.items():
        asked = {name: getattr(rules, name) + more}
        if name == "seat":
            asked["seat_passing"] = rules.seat_passing + more
        told = found(project, **asked)
        assert {key for key in plain if key[0] == check} <= told.keys()


def test_the_rooms_have_something_to_tell():
    """The laws would hold of checks that never speak: these do."""
    rows = (
        "{item: bench, against: north}",
        "{item: bench, against: south, from-right: 0}",
        "{item: desk, against: north, along: 1300}",
        "{item: drawers, against: south, from-right: 1300}",
        "{item: crate, at: [1400, 900]}",
        "{item: stove, at: [100, 1000]}",
        "{item: crate, on: stove}",
    )
    text = (
        "massing: 1\nproject: p\nroom: {size: 2400 x 2000, ceiling: [{flat: 2400}]}\n"
        "items:\n  bench: {body: 1200 x 600 x 900, weight: 50, zone: {front: 400}}\n"
        "  desk: {body: 1000 x 600 x 740, zone: {front: 400, posture: sitting}}\n"
        "  drawers: {body: 800 x 500 x 900, motions: [{name: drawer, kind: drawer, low: 500, "
        "height: 200, travel: 400}]}\n"
        "  stove: {body: 500 x 400 x 700, vents: [top]}\n  crate: {body: 600 x 400 x 500}\n"
        "schemes:\n  only:\n" + "".join(f"    - {row}\n" for row in rows)
    )
    seen = {check for check, _ in found(parse_project(text))}
    assert seen >= {"work aisle", "behind seat", "before drawer", "vent"}
