"""What stands out in a recipe and endangers it, and the cautions that follow."""

from collections.abc import Collection, Iterable, Iterator, Mapping

from advisor.case.case import Case
from advisor.case.cautions import RuleCaution, cautions, special_first
from advisor.frozen import cached_property, dataclass
from advisor.law.notes import verdict_text
from advisor.law.preservation import preservation_missing, preservatives
from advisor.recipe.lots import lot_cautions
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.acidity import TargetRules
from advisor.rulebook.compatibility import Met
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.rulebook.pairs import (
    BEYOND_WINDOW,
    PairsFile,
    Severity,
    conditions_stated,
    heat_named,
    window_named,
)
from advisor.rulebook.verdicts import STANDS_OUT, judged
from advisor.schema.base import WHOLE
from advisor.schema.findings import Caution, TextItem
from advisor.sums import greatest, grouped

_WORST_FIRST: tuple[Severity, ...] = ("danger", "law", "dough", "advice")


@dataclass(frozen=True, slots=True)
class Watched:
    """Something that is said of a recipe, how bad it is, and the materials it is about."""

    id: str
    severity: Severity
    text: str
    about: tuple[str, ...]


def worst_first(some: Iterable[Watched]) -> list[Watched]:
    """Return what is watched once each, danger before law before dough before advice."""
    return sorted(dict.fromkeys(some), key=lambda one: _WORST_FIRST.index(one.severity))


def rework_name(name: str) -> str:
    """Return what the rework of a recipe is called, no longer than a name may be.

    Examples
    --------
    >>> rework_name("Weir bar"), rework_name(""), len(rework_name("n" * 200))
    ('Rework of Weir bar', 'Rework', 200)
    """
    return f"Rework of {name}"[:200] if name else "Rework"


def reworked(
    percents: Amounts, of: Mapping[str, Ingredient], name: str, rulebook: Rulebook
) -> Iterator[Watched]:
    """Yield where a recipe holds more rework than it bears, or one with allergens it lacks.

    Rework of another recipe is told by its name; a recipe without a name is taken for another.

    Parameters
    ----------
    percents : mapping
        The recipe [%].
    of : mapping
        Its materials.
    name : str
        What the recipe is called.
    rulebook : Rulebook
    """
    for key, percent in percents.items():
        material = of[key].material
        if "rework" not in material.roles:
            continue
        rules = rulebook.rework
        same = bool(name) and material.name == rework_name(name)
        use = material.use
        most = use.max if same and use is not None and use.max is not None else rules.other.most_percent
        if percent > most:
            text = rules.text["too_much" if same else "too_much_other"]
            said = text.format(name=material.name, percent=percent, most=most)
            yield Watched("rework-too-much", "dough", said, (key,))
        own = {one for other in percents if other != key for one in of[other].material.allergens}
        new = sorted(set(material.allergens) - own)
        if new and not same:
            said = rules.text["allergens"].format(name=material.name, allergens=", ".join(new))
            yield Watched("rework-allergens", "dough", said, (key,))


def soap_in(measures: Measures, amounts: Amounts, rules: TargetRules) -> float:
    """Return how much soap a recipe holds, in percent of it where its amounts are percents."""
    return measures.component(*rules.soaps).of(amounts) or 0.0


def unborne(
    amounts: Amounts,
    of: Mapping[str, Ingredient],
    ph: float | None,
    rules: PairsFile,
    told: Collection[str] = (),
) -> Iterator[Watched]:
    """Yield what the materials of a recipe say they do not bear and get.

    Parameters
    ----------
    amounts : mapping
        What is in the recipe [%].
    of : mapping
    ph : float, optional
        The measured pH; without it none is too high or too low.
    rules : PairsFile
        Severity and sentences.
    told : collection of str
        The materials of which it is told already that this pH is none for them.
    """
    for key in amounts:
        for name in conditions_stated(of[key]):
            if key not in told:
                yield from _at_ph(of[key], name, ph, rules)
            limit = heat_named(name)
            if limit is not None:
                yield from _hot(of[key], limit, [of[other] for other in amounts if other != key], rules)


def _at_ph(one: Ingredient, name: str, ph: float | None, rules: PairsFile) -> Iterator[Watched]:
    low, high = window_named(name) or _own_window(one, name, rules)
    if ph is None or not ((low is not None and ph < low) or (high is not None and ph > high)):
        return
    window = f"not under {low:g}" if low is not None else f"not over {high:g}"
    text = rules.stated_ph.text.format(first=one.name, ph=f"{ph:g}", window=window)
    yield Watched("pair:stated-ph", rules.stated_ph.severity, text, (one.key,))


def _own_window(one: Ingredient, name: str, rules: PairsFile) -> tuple[float | None, float | None]:
    """Return the end of what a material bears that a strong acid or alkali lies beyond."""
    works = one.material.works_ph
    match BEYOND_WINDOW.get(name.casefold()):
        case "min":
            return (rules.stated_ph.acid_under if works is None else works.min, None)
        case "max":
            return (None, rules.stated_ph.alkali_over if works is None else works.max)
    return (None, None)


def _hot(one: Ingredient, limit: float, others: list[Ingredient], rules: PairsFile) -> Iterator[Watched]:
    for other in others:
        melts = other.material.melts_c
        if melts is not None and melts > limit:
            text = rules.stated_heat.text.format(
                first=one.name, second=other.name, limit=f"{limit:g}", melts=f"{melts:g}"
            )
            yield Watched("pair:stated-heat", rules.stated_heat.severity, text, (one.key, other.key))


_UNPRESERVED: Severity = "danger"


