"""The shapes of rules/label.toml and rules/claims.toml: what a label names, and what it may promise."""

import re
from functools import lru_cache
from typing import Annotated, Literal

from pydantic import Field

from advisor.frozen import cached_property
from advisor.rulebook.table import Id, Sourced, Table, Worded
from advisor.schema.base import Market, Percent
from advisor.schema.material import Material, Role
from advisor.schema.recipe import Claim

Names = Annotated[tuple[str, ...], Field(min_length=1)]
_IN_BRACKETS = re.compile(r"\s*\([^)]*\)")


@lru_cache(maxsize=4096)
def plain_name(name: str) -> str:
    """Return a name without case and without words in brackets.

    Examples
    --------
    >>> plain_name("Avena Sativa (Oat) Kernel Flour")
    'avena sativa kernel flour'
    """
    return " ".join(_IN_BRACKETS.sub("", name).split()).casefold() or name.casefold()


class FreeOrder(Sourced):
    """Below this percent ingredients may stand in any order."""

    percent: Percent


class LabelMarket(Sourced):
    """How one market writes an ingredient list."""

    names_of: Market
    water: str
    parfum: str
    one_percent_is_free: bool


class CarrierRules(Sourced):
    """From which percent of a liquid its undeclared water counts as an ingredient."""

    water_percent: Percent


class Heeded(Table):
    """Which cautions a call carries, by their id."""

    cautions: tuple[Id, ...]


class LabelNames(Table):
    """Names that are written in one way on a label."""

    water: Names
    parfum: Names


class ShorterList(Sourced):
    """The fragrance allergens of a market with a list of its own."""

    market: Market
    names: Names


class AllergenRules(Sourced):
    """Fragrance allergens, named above a threshold [% of the product]."""

    rinse_off_percent: Percent
    markets: tuple[Market, ...]
    names: Names
    members: dict[str, str]
    shorter: tuple[ShorterList, ...] = ()

    def of(self, market: Market) -> Names:
        """Return the list of a market."""
        return next((one.names for one in self.shorter if one.market == market), self.names)


class FormaldehydeRules(Sourced):
    """When the label says that formaldehyde is released [% of the product]."""

    percent: Percent
    markets: tuple[Market, ...]


class AlsoOnLabel(Sourced):
    """What a label carries besides the ingredient list; ``says`` is how, the first that can be filled."""

    id: Id
    text: str
    markets: tuple[Market, ...]
    says: tuple[str, ...] = ()


class MakerRemark(Table):
    """What a maker should know although no law orders a warning."""

    id: Id
    words: Names
    text: str


class LabelRules(Worded):
    """rules/label.toml."""

    free_order: FreeOrder
    market: dict[Market, LabelMarket]
    carrier: CarrierRules
    names: LabelNames
    heed: Heeded
    allergens: AllergenRules
    formaldehyde: FormaldehydeRules
    also: tuple[AlsoOnLabel, ...]
    maker: tuple[MakerRemark, ...]

    @cached_property
    def listed(self) -> dict[str, str]:
        """The entry of a list of fragrance allergens for each name that stands for it."""
        lists = (self.allergens.names, *(one.names for one in self.allergens.shorter))
        listed = {self.key(name): name for names in lists for name in names}
        return listed | {self.key(name): entry for name, entry in self.allergens.members.items()}

    @cached_property
    def _one_name(self) -> dict[str, str]:
        names = {plain_name(name): "aqua" for name in self.names.water}
        return names | {plain_name(name): "parfum" for name in self.names.parfum}

    def key(self, name: str) -> str:
        """Return the form of a name by which two spellings are the same ingredient.

        Case and words in brackets do not matter; all names of water are one, as are those of parfum.
        """
        plain = plain_name(name)
        return self._one_name.get(plain, plain)


class ClaimRules(Sourced):
    """One promise: a flag with its value, roles and words of a component's name that break it."""

    name: str
    flag: Literal["sulfate_free", "ethoxylated", "palm", "vegan"] | None = None
    value: bool = True
    without_roles: tuple[Role, ...] = ()
    without_words: tuple[str, ...] = ()

    def kept_by(self, material: Material) -> bool:
        """Tell whether a material is known to keep the promise."""
        if self.flag is not None and getattr(material.flags, self.flag, None) is not self.value:
            return False
        names = " ".join(material.composition).casefold()
        return not set(self.without_roles) & set(material.roles) and not any(
            word in names for word in self.without_words
        )


class ClaimsFile(Table):
    """rules/claims.toml."""

    claim: dict[Claim, ClaimRules]
