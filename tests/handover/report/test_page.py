"""The page as text: well formed, inert, self-contained, the same every time, true to the check."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import subprocess
import sys
import time
from html.parser import HTMLParser

import pytest

from massing.checks.run import check_scheme
from massing.handover.folding import folds
from massing.handover.from_layout import model_of
from massing.handover.gltf.file import glb
from massing.handover.report.notes import sheets_of
from massing.handover.report.page import report_page
from massing.handover.report.words import numbered
from massing.voids.tally import tally
from tests.handover.report.projects import (
    NASTY,
    ROOT,
    boathouse,
    boathouse_page,
    parted,
    read,
    zoo,
)
from tests.zoo import ROOMS

VOID = {"meta", "link", "br", "img", "input", "col"}


class Reader(HTMLParser):
    """Collects elements and what is wrong with their nesting."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.blocks: dict[str, str] = {}
        self._block: str | None = None

    def handle_starttag(self, tag, attrs):
        """An element opens."""
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.wrong.append(f"{tag} says an attribute twice")
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        self._block = dict(attrs).get("id") if tag == "script" else None

    def handle_endtag(self, tag):
        """An element closes."""
        if not self.open or self.open[-1] != tag:
            self.wrong.append(f"</{tag}> closes {self.open[-1:]}")
        else:
            self.open.pop()

    def handle_data(self, data):
        """Words, or the inside of a block."""
        if self.open and self.open[-1] == "script":
            if self._block:
                self.blocks[self._block] = data
        elif not self.open or self.open[-1] != "style":
            self.text.append(data)


