"""The outline of a room: size, walls or corners in; inside corners and wall faces out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from massing.errors import Fault, InputError, Mark
from massing.geometry.pieces import convex_parts, crossing_sides
from massing.geometry.polygons import Ring, area, line_through, meet
from massing.geometry.solids import Floats
from massing.room.naming import Faults, size_label, wall_names, wall_number
from massing.room.shape import Wall
from massing.room.spec import MOST_CORNERS, RoomSpec
from massing.survey.values import Values
from massing.units import Length, format_mm

if TYPE_CHECKING:
    from massing.survey.surveyed import Surveyed

__all__ = ["Shell", "lay_out", "thickness_of_build_up"]

_LEAST_SIDE = 1.0
"""mm; a shorter side is a corner written twice."""
_LEAST_ROOM, _LARGEST_ROOM = 300.0, 30_000.0
"""mm across; what lies beyond was meant in another unit: metres, or centimetres, read as mm."""
_STRAIGHT = 1e-6
"""Sine of the turn between two walls that run straight on."""


@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """The outline and what follows from it alone.

    outline : (worlds, n, 2) inside corners, counter-clockwise, mm
    parts : disjoint convex rings covering it; a side's label is the number of its wall
    """

    outline: Floats
    walls: tuple[Wall, ...]
    parts: tuple[Ring, ...]
    survey: Surveyed | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The walls' names, in order."""
        return tuple(wall.name for wall in self.walls)

    def line(self, wall: int) -> Floats:
        """(worlds, 3) line of a wall's face; its distances are into the room."""
        after = (wall + 1) % self.outline.shape[1]
        return line_through(self.outline[:, wall], self.outline[:, after])


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """Corners as written, before they are checked and turned counter-clockwise."""

    corners: Floats
    names: tuple[str, ...]
    lengths: tuple[tuple[Length, ...], ...]
    derived: tuple[bool, ...]
    mark: Mark | None
    survey: Surveyed | None = None


def lay_out(
    spec: RoomSpec, values: Values, thickness_of: Callable[[str], Length], faults: Faults
) -> Shell | None:
    """The shell of a room, or None after a fault."""
    drawn = _drawn(spec, values, faults)
    if drawn is None:
        return None
    if not _sound(drawn, faults):
        _suspected(drawn, faults)
        return None
    if float(area(drawn.corners)[0]) < 0:
        drawn = _turned(drawn)
    _check_names(spec, drawn, faults)
    thickness, said = _thicknesses(spec, drawn, values, thickness_of, faults)
    corners = drawn.corners
    if spec.measured == "outside":
        for name, known in zip(drawn.names, said, strict=True):
            if not known:
                faults.add(
                    f"the room is measured outside, so wall '{name}' needs a build-up or a "
                    "thickness",
                    spec.mark_of("measured"),
                )
        if not all(said):
            return None
        inset = _inset(corners, thickness, drawn, faults)
        if inset is None:
            return None
        corners = inset
    if spec.corners is None or spec.measured == "outside":
        corners = _at_origin(corners)
    walls = _walls(corners, thickness, drawn, spec)
    return Shell(corners, walls, convex_parts(Ring.of(corners)), drawn.survey)


def _of_a_room(drawn: _Drawn, faults: Faults) -> bool:
    """Whether the outline is as large as a room, and not in another unit than was meant."""
    across = np.ptp(drawn.corners[0], axis=0)
    if across.min() >= _LEAST_ROOM and across.max() < _LARGEST_ROOM:
        return True
    shown = " by ".join(
        f"{format_mm(float(x))} mm" if x < 10 * _LEAST_ROOM else f"{x / 1000:.3g} m" for x in across
    )
    least, most = format_mm(_LEAST_ROOM), f"{_LARGEST_ROOM / 1000:.0f} m"
    says = f"the room is {shown}; is the unit right? From {least} mm to under {most} is taken"
    faults.add(f"{says}, and a number without a unit is in mm", drawn.mark)
    return False


def _suspected(drawn: _Drawn, faults: Faults) -> None:
    """Where measurements that disagree made the bad outline, say which."""
    for note in () if drawn.survey is None else drawn.survey.notes:
        faults.add(note, drawn.mark)


def _drawn(spec: RoomSpec, values: Values, faults: Faults) -> _Drawn | None:
    if spec.size is not None and spec.crossed:
        return _leaning(spec, values, faults)
    if spec.size is not None:
        width, depth = spec.size
        w = values(width, label=size_label("x", spec.measured))
        d = values(depth, label=size_label("y", spec.measured))
        zero = np.zeros_like(w)
        corners = np.stack([zero, zero, w, zero, w, d, zero, d], axis=1).reshape(-1, 4, 2)
        sides = ((width,), (depth,), (width,), (depth,))
        names = ("south", "east", "north", "west")
        return _Drawn(corners, names, sides, (False,) * 4, spec.mark_of("size"))
    if spec.corners is not None:
        return _from_corners(spec, values, faults)
    walls = spec.walls or ()
    mark = spec.mark_of("walls")
    if not _few(len(walls), mark, faults):
        return None
    from massing.room.traverse import walk  # adjusting is loaded only where it is needed

    walked = walk(spec, values, faults)
    if walked is None:
        return None
    return _Drawn(
        walked.corners,
        wall_names(wall.name for wall in walls),
        tuple(() if wall.length is None else (wall.length,) for wall in walls),
        walked.derived,
        mark,
        walked.survey,
    )


