"""The shape of rules/record.toml: what a batch record asks for."""

from typing import Annotated

from pydantic import Field

from advisor.rulebook.table import Id, Positive, Sourced, Table


class RecordItem(Table):
    """One thing a batch record asks for, and the field of the record that answers it."""

    id: Id
    field: str
    text: str
    each: bool = False


class RecordRules(Sourced):
    """rules/record.toml: what a record asks for and does not say, which deviation is remarked on [%]."""

    deviation_percent: Positive
    not_said: tuple[Id, ...]
    item: Annotated[tuple[RecordItem, ...], Field(min_length=1)]
    text: dict[str, str]
