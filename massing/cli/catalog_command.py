"""`massing catalog [NAME]`: list the catalogue, show one entry, or draw them all on one sheet."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["command"]


@click.command(name="catalog", short_help="List what is in the catalogue, or show one entry.")
@click.argument("name", nargs=-1)
@click.option("--walls", is_flag=True, help="List the wall build-ups instead.")
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    help="Draw every entry, or those named, small on one sheet: a .png file.",
    metavar="FILE",
)
@click.option("--dark", is_flag=True, help="The sheet on dark paper.")
def command(name: tuple[str, ...], *, walls: bool, sheet: Path | None, dark: bool) -> int:
    """List every catalogue item with its size, or show entries in full.

    A name of several words needs no quotes where it is the only one.
    """
    from massing.cli.catalogue_text import build_ups_text, catalogue_text, entry_text

    if sheet is not None:
        return _drawn(name, sheet, dark=dark)
    if name:
        click.echo("\n\n".join(entry_text(one) for one in _names(name)))
    else:
        click.echo(build_ups_text() if walls else catalogue_text())
    return 0


def _names(words: tuple[str, ...]) -> tuple[str, ...]:
    """One name of several words, or several names; a name that is not known as one of one."""
    from massing.items.catalog import item_names

    known = set(item_names())
    several = len(words) > 1 and " ".join(words) not in known and known >= set(words)
    return words if several else (" ".join(words),)


def _drawn(name: tuple[str, ...], sheet: Path, *, dark: bool) -> int:
    from massing.errors import Fault, InputError
    from massing.handover.pictures.contact_sheet import contact_sheet
    from massing.handover.pictures.paper import DARK, LIGHT
    from massing.items.catalog import item_names, load_item
    from massing.reading.files import write_beside_then_rename

    if sheet.suffix.lower() != ".png":
        raise InputError([Fault(f"a sheet is a .png file; '{sheet.name}' is named as another")])
    names = tuple(str(load_item(one).name) for one in _names(name)) if name else item_names()
    write_beside_then_rename(sheet, contact_sheet(names, DARK if dark else LIGHT))
    click.echo(f"wrote {sheet}")
    return 0
