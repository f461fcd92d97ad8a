"""A checked scheme as a handover model: an answer in, named nodes, parts and cameras out.

scene > shell / kept / proposed / zones > item > part; the leaves of doors hang in the shell on
their hinges. Everything is in room axes, mm; writers turn it into their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from massing.checks.finding import Verdict
from massing.checks.run import Answer
from massing.geometry.outline import counter_clockwise
from massing.geometry.solids import Convex, Floats, prism
from massing.geometry.tolerance import TOUCH
from massing.handover.cameras import standard_cameras
from massing.handover.inset import inset_part
from massing.handover.looks import LOOKS, look
from massing.handover.model import Camera, MeshPart, Model, Motion, Node, Point, resting_point
from massing.handover.opened import hung_leaves, opened_doors
from massing.handover.shell import shell_surfaces
from massing.room.heights import floor_level
from massing.room.measure import clear_height
from massing.room.shape import Opening, Room
from massing.scheme.layout import Layout, Leaf, Placed, Zone

__all__ = ["model_of"]

_THIN_LEAF = 40.0  # mm, drawn where a leaf's thickness was not measured
_EYE = 1600.0  # mm, a standing eye above the floor
_PROUD = 2.0  # mm, how far a shut door stands before the face it lies in
_PANE = 12.0  # mm, drawn thickness of glass


def model_of(answer: Answer, *, zones: bool = True) -> Model:
    """The whole scheme as a model; zones are left out when only bodies are wanted."""
    layout = answer.layout
    groups = [
        Node("shell", children=tuple(_shell(answer))),
        Node("kept", children=tuple(_items(answer, stays=True))),
        Node("proposed", children=tuple(_items(answer, stays=False))),
    ]
    if zones:
        groups.append(Node("zones", children=tuple(_zones(answer))))
    low, high = _bounds(layout.room)
    return Model(
        f"{answer.project.name} {layout.name}",
        tuple(group for group in groups if group.children),
        _cameras(layout, low, high),
        {
            "project": answer.project.name,
            "scheme": layout.name,
            "conflicts": len(answer.conflicts),
            "datum": "z 0 at the lowest floor, origin at the inside corner of the outline",
            "north_deg": float(layout.room.north_deg),
        },
    )


def _cameras(layout: Layout, low: Point, high: Point) -> tuple[Camera, ...]:
    """The standard views, the eye moved to where someone can stand."""
    views = standard_cameras(low, high)
    eye = _eye(layout, low, high)
    return tuple(eye if view.name == "eye" and eye is not None else view for view in views)


def _eye(layout: Layout, low: Point, high: Point) -> Camera | None:
    """An eye at standing height with the most of the room before it, level; None for no place.

    Of a fine net of places under enough ceiling and outside every body, the one farthest from the
    middle of the floor; under a low roof, the highest place there is.
    """
    steps = np.linspace(0.04, 0.96, 24)
    net = np.array([[x, y] for x in steps for y in steps])
    points = np.array(low[:2]) + net * (np.array(high[:2]) - np.array(low[:2]))
    clear = clear_height(layout.room, points[None], under_fabric=True)[0]
    floor = floor_level(layout.room.floors, points[None])[0]
    room = np.nan_to_num(clear, nan=0.0)
    head = np.minimum(_EYE, room - 100.0)
    free = (head > 300.0) & ~_in_bodies(layout, points, floor + head)
    if not free.any():
        return None
    tall = free & (room >= min(_EYE + 100.0, float(room[free].max())))
    middle = points[room > 0].mean(axis=0)
    away = np.where(tall, np.linalg.norm(points - middle, axis=1), -1.0)
    best = int(np.argmax(np.round(away, 3)))
    at = (float(points[best, 0]), float(points[best, 1]), float(floor[best] + head[best]))
    ahead = (float(middle[0]), float(middle[1]), at[2])
    return Camera("eye", at, ahead, yfov=math.radians(60.0))


def _in_bodies(layout: Layout, points: Floats, heights: Floats) -> NDArray[np.bool_]:
    """Whether points at heights lie within 150 mm of the bounds of any body."""
    inside = np.zeros(len(points), dtype=bool)
    for item in layout.items:
        low, high = item.low[0] - 150.0, item.high[0] + 150.0
        flat = ((points >= low[:2]) & (points <= high[:2])).all(axis=1)
        inside |= flat & (heights >= low[2]) & (heights <= high[2])
    return inside


def _bounds(room: Room) -> tuple[Point, Point]:
    rings = np.vstack([surface.ring for surface in shell_surfaces(room)])
    low, high = rings.min(axis=0), rings.max(axis=0)
    return (float(low[0]), float(low[1]), float(low[2])), (
        float(high[0]),
        float(high[1]),
        float(high[2]),
    )


def _solid(name: str, solid: Convex, material_name: str, kind: str) -> MeshPart:
    return MeshPart(name, solid.corners[0], solid.faces.rings, LOOKS[material_name], kind)


def _shell(answer: Answer) -> Iterator[Node]:
    room = answer.layout.room
    sides: dict[str, list[MeshPart]] = {}
    for surface in shell_surfaces(room):
        ring = tuple(range(len(surface.ring)))
        part = MeshPart(
            surface.name,
            surface.ring,
            (ring,),
            LOOKS[surface.kind],
            surface.kind,
            open=True,
            back=surface.back,
        )
        group = surface.name if surface.kind == "wall" else surface.kind
        sides.setdefault(group, []).append(part)
    for name, parts in sides.items():
        yield Node(name, tuple(parts), extras=_thickness(room, name))
    for fabric in room.fabric:
        kind = "partition" if fabric.kind == "partition" else "fabric"
        yield Node(
            fabric.name, tuple(_solid(fabric.name, part, kind, kind) for part in fabric.parts)
        )
    for opening in room.openings:
        if opening.kind == "window":
            yield Node(opening.name, (_pane(room, opening),))
    yield from _doors(answer)


def _thickness(room: Room, name: str) -> dict[str, str | float | bool]:
    """What a wall's build-up comes to, where it was said."""
    thick = {f"wall {w.name}": float(w.thickness[0]) for w in room.walls if not w.partition}
    return {"thickness_mm": round(thick[name], 1)} if thick.get(name, 0.0) > TOUCH else {}


