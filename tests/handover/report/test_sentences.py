"""Each part of the page says what was worked out, and the printed page says it too."""

from __future__ import annotations

import os
import re
from functools import cache

import pypdfium2
import pytest

from massing.checks.finding import Finding, Verdict
from massing.checks.rules import RULES
from massing.checks.run import check_scheme
from massing.checks.words import mm
from massing.handover.answer import cautions
from massing.handover.drawings.facts import datum_of
from massing.handover.report.page import report_page
from massing.handover.report.pdf import browser, printed
from massing.handover.report.takeoff import take_off
from massing.handover.report.words import counts, opening_sentence
from massing.project.read import read_project
from massing.room.measure import describe_provenance
from massing.sureness.remeasure import remeasure
from tests.handover.report.projects import ROOT, boathouse, boathouse_page, parted, read
from tests.handover.report.test_page import reading

LEAN_TO = ROOT / "examples" / "lean-to.yaml"
FITS = "Everything fits, at the worst of every measurement"
FAILS = "This scheme does not work yet"
WAITS = "Nothing conflicts as measured, but two verdicts cannot be given"
LOFT = ROOT / "examples" / "loft.yaml"


@cache
def lean_to():
    return check_scheme(read_project(LEAN_TO), "first try")


@cache
def loft():
    return check_scheme(read_project(LOFT), "worked out")


def words_of(page: str) -> str:
    return " ".join(" ".join(reading(page).text).split())


def part_of(page: str, name: str) -> str:
    """Words from a part's heading to the end of its section."""
    return words_of(page[page.index(f'id="{name}"') - 4 :].partition("</section>")[0])


def test_the_verdict_is_at_the_top_with_its_counts():
    """The sentence, then how many of each verdict beside its sign, before anything else."""
    answer = boathouse("first try")
    top = words_of(boathouse_page().partition("</header>")[0])
    assert opening_sentence(answer.findings) in top
    held = counts(answer.findings)
    for verdict, sign, word in (
        (Verdict.CONFLICT, "!", "conflicts"),
        (Verdict.REMEASURE, "?", "to re-measure"),
        (Verdict.CAUTION, "~", "caution"),
        (Verdict.CLEAR, "✓", "clear"),
    ):
        assert f"{sign} {held[verdict]} {word}" in top


def _findings(conflicts, tape, looks):
    kinds = (Verdict.CONFLICT,) * conflicts + (Verdict.REMEASURE,) * tape
    kinds += (Verdict.CAUTION,) * looks
    kept = [f for f in boathouse("first try").findings if f.verdict is Verdict.CONFLICT][:1]
    fields = {name: getattr(kept[0], name) for name in Finding.__dataclass_fields__}
    return [Finding(**{**fields, "verdict": kind}) for kind in kinds]


@pytest.mark.parametrize(
    ("held", "says"),
    [
        ((0, 0, 0), "Everything fits, at the worst of every measurement."),
        ((0, 0, 1), f"{FITS}, with one caution to read first."),
        ((1, 0, 0), f"{FAILS}: one conflict to resolve."),
        ((2, 0, 3), f"{FAILS}: two conflicts to resolve, and three cautions to read."),
        ((1, 1, 0), f"{FAILS}: one conflict to resolve, and one verdict that hangs on the tape."),
        ((0, 2, 0), f"{WAITS}: they hang on the tape."),
        ((0, 2, 1), f"{WAITS}: they hang on the tape, with one caution to read first."),
    ],
)
def test_the_sentence_follows_the_verdicts(held, says):
    assert opening_sentence(_findings(*held)) == says


def test_the_schedule_says_everything_to_order_and_fix_by():
    """Size, place, base, mass, fixing, clearances, services and source: the loft's washer."""
    page = report_page(loft())
    rows = page[page.index('id="schedule"') :].partition("</section>")[0].split("<tr>")
    row = words_of(next(r for r in rows if "<b>washer</b>" in r))
    for told in (
        "600 × 600 × 850",
        "4100 · 1320",
        "faces west",
        "stands on the floor",
        "loading: front 700, 2000 high",
        "door (leaf)",
        "water and waste",
    ):
        assert told in row, told
    assert re.search(r"\b0 75 stands", row)
    item = loft().layout.item("washer")
    for basis in item.spec.basis.values():
        assert " ".join(basis.split()) in row


