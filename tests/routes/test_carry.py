"""Carrying things in: published closed forms at their boundaries, doors, tilting, and laws.

Corner values are the classical ladder problem and its rectangle form; tilt heights are
sqrt(h² + d²). See ``tests.oracles_corners`` for the formulas.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from massing.geometry.carry.search import Effort
from massing.project.read import parse_project
from massing.routes.carry import Asked, carry_in
from massing.routes.thing import least_width
from massing.scheme.place import place
from massing.survey.values import Values
from tests.oracles_corners import (
    rectangle_round_corner,
    rod_round_corner,
    rod_round_corner_tilting,
)

FINE = Effort(((10.0, 144),), 200_000_000)


def layout_of(text):
    return place(parse_project(text), "a", Values())


# An L of two passages, a wide along x and b wide along y; in by a doorway at the end of one leg.
CORNER = """
massing: 1
project: Corner
room:
  corners: [[0, 0], [{far}, 0], [{far}, {a}], [{b}, {a}], [{b}, {far}], [0, {far}]]
  names: [south, east, inner, inner east, north, west]
  ceiling: [{{flat: 2400}}]
  doors: [{{name: gap, wall: north, along: 0, opening: {b} x 2100, kind: open}}]
items:
  long: {{body: {length} x {thick} x 400, weight: 10}}
schemes:
  a: [{{item: long, at: [{x}, 0]}}]
"""


def round_corner(a, b, length, thick, effort=None):
    far = length + max(a, b) + 300
    words = {"a": a, "b": b, "far": far, "length": length, "thick": thick, "x": far - length}
    asked = Asked(tilting=False, roomy=False)
    layout = layout_of(CORNER.format(**words))
    return carry_in(layout, "long", asked, effort) if effort else carry_in(layout, "long", asked)


@pytest.mark.parametrize(
    ("a", "b", "thick"),
    [(1200.0, 900.0, 10.0), (900.0, 900.0, 300.0), (1200.0, 900.0, 600.0)],
)
def test_round_a_real_corner(a, b, thick):
    """Never round when longer than the closed form; round when a tenth shorter, at 20 mm and 5°.

    Source: (a^(2/3) + b^(2/3))^(3/2) for a rod (1200, 900: 2959.70), and the least over the turn
    of (a sin + b cos - t) / (sin cos) for a rectangle (900, 900, 300: 1945.58).
    """
    limit = rectangle_round_corner(a, b, thick)
    assert limit <= rod_round_corner(a, b)
    assert not round_corner(a, b, math.ceil(limit) + 1, thick).found
    assert round_corner(a, b, math.floor(0.9 * limit), thick).found


def test_the_corner_converges():
    """At 10 mm and 2.5 degrees the longest found comes within 5 % of the closed form."""
    limit = rectangle_round_corner(900.0, 900.0, 300.0)
    assert limit == pytest.approx(1945.584, abs=1e-3)
    assert not round_corner(900, 900, math.floor(0.95 * limit), 300).found
    assert round_corner(900, 900, math.floor(0.95 * limit), 300, FINE).found


DOOR = """
massing: 1
project: Door
room:
  size: {size}
  thickness: 100
  ceiling: [{{flat: {ceiling}}}]
  doors: [{{name: door, wall: west, along: 1400, {door}}}]
items:
  thing: {{body: {body}, weight: {weight}}}
  block: {{body: 600 x 600 x {tall}, weight: 30}}
