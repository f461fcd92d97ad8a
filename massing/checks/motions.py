"""How far does everything that moves get, and what stops it? A layout in, readings out.

Each moving part starts shut and is stopped by other items' bodies, the fabric, the walls, the
ceiling and the floor, but never by its own item, nor by what rises with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from massing.checks.bodies import pushes_apart
from massing.checks.context import Context, Group
from massing.checks.finding import Detail, Push, Reading, Verdict
from massing.checks.motions_blocks import Blocks, blocks_of, comes_up_to
from massing.checks.moved import as_before
from massing.checks.words import mm, place
from massing.geometry.gaps.candidates import bounds
from massing.geometry.gaps.signed import signed_gaps
from massing.geometry.motions.stops import Path, eased, first_contacts, path_bounds
from massing.geometry.motions.sweep import swept_solids
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Motion, Placed

__all__ = ["CHECK", "Mover", "item_movers", "parked", "read", "stops"]

CHECK = "motion"
NEAR_DEG = 5.0  # degrees to spare that are still worth a word; this tool's own habit
ENOUGH_DEG = 90.0  # degrees, where a turning part does not say what it needs
_WORDS = {"drawer": "pulls", "rise": "lifts", "sliding": "slides"}


@dataclass(frozen=True, slots=True, eq=False)
class Mover:
    """One thing that moves.

    owner : the item or door it belongs to; label : what it is called, "door of washer"
    paths : the moving solid, then all that is carried along
    free : names that never stop it; behind : walls it is part of
    needs : (worlds,) the least that is enough, radians or mm
    """

    owner: str
    label: str
    kind: str
    paths: tuple[Path, ...]
    free: frozenset[str]
    needs: Floats
    source: str
    check: str = CHECK
    weight: Verdict = Verdict.CONFLICT
    behind: frozenset[str] = frozenset()

    @property
    def turns(self) -> bool:
        """Whether it turns, so that its reach is an angle."""
        return self.paths[0].about is not None

    @property
    def unit(self) -> float:
        """Degrees in a radian for what turns, 1 for what slides."""
        return float(np.degrees(1.0)) if self.turns else 1.0

    @property
    def plural(self) -> bool:
        """Whether it is spoken of as several: "drawers of bench"."""
        named = self.label.removesuffix(f" of {self.owner}")
        return named.endswith("s") and not named.endswith("ss")

    @property
    def full(self) -> Floats:
        """(worlds,) its whole travel, radians or mm."""
        return self.paths[0].full


def read(context: Context) -> Iterator[Reading]:
    """Readings of every door, drawer, lid and rising top of an item that something comes near."""
    yield from stops(context, item_movers(context.layout))


def item_movers(layout: Layout) -> tuple[Mover, ...]:
    """Everything of the items that moves, in order; asked again without new work."""
    return layout.kept("movers", _item_movers)


def _item_movers(layout: Layout) -> tuple[Mover, ...]:
    pairs = [(item, motion) for item in layout.items for motion in item.motions]
    paths = eased([_path(motion, layout.worlds) for _, motion in pairs])
    return tuple(_mover(layout, *pair, path) for pair, path in zip(pairs, paths, strict=True))


def _path(motion: Motion, worlds: int) -> Path:
    full = motion.full
    if len(full) != worlds:
        full = np.broadcast_to(full, (worlds,))
    return Path(motion.solid, motion.axis, motion.turn_about, full)


def _mover(layout: Layout, item: Placed, motion: Motion, path: Path) -> Mover:
    paths: tuple[Path, ...] = (path,)
    riders = frozenset[str]()
    if motion.kind == "rise":
        riders = layout.stack_from(item.name) - {item.name}
        # What stands on the top as drawn starts as low as the top does.
        shift = np.zeros((layout.worlds, 3))
        shift[:, 2] = motion.solid.high[:, 2] - item.high[:, 2]
        carried = [
            part.solid for other in layout.items if other.name in riders for part in other.parts
        ]
        paths = (path, *(replace(path, solid=solid.moved(shift)) for solid in carried))
        # What is let down from the ceiling has come down when it stands on the floor.
        if item.footing == "ceiling":
            riders |= {floor.name for floor in layout.room.floors}
    if motion.needs is not None:
        needs = np.minimum(motion.needs, path.full)
    else:
        needs = (
            np.minimum(np.radians(ENOUGH_DEG), path.full) if path.about is not None else path.full
        )
    source = item.spec.basis.get(f"motion {motion.name}", "common practice, no source")
    return Mover(
        owner=item.name,
        label=f"{motion.name} of {item.name}",
        kind=motion.kind,
        paths=paths,
        free=riders | {item.name},
        needs=np.asarray(needs),
        source=source,
    )


def parked(context: Context, mover: Mover) -> tuple[Floats, frozenset[str]]:
    """How far one mover gets, (worlds,) radians or mm, and what stops it in the nominal world."""
    reach, by = np.array(mover.full), set[str]()
    for met in _met(replace(context, focus=None), [mover], blocks_of(context.layout)):
        got = met.reach / mover.unit
        if float(got[0]) < float(mover.full[0]) - 1e-9:
            by.add(met.name)
        reach = np.minimum(reach, got)
    return reach, frozenset(by)


def stops(context: Context, movers: Sequence[Mover]) -> Iterator[Reading]:
    """Readings of every obstacle that stops one of the movers short, or nearly does.

    One for each owner and obstacle: where several parts of one item meet the same thing, the one
    that gets least far says so for the others.
    """
    if not movers:
        return
    found = _met(context, movers, blocks_of(context.layout))
    worst: dict[tuple[str, str, str], list[_Met]] = {}
    for met in found:
        if met.told(context):
            worst.setdefault((met.mover.check, met.mover.owner, met.name), []).append(met)
    for group in worst.values():
        group.sort(key=lambda met: met.spare)
        yield _reading(context, group)


@dataclass(frozen=True, slots=True, eq=False)
class _Met:
    """A mover and something in its way: reach (worlds,) in degrees or mm, and the solids met."""

    mover: Mover
    name: str
    words: str
    reach: Floats
    path: Path
    solid: Convex

    @property
    def needs(self) -> float:
        """What is enough in the nominal world, degrees or mm."""
        return float(self.mover.needs[0]) * self.mover.unit

    @property
    def gap(self) -> Floats:
        """(worlds,) reach against the nominal need; worlds may need more or less."""
        more = (self.mover.needs - self.mover.needs[0]) * self.mover.unit
        return np.asarray(self.reach - more)

    @property
    def spare(self) -> float:
        """The share of the whole travel it has to spare."""
        return float(self.gap[0] - self.needs) / (float(self.mover.full[0]) * self.mover.unit)

    def told(self, context: Context) -> bool:
        """Whether it fails in some world, or nearly does."""
        near = NEAR_DEG if self.mover.turns else context.rules.near
        return float(self.gap.min()) < self.needs + near


def _met(context: Context, movers: Sequence[Mover], blocks: Blocks) -> Iterator[_Met]:
    """Everything in the way of each mover, what it belongs to taken as one."""
    paths = [path for mover in movers for path in mover.paths]
    owner = np.array([k for k, mover in enumerate(movers) for _ in mover.paths], dtype=np.int64)
    limits = _limits(movers, context.rules.near)
    pairs = _pairs(context, movers, owner, blocks, _spans(context, movers, paths, limits))
    if not len(pairs):
        return
    contacts = first_contacts(paths, blocks.solids, pairs, limits)
    stopped = (contacts.reach < limits[pairs[:, 0]] - 1e-9).any(axis=0)
    groups: dict[tuple[int, str], list[int]] = {}
    for k in np.flatnonzero(stopped).tolist():
        groups.setdefault((int(owner[pairs[k, 0]]), blocks.names[pairs[k, 1]]), []).append(k)
    for (number, name), members in groups.items():
        chosen = [
            k
            for k in members
            if not _told_elsewhere(
                context, movers[number], contacts.inside[0, k], blocks, int(pairs[k, 1])
            )
        ]
        if not chosen:
            continue
        mover = movers[number]
        # Where only some worlds begin overlapping, that is for the bodies' own check to say.
        begun = contacts.inside[:, chosen] & ~contacts.inside[0, chosen]
        reach = np.where(begun, contacts.reach[0, chosen], contacts.reach[:, chosen])
        first = chosen[int(np.argmin(reach[0]))]
        p, o = pairs[first].tolist()
        yield _Met(
            mover, name, blocks.words[o], reach.min(axis=1) * mover.unit, paths[p], blocks.solids[o]
        )


def _limits(movers: Sequence[Mover], near: float) -> Floats:
    """How far to look along each path of some movers, radians or mm."""
    paths = [(path, mover.turns) for mover in movers for path in mover.paths]
    ahead = np.array([np.radians(NEAR_DEG) if turns else near for _, turns in paths])
    limits = np.array([float(path.full.max()) for path, _ in paths]) + ahead
    turning = np.array([path.about is not None for path, _ in paths])
    return np.asarray(np.where(turning, np.minimum(limits, 2.0 * np.pi - 0.05), limits))


def _spans(
    context: Context, movers: Sequence[Mover], paths: Sequence[Path], limits: Floats
) -> tuple[Floats, Floats]:
    """Bounds of all each path passes through; of the items', those from before a move hold."""
    layout, near = context.layout, context.rules.near
    if movers is not item_movers(layout):
        return path_bounds(paths, limits)

    def made(_: Layout, some: list[Mover]) -> list[Floats]:
        if not some:
            return []
        own = [path for mover in some for path in mover.paths]
        spans = np.stack(path_bounds(own, _limits(some, near)), axis=1)
        return np.split(spans, np.cumsum([len(mover.paths) for mover in some])[:-1])

    known = as_before(layout, ("spans", near), item_movers, made)
    every = np.concatenate(list(known.values()))
    return every[:, 0], every[:, 1]


