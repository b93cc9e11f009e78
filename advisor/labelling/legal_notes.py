"""What laws and safety assessments say beside their figures, in sentences."""

from collections.abc import Sequence
from functools import lru_cache

from advisor.case.case import Case
from advisor.case.unmet import limits_passed
from advisor.labelling.declared import declaration
from advisor.law.notes import list_notes
from advisor.recipe.measures import Amounts
from advisor.rulebook.age import today
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.label import LabelRules
from advisor.rulebook.law import LawBook, conditions_met, without_maximum
from advisor.rulebook.levels import AssessedFile
from advisor.rulebook.verdicts import STANDS_OUT
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem
from advisor.schema.material import Material

Lines = Sequence[tuple[float, Material]]
_REMEMBERED = 8192


def law_notes(case: Case, *recipes: Amounts, whole: bool = False) -> tuple[TextItem, ...]:
    """Return what the law of the market says of the recipes of an answer besides its limits, each thing once.

    Parameters
    ----------
    case : Case
        The recipe they come from, with the market that was wished; without one nothing is said.
    *recipes : mapping
        One or more recipes [%, or grams].
    whole : bool
        Whether limits that are passed, bans and the like are told here as well: elsewhere checks and cautions
        tell them.
    """
    law, of, book = case.law, case.formula.ingredients, case.rulebook
    if law is None:
        return ()
    told: dict[str, TextItem] = {}
    besides = frozenset() if whole else STANDS_OUT
    for amounts in recipes:
        used = {key: of[key] for key, amount in amounts.items() if amount > 0}
        total = sum(amounts.values())
        lines = [(WHOLE * amounts[key] / total, one.material) for key, one in used.items()]
        lists = list_notes(used, law, case.wishes.used_on, book.law_words, today(), besides=besides)
        passed = limits_passed(case, amounts) if whole else ()
        for item in (*passed, *legal_notes(lines, law, book.label, case.ph), *lists):
            told.setdefault(item.id, item)
    return tuple(told.values())


def legal_notes(
    lines: Lines, law: LawBook | None, rules: LabelRules, ph: float | None = None
) -> tuple[TextItem, ...]:
    """Return the conditions that apply, and the preservatives without a legal maximum.

    Parameters
    ----------
    lines : sequence of (percent, Material)
        The recipe [% by mass].
    law : LawBook or None
        The law of the market; without one nothing is said.
    rules : LabelRules
        Sentences.
    ph : float, optional
        Measured pH of the product.

    Notes
    -----
    By-products that a supplier does not declare call for no note: the caustic of a glucoside adjusts nothing.
    """
    if law is None:
        return ()
    amounts: dict[str, float] = {}
    by = ByIdentity(rules)
    for percent, material in lines:
        for name, held in _declared(ByIdentity(material), by):
            amounts[name] = amounts.get(name, 0.0) + percent * held / 100
    used = [material for percent, material in lines if percent > 0]
    preserving: dict[str, float] = {}
    for material in used:
        if "preservative" in material.roles:
            preserving |= {name: amounts[name] for name in material.composition if name in amounts}
    return (
        *(
            TextItem(
                id=f"law-{condition.id}",
                text=rules.text["condition"].format(what=condition.text, rest=condition.source),
            )
            for condition in conditions_met(law, amounts, ph)
        ),
        *(
            TextItem(
                id=f"law-no-maximum-{entry.id}",
                text=rules.text["no_maximum"].format(what=entry.name),
            )
            for entry in without_maximum(law, preserving)
        ),
    )


@lru_cache(maxsize=_REMEMBERED)
def _declared(material: ByIdentity[Material], rules: ByIdentity[LabelRules]) -> tuple[tuple[str, float], ...]:
    """Return what a material consists of [%], but for what stands on no label."""
    key = rules.thing.key
    names = {key(one.name) for one in declaration(material.thing, "eu", rules.thing).names}
    return tuple((name, held) for name, held in material.thing.composition.items() if key(name) in names)


def assessment_remarks(lines: Lines, rules: AssessedFile) -> tuple[TextItem, ...]:
    """Return what safety assessments ask without naming a figure, for the components a recipe holds."""
    held = {name.casefold() for percent, material in lines if percent > 0 for name in material.composition}
    return tuple(
        TextItem(id=f"assessed-{remark.id}", text=f"{remark.text} ({remark.source})")
        for remark in rules.remark
        if any(name.casefold() in held for name in remark.components)
    )
