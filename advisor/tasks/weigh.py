"""The one place of the weigh sheet: a recipe becomes grams on the balances, with the work in order."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal

from advisor.errors import Fault, InvalidRequest
from advisor.program.balances import Share, in_units, units_per_gram, weigh_out
from advisor.program.row import Row
from advisor.rulebook import Rulebook, load_rulebook
from advisor.shapes.drying import Estimate
from advisor.shapes.findings import Check, TextItem
from advisor.shapes.recipe import GramLine
from advisor.shapes.weighing import BalanceUse, Fill, Premix, WeighedLine, WeighingAnswer, WeighingRequest
from advisor.tasks.door import asked, bench, check_wished_keys, known_materials
from advisor.tasks.safe_doses import safe_doses
from advisor.tasks.standing import Look
from advisor.trade.demand import Demand, Measure, Rank
from advisor.trade.drying import Interval
from advisor.trade.filling import filling, loss_percent
from advisor.trade.hold_back import held_back_liquids, held_back_powders
from advisor.trade.ingredient import Ingredient
from advisor.trade.notebook import Notebook
from advisor.trade.phases import phases
from advisor.trade.premix import Dilution, Little, carriers, dilution, most_promising
from advisor.trade.smallest_weight import minimum_weight, smallest_sensible
from advisor.trade.weigh_sheet import Balances, at_limit, make_up, potent, steps_of, tolerance
from advisor.trade.work_steps import Work, last_powder_phase, work_steps
from advisor.weighing_figures import WeighingRules

_FINEST_PER_GRAM = 10**6
_MET = 1e-7
_HELD = ("fixed:", "no-lever:")
_GIVEN_UP: tuple[frozenset[Rank], ...] = (
    frozenset({"advice", "default"}),
    frozenset({"dough"}),
    frozenset({"wish"}),
    frozenset({"held"}),
    frozenset({"law"}),
)


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
    wanted = asked(WeighingRequest, request)
    rules = rulebook or load_rulebook()
    known = known_materials(wanted.materials, rules, notebook)
    benched = bench(wanted.recipe, known)
    if wanted.wishes:
        check_wished_keys(wanted.wishes, benched.ingredients, benched.written.percents)
    _check_phases(wanted.phases or {}, benched.ingredients)
    look = Look.at(benched, known, wishes=wanted.wishes, report=None, history=None)
    return _Weighing(wanted, look, _on_balances(wanted, look)).answer()


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
class _Batch:
    """The batch in units of the balances: what is wanted of each line, its step and the total."""

    per_gram: int
    balances: Balances
    potent: frozenset[str]
    wanted: Mapping[str, float]
    steps: Mapping[str, int]
    total: int

    def grams(self, units: float) -> float:
        return round(units / self.per_gram, 9)


def _on_balances(asked_for: WeighingRequest, look: Look) -> _Batch:
    """Return the batch in units of the balances.

    Raises
    ------
    InvalidRequest
        A step is no step of a balance, or too coarse for the batch.
    """
    coarse = asked_for.balance_step
    fine = coarse if asked_for.fine_balance_step is None else asked_for.fine_balance_step
    _check_steps(coarse, fine)
    rules, own = look.rulebook.weighing, look.bench.amounts
    per_gram = units_per_gram([coarse, fine])
    balances = Balances(in_units(coarse, per_gram), in_units(fine, per_gram))
    legal = [demand for demand in look.demands if demand.kind == "law"]
    sensitive = potent(look.bench.ingredients, own, legal, rules)
    batch = Fraction(repr(asked_for.batch_grams)) * per_gram
    rough = {key: float(batch) * percent / 100 for key, percent in own.items()}
    steps = steps_of(rough, sensitive, balances, per_gram, rules)
    pace = math.gcd(*steps.values())
    total = pace * math.floor(batch / pace + Fraction(1, 2))
    if total < sum(steps.values()):
        raise InvalidRequest(
            "The balance is too coarse for this batch.",
            [
                Fault(
                    "/balance_step",
                    f"{len(steps)} lines of at least one step each weigh more than the batch",
                    "take a finer balance or a larger batch",
                )
            ],
        )
    wanted = {key: total * percent / 100 for key, percent in own.items()}
    making_up = make_up(wanted, steps, sensitive | _held(look), balances, total)
    if making_up is not None:
        steps = {**steps, making_up: balances.fine}
    return _Batch(per_gram, balances, sensitive, wanted, steps, total)


def _check_steps(coarse: float, fine: float) -> None:
    for where, step in (("/balance_step", coarse), ("/fine_balance_step", fine)):
        if Fraction(repr(step)).denominator > _FINEST_PER_GRAM:
            raise InvalidRequest(
                "No balance reads to that step.",
                [Fault(where, "has more than six decimals", "give what the balance shows, such as 0.01")],
            )
    if fine > coarse:
        raise InvalidRequest(
            "The finer balance is the coarser one.",
            [Fault("/fine_balance_step", f"is larger than the balance step {coarse:g}", "exchange the two")],
        )


def _held(look: Look) -> frozenset[str]:
    return frozenset(key for d in look.demands if d.id.startswith(_HELD) for key in d.about)


@dataclass(frozen=True)
class _Weighing:
    asked_for: WeighingRequest
    look: Look
    batch: _Batch

    @property
    def _rules(self) -> WeighingRules:
        return self.look.rulebook.weighing

    @property
    def _ingredients(self) -> Mapping[str, Ingredient]:
        return self.look.bench.ingredients

    @cached_property
    def _demands(self) -> list[Demand]:
        """What is asked of the weighed batch: all that holds of the recipe, and its wetness."""
        asked_of = [self._loosened(demand) for demand in self.look.demands]
        index = self.look.bench.measures.wetness()
        own = index.of(self.look.bench.amounts)
        if not own:
            return asked_of
        rules = self._rules.wetness
        kept = Demand(
            id="wetness-kept",
            name="wetting index",
            measure=index,
            unit="1",
            kind="dough",
            rank="dough",
            minimum=own * (1 - rules.band),
            maximum=own * (1 + rules.band),
            basis=rules.basis,
            source=rules.source,
            binding_room=0.002,
        )
        return [*asked_of, kept]

    def _loosened(self, demand: Demand) -> Demand:
        """Return the demand; a bound at the line's own percent gives half a step of its balance."""
        if not demand.id.startswith((*_HELD, "use:")):
            return demand
        key = demand.about[0]
        half = 50 * self.batch.steps[key] / self.batch.total
        own = self.look.bench.amounts[key]
        low, high = demand.minimum, demand.maximum
        return replace(
            demand,
            minimum=max(0.0, own - half) if low == own else low,
            maximum=own + half if high == own else high,
        )

    @cached_property
    def _broken(self) -> list[Demand]:
        """What the recipe itself breaks."""
        return [demand for demand in self._demands if demand.gap(self.look.bench.amounts) > _MET]

    @cached_property
    def _units(self) -> dict[str, int]:
        batch = self.batch
        share = Share(batch.wanted, batch.steps, batch.total, batch.per_gram, _held(self.look))
        units = weigh_out(share, self._ladder())
        if units is None:
            raise InvalidRequest(
                "No whole steps of this balance add up to the batch.",
                [Fault("/balance_step", "is too coarse for the small lines", "take a finer balance")],
            )
        return units

    def _ladder(self) -> list[Sequence[Row]]:
        kept = [demand for demand in self._demands if demand not in self._broken]
        whole = self.batch.total / self.batch.per_gram
        ladder: list[Sequence[Row]] = []
        for given_up in (frozenset[Rank](), *_GIVEN_UP):
            left = [demand for demand in kept if demand.rank not in given_up]
            if not ladder or len(left) < len(kept):
                ladder.append([row for one in left for row in one.rows(self.look.bench.keys, whole)])
            kept = left
        return ladder

    @cached_property
    def _grams(self) -> dict[str, float]:
        return {key: self.batch.grams(count) for key, count in self._units.items()}

    @cached_property
    def _percents(self) -> dict[str, float]:
        return {key: 100 * count / self.batch.total for key, count in self._units.items()}

    @cached_property
    def _letters(self) -> dict[str, str]:
        return phases(self._ingredients, self.asked_for.phases or {}, self._rules.phases)

    @cached_property
    def _order(self) -> list[str]:
        return sorted(self._units, key=lambda key: (self._letters[key], -self._units[key], key))

    def answer(self) -> WeighingAnswer:
        premixes = {one.material: one for one in self._premixes()}
        liquids, powders = self._held_back(premixes)
        fill = self._fill()
        work = Work(
            ingredients={key: self._ingredients[key] for key in self._order},
            letters=self._letters,
            premixed=[key for key in self._order if key in premixes],
            kept_back=[one.material for one in (*liquids, *powders)],
            bar_grams=_figure(fill.dough_grams_per_bar.typical) if fill else "",
        )
        return WeighingAnswer(
            name=self.look.bench.written.name,
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
            cautions=self.look.cautions(self._percents, grams=self._grams),
            notes=(*self.look.bench.notes, *self._notes(fill)),
            rules_version=self.look.rulebook.edition,
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
                smallest_potent_grams=grams(smallest_sensible(step, smallest.potent)),
                pharmacy_grams=round(minimum_weight(0.0, grams(step), self._rules.minimum_weight), 6),
            )
            for name, step in use
        )

    def _error_wanted(self, key: str) -> float:
        smallest = self._rules.smallest
        return smallest.potent if key in self.batch.potent else smallest.ordinary

    def _too_light(self, key: str) -> bool:
        return self._units[key] < smallest_sensible(self.batch.steps[key], self._error_wanted(key))

    def _legal(self) -> list[Demand]:
        return [demand for demand in self._demands if demand.kind == "law"]

    def _line(self, key: str, premixed: bool) -> WeighedLine:
        batch = self.batch
        step = batch.steps[key]
        spread = batch.grams(tolerance(self._units[key], step, key in batch.potent, self._rules.tolerance))
        return WeighedLine(
            material=key,
            name=self._ingredients[key].material.name,
            grams=self._grams[key],
            exact_grams=round(batch.wanted[key] / batch.per_gram, 6),
            phase=self._letters[key],
            balance="fine" if batch.balances.two and step == batch.balances.fine else "coarse",
            tolerance_grams=spread,
            warning=" ".join(self._warnings(key, spread, premixed)) or None,
            lot=self.look.bench.lot(key),
        )

    def _warnings(self, key: str, spread: float, premixed: bool) -> Iterator[str]:
        text, step, count = self._rules.text, self.batch.steps[key], self._units[key]
        limit = at_limit(key, self._grams, spread, self._legal())
        if limit is not None:
            yield text["at_limit"].replace("{name}", limit.name)
        if not self._too_light(key):
            return
        exact = self.batch.wanted[key]
        if abs(count - exact) > self._error_wanted(key) * exact:
            shown = _figure(float(f"{exact / self.batch.per_gram:.4g}"))
            yield text["between_steps"].replace("{exact}", shown)
        yield text["too_light"].replace("{percent}", f"{50 * step / count:.2g}")
        if premixed:
            yield text["too_light_premix"]
        else:
            needed = 2 * self._error_wanted(key) * exact / self.batch.per_gram
            finer = 10.0 ** math.floor(math.log10(needed) + 1e-9)
            yield text["too_light_finer"].replace("{step}", _figure(finer))

    def _premixes(self) -> Iterator[Premix]:
        left = dict(self._units)
        rules = self._rules
        for key in self._order:
            if not self._too_light(key):
                continue
            one = self._ingredients[key]
            limit = at_limit(key, self._grams, self.batch.grams(self.batch.steps[key]), self._legal())
            little = Little(
                exact=self.batch.wanted[key],
                line=self._units[key],
                step=self.batch.steps[key],
                error_wanted=self._error_wanted(key),
                not_over=limit is not None,
            )
            found = []
            for carrier in carriers(
                one, self._ingredients, rules.premix, rules.phases.watery_percent, self.look.pairs
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
            text = text.replace(f"{{{slot}}}", _figure(figures[slot]))
        text = text.replace("{left_grams}", _figure(grams(left)))
        text = text.replace("{error}", f"{100 * made.error:.2g}")
        return Premix(material=key, carrier=carrier, text=text, **figures)

    def _held_back(self, premixes: Mapping[str, Premix]) -> tuple[tuple[GramLine, ...], tuple[GramLine, ...]]:
        share = self.look.rulebook.dough.hold_back
        return (
            self._whole_steps(held_back_liquids(self._ingredients, self._grams, share), premixes),
            self._whole_steps(held_back_powders(self._ingredients, self._grams, share), premixes),
        )

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
        measures, rules = self.look.bench.measures, self.look.rulebook.drying
        left = [measures.mass_left(end).of(self._percents) or 0.0 for end in ("high", "typical", "low")]
        total = self.batch.grams(self.batch.total)
        found = filling(wanted, Interval(*left), total, rules.fill, rules.loss)
        lost = loss_percent(total, rules.loss)
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
        weighed = Demand(
            id="total",
            name="total",
            measure=Measure(dict.fromkeys(self._units, 1.0), None, total),
            unit="g",
            kind="total",
            rank="total",
            minimum=total,
            maximum=total,
            basis="exact",
        )
        demands = (weighed, *self._demands, *self.look.advised)
        found = [(demand, demand.check(self._grams, digits=3)) for demand in demands]
        return tuple(
            check
            for demand, check in found
            if check is not None and not (check.ok and demand.id.startswith("no-lever:"))
        )

    def _notes(self, fill: Fill | None) -> Iterator[TextItem]:
        text = self._rules.text
        total = self.batch.grams(self.batch.total)
        if abs(total - self.asked_for.batch_grams) > 1e-9:
            told = text["rounded_total"].replace("{asked}", _figure(self.asked_for.batch_grams))
            yield TextItem(id="batch-rounded", text=told.replace("{total}", _figure(total)))
        for demand in self._demands:
            if demand.kind not in ("law", "wish", "dough", "use") or demand.gap(self._percents) <= _MET:
                continue
            if demand in self._broken:
                told = self._outside(text["recipe_breaks"], demand, self.look.bench.amounts)
                yield TextItem(id="recipe-breaks", text=told)
            else:
                step = _figure(self.batch.grams(self.batch.balances.coarse))
                told = self._outside(text["balance_breaks"], demand, self._percents).replace("{step}", step)
                yield TextItem(id="balance-too-coarse", text=told)
        yield from safe_doses(self.look, self._percents)
        if not self.look.bench.measures.powders.of(self._percents):
            yield TextItem(id="no-powder", text=text["no_powder"])
        if fill is not None and not fill.bars:
            yield TextItem(id="no-bar", text=text["no_bar"])
        last = last_powder_phase(self._ingredients, self._letters, self._rules.phases)
        for key in self._order:
            one = self._ingredients[key]
            if one.main_role in self._rules.phases.sour_roles and self._letters[key] > last:
                yield TextItem(id="acid-after-powders", text=text["after_powder"].replace("{name}", one.name))

    def _outside(self, text: str, demand: Demand, amounts: Mapping[str, float]) -> str:
        low, high = demand.minimum, demand.maximum
        bounds = [f"at least {_figure(low)}"] if low is not None else []
        bounds += [f"at most {_figure(high)}"] if high is not None else []
        unit = "" if demand.unit == "1" else demand.unit
        dried = " in the dried bar" if demand.state == "as_dried" and "dried" not in demand.name else ""
        told = text.replace("{name}", demand.name + dried).replace("{bounds}", " and ".join(bounds))
        value = _figure(demand.measure.of(amounts) or 0.0)
        return told.replace("{value} {unit}", f"{value} {unit}".strip())


def _figure(value: float) -> str:
    """Return a figure as a person writes it, at most four decimals."""
    return f"{value:.4f}".rstrip("0").rstrip(".")
