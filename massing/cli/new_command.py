"""`massing new FILE`: write a commented starting file."""

from __future__ import annotations

from pathlib import Path

import click

from massing.cli.options import file_argument

__all__ = ["command"]


@click.command(name="new", short_help="Write a commented starting file.")
@file_argument
def command(file: Path) -> int:
    """Write a starting file that checks clean, to change into your own room.

    An existing file is never written over.
    """
    from massing.errors import Fault, InputError
    from massing.project.template import template
    from massing.reading.files import write_beside_then_rename

    if file.exists():
        raise InputError([Fault(f"{file} is already there; name another file")])
    if not file.parent.is_dir():
        raise InputError([Fault(f"there is no folder {file.parent}")])
    write_beside_then_rename(file, template(file.stem).encode())
    click.echo(f"wrote {file}\nnow: massing check {file}")
    return 0
