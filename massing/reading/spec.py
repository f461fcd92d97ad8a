"""The base of every file model: a table in, frozen values out that still know their places."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar, Literal, Self, get_args, get_origin

from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    ModelWrapValidatorHandler,
    PrivateAttr,
    Tag,
    ValidationInfo,
    model_validator,
)
from pydantic.json_schema import DEFAULT_REF_TEMPLATE, GenerateJsonSchema, JsonSchemaMode
from pydantic_core import core_schema

from massing.errors import Mark
from massing.reading.nodes import Table
from massing.reading.words import nearest
from massing.units import Length

__all__ = ["VARIANT", "Spec", "by_form", "by_key", "file_word", "one_of", "variant"]

VARIANT = "variant: "
"""Begins the name of a union's variant, so that no key of a file is taken for one."""

Chooser = Callable[[Any], str]


def file_word(name: str) -> str:
    """The word a file uses for a field: ``build_up`` is ``build-up``, ``from_`` is ``from``.

    >>> file_word("build_up"), file_word("from_")
    ('build-up', 'from')
    """
    return name.rstrip("_").replace("_", "-")


class _FileSchema(GenerateJsonSchema):
    """Writes defaults as a file would: a length as its text, several as a list of texts."""

    def encode_default(self, dft: Any) -> Any:
        return super().encode_default(_as_written(dft))


def _as_written(value: Any) -> Any:
    if isinstance(value, Length):
        return str(value)
    if isinstance(value, list | tuple):
        return [_as_written(entry) for entry in value]
    return value


class _Origin:
    """The table a model was read from; never a reason for two models to differ."""

    __slots__ = ("table",)

    def __init__(self, table: Table | None = None) -> None:
        self.table = table

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Origin)

    def __hash__(self) -> int:
        return 0


class Spec(BaseModel):
    """A frozen model of one table of a file, in the file's own words.

    Fields are snake_case here and kebab-case there. Unknown keys are faults. ``mark`` is where
    the table begins and ``mark_of("field")`` where that key's value stands; both are ``None`` for
    a model made in code.

    >>> class Door(Spec):
    ...     name: str
    ...     opens_in: str = "yes"
    >>> Door.model_validate({"name": "entry", "opens-in": "no"})
    Door(name='entry', opens_in='no')
    """

    # A model is built when it first reads something: most are only ever read inside another.
    model_config: ClassVar[ConfigDict] = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=file_word,
        populate_by_name=True,
        defer_build=True,
    )

    _origin: _Origin = PrivateAttr(default_factory=_Origin)

    @model_validator(mode="wrap")
    @classmethod
    def _keep_origin(
        cls, value: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo
    ) -> Self:
        if isinstance(value, Table):
            if isinstance(info.context, dict):
                info.context[id(value)] = cls.file_words()
            made = handler(cls._with_whole_numbers(value))
            if made._origin.table is None:  # noqa: SLF001
                made._origin = _Origin(value)  # noqa: SLF001
            return made
        return handler(value)

    @classmethod
    def _with_whole_numbers(cls, table: Table) -> Mapping[str, Any]:
        """The table, with the text of a ``Literal[1]`` field as the number it must equal."""
        whole = {
            word: int(text)
            for word, field in zip(cls.file_words(), cls.model_fields.values(), strict=True)
            if get_origin(field.annotation) is Literal
            and any(type(choice) is int for choice in get_args(field.annotation))
            and isinstance(text := table.get(word), str)
            and text.isascii()
            and text.isdigit()
            and len(text) < 10
        }
        return {**table, **whole} if whole else table

    @classmethod
    def file_words(cls) -> tuple[str, ...]:
        """The keys a file may use here, in the order they are declared."""
        return tuple(field.alias or name for name, field in cls.model_fields.items())

    @classmethod
    def model_json_schema(
        cls,
        by_alias: bool | None = True,
        ref_template: str = DEFAULT_REF_TEMPLATE,
        schema_generator: type[GenerateJsonSchema] = _FileSchema,
        mode: JsonSchemaMode = "validation",
        **more: Any,
    ) -> dict[str, Any]:
        """The JSON Schema of the file, its defaults written as the file writes them."""
        return super().model_json_schema(by_alias, ref_template, schema_generator, mode, **more)

    @property
    def mark(self) -> Mark | None:
        """Where the table begins."""
        return self._origin.table.mark if self._origin.table is not None else None

    @property
    def path(self) -> str:
        """Which table of the file this is (``room.doors[0]``); empty for one made in code."""
        return self._origin.table.path if self._origin.table is not None else ""

    def mark_of(self, name: str) -> Mark | None:
        """Where the value of a field stands; the table's own place when it was left out."""
        table = self._origin.table
        if table is None:
            return None
        field = type(self).model_fields.get(name)
        word = field.alias if field is not None and field.alias else name
        return table.mark_of(word if word in table else name)