def _pairs(
    context: Context,
    movers: Sequence[Mover],
    owner: Ints,
    blocks: Blocks,
    spans: tuple[Floats, Floats],
) -> Ints:
    """(m, 2) numbers of paths and blocks whose bounds meet and that may stop one another."""
    low, high = bounds(blocks.solids)
    apart = np.maximum(spans[0][:, None] - high[None], low[None] - spans[1][:, None])
    near = np.asarray((apart < -TOUCH).all(axis=2))
    for k, plane in enumerate(blocks.planes):
        if plane is not None and near[:, k].any():
            near[:, k] &= comes_up_to(plane, *spans)
    focus = context.focus
    if focus is not None:
        moved = np.array([mover.owner in focus for mover in movers])[owner]
        wanted = np.array([name in focus for name in blocks.names])
        near &= moved[:, None] | wanted[None]
    found = np.argwhere(near)
    keep = [
        blocks.names[o] not in movers[owner[p]].free
        and not blocks.walls[o] & movers[owner[p]].behind
        for p, o in found.tolist()
    ]
    return np.asarray(found[np.array(keep, dtype=bool)], dtype=np.int64)


def _told_elsewhere(
    context: Context, mover: Mover, inside: bool, blocks: Blocks, number: int
) -> bool:
    """Whether the two overlap even while it is shut, as another check says of the whole body."""
    if not inside:
        return False
    item = next((i for i in context.layout.items if i.name == mover.owner), None)
    if item is None:
        return True
    solids = [
        blocks.solids[number].world(0)
        if blocks.solids[number].worlds > 1
        else blocks.solids[number],
        *(part.solid.world(0) for part in item.parts),
    ]
    pairs = np.array([[0, k + 1] for k in range(len(item.parts))])
    return bool((signed_gaps(solids, pairs).gap < -TOUCH).any())


