"""Do things that move meet one another, or someone at work? A layout in, readings out.

Two things in use take up air: an item its people's zones and whatever of it moves, a door of the
room its swept leaf. Two sweeps that meet, or a sweep that crosses another item's zone, are worth a
caution, since one can wait for the other; they are a conflict where the project's ``together``
says both are used at once. Two zones that share floor are for ``sharing`` to say. Never looked
at: two parts of one item, which are never moved at once; items that stand on one another, which
one person uses from one place; and a sweep against a body, which is for ``motions`` and ``leaves``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from massing.checks.bodies import pushes_apart
from massing.checks.context import Context, Group
from massing.checks.finding import Detail, Reading, Verdict
from massing.checks.leaves import leaf_sweep
from massing.checks.motions import Mover, item_movers
from massing.checks.motions_doors import door_movers
from massing.checks.standing import zone_airs
from massing.checks.together_bounds import inward_sweeps, mover_bounds, zone_bounds
from massing.checks.words import mm, place, square_metres
from massing.geometry.gaps.candidates import bounds
from massing.geometry.gaps.often import gaps_alongside, gaps_often
from massing.geometry.motions.sweep import all_swept
from massing.geometry.outline import outline_of
from massing.geometry.plan_common import common_extent
from massing.geometry.solids import Convex, Floats, Ints
from massing.geometry.tolerance import TOUCH
from massing.scheme.layout import Layout, Zone

__all__ = ["IN_USE", "SWEPT", "Uses", "read"]

Bools = NDArray[np.bool_]
SWEPT = "moving parts"
IN_USE = "in use"
_COARSE = 3.0  # mm; an overlap up to this is told of sweeps drawn finely
_HAIR = TOUCH / 2.0  # mm
SOURCE = (
    "common practice, no source: what moves keeps clear of what moves, and of who works, at once"
)


@dataclass(frozen=True, slots=True, eq=False)
class _Air:
    """Air that something in use takes up: its owner, what it is called, and the part that moves.

    motion : the motion's own name, "" for a room door or a person's zone
    solids : as convex solids; None for a sweep or a zone until it is wanted
    """

    owner: str
    label: str
    motion: str
    kind: str
    solids: tuple[Convex, ...] | None = None
    mover: Mover | None = None
    zone: Zone | None = None


@dataclass(frozen=True, slots=True)
class Uses:
    """The groups of uses that happen at once.

    Each use is an owner and the motions it names, an empty name standing for all of it.
    """

    groups: tuple[tuple[tuple[str, str], ...], ...]

    @classmethod
    def of(cls, layout: Layout) -> Uses:
        """What the project's ``together`` says: "washer in use", "entry open", "bench drawers"."""
        owners = [item.name for item in layout.items] + [o.name for o in layout.room.openings]
        return cls(
            tuple(
                tuple(found for use in group if (found := _use(use, owners)) is not None)
                for group in layout.together
            )
        )

    def at_once(self, one: _Air, other: _Air) -> bool:
        """Whether some group has both."""
        return any(
            any(_has(use, one) for use in group) and any(_has(use, other) for use in group)
            for group in self.groups
        )


def _use(said: str, owners: list[str]) -> tuple[str, str] | None:
    """Owner and the motions meant; None where nothing there goes by that name, or it is shut."""
    if said.endswith(" shut") and said not in owners:
        return None
    words = said.removesuffix(" in use").removesuffix(" open")
    for name in sorted(owners, key=lambda name: (-len(name), name)):
        if words == name:
            return name, ""
        if words.startswith(name + " "):
            return name, words[len(name) + 1 :].strip()
    return None


def _has(use: tuple[str, str], air: _Air) -> bool:
    """Whether a use takes up that air: all of the owner's, or the motions it names.

    A motion goes by its name, its last words, or its kind: "middle drawer", "drawer", "drawers".
    """
    owner, said = use
    if owner != air.owner or not said:
        return owner == air.owner
    words = air.motion.split()
    names = {air.kind, *(" ".join(words[k:]) for k in range(len(words)))}
    return said in names or said.removesuffix("s") in names


