"""Time of a GLB of 200 items, beside a general mesh library writing the same scene.

Run: `python -m tests.bench.gltf_against_trimesh` from the repository folder. It ends with 1 when
ours is slower than the library or than 50 ms.

Both turn the same prepared bodies into GLB bytes: every item has two bodies, every second one a
door with a swing (which only our writer stores). No two items are the same size, so neither
gains by sharing meshes. Times are the processor time of the best of several runs.
"""

from __future__ import annotations

import math
import sys
import time

import numpy as np

from massing.geometry.solids import box
from massing.handover.gltf.file import glb
from massing.handover.model import Material, MeshPart, Model, Motion, Node
from massing.handover.rings import ring_pattern

ITEMS = 200
LIMIT_MS = 50.0
OAK = Material("oak", "#B08D57")
TOP = Material("top", "#777777", kind="top")
DOOR = Material("door", "#56B4E9", kind="door")


def _part(name: str, low: object, high: object, look: Material) -> MeshPart:
    solid = box(low, high)
    return MeshPart(name, solid.corners[0], solid.faces.rings, look, look.kind)


def _item(number: int, rng: np.random.Generator) -> Node:
    x, y = rng.uniform(0, 6000, 2)
    w, d, h = rng.uniform(200, 900, 3)
    parts = (
        _part("body", (x, y, 0), (x + w, y + d, h), OAK),
        _part("top", (x, y, h), (x + w, y + d, h + 20), TOP),
    )
    leaves: tuple[Node, ...] = ()
    if number % 2:
        swing = Motion("opens", "turn", (0, 0, 1), (x, y, 0), 0.0, -math.radians(95.0))
        leaves = (
            Node(
                "door", (_part("leaf", (x, y - 20, 0), (x + w, y, h), DOOR),), (), None, {}, swing
            ),
        )
    return Node(f"item {number}", parts, leaves, (x, y, 0.0))


def scheme() -> Model:
    """The measured scheme, the same on every run."""
    rng = np.random.default_rng(1)
    return Model("bench", (Node("proposed", (), tuple(_item(n, rng) for n in range(ITEMS))),))


def trimesh_scene(model: Model) -> object:
    """The same tree with flat faces, one material a kind, ready for the library's exporter."""
    import trimesh
    from trimesh.visual import TextureVisuals
    from trimesh.visual.material import PBRMaterial

    looks = {
        look: PBRMaterial(
            name=look.name,
            baseColorFactor=[int(look.srgb[k : k + 2], 16) for k in (1, 3, 5)] + [255],
        )
        for look in (OAK, TOP, DOOR)
    }
    scene = trimesh.Scene()

    def add(node: Node, parent: str, prefix: str) -> None:
        name = prefix + node.name
        scene.graph.update(frame_from=parent, frame_to=name)
        for part in node.parts:
            faces = ring_pattern(part.rings)
            corners = part.vertices[faces.corners] / 1000.0
            mesh = trimesh.Trimesh(corners, faces.fan, process=False)
            uv = corners[:, :2]
            mesh.visual = TextureVisuals(uv=uv, material=looks[part.material])
            scene.add_geometry(mesh, f"{name}_{part.name}", f"{name}_{part.name}", name)
        for child in node.children:
            add(child, name, f"{name}_")

    for node in model.nodes:
        add(node, scene.graph.base_frame, "")
    return scene


def best_ms(call: object, times: int) -> float:
    """Least of several runs, ms of processor time, which other work touches least."""
    found = []
    for _ in range(times):
        start = time.process_time()
        call()  # type: ignore[operator]
        found.append(time.process_time() - start)
    return min(found) * 1000.0


def main() -> int:
    """Print sizes, times and the ratio; 1 when the goal is missed."""
    model = scheme()
    scene = trimesh_scene(model)

    def theirs() -> bytes:
        return scene.export(file_type="glb", include_normals=True)  # type: ignore[attr-defined]

    def ours() -> bytes:
        return glb(model)

    sizes = len(ours()), len(theirs())
    mine, other = best_ms(ours, 15), best_ms(theirs, 5)
    lines = (
        f"ours    {mine:8.1f} ms  {sizes[0]:9d} bytes  (with swings, names and extras)",
        f"trimesh {other:8.1f} ms  {sizes[1]:9d} bytes",
        f"ratio   {mine / other:8.2f}  (limit 1.00), limit {LIMIT_MS:.0f} ms",
    )
    sys.stdout.write("\n".join(lines) + "\n")
    return int(mine > LIMIT_MS or mine > other)


if __name__ == "__main__":
    sys.exit(main())
