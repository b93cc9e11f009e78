"""Recoveries: something was over-weighed, and the batch is brought right again."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from advisor.bowl.add_schema import AddedLine
from advisor.bowl.advice import bowl_text
from advisor.bowl.options import by_rank, planned_wetness, recovery_demands, rows_over
from advisor.bowl.recover_schema import Recovery, RecoveryAnswer, RecoveryRequest
from advisor.bowl.shortfalls import in_percent, shortfalls
from advisor.bowl.solve import WHOLE
from advisor.case.case import Case
from advisor.case.reasons import Move, why_added
from advisor.case.shelf import admitted
from advisor.demands.move_prices import hash_share
from advisor.optimise.addition import Addition, Option, least_addition
from advisor.optimise.problem import CERTIFIED
from advisor.optimise.row import Row
from advisor.optimise.steps import Steps, nearest_steps
from advisor.recipe.demand import Demand
from advisor.recipe.grams import exact_grams, listed, of_steps
from advisor.recipe.notebook import Notebook
from advisor.recipe.read import read_recipe
from advisor.recipe.request import check_wished_keys, known_materials, read_formula, read_request
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.compatibility import clash
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import TextItem
from advisor.schema.recipe import GramLine, Line, PercentLine, PercentRecipe, Recipe

_TIE_BREAKER = 1e-6
_PLANNED_LAST = 4.0


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
    rules = rulebook or load_rulebook()
    wanted = read_request(RecoveryRequest, request, rules)
    known = known_materials(wanted.materials, rules, notebook)
    known.all((key, f"/weighed/{key}") for key in wanted.weighed)
    own = {line.material for line in wanted.recipe.lines}
    foreign = sorted(set(wanted.weighed) - own)
    formula = read_formula(wanted.recipe, known, [*(wanted.shelf or ()), *foreign])
    if wanted.wishes:
        check_wished_keys(wanted.wishes, formula.ingredients, formula.written.percents)
    given = {line.material: line.percent or line.grams or 0.0 for line in wanted.recipe.lines}
    whole = sum(given.values())
    percents = {key: WHOLE * given.get(key, 0.0) / whole for key in formula.keys}
    case = Case.at(replace(formula, amounts=percents), known, wishes=wanted.wishes, report=None, history=None)
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
        grown = [self.there[key] / planned for key, planned in self.planned.items() if planned]
        return max(1.0, *grown)

    @cached_property
    def shelf(self) -> tuple[frozenset[str], tuple[TextItem, ...]]:
        """What may be reached for besides the recipe, with a note on each material that is turned away."""
        ingredients = self.case.formula.ingredients
        there = {key: one for key, one in ingredients.items() if self.planned[key] or self.there[key]}
        return admitted(self.wanted.shelf or (), there, self.case)

    @cached_property
    def groups(self) -> list[list[Demand]]:
        """The law, the dough, and everything else in the order of its ranks."""
        context = self.case.context
        demands = recovery_demands(context, self.case.demands, self.rules.recovery.held_within)
        return [
            [demand for demand in demands if demand.rank == "law"],
            planned_wetness(context),
            *by_rank([demand for demand in demands if demand.rank != "law"]),
        ]

    def answer(self) -> RecoveryAnswer:
        case = self.case
        take_out = {} if self.wanted.mixed else self._excess()
        if self.wanted.mixed:
            exact = {key: max(0.0, self.scale * t - self.there[key]) for key, t in self.planned.items()}
            ways = [self._way(self.there, exact, scaled=True), self._way(self.there, self._least())]
        else:
            bowl = {key: grams - take_out.get(key, 0.0) for key, grams in self.there.items()}
            short = {key: self.planned[key] - bowl[key] for key in self.wanted.weighed}
            as_planned = {key: t for key, t in self.planned.items() if key not in self.wanted.weighed}
            ways = [self._way(bowl, short, weighed_later=as_planned)] * 2
        used = {line.material: 1.0 for way in ways for line in way.recipe.lines}
        needed: dict[str, float] = {}
        for line in sorted((line for way in ways for line in way.additions), key=lambda line: line.grams):
            needed[line.material] = line.grams
        return RecoveryAnswer(
            exact=ways[0],
            smallest=ways[1],
            take_out=tuple(
                GramLine(material=key, grams=exact_grams(take_out[key]))
                for key in case.order
                if key in take_out
            ),
            advice=tuple(self._advice(take_out, ways)),
            cautions=(*case.cautions(used, grams=needed), *self._clashes()),
            notes=(*case.formula.notes, *self.shelf[1]),
            rules_version=case.rulebook.edition,
        )

    def _excess(self) -> dict[str, float]:
        over = {key: grams - self.planned[key] for key, grams in self.there.items()}
        return {key: grams for key, grams in over.items() if grams > CERTIFIED}

    def _least(self) -> dict[str, float]:
        """Return what still goes in [g] when as little as possible is added beyond the plan."""
        base = {key: max(self.there[key], t) for key, t in self.planned.items()}
        mass = sum(base.values())
        percents = {key: WHOLE * grams / mass for key, grams in base.items()}
        options = [
            Option(key, {key: 1.0}, 1 + _TIE_BREAKER * hash_share(key), newcomer=not self.planned[key])
            for key in sorted(base)
            if key not in self.foreign and (self.planned[key] or key in self.shelf[0])
        ]
        added = least_addition(
            Addition(
                percents,
                options,
                groups=[self._rows(group, percents) for group in self.groups],
                fee=WHOLE * self.wanted.balance_step / mass,
                newcomers_at_most=self.case.wishes.new_materials_at_most,
            )
        )
        more = {} if added is None else added.amounts
        return {key: base[key] - self.there[key] + more.get(key, 0.0) * mass / WHOLE for key in sorted(base)}

    def _rows(self, demands: Iterable[Demand], percents: Mapping[str, float]) -> list[Row]:
        prices = self.case.rulebook.program.bend_prices.model_dump()
        return rows_over(demands, percents, self.case.formula.keys, prices)

    def _way(
        self,
        bowl: Mapping[str, float],
        additions: Mapping[str, float],
        *,
        scaled: bool = False,
        weighed_later: Mapping[str, float] | None = None,
    ) -> Recovery:
        """Return one way out: additions [g] in whole steps, proved against everything the exact ones meet.

        ``weighed_later`` comes as planned and is no addition.
        """
        exact = {key: grams for key, grams in additions.items() if grams > CERTIFIED}
        whole = {key: grams + (weighed_later or {}).get(key, 0.0) for key, grams in bowl.items()}
        added = self._rounded(whole, exact, {} if scaled else self._to_come(bowl))
        final = {key: grams + added.get(key, 0.0) for key, grams in whole.items()}
        demands = [demand for group in self.groups for demand in group]
        return Recovery(
            additions=tuple(
                AddedLine(
                    material=key,
                    grams=added[key],
                    exact_grams=exact_grams(exact[key]),
                    why=self._why(key, bowl[key], final, demands, scaled=scaled),
                )
                for key in self.case.order
                if added.get(key)
            ),
            batch_grams=exact_grams(sum(final.values())),
            recipe=self._recipe(final),
            shortfalls=tuple(shortfalls(demands, final)),
            checks=self.case.checks(in_percent(final), instead=demands),
        )

    def _to_come(self, bowl: Mapping[str, float]) -> dict[str, float]:
        """Return what the plan still asks of each line [g]."""
        return {key: max(0.0, planned - bowl[key]) for key, planned in self.planned.items()}

    def _rounded(
        self, bowl: Mapping[str, float], exact: Mapping[str, float], to_come: Mapping[str, float]
    ) -> dict[str, float]:
        """Return whole steps; a line that comes as planned is the last to be moved by rounding."""
        after = {key: grams + exact.get(key, 0.0) for key, grams in bowl.items()}
        mass = sum(after.values())
        unit = WHOLE / mass
        shares = {key: grams * unit for key, grams in after.items()}
        met = [
            [replace(row, penalty=None) for row in self._rows(group, shares) if row.gap(shares) <= CERTIFIED]
            for group in self.groups
        ]
        steps = Steps(
            base={key: grams * unit for key, grams in bowl.items()},
            exact={key: grams * unit for key, grams in exact.items()},
            rows=(),
            step=self.wanted.balance_step * unit,
            least=1,
            prices={},
            off_prices={
                key: _PLANNED_LAST if abs(grams - to_come.get(key, 0.0)) <= CERTIFIED else 1.0
                for key, grams in exact.items()
            },
        )
        ladder = [[row for group in met[:kept] for row in group] for kept in range(len(met), 0, -1)]
        counts = nearest_steps(steps, ladder)
        return {key: of_steps(count, self.wanted.balance_step) for key, count in counts.items()}

    def _recipe(self, final: Mapping[str, float]) -> PercentRecipe:
        lines = [
            Line(material=key, grams=exact_grams(final[key])) for key in self.case.order if final[key] > 0
        ]
        percents = read_recipe(Recipe(lines=tuple(lines))).percents
        return PercentRecipe(
            name=self.case.formula.written.name,
            lines=tuple(
                PercentLine(material=key, percent=percent, lot=self.case.formula.lot(key))
                for key, percent in percents.items()
            ),
        )

    def _why(
        self, key: str, before: float, final: Mapping[str, float], demands: Sequence[Demand], *, scaled: bool
    ) -> str:
        text, planned = self.rules.text, self.planned[key]
        if before < planned and final[key] <= planned + self.wanted.balance_step / 2:
            return text["as_planned"]
        if scaled:
            return text["in_proportion"].format(percent=f"{self.case.formula.amounts[key]:.4g}")
        one = self.case.formula.ingredients[key]
        return why_added(
            Move(one, max(before, planned), final[key]), final, demands, otherwise=text["beside"]
        )

    def _advice(self, take_out: Mapping[str, float], ways: Sequence[Recovery]) -> Iterable[TextItem]:
        names = {key: one.name for key, one in self.case.formula.ingredients.items()}
        if not self.wanted.mixed:
            if take_out:
                what = listed(f"{exact_grams(grams):g} g {names[key]}" for key, grams in take_out.items())
                yield bowl_text(self.rules, "take_out", what=what)
            else:
                yield bowl_text(self.rules, "take_out_nothing")
            return
        for key in self.foreign:
            yield bowl_text(self.rules, "foreign", name=names[key])
        if self.scale > 1 + CERTIFIED:
            most = max(
                (key for key, t in self.planned.items() if t),
                key=lambda key: self.there[key] / self.planned[key],
            )
            yield bowl_text(self.rules, "scaled", percent=f"{WHOLE * (self.scale - 1):.3g}", name=names[most])
        if ways[1].shortfalls:
            yield bowl_text(self.rules, "short_of_bounds")
        if set(self.wanted.weighed) != {key for key, t in self.planned.items() if t} | set(self.foreign):
            yield bowl_text(self.rules, "planned")

    def _clashes(self) -> Iterable[TextItem]:
        ingredients = self.case.formula.ingredients
        for key in self.foreign:
            for other, planned in self.planned.items():
                broken = clash(ingredients[key], ingredients[other], self.case.pairs)
                if planned and broken is not None:
                    yield broken
