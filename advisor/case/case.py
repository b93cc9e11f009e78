"""A recipe with all that is known of it."""

import datetime
from collections.abc import Iterable, Mapping, Sequence

from advisor.case.advice import traits
from advisor.case.learned import Learned
from advisor.demands.advised import frame_advice
from advisor.demands.context import DemandContext
from advisor.demands.fats import stiffened_by_fat
from advisor.demands.gather import all_demands
from advisor.demands.use import use_ranges
from advisor.frozen import cached_property, dataclass, replace
from advisor.law.notes import verdict_text
from advisor.recipe.batch import NO_BATCH, Batch
from advisor.recipe.consistency import consistency
from advisor.recipe.demand import Demand, total_demand
from advisor.recipe.history import read_history
from advisor.recipe.measures import Amounts, Measures
from advisor.recipe.request import Formula, KnownMaterials
from advisor.rulebook.acidity import ReadingRules
from advisor.rulebook.age import today
from advisor.rulebook.bench import Trait
from advisor.rulebook.compatibility import NONE, Pairs, legal_pairs
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.rulebook.load import Rulebook
from advisor.rulebook.verdicts import not_offered
from advisor.schema.findings import Check, State, TextItem
from advisor.schema.recipe import PastDough, PercentLine, PercentRecipe, Report, Wishes, WithPH


@dataclass(frozen=True, slots=True)
class Reading:
    """A pH with the dispersion it was read in [%]; None of the second stands for the usual one."""

    ph: float | None = None
    at_percent: float | None = None

    @classmethod
    def of(cls, request: WithPH) -> "Reading":
        """Return the reading that a request tells."""
        return cls(request.ph, request.ph_at_percent)

    def comparable(self, rules: ReadingRules) -> float | None:
        """Return the pH where its dispersion compares with the usual one, else None.

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> rules = load_rulebook().acidity.reading
        >>> Reading(5.5).comparable(rules), Reading(5.5, 1.0).comparable(rules)
        (5.5, None)
        """
        percent = rules.percent if self.at_percent is None else self.at_percent
        return self.ph if rules.comparable_from <= percent <= rules.comparable_to else None


NOT_READ = Reading()


