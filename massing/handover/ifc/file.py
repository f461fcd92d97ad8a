"""How is an IFC file kept? A model in, STEP text (ISO 10303-21) out, with no clock in it."""

from __future__ import annotations

from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from massing.errors import MissingToolError
from massing.handover.ifc.content import fill
from massing.handover.model import Model
from massing.handover.names import ascii_name
from massing.reading.files import write_beside_then_rename

__all__ = ["require_ifc", "step_text", "write"]

_DATE = "2000-01-01T00:00:00"  # the header wants one; a clock would change the bytes


def _writer() -> str:
    try:
        return f"massing {version('massing')}"
    except PackageNotFoundError:
        return "massing"


def require_ifc() -> None:
    """Raise MissingToolError where ifcopenshell is not installed."""
    try:
        import_module("ifcopenshell")
    except ImportError as error:
        says = "IFC needs the ifcopenshell library: pip install 'massing[ifc]'"
        raise MissingToolError(says) from error


def step_text(model: Model) -> str:
    """IFC4 as STEP text, the same for the same model.

    Raises MissingToolError without ifcopenshell.
    """
    require_ifc()
    import ifcopenshell

    file = ifcopenshell.file(schema="IFC4")
    _head(file.header, ascii_name(model.name, otherwise="model"))
    fill(file, model)
    text: str = file.to_string()
    return text


def _head(header: Any, name: str) -> None:
    header.file_description.description = ("ViewDefinition [notAssigned]",)
    told = header.file_name
    told.name = f"{name}.ifc"
    told.time_stamp = _DATE
    told.author = ("",)
    told.organization = ("",)
    told.preprocessor_version = _writer()
    told.originating_system = _writer()
    told.authorization = ""


def write(model: Model, path: Path) -> tuple[Path, ...]:
    """Write the model; the old file stays until the new one is whole.

    Raises MissingToolError as ``step_text`` does.
    """
    write_beside_then_rename(path, step_text(model).encode("utf-8"))
    return (path,)
