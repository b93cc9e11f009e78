"""The costing: what a batch and a sold bar cost, part by part and line by line."""

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.case.case import Case
from advisor.case.watch import cautions_of
from advisor.costing.schema import (
    BarCosts,
    BarsSold,
    BatchCosts,
    CostingAnswer,
    CostingRequest,
    CostLine,
    CostParts,
    PriceMoved,
)
from advisor.drying.curve import Interval
from advisor.drying.filling import Filling, filling, loss_percent, mass_left
from advisor.errors import Fault, InvalidRequest
from advisor.frozen import cached_property, dataclass
from advisor.optimise.rounding import largest_remainder
from advisor.recipe.grams import exact_grams, listed
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import opened, read_formula
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem
from advisor.schema.material import Figure

_GRAMS_PER_KG = 1000.0
_SAME = 1e-9


def cost(
    request: CostingRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> CostingAnswer:
    """Return what a batch and a sold bar of it cost.

    Parameters
    ----------
    request : CostingRequest or mapping
        Recipe, dough [g], dried weight of a bar [g], and what is paid besides, all in one currency.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials and lots, whose prices go first.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Losses, tests, the kept bar and rejects are shared by the bars that are sold, reckoned over many batches,
    so bars sold are no whole number. Prices of the library are invented first guesses and are named.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = cost({"recipe": {"lines": lines}, "batch_grams": 1000.0, "dried_bar_grams": 60.0})
    >>> answer.per_batch.dough, [line.cost for line in answer.lines], answer.bars
    (13.0, [1.8, 11.2], 13)
    """
    wanted, known = opened(CostingRequest, request, rulebook, notebook)
    formula = read_formula(wanted.recipe, known)
    _check_prices(wanted, formula.ingredients)
    return _Costing(Case.at(formula, known), wanted, known.notebook.facts.currency).answer()


def _check_prices(wanted: CostingRequest, ingredients: Mapping[str, Ingredient]) -> None:
    """Refuse a price of a material that is not in the recipe.

    Raises
    ------
    InvalidRequest
    """
    wrong = [
        Fault(f"/{field}/{key}", "is not in the recipe")
        for field in ("prices", "earlier_prices")
        for key in getattr(wanted, field) or ()
        if key not in ingredients
    ]
    if wrong:
        raise InvalidRequest("A price is of a material that is not in the recipe.", wrong)


@dataclass(frozen=True)
class _Costing:
    case: Case
    wanted: CostingRequest
    currency: str | None

    def answer(self) -> CostingAnswer:
        lines = self._lines()
        per_batch, per_bar = self._parts(1.0), self._parts(self.sold) if self.sold else None
        factor = self.wanted.factor
        return CostingAnswer(
            currency=self.wanted.currency or self.currency,
            per_batch=per_batch,
            per_bar=per_bar,
            bars=self.filled.bars,
            sold=BarsSold(
                made=self.filled.bars,
                kept=min(self.case.rulebook.costing.kept.bars, self.filled.bars),
                sold=round(self.sold, 4),
                dough_grams_per_bar=round(self.filled.dough_grams.typical, 2),
                loss_percent=round(self.lost.typical, 2),
                test_grams=self.case.rulebook.costing.tests.grams,
            ),
            lines=lines,
            price=None if per_bar is None or factor is None else round(per_bar.total * factor, 2),
            unpriced=tuple(line.material for line in lines if line.cost is None),
            moved=tuple(self._moved()),
            cautions=cautions_of(self.case, self.case.formula.amounts),
            notes=(*self.case.formula.notes, *self._notes()),
            rules_version=self.case.rulebook.edition,
        )

    @cached_property
    def prices(self) -> dict[str, float]:
        """What a kilogram of each line costs, where that is known: as told, else of its lot or material."""
        known = {key: one.price for key, one in self.case.formula.ingredients.items()} | self.wanted.prices
        return {key: price for key, price in known.items() if price is not None}

    @cached_property
    def exact(self) -> dict[str, float]:
        """What each priced line costs in the batch."""
        return {key: self._grams(key) * price / _GRAMS_PER_KG for key, price in self.prices.items()}

    def _grams(self, key: str) -> float:
        return self.case.formula.amounts[key] * self.wanted.batch_grams / 100

    @cached_property
    def lost(self) -> Interval:
        """What stays on gloves, bowl and tools [% of the batch]."""
        told = self.wanted.loss_percent
        if told is not None:
            return Interval(told, told, told)
        losses = self.case.rulebook.drying.loss
        return loss_percent(self.wanted.batch_grams, losses, self.wanted.method or "hand")

    @cached_property
    def filled(self) -> Filling:
        """How many bars the dough makes after losses and tests."""
        tests = 100 * self.case.rulebook.costing.tests.grams / self.wanted.batch_grams
        gone = Interval(
            *(min(100.0, end + tests) for end in (self.lost.low, self.lost.typical, self.lost.high))
        )
        left = mass_left(self.case.formula.measures, self.case.formula.amounts)
        fill = self.case.rulebook.drying.fill
        return filling(self.wanted.dried_bar_grams, left, self.wanted.batch_grams, gone, fill)

    @cached_property
    def sold(self) -> float:
        """How many bars are sold, on the mean of many batches."""
        rules = self.case.rulebook.costing
        return max(0, self.filled.bars - rules.kept.bars) * (1 - rules.rejects.percent / 100)

    def _parts(self, bars: float) -> CostParts:
        """Return every part of a batch, shared by so many bars."""
        batch, bar = self.wanted.per_batch or BatchCosts(), self.wanted.per_bar or BarCosts()
        dough = round(sum(self.exact.values()) / bars, 2)
        parts = {
            "work": batch.work or 0.0,
            "wrap": (bar.wrap or 0.0) * self.sold,
            "label": (bar.label or 0.0) * self.sold,
            "other": (batch.other or 0.0) + (bar.other or 0.0) * self.sold,
        }
        total = round((sum(self.exact.values()) + sum(parts.values())) / bars, 2)
        cents = to_the_cent({name: whole / bars for name, whole in parts.items()}, total - dough)
        return CostParts(dough=dough, **cents, total=total)

    def _lines(self) -> tuple[CostLine, ...]:
        cents = to_the_cent(self.exact, round(sum(self.exact.values()), 2))
        return tuple(
            CostLine(
                material=key,
                grams=exact_grams(self._grams(key)),
                price_per_kg=self.prices.get(key),
                cost=cents.get(key),
            )
            for key in self.case.formula.written.percents
        )

    def _moved(self) -> Iterator[PriceMoved]:
        """Yield the prices that are not those of the last costing."""
        for key, before in (self.wanted.earlier_prices or {}).items():
            after = self.prices.get(key)
            if after is not None and abs(after - before) > _SAME:
                change = (after - before) * self._grams(key) / _GRAMS_PER_KG
                per_bar = round(change / self.sold, 4) if self.sold else None
                yield PriceMoved(material=key, before=before, after=after, per_bar=per_bar)

    def _notes(self) -> Iterator[TextItem]:
        rules = self.case.rulebook.costing
        used = {
            key: one for key, one in self.case.formula.ingredients.items() if self.case.formula.amounts[key]
        }

        if not self.sold:
            yield rules.said("no_bar")
        unpriced = [one.name for key, one in used.items() if key not in self.prices]
        guessed = [
            one.name
            for key, one in used.items()
            if key not in self.wanted.prices
            and isinstance(one.material.price_per_kg, Figure)
            and one.material.price_per_kg.basis == "estimate"
        ]
        for sentence, names in (("unpriced", unpriced), ("first_guess", guessed)):
            every = len(names) == len(used) > 1
            if names:
                yield rules.said(sentence, names="all materials" if every else listed(names))
        lost = "lost" if self.wanted.loss_percent is None else "told_loss"
        yield rules.said(lost, percent=f"{self.lost.typical:.3g}")
        if self.sold:
            yield rules.said(
                "kept",
                bars=self.filled.bars,
                kept=rules.kept.bars,
                sold=f"{self.sold:.2f}",
                percent=rules.rejects.percent,
                tests=rules.tests.grams,
            )
        for moved in self._moved():
            if moved.per_bar is not None:
                yield rules.said(
                    "moved",
                    name=used[moved.material].name,
                    before=f"{moved.before:g}",
                    after=f"{moved.after:g}",
                    word="dearer" if moved.per_bar > 0 else "cheaper",
                    change=f"{abs(moved.per_bar):.2f}",
                )


_CENTS = 100


def to_the_cent(parts: Mapping[str, float], whole: float) -> dict[str, float]:
    """Return parts rounded to the cent so that they add up to the whole, rounded as well.

    Examples
    --------
    >>> to_the_cent({"clay": 0.714, "starch": 1.874, "oil": 0.584}, 3.172)
    {'clay': 0.71, 'starch': 1.88, 'oil': 0.58}
    """
    exact = {name: _CENTS * value for name, value in parts.items()}
    return {name: count / _CENTS for name, count in largest_remainder(exact, round(_CENTS * whole)).items()}
