"""Tests for the field types and the base of every file model."""

from __future__ import annotations

import copy
import json
import pickle
from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, Field, TypeAdapter, ValidationError, create_model

from massing.errors import InputError
from massing.reading.faults import validate
from massing.reading.fields import (
    AngleField,
    BoxRanges,
    Count,
    Flag,
    LengthField,
    Name,
    Number,
    PointField,
    PositiveLength,
    RangeField,
    Size2,
    Size3,
    Spec,
    by_form,
    by_key,
    one_of,
    variant,
)
from massing.reading.nodes import Scalar, parse_tree
from massing.units import Length


class Door(Spec):
    """An item with one field of most kinds."""

    name: Name
    leaf: Size3
    along: LengthField = Length(0.0)
    opens_in: Flag = True
    from_: Literal["left", "right"] = "left"
    swing: AngleField | None = None


class Named(Spec):
    """A variant chosen by its key."""

    named: Name


class Layers(Spec):
    """Another."""

    layers: tuple[PositiveLength, ...]


BuildUp = Annotated[
    Annotated[Name, variant("text")]
    | Annotated[Named, variant("named")]
    | Annotated[Layers, variant("layers")],
    one_of(by_form(text="text", table=by_key({"named": "named", "layers": "layers"}))),
]


class Wall(Spec):
    """A model with a union."""

    build_up: BuildUp
    sides: dict[Name, LengthField] = Field(default_factory=dict)


BOX = tuple((Length(a), Length(a + 1)) for a in (0.0, 2.0, 4.0))
ONE = "one value belongs; write a length such as 2400, 2.4 m or 7 ft 10 in"


def read(field: Any, text: str) -> Any:
    """The value of one field read from a file."""
    return validate(create_model("One", __base__=Spec, v=(field, ...)), parse_tree(text, "a")).v


def refusal(field: Any, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(field, text)
    return [f"{f.mark.line}:{f.mark.column} {f.says}" for f in caught.value.faults]


def test_a_length_keeps_its_place_and_path():
    """A size says which of its parts each length is."""
    door = read(Door, "v: {name: entry, leaf: 762 ±2 x 1981 x 44, along: 6 ft 8 in}")

    assert door.leaf == (Length(762.0, 2.0), Length(1981.0), Length(44.0))
    assert [side.path for side in door.leaf] == ["v.leaf[0]", "v.leaf[1]", "v.leaf[2]"]
    assert {str(side.mark) for side in door.leaf} == {"a:1:24"}
    assert (door.along.mm, door.along.path, str(door.along.mark)) == (2032.0, "v.along", "a:1:51")


def test_a_size_may_be_a_list():
    """Each entry then has its own place, and the same path as in a text."""
    size = read(Size3, "v: [762, 6 ft 6 in, 44 ±1]")

    assert size == (Length(762.0), Length(1981.2), Length(44.0, 1.0))
    assert [side.path for side in size] == ["v[0]", "v[1]", "v[2]"]
    assert [str(side.mark) for side in size] == ["a:1:5", "a:1:10", "a:1:21"]


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (LengthField, "-20", Length(-20.0)),
        (LengthField, "'2400 ±10 by laser'", Length(2400.0, 10.0, "laser")),
        (PositiveLength, "20", Length(20.0)),
        (Size2, "900 x 700", (Length(900.0), Length(700.0))),
        (RangeField, "0..5200", (Length(0.0), Length(5200.0))),
        (RangeField, "[0, 5200]", (Length(0.0), Length(5200.0))),
        (BoxRanges, "0..1 x 2..3 x 4..5", BOX),
        (BoxRanges, "[0..1, 2..3, [4, 5]]", BOX),
        (PointField, "[2100, 0, -5]", (Length(2100.0), Length(0.0), Length(-5.0))),
        (PointField, "2100, 0, -5", (Length(2100.0), Length(0.0), Length(-5.0))),
        (AngleField, "31.5 deg", 31.5),
        (AngleField, "1:1", pytest.approx(45.0)),
        (Number, "010", 10.0),
        (Number, "1e3", 1000.0),
        (Count, "012", 12),
        (Flag, "no", False),
        (Flag, "Yes", True),
        (Flag, "TRUE", True),
        (Flag, "false", False),
        (Name, "'  tie beam '", "tie beam"),
        (Name, "1:30", "1:30"),
        (Name, "no", "no"),
    ],
)  # fmt: skip
def test_fields_read(field, text, value):
    """Each field takes the forms it says, and keeps to what is written."""
    found = read(field, f"v: {text}")

    assert found == value
    assert type(found) is not Scalar or field is Name


