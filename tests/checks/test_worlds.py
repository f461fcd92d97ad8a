"""Each of many worlds reads as it does alone: no world's sizes get into another's answer.

Every length of a scene is in doubt. What is measured in some worlds at once is measured again in
each of them by itself. Left out is what is followed into other worlds from the nominal one, as its
own module says: ways on foot by their pinch, and how a base is parted by levels.
"""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from ruamel.yaml import YAML

from massing.checks.context import Context
from massing.checks.registry import readings
from massing.checks.rules import rules_of
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values

FOLLOWED = {"passage", "escape", "support"}
HALF, WORLDS = 6.0, 3
WIDE = 400.0  # mm; further than any near miss, so that no reading is missing for its distance
LAUNDRY = """
room:
  size: 5000 x 4000
  floor: [{level: 0}, {from: west, depth: 900, level: -100}]
  ceiling: [{slopes: {south: 2300, north: 2600}}]
  doors: [{name: entry, wall: south, along: 3600, leaf: 762 x 1981 x 44, hinge: left, opens: in}]
  windows:
    - {name: light, wall: north, along: 1000, size: 1000 x 1000, sill: 900, opens: in, hinge: left}
    - {name: way out, wall: east, along: 1500, size: 700 x 1000, sill: 900, opens: out, escape: yes}
items:
  tower: {body: 500 x 250 x 2000, weight: 60}
  dryer: {body: 600 x 600 x 850, weight: 40, breathes: yes}
  side: {body: 20 x 700 x 1000, weight: 8}
  back: {body: 640 x 20 x 1000, weight: 8}
  lid: {body: 640 x 740 x 20, weight: 8, mount: wall}
  sink: {body: 600 x 500 x 900, weight: 30, wet: yes}
  board:
    body: 300 x 100 x 300
    mount: wall
    electrical: yes
    controls: [{name: switch, height: 200}]
  low: {body: 600 x 600 x 1300}
  drum: {body: 600 x 600 x 850, motions: [{name: door, kind: leaf, angle: 90, needs: 90}]}
  chest: {body: 500 x 450 x 900, weight: 60}
schemes:
  only:
    - {item: tower, against: north, along: 1900}
    - {item: tower, name: other, against: north, along: 800}
    - {item: dryer, at: [2000, 1500], facing: south}
    - {item: side, at: [1960, 1460]}
    - {item: side, name: right, at: [2620, 1460]}
    - {item: back, at: [1980, 2140]}
    - {item: back, name: door, at: [1980, 1450]}
    - {item: lid, at: [1980, 1440, 875]}
    - {item: sink, against: south, along: 200}
    - {item: board, against: south, along: 950, height: 1000}
    - {item: low, against: west, along: 900}
    - {item: drum, on: low}
    - {item: chest, against: east, along: 1700}
    - {item: chest, name: stray, at: [700, 150]}
"""
WORKSHOP = """
room:
  size: 6000 x 5000
  ceiling: [{flat: 2700}]
  doors: [{name: panel door, wall: south, along: 500, leaf: 3000 x 1990 x 40, kind: overhead}]
items:
  bench:
    body: 1200 x 600 x 900
    weight: 80
    zone: {front: 500}
    motions: [{name: drawer, kind: drawer, travel: 450, low: 500, height: 200}]
  counter: {body: 1200 x 600 x 900, weight: 80, zone: {front: 500}}
  desk: {body: 1200 x 600 x 740, weight: 30, zone: {front: 500, posture: sitting}}
  cabinet:
    body: 600 x 600 x 900
    weight: 50
    motions: [{name: drawer, kind: drawer, low: 600, height: 200, travel: 450, needs: 300}]
  shelf: {body: 900 x 300 x 300, mount: wall, stores: yes}
  crate: {body: 500 x 380 x 300, weight: 25, stores: yes}
  stand: {body: 600 x 400 x 1250, weight: 60}
  tap: {body: 200 x 100 x 200, mount: wall, weight: 1, controls: [{name: handle, height: 100}]}
  press:
    body: 600 x 600 x 900
    weight: 60
    motions: [{name: door, kind: leaf, hinge: left, angle: 170, needs: 90}]
  lamp: {body: 300 x 300 x 500, mount: ceiling}
schemes:
  only:
    add:
      - {item: bench, at: [3200, 2600], facing: south}
      - {item: counter, at: [3300, 900], facing: north}
      - {item: desk, at: [200, 3600], facing: south}
      - {item: counter, name: behind, at: [300, 2650], facing: south}
      - {item: cabinet, name: first, at: [4780, 4400], facing: south}
      - {item: cabinet, name: second, at: [5400, 3600], facing: west}
      - {item: shelf, against: north, along: 1500, height: 1790}
      - {item: stand, against: west, along: 2200}
      - {item: crate, on: stand}
      - {item: tap, against: north, along: 3000, height: 1700}
      - {item: stand, name: before tap, at: [2500, 4450]}
      - {item: press, at: [10, 1500], facing: south}
      - {item: lamp, at: [2600, 3200, 2200]}
      - {item: tap, name: low tap, against: east, along: 2000, height: 900}
      - {item: stand, name: before low tap, against: east, along: 1900, off: 110}
    together: [[bench in use, counter in use]]
"""
SKEW = """
room:
  names: [south, east, north, west]
  corners: [[0, 0], [5000, 0], [5000, 4300], [0, 3600]]
  floor: [{level: 0}, {from: west, depth: 280, level: 148}]
  ceiling: [{flat: 2500}]
  doors: [{name: entry, wall: west, along: 600, leaf: 762 x 1981 x 44, hinge: right, opens: in}]
  windows: [{name: light, wall: north, along: 3300, size: 1000 x 1000, sill: 900, opens: in}]
items:
  dryer: {body: 600 x 600 x 850, weight: 40, breathes: yes}
  side: {body: 20 x 700 x 1000, weight: 8}
  door: {body: 640 x 20 x 1000, weight: 8}
  lid: {body: 640 x 740 x 20, weight: 8, mount: wall}
  tower: {body: 300 x 250 x 2000, weight: 60}
  chest:
    body: 600 x 450 x 900
    zone: {front: 700}
    motions: [{name: drawer, kind: drawer, travel: 400}]
  board:
    body: 400 x 100 x 600
    mount: wall
    working-space: {width: 900, depth: 800, height: 2000, why: room to work}
    controls: [{name: switch, height: 300, between: 900..1500}]
  box: {body: 300 x 300 x 400}
  shelf: {body: 900 x 300 x 300, mount: wall, stores: yes}
schemes:
  only:
    - {item: dryer, against: north, along: 1000, off: 20}
    - {item: side, against: north, along: 960}
    - {item: side, name: right, against: north, along: 1620}
    - {item: door, against: north, along: 980, off: 640}
    - {item: lid, against: north, along: 980, height: 870}
    - {item: tower, against: north, along: 3200}
    - {item: tower, name: other, against: north, along: 4100}
    - {item: chest, against: north, along: 2000}
    - {item: box, against: north, along: 2100, off: 800}
    - {item: board, against: north, along: 350, height: 1000}
    - {item: box, name: stray, against: north, along: 50, off: 300}
    - {item: shelf, against: north, along: 2700, height: 1850}
"""
SCENES = {
    name: scene["text"]
    for name, scene in YAML(typ="safe", pure=True)
    .load(Path(__file__).with_name("mutants_scenes.yaml"))
    .items()
} | {"laundry": LAUNDRY, "workshop": WORKSHOP, "skew": SKEW}


