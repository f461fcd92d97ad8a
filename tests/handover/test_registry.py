"""Tests for the list of formats."""

from __future__ import annotations

import pytest

from massing.errors import InputError
from massing.handover import registry
from massing.handover.model import Model
from tests.handover.models import workshop


def test_every_ending_has_one_format_and_answers_to_either_case():
    endings = [ending for entry in registry.formats() for ending in entry.endings]

    assert len(set(endings)) == len(endings)
    assert all(
        registry.format_for(f"a{e.upper()}") is registry.format_for(f"a{e}") for e in endings
    )


@pytest.mark.parametrize("name", ["room", "room.txt", "room.glbx"])
def test_an_unknown_ending_is_refused_and_says_what_is_known(name):
    with pytest.raises(InputError, match=r"no mesh format for .*\.glb"):
        registry.write(Model("m"), name)


def test_a_new_format_is_one_call(monkeypatch, tmp_path):
    """A writer that registers itself is found by its ending."""
    monkeypatch.setattr(registry, "_FORMATS", dict(registry._FORMATS))

    def write(model, path):
        path.write_text(model.name)
        return (path,)

    registry.register(registry.Format("plain", (".plain",), write, "millimetre", 1.0, "+Z", "xyz"))

    (written,) = registry.write(workshop(), tmp_path / "a.plain")
    assert written.read_text() == workshop().name
