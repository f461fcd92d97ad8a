"""The model of a scheme holds the room and every body where they are, and hangs its doors."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from massing.checks.run import check_scheme
from massing.handover.from_layout import model_of
from massing.handover.model import bounds, every_part
from massing.handover.registry import write
from massing.handover.shell import shell_surfaces
from massing.project.read import read_project
from massing.room.measure import floor_area
from tests.handover.drawings.sheets import DOORS, answer_of
from tests.handover.validator import validate

FILE = Path(__file__).resolve().parents[2] / "examples" / "boathouse.yaml"


@pytest.fixture(scope="module")
def answer():
    return check_scheme(read_project(FILE), "first try", nudges=False)


def _area(ring):
    return float(np.linalg.norm(np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0))) / 2.0


def test_shell_areas(answer):
    """Floor, ceiling and wall faces have the areas the room's sizes give."""
    faces = shell_surfaces(answer.layout.room)
    areas = {}
    for face in faces:
        areas[face.name] = areas.get(face.name, 0.0) + _area(face.ring)
    assert areas["floor"] == pytest.approx(floor_area(answer.layout.room), rel=1e-12)
    slope = np.hypot(1.0, 800 / 2400)
    assert areas["ceiling"] == pytest.approx(6000 * 2400 * slope, rel=1e-12)
    assert areas["step"] == pytest.approx(2400 * 180, rel=1e-12)
    assert areas["wall south"] == pytest.approx(3600 * 1950 + 2400 * 1770, rel=1e-12)
    whole_north = 3600 * 2750 + 2400 * 2570
    assert areas["wall north"] == pytest.approx(whole_north - 762 * 1981, rel=1e-12)
    # The west gable is a trapezium of 1950 and 2750, less the end doors.
    assert areas["wall west"] == pytest.approx(2400 * 2350 - 1200 * 1850, rel=1e-12)


def test_shell_looks_inwards(answer):
    """Every face is counter-clockwise seen from the middle of the room."""
    middle = np.array([3000.0, 1200.0, 1000.0])
    for face in shell_surfaces(answer.layout.room):
        normal = np.cross(face.ring, np.roll(face.ring, -1, axis=0)).sum(axis=0)
        if face.name == "step":
            continue
        assert (middle - face.ring[0]) @ normal > 0, face.name


def test_every_body_is_handed_over(answer):
    """Each item is a node under kept or proposed, with its own bounds and verdict."""
    model = model_of(answer)
    groups = {node.name: node for node in model.nodes}
    assert set(groups) == {"shell", "kept", "proposed", "zones"}
    kept = {node.name for node in groups["kept"].children}
    proposed = {node.name: node for node in groups["proposed"].children}
    assert kept == {"wall unit", "air compressor"}
    assert kept | set(proposed) == {item.name for item in answer.layout.items}
    assert proposed["kayak"].extras["verdict"] == "conflict"
    assert proposed["rack"].extras["verdict"] == "clear"
    for item in answer.layout.items:
        node = proposed.get(item.name) or next(
            n for n in groups["kept"].children if n.name == item.name
        )
        cloud = np.vstack([part.vertices for part in node.parts])
        assert cloud.min(axis=0) == pytest.approx(item.low[0])
        assert cloud.max(axis=0) == pytest.approx(item.high[0])


def test_the_leaf_turns_on_its_hinge(answer):
    """The side door pivots at its hinge and opens a quarter turn inwards."""
    model = model_of(answer)
    shell = next(node for node in model.nodes if node.name == "shell")
    leaf = next(node for node in shell.children if node.name == "side door")
    assert leaf.motion.origin == pytest.approx((5362.0, 2400.0, 180.0))
    assert leaf.motion.stop == pytest.approx(np.pi / 2)
    tip = np.array([4600.0, 2400.0]) - np.array([5362.0, 2400.0])
    turn = leaf.motion.axis[2] * leaf.motion.stop
    swung = np.array([-np.sin(turn) * tip[1] + np.cos(turn) * tip[0], np.sin(turn) * tip[0]])
    assert swung == pytest.approx((0.0, -762.0), abs=1e-9)


