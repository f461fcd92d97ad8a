"""Random pairs of convex solids, as many as asked: boxes, prisms, wedges and hulls.

Scattered, nested, and brought flush: face to face, edge across edge, corner on face, at any
orientation and at a stated gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from massing.geometry.solids import Convex, box, hull, prism, prism_faces, prism_to_planes

__all__ = ["Pairs", "flush_pairs", "pair_apart", "rotation", "scattered_pairs", "shapes", "turned"]


@dataclass(frozen=True)
class Pairs:
    """Firsts and seconds, one row each, and the gap they were built to have (nan: unknown)."""

    firsts: list[Convex]
    seconds: list[Convex]
    built: np.ndarray


def rotation(rng: np.random.Generator) -> np.ndarray:
    """Uniform random rotation matrix."""
    q = rng.normal(size=4)
    w, x, y, z = q / np.linalg.norm(q)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def turned(solid: Convex, matrix: np.ndarray, shift: np.ndarray) -> Convex:
    """The solid rotated, then moved; a turned prism is upright only if turned about z."""
    faces = solid.faces
    if faces.upright and not np.array_equal(matrix[2], [0.0, 0.0, 1.0]):
        faces = prism_faces(len(faces.rings) - 2, upright=False)
    return Convex(solid.corners @ matrix.T + shift, faces)


def shapes(rng: np.random.Generator, each: int = 12) -> list[Convex]:
    """A zoo of solids about the origin, furniture sized."""
    found: list[Convex] = []
    for _ in range(each):
        half = rng.uniform(20, 900, 3)
        found.append(box(-half, half))
        angles = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(5, 10)))
        ring = np.stack([np.cos(angles), np.sin(angles)], axis=1) * rng.uniform(100, 600)
        found.append(prism(ring, -rng.uniform(10, 500), rng.uniform(10, 500)))
        slope = rng.uniform(-0.5, 0.5, 2)
        square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * rng.uniform(100, 600, 2)
        low = (square @ slope).min()
        # Half the wedges run out to nothing along an edge or a corner.
        rise = 0.0 if rng.random() < 0.5 else rng.uniform(1, 300)
        if rng.random() < 0.5:
            slope[0] = 0.0
            low = (square @ slope).min()
        found.append(prism_to_planes(square, low - rise, square @ slope))
        found.append(hull(rng.normal(size=(rng.integers(4, 24), 3)) * rng.uniform(80, 500, 3)))
    return found


def scattered_pairs(rng: np.random.Generator, count: int) -> Pairs:
    """Pairs at random, about half of them overlapping; a third only yawed."""
    zoo = shapes(rng)
    firsts, seconds = [], []
    for _ in range(count):
        a, b = (zoo[k] for k in rng.integers(0, len(zoo), 2))
        yawed = rng.random() < 0.33
        turns = [_yaw(rng) if yawed else rotation(rng) for _ in range(2)]
        reach = np.linalg.norm(a.high - a.low) + np.linalg.norm(b.high - b.low)
        shift = rng.normal(size=3) * reach * rng.choice([0.02, 0.2, 0.35])
        firsts.append(turned(a, turns[0], np.array([1500.0, 900.0, 700.0])))
        seconds.append(turned(b, turns[1], shift + np.array([1500.0, 900.0, 700.0])))
    return Pairs(firsts, seconds, np.full(count, np.nan))


def flush_pairs(rng: np.random.Generator, count: int) -> Pairs:
    """Pairs brought together on a common plane at gaps of nothing, or very little, either way."""
    zoo = shapes(rng)
    firsts, seconds, built = [], [], []
    for _ in range(count):
        a, b = (zoo[k] for k in rng.integers(0, len(zoo), 2))
        gap = rng.choice([0.0, 0.0, 1e-7, -1e-7, 1e-4, -1e-4, 1e-2, -1e-2, 3.0])
        way = rotation(rng)[:, 0]
        first = turned(a, _onto(_some_face(a, rng), way, rng), np.zeros(3))
        second = turned(b, _lay(b, rng, -way), np.zeros(3))
        top = (first.corners[0] @ way).argmax()
        low = (second.corners[0] @ way).argmin()
        # Lay some corner of b over the middle of a's face, jittered so all contacts occur.
        plane = first.corners[0] @ way
        middle = first.corners[0][plane > plane[top] - 1e-6].mean(axis=0)
        aside = np.cross(way, rng.normal(size=3)) * rng.choice([0.0, 30.0])
        shift = middle - second.corners[0][low] + way * gap + aside
        firsts.append(first)
        seconds.append(second.moved(shift))
        built.append(gap if abs(gap) <= 1e-4 and not aside.any() else np.nan)
    return Pairs(firsts, seconds, np.array(built))


def pair_apart(rng: np.random.Generator, zoo: list[Convex], apart: float) -> tuple[Convex, Convex]:
    """Two of some solids, each turned, their extents so far apart along some direction."""
    a, b = (zoo[k] for k in rng.integers(0, len(zoo), 2))
    a, b = turned(a, rotation(rng), np.zeros(3)), turned(b, rotation(rng), np.zeros(3))
    way = rotation(rng)[0]
    lift = (a.corners[0] @ way).max() - (b.corners[0] @ way).min() + apart
    return a, b.moved(way * lift)


def _yaw(rng: np.random.Generator) -> np.ndarray:
    t = rng.choice([0.0, np.pi / 2, rng.uniform(0, 2 * np.pi)])
    return np.array([[np.cos(t), -np.sin(t), 0.0], [np.sin(t), np.cos(t), 0.0], [0.0, 0.0, 1.0]])


def _some_face(solid: Convex, rng: np.random.Generator) -> np.ndarray:
    normals = []
    for ring in solid.faces.rings:
        p = solid.corners[0][list(ring)]
        n = np.cross(p[1:-1] - p[0], p[2:] - p[0]).sum(axis=0)
        if np.linalg.norm(n) > 1e-3:
            normals.append(n / np.linalg.norm(n))
    return normals[rng.integers(len(normals))]


def _onto(source: np.ndarray, target: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A rotation that takes one unit direction to another, otherwise random."""

    def basis(way: np.ndarray) -> np.ndarray:
        aside = np.cross(way, rng.normal(size=3))
        aside /= np.linalg.norm(aside)
        return np.stack([way, aside, np.cross(way, aside)], axis=1)

    return basis(target) @ basis(source).T


def _lay(solid: Convex, rng: np.random.Generator, way: np.ndarray) -> np.ndarray:
    """Turn a face, an edge or nothing in particular of the solid towards ``way``."""
    kind = rng.integers(3)
    if kind == 0:
        return _onto(_some_face(solid, rng), way, rng)
    if kind == 1:
        both = _some_face(solid, rng) + _some_face(solid, rng)
        if np.linalg.norm(both) > 0.1:
            return _onto(both / np.linalg.norm(both), way, rng)
    return rotation(rng)
