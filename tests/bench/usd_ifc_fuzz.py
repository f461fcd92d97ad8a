"""Random bodies, motions and places through the USD and IFC writers, judged by two readers each.

Run: ``python -m tests.bench.usd_ifc_fuzz [SEEDS]`` from the repository's folder. It ends with 1
when a reader disagrees.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from massing.handover.model import Model, Node
from massing.handover.registry import write
from tests.bench.handover_fuzz import FAR, item
from tests.handover import test_ifc, test_usd
from tests.handover.round_trip import assert_same


def faults(seed: int, folder: Path) -> list[str]:
    """Everything wrong with one random model's files."""
    rng = np.random.default_rng(seed)
    model = Model(f"fuzz {seed}", (Node("kept", (), tuple(item(rng, n) for n in range(8))),))
    usda, usdz, ifc = (
        write(model, folder / name)[0] for name in ("fuzz.usda", "fuzz.usdz", "fuzz.ifc")
    )
    readings = {
        "usda by its library": (lambda: test_usd.read_pxr(usda), FAR * test_usd.MM),
        "usda by its text": (lambda: test_usd.read_plainly(usda), FAR * test_usd.MM),
        "usdz by its library": (lambda: test_usd.read_pxr(usdz), FAR * test_usd.MM),
        "ifc by the kernel": (lambda: test_ifc.read_kernel(ifc), test_ifc.KERNEL),
        "ifc by its text": (lambda: test_ifc.read_plainly(ifc, model), test_ifc.TEXT),
    }
    said = []
    for name, (read, limit) in readings.items():
        try:
            assert_same(model, read(), limit)
        except AssertionError as error:
            said.append(f"{name}: {error}")
    return said


def main(seeds: int) -> int:
    """Print each fault with its seed; 1 when there is any."""
    found = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(seeds):
            for fault in faults(seed, Path(folder)):
                found += 1
                sys.stdout.write(f"seed {seed}: {fault}\n")
    sys.stdout.write(f"{seeds} models, {found} faults\n")
    return int(found > 0)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 60))
