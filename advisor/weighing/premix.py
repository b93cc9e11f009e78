"""Proposes a premix for what is too little to weigh."""

import math
from collections.abc import Mapping, Sequence

from advisor.frozen import dataclass
from advisor.rulebook.compatibility import Pairs
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.newcomers import clash
from advisor.rulebook.weighing import CarrierRules, PremixRules


@dataclass(frozen=True, slots=True)
class Dilution:
    """A premix of ``parts`` batches' worth [units].

    ``material`` and ``carrier`` are mixed and ``take`` of it is used; the carrier's line falls by
    ``take - line``. ``error`` is a share of the dose (0..1).
    """

    parts: int
    material: int
    carrier: int
    take: int
    line: int
    error: float

    @property
    def off_carrier(self) -> int:
        """What is taken off the carrier's line [units]."""
        return self.take - self.line

    @property
    def dose(self) -> float:
        """What of the material reaches the batch [units]."""
        return self.material / self.parts


@dataclass(frozen=True, slots=True)
class Little:
    """A line that is too little to weigh [units], with the step and the error (share, 0..1) it is to have."""

    exact: float
    line: int
    step: int
    error_wanted: float
    not_over: bool

    @property
    def error(self) -> float:
        """The error without a premix: of the balance, and of rounding to it."""
        return abs(self.line - self.exact) / self.exact + self.step / 2 / self.line


def carriers(
    one: Ingredient,
    among: Mapping[str, Ingredient],
    rules: PremixRules,
    watery_percent: float,
    pairs: Pairs,
) -> list[str]:
    """Return the materials of the recipe in which another is usually diluted, the best first.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> among = {key: book.ingredients[key] for key in ("glycerin", "kaolin", "sunflower-oil")}
    >>> scent = book.ingredients["fragrance-oil"]
    >>> carriers(scent, among, book.weighing.premix, 20.0, book.pairs)
    ['sunflower-oil']
    """
    rule = next((rule for rule in rules.carrier if _fits(rule, one, watery_percent)), None)
    if rule is None or one.main_role in rules.never_roles:
        return []
    fitting = [
        (rule.into.index(other.main_role), key)
        for key, other in among.items()
        if key != one.key
        and other.main_role in rule.into
        and other.material.form in rule.into_forms
        and not other.coarse
        and clash(one, other, pairs) is None
    ]
    return [key for _, key in sorted(fitting)]


def _fits(rule: CarrierRules, one: Ingredient, watery_percent: float) -> bool:
    watery = 100 * one.water >= watery_percent
    return (
        (not rule.roles or one.main_role in rule.roles)
        and (not rule.forms or one.material.form in rule.forms)
        and (rule.watery is None or rule.watery == watery)
    )


def dilution(
    little: Little, carrier_units: int, carrier_step: int, batch_units: int, rules: PremixRules
) -> Dilution | None:
    """Return the smallest premix that is exact enough, else the most exact one; None where none is worth it.

    Every weight is whole steps, so the batch still adds up.

    Parameters
    ----------
    carrier_units, carrier_step : int
        What is there of the carrier, and the step it is weighed in [units].
    batch_units : int
        The batch [units].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> rules = load_rulebook().weighing.premix
    >>> found = dilution(Little(9.0, 9, 1, 0.02, False), 36, 1, 1000, rules)
    >>> found.parts, found.material, found.carrier, found.take, found.dose
    (5, 45, 135, 36, 9.0)
    """
    pace = math.lcm(little.step, carrier_step)
    most = (carrier_units - carrier_step) // pace
    weakest = little.exact / rules.material_share_at_most
    wanted = math.ceil(max(little.step / 2 * math.sqrt(2) / little.error_wanted, weakest))
    best: Dilution | None = None
    for parts in rules.parts:
        at_most = int(rules.batch_share_at_most * batch_units / parts)
        turns = min(most, (at_most - little.line) // pace, max(1, math.ceil((wanted - little.line) / pace)))
        if turns < 1 or little.line + turns * pace < weakest:
            continue
        tried = _made(little, parts, little.line + turns * pace)
        if tried is None:
            continue
        if best is None or tried.error < best.error:
            best = tried
        if tried.error <= little.error_wanted:
            break
    return (
        best
        if best is not None and best.error <= min(rules.gain * little.error, rules.error_at_most)
        else None
    )


def _made(little: Little, parts: int, take: int) -> Dilution | None:
    steps = parts * little.exact / little.step
    material = little.step * (math.floor(steps + 1e-9) if little.not_over else round(steps))
    carrier = parts * take - material
    if material < little.step or carrier < little.step:
        return None
    off = abs(material / parts - little.exact) / little.exact
    half = little.step / 2
    return Dilution(
        parts=parts,
        material=material,
        carrier=carrier,
        take=take,
        line=little.line,
        error=off + math.hypot(half / material, half / take, half / carrier),
    )


def most_promising(found: Sequence[tuple[str, Dilution]], wanted: float) -> tuple[str, Dilution] | None:
    """Return the first premix that is exact enough, else the most exact one.

    Examples
    --------
    >>> most_promising([], 0.01) is None
    True
    """
    enough = [pair for pair in found if pair[1].error <= wanted]
    return enough[0] if enough else min(found, key=lambda pair: pair[1].error, default=None)