def _leaning(spec: RoomSpec, values: Values, faults: Faults) -> _Drawn | None:
    """A size checked by measurements across it: opposite walls equal, perhaps out of square."""
    from massing.room.surveyed import fit, gather
    from massing.room.traverse import in_worlds
    from massing.survey.forms import Leaning

    gathered = gather(spec, values, faults)
    if gathered is None or spec.size is None:
        return None
    width, depth = spec.size
    found = fit(gathered, Leaning(width.mm, depth.mm), spec, faults)
    if found is None:
        return None
    return _Drawn(
        in_worlds(found[0], gathered.shifts),
        ("south", "east", "north", "west"),
        ((width,), (depth,), (width,), (depth,)),
        (False,) * 4,
        spec.mark_of("size"),
        found[1],
    )


def _from_corners(spec: RoomSpec, values: Values, faults: Faults) -> _Drawn | None:
    points = spec.corners or ()
    mark = spec.mark_of("corners")
    if not _few(len(points), mark, faults):
        return None
    columns = [
        values(length, label=f"{axis} of corner {k + 1}")
        for k, point in enumerate(points)
        for axis, length in zip("xy", point, strict=True)
    ]
    corners = np.stack(columns, axis=1).reshape(values.worlds, len(points), 2)
    names = tuple(str(name) for name in spec.names or ())
    if names and len(names) != len(points):
        faults.add(
            f"{len(names)} names for {len(points)} walls; name them all or none",
            spec.mark_of("names"),
        )
    if len(names) != len(points):
        names = tuple(f"wall {k + 1}" for k in range(len(points)))
    sides = tuple((*points[k], *points[(k + 1) % len(points)]) for k in range(len(points)))
    return _Drawn(corners, names, sides, (False,) * len(points), mark)


def _few(count: int, mark: Mark | None, faults: Faults) -> bool:
    if count < 3:
        faults.add(f"a room has at least 3 corners; this has {count}", mark)
    elif count > MOST_CORNERS:
        faults.add(f"{count} corners; a room has at most {MOST_CORNERS}", mark)
    return 3 <= count <= MOST_CORNERS


def _sound(drawn: _Drawn, faults: Faults) -> bool:
    """Whether the nominal outline is one simple polygon with some area."""
    before = len(faults.found)
    points = drawn.corners[0]
    step = np.roll(points, -1, axis=0) - points
    length = np.hypot(step[:, 0], step[:, 1])
    count = len(points)
    for k in np.flatnonzero(length < _LEAST_SIDE):
        faults.add(f"corner {_at(points[(k + 1) % count])} is repeated", drawn.mark)
    if len(faults.found) > before:
        return False
    way = step / length[:, None]
    for k in np.flatnonzero((way * np.roll(way, 1, axis=0)).sum(axis=1) < -1 + 1e-9):
        names = f"'{drawn.names[k - 1]}' and '{drawn.names[k]}'"
        faults.add(f"walls {names} fold back on each other at {_at(points[k])}", drawn.mark)
    for i, j in crossing_sides(points):
        faults.add(f"walls '{drawn.names[i]}' and '{drawn.names[j]}' cross or touch", drawn.mark)
        break
    if len(faults.found) == before and abs(float(area(drawn.corners)[0])) < 1.0:
        faults.add("the outline has no area", drawn.mark)
    return len(faults.found) == before and _of_a_room(drawn, faults)


def _at(point: Floats) -> str:
    return f"{format_mm(float(point[0]))}, {format_mm(float(point[1]))}"


def _turned(drawn: _Drawn) -> _Drawn:
    """The same outline the other way round; wall k still joins its own two corners."""
    count = len(drawn.names)
    order = [(count - 2 - k) % count for k in range(count)]
    return _Drawn(
        drawn.corners[:, ::-1],
        tuple(drawn.names[k] for k in order),
        tuple(drawn.lengths[k] for k in order),
        tuple(drawn.derived[k] for k in order),
        drawn.mark,
        drawn.survey,
    )


def _check_names(spec: RoomSpec, drawn: _Drawn, faults: Faults) -> None:
    seen: set[str] = set()
    for name in drawn.names:
        if name in seen:
            faults.add(f"two walls are called '{name}'", drawn.mark)
        seen.add(name)
    for field in ("build_ups", "thicknesses"):
        for name in getattr(spec, field):
            wall_number(str(name), drawn.names, faults, spec.mark_of(field))


