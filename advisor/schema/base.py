"""What every shape of the contract shares: strict fields, bounded numbers, and words listed in the rules."""

import datetime
import json
import re
from collections.abc import Iterator
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import MaxLen
from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, InitErrorDetails, PydanticCustomError, core_schema

from advisor.frozen import dataclass

MOST_FAULTS = 50
WHOLE = 100.0


class Shape(BaseModel):
    """A frozen shape that refuses fields it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Describe the shape without titles and defaults, which say nothing true of what is on the wire."""
        described = handler(schema)
        found = handler.resolve_ref_schema(described)
        if "properties" in found:
            found["properties"] = {
                name: cls._described(field, required=name in found.get("required", ()))
                for name, field in found["properties"].items()
            }
        return described

    @classmethod
    def _described(cls, field: JsonSchemaValue, *, required: bool) -> JsonSchemaValue:
        return {name: value for name, value in field.items() if name not in ("title", "default")}


class Asked(Shape):
    """A shape of a request: null is the same as absent."""

    @classmethod
    def _described(cls, field: JsonSchemaValue, *, required: bool) -> JsonSchemaValue:
        """Describe a field; what may be left out may also be null, and what it then is stands in words."""
        plain, default = super()._described(field, required=required), field.get("default")
        if required:
            return plain
        if default not in (None, []):
            words = (plain.pop("description", ""), f"Without it: {json.dumps(default)}.")
            plain["description"] = " ".join(filter(None, words))
        null = {"type": "null"}
        if "anyOf" in plain:
            return {**plain, "anyOf": [one for one in plain["anyOf"] if one != null] + [null]}
        about = {name: plain.pop(name) for name in ("description",) if name in plain}
        return {"anyOf": [plain, null], **about}

    @model_validator(mode="wrap")
    @classmethod
    def _bounded(cls, fields: Any, read: Any, info: ValidationInfo) -> Any:
        """Leave nulls out, look at lengths before contents, and stop looking once enough is wrong."""
        if not isinstance(fields, dict):
            return read(fields)
        found: Faulty | None = (info.context or {}).get("faulty")
        if found is not None and found.count >= MOST_FAULTS:
            return cls.model_construct(**dict.fromkeys(cls.model_fields))
        before = 0 if found is None else found.count
        if None in fields.values():
            fields = {name: value for name, value in fields.items() if value is not None}
        try:
            cls._check_lengths(fields)
            return read(fields)
        except ValidationError as error:
            if found is not None:
                found.count = max(found.count, before + error.error_count())
            raise

    @classmethod
    def _check_lengths(cls, fields: dict[str, Any]) -> None:
        for name, most in _longest(cls).items():
            value = fields.get(name)
            if isinstance(value, (list, tuple, dict)) and len(value) > most:
                kind = "Dictionary" if isinstance(value, dict) else "Tuple"
                context = {"field_type": kind, "max_length": most, "actual_length": len(value)}
                fault = InitErrorDetails(type="too_long", loc=(name,), input=None, ctx=context)
                raise ValidationError.from_exception_data(cls.__name__, [fault])


class Faulty:
    """Counts what is wrong with a request; beyond ``MOST_FAULTS`` nothing more is looked at."""

    def __init__(self) -> None:
        self.count = 0


@cache
def _longest(shape: type[BaseModel]) -> dict[str, int]:
    """Return the greatest length of every field of a shape that has one."""
    found = {}
    for name, field in shape.model_fields.items():
        lengths = [
            *_lengths(field.annotation),
            *(one.max_length for one in field.metadata if isinstance(one, MaxLen)),
        ]
        if lengths:
            found[name] = max(lengths)
    return found


def _lengths(annotation: Any) -> Iterator[int]:
    """Yield the greatest lengths of the lists and tables an annotation allows, not of what is in them."""
    if get_origin(annotation) in (Union, UnionType):
        for one in get_args(annotation):
            yield from _lengths(one)
    for mark in getattr(annotation, "__metadata__", ()):
        for one in getattr(mark, "metadata", ()):
            if isinstance(one, MaxLen):
                yield one.max_length


@dataclass(frozen=True)
class Extensible:
    """Marks words of an answer that later versions may add to: shown as examples, not as a closed list."""

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Describe the words known today."""
        found = handler(schema)
        words = found["enum"] if "enum" in found else [found["const"]]
        return {"type": "string", "examples": words, "description": "More words may come."}


_WRITTEN_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _written_date(value: Any) -> Any:
    """Refuse what pydantic would take for a date besides one: numbers, points in time."""
    if isinstance(value, str) and _WRITTEN_DATE.fullmatch(value):
        return value
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    raise ValueError("needs a date as in 2026-05-31")


Date = Annotated[datetime.date, BeforeValidator(_written_date)]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Percent = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=100)]
PercentOrZero = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=100)]
Grams = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1_000_000)]
GramsOrZero = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
BalanceStep = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.0001, le=1_000_000)]
Price = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
Degrees = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-50, le=400)]
Days = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=100_000)]
Minutes = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
PH = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=14)]
Flag = Annotated[bool, Field(strict=True)]
Count = Annotated[int, Field(strict=True, ge=0, le=100)]
KEY_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
Key = Annotated[str, Field(strict=True, pattern=KEY_PATTERN, max_length=64)]
Text = Annotated[str, Field(strict=True, max_length=200)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200, pattern=r"\S")]

Basis = Literal["published", "practice", "estimate", "memory", "own", "pooled"]
Market = Literal["eu", "uk", "us", "ca", "jp", "none"]
UsedOn = Literal["hand_and_body", "face", "hair"]
Degree = Literal["slight", "clear", "severe"]


_LISTED_AS = "x-words"


@dataclass(frozen=True)
class WordOf:
    """Marks a text that must be one of the rules' words of a kind.

    The words come with the validation, as ``context={"words": rulebook.words}``; without them any text that
    is written as a word is taken.
    """

    kind: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        """Look the word up after it was read."""
        return core_schema.with_info_after_validator_function(self._known, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Describe it by its kind, until ``spelled_out`` names the words."""
        return {"type": "string", _LISTED_AS: self.kind}

    def _known(self, value: str, info: ValidationInfo) -> str:
        known = (info.context or {}).get("words", {}).get(self.kind)
        if known is not None and value not in known:
            *most, last = map(repr, known)
            expected = f"{', '.join(most)} or {last}" if most else last
            raise PydanticCustomError("word", "Input should be {expected}", {"expected": expected})
        return value


_Word = Annotated[str, Field(strict=True, pattern=r"^[a-z0-9]+(_[a-z0-9]+)*$", max_length=64)]
Feel = Annotated[_Word, WordOf("feel")]
Sign = Annotated[_Word, WordOf("sign")]


def spelled_out(schema: Any, words: Any) -> Any:
    """Return a JSON schema in which each kind of word is the list of its words.

    Examples
    --------
    >>> spelled_out({"type": "string", "x-words": "feel"}, {"feel": ("too_wet", "too_dry")})
    {'type': 'string', 'enum': ['too_wet', 'too_dry']}
    """
    if isinstance(schema, list):
        return [spelled_out(one, words) for one in schema]
    if not isinstance(schema, dict):
        return schema
    found = {name: spelled_out(value, words) for name, value in schema.items() if name != _LISTED_AS}
    if _LISTED_AS in schema:
        found["enum"] = list(words[schema[_LISTED_AS]])
    return found
