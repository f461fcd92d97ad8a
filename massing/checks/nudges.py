"""The smallest move that clears a finding, and what it would start: pushes in, a nudge out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np

from massing.checks import bodies
from massing.checks.context import Context
from massing.checks.finding import Nudge, Push, Reading, Verdict
from massing.checks.moved import Move, remember_move
from massing.checks.moved_kept import keep_unmoved
from massing.checks.registry import CHECKS, WAYS, readings
from massing.geometry.outline import rectangle
from massing.geometry.solids import Convex, Floats
from massing.geometry.tolerance import TOUCH
from massing.scheme.ground import level_under
from massing.scheme.layout import Gap, Layout, Motion, Part, Placed, Zone

__all__ = [
    "Key",
    "best_nudge",
    "covered",
    "failing",
    "failures",
    "moved_context",
    "moved_layout",
    "recheck_moved",
]

Key = tuple[str, tuple[str, ...]]
Checks = tuple[Callable[[Context], Iterator[Reading]], ...]
# A finding of the first kind says all that one of the second kind about the same things would.
_FOLDS = (
    ("door leaf", "doorway"),
    ("bodies", "zone"),
    ("bodies", "clearance"),
    ("bodies", "motion"),
    ("ceiling", "headroom"),
    ("ceiling", "clearance"),
    ("walls", "clearance"),
    ("bodies", "control access"),
    ("zone", "control access"),
    ("zone", "reach over"),
    ("zone", "behind seat"),
    ("zone", "before drawer"),
    ("motion", "before drawer"),
    ("motion", "filler"),
    ("open panel", "zone"),
)
_BUT_WAYS = tuple(check for check in CHECKS if check not in WAYS)
_BODIES = bodies.CHECK
_WAY_NAMES = {"passage", "escape"}
_SHELL = {"walls", "ceiling", "floor"}
_TRIES = 8  # moves looked at, shortest first


def failing(context: Context) -> dict[Key, Reading]:
    """Readings that fail in the nominal world, the worst of each check and pair."""
    return failures(readings(context))


def failures(measured: Iterable[Reading]) -> dict[Key, Reading]:
    """Those of the readings that fail in the nominal world, the worst of each check and pair."""
    found: dict[Key, Reading] = {}
    for reading in measured:
        if not _fails(reading):
            continue
        key = (reading.check, reading.items)
        if key not in found or _short(reading) < _short(found[key]):
            found[key] = reading
    return found


def _short(reading: Reading) -> float:
    """What is left over in the nominal world; negative is missing."""
    return float(reading.gap[0]) - reading.needs


def _fails(reading: Reading) -> bool:
    slack = TOUCH if reading.unit == "mm" else 1e-6
    return reading.weight is Verdict.CONFLICT and _short(reading) < -slack


def best_nudge(
    context: Context, key: Key, pushes: tuple[Push, ...], before: dict[Key, Reading]
) -> Nudge | None:
    """The shortest push that clears a finding and starts nothing, else the shortest that clears it.

    A push into a wall, the ceiling or a floor is none.
    context : a one-world layout; before : everything that fails in it
    Every move is made and the moved item's checks run again, so ``starts`` is what was found.
    """
    whole = {_whole_stack(context.layout, push) for push in pushes} | set(pushes)
    ranked = sorted(whole, key=lambda push: _rank(context.layout, push))
    fallback: Nudge | None = None
    for push in ranked[:_TRIES]:
        # With one move in hand that clears it, only a move that starts nothing is better.
        after = _after(context, push, key, before, strict=fallback is not None)
        if after is None:
            continue
        failed = {(check, frozenset(items)) for check, items in after}
        new = sorted(k for k in after if _is_new(k, after, before) and not covered(k, failed))
        if any(check in _SHELL for check, _ in new):
            continue
        x, y, z = (_outward(v) for v in push.by)
        by = (x, y, z)
        nudge = Nudge(push.item, by, tuple(after[k].detail().says for k in new))
        if not new:
            return nudge
        fallback = fallback or nudge
    return fallback


def _rank(layout: Layout, push: Push) -> tuple[float, bool, str, tuple[float, float, float]]:
    """Shortest first; of equals, a whole stack before one thing out of it."""
    far = round(float(np.linalg.norm(push.by)), 3)
    return (far, layout.bottom_of(push.item) != push.item, push.item, push.by)


def _whole_stack(layout: Layout, push: Push) -> Push:
    """A level move of something stacked, made by the whole stack from the bottom up."""
    x, y, z = push.by
    bottom = layout.bottom_of(push.item)
    level = abs(z) < TOUCH and np.hypot(x, y) > TOUCH
    return Push(bottom, push.by) if level and not layout.item(bottom).stays else push


def covered(key: Key, failed: set[tuple[str, frozenset[str]]]) -> bool:
    """Whether another failure about the same things already says what this one would."""
    check, items = key
    names = {frozenset(items), frozenset(items) - {"ceiling"}}
    return any(
        check == weaker and (stronger, these) in failed
        for stronger, weaker in _FOLDS
        for these in names
    )


def _outward(size: float) -> float:
    """A tenth of a millimetre, rounded so that the move is never short."""
    tenths = np.ceil(round(abs(size) * 10.0, 4)) / 10.0
    return float(np.copysign(tenths, size)) + 0.0


def _is_new(key: Key, after: dict[Key, Reading], before: dict[Key, Reading]) -> bool:
    """Whether a failure was not there before, or has got worse."""
    if key not in before:
        return True
    return float(after[key].gap[0]) < float(before[key].gap[0]) - TOUCH


def _after(
    context: Context, push: Push, key: Key, before: dict[Key, Reading], *, strict: bool
) -> dict[Key, Reading] | None:
    """What fails once the push is made; None as soon as it is seen not to clear the finding.

    That is so while the finding, or one that it would have covered, is still there. With ``strict``
    it is also None as soon as anything fails that did not fail before. The ways through the room
    are walked only for a move that starts nothing else, or that is to widen one.
    """
    known = {(check, frozenset(items)) for check, items in before}
    own = {(key[0], frozenset(key[1]))}
    seen: list[Reading] = []
    moved = moved_context(context, push.item, np.array(push.by))
    started = False

    def walked() -> Iterator[Reading]:
        yield from _read_again(moved, _BUT_WAYS)
        if not started or key[0] in _WAY_NAMES:
            yield from _read_again(moved, WAYS)

    for reading in walked():
        if _fails(reading):
            other = (reading.check, reading.items)
            if other == key or covered(other, own):
                return None
            if strict and other not in before and not covered(other, known):
                return None
            seen.append(reading)
            started = started or (other not in before and not covered(other, known))
    return failures(seen)


def moved_context(context: Context, name: str, by: Floats) -> Context:
    """The same checks of the layout with one thing, and all that stands on it, moved.

    Its focus are the things moved, and it asks for no nudges.
    """
    layout, names, shift = _shifted(context.layout, name, by)
    move = Move(context.layout, names, shift)
    remember_move(layout, move)
    keep_unmoved(layout, move)
    return replace(context, layout=layout, focus=names, nudges=False)


def recheck_moved(context: Context, name: str, by: Floats) -> Iterator[Reading]:
    """Everything that is read of one thing, and of what stands on it, after a level or other move.

    context : a one-world layout; by : (3,) mm
    What is read is what a check of the whole moved layout reads of these things, its ways on foot
    left out but where one is closed. The ways come last, so that whoever has seen enough stops
    before them.
    """
    moved = moved_context(context, name, by)
    yield from _read_again(moved, _BUT_WAYS)
    yield from _read_again(moved, WAYS)


def _read_again(moved: Context, checks: Checks) -> Iterator[Reading]:
    """Readings of a layout with some things in focus, two things named in the file's order."""
    order = {item.name: number for number, item in enumerate(moved.layout.items)}
    for reading in readings(moved, checks):
        first, *rest = (order.get(name, -1) for name in reading.items)
        if reading.check == _BODIES and len(rest) == 1 and 0 <= rest[0] < first:
            yield replace(reading, items=reading.items[::-1])
        else:
            yield reading


