"""Tests for ID masks: exact colours, the right item under each pixel, tables that add up."""

from __future__ import annotations

import csv
import ctypes.util
import hashlib
import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from massing.checks.run import check_scheme
from massing.errors import MassingError, MissingToolError
from massing.handover.from_layout import model_of
from massing.handover.masks.draw import draw_flat, draw_shaded, shown_parts
from massing.handover.masks.write import (
    count_pixels,
    mask_cameras,
    mask_colours,
    part_names,
    png,
    write_masks,
)
from massing.handover.model import Camera, Model, Node
from massing.handover.registry import write
from massing.handover.sidecar import sidecar
from massing.project.read import read_project
from tests.handover.models import OAK, ZONE, box_part, workshop

BOATHOUSE = Path(__file__).resolve().parents[2] / "examples" / "boathouse.yaml"


@pytest.fixture(scope="module")
def model():
    return model_of(check_scheme(read_project(BOATHOUSE), "first try", nudges=False))


def paint(model):
    return {part: colour for part, (_, colour) in mask_colours(model).items()}


def boxes():
    """Two boxes side by side with a gap, a zone round both, and a plan camera: 1 px is 10 mm."""
    left = Node("left", (box_part("left", (0, 0, 0), (1000, 600, 900)),))
    right = Node("right", (box_part("right", (1500, 200, 0), (2000, 900, 400), OAK),))
    zone = Node(
        "zones", (), (Node("z", (box_part("z", (0, 0, 0), (2000, 1000, 2000), ZONE, "zone"),)),)
    )
    camera = Camera("plan", (1000, 500, 3000), (1000, 500, 0), (0, 1, 0), height=1200.0, aspect=2.0)
    return Model("boxes", (Node("kept", (), (left, right)), zone), (camera,))


