"""Which cautions the materials in use, the law and the advice call for."""

import datetime
from collections.abc import Iterable, Mapping
from functools import lru_cache

from advisor.rulebook.age import today, whole_months
from advisor.rulebook.bench import CautionRules
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.schema.findings import TextItem

_REMEMBERED = 8192


def cautions(
    rules: Iterable[CautionRules],
    ingredients: Mapping[str, Ingredient],
    law: LawBook | None,
    *,
    estimates: bool,
    advice: Iterable[str] = (),
) -> tuple[TextItem, ...]:
    """Return the cautions that the materials in use, the law and the advice call for.

    Parameters
    ----------
    ingredients : mapping
        The materials in use, those of the answer included.
    estimates : bool
        Whether the answer rests on an estimated uptake or wetting.
    """
    allergens = sorted({text for one in ingredients.values() for text in one.material.allergens})
    given, day = set(advice), today()
    told: dict[str, TextItem] = {}
    for rule in rules:
        called_for = (
            rule.always
            or (rule.laws and law is not None)
            or (rule.no_law and law is None)
            or (law is not None and _aged(rule, law, day))
            or (rule.estimates and estimates)
            or (rule.allergens and allergens)
            or set(rule.advice) & given
            or any(_meets(ByIdentity(rule), one) for one in ingredients.values())
        )
        if called_for and told.keys().isdisjoint(rule.unless):
            text = rule.text.replace("{allergens}", "; ".join(allergens))
            if law is not None:
                text = text.replace("{text_of}", law.text_of).replace("{law}", law.title)
                text = text.replace("{months}", f"{whole_months(law.head.text_of, day)}")
                text = text.replace("{review_by}", f"{law.head.review_by}")
            told[rule.id] = TextItem(id=rule.id, text=text)
    return tuple(told.values())


def _aged(rule: CautionRules, law: LawBook, day: datetime.date) -> bool:
    """Tell whether a law's text is older than a caution bears, or its review is due."""
    old = rule.law_months is not None and whole_months(law.head.text_of, day) >= rule.law_months
    return old or (rule.review_passed and day > law.head.review_by)


@lru_cache(maxsize=_REMEMBERED)
def _meets(of: ByIdentity[CautionRules], one: Ingredient) -> bool:
    rule, material = of.thing, one.material
    conditions = (
        (rule.forms, material.form in rule.forms),
        (rule.charges, material.charge in rule.charges),
        (rule.roles, bool(set(material.roles) & set(rule.roles))),
        (rule.hazards, any(code in hazard for hazard in material.hazards for code in rule.hazards)),
        (rule.components, any(one.holds(name) for name in rule.components)),
    )
    named = [met for wanted, met in conditions if wanted]
    return bool(named) and all(named)
