"""What the doughs of a maker say of one recipe: its window, its centre, and how much of that is their own."""

import math
from collections.abc import Sequence
from itertools import takewhile

from advisor.demands.aim import Past
from advisor.frozen import cached_property, dataclass, replace
from advisor.learning import Dough, Window, learn, learn_more
from advisor.recipe.belief import believed, learning_rules, with_own_habits
from advisor.recipe.consistency import Judged, evidence, window_shares
from advisor.recipe.request import Formula, KnownMaterials
from advisor.schema.recipe import Method, Report

_SAME = 1e-6


@dataclass(frozen=True)
class Learned:
    """A recipe with the evidence of where its maker's workable window lies.

    ``report`` is of the recipe, ``earlier`` what was told of other doughs with it.
    """

    formula: Formula
    known: KnownMaterials
    report: Report | None
    earlier: Sequence[Judged]

    @cached_property
    def past_doughs(self) -> tuple[Dough, ...]:
        """The evidence of earlier doughs, those of the notebook first."""
        return (*self.known.notebook.doughs, *evidence(self.earlier, self.known.rulebook.dough))

    @cached_property
    def past(self) -> Past:
        """What earlier doughs say of the report."""
        good = next((one for one in reversed(self.earlier) if one.feel == "workable"), None)
        return Past(
            self.centre,
            self.own,
            insisted=any(map(self._says_the_same, self.earlier)),
            last_watery=None if good is None else good.measures.watery_share.of(good.amounts),
            run=self.run,
        )

    def _says_the_same(self, one: Judged) -> bool:
        """Tell whether an earlier dough of the same recipe was reported in the same word."""
        own, feel = self.formula.amounts, None if self.report is None else self.report.feel
        keys = own.keys() | one.amounts.keys()
        return one.feel == feel and all(
            abs(one.amounts.get(key, 0.0) - own.get(key, 0.0)) < _SAME for key in keys
        )

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
        return tuple(evidence([Judged.of(self.formula, self.report)], self.known.rulebook.dough))

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
