"""What does a model look like as OBJ and MTL? A model in, two texts out.

``v`` holds room millimetres, z up. OBJ has no field for the unit or the up axis, so both are in a
comment and the unit is in the file's name. Colours in the MTL are screen (sRGB) shares, as its
readers take them. Faces stay whole polygons where a reader that fans them gets them right.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from massing.geometry.solids import Floats
from massing.handover.flat import Flat, flatten
from massing.handover.model import Material, MeshPart, Model, Point
from massing.handover.names import NamedNode, ascii_name, name_model
from massing.handover.rings import ring_pattern
from massing.reading.files import write_together

__all__ = ["mtl_text", "obj_text", "path_with_unit", "write"]

_ORIGIN: Point = (0.0, 0.0, 0.0)


def _number(value: float) -> str:
    """Plain decimals to 1e-6, without the zeros at the end.

    >>> _number(1200.0), _number(0.30000000004), _number(-0.0000001)
    ('1200', '0.3', '0')
    """
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_with_unit(path: Path) -> Path:
    """Path with the unit in the file's name.

    >>> path_with_unit(Path("out/boathouse.obj")).name, path_with_unit(Path("loft_mm.obj")).name
    ('boathouse_mm.obj', 'loft_mm.obj')
    """
    return path if path.stem.endswith("_mm") else path.with_name(f"{path.stem}_mm{path.suffix}")


def mtl_text(materials: dict[Material, str]) -> str:
    """MTL text; ``Kd`` sRGB shares, ``d`` the alpha.

    >>> print(mtl_text({Material("paint", "#FF8000"): "paint"}), end="")
    # colours: sRGB
    <BLANKLINE>
    newmtl paint
    Ka 0 0 0
    Kd 1 0.501961 0
    Ks 0 0 0
    d 1
    illum 1
    """
    lines = ["# colours: sRGB"]
    for look, name in materials.items():
        shares = " ".join(_number(int(look.srgb[k : k + 2], 16) / 255.0) for k in (1, 3, 5))
        lines += ["", f"newmtl {name}", "Ka 0 0 0", f"Kd {shares}", "Ks 0 0 0"]
        lines += [f"d {_number(look.alpha)}", "illum 1"]
    return "\n".join(lines) + "\n"


@dataclass(slots=True)
class _Rows:
    """The text so far, and how many vt and vn it holds; equal ones are written once."""

    lines: list[str]
    vertices: int = 0
    texture: dict[str, int] = field(default_factory=dict)
    normals: dict[str, int] = field(default_factory=dict)

    def number(self, kind: str, row: Iterable[float]) -> int:
        known = self.texture if kind == "vt" else self.normals
        text = f"{kind} " + " ".join(map(_number, row))
        if text not in known:
            known[text] = len(known) + 1
            self.lines.append(text)
        return known[text]


def _placed(nodes: tuple[NamedNode, ...], above: str) -> Iterator[tuple[str, str, MeshPart]]:
    """Yield each part's name, the groups it lies in, and the part, in the order of the flat."""
    for node in nodes:
        groups = f"{above} {node.name}".strip()
        for name, part in node.parts:
            yield name, groups, part
        yield from _placed(node.children, groups)


def _add_part(rows: _Rows, part: MeshPart, number: int, flat: Flat) -> None:
    pattern = ring_pattern(part.rings)
    start = int(flat.starts[number])
    used: dict[int, int] = {}
    points: Floats = flat.points[start : int(flat.starts[number + 1])]
    for corner, vertex in enumerate(pattern.corners.tolist()):
        if vertex not in used:
            used[vertex] = rows.vertices = rows.vertices + 1
            rows.lines.append("v " + " ".join(map(_number, points[corner].tolist())))
    texture = flat.texture[start : start + len(points)].tolist()
    vt = [rows.number("vt", row) for row in texture]
    first_ring = int(flat.ring_starts[number])
    normals = flat.ring_normals[first_ring : first_ring + len(part.rings)].tolist()
    vn = [rows.number("vn", row) for row in normals]
    corners = [
        f"{used[v]}/{t}/{vn[r]}"
        for v, t, r in zip(pattern.corners.tolist(), vt, pattern.ring_of.tolist(), strict=True)
    ]
    rows.lines += ["f " + " ".join(corners[k] for k in face) for face in _faces(flat, number, part)]


def _faces(flat: Flat, number: int, part: MeshPart) -> list[list[int]]:
    """Corner numbers of each face: the whole ring where it can be fanned, else its triangles."""
    pattern = ring_pattern(part.rings)
    t0, t1 = int(flat.triangle_starts[number]), int(flat.triangle_starts[number + 1])
    triangles = flat.triangles[t0:t1]
    first_ring = int(flat.ring_starts[number])
    faces: list[list[int]] = []
    for ring, (start, size) in enumerate(
        zip(pattern.starts.tolist(), pattern.sizes.tolist(), strict=True)
    ):
        if flat.fanned[first_ring + ring]:
            faces.append(list(range(start, start + size)))
        else:
            faces += triangles[pattern.fan_ring == ring].tolist()
    return faces


def obj_text(model: Model, mtl_name: str) -> tuple[str, str]:
    """OBJ and MTL text of the model.

    One ``o`` a part, with the names the other formats use; ``g`` names the groups and item it
    lies in. Vertices are numbered from 1 in file order.

    >>> print(obj_text(Model("bare"), "bare_mm.mtl")[0], end="")
    # bare
    # unit: millimetre
    # up: +Z, right-handed (x, y, z as in the room)
    mtllib bare_mm.mtl
    """
    named = name_model(model)
    placed = list(_placed(named.nodes, ""))
    flat = flatten([part for _, _, part in placed], [_ORIGIN] * len(placed))
    head = ["# unit: millimetre", "# up: +Z, right-handed (x, y, z as in the room)"]
    rows = _Rows([f"# {named.name}", *head, f"mtllib {mtl_name}"])
    for number, (name, groups, part) in enumerate(placed):
        rows.lines += ["", f"o {name}", f"g {groups}", f"usemtl {named.materials[part.material]}"]
        _add_part(rows, part, number, flat)
    return "\n".join(rows.lines) + "\n", mtl_text(named.materials)


def write(model: Model, path: Path) -> tuple[Path, ...]:
    """Write ``NAME_mm.obj`` and ``NAME_mm.mtl``; both old files stay until both new are whole.

    The MTL's own name is plain ASCII, since ``mtllib`` ends at a space for some readers. It takes
    its name first, so that an OBJ never names colours that are not there yet.
    Raises GeometryError, naming the part, for a face that crosses itself.
    """
    place = path_with_unit(path)
    colours = place.with_name(f"{ascii_name(place.stem)}.mtl")
    obj, mtl = obj_text(model, colours.name)
    write_together([(colours, mtl.encode("utf-8")), (place, obj.encode("utf-8"))])
    return place, colours