def test_every_part_of_a_box_has_its_path():
    """A box has six lengths and each is its own quantity, as a text and as a list."""
    expected = [f"v[{axis}][{end}]" for axis in range(3) for end in range(2)]
    for text in ("v: 0..1 x 2..3 x 4..5", "v: [0..1, 2..3, [4, 5]]"):
        assert [end.path for ends in read(BoxRanges, text) for end in ends] == expected


@pytest.mark.parametrize(
    ("field", "text", "says"),
    [
        (LengthField, "six", "1:4 'six' is not a length; write 2400, 2.4 m or 7 ft 10 in"),
        (LengthField, "", "1:3 'v' is empty; write a length such as 2400, 2.4 m or 7 ft 10 in"),
        (LengthField, "[1]", f"1:4 a list where {ONE}"),
        (LengthField, "{a: 1}", f"1:4 a table where {ONE}"),
        (PositiveLength, "-20", "1:4 '-20' must be more than 0"),
        (PositiveLength, "20 ±20", "1:4 the ± of '20 ±20' is as large as the size itself"),
        (Size3, "600 x 600", "1:4 '600 x 600' is not three sizes; write 600 x 450 x 850"),
        (Size3, "[600, 600]", "1:4 2 entries where 3 belong; write 600 x 450 x 850"),
        (Size2, "[600, 0]", "1:10 '0' must be more than 0"),
        (RangeField, "5..1", "1:4 the range '5..1' must run from the lower to the higher end"),
        (RangeField, "[5, 1]", "1:4 the range must run from the lower to the higher end"),
        (BoxRanges, "0..1",
         "1:4 '0..1' is not a box; write three ranges such as 0..5200 x 1200..1350 x 2050..2200"),
        (PointField, "1, 2", "1:4 '1, 2' is not a point; write three lengths such as 2100, 0, 0"),
        (AngleField, "steep",
         "1:4 'steep' is not an angle; write 30, 30 deg or a slope such as 1:12"),
        (Number, "3 mm", "1:4 '3 mm' is not a number; write it as 12 or 0.5, without a unit"),
        (Number, "1e999", "1:4 '1e999' is not a number; write it as 12 or 0.5, without a unit"),
        (Number, "nan", "1:4 'nan' is not a number; write it as 12 or 0.5, without a unit"),
        (Number, "1_0", "1:4 '1_0' is not a number; write it as 12 or 0.5, without a unit"),
        (Count, "-1", "1:4 '-1' is not a whole number from 0 up"),
        (Count, "1.0", "1:4 '1.0' is not a whole number from 0 up"),
        (Flag, "on", "1:4 'on' is neither yes nor no"),
        (Name, "''", "1:4 'v' is empty; write a name"),
        (Name, "' '", "1:4 'v' is empty; write a name"),
        (Name, '"a\\nb"', "1:4 the name 'a�b' must be on one line"),
        (Name, '"a\\tb"', "1:4 the name 'a�b' holds a character that cannot be printed"),
        (Name, "a" * 81, f"1:4 the name '{'a' * 59}…' is longer than 80 letters"),
    ],
)  # fmt: skip
def test_fields_refuse(field, text, says):
    """Each refusal says what is wrong with what was written, at its place."""
    assert refusal(field, f"v: {text}") == [says]


def test_each_bad_part_of_a_list_is_told_at_its_own_place():
    """Two wrong entries of a point are two faults."""
    assert refusal(PointField, "v: [x, 0, y]") == [
        "1:5 'x' is not a length; write 2400, 2.4 m or 7 ft 10 in",
        "1:11 'y' is not a length; write 2400, 2.4 m or 7 ft 10 in",
    ]
    assert refusal(BoxRanges, "v: [[x, 0], 0..y, 0..1]") == [
        "1:6 'x' is not a length; write 2400, 2.4 m or 7 ft 10 in",
        "1:13 'y' is not a length; write 2400, 2.4 m or 7 ft 10 in",
    ]


def test_a_model_may_be_made_in_code():
    """Python values go where texts go; there is then no place to tell."""
    door = Door(name="entry", leaf=(762, 1981.5, Length(44.0, 1.0)), opens_in=False, from_="right")

    assert door.leaf == (Length(762.0), Length(1981.5), Length(44.0, 1.0))
    assert (door.mark, door.mark_of("leaf"), door.path) == (None, None, "")
    assert Wall(build_up=Named(named="brick")).build_up == Named(named="brick")
    for wrong in (True, float("nan"), float("inf"), "x", None, {}):
        with pytest.raises(ValidationError):
            Door(name="entry", leaf=(762, 1981, wrong))


