"""A few hundred broken files, the same on every run; ``tests/bench/fuzz_reader.py`` goes on."""

from __future__ import annotations

import pytest

from massing.errors import InputError
from massing.project.read import parse_project
from tests.bench.broken_files import broken_mesh, broken_project, projects
from tests.bench.fuzz_reader import judge_mesh, judge_project


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_a_broken_project_is_read_or_refused_in_plain_words(first):
    for seed in range(first, first + 20):
        assert judge_project(broken_project([7, seed])) == "", seed


@pytest.mark.parametrize("first", range(0, 240, 80))
def test_a_broken_mesh_is_read_or_refused_in_plain_words(first):
    for seed in range(first, first + 80):
        assert judge_mesh(*broken_mesh([7, seed])) == "", seed


def test_there_is_enough_to_break():
    """The texts of the tests hold most of what a file can say."""
    assert len(projects()) > 30


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (RuntimeError("inner"), "RuntimeError"),
        (InputError([]), "no faults"),
    ],
)
def test_the_judge_sees_planted_faults(wrong, said, monkeypatch):
    """Planted: a reader that raises what it should not, or refuses without a word."""

    def broken(*_args):
        raise wrong

    monkeypatch.setattr("tests.bench.fuzz_reader.parse_project", broken)
    assert said in judge_project(b"massing: 1")


def test_the_judge_sees_a_fault_in_the_wrong_place(monkeypatch):
    """Planted: a fault one line further down than it is."""
    text = "massing: 1\nproject: p\nroom: 5\n"
    assert judge_project(text.encode()) == ""

    def shifted(data, name):
        return parse_project(b"#\n#\n" + data, name)

    monkeypatch.setattr("tests.bench.fuzz_reader.parse_project", shifted)
    assert "no such place" in judge_project(text.encode())


LONG = "x" * 70_000


@pytest.mark.parametrize(
    "text",
    [
        f"massing: {LONG}\nproject: p\n",
        "massing: |\n  massing: x\nproject: p\n",
        f"massing: 1\nproject: p\nroom: {{size: {LONG}}}\n",
        f"massing: 1\nproject: p\n{LONG}: 1\n",
        f"massing: 1\nproject: p\nroom: {{build-up: '{LONG}'}}\n",
        'massing: 1\nproject: p\nroom: {build-up: "a\\nb\\u202e"}\n',
    ],
    ids=["long", "block", "long size", "long key", "long name", "odd letters"],
)
def test_what_the_file_says_is_shown_on_one_short_line(text):
    """Found by fuzzing: a value of 70,000 letters, or of several lines, went into the message."""
    with pytest.raises(InputError) as caught:
        parse_project(text, "a.yaml")
    for fault in caught.value.faults:
        assert fault.says.isprintable()
        assert len(fault.says) <= 600


def test_a_thousand_slips_among_a_thousand_names_are_told_quickly():
    """Found by hand: each was compared with all, 70 s for 3,000; now no likely word is named."""
    text = "massing: 1\nproject: p\nroom: {size: 4000 x 3000, ceiling: [{flat: 2400}]}\nitems:\n"
    text += "".join(f"  i{k}: {{body: 6 x 4 x 5}}\n" for k in range(1000))
    text += "schemes:\n  a:\n" + "".join(f"    - {{item: j{k}, at: [1, 1]}}\n" for k in range(1000))
    with pytest.raises(InputError) as caught:
        parse_project(text)
    assert len(caught.value.faults) == 1000
    assert {fault.hint for fault in caught.value.faults} == {None}
