"""The weigh sheet: a recipe becomes grams on the balances, with the work in order."""

import math
from collections.abc import Iterator, Mapping
from typing import Any, Literal

from advisor.case.case import Case, Reading
from advisor.case.scale_up import hold_back, not_yet_learned
from advisor.case.unmet import safe_doses
from advisor.case.watch import cautions_of
from advisor.drying.filling import filling, loss_percent, mass_left
from advisor.errors import Fault, InvalidRequest
from advisor.frozen import cached_property, dataclass
from advisor.labelling.notes import law_notes
from advisor.optimise.balances import in_units
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand, total_demand
from advisor.recipe.hold_back import held_back_liquids, held_back_powders
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import opened, read_formula
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.rulebook.weighing import WeighingRules
from advisor.schema.findings import Check, TextItem
from advisor.schema.material import Estimate
from advisor.schema.recipe import GramLine
from advisor.weighing.balances import Batch, Weighed, on_balances
from advisor.weighing.premix import Dilution, Little, carriers, dilution, most_promising
from advisor.weighing.schema import BalanceUse, Fill, Premix, WeighedLine, WeighingAnswer, WeighingRequest
from advisor.weighing.smallest_weight import minimum_weight, smallest_sensible
from advisor.weighing.tolerance import at_limit, tolerance
from advisor.weighing.work_steps import Work, last_powder_phase, phases, work_steps
from advisor.writing import behind, between, decimals, figure, in_state


