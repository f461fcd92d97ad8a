"""Killed at any point of its writing, or the disk full: each file is the old one or the new."""

from __future__ import annotations

import importlib
import inspect
import json
import re
import subprocess
import sys

import click
import pytest

from massing.cli.main import COMMANDS as NAMES
from tests.cli.run import ROOT, environment

ROOM = """massing: 1
project: p
room:
  size: 4000 x 3000
  ceiling: [{flat: 2300}]
  doors: [{name: entry, wall: west, along: 700, leaf: 762 x 1981 x 44}]
items:
  chest: {body: 600 x 450 x 800}
  crate: {body: 400 x 300 x 300}
schemes:
  only:
    - {item: chest, against: north, along: 900}
    - {item: chest, against: north, along: 1200}
"""
P = "{}/p.yaml"
CHECK = ("numpy", "massing.checks.run", "massing.handover.registry")
DRAWS = (*CHECK, "pyvista")
# The command, and what its process loads beforehand; the first few are tried in every test run,
# all of them at every point by ``python -m tests.bench.kill_everywhere``.
COMMANDS = {
    "glb": (["export", P, "-f", "glb"], CHECK),
    "obj, mtl and sidecar": (["export", P, "-f", "obj"], CHECK),
    "report": (["report", P], (*CHECK, "massing.handover.report.page")),
    "filled scheme": (
        ["voids", P, "--fill", "--floor", "--most", "1"],
        (*CHECK, "massing.voids.fill"),
    ),
    "gltf": (["export", P, "-f", "gltf"], CHECK),
    "bcf": (["export", P, "-f", "bcf"], CHECK),
    "usda": (["export", P, "-f", "usda"], (*CHECK, "pxr.Usd")),
    "usdz": (["export", P, "-f", "usdz"], (*CHECK, "pxr.Usd")),
    "ifc": (["export", P, "-f", "ifc"], (*CHECK, "ifcopenshell")),
    "drawings": (["draw", P], (*CHECK, "fpdf", "fontTools.subset")),
    "masks": (["export", P, "-f", "glb", "--masks", "--width", "64"], DRAWS),
    "models of every scheme": (["export", P, "--all", "-f", "glb,usdc"], (*CHECK, "pxr.Usd")),
    "issues beside IFC": (
        ["export", P, "-f", "ifc,bcf", "--snapshots", "-o", "{}/new"],
        (*DRAWS, "ifcopenshell"),
    ),
    "drawings of every scheme": (
        ["draw", P, "--all", "-o", "{}/new"],
        (*CHECK, "fpdf", "fontTools.subset"),
    ),
    "reports on paper": (
        ["report", P, "--all", "--pdf", "-o", "{}/new"],
        (*CHECK, "massing.handover.report.page"),
    ),
    "picture": (["picture", P, "-o", "{}/p.png", "--size", "600x600"], DRAWS),
    "every picture": (["picture", P, "--all", "--size", "600x600"], DRAWS),
    "where picture": (["where", P, "crate", "--picture", "{}/w.png"], DRAWS),
    "route picture": (["route", P, "chest", "-o", "{}/r.png"], (*DRAWS, "numba")),
    "new": (["new", "{}/n.yaml"], ()),
    "filled scheme elsewhere": (
        ["voids", P, "--fill", "--floor", "--most", "1", "-o", "{}/f.yaml"],
        (*CHECK, "massing.voids.fill"),
    ),
    "arrange": (["arrange", P, "--moves", "3000"], (*CHECK, "massing.arrange.search")),
    "arrange elsewhere": (
        ["arrange", P, "--moves", "3000", "-o", "{}/a.yaml"],
        (*CHECK, "massing.arrange.search"),
    ),
    "sheet of the catalogue": (["catalog", "desk", "--sheet", "{}/s.png"], DRAWS),
}
OFTEN = tuple(COMMANDS)[:3]
READERS = ("areas", "check", "compare", "remeasure", "schema", "survey")
"""Commands that only print."""


def stopped_everywhere(args, folder, *, imports=CHECK, every=False):
    asked = {"args": args, "folder": str(folder), "imports": imports, "every": every}
    asked |= {"files": {"p.yaml": ROOM}, "replaces": args[0] != "new"}
    ended = subprocess.run(
        [sys.executable, "-m", "tests.faults.crash"],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment(PYTHONWARNINGS="ignore"),
        timeout=900,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr[-3000:]
    return json.loads(ended.stdout)


def test_every_option_that_names_a_file_is_tried():
    """By its type; and what only prints calls nothing that writes."""
    tried = {args[0]: set() for args, _ in COMMANDS.values()}
    for args, _ in COMMANDS.values():
        tried[args[0]].update(args)
    for name in NAMES:
        module = importlib.import_module(f"massing.cli.{name}_command")
        options = [option for option in module.command.params if isinstance(option, click.Option)]
        paths = [set(o.opts) for o in options if isinstance(o.type, click.Path)]
        if name in READERS:
            assert not re.search(r"write_|write\(|open\(", inspect.getsource(module))
            assert paths == []
        else:
            assert all(opts & tried[name] for opts in paths), name


@pytest.mark.parametrize("name", OFTEN)
def test_every_file_is_the_old_one_or_the_new(name, tmp_path):
    args, imports = COMMANDS[name]
    told = stopped_everywhere(args, tmp_path / "work", imports=imports)
    assert told["outputs"]
    assert told["broken"] == []
    assert len(told["points"]) >= 2 + 2 * len(told["outputs"])


def test_the_judge_sees_a_file_written_in_place(tmp_path, monkeypatch):
    """Planted fault: a writer that opens the file itself leaves it empty or half."""
    monkeypatch.setenv("MASSING_FAULTS_IN_PLACE", "1")
    args, imports = COMMANDS["glb"]
    told = stopped_everywhere(args, tmp_path / "work", imports=imports)
    assert any("neither old nor new" in said for said in told["broken"])