schemes:
  a:
    - {{item: thing, at: {at}}}
{more}
"""


def carried(asked=None, more=(), **changes):
    words = {
        "size": "4000 x 3600",
        "ceiling": 2400,
        "door": "opening: 800 x 2000, kind: open",
        "body": "600 x 700 x 1850",
        "weight": 40,
        "tall": 900,
        "at": "[3200, 200]",
    } | changes
    words["more"] = "\n".join(f"    - {line}" for line in more)
    return carry_in(layout_of(DOOR.format(**words)), "thing", asked)


@pytest.mark.parametrize(("wide", "found"), [(600, True), (599.9, False)])
def test_the_doorway_is_a_closed_form(wide, found):
    """600 wide passes a 600 opening, flush; not one 0.1 less, and that is a proof."""
    answer = carried(
        Asked(tilting=False), door=f"opening: {wide} x 2000, kind: open", at="[3200, 1450]"
    )
    assert answer.found is found
    if not found:
        assert answer.proof == "impossible"
        assert "door: 600 wide does not pass a 599.9 opening" in answer.notes


def test_wide_and_low_doorways_in_words():
    """580 is too narrow for 600; 1800 too low for 1850 upright only."""
    narrow = carried(Asked(tilting=False), door="opening: 580 x 2000, kind: open")
    assert "door: 600 wide does not pass a 580 opening" in narrow.notes
    low = carried(Asked(tilting=False), door="opening: 800 x 1800, kind: open")
    assert "door: 1850 high does not pass under a 1800 head" in low.notes


INCH = 25.4


@pytest.mark.parametrize(("wide", "found"), [(812.8, True), (812.9, False)])
def test_the_published_doorway(wide, found):
    """32 in clear (ADA Standards 2010, 404.2.3, seen second-hand): 812.8 just passes."""
    answer = carried(
        Asked(tilting=False, roomy=False),
        door="opening: 32 in x 2000 mm, kind: open",
        body=f"900 x {wide} x 1000",
        at=f"[3000, {1400 + 32 * INCH / 2 - wide / 2}]",
    )
    assert answer.found is found
    assert answer.proof == ("path" if found else "impossible")


@pytest.mark.parametrize(("disc", "found"), [(812.8, True), (812.9, False)])
def test_a_round_thing_by_its_least_width(disc, found):
    """A 64-sided disc, its flats the disc's width apart, against the same 32 in."""
    sides = 64
    angles = (np.arange(sides) + 0.5) * 2 * math.pi / sides
    radius = disc / 2 / math.cos(math.pi / sides)
    ring = radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    assert (least_width([ring]) <= 32 * INCH + 0.01) is found


def test_a_leaf_takes_its_thickness_off():
    """A 762 leaf 44 thick leaves 718: 718 passes by closed form and 719 does not."""
    door = "leaf: 762 x 1981 x 44, hinge: right"
    for deep, impossible in ((718, False), (719, True)):
        answer = carried(Asked(tilting=False), door=door, body=f"800 x {deep} x 1000")
        assert (answer.proof == "impossible") is impossible


# A room with a ceiling as given, its door lower than the thing: in lying down, tilted up inside.
@pytest.mark.parametrize(
    ("tall", "ceiling", "found"),
    [(1850, 1944.89, True), (1850, 1944.84, False), (2000, 2088.08, True), (2000, 2088.03, False)],
)
def test_tilting_up_under_a_ceiling(tall, ceiling, found):
    """sqrt(1850² + 600²) = 1944.87 and sqrt(2000² + 600²) = 2088.06."""
    answer = carried(
        ceiling=ceiling,
        body=f"700 x 600 x {tall}",
        door="opening: 1000 x 1800, kind: open",
        at="[3200, 1500]",
        asked=Asked(roomy=False),
    )
    assert answer.found is found
    if found:
        assert "on its back" in answer.poses
        assert answer.poses[-1] == "in its place"


def test_heavy_things_stay_upright_unless_said():
    """61 kg is not laid down of itself; --tilt lays it down."""
    words = {"door": "opening: 1000 x 1800, kind: open", "body": "700 x 600 x 1850", "weight": 61}
    assert carried(**words).proof == "impossible"
    assert carried(Asked(tilting=True, roomy=False), **words).found


def test_a_bicycle_into_the_loft():
    """1850 x 600 over the bars through a 762 leaf into a loft 3600 deep, and not past a hall 1000.

    The doorway's 718 leaves 118 beside the bars. In a hall 1000 wide the bicycle must turn from
    along the hall into the doorway at once: a plain corner of 1000 and 718 passes less.
    """
    text = """
massing: 1
project: Loft
room:
  size: 5200 x 3600
  thickness: 100
  ceiling:
    - ridge: {along: x, at: 1800, height: 2400}
      eaves: {south: 900, north: 900}
      collar: 2250
  doors:
    - {name: room door, wall: west, along: 1419, leaf: 762 x 1981 x 44, hinge: right, opens: in}
items:
  bicycle: {body: 1850 x 600 x 1050, weight: 15}
schemes:
  a: [{item: bicycle, at: [3000, 1200]}]
"""
    layout = layout_of(text)
    answer = carry_in(layout, "bicycle", Asked(tilting=False))
    assert answer.found
    assert answer.spare == 50.0
    assert rectangle_round_corner(1000.0, 718.0, 600.0) < 1850
    assert not carry_in(layout, "bicycle", Asked(hall=1000.0, tilting=False)).found