def reading(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    return reader


@pytest.mark.parametrize("scheme", ["as found", "first try", "worked out"])
def test_well_formed(scheme):
    """Every element is closed in its turn, ids are unique and what is pointed at exists."""
    reader = reading(boathouse_page(scheme))
    assert reader.wrong == []
    assert reader.open == []
    ids = [attrs["id"] for _, attrs in reader.seen if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs in reader.seen:
        for key in ("aria-labelledby", "aria-describedby", "for"):
            assert attrs.get(key, ids[0]) in ids
        if (attrs.get("href") or "").startswith("#"):
            assert attrs["href"][1:] in ids


def test_the_reader_would_notice():
    assert reading("<p><b>x</p>").wrong


@pytest.mark.parametrize("scheme", ["as found", "first try", "kayak lowered", "worked out"])
def test_numbers_are_the_checks(scheme):
    """Each finding stands under the number, sign, verdict and words the check gives it."""
    answer, page = boathouse(scheme), boathouse_page(scheme)
    words = " ".join("".join(reading(page).text).split())
    articles = re.findall(r'<article class="finding ([a-z-]+)" id="finding-(\d+)"', page)
    told = [member for fold in folds(answer.findings) for member in fold.members]
    assert articles == [(f.verdict.value, str(n)) for n, f in told]
    assert sorted(n for n, _ in told) == [n for n, _ in numbered(answer.findings)]
    data = json.loads(reading(page).blocks["view-data"])
    for (number, finding), told in zip(numbered(answer.findings), data["findings"], strict=True):
        assert (told["number"], told["says"]) == (number, finding.says)
        assert finding.says in words
        if finding.nudge is not None:
            assert f"Move {finding.nudge.item}" in words
            assert all(start in words for start in finding.nudge.starts)


def test_before_and_after_are_the_tallies():
    one, other = tally(boathouse("as found").layout), tally(boathouse("first try").layout)
    words = " ".join(" ".join(reading(boathouse_page()).text).split())
    change = other.obstructed_m2 - one.obstructed_m2
    assert f"{one.obstructed_m2:.2f} {other.obstructed_m2:.2f} −{abs(change):.2f}" in words
    assert f"{one.store_l:.0f} {other.store_l:.0f}" in words


def test_every_item_is_in_the_schedule():
    """Bench: 1800 x 650 x 900, at 4000, 0, on the high slab; kayak 2020 above the high slab."""
    page = boathouse_page()
    table = page[page.index('id="schedule"') :]
    for item in boathouse("first try").layout.items:
        assert f"<b>{item.name}</b>" in table
    words = " ".join(" ".join(reading(table).text).split())
    assert "bench paddle bench 1800 × 650 × 900 4000 · 0 faces north 0 90" in words
    assert "5200 × 600 × 400 100 · 1800 faces south 2020 25 fixed to the wall" in words


def test_the_model_inside_is_the_exported_one():
    block = reading(boathouse_page()).blocks["view-model"]
    assert base64.b64decode(block) == glb(model_of(boathouse("first try")))


def test_policy_allows_only_what_is_there():
    """The hashes in the policy are those of the page's one script and one style."""
    page = boathouse_page()
    policy = re.search(r'Security-Policy" content="([^"]+)"', page).group(1).replace("&#x27;", "'")
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert "http" not in policy
    for tag, attrs in (("style", ""), ("script", "")):
        (inside,) = re.findall(rf"<{tag}{attrs}>(.*?)</{tag}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy


def test_nothing_points_out_of_the_page():
    """No attribute leads anywhere but into the page, and no style or handler is written inline."""
    for tag, attrs in reading(boathouse_page()).seen:
        for key in ("src", "href", "action", "srcset", "data", "poster"):
            value = attrs.get(key)
            assert value is None or value.startswith(("#", "data:")), (tag, key, value)
        assert "style" not in attrs
        assert not [name for name in attrs if name.startswith("on")]


def test_names_are_inert(tmp_path):
    """Names that try to be markup are only words."""
    page = report_page(check_scheme(read(NASTY, tmp_path)))
    reader = reading(page)
    assert reader.wrong == []
    assert [attrs for tag, attrs in reader.seen if tag == "script" and not attrs] == [{}]
    assert [tag for tag, _ in reader.seen].count("style") == 1
    assert not [1 for tag, attrs in reader.seen if tag == "img" and attrs.get("src") == "x"]
    words = "".join(reader.text)
    for name in ("</script><script>window.pwned = 2</script>", "Ünï ☂ çôdé <!-- --> ${x} {{y}}"):
        assert name in words
    data = json.loads(reader.blocks["view-data"])
    assert "</script><script>window.pwned = 2</script>" in data["things"]


def test_the_same_twice_and_under_any_hash_seed():
    script = (
        "import hashlib, sys\n"
        "from tests.handover.report.projects import boathouse_page\n"
        "sys.stdout.write(hashlib.sha256(boathouse_page().encode()).hexdigest())\n"
    )
    told = set()
    for seed in ("0", "77"):
        done = subprocess.run(
            [sys.executable, "-c", script],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        told.add(done.stdout)
    again = report_page(boathouse("first try"), boathouse("as found"))
    told.add(hashlib.sha256(again.encode()).hexdigest())
    assert len(told) == 1


def test_a_partition_is_taken_off(tmp_path):
    page = report_page(check_scheme(read(parted(), tmp_path)))
    words = " ".join(" ".join(reading(page).text).split())
    assert "Take-off of partitions" in words
    assert "Studs 38 × 63 at 600 centres" in words
    assert "Sheets 1200 × 2400" in words
    assert 'id="takeoff"' not in boathouse_page()


def test_the_drawn_sheets_are_in_it():
    """Each sheet of the drawing set, unchanged, under its title."""
    pictures = [attrs for tag, attrs in reading(boathouse_page()).seen if tag == "img"]
    sheets = sheets_of(boathouse("first try"))
    assert [picture["alt"] for picture in pictures] == [title for title, _ in sheets]
    for picture, (_, svg) in zip(pictures, sheets, strict=True):
        assert base64.b64decode(picture["src"].partition("base64,")[2]) == svg
        assert svg.startswith(b"<?xml")


@pytest.mark.parametrize("name", sorted(ROOMS))
def test_any_room_has_a_page(name, tmp_path):
    """Ells, hips, steps and breasts too: well formed, and every placed finding is drawn."""
    answer = check_scheme(read(zoo(name), tmp_path))
    page = report_page(answer)
    assert reading(page).wrong == []
    placed = [n for n, f in numbered(answer.findings) if f.at_mm is not None]
    assert placed
    for number in placed:
        article = page[page.index(f'id="finding-{number}"') :].partition("</article>")[0]
        assert f"about finding {number}</title>" in article
        assert not re.search(r"[ML ]-?nan", article)


def test_an_empty_room_has_a_page(tmp_path):
    text = "massing: 1\nproject: Bare\nroom: {size: 2000 x 2000, ceiling: [{flat: 2400}]}\n"
    page = report_page(check_scheme(read(text + "schemes: {bare: []}\n", tmp_path)))
    assert reading(page).wrong == []
    assert "Everything fits" in page


def test_quick_and_small():
    """The whole report in 5 s of processor time, and under 1.2 MB."""
    began = time.process_time()
    page = report_page(boathouse("first try"), boathouse("as found"))
    assert time.process_time() - began < 5.0
    assert len(page.encode()) < 1_200_000
