"""What the law of a market asks: its limits, and the pairs it lets no product hold."""

from collections.abc import Iterable, Iterator, Mapping

from advisor.demands.context import DemandContext
from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Measures
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.rulebook.verdicts import bans, counted_by_limit, judged
from advisor.schema.base import UsedOn


def legal_demands(
    measures: Measures, law: LawBook | None, used_on: UsedOn = "hand_and_body"
) -> Iterator[Demand]:
    """Return the limits of a market that the ingredients touch, as made and as dried."""
    if law is None:
        return
    tops = counted_by_limit(measures.ingredients, law, used_on)
    for limit in law.entries(tops):
        if limit.max is None:
            continue
        top = tops[limit.id]
        touched = {
            name for key in top for name in judged(measures.ingredients[key], law, used_on).touched[limit.id]
        }
        made = Measure(top, None, 100.0)
        shared = {
            "group": "law",
            "name": limit.name,
            "unit": "%",
            "kind": "law",
            "rank": "law",
            "maximum": limit.max,
            "about": tuple(sorted(touched)),
            "basis": limit.basis,
            "source": limit.source,
        }
        yield Demand(id=f"law:{limit.id}:as_made", measure=made, **shared)  # type: ignore[arg-type]
        yield Demand(
            id=f"law:{limit.id}:as_dried",
            measure=measures.dried(made, "high"),
            dampest=measures.dried(made, "low"),
            state="as_dried",
            **shared,  # type: ignore[arg-type]
        )


def banned_demands(of: DemandContext) -> Iterator[Demand]:
    """Return, for each material that the law lets no such product hold, that none of it is left."""
    for key, one in of.ingredients.items():
        found = bans(one, of.law, of.wishes.used_on)
        if not found:
            continue
        yield Demand(
            id=f"banned:{key}",
            group="banned",
            name=f"{one.name}, not allowed",
            measure=Measure({key: 1.0}, None, 100.0),
            unit="%",
            kind="law",
            rank="law",
            maximum=0.0,
            about=tuple(dict.fromkeys(verdict.component for verdict in found)),
            basis=found[0].basis,
            source=found[0].source,
        )


def apart_demands(of: DemandContext) -> Iterator[Demand]:
    """Return, for each forbidden pair the recipe holds, that none is left of the side there is less of."""
    for met in of.forbidden.met(of.amounts, of.ingredients):
        less, more = sorted(
            (met.first, met.second), key=lambda side: (sum(of.amounts[key] for key in side), side)
        )
        yield Demand(
            id=f"apart:{met.rules.id}",
            group="apart",
            name=f"{_names(less, of.ingredients)} beside {_names(more, of.ingredients)}",
            measure=Measure(dict.fromkeys(less, 1.0), None, 100.0),
            unit="%",
            kind="law",
            rank="law",
            maximum=0.0,
            about=tuple(less),
            basis=met.rules.basis,
            source=met.rules.source,
        )


def _names(keys: Iterable[str], of: Mapping[str, Ingredient]) -> str:
    return " and ".join(of[key].name for key in keys)