def test_places_are_from_the_datum_of_the_drawings():
    """In a room out of square too: schedule, findings and sheets count from one corner."""
    answer, page = lean_to(), report_page(lean_to())
    datum = datum_of(answer.layout.room)
    assert float(abs(datum).max()) > 10.0
    told = part_of(page, "schedule")
    for item in answer.layout.items:
        x, y = item.low[0, :2] - datum
        assert f"{mm(float(x))} · {mm(float(y))}".replace("-", "−") in told
    found = next(f for f in answer.findings if f.verdict is Verdict.CONFLICT and f.at_mm)
    x, y = found.at_mm[0] - datum[0], found.at_mm[1] - datum[1]
    where = f"{mm(float(x))} east, {mm(float(y))} north".replace("-", "−")
    assert where in words_of(page)


def test_what_to_measure_again_is_ranked_with_room_to_write():
    """Every row of the working-out in its order, as noted, each with a blank to fill in."""
    answer, page = lean_to(), report_page(lean_to())
    rows = remeasure(answer)
    part = page[page.index('id="measure"') :].partition("</section>")[0]
    assert len(rows) == part.count('class="blank"') > 3
    words, at = words_of(part), 0
    for row in rows:
        label = row.measure.label[:1].upper() + row.measure.label[1:]
        at = words.index(label, at)
        assert f"{mm(row.measure.nominal)}" in words[at : at + 120]
        assert f"± {mm(row.measure.half_width)}" in words[at : at + 120]


def test_what_it_rests_on_is_all_there():
    """Every size compared with and its source, how each wall is known, every caution."""
    for answer, page in ((boathouse("first try"), boathouse_page()), (loft(), report_page(loft()))):
        words = part_of(page, "rests")
        for name, rule in RULES.items():
            assert rule.says in words
            assert " ".join(answer.rules.source(name).split()) in words
        for told in (*describe_provenance(answer.layout.room), *cautions(answer)):
            assert " ".join(told.split()) in words
    assert "Used at once: desk in use and loft door open." in part_of(report_page(loft()), "rests")


def test_what_the_client_accepted_is_said():
    words = part_of(boathouse_page("worked out"), "rests")
    assert "Accepted in the file for kayak: high slab, side door, wall unit." in words


def test_every_placed_finding_has_its_two_drawings():
    """Plan and section, each with its number's disc in it, of every finding with a place."""
    page = report_page(loft())
    for number, finding in enumerate(
        (f for f in loft().findings if f.verdict is not Verdict.CLEAR), 1
    ):
        article = page[page.index(f'id="finding-{number}"') :].partition("</article>")[0]
        assert article.count("<svg") == (2 if finding.at_mm is not None else 0)
        assert article.count('class="badge') == article.count("<svg")


def test_the_take_off_says_waste_and_the_least(tmp_path):
    """Each size of sheet and length with its count and waste, and which of them is least."""
    answer = check_scheme(read(parted(), tmp_path))
    words = part_of(report_page(answer), "takeoff")
    (one,) = take_off(answer)
    for bought in one.boards:
        size = " × ".join(mm(v) for v in bought.size)
        assert (
            f"Sheets {size} {bought.count} for two faces, {100 * bought.waste:.0f} % waste" in words
        )
    for bought in one.timber:
        told = f"{bought.count} lengths, {100 * bought.waste:.0f} % waste"
        assert f"Timber in {mm(bought.size[0])} lengths {told}" in words
    assert "Floor plate" in words
    assert "(least)" in words


def test_the_printed_page_says_the_same():
    """Every heading, finding and item in the PDF's own text; no control, no cut-off page."""
    if browser() is None:
        if os.environ.get("MASSING_REQUIRE_ALL") == "1":
            pytest.fail("no Chromium found")
        pytest.skip("no Chromium found")
    paper = printed(boathouse_page())
    assert not re.search(rb"CreationDate|ModDate", paper)
    with pypdfium2.PdfDocument(paper) as document:
        pages = [page.get_textpage().get_text_bounded() for page in document]
        sizes = {tuple(round(v * 25.4 / 72.0) for v in page.get_size()) for page in document}
    words = " ".join(" ".join(pages).split())
    assert sizes == {(210, 297)}
    assert all(page.strip() for page in pages)
    for told in ("Before and after", "Findings", "Measure again", "Schedule of items", "Drawings"):
        assert told in words
    for finding in boathouse("first try").findings:
        if finding.verdict is not Verdict.CLEAR:
            assert finding.says in words
    for told in ("Show in the view", "Drag to turn", "Look from"):
        assert told not in words
