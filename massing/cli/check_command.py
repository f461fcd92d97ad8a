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
@click.option(
    "--samples",
    type=click.IntRange(min=1),
    help="Also draw so many rooms within the ±.",
    metavar="N",
)
@click.option("--seed", type=click.IntRange(min=0), default=0, help="Of the drawing.", metavar="S")
@click.option("--every-scheme", is_flag=True, help="Compare the schemes instead, a line each.")
def command(
    file: Path,
    scheme: str | None,
    form: str,
    samples: int | None,
    seed: int,
    *,
    every: bool,
    every_scheme: bool,
) -> int:
    """Check one scheme of a project file, or compare all of them.

    Leaves with status 0 when nothing conflicts, 1 when something does, and 2 when the file
    cannot be read.
    """
    if every_scheme:
        if scheme is not None or every or samples is not None:
            says = "--every-scheme goes with none of --scheme, --all and --samples"
            raise click.UsageError(says)
        return _compared(file, form)
    from massing.checks.run import check_scheme

    project, name = open_project(file, scheme)
    answer = check_scheme(project, name)
    sampled = None
    if samples is not None:
        from massing.sureness.sampling import sample

        sampled = sample(answer, samples, seed=seed)
    if form == "json":
        from massing.handover.answer import answer_json

        click.echo(answer_json(answer, sampled))
    else:
        from massing.cli.text import answer_text

        click.echo(answer_text(answer, every=every, sampled=sampled))
    return 1 if answer.conflicts else 0


def _compared(file: Path, form: str) -> int:
    from massing.checks.run import check_scheme
    from massing.cli.scheme_table import table_json, table_text

    project, _ = open_project(file, None)
    answers = [check_scheme(project, name, nudges=False) for name in project.arrangements]
    click.echo(table_json(answers) if form == "json" else table_text(answers))
    return 1 if any(answer.conflicts for answer in answers) else 0
