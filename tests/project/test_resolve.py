"""What a scheme takes over from another: order, moves, removals, names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.checks.run import check_scheme
from massing.errors import InputError
from massing.project.read import parse_project
from massing.scheme.place import place
from massing.survey.values import Values
from tests.project.traps import scheme


def names(text: str, which: str) -> list[str]:
    return [name for name, _ in parse_project(text).arrangement(which).placements]


def low(text: str, which: str, name: str = "crate") -> list[float]:
    return place(parse_project(text), which, Values()).item(name).low[0].tolist()


def moved(start: str, *moves: str) -> list[float]:
    """Where a crate placed so is after the moves, each in a scheme of its own."""
    lines = ["  s0:", f"    - {{item: crate, {start}}}"]
    for number, move in enumerate(moves, 1):
        lines += [f"  s{number}:", f"    from: s{number - 1}", f"    move: {{crate: {{{move}}}}}"]
    return low(scheme(*lines), f"s{len(moves)}")


def test_order_is_that_of_the_file():
    """Inherited first, in their order, less what is removed; then what is added."""
    text = scheme(
        "  b:",
        "    from: a",
        "    remove: [two]",
        "    add:",
        "      - {item: crate, name: four, at: [0, 0]}",
        "  a:",
        "    - {item: crate, name: one, at: [0, 0]}",
        "    - {item: crate, name: two, at: [0, 0]}",
        "    - {item: crate, name: three, at: [0, 0]}",
    )
    assert names(text, "b") == ["one", "three", "four"]
    assert names(text, "a") == ["one", "two", "three"]
    assert list(parse_project(text).arrangements) == ["b", "a"]
    assert parse_project(text).arrangement().name == "a"


def test_removed_then_added_again_is_new():
    """A removed thing's name is free, and its new words start afresh."""
    text = scheme(
        "  a:",
        "    - {item: crate, against: north, along: 300, height: 900}",
        "  b:",
        "    from: a",
        "    remove: [crate]",
        "    add: [{item: crate, against: east}]",
    )
    assert names(text, "b") == ["crate"]
    assert low(text, "b") == [3600, 2400, 0]


def test_things_without_a_name_are_numbered():
    """The second crate is crate 2; a number already taken is passed over."""
    text = scheme(
        "  a:",
        "    - {item: crate, at: [0, 0]}",
        "    - {item: crate, name: crate 2, at: [0, 0]}",
        "    - {item: crate, at: [0, 0]}",
        "  b:",
        "    from: a",
        "    remove: [crate 2]",
        "    add: [{item: crate, at: [0, 0]}, {item: crate, at: [0, 0]}]",
    )
    assert names(text, "a") == ["crate", "crate 2", "crate 3"]
    assert names(text, "b") == ["crate", "crate 3", "crate 2", "crate 4"]


