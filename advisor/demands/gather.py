"""Every demand that holds whatever was reported."""

from advisor.demands.context import DemandContext
from advisor.demands.law import apart_demands, banned_demands, legal_demands
from advisor.demands.use import humectants_kept, no_levers, preserved, use_ranges
from advisor.demands.wishes import wish_demands
from advisor.recipe.demand import Demand


def all_demands(of: DemandContext) -> list[Demand]:
    """Return every demand that holds whatever was reported, most sacred first."""
    law = [*legal_demands(of.measures, of.law, of.wishes.used_on), *banned_demands(of)]
    return [
        *law,
        *apart_demands(of),
        *wish_demands(of),
        *preserved(of),
        *use_ranges(of),
        *humectants_kept(of),
        *no_levers(of, law),
    ]
