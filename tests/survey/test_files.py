"""Surveys written in project files: what they are adjusted to, what they say, what they refuse."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from massing.cli.main import main
from massing.errors import InputError
from massing.project.read import parse_project, thickness_of
from massing.room.build import build_room
from massing.scheme.sizes import default_half_width_of
from massing.sureness.survey import survey_room
from massing.survey.values import Values

LEAN_TO = Path(__file__).resolve().parents[2] / "examples" / "lean-to.yaml"
FLAT = "  ceiling: [{flat: 2400}]\n"
WALLS = """
  walls:
    - {name: north, length: 3628 ±4}
    - {name: east, length: 2263.7 ±4}
    - {name: south, length: 3423.2 ±4}
    - {name: west, length: 2227.1 ±4}
"""
# The corners those walls were worked out from, NW NE SE SW, and so the true diagonals.
TRUE = np.array([[0.0, 2262.0], [3628.0, 2262.0], [3541.0, 0.0], [118.0, 38.0]])
BOTH = """
  diagonals:
    - {from: north/west, to: south/east, length: 4201.8 ±4}
    - {from: north/east, to: south/west, length: 4155.3 ±4}
"""


SIZED = """
  size: 4000 ±4 x 3000 ±4
  diagonals: [{from: A, to: C, length: %s ±4}, {from: B, to: D, length: %s ±4}]
"""


def project(room: str, head: str = ""):
    return parse_project(f"massing: 1\nproject: P\n{head}room:\n{room}{FLAT}")


def built(room: str, shifts=None):
    """The room of some text and its measures; in shifted worlds when asked."""
    made = project(room)
    values = Values(default=default_half_width_of(made))
    room_ = build_room(made.room, values, thickness_of)
    if shifts is None:
        return room_, values.measures
    moved = Values.shifted(values.measures, np.asarray(shifts))
    return build_room(made.room, moved, thickness_of), values.measures


def run(capsys, *words: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as left:
        main(list(words))
    return int(left.value.code or 0), capsys.readouterr().out


def faults_of(room: str, head: str = "") -> list[str]:
    with pytest.raises(InputError) as raised:
        project(room, head)
    assert all(fault.mark is not None for fault in raised.value.faults)
    return [str(fault) for fault in raised.value.faults]


def distances(points) -> np.ndarray:
    return np.linalg.norm(points[:, None] - points[None], axis=2)


def test_walls_and_diagonals_give_back_the_room_they_were_taken_from():
    room, measures = built(WALLS + BOTH)

    order = [room.walls[k].name for k in range(4)]
    corners = {name: room.wall(name).left[0] for name in order}
    # Facing the north wall from inside its left end is the north-west corner, and so on round.
    found = np.array([corners[n] for n in ("north", "east", "south", "west")])
    np.testing.assert_allclose(distances(found), distances(TRUE), atol=0.06)
    assert len(measures) == 6
    assert room.surveys[0].adjustment.agrees
    assert [wall.provenance for wall in room.walls] == ["measured"] * 4


def test_a_wall_left_out_is_derived_and_said_so():
    room, _ = built(WALLS.replace(", length: 3423.2 ±4", "") + BOTH)

    assert room.wall("south").provenance == "derived"
    assert room.wall("south").length[0] == pytest.approx(3423.2, abs=0.1)
    assert room.wall("north").provenance == "measured"


def test_every_measurement_moves_the_corners_by_its_own_influence():
    """A world where one reading is out, against the file written again with that reading."""
    texts = {0: ("3628 ±4", "3629 ±4"), 3: ("2227.1 ±4", "2228.1 ±4"), 5: ("4155.3", "4156.3")}
    for column, (old, new) in texts.items():
        shifts = np.zeros((2, 6))
        shifts[1, column] = 1.0
        moved, measures = built(WALLS + BOTH, shifts)
        assert measures[column].nominal == pytest.approx(float(old.split()[0]))
        again, _ = built((WALLS + BOTH).replace(old, new))
        np.testing.assert_allclose(moved.outline[1], again.outline[0], atol=2e-3)
        assert np.abs(moved.outline[1] - moved.outline[0]).max() > 0.1


@pytest.mark.parametrize("name", ["A", "north/west", "west/north", "north-west", "west-north"])
def test_a_corner_has_several_names(name: str):
    room, _ = built(WALLS + BOTH.replace("north/west", name))
    plain, _ = built(WALLS + BOTH)
    np.testing.assert_array_equal(room.outline, plain.outline)


def test_a_corner_nobody_knows_is_refused_with_the_nearest():
    (fault,) = faults_of(WALLS + BOTH.replace("north/west", "nort/west"))
    assert "there is no corner 'nort/west'" in fault
    assert "did you mean 'north/west'" in fault


def test_one_measurement_short_names_what_would_settle_it():
    rough = WALLS.replace("2263.7 ±4", "2263.7 ±4, turn: right 92.2 ±0.5").replace(
        ", length: 3423.2 ±4", ""
    )
    (fault,) = faults_of(rough)
    assert "one measurement is missing" in fault
    assert "the diagonal north-west to south-east" in fault
    assert "the south wall" in fault
    assert "square: 1 deg" in fault


def test_square_corners_are_an_assumption_with_a_doubt():
    """An ell with one diagonal: not settled by lengths alone, but with corners square to a degree.

    Closed by lengths and squareness it has the corners it was drawn with.
    """
    ell = """
  walls:
    - {name: north, length: 4000 ±4, turn: right}
    - {name: east, length: 1500 ±4, turn: right}
    - {name: step, length: 1500 ±4, turn: left}
    - {name: inner, length: 1500 ±4, turn: right}
    - {name: south, length: 2500 ±4, turn: right}
    - {name: west, length: 3000 ±4}
  diagonals: [{from: north/west, to: step/inner, length: 2915.5 ±4}]
