"""Names of benches in, their lines out: each runs in a process of its own."""

from __future__ import annotations

import ast
import importlib
import multiprocessing
import os
import sys
import time
import traceback
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.bench.record import Measured

__all__ = ["benches", "run", "run_one"]

HERE = Path(__file__).parent


def benches() -> list[str]:
    """Names of the modules here that define ``measure``, sorted."""
    found = []
    for path in sorted(HERE.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if any(isinstance(node, ast.FunctionDef) and node.name == "measure" for node in tree.body):
            found.append(path.stem)
    return found


def run_one(name: str, *, long: bool) -> tuple[list[Measured], str, float]:
    """Its lines, what went wrong if anything did, and the processor seconds it took."""
    lines, trouble = [], ""
    try:
        lines = importlib.import_module(f"tests.bench.{name}").measure(long)
    except ModuleNotFoundError as error:
        trouble = f"{name}: passed over, {error.name} is not installed"
    except Exception:  # noqa: BLE001 - one bench that breaks does not take the others along
        trouble = f"{name}: broke\n{traceback.format_exc()}"
    spent = os.times()
    return lines, trouble, sum(spent[:4])  # with the processes it started itself


def run(names: list[str], *, long: bool) -> tuple[list[Measured], list[str]]:
    """Lines of all benches in turn, and what went wrong, telling how far it is."""
    lines, troubles = [], []
    for name in names:
        begun = time.perf_counter()
        # A process each: a library that crashes, or threads it leaves behind, stay out of the rest.
        spawn = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(1, mp_context=spawn) as pool:
            try:
                found, trouble, spent = pool.submit(run_one, name, long=long).result()
            except Exception as error:  # noqa: BLE001 - the child died
                found, trouble, spent = [], f"{name}: broke, {type(error).__name__}: {error}", 0.0
        lines += found
        troubles += [trouble] if trouble else []
        # Both, because a machine that is shared makes the first much the longer.
        taken = f"{time.perf_counter() - begun:.0f} s, {spent:.0f} s of processor"
        sys.stderr.write(f"{name}: {len(found)} lines in {taken}\n")
    return lines, troubles
