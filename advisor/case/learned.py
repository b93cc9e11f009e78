"""What the doughs of a maker say of one recipe: its window, its centre, and how much of that is their own."""

import math
from itertools import takewhile

from advisor.frozen import cached_property, dataclass, replace
from advisor.learning import Dough, Window, learn, learn_more
from advisor.recipe.consistency import Judged, evidence, learning_rules, window_shares, with_own_habits
from advisor.recipe.notebook import believed
from advisor.recipe.request import Formula, KnownMaterials
from advisor.schema.recipe import Method, Report


@dataclass(frozen=True)
class Learned:
    """A recipe with the evidence of where its maker's workable window lies.

    ``report`` and ``past_doughs`` are the evidence; of the past those of the notebook come first.
    """

    formula: Formula
    known: KnownMaterials
    report: Report | None
    past_doughs: tuple[Dough, ...]

    @cached_property
    def doughs(self) -> tuple[Dough, ...]:
        """All evidence of the window: the past and this report, unless it is the one that was noted last."""
        noted = self.known.notebook.doughs
        is_noted = self._now == noted[-1:] and len(noted) == len(self.past_doughs)
        return self.past_doughs if is_noted else (*self.past_doughs, *self._now)

    @cached_property
    def _now(self) -> tuple[Dough, ...]:
        if self.report is None:
            return ()
        said, formula = self.report, self.formula
        what = (formula.measures, formula.amounts, said.feel, said.degree, said.method, formula.lot_names)
        return tuple(evidence([Judged(*what)], self.known.rulebook.dough))

    @property
    def method(self) -> Method | None:
        """How the dough was kneaded; None where nothing is told."""
        return None if self.report is None else self.report.method

    @cached_property
    def window(self) -> Window | None:
        """What the evidence says of the window; None for a recipe with no powder or no liquid."""
        if not self.formula.measures.wetness().of(self.formula.amounts):
            return None
        rules, notebook = self.known.rulebook.dough, self.known.notebook
        newer = self.doughs[len(notebook.doughs) :]
        keys = {key for dough in newer for key in dough.shares} | self._shares.keys()
        belief = believed(keys, self.known.get, notebook.measured, rules)
        if not notebook.doughs:
            return learn(newer, with_own_habits(self.past_doughs, belief, rules), learning_rules(rules))
        stored = notebook.window
        belief = replace(
            belief,
            demand_sds={**belief.demand_sds, **stored.prior.demand_sds},
            demand_means={**belief.demand_means, **stored.prior.demand_means},
        )
        if len(self.past_doughs) > len(notebook.doughs):
            belief = with_own_habits(self.past_doughs, belief, rules)
        else:
            belief = replace(stored.prior, demand_sds=belief.demand_sds, demand_means=belief.demand_means)
        return learn_more(stored, newer, belief, learning_rules(rules))

    @cached_property
    def _shares(self) -> dict[str, float]:
        return window_shares(
            self.formula.measures.demand_shares(self.formula.amounts),
            self.known.rulebook.dough,
            method=self.method,
            lots=self.formula.lot_names,
        )

    @property
    def run(self) -> int:
        """How many doughs in a row, this one the last, were reported on the same side; 0 where none is."""
        if not self._now:
            return 0
        usual = self.known.rulebook.dough.classes.names.index("workable") + 1
        off = [dough.outcome - usual for dough in reversed(self.doughs)]
        return sum(1 for _ in takewhile(lambda one: one * off[0] > 0, off))

    @cached_property
    def own(self) -> bool:
        """Whether the maker's own doughs say more of this recipe than what is believed without them."""
        if not self.past_doughs or self.window is None:
            return False
        return self.window.taught(self._shares) >= self.known.rulebook.dough.classes.own_from

    @cached_property
    def centre(self) -> float | None:
        """The median of where doughs are workable; None without earlier ones and other shops."""
        if not (self.past_doughs or self.known.rulebook.dough.among) or self.window is None:
            return None
        return math.exp(self.window.quantile(self._shares, 0.5, heeded=True))
