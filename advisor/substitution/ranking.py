"""The points by which replacements are ranked."""

import math
from collections.abc import Iterable, Sequence

from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.substitution import RankingRules, SubstitutionRules
from advisor.substitution.schema import Ranking

_ALKALINE_END = 14.0


def _kinds(
    missing: Ingredient, replaced: Sequence[Ingredient], rules: RankingRules
) -> tuple[float, float, float, float]:
    """Return the points for role, form, charge and mildness; of two materials the one less alike counts."""
    role = max(rules.other_role * (one.main_role != missing.main_role) for one in replaced)
    form = max(
        rules.other_form * ((one.material.form, one.coarse) != (missing.material.form, missing.coarse))
        for one in replaced
    )
    charge = max(rules.other_charge * (one.charge_class != missing.charge_class) for one in replaced)
    return role, form, charge, max(rules.mildness_step * _steps_harsher(missing, one) for one in replaced)


def _steps_harsher(missing: Ingredient, one: Ingredient) -> int:
    before, after = missing.material.mildness, one.material.mildness
    return 0 if before is None or after is None else max(0, after - before)


def at_least(
    missing: Ingredient,
    replaced: Sequence[Ingredient],
    *,
    disturbance: float,
    new_materials: int,
    rules: RankingRules,
) -> float:
    """Return points, but for the price, that a swap cannot stay below; see ``ranking``."""
    extra = rules.extra_material * max(0, new_materials - 1)
    return disturbance + sum(_kinds(missing, replaced, rules)) + _narrower(missing, replaced, rules) + extra


def most_alike(
    missing: Ingredient, some: Iterable[Ingredient], most: int, rules: RankingRules
) -> list[Ingredient]:
    """Return so many materials at most, those with the fewest points, in the order they came."""
    points = {one: at_least(missing, (one,), disturbance=0.0, new_materials=1, rules=rules) for one in some}
    kept = set(sorted(points, key=lambda one: (points[one], one.key))[:most])
    return [one for one in points if one in kept]


def all_pairs_within(count: int) -> int:
    """Return of how many materials all pairs are so many at most.

    Examples
    --------
    >>> all_pairs_within(6), all_pairs_within(5), all_pairs_within(-1)
    (4, 3, 1)
    """
    return (1 + math.isqrt(1 + 8 * max(count, 0))) // 2


def _narrower(missing: Ingredient, replaced: Sequence[Ingredient], rules: RankingRules) -> float:
    """Return the points for preservatives that do not work over the usual pH of a bar."""
    if missing.main_role != "preservative":
        return 0.0
    usual = rules.usual_ph
    for one in replaced:
        works = one.material.works_ph
        if works is None or (works.min or 0.0) > usual.min or (works.max or _ALKALINE_END) < usual.max:
            return rules.narrow_ph
    return 0.0


def ranking(
    missing: Ingredient,
    replaced: Sequence[Ingredient],
    *,
    disturbance: float,
    new_materials: int,
    prices: tuple[float | None, float | None],
    rules: SubstitutionRules,
    warnings: int,
) -> Ranking:
    """Return the points against an answer.

    Parameters
    ----------
    missing, replaced
        The material that is missing and what stands in.
    disturbance : float
        Price of all moves in the program.
    new_materials : int
        How many materials come in that the recipe did not hold.
    prices : tuple
        Price of the recipe before and after [per kg], None where not known.
    rules : SubstitutionRules
    warnings : int
        How many words of warning the users of the bar have to be told that the missing material did not ask.
    """
    role, form, charge, mild = _kinds(missing, replaced, rules.ranking)
    before, after = prices
    price = 0.0
    if before and after is not None:
        price = 100 * (after - before) / before / rules.ranking.price_percent_per_point
    parts = {
        "disturbance": round(disturbance, 2),
        "role": role,
        "form": form,
        "charge": charge,
        "mildness": mild,
        "preservation": _narrower(missing, replaced, rules.ranking),
        "caution": rules.ranking.special_caution * warnings,
        "extra_materials": rules.ranking.extra_material * max(0, new_materials - 1),
        "price": round(price, 2),
    }
    points = round(sum(parts.values()), 2)
    said = [f"{value:g} for {getattr(rules.ranking.words, part)}" for part, value in parts.items() if value]
    text = rules.text["ranking"].format(points=points, parts=", ".join(said) or "nothing")
    return Ranking(points=points, text=text, **parts)
