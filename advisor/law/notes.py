"""What the lists of a law say of a recipe besides its limits, in sentences."""

import datetime
from collections.abc import Container, Iterable, Iterator, Mapping
from functools import lru_cache

from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import Announced, LawBook
from advisor.rulebook.naming import plain
from advisor.rulebook.verdicts import Kind, Verdict, counted_by_limit, judged
from advisor.schema.base import WHOLE, UsedOn
from advisor.schema.findings import TextItem

_MONTHS_AHEAD = 6
_REMEMBERED = 8192
_NO_NAMES: frozenset[str] = frozenset()
Words = Mapping[str, str]


def list_notes(
    measures: Measures,
    amounts: Amounts,
    law: LawBook,
    used_on: UsedOn,
    words: Words,
    day: datetime.date,
    *,
    besides: Container[Kind] = (),
) -> tuple[TextItem, ...]:
    """Return what the lists of a law say of a recipe, besides its limits.

    Parameters
    ----------
    measures : Measures
        Of the materials of the recipe.
    amounts : mapping
        The recipe [% or g].
    words : mapping
        The sentences of rules/law/verdicts.toml.
    day : date
        The day the recipe is looked at: announced changes are told six months ahead.
    besides : container of str
        The kinds of verdicts that the answer tells elsewhere.
    """
    told: dict[str, TextItem] = {}
    used = {key: measures.ingredients[key] for key, amount in amounts.items() if amount > 0}
    for one in used.values():
        for verdict in judged(one, law, used_on).verdicts:
            if verdict.kind not in besides:
                item = verdict_text(verdict, law, words)
                told.setdefault(item.id, item)
    held = _NO_NAMES.union(*map(_plain_names, used.values()))
    concerned = [change for change, names in law.announced if not names.isdisjoint(held)]
    limits = _of_limits(used, measures, amounts, law, used_on, words)
    for item in (*limits, *_announced(concerned, law, words, day)):
        told.setdefault(item.id, item)
    return tuple(told.values())


@lru_cache(maxsize=_REMEMBERED)
def _plain_names(one: Ingredient) -> frozenset[str]:
    return frozenset(map(plain, one.composition))


def verdict_text(verdict: Verdict, law: LawBook, words: Words) -> TextItem:
    """Return a verdict as a sentence."""
    text = words[verdict.kind].format(
        component=verdict.component,
        entry=verdict.entry,
        when=verdict.words,
        source=verdict.source,
        title=law.head.title,
    )
    return TextItem(id=f"law-{verdict.kind}-{_slug(verdict.component)}", text=text)


def duty_notes(law: LawBook | None, words: Words, day: datetime.date) -> tuple[TextItem, ...]:
    """Return what a maker has to do besides the recipe before a bar is sold, as a list to tick.

    Changes that concern every product stand at its end, from six months ahead.
    """
    if law is None:
        return ()
    of_all = [change for change in law.head.announced if not change.components]
    return (
        *(
            TextItem(id=f"duty-{duty.id}", text=f"{duty.text.rstrip('.')} ({duty.source}).")
            for duty in law.head.duty
        ),
        *_announced(of_all, law, words, day),
    )


def _of_limits(
    used: Mapping[str, Ingredient],
    measures: Measures,
    amounts: Amounts,
    law: LawBook,
    used_on: UsedOn,
    words: Words,
) -> Iterator[TextItem]:
    """Yield conditions, and words of the label where the bar, dried far, holds what they are asked from."""
    counted = counted_by_limit(used, law, used_on)
    for limit in law.entries(counted):
        made = Measure(counted[limit.id], None, WHOLE)
        asked = limit.label_from is None or (measures.dried(made).of(amounts) or 0.0) >= limit.label_from
        for kind, said in (("condition", limit.note), ("label", limit.label if asked else "")):
            if said:
                text = words[kind].format(component=limit.name, when=said, source=limit.source)
                yield TextItem(id=f"law-{kind}-{limit.id}", text=text[:1].upper() + text[1:])


def _announced(
    changes: Iterable[Announced], law: LawBook, words: Words, day: datetime.date
) -> Iterator[TextItem]:
    """Yield the changes that are known: six months before they apply, and from their day on."""
    for change in changes:
        if day >= _months_before(change.applies_from, _MONTHS_AHEAD):
            text = words["announced" if day < change.applies_from else "in-force"].format(
                when=change.applies_from,
                component=change.text.rstrip("."),
                source=change.source,
            )
            yield TextItem(id=f"law-announced-{change.id}", text=text)


def _months_before(day: datetime.date, months: int) -> datetime.date:
    years, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return datetime.date(years, month + 1, min(day.day, 28))


def _slug(name: str) -> str:
    return "-".join("".join(c if c.isalnum() and c.isascii() else " " for c in plain(name)).split())
