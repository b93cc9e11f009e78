"""What a label needs besides the ingredient list, and what was told of it."""

from collections.abc import Iterable, Mapping
from string import Formatter

from advisor.labelling.schema import OnLabel, Particulars
from advisor.recipe.notebook import ShopFacts
from advisor.rulebook.label import AlsoOnLabel, LabelRules
from advisor.schema.base import Market


def also_needed(market: Market, rules: LabelRules) -> tuple[str, ...]:
    """Return what a label of a market needs besides the ingredient list."""
    return tuple(item.text for item in _also(market, rules))


def filled(
    market: Market, told: Particulars | None, facts: ShopFacts, rules: LabelRules
) -> tuple[OnLabel, ...]:
    """Return what a label needs besides the ingredient list, and what it says there where that is told.

    ``facts`` of the shop stand in for what nobody told of this label.
    """
    known = {**facts._asdict(), **(told or Particulars()).model_dump(exclude_none=True)}
    known = {name: value for name, value in known.items() if value is not None}
    return tuple(
        OnLabel(id=item.id, asks=item.text, says=_worded(item.says, known)) for item in _also(market, rules)
    )


def _also(market: Market, rules: LabelRules) -> list[AlsoOnLabel]:
    """Return what is asked; without a market that of the European Union is taken, as for the list itself."""
    asked = "eu" if market == "none" else market
    return [item for item in rules.also if asked in item.markets]


def _worded(ways: Iterable[str], known: Mapping[str, object]) -> str | None:
    """Return the first wording of which everything is known."""
    for way in ways:
        if {name for _, name, _, _ in Formatter().parse(way) if name} <= known.keys():
            return way.format(**known)
    return None
