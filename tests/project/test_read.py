"""Slips in schemes and placements: each gives one clear fault at its very place."""

from __future__ import annotations

import pytest

from tests.project.traps import LENGTH, assert_faults, one, scheme

EXACTLY = "a placement has exactly one of against, corner, on, at or centre; this has "


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("{item: «crat, at: [0, 0]}", "there is no item 'crat' (did you mean 'crate'?)"),
        ("{item: crate, against: «nort}", ("there is no wall 'nort'; the walls are south, east, "
         "north, west (did you mean 'north'?)")),
        ("{item: crate, corner: [north, «esat]}", ("there is no wall 'esat'; the walls are south, "
         "east, north, west (did you mean 'east'?)")),
        ("{item: crate, at: [0, 0], facing: «up}", ("there is no wall 'up'; the walls are south, "
         "east, north, west")),
        ("{item: crate, corner: [north, «south]}",
         "the north and south walls do not meet in a corner"),
        ("{item: crate, on: «washer}", "nothing called 'washer' to stand on"),
        ("{item: crate, on: «crate}", "things stand on one another: crate on crate"),
        ("«{item: crate}", EXACTLY + "none of them"),
        ("{item: crate, at: [«0, 0], on: crate}", EXACTLY + "on and at"),
        ("{item: crate, at: [0, 0], along: «300}",
         "'along' goes with against; this is placed by 'at'"),
        ("{item: crate, on: crate, height: «30}", ("'height' goes with against or corner or at or "
         "centre; this is placed by 'on'")),
        ("{item: crate, against: north, along: 1, from-right: «2}",
         "say only one of along, from-right or middle"),
        ("{item: crate, against: north, height: 1, top: «2}",
         "say only one of height, top or drop"),
        ("{item: crate, at: [0, 0, 0], height: «100}",
         "'at' says how high already; leave out 'height'"),
        ("{item: crate, against: north, shift: [«1, 2]}",
         "'shift' goes with on; this is placed by 'against'"),
        ("{item: crate, against: north, facing: «east}",
         "'facing' goes with at or centre; this is placed by 'against'"),
        ("{item: crate, against: north, side: «bak}",
         "'bak' is not one of front, back, left, right (did you mean 'back'?)"),
        ("{item: crate, at: [0, 0], stays: «yep}", "'yep' is neither yes nor no"),
        ("{item: crate, at: [0, 0], «stay: yes}", "unknown key 'stay' (did you mean 'stays'?)"),
        ("{item: crate, at: [0, 0], accept: [«hatchh]}",
         "there is nothing called 'hatchh' to accept (did you mean 'hatch'?)"),
        ("{item: crate, at: [0, «nan]}", f"'nan' {LENGTH}"),
        ("{item: crate, at: [0, «.inf]}", f"'.inf' {LENGTH}"),
        ("{item: crate, at: [«1:30, 0]}", f"'1:30' {LENGTH}"),
        ("{item: crate, at: [«99999999, 0]}",
         "'99999999' is more than a kilometre; is the unit right?"),
        ("{item: crate, at: [0, 0], turn: «400}", "'400' is more than a full turn of 360 degrees"),
        ("{item: crate, name: «entry, at: [0, 0]}",
         "'entry' is a door of the room; give the item a 'name' of its own"),
        ("{item: crate, name: «north, at: [0, 0]}",
         "'north' is a wall of the room; give the item a 'name' of its own"),
        ("{item: crate, at: [0, 0], «item: crate}", "'item' is given twice, first on line 15"),
        ("{item: «no, at: [0, 0]}", "there is no item 'no'"),
        ("{item: crate, name: «'', at: [0, 0]}", "'name' is empty; write a name"),
        (
            "{item: crate, corner: «north}",
            "'north' is not a list; its entries stand in [ ] or begin with '- '",
        ),
    ],
)  # fmt: skip
def test_slip_in_a_placement(line, says):
    """One slip, one fault, at the word."""
    assert_faults(one(line), says)


