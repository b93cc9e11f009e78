"""The shape of rules/claims.toml: what a promise on the label asks of every material."""

from typing import Literal

from advisor.rulebook.table import Sourced, Table
from advisor.schema.material import Material, Role
from advisor.schema.recipe import Claim


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
