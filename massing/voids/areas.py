"""How much of the floor counts by a published rule: a room and a rule in, areas out, exactly.

Clear height is from the local floor to the ceiling; what stands on the floor is out of it. Beams
overhead are not counted as lower ceiling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from massing.geometry.offset import offset_by
from massing.room.cells import plan_area
from massing.room.shape import Room
from massing.voids.area_rules import RULES, AreaRule, BandRule, BeyondRule, ShareRule
from massing.voids.regions import MITRE, floor_region, joined, polygons_of, tall_rings, wide_parts

__all__ = ["Counted", "count_all", "count_area"]

_ROUNDING = 1e-9  # a share this little under its limit is at it


@dataclass(frozen=True, slots=True)
class Counted:
    """One rule's answer for one room, mm².

    parts : (what, area) in words, the pieces the figure is made of
    share : of what counts the part that is tall enough, None when the rule does not ask or
        nothing counts; passes : whether that is enough and the least area is reached
    """

    rule: AreaRule
    area: float
    parts: tuple[tuple[str, float], ...]
    share: float | None = None
    passes: bool | None = None


def count_all(room: Room) -> tuple[Counted, ...]:
    """Every rule's answer for a room, in the rules' own order."""
    return tuple(count_area(room, rule) for rule in RULES)


def count_area(room: Room, rule: AreaRule) -> Counted:
    """One rule's answer for a room.

    >>> from massing.room.build import build_room
    >>> from massing.room.spec import RoomSpec
    >>> from massing.survey.values import Values
    >>> says = {"size": "3000 x 4000", "ceiling": [{"slopes": {"south": 600, "north": 3000}}]}
    >>> room = build_room(RoomSpec.model_validate(says), Values(), {}.__getitem__)
    >>> round(count_area(room, RULES[0]).area / 1e6, 9)
    7.5
    """
    if isinstance(rule, BandRule):
        return _banded(room, rule)
    if isinstance(rule, ShareRule):
        return _shared(room, rule)
    return _beyond(room, rule)


def _high(room: Room, at_least: float, below: float = math.inf) -> float:
    rings = tall_rings(room, at_least=at_least, below=below)
    return math.fsum(plan_area(ring) for ring in rings)


def _banded(room: Room, rule: BandRule) -> Counted:
    parts = []
    total = []
    for band in rule.bands:
        area = _high(room, band.at_least, band.below)
        top = "and up" if math.isinf(band.below) else f"to {band.below:g}"
        parts.append((f"{band.at_least:g} {top}, {100 * band.share:g} %", area))
        total.append(band.share * area)
    return Counted(rule, math.fsum(total), tuple(parts))


def _shared(room: Room, rule: ShareRule) -> Counted:
    counted, tall = _high(room, rule.counted), _high(room, rule.tall)
    parts = ((f"{rule.counted:g} and higher", counted), (f"{rule.tall:g} and higher", tall))
    if counted <= 0:
        return Counted(rule, 0.0, parts, None, passes=False)
    share = tall / counted
    enough = share >= rule.share - _ROUNDING and counted >= rule.least * (1 - _ROUNDING)
    return Counted(rule, counted, parts, share, passes=enough)


def _beyond(room: Room, rule: BeyondRule) -> Counted:
    """Tall parts that are wide enough, and sloping floor within a line drawn beyond them.

    The line runs parallel to the edge of the tall part, its corners drawn square; floor beyond a
    wall or a drop in a level ceiling is not reached.
    """
    tall = wide_parts(floor_region(room, rule.tall), rule.width)
    if tall.is_empty:
        return Counted(rule, 0.0, ((f"{rule.tall:g} and higher over {rule.width:g}", 0.0),))
    low = joined(tall_rings(room, below=rule.tall, sloped=True))
    reach = offset_by(tall, rule.beyond, join_style="mitre", mitre_limit=MITRE)
    edge = low.intersection(reach)
    near = [piece for piece in polygons_of(edge) if _beside(piece, tall)]
    beyond = math.fsum(piece.area for piece in near)
    parts = (
        (f"{rule.tall:g} and higher over {rule.width:g}", float(tall.area)),
        (f"up to {rule.beyond:g} beyond", beyond),
    )
    return Counted(rule, float(tall.area) + beyond, parts)


def _beside(piece: Any, tall: Any) -> bool:
    """Whether a piece shares a length of edge with the tall part, and not only a corner."""
    return bool(offset_by(piece, 1e-3).intersection(tall).area > 1e-2)
