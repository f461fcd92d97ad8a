"""Time of a GLB of 200 items, beside a general mesh library writing the same scene; of a report.

Run: `python -m tests.bench.gltf_against_trimesh` from the repository folder. It ends with 1 when
ours is slower than the library or than 50 ms, or a whole report takes more than 5 s from cold.

Both turn the same prepared bodies into GLB bytes: every item has two bodies, every second one a
door with a swing (which only our writer stores). No two items are the same size, so neither
gains by sharing meshes. All times are processor time.
"""

from __future__ import annotations

import io
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from massing.geometry.solids import box
from massing.handover.gltf.file import glb
from massing.handover.model import Material, MeshPart, Model, Motion, Node
from massing.handover.rings import ring_pattern
from tests.bench.record import Count, Measured, Times, side_by_side

ITEMS = 200
LIMIT_MS = 50.0
REPORT_S = 5.0
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


def _same_content(model: Model, mine: bytes, theirs: bytes) -> tuple[Count, ...]:
    """Bodies and triangles in each file, as the library reads both back."""
    import trimesh

    parts = [part for node in model.nodes[0].children for part in _every(node)]
    triangles = sum(len(ring_pattern(part.rings).fan) for part in parts)
    held = [
        trimesh.load(io.BytesIO(data), file_type="glb", process=False) for data in (mine, theirs)
    ]
    meshes = [[s.geometry[s.graph[n][1]] for n in s.graph.nodes_geometry] for s in held]
    sizes = [sum(len(mesh.faces) for mesh in found) for found in meshes]
    return (
        Count("bodies", len(meshes[0]), len(parts), len(meshes[1])),
        Count("triangles", sizes[0], triangles, sizes[1]),
    )


def _every(node: Node) -> list[MeshPart]:
    return [*node.parts, *(part for child in node.children for part in _every(child))]


def measure(long: bool) -> list[Measured]:
    """GLB of the 200 items beside the library; the limit in ms; the whole report of a room, cold.

    long : more runs
    """
    model = scheme()
    scene = trimesh_scene(model)

    def theirs() -> bytes:
        return scene.export(file_type="glb", include_normals=True)  # type: ignore[attr-defined]

    def ours() -> bytes:
        return glb(model)

    counts = _same_content(model, ours(), theirs())
    times = side_by_side(ours, theirs, runs=15 if long else 5)
    best = best_ms(ours, 15)
    limit = Times(best, LIMIT_MS, LIMIT_MS / best)
    note = "after load; swings, names and extras are in ours only; the same tree, flat faces"
    return [
        Measured(f"GLB of {ITEMS} items", "trimesh", times, 1.0, counts, note=note),
        Measured(f"GLB of {ITEMS} items, best run", f"{LIMIT_MS:.0f} ms", limit, 1.0),
        _report(3 if long else 1),
    ]


def _report(runs: int) -> Measured:
    """The whole report of the boathouse's worked-out scheme in new processes, beside its limit."""
    spent = min(_cold_report_s() for _ in range(runs))
    times = Times(spent * 1e3, REPORT_S * 1e3, REPORT_S / spent)
    note = "processor time of a new process: load, check two schemes, view, drawings, page"
    return Measured("report of a room, cold", f"{REPORT_S:.0f} s", times, 1.0, note=note)


def _cold_report_s() -> float:
    """Seconds of processor time that the command takes, from its start to its end."""
    example = Path(__file__).resolve().parents[2] / "examples" / "boathouse.yaml"
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "massing", "report", str(example), "-o", folder]
        before = os.times()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        after = os.times()
    user, system = after.children_user, after.children_system
    return user + system - before.children_user - before.children_system


def best_ms(call: Callable[[], object], times: int) -> float:
    """Least of several runs, ms of processor time, which other work touches least."""
    found = []
    for _ in range(times):
        start = time.process_time()
        call()
        found.append(time.process_time() - start)
    return min(found) * 1000.0


def main() -> int:
    """Print each line; 1 when a goal is missed."""
    found = measure(long=True)
    for line in found:
        assert line.times is not None
        sys.stdout.write(
            f"{line.name}: {line.times.ours_ms:.1f} ms, {line.peer} {line.times.peer_ms:.1f} ms, "
            f"{line.times.ratio:.1f} times; {', '.join(c.says for c in line.counts)} "
            f"{line.verdict}\n"
        )
    return int(not all(line.met for line in found))


if __name__ == "__main__":
    sys.exit(main())
