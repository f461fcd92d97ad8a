"""How is a BCF file kept? A checked scheme in, a zip of small XML files out, without a clock.

Nothing is packed: packers differ from machine to machine, and the files are small.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from massing.checks.run import Answer
from massing.handover.bcf.markup import (
    extensions,
    markup,
    project,
    version,
    viewpoint_xml,
    xml_bytes,
)
from massing.handover.bcf.topics import Topic, topics
from massing.handover.bcf.viewpoint import viewpoint
from massing.handover.ifc.guid import element_guids, ifc_guid, project_key, uuid_of
from massing.handover.model import Camera, Model
from massing.reading.files import write_beside_then_rename

__all__ = ["Beside", "Snapshot", "bcf_bytes", "write_bcf"]

Snapshot: TypeAlias = Callable[[Camera, tuple[str, ...]], bytes]

_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can hold


@dataclass(frozen=True, slots=True)
class Beside:
    """The IFC file handed over with the issues: its name, its project, its elements.

    guids : IFC GUID by the name the user wrote
    """

    name: str
    project: str
    guids: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, model: Model, path: Path) -> Beside:
        """What the IFC writer made of this model."""
        key = uuid_of(project_key(model), "project")
        return cls(path.name, ifc_guid(key), element_guids(model))


def bcf_bytes(
    answer: Answer,
    beside: Beside | None = None,
    snapshot: Snapshot | None = None,
) -> bytes:
    """The zip of one topic a finding that is not clear.

    beside : the IFC file its components are in; without one, topics name no components
    snapshot : draws PNG bytes of a camera's view, given the things it is about
    """
    found = topics(answer)
    guid = uuid_of(answer.project.name, "bcf")
    entries: list[tuple[str, bytes]] = [
        ("bcf.version", xml_bytes(version())),
        ("project.bcfp", xml_bytes(project(guid, answer.project.name))),
        ("extensions.xml", xml_bytes(extensions(sorted({t.finding.check for t in found})))),
    ]
    for topic in found:
        entries += _topic(answer, topic, beside, snapshot)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as zipped:
        for name, data in entries:
            entry = zipfile.ZipInfo(name, _EARLIEST)
            entry.create_system = 3
            folder = name.endswith("/")
            entry.external_attr = (0o40755 << 16 | 0x10) if folder else 0o644 << 16
            zipped.writestr(entry, data)
    return buffer.getvalue()


def _topic(
    answer: Answer,
    topic: Topic,
    beside: Beside | None,
    snapshot: Snapshot | None,
) -> list[tuple[str, bytes]]:
    """A topic's folder and what is in it."""
    folder = f"{topic.guid}/"
    view = uuid_of(str(topic.guid), "viewpoint")
    camera = viewpoint(answer.layout, topic.finding.at_mm)
    guids = [] if beside is None else [beside.guids.get(n) for n in topic.finding.items]
    known = list(dict.fromkeys(guid for guid in guids if guid is not None))
    model_file = None if beside is None else (beside.name, beside.project)
    told = markup(topic, view, model_file, snapshot=snapshot is not None)
    entries = [
        (folder, b""),
        (f"{folder}markup.bcf", xml_bytes(told)),
        (f"{folder}viewpoint.bcfv", xml_bytes(viewpoint_xml(view, camera, known))),
    ]
    if snapshot is not None:
        entries.append((f"{folder}snapshot.png", snapshot(camera, topic.finding.items)))
    return entries


def write_bcf(
    answer: Answer,
    path: Path,
    beside: Beside | None = None,
    snapshot: Snapshot | None = None,
) -> Path:
    """Write the issues; the old file stays until the new one is whole."""
    write_beside_then_rename(path, bcf_bytes(answer, beside, snapshot))
    return path
