"""Which materials must not meet, and whether a recipe holds such a pair."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import lru_cache

from advisor.frozen import cached_property, dataclass, field
from advisor.rulebook.ingredient import Ingredient, folded_name
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_lists import Limit
from advisor.rulebook.pairs import PairRules, PairsFile, Part, Side, Stated, conditions_stated
from advisor.schema.base import WHOLE
from advisor.sums import grouped

_REMEMBERED = 8192
_ANY_OF_IT = Side().at_least_percent / WHOLE
Called = str | int
"""A component by its folded name, or a side of the rules by its identity."""


@dataclass(frozen=True, eq=False)
class Pair:
    """A pair with its two sides."""

    rules: PairRules
    first: Side
    second: Side

    def met_at(self, first: float, second: float, ph: float | None) -> bool:
        """Tell whether so much of each side [% of the recipe, or mol in 100 g] at a pH is a pair."""
        rules = self.rules
        if not (rules.first.holds(first) and rules.second.holds(second)):
            return False
        if rules.ph_under is not None and ph is not None and ph >= rules.ph_under:
            return False
        if rules.mole_ratio_from is not None and first < rules.mole_ratio_from * second:
            return False
        return rules.mole_ratio_below is None or first < rules.mole_ratio_below * second


@dataclass(frozen=True, slots=True)
class Met:
    """A pair that a recipe holds, with the materials on each side."""

    rules: PairRules
    first: tuple[str, ...]
    second: tuple[str, ...]

    def text(self, of: Mapping[str, Ingredient]) -> str:
        """Return its sentence."""
        return pair_text(self.rules, *(_names(side, of) for side in (self.first, self.second)))


@dataclass(frozen=True, eq=False)
class Pairs:
    """All pairs that hold in a market, the sides that materials may name, and what such a name means."""

    pairs: tuple[Pair, ...]
    sides: Mapping[str, Side] = field(default_factory=dict)
    stated: Stated | None = None

    def joined(self, more: "Pairs") -> "Pairs":
        """Return these and further pairs."""
        return Pairs((*self.pairs, *more.pairs), self.sides, self.stated)

    @cached_property
    def every_side(self) -> Mapping[int, tuple[Side, list[tuple[int, int]]]]:
        """Each side of a pair, and each that materials may name, once, with the places where it stands."""
        found = {id(side): (side, list[tuple[int, int]]()) for side in self.called.values()}
        for place, pair in enumerate(self.pairs):
            for end, side in enumerate((pair.first, pair.second)):
                found.setdefault(id(side), (side, []))[1].append((place, end))
        return found

    @cached_property
    def by_component(self) -> Mapping[str, frozenset[int]]:
        """The sides a component may count on, by its folded name; by "" those that need none."""
        named = grouped(
            (folded_name(name), at)
            for at, (side, _) in self.every_side.items()
            for name in ((*side.components, *side.all_components) if not side.or_roles else ()) or ("",)
        )
        return {name: frozenset(places) for name, places in named.items()}

    @cached_property
    def called(self) -> Mapping[str, Side]:
        """The sides by the names that materials give them."""
        return {name.casefold(): side for side in self.sides.values() for name in side.called}

    def met(
        self, amounts: Mapping[str, float], of: Mapping[str, Ingredient], ph: float | None = None
    ) -> Iterator[Met]:
        """Return the pairs that a recipe holds, in the order of the rules, those that materials name last.

        Parameters
        ----------
        amounts : mapping
            Percent of the recipe, or grams.
        of : mapping
            The materials.
        ph : float, optional
            Measured pH of the dough.
        """
        whole = sum(amounts.values()) or 1.0
        used = {key: WHOLE * amount / whole for key, amount in amounts.items() if amount > 0}
        table = Standing(self)
        for key, percent in sorted(used.items()):
            table.add(of[key], percent)
        yield from table.met(ph)
        if self.stated is not None:
            yield from self._stated(used, of, self.stated)

    def _stated(
        self, used: Mapping[str, float], of: Mapping[str, Ingredient], stated: Stated
    ) -> Iterator[Met]:
        answering = grouped((called, key) for key in used for called in answers_to(of[key], self))
        for key in sorted(used):
            for called, (name, side) in named_sides(of[key], self).items():
                there = tuple(other for other in answering.get(called, ()) if other != key)
                least = 0.0 if side is None else side.from_percent
                if there and (
                    side is None or sum(share_on(side, of[other]) * used[other] for other in there) >= least
                ):
                    yield Met(_stated_rules(name, least, stated), (key,), there)


def _stated_rules(name: str, least: float, stated: Stated) -> PairRules:
    return PairRules(
        id="stated",
        severity=stated.severity,
        refuse=stated.refuse,
        first=Part(of="material"),
        second=Part(of="named", from_percent=least),
        text=stated.text,
        basis=stated.basis,
        source=f"incompatible with {name}, as its data say",
    )


NONE = Pairs(())


def pairs_of(file: PairsFile) -> Pairs:
    """Return the pairs of the trade."""
    sides = file.side
    pairs = (Pair(one, sides[one.first.of], sides[one.second.of]) for one in file.pair)
    return Pairs(tuple(pairs), sides, file.stated)


@lru_cache(maxsize=32)
def legal_pairs(law: LawBook) -> Pairs:
    """Return the pairs that a law forbids: entries that exclude each other, as rules about materials.

    A material stands for the entry whose components it holds all of, and for the one that names most.
    """
    by_id = {limit.id: limit for limit in law.limits}
    return Pairs(
        tuple(
            Pair(
                PairRules(
                    id=f"law-{first.id}-with-{second.id}",
                    severity="law",
                    refuse="always",
                    first=Part(of=first.id),
                    second=Part(of=second.id),
                    text=f"{{first}} must not stand together with {{second}} ({source}).",
                    basis=first.basis,
                    source=source,
                ),
                _used_under(first, second),
                _used_under(second, first),
            )
            for first in law.limits
            for other in first.forbidden_with
            if (second := by_id[other]).id > first.id or first.id not in second.forbidden_with
            for source in [f"{first.source}; {second.entry}"]
        )
    )


def _used_under(limit: Limit, other: Limit) -> Side:
    more = len(other.components) > len(limit.components)
    return Side(
        all_components=limit.components,
        without=tuple(name for name in other.components if name not in limit.components) if more else (),
    )


def pair_text(rules: PairRules, first: str, second: str) -> str:
    """Return the sentence of a pair about two materials, by name."""
    return rules.text.replace("{first}", first).replace("{second}", second)


def _names(keys: tuple[str, ...], of: Mapping[str, Ingredient]) -> str:
    *most, last = (of[key].name for key in keys)
    return f"{', '.join(most)} and {last}" if most else last


def share_on(side: Side, one: Ingredient) -> float:
    """Return how much of a material counts on a side (0..1, or mol in a gram); 0 where none does."""
    material = one.material
    if side.forms and material.form not in side.forms:
        return 0.0
    if side.charges and material.charge not in side.charges:
        return 0.0
    if side.roles and set(side.roles).isdisjoint(material.roles):
        return 0.0
    least = side.at_least_percent / WHOLE
    if any(one.holds(name) < least for name in side.all_components):
        return 0.0
    if any(one.holds(name) >= least for name in side.without):
        return 0.0
    return _counted(side, one, least)


def _counted(side: Side, one: Ingredient, least: float) -> float:
    held = one.holds(*side.components) if side.components else one.holds(*side.all_components)
    if side.components or side.all_components:
        if held < least:
            return 1.0 - one.water if not set(side.or_roles).isdisjoint(one.material.roles) else 0.0
        if side.molar_masses:
            return sum(one.holds(name) / mass for name, mass in side.molar_masses.items())
        return held
    return one.active + one.cationic if side.charges else 1.0


@lru_cache(maxsize=_REMEMBERED)
def _counting(one: Ingredient, pairs: Pairs) -> Mapping[int, float]:
    """Return how much of a material counts on each side where any does."""
    sides, nowhere = pairs.every_side, frozenset[int]()
    touched = nowhere.union(*(pairs.by_component.get(name, nowhere) for name in ("", *one.folded)))
    return {at: share for at in touched if (share := share_on(sides[at][0], one))}


@lru_cache(maxsize=_REMEMBERED)
def places(one: Ingredient, pairs: Pairs) -> tuple[tuple[int, float, float], ...]:
    """Return the places of the pairs a material stands in, with what of it counts on either side."""
    found: dict[int, list[float]] = {}
    for at, share in _counting(one, pairs).items():
        for place, end in pairs.every_side[at][1]:
            found.setdefault(place, [0.0, 0.0])[end] = share
    return tuple((place, first, second) for place, (first, second) in sorted(found.items()))


@lru_cache(maxsize=_REMEMBERED)
def named_sides(one: Ingredient, pairs: Pairs) -> Mapping[Called, tuple[str, Side | None]]:
    """Return what a material says it must not meet and no pair of the rules covers, with its name for it.

    A name that stands for no side of the rules is taken for a component, and any of it counts. What is said
    of pH or heat is no material.
    """
    covered = [
        other
        for i, first, second in places(one, pairs)
        for other in ([pairs.pairs[i].second] if first else []) + ([pairs.pairs[i].first] if second else [])
    ]
    found: dict[Called, tuple[str, Side | None]] = {}
    conditions = conditions_stated(one)
    for name in one.material.incompatible_with:
        if name not in conditions:
            component = folded_name(name)
            side = pairs.called.get(component)
            if side is None:
                found.setdefault(component, (name, None))
            elif not any(side is other for other in covered):
                found.setdefault(id(side), (name, side))
    return found


@lru_cache(maxsize=_REMEMBERED)
def answers_to(one: Ingredient, pairs: Pairs) -> frozenset[Called]:
    """Return what a material is to those that say what they must not meet: components, sides of the rules."""
    held = (name for name, share in one.folded.items() if share >= _ANY_OF_IT)
    counts = _counting(one, pairs)
    sides = (id(side) for side in pairs.called.values() if id(side) in counts)
    return frozenset((*held, *sides))


class Standing:
    """What of a recipe stands on either side of each pair."""

    def __init__(self, pairs: Pairs) -> None:
        self._pairs = pairs
        self.sides: dict[int, tuple[dict[str, float], dict[str, float]]] = defaultdict(lambda: ({}, {}))

    def add(self, one: Ingredient, percent: float) -> None:
        """Put so much of a material in."""
        for place, *shares in places(one, self._pairs):
            for side, share in zip(self.sides[place], shares, strict=True):
                if share:
                    side[one.key] = share * percent

    def met(self, ph: float | None) -> Iterator[Met]:
        """Return the pairs there are; one material alone is no pair."""
        for place, (first, second) in sorted(self.sides.items()):
            pair = self._pairs.pairs[place]
            apart = first.keys() | second.keys() if first and second else set()
            if len(apart) > 1 and pair.met_at(sum(first.values()), sum(second.values()), ph):
                yield Met(pair.rules, tuple(first), tuple(second))
