"""Tests for IFC: read back by a geometry kernel and by a plain reader of the STEP text."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
import warnings
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.guid
import ifcopenshell.util.element
import ifcopenshell.util.placement
import ifcopenshell.validate
import numpy as np
import pytest

from massing.checks.run import check_scheme
from massing.errors import MissingToolError
from massing.handover.drawings.walls import outer_corners
from massing.handover.flat import flatten
from massing.handover.from_layout import model_of
from massing.handover.ifc.file import step_text
from massing.handover.ifc.guid import element_guids, ifc_guid, uuid_of
from massing.handover.ifc.kinds import door_swing
from massing.handover.ifc.solids import THIN, with_solids
from massing.handover.ifc.space import air
from massing.handover.model import Model, Motion, Node, every_part
from massing.handover.names import name_model
from massing.handover.registry import write
from massing.project.read import read_project
from massing.room.measure import clear_height
from massing.room.measure import volume as room_volume
from tests.handover.models import box_part, workshop
from tests.handover.round_trip import assert_same, named_parts, snapshot, unpaired_edges, volume

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SCHEMES = [("loft", "first try"), ("boathouse", "first try"), ("lean-to", "drying room")]
_BOX = ((0, 0, 2000), (900, 200, 2100))
KERNEL = 1e-5  # mm: text to six decimals of a mm, points placed in doubles of metres
TEXT = 2e-6  # mm: text to six decimals, added once


@pytest.fixture(scope="module", params=SCHEMES, ids=[name for name, _ in SCHEMES])
def answer(request):
    name, scheme = request.param
    return check_scheme(read_project(EXAMPLES / f"{name}.yaml"), scheme, nudges=False)


def entities(path):
    """{number: (class, arguments)} of a STEP file; arguments nested lists of text, # as ints."""
    body = path.read_text().partition("DATA;")[2].partition("ENDSEC;")[0]
    token = re.compile(r"\s*('(?:[^']|'')*'|[(),]|[^\s'(),]+)")
    found = {}
    for match in re.finditer(r"#(\d+)=(\w+)\(((?:'(?:[^']|'')*'|[^';])*)\);", body):
        stack = [[]]
        for piece in token.findall(match[3]):
            if piece == "(":
                stack.append([])
            elif piece == ")":
                row = stack.pop()
                stack[-1].append(row)
            elif piece != ",":
                stack[-1].append(int(piece[1:]) if piece[0] == "#" else piece)
        # A typed value, IFCTEXT('x'), comes out as its name and a list; nothing here reads one.
        found[int(match[1])] = (match[2], stack[0])
    return found


def placed(rows, number):
    """Rotation and offset of a local placement, room mm."""
    _, (above, seat) = rows[number]
    _, (point, z, x) = rows[seat]
    at = np.array(rows[point][1][0], dtype=float)
    axes = np.eye(3)
    if x != "$":
        axes[:, 0] = np.array(rows[x][1][0], dtype=float)
        axes[:, 2] = np.array(rows[z][1][0], dtype=float)
        axes[:, 1] = np.cross(axes[:, 2], axes[:, 0])
    if above == "$":
        return axes, at
    turn, shift = placed(rows, above)
    return turn @ axes, turn @ at + shift


def fanned(model):
    """Triangles of each part as the writers fan or clip its rings, by name."""
    parts = dict(named_parts(model))
    flat = flatten(list(parts.values()), [(0.0, 0.0, 0.0)] * len(parts))
    return parts, flat


def read_plainly(path, model):
    """Points from the text, each face a ring; rings the model cannot fan are clipped as it does."""
    rows = entities(path)
    shapes = {row[1][6]: row[1][5] for row in rows.values() if _is_product(row)}
    parts, flat = fanned(model)
    order = {name: number for number, name in enumerate(parts)}
    found = {}
    for kind, data in rows.values():
        if kind != "IFCSHAPEASPECT":
            continue
        (shape,), name, _, _, owner = data
        turn, shift = placed(rows, shapes[owner])
        ((item,)) = rows[shape][1][3]
        cloud, closed, faces, _ = rows[item][1]
        name = name.strip("'")
        assert closed == (".F." if parts[name].open else ".T.")
        points = np.array(rows[cloud][1][0], dtype=float) @ turn.T + shift
        rings = [[int(v) - 1 for v in rows[face][1][0]] for face in faces]
        corners = [v for ring in rings for v in ring]
        number = order[name]
        t0, t1 = flat.triangle_starts[number : number + 2]
        found[name] = (points, np.array(corners)[flat.triangles[t0:t1]])
    return found