def weigh(
    request: WeighingRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> WeighingAnswer:
    """Return the weigh sheet of a batch: grams that add up and keep every limit, premixes, steps, bars.

    Parameters
    ----------
    request : WeighingRequest or mapping
        The recipe, the mass of the batch and the steps of the balances [g].
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    An unlawful recipe is weighed as it stands; its check says so. A limit that no whole steps of the balance
    can keep is named in the notes, and its check is not ok.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 33.3}, {"material": "kaolin", "percent": 66.7}]
    >>> answer = weigh({"recipe": {"lines": lines}, "batch_grams": 250.0, "balance_step": 1.0})
    >>> [(line.material, line.grams) for line in answer.lines], answer.total_grams
    ([('betaine-30', 83.0), ('kaolin', 167.0)], 250.0)
    """
    wanted, known = opened(WeighingRequest, request, rulebook, notebook)
    formula = read_formula(wanted.recipe, known, wishes=wanted.wishes)
    _check_phases(wanted.phases or {}, formula.ingredients)
    case = Case.at(formula, known, wishes=wanted.wishes, reading=Reading.of(wanted))
    return _Sheet(wanted, Weighed(case, on_balances(wanted, case))).answer()


def _check_phases(given: Mapping[str, str], ingredients: Mapping[str, Ingredient]) -> None:
    """Refuse a phase for a material that is not weighed.

    Raises
    ------
    InvalidRequest
    """
    wrong = [
        Fault(f"/phases/{key}", "is not in the recipe", "name a material of the recipe")
        for key in given
        if key not in ingredients
    ]
    if wrong:
        raise InvalidRequest("A phase names a material that is not in the recipe.", wrong)


@dataclass(frozen=True)
class _Sheet:
    asked_for: WeighingRequest
    weighed: Weighed

    @property
    def case(self) -> Case:
        return self.weighed.case

    @property
    def batch(self) -> Batch:
        return self.weighed.batch

    @property
    def _rules(self) -> WeighingRules:
        return self.case.rulebook.weighing

    @property
    def _ingredients(self) -> Mapping[str, Ingredient]:
        return self.case.formula.ingredients

    @cached_property
    def _letters(self) -> dict[str, str]:
        return phases(self._ingredients, self.asked_for.phases or {}, self._rules.phases)

    @cached_property
    def _order(self) -> list[str]:
        return sorted(self.weighed.units, key=lambda key: (self._letters[key], -self.weighed.units[key], key))

    def answer(self) -> WeighingAnswer:
        premixes = {one.material: one for one in self._premixes()}
        liquids, powders = self._held_back(premixes)
        fill = self._fill()
        work = Work(
            ingredients={key: self._ingredients[key] for key in self._order},
            letters=self._letters,
            premixed=[key for key in self._order if key in premixes],
            kept_back=[one.material for one in (*liquids, *powders)],
            bar_grams=figure(fill.dough_grams_per_bar.typical) if fill else "",
        )
        return WeighingAnswer(
            name=self.case.formula.written.name,
            batch_grams=self.asked_for.batch_grams,
            total_grams=self.batch.grams(self.batch.total),
            balances=self._balances(),
            lines=tuple(self._line(key, key in premixes) for key in self._order),
            premixes=tuple(premixes.values()),
            steps=work_steps(work, self._rules.step, self._rules.phases),
            hold_back=liquids,
            hold_back_powders=powders,
            checks=self._checks(),
            fill=fill,
            cautions=cautions_of(
                self.case,
                self.weighed.percents,
                grams=self.weighed.grams,
                handled=self.weighed.percents,
            ),
            notes=(
                *self.case.formula.notes,
                *law_notes(self.case, self.weighed.percents),
                *self._notes(fill),
            ),
            rules_version=self.case.rulebook.edition,
        )

    def _balances(self) -> tuple[BalanceUse, ...]:
        use: list[tuple[Literal["coarse", "fine"], int]] = [("coarse", self.batch.balances.coarse)]
        if self.batch.balances.two:
            use.append(("fine", self.batch.balances.fine))
        smallest = self._rules.smallest
        grams = self.batch.grams
        return tuple(
            BalanceUse(
                balance=name,
                step_grams=grams(step),
                smallest_grams=grams(smallest_sensible(step, smallest.ordinary)),
                smallest_potent_grams=grams(smallest_sensible(step, min(smallest.potent.values()))),
                pharmacy_grams=round(minimum_weight(0.0, grams(step), self._rules.minimum_weight), 6),
            )
            for name, step in use
        )

    def _error_wanted(self, key: str) -> float:
        return self._rules.smallest.of(self._ingredients[key].main_role)

    def _too_light(self, key: str) -> bool:
        """Whether half a step is too much of a line, or crosses a legal maximum."""
        step = self.batch.steps[key]
        if self.weighed.units[key] < smallest_sensible(step, self._error_wanted(key)):
            return True
        return at_limit(key, self.weighed.grams, self.batch.grams(step) / 2, self._legal()) is not None

    def _is_premixed(self, key: str) -> bool:
        """Whether a line is better diluted: a colour that is too light, or too few steps of the balance."""
        rules = self._rules.premix
        colour = self._ingredients[key].main_role in rules.colour_roles and self._too_light(key)
        return colour or self.weighed.units[key] < rules.below_steps * self.batch.steps[key]

    def _legal(self) -> list[Demand]:
        return [demand for demand in self.weighed.demands if demand.kind == "law"]

    def _line(self, key: str, premixed: bool) -> WeighedLine:
        batch = self.batch
        step = batch.steps[key]
        spread = batch.grams(
            tolerance(self.weighed.units[key], step, key in batch.potent, self._rules.tolerance)
        )
        return WeighedLine(
            material=key,
            name=self._ingredients[key].material.name,
            grams=self.weighed.grams[key],
            exact_grams=round(batch.wanted[key] / batch.per_gram, 6),
            phase=self._letters[key],
            balance="fine" if batch.balances.two and step == batch.balances.fine else "coarse",
            tolerance_grams=spread,
            warning=" ".join(self._warnings(key, spread, premixed)) or None,
            lot=self.case.formula.lot(key),
        )

    def _warnings(self, key: str, spread: float, premixed: bool) -> Iterator[str]:
        text, step, count = self._rules.text, self.batch.steps[key], self.weighed.units[key]
        limit = at_limit(key, self.weighed.grams, spread, self._legal())
        if limit is not None:
            yield text["at_limit"].replace("{name}", limit.name)
        if not self._too_light(key):
            return
        exact = self.batch.wanted[key]
        if abs(count - exact) > self._error_wanted(key) * exact:
            shown = figure(float(f"{exact / self.batch.per_gram:.4g}"))
            yield text["between_steps"].replace("{exact}", shown)
        yield text["too_light"].replace("{percent}", f"{50 * step / count:.2g}")
        if premixed:
            yield text["too_light_premix"]
        else:
            needed = 2 * self._error_wanted(key) * exact / self.batch.per_gram
            finer = 10.0 ** math.floor(math.log10(needed) + 1e-9)
            yield text["too_light_finer"].replace("{step}", figure(finer))

    def _premixes(self) -> Iterator[Premix]:
        left = dict(self.weighed.units)
        rules = self._rules
        for key in self._order:
            if not self._is_premixed(key):
                continue
            one = self._ingredients[key]
            limit = at_limit(key, self.weighed.grams, self.batch.grams(self.batch.steps[key]), self._legal())
            little = Little(
                exact=self.batch.wanted[key],
                line=self.weighed.units[key],
                step=self.batch.steps[key],
                error_wanted=self._rules.premix.error,
                not_over=limit is not None,
            )
            found = []
            for carrier in carriers(
                one, self._ingredients, rules.premix, rules.phases.watery_percent, self.case.pairs
            ):
                made = dilution(
                    little, left[carrier], self.batch.steps[carrier], self.batch.total, rules.premix
                )
                if made is not None:
                    found.append((carrier, made))
            best = most_promising(found, little.error_wanted)
            if best is not None:
                left[best[0]] -= best[1].off_carrier
                yield self._premix(key, *best, left[best[0]])

    def _premix(self, key: str, carrier: str, made: Dilution, left: int) -> Premix:
        grams = self.batch.grams
        figures = {
            "material_grams": grams(made.material),
            "carrier_grams": grams(made.carrier),
            "premix_grams": grams(made.material + made.carrier),
            "take_grams": grams(made.take),
            "line_grams": grams(made.line),
            "carrier_left_grams": grams(left),
            "dose_grams": round(made.dose / self.batch.per_gram, 6),
            "error_percent": round(100 * made.error, 2),
        }
        text = self._rules.text["premix"]
        for slot, name in (("{material}", key), ("{carrier}", carrier)):
            text = text.replace(slot, self._ingredients[name].name)
        for slot in ("material_grams", "carrier_grams", "take_grams", "dose_grams"):
            text = text.replace(f"{{{slot}}}", figure(figures[slot]))
        text = text.replace("{left_grams}", figure(grams(left)))
        text = text.replace("{error}", f"{100 * made.error:.2g}")
        return Premix(material=key, carrier=carrier, text=text, **figures)

    def _held_back(self, premixes: Mapping[str, Premix]) -> tuple[tuple[GramLine, ...], tuple[GramLine, ...]]:
        share = hold_back(self.case, self._unknown)
        return (
            self._whole_steps(held_back_liquids(self._ingredients, self.weighed.grams, share), premixes),
            self._whole_steps(held_back_powders(self._ingredients, self.weighed.grams, share), premixes),
        )

    @cached_property
    def _unknown(self) -> tuple[TextItem, ...]:
        return not_yet_learned(self.case, self.asked_for.method, self.asked_for.batch_grams)

    def _whole_steps(self, held: Mapping[str, float], premixes: Mapping[str, Premix]) -> tuple[GramLine, ...]:
        left = {
            one.carrier: in_units(one.carrier_left_grams, self.batch.per_gram) for one in premixes.values()
        }
        lines = []
        for key in self._order:
            step = self.batch.steps[key]
            count = step * round(held.get(key, 0.0) * self.batch.per_gram / step)
            count = min(count, left.get(key, count))
            if count > 0:
                lines.append(GramLine(material=key, grams=self.batch.grams(count)))
        return tuple(lines)

    def _fill(self) -> Fill | None:
        wanted = self.asked_for.dried_bar_grams
        if wanted is None:
            return None
        rules, total = self.case.rulebook.drying, self.batch.grams(self.batch.total)
        lost = loss_percent(total, rules.loss)
        left = mass_left(self.case.formula.measures, self.weighed.percents)
        found = filling(wanted, left, total, lost, rules.fill)
        dough = found.dough_grams
        return Fill(
            dried_bar_grams=wanted,
            dough_grams_per_bar=Estimate(
                typical=self._on_coarse(dough.typical),
                low=self._on_coarse(dough.low),
                high=self._on_coarse(dough.high),
            ),
            loss_percent=Estimate(
                typical=round(lost.typical, 1), low=round(lost.low, 1), high=round(lost.high, 1)
            ),
            bars=found.bars,
        )

    def _on_coarse(self, grams: float) -> float:
        step = self.batch.balances.coarse
        return self.batch.grams(step * max(1, round(grams * self.batch.per_gram / step)))

    def _checks(self) -> tuple[Check, ...]:
        total = self.batch.grams(self.batch.total)
        demands = (
            total_demand(self.weighed.units, total, total, "g"),
            *self.weighed.demands,
            *self.case.advised,
        )
        checks = (demand.check(self.weighed.grams) for demand in demands)
        return tuple(check for check in checks if check is not None)

    def _notes(self, fill: Fill | None) -> Iterator[TextItem]:
        text, percents = self._rules.text, self.weighed.percents
        total = self.batch.grams(self.batch.total)
        if abs(total - self.asked_for.batch_grams) > 1e-9:
            told = text["rounded_total"].replace("{asked}", figure(self.asked_for.batch_grams))
            yield TextItem(id="batch-rounded", text=told.replace("{total}", figure(total)))
        for demand in self.weighed.demands:
            if demand.kind not in ("law", "wish", "dough", "use") or demand.gap(percents) <= CERTIFIED:
                continue
            if demand in self.weighed.broken:
                told = self._outside(text["recipe_breaks"], demand, self.case.formula.amounts)
                yield TextItem(id="recipe-breaks", text=told)
            else:
                told = self._outside(text["balance_breaks"], demand, percents)
                yield TextItem(id="balance-too-coarse", text=told)
        yield from self._unknown
        yield from safe_doses(self.case, percents)
        if not self.case.formula.measures.powders.of(percents):
            yield TextItem(id="no-powder", text=text["no_powder"])
        if fill is not None and not fill.bars:
            yield TextItem(id="no-bar", text=text["no_bar"])
        last = last_powder_phase(self._ingredients, self._letters, self._rules.phases)
        for key in self._order:
            one = self._ingredients[key]
            if one.main_role in self._rules.phases.sour_roles and self._letters[key] > last:
                yield TextItem(id="acid-after-powders", text=text["after_powder"].replace("{name}", one.name))

    def _outside(self, text: str, demand: Demand, amounts: Mapping[str, float]) -> str:
        value, unit = demand.measure.of(amounts) or 0.0, behind(demand.unit)
        bounds = [bound for bound in (demand.minimum, demand.maximum) if bound is not None]
        return text.format(
            name=in_state(demand.name, demand.state),
            value=figure(value, decimals(value, bounds, demand.unit)) + unit,
            bounds=between(demand.minimum, demand.maximum) + unit,
            step=figure(self.batch.grams(self.batch.balances.coarse)),
        )
