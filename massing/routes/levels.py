"""At which heights is it worth carrying a thing: a layout and a thing in, levels out.

Lowering a thing that is carried level frees it from ceilings and undersides and meets nothing
new until some part of it comes down on something. So what can be carried through at any height
can be carried through at heights where a part of it just rests: on the floor, a sill, or the top
of something it is lifted over. Only those heights are tried, and none is missed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from massing.geometry.tolerance import TOUCH
from massing.routes.plan import Doorway
from massing.routes.thing import Hold
from massing.scheme.layout import Layout, Placed

__all__ = ["LIFT", "lifted_levels", "plain_levels"]

LIFT = 1400.0
"""mm over the floor; a thing is lifted no higher on its way than a shoulder, unless its own place
is higher up. Common practice, no source."""


def plain_levels(layout: Layout, item: Placed) -> tuple[float, ...]:
    """The highest floor, which clears every step, and the item's own place; z, mm."""
    top = max(float(floor.level[0]) for floor in layout.room.floors)
    return _sorted([top, float(item.low[0, 2])])


def lifted_levels(
    layout: Layout, item: Placed, way: Doorway, holds: Sequence[Hold], *, over: bool = True
) -> tuple[float, ...]:
    """Heights of its bottom where some part of it would rest on something; z, mm.

    That is on floors, the sill, and the tops of what it may be lifted over; and its own place.
    over : whether it may be lifted over things at all
    """
    floors = [float(floor.level[0]) for floor in layout.room.floors]
    base, least = float(item.low[0, 2]), min(floors)
    tops = [*floors, way.sill]
    if over:
        bodies = [part.solid for other in layout.items for part in other.parts]
        solids = bodies + [solid for fabric in layout.room.fabric for solid in fabric.parts]
        tops += [float(solid.high[0, 2]) for solid in solids]
    most = max(base, least + LIFT, *floors)
    under = {round(band.low, 3) for hold in holds for band in hold.bands}
    found = [top - low for top in tops for low in sorted(under)]
    return _sorted([base, *(z for z in found if least - TOUCH <= z <= most + TOUCH)])


def _sorted(levels: Iterable[float]) -> tuple[float, ...]:
    """In order, the highest of those that are one to a touch."""
    found: list[float] = []
    for level in sorted(levels):
        if found and level - found[-1] <= TOUCH:
            found[-1] = level
        else:
            found.append(level)
    return tuple(found)
