"""Something the machine lacks: one clear line that says how to get it, and nothing written."""

from __future__ import annotations

import os

import pytest

from tests.cli.run import BOATHOUSE, ROOT, massing

# Python runs this before anything else: it takes the named things away.
LACKING = """
import ctypes.util, os, sys
lacking = os.environ["LACKING"].split(",")
if "GL" in lacking:
    ctypes.util.find_library = lambda name: None
class Gone:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in lacking:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
sys.meta_path.insert(0, Gone())
"""


def without(lacking, folder, *args):
    """What the command says where something is lacking, run in an empty folder."""
    (folder / "site").mkdir()
    (folder / "out").mkdir()
    (folder / "site" / "sitecustomize.py").write_text(LACKING, "utf-8")
    said = [str(word).replace("OUT", str(folder / "out")) for word in args]
    path = os.pathsep.join([str(folder / "site"), str(ROOT)])
    ended = massing(*said, cwd=folder / "out", PYTHONPATH=path, LACKING=lacking)
    return ended, sorted(entry.name for entry in (folder / "out").iterdir())


@pytest.mark.parametrize(
    ("lacking", "words", "says"),
    [
        ("GL", ["picture", BOATHOUSE, "-o", "OUT/a.png"], "apt-get install libegl1"),
        ("GL", ["export", BOATHOUSE, "-o", "OUT", "--masks"], "apt-get install libegl1"),
        ("GL", ["export", BOATHOUSE, "-o", "OUT/a.bcf", "--snapshots"], "apt-get install libegl1"),
        ("pyvista", ["picture", BOATHOUSE, "-o", "OUT/a.png"], "pip install"),
        ("pxr", ["export", BOATHOUSE, "-o", "OUT", "-f", "glb,usd"], "pip install"),
        ("ifcopenshell", ["export", BOATHOUSE, "-o", "OUT", "-f", "glb,ifc"], "pip install"),
    ],
    ids=["picture", "masks", "snapshots", "drawing library", "USD", "IFC"],
)
def test_what_is_missing_is_named_before_anything_is_written(lacking, words, says, tmp_path):
    ended, left = without(lacking, tmp_path, *words)
    assert (ended.returncode, left) == (3, [])
    assert "Traceback" not in ended.stderr
    assert ended.stderr.startswith("missing: ")
    assert len(ended.stderr.strip().splitlines()) == 1
    assert says in ended.stderr


def test_what_needs_nothing_of_it_works_all_the_same(tmp_path):
    """The check and the plain formats ask for none of these."""
    lacking = "GL,pyvista,vtk,pxr,ifcopenshell,distributed,trimesh"
    ended, left = without(lacking, tmp_path, "export", BOATHOUSE, "-o", "OUT", "-f", "glb,obj,bcf")
    assert ended.returncode == 0, ended.stderr
    assert len(left) == 5