def _is_product(row):
    return len(row[1]) > 6 and isinstance(row[1][5], int) and isinstance(row[1][6], int)


def read_kernel(path):
    """Every part's triangles as the library's kernel makes them, told apart by item number."""
    file = ifcopenshell.open(str(path))
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)  # noqa: FBT003 - the library's own call
    names = {
        aspect.ShapeRepresentations[0].Items[0].id(): aspect.Name
        for aspect in file.by_type("IfcShapeAspect")
    }
    found = {}
    iterator = ifcopenshell.geom.iterator(settings, file, 1)
    going = iterator.initialize()
    while going:
        geometry = iterator.get().geometry
        points = np.array(geometry.verts).reshape(-1, 3) * 1000.0
        triangles = np.array(geometry.faces).reshape(-1, 3)
        items = np.array(geometry.item_ids)
        for item in dict.fromkeys(items.tolist()):
            own = triangles[items == item]
            used = np.unique(own)
            name = names.get(item, f"air {item}")
            found[name] = (points[used], np.searchsorted(used, own))
        going = iterator.next()
    return found


def bodies(found):
    return {name: mesh for name, mesh in found.items() if not name.startswith("air ")}


def complaints(file, *, rules=False):
    """What the schema says against it, and with ``rules`` its written rules (seconds) too."""
    log = ifcopenshell.validate.json_logger()
    with warnings.catch_warnings():
        # The library leaves the file of its rules open until the collector comes by.
        warnings.simplefilter("ignore", ResourceWarning)
        ifcopenshell.validate.validate(file, log, express_rules=rules)
    return log.statements


def test_the_kernel_finds_the_same_bodies(tmp_path, answer):
    """Bounds, volume, names, triangle counts, winding and edge pairing, part by part."""
    for model in (workshop(), model_of(answer)):
        before = snapshot(model)
        (path,) = write(model, tmp_path / "room.ifc")
        assert snapshot(model) == before
        assert_same(with_solids(model), bodies(read_kernel(path)), KERNEL)


def test_a_plain_reader_of_the_text_finds_the_same_bodies(tmp_path, answer):
    for model in (workshop(), model_of(answer)):
        (path,) = write(model, tmp_path / "room.ifc")
        solid = with_solids(model)
        assert_same(solid, read_plainly(path, solid), TEXT)


def test_walls_are_as_thick_as_they_are_built(tmp_path, answer):
    """Each wall's volume is its face's area by its thickness, and its mitred ends where it has any.

    At a square corner a mitre adds to each wall half a square of the thickness, by the height
    there; where walls are skew, the outside bounds still hold.
    """
    model = model_of(answer)
    found = bodies(read_kernel(write(model, tmp_path / "room.ifc")[0]))
    room = answer.layout.room
    outer = {name: np.vstack(ends) for name, ends in outer_corners(room).items()}
    for wall in (w for w in room.walls if not w.partition):
        thick = float(wall.thickness[0])
        own = [mesh for name, mesh in found.items() if name.startswith(f"wall_{wall.name}_wall")]
        parts = [p for p in every_part(model) if p.name == f"wall {wall.name}"]
        assert len(own) == len(parts)
        cloud = np.vstack([points for points, _ in own])
        deep = (cloud[:, :2] - wall.left[0]) @ wall.outward[0]
        assert deep.min() == pytest.approx(0.0, abs=0.01)
        assert deep.max() == pytest.approx(thick or THIN, abs=0.01)
        if not thick:
            continue
        along = (cloud[:, :2] - wall.left[0]) @ wall.along[0]
        ends = (outer[wall.name] - wall.left[0]) @ wall.along[0]
        assert (along.min(), along.max()) == pytest.approx((ends.min(), ends.max()), abs=0.01)
        total = sum(volume(*mesh) for mesh in own)
        face = sum(_area(p.vertices[list(p.rings[0])]) for p in parts)
        tops = [room_height(room, end) for end in (wall.left[0], wall.right[0])]
        assert total == pytest.approx(thick * face + thick**2 / 2.0 * sum(tops), rel=2e-3)