def test_words_of_the_file_and_of_the_code():
    """Kebab-case there, snake_case here; a trailing underscore frees a Python keyword."""
    assert Door.file_words() == ("name", "leaf", "along", "opens-in", "from", "swing")
    door = read(Door, "v: {name: a, leaf: 1 x 2 x 3, opens-in: no, from: right}")

    assert (door.opens_in, door.from_) == (False, "right")


def test_a_model_knows_where_its_words_stand():
    """The table, each value, and the table again for what was left out."""
    door = read(Door, "v:\n  name: a\n  leaf: 1 x 2 x 3\n  opens-in: no\n")

    assert (str(door.mark), door.path) == ("a:2:3", "v")
    assert str(door.mark_of("opens_in")) == "a:4:13"
    assert str(door.mark_of("swing")) == "a:2:3"
    assert str(door.name.mark) == "a:2:9"


def test_models_compare_by_what_they_say():
    """The same words at another place are an equal model, with an equal hash."""
    one = read(Door, "v: {name: a, leaf: 1 x 2 x 3}")
    two = read(Door, "\n\nv: {leaf: 1 x 2 x 3, name: a}")

    assert one == two == Door(name="a", leaf=(1, 2, 3))
    assert len({one, two}) == 1
    assert pickle.loads(pickle.dumps(one)).mark == one.mark  # noqa: S301
    assert copy.deepcopy(one).name.mark == one.name.mark
    with pytest.raises(ValidationError):
        one.name = "b"


def test_a_union_is_told_apart_by_its_form_or_key():
    """The variant meant is the only one spoken of."""
    assert read(Wall, "v: {build-up: brick}").build_up == "brick"
    assert read(Wall, "v: {build-up: {named: brick}}").build_up == Named(named="brick")
    assert refusal(Wall, "v: {build-up: {layers: [12, six]}}") == [
        "1:29 'six' is not a length; write 2400, 2.4 m or 7 ft 10 in"
    ]
    assert refusal(Wall, "v: {build-up: {layer: [12]}}") == [
        "1:15 expected 'named' or 'layers' (did you mean 'layers'?)"
    ]
    assert refusal(Wall, "v: {build-up: {layers: [1], named: b}}") == [
        "1:15 'named' and 'layers' are given together; keep one"
    ]
    assert refusal(Wall, "v: {build-up: [1]}") == [
        "1:15 this is a list where one value or a table belongs"
    ]
    assert refusal(Wall, "v: {build-up: }") == [
        "1:14 nothing is written where one value or a table belongs"
    ]
    assert refusal(Wall, "v: {build-up: {layers: [1], depth: 2}}") == [
        "1:29 unknown key 'depth'; known here: layers"
    ]


def test_by_key_may_fall_back():
    """Without any of the keys the fallback is meant."""
    choose = by_key({"walls": "walls"}, otherwise="size")

    assert [choose({}), choose({"walls": 1}), choose("5 x 6")] == ["size", "walls", "size"]
    with pytest.raises(ValueError, match="expected a table"):
        choose(None)


FIELDS = (
    LengthField, PositiveLength, Size2, Size3, RangeField, BoxRanges, PointField, AngleField,
    Number, Count, Flag, Name,
)  # fmt: skip


@pytest.mark.parametrize("field", FIELDS)
def test_each_field_describes_itself(field):
    """Every field has a JSON Schema with a description."""
    schema = TypeAdapter(field).json_schema()

    assert schema["description"]
    assert {"anyOf", "type"} & set(schema)


def test_a_model_describes_itself_in_the_words_of_the_file():
    """Keys are the file's, unknown ones are refused, and defaults are written as the file would."""
    schema = Wall.model_json_schema()
    door = Door.model_json_schema()

    assert list(schema["properties"]) == ["build-up", "sides"]
    assert schema["additionalProperties"] is False
    assert door["properties"]["along"]["default"] == "0"
    assert json.dumps(schema)


def test_written_as_json_it_reads_back():
    """What a model says in JSON is what the file would say."""

    class All(BaseModel):
        size: Size2 = (Length(1.0, 0.5), Length(2.0))
        span: RangeField = (Length(0.0), Length(2.0))
        box: BoxRanges = ((Length(0.0), Length(1.0)),) * 3
        point: PointField = (Length(1.0), Length(2.0), Length(-3.0))

    All.model_rebuild(_types_namespace=globals())
    said = json.loads(All().model_dump_json())

    assert said == {
        "size": "1 ±0.5 x 2",
        "span": "0..2",
        "box": "0..1 x 0..1 x 0..1",
        "point": "1, 2, -3",
    }
    assert All(**said) == All()
