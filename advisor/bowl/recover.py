"""Recoveries: something was over-weighed, and the batch is brought right again."""

from collections.abc import Iterable, Mapping, Sequence
from math import fsum
from typing import Any

from advisor.bowl.asked import by_rank, recipe_wetness, recovery_demands, rows_over
from advisor.bowl.overweighed import Overweighed
from advisor.bowl.schema import AddedLine, Recovery, RecoveryAnswer, RecoveryRequest
from advisor.bowl.shortfalls import as_weighed, in_percent, shortfalls
from advisor.case.case import Case, Reading
from advisor.case.reasons import Move, why_added
from advisor.case.shelf import admitted
from advisor.case.watch import cautions_of
from advisor.demands.move_prices import hash_share
from advisor.frozen import cached_property, dataclass, replace
from advisor.labelling.notes import law_notes
from advisor.optimise.addition import Addition, Option, least_addition
from advisor.optimise.problem import CERTIFIED
from advisor.optimise.row import Row
from advisor.optimise.steps import Counted, Steps, nearest_steps
from advisor.recipe.demand import Demand
from advisor.recipe.grams import exact_grams, listed, of_steps
from advisor.recipe.notebook import Notebook
from advisor.recipe.read import read_recipe
from advisor.recipe.request import opened, read_formula
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.load import Rulebook
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem
from advisor.schema.recipe import GramLine, Line, PercentLine, PercentRecipe, Recipe

_TIE_BREAKER = 1e-6
_FEE = 0.05
_Way = tuple[Recovery, bool]


