"""The list for the site: what is first on it, how well it must be taken, and that it is a page."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.cli.main import main
from massing.project.read import parse_project, read_project
from massing.sureness.remeasure import remeasure

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DRYING_ROOM = (str(EXAMPLES / "lean-to.yaml"), "--scheme", "drying room")
BOATHOUSE = EXAMPLES / "boathouse.yaml"


def run(capsys, *words: str, leaves: int = 0) -> str:
    with pytest.raises(SystemExit) as left:
        main(list(words))
    assert (left.value.code or 0) == leaves
    return capsys.readouterr().out


def test_the_walls_the_screen_hangs_on_come_first():
    """Nominally 20 to spare, two walls of ±20: each to ±10 with the other settles it."""
    rows = remeasure(check_scheme(read_project(BOATHOUSE), "first try", nudges=False))
    first = rows[:2]

    assert [row.measure.key for row in first] == ["wall north thickness", "wall south thickness"]
    for row in first:
        assert (row.open, row.settles) == (1, 0)
        assert row.tolerance is None
        assert row.together == pytest.approx(10.0)
    assert all(row.open == 0 for row in rows[2:])


@pytest.mark.parametrize("half", ["±10", "±10.1"])
def test_at_the_tolerance_asked_for_the_verdict_is_settled_and_beyond_it_is_not(half: str):
    """The list's own figure, put back in the file."""
    text = BOATHOUSE.read_text(encoding="utf-8").replace("120 ±20", f"120 {half}")
    answer = check_scheme(parse_project(text), "first try", nudges=False)
    screen = [f for f in answer.findings if f.check == "walls" and set(f.items) == {"screen",
              "north"}]  # fmt: skip
    wanted = Verdict.CLEAR if half == "±10" else Verdict.REMEASURE
    assert [f.verdict for f in screen] == [wanted]


def test_a_measurement_that_settles_alone_says_how_well():
    """20 to spare; ±12 and ±14 against it. Either, taken to what the other leaves, settles it."""
    text = BOATHOUSE.read_text(encoding="utf-8").replace("thickness: 120 ±20",
        "thicknesses: {north: 120 ±12, south: 120 ±14, east: 120, west: 120}")  # fmt: skip
    answer = check_scheme(parse_project(text), "first try", nudges=False)
    rows = {row.measure.key: row for row in remeasure(answer)}
    # Touching counts as clear to 0.01 mm, which the list does not spend.
    assert rows["wall north thickness"].tolerance == pytest.approx(6.0, abs=0.02)
    assert rows["wall south thickness"].tolerance == pytest.approx(8.0, abs=0.02)
    assert rows["wall north thickness"].settles == 1


def test_the_sheet_names_the_partner_and_what_is_decided(capsys):
    said = run(capsys, "remeasure", str(BOATHOUSE), "--scheme", "first try")
    flat = " ".join(said.split())

    assert "THESE DECIDE WHETHER IT FITS 1 [ ] thickness of the north wall: noted 120 ±20" in flat
    assert "take it to ±10, and no. 2 as much better" in flat
    assert "decides: 20 between screen and the north wall" in flat


def test_the_sheet_is_one_page_however_much_there_is(capsys, tmp_path):
    from tests.bench.sampling_against_loop import forty_items

    file = tmp_path / "forty.yaml"
    file.write_text(forty_items(), encoding="utf-8")
    with pytest.raises(SystemExit):
        main(["remeasure", str(file)])
    lines = capsys.readouterr().out.splitlines()

    assert len(lines) == 60
    assert max(map(len, lines)) <= 98
    assert "less telling: --format json lists everything" in lines[-1]
    with pytest.raises(SystemExit):
        main(["remeasure", str(file), "--format", "json"])
    listed = json.loads(capsys.readouterr().out)["remeasure"]
    assert len(listed) > 20
    deciding = [row["decides"] for row in listed]
    assert deciding == sorted(deciding, reverse=True)


def test_a_survey_that_disagrees_is_put_first(capsys, tmp_path):
    file = tmp_path / "slip.yaml"
    text = (EXAMPLES / "lean-to.yaml").read_text(encoding="utf-8")
    file.write_text(text.replace("length: 4203", "length: 4303"), encoding="utf-8")
    second = run(capsys, "remeasure", str(file)).splitlines()[1]
    assert second.startswith("First: the walls: the diagonal north-west to south-east reads 100 mm")


def test_angles_are_listed_in_degrees(capsys):
    said = run(capsys, "remeasure", *DRYING_ROOM)
    assert "angle inside at the north-west corner: noted 87.1° ±0.5°" in said
    rows = json.loads(run(capsys, "remeasure", *DRYING_ROOM, "--format", "json"))
    units = {row["measure"]: row["unit"] for row in rows["remeasure"]}
    assert units["room.angles[0].inside"] == "deg"
    assert units["room.walls[0].length"] == "mm"


def test_sampled_odds_are_printed_and_in_the_json(capsys):
    words = ["check", *DRYING_ROOM, "--samples", "600", "--seed", "3"]
    said = " ".join(run(capsys, *words, leaves=1).split())
    assert "sampled in 600 rooms within the ±: the first-order odds agree" in said
    assert "sampled: clear in" in said
    found = json.loads(run(capsys, *words, "--format", "json", leaves=1))["findings"]
    tape = next(f for f in found if f["verdict"] == "re-measure")
    assert tape["linear"] is True
    assert tape["sampled"]["samples"] == 600
    assert tape["sampled"]["agrees"] is True
    assert tape["sampled"]["chance_clear"] == pytest.approx(tape["chance_clear"], abs=0.05)
    assert run(capsys, *words, leaves=1) == run(capsys, *words, leaves=1)
