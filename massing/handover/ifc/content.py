"""What does a model look like in IFC4? A model and an empty file in, the file filled.

Project > site > building > storey > space. The shell's elements and doors lie in the storey, items
in the space; zones are spatial zones. What the shell shows a face of is a solid behind it. An
element's placement stands on its pivot, so a door's is on its hinge with x along the leaf and y the
way it opens. Faces stay whole polygons. A part's name is that of its shape aspect.

Source: ISO 16739-1, the definitions of the classes named here (from memory); the schema itself is
checked by the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from massing.geometry.solids import Convex, Floats
from massing.handover.ifc.guid import ifc_guid, key_of, project_key, uuid_of
from massing.handover.ifc.kinds import Kind, door_swing, kind_of
from massing.handover.ifc.properties import property_values
from massing.handover.ifc.solids import with_solids
from massing.handover.ifc.space import air
from massing.handover.model import Extras, Material, MeshPart, Model, Point
from massing.handover.names import NamedNode, name_model
from massing.handover.rings import ring_pattern

__all__ = ["fill"]

_SPATIAL = {"IfcSpatialZone"}
_ZERO: Point = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Above:
    """The element a node hangs on, if any, where its origin sits, mm, and its axes if turned."""

    element: Any = None
    seat: Point = _ZERO
    axes: Floats | None = None


def fill(file: Any, model: Model) -> None:
    """Put everything of the model into the open IFC4 file."""
    _Filler(file, model).fill()


class _Filler:
    """Makes entities in one fixed order, so that the same model gives the same numbers."""

    def __init__(self, file: Any, model: Model) -> None:
        self.make = file.create_entity
        self.model = model
        self.named = name_model(with_solids(model))
        self.key = project_key(model)
        self.air = air(model)
        self.styles: dict[Material, Any] = {}
        self.held: dict[str, list[Any]] = {"storey": [], "space": []}
        self.zones: list[Any] = []

    def guid(self, *names: str) -> str:
        return ifc_guid(uuid_of(self.key, *names))

    def fill(self) -> None:
        self.origin = self._point(_ZERO)
        self._contexts()
        storey, space = self._levels()[-2:]
        self.places = {"storey": storey.ObjectPlacement, "space": space.ObjectPlacement}
        self._properties(space, "room", self.model.notes)
        self._quantities(space)
        for look, name in self.named.materials.items():
            self.styles[look] = self._style(look, name)
        for node in self.named.nodes:
            found = self._node(node, node.node.name, _Above())
            if found:
                self._group(node.name, found)
        self._contain(storey, "storey", self.held["storey"])
        self._contain(space, "space", self.held["space"])
        if self.zones:
            self.make(
                "IfcRelReferencedInSpatialStructure",
                self.guid("referenced"),
                RelatedElements=self.zones,
                RelatingStructure=space,
            )

    def _point(self, at: Sequence[float]) -> Any:
        return self.make("IfcCartesianPoint", [_tidy(v) for v in at])

    def _way(self, way: Sequence[float]) -> Any:
        return self.make("IfcDirection", [round(float(v), 12) + 0.0 for v in way])

    def _contexts(self) -> None:
        make = self.make
        units = [
            make("IfcSIUnit", UnitType="LENGTHUNIT", Prefix="MILLI", Name="METRE"),
            make("IfcSIUnit", UnitType="AREAUNIT", Name="SQUARE_METRE"),
            make("IfcSIUnit", UnitType="VOLUMEUNIT", Name="CUBIC_METRE"),
            make("IfcSIUnit", UnitType="PLANEANGLEUNIT", Name="RADIAN"),
            make("IfcSIUnit", UnitType="MASSUNIT", Prefix="KILO", Name="GRAM"),
        ]
        north = math.radians(float(self.model.notes.get("north_deg", 0.0)))
        context = make(
            "IfcGeometricRepresentationContext",
            ContextType="Model",
            CoordinateSpaceDimension=3,
            Precision=1e-6,
            WorldCoordinateSystem=make("IfcAxis2Placement3D", self.origin),
            TrueNorth=self._way((math.sin(north), math.cos(north))),
        )
        self.body = make(
            "IfcGeometricRepresentationSubContext",
            ContextIdentifier="Body",
            ContextType="Model",
            ParentContext=context,
            TargetView="MODEL_VIEW",
        )
        self.project = make(
            "IfcProject",
            self.guid("project"),
            Name=_text(str(self.model.notes.get("project", self.model.name))),
            RepresentationContexts=[context],
            UnitsInContext=make("IfcUnitAssignment", units),
        )

    def _placement(self, above: Any, at: Sequence[float], axes: Floats | None = None) -> Any:
        point = self._point(at) if any(at) else self.origin
        turned = {}
        if axes is not None:
            z, x = axes[:, 2].tolist(), axes[:, 0].tolist()
            turned = {"Axis": self._way(z), "RefDirection": self._way(x)}
        seat = self.make("IfcAxis2Placement3D", point, **turned)
        return self.make("IfcLocalPlacement", above, seat)

    def _levels(self) -> list[Any]:
        """Site, building, storey and space, each the last one's only part."""
        found: list[Any] = []
        above, place = self.project, None
        scheme = _text(str(self.model.notes.get("scheme", self.model.name)))
        rows = (
            ("IfcSite", "site", "site"),
            ("IfcBuilding", "building", "building"),
            ("IfcBuildingStorey", "storey", "storey"),
            ("IfcSpace", "room", scheme),
        )
        for kind, name, said in rows:
            place = self._placement(place, _ZERO)
            more: dict[str, Any] = {"CompositionType": "ELEMENT"}
            if kind == "IfcSpace":
                more |= {"PredefinedType": "INTERNAL", "Representation": self._space_shape()}
                more |= {"LongName": said}
            elif kind == "IfcBuildingStorey":
                more |= {"Elevation": 0.0}
            level = self.make(kind, self.guid(name), Name=name, ObjectPlacement=place, **more)
            self.make(
                "IfcRelAggregates",
                self.guid(name, "aggregates"),
                RelatingObject=above,
                RelatedObjects=[level],
            )
            found.append(level)
            above = level
        return found

    def _quantities(self, space: Any) -> None:
        if not self.air:
            return
        volume = sum(float(solid.volume[0]) for solid in self.air) / 1e9
        rows = [self.make("IfcQuantityVolume", Name="GrossVolume", VolumeValue=round(volume, 9))]
        found = self.make(
            "IfcElementQuantity",
            self.guid("quantities"),
            Name="Qto_SpaceBaseQuantities",
            Quantities=rows,
        )
        self.make(
            "IfcRelDefinesByProperties",
            self.guid("measures"),
            RelatedObjects=[space],
            RelatingPropertyDefinition=found,
        )

    def _space_shape(self) -> Any:
        if not self.air:
            return None
        items = [self._brep(solid) for solid in self.air]
        shape = self.make("IfcShapeRepresentation", self.body, "Body", "Brep", items)
        return self.make("IfcProductDefinitionShape", Representations=[shape])

    def _brep(self, solid: Convex) -> Any:
        points = [self._point(p) for p in solid.corners[0].tolist()]
        faces = []
        for ring in solid.faces.rings:
            loop = self.make("IfcPolyLoop", [points[k] for k in ring])
            faces.append(
                self.make("IfcFace", [self.make("IfcFaceOuterBound", Bound=loop, Orientation=True)])
            )
        return self.make("IfcFacetedBrep", self.make("IfcClosedShell", faces))

    def _style(self, look: Material, name: str) -> Any:
        shares = [round(int(look.srgb[k : k + 2], 16) / 255.0, 6) for k in (1, 3, 5)]
        colour = self.make("IfcColourRgb", None, *shares)
        shading = self.make(
            "IfcSurfaceStyleRendering",
            SurfaceColour=colour,
            Transparency=round(1.0 - look.alpha, 6),
            ReflectanceMethod="NOTDEFINED",
        )
        return self.make("IfcSurfaceStyle", name, "BOTH", [shading])

    def _node(self, named: NamedNode, group: str, above: _Above) -> list[Any]:
        """The elements of a node and of those below it that are not parts of another."""
        own = self._element(named, group, above) if named.parts else None
        held = above if own is None else own
        below = [found for child in named.children for found in self._node(child, group, held)]
        if own is None:
            return below
        parts = [found for found in below if found not in self.zones]
        if parts:
            self.make(
                "IfcRelAggregates",
                self.guid("aggregates", *key_of(named)),
                RelatingObject=own.element,
                RelatedObjects=parts,
            )
        return [own.element, *(found for found in below if found in self.zones)]

    def _element(self, named: NamedNode, group: str, above: _Above) -> _Above:
        node = named.node
        kind = kind_of(node, group)
        seat: Point = node.origin or above.seat
        swing = door_swing(node) if kind.name == "IfcDoor" else None
        axes = above.axes if swing is None else swing[1]
        turned = None if swing is None else axes
        level = "space" if kind.name == "IfcFurniture" else "storey"
        if above.element is None:
            place = self._placement(self.places[level], seat, turned)
        else:
            away = np.subtract(seat, above.seat)
            away = (away if above.axes is None else away @ above.axes).tolist()
            place = self._placement(above.element.ObjectPlacement, away, turned)
        more = _sizes(node.parts, kind, axes)
        if swing is not None:
            more["OperationType"] = swing[0]
        element = self.make(
            kind.name,
            self.guid(*key_of(named)),
            Name=named.name,
            Description=_text(node.name),
            ObjectType=_text(kind.object_type) or None,
            ObjectPlacement=place,
            Representation=self._shape(named, seat, axes),
            PredefinedType=kind.predefined,
            **more,
        )
        self._properties(element, named.name, node.extras)
        if kind.name in _SPATIAL:
            self.zones.append(element)
        elif above.element is None:
            self.held[level].append(element)
        return _Above(element, seat, axes)

    def _shape(self, named: NamedNode, seat: Point, axes: Floats | None) -> Any:
        items = [self._faces(part, seat, axes) for _, part in named.parts]
        body = self.make("IfcShapeRepresentation", self.body, "Body", "Tessellation", items)
        shape = self.make("IfcProductDefinitionShape", Representations=[body])
        for (name, _), item in zip(named.parts, items, strict=True):
            aspect = self.make("IfcShapeRepresentation", self.body, "Body", "Tessellation", [item])
            self.make(
                "IfcShapeAspect",
                ShapeRepresentations=[aspect],
                Name=name,
                ProductDefinitional=True,
                PartOfProductDefinitionShape=shape,
            )
        return shape

    def _faces(self, part: MeshPart, seat: Point, axes: Floats | None) -> Any:
        pattern = ring_pattern(part.rings)
        points = part.vertices[pattern.used] - np.array(seat)
        if axes is not None:
            points = points @ axes
        number = {int(v): k for k, v in enumerate(pattern.used, 1)}
        rows = (np.round(points, 6) + 0.0).tolist()
        faces = [
            self.make("IfcIndexedPolygonalFace", [number[v] for v in ring]) for ring in part.rings
        ]
        cloud = self.make("IfcCartesianPointList3D", rows)
        item = self.make("IfcPolygonalFaceSet", cloud, not part.open, faces)
        self.make("IfcStyledItem", item, [self.styles[part.material]])
        return item

    def _properties(self, owner: Any, key: str, extras: Extras) -> None:
        values = property_values(extras)
        if not values:
            return
        rows = [
            self.make("IfcPropertySingleValue", Name=said, NominalValue=self.make(kind, value))
            for said, kind, value in values
        ]
        found = self.make(
            "IfcPropertySet", self.guid("properties", key), Name="Massing", HasProperties=rows
        )
        self.make(
            "IfcRelDefinesByProperties",
            self.guid("defines", key),
            RelatedObjects=[owner],
            RelatingPropertyDefinition=found,
        )

    def _group(self, name: str, members: list[Any]) -> None:
        group = self.make("IfcGroup", self.guid("group", name), Name=name)
        self.make(
            "IfcRelAssignsToGroup",
            self.guid("assigns", name),
            RelatedObjects=members,
            RelatingGroup=group,
        )

    def _contain(self, holder: Any, name: str, held: list[Any]) -> None:
        if held:
            self.make(
                "IfcRelContainedInSpatialStructure",
                self.guid("contains", name),
                RelatedElements=held,
                RelatingStructure=holder,
            )


def _tidy(value: float) -> float:
    return round(float(value), 6) + 0.0


def _text(words: str) -> str:
    """Half a surrogate pair, which no file can hold, becomes "?"."""
    return words.encode("utf-8", "replace").decode("utf-8")


def _sizes(parts: tuple[MeshPart, ...], kind: Kind, axes: Floats | None) -> dict[str, Any]:
    """Overall height and width, where the class has them; mm."""
    if kind.name not in {"IfcDoor", "IfcWindow"}:
        return {}
    points = np.vstack([part.vertices for part in parts])
    if axes is not None:
        points = points @ axes
    size = points.max(axis=0) - points.min(axis=0)
    wide = float(size[0]) if axes is not None else float(np.hypot(size[0], size[1]))
    return {"OverallHeight": _tidy(size[2]), "OverallWidth": _tidy(wide)}
