"""The catalogue: every entry reads, says where its sizes come from, and is the size it says."""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.errors import InputError
from massing.items.body import build_item
from massing.items.catalog import item_names, load_item, plain_name, resolve
from massing.items.shape import ItemShape, MotionShape
from massing.items.spec import ItemSpec
from massing.reading.catalog_folder import catalog_folder
from massing.survey.values import Values

FILES = sorted(e.name for e in catalog_folder().joinpath("items").iterdir())
CAUTIONED = ("load", "fix", "tie", "check", "gas", "electric", "room", "keep", "lock")


def shape_of(name: str) -> ItemShape:
    return build_item(load_item(name), Values(), key=name)


def own(**items: dict) -> dict[str, ItemSpec]:
    return {k.replace("_", " "): ItemSpec.model_validate(v) for k, v in items.items()}


def opened(motion: MotionShape, angle: float | None = None) -> np.ndarray:
    """Corners of the moving solid at full travel, by Rodrigues' formula."""
    corners = motion.solid.corners[0]
    if motion.slide is not None:
        return corners + motion.slide[0]
    turn = motion.full[0] if angle is None else angle
    k, local = np.array(motion.axis), corners - motion.turn_about[0]
    turned = (
        local * math.cos(turn)
        + np.cross(k, local) * math.sin(turn)
        + np.outer(local @ k, k) * (1 - math.cos(turn))
    )
    return turned + motion.turn_about[0]


def test_it_is_large_enough_and_its_names_are_file_names():
    assert len(item_names()) >= 70
    assert len(set(map(plain_name, item_names()))) == len(item_names())
    assert all(name.endswith(".yaml") and name == name.lower() for name in FILES)


@pytest.mark.parametrize("name", item_names())
def test_the_name_inside_is_the_file_name(name):
    assert load_item(name).name == name
    assert f"{name.replace(' ', '-')}.yaml" in FILES


def wanted_basis(spec: ItemSpec) -> set[str]:
    """Every dimension an entry gives, by the key its basis must stand under."""
    wanted = {"body"} if spec.body or spec.parts else set()
    wanted |= {f"zone {zone.name}" for zone in spec.all_zones}
    gaps = spec.gaps.model_fields_set - {"why"} if spec.gaps else set()
    wanted |= {f"gap {side}" for side in gaps}
    wanted |= {f"motion {motion.name}" for motion in spec.motions}
    wanted |= {f"control {control.name}" for control in spec.controls}
    wanted |= {"weight"} if spec.weight is not None else set()
    return wanted | ({"carries"} if spec.stack and spec.stack.carries is not None else set())


def bad_basis(spec: ItemSpec) -> set[str]:
    """Dimensions without a basis, bases of nothing, and bases that do not say what they are."""
    wanted = wanted_basis(spec)
    starts = ("published: ", "common practice, no source", "from memory")
    vague = {key for key, text in spec.basis.items() if not text.startswith(starts)}
    unseen = {k for k, t in spec.basis.items() if t.startswith("pub") and "second-hand" not in t}
    return (wanted ^ set(spec.basis)) | vague | unseen


@pytest.mark.parametrize("name", item_names())
def test_every_dimension_has_its_basis(name):
    assert bad_basis(load_item(name)) == set()


def test_a_missing_basis_is_noticed():
    spec = load_item("tool chest")
    for key in spec.basis:
        less = {k: v for k, v in spec.basis.items() if k != key}
        assert bad_basis(spec.model_copy(update={"basis": less})) == {key}
    for text in ("", "a shop", "published: a shop window"):
        changed = {**spec.basis, "body": text}
        assert bad_basis(spec.model_copy(update={"basis": changed})) == {"body"}


@pytest.mark.parametrize("name", item_names())
def test_the_parts_fill_the_written_body_exactly(name):
    spec, shape = load_item(name), shape_of(name)
    low = np.min([part.solid.low[0] for part in shape.parts], axis=0)
    high = np.max([part.solid.high[0] for part in shape.parts], axis=0)
    assert low.tolist() == [0.0, 0.0, 0.0]
    assert high == pytest.approx([side.mm for side in spec.body], abs=1e-9)
    assert shape.high[0] == pytest.approx(high, abs=1e-9)
    assert all(part.solid.volume[0] > 0 for part in shape.parts)


@pytest.mark.parametrize("name", item_names())
def test_a_catalogue_part_is_drawn_at_its_true_size(name):
    """Stretching is for heirs: an entry that draws parts draws them as large as its body."""
    spec = load_item(name)
    assert not spec.stretch or spec.kin


@pytest.mark.parametrize("name", item_names())
def test_zones_lie_outside_the_body_or_wholly_under_it(name):
    shape = shape_of(name)
    width, depth, _ = shape.high[0]
    for zone in shape.zones:
        low, high = zone.polygon[0].min(axis=0), zone.polygon[0].max(axis=0)
        outside = high[1] <= 0 or low[1] >= depth or high[0] <= 0 or low[0] >= width
        under = low.min() >= 0.0 and high[0] <= width and high[1] <= depth
        assert outside or under
        a, b = zone.polygon[0, 1] - zone.polygon[0, 0], zone.polygon[0, 2] - zone.polygon[0, 1]
        assert a[0] * b[1] - a[1] * b[0] > 0


@pytest.mark.parametrize("name", item_names())
def test_gaps_touch_the_body_and_keep_out_of_it(name):
    shape = shape_of(name)
    for gap in shape.gaps:
        low, high = gap.solid.low[0], gap.solid.high[0]
        overlap = np.minimum(high, shape.high[0]) - np.maximum(low, 0.0)
        assert sorted(np.sign(overlap)) == [0.0, 1.0, 1.0]
        assert gap.depth[0] in (high - low)


