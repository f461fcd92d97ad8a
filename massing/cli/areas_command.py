"""`massing areas FILE`: how much floor counts under the slopes, by published rules."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from massing.room.shape import Room
    from massing.voids.areas import Counted

__all__ = ["command"]


@click.command(name="areas", short_help="Floor that counts under slopes, by published rules.")
@file_argument
@scheme_option
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(file: Path, scheme: str | None, form: str) -> int:
    """Count the floor of a room by several published rules, each with its source and edition."""
    from massing.scheme.place import place
    from massing.survey.values import Values
    from massing.voids.areas import count_all

    project, name = open_project(file, scheme)
    room = place(project, name, Values()).room
    found = count_all(room)
    if form == "json":
        click.echo(json.dumps(_plain(project.name, name, room, found), indent=2))
    else:
        click.echo("\n".join(_text(project.name, name, room, found)))
    return 0


def _text(project: str, scheme: str, room: Room, found: tuple[Counted, ...]) -> Iterator[str]:
    from massing.cli.text import wrapped
    from massing.room.measure import floor_area
    from massing.voids.area_rules import CAUTION

    yield f"{project} / {scheme}: floor that counts, of {floor_area(room) / 1e6:.3f} m²"
    for counted in found:
        rule = counted.rule
        yield ""
        yield f"{counted.area / 1e6:8.3f} m²  {rule.name}{_verdict(counted)}"
        yield from wrapped(rule.says, " " * 13, " " * 13)
        for words, area in counted.parts:
            yield f"{'':13}{area / 1e6:8.3f} m² {words}"
        source = f"{rule.source}; edition {rule.edition}; {rule.evidence}"
        yield from wrapped(source, " " * 13, " " * 13)
    yield ""
    yield from wrapped(CAUTION, "", "")


def _verdict(counted: Counted) -> str:
    if counted.passes is None:
        return ""
    share = "none counts" if counted.share is None else f"{100 * counted.share:.1f} % tall enough"
    return f": {share}, {'passes' if counted.passes else 'fails'}"


def _plain(project: str, scheme: str, room: Room, found: tuple[Counted, ...]) -> dict[str, Any]:
    from massing.room.measure import floor_area
    from massing.voids.area_rules import CAUTION

    return {
        "massing": 1,
        "project": project,
        "scheme": scheme,
        "floor_m2": _m2(floor_area(room)),
        "rules": [
            {
                "rule": counted.rule.name,
                "says": counted.rule.says,
                "counted_m2": _m2(counted.area),
                "parts": [{"says": says, "area_m2": _m2(area)} for says, area in counted.parts],
                "share": None if counted.share is None else round(counted.share, 6),
                "passes": counted.passes,
                "source": counted.rule.source,
                "edition": counted.rule.edition,
                "evidence": counted.rule.evidence,
            }
            for counted in found
        ],
        "caution": CAUTION,
    }


def _m2(area: float) -> float:
    return round(area / 1e6, 6) + 0.0