CRATE = "    - {item: crate, at: [0, 0]}"


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["  a:", "    - {item: crate, at: [0, 0], stays: yes}", "  b:", "    from: a",
          "    move: {«crate: {by: [1, 2]}}"], ["'crate' stays; it cannot be moved"]),
        (["  a:", CRATE, "  b:", "    from: «aa", "    move: {crate: {by: [1, 2]}}"],
         ["there is no scheme 'aa' (did you mean 'a'?)"]),
        (["  a: {from: b}", "  b: {from: c}", "  c: {from: «a}"],
         ["schemes inherit in a circle: a from b from c from a"]),
        (["  a: {from: «a}"], ["schemes inherit in a circle: a from a"]),
        (["  a:", CRATE, "  b:", "    from: a", "    remove: [«crat]"],
         ["nothing called 'crat' to remove (did you mean 'crate'?)"]),
        (["  a:", CRATE, "  b:", "    from: a", "    move: {«crat: {along: 3}}"],
         ["nothing called 'crat' to move (did you mean 'crate'?)"]),
        (["  a:", CRATE, "  b:", "    from: a", "    remove: [crate]",
          "    move: {«crate: {against: north}}"], ["nothing called 'crate' to move"]),
        (["  a:", CRATE, "  b:", "    from: a", "    move: {crate: {along: «3}}"],
         ["after this move 'along' goes with against; this is placed by 'at'"]),
        (["  a:", CRATE, "  b:", "    from: a", "    move: {crate: «{}}"],
         ["the move says nothing; give a new place, or 'by' how much"]),
        (["  a:", CRATE, "  b:", "    from: a", "    move: {crate: {against: north, at: «[0, 0]}}"],
         ["after this move " + EXACTLY + "against and at"]),
        (["  a:", "    - {item: crate, at: [0, 0], name: x}",
          "    - {item: crate, at: [0, 0], name: «x}"], ["two things are called 'x'"]),
        (["  a:", "    - {item: crate, at: [0, 0], name: x}",
          "    - {item: crate, name: y, on: «z}", "    - {item: crate, name: z, on: y}",
          "    - {item: crate, name: w, on: y}"], ["things stand on one another: y on z on y"]),
        (["  a:", "    add:", "      - {item: crate, at: [0, 0]}",
          "    together: [[«crate in us, «entri open]]"],
         [("there is nothing called 'crate in us' here (did you mean"
          " 'crate in use'?)"),
          ("there is nothing called 'entri open' here (did you mean"
          " 'entry open'?)")]),
        (["  a:", "    add:", "      - {item: crate, at: [0, 0]}",
          "    together: [[crate in use, «entry]]"],
         ["say whether 'entry' is open or shut (did you mean 'entry open'?)"]),
        (["  a:", "    add:", "      - {item: crate, at: [0, 0]}",
          "    together: [[«crate in use]]"],
         ["'crate in use' is used together with nothing; name at least two"]),
        (["  a:", "    doors: {«entri: {opens: out}}"],
         ["the room has no door 'entri' to change (did you mean 'entry'?)"]),
        (["  a:", "    doors: {«light: {opens: out}}"],
         ["the room has no door 'light' to change"]),
        (["  a:", "    doors: {hatch: «{opens: out}}"],
         ["'hatch' is an open doorway; it has no leaf to change"]),
        (["  a:", "    doors: {entry: {opens: «outt}}"],
         ["'outt' is not one of in, out (did you mean 'out'?)"]),
        (["  a:", "    doors: {entry: «{}}"],
         ["nothing is changed; give a hinge, which way it opens, or a kind"]),
        (["  a: {}", "  «a: {}"], ["'a' is given twice, first on line 14"]),
        (["  a:", "«    "], ["'a' is empty; a table of 'key: value' belongs here"]),
        (["  a: {«ad: []}"], ["unknown key 'ad' (did you mean 'add'?)"]),
        (["  «<<: {}"], ["merge keys ('<<') are not used in this file"]),
    ],
)  # fmt: skip
def test_slip_in_a_scheme(lines, says):
    """What schemes take over, change and add leads somewhere."""
    if "«    " in lines:
        lines = ["  a:«"]
    assert_faults(scheme(*lines), *says)


WALL = "{name: stud, thickness: 100, from: {wall: south, along: 2000}, to: "


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["  a:", f"    partitions: [{WALL}«{{wall: nort, along: 2000}}}}]"],
         [("there is no wall 'nort'; the walls are south, east, north, west "
          "(did you mean 'north'?)")]),
        (["  a:", ("    partitions: [{name: stud, build-up: «bogus, from: [2000, 0], "
          "to: [2000, 3000]}]")], ["no such build-up 'bogus' (did you mean 'logs'?)"]),
        (["  a:", f"    partitions: [{WALL}{{wall: north, along: 2000}}}}]",
          "    add: [{item: crate, against: «stud eas face}]"],
         [("there is no wall 'stud eas face'; the walls are south, east, north, west, stud east "
          "face, stud west face (did you mean 'stud east face'?)")]),
        (["  a:", (f"    partitions: [{WALL}{{wall: north, along: 2000}}, openings: "
          "[«{along: 2500, opening: 800 x 2000}]}]")],
         [("door 'stud opening 1' runs from 2500 to 3300 along wall 'stud east face', which is "
          "3000 long")]),
    ],
)  # fmt: skip
def test_slip_in_a_partition(lines, says):
    """Walls a scheme adds are checked as those of the room."""
    assert_faults(scheme(*lines), *says)
