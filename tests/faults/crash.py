"""Runs a command again and again and stops it at every point of its writing.

As ``python -m tests.faults.crash`` it reads one JSON object from its input: ``args`` of the
command, ``folder`` to work in, ``files`` to begin with (name to text), ``imports`` to load once,
``replaces`` unless it never writes over a file,
and ``every`` for all points instead of the telling ones: the first touch, just before and just
after each file takes its name, half-way through the largest; then also twelve moments of time.
It answers with one: ``outputs``, ``points`` tried, and ``broken``, what was found half.

A child of its own runs the command once to the end, which tells what it writes. Then, for each
point, the folder is made anew with something old under every name, and a child is killed (as by
``kill -9``) just before the n-th time it touches the folder, or by the system in the middle of a
write, when a file reaches so many bytes, or from outside at any moment. Every name must then hold
the old or the new, what is left over must be a hidden ``.part``, and running the command again
must bring everything new.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import random
import re
import resource
import shutil
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

__all__ = ["OLD", "run_to_the_end"]

OLD = b"old content\n"
EVENTS = ("open", "os.rename", "os.chmod", "os.chown", "os.link", "os.remove", "os.mkdir")
LEFT_OVER = re.compile(r"\..+\.part")


def _child(args: list[str], prepare: Callable[[], None], seconds: float = math.inf) -> int:
    """How a child ended that ran the command: its exit status, or minus the signal.

    seconds : after which it and all it began are killed
    """
    pid = os.fork()
    if pid == 0:
        status = 70
        try:
            os.setsid()
            quiet = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(quiet, stream)
            from massing.cli.main import main

            if os.environ.get("MASSING_FAULTS_IN_PLACE"):
                _write_in_place()
            prepare()
            main(args)
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else 1
        finally:
            os._exit(status)
    ends = time.monotonic() + seconds
    while seconds < math.inf and time.monotonic() < ends:
        if (ended := os.waitpid(pid, os.WNOHANG))[0]:
            return os.waitstatus_to_exitcode(ended[1])
        time.sleep(0.002)
    if seconds < math.inf:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])


def _write_in_place() -> None:
    """Plant a fault: files written by their own names, as if that could not be seen."""
    from massing.reading import files

    def careless(path: os.PathLike[str], data: bytes) -> None:
        Path(path).write_bytes(data)
        Path(path).replace(path)

    for module in list(sys.modules.values()):
        if getattr(module, "write_beside_then_rename", None) is files.write_beside_then_rename:
            setattr(module, "write_beside_then_rename", careless)  # noqa: B010
    files.write_beside_then_rename = careless


def _killed_at(folder: Path, point: int, told: Path | None = None) -> Callable[[], None]:
    """Die just before the ``point``-th touch of the folder; reading does not count.

    told : where to write each touch's name instead
    """
    inside = f"{folder}{os.sep}"
    noted = None if told is None else os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)

    def prepare() -> None:
        left = point

        def hook(event: str, said: tuple[object, ...]) -> None:
            nonlocal left
            if event not in EVENTS or not said or isinstance(said[0], int):
                return
            if event == "open" and not _writes(said):
                return
            if inside in os.path.realpath(os.fsdecode(said[0])) + os.sep:  # type: ignore[arg-type]
                left -= 1
                if noted is not None:
                    os.write(noted, f"{event}\n".encode())
                if left < 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)

    return prepare


def _writes(said: tuple[object, ...]) -> bool:
    flags = said[2] if len(said) > 2 and isinstance(said[2], int) else 0
    return bool(flags & (os.O_WRONLY | os.O_RDWR))


def _killed_when_large(size: int, *, killed: bool = True) -> Callable[[], None]:
    """Let no file grow beyond so many bytes: die there, or be told as of a full disk."""

    def prepare() -> None:
        if killed:
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    return prepare


def _contents(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


class _Scene:
    """One command in one folder."""

    def __init__(self, asked: dict) -> None:
        self.folder = Path(asked["folder"]).resolve()
        self.files = {name: text.encode() for name, text in asked["files"].items()}
        self.args = [word.replace("{}", str(self.folder)) for word in asked["args"]]
        self.new: dict[str, bytes] = {}

    def anew(self, *, old: bool) -> None:
        """The inputs, and something old under every name that will be written."""
        shutil.rmtree(self.folder, ignore_errors=True)
        for name, data in self.files.items():
            self._put(name, data)
        for name in self.new if old else ():
            if name not in self.files:
                self._put(name, OLD)

    def _put(self, name: str, data: bytes) -> None:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)

    def before(self) -> dict[str, bytes]:
        """What every name holds before the command, when something old was there."""
        return {**dict.fromkeys(self.new, OLD), **self.files}

    def wrong(self, *, old: bool) -> list[str]:
        """What is neither old nor new, and what is left over under a name of its own."""
        found, before = _contents(self.folder), self.before() if old else dict(self.files)
        said = []
        for name in sorted({*found, *before, *self.new}):
            if name in found and name not in before and name not in self.new:
                if not LEFT_OVER.fullmatch(Path(name).name):
                    said.append(f"{name} is left over")
            elif name not in found:
                if name in before:
                    said.append(f"{name} is gone")
            elif found[name] not in (before.get(name), self.new.get(name)):
                said.append(f"{name} is neither old nor new ({len(found[name])} bytes)")
        return said


def _at_any_moment(tried: Callable[..., int], took: float, times: int) -> None:
    """Killed from outside, most often near the end, when there is something to write."""
    shares = random.Random(5).choices((0.2, 0.5, 0.7, 0.8, 0.9, 0.95, 1.0), k=times)
    for share in shares:
        tried(f"killed after {share} of its time", lambda: None, old=True, seconds=share * took)


def _sizes(largest: int, *, every: bool) -> list[int]:
    """Bytes beyond which no file may grow."""
    return sorted({0, 1, largest // 2, largest - 1}) if every else [largest // 2]


def run_to_the_end(asked: dict) -> dict:
    """Every point of one command; see the first lines of this file."""
    scene = _Scene(asked)
    for name in asked.get("imports", ()):
        __import__(name)
    scene.anew(old=False)
    touches = scene.folder.with_name("touches.txt")
    began = time.monotonic()
    status = _child(scene.args, _killed_at(scene.folder, 10**9, touches))
    took = time.monotonic() - began
    events = touches.read_text().split()
    changed = {n: d for n, d in _contents(scene.folder).items() if scene.files.get(n) != d}
    scene.new = changed
    broken: list[str] = []
    points: list[str] = []
    largest = max(map(len, changed.values()), default=0)

    def tried(
        words: str, prepare: Callable[[], None], *, old: bool, seconds: float = math.inf
    ) -> int:
        old = old and asked["replaces"]
        scene.anew(old=old)
        ended = _child(scene.args, prepare, seconds)
        points.append(words)
        broken.extend(f"{words}: {said}" for said in scene.wrong(old=old))
        return ended

    named = [at for at, event in enumerate(events) if event in ("os.rename", "os.link")]
    telling = {0, *named, *(at + 1 for at in named if at + 1 < len(events))}
    for point in range(len(events)) if asked["every"] else sorted(telling):
        ended = tried(f"touch {point}", _killed_at(scene.folder, point), old=point % 3 != 2)
        if ended != -signal.SIGKILL:
            broken.append(f"was not stopped at touch {point} but ended with {ended}")
    _at_any_moment(tried, took, 12 * asked["every"])
    # What was killed last may have written its own input; then there is nothing to compare with.
    if asked["replaces"] and not changed.keys() & scene.files.keys():
        again = _child(scene.args, lambda: None)
        if changed.items() - _contents(scene.folder).items() or again != status:
            broken.append("run again after that, not everything is new")
    for size in _sizes(largest, every=asked["every"]):
        ended = tried(f"died at {size} bytes", _killed_when_large(size), old=True)
        if ended != -signal.SIGXFSZ:
            broken.append(f"was not stopped at {size} bytes but ended with {ended}")
        full = _killed_when_large(size, killed=False)
        ended = tried(f"full at {size} bytes", full, old=True)
        if ended not in (2, 3):
            broken.append(f"full at {size} bytes, ended with {ended}")
        left = [n for n in _contents(scene.folder) if LEFT_OVER.fullmatch(Path(n).name)]
        broken.extend(f"full at {size} bytes: {name} is left over" for name in left)
    shutil.rmtree(scene.folder, ignore_errors=True)
    return {"status": status, "outputs": sorted(changed), "points": points, "broken": broken}


if __name__ == "__main__":
    with contextlib.redirect_stdout(sys.stderr):
        told = run_to_the_end(json.load(sys.stdin))
    json.dump(told, sys.stdout)
