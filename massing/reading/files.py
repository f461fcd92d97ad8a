"""Bytes and a path in; the file changed whole, or left as it was."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

__all__ = ["write_beside_then_rename"]


def write_beside_then_rename(path: str | os.PathLike[str], data: bytes) -> None:
    """Replace a file's content in one step: whoever reads it sees the old or the new, never half.

    The new content goes to a temporary file in the same folder, is forced to disk, and then takes
    the name. Through a symbolic link the file it leads to is replaced and the link stays. The
    permissions of an existing file are kept.

    Raises OSError when the folder cannot be written; the old file then stands untouched and no
    temporary file is left.
    """
    target = Path(os.path.realpath(path))
    if target.is_dir():
        raise IsADirectoryError(f"'{target}' is a folder, not a file")
    handle, beside = tempfile.mkstemp(
        prefix=f".{target.name[:60]}.", suffix=".part", dir=target.parent
    )
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(_mode(target))
        Path(beside).replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(beside).unlink()
        raise
    _sync_folder(target.parent)


def _mode(target: Path) -> int:
    """The permissions the file has, or those any new file would get."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(target.stat().st_mode)
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
