"""What does an issue look like in BCF 3.0? A topic and its camera in, XML trees out.

Lengths are metres, angles degrees, in the axes of the IFC file: those of the room. Elements stand
in the order the schema wants them.
Source: BCF 3.0, version.xsd, project.xsd, extensions.xsd, markup.xsd and visinfo.xsd.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from uuid import UUID
from xml.etree import ElementTree as ET

import numpy as np

from massing.handover.bcf.topics import PRIORITIES, TYPES, Topic
from massing.handover.model import Camera

__all__ = ["STATUS", "extensions", "markup", "project", "version", "viewpoint_xml", "xml_bytes"]

STATUS = "Open"
_DATE = "2000-01-01T00:00:00Z"  # the schema wants one; a clock would change the bytes
_AUTHOR = "massing"


def xml_bytes(root: ET.Element) -> bytes:
    """The tree as indented UTF-8."""
    ET.indent(root)
    found: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return found + b"\n"


def _clean(words: str) -> str:
    """What XML cannot hold (control characters, half a surrogate pair) becomes "?"."""
    kept = (c if c in "\n\t" or (c >= " " and c not in "\ufffe\uffff") else "?" for c in words)
    return "".join(kept).encode("utf-8", "replace").decode("utf-8")


def _add(above: ET.Element, name: str, words: str | None = None, **attributes: str) -> ET.Element:
    child = ET.SubElement(above, name, attributes)
    if words is not None:
        child.text = _clean(words)
    return child


def version() -> ET.Element:
    """``bcf.version``."""
    return ET.Element("Version", VersionId="3.0")


def project(guid: UUID, name: str) -> ET.Element:
    """``project.bcfp``."""
    root = ET.Element("ProjectInfo")
    _add(_add(root, "Project", ProjectId=str(guid)), "Name", name.strip() or "project")
    return root


def extensions(checks: Sequence[str]) -> ET.Element:
    """``extensions.xml``: every word the topics may use."""
    root = ET.Element("Extensions")
    lists = (
        ("TopicTypes", "TopicType", list(TYPES.values())),
        ("TopicStatuses", "TopicStatus", [STATUS, "Closed"]),
        ("Priorities", "Priority", list(PRIORITIES.values())),
        ("TopicLabels", "TopicLabel", list(checks)),
        ("Users", "User", [_AUTHOR]),
    )
    for group, one, words in lists:
        held = _add(root, group)
        for word in words:
            _add(held, one, word)
    return root


def markup(
    topic: Topic, view: UUID, model_file: tuple[str, str] | None, *, snapshot: bool
) -> ET.Element:
    """``markup.bcf`` of one topic.

    view : GUID of its viewpoint
    model_file : name of the IFC file the components are in, and the GUID of its project
    """
    finding = topic.finding
    root = ET.Element("Markup")
    if model_file is not None:
        files = _add(_add(root, "Header"), "Files")
        told = _add(files, "File", IfcProject=model_file[1], IsExternal="true")
        _add(told, "Filename", model_file[0])
        _add(told, "Date", _DATE)
        _add(told, "Reference", model_file[0])
    said = _add(
        root,
        "Topic",
        Guid=str(topic.guid),
        TopicType=TYPES[finding.verdict],
        TopicStatus=STATUS,
    )
    _add(said, "Title", topic.title)
    _add(said, "Priority", PRIORITIES[finding.verdict])
    _add(said, "Index", str(topic.number))
    _add(_add(said, "Labels"), "Label", finding.check)
    _add(said, "CreationDate", _DATE)
    _add(said, "CreationAuthor", _AUTHOR)
    _add(said, "Description", topic.description)
    seen = _add(_add(said, "Viewpoints"), "ViewPoint", Guid=str(view))
    _add(seen, "Viewpoint", "viewpoint.bcfv")
    if snapshot:
        _add(seen, "Snapshot", "snapshot.png")
    _add(seen, "Index", "0")
    return root


def viewpoint_xml(view: UUID, camera: Camera, components: Sequence[str]) -> ET.Element:
    """``viewpoint.bcfv``: the camera, and the elements the topic is about, selected.

    components : IFC GUIDs; everything else stays visible too
    """
    root = ET.Element("VisualizationInfo", Guid=str(view))
    shown = _add(root, "Components")
    if components:
        chosen = _add(shown, "Selection")
        for guid in components:
            _add(chosen, "Component", IfcGuid=guid)
    seen = _add(shown, "Visibility", DefaultVisibility="true")
    _add(seen, "ViewSetupHints", SpacesVisible="false", OpeningsVisible="false")
    way = np.subtract(camera.target, camera.eye)
    way = way / np.linalg.norm(way)
    right = np.cross(way, camera.up)
    up = np.cross(right / np.linalg.norm(right), way)
    held = _add(root, "OrthogonalCamera" if camera.yfov is None else "PerspectiveCamera")
    _vector(held, "CameraViewPoint", [v / 1000.0 for v in camera.eye])
    _vector(held, "CameraDirection", way.tolist())
    _vector(held, "CameraUpVector", up.tolist())
    if camera.yfov is None:
        _add(held, "ViewToWorldScale", _number((camera.height or 0.0) / 1000.0))
    else:
        _add(held, "FieldOfView", _number(math.degrees(camera.yfov)))
    _add(held, "AspectRatio", _number(camera.aspect))
    return root


def _vector(above: ET.Element, name: str, values: Sequence[float]) -> None:
    held = _add(above, name)
    for axis, value in zip("XYZ", values, strict=True):
        _add(held, axis, _number(value))


def _number(value: float) -> str:
    """Plain decimals to 1e-9.

    >>> _number(60.00000000001), _number(-1e-12)
    ('60', '0')
    """
    text = f"{value:.9f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
