"""Options that several commands share, and the way they open a project."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from massing.project.project import Project

__all__ = ["file_argument", "one_of", "open_project", "scheme_option"]

file_argument = click.argument("file", type=click.Path(path_type=Path))
scheme_option = click.option(
    "--scheme",
    "-s",
    help="Which scheme of the file, or how only its name begins; the last one when left out.",
    metavar="NAME",
)


def open_project(file: Path, scheme: str | None) -> tuple[Project, str]:
    """Read a project and settle which scheme is meant. Raises InputError."""
    from massing.errors import Fault, InputError
    from massing.project.read import read_project
    from massing.reading.words import nearest

    project = read_project(file)
    names = list(project.arrangements)
    if scheme is None:
        return project, names[-1]
    meant = [name for name in names if name.casefold().startswith(scheme.casefold())]
    if scheme not in names and len(meant) == 1 and scheme:
        return project, meant[0]
    if scheme not in names:
        told = ", ".join(names)
        says = f"there is no scheme '{scheme}' in {file}; it has {told}"
        raise InputError([Fault(says, hint=nearest(scheme, names))])
    return project, scheme


def one_of(word: str, names: list[str], what: str) -> str:
    """The name that is meant, in full or by its beginning. Raises InputError."""
    from massing.errors import Fault, InputError
    from massing.reading.words import nearest

    meant = [name for name in names if name.casefold().startswith(word.casefold())]
    if word in names:
        return word
    if len(meant) == 1 and word:
        return meant[0]
    says = f"there is no {what} called '{word}'; it has {', '.join(names) or 'none'}"
    raise InputError([Fault(says, hint=nearest(word, names))])
