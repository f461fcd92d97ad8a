"""`massing report`: which files, which schemes, and what is said when it cannot."""

from __future__ import annotations

import os

import pytest

from massing.cli import main
from massing.handover.report.pdf import browser
from tests.handover.report.projects import BOATHOUSE, boathouse_page


@pytest.fixture
def run(capsys):
    def told(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as left:
            main(["report", str(BOATHOUSE), *args])
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return told


def test_one_page_into_a_folder(run, tmp_path):
    status, out, _ = run("--scheme", "first try", "--out", str(tmp_path))
    target = tmp_path / "boathouse-first-try-report.html"
    assert (status, out) == (0, f"wrote {target}\n")
    assert target.read_text(encoding="utf-8") == boathouse_page()


def test_against_another_scheme(run, tmp_path):
    target = tmp_path / "r.html"
    assert run("-s", "worked", "--against", "first", "-o", str(target))[0] == 0
    page = target.read_text(encoding="utf-8")
    assert "Compared with “first try”" in page


def test_the_first_scheme_has_nothing_to_compare_with(run, tmp_path):
    target = tmp_path / "r.html"
    assert run("-s", "as found", "-o", str(target))[0] == 0
    assert 'id="compared"' not in target.read_text(encoding="utf-8")


def test_all_schemes_and_no_bar_where_nobody_watches(run, tmp_path):
    status, out, err = run("--all", "--out", str(tmp_path))
    assert status == 0
    assert len(list(tmp_path.iterdir())) == len(out.splitlines()) == 4
    assert err == ""


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--out", "page.docx"), "a report is a .html or .pdf file"),
        (("--all", "--out", "page.html"), "--all writes several files"),
        (("--all", "--scheme", "first try"), "--all goes without --scheme"),
        (("--against", "frist try"), "did you mean 'first try'"),
        (("--out", "no/such/folder/page.html"), "there is no folder"),
    ],
)
def test_what_cannot_be(run, tmp_path, monkeypatch, args, says):
    monkeypatch.chdir(tmp_path)
    status, out, err = run(*args)
    assert (status, out) == (2, "")
    assert says in err


def test_a_pdf_without_a_browser_is_a_missing_tool(run, tmp_path, monkeypatch):
    monkeypatch.setenv("MASSING_BROWSER", "no-such-browser")
    status, _, err = run("--pdf", "--out", str(tmp_path))
    assert status == 3
    assert "no Chromium found" in err
    assert list(tmp_path.iterdir()) == []


def test_a_pdf(run, tmp_path):
    if browser() is None:
        if os.environ.get("MASSING_REQUIRE_ALL") == "1":
            pytest.fail("no Chromium found")
        pytest.skip("no Chromium found")
    assert run("-s", "first try", "-o", str(tmp_path / "r.pdf"))[0] == 0
    data = (tmp_path / "r.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert data.count(b"/Type /Page\n") + data.count(b"/Type /Page ") >= 4 or b"/Count" in data
