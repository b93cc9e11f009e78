"""What every shape of the contract shares: strict fields and bounded numbers."""

import datetime
import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator


class Shape(BaseModel):
    """A frozen shape that refuses fields it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Asked(Shape):
    """A shape of a request: null is the same as absent."""

    @model_validator(mode="before")
    @classmethod
    def _null_is_absent(cls, fields: Any) -> Any:
        if isinstance(fields, dict) and None in fields.values():
            return {name: value for name, value in fields.items() if value is not None}
        return fields


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
