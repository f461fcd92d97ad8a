"""Shapes that are kept are the shapes that would be built, and nothing unsure is kept."""

from __future__ import annotations

import numpy as np
import pytest

from massing.items import held
from massing.items.body import build_item
from massing.items.catalog import item_names, load_item
from massing.items.held import shape_of
from massing.items.spec import ItemSpec
from massing.survey.methods import default_half_width
from massing.survey.values import Values

UNSURE = {"name": "crate", "body": ["600 ±5", "400", "500"], "zone": {"front": 700}}


def arrays(shape):
    """Every array of a shape."""
    found = [part.solid.corners for part in shape.parts]
    found += [shape.low, shape.high]
    for zone in shape.zones:
        found += [zone.polygon] + ([] if zone.headroom is None else [zone.headroom])
    for gap in shape.gaps:
        found += [gap.depth, gap.solid.corners]
    for motion in shape.motions:
        found += [motion.solid.corners, motion.full, np.array([motion.axis])]
        found += [each for each in (motion.slide, motion.turn_about) if each is not None]
    return found


@pytest.mark.parametrize("name", item_names())
def test_kept_is_as_built(name):
    spec = load_item(name)
    shape_of(spec, Values(), key="first")
    kept, built = (arrays(make(spec, Values(), key="x")) for make in (shape_of, build_item))
    assert len(kept) == len(built)
    assert all(np.array_equal(a, b) for a, b in zip(kept, built, strict=True))


def test_the_same_measures_are_asked_for_in_the_same_order():
    spec = ItemSpec.model_validate(UNSURE)
    plain, quick = Values(), Values()
    for key in ("a", "b", "a"):
        build_item(spec, plain, key=key)
        shape_of(spec, quick, key=key)
    assert [m.key for m in quick.measures] == [m.key for m in plain.measures]
    assert len(quick.measures) == 2


def test_an_unsure_size_is_built_in_every_world():
    spec = ItemSpec.model_validate(UNSURE)
    sizes = Values()
    shape_of(spec, sizes, key="a")
    worlds = Values.shifted(sizes.measures, np.array([[0.0], [5.0], [-5.0]]))
    assert shape_of(spec, worlds, key="a").high[:, 0].tolist() == [600.0, 605.0, 595.0]
    assert id(spec) not in held._held


def test_a_size_another_project_doubts_is_not_taken_as_exact():
    """The same entry, exact here, has the ± of its method there."""
    text = {**UNSURE, "body": ["600 ±0", "400", "500 by tape"]}
    spec = ItemSpec.model_validate(text)
    doubting = Values(
        default=lambda length: (
            0.0 if length.method is None else default_half_width(length.method, length.mm)
        )
    )
    shape_of(spec, Values(), key="a")
    assert id(spec) in held._held
    shape_of(spec, doubting, key="a")
    assert [m.key for m in doubting.measures] == ["a body height"]
    worlds = Values.shifted(doubting.measures, np.array([[0.0], [3.0]]))
    assert shape_of(spec, worlds, key="a").high[:, 2].tolist() == [500.0, 503.0]


def test_no_more_are_kept_than_said(monkeypatch):
    monkeypatch.setattr(held, "_MOST", 3)
    held._held.clear()
    for size in range(8):
        shape_of(ItemSpec.model_validate({"name": "x", "body": [100 + size, 100, 100]}), Values())
        assert len(held._held) <= 3
