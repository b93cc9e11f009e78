"""Proposes the small test dough that would teach a shop most."""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from advisor.errors import Fault, InvalidRequest
from advisor.experiment.information import Belief, Candidate, Direction
from advisor.experiment.schema import Surer, SurerPowder, TrialAnswer, TrialRequest
from advisor.frozen import dataclass
from advisor.learning import Window, learn_more
from advisor.optimise.rounding import largest_remainder
from advisor.recipe.belief import believed, learning_rules
from advisor.recipe.consistency import evidence, window_shares
from advisor.recipe.history import read_history
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import (
    Formula,
    KnownMaterials,
    opened,
    read_formula,
)
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem
from advisor.schema.recipe import PercentLine, PercentRecipe
from advisor.weighing.task import weigh

_HUNDREDTHS = 10_000
_LEAST_SHARE = 0.05


def trial(
    request: TrialRequest | Mapping[str, Any] | None = None,
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> TrialAnswer:
    """Return the test dough whose judgement is expected to make some recipes, or powders, surest.

    Parameters
    ----------
    request : TrialRequest or mapping, optional
        The recipes that are to become surer; default: those of the notebook. With ``powders`` these are.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows.

    Raises
    ------
    InvalidRequest
        There is no recipe with both powder and liquid, or a powder wanted is none.
    InvalidRecipe, UnknownMaterial

    Notes
    -----
    What is tried are the recipes' own powder blends and blends with more of one powder, their own or one
    that is wanted next, at several distances from the centre; the liquids keep their proportions. Where
    nothing clearly beats a recipe's own powders at their present centre, these are the answer, and it says
    so. Nothing here asks whether the test dough would be a good bar.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 26}, {"material": "kaolin", "percent": 14},
    ...     {"material": "isethionate-powder", "percent": 60}]
    >>> answer = trial({"recipes": [{"lines": lines}]})
    >>> answer.weighing.total_grams, answer.recipes[0].sd_after < answer.recipes[0].sd_before
    (50.0, True)
    >>> asked = trial({"recipes": [{"lines": lines}], "powders": ["rice-flour"]})
    >>> "rice-flour" in [line.material for line in asked.recipe.lines]
    True
    """
    wanted, known = opened(TrialRequest, request or {}, rulebook, notebook)
    _refuse_what_is_no_powder(wanted, known)
    return _Search(wanted, known, _doughs(wanted, known)).answer()


def _refuse_what_is_no_powder(wanted: TrialRequest, known: KnownMaterials) -> None:
    places = {key: f"/powders/{place}" for place, key in enumerate(wanted.powders or ())}
    wrong = [key for key, one in known.all(places.items()).items() if not one.powder()]
    if wrong:
        raise InvalidRequest(
            "What is to be used next must be a powder.", [Fault(places[key], "is no powder") for key in wrong]
        )


def _doughs(wanted: TrialRequest, known: KnownMaterials) -> list[Formula]:
    """Return the recipes that are to become surer, the powders wanted next at hand for each."""
    recipes = wanted.recipes or known.notebook.recipes
    found = [
        read_formula(recipe, known, wanted.powders, where=f"/recipes/{place}")
        for place, recipe in enumerate(recipes)
    ]
    doughs = [one for one in found if one.measures.wetness().of(one.amounts)]
    if not doughs:
        raise InvalidRequest(
            "A test dough needs a recipe with powder and liquid to learn for.",
            [Fault("/recipes", "holds none", "send a recipe, or write down a dough first")],
        )
    return doughs


@dataclass(frozen=True)
class _Blend:
    """A test dough before its wetness is chosen: powders and other lines, each adding up to 1."""

    start: Formula
    powders: Mapping[str, float]
    others: Mapping[str, float]
    more_of: str | None

    def at(self, index: float) -> dict[str, float]:
        """Return the percents at which the wetting index is ``index``."""
        measures = self.start.measures
        wet = sum(c * self.others.get(key, 0.0) for key, c in measures.wetness().top.items())
        dry = sum(c * self.powders.get(key, 0.0) for key, c in (measures.wetness().bottom or {}).items())
        share = index * dry / (wet + index * dry)
        exact = {key: (1.0 - share) * part * _HUNDREDTHS for key, part in self.powders.items()}
        exact |= {key: share * part * _HUNDREDTHS for key, part in self.others.items()}
        return {key: count / 100 for key, count in largest_remainder(exact, _HUNDREDTHS).items() if count}


@dataclass(frozen=True)
class _Search:
    wanted: TrialRequest
    known: KnownMaterials
    doughs: Sequence[Formula]

    def answer(self) -> TrialAnswer:
        figures = self.known.rulebook.dough.trial
        shares = [self._shares(one, one.amounts) for one in self.doughs]
        blends = list(self._blends())
        mixed = [self._shares(one.start, one.powders) for one in blends]
        window = self._window({key for one in (*shares, *mixed) for key in one})
        belief = Belief.of(window, [*shares, *mixed])
        recipes = [belief.direction(one) for one in shares]
        powders = [belief.demand(key) for key in self.powders]

        def after(place: int, distance: float, aims: Sequence[Direction]) -> list[float]:
            return belief.sds_after(Candidate(mixed[place], distance), aims)

        def left(place: int, distance: float) -> float:
            """Return the variance that would be left of what is to become surer."""
            return round(sum(sd**2 for sd in after(place, distance, powders or recipes)), 12)

        places = [(place, distance) for place in range(len(mixed)) for distance in figures.wetness_steps]
        place, distance = min(places, key=lambda one: (left(*one), *one))
        own = [at for at, blend in enumerate(blends) if blend.more_of is None]
        plain = min(own, key=lambda at: (left(at, 0.0), at))
        if left(place, distance) >= (1.0 - figures.clearly_more) * left(plain, 0.0):
            place, distance = plain, 0.0
        centre = window.centre(mixed[place])[0]
        return self._described(
            blends[place],
            math.exp(centre + distance),
            self._why(blends[place], distance),
            tuple(
                Surer(name=dough.written.name, sd_before=round(belief.sd(aim), 4), sd_after=round(then, 4))
                for dough, aim, then in zip(
                    self.doughs, recipes, after(place, distance, recipes), strict=True
                )
            ),
            tuple(
                SurerPowder(
                    material=key,
                    sd_before=round(belief.sd(aim), 4),
                    sd_after=round(then, 4),
                    sd_after_usual=round(usual, 4),
                )
                for key, aim, then, usual in zip(
                    self.powders,
                    powders,
                    after(place, distance, powders),
                    after(plain, 0.0, powders),
                    strict=True,
                )
            ),
        )

    @property
    def powders(self) -> tuple[str, ...]:
        """The powders that are to become surer, each once."""
        return tuple(dict.fromkeys(self.wanted.powders or ()))

    def _shares(self, one: Formula, amounts: Mapping[str, float]) -> dict[str, float]:
        rules = self.known.rulebook.dough
        return window_shares(
            one.measures.demand_shares(amounts), rules, method=self.wanted.method, lots=one.lot_names
        )

    def _window(self, keys: set[str]) -> Window:
        rules, shop = self.known.rulebook.dough, self.known.notebook
        past = evidence(read_history(self.wanted.history or (), self.known), rules)
        keys |= {key for dough in past for key in dough.shares} | set(shop.window.prior.demand_sds)
        belief = believed(keys, self.known.get, shop.measured, rules)
        return learn_more(shop.window, past, belief, learning_rules(rules))

    def _blends(self) -> Iterator[_Blend]:
        for one in self.doughs:
            powder = {key: share for key, share in (one.measures.wetness().bottom or {}).items() if share}
            grams = {key: one.amounts[key] for key in powder if one.amounts[key]}
            rest = {key: grams for key, grams in one.amounts.items() if grams and key not in powder}
            powders, others = _parts(grams), _parts(rest)
            yield _Blend(one, powders, others, None)
            shares = self._shares(one, one.amounts)
            told = {key for key in powders if shares.get(key, 0.0) >= _LEAST_SHARE}
            for key in sorted({*told, *self.powders}):
                if set(powders) == {key}:
                    continue
                for more in self.known.rulebook.dough.trial.more_of_a_powder:
                    mixed = {other: part * (1.0 - more) for other, part in powders.items()}
                    mixed[key] = mixed.get(key, 0.0) + more
                    yield _Blend(one, {k: v for k, v in mixed.items() if v > 0}, others, key)

    def _described(
        self,
        blend: _Blend,
        index: float,
        why: str,
        recipes: tuple[Surer, ...],
        powders: tuple[SurerPowder, ...],
    ) -> TrialAnswer:
        figures, rules = self.known.rulebook.dough.trial, self.known.rulebook
        percents = blend.at(index)
        recipe = PercentRecipe(
            name="Test dough",
            lines=tuple(
                PercentLine(material=key, percent=value, lot=blend.start.lot(key))
                for key, value in sorted(percents.items())
            ),
        )
        weighing = weigh(
            {
                "recipe": recipe.model_dump(),
                "batch_grams": self.wanted.grams or figures.grams,
                "balance_step": self.wanted.balance_step or figures.balance_step_grams,
                "materials": [one.model_dump() for one in self.wanted.materials or ()],
            },
            rulebook=rules,
            notebook=self.known.notebook,
        )
        return TrialAnswer(
            recipe=recipe,
            wetness=round(blend.start.measures.wetness().of(percents) or 0.0, 3),
            text=why,
            recipes=recipes,
            powders=powders,
            weighing=weighing,
            cautions=weighing.cautions,
            notes=(
                TextItem(
                    id="test-dough",
                    text="Knead it, judge it, write it down like any dough, then discard it: it is no bar.",
                ),
            ),
            rules_version=rules.edition,
        )

    def _why(self, blend: _Blend, distance: float) -> str:
        if blend.more_of is not None:
            name = blend.start.ingredients[blend.more_of].name
            return f"More {name} than in your recipe: what it takes up is the least known of what matters."
        if distance:
            side = "wetter" if distance > 0 else "drier"
            return f"Your own powders, a little {side} than where they should be workable: that tells most."
        names = ", ".join(blend.start.ingredients[key].name for key in self.powders)
        of = f" of {names}" if names else ""
        return (
            "Your own powders, where they should be workable: "
            f"nothing else that was tried tells clearly more{of}."
        )


def _parts(amounts: Mapping[str, float]) -> dict[str, float]:
    total = sum(amounts.values())
    return {key: amount / total for key, amount in amounts.items()}
