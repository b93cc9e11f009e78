"""What every table of a rules file has: strict fields, and for figures a basis and a source."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from advisor.frozen import cached_property
from advisor.schema.base import Basis, Degree
from advisor.schema.findings import TextItem

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
Positive = Annotated[float, Field(strict=True, gt=0, allow_inf_nan=False)]
Sentence = Annotated[str, Field(min_length=2, max_length=400, pattern=r"[.?]$")]
Source = Annotated[str, Field(min_length=2, max_length=250)]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
ByDegree = dict[Degree, Positive]


class Table(BaseModel):
    """A table of a rules file."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True, ignored_types=(cached_property,))


class Sourced(Table):
    """A table of figures with what they rest on."""

    basis: Basis
    source: Source


class Worded(Table):
    """A file of rules with the sentences that are said of them, by name."""

    text: dict[str, str]

    def said(self, name: str, /, **filled: object) -> TextItem:
        """Return a sentence with what it names filled in; it goes by its name."""
        return TextItem(id=name.replace("_", "-"), text=self.text[name].format(**filled))


class Ends(Table):
    """A band of a measure."""

    min: Positive
    max: Positive


class Edition(Table):
    """The edition of the rules."""

    edition: Annotated[str, Field(pattern=r"^\d{4}\.\d{1,2}\.\d+$")]
