"""Which cautions the materials in use, the law and the advice call for."""

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from advisor.frozen import dataclass
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts
from advisor.rulebook.age import today, whole_months
from advisor.rulebook.bench import CautionRules
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.schema.findings import Caution
from advisor.sums import grouped

_REMEMBERED = 8192


@dataclass(frozen=True)
class RuleCaution:
    """A caution with the rule it comes from and the materials that call for it."""

    rule: CautionRules
    about: tuple[str, ...]
    caution: Caution


def cautions(
    rules: Sequence[CautionRules],
    ingredients: Mapping[str, Ingredient],
    amounts: Amounts,
    law: LawBook | None,
    *,
    estimates: bool,
    advice: Iterable[str] = (),
    handled: Collection[str] = (),
) -> tuple[RuleCaution, ...]:
    """Return the cautions that the materials in use, the law and the advice call for.

    Parameters
    ----------
    rules : sequence of CautionRules
    ingredients : mapping
        The materials in use, those of the answer included.
    amounts : mapping
        What of them is in the recipe at most [%].
    law : LawBook, optional
        That of the market, on the day; how old its text is counts to today.
    estimates : bool
        Whether the answer rests on an estimated uptake or wetting.
    advice : iterable of str
        The ids of the advice that the answer gives.
    handled : collection of str
        The materials that are weighed or poured next.
    """
    allergens = sorted({text for one in ingredients.values() for text in one.material.allergens})
    given, day = set(advice), today()
    by = ByIdentity(rules)
    met = grouped((called, one) for one in ingredients.values() for called in _met(by, one))
    told: dict[str, tuple[RuleCaution, ...]] = {}
    for rule in rules:
        fitting = [one for one in met.get(rule.id, ()) if _enough(rule, one, amounts.get(one.key, 0.0))]
        called_for = (
            rule.always
            or (rule.laws and law is not None)
            or (rule.no_law and law is None)
            or (law is not None and _aged(rule, law, day))
            or (rule.estimates and estimates)
            or (rule.allergens and allergens)
            or not given.isdisjoint(rule.advice)
            or fitting
        )
        if called_for and told.keys().isdisjoint(rule.unless):
            text = rule.text.replace("{allergens}", "; ".join(allergens))
            if law is not None and "{" in text:
                text = text.replace("{text_of}", law.text_of).replace("{law}", law.head.title)
                text = text.replace("{months}", f"{whole_months(law.head.text_of, day)}")
                text = text.replace("{review_by}", f"{law.head.review_by}")
            told[rule.id] = tuple(_of_rule(rule, text, fitting, handled))
    return tuple(one for some in told.values() for one in some)


def _of_rule(
    rule: CautionRules, text: str, fitting: Sequence[Ingredient], handled: Collection[str]
) -> Iterator[RuleCaution]:
    """Yield a caution of what is handled next, and apart from it one of what else calls for it."""
    next_up = [one for one in fitting if rule.when_handled and one.key in handled]
    rest = [one for one in fitting if one not in next_up]
    apart = [(some, standing) for some, standing in ((next_up, False), (rest, rule.standing)) if some]
    for some, standing in apart or [([], rule.standing)]:
        names = dict.fromkeys(one.name for one in some)
        named = text.replace("{names}", listed(names)) if names else text
        caution = Caution(id=rule.id, text=named, standing=standing)
        yield RuleCaution(rule, tuple(one.key for one in some), caution)


def warned_of(rules: Sequence[CautionRules], one: Ingredient) -> frozenset[str]:
    """Return the ids of what the users of a bar have to be told of a material by its name."""
    met = _met(ByIdentity(rules), one)
    return frozenset(rule.id for rule in rules if rule.words and not rule.standing and rule.id in met)


def _aged(rule: CautionRules, law: LawBook, day: datetime.date) -> bool:
    """Tell whether a law's text is older than a caution bears, or its review is due."""
    old = rule.law_months is not None and whole_months(law.head.text_of, day) >= rule.law_months
    return old or (rule.review_passed and day > law.head.review_by)


def special_first(told: Iterable[Caution]) -> tuple[Caution, ...]:
    """Return cautions once each, those of this recipe before the standing ones."""
    return tuple(
        sorted(
            {(one.id, one.text, one.standing): one for one in told}.values(),
            key=lambda caution: caution.standing,
        )
    )


def _enough(rule: CautionRules, one: Ingredient, percent: float) -> bool:
    use = one.material.use
    if rule.over_use and (use is None or use.max is None or percent <= use.max):
        return False
    share = one.holds(*rule.components) if rule.components else 1.0
    return rule.from_percent is None or percent * share >= rule.from_percent


@lru_cache(maxsize=_REMEMBERED)
def _met(rules: ByIdentity[Sequence[CautionRules]], one: Ingredient) -> frozenset[str]:
    """Return the ids of the cautions that a material calls for, if there is enough of it."""
    material = one.material
    texts = [_spaced(text) for text in (material.name, *material.composition, *material.allergens)]
    return frozenset(rule.id for rule in rules.thing if _meets(rule, one, texts))


def _meets(rule: CautionRules, one: Ingredient, texts: Sequence[str]) -> bool:
    conditions = _conditions(rule, one, texts)
    return next(conditions, False) and all(conditions)


def _conditions(rule: CautionRules, one: Ingredient, texts: Sequence[str]) -> Iterator[bool]:
    """Yield of each condition that a rule names whether a material meets it."""
    material = one.material
    if rule.forms:
        yield material.form in rule.forms
    if rule.charges:
        yield material.charge in rule.charges
    if rule.roles:
        yield not set(rule.roles).isdisjoint(material.roles)
    if rule.hazards:
        yield any(code in hazard for hazard in material.hazards for code in rule.hazards)
    if rule.components:
        yield any(one.holds(name) for name in rule.components)
    if rule.words:
        yield any(f" {word} " in text for text in texts for word in rule.words)


def _spaced(text: str) -> str:
    """Return the words of a text, each between blanks."""
    plain = "".join(c if c.isalnum() else " " for c in text.casefold())
    return f" {' '.join(plain.split())} "