def test_floors_and_ceilings_are_thin_solids_on_the_far_side(answer):
    """Nothing of them reaches into the room; what is a surface in the model is closed here."""
    for before, after in zip(
        every_part(model_of(answer)), every_part(with_solids(model_of(answer))), strict=True
    ):
        assert not after.open
        if before.kind in {"floor", "ceiling"}:
            ring = before.vertices[list(before.rings[0])]
            normal = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
            normal = normal / np.linalg.norm(normal)
            off = (after.vertices - ring[0]) @ normal
            assert off.max() == pytest.approx(0.0, abs=0.01)
            assert off.min() == pytest.approx(-THIN, abs=0.01)


def _area(ring):
    return float(np.linalg.norm(np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0))) / 2.0


def room_height(room, corner):
    """Ceiling above the floor at a corner of the room, mm."""
    inward = room.outline[0].mean(axis=0) - corner
    spot = corner + inward / np.linalg.norm(inward) * 1e-3
    return float(clear_height(room, spot[None, None], under_fabric=False)[0, 0])


def test_the_schema_has_nothing_to_say(tmp_path, answer):
    for model in (workshop(), model_of(answer), Model("bare")):
        (path,) = write(model, tmp_path / "room.ifc")
        assert complaints(ifcopenshell.open(str(path))) == []


def test_the_rules_of_the_schema_have_nothing_to_say(tmp_path):
    """One file with every class there is: a lean-to with door and window, a workshop, a void."""
    project = read_project(EXAMPLES / "lean-to.yaml")
    model = model_of(check_scheme(project, "drying room", nudges=False))
    void = Node("voids", (), (Node("over the door", (box_part("v", *_BOX, kind="void"),)),))
    fabric = Node("shell", (), (Node("beam", (box_part("b", *_BOX, kind="fabric"),)),))
    model = replace(model, nodes=(*model.nodes, *workshop().nodes, fabric, void))
    file = ifcopenshell.open(str(write(model, tmp_path / "room.ifc")[0]))
    assert {e.is_a() for e in file.by_type("IfcProduct")} == {
        "IfcSite", "IfcBuilding", "IfcBuildingStorey", "IfcSpace", "IfcWall", "IfcSlab",
        "IfcCovering", "IfcWindow", "IfcDoor", "IfcBuildingElementProxy", "IfcFurniture",
        "IfcSpatialZone",
    }  # fmt: skip
    assert complaints(file, rules=True) == []


@pytest.mark.parametrize("fault", ["guid", "rule", "type"])
def test_the_validator_sees_planted_faults(fault, tmp_path):
    """One GUID twice, a user-defined type without a name, a text where an entity belongs."""
    text = step_text(workshop())
    if fault == "guid":
        first, second = re.findall(r"IFCFURNITURE\('([^']{22})'", text)[:2]
        text = text.replace(second, first)
    elif fault == "rule":
        text, count = re.subn(
            r"(IFCFURNITURE\('[^']+',\$,'[^']+','[^']+'),'[^']+'", r"\1,$", text, count=1
        )
        assert count == 1
    else:
        text, count = re.subn(r"IFCSTYLEDITEM\(#\d+,", "IFCSTYLEDITEM(#2,", text, count=1)
        assert count == 1
    place = tmp_path / "wrong.ifc"
    place.write_text(text)
    assert complaints(ifcopenshell.open(str(place)), rules=fault == "rule") != []


def test_the_space_is_the_rooms_exact_air(tmp_path, answer):
    """Each cell a closed solid; together the room's volume, its bounds those of the shell."""
    model = model_of(answer)
    (path,) = write(model, tmp_path / "room.ifc")
    found = {n: mesh for n, mesh in read_kernel(path).items() if n.startswith("air ")}
    total = 0.0
    for points, triangles in found.values():
        assert unpaired_edges(triangles) == []
        total += volume(points, triangles)
    wanted = room_volume(answer.layout.room, net=False)
    assert total == pytest.approx(wanted, rel=1e-9)
    assert sum(float(s.volume[0]) for s in air(model)) == pytest.approx(wanted, rel=1e-9)
    corners = np.vstack([points for points, _ in found.values()])
    shell = np.vstack([part.vertices for part in every_part(model) if part.open])
    np.testing.assert_allclose(corners.min(axis=0), shell.min(axis=0), atol=KERNEL)
    np.testing.assert_allclose(corners.max(axis=0), shell.max(axis=0), atol=KERNEL)
    (told,) = ifcopenshell.open(str(path)).by_type("IfcQuantityVolume")
    assert told.VolumeValue == pytest.approx(wanted / 1e9, rel=1e-8)