def recover(
    request: RecoveryRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> RecoveryAnswer:
    """Return how a batch with over-weighed materials is brought right: exactly, and with the least addition.

    Parameters
    ----------
    request : RecoveryRequest or mapping
        The recipe and the planned batch [g], what is really in the bowl of each material weighed so far [g],
        whether it is mixed already, and the step of the balance [g].
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Additions count from what is in the bowl, so they include what is still to come of the recipe.

    Examples
    --------
    >>> lines = [{"material": "isethionate-powder", "percent": 60}, {"material": "kaolin", "percent": 10},
    ...     {"material": "betaine-30", "percent": 30}]
    >>> slip = {"recipe": {"lines": lines}, "batch_grams": 100, "mixed": True, "balance_step": 0.1}
    >>> answer = recover({**slip, "weighed": {"isethionate-powder": 60, "kaolin": 10, "betaine-30": 33}})
    >>> [(line.material, line.grams) for line in answer.exact.additions], answer.exact.batch_grams
    ([('isethionate-powder', 6.0), ('kaolin', 1.0)], 110.0)
    """
    wanted, known = opened(RecoveryRequest, request, rulebook, notebook)
    known.all((key, f"/weighed/{key}") for key in wanted.weighed)
    own = {line.material for line in wanted.recipe.lines}
    foreign = sorted(set(wanted.weighed) - own)
    formula = read_formula(wanted.recipe, known, [*(wanted.shelf or ()), *foreign], wishes=wanted.wishes)
    given = {line.material: line.percent or line.grams or 0.0 for line in wanted.recipe.lines}
    whole = fsum(given.values())
    percents = {key: WHOLE * given.get(key, 0.0) / whole for key in formula.keys}
    case = Case.at(
        replace(formula, amounts=percents),
        known,
        wishes=wanted.wishes,
        report=None,
        history=None,
        reading=Reading.of(wanted),
    )
    return _Slip(case, wanted, tuple(foreign)).answer()


@dataclass(frozen=True)
class _Slip:
    case: Case
    wanted: RecoveryRequest
    foreign: tuple[str, ...]

    @property
    def rules(self) -> BowlRules:
        return self.case.rulebook.bowl

    @cached_property
    def planned(self) -> dict[str, float]:
        """The batch as planned [g]."""
        return {key: p * self.wanted.batch_grams / WHOLE for key, p in self.case.formula.amounts.items()}

    @cached_property
    def there(self) -> dict[str, float]:
        """What is in the bowl [g]."""
        return {key: self.wanted.weighed.get(key, 0.0) for key in self.planned}

    @cached_property
    def scale(self) -> float:
        """By how much everything grows when what is too much is to be right again."""
        return max(1.0, *[self.there[key] / planned for key, planned in self.planned.items() if planned])

    @cached_property
    def shelf(self) -> tuple[frozenset[str], tuple[TextItem, ...]]:
        """What may be reached for besides the recipe, with a note on each material that is turned away."""
        ingredients = self.case.formula.ingredients
        there = {key: one for key, one in ingredients.items() if self.planned[key] or self.there[key]}
        remedies = {one.remedy[0].key for one in self.sour if one.remedy is not None}
        return admitted(set(self.wanted.shelf or ()) - remedies, there, self.case)

    @cached_property
    def groups(self) -> list[list[Demand]]:
        """The law, the dough, and everything else in the order of its ranks."""
        context = self.case.context
        demands = recovery_demands(context, self.case.demands, self.rules.recovery)
        return [
            [demand for demand in demands if demand.rank == "law"],
            recipe_wetness(context),
            *by_rank([demand for demand in demands if demand.rank != "law"]),
        ]

    @cached_property
    def sour(self) -> tuple[Overweighed, ...]:
        """Acids and alkalis of which a mixed batch holds too much."""
        if not self.wanted.mixed:
            return ()
        ingredients, within = self.case.formula.ingredients, self.rules.recovery.held_within
        at_hand = tuple(ingredients[key] for key in sorted(ingredients))
        return tuple(
            Overweighed(self.case, ingredients[key], excess, at_hand)
            for key, excess in sorted(self._excess().items())
            if ingredients[key].main_role in ("acid", "base") and excess > within * self.planned[key]
        )

    def answer(self) -> RecoveryAnswer:
        """Return the answer."""
        case = self.case
        take_out = {} if self.wanted.mixed else self._excess()
        ways = self._mended() if self.wanted.mixed else self._weighed_on(take_out)
        (exact, _), (smallest, proved) = ways
        recipes = [{line.material: line.percent for line in way.recipe.lines} for way, _ in ways]
        needed: dict[str, float] = {}
        for line in sorted((line for way, _ in ways for line in way.additions), key=lambda line: line.grams):
            needed[line.material] = line.grams
        return RecoveryAnswer(
            exact=exact,
            smallest=smallest,
            take_out=tuple(
                GramLine(material=key, grams=exact_grams(take_out[key]))
                for key in case.order
                if key in take_out
            ),
            advice=tuple(self._advice(take_out, smallest)),
            cautions=cautions_of(case, *recipes, grams=needed, handled=needed),
            notes=(
                *case.formula.notes,
                *self.shelf[1],
                *law_notes(case, *recipes),
                *(() if proved else (self.rules.said("not_proved"),)),
            ),
            rules_version=case.rulebook.edition,
        )

    def _mended(self) -> tuple[_Way, _Way]:
        """Return both ways out of a batch that is mixed."""
        exact = {key: max(0.0, self.scale * t - self.there[key]) for key, t in self.planned.items()}
        return self._way(self.there, exact, scaled=True), self._way(self.there, self._least())

    def _weighed_on(self, take_out: Mapping[str, float]) -> tuple[_Way, _Way]:
        """Return the one way out of a batch that is not mixed yet: taken out, and weighed on."""
        bowl = {key: grams - take_out.get(key, 0.0) for key, grams in self.there.items()}
        short = {key: self.planned[key] - bowl[key] for key in self.wanted.weighed}
        later = {key: t for key, t in self.planned.items() if key not in self.wanted.weighed}
        way = self._way(bowl, short, weighed_later=later)
        return way, way

    def _excess(self) -> dict[str, float]:
        over = {key: grams - self.planned[key] for key, grams in self.there.items()}
        return {key: grams for key, grams in over.items() if grams > CERTIFIED}

    @cached_property
    def _base(self) -> dict[str, float]:
        """The batch once everything that is still to come is in [g]."""
        return {key: max(self.there[key], t) for key, t in self.planned.items()}

    def _least(self) -> dict[str, float]:
        """Return what still goes in [g] when as little as possible is added beyond the recipe.

        Too much acid or alkali is not diluted: what takes it up goes in.
        """
        only_sour = self._excess().keys() <= {one.one.key for one in self.sour}
        more = {} if self.sour and only_sour else self._diluted()
        for one in self.sour:
            if one.remedy is not None:
                remedy, grams = one.remedy
                more[remedy.key] = more.get(remedy.key, 0.0) + grams
        return {key: base - self.there[key] + more.get(key, 0.0) for key, base in sorted(self._base.items())}

    def _diluted(self) -> dict[str, float]:
        """Return the least addition that brings everything within its bounds again [g]."""
        options = [
            Option(key, {key: 1.0}, 1 + _TIE_BREAKER * hash_share(key), newcomer=not self.planned[key])
            for key in sorted(self._base)
            if key not in self.foreign and (self.planned[key] or key in self.shelf[0])
        ]
        added = least_addition(
            Addition(
                self._percents,
                options,
                groups=self._rows(diluting=True),
                fee=_FEE,
                newcomers_at_most=self.case.wishes.new_materials_at_most,
            )
        )
        return {} if added is None else {key: amount / self._unit for key, amount in added.amounts.items()}

    @property
    def _unit(self) -> float:
        """How many percent of that batch a gram is."""
        return WHOLE / sum(self._base.values())

    @property
    def _percents(self) -> dict[str, float]:
        return {key: grams * self._unit for key, grams in self._base.items()}

    @cached_property
    def _demand_rows(self) -> list[list[tuple[Demand, list[Row]]]]:
        """The rows of every demand, group by group."""
        prices = self.case.rulebook.program.bend_prices.model_dump()
        keys, base = self.case.formula.keys, self._percents
        return [[(d, rows_over([d], base, keys, prices)) for d in group] for group in self.groups]

    def _rows(self, *, diluting: bool = False) -> list[list[Row]]:
        """Return the rows of every group; for what is to be diluted, without an acid or alkali in excess."""
        left = {one.one.key for one in self.sour} if diluting else set()
        return [
            [row for d, rows in group if not (d.group == "no-lever" and left & set(d.about)) for row in rows]
            for group in self._demand_rows
        ]

    def _way(
        self,
        bowl: Mapping[str, float],
        additions: Mapping[str, float],
        *,
        scaled: bool = False,
        weighed_later: Mapping[str, float] | None = None,
    ) -> _Way:
        """Return one way out: additions [g] in whole steps that miss as little as can be, and whether proved.

        ``weighed_later`` comes as the recipe has it and is no addition.
        """
        exact = {key: grams for key, grams in additions.items() if grams > CERTIFIED}
        whole = {key: grams + (weighed_later or {}).get(key, 0.0) for key, grams in bowl.items()}
        counted = self._counted(whole, exact)
        added = {key: of_steps(count, self.wanted.balance_step) for key, count in counted.counts.items()}
        final = {key: grams + added.get(key, 0.0) for key, grams in whole.items()}
        asked = (demand for group in self.groups for demand in group)
        demands = as_weighed(asked, final, self.wanted.balance_step)
        way = Recovery(
            additions=tuple(
                AddedLine(
                    material=key,
                    grams=added[key],
                    exact_grams=exact_grams(exact[key]),
                    why=why,
                    why_figures=figures,
                )
                for key in self.case.order
                if added.get(key)
                for why, figures in (self._why(key, bowl[key], final, demands, scaled=scaled),)
            ),
            batch_grams=exact_grams(sum(final.values())),
            recipe=self._recipe(final),
            shortfalls=tuple(shortfalls(demands, final)),
            checks=self.case.checks(in_percent(final), instead=demands),
        )
        return way, counted.proved

    def _counted(self, bowl: Mapping[str, float], exact: Mapping[str, float]) -> Counted:
        """Return whole steps, each line within a step of what it should be."""
        return nearest_steps(
            Steps(
                base={key: grams * self._unit for key, grams in bowl.items()},
                exact={key: grams * self._unit for key, grams in exact.items()},
                groups=self._rows(),
                step=self.wanted.balance_step * self._unit,
            )
        )

    def _recipe(self, final: Mapping[str, float]) -> PercentRecipe:
        """Return what is in the bowl at last, which may be more than a request may ask about."""
        lines = [
            Line.model_construct(material=key, grams=exact_grams(final[key]))
            for key in self.case.order
            if final[key] > 0
        ]
        percents = read_recipe(Recipe.model_construct(lines=tuple(lines))).percents
        return PercentRecipe(
            name=self.case.formula.written.name,
            lines=tuple(
                PercentLine(material=key, percent=percent, lot=self.case.formula.lot(key))
                for key, percent in percents.items()
            ),
        )

    def _why(
        self, key: str, before: float, final: Mapping[str, float], demands: Sequence[Demand], *, scaled: bool
    ) -> tuple[str, str]:
        text, planned = self.rules.text, self.planned[key]
        if before < planned and final[key] <= planned + self.wanted.balance_step / 2:
            return text["as_planned"], ""
        if scaled:
            return text["in_proportion"].format(percent=f"{self.case.formula.amounts[key]:.4g}"), ""
        one = self.case.formula.ingredients[key]
        for sour in self.sour:
            if sour.remedy is not None and sour.remedy[0].key == key:
                return text["takes_up"].format(name=sour.one.name), ""
        if planned and any(d.group == "no-lever" and key in d.about for d in demands):
            return text["near_share"], ""
        return why_added(
            Move(one, max(before, planned), final[key]), final, demands, otherwise=text["beside"]
        )

    def _advice(self, take_out: Mapping[str, float], smallest: Recovery) -> Iterable[TextItem]:
        names = {key: one.name for key, one in self.case.formula.ingredients.items()}
        if not self.wanted.mixed:
            if take_out:
                what = listed(f"{exact_grams(grams):g} g {names[key]}" for key, grams in take_out.items())
                yield self.rules.said("take_out", what=what)
            else:
                yield self.rules.said("take_out_nothing")
            return
        for one in self.sour:
            yield from one.advice()
        for key in self.foreign:
            yield self.rules.said("foreign", name=names[key])
        if smallest.shortfalls:
            yield self.rules.said("short_of_bounds")
        if set(self.wanted.weighed) != {key for key, t in self.planned.items() if t} | set(self.foreign):
            yield self.rules.said("planned")
        if self.scale > 1 + CERTIFIED:
            yield self._scaled()

    def _scaled(self) -> TextItem:
        """Say by how much the exact way grows the batch, and what for."""
        recipe = (key for key, t in self.planned.items() if t)
        most = max(recipe, key=lambda key: self.there[key] / self.planned[key])
        return self.rules.said(
            "scaled",
            percent=f"{WHOLE * (self.scale - 1):.3g}",
            name=self.case.formula.ingredients[most].name,
        )
