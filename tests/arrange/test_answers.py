"""Tests for answers: the examples beaten, schemes written, proofs and relaxations."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from massing.arrange.answers import Effort, arrange
from massing.arrange.bounds import cannot_fit
from massing.arrange.exhaustive import try_every
from massing.arrange.model import compile_scheme
from massing.arrange.relax import relaxations
from massing.arrange.written import scheme_lines, with_proposals
from massing.checks.run import check_scheme
from massing.cli.arrange_command import command
from massing.project.read import parse_project, read_project
from massing.voids.tally import tally
from tests.arrange.rooms import DOOR, project

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_boathouse_beats_the_hand_made_scheme():
    """Everything wanted, nothing accepted, and more clear floor than the scheme worked by hand."""
    made = read_project(EXAMPLES / "boathouse.yaml")
    by_hand = tally(check_scheme(made, "worked out", nudges=False).layout).standing_m2

    found = arrange(made, "first try", Effort(restarts=32, moves=80_000, answers=1))

    assert len(found.before.conflicts) >= 4
    assert found.proposals
    best = found.proposals[0]
    assert best.polished.conflicts == ()
    assert best.after.standing_m2 > by_hand
    assert {i.name for i in best.polished.answer.layout.items} == {
        i.name for i in found.before.layout.items
    }


def test_loft_beats_the_first_try_and_the_hand_made_scheme():
    """The stack out of the slope, the airer away, and more clear floor than before or by hand."""
    made = read_project(EXAMPLES / "loft.yaml")
    by_hand = tally(check_scheme(made, "worked out", nudges=False).layout).standing_m2

    found = arrange(made, "first try", Effort(restarts=8, moves=60_000, answers=1))

    assert len(found.before.conflicts) >= 9
    assert found.proposals
    assert found.proposals[0].polished.conflicts == ()
    assert found.proposals[0].after.standing_m2 >= by_hand > found.count.standing_m2


def test_what_is_written_reads_back_as_found():
    """The new schemes are the file's only change, and check as they did before writing."""
    made = read_project(EXAMPLES / "boathouse.yaml")
    found = arrange(made, "first try", Effort(restarts=6, moves=60_000, answers=2))

    text = with_proposals(made, found.proposals)

    assert text.startswith(made.text.rstrip("\n"))
    again = parse_project(text, made.path)
    for proposal in found.proposals:
        answer = check_scheme(again, proposal.name, nudges=False)
        assert answer.conflicts == ()
        assert tally(answer.layout).standing_m2 == proposal.after.standing_m2
        assert any("from: first try" in line for line in scheme_lines(proposal))


def test_answers_are_unlike_one_another():
    """Two answers differ in where at least two things are."""
    made = read_project(EXAMPLES / "boathouse.yaml")
    found = arrange(made, "first try", Effort(restarts=12, moves=60_000, answers=3))

    homes = [sorted(p.polished.homes) for p in found.proposals]
    assert len(homes) >= 2
    for number, one in enumerate(homes):
        for other in homes[number + 1 :]:
            assert sum(a != b for a, b in zip(one, other, strict=True)) >= 2


BIG = {f"chest {k}": "body: 1400 x 900 x 1000, weight: 50" for k in range(1, 6)}


def test_too_much_floor_is_proved():
    """Five chests of 1.26 m² do not go into 5.76 m² of floor, whatever the arrangement."""
    made = project(BIG, [f"item: {n}, at: [100, 100]" for n in BIG], size="2400 x 2400")

    proof = cannot_fit(compile_scheme(made, "as found"))

    assert proof == (
        "5 things that stand 1000 or taller take 6.30 m² of floor; "
        "5.76 m² of it is so high and free"
    )


def test_too_tall_is_proved():
    """A cupboard higher than the highest ceiling."""
    made = project({"cupboard": "body: 600 x 600 x 2500"}, ["item: cupboard, at: [900, 900]"])

    assert cannot_fit(compile_scheme(made, "as found")) == (
        "cupboard is 2500 tall; nowhere is the room so high"
    )


