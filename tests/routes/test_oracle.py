"""A found path, walked step by step by another library against outlines drawn by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, affinity, box, union_all

from massing.geometry.tolerance import TOUCH
from massing.project.read import parse_project
from massing.routes.carry import Asked, carry_in
from massing.scheme.place import place
from massing.survey.values import Values

ROOM = """
massing: 1
project: Walked
room:
  size: 4000 x 3000
  thickness: 100
  ceiling: [{{flat: 2400}}]
  doors: [{{name: door, wall: {wall}, along: {along}, opening: 900 x 2000, kind: open}}]
items:
  crate: {{body: 1100 x 500 x 600, weight: 30}}
  stack: {{body: 700 x 800 x 900, weight: 30}}
schemes:
  a:
    - {{item: crate, at: {crate}}}
    - {{item: stack, at: {one}}}
    - {{item: stack, name: other, at: {two}}}
"""
PLAIN = {
    "wall": "west",
    "along": 400,
    "crate": "[2700, 2300]",
    "one": "[1000, 0]",
    "two": "[1600, 1700]",
}
FLIPPED = PLAIN | {
    "along": 1700,
    "crate": "[2700, 200]",
    "one": "[1000, 2200]",
    "two": "[1600, 500]",
}


def answer(words):
    layout = place(parse_project(ROOM.format(**words)), "a", Values())
    return carry_in(layout, "crate", Asked(tilting=False))


def solid():
    """Everything that is not free, by hand: walls, and the two stacks."""
    free = union_all(
        [box(0, 0, 4000, 3000), box(-100, 400, 0, 1300), box(-9000, -9000, -100, 12000)]
    )
    walls = box(-9000, -9000, 9000, 12000).difference(free)
    return union_all([walls, box(1000, 0, 1700, 800), box(1600, 1700, 2300, 2500)])


def walked(path, poses, shift=0.0):
    """Least distance of the crate along the path in small steps, until it is pushed home."""
    crate, things = box(-550, -250, 550, 250), solid()
    least = math.inf
    for (pose, a), (_, b) in zip(
        list(zip(poses, path, strict=True))[:-1],
        list(zip(poses, path, strict=True))[1:],
        strict=True,
    ):
        if pose == "in its place":
            break
        count = 1 + int(max(np.hypot(*(b - a)[:2]) / 5.0, abs(b[2] - a[2]) / 0.01))
        for k in range(count + 1):
            x, y, turn = a + (b - a) * k / count
            moved = affinity.rotate(crate, turn, origin=(0, 0), use_radians=True)
            moved = affinity.translate(moved, x, y + shift)
            least = min(least, moved.distance(things))
            if moved.intersection(things).area > 1.0:
                return -1.0
    return least


@pytest.fixture(scope="module")
def found():
    return answer(PLAIN)


def test_the_walked_path_is_as_clear_as_it_says(found):
    """The least distance met by stepping is the gap that is said, within what a step can miss."""
    assert found.found
    least = walked(found.path, found.poses)
    assert found.gap - 1e-6 <= least <= found.gap + 3.0
    # The search takes overlaps up to TOUCH for contact.
    assert found.gap >= found.spare - TOUCH


def test_a_planted_fault_is_met(found):
    """The same path moved aside by more than its gap runs into something."""
    shift = found.gap + 40.0
    assert walked(found.path, found.poses, shift) < 0 or walked(found.path, found.poses, -shift) < 0


def test_the_tightest_place_is_where_it_says(found):
    """Within the gap of what is named there."""
    shapes = {"stack": box(1000, 0, 1700, 800), "other": box(1600, 1700, 2300, 2500)}
    shapes["the wall"] = solid()
    point = Polygon(found.where + 1e-3 * np.array([[0, 0], [1, 0], [0, 1]]))
    assert shapes[found.against].distance(point) <= found.gap + 0.01


def test_mirrored_it_is_the_same(found):
    """The room turned over in y keeps as much to each side."""
    other = answer(FLIPPED)
    assert (other.found, other.spare) == (found.found, found.spare)


def test_it_is_the_same_twice(found):
    """Nothing depends on a clock or on the order of a set."""
    again = answer(PLAIN)
    assert np.array_equal(again.path, found.path)
    assert again.says == found.says