@dataclass(frozen=True)
class Case:
    """A recipe with everything that is known about it before anything is changed.

    What was learned is of the recipe as it came; it stays the same whatever else may be used. ``day`` is when
    it is made: law and lots are those of that day.
    """

    formula: Formula
    wishes: Wishes
    rulebook: Rulebook
    known: KnownMaterials
    learned: Learned
    day: datetime.date
    reading: Reading = NOT_READ
    batch: Batch = NO_BATCH

    @classmethod
    def at(
        cls,
        formula: Formula,
        known: KnownMaterials,
        *,
        wishes: Wishes | None = None,
        report: Report | None = None,
        history: Sequence[PastDough] | None = None,
        reading: Reading = NOT_READ,
        batch: Batch = NO_BATCH,
        day: datetime.date | None = None,
    ) -> "Case":
        """Look at a recipe in the light of earlier doughs, of a pH that was read, and of how much is made.

        It is made today where no ``day`` is told.

        Raises
        ------
        InvalidRecipe, UnknownMaterial
            In a recipe of the history; the place is named.
        """
        rulebook = known.rulebook
        learned = Learned(formula, known, report, read_history(history or (), known))
        made_on = day or known.notebook.today or today()
        return cls(formula, wishes or Wishes(), rulebook, known, learned, made_on, reading, batch)

    def with_materials(self, ingredients: Mapping[str, Ingredient]) -> "Case":
        """Return the same case with these materials to use, and wishes about no others held."""
        if ingredients.keys() == self.formula.ingredients.keys():
            return self
        materials = dict(sorted(ingredients.items()))
        amounts = {key: self.formula.amounts.get(key, 0.0) for key in materials}
        fixed = tuple(key for key in self.wishes.fixed if key in materials)
        return replace(
            self,
            formula=replace(self.formula, amounts=amounts, measures=Measures(materials)),
            wishes=self.wishes
            if fixed == self.wishes.fixed
            else self.wishes.model_copy(update={"fixed": fixed}),
        )

    @property
    def ph(self) -> float | None:
        """The pH of the dough; None where none was read that compares."""
        return self.reading.comparable(self.rulebook.acidity.reading)

    @cached_property
    def laws(self) -> Mapping[str, LawBook]:
        """The law of each market on the day it is made."""
        return self.rulebook.law_texts.on(self.day)

    @cached_property
    def law(self) -> LawBook | None:
        """The law of the market that was wished."""
        return self.laws.get(self.wishes.market)

    @cached_property
    def pairs(self) -> Pairs:
        """Which materials must not meet, by the trade and by that law."""
        return self.rulebook.pairs_under(self.law)

    def ban(self, one: Ingredient) -> TextItem | None:
        """Return why the market lets no product like this hold a material, or does not list it."""
        found = () if self.law is None else not_offered(one, self.law, self.wishes.used_on)
        return verdict_text(found[0], self.law, self.rulebook.law_words) if found and self.law else None

    @cached_property
    def context(self) -> DemandContext:
        """What the demands are drawn from."""
        return DemandContext(
            self.formula.measures,
            self.formula.amounts,
            self.wishes,
            self.law,
            NONE if self.law is None else legal_pairs(self.law),
            self.rulebook.dough,
            self.rulebook.program,
            self.rulebook.claims,
        )

    @cached_property
    def demands(self) -> list[Demand]:
        """Every demand that holds whatever was reported."""
        return all_demands(self.context)

    @cached_property
    def advised(self) -> list[Demand]:
        """Frames and assessed levels."""
        return list(frame_advice(self.formula.measures, self.rulebook.frames, self.rulebook.assessed))

    def state(self, amounts: Amounts) -> State:
        """Return totals and consistency at these amounts."""
        return State(
            totals=self.formula.measures.totals(amounts),
            consistency=consistency(
                self.formula.measures,
                amounts,
                self.learned.window,
                self.rulebook.dough,
                own=self.learned.own,
                method=self.learned.method,
                lots=self.formula.lot_names,
            ),
        )

    def checks(
        self,
        amounts: Amounts,
        besides: Iterable[Demand] = (),
        *,
        instead: Iterable[Demand] | None = None,
    ) -> tuple[Check, ...]:
        """Hold every demand against amounts; what is no lever is shown only where it moved.

        ``instead`` takes the place of the demands that hold whatever was reported.
        """
        always = self.demands if instead is None else instead
        whole = sum(amounts.values())
        found = (
            demand.check(amounts, whole)
            for demand in (total_demand(amounts, whole, 100.0, "%"), *always, *besides, *self.advised)
            if demand.kind != "use" or any(amounts.get(key) for key in demand.about)
        )
        return tuple(check for check in found if check is not None)

    def checks_as_written(self) -> tuple[Check, ...]:
        """Hold every demand against the recipe as it came, with the usual ranges as the library has them."""
        written = {demand.id: demand for demand in use_ranges(self.context, as_written=True)}
        demands = [written.get(demand.id, demand) for demand in self.demands]
        return self.checks(self.formula.amounts, instead=demands)

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Every material: lines in the order they came, new ones after them."""
        written = self.formula.written.percents
        return (*written, *(key for key in self.formula.keys if key not in written))

    def recipe(self, amounts: Amounts) -> PercentRecipe:
        """Return amounts as a recipe: lines in the order they came, new materials after them."""
        return PercentRecipe(
            name=self.formula.written.name,
            lines=tuple(
                PercentLine(material=key, percent=round(amounts[key], 4), lot=self.formula.lot(key))
                for key in self.order
                if amounts.get(key)
            ),
        )

    @cached_property
    def traits(self) -> Mapping[Trait, tuple[str, ...]]:
        """Return what can be said of the recipe without having felt it, and which materials bring it."""
        formula, rules = self.formula, self.rulebook.dough
        found = traits(formula.measures, formula.amounts, rules, self.rulebook.bench.traits)
        if self.learned.report is None:
            return found
        stiff = stiffened_by_fat(
            self.learned.report, formula.measures, formula.amounts, rules.fats, formula.written.grams
        )
        return {**found, "stiffened": stiff} if stiff else found
