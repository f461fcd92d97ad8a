"""Tests for what would make it fit: the words of each change, that it works, and the smallest."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from massing.arrange.answers import Effort, arrange
from massing.arrange.relax import relaxations
from massing.arrange.written import with_proposals
from massing.checks.run import check_scheme
from massing.cli.arrange_command import command
from massing.project.read import parse_project
from tests.arrange.rooms import DOOR, project

_EFFORT = Effort(restarts=2, moves=4000)


def _benches():
    """Two benches of which a narrow room holds one."""
    items = {"work bench": "body: 1600 x 700 x 900, weight: 90, zone: {front: 800}"}
    placed = [f"item: work bench, name: {n}, at: [100, 50]" for n in ("bench", "second bench")]
    return project(items, placed, size="2000 x 1700", doors=DOOR.replace("opens: in", "opens: out"))


def _washer():
    """A washer 650 deep, with the floor before it, in a room that has 1250 of depth for it."""
    items = {"washer": "body: 600 x 650 x 850, weight: 75, zone: {front: 700}"}
    door = DOOR.replace("along: 600", "along: 200").replace("opens: in", "opens: out")
    return project(items, ["item: washer, at: [300, 100]"], size="1250 x 1250", doors=door)


def test_without_the_second_bench():
    """One of two has to go; each way of leaving one out works and says so."""
    made = _benches()

    assert arrange(made, "as found", _EFFORT).proposals == ()
    tried = {one.says: one for one in relaxations(made, "as found", _EFFORT)}

    assert tried["without second bench"].works
    assert tried["without bench"].works
    proposal = tried["without second bench"].arranged.proposals[0]
    text = with_proposals(made, [proposal])
    assert "remove: [second bench]" in text
    again = check_scheme(parse_project(text), proposal.name, nudges=False)
    assert again.conflicts == ()
    assert [item.name for item in again.layout.items] == ["bench"]


def test_with_the_washer_shallower():
    """100 off the depth makes it fit: told as a size to look for, not as a scheme."""
    made = _washer()

    assert arrange(made, "as found", _EFFORT).proposals == ()
    works = [one for one in relaxations(made, "as found", _EFFORT) if one.works]

    assert works[0].says == "with washer 550 deep, 100 less"
    assert not works[0].writable
    body = works[0].arranged.proposals[0].polished.answer.layout.item("washer")
    assert sorted(body.high[0, :2] - body.low[0, :2]) == pytest.approx([550.0, 600.0])


def test_a_door_comes_before_a_size_and_a_size_before_a_loss():
    """Changes are tried from the smallest: rehang, then a shallower thing, then one left out."""
    made = project(
        {"washer": "body: 600 x 650 x 850, weight: 75, zone: {front: 700}"},
        ["item: washer, at: [300, 100]"],
        size="1450 x 1450",
    )

    says = [one.says for one in relaxations(made, "as found", Effort(restarts=1, moves=1000))]

    assert says == [
        "with entry opening outward",
        "with washer 550 deep, 100 less",
        "with washer 450 deep, 200 less",
    ]


def test_command_says_what_would_make_it_fit(tmp_path):
    """Nothing fits: the proof is told, then the changes, and the first that a scheme can say."""
    file = tmp_path / "benches.yaml"
    file.write_text(_benches().text, encoding="utf-8")
    words = [str(file), "--moves", "40000"]

    result = CliRunner().invoke(command, words, standalone_mode=False)

    assert result.exception is None
    assert result.return_value == 1
    assert "nothing found for 'as found'" in result.output
    assert "without second bench: fits;" in result.output
    assert "wrote arranged 1" in result.output
    written = parse_project(file.read_text(encoding="utf-8"))
    assert check_scheme(written, "arranged 1", nudges=False).conflicts == ()


def test_all_changes_share_the_time(monkeypatch):
    """By a clock that goes four seconds at each look, what comes after ten is told untried."""
    made = _benches()
    clock = iter(range(0, 100_000, 4))
    monkeypatch.setattr("massing.arrange.relax.time.monotonic", lambda: float(next(clock)))

    tried = list(relaxations(made, "as found", Effort(restarts=1, moves=1000, seconds=10.0)))

    assert tried[0].arranged is not None
    assert [one.arranged for one in tried[1:]] == [None] * (len(tried) - 1)
    assert not any(one.works for one in tried[1:])


def test_the_command_says_how_many_were_not_tried(tmp_path, monkeypatch):
    """The file is left alone and the number told."""
    file = tmp_path / "room.yaml"
    file.write_text(_benches().text)
    clock = iter(range(0, 100_000, 400))
    monkeypatch.setattr("massing.arrange.relax.time.monotonic", lambda: float(next(clock)))

    told = CliRunner().invoke(command, [str(file), "--moves", "1000", "--seconds", "10"]).output

    assert "more not tried: the time was up; --seconds gives them more" in told
    assert file.read_text() == _benches().text
