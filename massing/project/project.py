"""A project as read and checked: every name in it leads somewhere."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from massing.items.spec import ItemSpec
from massing.project.file import ArrangeSpec, PeopleSpec, PreferSpec, RuleSpec, SurveySpec
from massing.project.scheme_spec import DoorChangeSpec, PlacementSpec, SchemeSpec
from massing.room.spec import PartitionSpec, RoomSpec

__all__ = ["Arrangement", "Project"]


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A scheme with what it inherits worked in: placements in order, each under its own name.

    own_together : what this scheme itself says is used together, without what it inherits
    """

    name: str
    says: str
    placements: tuple[tuple[str, PlacementSpec], ...]
    partitions: tuple[PartitionSpec, ...]
    together: tuple[tuple[str, ...], ...]
    doors: tuple[tuple[str, DoorChangeSpec], ...] = ()
    own_together: tuple[tuple[str, ...], ...] = ()

    def placement(self, name: str) -> PlacementSpec:
        """Return the placement of that name; KeyError where there is none."""
        for placed, spec in self.placements:
            if placed == name:
                return spec
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Project:
    """Everything one project file says.

    items : every item any scheme places, by its name in the file, catalogue entries included
    arrangements : the schemes by name, in file order, inheritance worked out
    """

    name: str
    room: RoomSpec
    items: dict[str, ItemSpec]
    arrangements: dict[str, Arrangement]
    schemes: dict[str, SchemeSpec]
    people: PeopleSpec
    survey: SurveySpec
    rules: RuleSpec
    prefer: PreferSpec
    arrange: ArrangeSpec = field(default_factory=ArrangeSpec)
    path: Path = field(default_factory=Path)
    text: str = field(default="", repr=False)

    def room_for(self, arrangement: Arrangement) -> RoomSpec:
        """Return the room with the doors as that scheme hangs them."""
        changes = dict(arrangement.doors)
        if not changes:
            return self.room
        doors = tuple(
            door.model_copy(update=_changed(changes[door.name])) if door.name in changes else door
            for door in self.room.doors
        )
        return self.room.model_copy(update={"doors": doors})

    @property
    def folder(self) -> Path:
        """Where the project file lies; mesh files are looked up from here."""
        return self.path.parent

    def arrangement(self, name: str | None = None) -> Arrangement:
        """Return the scheme of that name, or the last in the file; KeyError where there is none."""
        if name is None:
            return list(self.arrangements.values())[-1]
        return self.arrangements[name]


def _changed(change: DoorChangeSpec) -> dict[str, str]:
    """What the change says."""
    said = {word: getattr(change, word) for word in ("hinge", "opens", "kind")}
    return {word: value for word, value in said.items() if value is not None}