def test_everything_has_its_class_and_place(tmp_path, answer):
    model = model_of(answer)
    file = ifcopenshell.open(str(write(model, tmp_path / "room.ifc")[0]))
    (space,) = file.by_type("IfcSpace")
    chain = [space]
    while chain[-1].Decomposes:
        chain.append(chain[-1].Decomposes[0].RelatingObject)
    assert [e.is_a() for e in chain[1:]] == [
        "IfcBuildingStorey",
        "IfcBuilding",
        "IfcSite",
        "IfcProject",
    ]
    held = {e.Description for rel in space.ContainsElements for e in rel.RelatedElements}
    assert held == {item.name for item in answer.layout.items}
    assert {e.Description for e in file.by_type("IfcDoor")} == {
        leaf.name for leaf in answer.layout.leaves
    }
    walls = {w.name for w in answer.layout.room.walls if not w.partition}
    told = {e.Description.removeprefix("wall ") for e in file.by_type("IfcWall")}
    assert told >= walls
    groups = {g.Name for g in file.by_type("IfcGroup")}
    assert groups == {node.name for node in name_model(model).nodes}
    (unit,) = [u for u in file.by_type("IfcSIUnit") if u.UnitType == "LENGTHUNIT"]
    assert (unit.Prefix, unit.Name) == ("MILLI", "METRE")


def test_properties_say_size_mass_basis_and_verdict(tmp_path, answer):
    model = model_of(answer)
    file = ifcopenshell.open(str(write(model, tmp_path / "room.ifc")[0]))
    found = {e.Description: e for e in file.by_type("IfcFurniture")}
    for item in answer.layout.items:
        told = ifcopenshell.util.element.get_psets(found[item.name])["Massing"]
        size = item.high[0] - item.low[0]
        assert [told[f"Size{a}"] for a in "XYZ"] == [round(float(v)) for v in size]
        assert told["Verdict"] in {"conflict", "re-measure", "caution", "clear"}
        assert told.get("Mass") == item.spec.weight
        if item.spec.basis.get("body"):
            assert told["Basis"] == item.spec.basis["body"]


@pytest.mark.parametrize(("sign", "said"), [(1.0, "LEFT"), (-1.0, "RIGHT")])
@pytest.mark.parametrize("bearing", [0.0, 37.0, 180.0, 271.0])
def test_a_door_stands_on_its_hinge_and_says_how_it_swings(sign, said, bearing, tmp_path):
    """Seen the way it opens, a leaf with its hinge on the left turns counter-clockwise."""
    angle = math.radians(bearing)
    along = np.array([math.cos(angle), math.sin(angle)])
    back = -sign * np.array([-along[1], along[0]])
    pin = np.array([1200.0, 340.0])
    ring = [pin, pin + 762 * along, pin + 762 * along + 44 * back, pin + 44 * back]
    ring = ring if sign < 0 else ring[::-1]
    leaf = replace(
        box_part("leaf", (0, 0, 0), (1, 1, 1), kind="door"),
        vertices=np.array([[*p, z] for z in (0.0, 1981.0) for p in ring]),
    )
    turn = Motion("opens", "turn", (0, 0, sign), (*pin, 0.0), 0.0, math.radians(90))
    node = Node("door", (leaf,), motion=turn)
    way, axes = door_swing(node)
    assert way == f"SINGLE_SWING_{said}"
    tip = axes.T @ [*along, 0.0]
    np.testing.assert_allclose(tip, [sign, 0, 0], atol=1e-12)
    # a quarter turn takes the leaf's tip to where its y axis looks
    quarter = np.array([-sign * along[1], sign * along[0], 0.0])
    np.testing.assert_allclose(axes[:, 1], quarter, atol=1e-12)

    (path,) = write(Model("m", (Node("shell", (), (node,)),)), tmp_path / "door.ifc")
    file = ifcopenshell.open(str(path))
    (door,) = file.by_type("IfcDoor")
    assert door.OperationType == way
    assert (door.OverallWidth, door.OverallHeight) == (pytest.approx(762), pytest.approx(1981))
    matrix = ifcopenshell.util.placement.get_local_placement(door.ObjectPlacement)
    np.testing.assert_allclose(matrix[:3, 3], [*pin, 0], atol=1e-6)
    np.testing.assert_allclose(matrix[:3, :3], axes, atol=1e-9)
    assert complaints(file) == []