def read(context: Context) -> Iterator[Reading]:
    """Readings of every two sweeps, and every sweep and zone, of different owners that meet."""
    airs = [*_moving(context), *_leaves(context)]
    sweeps = len(airs)
    if not sweeps:
        return
    airs += _zones(context)
    found = _worst_of_owners(_pairs(context, _built(context, airs, sweeps)))
    for (kind, *_), pair in found.items():
        owners = (SWEPT, *sorted((pair.one.owner, pair.other.owner)))
        swept = found.get(owners)
        # Where the parts themselves meet, that they cross the zones too is the same cause.
        if kind == IN_USE and swept is not None and float(swept.gap[0]) < -TOUCH:
            continue
        if kind == SWEPT or float(pair.gap.min()) < -TOUCH:
            yield _reading(context, kind, pair)


def _moving(context: Context) -> Iterator[_Air]:
    """The moving parts of items, and of doors and windows that are more than a hinged leaf."""
    for mover in item_movers(context.layout):
        if mover.kind != "rise":
            motion = mover.label.removesuffix(f" of {mover.owner}")
            yield _Air(mover.owner, mover.label, motion, mover.kind, mover=mover)
    for opening in context.layout.room.openings:
        for mover in door_movers(context, opening):
            yield _Air(mover.owner, mover.owner, "", mover.kind, mover=mover)


def _leaves(context: Context) -> Iterator[_Air]:
    """The air that the room's hinged doors sweep inside."""
    for leaf, swept in inward_sweeps(context.layout).items():
        yield _Air(leaf.name, leaf.name, "", "leaf", (swept,))


def _zones(context: Context) -> list[_Air]:
    """The air of every zone in which a person uses an item."""
    return [
        _Air(item.name, f"{zone.name} zone of {item.name}", "", "zone", zone=zone)
        for item in context.layout.items
        for zone in item.zones
        if zone.kind == "person"
    ]


@dataclass(frozen=True, slots=True, eq=False)
class _Built:
    """Airs with the pairs of them whose bounds come near, and the sweeps of those built.

    fine : the sweeps that may only touch are drawn so finely that contact is no overlap
    """

    airs: list[_Air]
    pairs: list[tuple[int, int]]
    fine: bool = False


def _built(context: Context, airs: list[_Air], sweeps: int) -> _Built:
    movers = [air.mover for air in airs if air.mover is not None]
    paths = [mover.paths[0] for mover in movers]
    spans = [
        mover_bounds(context.layout, movers),
        bounds([solid for air in airs for solid in air.solids or ()]),
        zone_bounds(context, [air.zone for air in airs if air.zone is not None]),
    ]
    low, high = (np.concatenate([span[k] for span in spans]) for k in (0, 1))
    apart = np.maximum(low[:, None] - high[None], low[None] - high[:, None]).max(axis=2)
    # Bounds are over every world. Zones are crossed or not; a near miss is no news.
    apart[:, sweeps:] += context.rules.near
    near = np.argwhere(np.triu(apart <= context.rules.near, 1)[:sweeps])
    roots = [context.layout.bottom_of(air.owner) for air in airs]
    pairs = [
        (i, j)
        for i, j in near.tolist()
        if roots[i] != roots[j] and context.wanted(airs[i].owner, airs[j].owner)
    ]
    met = sorted({k for pair in pairs for k in pair})
    wanted = [k for k in met if airs[k].mover is not None]
    swept = all_swept([paths[k] for k in wanted], [movers[k].full for k in wanted])
    airs = list(airs)
    for k, solids in zip(wanted, swept, strict=True):
        airs[k] = replace(airs[k], solids=solids)
    for k in met:
        zone = airs[k].zone
        if zone is not None:
            airs[k] = replace(airs[k], solids=zone_airs(context, zone))
    return _Built(airs, pairs)


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """Two lots of air that come near: the least gap of their solids (worlds,), and where."""

    one: _Air
    other: _Air
    gap: Floats
    at: Floats
    at_once: bool

    @property
    def kind(self) -> str:
        """Which check it is for."""
        return IN_USE if self.other.kind == "zone" else SWEPT


