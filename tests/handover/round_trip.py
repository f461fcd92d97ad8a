"""Write a model, read it back with libraries that share no code with the writer, compare.

Every reader returns {part name: (vertices in room mm z-up, triangles)}, corners merged, so that
the same strong predicates hold for all: bounds, volume, names, and every edge once each way.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from massing.handover.flat import flatten
from massing.handover.model import every_part
from massing.handover.names import name_model
from massing.handover.registry import format_for, write

ORIGIN = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Tolerance:
    """How far a corner may come back from where it was, and why."""

    mm: float
    why: str


TOLERANCES = {
    ("glTF", "trimesh"): Tolerance(1e-3, "single floats of metres, 2.4e-4 mm at 4 m, twice added"),
    ("glTF", "vtk"): Tolerance(2e-3, "as above, and the reader moves points in single floats"),
    ("OBJ", "trimesh"): Tolerance(1.1e-6, "text to six decimals of a mm, corners rounded twice"),
    ("OBJ", "vtk"): Tolerance(5e-4, "the reader keeps single floats: 2.4e-4 mm at 6 m"),
}


def named_parts(model):
    """[(name, part)] in file order."""

    def under(node):
        yield from node.parts
        for child in node.children:
            yield from under(child)

    return [pair for node in name_model(model).nodes for pair in under(node)]


def merged(points, triangles, tolerance):
    """Corners nearer than the tolerance made one; triangles renumbered."""
    from scipy.cluster.hierarchy import fcluster, linkage

    groups = fcluster(linkage(points, "single"), max(tolerance, 1e-9) * 4, "distance") - 1
    middle = np.array([points[groups == g].mean(axis=0) for g in range(groups.max() + 1)])
    return middle, groups[triangles]


def volume(points, triangles):
    a, b, c = (points[triangles[:, k]] - points.mean(axis=0) for k in range(3))
    return float(np.einsum("ti,ti->", a, np.cross(b, c)) / 6.0)


def unpaired_edges(triangles):
    """Directed edges not used exactly once with exactly one opposite; a slow plain count."""
    edges = [(int(t[k]), int(t[(k + 1) % 3])) for t in triangles for k in range(3)]
    return [e for e in edges if edges.count(e) != 1 or edges.count(e[::-1]) != 1]


def snapshot(model):
    return [(p.name, p.vertices.tobytes(), p.rings, p.material, p.open) for p in every_part(model)]


def from_gltf_axes(points):
    """Metres, +Y up, to room mm z up."""
    return np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=1) * 1000.0


def read_trimesh(path):
    import trimesh

    if path.suffix == ".obj":
        scene = trimesh.load_scene(path, split_objects=True, group_material=False, process=False)
    else:
        scene = trimesh.load_scene(path, process=False)
    found = {}
    for node in scene.graph.nodes_geometry:
        matrix, geometry = scene.graph[node]
        mesh = scene.geometry[geometry]
        points = np.asarray(mesh.vertices) @ matrix[:3, :3].T + matrix[:3, 3]
        points = points if path.suffix == ".obj" else from_gltf_axes(points)
        found[node] = (points, np.asarray(mesh.faces))
    return found


def _triangles_of(poly):
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkFiltersCore import vtkTriangleFilter

    triangulate = vtkTriangleFilter()
    triangulate.SetInputData(poly)
    triangulate.PassVertsOff()
    triangulate.PassLinesOff()
    triangulate.Update()
    out = triangulate.GetOutput()
    points = vtk_to_numpy(out.GetPoints().GetData()).astype(float)
    return points, vtk_to_numpy(out.GetPolys().GetConnectivityArray()).reshape(-1, 3).copy()


def read_vtk_obj(path):
    """One mesh a ``g`` run: the reader has no names, so the file's ``o`` lines give them."""
    from vtkmodules.vtkIOGeometry import vtkOBJReader

    reader = vtkOBJReader()
    reader.SetFileName(str(path))
    reader.Update()
    points, triangles = _triangles_of(reader.GetOutput())
    lines = path.read_text().splitlines()
    found, place = {}, 0
    for start, line in enumerate(lines):
        if not line.startswith("o "):
            continue
        count = 0
        for later in lines[start + 1 :]:
            if later.startswith("o "):
                break
            if later.startswith("f "):
                count += len(later.split()) - 3
        found[line[2:]] = (points, triangles[place : place + count])
        place += count
    assert place == len(triangles)
    used = {name: np.unique(faces) for name, (_, faces) in found.items()}
    return {
        name: (points[used[name]], np.searchsorted(used[name], faces))
        for name, (_, faces) in found.items()
    }


