"""Says which materials must not meet, and which new ones may come in at all."""

from collections.abc import Iterator, Mapping
from functools import lru_cache

from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_lists import Limit
from advisor.rulebook.pairs import PairRules, Side
from advisor.rulebook.program import NeverNew
from advisor.schema.findings import TextItem

_TRACE = 1e-6


@lru_cache(maxsize=32)
def legal_pairs(law: LawBook) -> tuple[PairRules, ...]:
    """Return the pairs that a law forbids: entries that exclude each other, as rules about materials.

    A material stands for the entry whose components it holds all of, and for the one that names most.
    """
    by_id = {limit.id: limit for limit in law.limits}
    return tuple(
        PairRules(
            id=f"law-{first.id}-with-{second.id}",
            first=_used_under(first, second),
            second=_used_under(second, first),
            refuse=True,
            text=f"{{first}} must not stand together with {{second}} ({source}).",
            basis=first.basis,
            source=source,
        )
        for first in law.limits
        for other in first.forbidden_with
        if (second := by_id[other]).id > first.id or first.id not in second.forbidden_with
        for source in [f"{first.source}; {second.entry}"]
    )


def _used_under(limit: Limit, other: Limit) -> Side:
    more = len(other.components) > len(limit.components)
    return Side(
        all_components=limit.components,
        without=tuple(name for name in other.components if name not in limit.components) if more else (),
        at_least_percent=_TRACE,
    )


def met(
    pairs: tuple[PairRules, ...], used: Mapping[str, Ingredient]
) -> Iterator[tuple[PairRules, list[str], list[str]]]:
    """Return the refusing pairs of which both sides are used, with the keys on each side."""
    for pair in pairs:
        first = [key for key, one in used.items() if stands_on(pair.first, one)]
        second = [key for key, one in used.items() if stands_on(pair.second, one)]
        if pair.refuse and first and second:
            yield pair, first, second


def broken(pairs: tuple[PairRules, ...], used: Mapping[str, Ingredient]) -> Iterator[TextItem]:
    """Return a sentence on each refusing pair of which both sides are used."""
    for pair, *sides in met(pairs, used):
        yield pair_sentence(pair, *(" and ".join(used[key].name for key in side) for side in sides))


def pair_sentence(pair: PairRules, first: str, second: str) -> TextItem:
    """Return the sentence of a pair about two materials, by name."""
    return TextItem(id=pair.id, text=pair.text.replace("{first}", first).replace("{second}", second))


def stands_on(side: Side, one: Ingredient) -> bool:
    """Tell whether a material stands on one side of a pair."""
    material = one.material
    if side.forms and material.form not in side.forms:
        return False
    if side.charges and (material.charge not in side.charges or not (one.active or one.cationic)):
        return False
    if side.roles and set(side.roles).isdisjoint(material.roles):
        return False
    least = side.at_least_percent / 100
    if side.components and one.holds(*side.components) < least:
        return False
    if any(one.holds(name) < least for name in side.all_components):
        return False
    return not any(one.holds(name) >= least for name in side.without)


@lru_cache(maxsize=8192)
def _sides(one: Ingredient, of: ByIdentity[tuple[PairRules, ...]]) -> tuple[int, int]:
    """Return on which refusing pairs' first and second side a material stands, a bit for each pair."""
    first = second = 0
    for place, pair in enumerate(of.thing):
        if pair.refuse:
            first |= stands_on(pair.first, one) << place
            second |= stands_on(pair.second, one) << place
    return first, second


def clash(one: Ingredient, other: Ingredient, pairs: tuple[PairRules, ...]) -> TextItem | None:
    """Return the rule that two materials break together, with its sentence about them."""
    (first, second), (other_first, other_second) = (
        _sides(one, ByIdentity(pairs)),
        _sides(other, ByIdentity(pairs)),
    )
    broken = first & other_second | second & other_first
    if not broken:
        return None
    place = (broken & -broken).bit_length() - 1
    names = (one.name, other.name) if first & other_second & (1 << place) else (other.name, one.name)
    return pair_sentence(pairs[place], *names)


class Compatibility:
    """Materials that go together; told of each newcomer that does not.

    Parameters
    ----------
    pairs : tuple of PairRules
    never : NeverNew
    """

    def __init__(self, pairs: tuple[PairRules, ...], never: NeverNew) -> None:
        self._pairs = ByIdentity(pairs)
        self._never = never
        self._members: list[tuple[Ingredient, int, int]] = []
        self._first = self._second = 0

    def include(self, one: Ingredient) -> None:
        """Take a material in, whatever it is."""
        first, second = _sides(one, self._pairs)
        self._members.append((one, first, second))
        self._first |= first
        self._second |= second

    def refusal(self, one: Ingredient) -> TextItem | None:
        """Return why a material may not be brought in; None where it may."""
        for name in self._never.components:
            if 100 * one.holds(name) >= 50:
                return TextItem(id="never-new", text=f"{one.name} is never proposed: {self._never.source}.")
        first, second = _sides(one, self._pairs)
        if not first & self._second | second & self._first:
            return None
        met = next(
            member
            for member, its_first, its_second in self._members
            if first & its_second | second & its_first
        )
        return clash(one, met, self._pairs.thing)


def refused(
    one: Ingredient, among: Mapping[str, Ingredient], pairs: tuple[PairRules, ...], never: NeverNew
) -> TextItem | None:
    """Return why a material may not be brought into a recipe; None where it may."""
    compatibility = Compatibility(pairs, never)
    for other in among.values():
        compatibility.include(other)
    return compatibility.refusal(one)
