"""The deepest spot for a person before a face, against windows tried one after the other.

Windows of a person's width at every millimetre never find a deeper spot; windows 2 mm narrower
never find a shallower one. So the true depth lies between the two.
"""

from __future__ import annotations

import random

import numpy as np
import pytest
from shapely import affinity, box, union_all

from massing.checks.ahead import Face
from massing.checks.context import Context
from massing.checks.rules import Rules
from massing.checks.spots import PERSON, spots_before
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values

WIDE, DEEP = 1000.0, 700.0  # of the face, which looks south from y 3000, x 2000 to 3000


def layout_of(boxes):
    rows = [
        f"{{item: box, name: box {k}, centre: [{x}, {y}], turn: {turn}}}"
        for k, (x, y, turn) in enumerate(boxes)
    ]
    text = (
        "massing: 1\nproject: p\nroom: {size: 6000 x 6000, ceiling: [{flat: 2400}]}\n"
        "items:\n  box: {body: 300 x 200 x 900}\n  face: {body: 1000 x 100 x 900}\n"
        "schemes:\n  a:\n    - {item: face, at: [2000, 3000], facing: south}\n"
        + "".join(f"    - {row}\n" for row in rows)
    )
    return place(parse_project(text), "a", Values())


def found(boxes):
    layout = layout_of(boxes)
    one = np.array([[1.0]])
    face = Face(
        np.array([[[0.0, -1.0]]]), np.array([[[1.0, 0.0]]]), -3000.0 * one, 2000.0 * one, 3000 * one
    )
    context = Context(layout, Rules(), reach=150.0)
    ends = (0.0 * one, DEEP * one), (150.0 * one, 1400.0 * one)
    told = list(spots_before(context, layout.items[:1], face, *ends))
    return float(told[0][1].depth[0]) if told else DEEP


def tried(boxes, width):
    """The deepest of windows so wide at every millimetre whose middle is before the face."""
    shapes = [
        affinity.translate(affinity.rotate(box(-150, -100, 150, 100), turn), x, y)
        for x, y, turn in boxes
    ]
    taken = union_all(shapes)
    left, right = 2000.0 - PERSON / 2.0, 3000.0 + PERSON / 2.0
    best = 0.0
    for start in np.arange(left, right - width + 1e-6, 1.0):
        met = box(start, 3000.0 - DEEP, start + width, 3000.0).intersection(taken)
        best = max(best, DEEP if met.is_empty else 3000.0 - met.bounds[3])
    return best


def scene(seed):
    draw = random.Random(seed)
    return [
        (draw.randint(1800, 3200), draw.randint(2200, 2850), draw.choice((0, 0, 20, -35, 60)))
        for _ in range(draw.randint(1, 4))
    ]


@pytest.mark.parametrize("seed", range(12))
def test_against_windows(seed):
    """Between what windows a little too narrow and just wide enough find."""
    boxes = scene(seed)
    depth = found(boxes)
    assert tried(boxes, PERSON) - 0.02 <= depth <= tried(boxes, PERSON - 2.0) + 0.02


def test_the_windows_would_notice():
    """A box left out of the scene shows, and some scenes are neither empty nor full."""
    depths = [found(scene(seed)) for seed in range(12)]
    assert sum(0.0 < depth < DEEP for depth in depths) >= 3
    worse = [k for k in range(12) if tried(scene(k)[1:], PERSON) > depths[k] + 1.0]
    assert worse
