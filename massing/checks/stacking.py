"""Is each stack sound, and what does what hangs weigh: a layout in, cautions out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from massing.checks.context import Context
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.words import mm, place
from massing.items.catalog import plain_name
from massing.scheme.layout import Placed

__all__ = ["CHECK", "LOAD", "read", "read_loads"]

CHECK = "stack"
LOAD = "load"
_HABIT = "common practice, no source"
_LIGHT = 3.0  # kg; a thing so light is put on anything
_WALL_LOAD = 25.0  # kg a metre run of wall, above which fixing and backing are flagged
_FLOOR_LOAD = 200.0  # kg a square metre of base, above which the floor is flagged


def read(context: Context) -> Iterator[Reading]:
    """Readings of every thing that stands on another: allowed, lighter above, kit between."""
    for item in context.items:
        if item.mounted != "on":
            continue
        below = context.layout.item(item.footing)
        faults = list(_faults(context, item, below))
        if faults:
            # One pair is one finding, whatever all is wrong with it.
            says = "; ".join(words for words, _ in faults)
            failed = any(bad for _, bad in faults)
            yield _told(context, CHECK, (item.name, below.name), says, item, failed=failed)


def _faults(context: Context, item: Placed, below: Placed) -> Iterator[tuple[str, bool]]:
    """What is wrong with one stack, and whether it is more than a caution."""
    kinds = {plain_name(name) for name in (below.spec.name, *below.spec.kin)}
    stack = item.spec.stack
    if stack is not None and stack.on and not kinds & set(map(plain_name, stack.on)):
        told = ", ".join(stack.on)
        yield f"{item.name} is made to stand on {told}, not on {below.name}", True
    heavy, under = item.spec.weight, _bottom(context, below).spec.weight
    carries = below.spec.stack.carries if below.spec.stack is not None else None
    weighed = heavy is not None and under is not None and carries is None
    if weighed and (heavy or 0.0) > max((under or 0.0) + 1e-9, _LIGHT):
        yield (
            (
                f"{item.name} ({heavy:g} kg) stands over {_bottom(context, below).name} "
                f"({under:g} kg); the lighter goes above"
            ),
            True,
        )
    if (
        stack is not None
        and stack.kit
        and plain_name(stack.kit) not in kinds
        and not _is_kit(below)
    ):
        yield f"{item.name} on {below.name} wants its {stack.kit}, tied back to the wall", False
    hands = _hand(item), _hand(_bottom(context, below))
    if None not in hands and hands[0] != hands[1]:
        yield (
            (
                f"the door of {item.name} hangs on the {hands[0]} and that of "
                f"{_bottom(context, below).name} on the {hands[1]}; stacked doors want one hand"
            ),
            False,
        )
    if carries is not None and heavy is not None and heavy > carries:
        yield f"{below.name} carries {carries:g} kg; {item.name} is {heavy:g} kg", True


def _hand(item: Placed) -> str | None:
    """The hand of an item's one front door; None where it has none, or several that differ."""
    hands = {
        str(motion.hinge or "left")
        for motion in item.spec.motions
        if motion.kind == "leaf" and motion.side == "front"
    }
    return hands.pop() if len(hands) == 1 else None


def _is_kit(below: Placed) -> bool:
    return "kit" in str(below.spec.name)


def _bottom(context: Context, below: Placed) -> Placed:
    """The first thing with a weight of its own under a kit."""
    while _is_kit(below) and below.mounted == "on":
        below = context.layout.item(below.footing)
    return below


def read_loads(context: Context) -> Iterator[Reading]:
    """Cautions for what hangs heavily on a wall or ceiling, or stands heavily on a floor."""
    for item in context.items:
        weight = item.spec.weight
        if weight is None:
            continue
        size = item.high[0] - item.low[0]
        if item.footing in {"wall", "ceiling"}:
            run = float(max(size[0], size[1])) / 1000.0
            if weight / max(run, 0.3) > _WALL_LOAD:
                says = (
                    f"{item.name} hangs {weight:g} kg on {mm(run * 1000)} of {item.footing}: fix "
                    "into structure, not board; have the fixing and backing checked"
                )
                yield _told(context, LOAD, (item.name,), says, item, failed=False)
        elif item.footing == "floor":
            base = float(size[0] * size[1]) / 1e6
            if weight / max(base, 1e-6) > _FLOOR_LOAD:
                says = (
                    f"{item.name} stands {weight:g} kg on {base:.2f} m² of floor "
                    f"({weight / base:.0f} kg/m²): have a suspended floor checked"
                )
                yield _told(context, LOAD, (item.name,), says, item, failed=False)


def _told(
    context: Context, check: str, items: tuple[str, ...], says: str, item: Placed, *, failed: bool
) -> Reading:
    """A reading that is not a length: it fails by one, in every world."""
    at = place(np.asarray((item.low[0] + item.high[0]) / 2.0))
    return Reading(
        check=check,
        items=items,
        gap=np.full(context.layout.worlds, -1.0),
        unit="",
        detail=lambda: Detail(says=says, at=at),
        weight=Verdict.CONFLICT if failed else Verdict.CAUTION,
        source=_HABIT,
    )
