"""The batch record call: what is written down of one batch, and what is still missing."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import (
    PH,
    Asked,
    Date,
    Days,
    Degrees,
    Flag,
    Grams,
    Key,
    Market,
    Percent,
    PercentOrZero,
    Shape,
    Text,
)
from advisor.schema.drying import BarWeighing, DryingAnswer
from advisor.schema.findings import Answer, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe, Report

Weighed = Annotated[dict[Key, Grams], Field(max_length=200)]
Lots = Annotated[dict[Key, Text], Field(max_length=200)]
Measured = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=1_000_000)]
LongText = Annotated[str, Field(strict=True, max_length=2000)]


class PHReading(Asked):
    """A pH with the dispersion it was read in [%] and its temperature [degrees Celsius]."""

    ph: PH
    at_percent: Percent
    temperature_c: Degrees | None = None


class BarTests(Asked):
    """Tests of the finished bar: mush [g per 100 cm2], wear [% lost], cracks after wet and dry cycles."""

    mush: PercentOrZero | None = None
    wear_percent: PercentOrZero | None = None
    cracks: Text | None = None
    notes: LongText | None = None


class BarTest(Asked):
    """A test of finished bars: mush [g per 100 cm2], cracks [number], wear [g a wash], lather [ml], or pH.

    ``values`` holds a figure a bar, three by rule; ``dried_days`` how long they had dried.
    """

    test: Literal["mush", "cracks", "wear", "lather", "ph"]
    values: Annotated[tuple[Measured, ...], Field(min_length=1, max_length=20)]
    dried_days: Days | None = None
    notes: LongText | None = None


class Made(Asked):
    """What is written down of what was made: by whom, of which lots, and what was seen and measured."""

    batch: Text | None = None
    product: Text | None = None
    made_on: Date | None = None
    made_by: Text | None = None
    checked_by: Text | None = None
    equipment: Text | None = None
    lots: Lots | None = None
    weighed: Weighed | None = None
    report: Report | None = None
    correction: LongText | None = None
    ph: Annotated[tuple[PHReading, ...], Field(max_length=20)] = ()
    drying: Annotated[tuple[BarWeighing, ...], Field(max_length=500)] = ()
    tests: BarTests | None = None
    bars: Annotated[int, Field(strict=True, ge=0, le=100_000)] | None = None
    packed_grams: Grams | None = None
    label_checked: Flag | None = None
    notes: LongText | None = None


class Planned(Asked):
    """What a batch was to be: its recipe and mass, and where it is sold."""

    recipe: Recipe
    batch_grams: Grams
    market: Market = "none"


class BatchRecordRequest(Made, Planned):
    """One batch: planned recipe and mass, what was weighed of which lot, and what was seen and measured."""

    materials: Materials | None = None


class RecordLine(Shape):
    """One material: lot, planned and weighed grams, and the difference [% of the planned weight]."""

    material: str
    name: str
    lot: str | None
    planned_grams: float
    weighed_grams: float | None
    deviation_percent: float | None


class BatchRecordAnswer(Answer):
    """The record as it stands, with what a record of good manufacturing practice still asks for.

    ``recipe`` is the planned one; ``yield_percent`` what was packed of what was weighed; ``dried`` how the
    bar dried, where it was weighed often enough.
    """

    record: BatchRecordRequest
    lines: tuple[RecordLine, ...]
    planned_grams: float
    weighed_grams: float | None
    yield_percent: float | None
    remarks: tuple[TextItem, ...]
    preservation: tuple[TextItem, ...]
    dried: DryingAnswer | None
    missing: tuple[TextItem, ...]
