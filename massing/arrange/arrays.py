"""The records the search works on: one for what is fixed, one for what moves.

Units are what moves as one: an item with all that is written to stand on it. Their boxes, zones
and air lie in the bottom item's own frame. Lengths mm, angles as cosine and sine. Records have
room for a set number of each thing, so that one compiled search serves every room.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from massing.errors import MassingError
from massing.geometry.solids import Floats, Ints

__all__ = [
    "CEILING",
    "FIXED",
    "FLOOR",
    "RASTER",
    "SIZES",
    "WALL",
    "Record",
    "new_moving",
    "packed",
    "rows",
]

Record: TypeAlias = NDArray[np.void]

FLOOR, WALL, CEILING, FIXED = 0, 1, 2, 3
"""How a unit is carried; FIXED ones are never moved."""

_CORNERS = 16
SIZES = {
    "units": 64,
    "boxes": 224,
    "zones": 96,
    "air": 128,
    "feet": 224,
    "walls": 40,
    "halves": 40,
    "outs": 40,
    "floors": 12,
    "ceilings": 24,
    "planes": 8,
    "tall": 48,
    "ways": 8,
    "leaves": 8,
    "doors": 8,
    "panes": 8,
}
"""How many of each thing one search has room for."""
RASTER = 160


def _fixed_fields() -> list[tuple[Any, ...]]:
    """What does not change in a search.

    boxes x0 y0 z0 x1 y1 z1 with box_at offsets a unit; bounds of the bottom item
    zones x0 y0 x1 y1; zone_needs height; zone_kind service, and 0 no headroom asked, 1 asked,
    2 only liked to be free, and whether someone walks to it
    zone_leaves : bits of the leaves opened while it is in use; at_once : units used at once
    air as boxes; air_kind 0 beside, 1 above, 2 below, 3 of something that moves
    feet : disjoint rectangles of floor a unit takes and the z its lowest body starts at
    highest : how far above the floor its base may be; loose : cost of standing free
    hung_at : how far above the floor the scheme hangs it
    near : cost of a metre between two units
    side_gap front back left right; may_stand whether row may stand on column, and on its
    diagonal whether it may never stand on the floor; weight_of daily, wet, stores
    walls : left x y, along x y, outward x y, face, length, partition
    halves : walls that bound the room as whole lines; outs : other regions outside
    tall : floor with standing height; ways : doorways, with way_z
    leaves : pin x y, shut x y, swing, width, low, high, angle, 0; leaf_box, way_box : bounds
    floor_box, tall_box : bounds, and whether the ring is just those
    panes : of a window its wall, left, right, sill, head and the depth kept free before it
    walk : for each of three widths, cells someone so wide may stand on, a row of bits each, with
        nothing moved in; walk_from : those just inside a door; walk_rules : the three radii, and
        the least and greatest height of what is in the way; walk_at : origin and cell
    walk_turned : whether the rows run along y; walk_rows : how many
    yaws : cosine, sine of a front towards each wall and its quarter turns
    mask : cells of ``cell`` mm about ``origin`` that are standing floor; doors : their middles
    standing : m² of it, all open
    weights : standing, open floor, daily, wet, reach, and a mm of penetration
    rules : headroom, under, low, support
    """
    s = SIZES
    n = s["units"]
    floats = {
        "boxes": (s["boxes"], 6),
        "bounds": (n, 6),
        "zones": (s["zones"], 4),
        "zone_needs": (s["zones"],),
        "air": (s["air"], 6),
        "feet": (s["feet"], 5),
        "side_gap": (n, 4),
        "highest": (n,),
        "loose": (n,),
        "hung_at": (n,),
        "near": (n, n),
        "walls": (s["walls"], 9),
        "outs": (s["outs"], _CORNERS, 2),
        "floors": (s["floors"], _CORNERS, 2),
        "levels": (s["floors"],),
        "ceilings": (s["ceilings"], _CORNERS, 2),
        "planes": (s["ceilings"], s["planes"], 3),
        "tall": (s["tall"], _CORNERS, 2),
        "ways": (s["ways"], 4, 2),
        "way_z": (s["ways"], 2),
        "leaves": (s["leaves"], 10),
        "yaws": (4 * s["walls"], 2),
        "origin": (2,),
        "doors": (s["doors"], 2),
        "weights": (6,),
        "rules": (4,),
        "leaf_box": (s["leaves"], 4),
        "way_box": (s["ways"], 4),
        "floor_box": (s["floors"], 5),
        "tall_box": (s["tall"], 5),
        "panes": (s["panes"], 6),
        "walk_rules": (5,),
        "walk_at": (3,),
    }
    ints = {
        "box_at": (n + 1,),
        "zone_at": (n + 1,),
        "air_at": (n + 1,),
        "feet_at": (n + 1,),
        "zone_kind": (s["zones"], 3),
        "zone_leaves": (s["zones"],),
        "at_once": (n, n),
        "air_kind": (s["air"],),
        "mount": (n,),
        "light": (n,),
        "passable": (n,),
        "shallow": (n,),
        "stackable": (n,),
        "may_stand": (n, n),
        "weight_of": (n, 3),
        "halves": (s["halves"],),
        "out_counts": (s["outs"],),
        "floor_counts": (s["floors"],),
        "ceiling_counts": (s["ceilings"],),
        "tall_counts": (s["tall"],),
    }
    parts = ("walls", "halves", "outs", "floors", "ceilings", "planes", "tall", "ways", "leaves")
    counts = ("n", "n_items", *(f"n_{part}" for part in parts), "n_doors", "n_feet", "n_panes")
    return [
        *((name, np.float64, shape) for name, shape in floats.items()),
        *((name, np.int64, shape) for name, shape in ints.items()),
        ("mask", np.int8, (RASTER, RASTER)),
        ("walk", np.uint64, (3, RASTER)),
        ("walk_from", np.uint64, (3, RASTER)),
        ("cell", np.float64),
        ("standing", np.float64),
        *(
            (name, np.int64)
            for name in (*counts, "rows", "columns", "concave", "walk_turned", "walk_rows")
        ),
    ]


def _moving_fields() -> list[tuple[Any, ...]]:
    """Where everything is, and what each unit and pair costs there.

    pose x, y, cosine, sine, z of the bottom item's origin; on : the unit it stands on or -1;
    yaw : row of ``yaws`` or -1; *_xy corners and *_in bounds in the room, the last of a foot's
    the floor under it; whole : bounds of all of a unit, solid : of its bodies
    shut : how wide a way its zones lack, 0 none, 1 to 3 from the widest to the narrowest
    taken : cells too near a unit for each of the three widths, taken_in its rows; drawn : whether
        they are as the unit stands
    shell, pair : hard mm and soft cost; shared : the floor both of a pair take, weighted m²
    again : how much of what a unit shares is given back too often, -1 until it is asked
    feet, pieces, piece_state : feet over one another, what is left of their floor, and of each
        such piece how many corners it has and which foot comes next. A piece is cut by one foot
        into four at most, the last in its place, and halved at most once in seven cuts.
    """
    n = SIZES["units"]
    places = [
        (f"{word}_{end}", np.float64, (SIZES[size], *shape))
        for word, size in (("box", "boxes"), ("zone", "zones"), ("air", "air"), ("foot", "feet"))
        for end, shape in (("xy", (4, 2)), ("in", (6,)))
    ]
    return [
        ("pose", np.float64, (n, 5)),
        ("on", np.int64, (n,)),
        ("yaw", np.int64, (n,)),
        *places,
        ("whole", np.float64, (n, 6)),
        ("solid", np.float64, (n, 6)),
        ("shut", np.int64, (n,)),
        ("open_cells", np.uint64, (RASTER,)),
        ("reached", np.uint64, (RASTER,)),
        ("taken", np.uint64, (n, 3, RASTER)),
        ("taken_in", np.int64, (n, 3, 2)),
        ("drawn", np.int64, (n, 3)),
        ("shell", np.float64, (n, 2)),
        ("pair", np.float64, (n, n, 2)),
        ("shared", np.float64, (n, n)),
        ("again", np.float64, (n,)),
        ("scratch", np.float64, (4, 40, 2)),
        ("flat", np.float64, (4,)),
        ("was_solid", np.float64, (n, 6)),
        ("was_pose", np.float64, (n, 5)),
        ("was_on", np.int64, (n,)),
        ("was_yaw", np.int64, (n,)),
        ("best_pose", np.float64, (n, 5)),
        ("best_on", np.int64, (n,)),
        ("best_yaw", np.int64, (n,)),
        ("rows", np.float64, (n, n + 1, 3)),
        ("members", np.int64, (n + 1,)),
        ("others", np.int64, (n,)),
        ("feet", np.int64, (SIZES["feet"],)),
        ("pieces", np.float64, (4 * SIZES["feet"], 28, 2)),
        ("piece_state", np.int64, (4 * SIZES["feet"], 2)),
        ("out", np.float64, (6,)),
        ("grid", np.int8, (RASTER, RASTER)),
        ("heights", np.int64, (RASTER,)),
        ("rise", np.int64, (RASTER + 1,)),
        ("start", np.int64, (RASTER + 1,)),
        ("state", np.uint64),
        ("tried", np.int64),
    ]


FIXED_TYPE = np.dtype(_fixed_fields(), align=True)
MOVING_TYPE = np.dtype(_moving_fields(), align=True)


def packed(values: Mapping[str, Any]) -> Record:
    """A record (1,) of what is fixed, from arrays and numbers by name.

    Raises MassingError when there is more of something than a search has room for.
    """
    record = np.zeros(1, dtype=FIXED_TYPE)
    for name, value in values.items():
        room = record[name][0]
        array = np.asarray(value)
        if any(have > most for have, most in zip(array.shape, np.shape(room), strict=True)):
            raise MassingError(f"too much for one search: {array.shape} of {name}")
        if array.ndim == 0:
            record[name] = value
        elif array.size:
            room[tuple(slice(0, size) for size in array.shape)] = array
    return record


def new_moving(pose: Floats, on: Ints, yaw: Ints) -> Record:
    """A record (1,) of what moves, at a pose and not yet priced."""
    record = np.zeros(1, dtype=MOVING_TYPE)
    record["pose"][0][: len(pose)] = pose
    record["on"][0][:] = -1
    record["on"][0][: len(on)] = on
    record["yaw"][0][: len(yaw)] = yaw
    return record


def rows(record: Record, name: str, count: int) -> Any:
    """The first so many rows of a field."""
    return record[name][0][:count]
