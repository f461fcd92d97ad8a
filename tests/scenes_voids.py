"""Small rooms and bodies for the tests of empty boxes and runs, each made from a seed."""

from __future__ import annotations

import numpy as np

from massing.geometry.solids import Convex, Floats, hull, prism
from massing.geometry.space.empty_boxes_room import CeilingCell

__all__ = ["SIZE", "kept_above", "pitched", "rect", "small_room", "tent_scene", "turned_body"]

SIZE = np.array([3000.0, 2000.0])


def rect(x0: float, y0: float, x1: float, y1: float) -> Floats:
    """Plan ring of a rectangle, counter-clockwise."""
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def pitched(size: Floats, slope: float, eaves: float) -> list[CeilingCell]:
    """A rectangular room under one slope, low along y = 0."""
    return [CeilingCell(rect(0, 0, size[0], size[1]), 0.0, np.array([0.0, slope, eaves]))]


def cuboids(rng: np.random.Generator, room: Floats, most: int, *, whole: bool) -> Floats:
    count = int(rng.integers(0, most + 1))
    low = rng.uniform(-0.1, 0.9, (count, 3)) * room
    size = rng.uniform(0.05, 0.6, (count, 3)) * room
    if whole:
        low, size = np.round(low, -2), np.round(size, -2)
    table = np.clip(np.hstack([low, low + size]), 0, np.tile(room, 2))
    return table[(table[:, 3:] > table[:, :3]).all(axis=1)]


def small_room(seed: int) -> tuple[Floats, float, float, Floats]:
    """Sides, slope, eaves and obstacles; odd seeds sit on a grid and so are full of ties."""
    rng = np.random.default_rng(seed)
    size = rng.uniform(1000, 4000, 2)
    size = np.round(size, -2) if seed % 2 else size
    eaves = float(rng.uniform(200, 2500))
    slope = 0.0 if seed % 3 == 0 else float(rng.uniform(0.05, 1.5))
    room = np.array([*size, eaves + slope * size[1]])
    return size, slope, eaves, cuboids(rng, room, 6, whole=bool(seed % 2))


def turned_body(rng: np.random.Generator) -> Convex:
    """A yawed prism or the hull of a few points, somewhere in the room."""
    middle = rng.uniform([0, 0, 0], [3000, 2000, 1500])
    if rng.random() < 0.4:
        spread = rng.normal(size=(int(rng.integers(4, 9)), 3)) * rng.uniform(100, 400)
        return hull(middle + spread)
    angle, half = rng.uniform(0, np.pi), rng.uniform(50, 500, 2)
    c, s = np.cos(angle), np.sin(angle)
    ring = rect(-1, -1, 1, 1) * half @ np.array([[c, s], [-s, c]]) + middle[:2]
    return prism(ring, middle[2], middle[2] + rng.uniform(100, 900))


def kept_above(plan: Floats, line: Floats) -> Floats:
    """The part of a convex plan where a x + b y + c >= 0."""
    value, kept = plan @ line[:2] + line[2], []
    for k, (here, point) in enumerate(zip(value, plan, strict=True)):
        after, there = plan[(k + 1) % len(plan)], value[(k + 1) % len(plan)]
        if here >= 0:
            kept.append(point)
        if here * there < 0:
            kept.append(point + (after - point) * here / (here - there))
    return np.array(kept).reshape(-1, 2)


def tent(planes: Floats) -> list[CeilingCell]:
    """Cells of the room under the lowest of several planes, all well above the floor."""
    cells = []
    for k, plane in enumerate(planes):
        plan = rect(0, 0, *SIZE)
        for other in (*np.delete(planes, k, axis=0), np.array([0.0, 0.0, 50.0])):
            sign = -1.0 if other[2] == 50.0 and not other[:2].any() else 1.0
            plan = kept_above(plan, sign * (other - plane)) if len(plan) > 2 else plan
        area = 0.5 * (plan[:, 0] @ np.roll(plan[:, 1], -1) - plan[:, 1] @ np.roll(plan[:, 0], -1))
        if area > 1:
            cells.append(CeilingCell(plan, 0.0, plane))
    return cells


def tent_scene(seed: int) -> tuple[list[CeilingCell], Floats, list[Convex]]:
    """Cells, ceiling planes and bodies of a room under up to four slopes."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(1, 5))
    slopes = rng.uniform(-0.9, 0.9, (count, 2))
    planes = np.column_stack([slopes, rng.uniform(1500, 2500, count) - slopes @ SIZE / 2])
    return tent(planes), planes, [turned_body(rng) for _ in range(int(rng.integers(0, 7)))]
