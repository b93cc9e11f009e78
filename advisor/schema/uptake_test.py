"""The bench test of a powder's demand for liquid: request and answer."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from advisor.schema.base import Asked, Grams, Key, Shape
from advisor.schema.findings import Answer, TextItem
from advisor.schema.material import Materials

Step = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=100)]


class Repeat(Asked):
    """One run of the test: liquid used [g] at the first ball, when smooth, and when it begins to stick."""

    first_ball: Grams | None = None
    smooth: Grams
    sticks: Grams | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        seen = [grams for grams in (self.first_ball, self.smooth, self.sticks) if grams is not None]
        if seen != sorted(seen):
            raise ValueError("needs first_ball <= smooth <= sticks")
        return self


class UptakeTest(Asked):
    """A bench test of one powder; without repeats the answer is the form to fill in."""

    material: Key
    liquid: Key = "water"
    powder_grams: Grams | None = None
    step_grams: Step | None = None
    repeats: Annotated[tuple[Repeat, ...], Field(max_length=20)] = ()


class UptakeTestRequest(UptakeTest):
    """A bench test with the materials it names."""

    materials: Materials | None = None


class TakenUp(Shape):
    """Grams of reference liquid one gram of a powder takes up, with its 80 % interval."""

    typical: float
    low: float
    high: float
    basis: str


class FormField(Shape):
    """One figure to write down."""

    name: str
    text: str
    unit: str


class UptakeTestAnswer(Answer):
    """What the test says, beside the library and weighed against it.

    ``measured`` is the test alone, ``prior`` the library's figure, ``combined`` what doughs are judged by
    from now on; null without repeats. ``relative_sd`` is the standard deviation of ln(measured).
    """

    material: str
    measured: TakenUp | None
    relative_sd: float | None
    repeat_sd: float | None
    prior: TakenUp
    combined: TakenUp | None
    window: float | None
    steps: tuple[TextItem, ...]
    form: tuple[FormField, ...]
