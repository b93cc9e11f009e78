"""What the lists of a law say of one material: what counts toward a limit, what is banned or to be asked."""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Literal

from advisor.frozen import dataclass
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_lists import Limit, Prohibited
from advisor.rulebook.naming import plain
from advisor.schema.base import UsedOn

_REMEMBERED = 8192
Kind = Literal[
    "prohibited", "trace", "conditional", "named", "elsewhere", "colour", "for-colour", "unlisted", "near"
]
BANS: frozenset[Kind] = frozenset({"prohibited", "colour", "elsewhere"})
STANDS_OUT: frozenset[Kind] = BANS | {"conditional", "unlisted"}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the law says of one component, besides a limit.

    ``prohibited`` and ``colour`` (none of the colours allowed) let no product hold it, ``elsewhere`` none of
    this class. The others are told or asked: a ``trace``, a ban that depends on something
    (``conditional``), an ingredient the source names beside a ban (``named``), matter that may be there
    ``for-colour``, a preservative that is not in the list (``unlisted``), a name ``near`` one of a list.
    """

    kind: Kind
    component: str
    entry: str = ""
    words: str = ""
    basis: str = "published"
    source: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """The shares (0..1) that count toward limits, by the limit's id, with who counts, and the verdicts."""

    counted: Mapping[str, float]
    touched: Mapping[str, tuple[str, ...]]
    verdicts: tuple[Verdict, ...]


@lru_cache(maxsize=_REMEMBERED)
def judged(one: Ingredient, law: LawBook, used_on: UsedOn) -> Judged:
    """Return what the law of a market says of a material in a product for one use.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> judged(book.ingredients["dmdm-hydantoin-55"], book.laws["eu"], "hair").counted
    {'dmdm-hydantoin': 0.55}
    """
    counted: dict[str, float] = {}
    touched: dict[str, list[str]] = {}
    verdicts: list[Verdict] = []
    for name, share in one.composition.items():
        found = law.index.find(name, _numbers(one, name))
        limits = [entry for entry in found if isinstance(entry, Limit)]
        for entry in _applied(limits, one, used_on):
            counted[entry.id] = counted.get(entry.id, 0.0) + share * entry.weight(name)
            touched.setdefault(entry.id, []).append(name)
        verdicts += _of_component(name, found, one, law, used_on)
    verdicts += _of_colours(one, law, used_on)
    return Judged(counted, {key: tuple(names) for key, names in touched.items()}, tuple(verdicts))


def counted_by_limit(
    some: Mapping[str, Ingredient], law: LawBook, used_on: UsedOn
) -> dict[str, dict[str, float]]:
    """Return, by the id of each limit that materials touch, which share of each of them counts toward it.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> some = {"dmdm-hydantoin-55": book.ingredients["dmdm-hydantoin-55"]}
    >>> counted_by_limit(some, book.laws["eu"], "hair")
    {'dmdm-hydantoin': {'dmdm-hydantoin-55': 0.55}}
    """
    found: dict[str, dict[str, float]] = {}
    for key, one in some.items():
        for limit_id, share in judged(one, law, used_on).counted.items():
            found.setdefault(limit_id, {})[key] = share
    return found


@lru_cache(maxsize=_REMEMBERED)
def bans(one: Ingredient, law: LawBook | None, used_on: UsedOn) -> tuple[Verdict, ...]:
    """Return why no product for a use may hold a material."""
    if law is None:
        return ()
    return tuple(verdict for verdict in judged(one, law, used_on).verdicts if verdict.kind in BANS)


@lru_cache(maxsize=_REMEMBERED)
def not_offered(one: Ingredient, law: LawBook, used_on: UsedOn) -> tuple[Verdict, ...]:
    """Return why a material is never fetched or proposed: what bans it, or that it is in no list."""
    found = judged(one, law, used_on).verdicts
    return tuple(verdict for verdict in found if verdict.kind in BANS | {"unlisted"})


def _numbers(one: Ingredient, name: str) -> tuple[str, ...]:
    known = one.material.identifiers.get(name)
    return () if known is None else tuple(number for number in (known.cas, known.ec) if number)


def _preserves(one: Ingredient) -> bool:
    return "preservative" in one.material.roles


def _applied(limits: Iterable[Limit], one: Ingredient, used_on: UsedOn) -> Iterator[Limit]:
    """Return the entries that a component falls under, with a maximum or without.

    Where a list allows more for another purpose than preserving, that holds for what is no preservative.
    """
    here = [limit for limit in limits if used_on in limit.used_on]
    colours = one.main_role == "colourant"
    other = [limit for limit in here if limit.purpose == "other"]
    for limit in here:
        if limit.listed_in == "colourants" and not colours:
            continue
        if limit.purpose == "other" and _preserves(one):
            continue
        if limit.purpose == "preserving" and other and not _preserves(one):
            continue
        yield limit


def _of_component(
    name: str, found: Iterable[Prohibited | Limit], one: Ingredient, law: LawBook, used_on: UsedOn
) -> Iterator[Verdict]:
    banned = [entry for entry in found if isinstance(entry, Prohibited)]
    lists = [entry for entry in found if isinstance(entry, Limit)]
    ruled = [entry for entry in lists if entry.listed_in != "colourants"]
    for ban in banned:
        yield _of_ban(name, ban, allowed_somewhere=bool(lists), law=law)
    if ruled and not any(used_on in entry.used_on for entry in lists):
        first = ruled[0]
        yield Verdict(
            "elsewhere", name, first.name, first.products or "another use", first.basis, first.source
        )
    if found:
        return
    key = plain(name)
    if _preserves(one) and "preservatives" in law.head.exhaustive and key not in law.known_unlisted:
        yield Verdict("unlisted", name, source=law.head.source)
    if key in law.innocent:
        return
    for help_of in law.helps.find(name):
        yield Verdict("named", name, help_of.name, help_of.when, help_of.basis, help_of.source)
    near = law.index.near(name)
    if near is not None:
        yield Verdict("near", name, near, source=law.head.source)


def _of_ban(name: str, ban: Prohibited, *, allowed_somewhere: bool, law: LawBook) -> Verdict:
    if plain(name) in map(plain, law.head.traces):
        return Verdict("trace", name, ban.name, ban.when, ban.basis, ban.source)
    if ban.when or allowed_somewhere:
        when = ban.when or "where no other list of this law allows it"
        return Verdict("conditional", name, ban.name, when, ban.basis, ban.source)
    return Verdict("prohibited", name, ban.name, "", ban.basis, ban.source)


def _of_colours(one: Ingredient, law: LawBook, used_on: UsedOn) -> Iterator[Verdict]:
    """Return a verdict where a colourant is none of those allowed; of other matter, whether it is one."""
    if "colourants" not in law.head.exhaustive:
        return
    asked = set(map(plain, law.head.asked_for_colour))
    carriers = set(map(plain, law.head.colour_carriers))
    for name in one.composition:
        entries = [entry for entry in law.index.find(name, _numbers(one, name)) if isinstance(entry, Limit)]
        colours = [entry for entry in entries if entry.listed_in == "colourants"]
        if any(used_on in entry.used_on for entry in colours):
            continue
        if one.main_role != "colourant":
            if plain(name) in asked:
                yield Verdict("for-colour", name, source=law.head.source)
        elif colours:
            yield Verdict(
                "elsewhere", name, colours[0].name, colours[0].products, colours[0].basis, colours[0].source
            )
        elif plain(name) not in carriers and (name.upper().startswith("CI ") or len(one.composition) == 1):
            yield Verdict("colour", name, source=law.head.source)