def moved_layout(layout: Layout, name: str, by: Floats) -> tuple[Layout, frozenset[str]]:
    """A one-world layout with an item, and all that stands on it, moved; and their names.

    What stands on the floor settles on the highest level under its new place.
    """
    return _shifted(layout, name, by)[:2]


def _shifted(layout: Layout, name: str, by: Floats) -> tuple[Layout, frozenset[str], Floats]:
    names = layout.stack_from(name)
    shift = np.array(by, dtype=np.float64)
    mover = layout.item(name)
    if mover.footing == "floor" and abs(shift[2]) < TOUCH:
        shift[2] = _settle(layout, mover, shift)
    items = tuple(
        _moved(layout, item, shift) if item.name in names else item for item in layout.items
    )
    return replace(layout, items=items), names, shift


def _settle(layout: Layout, item: Placed, shift: Floats) -> float:
    """How much higher or lower the floor is under an item's new place."""
    low, high = item.low[:1], item.high[:1]
    here, there = rectangle(low, high), rectangle(low + shift, high + shift)
    return float(level_under(layout.room, there)[0] - level_under(layout.room, here)[0])


def _moved(layout: Layout, item: Placed, by: Floats) -> Placed:
    return replace(
        item,
        parts=tuple(Part(p.name, p.kind, p.solid.moved(by)) for p in item.parts),
        origin=item.origin + by,
        low=item.low + by,
        high=item.high + by,
        zones=tuple(_zone(layout, zone, by) for zone in item.zones),
        gaps=tuple(Gap(g.item, g.side, g.why, g.depth, g.solid.moved(by)) for g in item.gaps),
        motions=tuple(_motion(m, by) for m in item.motions),
    )


def _zone(layout: Layout, zone: Zone, by: Floats) -> Zone:
    polygon = zone.polygon + by[:2]
    return replace(zone, polygon=polygon, level=level_under(layout.room, polygon))


def _motion(motion: Motion, by: Floats) -> Motion:
    about = None if motion.turn_about is None else motion.turn_about + by
    solid: Convex = motion.solid.moved(by)
    return replace(motion, solid=solid, turn_about=about)
