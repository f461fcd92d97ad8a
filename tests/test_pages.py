"""What the README and the examples' pages show is what happens."""

from __future__ import annotations

import re

import pytest

from massing.errors import InputError
from massing.project.read import parse_project
from tests.pages import PAGES, README, ROOT, filled, printed

TEXT = README.read_text()


def _blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", TEXT, re.DOTALL)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_shown_output_is_what_is_printed(page):
    """Renew with `python -m tests.pages`."""
    text = page.read_text()
    assert filled(text) == text


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_what_a_page_points_at_is_there(page):
    """Every picture shown and every file linked to."""
    for target in re.findall(r"\]\(([^)#]+)\)", page.read_text()):
        assert (page.parent / target).exists(), target


def test_every_example_has_its_page():
    """Each project of `examples/` has a page on what was learnt."""
    projects = {file.stem for file in (ROOT / "examples").glob("*.yaml")}
    assert projects <= {page.stem for page in PAGES}


def test_a_page_runs_its_files_and_shows_the_lines_asked_for(tmp_path):
    """Written, added to, run in order; a line that is not there is a mistake in the page."""
    page = (
        "<!-- file: a.yaml -->\n```yaml\nmassing: 1\n```\n"
        "<!-- adds to: a.yaml -->\n```yaml\nproject: A\n```\n"
        "<!-- output: massing check a.yaml | from a.yaml:1:1, 1 lines -->\n```text\nold\n```\n"
    )
    assert "\na.yaml:1:1: " in filled(page)
    assert "old" not in filled(page)
    with pytest.raises(ValueError, match="no line of"):
        printed("massing --version | from nothing, 2 lines", tmp_path)


def test_the_file_in_outline_reads():
    """The YAML block is a whole project that reads without a fault."""
    (text,) = _blocks("yaml")
    assert set(parse_project(text).arrangements) == {"as found", "proposed"}


def test_the_shown_fault_is_the_one_given():
    """A misspelt wall in that very file gives the shown kind of fault."""
    (text,) = _blocks("yaml")
    with pytest.raises(InputError) as caught:
        parse_project(text.replace("against: south", "against: nroth"), "attic.yaml")
    (fault,) = caught.value.faults
    shown = next(b for b in _blocks("text") if b.startswith("attic.yaml")).strip()
    told = str(fault).splitlines()[0]
    assert re.sub(r":\d+:\d+:", ":", told) == re.sub(r":\d+:\d+:", ":", shown)


def test_the_python_block_runs(tmp_path, monkeypatch, capsys):
    """It runs as it stands, from the repository's root, and writes a model."""
    (code,) = _blocks("python")
    monkeypatch.chdir(ROOT)
    exec(compile(code.replace('"boathouse.glb"', f'r"{tmp_path}/b.glb"'), "README", "exec"), {})  # noqa: S102
    assert (tmp_path / "b.glb").read_bytes()[:4] == b"glTF"
    assert "kayak passes 50" in capsys.readouterr().out


def test_it_opens_with_the_job():
    """The first thing after the title is the job in one paragraph."""
    first = TEXT.split("\n\n")[1]
    assert first.startswith("A designer is asked")
    assert "\n" not in first
