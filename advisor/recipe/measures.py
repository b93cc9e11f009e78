"""The sums over a recipe: strength, water, liquids, wetness, cohesion, price, as dried."""

from collections.abc import Mapping
from typing import Literal

from advisor.frozen import cached_property, dataclass, replace
from advisor.recipe.demand import Measure
from advisor.rulebook.ingredient import WATER, Ingredient, folded_name
from advisor.schema.findings import AsDried, Totals
from advisor.schema.material import Role

_HARSH = 5
Amounts = Mapping[str, float]
End = Literal["low", "typical", "high"]


@dataclass(frozen=True)
class Measures:
    """The measures over a set of ingredients; each is a quotient of sums, so it holds for percent and grams.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> shelf = load_rulebook().ingredients
    >>> over = Measures({key: shelf[key] for key in ("betaine-30", "kaolin")})
    >>> over.active.of({"betaine-30": 30.0, "kaolin": 70.0})
    9.0
    """

    ingredients: Mapping[str, Ingredient]

    def _percent(self, figure: str) -> Measure:
        return Measure(
            {key: share for key, one in self.ingredients.items() if (share := getattr(one, figure))},
            None,
            100.0,
        )

    @cached_property
    def active(self) -> Measure:
        """Active matter without cationics [%]."""
        return self._percent("active")

    @cached_property
    def primary_active(self) -> Measure:
        """Active matter of washing materials [%]."""
        return self._percent("primary_active")

    @cached_property
    def cationic(self) -> Measure:
        """Cationic active matter [%]."""
        return self._percent("cationic")

    def active_of_class(self, charge: str) -> Measure:
        """Return the active matter of one charge class [%]."""
        return Measure(self._active_of(charge), None, 100.0)

    @cached_property
    def balance(self) -> Measure:
        """Anionic over amphoteric active matter [-]."""
        return Measure(self._active_of("anionic"), self._active_of("amphoteric"))

    def _active_of(self, charge: str) -> dict[str, float]:
        return {
            key: one.active
            for key, one in self.ingredients.items()
            if one.active and one.charge_class == charge
        }

    @cached_property
    def water(self) -> Measure:
        """Water of every kind [%]."""
        return self._percent("water")

    @cached_property
    def oils(self) -> Measure:
        """Liquid oils and soft butters [%]."""
        return self._percent("oil")

    @cached_property
    def liquids(self) -> Measure:
        """What is liquid at kneading, melts included [%]."""
        return self._percent("liquid_warm")

    @cached_property
    def powders(self) -> Measure:
        """What is powder at kneading [%]."""
        return Measure(self._powders, None, 100.0)

    @cached_property
    def _powders(self) -> dict[str, float]:
        return {key: share for key, one in self.ingredients.items() if (share := one.powder())}

    @cached_property
    def _taken_up(self) -> dict[str, float]:
        """What the powders take up [g of reference liquid per g]."""
        return {key: self.ingredients[key].uptake * share for key, share in self._powders.items()}

    @cached_property
    def liquid_to_powder(self) -> Measure:
        """Liquid over powder by mass [-]."""
        return Measure(self.liquids.top, self._powders)

    def wetness(self, state: Literal["warm", "cold"] = "warm") -> Measure:
        """Return the wetting index: liquid there is over liquid the powders take up [-]."""
        return self._warm if state == "warm" else self._cold

    @cached_property
    def _warm(self) -> Measure:
        return self.wetness_with_set(frozenset())

    @cached_property
    def _cold(self) -> Measure:
        return self.wetness_with_set(self.fats)

    @cached_property
    def fats(self) -> frozenset[str]:
        """What melts on warming."""
        return frozenset(key for key, one in self.ingredients.items() if one.liquid_warm > one.liquid_cold)

    def wetness_with_set(self, fats: frozenset[str]) -> Measure:
        """Return the wetting index while some fats are set: those neither wet nor take up liquid [-]."""
        of = self.ingredients
        liquid = {key: one.liquid_cold if key in fats else one.liquid_warm for key, one in of.items()}
        return Measure(
            {key: of[key].wetting * share for key, share in liquid.items() if share},
            self._taken_up,
        )

    @cached_property
    def watery_share(self) -> Measure:
        """Share of the liquids, by wetting, that binds grains [-]."""
        liquids = self._warm.top
        return Measure({key: share * self.ingredients[key].watery for key, share in liquids.items()}, liquids)

    @cached_property
    def oil_per_powder(self) -> Measure:
        """Liquid oil over powder by mass [-]."""
        return Measure(self.oils.top, self._powders)

    @cached_property
    def coarse_share(self) -> Measure:
        """Unmilled needles, noodles and granules over powder by mass [-]."""
        return Measure(self._percent("coarse").top, self._powders)

    @cached_property
    def humectants(self) -> Measure:
        """Materials that are humectants first of all [%]."""
        return self.of_role("humectant")

    def of_role(self, role: Role) -> Measure:
        """Materials that are this first of all [%]."""
        return Measure(
            {key: 1.0 for key, one in self.ingredients.items() if one.main_role == role}, None, 100.0
        )

    @cached_property
    def mildness(self) -> Measure:
        """Rank of the active matter, from 1 (mildest) to 5, by mass; what has no rank counts as harsh [-]."""
        active = self.active.top
        of = self.ingredients
        return Measure({key: u * (of[key].material.mildness or _HARSH) for key, u in active.items()}, active)

    def component(self, *names: str) -> Measure:
        """Return a component by its name, or several together, whatever the case [%]."""
        if names not in self._components:
            of = self.ingredients
            top = {key: share for key, one in of.items() if (share := one.holds(*names))}
            self._components[names] = Measure(top, None, 100.0)
        return self._components[names]

    @cached_property
    def _components(self) -> dict[tuple[str, ...], Measure]:
        return {}

    def dried(self, made: Measure, end: End = "high") -> Measure:
        """Return a percent of the dough as a percent of the dried bar, at one end of the leaving water."""
        return Measure(made.top, self._left(end), made.scale)

    def component_dried(self, name: str, end: End) -> Measure:
        """Return a component as a percent of the bar at one end of the leaving water, water itself too."""
        made = self.component(name)
        if folded_name(name) != WATER:
            return self.dried(made, end)
        of = self.ingredients
        left = {key: share * (1.0 - getattr(of[key].leaving, end)) for key, share in made.top.items()}
        return self.dried(replace(made, top=left), end)

    def _left(self, end: End) -> dict[str, float]:
        if end not in self._lefts:
            of = self.ingredients
            self._lefts[end] = {key: 1.0 - getattr(one.leaving, end) * one.water for key, one in of.items()}
        return self._lefts[end]

    @cached_property
    def _lefts(self) -> dict[End, dict[str, float]]:
        return {}

    @cached_property
    def _water_left(self) -> Measure:
        of = self.ingredients
        return self.dried(
            Measure({k: one.water * (1 - one.leaving.high) for k, one in of.items()}, None, 100.0)
        )

    def mass_left(self, end: End = "high") -> Measure:
        """Return what is left of the dough when dry [%]."""
        return Measure(self._left(end), None, 100.0)

    def price(self, amounts: Amounts) -> float | None:
        """Return the price [currency per kg]; None where one in use is unknown."""
        cost = 0.0
        for key, amount in amounts.items():
            if amount:
                price = self.ingredients[key].price
                if price is None:
                    return None
                cost += price * amount
        return cost / sum(amounts.values())

    def demand_shares(self, amounts: Amounts) -> dict[str, float]:
        """Return each powder's share in the demand for liquid."""
        bottom = self._warm.bottom or {}
        whole = sum(uptake * amounts.get(key, 0.0) for key, uptake in bottom.items())
        if not whole:
            return {}
        return {
            key: uptake * amounts.get(key, 0.0) / whole for key, uptake in bottom.items() if amounts.get(key)
        }

    def totals(self, amounts: Amounts) -> Totals:
        """Return the sums an answer carries, rounded to what the figures bear."""
        price, whole = self.price(amounts), sum(amounts.values())

        def percent(measure: Measure) -> float:
            return round(measure.of(amounts, whole) or 0.0, 2)

        return Totals(
            active=percent(self.active),
            primary_active=percent(self.primary_active),
            cationic=percent(self.cationic),
            water=percent(self.water),
            liquids=percent(self.liquids),
            powders=percent(self.powders),
            oils=percent(self.oils),
            price_per_kg=None if price is None else round(price, 2),
            as_dried=AsDried(
                mass_left=percent(self.mass_left()),
                active=percent(self.dried(self.active)),
                water=percent(self._water_left),
            ),
        )
