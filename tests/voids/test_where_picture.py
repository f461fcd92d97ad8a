"""Pictures of where a thing can stand, by the colours of places worked out from their scale."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image, ImageColor, ImageFont

from massing.voids.trial import without
from massing.voids.where import where_against
from massing.voids.where_free import where_on_floor
from massing.voids.where_free_picture import with_floor_maps
from massing.voids.where_picture import Tones, mixed, where_png
from tests.voids.rooms import laid, project_of

TONES = Tones(
    ground="#FFFFFF", floor="#00FF00", wall="#808080", ink="#000000", faint="#C0C0C0",
    quiet="#606060", body="#0000FF", kept="#800080", free="#FF0000", shut="#00FFFF",
)  # fmt: skip
TEXT = """\
items:
  crate: {body: 1000 x 500 x 900}
  case: {body: 1000 x 400 x 800}
  post: {body: 300 x 300 x 2000}
  lamp: {body: 400 x 400 x 300, mount: ceiling}
schemes:
  one:
    - {item: case, at: [500, 2300]}
    - {item: post, at: [3000, 2500], stays: true}
    - {item: lamp, at: [1800, 1900, 2000]}
"""
DOOR = "doors: [{name: entry, wall: west, along: 800, leaf: 762 x 1981 x 44, opens: in}]"
# 1300 pixels are there for 4000 and 900 for 3000: 0.3 a millimetre, with 170 all round and more.
SCALE, LEFT, DOWN = 0.3, 170, 170 + 96 + 900
SIZE = (1200 + 2 * 170, 900 + 2 * 170 + 96 + 70)


def font(size):
    return ImageFont.load_default(size)


@pytest.fixture(scope="module")
def drawn():
    """The picture, that with the plans of each turn under it, and the maps of both."""
    project = project_of(TEXT, f"size: 4000 x 3000\nceiling: [{{flat: 2400}}]\n{DOOR}")
    maps = where_against(project, "one", "crate")
    floors = where_on_floor(project, "one", "crate")
    layout = laid(without(project, "one", {"crate"}), "one")
    sheet = where_png(layout, maps, "where", TONES, font)
    both = with_floor_maps(sheet, layout, floors, TONES, font)
    return (*(Image.open(io.BytesIO(data)).convert("RGB") for data in (sheet, both)), floors, maps)


def tone(name):
    return ImageColor.getrgb(getattr(TONES, name) if hasattr(TONES, name) else name)


def at(image, x, y):
    """The colour of a place in the room, mm."""
    return image.getpixel((round(LEFT + SCALE * x), round(DOWN - SCALE * y)))


def test_a_tone_laid_thinly_is_mixed_colour_by_colour():
    tones = replace(TONES, free="#FF8040", floor="#204060")
    assert [mixed(tones, share) for share in (0.0, 0.5, 1.0)] == ["#204060", "#906050", "#FF8040"]


def test_the_plan_is_to_scale_with_north_up(drawn):
    image, _, _, maps = drawn
    assert image.size == SIZE
    south = next(found for found in maps if found.wall == "south")
    assert [(s.start, s.stop) for s in south.stretches] != []
    band = tone(mixed(TONES, 0.35))
    for (x, y), colour in {
        (-400, 1500): tone("ground"), (2000, 1500): tone("floor"), (1500, 1300): tone("floor"),
        # The floor a crate may take is 500 deep along the south wall, and no further.
        (2000, 250): band, (2000, 490): band, (2000, 520): tone("floor"),
        (550, 2350): tone("body"), (1450, 2650): tone("body"), (1560, 2400): tone("floor"),
        (3050, 2550): tone("kept"), (3250, 2750): tone("kept"),
        # What hangs is an outline 2 wide, and hides nothing.
        (1800, 2000): tone("ink"), (1860, 1960): tone("floor"), (-3, 2900): tone("ink"),
    }.items():  # fmt: skip
        assert at(image, x, y) == colour, (x, y)


def test_beside_each_wall_a_bar_tells_where_the_left_end_may_be(drawn):
    """22 pixels out; along the south wall from its left end, which is east as one faces it."""
    image, _, _, maps = drawn
    south = next(found for found in maps if found.wall == "south")
    (stretch,) = south.stretches
    assert (stretch.start, stretch.stop) == (0.0, pytest.approx(3000.0, abs=800.0))
    off = -22.0 / SCALE
    assert at(image, 4000.0 - (stretch.start + stretch.stop) / 2, off) == tone("free")
    assert at(image, 4000.0 - stretch.stop - 60.0, off) == tone("shut")
    assert at(image, 4000.0 - (stretch.start + stretch.stop) / 2, off - 8 / SCALE) == tone("ground")


def test_the_key_has_both_colours(drawn):
    image, *_ = drawn
    assert image.getpixel((51, SIZE[1] - 42 + 7)) == tone("free")
    row = [image.getpixel((x, SIZE[1] - 42 + 7)) for x in range(SIZE[0])]
    assert row.count(tone("shut")) == 23


def test_a_leaf_is_drawn_as_it_swings(drawn):
    """Pinned in the west wall and 762 wide: its arc passes 762 from the pin at half its turn."""
    image, *_ = drawn
    project = project_of(TEXT, f"size: 4000 x 3000\nceiling: [{{flat: 2400}}]\n{DOOR}")
    (leaf,) = laid(project, "one").leaves
    way = leaf.shut[0] + np.array([1.0, 0.0])
    spot = leaf.pin[0] + 762.0 * way / np.hypot(*way)
    near = {at(image, spot[0] + dx, spot[1] + dy) for dx in (-3, 0, 3) for dy in (-3, 0, 3)}
    assert tone("faint") in near


def test_under_it_are_plans_of_each_turn_to_scale(drawn):
    """Two abreast, each half as wide, 60 round it: 650 / 4000 pixels a millimetre."""
    sheet, both, floors, _ = drawn
    wide = SIZE[0] // 2
    scale = (wide - 120) / 4000.0
    tall = round(3000.0 * scale)
    assert both.size == (SIZE[0], SIZE[1] + -(-len(floors) // 2) * (74 + tall + 30))
    assert both.crop((0, 0, *SIZE)).tobytes() == sheet.tobytes()
    for number, found in enumerate(floors):
        left = number % 2 * wide + 60
        down = SIZE[1] + number // 2 * (74 + tall + 30) + 74 + tall

        def colour(x, y, left=left, down=down):
            return both.getpixel((round(left + scale * x), round(down - scale * y)))

        x, y = np.array(found.size) / 2.0
        assert colour(x / 2, 1500.0) == tone("floor")
        assert colour(2500.0, y + 60.0) == tone(mixed(TONES, 0.8))
        assert colour(500.0, 2450.0) == colour(3997.0, 700.0) == tone("ink")
        assert colour(4000.0 + 20.0 / scale, 1500.0) == tone("ground")
        assert colour(2500.0, y / 2) == tone("floor")
        assert found.spot is not None
        assert colour(*found.spot) == tone("ink")
        assert colour(found.spot[0] + 4.0 / scale, found.spot[1]) == tone("ink")
        # Its front is in bold, the middle of it too.
        assert colour(*(np.array(found.spot) + found.foot[:2].mean(axis=0))) == tone("free")


@pytest.mark.parametrize("wall", ["south", "north", "west"])
def test_the_key_and_the_title_keep_clear_of_a_door_swung_out(wall):
    """A leaf 1200 wide, 360 pixels, goes out past the 170 of margin to the south or north only."""
    door = f"doors: [{{name: gate, wall: {wall}, along: 800, leaf: 1200 x 1981 x 44, opens: out}}]"
    project = project_of(TEXT, f"size: 4000 x 3000\nceiling: [{{flat: 2400}}]\n{door}")
    layout = laid(without(project, "one", {"crate"}), "one")
    sheet = where_png(
        layout,
        where_against(project, "one", "crate"),
        "where",
        replace(TONES, faint="#123456"),
        font,
    )
    image = Image.open(io.BytesIO(sheet)).convert("RGB")
    more = 0 if wall == "west" else 360 + 30 - 170
    assert image.size == (SIZE[0], SIZE[1] + more)
    arcs = np.argwhere((np.asarray(image) == (0x12, 0x34, 0x56)).all(axis=2))[:, 0]
    assert arcs.min() > 90
    assert arcs.max() < image.size[1] - 50


def test_where_a_room_lies_on_its_grid_changes_next_to_nothing():
    """1000 east and 500 north: but for ends of lines that round the other way it is the same."""

    def picture(dx, dy):
        corners = [[x + dx, y + dy] for x, y in ((0, 0), (4000, 0), (4000, 3000), (0, 3000))]
        project = project_of(
            "items:\n  crate: {body: 1000 x 500 x 900}\n  case: {body: 1000 x 400 x 800}\n"
            f"schemes: {{one: [{{item: case, at: [{500 + dx}, {2300 + dy}]}}]}}\n",
            f"names: [south, east, north, west]\ncorners: {corners}\nceiling: [{{flat: 2400}}]",
        )
        layout = laid(without(project, "one", {"crate"}), "one")
        sheet = where_png(layout, where_against(project, "one", "crate"), "where", TONES, font)
        floors = where_on_floor(project, "one", "crate")
        data = with_floor_maps(sheet, layout, floors, TONES, font)
        return np.asarray(Image.open(io.BytesIO(data)).convert("RGB"))

    here, there = picture(0, 0), picture(1000, 500)
    assert here.shape == there.shape
    assert float((here != there).any(axis=2).mean()) < 2e-3
