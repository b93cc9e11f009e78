"""The pH task: two readings around a trial dose give the dose still to add."""

from collections.abc import Iterable, Mapping
from decimal import ROUND_DOWN, Context
from typing import Any

from advisor.case.cautions import cautions
from advisor.case.watch import soap_in, unborne
from advisor.errors import Fault, InvalidRequest
from advisor.frozen import cached_property, dataclass, replace
from advisor.laboratory.next_dose import NextDose, next_dose
from advisor.laboratory.schema import DoseAnswer, DoseRequest, Pour
from advisor.law.preservation import preservation_missing, preservatives
from advisor.recipe.grams import listed
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.rulebook.acidity import AcidityRules, Mover, MoverKind
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.base import WHOLE
from advisor.schema.findings import Caution, TextItem

_OF_READINGS = Context(prec=2, rounding=ROUND_DOWN)
_FIGURES_OF_THE_TRIAL = 4
_ROOM = 1e-9
_SPOKEN = {"grams": "g", "millilitres": "ml", "drops": "drops"}
_BURNING = "H314"


def dose(
    request: DoseRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> DoseAnswer:
    """Return the dose of acid or alkali still to add.

    Parameters
    ----------
    request : DoseRequest or mapping
        pH before and after a trial dose, pH wanted, percent of the dispersion; masses to scale to a batch;
        the acid or alkali and the recipe, so that the dose can be held against what a dough bears.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials.

    Raises
    ------
    InvalidRequest
        A field is wrong, the trial dose moved the pH too little, the target is none to ask for, or the dose
        is more than a dough ever needs, so that a reading must be wrong.
    InvalidRecipe, UnknownMaterial

    Notes
    -----
    The pH of a paste is not predicted: the line through two readings is followed for one step at most.

    Examples
    --------
    >>> asked_for = {"first_ph": 7.4, "dose": 0.5, "second_ph": 6.4, "target_ph": 5.9, "test_percent": 10,
    ...     "test_dough_grams": 10, "batch_grams": 800}
    >>> answer = dose(asked_for)
    >>> answer.next_dose, answer.batch_dose, answer.pour_first.amount
    (0.25, 20.0, 15.0)
    """
    wanted, known = opened(DoseRequest, request, rulebook, notebook)
    rules = known.rulebook
    named = known.all([(wanted.material, "/material")] if wanted.material is not None else [])
    formula = None if wanted.recipe is None else read_formula(wanted.recipe, known)
    _check_target(wanted, formula, rules.acidity)
    found = next_dose(wanted.first_ph, wanted.dose, wanted.second_ph, wanted.target_ph, rules.acidity.dose)
    one = None if wanted.material is None else named[wanted.material]
    return _Dosing(wanted, rules, formula, one, found).answer()


def _check_target(wanted: DoseRequest, formula: Formula | None, rules: AcidityRules) -> None:
    """Refuse a pH that no cleansing bar is brought to, and one that has to be meant.

    Raises
    ------
    InvalidRequest
    """
    of, at = rules.target, wanted.target_ph
    beyond = rules.beyond(at, of.outermost_high)
    if beyond is not None:
        problem = rules.text["outside"].format(target=f"{at:g}", **beyond)
        raise InvalidRequest(problem, [Fault("/target_ph", problem)])
    if not of.lowest <= at <= of.highest and not wanted.confirmed:
        problem = rules.text["unconfirmed"].format(
            target=f"{at:g}", low=f"{of.lowest:g}", high=f"{of.highest:g}"
        )
        raise InvalidRequest(problem, [Fault("/target_ph", problem, "send confirmed true")])
    if formula is not None:
        soap = soap_in(formula.measures, formula.amounts, of)
        if soap >= of.soap_percent:
            problem = rules.text["soap"].format(percent=f"{soap:.3g}")
            raise InvalidRequest(problem, [Fault("/recipe", problem)])


@dataclass(frozen=True)
class _Dosing:
    wanted: DoseRequest
    rulebook: Rulebook
    formula: Formula | None
    one: Ingredient | None
    asked: NextDose

    @property
    def rules(self) -> AcidityRules:
        return self.rulebook.acidity

    @property
    def kind(self) -> MoverKind:
        """Whether the trial dose was an acid or a base."""
        return "acid" if self.wanted.second_ph < self.wanted.first_ph else "base"

    @cached_property
    def mover(self) -> Mover | None:
        """What of the named material moves the pH; None where none is named, or nothing is known of it.

        Raises
        ------
        InvalidRequest
            The material is no acid or alkali, or moves a pH the other way.
        """
        one, text = self.one, self.rules.text
        if one is None:
            return None
        held = [mover for mover in self.rules.mover if one.holds(mover.component)]
        fitting = [mover for mover in held if mover.kind == self.kind]
        if fitting:
            return max(fitting, key=lambda mover: one.holds(mover.component))
        if not held and self.kind in one.material.roles:
            return None
        problem = text["wrong_way" if held else "not_known"]
        raise InvalidRequest(f"{one.name} {problem}.", [Fault("/material", problem, text["name_another"])])

    def _percent(self, amount: float) -> float | None:
        """Return a dose as pure substance [% of the dough of the test]; None where that is not known."""
        if self.mover is None or self.one is None or self.wanted.test_dough_grams is None:
            return None
        grams = amount * getattr(self.rules.units, self.wanted.unit or "grams")
        return float(WHOLE * grams * self.one.holds(self.mover.component) / self.wanted.test_dough_grams)

    def _most(self, mover: Mover) -> float:
        """Return the most of what moves the pH in all [% of the dough]."""
        buffering = self.rules.buffering
        if self.formula is None or mover.kind != "acid":
            return mover.at_most
        swallowing = self.formula.measures.component(*buffering.components).of(self.formula.amounts) or 0.0
        return (
            max(mover.at_most, buffering.acid_at_most) if swallowing >= buffering.percent else mover.at_most
        )

    @cached_property
    def found(self) -> tuple[NextDose, str | None]:
        """The dose still to add within what a dough bears, and what capped it.

        Raises
        ------
        InvalidRequest
            In all it is more than a dough ever needs.
        """
        mover, asked = self.mover, self.asked
        step = self._percent(asked.dose)
        if mover is None or step is None or not asked.dose:
            return asked, asked.capped
        in_all = self._percent(self.wanted.dose + asked.whole) or 0.0
        if in_all > self._most(mover) + _ROOM:
            problem = self.rules.text["over_cap"].format(
                percent=f"{in_all:.2g}", name=mover.component, most=f"{self._most(mover):g}"
            )
            raise InvalidRequest(problem, [Fault("/second_ph", problem, "measure again")])
        if mover.step_at_most is None or step <= mover.step_at_most + _ROOM:
            return asked, asked.capped
        share = mover.step_at_most / step
        reached = self.wanted.second_ph + share * (asked.reaches_ph - self.wanted.second_ph)
        return replace(asked, dose=share * asked.dose, reaches_ph=reached), "lye"

    @property
    def _share(self) -> float:
        """Which share of a dose goes in first."""
        return (self.rules.dose.first_share_low + self.rules.dose.first_share_high) / 2

    @cached_property
    def scale(self) -> float | None:
        """How many times the dough of the test the batch is; None where either is not known."""
        batch, test = self.wanted.batch_grams, self.wanted.test_dough_grams
        return None if batch is None or test is None else batch / test

    @cached_property
    def _batch_trial(self) -> float | None:
        """The trial dose for the whole batch, as exact as it was weighed; None where no batch is known."""
        return (
            None
            if self.scale is None
            else float(f"{self.wanted.dose * self.scale:.{_FIGURES_OF_THE_TRIAL}g}")
        )

    def answer(self) -> DoseAnswer:
        """Return the answer."""
        (found, capped), share, scale = self.found, self._share, self.scale
        return DoseAnswer(
            pour_first=self._pour(share * found.dose),
            next_dose=_careful(found.dose),
            share_to_add_first=round(share, 4),
            first_dose=_careful(share * found.dose),
            capped=capped is not None,
            state=found.state,
            reaches_ph=round(found.reaches_ph, 2),
            test_percent=self.wanted.test_percent,
            batch_dose=None if scale is None else _careful(found.dose * scale),
            batch_trial_dose=self._batch_trial,
            cautions=tuple(Caution(id=one.id, text=one.text, standing=False) for one in self._cautions()),
            notes=(*(() if self.formula is None else self.formula.notes), *self._notes(capped)),
            rules_version=self.rulebook.edition,
        )

    def _pour(self, first: float) -> Pour | None:
        if not first:
            return None
        return Pour(
            amount=_careful(first * (self.scale or 1.0)),
            unit=self.wanted.unit or "grams",
            material=None if self.one is None else self.one.key,
            into="test" if self.scale is None else "batch",
        )

    def _cautions(self) -> Iterable[TextItem]:
        """Yield the cautions of a pH the recipe does not bear, and of what is still to add."""
        if self.formula is not None:
            yield from self._unborne(self.formula)
        if self.found[0].dose:
            yield from self._handled()
            if self.kind == "acid":
                yield from self._carbonates()

    def _unborne(self, formula: Formula) -> Iterable[TextItem]:
        """Yield which preservatives and surfactants the pH wanted does away with."""
        target, book = self.wanted.target_ph, self.rulebook
        lines = [(percent, formula.ingredients[key].material) for key, percent in formula.amounts.items()]
        found = preservatives(lines, target, book.substances, book.laws["eu"])
        useless = preservation_missing(found, lines, target, book.preservation) if found else None
        if useless is not None:
            yield useless
        told = {one.key for one in found} if useless is not None else set()
        for keeps in self.rules.keeps:
            held = formula.measures.component(*keeps.components)
            if held.of(formula.amounts) and not keeps.ph_min <= target <= keeps.ph_max:
                told |= held.top.keys()
                yield self.rules.said(
                    "keeps",
                    name=keeps.name.capitalize(),
                    low=f"{keeps.ph_min:g}",
                    high=f"{keeps.ph_max:g}",
                    target=f"{target:g}",
                )
        for one in unborne(formula.amounts, formula.ingredients, target, book.stated, told):
            if one.id == "pair:stated-ph":
                yield TextItem(id=one.id, text=one.text)

    def _handled(self) -> Iterable[TextItem]:
        """Yield how what is poured goes in, and what it does to who pours it."""
        one, mover = self.one, self.mover
        burns = mover.burns if mover is not None else one is None or _BURNING in one.material.hazards
        if one is None or burns:
            yield self.rules.said("acid" if self.kind == "acid" else "alkali")
        elif mover is not None and mover.gasses:
            yield self.rules.said("gasses", mover=one.name)
        else:
            yield self.rules.said("stirred", name=one.name)
        if one is not None:
            of, rules = {one.key: one}, self.rulebook.cautions.caution
            for told in cautions(rules, of, {one.key: WHOLE}, None, estimates=False, handled=of):
                if told.rule.when_handled and _BURNING not in told.rule.hazards:
                    yield TextItem(id=told.caution.id, text=told.caution.text)

    def _carbonates(self) -> Iterable[TextItem]:
        """Yield that acid makes gas, of the recipe where it is told."""
        if self.formula is None:
            yield self.rules.said("bicarbonate")
            return
        named = self.rulebook.stated.side["carbonates"].components
        held = [
            one.name
            for key, one in self.formula.ingredients.items()
            if self.formula.amounts[key] and one.holds(*named)
        ]
        if held:
            yield self.rules.said("carbonate", names=listed(held))

    def _notes(self, capped: str | None) -> Iterable[TextItem]:
        wanted, rules, found = self.wanted, self.rules, self.found[0]
        shares = f"{WHOLE * rules.dose.first_share_low:.0f} to {WHOLE * rules.dose.first_share_high:.0f} %"
        if found.state == "add":
            yield self.rules.said("first", first=shares)
        else:
            needed = rules.text["needed_base" if self.kind == "acid" else "needed_acid"].rstrip(",")
            yield self.rules.said(found.state, needed=needed)
        yield from self._caps(capped)
        yield from self._of_the_batch(shares)
        reading = rules.reading
        if not reading.comparable_from <= wanted.test_percent <= reading.comparable_to:
            yield self.rules.said("diluted", percent=f"{reading.percent:g}", at=f"{wanted.test_percent:g}")
        yield self.rules.said("two_buffers")
        yield self.rules.said(
            "reading",
            percent=f"{wanted.test_percent:g}",
            warm_to_c=f"{reading.warm_to_c:g}",
            read_at_c=f"{reading.read_at_c:g}",
        )
        if found.state == "add":
            yield self.rules.said("line")
        if not rules.skin.ph_min <= wanted.target_ph <= rules.skin.ph_max:
            yield self.rules.said("low_high", low=f"{rules.skin.ph_min:g}", high=f"{rules.skin.ph_max:g}")

    def _of_the_batch(self, shares: str) -> Iterable[TextItem]:
        """Yield what a batch needs that has not had the trial dose."""
        wanted, state = self.wanted, self.found[0].state
        unit = _SPOKEN[wanted.unit or "grams"]
        if wanted.batch_grams is not None and self.scale is None:
            yield self.rules.said("no_scale")
        elif self._batch_trial is not None and state == "add":
            yield self.rules.said("trial", amount=f"{self._batch_trial:g}", unit=unit)
        elif self._batch_trial is not None and state == "passed":
            part = (wanted.first_ph - wanted.target_ph) / (wanted.first_ph - wanted.second_ph)
            if part > 0:
                amount = f"{_careful(part * self._batch_trial):g}"
                yield self.rules.said("passed_batch", amount=amount, unit=unit, share=shares)

    def _caps(self, capped: str | None) -> Iterable[TextItem]:
        """Yield what held the dose back, and what it could not be held against."""
        mover, found, wanted = self.mover, self.found[0], self.wanted
        if capped == "step":
            yield self.rules.said("capped", step=f"{self.rules.dose.step_at_most:g}")
        elif capped == "trial":
            yield self.rules.said("trial_cap", times=f"{self.rules.dose.trials_at_most:g}")
        elif capped is not None and mover is not None:
            yield self.rules.said("step_cap", most=f"{mover.step_at_most:g}", name=mover.component)
        if not found.dose:
            return
        if self.one is None:
            yield self.rules.said("no_material")
        elif mover is None:
            yield self.rules.said("no_cap", name=self.one.name)
        elif wanted.test_dough_grams is None:
            yield self.rules.said("no_dough")
        poured = self._pour(found.dose * self._share)
        if wanted.unit not in (None, "grams") and poured is not None:
            grams = poured.amount * getattr(self.rules.units, wanted.unit)
            yield self.rules.said(
                "weigh_it", unit=wanted.unit, amount=f"{poured.amount:g}", grams=f"{grams:.2g}"
            )


def _careful(value: float) -> float:
    """Return a dose in the figures two readings of a meter bear, rounded down: what is in stays in.

    Examples
    --------
    >>> _careful(0.4671), _careful(37.5), _careful(0.25), _careful(0.0)
    (0.46, 37.0, 0.25, 0.0)
    """
    return float(_OF_READINGS.create_decimal(repr(round(value, 12))))