def gltf_json(path):
    data = path.read_bytes()
    if path.suffix == ".gltf":
        return json.loads(data)
    return json.loads(data[20 : 20 + struct.unpack("<I", data[12:16])[0]])


def vtk_gltf_leaves(path, time=None):
    """{node name: poly} of the scene as drawn, or with every animation run to ``time`` s."""
    from vtkmodules.vtkCommonDataModel import vtkCompositeDataSet
    from vtkmodules.vtkIOGeometry import vtkGLTFReader

    reader = vtkGLTFReader()
    reader.SetFileName(str(path))
    if time is not None:
        reader.UpdateInformation()
        reader.SetFrameRate(60)
        for number in range(reader.GetNumberOfAnimations()):
            reader.EnableAnimation(number)
        reader.UpdateInformation()
        reader.UpdateTimeStep(time)
    else:
        reader.Update()
    names = [node["name"] for node in gltf_json(path)["nodes"]]
    found = {}

    def walk(block, node):
        for k in range(block.GetNumberOfBlocks()):
            label = node
            meta = block.GetMetaData(k)
            if meta is not None and meta.Has(vtkCompositeDataSet.NAME()):
                text = meta.Get(vtkCompositeDataSet.NAME())
                label = names[int(text[5:])] if text.startswith("Node_") else node
            child = block.GetBlock(k)
            if child.IsA("vtkPolyData"):
                found[label] = child
            else:
                walk(child, label)

    walk(reader.GetOutput(), "")
    return found


def read_vtk(path, time=None):
    if path.suffix == ".obj":
        return read_vtk_obj(path)
    leaves = vtk_gltf_leaves(path, time)
    found = {}
    for name, poly in leaves.items():
        points, triangles = _triangles_of(poly)
        found[name] = (from_gltf_axes(points), triangles)
    return found


READERS = {"trimesh": read_trimesh, "vtk": read_vtk}


def assert_same(model, found, tolerance):
    """The strongest claims, part by part; raises AssertionError naming the part."""
    parts = dict(named_parts(model))
    assert sorted(found) == sorted(parts)
    flat = flatten(list(parts.values()), [ORIGIN] * len(parts))
    for number, (name, part) in enumerate(parts.items()):
        points, triangles = merged(*found[name], tolerance)
        assert len(points) == len(part.vertices), name
        low, high = part.vertices.min(axis=0), part.vertices.max(axis=0)
        np.testing.assert_allclose(points.min(axis=0), low, atol=tolerance, rtol=0, err_msg=name)
        np.testing.assert_allclose(points.max(axis=0), high, atol=tolerance, rtol=0, err_msg=name)
        count = int(np.diff(flat.triangle_starts)[number])
        assert len(triangles) == count, name
        if part.open:
            continue
        assert unpaired_edges(triangles) == [], name
        size = high - low
        slack = 2.0 * tolerance * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0])
        assert abs(volume(points, triangles) - true_volume(part)) <= slack + 1e-9, name
        assert volume(points, triangles) > 0.0, name


def true_volume(part):
    """Fans over the rings as given: right for any closed planar-faced body, convex or not."""
    centre = part.vertices.mean(axis=0)
    total = 0.0
    for ring in part.rings:
        a, *rest = part.vertices[list(ring)] - centre
        total += sum(float(np.dot(a, np.cross(b, c))) for b, c in pairwise(rest))
    return total / 6.0


def assert_round_trip(model, path):
    """Write, read with every reader, compare; the model given must come out untouched."""
    before = snapshot(model)
    main = write(model, path)[0]
    assert snapshot(model) == before
    for reader, read in READERS.items():
        assert_same(model, read(main), TOLERANCES[format_for(main).name, reader].mm)
    return main
