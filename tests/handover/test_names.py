"""Tests for names: plain, once each, the same in every format, and stable."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from massing.handover.model import Model, Node
from massing.handover.names import ascii_name, name_model, unique_names
from tests.handover.models import box_part, workshop
from tests.handover.round_trip import assert_round_trip, named_parts


@given(st.lists(st.text(max_size=90), max_size=30))
def test_any_texts_give_plain_names_once_each(texts):
    """Plain characters, never empty, at most 63 bytes, all different, whatever is typed."""
    names = unique_names(texts)

    assert len(names) == len(texts)
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[A-Za-z0-9_-]{1,63}", name) for name in names)


@given(st.lists(st.text(max_size=20), max_size=12), st.lists(st.text(max_size=20), max_size=5))
def test_names_do_not_depend_on_what_comes_later(texts, later):
    """Adding items at the end renames nothing."""
    assert unique_names(texts + later)[: len(texts)] == unique_names(texts)


@given(st.from_regex(r"[A-Za-z0-9][A-Za-z0-9-]{0,40}", fullmatch=True))
def test_plain_names_stay_as_they_are(text):
    assert ascii_name(text) == text


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("", "unnamed"),
        (" \t\n", "unnamed"),
        ("...", "unnamed"),
        ("Ærø straße", "AEro_strasse"),
        ("plan chest (A1)", "plan_chest_A1"),
        ("a/b\\c:d*e?f", "a_b_c_d_e_f"),
        ("tank 900 × 600 ± 5", "tank_900_x_600_-_5"),
        ("cyclist's hook", "cyclists_hook"),
        ("\ud800", "unnamed"),
        ("мойка", "u043cu043eu0438u043au0430"),
        ("x" * 500, "x" * 58),
    ],
)
def test_known_spellings(text, name):
    assert ascii_name(text).lower() == name.lower()


def test_names_in_other_scripts_stay_apart():
    assert len({ascii_name(text) for text in ("洗衣机", "烘干机", "мойка", "сушка")}) == 4


def test_a_number_already_taken_is_passed_over():
    assert unique_names(["bin_2", "bin_3", "bin", "bin", "bin_2"]) == (
        "bin_2",
        "bin_3",
        "bin",
        "bin_4",
        "bin_2_2",
    )


def test_very_long_equal_names_are_told_apart_within_63_bytes():
    names = unique_names(["y" * 300] * 1200)

    assert len(set(names)) == 1200
    assert max(map(len, names)) <= 63


def items(*names):
    """A row of equal boxes under those names."""
    boxes = [
        Node(name, (box_part(name, (n * 200, 0, 0), (n * 200 + 100, 90, 80)),))
        for n, name in enumerate(names)
    ]
    return Model("m", (Node("kept", (), tuple(boxes)),))


@pytest.mark.parametrize("form", ["glb", "gltf", "obj"])
def test_difficult_names_survive_every_format(form, tmp_path):
    """Unicode, repeated, empty, very long, and names that look like numbered ones."""
    model = items(
        "bin", "bin_2", "bin", "", "", "Küche ⛵", "洗衣机", "z" * 400, "z" * 400, "f 1/1/1"
    )
    assert_round_trip(model, tmp_path / f"a.{form}")


def test_adding_an_item_after_renames_no_part():
    before = [name for name, _ in named_parts(items("washer", "dryer"))]
    after = [name for name, _ in named_parts(items("washer", "dryer", "washer", "body"))]

    assert after[: len(before)] == before


def test_materials_are_named_in_order_of_first_use():
    assert list(name_model(workshop()).materials.values()) == [
        "plaster",
        "oak_carcass",
        "door",
        "handle",
        "zone",
    ]
