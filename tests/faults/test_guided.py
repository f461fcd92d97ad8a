"""Fuzzing guided by the lines reached: it finds what blind changes do not, the same each time."""

from __future__ import annotations

import importlib.util

import numpy as np
import pytest

from tests.bench.broken_files import ROOT, projects
from tests.bench.fuzz_reader import judge_project
from tests.bench.guided import Reached, explore
from tests.bench.odd_projects import ODD, odd_project

DEEP = """
def lock(data):
    if data[0] == 3:
        if data[1] == 1:
            if data[2] == 4:
                if data[3] == 1:
                    return "open"
    return ""
"""
TURNS = 8
"""Values of a digit."""


@pytest.fixture
def lock(tmp_path):
    """A function with four doors in a row, in a folder of its own."""
    path = tmp_path / "lock.py"
    path.write_text(DEEP, "utf-8")
    spec = importlib.util.spec_from_file_location("lock", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.lock


def turned(data, seed):
    """One of four digits another."""
    rng = np.random.default_rng(seed)
    at = int(rng.integers(4))
    return data[:at] + bytes([rng.integers(TURNS)]) + data[at + 1 :]


def opened(lock, folders, seed):
    reached = Reached(folders)
    done = explore([bytes(4)], turned, lock, reached, seed=seed, count=600)
    return sorted(done.broken.get("open", [])), done.kept, reached


def test_what_is_behind_four_doors_is_found(lock, tmp_path):
    """Guided within 600 tries, the same on every run; blind, never."""
    found, kept, reached = opened(lock, [tmp_path], 0)
    assert bytes([3, 1, 4, 1]) in found
    assert kept >= 4
    assert reached.share() == {tmp_path.name: (6, 6)}
    assert opened(lock, [tmp_path], 0)[0] == found
    assert sum(bool(opened(lock, [tmp_path / "elsewhere"], seed)[0]) for seed in range(4)) == 0


def test_odd_projects_are_read_or_refused_in_plain_words():
    """Rooms that no survey gives, and what comes of bending them, by the same seeds."""
    words = (*projects()[:20], *ODD)

    def change(data, seed):
        return odd_project(seed, data.decode("utf-8", "replace"), words).encode()

    reached = Reached([ROOT / "massing" / "room"])
    begin = [text.encode() for text in ODD]
    done = explore(begin, change, judge_project, reached, seed=11, count=len(ODD) + 40)
    assert done.broken == {}
    assert done.kept > len(ODD)


@pytest.mark.parametrize("first", range(0, len(ODD), 18))
def test_an_odd_room_that_can_be_read_is_answered(first):
    for text in ODD[first : first + 18]:
        assert judge_project(text.encode(), check=True) == "", text
