"""The order of batches that carries least of one into the next."""

from collections.abc import Sequence
from functools import cache

from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.weighing import CarriedRules

Batch = dict[str, Ingredient]


def kind(one: Ingredient) -> str:
    """Return what a material is to the batch after it."""
    roles = one.material.roles
    if "colourant" in roles:
        return "colour"
    if "fragrance" in roles:
        return "scent"
    return "allergen" if one.material.allergens else "other"


def left_behind(before: Batch, after: Batch) -> list[Ingredient]:
    """Return the colours, scents and allergens of the earlier batch that the later one does not hold."""
    return [one for key, one in before.items() if key not in after and kind(one) != "other"]


def carried(before: Batch, after: Batch, rules: CarriedRules) -> float:
    """Return what it costs to make one batch after another."""
    return sum(float(getattr(rules, kind(one))) for key, one in before.items() if key not in after)


def best_order(batches: Sequence[Batch], names: Sequence[str], rules: CarriedRules) -> list[int]:
    """Return the batches in the order that carries least, exactly; ties by name.

    Parameters
    ----------
    batches : sequence of mapping
        The materials of each batch, at most a dozen batches.
    names : sequence of str
    rules : CarriedRules

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> dark, pale = ({key: book.ingredients[key]} for key in ("charcoal", "kaolin"))
    >>> best_order([dark, pale], ["Dark", "Pale"], book.day.carried)
    [1, 0]
    """
    ranked = sorted(range(len(batches)), key=lambda index: (names[index], sorted(batches[index]), index))
    costs = [[carried(batches[a], batches[b], rules) for b in ranked] for a in ranked]

    @cache
    def rest(last: int, done: int) -> tuple[float, tuple[int, ...]]:
        """Return the least cost of what is still to be made, and its order."""
        left = [one for one in range(len(ranked)) if not done >> one & 1]
        if not left:
            return 0.0, ()
        tries = []
        for one in left:
            cost, order = rest(one, done | 1 << one)
            tries.append((round(costs[last][one] + cost, 9), (one, *order)))
        return min(tries)

    starts = []
    for first in range(len(ranked)):
        cost, order = rest(first, 1 << first)
        starts.append((cost, (first, *order)))
    return [ranked[one] for one in min(starts)[1]]
