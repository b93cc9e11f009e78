"""The substitution: what may stand in for a missing material, ranked, and what may not."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any

from advisor.case.case import Case, Reading
from advisor.case.refusal import no_recipe_fits
from advisor.case.solve import Program
from advisor.case.watch import cautions_of
from advisor.errors import Fault, InvalidRequest
from advisor.frozen import cached_property, dataclass
from advisor.labelling.notes import law_notes, learning_notes
from advisor.optimise.problem import MOVED, Problem
from advisor.optimise.session import Session
from advisor.recipe.batch import Batch
from advisor.recipe.demand import Demand
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, check_wished_keys, opened, read_formula
from advisor.rulebook.ingredient import Ingredient, names_of
from advisor.rulebook.load import Rulebook
from advisor.rulebook.newcomers import apart
from advisor.schema.base import WHOLE
from advisor.schema.findings import Caution, TextItem
from advisor.substitution.candidates import Candidates, of_its_role, sort_out
from advisor.substitution.option import Swap, new_warnings, swap_program
from advisor.substitution.ranking import all_pairs_within, at_least, most_alike, ranking
from advisor.substitution.replacement import (
    Gap,
    balance_demand,
    same_surfactant,
    swap_demands,
)
from advisor.substitution.schema import Option, Ranking, Rejected, SubstitutionAnswer, SubstitutionRequest
from advisor.substitution.screen import Blame, Chosen, Screen, Trial
from advisor.sums import greatest

_GRAINS = "mill-the-needles"
_SLACK = 1e-9


def substitute(
    request: SubstitutionRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> SubstitutionAnswer:
    """Return recipes without a missing material, best first, and what was rejected with the rule it breaks.

    Parameters
    ----------
    request : SubstitutionRequest or mapping
        The recipe, the missing material, and what may stand in, is at hand, wished and known besides.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial
        The request is wrong; each place is named.
    NoRecipeFits
        Without the missing material nothing lawful can be made of what is held.

    Notes
    -----
    Foam and mildness go by rank, hardness by what is known to set a bar: none of them is a measurement.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 24}, {"material": "isethionate-powder", "percent": 60},
    ...     {"material": "kaolin", "percent": 12}, {"material": "glycerin", "percent": 4}]
    >>> answer = substitute({"recipe": {"lines": lines}, "missing": "betaine-30",
    ...     "replacements": ["hydroxysultaine-42", "behentrimonium-25"], "shelf": ["water"]})
    >>> [option.replacement for option in answer.options], [one.rule for one in answer.rejected]
    (['hydroxysultaine-42'], ['no-recipe-fits'])
    """
    wanted, known = opened(SubstitutionRequest, request, rulebook, notebook)
    formula = read_formula(wanted.recipe, known, wanted.shelf)
    named = known.all((key, f"/replacements/{i}") for i, key in enumerate(wanted.replacements or ()))
    _check(wanted, formula, named)
    batch = Batch.of(wanted, formula.written.grams)
    case = Case.at(
        formula,
        known,
        wishes=wanted.wishes,
        history=wanted.history,
        reading=Reading.of(wanted),
        batch=batch,
    )
    own, left = formula.amounts[wanted.missing], _left(wanted, formula, batch)
    book = known.rulebook
    gap = Gap(formula.ingredients[wanted.missing], own - left, book.substitution, left, book.acidity.mover)
    candidates = named or of_its_role(gap, known)
    at_bench = {key: formula.ingredients[key] for key in candidates if key in formula.ingredients}
    tried = sort_out(case, gap, {**candidates, **at_bench})
    return _Substitution(case, gap, tried, wanted.options_at_most).answer()


def _check(wanted: SubstitutionRequest, formula: Formula, named: Mapping[str, Ingredient]) -> None:
    """Refuse what contradicts the missing material.

    Raises
    ------
    InvalidRequest
    """
    missing, wishes = wanted.missing, wanted.wishes
    if missing not in formula.written.percents:
        raise InvalidRequest(
            f"{missing!r} is not in the recipe, so it cannot be missing there.",
            [Fault("/missing", "is not in the recipe", "name a material of the recipe")],
        )
    wrong = [f"/replacements/{i}" for i, key in enumerate(wanted.replacements or ()) if key == missing]
    if wishes is not None:
        check_wished_keys(wishes, {**formula.ingredients, **named}, formula.written.percents)
        wrong += [f"/wishes/fixed/{i}" for i, key in enumerate(wishes.fixed) if key == missing]
        if missing in wishes.lines and wishes.lines[missing].min:
            wrong.append(f"/wishes/lines/{missing}/min")
    if wrong:
        raise InvalidRequest(
            "The request asks for what is missing.",
            [Fault(where, "is what is missing", "name another material") for where in wrong],
        )


def _left(wanted: SubstitutionRequest, formula: Formula, batch: Batch) -> float:
    """Return how much of the missing material is still there [% of the recipe], in whole steps of a recipe.

    Raises
    ------
    InvalidRequest
        It suffices, or grams are told and no batch.
    """
    left = wanted.left_percent or 0.0
    if wanted.left_grams is not None:
        if batch.grams is None:
            raise InvalidRequest(
                "What is left is told in grams, and nobody told of how many.",
                [Fault("/left_grams", "needs a batch", "give batch_grams, or left_percent")],
            )
        steps = 10**formula.written.decimals
        left = math.floor(WHOLE * wanted.left_grams / batch.grams * steps + _SLACK) / steps
    if left >= formula.amounts[wanted.missing]:
        where = "/left_percent" if wanted.left_grams is None else "/left_grams"
        raise InvalidRequest(
            "What is left is enough for the recipe.",
            [Fault(where, "is not less than the recipe asks for", "weigh it as it stands")],
        )
    return left


@dataclass(frozen=True)
class _Substitution:
    case: Case
    gap: Gap
    candidates: Candidates
    options_at_most: int

    def answer(self) -> SubstitutionAnswer:
        screen = self._screen
        singles = [trial for key in screen.candidates if (trial := screen.attempt((key,))) is not None]
        fitting = {trial.chosen[0] for trial in singles}
        rejected = [
            *self.candidates.rejected,
            *(self._blamed(key) for key in self.candidates.live if key not in fitting),
        ]
        rules, most = self.gap.rules.ranking, self.gap.rules.trying.programs_at_most
        ranked = [(trial, self._rank(trial)) for trial in singles]
        best = min((_without_price(rank) for _, rank in ranked), default=math.inf)
        points = best - rules.pair_saves
        crowd = self._worth_pairing(singles, points)
        pairable = all_pairs_within(most - 2 * len(screen.candidates) + len(fitting))
        paired = most_alike(self.gap.one, crowd, pairable, rules)
        ranked.extend(self._pairs(paired, points))
        made: list[tuple[Option, Swap]] = []
        waiting: list[Chosen] = []
        for trial, _ in sorted(ranked, key=self._place):
            if len(made) == self.options_at_most:
                waiting.append(trial.chosen)
                continue
            swap = Swap(self._look(trial.chosen), self.gap, trial)
            if swap.amounts is not None:
                made.append((swap.option(swap.amounts), swap))
            elif len(trial.chosen) == 1:
                rejected.append(self._unmade(swap))
        if not made:
            self._refuse_if_unlawful()
        made.sort(key=lambda one: (self._order(one[0]), one[1].trial.chosen))
        return SubstitutionAnswer(
            options=tuple(option for option, _ in made),
            rejected=tuple(sorted(rejected, key=lambda one: one.replacement)),
            cautions=self._cautions(made),
            notes=(
                *self._notes(made, waiting, fitting),
                *self._unpaired(crowd, paired),
                *law_notes(self._wide, *self._proposed(made)),
            ),
            rules_version=self.case.rulebook.edition,
        )

    def _look(self, chosen: Sequence[str]) -> Case:
        barred = {key for one in chosen for key in self._clashing.get(one, ())}
        at_hand = {key: one for key, one in self.candidates.at_hand.items() if key not in barred}
        return self.case.with_materials(at_hand | {key: self.candidates.live[key] for key in chosen})

    @cached_property
    def _clashing(self) -> dict[str, frozenset[str]]:
        """The shelf materials that may not meet a candidate."""
        own = self.case.formula.amounts
        new = [one for key, one in self.candidates.at_hand.items() if not own.get(key)]
        return apart(self.candidates.live.values(), new, self.case.pairs)

    @cached_property
    def _wide(self) -> Case:
        """The recipe with the shelf and every material that is tried."""
        return self.case.with_materials({**self.candidates.at_hand, **self.candidates.live})

    @cached_property
    def _screen(self) -> Screen:
        wide, live = self._wide, self.candidates.live
        held = {demand.about[0] for demand in wide.demands if demand.group == "no-lever"}
        return Screen(
            program=swap_program(wide, self.gap, swap_demands(wide.context, self.gap, frozenset(live))),
            gap=self.gap,
            candidates=tuple(live),
            balance=balance_demand(wide.context, self.gap.rules),
            excluded=self._clashing,
            at_hand=frozenset(self.candidates.at_hand) - held,
        )

    @cached_property
    def _price(self) -> float | None:
        """What the recipe costs as it is [currency per kg]."""
        return self._wide.formula.measures.price(self.case.formula.amounts)

    def _rank(self, trial: Trial) -> Ranking:
        """Return the points of a trial before its small moves are weighed and rounded."""
        own, measures = self.case.formula.amounts, self._wide.formula.measures
        amounts = {key: amount for key, amount in trial.plan.amounts.items() if amount > MOVED}
        replaced = [self.candidates.live[key] for key in trial.chosen]
        return ranking(
            self.gap.one,
            replaced,
            disturbance=0.0 if self._screen.program.cheapest else trial.plan.price,
            new_materials=sum(1 for key in amounts if not own.get(key)),
            prices=(self._price, measures.price(amounts)),
            rules=self.gap.rules,
            warnings=new_warnings(self.case, self.gap.one, replaced),
        )

    def _place(self, ranked: tuple[Trial, Ranking]) -> tuple[float, float, Chosen]:
        trial, rank = ranked
        return (trial.plan.price if self._screen.program.cheapest else 0.0, rank.points, trial.chosen)

    def _order(self, option: Option) -> tuple[float, float]:
        price = option.after.totals.price_per_kg if self._screen.program.cheapest else None
        return (price or 0.0, option.ranking.points)

    @cached_property
    def _least(self) -> float | None:
        return self._screen.least()

    def _worth_pairing(self, singles: Sequence[Trial], points: float) -> list[Ingredient]:
        """Return the materials of which a pair may have so few points."""
        live = self.candidates.live.values()
        if len(live) < 2 or (singles and self._screen.program.cheapest) or self._least is None:
            return []
        return [one for one in live if self._bound(one) <= points]

    def _bound(self, *some: Ingredient) -> float:
        """Return points that a pair with these cannot stay below."""
        new = sum(1 for one in some if not self.case.formula.amounts.get(one.key))
        rules = self.gap.rules.ranking
        return at_least(self.gap.one, some, disturbance=self._least or 0.0, new_materials=new, rules=rules)

    def _pairs(self, paired: Sequence[Ingredient], points: float) -> Iterator[tuple[Trial, Ranking]]:
        """Return the pairs that fit and have no more points, with what they have."""
        clashing = apart(paired, paired, self.case.pairs)
        for one, other in combinations(paired, 2):
            if other.key in clashing[one.key] or self._bound(one, other) > points:
                continue
            trial = self._screen.attempt((one.key, other.key))
            if trial is None or self._least_brought(trial) <= MOVED:
                continue
            rank = self._rank(trial)
            if _without_price(rank) <= points:
                yield trial, rank

    def _least_brought(self, trial: Trial) -> float:
        """Return what comes in of the replacement that there comes least of [%]."""
        own = self.case.formula.amounts
        return min(trial.plan.amounts[key] - own.get(key, 0.0) for key in trial.chosen)

    def _blamed(self, key: str) -> Rejected:
        """Return a rejection that names the demand standing most against a replacement."""
        text = _bend(self._screen.blame((key,)), self.gap, self.candidates.live[key])
        return Rejected(replacement=key, rule="no-recipe-fits", reason=text)

    def _unmade(self, swap: Swap) -> Rejected:
        """Return why a replacement that fits in itself makes no recipe."""
        rule = "new-materials" if swap.solved is None else "steps-too-coarse"
        text = self.gap.text(
            rule.replace("-", "_"),
            name=swap.replaced[0].name,
            most=self.case.wishes.new_materials_at_most,
        )
        return Rejected(replacement=swap.trial.chosen[0], rule=rule, reason=text)

    def _refuse_if_unlawful(self) -> None:
        """Refuse where the law cannot be kept without the missing material, whatever else is given up.

        Raises
        ------
        NoRecipeFits
        """
        wide = self._wide
        program = self._screen.program
        lawful = [demand for demand in program.hard if demand.rank in ("law", "held")]
        held = [demand for demand in lawful if demand.rank == "held"]
        if _possible(program, held) and not _possible(program, lawful):
            narrowed = swap_program(wide, self.gap, [d for d in lawful if d.group != "missing"])
            raise no_recipe_fits(narrowed, wide)

    def _proposed(self, made: Sequence[tuple[Option, Swap]]) -> list[dict[str, float]]:
        """Return every recipe that is proposed, or the one without what is missing."""
        own = {**self.case.formula.amounts, self.gap.one.key: self.gap.left}
        return [{line.material: line.percent for line in option.recipe.lines} for option, _ in made] or [own]

    def _cautions(self, made: Sequence[tuple[Option, Swap]]) -> tuple[Caution, ...]:
        """Return the cautions for every recipe that is proposed."""
        recipes = self._proposed(made)
        grains = any(shift.what == "fineness" for option, _ in made for shift in option.shifts)
        batch = (self.case.formula.written.grams or 0.0) / 100
        wanted = greatest((key, percent * batch) for recipe in recipes for key, percent in recipe.items())
        return cautions_of(self._wide, *recipes, advice=[_GRAINS] if grains else [], grams=wanted)

    def _unpaired(self, crowd: Sequence[Ingredient], paired: Sequence[Ingredient]) -> Iterator[TextItem]:
        """Say that not all pairs were tried, where they were too many."""
        if len(paired) < len(crowd):
            text = self.gap.text("pairs_alike", count=len(crowd), most=len(paired), missing=self.gap.one.name)
            yield TextItem(id="pairs-most-alike", text=text)

    def _notes(
        self, made: Sequence[tuple[Option, Swap]], waiting: Sequence[Chosen], fitting: set[str]
    ) -> tuple[TextItem, ...]:
        gap, live = self.gap, self.candidates.live
        told = [*self.case.formula.notes, *self.candidates.notes, *learning_notes(self.case)]

        def say(kind: str, sentence: str, **filled: object) -> None:
            told.append(TextItem(id=kind, text=gap.text(sentence, missing=gap.one.name, **filled)))

        if not live and not self.candidates.rejected:
            empty = "empty_purpose" if gap.by_purpose else "empty"
            say("no-candidate", empty, role=gap.group.role.replace("_", " "))
        elif not made:
            say("nothing-fits", "nothing")
        if gap.by_purpose and not made:
            say("may-be-left-out", "may_be_left_out")
        if not fitting and len(live) > 1:
            say("pairs", "pair_tried" if made else "pairs_failed")
        if gap.group.role == "featured":
            say("featured", "featured")
        for _, swap in made:
            if not swap.trial.balanced:
                share = 100 * gap.rules.bounds.balance_share
                say("balance-let-go", "balance_dropped", name=names_of(swap.replaced), percent=share)
            for other in swap.replaced:
                if gap.by_purpose and not gap.does_the_same(other):
                    say("another-purpose", "another_purpose", name=other.name, brings=gap.brings)
            if len(swap.replaced) == 1 and same_surfactant(gap.one, swap.replaced[0]):
                say("another-lot", "lot", name=swap.replaced[0].material.name)
            confidence = swap.confidence()
            told += [confidence] if confidence is not None else []
        if waiting:
            shown = waiting[: gap.rules.telling.also_fit_at_most]
            names = [" with ".join(live[key].material.name for key in some) for some in shown]
            if more := len(waiting) - len(shown):
                names.append(gap.text("and_more", count=more))
            say("also-fit", "also_fit", names="; ".join(names))
        if made:
            say("trial", "trial", grams=gap.rules.trial.grams)
        return tuple(dict.fromkeys(told))


def _without_price(ranked: Ranking) -> float:
    return ranked.points - ranked.price


def _possible(program: Program, demands: Sequence[Demand]) -> bool:
    rows = [program.total, *(row for demand in demands for row in demand.rows(program.keys, WHOLE))]
    return Session(Problem(program.starts, rows=rows)).solve() is not None


def _bend(found: Blame | None, gap: Gap, one: Ingredient) -> str:
    """Return the sentence that names the demand a replacement cannot meet."""
    if found is None:
        return gap.text("no_total", name=one.name)
    demand, side = found.demand, found.side
    unit, digits = (" %", 2) if demand.unit == "%" else ("", 3)
    asked_for = demand.bound(side) or 0.0
    return gap.text(
        "bends",
        name=one.name,
        demand=demand.name,
        reached=f"{found.reached:.{digits}f}{unit}",
        asked=f"at {'least' if side == 'min' else 'most'} {asked_for:.{digits}f}{unit}",
    )