def test_round_things_are_not_counted_as_squares():
    """Four drums of 0.79 m² do not break a bound that four squares of 1 m² would."""
    part = "{name: drum, cylinder: {at: [500, 500, 0], diameter: 1000, length: 900}}"
    square = "{name: drum, box: 0..1000 x 0..1000 x 0..900}"
    said = []
    for form in (part, square):
        items = {f"drum {k}": f"parts: [{form}]" for k in range(1, 5)}
        placed = [f"item: {n}, at: [0, 0]" for n in items]
        made = project(items, placed, size="2000 x 1900", doors="")
        said.append(cannot_fit(compile_scheme(made, "as found")))

    assert said[0] is None
    assert said[1] is not None


def test_what_fits_is_never_called_impossible():
    """A floor filled to the last millimetre breaks no bound."""
    items = {f"block {k}": "body: 1200 x 1200 x 1000" for k in range(1, 5)}
    made = project(items, [f"item: {n}, at: [0, 0]" for n in items], size="2400 x 2400", doors="")

    assert cannot_fit(compile_scheme(made, "as found")) is None


def test_every_place_tried():
    """Three long things side by side need 2000 of width: in 1900 every stop is tried in vain."""
    items = {
        "plank": "body: 2900 x 500 x 600",
        "beam": "body: 2800 x 700 x 600",
        "trunk": "body: 2700 x 800 x 600",
    }
    placed = [f"item: {name}, at: [50, 50]" for name in items]
    tight = project(items, placed, size="3000 x 1900", doors="")
    wide = project(items, placed, size="3000 x 2000", doors="")

    every = try_every(compile_scheme(tight, "as found"), 100.0)

    assert every is not None
    assert every.found is None
    assert min(every.stops) > 0
    assert try_every(compile_scheme(wide, "as found")).found is not None


def test_every_place_finds_what_is_there():
    """Three things along three walls of a small room, found and clear."""
    items = {
        "bench": "body: 1400 x 600 x 900, zone: {front: 700}",
        "chest": "body: 700 x 450 x 980",
        "bin": "body: 300 x 300 x 600",
    }
    made = project(items, [f"item: {name}, at: [900, 900]" for name in items])
    model = compile_scheme(made, "as found")

    every = try_every(model)

    from massing.arrange.polish import remaining

    assert every.found is not None
    assert [f.check for f in remaining(model, every.found) if f.check != "passage"] == []


def test_door_opened_outward_makes_it_fit():
    """A chest that the door always hits, until the door opens outward."""
    items = {"chest": "body: 1100 x 1500 x 900, weight: 90"}
    door = DOOR.replace("along: 600", "along: 60")
    made = project(items, ["item: chest, at: [50, 50]"], size="1700 x 1600", doors=door)
    effort = Effort(restarts=3, moves=5000)

    found = arrange(made, "as found", effort)
    tried = next(relaxations(made, "as found", effort))

    assert found.proposals == ()
    assert found.proof.startswith("proved by trying everything")
    assert "entry" in found.tried or "the room" in found.tried
    assert tried.says == "with entry opening outward"
    assert tried.works
    text = with_proposals(made, tried.arranged.proposals)
    again = check_scheme(parse_project(text), "arranged 1", nudges=False)
    assert again.conflicts == ()
    assert "doors: {entry: {opens: out}}" in text


@pytest.mark.parametrize("dry", [True, False])
def test_command(tmp_path, dry):
    """The command writes the schemes into a copy, or prints them and writes nothing."""
    out = tmp_path / "made.yaml"
    words = [str(EXAMPLES / "loft.yaml"), "-s", "first try", "--moves", "200000", "--answers", "1"]
    words += ["--dry-run"] if dry else ["--out", str(out)]

    result = CliRunner().invoke(command, words, standalone_mode=False)

    assert result.exception is None
    assert result.return_value == 0
    assert out.exists() != dry
    if dry:
        assert "arranged 1:" in result.output
    else:
        assert "arranged 1" in read_project(out).arrangements