def thickness_of_build_up(
    name: str, thickness_of: Callable[[str], Length], faults: Faults, mark: Mark | None
) -> Length | None:
    """The thickness of a build-up, or None after a fault."""
    try:
        return thickness_of(name)
    except InputError as error:
        faults.found.extend(
            Fault(fault.says, fault.mark or mark, fault.hint) for fault in error.faults
        )
    except KeyError:
        faults.add(f"there is no build-up '{name}'", mark)
    return None


def _thicknesses(
    spec: RoomSpec,
    drawn: _Drawn,
    values: Values,
    thickness_of: Callable[[str], Length],
    faults: Faults,
) -> tuple[tuple[Floats, ...], tuple[bool, ...]]:
    """(worlds,) thickness of each wall, 0 where not said, and whether it was said.

    One build-up written once stands for several walls, each with its own error.
    """
    own = {str(wall.name or f"wall {k + 1}"): wall for k, wall in enumerate(spec.walls or ())}
    cache: dict[str, Length | None] = {}
    sizes = []
    known = []
    for name in drawn.names:
        wall = own.get(name)
        length = wall.thickness if wall else None
        length = length or spec.thicknesses.get(name)
        build_up = (wall.build_up if wall else None) or spec.build_ups.get(name)
        if length is None and build_up is None:
            length, build_up = spec.thickness, spec.build_up
        if length is None and build_up is not None:
            if build_up not in cache:
                mark = (wall.mark if wall else None) or spec.mark_of("build_up")
                cache[build_up] = thickness_of_build_up(build_up, thickness_of, faults, mark)
            length = cache[build_up]
            known.append(True)
        else:
            known.append(length is not None)
        if length is None:
            sizes.append(values.constant(0.0))
        else:
            key, label = f"wall {name} thickness", f"thickness of the {name} wall"
            sizes.append(values(length, key=key, label=label))
    return tuple(sizes), tuple(known)


def _inset(
    corners: Floats, thickness: tuple[Floats, ...], drawn: _Drawn, faults: Faults
) -> Floats | None:
    """Inside corners: where the faces, each moved in by its wall's thickness, meet."""
    count = corners.shape[1]
    lines = []
    for k in range(count):
        line = line_through(corners[:, k], corners[:, (k + 1) % count])
        line[:, 2] -= thickness[k]
        lines.append(line)
    inner = np.empty_like(corners)
    for k in range(count):
        one, other = lines[k - 1], lines[k]
        sine = one[0, 0] * other[0, 1] - one[0, 1] * other[0, 0]
        if abs(float(sine)) > _STRAIGHT:
            inner[:, k] = meet(one, other)
        elif (
            np.array_equal(thickness[k - 1], thickness[k])
            or abs(float(thickness[k - 1][0] - thickness[k][0])) < 1e-9
        ):
            inner[:, k] = corners[:, k] + thickness[k][:, None] * other[:, :2]
        else:
            faults.add(
                f"walls '{drawn.names[k - 1]}' and '{drawn.names[k]}' run straight on with two "
                "thicknesses; put the step of the inside face in as a wall",
                drawn.mark,
            )
            return None
    outer_way = np.roll(corners[0], -1, axis=0) - corners[0]
    inner_way = np.roll(inner[0], -1, axis=0) - inner[0]
    lost = (outer_way * inner_way).sum(axis=1) <= 0
    if lost.any() or crossing_sides(inner[0]):
        name = drawn.names[int(np.argmax(lost))]
        faults.add(f"the walls are too thick: nothing is left inside at wall '{name}'", drawn.mark)
        return None
    return inner


def _at_origin(corners: Floats) -> Floats:
    """Shifted so that the corners with the least nominal x and y have x = 0 and y = 0."""
    west, south = int(np.argmin(corners[0, :, 0])), int(np.argmin(corners[0, :, 1]))
    origin = np.stack([corners[:, west, 0], corners[:, south, 1]], axis=1)
    return np.asarray(corners - origin[:, None])


def _walls(
    corners: Floats, thickness: tuple[Floats, ...], drawn: _Drawn, spec: RoomSpec
) -> tuple[Wall, ...]:
    walls = []
    count = corners.shape[1]
    for k in range(count):
        right, left = corners[:, k], corners[:, (k + 1) % count]
        line = line_through(right, left)
        outward = 0.0 - line[:, :2]
        along = np.stack([outward[:, 1], 0.0 - outward[:, 0]], axis=1)
        source = "measured"
        if spec.measured == "outside" or drawn.derived[k]:
            source = "derived"
        if any(length.method == "guess" for length in drawn.lengths[k]):
            source = "guessed"
        walls.append(Wall(drawn.names[k], left, right, along, outward, thickness[k], source))
    return tuple(walls)
