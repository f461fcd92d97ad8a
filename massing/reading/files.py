"""Bytes and a path in; the file changed whole, or left as it was.

New content is always written beside the old, forced to disk, and given the name in one step. A
process killed on the way leaves at most a hidden ``.NAME.XXXXXXXX.part`` beside it, which no
reader takes for the file and which may be deleted.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["write_beside_then_rename", "write_new", "write_together"]


def write_beside_then_rename(path: str | os.PathLike[str], data: bytes) -> None:
    """Replace a file's content in one step: whoever reads it sees the old or the new, never half.

    Through a symbolic link the file it leads to is replaced and the link stays; of a hard link
    only this name. ``..`` is followed as everywhere. The permissions of an existing file are
    kept, its owner where the system lets one. A pipe or a device is written into, as it has no
    content to keep.

    Raises OSError when the folder or the file may not be written or the disk is full; the old
    file then stands untouched and no temporary file is left.
    """
    write_together([(path, data)])


def write_together(files: Sequence[tuple[str | os.PathLike[str], bytes]]) -> None:
    """Replace several files: all contents are on the disk before the first takes its name.

    A full disk or a folder that cannot be written so leaves every old file. The names are taken
    in the order given; put first what the others refer to, for one killed between two of these
    steps leaves the first new and the rest old. Each is whole all the same.

    Raises OSError as write_beside_then_rename does.
    """
    with contextlib.ExitStack() as held:
        ready = [held.enter_context(_beside(Path(path), data)) for path, data in files]
        for one in ready:
            one.take_name()
    for folder in dict.fromkeys(one.target.parent for one in ready):
        _sync_folder(folder)


def write_new(path: str | os.PathLike[str], data: bytes) -> None:
    """Write a file that is not there yet, whole or not at all.

    Raises FileExistsError when anything has the name, also when it came meanwhile; OSError else.
    """
    target = Path(path)
    if os.path.lexists(target):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
    with _beside(target, data) as ready:
        try:
            # A second name is given only where there is none: unlike a look beforehand, this
            # cannot be overtaken.
            os.link(ready.beside, target)
        except FileExistsError:
            raise
        except OSError:
            _create(target, data)  # a file system without second names, such as a memory card's
    _sync_folder(target.parent)


@dataclass(frozen=True, slots=True)
class _Ready:
    """Content on the disk under a temporary name, and the name it is to have."""

    beside: Path
    target: Path

    def take_name(self) -> None:
        if self.beside != self.target:
            self.beside.replace(self.target)


@contextlib.contextmanager
def _beside(path: Path, data: bytes) -> Iterator[_Ready]:
    """The content in a temporary file of the same folder; gone afterwards if still there."""
    target = Path(os.path.realpath(path))
    old = _status(target)
    if old is not None and stat.S_ISDIR(old.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
    if old is not None and not _writable(target):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))
    if old is not None and not stat.S_ISREG(old.st_mode):
        with target.open("wb") as device:
            device.write(data)
        yield _Ready(target, target)
        return
    handle, name = tempfile.mkstemp(
        prefix=f".{target.name[:60]}.", suffix=".part", dir=target.parent
    )
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.chmod(stat.S_IMODE(old.st_mode) if old is not None else _usual_mode())
        if old is not None and sys.platform != "win32":
            with contextlib.suppress(OSError):
                os.chown(beside, old.st_uid, old.st_gid)
        yield _Ready(beside, target)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def _create(target: Path, data: bytes) -> None:
    """A new file by its own name; taken away again when it cannot be finished."""
    with target.open("xb") as file:
        try:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            with contextlib.suppress(OSError):
                target.unlink()
            raise


def _status(target: Path) -> os.stat_result | None:
    with contextlib.suppress(FileNotFoundError):
        return target.stat()
    return None


def _writable(target: Path) -> bool:
    """Whether the file itself may be written: a rename would not ask."""
    effective = os.access in os.supports_effective_ids
    return os.access(target, os.W_OK, effective_ids=effective)


def _usual_mode() -> int:
    """The permissions any new file would get."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _sync_folder(folder: Path) -> None:
    """Make the new name itself durable where the system allows a folder to be synced."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