@dataclass(frozen=True)
class Watch:
    """One recipe [% or g] of a case, looked at for what must be said of it."""

    case: Case
    amounts: Amounts

    @cached_property
    def percents(self) -> dict[str, float]:
        """Percent of what is in the recipe."""
        whole = sum(self.amounts.values()) or 1.0
        return {key: WHOLE * amount / whole for key, amount in self.amounts.items() if amount > 0}

    @property
    def _of(self) -> Mapping[str, Ingredient]:
        return self.case.formula.ingredients

    @cached_property
    def pairs(self) -> tuple[Met, ...]:
        """What must not meet and does."""
        return tuple(self.case.pairs.met(self.percents, self._of, self.case.ph))

    @cached_property
    def unpreserved(self) -> TextItem | None:
        """That nothing preserves the recipe; None where something may."""
        book, ph = self.case.rulebook, self.case.ph
        lines = [(percent, self._of[key].material) for key, percent in self.percents.items()]
        found = preservatives(lines, ph, book.substances, self.case.laws["eu"])
        return preservation_missing(found, lines, ph, book.preservation)

    @cached_property
    def special(self) -> tuple[Watched, ...]:
        """What is said of this recipe, the worst first."""
        missing = self.unpreserved
        said = [Watched(missing.id, _UNPRESERVED, missing.text, ())] if missing else []
        said += [
            Watched(f"pair:{met.rules.id}", met.rules.severity, met.text(self._of), (*met.first, *met.second))
            for met in self.pairs
        ]
        said += self._unlawful()
        said += self._misread()
        said += self._no_bar()
        said += reworked(self.percents, self._of, self.case.formula.written.name, self.case.rulebook)
        preserving = {key for key in self.percents if "preservative" in self._of[key].material.roles}
        told = preserving if missing else ()
        said += unborne(self.percents, self._of, self.case.ph, self.case.rulebook.stated, told)
        return tuple(worst_first(said))

    def _unlawful(self) -> Iterator[Watched]:
        """Yield what the lists of the law ban or let in on a condition, and preservatives in no list."""
        law, words = self.case.law, self.case.rulebook.law_words
        if law is None:
            return
        about = grouped(
            (verdict_text(verdict, law, words), key)
            for key in self.percents
            for verdict in judged(self._of[key], law, self.case.wishes.used_on).verdicts
            if verdict.kind in STANDS_OUT
        )
        for item, keys in about.items():
            yield Watched(item.id, "law", item.text, tuple(dict.fromkeys(keys)))

    def _no_bar(self) -> Iterator[Watched]:
        """Yield that the pH that was read is none of a cleansing bar; soap has a higher one of its own."""
        ph, rules = self.case.ph, self.case.rulebook.acidity
        of = rules.target
        soap = soap_in(self.case.formula.measures, self.percents, of)
        high = of.soap_highest if soap >= of.soap_percent else of.outermost_high
        beyond = None if ph is None else rules.beyond(ph, high)
        if beyond is not None:
            yield Watched("ph-of-no-bar", "danger", rules.text["no_bar"].format(ph=f"{ph:g}", **beyond), ())

    def _misread(self) -> Iterator[Watched]:
        """Yield that a pH was read in a dispersion it cannot be judged by."""
        told, rules = self.case.reading, self.case.rulebook.acidity
        if told.ph is not None and self.case.ph is None:
            text = rules.text["other_dispersion"].format(
                ph=f"{told.ph:g}", at=f"{told.at_percent:g}", percent=f"{rules.reading.percent:g}"
            )
            yield Watched("ph-not-comparable", "advice", text, ())


def cautions_of(
    case: Case,
    *recipes: "Amounts | Watch",
    advice: Iterable[str] = (),
    grams: Amounts | None = None,
    handled: Collection[str] = (),
) -> tuple[Caution, ...]:
    """Return what to take care of with the recipes of an answer: what is special to them first.

    Parameters
    ----------
    case : Case
        The recipe they come from; its materials count too.
    *recipes : mapping, or Watch
        One or more recipes [% or g], or what was looked at of them before.
    advice : iterable of str
        The ids of the advice that the answer gives.
    grams : mapping, optional
        What has to be in stock [g]; default: what a batch of the first recipe takes.
    handled : collection of str
        The materials that are weighed or poured next.
    """
    watched = [one if isinstance(one, Watch) else Watch(case, one) for one in recipes]
    first = watched[0].amounts
    said = [Caution(id=one.id, text=one.text, standing=False) for w in watched for one in w.special]
    most = greatest(
        line for amounts in (case.formula.amounts, *(w.percents for w in watched)) for line in amounts.items()
    )
    said += [told.caution for told in rule_cautions(case, most, first, advice=advice, handled=handled)]
    if grams is None:
        whole = (case.formula.written.grams or 0.0) / (sum(first.values()) or 1.0)
        grams = {key: amount * whole for key, amount in first.items()}
    lots = lot_cautions(case.formula.lots, case.day, grams)
    return special_first([*said, *lots, *case.formula.short_of(grams)])


def rule_cautions(
    case: Case,
    percents: Amounts,
    recipe: Amounts,
    *,
    advice: Iterable[str] = (),
    handled: Collection[str] = (),
) -> tuple[RuleCaution, ...]:
    """Return the cautions of the rules for all that is used; one recipe tells whether estimates count."""
    used = {key: one for key, one in case.formula.ingredients.items() if percents.get(key)}
    wet = bool(case.formula.measures.wetness().of(recipe))
    return cautions(
        case.rulebook.cautions.caution,
        used,
        percents,
        case.law,
        estimates=wet and any(one.estimated for one in used.values()),
        advice=advice,
        handled=handled,
    )
