"""What every shape of the contract shares: strict fields and bounded numbers."""

import datetime
import json
import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema


class Shape(BaseModel):
    """A frozen shape that refuses fields it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)

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

    @model_validator(mode="before")
    @classmethod
    def _null_is_absent(cls, fields: Any) -> Any:
        if isinstance(fields, dict) and None in fields.values():
            return {name: value for name, value in fields.items() if value is not None}
        return fields


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
Price = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
Degrees = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-50, le=400)]
Minutes = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
PH = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=14)]
Flag = Annotated[bool, Field(strict=True)]
Count = Annotated[int, Field(strict=True, ge=0, le=100)]
KEY_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
Key = Annotated[str, Field(strict=True, pattern=KEY_PATTERN, max_length=64)]
Text = Annotated[str, Field(strict=True, max_length=200)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200, pattern=r"\S")]

Basis = Literal["published", "practice", "estimate", "memory", "own"]
Market = Literal["eu", "uk", "us", "ca", "jp", "none"]
Degree = Literal["slight", "clear", "severe"]
