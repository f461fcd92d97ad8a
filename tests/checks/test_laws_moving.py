"""The laws of whole checks where drawers and flaps move, people are tall, and uses go together.

What turns, mirrors or shifts a room changes nothing; one more thing frees nothing; a larger need
clears nothing. The rooms have chests with drawers and a flap, uses said to be at once, and a
door people come in by.
"""

from __future__ import annotations

import copy
from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from massing.checks.context import Context
from massing.checks.finding import Verdict
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.geometry.tolerance import TOUCH
from massing.scheme.place import place
from massing.survey.values import Values
from tests.checks.test_laws import REACH, assert_same, exact, named, same_name
from tests.strategies import (
    mirrored,
    mirrored_name,
    project_of,
    projects,
    shifted,
    turned,
    turned_name,
)

FAST = settings(max_examples=5, deadline=None)
CHEST = {
    "body": "700 x 450 x 850",
    "weight": 40,
    "zone": {"front": 600},
    "motions": [
        {"name": "drawer", "kind": "drawer", "low": 400, "height": 300, "travel": 400},
        {"name": "flap", "kind": "flap", "low": 50, "height": 300, "thickness": 20},
    ],
}
MOVING = {"moving parts", "in use", "motion"}


@st.composite
def moving_rooms(draw):
    """A drawn room with a door that can be walked through and two or three chests."""
    data = draw(projects(most=3))
    width, depth = (int(str(size).split()[0]) for size in data["room"]["size"])
    data["items"] = {**data["items"], "chest": CHEST}
    wall = draw(st.sampled_from(("south", "north")))
    data["room"]["doors"] = [
        {
            "name": "entry",
            "wall": wall,
            "along": draw(st.integers(5, (width - 900) // 10)) * 10,
            "leaf": "762 x 1600 x 40",
            "hinge": draw(st.sampled_from(("left", "right"))),
            "opens": draw(st.sampled_from(("in", "out"))),
        }
    ]
    for number in range(draw(st.integers(2, 3))):
        made = {"item": "chest", "name": f"chest no {number}"}
        if draw(st.booleans()):
            made["against"] = draw(st.sampled_from(("south", "east", "north", "west")))
            made["along"] = draw(st.integers(0, 100)) * 10
        else:
            x = draw(st.integers(40, (width - 400) // 10)) * 10
            made["centre"] = [x, draw(st.integers(40, (depth - 400) // 10)) * 10]
            made["facing"] = draw(st.sampled_from(("south", "east", "north", "west")))
        data["schemes"]["only"].append(made)
    if draw(st.booleans()):
        data["people"] = {"stature": draw(st.integers(1500, 1950))}
    return data


def whole(data, *, at_once=True):
    """The project, its first two chests in use at once."""
    made = copy.deepcopy(data)
    uses = [["chest no 0 in use", "chest no 1 in use"]] if at_once else []
    made["schemes"]["only"] = {"add": made["schemes"]["only"], "together": uses}
    return project_of(made)


def measured(data, name=same_name):
    project = whole(data)
    context = Context(place(project, "only", Values()), rules_of(project), reach=REACH + 1.0)
    found = {}
    for reading in readings(context):
        key = (reading.check, named(reading.check, reading.items, name), reading.unit)
        found[key] = min(found.get(key, float("inf")), float(reading.gap[0]))
    # What is met a hair into its travel, or only just touched, may turn on rounding.
    return {k: g for k, g in found.items() if k[2] != "mm" or (abs(g) > 2 * TOUCH and g < REACH)}


def verdicts(data, name=same_name):
    answer = check_scheme(whole(data), "only", nudges=False)
    return Counter(
        (f.check, f.verdict, named(f.check, f.items, name))
        for f in answer.findings
        if f.verdict is not Verdict.CLEAR and (f.unit != "mm" or abs(f.gap_mm) > 2 * TOUCH)
    )


def failing(data, checks, **changes):
    """What is a conflict or a caution of some checks, and how grave."""
    answer = check_scheme(whole({**data, **changes}), "only", nudges=False)
    grave = {Verdict.CONFLICT, Verdict.REMEASURE, Verdict.CAUTION}
    return {
        (f.check, frozenset(f.items)): f
        for f in answer.findings
        if f.check in checks and f.verdict in grave
    }


@FAST
@given(moving_rooms())
def test_mirror_changes_no_gap(data):
    data = exact(data)
    assert_same(measured(data, mirrored_name), measured(mirrored(data)))
    assert verdicts(data, mirrored_name) == verdicts(mirrored(data))


@FAST
@given(moving_rooms())
def test_quarter_turn_changes_no_gap(data):
    data = exact(data)
    assert_same(measured(data, turned_name), measured(turned(data)))
    assert verdicts(data, turned_name) == verdicts(turned(data))


@FAST
@given(moving_rooms(), st.tuples(st.integers(-3000, 3000), st.integers(-3000, 3000)))
def test_shifted_origin_changes_no_gap(data, by):
    here = exact(data)
    assert_same(measured(here), measured(shifted(here, by)))
    assert verdicts(here) == verdicts(shifted(here, by))


@FAST
@given(moving_rooms())
def test_another_chest_frees_no_moving_part(data):
    """Taking the last chest away leaves only meetings of moving parts that were there before."""
    fewer = copy.deepcopy(data)
    gone = fewer["schemes"]["only"].pop()["name"]
    if gone == "chest no 1":
        return
    assert set(failing(fewer, MOVING)) <= set(failing(data, MOVING))


@FAST
@given(moving_rooms())
def test_another_chest_opens_no_way(data):
    """The narrowest way in a room is no wider with one more thing in it."""
    fewer = copy.deepcopy(data)
    gone = fewer["schemes"]["only"].pop()["name"]
    if gone == "chest no 1":
        return
    closed = {item for (_, items) in closed_ways(fewer) for item in items}
    assert closed <= {item for (_, items) in closed_ways(data) for item in items}


def closed_ways(data):
    found = failing(data, {"passage"})
    return {key: f for key, f in found.items() if f.verdict is Verdict.CONFLICT}


@FAST
@given(moving_rooms(), st.integers(10, 400))
def test_wider_way_asked_for_clears_none(data, more):
    """Every zone whose way is too narrow is still named when a wider one is asked for."""
    less, asked = {"passage": 600}, {"passage": 600 + more}
    told = [
        {name for _, items in failing(data, {"passage"}, rules=rules) for name in items}
        for rules in (less, asked)
    ]
    assert told[0] <= told[1]


@FAST
@given(moving_rooms(), st.integers(1500, 1900), st.integers(10, 150))
def test_taller_people_clear_no_head_height(data, stature, more):
    told = [
        set(failing(data, {"headroom"}, people={"stature": tall}))
        for tall in (stature, stature + more)
    ]
    assert told[0] <= told[1]


@FAST
@given(moving_rooms())
def test_used_at_once_is_graver_never_lighter(data):
    """Saying that two things are used at once turns cautions to conflicts and clears nothing."""
    once = failing(data, MOVING)
    made = check_scheme(whole(data, at_once=False), "only", nudges=False)
    for finding in made.findings:
        if finding.check in MOVING and finding.verdict is Verdict.CONFLICT:
            assert (finding.check, frozenset(finding.items)) in once
    apart = {(f.check, frozenset(f.items)) for f in made.findings if f.verdict is Verdict.CAUTION}
    pair = frozenset({"chest no 0", "chest no 1"})
    for key in apart:
        if key[0] in MOVING and key[1] == pair:
            assert once[key].verdict in {Verdict.CONFLICT, Verdict.REMEASURE}


def test_a_law_that_is_broken_is_seen():
    """A check that tells left from right would not pass the mirror."""
    from massing.checks import registry, together

    def left_only(context):
        middle = float(context.layout.room.outline[0, :, 0].mean())
        for reading in together.read(context):
            at = reading.detail().at
            if at is None or at[0] <= middle:
                yield reading

    checks = tuple(left_only if c is together.read else c for c in registry.CHECKS)
    data = {
        "massing": 1,
        "project": "Broken",
        "room": {"size": [4000, 3000], "ceiling": [{"flat": 2400}]},
        "items": {"chest": CHEST},
        "schemes": {
            "only": [
                {"item": "chest", "name": "chest no 0", "centre": [3000, 600], "facing": "north"},
                {"item": "chest", "name": "chest no 1", "centre": [3000, 1900], "facing": "south"},
            ]
        },
    }
    context = Context(place(whole(data), "only", Values()), rules_of(whole(data)), reach=REACH)
    other = place(whole(mirrored(data)), "only", Values())
    here = {r.check for r in registry.readings(context, checks)}
    there = {r.check for r in registry.readings(Context(other, context.rules, REACH), checks)}
    assert here & MOVING != there & MOVING