"""
    (fault,) = faults_of(ell)
    assert "2 measurements are missing" in fault
    room, measures = built(ell + "  square: 1 deg\n")
    corner = {tuple(np.round(p).astype(int)) for p in room.outline[0]}
    assert corner == {(0, 0), (2500, 0), (2500, 1500), (4000, 1500), (4000, 3000), (0, 3000)}
    assert [m.unit for m in measures].count("deg") == 5
    assert sum(o.method == "square" for o in room.surveys[0].observations) == 5


def test_a_diagonal_no_room_could_have_is_refused_in_plain_words():
    (fault,) = faults_of(WALLS + BOTH.replace("4201.8", "9000"))
    assert "these measurements cannot make a room: the diagonal north-west to south-east" in fault
    assert "is longer than" in fault


@pytest.mark.parametrize(("old", "by"), [("4203", 100), ("4203", -100), ("4154", 100)])
def test_a_slip_in_a_diagonal_is_named_by_the_survey(capsys, tmp_path, old: str, by: int):
    """100 mm planted in one diagonal of the example: the command says which and what it was."""
    text = LEAN_TO.read_text(encoding="utf-8")
    assert text.count(f"length: {old}") == 1
    file = tmp_path / "slip.yaml"
    file.write_text(text.replace(f"length: {old}", f"length: {int(old) + by}"), encoding="utf-8")

    status, said = run(capsys, "survey", str(file), "--format", "json")
    walls = json.loads(said)["surveys"][0]

    assert status == 0
    assert walls["agrees"] is False
    assert walls["suspect"]["measure"] == f"room.diagonals[{0 if old == '4203' else 1}].length"
    assert walls["suspect"]["disagrees"] == pytest.approx(by, abs=4)
    assert walls["suspect"]["slip"] == f"read 100 too {'much' if by > 0 else 'little'}"
    assert walls["suspect"]["value"] == int(old)
    status, said = run(capsys, "survey", str(file))
    flat = " ".join(said.split())
    assert f"reads {abs(by)} mm {'more' if by > 0 else 'less'} than" in flat.replace(
        f"{abs(by) - 1} mm", f"{abs(by)} mm"
    ).replace(f"{abs(by) + 1} mm", f"{abs(by)} mm")
    status, said = run(capsys, "check", str(file))
    assert "survey: the walls: the diagonal" in " ".join(said.split())


def test_the_example_itself_agrees(capsys):
    status, said = run(capsys, "survey", str(LEAN_TO))
    flat = " ".join(said.split())

    assert status == 0
    assert flat.count("the measurements agree within their ±") == 2
    assert ">" not in said
    assert "4 spare" in said


def test_a_size_alone_says_that_no_slip_would_show(capsys, tmp_path):
    file = tmp_path / "plain.yaml"
    file.write_text(f"massing: 1\nproject: P\nroom:\n  size: 3000 ±5 x 2000 by laser\n{FLAT}")
    _, said = run(capsys, "survey", str(file))
    assert "Nothing is measured twice, so no slip of the tape would show" in said
    assert "measured, laser" in said
    assert json.loads(run(capsys, "survey", str(file), "--format", "json")[1])["spare"] == 0


def test_equal_diagonals_make_a_size_a_rectangle_and_unequal_ones_lean():
    room, measures = built(SIZED % (5000, 5000))
    np.testing.assert_allclose(
        room.outline[0], [[0, 0], [4000, 0], [4000, 3000], [0, 3000]], atol=1e-6
    )
    assert [m.key for m in measures][:4] == [
        "room.size[0]", "room.size[1]", "room.diagonals[0].length", "room.diagonals[1].length"
    ]  # fmt: skip

    leaning, _ = built(SIZED % (5010, 4990))
    # d1² - d2² = 4 w d cos(angle), so the corner is 90 - 0.239 degrees before squareness pulls.
    along, up = (leaning.outline[0][k] - leaning.outline[0][0] for k in (1, 3))
    cos = along @ up / np.linalg.norm(along) / np.linalg.norm(up)
    assert np.degrees(np.arccos(cos)) == pytest.approx(90 - 0.239, abs=0.01)


def test_a_room_out_of_square_is_said_to_be_so_not_a_wrong_tape():
    text = SIZED % (5080, 4918.7)
    room, _ = built(text)
    (note,) = room.surveys[0].notes
    assert "the room is 1.9 degrees out of square" in note
    assert "square: 2 deg" in note
    assert built(text + "  square: 3 deg\n")[0].surveys[0].notes == ()


# Purdue University, ASM 215 course notes, "Traverse calculations"
# (engineering.purdue.edu/~asm215/topics/travcalc.html): feet, azimuths in degrees and minutes;
# perimeter 2466.05, misclosure 0.89 (from rounded legs), 1:2771.
PURDUE = [
    (285.10, 26 + 10 / 60),
    (610.45, 104 + 35 / 60),
    (720.48, 195.5),
    (203.00, 358.3),
    (647.02, 306.9),
]


def test_a_published_traverse_written_as_a_room_misses_by_the_published_distance(capsys, tmp_path):
    """Walls in feet, turns from the azimuths; the whole way from the file to the answer.

    Every length is a tenth of the published one, as a field is no room; a misclosure scales along.
    """
    lengths, azimuths = zip(*PURDUE, strict=True)
    after = [*azimuths[1:], azimuths[0]]
    turns = [(b - a + 180) % 360 - 180 for a, b in zip(azimuths, after, strict=True)]
    rows = [
        f"    - {{length: {length / 10:.3f} ft ±0.1 ft, "
        f"turn: {'right' if t > 0 else 'left'} {abs(t):.6f}}}"
        for length, t in zip(lengths, turns, strict=True)
    ]
    file = tmp_path / "traverse.yaml"
    file.write_text("massing: 1\nproject: T\nroom:\n  walls:\n" + "\n".join(rows) + "\n" + FLAT)

    walls = json.loads(run(capsys, "survey", str(file), "--format", "json")[1])["surveys"][0]

    assert walls["misclosure"]["mm"] / 30.48 == pytest.approx(0.89, abs=0.01)
    assert walls["misclosure"]["around_mm"] / 30.48 == pytest.approx(2466.05, abs=1e-3)
    assert walls["misclosure"]["one_in"] == pytest.approx(2771, rel=0.01)
    assert walls["spare"] == 2
    # The adjusted walls close: laid end to end in their directions they come back.
    adjusted = np.array([m["adjusted"] for m in walls["measurements"]])
    heading = np.radians(azimuths)
    ends = (adjusted[:, None] * np.stack([np.sin(heading), np.cos(heading)], axis=1)).sum(axis=0)
    np.testing.assert_allclose(ends, 0.0, atol=0.01)


# Ghilani, Adjustment Computations, 5th ed. 2010, problem 21.10: the lengths of its quadrilateral
# with their standard deviations, as listed in F. Krumm, Geodetic Network Adjustment Examples,
# Stuttgart 2020, in metres (written as mm here: a room is at most a kilometre); A to D clockwise.
GHILANI = """
  walls:
    - {name: AB, length: 3111.291 ±0.01732}
    - {name: BC, length: 3726.220 ±0.02078}
    - {name: CD, length: 3237.783 ±0.01732}
    - {name: DA, length: 3662.372 ±0.02078}
  diagonals:
    - {from: A, to: C, length: 5193.471 ±0.02771}
    - {from: B, to: D, length: 4524.471 ±0.02425}
