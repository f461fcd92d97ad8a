"""`massing check FILE`: print what was found."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from massing.cli.options import file_argument, one_of, open_project, scheme_option

if TYPE_CHECKING:
    from massing.checks.run import Answer

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
@click.option(
    "--about", multiple=True, metavar="NAME", help="Only what names this; may be repeated."
)
@click.option("--every-scheme", is_flag=True, help="Compare the schemes instead, a line each.")
def command(  # noqa: PLR0913
    file: Path,
    scheme: str | None,
    form: str,
    samples: int | None,
    seed: int,
    about: tuple[str, ...],
    *,
    every: bool,
    every_scheme: bool,
) -> int:
    """Check one scheme of a project file, or compare all of them.

    Leaves with status 0 when nothing conflicts, 1 when something does, and 2 when the file
    cannot be read.
    """
    if every_scheme:
        if scheme is not None or every or samples is not None or about:
            says = "--every-scheme goes with none of --scheme, --all, --about and --samples"
            raise click.UsageError(says)
        return _compared(file, form)
    if about and form == "json":
        raise click.UsageError("--about is for reading; as data every finding names its items")
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

        names = frozenset(one_of(word, _named(answer), f"thing in '{name}'") for word in about)
        click.echo(answer_text(answer, every=every, sampled=sampled, about=names))
    return 1 if answer.conflicts else 0


def _named(answer: Answer) -> list[str]:
    """All that a finding may be about: items, openings, walls and what else is found to matter."""
    room = answer.layout.room
    names = [item.name for item in answer.layout.items] + [o.name for o in room.openings]
    names += [wall.name for wall in room.walls]
    return list(dict.fromkeys(names + [n for f in answer.findings for n in f.items]))


def _compared(file: Path, form: str) -> int:
    from massing.checks.run import check_scheme
    from massing.cli.scheme_table import table_json, table_text

    project, _ = open_project(file, None)
    answers = [check_scheme(project, name, nudges=False) for name in project.arrangements]
    click.echo(table_json(answers) if form == "json" else table_text(answers))
    return 1 if any(answer.conflicts for answer in answers) else 0
