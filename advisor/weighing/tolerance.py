"""Says on which balance a line is weighed, how far it may be off, and what to warn of."""

from collections.abc import Iterable, Mapping

from advisor.frozen import dataclass
from advisor.recipe.demand import Demand
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.weighing import ToleranceRules, WeighingRules
from advisor.weighing.smallest_weight import smallest_sensible


@dataclass(frozen=True, slots=True)
class Balances:
    """What the balances read to [units]; ``fine`` is the coarse one where there is only one."""

    coarse: int
    fine: int

    @property
    def two(self) -> bool:
        """Tell whether there are two different ones."""
        return self.fine != self.coarse


def potent(
    ingredients: Mapping[str, Ingredient],
    amounts: Amounts,
    legal: Iterable[Demand],
    rules: WeighingRules,
) -> frozenset[str]:
    """Return the materials in which a small error matters: by their role, or by what a legal maximum leaves.

    Parameters
    ----------
    amounts : mapping
        Percent of the recipe.
    legal : iterable of Demand
        The limits of the market; none where none was named.
    """
    found = {key for key, one in ingredients.items() if one.main_role in rules.fine.roles}
    for demand in legal:
        if not demand.maximum:
            continue
        below = demand.measure.below(amounts)
        for key, share in demand.measure.top.items():
            brought = demand.measure.scale * share * amounts.get(key, 0.0) / below if below else 0.0
            if brought >= rules.fine.limit_share * demand.maximum:
                found.add(key)
    return frozenset(found)


def steps_of(
    wanted: Mapping[str, float],
    potent_keys: frozenset[str],
    balances: Balances,
    per_gram: int,
    rules: WeighingRules,
) -> dict[str, int]:
    """Return the step of the balance each line is weighed on [units].

    Parameters
    ----------
    wanted : mapping of str to float
        Exact amounts [units].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> rules = load_rulebook().weighing
    >>> steps_of({"clay": 50_000.0, "scent": 900.0}, frozenset({"scent"}), Balances(100, 1), 100, rules)
    {'clay': 100, 'scent': 1}
    """
    smallest = smallest_sensible(balances.coarse, rules.fine.share)
    carried = rules.fine.grams_at_most * per_gram
    return {
        key: balances.fine
        if (key in potent_keys and amount <= carried) or amount < smallest
        else balances.coarse
        for key, amount in wanted.items()
    }


def make_up(
    wanted: Mapping[str, float],
    steps: Mapping[str, int],
    never: frozenset[str],
    balances: Balances,
    total: int,
) -> str | None:
    """Return the line that moves to the fine balance, so that the batch adds up; None where none has to.

    Without it the total of the fine lines would have to be whole steps of the coarse balance, at the
    expense of preservative and colour.
    """
    fine = [key for key, step in steps.items() if step == balances.fine]
    if not balances.two or not fine or len(fine) == len(steps):
        return None
    taken = sum(balances.fine * max(1, round(wanted[key] / balances.fine)) for key in fine)
    if (total - taken) % balances.coarse == 0:
        return None
    coarse = [key for key in steps if key not in fine]
    return min([key for key in coarse if key not in never] or coarse, key=lambda key: (wanted[key], key))


def tolerance(units: int, step: int, is_potent: bool, rules: ToleranceRules) -> float:
    """Return how far a line may be off: half a step, or whole half steps within a percent [units].

    Examples
    --------
    >>> rules = ToleranceRules(ordinary_percent=1.0, potent_percent=0.5, basis="practice", source="bench")
    >>> tolerance(5405, 10, False, rules), tolerance(90, 10, True, rules)
    (50.0, 5.0)
    """
    percent = rules.potent_percent if is_potent else rules.ordinary_percent
    return max(1, int(units * percent / 100 / (step / 2) + 1e-9)) * step / 2


def at_limit(key: str, grams: Amounts, spread: float, legal: Iterable[Demand]) -> Demand | None:
    """Return the limit that a line would break if it were weighed within its tolerance, but over [g]."""
    heavier = {**grams, key: grams[key] + spread}
    for demand in legal:
        if key in demand.measure.top and demand.gap(grams) <= 1e-9 < demand.gap(heavier):
            return demand
    return None
