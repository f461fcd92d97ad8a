"""What a project file may say of a scheme: the models a placement is read into."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field, model_validator

from massing.errors import Mark
from massing.project.ways import stray_words
from massing.reading.fields import AngleField, Flag, LengthField, Name, Spec
from massing.reading.nodes import Rows, mark_of
from massing.reading.places import PlaceField, Words
from massing.reading.values import PlacedError
from massing.room.spec import PartitionSpec

__all__ = ["DoorChangeSpec", "MoveSpec", "PlacementSpec", "SchemeSpec"]

Side = Literal["front", "back", "left", "right"]


class PlacementSpec(Spec):
    """Where one item goes.

    Exactly one of ``against`` (a wall), ``corner`` (two walls), ``on`` (another item), ``at``
    (least corner) or ``centre`` says where in plan; ``height``, ``top`` or ``drop`` say how high
    when it does not stand on the floor. ``by`` shifts the result in room axes.
    """

    item: Name
    name: Name | None = None
    against: Name | None = None
    corner: tuple[Name, Name] | None = None
    on: Name | None = None
    at: PlaceField | None = None
    centre: PlaceField | None = None
    along: LengthField | None = None
    from_right: LengthField | None = None
    middle: Flag = False
    off: LengthField | None = None
    off_side: LengthField | None = None
    shift: tuple[LengthField, LengthField] | None = None
    by: PlaceField | None = None
    side: Side = "back"
    facing: Name | None = None
    turn: AngleField | None = None
    height: LengthField | None = None
    top: LengthField | None = None
    drop: LengthField | None = None
    mount: Literal["floor", "wall", "ceiling", "on"] | None = None
    stays: Flag = False
    state: dict[Name, Literal["open", "up", "out", "shut"]] = Field(default_factory=dict)
    accept: tuple[Name, ...] = ()

    @model_validator(mode="after")
    def _one_place(self) -> PlacementSpec:
        said = {word: getattr(self, word) for word in self.model_fields_set}
        wrong = stray_words(said)
        if wrong:
            raise PlacedError([(says, _mark(said.get(word))) for word, says in wrong])
        return self


class MoveSpec(Spec):
    """New words for an item already in the inherited scheme; what is not said stays.

    A new wall, corner, item or point forgets the old place. ``by`` is from where the item is in
    the inherited scheme, so a move of a move adds up.
    """

    against: Name | None = None
    corner: tuple[Name, Name] | None = None
    on: Name | None = None
    at: PlaceField | None = None
    centre: PlaceField | None = None
    along: LengthField | None = None
    from_right: LengthField | None = None
    middle: Flag | None = None
    off: LengthField | None = None
    off_side: LengthField | None = None
    shift: tuple[LengthField, LengthField] | None = None
    side: Side | None = None
    facing: Name | None = None
    turn: AngleField | None = None
    height: LengthField | None = None
    top: LengthField | None = None
    drop: LengthField | None = None
    by: PlaceField | None = None
    state: dict[Name, Literal["open", "up", "out", "shut"]] | None = None
    accept: tuple[Name, ...] | None = None

    @model_validator(mode="after")
    def _something(self) -> MoveSpec:
        if not self.model_fields_set:
            raise ValueError("the move says nothing; give a new place, or 'by' how much")
        return self


class DoorChangeSpec(Spec):
    """What a scheme changes about a door of the room: a leaf rehung, or made to open outward."""

    hinge: Literal["left", "right"] | None = None
    opens: Literal["in", "out"] | None = None
    kind: Literal["hinged", "sliding", "open"] | None = None

    @model_validator(mode="after")
    def _something(self) -> DoorChangeSpec:
        if not self.model_fields_set:
            raise ValueError("nothing is changed; give a hinge, which way it opens, or a kind")
        return self


class SchemeSpec(Spec):
    """One arrangement: what it inherits, and what it takes out, moves and adds."""

    from_: Name | None = Field(default=None, alias="from")
    says: Words | None = None
    remove: tuple[Name, ...] = ()
    move: dict[Name, MoveSpec] = Field(default_factory=dict)
    add: tuple[PlacementSpec, ...] = ()
    doors: dict[Name, DoorChangeSpec] = Field(default_factory=dict)
    partitions: tuple[PartitionSpec, ...] = ()
    together: tuple[tuple[Name, ...], ...] = ()

    @model_validator(mode="before")
    @classmethod
    def _list_of_placements(cls, value: Any) -> Any:
        """A scheme made in code may be just its placements, as in a file."""
        return {"add": value} if isinstance(value, list) and not isinstance(value, Rows) else value


def _mark(value: object) -> Mark | None:
    """Where a value was written, or where the first of several was."""
    return mark_of(value[0] if isinstance(value, tuple) and value else value)