@pytest.mark.parametrize(
    ("start", "moves", "wanted"),
    [
        ("against: north, along: 300", ["along: 500"], [500, 2600, 0]),
        ("against: north, along: 300", ["from-right: 500"], [2900, 2600, 0]),
        ("against: north, along: 300", ["middle: yes"], [1700, 2600, 0]),
        ("against: north, middle: yes", ["along: 10"], [10, 2600, 0]),
        ("against: north, along: 300, off: 50", ["along: 500"], [500, 2550, 0]),
        # A new wall forgets where along the old one it was, how far off, and any turn.
        ("against: north, along: 300, off: 50", ["against: east"], [3600, 2400, 0]),
        ("against: north, along: 300, turn: 90", ["against: east"], [3600, 2400, 0]),
        ("corner: [north, east], off: 9, off-side: 9", ["against: south"], [3400, 0, 0]),
        ("against: north, along: 300, by: [5, 5]", ["against: south"], [3400, 0, 0]),
        ("at: [100, 100], facing: east", ["at: [200, 200]"], [200, 200, 0]),
        # Which side touches, and how high, stay until said otherwise.
        ("against: north, side: left", ["against: south, along: 0"], [3600, 0, 0]),
        ("against: north, height: 900", ["against: east"], [3600, 2400, 900]),
        ("against: north, height: 900", ["height: 700"], [0, 2600, 700]),
        ("against: north, height: 900", ["top: 2000"], [0, 2600, 1500]),
        ("against: north, top: 2000", ["height: 0"], [0, 2600, 0]),
        ("against: north, height: 900", ["at: [0, 0, 50]"], [0, 0, 50]),
        ("against: north, height: 900, side: left", ["centre: [1000, 1000]"], [700, 800, 900]),
        # By is from where it was, and adds up; a new place forgets it.
        ("at: [100, 100]", ["by: [10, 20]"], [110, 120, 0]),
        ("at: [100, 100]", ["by: [10, 20]", "by: [1, 2, 3]"], [111, 122, 3]),
        ("at: [100, 100], by: [5, 5, 5]", ["by: [10, 20]"], [115, 125, 5]),
        ("at: [100, 100]", ["by: [10, 20]", "at: [0, 0]"], [0, 0, 0]),
        ("against: north, along: 300", ["by: [10, -20]", "along: 500"], [510, 2580, 0]),
        ("at: [100, 100]", ["against: north, by: [3, 0]"], [3, 2600, 0]),
    ],
)
def test_move(start, moves, wanted):
    """Where it is then, by hand."""
    assert moved(start, *moves) == pytest.approx(wanted, abs=1e-9)


def test_move_from_a_stack_and_onto_one():
    """On another item how high is no longer said, and off it the shift is forgotten."""
    text = scheme(
        "  a:",
        "    - {item: crate, name: foot, at: [1000, 1000]}",
        "    - {item: crate, against: north, along: 100, height: 900, off: 5}",
        "  b:",
        "    from: a",
        "    move: {crate: {on: foot, shift: [10, 0]}}",
        "  c:",
        "    from: b",
        "    move: {crate: {against: west}}",
    )
    assert low(text, "b") == [1010, 1000, 500]
    assert low(text, "c") == [0, 0, 0]


def test_what_stands_on_it_moves_with_it():
    """A rider follows, and turns with it."""
    text = scheme(
        "  a:",
        "    - {item: crate, name: foot, against: north}",
        "    - {item: crate, on: foot}",
        "  b:",
        "    from: a",
        "    move: {foot: {against: east}}",
    )
    assert low(text, "a") == [0, 2600, 500]
    assert low(text, "b") == [3600, 2400, 500]


def test_a_move_may_change_what_is_accepted():
    """And leaves it alone when it does not say."""
    text = scheme(
        "  a:",
        "    - {item: crate, at: [0, 0], accept: [walls]}",
        "  b:",
        "    from: a",
        "    move: {crate: {by: [1, 1]}}",
        "  c:",
        "    from: b",
        "    move: {crate: {accept: [entry, bodies]}}",
    )
    project = parse_project(text)
    told = [project.arrangement(s).placement("crate").accept for s in "abc"]
    assert told == [("walls",), ("walls",), ("entry", "bodies")]


def test_doors_partitions_and_uses_are_inherited():
    """A scheme keeps what its base builds and hangs, and may hang it otherwise again."""
    text = scheme(
        "  a:",
        "    doors: {entry: {opens: out, hinge: right}}",
        "    partitions: [{name: stud, thickness: 100, from: [2000, 0], to: [2000, 3000]}]",
        "    add: [{item: crate, against: stud west face}]",
        "    together: [[crate in use, entry open]]",
        "  b:",
        "    from: a",
        "    doors: {entry: {opens: in}}",
        "  plain: []",
    )
    project = parse_project(text)
    (leaf_a,), (leaf_b,), (leaf,) = (
        place(project, name, Values()).leaves for name in ("a", "b", "plain")
    )
    assert (leaf_a.opens, leaf_b.opens, leaf.opens) == ("out", "in", "in")
    assert [p.name for p in project.arrangement("b").partitions] == ["stud"]
    assert project.arrangement("b").together == (("crate in use", "entry open"),)
    # A later word about a door stands beside the earlier ones: the hinge is still on the right.
    assert leaf_b.pin[0].tolist() == [0.0, 700.0 + 762.0]
    assert leaf.pin[0].tolist() == [0.0, 700.0]


