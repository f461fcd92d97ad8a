"""Small invented models that exercise every kind of thing a mesh file can hold."""

from __future__ import annotations

import math

import numpy as np

from massing.geometry.solids import box, hull, prism, prism_to_planes
from massing.handover.model import Camera, Material, MeshPart, Model, Motion, Node

OAK = Material("oak carcass", "#B08D57", kind="body")
DOOR = Material("door", "#56B4E9", kind="door", roughness=0.5)
STEEL = Material("handle", "#777777", kind="handle", roughness=0.3)
ZONE = Material("zone", "#E69F00", alpha=0.25, kind="zone")
WALL = Material("plaster", "#F2EFE6", kind="wall")


def solid_part(name, solid, material=OAK, kind="body"):
    return MeshPart(name, solid.corners[0], solid.faces.rings, material, kind)


def box_part(name, low, high, material=OAK, kind="body"):
    return solid_part(name, box(low, high), material, kind)


def ell_part(name="ell bench", at=(0.0, 0.0, 0.0)):
    """An L in plan, so its top and bottom cannot be fanned from every corner."""
    ring = [(0, 0), (2000, 0), (2000, 600), (600, 600), (600, 1500), (0, 1500)]
    # turned so that the first corner sees only part of the ring
    ring = ring[4:] + ring[:4]
    n = len(ring)
    low = [(x, y, 0.0) for x, y in ring]
    high = [(x, y, 450.0) for x, y in ring]
    walls = tuple((k, (k + 1) % n, n + (k + 1) % n, n + k) for k in range(n))
    rings = (tuple(range(n - 1, -1, -1)), tuple(range(n, 2 * n)), *walls)
    return MeshPart(name, np.array(low + high) + np.array(at), rings, OAK)


def shell_part():
    """Floor and two walls seen from inside, with a sloped top edge; an open surface."""
    corners = [
        (0, 0, 0), (6000, 0, 0), (6000, 2400, 0), (0, 2400, 0),
        (0, 0, 1950), (0, 2400, 2750), (6000, 2400, 2750),
    ]  # fmt: skip
    rings = ((0, 1, 2, 3), (0, 3, 5, 4), (3, 2, 6, 5))
    return MeshPart("room", np.array(corners, dtype=float), rings, WALL, "wall", open=True)


def washer(name, x, swing):
    """A body with a hinged leaf that carries a handle: two levels of node."""
    leaf = Node(
        "door",
        (
            box_part("leaf", (x + 40, 480, 250), (x + 560, 500, 700), DOOR, "door"),
            box_part("handle", (x + 500, 500, 450), (x + 520, 520, 520), STEEL, "handle"),
        ),
        motion=Motion(f"{name} opens", "turn", (0, 0, 1), (x + 40.0, 500.0, 0.0), 0.0, swing),
    )
    body = box_part("body", (x, 0, 0), (x + 600, 480, 850))
    return Node(name, (body,), (leaf,), pivot=(x + 300.0, 240.0, 0.0), extras={"weight_kg": 61.5})


def chest():
    """Two equal drawers on their slides, one over the other."""
    drawers = tuple(
        Node(
            "drawer",
            (box_part("box", (3320, 20, z), (3980, 440, z + 200), OAK, "drawer"),),
            motion=Motion("drawer pulls", "slide", (0, 1, 0), (3320.0, 20.0, z), 0.0, 380.0),
        )
        for z in (200.0, 450.0)
    )
    carcass = box_part("carcass", (3300, 0, 180), (4000, 18, 1160))
    return Node("chest", (carcass,), drawers, extras={"stays": True, "label": "plan chest"})


def workshop():
    """The full model: shell, kept, proposed, zones, voids (empty), and three cameras."""
    ring = [(200 * math.cos(a), 200 * math.sin(a)) for a in np.arange(12) * math.tau / 12]
    bin_ = prism(np.add(ring, (4850, 1850)), 180, 780)
    wedge = prism_to_planes(
        [[1000, 1600], [2000, 1600], [2000, 2400], [1000, 2400]],
        1500,
        [2483.3333333333335, 2483.3333333333335, 2750, 2750],
    )
    stone = hull(np.random.default_rng(7).normal(size=(14, 3)) * 150 + (2500, 900, 400))
    kept = (washer("Wäscher", 200.0, -math.radians(200.0)), Node("", (ell_part(at=(0, 800, 0)),)))
    proposed = (
        washer("Wäscher", 1000.0, math.radians(95.0)),
        chest(),
        Node("bin", (solid_part("bin", bin_),), pivot=(4850.0, 1850.0, 180.0)),
        Node("stone", (solid_part("stone", stone),)),
    )
    zones = (Node("loading zone", (solid_part("zone", wedge, ZONE, "zone"),)),)
    return Model(
        "Ternholt slip ⛵",
        (
            Node("shell", (shell_part(),)),
            Node("kept", (), kept),
            Node("proposed", (), proposed),
            Node("zones", (), zones),
            Node("voids"),
        ),
        (
            Camera("eye", (300, 300, 1600), (5000, 1800, 1100), yfov=math.radians(60)),
            Camera("plan", (3000, 1200, 5000), (3000, 1200, 0), (0, 1, 0), height=3000.0),
            Camera("section", (3000, 0, 1300), (3000, 2400, 1300), height=3000.0, near=0.0),
        ),
        {"scheme": "proposed", "made_for": "paddle-maker"},
    )
