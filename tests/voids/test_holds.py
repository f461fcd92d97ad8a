"""How many of one thing go into an empty box: by hand, in layers, and as far as stacking goes."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from massing.cli.voids_command import command
from massing.items.catalog import load_item
from massing.project.read import parse_project
from massing.voids.boxes import UsableBox
from massing.voids.holds import Thing, held_by, held_words, thing_of
from massing.voids.trial import item_of

ROOM = """
massing: 1
project: Store under the stair
room:
  size: 3000 x 2000
  ceiling: [{flat: 2400}]
  doors: [{name: entry, wall: south, along: 100, leaf: 762 x 1981 x 44, hinge: left, opens: out}]
items:
  long bench: {body: 1800 x 650 x 900}
  boxes of tiles: {body: 400 x 300 x 200, weight: 20, stack: {on: [boxes of tiles], carries: 50}}
  fat crate: {like: crate, body: 650 x 450 x 320}
schemes:
  here: [{item: long bench, against: north, along: 0}]
"""


def _box(size, low=(100.0, 200.0, 900.0)):
    high = tuple(a + b for a, b in zip(low, size, strict=True))
    return UsableBox(low, high, size[0] * size[1] * size[2], proved=True)


@pytest.mark.parametrize(
    ("size", "count", "layers"),
    [
        ((1200, 400, 319.9), 0, 0),
        ((1200, 400, 320), 2, 1),
        ((1199.8, 400, 320), 1, 1),
        ((1200, 800, 700), 8, 2),
        ((1000, 600, 330), 2, 1),  # one along, one across: 600 and 400 wide
        ((1200, 400, 5000), 6, 3),  # three high, whatever the box
    ],
)
def test_crates_by_hand(size, count, layers):
    """Crates of 600 x 400 x 320 at 15 kg; one carries 40 kg, so three stand on one another."""
    project = parse_project(ROOM)
    held = held_by(_box(size), thing_of(project, "crate", item_of(project, "crate")))

    assert (held.count, held.layers, held.at_most) == (count, layers, count)
    assert held.weight == 15 * count
    assert held.litres == pytest.approx(76.8 * count)


def test_what_is_laid_lies_in_the_box_and_apart():
    """Corners are in the room: none is outside the box, no two share room."""
    project = parse_project(ROOM)
    box = _box((2400.0, 690.0, 870.0))
    held = held_by(box, thing_of(project, "crate", item_of(project, "crate")))

    assert held.count == 12
    for at, size in held.laid:
        assert all(a >= low for a, low in zip(at, box.low, strict=True))
        ends = [a + s for a, s in zip(at, size, strict=True)]
        assert all(end <= high + 0.1 for end, high in zip(ends, box.high, strict=True))
    for k, (at, size) in enumerate(held.laid):
        for other, wide in held.laid[:k]:
            assert any(
                a + s <= b or b + w <= a for a, s, b, w in zip(at, size, other, wide, strict=True)
            )


def test_stacking_goes_as_far_as_the_lowest_carries():
    """20 kg on what carries 50: two on the lowest, three high; what says nothing stands alone."""
    project = parse_project(ROOM)

    tiles = thing_of(project, "boxes of tiles", item_of(project, "boxes of tiles"))
    fat = thing_of(project, "fat crate", item_of(project, "fat crate"))
    bench = thing_of(project, "long bench", item_of(project, "long bench"))

    assert (tiles.high, fat.high, bench.high) == (3, 3, 1)
    assert held_by(_box((400, 300, 2000)), tiles).count == 3
    assert held_by(_box((1800, 650, 2400)), bench).count == 1


def test_any_way_up_holds_no_fewer():
    """A thing of 300 x 300 x 800 goes into 850 x 310 x 610 only lying down: two, one on another."""
    rod = Thing("rods", (300.0, 300.0, 800.0))
    box = _box((850, 310, 610))

    assert held_by(box, rod).count == 0
    assert held_by(box, rod, any_way_up=True).count == 2
    assert held_words(held_by(box, rod)) == "no rods"
    assert held_words(held_by(box, rod, any_way_up=True)) == "2 x rods, 2 high, 144.0 L"


def test_what_is_not_proved_says_so():
    """12 x 5 tiles on 57 x 44 (41 go on, see the tests of packing): the words keep both numbers."""
    held = held_by(_box((570, 440, 10)), Thing("tiles", (120.0, 50.0, 10.0)))

    assert held.count < held.at_most
    assert held_words(held).endswith(f", up to {held.at_most} not ruled out")


def test_the_command_tells_each_box_and_all_of_them(tmp_path):
    """In words and as data; a name nobody knows and a size that is none are faults."""
    file = tmp_path / "store.yaml"
    file.write_text(ROOM)
    run = CliRunner()

    told = run.invoke(command, [str(file), "--hold", "crate", "--hold", "300x300x300"]).output
    data = json.loads(
        run.invoke(command, [str(file), "--hold", "crate", "--format", "json"]).output
    )
    plain = run.invoke(command, [str(file)]).output

    counts = [box["holds"][0]["count"] for box in data["boxes"]]
    assert sum(counts) > 0
    assert f"all boxes hold {sum(counts)} x crate" in told
    assert told.count("holds: ") == 2 * len(counts)
    assert load_item("crate").cautions[0].split(";")[0] in told
    assert "have loads on tops, shelves and floors checked" in " ".join(told.split())
    assert "hold" not in plain
    for words, says in (("crat", "did you mean 'crate'?"), ("300x300", "is not a size")):
        failed = run.invoke(command, [str(file), "--hold", words])
        assert says in str(failed.exception)
