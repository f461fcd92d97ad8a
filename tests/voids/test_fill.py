"""Tests for massing.voids.fits, trial and fill: what goes into the unused space."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from massing.checks.finding import Verdict
from massing.checks.rules import rules_of
from massing.checks.run import check_scheme
from massing.cli.voids_command import command
from massing.errors import InputError, MassingError
from massing.project.project import Project
from massing.project.read import parse_project, read_project
from massing.voids.boxes import BoxWish, UsableBox, usable_boxes
from massing.voids.fill import fill_scheme, filled_text
from massing.voids.fits import Candidate, Fit, candidates, fits_in, homeless, plain_words
from massing.voids.trial import added, conflicts_with, without
from tests.voids.rooms import EXAMPLES, laid, project_of

BOATHOUSE = EXAMPLES / "boathouse.yaml"
CONFLICT = Verdict.CONFLICT

SHELF = """\
items:
  case: {body: 1000 x 400 x 800, stores: yes, weight: 60}
  tub: {body: 500 x 300 x 300, weight: 5}
  trunk: {body: 900 x 380 x 500, weight: 50}
  locker: {body: 400 x 400 x 1000, weight: 20, zone: {front: 900, headroom: 2000}}
schemes:
  one:
    - {item: case, against: south, along: 500}
"""


def box(low: tuple[float, ...], high: tuple[float, ...]) -> UsableBox:
    return UsableBox(low, high, 1e9, proved=True)  # type: ignore[arg-type]


def fits(project: Project, where: UsableBox, names: set[str] | None = None) -> tuple[Fit, ...]:
    choices = [c for c in candidates(project, "one") if c.own and (not names or c.name in names)]
    return fits_in(project, laid(project, "one"), where, choices, most=10)


def test_homeless_and_candidates():
    """What a scheme does not place, in file order; candidates are the largest first."""
    project = project_of(SHELF)
    assert homeless(project, "one") == ("tub", "trunk", "locker")
    found: tuple[Candidate, ...] = candidates(project, "one")
    assert [c.litres for c in found] == sorted((c.litres for c in found), reverse=True)
    assert {"tub", "trunk", "locker", "storage box"} <= {c.name for c in found}


def test_on_the_case():
    """Light things go on what stores, turned as they fit; heavy ones are not lifted there."""
    project = project_of(SHELF)
    (case,) = laid(project, "one").items
    low, high = case.low[0], case.high[0]
    found = fits(project, box((low[0], low[1], 800.0), (high[0], high[1], 1500.0)))
    assert [fit.item for fit in found] == ["tub"]
    trial = added(project, "one", plain_words(found[0].words))
    tub = trial.layout.item("tub")
    assert tub.footing == "case"
    assert tub.low[0, 2] == pytest.approx(800.0)
    assert (tub.low[0, :2] >= low[:2] - 0.06).all()
    assert (tub.high[0, :2] <= high[:2] + 0.06).all()
    assert conflicts_with(trial.layout, trial.rules, "tub") == ()


def test_zones_are_checked():
    """A thing whose front is walled in does not fit, whatever its body says."""
    slot = (
        SHELF
        + "    - {item: case, name: left, at: [0, 1600], facing: south}\n"
        + "    - {item: case, name: across, at: [1400, 700], facing: west}\n"
    )
    project = project_of(slot)
    niche = box((1000.0, 1600.0, 0.0), (1400.0, 2000.0, 1100.0))
    room = laid(project, "one").room
    assert room.outline.shape == (1, 4, 2)
    assert "locker" in [fit.item for fit in fits(project, niche)]  # east and north are open
    closed = project_of(
        slot
        + "    - {item: case, name: to the north, at: [700, 2000], facing: south}\n"
        + "    - {item: case, name: to the east, at: [1400, 1650], facing: south}\n"
        + "    - {item: case, name: to the south, at: [700, 1150], facing: south}\n"
    )
    assert "locker" not in [fit.item for fit in fits(closed, niche)]


def test_whole_millimetres_within_the_box():
    """A box at odd sizes gets things at whole millimetres, inside it and not beyond."""
    project = project_of(SHELF)
    odd = box((2000.4, 2000.4, 0.0), (2501.2, 2301.0, 700.0))
    (fit,) = fits(project, odd, {"tub"})
    tub = added(project, "one", plain_words(fit.words)).layout.item("tub")
    assert tub.low[0].tolist() == [2001.0, 2001.0, 0.0]
    assert tub.high[0].tolist() == [2501.0, 2301.0, 300.0]
    narrow = box((2000.4, 2000.4, 0.0), (2500.5, 2300.5, 700.0))
    assert fits(project, narrow, {"tub"}) == ()  # 500.1 wide, yet no whole place for 500


def test_wall_things_hang_at_the_base_of_the_box():
    """A thing for the wall goes against the wall the box touches, at its base."""
    project = project_of(
        "items: {rack: {body: 800 x 300 x 400, mount: wall, weight: 5}}\nschemes: {one: []}\n"
    )
    high = box((500.0, 2600.0, 1400.0), (1500.0, 3000.0, 1900.0))
    (fit,) = fits(project, high)
    words = plain_words(fit.words)
    assert (words["against"], words["height"]) == ("north", 1400.0)
    rack = added(project, "one", words).layout.item("rack")
    assert rack.high[0, 1] == pytest.approx(3000.0)
    assert rack.low[0, 2] == pytest.approx(1400.0)
    away = box((500.0, 2000.0, 1400.0), (1500.0, 2500.0, 1900.0))
    assert fits(project, away) == ()


def test_added_and_without():
    """A name that is taken gets a number; what stands on a thing goes with it."""
    project = project_of(SHELF + "    - {item: tub, on: case}\n")
    assert added(project, "one", {"item": "case", "at": [2000, 2000]}).name == "case 2"
    assert without(project, "one", {"case"}).arrangement("one").placements == ()
    assert len(without(project, "one", {"tub"}).arrangement("one").placements) == 1


def test_added_to_a_layout_at_hand():
    """One thing put into a layout is where it is when the whole scheme is placed again."""
    project = project_of(SHELF + "    - {item: tub, on: case, shift: [200, 0], turn: 90}\n")
    layout = laid(project, "one")
    words = {"item": "tub", "on": "tub", "turn": 30}
    quick, whole = added(project, "one", words, layout), added(project, "one", words)
    assert quick.name == whole.name == "tub 2"
    for mine, other in zip(quick.layout.items, whole.layout.items, strict=True):
        assert mine.name == other.name
        assert mine.footing == other.footing
        assert (mine.parts[0].solid.corners == other.parts[0].solid.corners).all()


@pytest.fixture(scope="module")
def boathouse() -> Project:
    return read_project(BOATHOUSE)


def test_filled_boathouse_checks_clear(boathouse: Project):
    """The written scheme has no conflict and nothing to re-measure, and the text is kept."""
    filling = fill_scheme(boathouse, "worked out", BoxWish(), most=3)
    assert len(filling.things) == 3
    assert filling.things[0].fit.item == "offcut bin"  # the project's own bin has no home
    text = filled_text(boathouse, filling, "packed")
    assert text.startswith(boathouse.text.rstrip("\n"))
    again = parse_project(text, BOATHOUSE)
    answer = check_scheme(again, "packed", nudges=False)
    kinds = {f.verdict for f in answer.findings}
    assert Verdict.CONFLICT not in kinds
    assert Verdict.REMEASURE not in kinds
    names = [item.name for item in answer.layout.items]
    assert names[-3:] == [thing.name for thing in filling.things]


def test_filling_shrinks_the_voids(boathouse: Project):
    """What is filled is no longer told of as the largest void."""
    wish = BoxWish(count=1)
    before = usable_boxes(laid(boathouse, "worked out"), rules_of(boathouse), wish)[0]
    filling = fill_scheme(boathouse, "worked out", wish, most=1)
    after = usable_boxes(laid(filling.project, "worked out"), rules_of(boathouse), wish)[0]
    assert filling.things
    assert after.volume < before.volume


def test_a_name_that_is_taken_is_refused(boathouse: Project):
    """No scheme is written over another."""
    filling = fill_scheme(boathouse, "worked out", BoxWish(count=1), most=1)
    with pytest.raises(InputError, match="already"):
        filled_text(boathouse, filling, "first try")


def test_a_planted_conflict_is_not_written(boathouse: Project):
    """Words that do not check are refused when the new text is read again."""
    filling = fill_scheme(boathouse, "worked out", BoxWish(count=1), most=1)
    thing = filling.things[0]
    bad = Fit(
        thing.fit.item, 1.0, own=False, words=(("item", "storage box"), ("at", (4200.0, 100.0)))
    )
    planted = type(filling)(filling.project, "worked out", (type(thing)("x", bad, "nowhere"),))
    with pytest.raises(MassingError, match="does not check"):
        filled_text(boathouse, planted, "bad")


@pytest.mark.parametrize(
    "schemes",
    ["schemes: {one: []}\n", "schemes:\n  one: []\n", "", "schemes:\n  one: {add: []}\n"],
)
def test_every_way_of_writing_schemes(tmp_path: Path, schemes: str):
    """In brackets, in lines, or not there at all: the file takes a scheme and reads again."""
    file = tmp_path / "try.yaml"
    # Under 2000 nobody stands, so nothing has an open front: closed boxes are asked for.
    file.write_text(
        "massing: 1\nproject: try\nroom: {size: 1400 x 1000, ceiling: [{flat: 900}]}\n"
        "items: {tub: {body: 500 x 300 x 300, weight: 5}}\n" + schemes
    )
    words = [str(file), "--fill", "--closed", "--most", "1", "--name", "packed"]
    done = CliRunner().invoke(command, words, standalone_mode=False)
    assert done.exception is None
    assert "put to work" in done.output
    again = read_project(file)
    assert "packed" in again.arrangements
    assert not check_scheme(again, "packed", nudges=False).conflicts


def test_in_place_and_elsewhere(tmp_path: Path):
    """--out leaves the file alone; its line ends are kept."""
    file, other = tmp_path / "a.yaml", tmp_path / "b.yaml"
    text = (
        "massing: 1\r\nproject: try\r\nroom: {size: 1400 x 1000, ceiling: [{flat: 900}]}\r\n"
        "items: {tub: {body: 500 x 300 x 300, weight: 5}}  # light\r\nschemes:\r\n  one: []\r\n"
    )
    data = text.encode()
    file.write_bytes(data)
    words = [str(file), "--fill", "--closed", "--most", "1"]
    assert CliRunner().invoke(command, [*words, "-o", str(other)]).exit_code == 0
    assert file.read_bytes() == data
    assert CliRunner().invoke(command, words).exit_code == 0
    assert file.read_bytes() == other.read_bytes()
    assert file.read_bytes().startswith(data)
    assert b"\n" not in file.read_bytes().replace(b"\r\n", b"")


def test_nothing_to_put_in(tmp_path: Path):
    """A room too small for anything says so, and writes nothing."""
    file = tmp_path / "a.yaml"
    file.write_text(
        "massing: 1\nproject: try\nroom: {size: 900 x 900, ceiling: [{flat: 250}]}\n"
        "schemes: {one: []}\n"
    )
    before = file.read_bytes()
    done = CliRunner().invoke(command, [str(file), "--fill", "--closed"])
    assert done.exit_code == 0
    assert "nothing fits" in done.output
    assert file.read_bytes() == before


class TestCeilings:
    """Things made to hang from a ceiling."""

    AIRER = "items:\n  airer: {body: 1500 x 400 x 150, mount: ceiling%s}\nschemes: {one: []}\n"
    WISH = BoxWish(smallest=(300.0, 300.0, 300.0))

    def test_hung_where_the_ceiling_is_highest(self):
        """Under a slope it hangs along the high wall, over people's heads, and checks clear."""
        room = "size: 4000 x 3000\nceiling: [{slopes: {south: 1500, north: 2700}}]"
        project = project_of(self.AIRER % ", weight: 60", room)
        filling = fill_scheme(project, "one", self.WISH, most=1)
        (thing,) = filling.things
        again = parse_project(filled_text(project, filling, "filled"))
        airer = laid(again, "filled").item("airer")
        assert airer.footing == "ceiling"
        assert airer.high[0, 1] == pytest.approx(3000.0, abs=1.0)
        # The ceiling rises 0.4 a mm; it is lowest over the airer's south side.
        assert airer.high[0, 2] == pytest.approx(2700 - 0.4 * (3000 - airer.low[0, 1]))
        assert not [f for f in check_scheme(again, "filled").findings if f.verdict is CONFLICT]
        assert "hung from the ceiling" in thing.where
        assert "60 kg" in thing.cautions[0]
        assert "fix into structure" in thing.cautions[0]

    def test_not_where_heads_are(self):
        """Under a low ceiling nothing hangs over floor that is walked on."""
        low = "size: 4000 x 3000\nceiling: [{flat: 2100}]"
        filling = fill_scheme(project_of(self.AIRER % "", low), "one", self.WISH, most=1)
        assert [thing for thing in filling.things if thing.fit.item == "airer"] == []

    def test_a_weight_not_given_is_told(self):
        """A thing without a weight asks for its fixing to be checked all the same."""
        filling = fill_scheme(project_of(self.AIRER % ""), "one", self.WISH, most=1)
        assert filling.things[0].cautions == (
            "its weight is not given: have the fixing to the ceiling checked",
        )

    def test_each_thing_is_told_by_its_own_bounds(self):
        """A thing put in the corner of a box as wide as the room is against one wall of it."""
        filling = fill_scheme(project_of(self.AIRER % ""), "one", self.WISH, most=2)
        layout = laid(filling.project, "one")
        for thing in filling.things:
            item = layout.item(thing.name)
            for wall, gap in (
                ("west", item.low[0, 0]),
                ("east", 4000 - item.high[0, 0]),
                ("south", item.low[0, 1]),
                ("north", 3000 - item.high[0, 1]),
            ):
                if f"{wall} wall" in thing.where:
                    assert gap <= 50.0

    def test_the_catalogue_offers_nothing_that_needs_water(self):
        """A sink may have a cupboard under it; a void brings it no water all the same."""
        offered = {choice.name for choice in candidates(project_of("schemes: {one: []}"), "one")}
        assert "base cabinet" in offered
        assert not offered & {"sink base", "utility sink", "dye bench"}
