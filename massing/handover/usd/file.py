"""How is a USD stage kept in one file? A model in, bytes of text, crate or package out."""

from __future__ import annotations

import errno
import io
import tempfile
import zipfile
from importlib import import_module
from pathlib import Path
from typing import Any

from massing.errors import MissingToolError
from massing.handover.model import Model
from massing.handover.names import ascii_name
from massing.handover.usd.stage import fill
from massing.reading.files import write_beside_then_rename

__all__ = ["crate", "package", "require_usd", "text", "write"]

_ALIGNED = 64  # bytes; each file of a package starts on a multiple of this
_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest a zip can hold: no clock in the bytes
_HEADER = 30  # bytes of a zip's local header before the name
_PADDING = 0x1986  # the extra field that only fills


def require_usd() -> None:
    """Raise MissingToolError where usd-core is not installed."""
    try:
        import_module("pxr.Usd")
    except ImportError as error:
        says = "USD needs the usd-core library: pip install 'massing[usd]'"
        raise MissingToolError(says) from error


def _stage(model: Model) -> Any:
    require_usd()
    from pxr import Usd

    stage = Usd.Stage.CreateInMemory(".usda")
    fill(stage, model)
    return stage


def text(model: Model) -> bytes:
    """The stage as .usda, the same bytes for the same model.

    Raises MissingToolError without usd-core, GeometryError for a face that crosses itself.
    """
    stage = _stage(model)  # held, since its layer goes when it does
    found: str = stage.GetRootLayer().ExportToString()
    return found.encode("utf-8")


def crate(model: Model) -> bytes:
    """The stage as .usdc, the binary form of the same.

    Raises OSError when the folder for temporary files is full or closed.
    """
    stage = _stage(model)
    from pxr import Tf

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "stage.usdc"
        try:
            done = stage.GetRootLayer().Export(str(place))
        except Tf.ErrorException as error:
            # The library tells a full disk by an error of its own, over several lines.
            raise OSError(errno.EIO, "the temporary file could not be written", folder) from error
        if not done:
            raise OSError(errno.EIO, "the temporary file could not be written", folder)
        return place.read_bytes()


def package(model: Model, name: str) -> bytes:
    """The stage as .usdz: a zip that is neither packed nor encrypted, with the crate inside.

    Each file's content starts on a multiple of 64 bytes, so that it can be mapped into memory.
    Source: USD documentation, "Usdz File Format Specification" (from memory).
    """
    data = crate(model)
    inside = f"{ascii_name(name, otherwise='model')}.usdc"
    entry = zipfile.ZipInfo(inside, _DATE)
    entry.external_attr = 0o644 << 16
    entry.create_system = 3
    fill_by = -(_HEADER + len(inside) + 4) % _ALIGNED
    entry.extra = _PADDING.to_bytes(2, "little") + fill_by.to_bytes(2, "little") + bytes(fill_by)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as zipped:
        zipped.writestr(entry, data)
    return buffer.getvalue()


def write(model: Model, path: Path) -> tuple[Path, ...]:
    """Write .usdc and .usdz paths as such and any other as text; the old file stays until then.

    Raises MissingToolError and GeometryError as ``text`` does.
    """
    ending = path.suffix.lower()
    if ending == ".usdz":
        data = package(model, path.stem)
    else:
        data = crate(model) if ending == ".usdc" else text(model)
    write_beside_then_rename(path, data)
    return (path,)