def _pairs(context: Context, built: _Built) -> list[_Pair]:
    """Every pair measured in the nominal world, those that matter in the others as well."""
    airs = built.airs
    numbers: dict[int, range] = {}
    solids: list[Convex] = []
    for k in sorted({k for pair in built.pairs for k in pair}):
        numbers[k] = range(len(solids), len(solids) + len(airs[k].solids or ()))
        solids.extend(airs[k].solids or ())
    # A gap changes from world to world by no more than its two solids are displaced.
    shifts = np.array([_displaced(solid) for solid in solids])
    nominals = [solid.world(0) for solid in solids]
    rows = [(i, j, a, b) for i, j in built.pairs for a in numbers[i] for b in numbers[j]]
    if not rows:
        return []
    nominal, at = gaps_often(nominals, np.array([row[2:] for row in rows]))
    uses = Uses.of(context.layout)
    once = [uses.at_once(airs[i], airs[j]) for i, j, _, _ in rows]
    keys = [
        (airs[j].kind == "zone", once[k], *sorted((airs[i].owner, airs[j].owner)))
        for k, (i, j, _, _) in enumerate(rows)
    ]
    near = np.flatnonzero((nominal > -_COARSE) & (nominal < -TOUCH)).tolist()
    touched = {k for n in near for k in rows[n][:2] if airs[k].kind != "zone"}
    if touched and not built.fine:
        return _pairs(context, _Built(_finely(context, airs, touched), built.pairs, fine=True))
    loose = np.array([shifts[a] + shifts[b] for _, _, a, b in rows])
    most: dict[tuple[object, ...], float] = {}
    for key, gap in zip(keys, (nominal + loose).tolist(), strict=True):
        most[key] = min(most.get(key, np.inf), gap)
    kept = [
        k
        for k in range(len(rows))
        if nominal[k] - loose[k] <= min(most[keys[k]], 0.0 if keys[k][0] else context.rules.near)
    ]
    pairs = np.array([rows[k][2:] for k in kept], dtype=np.int64).reshape(-1, 2)
    every = _in_worlds(solids, pairs, nominal[kept], context.layout.worlds)
    return [
        _Pair(airs[rows[k][0]], airs[rows[k][1]], every[:, n], at[k], once[k])
        for n, k in enumerate(kept)
    ]


def _finely(context: Context, airs: list[_Air], which: set[int]) -> list[_Air]:
    """The airs, some of the sweeps drawn again no further outside their arcs than a touch."""
    found, leaves = list(airs), {leaf.name: leaf for leaf in context.layout.leaves}
    for k in sorted(which):
        mover, leaf = airs[k].mover, leaves.get(airs[k].owner)
        if mover is not None:
            solids = all_swept([mover.paths[0]], [mover.full], _HAIR)[0]
        elif leaf is not None:
            solids = (leaf_sweep(leaf, rounding=_HAIR),)
        found[k] = replace(airs[k], solids=solids)
    return found


def _displaced(solid: Convex) -> float:
    """How far any corner is from its nominal place in any world, mm."""
    if solid.worlds == 1:
        return 0.0
    return float(np.sqrt(((solid.corners - solid.corners[:1]) ** 2).sum(axis=-1).max()))


