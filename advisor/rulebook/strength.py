"""The shape of rules/strength.toml."""

from typing import Annotated

from pydantic import Field

from advisor.rulebook.table import Share, Sourced, Worded


class StrengthRules(Sourced, Worded):
    """rules/strength.toml: how the strength of a batch is spread."""

    exact_pieces_at_most: Annotated[int, Field(ge=2, le=100_000)]
    draws: Annotated[int, Field(ge=1000)]
    seed: Annotated[int, Field(ge=0)]
    interval: Share