def test_every_pixel_is_the_colour_of_the_item_there():
    """A plan at 10 mm a pixel: each box is its own rectangle to the pixel, all else black."""
    scene = boxes()
    image = draw_flat(scene, scene.cameras[0], (240, 120), paint(scene))
    wanted = np.zeros((120, 240, 3), dtype=np.uint8)
    # the view shows x -200..2200 and y -100..1100
    for name, (x0, x1), (y0, y1) in (
        ("left_body", (0, 1000), (0, 600)),
        ("right_body", (1500, 2000), (200, 900)),
    ):
        colour = paint(scene)[name]
        rgb = [int(colour[k : k + 2], 16) for k in (1, 3, 5)]
        wanted[(1100 - y1) // 10 : (1100 - y0) // 10, (x0 + 200) // 10 : (x1 + 200) // 10] = rgb
    np.testing.assert_array_equal(image, wanted)


def test_the_nearer_item_hides_the_farther_whatever_their_order():
    """Looking along the floor the front box covers the back one's foot, in either file order."""
    front = Node("front", (box_part("front", (0, 0, 0), (1000, 300, 500)),))
    back = Node("back", (box_part("back", (0, 600, 0), (1000, 900, 1000)),))
    camera = Camera("c", (500, -2000, 500), (500, 0, 500), height=1000.0, aspect=1.0)
    for nodes in ((front, back), (back, front)):
        scene = Model("m", (Node("kept", (), nodes),), (camera,))
        rows = {
            row.name: row.pixels
            for row in count_pixels(
                draw_flat(scene, camera, (100, 100), paint(scene)), mask_colours(scene)
            )
        }
        assert rows == {"": 0, "front": 5000, "back": 5000}


@pytest.mark.parametrize("size", [(300, 200), (641, 427)])
def test_every_pixel_of_every_view_is_in_the_table(model, size):
    """No blended, lit or rounded colour anywhere; the counts are those of the picture."""
    allowed = {"#000000", *paint(model).values()}
    for camera in mask_cameras(model):
        image = draw_flat(model, camera, size, paint(model))
        flat = image.reshape(-1, 3)
        found = {f"#{r:02x}{g:02x}{b:02x}" for r, g, b in np.unique(flat, axis=0)}
        assert found <= allowed
        assert len(found) > 4
        rows = count_pixels(image, mask_colours(model))
        assert sum(row.pixels for row in rows) == size[0] * size[1]
        assert len({row.name for row in rows}) == len(rows)


def test_a_strange_colour_is_refused(model):
    """One pixel blended between two items is no mask."""
    camera = mask_cameras(model)[-1]
    image = draw_flat(model, camera, (120, 80), paint(model)).copy()
    image[0, 0] = (1, 2, 3)
    with pytest.raises(MassingError, match="#010203"):
        count_pixels(image, mask_colours(model))


def test_smoothing_would_be_noticed(model):
    """The same view with soft edges holds colours of no item, so the test above can fail."""
    image = draw_shaded(model, mask_cameras(model)[-1], (120, 80), smooth=True)
    with pytest.raises(MassingError, match="colours of no item"):
        count_pixels(image, mask_colours(model))


def test_masks_and_shaded_views_show_the_same_outlines(model):
    """What is black in the mask is bare ground in the shaded view, pixel for pixel."""
    for camera in mask_cameras(model):
        mask = draw_flat(model, camera, (300, 200), paint(model))
        shaded = draw_shaded(model, camera, (300, 200))
        ground = (shaded == (0xFB, 0xFA, 0xF7)).all(axis=2)
        np.testing.assert_array_equal((mask == 0).all(axis=2), ground)


def test_marked_parts_are_drawn_in_the_colour_asked_and_nothing_else_changes():
    """Pixels differ just where the mask has the marked box."""
    scene = boxes()
    camera = scene.cameras[0]
    names = part_names(scene, ("right", "nobody"))
    assert names == ("right_body",)
    plain = draw_shaded(scene, camera, (240, 120))
    marked = draw_shaded(scene, camera, (240, 120), marked=dict.fromkeys(names, "#ff0000"))
    mask = draw_flat(scene, camera, (240, 120), paint(scene))
    right = [int(paint(scene)["right_body"][k : k + 2], 16) for k in (1, 3, 5)]
    np.testing.assert_array_equal((plain != marked).any(axis=2), (mask == right).all(axis=2))


def test_an_item_is_where_the_camera_projects_it(model):
    """Its pixels lie within the outline of its corners as plain projection gives it."""
    camera = next(c for c in mask_cameras(model) if c.name == "eye")
    size = (600, 400)
    image = draw_flat(model, camera, size, paint(model)).astype(int)
    parts = dict(shown_parts(model))
    seen = 0
    for name, (_, colour) in mask_colours(model).items():
        if parts[name].open:
            continue
        rgb = [int(colour[k : k + 2], 16) for k in (1, 3, 5)]
        rows, columns = np.nonzero((image == rgb).all(axis=2))
        spots = _projected(parts[name].vertices, camera, size)
        if not len(rows) or spots is None:
            continue
        seen += 1
        low, high = spots.min(axis=0), spots.max(axis=0)
        assert columns.min() >= low[0] - 1
        assert columns.max() <= high[0] + 1
        assert rows.min() >= low[1] - 1
        assert rows.max() <= high[1] + 1
    assert seen >= 3


def _projected(points, camera, size):
    away = np.subtract(camera.target, camera.eye)
    away = away / np.linalg.norm(away)
    right = np.cross(away, camera.up)
    right = right / np.linalg.norm(right)
    up = np.cross(right, away)
    off = points - np.array(camera.eye)
    depth = off @ away
    if depth.min() <= camera.near:
        return None
    scale = size[1] / 2.0 / math.tan(camera.yfov / 2.0)
    across, tall = (off @ right) / depth, (off @ up) / depth
    return np.stack([size[0] / 2.0 + across * scale, size[1] / 2.0 - tall * scale], axis=1)


def test_colours_are_those_of_the_sidecar(model, tmp_path):
    rows = sidecar(model, write(model, tmp_path / "room.glb"))["objects"]
    wanted = {part: (row["name"], row["id_colour"]) for row in rows for part in row["parts"]}
    found = mask_colours(model)
    assert found == {part: wanted[part] for part in found}
    bare = model_of(check_scheme(read_project(BOATHOUSE), "first try", nudges=False), zones=False)
    assert mask_colours(bare) == found


def test_the_folder_holds_what_was_drawn(model, tmp_path):
    told = []
    written = write_masks(model, tmp_path / "masks", 300, told.append)
    names = ["eye", "plan", "long-section", "cross-section", "corner"]
    assert [name.replace(" ", "-") for name in told] == names
    assert len({path.name for path in written}) == len(written) == 4 * len(names)
    for name in names:
        place = tmp_path / "masks" / name
        mask = np.array(Image.open(place / f"{name}-mask.png"))
        shaded = np.array(Image.open(place / f"{name}-shaded.png"))
        assert mask.shape == shaded.shape
        assert mask.shape[1] == 300
        table = json.loads((place / f"{name}-table.json").read_text())
        assert (table["width_px"], table["height_px"]) == (mask.shape[1], mask.shape[0])
        packed = mask.reshape(-1, 3) @ np.array([65536, 256, 1])
        for row in table["items"]:
            assert row["pixels"] == int((packed == int(row["colour"][1:], 16)).sum())
        rows = list(csv.DictReader((place / f"{name}-table.csv").read_text().splitlines()))
        assert [(row["colour"], int(row["pixels"])) for row in rows] == [
            (row["colour"], row["pixels"]) for row in table["items"]
        ]


def test_the_same_bytes_twice(tmp_path):
    def hashes(folder):
        written = write_masks(boxes(), folder, 200)
        return [hashlib.sha256(path.read_bytes()).hexdigest() for path in written]

    assert hashes(tmp_path / "a") == hashes(tmp_path / "b")


def test_an_interrupted_write_leaves_the_old_file(tmp_path, monkeypatch):
    scene = boxes()
    written = write_masks(scene, tmp_path / "masks", 100)
    before = {path: path.read_bytes() for path in written}

    def fail(*_):
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises(OSError, match="disk full"):
        write_masks(workshop(), tmp_path / "masks", 100)
    assert {p: p.read_bytes() for p in tmp_path.rglob("*.*") if p.is_file()} == before


def test_a_model_without_bodies_is_all_black():
    camera = boxes().cameras[0]
    assert not draw_flat(Model("bare"), camera, (40, 20), {}).any()
    assert mask_cameras(replace(Model("bare"), cameras=(camera,))) == (camera,)


def test_png_bytes_give_the_pixels_back(tmp_path):
    image = np.random.default_rng(3).integers(0, 256, (7, 11, 3), dtype=np.uint8)
    place = tmp_path / "a.png"
    place.write_bytes(png(image))
    np.testing.assert_array_equal(np.array(Image.open(place)), image)


def test_without_a_drawing_library_it_says_so(model, tmp_path, monkeypatch):
    monkeypatch.setattr(ctypes.util, "find_library", lambda _: None)
    with pytest.raises(MissingToolError, match="apt-get install"):
        write_masks(model, tmp_path / "masks", 100)
    assert list(tmp_path.iterdir()) == []