def test_partition_is_a_wall_to_place_against_and_solid():
    """Its faces take items; what stands in it conflicts; its door swings."""
    text = scheme(
        "  a:",
        "    partitions:",
        "      - {name: stud, thickness: 100, from: {wall: south, along: 2000},",
        "         to: {wall: north, along: 2000},",
        "         openings: [{name: gap, along: 1500, leaf: 762 x 1981 x 44}]}",
        "    add:",
        "      - {item: crate, name: flush, against: stud west face, along: 100}",
        "      - {item: crate, name: inside, at: [1900, 700]}",
        "      - {item: crate, name: far, against: stud east face, from-right: 0}",
    )
    answer = check_scheme(parse_project(text), "a", nudges=False)
    # Facing east at its west face, the left end is the north one.
    assert answer.layout.item("flush").low[0].tolist() == [1550, 2300, 0]
    assert answer.layout.item("far").low[0].tolist() == [2050, 2400, 0]
    (clash,) = [f for f in answer.conflicts if f.check == "bodies"]
    assert set(clash.items) == {"inside", "stud"}
    assert clash.gap_mm == pytest.approx(-150)
    assert [leaf.name for leaf in answer.layout.leaves] == ["entry", "gap"]


@given(st.lists(st.tuples(st.integers(-500, 500), st.integers(-500, 500)), max_size=5))
def test_moves_add_up(steps):
    """Many small moves are one move of their sum."""
    found = moved("at: [100, 100]", *(f"by: [{x}, {y}]" for x, y in steps))
    assert found == [100 + sum(x for x, _ in steps), 100 + sum(y for _, y in steps), 0]


HEAD = "massing: 1\nproject: p\nroom: {size: 4000 x 3000, ceiling: [{flat: 2400}]}\n"
MANY = 1500


def chained(part, entry, last):
    """So many entries, each naming the next, and the last one."""
    rows = "".join(f"  s{k}: {entry.replace('NEXT', f's{k + 1}')}\n" for k in range(MANY))
    return f"{HEAD}{part}:\n{rows}  s{MANY}: {last}\n"


def told(text):
    with pytest.raises(InputError) as caught:
        parse_project(text)
    return [fault.says for fault in caught.value.faults]


def test_a_thousand_schemes_may_begin_from_one_another():
    """Found by chaining them: each was worked out inside the one before, too deep."""
    project = parse_project(chained("schemes", "{from: NEXT}", "[]"))
    assert len(project.arrangements) == MANY + 1


def test_a_thousand_schemes_in_a_circle_are_one_fault():
    (said,) = told(chained("schemes", "{from: NEXT}", "{from: s0}"))
    assert said.startswith("schemes inherit in a circle: s0 from s1 from s2")


def test_a_thousand_items_like_one_another_are_refused():
    """Forty are not."""
    says = told(chained("items", "{like: NEXT}", "{body: 6 x 6 x 6}"))
    assert set(says) == {"items are like one another through more than 40 names"}
    few = "".join(f"  s{k}: {{like: s{k + 1}}}\n" for k in range(39))
    assert parse_project(f"{HEAD}items:\n{few}  s39: {{body: 6 x 6 x 6}}\n").items["s0"].body


def test_each_circle_of_a_stack_is_told_once():
    """From the least of its names down; what stands on a circle is no part of it."""
    on = {"d": "c", "c": "b", "b": "c", "a": "a", "e": "a", "f": "g"}
    rows = "".join(f"    - {{item: x, name: {name}, on: {below}}}\n" for name, below in on.items())
    assert told(f"{HEAD}items: {{x: {{body: 6 x 6 x 6}}}}\nschemes:\n  s:\n{rows}") == [
        "things stand on one another: b on c on b",
        "things stand on one another: a on a",
        "nothing called 'g' to stand on",
    ]
