"""Which new materials may come into a recipe, and why the others may not."""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from advisor.rulebook.compatibility import (
    Called,
    Pairs,
    Standing,
    answers_to,
    named_sides,
    pair_text,
    places,
)
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.pairs import PairRules
from advisor.rulebook.program import NeverNew
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem

_MOSTLY = 50.0
_REMEMBERED = 8192


class _Speaking:
    """Whom the data of materials speak against, found without asking each of them."""

    def __init__(self, pairs: Pairs) -> None:
        self._pairs = pairs
        self._silent = pairs.stated is None or pairs.stated.refuse == "never"
        self._answering: dict[Called, dict[str, Ingredient]] = {}
        self._speaking: dict[Called, dict[str, Ingredient]] = {}

    def include(self, one: Ingredient) -> None:
        """Take a material in."""
        if not self._silent:
            for called in answers_to(one, self._pairs):
                self._answering.setdefault(called, {})[one.key] = one
            for called in named_sides(one, self._pairs):
                self._speaking.setdefault(called, {})[one.key] = one

    def named_by(self, one: Ingredient) -> list[Mapping[str, Ingredient]]:
        """Return those that the data of a material speak against: for each name, in the order they came."""
        return [self._answering[name] for name in self._answering.keys() & named_sides(one, self._pairs)]

    def naming(self, one: Ingredient) -> list[Mapping[str, Ingredient]]:
        """Return those whose data speak against a material."""
        return [self._speaking[name] for name in self._speaking.keys() & answers_to(one, self._pairs)]


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
        self._never = None if never is None else ByIdentity(never)
        self._standing = Standing(pairs)
        self._speaking = _Speaking(pairs)
        self._members: dict[str, tuple[int, Ingredient]] = {}

    def include(self, one: Ingredient, percent: float | None = None) -> None:
        """Take a material in, whatever it is; without an amount in what is usual at most."""
        if one.key not in self._members:
            self._members[one.key] = len(self._members), one
            self._speaking.include(one)
        self._standing.add(one, percent if percent else _usual_most(one))

    def refusal(self, one: Ingredient) -> TextItem | None:
        """Return why a material may not be brought in among the others; None where it may."""
        never = None if self._never is None else _never_new(one, self._never)
        return never or self._paired(one) or self._stated(one)

    def _paired(self, one: Ingredient) -> TextItem | None:
        for place, first, second in places(one, self._pairs):
            pair = self._pairs.pairs[place]
            if place not in self._standing.sides or pair.rules.refuse == "never":
                continue
            amount = _usual_most(one) if pair.rules.refuse == "as_used" else WHOLE
            there_first, there_second = (
                {key: most for key, most in side.items() if key != one.key} if one.key in side else side
                for side in self._standing.sides[place]
            )
            if there_second and pair.met_at(first * amount, sum(there_second.values()), None):
                return _told(pair.rules, one.name, self._name(next(iter(there_second))))
            if there_first and pair.met_at(sum(there_first.values()), second * amount, None):
                return _told(pair.rules, self._name(next(iter(there_first))), one.name)
        return None

    def _name(self, key: str) -> str:
        return self._members[key][1].name

    def _stated(self, one: Ingredient) -> TextItem | None:
        """Return what the data of the newcomer say of what is there, or those say of it."""
        stated, speaking = self._pairs.stated, self._speaking
        named, naming = speaking.named_by(one), speaking.naming(one)
        if stated is None or not (named or naming):
            return None
        found = [(self._members[key][0], 0, one.name, self._name(key)) for key in _firsts(named, one.key)]
        found += [(self._members[key][0], 1, self._name(key), one.name) for key in _firsts(naming, one.key)]
        if not found:
            return None
        _, _, first, second = min(found)
        return TextItem(id="stated", text=stated.text.replace("{first}", first).replace("{second}", second))


def _firsts(some: Iterable[Mapping[str, Ingredient]], key: str) -> Iterator[str]:
    """Return the first of each that is not the one with that key."""
    firsts = (next((one for one in each if one != key), None) for each in some)
    return (one for one in firsts if one is not None)


def _told(rules: PairRules, first: str, second: str) -> TextItem:
    return TextItem(id=rules.id, text=pair_text(rules, first, second))


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
    return _alone(other, pairs).refusal(one)


@lru_cache(maxsize=_REMEMBERED // 4)
def _alone(one: Ingredient, pairs: Pairs) -> Compatibility:
    """Return a material by itself; nothing more is included."""
    alone = Compatibility(pairs)
    alone.include(one)
    return alone


def apart(
    newcomers: Iterable[Ingredient], others: Iterable[Ingredient], pairs: Pairs
) -> dict[str, frozenset[str]]:
    """Return which of the others each newcomer breaks a rule with, as ``clash`` would say of the two."""
    speaking, standing = _Speaking(pairs), _Sides(pairs)
    for one in others:
        speaking.include(one)
        standing.include(one)
    return {
        one.key: frozenset().union(standing.met_by(one), *speaking.named_by(one), *speaking.naming(one))
        - {one.key}
        for one in newcomers
    }


class _Sides:
    """On which side of each pair materials stand that are each alone, by what is usual of them at most."""

    def __init__(self, pairs: Pairs) -> None:
        self._pairs = pairs
        self._there: dict[int, tuple[dict[str, float], dict[str, float]]] = {}

    def include(self, one: Ingredient) -> None:
        """Take a material in where so much of it counts at all."""
        most = _usual_most(one)
        for place, first, second in places(one, self._pairs):
            rules = self._pairs.pairs[place].rules
            firsts, seconds = self._there.setdefault(place, ({}, {}))
            if rules.first.holds(first * most):
                firsts[one.key] = first * most
            if rules.second.holds(second * most):
                seconds[one.key] = second * most

    def met_by(self, one: Ingredient) -> Iterator[str]:
        """Return those that a newcomer may not meet."""
        for place, first, second in places(one, self._pairs):
            pair, there = self._pairs.pairs[place], self._there.get(place)
            if there is None or pair.rules.refuse == "never":
                continue
            amount = _usual_most(one) if pair.rules.refuse == "as_used" else WHOLE
            if pair.rules.first.holds(first * amount):
                yield from (key for key, of in there[1].items() if pair.met_at(first * amount, of, None))
            if pair.rules.second.holds(second * amount):
                yield from (key for key, of in there[0].items() if pair.met_at(of, second * amount, None))