def test_zones_can_be_left_out(answer):
    """Bodies and shell only."""
    assert {n.name for n in model_of(answer, zones=False).nodes} == {"shell", "kept", "proposed"}


def test_bounds_are_the_rooms(answer):
    """Nothing sticks out but the leaf's thickness in the wall and the kayak in the slope."""
    low, high = bounds(model_of(answer))
    assert low == pytest.approx((0.0, 0.0, 0.0))
    assert high == pytest.approx((6000.0, 2440.0, 2750.0))


def test_validator_has_nothing_to_say(answer, tmp_path):
    """No error, warning or hint from the format's own validator."""
    report = validate(write(model_of(answer), tmp_path / "scheme.glb")[0])
    assert (report["numErrors"], report["numWarnings"], report["numHints"]) == (0, 0, 0)


def test_part_names_are_unique(answer):
    """Names in the file tell every part from every other."""
    from massing.handover.names import name_model

    named = name_model(model_of(answer))
    names = []

    def walk(node):
        names.append(node.name)
        names.extend(name for name, _ in node.parts)
        for child in node.children:
            walk(child)

    for node in named.nodes:
        walk(node)
    assert len(names) == len(set(names))
    assert len(every_part(model_of(answer))) < len(names)


def test_the_eye_stands_in_the_room():
    """Under the slope of the loft the eye is in the air of the room, outside every body."""
    from massing.room.measure import clear_height

    answer = check_scheme(read_project(FILE.with_name("loft.yaml")), "first try", nudges=False)
    (eye,) = [camera for camera in model_of(answer).cameras if camera.name == "eye"]
    x, y, z = eye.eye
    clear = float(clear_height(answer.layout.room, np.array([[[x, y]]]))[0, 0])
    assert 1000 < z <= 1600
    assert clear - z >= 99.9
    for item in answer.layout.items:
        low, high = item.low[0], item.high[0]
        assert not all(a <= v <= b for v, a, b in zip((x, y, z), low, high, strict=True))
    assert eye.target[2] == z


def test_every_kind_of_door_is_there_and_moves():
    """Both halves of a double door turn away from each other; a slide and an up-and-over leaf."""
    model = model_of(answer_of(DOORS))
    shell = next(node for node in model.nodes if node.name == "shell")
    moves = {node.name: node.motion for node in shell.children if node.motion is not None}
    assert list(moves) == [
        "garden doors left",
        "garden doors right",
        "garage door",
        "barn door",
        "outer slide",
    ]
    left, right = moves["garden doors left"], moves["garden doors right"]
    assert (left.axis[2], right.axis[2]) == (-1.0, 1.0)
    assert right.origin[0] - left.origin[0] == pytest.approx(1200.0)
    assert (moves["garage door"].kind, moves["barn door"].kind) == ("turn", "slide")
    assert moves["barn door"].axis == pytest.approx((0.0, -1.0, 0.0))
    assert moves["barn door"].stop == 900.0
    assert len({motion.name for motion in moves.values()}) == 5


def test_no_face_of_a_drawer_lies_in_one_of_the_body():
    """Two faces in one plane flicker: a drawer as wide as its chest is drawn within its sides."""
    model = model_of(check_scheme(read_project(FILE.with_name("lean-to.yaml")), "worked out"))
    nodes = {node.name: node for group in model.nodes for node in group.children}
    chest = nodes["plan chest"]
    (drawers,) = chest.children
    body, drawer = chest.parts[0], drawers.parts[0]

    def facings(part):
        """Outward normal and place along it of each face."""
        for ring in part.rings:
            corners = part.vertices[list(ring)]
            normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
            normal = normal / np.linalg.norm(normal)
            yield normal, float(normal @ corners[0])

    near = [
        abs(a - b)
        for one, a in facings(body)
        for other, b in facings(drawer)
        if one @ other > 1 - 1e-9
    ]
    assert len(near) == 6
    assert min(near) > 1.0