@cache
def read(name, alone=None):
    """Of each check and pair: what is left over (worlds,), in worlds at once or in one of them."""
    project = parse_project(f"massing: 1\nproject: p\n{SCENES[name]}")
    rules, sizes = rules_of(project), Values(default=lambda _: HALF)
    place(project, "only", sizes)
    shifts = np.random.default_rng(7).uniform(-HALF, HALF, (WORLDS, len(sizes.measures)))
    shifts[0] = 0.0
    rows = slice(None) if alone is None else slice(alone, alone + 1)
    layout = place(project, "only", Values.shifted(sizes.measures, shifts[rows]))
    found = defaultdict(list)
    for one in readings(Context(layout, rules, reach=rules.near + WIDE)):
        spare = np.broadcast_to(one.gap, layout.worlds) - one.needs
        fails = spare < (-0.02 if one.unit == "mm" else -1e-3)
        found[one.check, one.items].append((spare, fails, one.detail()))
    return found


@pytest.mark.parametrize("world", range(WORLDS))
@pytest.mark.parametrize("name", SCENES)
def test_a_world_among_others_reads_as_it_does_alone(name, world):
    """What is told of it alone is told among others, and what fails among others fails alone."""
    many, alone = read(name), read(name, world)
    for key, rows in alone.items():
        if key[0] not in FOLLOWED:
            for spare, _, _ in rows:
                among = [float(row[world]) for row, _, _ in many.get(key, [])]
                assert any(abs(one - float(spare[0])) < 1e-5 for one in among), (key, spare, among)
    for key, rows in many.items():
        for spare, fails, _ in rows if key[0] not in FOLLOWED else ():
            single = [float(row[0]) for row, _, _ in alone.get(key, [])]
            told = any(abs(one - float(spare[world])) < 1e-5 for one in single)
            assert told or not fails[world], (key, spare[world], single)


@pytest.mark.parametrize("name", SCENES)
def test_what_is_told_is_told_of_the_nominal_world(name):
    """Words, places and moves are those of the first world, whatever the others are like."""
    many, alone = read(name), read(name, 0)
    for key, rows in alone.items():
        for spare, _, detail in rows:
            told = [each for row, _, each in many[key] if abs(float(row[0] - spare[0])) < 1e-5]
            assert any(each == detail for each in told), (key, detail, told)
