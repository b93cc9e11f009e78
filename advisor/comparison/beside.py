"""Tells what shifts from one whole recipe to another."""

from collections.abc import Iterable, Sequence

from advisor.case.case import Case
from advisor.frozen import dataclass
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.ingredient import Ingredient, names_of
from advisor.schema.findings import Check, Shift
from advisor.shifts import between
from advisor.shifts.between import Between, Figured, shift
from advisor.writing import in_state


@dataclass(frozen=True)
class Beside(Between):
    """Two recipes with all their materials; ``titles`` are their names, the later one first."""

    titles: tuple[str, str]

    @property
    def names(self) -> tuple[str, str]:
        """What the later and the earlier recipe are called."""
        return self.titles

    @property
    def was_coarse(self) -> bool:
        """Whether there were grains in the first."""
        return any(one.coarse for one in self.used(self.before))

    def called(self, some: Sequence[Ingredient]) -> str:
        """Return the names of some materials."""
        return listed(one.name for one in some) if len(some) > 2 else names_of(some)

    def ranks(self, figure: Figured) -> tuple[float | None, float | None]:
        """Return a figure of the surfactants of each, by active matter, where the two differ plainly."""
        before, after = self._mean(figure, self.before), self._mean(figure, self.after)
        if before is None or after is None or abs(after - before) < self.rules.telling.rank_steps:
            return None, None
        return before, after

    def _mean(self, figure: Figured, amounts: Amounts) -> float | None:
        whole = top = 0.0
        for one in self.used(amounts):
            weight, value = one.active * amounts[one.key], figure(one)
            if not one.is_surfactant or not weight:
                continue
            if value is None:
                return None
            whole, top = whole + weight, top + weight * value
        return top / whole if whole else None


def beside(first: Case, second: Case) -> Beside:
    """Return two recipes as one set of materials; another lot of a material is a material of its own."""
    before, after = (
        {key: case.formula.ingredients[key] for key, amount in case.formula.amounts.items() if amount}
        for case in (first, second)
    )
    apart = {key for key in before if key in after and before[key] != after[key]}
    earlier = {f"{key} of the first" if key in apart else key: one for key, one in before.items()}
    ingredients = dict(sorted({**earlier, **after}.items()))
    renamed = dict(zip(before, earlier, strict=True))
    return Beside(
        Measures(ingredients),
        {renamed[key]: first.formula.amounts[key] for key in before},
        {key: second.formula.amounts[key] for key in after},
        second.wishes.market,
        second.rulebook.substitution,
        second.rulebook.label,
        tuple(one for key, one in after.items() if key not in before),
        _titles(first, second),
    )


def _titles(first: Case, second: Case) -> tuple[str, str]:
    earlier, later = first.formula.written.name, second.formula.written.name
    if earlier and later and earlier != later:
        return later, earlier
    return "the second recipe", "the first recipe"


def shifts(of: Beside, checks: tuple[Sequence[Check], Sequence[Check]]) -> tuple[Shift, ...]:
    """Return every shift that happens, strength and dough first, the papers and the limits last."""
    told = [
        _strength(of),
        _wetness(of),
        between.mildness(of),
        between.foam(of),
        between.balance(of),
        between.hardness(of),
        between.fineness(of),
        _water(of),
        *between.flags(of),
        *between.allergens(of),
        between.label(of),
        between.price(of),
        *_limits(of, *checks),
    ]
    return tuple(one for one in told if one is not None)


def _strength(of: Beside) -> Shift | None:
    before, after = of.both(of.measures.active)
    if abs(after - before) < of.rules.telling.strength_points:
        return None
    text = of.text("strength_total", before=f"{before:.1f}", after=f"{after:.1f}")
    return shift("strength", "up" if after > before else "down", text)


def _wetness(of: Beside) -> Shift | None:
    before, after = of.both(of.measures.wetness())
    less, more = sorted((before, after))
    if not less or more / less - 1 < of.rules.telling.balance_share:
        return None
    wetter = after > before
    percent = f"{100 * (more / less - 1):.0f}"
    text = of.text("wetness", word="wetter" if wetter else "drier", percent=percent)
    return shift("wetness", "up" if wetter else "down", text)


def _water(of: Beside) -> Shift | None:
    text = between.water_total(of)
    before, after = of.both(of.measures.water)
    return shift("water", "up" if after > before else "down", text) if text else None


def _limits(of: Beside, before: Sequence[Check], after: Sequence[Check]) -> Iterable[Shift]:
    """Yield which demands are met in only one of the two."""
    missed = [{(check.name, check.state) for check in checks if not check.ok} for checks in (before, after)]
    for sentence, names in (
        ("limits_worse", missed[1] - missed[0]),
        ("limits_better", missed[0] - missed[1]),
    ):
        if names:
            told = listed(in_state(name, state) for name, state in sorted(names))
            yield shift(
                "limits", "worse" if sentence == "limits_worse" else "better", of.text(sentence, names=told)
            )
