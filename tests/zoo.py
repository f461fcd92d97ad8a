"""Named rooms, as a person would write them: name in, ``room:`` text, spec or built room out.

The boathouse and the loft are worked examples of this project's own, with hand-worked answers in
``tests/room/test_worked_rooms.py``. The others are the shapes rooms come in.
"""

from __future__ import annotations

from massing.reading.nodes import parse_tree
from massing.room.build import build_room
from massing.room.shape import Room
from massing.room.spec import RoomSpec
from massing.survey.values import Values
from massing.units import Length

BUILD_UPS = {
    "corrugated, lined": Length(120.0, 20.0),
    "half-brick, plastered": Length(120.0, 10.0),
    "one-brick": Length(240.0, 15.0),
    "stud": Length(100.0, 5.0),
}

ROOMS = {
    # Corrugated on a lined frame, one slope, and a floor poured twice.
    "boathouse": """
        measured: outside
        build-up: corrugated, lined
        size: 6240 x 2640
        floor:
          - {level: 0}
          - {from: east, depth: 2400, level: 180}
        ceiling:
          - {slopes: {south: 1950, north: 2750}}
        doors:
          - {name: side door, wall: north, along: 4600, leaf: 762 x 1981 x 44, hinge: right}
        """,
    # Knee walls, two slopes cut off by a flat, and a chimney breast.
    "loft": """
        size: 5200 x 3600
        ceiling:
          - ridge: {along: x, at: 1800, height: 2400}
            eaves: {south: 900, north: 900}
            collar: 2250
        fabric:
          - {name: chimney breast, box: 4800..5200 x 1200..2400, to: ceiling}
        doors:
          - {name: room door, wall: west, along: 1419, leaf: 762 x 1981 x 44, hinge: right}
        """,
    "plain": """
        size: 3000 x 2000
        ceiling: [{flat: 2400}]
        """,
    # Every size measured, and measured outside.
    "bindery": """
        measured: outside
        build-up: half-brick, plastered
        build-ups: {north: one-brick}
        size: 5200 ±20 x 2600 ±15
        floor:
          - {level: 0}
          - {from: east, depth: 1800 ±10, level: 150 ±5}
        ceiling:
          - {slopes: {south: 2010 ±15, north: 2640 ±15}}
          - {from: east, depth: 1500 ±10, flat: 2300 ±10}
        fabric:
          - {name: tie beam, box: 0..5200 x 1200..1350 ±5 x 2050 ±5..2200}
          - {name: breast, box: 1200..1600 ±10 x 0..350, to: ceiling}
        doors:
          - {name: entry, wall: west, along: 700 ±5, leaf: 762 x 1981 x 44, opens: in}
        windows:
          - {name: street light, wall: north, along: 1500, size: 900 x 700, sill: 1050 ±10}
        """,
    # An L walked clockwise, its two last lengths left to closing.
    "ell": """
        walls:
          - {name: north, length: 3600 ±5}
          - {name: east, length: 1500 ±5}
          - {name: return, length: 1600 ±5, turn: left}
          - {name: arm, length: 1200 ±5}
          - {name: south}
          - {name: west}
        floor:
          - {level: 0}
          - {from: arm, depth: 700 ±5, level: 120 ±3}
        ceiling:
          - {plane: [[0, 0, 2200 ±10], [3600, 0, 2300], [0, 2700, 2700]]}
          - {area: 200..1400 x 300..1100, flat: 2050 ±5, lowers: yes}
        """,
    # Both shoulders of the T in one line.
    "tee": """
        corners: [[0, 0], [1200, 0], [1200, 1800], [3000, 1800], [3000, 3000],
                  [-1500, 3000], [-1500, 1800], [0, 1800]]
        ceiling: [{flat: 2350}]
        """,
    # Two arms that a strip along one end wall must not both reach.
    "horseshoe": """
        corners: [[0, 0], [4000, 0], [4000, 3000], [2800, 3000], [2800, 1000],
                  [1200, 1000], [1200, 3000], [0, 3000]]
        names: [south, east, north east, inner east, inner, inner west, north west, west]
        floor:
          - {level: 0}
          - {from: north west, depth: 800, level: 200}
        ceiling: [{flat: 2400}]
        """,
    # A corner cut off at 45 degrees, and a hip over all five walls.
    "hipped": """
        corners: [[0, 0], [4000, 0], [4000, 2200], [3200, 3000], [0, 3000]]
        ceiling: [{hip: {eaves: 1800, pitch: 35 deg}, collar: 2500}]
        """,
    # A small trapezium under one plane.
    "trapezium": """
        corners: [[0, 0], [4000, 0], [2000, 2000], [0, 2000]]
        ceiling: [{plane: [[0, 0, 2000], [4000, 0, 3000], [0, 2000, 2000]]}]
        """,
}


def thickness_of(name: str) -> Length:
    """The thickness of a build-up by name; KeyError where there is none."""
    return BUILD_UPS[name]


def spec_from(text: str) -> RoomSpec:
    """The spec of a room written as the inside of ``room:``, each value knowing its place."""
    tree = parse_tree("room:\n" + _indented(text), "zoo.yaml")
    return RoomSpec.model_validate(tree["room"])


def _indented(text: str) -> str:
    lines = [line for line in text.splitlines() if line.strip()]
    margin = min(len(line) - len(line.lstrip()) for line in lines)
    return "\n".join("  " + line[margin:] for line in lines) + "\n"


def room_spec(name: str) -> RoomSpec:
    """The spec of a named room."""
    return spec_from(ROOMS[name])


def room_from(text: str, values: Values | None = None) -> Room:
    """A room built from text, nominal unless values are given."""
    return build_room(spec_from(text), values or Values(), thickness_of)


def named_room(name: str, values: Values | None = None) -> Room:
    """A named room, nominal unless values are given."""
    return build_room(room_spec(name), values or Values(), thickness_of)
