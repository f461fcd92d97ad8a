"""`massing check FILE`: print what was found."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument, open_project, scheme_option

__all__ = ["command"]


@click.command(name="check", short_help="Check a scheme.")
@file_argument
@scheme_option
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
@click.option("--all", "every", is_flag=True, help="Also list everything that is clear and near.")
@click.option("--every-scheme", is_flag=True, help="Compare the schemes instead, a line each.")
def command(file: Path, scheme: str | None, form: str, *, every: bool, every_scheme: bool) -> int:
    """Check one scheme of a project file, or compare all of them.

    Leaves with status 0 when nothing conflicts, 1 when something does, and 2 when the file
    cannot be read.
    """
    if every_scheme:
        if scheme is not None or every:
            raise click.UsageError("--every-scheme goes with neither --scheme nor --all")
        return _compared(file, form)
    from massing.checks.run import check_scheme

    project, name = open_project(file, scheme)
    answer = check_scheme(project, name)
    if form == "json":
        from massing.handover.answer import answer_json

        click.echo(answer_json(answer))
    else:
        from massing.cli.text import answer_text

        click.echo(answer_text(answer, every=every))
    return 1 if answer.conflicts else 0


def _compared(file: Path, form: str) -> int:
    from massing.checks.run import check_scheme
    from massing.cli.scheme_table import table_json, table_text

    project, _ = open_project(file, None)
    answers = [check_scheme(project, name, nudges=False) for name in project.arrangements]
    click.echo(table_json(answers) if form == "json" else table_text(answers))
    return 1 if any(answer.conflicts for answer in answers) else 0
