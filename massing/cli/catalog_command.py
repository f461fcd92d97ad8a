"""`massing catalog [NAME]`: list the catalogue, or show one entry."""

from __future__ import annotations

import click

__all__ = ["command"]


@click.command(name="catalog", short_help="List what is in the catalogue, or show one entry.")
@click.argument("name", nargs=-1)
@click.option("--walls", is_flag=True, help="List the wall build-ups instead.")
def command(name: tuple[str, ...], *, walls: bool) -> int:
    """List every catalogue item with its size, or show one entry in full."""
    from massing.cli.catalogue_text import build_ups_text, catalogue_text, entry_text

    if name:
        click.echo(entry_text(" ".join(name)))
    else:
        click.echo(build_ups_text() if walls else catalogue_text())
    return 0
