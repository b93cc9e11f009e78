"""The shape of rules/findings.toml: what stands out in a recipe."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.rulebook.table import Id, Positive, Sentence, Sourced, Table


class DoughFinding(Sourced):
    """A measure of a recipe with the bound beyond which it stands out."""

    id: Id
    measure: Literal[
        "oil_per_powder", "watery_share", "coarse_share", "humectants", "humectants_of_liquids", "components"
    ]
    components: tuple[str, ...] = ()
    over: Positive | None = None
    under: Positive | None = None
    text: Sentence


class FindingsFile(Table):
    """rules/findings.toml."""

    at_most_in_text: Annotated[int, Field(ge=1)]
    dough: tuple[DoughFinding, ...]
    text: dict[str, Sentence]
