"""The shape of rules/sources.toml: what was read where and when, and the ways of knowing."""

import datetime
from typing import Annotated

from pydantic import Field, RootModel

from advisor.rulebook.reader import written_day
from advisor.rulebook.table import Id, Table
from advisor.schema.base import Basis


class SourceRules(Table):
    """A document with the place in it and the day it was read, or a way of knowing."""

    title: Annotated[str, Field(min_length=1)]
    place: str = ""
    read: datetime.date | None = None
    basis: Basis

    @property
    def cited(self) -> str:
        """The source in one line."""
        parts = (self.title.rstrip("."), self.place.rstrip("."), written_day(self.read))
        return "; ".join(part for part in parts if part)


class SourcesFile(RootModel[dict[Id, SourceRules]]):
    """rules/sources.toml."""
