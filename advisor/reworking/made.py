"""What a recipe is as a material: composition, declaration, allergens and flags of all its lines."""

import re
from collections.abc import Iterable, Mapping
from typing import get_args

from advisor.frozen import cached_property, dataclass
from advisor.labelling.declared import declaration
from advisor.recipe.request import Formula
from advisor.rulebook.ingredient import WATER, Ingredient, folded_name
from advisor.rulebook.label import LabelRules
from advisor.schema.base import Market
from advisor.schema.material import Charge, Flags

_AQUA = "Aqua"
_AIRBORNE = ("H33",)
_LONGEST_KEY = 64
_CHARGES: tuple[Charge, ...] = ("anionic", "amphoteric", "nonionic")


@dataclass(frozen=True)
class Made:
    """A recipe as dough, or as bars of which ``lost`` grams of water have left 100 g of dough."""

    formula: Formula
    lost: float

    @property
    def left(self) -> float:
        """What is left of 100 g of dough [g]."""
        return 100.0 - self.lost

    @cached_property
    def used(self) -> dict[str, Ingredient]:
        """The materials in it, most first."""
        amounts = self.formula.amounts
        keys = sorted((key for key in amounts if amounts[key]), key=lambda key: (-amounts[key], key))
        return {key: self.formula.ingredients[key] for key in keys}

    def _sum(self, figure: Mapping[str, float]) -> float:
        return sum(self.formula.amounts[key] * share for key, share in figure.items())

    @cached_property
    def composition(self) -> dict[str, float]:
        """Every component [% of the rework]; water is what has not left."""
        masses: dict[str, float] = {}
        spelled: dict[str, str] = {}
        for key, one in self.used.items():
            for name, percent in one.material.composition.items():
                folded = folded_name(name)
                spelled.setdefault(folded, _AQUA if folded == WATER else name)
                masses[folded] = masses.get(folded, 0.0) + self.formula.amounts[key] * percent / 100
        masses[WATER] = masses.get(WATER, 0.0) - self.lost
        return {
            spelled.get(name, _AQUA): 100 * mass / self.left for name, mass in masses.items() if mass > 1e-12
        }

    @property
    def aqua(self) -> float:
        """The water of the dough that stands on a label [%]."""
        return self._sum({key: one.holds(_AQUA) for key, one in self.used.items()})

    @property
    def active(self) -> float:
        """Active matter [% of the rework]."""
        return 100 * self._sum({key: one.active for key, one in self.used.items()}) / self.left

    @property
    def water(self) -> float:
        """Water of every kind [% of the rework]."""
        held = self._sum({key: one.water for key, one in self.used.items()})
        return max(0.0, 100 * (held - self.lost) / self.left)

    @property
    def price(self) -> float | None:
        """What a kilogram of it cost; None where a price is not known."""
        cost = self.formula.measures.price(self.formula.amounts)
        return None if cost is None else 100 * cost / self.left

    @property
    def charge(self) -> Charge:
        """The charge class of most of its active matter."""
        measures, amounts = self.formula.measures, self.formula.amounts
        by_class = {of: measures.active_of_class(of).of(amounts) or 0.0 for of in _CHARGES}
        most = max(_CHARGES, key=lambda of: by_class[of])
        return most if by_class[most] else "none"

    @property
    def hazards(self) -> tuple[str, ...]:
        """Hazards of its materials, but for those of dust and vapour: it is a kneaded mass."""
        every = _once(code for one in self.used.values() for code in one.material.hazards)
        return tuple(code for code in every if not code.startswith(_AIRBORNE))

    @property
    def allergens(self) -> tuple[str, ...]:
        """Whatever any of its materials names."""
        return _once(text for one in self.used.values() for text in one.material.allergens)

    @property
    def flags(self) -> Flags:
        """What all of its materials are, or any; left out where one of them does not say."""
        all_are = {flag: self._all_are(flag) for flag in ("sulfate_free", "vegan")}
        return Flags(**all_are, **{flag: self._any_is(flag) for flag in ("ethoxylated", "palm")})

    def _told(self, flag: str) -> list[bool | None]:
        return [getattr(one.material.flags, flag, None) for one in self.used.values()]

    def _all_are(self, flag: str) -> bool | None:
        told = self._told(flag)
        return False if False in told else None if None in told else True

    def _any_is(self, flag: str) -> bool | None:
        told = self._told(flag)
        return True if True in told else None if None in told else False

    def declared(self, rules: LabelRules) -> dict[Market, tuple[str, ...]]:
        """Return the names its materials bring to a label, by market."""
        return {
            market: _once(
                entry.name
                for one in self.used.values()
                for entry in declaration(one.material, market, rules).names
                if self.composition.get(_AQUA) or folded_name(entry.name) != WATER
            )
            for market in get_args(Market)
            if market != "none"
        }

    @property
    def key(self) -> str:
        """A key from the name of the recipe."""
        slug = re.sub(r"[^a-z0-9]+", "-", self.formula.written.name.casefold()).strip("-")
        return f"rework-{slug}"[:_LONGEST_KEY].strip("-")


def _once(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))