def test_a_hung_thing_is_lifted_last():
    """Hung at 1500 over a block: it is carried over it or lifted beside it, and found."""
    answer = carried(
        body="600 x 300 x 400", at="[3200, 200, 1500]", more=["{item: block, at: [3200, 200]}"]
    )
    assert answer.found


def test_an_empty_room_is_no_harder():
    """Blocks that wall the thing in are gone with ``empty``."""
    more = [f"{{item: block, name: b{k}, at: [1500, {600 * k}]}}" for k in range(6)]
    assert not carried(Asked(tilting=False), more=more, tall=2000).found
    assert carried(Asked(tilting=False, empty=True), more=more, tall=2000).found


def test_more_things_never_make_it_easier():
    """The width to spare only falls as blocks are added."""
    more = ["{item: block, at: [1500, 0]}", "{item: block, name: b, at: [2000, 2000]}"]
    spares = []
    for count in range(3):
        answer = carried(Asked(tilting=False), more=more[:count])
        spares.append(answer.spare if answer.found else -1.0)
    assert spares == sorted(spares, reverse=True)


def test_hands_need_room():
    """With 100 for hands a 700 thing no longer passes an 800 opening by more than touch."""
    words = {"door": "opening: 800 x 2000, kind: open", "body": "720 x 750 x 1000"}
    assert carried(Asked(tilting=False), **words).found
    held = carried(Asked(tilting=False, knuckles=100.0), **words)
    assert held.proof == "impossible"
    assert "door: 820 wide does not pass a 800 opening" in held.notes


def test_the_path_ends_where_the_thing_stands():
    """Last row: the middle of its place; the path starts outside."""
    answer = carried(Asked(tilting=False))
    assert answer.path[-1, :2] == pytest.approx([3500.0, 550.0], abs=1e-6)
    assert answer.path[0, 0] < -100.0


def test_a_thing_that_does_not_fit_in_its_place():
    """Where it already overlaps something there is no way to it."""
    answer = carried(more=["{item: block, at: [3100, 300]}"])
    assert not answer.found
    assert any("does not stand free" in note for note in answer.notes)


def test_through_a_partitions_door():
    """In by the outer door and on through the one in a partition, past its open leaf."""
    text = """
massing: 1
project: Parted
room:
  size: 5000 x 2600
  ceiling: [{flat: 2400}]
  doors: [{name: door, wall: west, along: 800, leaf: 838 x 1981 x 44, opens: out}]
items:
  bench: {body: 1200 x DEEP x 900, weight: 70}
schemes:
  a:
    partitions:
      - name: divide
        from: {wall: north, along: 2500}
        to: {wall: south, along: 2500}
        thickness: 100
        openings: [{name: inner, along: 900, leaf: 762 x 1981 x 44}]
    add:
      - {item: bench, at: [3700, 1800]}
"""
    for deep, found in ((600, True), (730, False)):
        layout = layout_of(text.replace("DEEP", str(deep)))
        assert carry_in(layout, "bench", Asked(roomy=False)).found is found


def test_a_rod_goes_round_a_corner_tilted():
    """Longer than the level limit and shorter than the tilted one: it goes round leaning.

    Source: the ladder problem under a ceiling, sqrt(L² + H²) with L the level limit: passages of
    1200 and 900 under 2100 let 2959.70 round level and 3629.02 tilted.
    """
    words = {"a": 1200.0, "b": 900.0, "length": 3200.0, "thick": 10.0}
    far = 3200.0 + 1500.0
    text = CORNER.replace("flat: 2400", "flat: 2100").replace("x 400, weight", "x 10, weight")
    text = text.format(**words, far=far, x=far - 3200.0)
    layout = layout_of(text)
    assert rod_round_corner(1200.0, 900.0) < 3200.0 < rod_round_corner_tilting(1200, 900, 2100)
    level = carry_in(layout, "long", Asked(tilting=False, roomy=False))
    assert not level.found
    tilted = carry_in(layout, "long", Asked(tilting=True, roomy=False))
    assert tilted.found
    assert any("leaning" in pose for pose in tilted.poses)


def test_a_rod_too_long_even_tilted():
    """Beyond sqrt(L² + H²) nothing is found."""
    words = {"a": 1200.0, "b": 900.0, "length": 3700.0, "thick": 10.0, "far": 5200.0, "x": 1500.0}
    text = CORNER.replace("flat: 2400", "flat: 2100").replace("x 400, weight", "x 10, weight")
    layout = layout_of(text.format(**words))
    assert not carry_in(layout, "long", Asked(tilting=True, roomy=False)).found
