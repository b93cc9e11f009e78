"""The draft: a new bar from a wish and a shelf, up to one of each family."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

from advisor.assessment.schema import AssessmentAnswer
from advisor.assessment.task import assess
from advisor.case.case import Case
from advisor.case.refusal import no_recipe_fits
from advisor.case.solve import Program, rounded, solve
from advisor.demands.context import line_demand
from advisor.drafting.parts import Chosen
from advisor.drafting.refusals import Refusals, Unfit
from advisor.drafting.rows import as_usual, structure
from advisor.drafting.schema import DraftAnswer, DraftOption, DraftRequest, TrialDough
from advisor.frozen import dataclass, replace
from advisor.optimise.rounding import Grid, round_plan
from advisor.optimise.row import Row
from advisor.recipe.demand import Side
from advisor.recipe.grams import exact_grams
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import KnownMaterials, opened, read_formula
from advisor.rulebook.drafts import FamilyRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.base import WHOLE
from advisor.schema.findings import Finding, TextItem
from advisor.schema.recipe import GramLine, PercentRecipe, Recipe, Wishes
from advisor.writing import figure

_TRIES = 5
_DECIMALS = 1
_HALF = 1e-6
_ON_THE_SHELF: dict[Side, str] = {"min": "/shelf", "max": "/shelf"}
_OF_THE_LAW = "law-"
_REPLACEABLE = ("preservative", "binder", "filler", "humectant", "structurant", "co_surfactant")


def draft(
    request: DraftRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> DraftAnswer:
    """Return new recipes from a wish and a shelf, each of another family.

    Parameters
    ----------
    request : DraftRequest or mapping
        What the bar is to be, what is at hand, and what shall be in it.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, UnknownMaterial, SolverError
    NoRecipeFits
        No family fits: the one that comes nearest is named with what excludes it.

    Notes
    -----
    The structure of a family is a first guess from bars that were kept, so percents are tenths, finer only
    where a demand needs it. Every option meets every demand of an assessment and draws no finding above
    advice; nobody has kneaded it, so each comes with a small trial.

    Examples
    --------
    >>> shelf = ["isethionate-powder", "kaolin", "corn-starch", "betaine-30", "glycerin", "sunflower-oil"]
    >>> answer = draft({"shelf": [*shelf, "phenoxyethanol-blend"], "wishes": {"market": "eu"}})
    >>> [option.family for option in answer.options]
    ['Mild isethionate bar']
    """
    wanted, known = opened(DraftRequest, request, rulebook, notebook)
    return _Drafting(wanted, known, known.rulebook, notebook).answer()


@dataclass(frozen=True)
class _Drafting:
    wanted: DraftRequest
    known: KnownMaterials
    rules: Rulebook
    notebook: Notebook | None

    @property
    def _refusals(self) -> Refusals:
        return Refusals(self.wanted, self.known, self.rules)

    def answer(self) -> DraftAnswer:
        usable, forced = self._at_hand()
        families = [one for one in self.rules.drafts.family if self.wanted.wishes.used_on in one.used_on]
        options: list[tuple[DraftOption, AssessmentAnswer]] = []
        refused: list[Unfit] = []
        for family in families:
            if len(options) == self.wanted.options_at_most:
                break
            try:
                options.append(self._option(family, usable, forced))
            except Unfit as unfit:
                refused.append(unfit)
        if not options:
            raise min(refused, key=lambda unfit: unfit.far).error()
        most = self.wanted.options_at_most
        nearest = sorted(refused, key=lambda unfit: unfit.far)[:most] if len(options) < most else []
        cautions = {item: None for _, told in options for item in told.cautions}
        lawful = {item: None for _, told in options for item in told.notes if item.id.startswith(_OF_THE_LAW)}
        return DraftAnswer(
            options=tuple(option for option, _ in options),
            left_out=tuple(TextItem(id="left-out", text=unfit.error().detail) for unfit in nearest),
            cautions=tuple(cautions),
            notes=(
                *(
                    TextItem(
                        id="first-guess", text=self.rules.drafts.text["family"].format(name=option.family)
                    )
                    for option, _ in options
                ),
                *self._finer(options[0][0].trial),
                *lawful,
            ),
            rules_version=self.rules.edition,
        )

    def _finer(self, trial: TrialDough) -> Iterator[TextItem]:
        """Yield that the balance is too coarse for the trial, and how much it weighs well."""
        told, rules = self.wanted.balance_step, self.rules.drafts.all
        if told is None:
            return
        finer = told
        while any(abs(round(line.grams / finer) * finer - line.grams) > _HALF for line in trial.lines):
            finer /= 10
        if finer < told:
            batch = rules.trial_grams * told / finer
            figures = {"step": told, "grams": trial.batch_grams, "finer": finer, "batch": batch}
            shown = {name: figure(value) for name, value in figures.items()}
            yield self.rules.drafts.said("finer_balance", **shown)

    def _at_hand(self) -> tuple[dict[str, Ingredient], dict[str, float | None]]:
        """Return what may be used, and what must be, with its percent where that is told.

        Raises
        ------
        UnknownMaterial
        """
        wishes = self.wanted.wishes
        named = [(key, f"/shelf/{i}") for i, key in enumerate(self.wanted.shelf)]
        named += [(key, f"/features/{key}") for key in self.wanted.features]
        named += [(key, f"/wishes/lines/{key}") for key in wishes.lines]
        every = dict(sorted(self.known.all(named).items()))
        least = {key for key, band in wishes.lines.items() if band.min}
        forced: dict[str, float | None] = dict.fromkeys(sorted(least))
        forced |= dict(sorted(self.wanted.features.items()))
        claims = [self.rules.claims.claim[claim] for claim in wishes.claims]
        barred = {key for key, band in wishes.lines.items() if band.max == 0}
        usable = {
            key: one
            for key, one in every.items()
            if key in forced or (key not in barred and all(claim.kept_by(one.material) for claim in claims))
        }
        never = {name.casefold() for name in self.rules.program.never_new.components}
        return {k: one for k, one in usable.items() if k in forced or never.isdisjoint(one.folded)}, forced

    def _option(
        self, family: FamilyRules, usable: Mapping[str, Ingredient], forced: Mapping[str, float | None]
    ) -> tuple[DraftOption, AssessmentAnswer]:
        """Return the bar of a family, other materials tried where the first draw a finding.

        Raises
        ------
        Unfit
        """
        barred: list[str] = []
        for _ in range(_TRIES):
            chosen = Chosen(family, self.rules.drafts, usable, forced, tuple(barred))
            recipe, program = self._recipe(chosen)
            told = self._assessed(recipe)
            bad = self._against(told, forced)
            if not bad:
                return self._told(chosen, recipe, program, told), told
            roles = {key: chosen.usable[key].main_role for key in chosen.keys if key not in forced}
            named = [key for finding in bad for key in finding.about if roles.get(key) in _REPLACEABLE]
            if not named:
                break
            barred.append(min(named, key=lambda key: (_REPLACEABLE.index(roles[key]), key)))
        raise Unfit(0, lambda: self._refusals.does_not_fit(family, bad))

    def _against(self, told: AssessmentAnswer, forced: Mapping[str, float | None]) -> list[Finding]:
        """Return what speaks against a bar: whatever is worse than advice, and a row that is not met.

        A percent that was told outranks a usual range, which is advice: that is told as one.
        """
        wished = {key for key, percent in forced.items() if percent is not None}
        missed = [
            check
            for check in told.checks
            if not (check.ok or (check.kind == "use" and wished.issuperset(check.about)))
        ]
        rows = {check.finding for check in missed}
        bad = [one for one in told.findings if one.severity != "advice" or one.id in rows]
        unsaid = [check for check in missed if not bad]
        return [
            *bad,
            *(Finding(id=c.name, severity="advice", text=f"{c.name}.", about=c.about) for c in unsaid),
        ]

    def _recipe(self, chosen: Chosen) -> tuple[PercentRecipe, Program]:
        """Return the proved recipe of what was chosen, and the program behind it.

        Raises
        ------
        Unfit
        """
        if lacking := chosen.missing:
            raise self._refusals.missing(chosen.family, *lacking)
        starts = chosen.starts()
        lines = [{"material": key, "percent": percent} for key, percent in starts.items()]
        name = f"New {chosen.family.name[0].lower()}{chosen.family.name[1:]}"
        formula = read_formula(Recipe.model_validate({"name": name, "lines": lines}), self.known)
        case = Case.at(formula, self.known, wishes=self._wishes(starts), report=None, history=None)
        program = self._program(chosen, case)
        solved = solve(program)
        if solved is not None and program.cheapest:
            program = self._preserved(program, chosen)
            solved = solve(program)
        found = None if solved is None else rounded(program, solved.plan, _DECIMALS)
        if found is None:
            raise Unfit(0, lambda: no_recipe_fits(program, case))
        return case.recipe(found.amounts), program

    def _wishes(self, keys: Mapping[str, float]) -> Wishes:
        asked = self.wanted.wishes
        lines = {key: band for key, band in asked.lines.items() if key in keys}
        wished = {
            name: getattr(asked, name) for name in Wishes.model_fields if name in asked.model_fields_set
        }
        return Wishes(**{**wished, "lines": lines})

    def _program(self, chosen: Chosen, case: Case) -> Program:
        wished = self.wanted.wishes.active is not None
        kept = [
            as_usual(demand, chosen)
            for demand in case.demands
            if demand.group != "no-lever" and (wished or demand.group != "active")
        ]
        measures = case.formula.measures
        asked = (*kept, *structure(chosen, measures, strength_wished=wished), *case.advised)
        return Program(
            ingredients=measures.ingredients,
            starts=case.formula.amounts,
            hard=tuple(demand if demand.where else replace(demand, where=_ON_THE_SHELF) for demand in asked),
            soft=(),
            rules=case.rulebook.program,
            cheapest=self.wanted.wishes.aim == "lowest_cost",
        )

    def _preserved(self, program: Program, chosen: Chosen) -> Program:
        """Return a program of the lowest cost in which the preservative has what it has without that aim."""
        key = chosen.preservative
        wished = self.wanted.wishes.lines.get(key or "")
        if key is None or (wished is not None and wished.min is not None and wished.max is not None):
            return program
        plain = solve(replace(program, cheapest=False))
        if plain is None:
            return program
        steps = 10**_DECIMALS
        least = math.floor(plain.plan.amounts[key] * steps) / steps
        rules = self.rules.drafts.preserved
        held = line_demand(
            key,
            least,
            None,
            group="draft",
            kind="dough",
            rank="dough",
            basis=rules.basis,
            source=rules.source,
        )
        return replace(program, hard=(*program.hard, replace(held, name=chosen.usable[key].name)))

    def _assessed(self, recipe: PercentRecipe) -> AssessmentAnswer:
        lines = {line.material: line.percent for line in recipe.lines}
        wishes = self._wishes(lines).model_dump(exclude_unset=True)
        body: dict[str, Any] = {"recipe": recipe.model_dump(), "wishes": wishes}
        if self.wanted.materials:
            body["materials"] = [one.model_dump(exclude_unset=True) for one in self.wanted.materials]
        return assess(body, rulebook=self.rules, notebook=self.notebook)

    def _told(
        self, chosen: Chosen, recipe: PercentRecipe, program: Program, told: AssessmentAnswer
    ) -> DraftOption:
        batch, family = self.wanted.batch_grams, chosen.family
        return DraftOption(
            family=family.name,
            recipe=recipe,
            findings=told.findings,
            totals=told.totals,
            consistency=told.consistency,
            checks=told.checks,
            good_at=family.good_at,
            weak_at=(*family.weak_at, *self._narrow(chosen)),
            asked_for=tuple(
                self.rules.drafts.text["why"].format(material=chosen.usable[key].name, why=part.why)
                for key, parts in chosen.filled.items()
                for part in parts
                if part.why and key not in chosen.forced
            ),
            trial=self._trial(recipe, program),
            batch=None
            if batch is None
            else tuple(
                GramLine(material=line.material, grams=exact_grams(line.percent * batch / 100))
                for line in recipe.lines
            ),
        )

    def _narrow(self, chosen: Chosen) -> Iterator[str]:
        """Yield that the preservative does not work over the whole pH that such bars commonly have."""
        one = chosen.usable[chosen.preservative or ""]
        works, usual = one.material.works_ph, self.rules.substitution.ranking.usual_ph
        if works is not None and not (works.holds(usual.min) and works.holds(usual.max)):
            ends = {"low": f"{works.min or 0.0:g}", "high": f"{works.max or 14.0:g}"}
            common = {"from": f"{usual.min:g}", "to": f"{usual.max:g}"}
            yield self.rules.drafts.text["narrow_ph"].format(name=one.name, **ends, **common)

    def _trial(self, recipe: PercentRecipe, program: Program) -> TrialDough:
        """Return the first small dough in whole steps of the balance that add up to it.

        Nothing is left out, and what law and preservation ask holds in the grams too; where no whole steps do
        that, the balance has to be finer.
        """
        rules = self.rules.drafts.all
        percents = {one.material: one.percent for one in recipe.lines}
        step = self.wanted.balance_step or rules.trial_step
        of = program.ingredients
        dosed = {(key,) for key in percents if of[key].main_role == "preservative"}
        kept = [
            d
            for d in program.hard
            if d.kind == "law" or d.group == "preserved" or (d.group == "use" and d.about in dosed)
        ]
        found = None
        while found is None:
            steps = round(rules.trial_grams / step)
            rows = [row for demand in kept for row in demand.rows(program.keys, steps)]
            rows += [Row(f"least:{key}", {key: 1.0}, ">=", 1.0) for key in percents]
            exact = {key: percent * steps / WHOLE for key, percent in percents.items()}
            if steps >= len(exact):
                found = round_plan(exact, dict.fromkeys(exact, 0.0), rows, [Grid(1, steps)])
            step = step if found else step / 10
        lines = [GramLine(material=key, grams=exact_grams(n * step)) for key, n in found.units.items()]
        return TrialDough(batch_grams=exact_grams(steps * step), lines=tuple(lines))
