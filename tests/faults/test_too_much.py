"""Files of bearable and unbearable size: read, or refused, in little memory and time.

Each runs in a process of its own that may take so much memory and no more.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.cli.run import ROOT, environment

CHILD = """
import json, resource, sys, time
from pathlib import Path
import numpy as np
from massing.errors import MassingError
from massing.project.read import read_project
from massing.items.mesh import mesh_solids
from massing.items.spec import MeshSpec
path = Path(sys.argv[1])
mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
most = int(sys.argv[2]) * 2**20
held = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
resource.setrlimit(resource.RLIMIT_AS, (held + most, held + most))
began = time.process_time()
try:
    if path.suffix == ".yaml":
        made = len(read_project(path).items)
    else:
        made = len(mesh_solids(MeshSpec(file=path.name), path.parent))
    said = f"read {made}"
except MassingError as error:
    said = str(error)
took = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024 - mb
print(json.dumps({"said": said[:3000], "mb": took, "s": time.process_time() - began}))
"""
HEAD = "massing: 1\nproject: p\nroom:\n  size: 4000 x 3000\n  ceiling: [{flat: 2400}]\n"


def read(path, most_mb=600):
    """What a process that may take so much more memory than it has at first says."""
    ended = subprocess.run(
        [sys.executable, "-c", CHILD, path, str(most_mb)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment(),
        timeout=300,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr[-2000:]
    return json.loads(ended.stdout)


@pytest.mark.parametrize("ending", ["yaml", "glb", "obj", "stl"])
def test_a_file_of_a_gigabyte_is_refused_unread(ending, tmp_path):
    """Sparse, so it takes no disk; the refusal takes next to no memory."""
    path = tmp_path / f"huge.{ending}"
    path.write_bytes(b"glTF" if ending == "glb" else b"massing: 1\n")
    os.truncate(path, 2**30)
    told = read(path)
    assert "larger than" in told["said"]
    assert told["mb"] < 60


def items(count):
    return "items:\n" + "".join(f"  crate {k}: {{body: 6 x 4 x 5}}\n" for k in range(count))


def placed(count):
    return "schemes:\n  all:\n" + "".join(
        f"    - {{item: crate, at: [{k}, 0]}}\n" for k in range(count)
    )


HOSTILE = {
    "100,000 items": (HEAD + items(100_000), "more than 50,000 values"),
    "100,000 placements": (
        HEAD + "items:\n  crate: {body: 6 x 4 x 5}\n" + placed(100_000),
        "more than 50,000 values",
    ),
    "100,000 schemes": (
        HEAD + "schemes:\n" + "".join(f"  s{k}: []\n" for k in range(100_000)),
        "more than 50,000 values",
    ),
    "100,000 ceilings": (
        HEAD.replace("[{flat: 2400}]", f"[{'{flat: 2400}, ' * 100_000}]"),
        "more than 50,000 values",
    ),
    "ten billion by reference": (
        "a: &a [x, x, x, x, x, x, x, x, x, x]\n"
        + "".join(
            f"{new}: &{new} [{', '.join([f'*{old}'] * 10)}]\n"
            for old, new in zip("abcdefghi", "bcdefghij", strict=True)
        ),
        "more than 50,000 values",
    ),
    "a million brackets": ("a: " + "[" * 1_000_000, "nested more than 40 deep"),
    "a million braces": ("{a: " * 500_000, "nested more than 40 deep"),
    "a key of a million letters": ("k" * 1_000_000 + ": 1\n", "a key of more than 1,024 letters"),
    "a million anchors": ("a: [" + "&a x, " * 500_000 + "]", "more than 50,000 values"),
    "a million line ends": (HEAD + "\n" * 1_000_000, "read 0"),
    "a million comments": (HEAD + "#\n" * 1_000_000, "read 0"),
    "a line of three million letters": (HEAD + "# " + "x" * 3_000_000, "read 0"),
    "a number of a million digits": (
        HEAD.replace("4000", "4" * 1_000_000),
        "is too long to be a length",
    ),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_too_much_of_anything_is_refused_in_bounded_memory(case, tmp_path):
    text, says = HOSTILE[case]
    path = tmp_path / "p.yaml"
    path.write_text(text, "utf-8")
    told = read(path)
    assert says in told["said"]
    assert told["mb"] < 400


def test_as_many_items_as_are_allowed_are_read(tmp_path):
    """A thousand own items and as many placements: beyond any room, and they are read."""
    text = HEAD + items(1000) + placed(1000).replace("item: crate,", "item: crate 0,")
    path = tmp_path / "p.yaml"
    path.write_text(text, "utf-8")
    told = read(path)
    assert told["said"] == "read 1000"
    assert told["mb"] < 400
