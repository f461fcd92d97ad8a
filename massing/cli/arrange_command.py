"""`massing arrange FILE`: take everything out and put it back better."""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from massing.arrange.answers import Arranged, Effort
    from massing.arrange.search import Found
    from massing.project.project import Project

__all__ = ["command"]


@click.command(name="arrange", short_help="Search for better arrangements that pass the checks.")
@file_argument
@scheme_option
@click.option("--seed", type=click.IntRange(0), default=0, help="Another seed, other answers.")
@click.option(
    "--seconds",
    type=click.FloatRange(1.0),
    default=60.0,
    help="Stop looking after so long; again for all changes tried when nothing fits.",
)
@click.option("--moves", type=click.IntRange(1000), default=6_400_000, help="Moves to try in all.")
@click.option("--answers", type=click.IntRange(1, 12), default=3, help="How many to look for.")
@click.option(
    "--out",
    "-o",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the project with the new schemes here; into FILE itself when left out.",
)
@click.option("--cores", type=click.IntRange(1, 64), default=1, help="Share the work over cores.")
@click.option("--dry-run", is_flag=True, help="Print the schemes and write nothing.")
@click.option("--no-relax", is_flag=True, help="When nothing fits, do not try what would make it.")
def command(  # noqa: PLR0913, PLR0917
    file: Path,
    scheme: str | None,
    seed: int,
    seconds: float,
    moves: int,
    answers: int,
    out: Path | None,
    cores: int,
    *,
    dry_run: bool,
    no_relax: bool,
) -> int:
    """Leave what stays, move everything else, and keep only what passes every check.

    The same seed and moves give the same answer unless the time runs out first. Stopping from the
    keyboard keeps the best so far. Exit status 0 when something fits, 1 when nothing does.
    """
    from massing.arrange.answers import Effort, arrange
    from massing.cli.text import wrapped

    project, name = open_project(file, scheme)
    restarts = max(1, min(32, moves // 50_000))
    effort = Effort(seed, restarts, max(moves // restarts, 1000), seconds, answers)
    with _shared(cores) as executor:
        report = _reporter(restarts)
        arranged = arrange(project, name, effort, executor=executor, report=report)
    _clear_line()
    if arranged.proposals:
        _tell(project, arranged)
        _write(project, arranged, file, out, dry_run=dry_run)
        return 0
    click.echo(f"{project.name}: nothing found for '{name}'")
    for words in filter(None, (arranged.proof, arranged.tried)):
        click.echo("\n".join(wrapped(words, "  ", "  ")))
    if not no_relax:
        _relax(project, name, effort, (file, out), dry_run=dry_run)
    return 1


def _shared(cores: int) -> AbstractContextManager[Executor | None]:
    """Processes to share restarts over; none for one core."""
    if cores == 1:
        return nullcontext()
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(cores, mp_context=get_context("spawn"))


def _reporter(restarts: int):  # type: ignore[no-untyped-def]  # noqa: ANN202
    """A line on stderr that is written over; nothing where it would not be seen as one."""
    if not sys.stderr.isatty():
        return None
    click.echo("looking; the first time on a machine this compiles for half a minute", err=True)

    def report(done: int, best: Found) -> None:
        how = f"{best.soft:.3f}" if best.hard <= 0 else f"{best.hard:.0f} mm still wrong"
        click.echo(f"\r{done} of {restarts} restarts, best so far: {how}   ", nl=False, err=True)

    return report


def _clear_line() -> None:
    if sys.stderr.isatty():
        click.echo("\r" + " " * 70 + "\r", nl=False, err=True)


def _tell(project: Project, arranged: Arranged) -> None:
    from massing.cli.text import wrapped

    searched = arranged.searched
    many = len(arranged.proposals)
    kind = "arrangement" if many == 1 else "arrangements"
    click.echo(f"{project.name}: {many} other {kind} of '{arranged.before.layout.name}'")
    if searched is not None:
        built = any("partitions" in p.polished.extra for p in arranged.proposals)
        walls = " without a new partition" if built else ""
        early = {"time": ", stopped by the time limit", "keyboard": ", stopped from the keyboard"}
        click.echo(
            f"{searched.moves:,} moves in {len(searched.found)} restarts"
            f"{early.get(searched.stopped, '')}; {len(searched.clear)} ended clear{walls}"
        )
    click.echo("")
    click.echo(f"{'':24}{'conflicts':>10}{'re-measure':>12}{'standing m²':>13}{'store L':>9}")
    rows = [("before", arranged.before, arranged.count)]
    rows += [(p.name, p.polished.answer, p.after) for p in arranged.proposals]
    for words, answer, count in rows:
        kinds = [finding.verdict.value for finding in answer.findings]
        click.echo(
            f"{words:24}{kinds.count('conflict'):>10}{kinds.count('re-measure'):>12}"
            f"{count.standing_m2:>13.3f}{count.store_l:>9.1f}"
        )
    for proposal in arranged.proposals:
        click.echo("")
        click.echo("\n".join(wrapped(proposal.why, f"{proposal.name}: ", "  ")))


def _write(
    project: Project, arranged: Arranged, file: Path, out: Path | None, *, dry_run: bool
) -> None:
    """The new schemes into the file, or only onto the screen."""
    from massing.arrange.written import scheme_lines, with_proposals
    from massing.reading.files import write_beside_then_rename

    if dry_run:
        for proposal in arranged.proposals:
            click.echo("")
            click.echo("\n".join(scheme_lines(proposal)))
        return
    text = with_proposals(project, arranged.proposals)
    target = out or file
    write_beside_then_rename(target, text.encode("utf-8"))
    click.echo("")
    click.echo(f"wrote {', '.join(p.name for p in arranged.proposals)} into {target}")


def _relax(
    project: Project,
    name: str,
    effort: Effort,
    files: tuple[Path, Path | None],
    *,
    dry_run: bool,
) -> None:
    """Say what would make it fit, up to the first that a scheme can say, and write that one."""
    from dataclasses import replace

    from massing.arrange.relax import relaxations
    from massing.cli.text import wrapped

    less = replace(effort, restarts=max(effort.restarts // 4, 1))
    click.echo("what would make it fit, one change at a time:")
    untried = 0
    for tried in relaxations(project, name, less):
        if tried.arranged is None:
            untried += 1
            continue
        if not tried.works:
            click.echo(f"  {tried.says}: nothing found either")
            searched = tried.arranged.searched
            if searched is not None and searched.stopped == "keyboard":
                return
            continue
        why = tried.arranged.proposals[0].why
        click.echo("\n".join(wrapped(f"fits; {why}", f"  {tried.says}: ", "    ")))
        if tried.writable:
            click.echo("")
            _tell(project, tried.arranged)
            _write(project, tried.arranged, files[0], files[1], dry_run=dry_run)
            return
    if untried:
        click.echo(f"  {untried} more not tried: the time was up; --seconds gives them more")