def _reading(context: Context, group: list[_Met]) -> Reading:
    met = group[0]
    enough = float(met.gap.min()) >= met.needs
    return Reading(
        check=met.mover.check,
        items=(met.mover.owner, met.name),
        gap=met.gap,
        needs=met.needs,
        unit="deg" if met.mover.turns else "mm",
        detail=lambda: _detail(context, group),
        weight=met.mover.weight,
        noted=enough and met.mover.turns,
        reach=True,
        source=met.mover.source,
    )


def _detail(context: Context, group: list[_Met]) -> Detail:
    met = group[0]
    mover = met.mover
    of, reach, needs = float(mover.full[0]) * mover.unit, float(met.reach[0]), met.needs
    hung = any(i.name == mover.owner and i.footing == "ceiling" for i in context.layout.items)
    lowers = hung and mover.kind == "rise"
    says = _lowers(met, of, reach, needs) if lowers else _says(met, of, reach, needs)
    others = [other.mover.label for other in group[1:] if other.gap[0] < other.needs]
    if others:
        says += f"; it stops {', '.join(others)} too"
    amount = min(reach, of) / mover.unit
    pair = [met.path.at(amount).world(0), met.solid.world(0)]
    at = signed_gaps(pair, np.array([[0, 1]])).at[0, 0]
    pushes: tuple[Push, ...] = ()
    if reach < needs:
        swept = swept_solids(met.path, mover.needs)
        pushes = tuple(
            pushes_apart(context, Group(met.name, (met.solid,)), Group(mover.owner, swept))
        )
    got = _down(met, of) if lowers and reach <= TOUCH else min(reach, of)
    return Detail(says=says, at=place(at), reaches=round(got, 2), of=of, pushes=pushes)


def _says(met: _Met, of: float, reach: float, needs: float) -> str:
    """How far it gets in words, and what it needs where that is not its whole travel."""
    mover = met.mover
    does = _WORDS.get(mover.kind, "opens")
    if mover.plural:
        does = does.removesuffix("s")
    size = _degrees if mover.turns else mm
    if reach >= of:
        return f"{mover.label} {does} its full {size(of)}, {size(reach - of)} short of {met.words}"
    less = "" if abs(needs - of) < 0.05 else f", needs {size(needs)}"
    says = f"{mover.label} {does} {size(reach)} of {size(of)}{less}, stopped by {met.words}"
    if mover.kind == "rise":
        top = float(mover.paths[0].solid.high[0, 2])
        says += f" (its top at {mm(top + reach)} of {mm(top + of)} above the datum)"
    return says


def _lowers(met: _Met, of: float, reach: float, needs: float) -> str:
    """The same of what hangs from the ceiling, told from up there: it is let down and goes up."""
    who = met.mover.owner
    least = "" if abs(needs - of) < 0.05 else f", needs {mm(needs)}"
    if reach >= of:
        short = f"{mm(reach - of)} short of {met.words}"
        return f"{who} goes up its full {mm(of)} from its lowest, {short}"
    does, got = "goes up from its lowest", reach
    if reach <= TOUCH:
        does, got = "comes down", _down(met, of)
    return f"{who} {does} {mm(got)} of {mm(of)}{least}, stopped by {met.words}"


def _down(met: _Met, of: float) -> float:
    """How far it comes down from its highest onto what is in the way at its lowest, mm."""
    inside = float(met.solid.high[0, 2] - met.mover.paths[0].solid.low[0, 2])
    return max(of - inside, 0.0)


def _degrees(angle: float) -> str:
    return f"{mm(angle)}°"
