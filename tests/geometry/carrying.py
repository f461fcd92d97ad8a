"""A foot, a plank and three stones in plan, and how far apart outlines are."""

from __future__ import annotations

import math

import numpy as np

__all__ = ["PLANK", "STONES", "TRIANGLE", "separation", "turned"]

TRIANGLE = np.array([[-140.0, -60.0], [160.0, -60.0], [-40.0, 120.0]])
PLANK = np.array([[-30.0, -170.0], [30.0, -170.0], [30.0, 170.0], [-30.0, 170.0]])
STONES = [
    np.array([[300.0, 150.0], [520.0, 210.0], [430.0, 460.0]]),
    np.array([[-90.0, 500.0], [200.0, 500.0], [200.0, 600.0], [-90.0, 600.0]]),
    np.array([[640.0, -40.0], [760.0, -40.0], [760.0, 300.0], [640.0, 300.0]]),
]


def separation(a: np.ndarray, b: np.ndarray) -> float:
    """Largest gap along an edge's normal of two convex rings."""
    best = -np.inf
    for one, two in ((a, b), (b, a)):
        edge = np.roll(one, -1, axis=0) - one
        normal = np.stack([edge[:, 1], -edge[:, 0]], axis=1)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        gap = (two @ normal.T).min(axis=0) - (one * normal).sum(axis=1)
        best = max(best, gap.max())
    return float(best)


def turned(ring: np.ndarray, x: float, y: float, t: float) -> np.ndarray:
    c, s = math.cos(t), math.sin(t)
    return ring @ np.array([[c, s], [-s, c]]) + (x, y)
