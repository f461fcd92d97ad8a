"""The schedule of items: what, how big, where from the setting-out corner, how it is held."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.run import Answer
from massing.checks.words import mm
from massing.geometry.outline import outline_of
from massing.handover.drawings.facts import datum_of
from massing.handover.report.markup import Content, Markup, e
from massing.room.shape import Room
from massing.scheme.ground import level_under
from massing.scheme.layout import Placed

__all__ = ["own_size", "schedule"]

_SIDES = ("front", "back", "left", "right", "under")


def own_size(item: Placed) -> str:
    """Width x depth x height as one stands in front of it, however it is turned.

    The body's own bounds, so a canoe on a slant is not its shadow's size.
    """
    yaw = float(item.yaw[0])
    points = np.vstack([part.solid.corners[0] for part in item.parts])
    across = points[:, 0] * np.cos(yaw) + points[:, 1] * np.sin(yaw)
    deep = points[:, 1] * np.cos(yaw) - points[:, 0] * np.sin(yaw)
    sizes = [np.ptp(across), np.ptp(deep), np.ptp(points[:, 2])]
    return " × ".join(mm(float(v)) for v in sizes)


def schedule(answer: Answer) -> Markup | None:
    """One row an item; on a narrow page each row becomes a card."""
    items = answer.layout.items
    if not items:
        return None
    heads = (
        "Item",
        "Size W × D × H",
        "From corner, x · y",
        "Base above floor",
        "Mass, kg",
        "Held by",
        "Clearances",
        "Services and basis",
    )
    rows = [_row(answer.layout.room, number, item, heads) for number, item in enumerate(items, 1)]
    return e(
        "section",
        e("h2", "Schedule of items", id="schedule"),
        e(
            "p",
            "The setting-out corner is the inside corner farthest south-west, datum 0, 0 on the "
            "drawings; x runs east, y north. A place is that of the item's least corner. Sizes "
            "are as one stands in front of the thing, millimetres.",
            class_="lead",
        ),
        e(
            "table",
            e("thead", e("tr", [e("th", head, scope="col") for head in heads])),
            e("tbody", rows),
            class_="cards schedule",
        ),
        aria_labelledby="schedule",
    )


def _row(room: Room, number: int, item: Placed, heads: tuple[str, ...]) -> Markup:
    low = item.low[0]
    x, y = low[:2] - datum_of(room)
    footing = np.vstack([outline_of(part.solid)[0] for part in item.parts])
    bounds = np.array([footing.min(axis=0), footing.max(axis=0)])
    box = np.array(
        [bounds[0], [bounds[1][0], bounds[0][1]], bounds[1], [bounds[0][0], bounds[1][1]]]
    )
    base = float(low[2]) - float(level_under(room, box[None])[0])
    cells: tuple[Content, ...] = (
        [
            e("b", item.name),
            e("span", item.spec.name, class_="quiet") if item.spec.name != item.name else None,
            e("span", "stays" if item.stays else "", class_="quiet") if item.stays else None,
        ],
        own_size(item),
        [
            f"{mm(float(x))} · {mm(float(y))}".replace("-", "−"),
            e("span", f"faces {_facing(item)}", class_="quiet"),
        ],
        mm(base),
        "not said" if item.spec.weight is None else mm(float(item.spec.weight)),
        _held(item),
        [e("span", words) for words in _clearances(item)] or "none said",
        [e("span", words) for words in _services(item)] or "none said",
    )
    told = [e("td", cell, data_label=head) for head, cell in zip(heads[1:], cells[1:], strict=True)]
    first = e("th", e("span", str(number), class_="quiet number"), cells[0], scope="row")
    return e("tr", first, told)


def _facing(item: Placed) -> str:
    """Where its front looks, by the compass, or as an angle from south."""
    turned = round(float(np.rad2deg(item.yaw[0])) % 360.0, 1) % 360.0
    words = ("south", "east", "north", "west")
    eighth, off = divmod(turned, 90.0)
    return words[int(eighth) % 4] if off == 0 else f"{mm(turned)}° round from south"


def _held(item: Placed) -> str:
    words = {"floor": "stands on the floor", "wall": "fixed to the wall", "ceiling": "hung"}
    return words.get(item.footing, f"stands on {item.footing}")


def _clearances(item: Placed) -> Iterator[str]:
    for zone in item.spec.all_zones:
        sides = [f"{side} {mm(float(v))}" for side in _SIDES[:4] if (v := getattr(zone, side))]
        sides += ["under it"] if zone.under else []
        tall = f", {mm(float(zone.headroom))} high" if zone.headroom else ""
        yield f"{zone.name}: {', '.join(sides)}{tall}"
    for gap in item.gaps:
        if float(gap.depth[0]) > 0:
            yield f"{gap.why}: {gap.side} {mm(float(gap.depth[0]))}"
    for motion in item.spec.motions:
        reach = f", {mm(float(motion.travel))}" if motion.travel is not None else ""
        yield f"{motion.name} ({motion.kind}{reach})"


def _services(item: Placed) -> Iterator[str]:
    spec = item.spec
    if spec.wet:
        yield "water and waste"
    for control in spec.controls:
        yield f"{control.name} at {mm(float(control.height))} above its base"
    if spec.stack is not None and spec.stack.kit:
        yield f"stacking kit: {spec.stack.kit}"
    by: dict[str, list[str]] = {}
    for what, basis in sorted(spec.basis.items()):
        by.setdefault(basis, []).append(what)
    for basis, what_of in by.items():
        yield f"{', '.join(what_of)}: {basis}"