def variant(name: str) -> Tag:
    """Name one member of a union for :class:`one_of`."""
    return Tag(VARIANT + name)


class one_of:  # noqa: N801 - reads as an annotation
    """Choose one member of a union by looking at the value, so faults speak of that one only.

    ``choose`` returns the name of a variant, or raises ValueError saying what was expected.

    >>> from typing import Annotated
    >>> from pydantic import TypeAdapter
    >>> class Flat(Spec):
    ...     flat: int
    >>> class Pitched(Spec):
    ...     pitch: int
    >>> Ceiling = Annotated[
    ...     Annotated[Flat, variant("flat")] | Annotated[Pitched, variant("pitched")],
    ...     one_of(by_key({"flat": "flat", "pitch": "pitched"})),
    ... ]
    >>> TypeAdapter(Ceiling).validate_python({"pitch": 30})
    Pitched(pitch=30)
    """

    def __init__(self, choose: Chooser) -> None:
        self._choose = choose

    def _tag(self, value: Any) -> str:
        return VARIANT + self._choose(value)

    def _check(self, value: Any) -> Any:
        self._choose(value)
        return value

    def __get_pydantic_core_schema__(
        self, source: Any, handler: Callable[[Any], core_schema.CoreSchema]
    ) -> core_schema.CoreSchema:
        chosen = Discriminator(self._tag).__get_pydantic_core_schema__(source, handler)  # type: ignore[arg-type]
        return core_schema.no_info_before_validator_function(self._check, chosen)


def by_key(variants: Mapping[str, str], *, otherwise: str | None = None) -> Chooser:
    """Choose by which key of the file the table holds; ``otherwise`` when it holds none.

    >>> choose = by_key({"flat": "flat", "slopes": "sloped"})
    >>> choose({"slopes": {}})
    'sloped'
    >>> choose({"flat": 2300, "slopes": {}})
    Traceback (most recent call last):
    ...
    ValueError: 'flat' and 'slopes' are given together; keep one
    """
    known = " or ".join(f"'{key}'" for key in variants)

    def choose(value: Any) -> str:
        if not isinstance(value, Mapping | BaseModel):
            if otherwise is not None and value is not None:
                return otherwise
            raise ValueError(f"expected a table with {known}")
        held = [key for key in variants if _holds(value, key)]
        if len({variants[key] for key in held}) > 1:
            told = " and ".join(f"'{key}'" for key in held)
            raise ValueError(f"{told} are given together; keep one")
        if held:
            return variants[held[0]]
        if otherwise is not None:
            return otherwise
        near = (nearest(str(key), tuple(variants)) for key in value) if _is_map(value) else ()
        meant = next((word for word in near if word), None)
        raise ValueError(f"expected {known}" + (f" (did you mean '{meant}'?)" if meant else ""))

    return choose


def by_form(
    *, text: str | None = None, table: str | Chooser | None = None, rows: str | None = None
) -> Chooser:
    """Choose by whether the value is a text, a table or a list.

    >>> choose = by_form(text="named", table=by_key({"walls": "measured"}))
    >>> choose("half-brick"), choose({"walls": 120})
    ('named', 'measured')
    """
    forms = {"one value": text, "a table": table, "a list": rows}
    known = " or ".join(form for form, name in forms.items() if name is not None)

    def choose(value: Any) -> str:
        form = "one value"
        if isinstance(value, Mapping | BaseModel):
            form = "a table"
        elif isinstance(value, list | tuple):
            form = "a list"
        name = None if value is None else forms[form]
        if name is None:
            told = "nothing is written" if value is None else f"this is {form}"
            raise ValueError(f"{told} where {known} belongs")
        return name if isinstance(name, str) else name(value)

    return choose


def _is_map(value: Any) -> bool:
    return isinstance(value, Mapping)


def _holds(value: Any, key: str) -> bool:
    """Whether the table, or the model made in code, says anything under ``key``."""
    if isinstance(value, Mapping):
        return key in value or key.replace("-", "_") in value
    name = key.replace("-", "_")
    return (getattr(value, name, None) or getattr(value, name + "_", None)) is not None