"""
GHILANI_AT = [
    (5600.544, 4966.236), (6061.624, 8043.173), (9787.823, 8038.529), (9260.886, 4843.911)
]  # fmt: skip


def test_a_textbook_quadrilateral_written_as_a_room_has_the_listed_coordinates():
    """Six lengths, one spare: they agree, and the shape is the listed one to a few cm in km."""
    room, _ = built(GHILANI)
    corners = np.array([room.wall(name).left[0] for name in ("AB", "BC", "CD", "DA")])

    assert room.surveys[0].adjustment.freedom == 1
    assert room.surveys[0].adjustment.agrees
    np.testing.assert_allclose(distances(corners), distances(np.array(GHILANI_AT)), atol=0.06)


def test_three_lengths_alone_make_a_triangle():
    text = "  walls: [{length: 4000 ±4}, {length: 3000 ±4}, {length: 5000 ±4}]\n"
    room, measures = built(text)
    assert sorted(wall.length[0].round(6) for wall in room.walls) == [3000, 4000, 5000]
    corner = room.wall("wall 2").left[0], room.wall("wall 1").left[0], room.wall("wall 2").right[0]
    one, other = corner[1] - corner[0], corner[2] - corner[0]
    assert abs(float(one @ other)) < 1e-3 * 12e6
    assert len(measures) == 3
    assert room.surveys[0].adjustment.freedom == 0


def test_outside_diagonals_are_adjusted_before_the_walls_come_off():
    """Walls of 100 all round: the inside is the adjusted outside, each face moved in square."""
    room, measures = built(WALLS + BOTH + "  measured: outside\n  thickness: 100 ±10\n")
    plain, _ = built(WALLS + BOTH)
    for name in ("north", "south", "east", "west"):
        assert room.wall(name).length[0] < plain.wall(name).length[0] - 190
        np.testing.assert_allclose(room.wall(name).outward, plain.wall(name).outward, atol=1e-12)
    assert {wall.provenance for wall in room.walls} == {"derived"}
    assert len(measures) == 10


def test_a_dent_is_told_from_a_bulge_by_which_way_its_corner_turns():
    """The same five lengths make two rooms; the words right and left choose between them."""
    dented = np.array([[0, 0], [0, 4000], [2200, 1500], [5000, 0]], dtype=float)
    size = distances(dented)
    text = "  walls:\n" + "".join(
        f"    - {{length: {size[k, (k + 1) % 4]:.3f} ±4, turn: {turn}}}\n"
        for k, turn in enumerate(("right", "%s", "right", "right"))
    )
    text += f"  diagonals: [{{from: B, to: D, length: {size[1, 3]:.3f} ±4}}]\n"

    def across(turn: str) -> float:
        room, _ = built(text % turn)
        return float(np.linalg.norm(room.wall("wall 3").left[0] - room.wall("wall 1").left[0]))

    assert across("left") == pytest.approx(size[0, 2], abs=0.05)
    assert across("right") > size[0, 2] + 500


ROOF = """
  size: 4000 ±4 x 3240 ±4
  ceiling:
    - ridge: {along: x, height: 2250 ±10}
      eaves: {south: 900 ±10, north: 900 ±10}
      measured: {south: {run: 1620 ±5, slope: %s ±10, pitch: 39.8 ±0.5}}
