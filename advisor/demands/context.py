"""What demands are made from, and the demand on a single line."""

from collections.abc import Mapping

from advisor.frozen import dataclass
from advisor.recipe.demand import Demand, Group, Kind, Measure, Rank, Side
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.compatibility import Pairs
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.label import ClaimsFile
from advisor.rulebook.law import LawBook
from advisor.rulebook.program import ProgramRules
from advisor.schema.recipe import Band, Wishes

_OPEN = Band()


@dataclass(frozen=True)
class DemandContext:
    """What the demands of a recipe are drawn from.

    ``amounts`` are the percents the recipe came with; materials of the shelf stand at 0. ``forbidden`` are
    the pairs of materials that the law lets no product hold.
    """

    measures: Measures
    amounts: Amounts
    wishes: Wishes
    law: LawBook | None
    forbidden: Pairs
    dough: DoughRules
    program: ProgramRules
    claims: ClaimsFile

    @property
    def ingredients(self) -> Mapping[str, Ingredient]:
        """Every material that may be used."""
        return self.measures.ingredients

    def wished(self, key: str) -> Band:
        """Return what is wished of a line; both ends are open where nothing is."""
        return self.wishes.lines.get(key, _OPEN)


def line_demand(
    key: str,
    low: float | None,
    high: float | None,
    *,
    group: Group,
    kind: Kind,
    rank: Rank,
    name: str = "",
    basis: str,
    source: str = "",
    where: Mapping[Side, str] | None = None,
    shown_when_met: bool = True,
) -> Demand:
    """Return a demand on the percent of one material."""
    return Demand(
        id=f"{group}:{key}",
        group=group,
        name=name or key,
        measure=Measure({key: 1.0}, None, 100.0),
        unit="%",
        kind=kind,
        rank=rank,
        minimum=low,
        maximum=high,
        about=(key,),
        basis=basis,
        source=source,
        where=where,
        shown_when_met=shown_when_met,
    )


def not_past(
    one: Ingredient, low: float | None, high: float | None, *, basis: str, source: str, why: str = ""
) -> Demand:
    """Return that a line does not go the wrong way for what was reported."""
    return line_demand(
        one.key,
        low,
        high,
        group="wrong-way",
        kind="dough",
        rank="dough",
        name=one.name + why,
        basis=basis,
        source=source,
        shown_when_met=False,
    )