def _pane(room: Room, opening: Opening) -> MeshPart:
    wall = room.wall(opening.wall)
    middle = -wall.thickness / 2.0
    ends = [opening.left, opening.left + opening.width]
    ring = [wall.point(ends[0], middle + _PANE / 2), wall.point(ends[1], middle + _PANE / 2)]
    ring += [wall.point(ends[1], middle - _PANE / 2), wall.point(ends[0], middle - _PANE / 2)]
    block = prism(
        counter_clockwise(np.stack(ring, axis=1)), opening.sill, opening.sill + opening.height
    )
    return _solid(f"{opening.name} pane", block, "pane", "glass")


def _doors(answer: Answer) -> Iterator[Node]:
    """Every leaf of every door; the halves of a double one are called left and right."""
    hung = [one.leaf for one in hung_leaves(answer) if one.kind == "door"]
    names = [leaf.name for leaf in hung]
    for k, leaf in enumerate(hung):
        if names.count(leaf.name) == 1:
            yield _leaf(leaf)
        else:
            side = "right" if leaf.name in names[:k] else "left"
            yield _leaf(replace(leaf, name=f"{leaf.name} {side}"))
    for door in opened_doors(answer):
        way: Literal["turn", "slide"] = "turn" if door.turns else "slide"
        shut = door.at(0.0)
        about = door.path.about[0] if door.path.about is not None else shut.low[0]
        moves = Motion(f"{door.name} opens", way, _point(door.axis), _point(about), 0.0, door.full)
        part = _solid(f"{door.name} leaf", shut, "leaf", "door")
        extras = {"kind": f"{door.kind} door"}
        yield Node(door.name, (part,), pivot=_point(about), extras=extras, motion=moves)


def _leaf(leaf: Leaf) -> Node:
    """The leaf shut in its opening, turning about its hinge."""
    thick = np.where(leaf.thickness > 0, leaf.thickness, _THIN_LEAF)
    ahead = leaf.swing * np.stack([-leaf.shut[:, 1], leaf.shut[:, 0]], axis=-1)
    tip = leaf.pin + leaf.width[:, None] * leaf.shut
    back = ahead * thick[:, None]
    ring = counter_clockwise(np.stack([leaf.pin, tip, tip - back, leaf.pin - back], axis=1))
    block = prism(ring, leaf.low, leaf.high)
    pin = (float(leaf.pin[0, 0]), float(leaf.pin[0, 1]), float(leaf.low[0]))
    turn = Motion(f"{leaf.name} opens", "turn", (0.0, 0.0, leaf.swing), pin, 0.0, leaf.full)
    part = _solid(f"{leaf.name} leaf", block, "leaf", "door")
    return Node(leaf.name, (part,), pivot=pin, extras={"kind": "door leaf"}, motion=turn)


