"""Says what may be added to a dough in the bowl, and what is asked of it there."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from advisor.demands.context import DemandContext
from advisor.demands.dough import dough_bounds
from advisor.demands.move_prices import hash_share
from advisor.optimise.addition import Option
from advisor.optimise.row import Row
from advisor.recipe.demand import Demand, Measure, Rank, Side
from advisor.rulebook.bowl import Levers
from advisor.rulebook.feels import Route
from advisor.rulebook.ingredient import Ingredient

Direction = Literal["wetter", "drier", "both"]
OWN_POWDERS, OWN_LIQUIDS = "own powders", "own watery liquids"
_DRY_FORMS = frozenset({"powder", "granule", "flake"})
_TIE_BREAKER = 1e-6
_RATIO_AS_POINTS = 100.0
_SAME = 1e-9
_ORDER: tuple[tuple[Rank, ...], ...] = (("held", "dough"), ("wish",), ("default", "advice"))
_SIDES: tuple[Side, Side] = ("min", "max")


def direction_of(route: Route) -> Direction:
    """Return what a report lets be added: only liquid, only powder, or both.

    Examples
    --------
    >>> direction_of("drier"), direction_of("cohesion")
    ('drier', 'both')
    """
    if route in ("wetter", "drier"):
        return route
    return "both"


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
    return direction == "both" or wets(one) == (direction == "wetter")


@dataclass(frozen=True)
class AdditionOptions:
    """What may be reached for: ``offered`` by key, whether as the recipe's own blend, and at which price.

    ``own_blend`` is true where no shelf was named: then the recipe's own powders and watery liquids come
    first, each in its own proportions. ``by_price`` counts money instead of grams.
    """

    context: DemandContext
    levers: Levers
    direction: Direction
    offered: frozenset[str]
    own_blend: bool
    by_price: bool = False

    def options(self, left_out: Iterable[str] = ()) -> list[Option]:
        """Return what may be added, in canonical order, without some members of the own blends."""
        singles = [key for key in sorted(self.offered) if self._is_lever(key)]
        topped = [key for key in sorted(self.offered) if key not in singles and self._tops_up(key)]
        found = [self._single(key, self.levers.beside_blend if self.own_blend else 1.0) for key in singles]
        found += [self._single(key, 1.0) for key in topped]
        if self.own_blend:
            for name in (OWN_POWDERS, OWN_LIQUIDS):
                found += self._blend(name, singles, frozenset(left_out))
        return sorted(found, key=lambda option: option.name)

    def topping_rows(self, room: float) -> list[Row]:
        """Return the rows that keep what is only topped up near its own share of the recipe.

        ``room`` is what weighs well at least [% of the bowl]: so much more may be in.
        """
        rows = []
        for key in sorted(self.offered):
            if not self._is_lever(key) and self._tops_up(key):
                band = self.context.wishes.lines.get(key)
                most = max(self.context.amounts[key], (band.min or 0.0) if band else 0.0)
                line = Measure({key: 1.0}, None, 100.0)
                row = line.row(f"topped:{key}", "max", most, tuple(self.context.ingredients), None)
                rows.append(replace(row, bound=room))
        return rows

    def _is_lever(self, key: str) -> bool:
        one, held = self.context.ingredients[key], self.context.program.held
        return (
            one.main_role in self.levers.roles
            and one.material.form in self.levers.forms
            and 100 * one.holds(*held.components) < held.at_least_percent
            and not (one.material.soluble and not wets(one))
            and goes_with(one, self.direction)
        )

    def _tops_up(self, key: str) -> bool:
        """Tell whether a material is only made up for: a preservative, or what the maker set a band for."""
        one = self.context.ingredients[key]
        if key in self.context.wishes.fixed or key in self.context.wishes.lines:
            return goes_with(one, self.direction)
        use, own = one.material.use, self.context.amounts[key]
        preserves = one.main_role == "preservative" and own and use and use.min and own >= use.min
        return bool(preserves) and not (self.direction == "drier" and wets(one))

    def _single(self, key: str, factor: float) -> Option:
        price = self._price(key) * factor
        return Option(key, {key: 1.0}, price, newcomer=not self.context.amounts[key])

    def _price(self, key: str) -> float:
        one = self.context.ingredients[key]
        tie = 1 + _TIE_BREAKER * hash_share(key)
        if self.by_price:
            return max(one.price or 0.0, _TIE_BREAKER) * tie
        return self.levers.roles.get(one.material.roles[0], 1.0) * tie

    def _blend(self, name: str, singles: Sequence[str], left_out: frozenset[str]) -> list[Option]:
        own = self.context.amounts
        watery = name == OWN_LIQUIDS
        members = {
            key: own[key]
            for key in singles
            if own[key] and key not in left_out and self._belongs(self.context.ingredients[key], watery)
        }
        members = _without_crumbs(members, self.levers.member_at_least)
        if len(members) < 2:
            only = next(iter(members), None)
            return [] if only is None else [Option(name, {only: 1.0}, self._blended({only: 1.0}))]
        whole = sum(members.values())
        shares = {key: amount / whole for key, amount in members.items()}
        return [Option(name, shares, self._blended(shares))]

    def _belongs(self, one: Ingredient, watery: bool) -> bool:
        if watery:
            return wets(one) and one.is_surfactant
        return not wets(one)

    def _blended(self, shares: Mapping[str, float]) -> float:
        if self.by_price:
            return sum(share * self._price(key) for key, share in shares.items())
        return self.levers.own_blend


def _without_crumbs(members: Mapping[str, float], least: float) -> dict[str, float]:
    whole = sum(members.values())
    return {key: amount for key, amount in members.items() if amount >= least * whole}


def bowl_demands(
    of: DemandContext, demands: Sequence[Demand], *, drier: bool, dough: bool, step: float
) -> list[Demand]:
    """Return the demands as they hold where nothing can be taken out.

    What is no lever is simply not added; what lies below its usual range already is not asked to rise; the
    working level of a preservative stands for the low end of its range; a line that is to stay at its percent
    may differ by one step of the balance.

    Parameters
    ----------
    of : DemandContext
        The bowl.
    demands : sequence of Demand
        Those of a recipe that can be changed freely.
    drier : bool
        Whether the dough is to become drier.
    dough : bool
        Whether the bounds of the dough count.
    step : float
        One step of the balance [% of the bowl].
    """
    kept = []
    preserved = {demand.about for demand in demands if demand.group == "preserved"}
    for demand in demands:
        if demand.group == "no-lever":
            continue
        if demand.group == "use":
            minimum = None if demand.about in preserved else _reachable(demand, of)
            demand = replace(demand, minimum=minimum)
        elif demand.group == "fixed":
            own = of.amounts[demand.about[0]]
            demand = replace(
                demand,
                minimum=max(0.0, own - step),
                maximum=own + step,
                source="your wish, within a step of the balance",
            )
        if demand.minimum is not None or demand.maximum is not None:
            kept.append(demand)
    if dough:
        kept += [demand for demand in dough_bounds(of, drier=drier) if demand.in_bowl]
    return kept


def recovery_demands(of: DemandContext, demands: Sequence[Demand], held_within: float) -> list[Demand]:
    """Return the demands on a batch in which something was over-weighed.

    What is no lever may end within a share of its own percent; the bounds of the dough count.

    Parameters
    ----------
    of : DemandContext
        The planned recipe.
    demands : sequence of Demand
        Those of a recipe that can be changed freely.
    held_within : float
        How far what is no lever may end from its percent, as a share of it.
    """
    kept = []
    for demand in demands:
        if demand.group == "no-lever":
            own = of.amounts[demand.about[0]]
            if own:
                low, high = own * (1 - held_within), own * (1 + held_within)
                kept.append(replace(demand, minimum=low, maximum=high))
        else:
            kept.append(demand)
    own_index = of.measures.wetness().of(of.amounts)
    if own_index:
        kept += [demand for demand in dough_bounds(of, drier=False) if demand.in_bowl]
    return kept


def planned_wetness(of: DemandContext) -> list[Demand]:
    """Return the demand that a batch keeps the wetting index of its recipe; none where it has no dough."""
    index, steps = of.measures.wetness().of(of.amounts), of.dough.steps
    if not index:
        return []
    return [
        Demand(
            id="target:wetness",
            group="wetness",
            target=True,
            in_bowl=True,
            name="wetting index",
            measure=of.measures.wetness(),
            unit="1",
            kind="dough",
            rank="dough",
            minimum=index * (1 - steps.keep_band),
            maximum=index * (1 + steps.keep_band),
            basis="estimate",
            source="the recipe as planned",
            binding_room=0.002,
        )
    ]


def _reachable(demand: Demand, of: DemandContext) -> float | None:
    own = of.amounts[demand.about[0]]
    return None if demand.minimum is not None and own <= demand.minimum + _SAME else demand.minimum


def by_rank(demands: Sequence[Demand]) -> list[list[Demand]]:
    """Return demands below the law in groups, the most sacred first."""
    groups = [[demand for demand in demands if demand.rank in ranks] for ranks in _ORDER]
    return [group for group in groups if group]


def rows_over(
    demands: Iterable[Demand], base: Mapping[str, float], keys: tuple[str, ...], prices: Mapping[str, float]
) -> list[Row]:
    """Return the rows of demands on a growing whole, each in the unit of its measure.

    ``prices`` holds what a point missed costs by the rank of the demand; a ratio counts as a hundred points.
    """
    rows = []
    for demand in demands:
        below = demand.measure.below(base) / demand.measure.scale
        if below <= 0:
            continue
        price = prices.get(demand.rank, 1.0) * (1.0 if demand.unit == "%" else _RATIO_AS_POINTS)
        for side in _SIDES:
            bound = demand.bound(side)
            if bound is None:
                continue
            row = demand.measure.row(f"{demand.id}:{side}", side, bound, keys, None)
            coefficients = {key: c / below for key, c in row.coefficients.items()}
            rows.append(replace(row, coefficients=coefficients, bound=row.bound / below, penalty=price))
    return rows
