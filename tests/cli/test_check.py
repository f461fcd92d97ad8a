"""`massing check`: its words, its width, its JSON, the table of schemes."""

from __future__ import annotations

import json

import pytest

from massing.checks.run import check_scheme
from massing.cli.catalogue_text import build_ups_text, catalogue_text, entry_text
from massing.cli.scheme_table import table_dict, table_text
from massing.cli.text import WIDTH, answer_text
from massing.handover.answer import answer_dict
from massing.items.catalog import item_names
from massing.project.read import parse_project, read_project
from tests.cli.run import BOATHOUSE, massing

FINDING = {
    "check",
    "verdict",
    "items",
    "gap_mm",
    "needs_mm",
    "unit",
    "plus_minus_mm",
    "worst_mm",
    "best_mm",
    "chance_clear",
    "at_mm",
    "overlap_l",
    "area_m2",
    "says",
    "nudge",
    "turns_on",
    "source",
    "linear",
}
ANSWER = {"massing", "project", "scheme", "room", "items", "findings", "measures", "cautions"}


@pytest.fixture(scope="module")
def project():
    return read_project(BOATHOUSE)


def test_json_has_the_documented_keys(project):
    """Every finding the same, but for how far a motion reaches."""
    told = answer_dict(check_scheme(project, "first try"))
    assert set(told) >= ANSWER
    assert (told["massing"], told["project"], told["scheme"]) == (
        1,
        "Ternholt slip boathouse",
        "first try",
    )
    assert {"floor_m2", "volume_m3", "standing_m2"} <= set(told["room"])
    for finding in told["findings"]:
        extra = {"reaches", "of"} if "reaches" in finding else set()
        assert set(finding) == FINDING | extra
        assert finding["nudge"] is None or set(finding["nudge"]) == {"item", "by_mm", "starts"}
    assert any("reaches" in finding for finding in told["findings"])
    verdicts = [finding["verdict"] for finding in told["findings"]]
    assert verdicts == sorted(verdicts, key=["conflict", "re-measure", "caution", "clear"].index)


@pytest.mark.parametrize("form", ["text", "json"])
def test_bytes_do_not_hang_on_the_hash_seed(form):
    """The same answer, byte for byte, in any process."""
    told = {
        massing("check", BOATHOUSE, "-s", "first try", "--format", form, PYTHONHASHSEED=seed).stdout
        for seed in ("0", "1", "4711")
    }
    assert len(told) == 1
    (only,) = told
    assert only
    if form == "json":
        assert json.loads(only)["scheme"] == "first try"


def test_no_line_is_too_wide(project):
    """Whatever scheme, with everything listed."""
    for name in project.arrangements:
        text = answer_text(check_scheme(project, name, nudges=name == "first try"), every=True)
        assert max(map(len, text.splitlines())) <= WIDTH


def test_no_line_is_too_wide_with_long_names():
    """Names of eighty letters, in one word and in many."""
    one, many = "x" * 80, ("long name " * 8).strip()
    text = f"""massing: 1
project: {one}
room:
  size: 4000 ±900 x 3000 ±20
  ceiling: [{{slopes: {{south: 1500 ±10, north: 2300}}}}]
items: {{{one}: {{body: 900 x 600 x 1700, zone: {{front: 800}}}}}}
schemes:
  {many}:
    - {{item: {one}, at: [0, 0]}}
    - {{item: {one}, name: {many}, at: [500, 300]}}
    - {{item: {one}, name: third, at: [3090, 2000]}}
  b: []
"""
    project = parse_project(text)
    answer = check_scheme(project, many)
    assert answer.conflicts
    shown = answer_text(answer, every=True)
    assert max(map(len, shown.splitlines())) <= WIDTH
    assert one in shown.replace("\n     ", "")
    table = table_text([answer, check_scheme(project, "b")])
    assert max(map(len, table.splitlines())) <= WIDTH


def test_catalogue_is_not_too_wide():
    """The list, the build-ups and every entry."""
    texts = [catalogue_text(), build_ups_text(), *map(entry_text, item_names())]
    wide = [line for text in texts for line in text.splitlines() if len(line) > WIDTH]
    assert wide == []


def test_entries_are_asked_for_by_several_words_or_several_names():
    """`a b` is the entry of that name where there is one, else both; a slip is told as typed."""
    hook, hoist = (massing("catalog", f"bicycle on a {way}").stdout for way in ("hook", "hoist"))
    assert massing("catalog", *["bicycle", "on", "a", "hook"]).stdout == hook
    both = massing("catalog", "bicycle on a hook", "bicycle on a hoist").stdout
    assert both == f"{hook}\n{hoist}"
    wrong = massing("catalog", "wsher", "dryer")
    assert wrong.returncode == 2
    assert "there is no item 'wsher dryer'" in wrong.stderr


def test_schemes_side_by_side(project):
    """One row each, in file order, as each check alone has it."""
    answers = [check_scheme(project, name, nudges=False) for name in project.arrangements]
    table = table_dict(answers)
    assert [row["scheme"] for row in table["schemes"]] == list(project.arrangements)
    for row, answer in zip(table["schemes"], answers, strict=True):
        assert row["conflicts"] == len(answer.conflicts)
        room = answer_dict(answer)["room"]
        assert {key: row[key] for key in ("standing_m2", "store_l")} == {
            key: room[key] for key in ("standing_m2", "store_l")
        }
    done = massing("check", BOATHOUSE, "--every-scheme")
    assert (done.returncode, done.stderr) == (1, "")
    assert done.stdout == table_text(answers) + "\n"
    assert [line.split("  ")[0] for line in done.stdout.splitlines()[3:]] == list(
        project.arrangements
    )
    told = massing("check", BOATHOUSE, "--every-scheme", "--format", "json")
    assert json.loads(told.stdout) == table


def test_picture_of_words(project):
    """The head of an answer says what, how big and how it stands."""
    head = answer_text(check_scheme(project, "first try")).splitlines()[:4]
    assert head[0] == "Ternholt slip boathouse / first try"
    assert head[1] == "floor 14.40 m2, volume 32.80 m3, 12.20 m2 at 2000 or higher"
    assert head[2] == "4 of 4 wall lengths are derived"
    assert head[3].startswith("5 conflicts, 1 to re-measure, ")


def test_about_lists_what_names_a_thing_under_its_own_number():
    """The boathouse's bin is in two findings of seven; the fifth is of the chest alone."""
    told = massing("check", BOATHOUSE, "-s", "first try", "--about", "bin").stdout

    assert "about bin: 1 conflict, nothing to re-measure, no cautions" in told
    assert "\n  2  side door opens 31.7° of 90°, stopped by bin" in told
    assert "kayak passes" not in told
    assert "5 conflicts, 1 to re-measure, 1 caution" in told
    both = massing("check", BOATHOUSE, "-s", "first", "--about", "bin", "--about", "ches").stdout
    assert "about bin and chest: 2 conflicts, nothing to re-measure, 1 caution" in both
    assert "\n  5  chest straddles a step" in both


def test_about_takes_walls_and_openings_and_knows_no_others():
    """The screen's gap to the north wall is told of the wall too; a slip gets the nearest name."""
    told = massing("check", BOATHOUSE, "-s", "first try", "--about", "north").stdout
    assert "20 between screen and the north wall" in told
    for words, says in (
        (("kyak",), "did you mean 'kayak'?"),
        (("kayak", "--format", "json"), "--about is for reading"),
        (("kayak", "--every-scheme"), "--every-scheme goes with none of"),
    ):
        refused = massing("check", BOATHOUSE, "--about", *words)
        assert refused.returncode == 2
        assert says in refused.stderr