def _items(answer: Answer, *, stays: bool) -> Iterator[Node]:
    worst = _verdicts(answer)
    for item in answer.layout.items:
        if item.stays is not stays:
            continue
        parts = tuple(
            MeshPart(
                part.name,
                part.solid.corners[0],
                part.solid.faces.rings,
                look(part.kind, stays=stays, stores=item.spec.stores),
                part.kind,
            )
            for part in item.parts
        )
        yield Node(
            item.name,
            parts,
            children=tuple(_moving(item)),
            pivot=resting_point(parts),
            extras=_extras(item, worst.get(item.name, Verdict.CLEAR)),
        )


def _moving(item: Placed) -> Iterator[Node]:
    """The item's doors, flaps, lids and drawers, each on its hinge or slide.

    A shut door lies flush in the body's face, and a drawer as wide as the body in its sides: two
    faces in one plane flicker. So it is drawn in by ``_PROUD`` and stands as much before the face.
    """
    for motion in item.motions:
        if motion.kind == "rise":
            continue
        solid = motion.solid.world(0)
        if motion.slide is not None:
            way = motion.slide[0] / float(np.linalg.norm(motion.slide[0]))
            how: Literal["turn", "slide"] = "slide"
            axis, origin = way, np.zeros(3) + solid.low[0]
        elif motion.turn_about is not None:
            how, axis, origin = "turn", motion.axis[0], motion.turn_about[0]
            way = np.cross(axis, solid.corners[0].mean(axis=0) - origin)
            way = way / max(float(np.linalg.norm(way)), 1e-9)
        else:
            continue
        flush = _solid(
            f"{motion.name} {motion.kind}", solid.moved(way * 2 * _PROUD), "door", "door"
        )
        part = inset_part(flush, _PROUD) or flush
        full = float(np.broadcast_to(motion.full, (item.origin.shape[0],))[0])
        yield Node(
            f"{item.name} {motion.name}",
            (part,),
            extras={"kind": motion.kind},
            motion=Motion(
                f"{item.name} {motion.name}", how, _point(axis), _point(origin), 0.0, full
            ),
        )


def _point(values: Floats) -> Point:
    return float(values[0]), float(values[1]), float(values[2])


def _extras(item: Placed, verdict: Verdict) -> dict[str, str | float | bool]:
    size = item.high[0] - item.low[0]
    found: dict[str, str | float | bool] = {
        "item": item.spec.name,
        "size_mm": " x ".join(f"{value:.0f}" for value in size),
        "base_mm": round(float(item.low[0, 2]), 1) + 0.0,
        "stands_on": item.footing,
        "verdict": verdict.value,
    }
    if item.spec.weight is not None:
        found["mass_kg"] = float(item.spec.weight)
    basis = item.spec.basis.get("body")
    if basis:
        found["basis"] = basis
    return found


def _verdicts(answer: Answer) -> dict[str, Verdict]:
    """The gravest verdict each item has a part in."""
    order = list(Verdict)
    worst: dict[str, Verdict] = {}
    for finding in answer.findings:
        for name in finding.items:
            held = worst.get(name, Verdict.CLEAR)
            worst[name] = min(held, finding.verdict, key=order.index)
    return worst


def _zones(answer: Answer) -> Iterator[Node]:
    for item in answer.layout.items:
        parts = tuple(_zone(zone, _headroom(answer, zone)) for zone in item.zones)
        if parts:
            yield Node(f"{item.name} zones", parts, extras={"item": item.name})


def _zone(zone: Zone, headroom: float) -> MeshPart:
    need = headroom if zone.headroom is None else float(zone.headroom[0])
    block = prism(zone.polygon[:1], zone.level[:1], zone.level[:1] + need)
    return _solid(f"{zone.item} {zone.name} zone", block, f"{zone.kind} zone", "zone")


def _headroom(answer: Answer, zone: Zone) -> float:
    return answer.rules.height("standing" if zone.posture == "none" else zone.posture)
