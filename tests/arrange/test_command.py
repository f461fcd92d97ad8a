"""Tests for `massing arrange`: shared over cores, stopped from the keyboard, and what it prints."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from massing.arrange import answers
from massing.cli.arrange_command import command

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LEAN_TO = [str(EXAMPLES / "lean-to.yaml"), "-s", "drying room", "--dry-run", "--answers", "2"]


def _run(*words):
    result = CliRunner().invoke(command, [*LEAN_TO, *words], standalone_mode=False)
    if result.exception is not None:
        raise result.exception
    return result


def test_two_cores_answer_as_one_does():
    """The same seed and moves give the same words, whatever shares the work."""
    one = _run("--moves", "200000", "--seed", "3")
    two = _run("--moves", "200000", "--seed", "3", "--cores", "2")

    assert one.output == two.output
    assert "arranged 1:" in one.output
    assert one.return_value == two.return_value == 0


def test_keyboard_keeps_the_best(monkeypatch):
    """A stop from the keyboard after two restarts still answers with what they found."""
    search = answers.search

    def stopped(model, **words):
        def tell(done, best):
            if done == 2 and best.hard <= 0.0:
                raise KeyboardInterrupt

        return search(model, **{**words, "report": tell})

    monkeypatch.setattr(answers, "search", stopped)
    result = _run("--moves", "400000")

    assert "in 2 restarts, stopped from the keyboard" in result.output
    assert result.return_value == 0


@pytest.mark.parametrize("seed", [0, 1])
def test_seed_decides(seed):
    """The same seed twice prints the same."""
    words = ("--moves", "100000", "--seed", str(seed))

    assert _run(*words).output == _run(*words).output