"""


MONO = """
  size: 3000 ±4 x 2242 ±4
  ceiling:
    - slopes: {south: 1935 ±5, north: 2610 ±5}
      measured: {south: {slope: 2355 ±2}}
"""


def roofed(slope: int):
    made = parse_project("massing: 1\nproject: P\nroom:" + ROOF % slope)
    values = Values()
    return build_room(made.room, values, thickness_of), values.measures


def test_a_roof_measured_five_ways_is_adjusted_and_every_way_is_a_measure():
    room, measures = roofed(2110)

    ridge = room.ceilings[0].height(np.array([[[2000.0, 1620.0]]]))[0, 0]
    assert ridge == pytest.approx(2250, abs=1.5)
    survey = room.surveys[0]
    assert survey.adjustment.freedom == 2
    assert survey.adjustment.agrees
    keys = {m.key: m.unit for m in measures}
    assert keys["room.ceiling[0].measured.south.pitch"] == "deg"
    assert keys["room.ceiling[0].measured.south.slope"] == "mm"
    assert keys["room.ceiling[0].ridge.height"] == "mm"


def test_a_slope_length_read_a_hundred_out_is_the_suspect():
    room, _ = roofed(2210)
    (note,) = room.surveys[0].notes
    assert "the slope length from the south reads" in note
    assert "read 100 too much: 2110" in note


def test_a_slope_shorter_than_its_run_cannot_be():
    with pytest.raises(InputError, match=r"cannot make a slope: the slope length .* is shorter"):
        roofed(1500)


def test_a_measured_mono_pitch_moves_both_heights():
    made = parse_project("massing: 1\nproject: P\nroom:" + MONO)
    room = build_room(made.room, Values(), thickness_of)
    low, high = room.ceilings[0].height(np.array([[[0.0, 0.0], [0.0, 2242.0]]]))[0]
    # By hand, to first order: 13.6 of slope length to find, 0.576 for each mm both ends give way,
    # 0.16 d + 0.166 d = 0.288 x 13.6, so d = 12.0 and the rise 699.
    assert high - low == pytest.approx(699.0, abs=0.5)
    assert low - 1935 == pytest.approx(2610 - high, abs=0.05)


HEADS = {
    "  size: 3000 by lazer x 2000\n": ("no way of measuring 'lazer'", "mean 'laser'"),
    "  size: 3000 ±3000 x 2000\n": ("as large as the size itself", ""),
    "  size: 3000 x 2000\n  thickness: -100\n": ("must be more than 0", ""),
    "  size: 3000 x 2000\n  thickness: 100 ±120\n": ("as large as the size itself", ""),
    "  size: 3000 x 2000\n  angles: [{corner: A, inside: 88 ±0}]\n": ("more than 0 and less", ""),
    "  size: 3000 x 2000\n  diagonals: [{from: A, to: A, length: 3600}]\n": ("two corners", ""),
    "  corners: [[0, 0], [3000, 0], [0, 2000]]\n  square: 1\n": ("not with 'corners'", ""),
    "  size: 3000 x 2000\n  square: 45\n": ("at most 10 degrees", ""),
}


@pytest.mark.parametrize("room", sorted(HEADS))
def test_what_cannot_be_a_measurement_is_refused_at_its_place(room: str):
    says, hint = HEADS[room]
    (fault,) = faults_of(room)
    assert says in fault
    assert hint in fault


def test_an_unknown_way_for_the_whole_file_is_refused_with_the_nearest():
    (fault,) = faults_of("  size: 3000 x 2000\n", head="survey: {by: client tap}\n")
    assert "did you mean 'client tape'" in fault


def test_the_way_of_measuring_gives_the_tolerance_and_the_provenance():
    """By the file for the room, by a size for itself; a written ± always wins."""
    made = project("  size: 4000 x 3000 ±2\n", head="survey: {by: guess}\n")
    report = survey_room(made)
    by = {m.key: (m.half_width, m.method) for m in report.measures}

    assert by["room.size[0]"] == (400.0, "guess")
    assert by["room.size[1]"] == (2.0, "guess")
    assert {wall.source for wall in report.walls} == {"guessed"}
    mixed = survey_room(project("  size: 4000 by laser x 3000\n", head="survey: {by: photo}\n"))
    assert [m.method for m in mixed.measures][:2] == ["laser", "photo"]
    assert mixed.measures[1].half_width == 150.0


def test_inside_sizes_of_an_outside_survey_are_derived_with_worst_and_likely():
    """The project's own worked figures: 6240 x 2640 outside, walls 120 ±20."""
    boathouse = LEAN_TO.with_name("boathouse.yaml").read_text(encoding="utf-8")
    report = survey_room(parse_project(boathouse))
    for wall in report.walls:
        long = wall.name in {"north", "south"}
        assert wall.source == "derived"
        assert wall.inside.nominal == pytest.approx(6000 if long else 2400)
        assert wall.inside.worst == pytest.approx(40)
        assert wall.inside.likely == pytest.approx(800**0.5)
        assert wall.outside.nominal == pytest.approx(6240 if long else 2640)
        assert wall.outside.worst == pytest.approx(0)
