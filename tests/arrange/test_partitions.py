"""Tests for new partitions: one that is needed, one that would not pay, where they may stand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon, box

from massing.arrange.answers import Effort, arrange
from massing.arrange.model import compile_scheme
from massing.arrange.studs import Stud, site_of, some_studs, stud_words
from massing.arrange.written import with_proposals
from massing.checks.run import check_scheme
from massing.errors import InputError
from massing.geometry.outline import outline_of
from massing.project.read import parse_project

_ROOM = """\
massing: 1
project: A drying room       # racks want wall
{arrange}
room:
  size: 4200 x 3200
  ceiling: [{{flat: 2400}}]
  floor: [{{level: 0}}]
  doors: [{{name: entry, wall: west, along: 1100, leaf: 762 x 1981, hinge: left, opens: {opens}}}]
items:
  rack: {{body: 2000 x 450 x 1900, weight: 60, mount: wall, stores: true, zone: {{front: 600}}}}
schemes:
  as found:
{racks}
"""
_ALLOWED = "arrange: {partitions: {build-up: stud 63}}"
_EFFORT = Effort(restarts=3, moves=12_000, answers=1)


def _made(racks: int, arrange: str = _ALLOWED, opens: str = "out"):
    rows = "\n".join(
        f"    - {{item: rack, name: rack {k}, against: north, along: 100, height: 100}}"
        for k in range(1, racks + 1)
    )
    return parse_project(_ROOM.format(arrange=arrange, opens=opens, racks=rows))


@pytest.fixture(scope="module")
def walled():
    """Six racks arranged where a partition is allowed."""
    return arrange(_made(6), "as found", _EFFORT)


def test_partition_makes_it_possible(walled):
    """Six racks of 2000 want more wall than the room has; a stud wall gives it both its faces.

    Racks 1900 high under 2400 hang side by side only, so each unbroken stretch of wall holds as
    many as go into its length: two, two, one and, beside the door, none.
    """
    made = _made(6)
    stretches = (4200, 3200, 4200, 1100, 3200 - 1100 - 762)
    assert sum(length // 2000 for length in stretches) == 5

    without = arrange(_made(6, ""), "as found", _EFFORT)

    assert without.proposals == ()
    (proposal,) = walled.proposals
    (partition,) = proposal.polished.extra["partitions"]
    assert partition["build-up"] == "stud 63"
    assert proposal.why.startswith("with a partition ")
    assert f"{partition['name']} " in str(proposal.polished.moves)

    text = with_proposals(made, walled.proposals)
    assert text.startswith(made.text.rstrip("\n"))
    again = check_scheme(parse_project(text), proposal.name)
    assert again.conflicts == ()
    faces = {w.name for w in again.layout.room.walls if w.partition}
    against = [str(words.get("against")) for _, words in proposal.polished.moves]
    assert faces & set(against)


def test_partition_is_no_longer_than_what_leans_on_it(walled):
    """The wall ends with the last thing against it, to the next 50."""
    polished = walled.proposals[0].polished
    (fabric,) = [f for f in polished.answer.layout.room.fabric if f.kind == "partition"]
    ring = np.concatenate([outline_of(part)[0] for part in fabric.parts])
    names = [n for n, words in polished.moves if fabric.name in str(words.get("against"))]
    items = [polished.answer.layout.item(name) for name in names]
    long = int(np.argmax(np.ptp(ring, axis=0)))
    ends = ring[:, long].min(), ring[:, long].max()
    lean = min(i.low[0, long] for i in items), max(i.high[0, long] for i in items)
    assert min(abs(ends[0] - lean[0]), abs(ends[1] - lean[1])) <= 50.0 + 1e-6


def test_partition_that_does_not_pay_is_not_proposed():
    """Four racks hang on the walls there are: nobody puts up a wall for them."""
    found = arrange(_made(4), "as found", _EFFORT)

    assert found.proposals
    assert all("partitions" not in p.polished.extra for p in found.proposals)


def test_no_wall_in_the_way():
    """Walls that are tried keep off the door, its leaf and what stays, and off walls beside."""
    made = _made(2, opens="in")
    model = compile_scheme(made, "as found")
    site = site_of(model, ("as found", {}))
    rng = np.random.default_rng(5)

    studs = list(some_studs(site, rng, 40))

    assert len(studs) == 40
    swept = Point(0, 1100).buffer(762).intersection(box(0, 1100, 762, 1862))
    for stud in studs:
        words = str([stud_words(site, stud, 1)]).replace("'", '"')
        text = f"{made.text}  walled: {{from: as found, partitions: {words}}}\n"
        (fabric,) = check_scheme(parse_project(text), "walled", nudges=False).layout.room.fabric
        for part in fabric.parts:
            if part.low[0, 2] < 1.0:
                ring = Polygon(outline_of(part)[0])
                assert ring.intersection(swept).area < 1.0
                assert ring.bounds[0] > 300.0 or ring.bounds[2] - ring.bounds[0] > 500.0


def test_right_across_keeps_a_way():
    """A wall from wall to wall has an opening, and one can walk through it."""
    made = _made(1)
    model = compile_scheme(made, "as found")
    site = site_of(model, ("as found", {}))

    words = stud_words(site, Stud(0, 2000.0, None, 1200.0), 1)

    assert words["to"] == {"wall": "north", "along": 2200.0}
    assert words["openings"][0]["opening"] == "800 x 1981"
    text = made.text + f"  walled: {{from: as found, partitions: [{words}]}}\n".replace("'", '"')
    answer = check_scheme(parse_project(text), "walled", nudges=False)
    assert [f for f in answer.conflicts if f.check in {"passage", "bodies"}] == []


@pytest.mark.parametrize(
    ("said", "wrong"),
    [
        ("{at-most: 2}", "exactly one of build-up and thickness"),
        ("{build-up: stud 64}", "no such build-up 'stud 64'"),
        ("{thickness: 90, at-most: 3}", "at-most"),
        ("{thickness: 90, gain: -1}", "a gain is 0 or more"),
    ],
)
def test_what_cannot_be_allowed(said, wrong):
    """Slips in what is allowed are told with their place."""
    with pytest.raises(InputError, match=wrong) as error:
        _made(1, f"arrange: {{partitions: {said}}}")

    assert error.value.faults[0].mark is not None
