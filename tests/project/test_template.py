"""The starting file: clean for whatever the file is called."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.project.edit import replace_value
from massing.project.read import parse_project
from massing.project.template import template


def test_template_checks_clean():
    """Nothing to put right in any of its schemes."""
    project = parse_project(template("shed"))
    assert list(project.arrangements) == ["as found", "proposed"]
    for name in project.arrangements:
        found = check_scheme(project, name).findings
        assert [f.says for f in found if f.verdict is not Verdict.CLEAR] == []


def test_template_shows_its_own_command():
    """The file's own name stands in the line to try."""
    assert "#   massing check my shed.yml\n" in template("my shed", "my shed.yml")


def test_template_can_be_edited():
    """Values are changed in place."""
    changed = replace_value(template("shed"), ("room", "size"), "3000 ±5 x 2400")
    assert "size: 3000 ±5 x 2400           # west-east" in changed
    assert len(changed.splitlines()) == len(template("shed").splitlines())


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=120))
@example("null")
@example("on")
@example("a: b # c")
@example("'\"\\")
@example("- x")
@example("[{*&!|>%@`")
@example("\x1b[31m\x85\u2028\udce9")
@example("日本 é \U0001f6cf")
@example("1:30")
@example("x" * 300)
@example(" {0} {name} %s ")
@example("...")
@example("---")
def test_any_name_reads_back(name):
    """The project is called what the file is, as far as that can be printed on one line."""
    text = template(name, f"{name}.yaml")
    text.encode()
    printable = "".join(c for c in " ".join(name.split()) if c.isprintable())
    assert parse_project(text).name == (printable[:80].strip() or "My room")


@pytest.mark.parametrize("name", ["", "   ", "\n", "\x00"])
def test_no_name_has_one(name):
    """A name that leaves nothing to print."""
    assert parse_project(template(name)).name == "My room"
