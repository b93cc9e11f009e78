"""Says what may be added to a dough in the bowl, in which order of preference."""

from collections.abc import Mapping, Sequence
from typing import Literal

from advisor.demands.context import DemandContext
from advisor.demands.move_prices import hash_share
from advisor.frozen import dataclass
from advisor.optimise.addition import Option
from advisor.optimise.row import Row
from advisor.recipe.demand import Measure
from advisor.rulebook.bowl import Levers
from advisor.rulebook.feels import Route
from advisor.rulebook.ingredient import Ingredient

Direction = Literal["wetter", "drier", "binding", "both"]
OWN_POWDERS, OWN_LIQUIDS = "own powders", "own watery liquids"
_TIE_BREAKER = 1e-6
_DIRECTIONS: dict[Route, Direction] = {"wetter": "wetter", "drier": "drier", "cohesion": "binding"}


def direction_of(route: Route) -> Direction:
    """Return what a report lets be added: only liquid, only powder, only what binds grains, or any.

    Examples
    --------
    >>> direction_of("drier"), direction_of("cohesion")
    ('drier', 'binding')
    """
    return _DIRECTIONS.get(route, "both")


def wets(one: Ingredient) -> bool:
    """Tell whether a material goes into a dough as a liquid."""
    return one.liquid_warm > 0


def goes_with(one: Ingredient, direction: Direction) -> bool:
    """Tell whether a material does not push the dough further the wrong way.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> goes_with(load_rulebook().ingredients["kaolin"], "wetter")
    False
    """
    if direction == "binding":
        return wets(one) and one.watery > 0
    return direction == "both" or wets(one) == (direction == "wetter")


@dataclass(frozen=True)
class AdditionOptions:
    """What may be reached for: ``offered`` by key, whether as the recipe's own blend, and at which price.

    ``own_blend`` is true where no shelf was named: then the recipe's own powders and watery liquids come
    first, each in its own proportions. ``by_price`` counts money instead of grams.
    """

    context: DemandContext
    rules: Levers
    direction: Direction
    offered: frozenset[str]
    own_blend: bool
    by_price: bool = False

    def options(self) -> list[Option]:
        """Return what may be added, in canonical order."""
        singles = [key for key in sorted(self.offered) if self._is_lever(key)]
        topped = [key for key in sorted(self.offered) if key not in singles and self._tops_up(key)]
        found = [self._single(key, self.rules.beside_blend if self.own_blend else 1.0) for key in singles]
        found += [self._single(key, 1.0) for key in topped]
        if self.own_blend:
            for name in (OWN_POWDERS, OWN_LIQUIDS):
                found += self._blend(name, singles)
        return sorted(found, key=lambda option: option.name)

    def topping_rows(self) -> list[Row]:
        """Return the rows that keep what is only topped up at its own share of the recipe."""
        rows = []
        for key in sorted(self.offered):
            if not self._is_lever(key) and self._tops_up(key):
                band = self.context.wishes.lines.get(key)
                most = max(self.context.amounts[key], (band.min or 0.0) if band else 0.0)
                line = Measure({key: 1.0}, None, 100.0)
                rows.append(line.row(f"topped:{key}", "max", most, tuple(self.context.ingredients), None))
        return rows

    @property
    def levers(self) -> frozenset[str]:
        """What is offered and may move the dough."""
        return frozenset(key for key in self.offered if self._is_lever(key))

    def _is_lever(self, key: str) -> bool:
        one, held = self.context.ingredients[key], self.context.program.held
        return (
            one.main_role in self.rules.roles
            and one.material.form in self.rules.forms
            and 100 * one.holds(*held.components) < held.at_least_percent
            and not (one.material.soluble and not wets(one))
            and goes_with(one, self.direction)
            and not self._is_oil_beside_better(one)
        )

    def _is_oil_beside_better(self, one: Ingredient) -> bool:
        """Tell whether a dry dough has a liquid that binds its grains, which this one does not."""
        has_better = any(self.context.ingredients[key].watery for key in self.offered)
        return self.own_blend and self.direction == "wetter" and not one.watery and wets(one) and has_better

    def _tops_up(self, key: str) -> bool:
        """Tell whether a material is only made up for: a preservative, or what the maker set a band for."""
        one = self.context.ingredients[key]
        if key in self.context.wishes.fixed or key in self.context.wishes.lines:
            return goes_with(one, self.direction)
        use, own = one.material.use, self.context.amounts[key]
        preserves = one.main_role == "preservative" and own and use and use.min and own >= use.min
        return bool(preserves) and not (self.direction == "drier" and wets(one))

    def _single(self, key: str, factor: float) -> Option:
        return Option(key, {key: 1.0}, self._price(key) * factor, newcomer=not self.context.amounts[key])

    def _price(self, key: str) -> float:
        one = self.context.ingredients[key]
        tie = 1 + _TIE_BREAKER * hash_share(key)
        if self.by_price:
            return max(one.price or 0.0, _TIE_BREAKER) * tie
        return self.rules.roles.get(one.material.roles[0], 1.0) * tie

    def _blend(self, name: str, singles: Sequence[str]) -> list[Option]:
        own = self.context.amounts
        watery = name == OWN_LIQUIDS
        members = {
            key: own[key]
            for key in singles
            if own[key] and self._belongs(self.context.ingredients[key], watery)
        }
        members = _without_crumbs(members, self.rules.member_at_least)
        if len(members) < 2:
            only = next(iter(members), None)
            return [] if only is None else [Option(name, {only: 1.0}, self._blended({only: 1.0}))]
        whole = sum(members.values())
        shares = {key: amount / whole for key, amount in members.items()}
        return [Option(name, shares, self._blended(shares))]

    def _belongs(self, one: Ingredient, watery: bool) -> bool:
        return wets(one) and one.is_surfactant if watery else not wets(one)

    def _blended(self, shares: Mapping[str, float]) -> float:
        if self.by_price:
            return sum(share * self._price(key) for key, share in shares.items())
        return self.rules.own_blend


def _without_crumbs(members: Mapping[str, float], least: float) -> dict[str, float]:
    whole = sum(members.values())
    return {key: amount for key, amount in members.items() if amount >= least * whole}