def test_a_slope_that_comes_down_to_the_floor_is_a_wedge():
    """2 m x 1 m under a slope from 0 to 1.5 m: 1.5 m3."""
    floor = replace(
        box_part("floor", (0, 0, 0), (1, 1, 1), kind="floor"),
        vertices=np.array([[0, 0, 0], [2000, 0, 0], [2000, 1000, 0], [0, 1000, 0.0]]),
        rings=((0, 1, 2, 3),),
        open=True,
    )
    top = np.add(floor.vertices, [[0, 0, 0], [0, 0, 1500], [0, 0, 1500], [0, 0, 0]])
    ceiling = replace(floor, name="ceiling", kind="ceiling", vertices=top, rings=((3, 2, 1, 0),))
    model = Model("m", (Node("shell", (), (Node("floor", (floor,)), Node("top", (ceiling,)))),))
    (solid,) = air(model)
    assert float(solid.volume[0]) == pytest.approx(1.5e9, rel=1e-12)
    assert solid.corners.shape == (1, 6, 3)


def test_guids_are_written_as_the_standard_does(tmp_path):
    """22 characters that the library turns back into the same UUID, no two alike."""
    rng = np.random.default_rng(4)
    for _ in range(50):
        found = UUID(bytes=rng.bytes(16))
        assert ifcopenshell.guid.expand(ifc_guid(found)) == found.hex
    (path,) = write(workshop(), tmp_path / "room.ifc")
    roots = ifcopenshell.open(str(path)).by_type("IfcRoot")
    assert len({root.GlobalId for root in roots}) == len(roots)


def test_a_thing_keeps_its_guid_from_scheme_to_scheme():
    project = read_project(EXAMPLES / "boathouse.yaml")
    one, other = (
        element_guids(model_of(check_scheme(project, scheme, nudges=False)))
        for scheme in ("first try", "worked out")
    )
    shared = set(one) & set(other)
    assert {"kayak", "north", "wall north", "side door"} <= shared
    assert all(one[name] == other[name] for name in shared)
    assert one["north"] == one["wall north"]
    assert uuid_of("a", "b") != uuid_of("b", "a")


def test_guids_in_the_file_are_those_told(tmp_path, answer):
    model = model_of(answer)
    file = ifcopenshell.open(str(write(model, tmp_path / "room.ifc")[0]))
    for name, guid in element_guids(model).items():
        assert file.by_guid(guid).Description in {name, f"wall {name}"}


_HASHES = """
import hashlib, pathlib, sys
from massing.handover.registry import write
from tests.handover.models import workshop
(file,) = write(workshop(), pathlib.Path(sys.argv[1]) / "a.ifc", inset=0.5)
print(hashlib.sha256(file.read_bytes()).hexdigest())
"""


def test_bytes_are_the_same_in_every_process(tmp_path):
    answers = set()
    for seed in ("0", "7"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", _HASHES, str(tmp_path)]
        ran = subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True, timeout=60
        )
        answers.add(ran.stdout)
    assert len(answers) == 1
    assert "'2000-01-01T00:00:00'" in step_text(workshop())


def test_an_interrupted_write_leaves_the_old_file(tmp_path, monkeypatch):
    (path,) = write(Model("old"), tmp_path / "room.ifc")
    before = path.read_bytes()

    def fail(*_):
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write(workshop(), path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_library_is_named(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(MissingToolError, match=r"pip install 'massing\[ifc\]'"):
        write(Model("m"), tmp_path / "a.ifc")
    assert list(tmp_path.iterdir()) == []