@pytest.mark.parametrize("name", item_names())
def test_open_doors_and_drawers_stand_clear_of_the_item(name):
    """Shut they lie within the body; open by 90 degrees or pulled out they are in front of it."""
    shape = shape_of(name)
    size = shape.high[0]
    for motion in shape.motions:
        shut = motion.solid.corners[0]
        inside = (shut >= -1e-9).all() and (shut <= size + 1e-9).all()
        at = opened(motion, math.radians(90.0))
        if motion.kind in {"leaf", "flap", "drawer"}:
            assert inside
            side = next(m.side for m in shape.spec.motions if m.name == motion.name)
            assert side == "front"
            width = np.ptp(shut[:, 0]) if motion.kind == "leaf" else np.ptp(shut[:, 2])
            reach = motion.full[0] if motion.kind == "drawer" else width
            assert at[:, 1].min() == pytest.approx(-reach, abs=1e-6)
            assert at[:, 0].min() >= -1e-6
            assert at[:, 0].max() <= size[0] + 1e-6
        elif motion.kind == "lid":
            assert inside
            assert at[:, 2].min() == pytest.approx(size[2])
            assert at[:, 1].max() == pytest.approx(size[1])
            assert at[:, 1].min() >= 0
        elif motion.kind == "overhead":
            assert at[:, 2].max() == pytest.approx(size[2])
            assert at[:, 1].min() < -size[2] * 0.9  # its back to the wall, it swings in
        assert motion.needs is None or 0 < motion.needs <= motion.full[0] + 1e-12


@pytest.mark.parametrize("name", item_names())
def test_heavy_hung_and_served_items_carry_a_caution(name):
    spec = load_item(name)
    if spec.mount in {"wall", "ceiling"} or (spec.wet and spec.group in {"laundry", "services"}):
        assert spec.cautions or spec.kin
    if spec.mount == "ceiling" or (spec.mount == "wall" and (spec.weight or 0) > 25):
        assert any(word in c.lower() for c in spec.cautions for word in CAUTIONED)


@pytest.mark.parametrize("name", item_names())
def test_what_may_stand_on_what_is_in_the_catalogue(name):
    stack = load_item(name).stack
    for below in stack.on if stack else ():
        assert plain_name(below) in item_names()
        carried = load_item(below).stack
        assert carried is None or carried.carries is None or carried.carries >= 15


def test_a_dryer_stands_on_a_washer_and_never_the_reverse():
    assert "front load washer" in load_item("dryer").stack.on
    for washer in ("front load washer", "slim washer", "top load washer", "washer"):
        stack = load_item(washer).stack
        assert stack is None or stack.on == ()


def test_the_consumer_unit_keeps_its_working_space():
    """Working space 760 x 900 to 2000; source: NEC 110.26, rounded, seen second-hand."""
    shape = shape_of("consumer unit")
    zone = shape.zones[0]
    assert zone.kind == "service"
    assert zone.headroom[0] == 2000
    assert np.ptp(zone.polygon[0], axis=0).tolist() == [760.0, 900.0]
    assert zone.polygon[0].mean(axis=0).tolist() == [150.0, -450.0]
    low, high = shape.spec.controls[0].between
    assert (low.mm, high.mm) == (1350.0, 1450.0)


def test_unknown_names_are_answered_with_the_nearest():
    for wrong, near in {"wheeld bin": "wheeled bin", "tool chst": "tool chest"}.items():
        with pytest.raises(InputError, match=f"did you mean '{near}'"):
            load_item(wrong)
    with pytest.raises(InputError, match="did you mean 'nipping press'"):
        resolve("niping press", own(nipping_press={"body": "500 x 450 x 620"}))


def test_names_are_met_however_they_are_written():
    assert resolve("Front-Load  washer", {}).name == "front load washer"
    assert resolve("My-Bench", own(my_bench={"like": "work bench"})).kin == ("work bench",)


def test_own_items_go_before_the_catalogue_and_may_build_on_it():
    mine = own(
        work_bench={"like": "work bench", "weight": 60},
        small_bench={"like": "work bench", "body": "900 x 500 x 850", "gaps": {"back": 20}},
    )
    assert resolve("work bench", {}).weight == 100
    assert resolve("work bench", mine).weight == 60
    small = resolve("small bench", mine)
    assert small.weight == 60
    assert small.kin == ("work bench", "work bench")
    assert [side.mm for side in small.body] == [900, 500, 850]
    assert set(small.basis) == {"zone stand"}


def test_a_new_body_stretches_the_parts_it_inherits():
    mine = own(my_desk={"like": "desk", "body": "2800 x 700 x 740"})
    shape = build_item(resolve("my desk", mine), Values(), key="my desk")
    plain = shape_of("desk")
    for part, old in zip(shape.parts, plain.parts, strict=True):
        assert part.solid.corners == pytest.approx(old.solid.corners * [2.0, 1.0, 1.0])


def test_new_parts_leave_the_inherited_body_behind():
    parts = [{"name": "slab", "box": "0..100 x 0..200 x 0..300"}]
    spec = resolve("mine", own(mine={"like": "desk", "parts": parts}))
    assert spec.body is None
    assert build_item(spec, Values(), key="mine").high.tolist() == [[100.0, 200.0, 300.0]]


@pytest.mark.parametrize(
    "items",
    [
        {"a": {"like": "b"}, "b": {"like": "a"}},
        {"a": {"like": "a"}},
        {"a": {"like": "b"}, "b": {"like": "c"}, "c": {"like": "b"}},
    ],
)
def test_items_like_one_another_are_refused(items):
    with pytest.raises(InputError, match="like one another"):
        resolve("a", own(**items))