def _in_worlds(solids: list[Convex], pairs: Ints, nominal: Floats, worlds: int) -> Floats:
    """(worlds, pairs) gaps, measured where either solid is not as it is in the nominal world.

    Every pair and world that asks for it is a row of one batch.
    """
    gap = np.tile(nominal, (worlds, 1))
    moved = {k: _moves(solids[k], worlds) for k in sorted({*pairs.ravel().tolist()})}
    asked = [
        (world, n)
        for n, (a, b) in enumerate(pairs.tolist())
        for world in np.flatnonzero(moved[a] | moved[b]).tolist()
    ]
    if not asked:
        return gap
    there: dict[tuple[int, int], int] = {}
    placed: list[Convex] = []
    rows = []
    for world, n in asked:
        row = []
        for k in pairs[n].tolist():
            key = (k, min(world, solids[k].worlds - 1) if moved[k][world] else 0)
            if key not in there:
                there[key] = len(placed)
                placed.append(solids[k].world(key[1]))
            row.append(there[key])
        rows.append(row)
    found = gaps_alongside(placed, np.array(rows)).gap[0]
    where = np.array(asked)
    gap[where[:, 0], where[:, 1]] = found
    return gap


def _moves(solid: Convex, worlds: int) -> Bools:
    """(worlds,) where a solid is not as it is in the nominal world."""
    if solid.worlds == 1:
        return np.zeros(worlds, dtype=bool)
    return np.asarray((solid.corners != solid.corners[:1]).any(axis=(1, 2)))


def _worst_of_owners(pairs: list[_Pair]) -> dict[tuple[str, ...], _Pair]:
    """Of each check and two owners, what is worst: used at once before not, then the deeper.

    Its gap is the least that any of the parts as grave come to, world by world.
    """
    found: dict[tuple[str, ...], _Pair] = {}
    for pair in pairs:
        key = (pair.kind, *sorted((pair.one.owner, pair.other.owner)))
        held = found.get(key)
        if held is None or _grave(pair) < _grave(held):
            found[key], held = pair, held if held and held.at_once == pair.at_once else None
        if held is not None and held.at_once == pair.at_once:
            found[key] = replace(found[key], gap=np.minimum(held.gap, pair.gap))
    return found


def _grave(pair: _Pair) -> tuple[bool, float]:
    meets = float(pair.gap[0]) < -TOUCH
    return (not (meets and pair.at_once), float(pair.gap[0]))


def _reading(context: Context, check: str, pair: _Pair) -> Reading:
    return Reading(
        check=check,
        items=(pair.one.owner, pair.other.owner),
        gap=pair.gap,
        detail=lambda: _detail(context, pair),
        weight=Verdict.CONFLICT if pair.at_once else Verdict.CAUTION,
        source=SOURCE,
    )


def _detail(context: Context, pair: _Pair) -> Detail:
    one, other, gap = pair.one, pair.other, float(pair.gap[0])
    if gap >= -TOUCH:
        says = f"{mm(gap)} between {one.label} and {other.label} as they open"
        return Detail(says=says, at=place(pair.at))
    groups = Group(one.owner, one.solids or ()), Group(other.owner, other.solids or ())
    when = "though both are used at once" if pair.at_once else "fine while not used at once"
    shared, size = _shared(*groups)
    verb = ("cross", "crosses") if other.kind == "zone" else ("meet", "meets")
    does = verb[0 if one.mover is not None and one.mover.plural else 1]
    says = f"{one.label} {does} {other.label} over {size} ({square_metres(shared):.3f} m²), {when}"
    pushes = tuple(pushes_apart(context, *groups)) if pair.at_once else ()
    return Detail(says=says, at=place(pair.at), area_m2=square_metres(shared), pushes=pushes)


def _shared(one: Group, other: Group) -> tuple[float, str]:
    """Plan area two lots of air share where they meet, nominal world, and its bounds in words."""
    best: tuple[float, Floats] = (0.0, np.zeros(2))
    for a in one.solids:
        for b in other.solids:
            found = common_extent(outline_of(a)[0], outline_of(b)[0])
            if found is not None and found[0] > best[0]:
                best = found
    return best[0], f"{mm(best[1][0])} x {mm(best[1][1])}"
