"""`massing voids FILE`: how the room's volume is used, what is left, and what would go there."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from massing.cli.options import file_argument, open_project, scheme_option

if TYPE_CHECKING:
    from massing.project.project import Project
    from massing.scheme.layout import Layout
    from massing.voids.boxes import BoxWish, Run, UsableBox
    from massing.voids.eaves import Wedge
    from massing.voids.fill import Filling
    from massing.voids.fits import Fit
    from massing.voids.holds import Held, Thing
    from massing.voids.shares import Shares

__all__ = ["command"]


@click.command(name="voids", short_help="Unused height: how much, where, and what would go there.")
@file_argument
@scheme_option
@click.option("--count", default=8, type=click.IntRange(1, 40), help="Boxes at most.")
@click.option("--least", default="300x300x300", metavar="WxDxH", help="Smallest useful box, mm.")
@click.option("--reach", default=1800.0, help="Highest base of a box above the lowest floor, mm.")
@click.option("--closed", is_flag=True, help="Also boxes nobody can reach into from open floor.")
@click.option("--floor", is_flag=True, help="Also boxes on open floor with head height.")
@click.option("--square", is_flag=True, help="Do not try the smallest box turned the other way.")
@click.option("--turned", is_flag=True, help="Also boxes along walls askew to the room's axes.")
@click.option("--shelf", default=300.0, help="Depth of the shelf runs told of, mm.")
@click.option("--suggest", is_flag=True, help="For each box, what of the catalogue would fit.")
@click.option(
    "--hold",
    multiple=True,
    metavar="ITEM|WxDxH",
    help="For each box, how many of this go into it; may be given again.",
)
@click.option("--any-way-up", is_flag=True, help="What is to be held may lie on any side.")
@click.option("--fill", is_flag=True, help="Put things in, and write that as a new scheme.")
@click.option("--name", default="filled", help="The new scheme's name.", metavar="NAME")
@click.option("--most", default=6, type=click.IntRange(1, 40), help="Things put in at most.")
@click.option("--out", "-o", type=click.Path(path_type=Path), help="Write here, not in place.")
@click.option(
    "--format", "form", type=click.Choice(["text", "json"]), default="text", help="How to answer."
)
def command(file: Path, scheme: str | None, **said: Any) -> int:
    """Share out the room's volume and find the boxes of it that nobody uses.

    With --fill the largest of them get what fits there, the project's own unplaced things first,
    and what is made for it hangs from the ceiling. Loads and fixings to mind are told.
    """
    from massing.voids.boxes import BoxWish
    from massing.voids.holds import held_by

    wish = BoxWish(
        count=said["count"],
        smallest=_size(said["least"]),
        turnable=not said["square"],
        reach=said["reach"],
        open_front=not said["closed"],
        floor=said["floor"],
        turned=said["turned"],
    )
    project, name = open_project(file, scheme)
    if said["fill"]:
        return _fill(project, name, wish, file, said)
    things = [_thing(project, words) for words in said["hold"]]
    answer = _answer(project, name, wish, float(said["shelf"]), suggest=said["suggest"])
    held = [[held_by(b, t, any_way_up=said["any_way_up"]) for t in things] for b in answer[2]]
    if said["form"] == "json":
        click.echo(json.dumps(_plain(project.name, answer, held), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(_text(project.name, answer, held)))
    return 0


def _thing(project: Project, words: str) -> Thing:
    """What is to be put away: a size, or a thing of the project or the catalogue by its name."""
    from massing.voids.holds import Thing, thing_of
    from massing.voids.trial import item_of

    if words[:1].isdigit():
        return Thing(words.lower().replace(" ", ""), _size(words))
    return thing_of(project, words, item_of(project, words))


def _size(words: str) -> tuple[float, float, float]:
    """Three sizes as one writes them. Raises InputError."""
    from massing.errors import Fault, InputError

    parts = words.lower().replace(" ", "").split("x")
    if len(parts) != 3 or not all(part.isdigit() and 0 < int(part) < 100_000 for part in parts):
        raise InputError([Fault(f"'{words}' is not a size; write such as 600x400x300, in mm")])
    x, y, z = (float(part) for part in parts)
    return (x, y, z)


_Answer = tuple[
    "Layout",
    "Shares",
    Sequence["UsableBox"],
    tuple[Sequence["Run"], Sequence["Wedge"]],
    "Sequence[Sequence[Fit]]",
]


def _answer(
    project: Project, scheme: str, wish: BoxWish, shelf: float, *, suggest: bool
) -> _Answer:
    from massing.checks.rules import rules_of
    from massing.scheme.place import place
    from massing.survey.values import Values
    from massing.voids.boxes import eaves_runs, usable_boxes
    from massing.voids.eaves import eaves_wedges
    from massing.voids.fits import candidates, fits_in
    from massing.voids.shares import share_out

    layout, rules = place(project, scheme, Values()), rules_of(project)
    boxes = usable_boxes(layout, rules, wish)
    runs = eaves_runs(layout, rules, shelf, reach=wish.reach), eaves_wedges(layout, rules)
    fits: list[tuple[Fit, ...]] = []
    if suggest:
        choices = candidates(project, scheme)
        fits = [fits_in(project, layout, box, choices) for box in boxes]
    return layout, share_out(layout, rules), boxes, runs, fits


_SHARES = {
    "building": "beams, breasts and boxing",
    "motions": "doors, drawers and lids as they open",
    "activity": "where people stand, sit and work",
    "passage": "ways through, on foot",
    "service gaps": "air and hoses round machines",
}


def _text(project: str, answer: _Answer, held: Sequence[Sequence[Held]]) -> Iterator[str]:
    from massing.cli.text import wrapped

    layout, shares, boxes, (runs, wedges), fits = answer
    yield f"{project} / {layout.name}: room {shares.room / 1e9:.3f} m³"
    yield ""
    for name, volume in shares.groups:
        share, says = 100 * volume / shares.room, _SHARES.get(name, name)
        yield f"{volume / 1e6:10.1f} L  {share:5.1f} %  {says}"
    yield ""
    for words, rows in (
        ("unused by height above the floor", shares.heights),
        ("unused by reach", shares.reaches),
        ("unused by nearest wall", shares.walls),
        ("unused above", [(above.item, above.unused) for above in shares.above]),
    ):
        told = "; ".join(f"{name} {volume / 1e6:.1f}" for name, volume in rows if volume > 5e4)
        yield from wrapped(f"{words}, L: {told or 'nothing'}", "", "    ")
    yield ""
    yield f"usable boxes: {len(boxes) or 'none'}"
    for number, box in enumerate(boxes):
        yield from _box_text(layout, number, box, fits[number] if fits else None)
        yield from _held_text(held[number])
    yield from _all_held(held)
    yield ""
    yield f"shelf runs {runs[0].depth:g} deep:" if runs else "shelf runs: none"
    for run in runs:
        yield f"{run.volume / 1e6:10.1f} L  {_run_words(run)}"
    if wedges:
        yield ""
        yield "wedges along eaves, from floor to slope:"
    for wedge in wedges:
        yield from wrapped(_wedge_words(wedge), f"{wedge.volume / 1e6:10.1f} L  ", " " * 14)


def _run_words(run: Run) -> str:
    from massing.voids.whereabouts import run_words

    return run_words(run)


def _wedge_words(wedge: Wedge) -> str:
    from massing.voids.eaves import wedge_words

    return wedge_words(wedge)


def _box_text(
    layout: Layout, number: int, box: UsableBox, fits: Sequence[Fit] | None
) -> Iterator[str]:
    from massing.cli.text import wrapped
    from massing.voids.whereabouts import box_words, size_words

    proved = "" if box.proved else f" (none is larger than {box.bound / 1e6:.1f} L)"
    says = f"{box_words(layout, box)}, {size_words(box)}{proved}"
    yield from wrapped(says, f"{number + 1:3}{box.volume / 1e6:8.1f} L  ", " " * 15)
    if fits is not None:
        told = (
            "; ".join(f"{fit.item} {fit.litres:.0f} L" for fit in fits) or "nothing that was tried"
        )
        yield from wrapped(f"would take: {told}", " " * 15, " " * 17)


def _held_text(held: Sequence[Held]) -> Iterator[str]:
    from massing.cli.text import wrapped
    from massing.voids.holds import held_words

    for one in held:
        yield from wrapped(f"holds: {held_words(one)}", " " * 15, " " * 17)


def _all_held(held: Sequence[Sequence[Held]]) -> Iterator[str]:
    """What all boxes hold of each thing, one kind at a time, and what to mind."""
    from massing.cli.text import wrapped
    from massing.voids.holds import LOADS

    kinds = list(zip(*held, strict=True))
    for rows in kinds:
        count, name = sum(row.count for row in rows), rows[0].thing.name
        yield f"all boxes hold {count} x {name}, {sum(row.litres for row in rows):.1f} L"
    for caution in [c for rows in kinds for c in rows[0].thing.cautions] + [LOADS] * bool(kinds):
        yield from wrapped(f"mind: {caution}", " " * 2, " " * 8)


def _fill(project: Project, scheme: str, wish: BoxWish, file: Path, said: dict[str, Any]) -> int:
    from massing.reading.files import write_beside_then_rename
    from massing.voids.fill import fill_scheme, filled_text

    filling = fill_scheme(project, scheme, wish, most=said["most"])
    if not filling.things:
        click.echo(
            f"nothing fits into '{scheme}' of what was tried without a new conflict or something "
            "new to measure; no scheme is written"
        )
        return 0
    text = filled_text(project, filling, said["name"])
    target = said["out"] or file
    write_beside_then_rename(target, text.encode())
    click.echo("\n".join(_filled(filling, said["name"])))
    click.echo(f"wrote {target}")
    return 0


def _filled(filling: Filling, name: str) -> Iterator[str]:
    from massing.cli.text import wrapped

    yield f"'{name}', from '{filling.scheme}': {filling.litres:.1f} L put to work"
    for thing in filling.things:
        own = "" if not thing.fit.own else ", one of the project's own"
        yield from wrapped(
            f"{thing.name}, {thing.where}{own}", f"{thing.fit.litres:10.1f} L  ", " " * 14
        )
        for caution in thing.cautions:
            yield from wrapped(f"mind: {caution}", " " * 14, " " * 20)
    yield from wrapped(
        "why these: in each place the largest that fits there and starts nothing, of the "
        "project's own things first, then of what the catalogue has to store or hang; take out "
        "of the scheme what nobody asked for",
        "  ",
        "  ",
    )


def _plain(project: str, answer: _Answer, held: Sequence[Sequence[Held]]) -> dict[str, Any]:
    from massing.voids.whereabouts import box_words

    layout, shares, boxes, (runs, wedges), fits = answer
    return {
        "massing": 1,
        "project": project,
        "scheme": layout.name,
        "room_l": _litres(shares.room),
        "shares": _named(shares.groups),
        "unused_by_height": _named(shares.heights),
        "unused_by_reach": _named(shares.reaches),
        "unused_by_wall": _named(shares.walls),
        "above": [
            {"item": a.item, "room_l": _litres(a.room), "unused_l": _litres(a.unused)}
            for a in shares.above
        ],
        "boxes": [
            {
                "low_mm": [_mm(v) for v in box.low],
                "high_mm": [_mm(v) for v in box.high],
                **(_turned(box) if box.turn else {}),
                "litres": _litres(box.volume),
                "at_most_l": _litres(box.bound),
                "proved": box.proved,
                "says": box_words(layout, box),
                **({"fits": [_fit(fit) for fit in fits[number]]} if fits else {}),
                **({"holds": [_held(one) for one in held[number]]} if held[number] else {}),
            }
            for number, box in enumerate(boxes)
        ],
        "runs": [
            {
                "wall": run.wall,
                "along_mm": [_mm(run.start), _mm(run.stop)],
                "z_mm": [_mm(run.low), _mm(run.high)],
                "depth_mm": _mm(run.depth),
                "litres": _litres(run.volume),
            }
            for run in runs
        ],
        "wedges": [
            {
                "wall": wedge.wall,
                "along_mm": [_mm(wedge.start), _mm(wedge.stop)],
                "base_mm": _mm(wedge.low),
                "depth_mm": _mm(wedge.depth),
                "heights_mm": [_mm(wedge.at_wall), _mm(wedge.at_front)],
                "litres": _litres(wedge.volume),
            }
            for wedge in wedges
        ],
    }


def _turned(box: UsableBox) -> dict[str, Any]:
    corners = [[_mm(x), _mm(y)] for x, y in box.ring.tolist()]
    return {"turn_deg": round(box.turn, 6), "corners_mm": corners}


def _fit(fit: Fit) -> dict[str, Any]:
    from massing.voids.fits import plain_words

    placed = plain_words(fit.words)
    return {"item": fit.item, "litres": round(fit.litres, 3), "own": fit.own, "placement": placed}


def _held(held: Held) -> dict[str, Any]:
    """How many of a thing; corners and sizes are along the box's own sides, as its own are."""
    return {
        "item": held.thing.name,
        "count": held.count,
        "at_most": held.at_most,
        "layers": held.layers,
        "litres": round(held.litres, 3),
        "kg": held.weight,
        "at_mm": [[_mm(v) for v in corner] for corner, _ in held.laid],
        "size_mm": [[_mm(v) for v in size] for _, size in held.laid],
    }


def _named(rows: Sequence[tuple[str, float]]) -> dict[str, float]:
    return {name: _litres(volume) for name, volume in rows}


def _litres(volume: float) -> float:
    return round(volume / 1e6, 6) + 0.0


def _mm(value: float) -> float:
    return round(float(value), 3) + 0.0
