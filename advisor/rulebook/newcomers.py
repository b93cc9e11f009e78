"""Which new materials may come into a recipe, and why the others may not."""

from collections.abc import Mapping
from functools import lru_cache

from advisor.rulebook.compatibility import Pairs, Standing, named_sides, pair_text, places, share_on
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.pairs import PairRules
from advisor.rulebook.program import NeverNew
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem

_MOSTLY = 50.0
_REMEMBERED = 8192


class Compatibility:
    """Materials that go together; told of each newcomer that does not.

    Parameters
    ----------
    pairs : Pairs
    never : NeverNew, optional
        What is never new, whatever it meets.
    """

    def __init__(self, pairs: Pairs, never: NeverNew | None = None) -> None:
        self._pairs = pairs
        self._never = never
        self._standing = Standing(pairs)
        self._members: dict[str, Ingredient] = {}
        self._speaking: dict[str, Ingredient] = {}

    def include(self, one: Ingredient, percent: float | None = None) -> None:
        """Take a material in, whatever it is; without an amount in what is usual at most."""
        self._members[one.key] = one
        if named_sides(one, ByIdentity(self._pairs)):
            self._speaking[one.key] = one
        self._standing.add(one, percent if percent else _usual_most(one))

    def refusal(self, one: Ingredient) -> TextItem | None:
        """Return why a material may not be brought in; None where it may."""
        never = None if self._never is None else _never_new(one, ByIdentity(self._never))
        return never or self._paired(one) or self._stated(one)

    def _paired(self, one: Ingredient) -> TextItem | None:
        for place, first, second in places(one, ByIdentity(self._pairs)):
            pair = self._pairs.pairs[place]
            if pair.rules.refuse == "never":
                continue
            amount = _usual_most(one) if pair.rules.refuse == "as_used" else WHOLE
            there_first, there_second = self._standing.sides.get(place, ({}, {}))
            if there_second and pair.met_at(first * amount, sum(there_second.values()), None):
                return self._told(pair.rules, one.name, self._members[next(iter(there_second))].name)
            if there_first and pair.met_at(sum(there_first.values()), second * amount, None):
                return self._told(pair.rules, self._members[next(iter(there_first))].name, one.name)
        return None

    def _told(self, rules: PairRules, first: str, second: str) -> TextItem:
        return TextItem(id=rules.id, text=pair_text(rules, first, second))

    def _stated(self, one: Ingredient) -> TextItem | None:
        """Return what the data of the newcomer say of what is there, or those say of it."""
        stated = self._pairs.stated
        if stated is None or stated.refuse == "never":
            return None
        by = ByIdentity(self._pairs)
        others = self._members if named_sides(one, by) else self._speaking
        for other in others.values():
            for speaks, of in ((one, other), (other, one)):
                for _, side in named_sides(speaks, by):
                    if share_on(side, of) and speaks.key != of.key:
                        text = stated.text.replace("{first}", speaks.name).replace("{second}", of.name)
                        return TextItem(id="stated", text=text)
        return None


@lru_cache(maxsize=_REMEMBERED)
def _never_new(one: Ingredient, of: ByIdentity[NeverNew]) -> TextItem | None:
    never = of.thing
    if any(WHOLE * one.holds(name) >= _MOSTLY for name in never.components):
        return TextItem(id="never-new", text=f"{one.name} is never proposed: {never.source}.")
    codes = [code for code in never.dry_hazards if any(code in told for told in one.material.hazards)]
    if codes and not one.liquid_warm:
        return TextItem(id="never-as-powder", text=never.text.format(name=one.name, code=codes[0]))
    return None


def _usual_most(one: Ingredient) -> float:
    use = one.material.use
    return WHOLE if use is None or use.max is None else use.max


def clash(one: Ingredient, other: Ingredient, pairs: Pairs) -> TextItem | None:
    """Return the rule that two materials break together in any usual amount, with its sentence about them."""
    return _alone(other, ByIdentity(pairs)).refusal(one)


@lru_cache(maxsize=_REMEMBERED // 4)
def _alone(one: Ingredient, of: ByIdentity[Pairs]) -> Compatibility:
    """Return a material by itself; nothing more is included."""
    alone = Compatibility(of.thing)
    alone.include(one)
    return alone


def refused(
    one: Ingredient,
    among: Mapping[str, Ingredient],
    amounts: Mapping[str, float],
    pairs: Pairs,
    never: NeverNew,
) -> TextItem | None:
    """Return why a material may not be brought into a recipe [%]; None where it may."""
    compatibility = Compatibility(pairs, never)
    for key, other in among.items():
        compatibility.include(other, amounts.get(key))
    return compatibility.refusal(one)
