"""What has one cause is told together: nothing is lost, nothing is said twice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.checks.finding import Finding, Nudge, Verdict
from massing.checks.run import check_scheme
from massing.cli.text import answer_text
from massing.handover.folding import folds
from massing.project.read import parse_project

TAIL = """
massing: 1
project: Garage tail
room:
  size: 2780 x 3460
  ceiling: [{slopes: {west: 1985, east: 2560}}]
  doors: [{name: door, wall: south, along: 1500, leaf: 838 x 1900 x 44, opens: out}]
items:
  bench: {body: 1300 x 600 x 920, weight: 110, zone: {front: 800}}
  shelf: {body: 900 x 250 x 300, mount: wall, weight: 8, zone: {front: 300}}
schemes:
  wanted:
    - {item: washer, against: north, along: 60}
    - {item: dryer, on: washer}
    - {item: bench, against: west, along: 100}
    - {item: shelf, against: east, along: 100, height: 1500}
    - {item: shelf, name: second shelf, against: east, along: 1800, height: 1400}
"""


def finding(says="a", *, check="load", verdict=Verdict.CAUTION, **more):
    facts = {"items": ("a",), "gap_mm": 0.0, "needs_mm": 0.0, "plus_minus_mm": 0.0}
    facts |= {"worst_mm": 0.0, "best_mm": 0.0, "chance_clear": 1.0}
    return Finding(check=check, verdict=verdict, says=says, **(facts | more))


def test_one_move_that_clears_several_is_said_once():
    """Not so a move of another size, nor one that starts something else."""
    move = Nudge("washer", (1.0, 0.0, 0.0))
    moves = [move, Nudge("washer", (2.0, 0.0, 0.0)), replace(move, starts=("a blow",)), None, move]
    found = [finding(f"{k}", verdict=Verdict.CONFLICT, nudge=n) for k, n in enumerate(moves)]
    folded = folds(found)
    assert [[number for number, _ in fold.members] for fold in folded] == [[1, 5], [2], [3], [4]]
    assert [fold.nudge for fold in folded] == moves[:4]


def test_conflicts_without_a_move_are_each_their_own():
    """Nothing says that they have one cause."""
    assert len(folds([finding("a", verdict=Verdict.CONFLICT)] * 2)) == 2


def test_one_moving_part_is_told_of_once_for_all_that_stops_it():
    """Each with the move that clears it, and no move said to clear all."""
    moves = (Nudge("bin", (1.0, 0.0, 0.0)), Nudge("box", (0.0, 1.0, 0.0)))
    (fold,) = folds(
        finding(f"a opens 1 of 9, stopped by {n.item}", check="motion", reaches=1.0, of=9.0,
                verdict=Verdict.CONFLICT, nudge=n, items=("a", n.item))
        for n in moves
    )  # fmt: skip
    assert len(fold.members) == 2
    assert fold.nudge is None


def test_the_tail_stops_at_a_clause():
    """And takes no measured size along, nor half of what stands in brackets."""
    (fold,) = folds([finding("x (1, 2), so"), finding("y (3, 2), so")])
    assert fold.tail == "so"
    for one, other in (("x (1, 2)", "y (3, 2)"), ("x, over 5 m", "y, over 5 m")):
        (fold,) = folds([finding(one), finding(other)])
        assert fold.tail == ""
    (fold,) = folds(
        [finding("x: 3 clear; 7 asked for, so"), finding("y: 4 clear; 7 asked for, so")]
    )
    assert fold.tail == "7 asked for, so"


WORDS = st.lists(st.sampled_from(["a", "b", "c"]), min_size=1, max_size=4).map(", ".join)


@given(
    st.lists(
        st.tuples(WORDS, st.sampled_from(["load", "zone"]), st.sampled_from(list(Verdict))),
        max_size=12,
    )
)
def test_nothing_is_lost(rows):
    """Every number once, in order within a fold; each member's words and the tail are its own."""
    found = [finding(says, check=check, verdict=verdict) for says, check, verdict in rows]
    folded = folds(found)
    kept = [f for f in found if f.verdict is not Verdict.CLEAR]
    members = [member for fold in folded for member in fold.members]
    assert sorted(n for n, _ in members) == list(range(1, len(kept) + 1))
    assert all(kept[n - 1] is f for n, f in members)
    for fold in folded:
        numbers = [n for n, _ in fold.members]
        assert numbers == sorted(numbers)
        for _, one in fold.members:
            assert one.says.startswith(fold.says(one))
            assert fold.says(one)
            rest = one.says.removeprefix(fold.says(one))
            assert rest.lstrip(";,: ") == fold.tail
    firsts = [fold.members[0][0] for fold in folded]
    assert firsts == sorted(firsts)


@pytest.fixture(scope="module")
def answer():
    return check_scheme(parse_project(TAIL, "tail.yaml"), "wanted")


def test_the_text_writes_each_number_and_says_what_is_shared_once(answer):
    """A rule that several cautions rest on is written once, their numbers all."""
    text = answer_text(answer)
    kept = [f for f in answer.findings if f.verdict is not Verdict.CLEAR]
    lines = text.splitlines()
    assert all(any(line.startswith(f"{n:>3}  ") for line in lines) for n in range(1, len(kept) + 1))
    loads = [f for f in kept if f.check == "under hung" and f.verdict is Verdict.CAUTION]
    assert len(loads) == 2
    assert text.count("asked by under hung") == 1
    heads = [f for f in kept if f.check == "headroom" and f.nudge and f.nudge.item == "washer"]
    assert len(heads) == 2
    assert heads[0].nudge == heads[1].nudge
    assert " clears both" in text
