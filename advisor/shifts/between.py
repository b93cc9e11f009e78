"""Tells what shifts between two recipes besides their lines; each shift is computed."""

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Sequence

from advisor.frozen import dataclass
from advisor.labelling.ingredient_list import IngredientList, ingredient_list, label_change
from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.label import LabelRules
from advisor.rulebook.substitution import SubstitutionRules
from advisor.schema.base import Market
from advisor.schema.findings import Direction, Shift, What

SHOWN = 0.005
Figured = Callable[[Ingredient], float | None]


@dataclass(frozen=True)
class Between(ABC):
    """Two recipes of the same materials [%], what came in, and where they are sold."""

    measures: Measures
    before: Amounts
    after: Amounts
    market: Market
    rules: SubstitutionRules
    label: LabelRules
    newcomers: tuple[Ingredient, ...]

    @property
    @abstractmethod
    def names(self) -> tuple[str, str]:
        """What the later and the earlier one are called beside each other."""

    @property
    @abstractmethod
    def was_coarse(self) -> bool:
        """Whether there were grains before."""

    @abstractmethod
    def ranks(self, figure: Figured) -> tuple[float | None, float | None]:
        """Return a figure of the surfactants before and after; None where it is not known."""

    @abstractmethod
    def called(self, some: Sequence[Ingredient]) -> str:
        """Return what some of the newcomers are called."""

    def text(self, sentence: str, **filled: object) -> str:
        """Return a sentence of the rules with its names and figures."""
        name, missing = self.names
        return self.rules.text[sentence].format(**{"name": name, "missing": missing, **filled})

    def both(self, measure: Measure) -> tuple[float, float]:
        """Return a measure before and after; 0.0 where it has no meaning."""
        return measure.of(self.before) or 0.0, measure.of(self.after) or 0.0

    def used(self, amounts: Amounts) -> list[Ingredient]:
        """Return the materials in use."""
        return [one for key, one in self.measures.ingredients.items() if amounts.get(key)]


def shift(what: What, direction: Direction, *texts: str) -> Shift:
    """Return a shift told in these sentences."""
    return Shift(what=what, direction=direction, text=" ".join(texts))


def mildness(of: Between) -> Shift | None:
    """Tell whether the amphoteric partner or the surfactants themselves are milder."""
    anionic = of.both(of.measures.active_of_class("anionic"))
    partner = of.both(of.measures.active_of_class("amphoteric"))
    share = of.rules.bounds.balance_share
    if all(anionic) and any(partner):
        before, after = (some / whole for some, whole in zip(partner, anionic, strict=True))
        figures = {"before": f"{partner[0]:.2g}", "after": f"{partner[1]:.2g}"}
        if after < before * (1 - share):
            return shift("mildness", "worse", of.text("mildness_partner", **figures))
        if after > before * (1 + share):
            return shift("mildness", "better", of.text("mildness_partner_up", **figures))
    earlier, rank = of.ranks(lambda one: one.material.mildness)
    if rank is None or earlier is None or abs(rank - earlier) < SHOWN:
        return None
    text = of.text("mildness_rank", before=f"{earlier:.2g}", after=f"{rank:.2g}")
    return shift("mildness", "worse" if rank > earlier else "better", text)


def foam(of: Between) -> Shift | None:
    """Tell whether more foam is to be expected, by the ranks of the surfactants."""
    ranked = {name.casefold(): rank for name, rank in of.rules.foam.rank.items()}

    def rank_of(one: Ingredient) -> float | None:
        held = {name: share for name, share in one.folded.items() if name in ranked}
        whole = sum(held.values())
        return sum(ranked[name] * share for name, share in held.items()) / whole if whole else None

    earlier, rank = of.ranks(rank_of)
    if earlier is None or rank is None or abs(rank - earlier) < SHOWN:
        return None
    word: Direction = "more" if rank > earlier else "less"
    return shift("foam", word, of.text("foam", word=word))


def balance(of: Between) -> Shift | None:
    """Tell how anionic stands to amphoteric matter."""
    before, after = of.measures.balance.of(of.before), of.measures.balance.of(of.after)
    anionic = of.both(of.measures.active_of_class("anionic"))[1]
    if before and after is None:
        text = of.text("balance_gone", anionic=f"{anionic:.1f}", before=f"{before:.1f}")
        return shift("balance", "up", text)
    if before is None and after:
        return shift("balance", "changed", of.text("balance_new", after=f"{after:.1f}"))
    if not before or after is None or abs(after / before - 1) < of.rules.telling.balance_share:
        return None
    text = of.text("balance", before=f"{before:.1f}", after=f"{after:.1f}")
    return shift("balance", "up" if after > before else "down", text)


def _components(of: Between, names: Sequence[str]) -> tuple[float, float]:
    top = {key: share for key, one in of.measures.ingredients.items() if (share := one.holds(*names))}
    return of.both(Measure(top, None, 100.0))


def hardness(of: Between) -> Shift | None:
    """Tell whether the bar sets harder."""
    rules = of.rules
    hard, soft = _components(of, rules.hardness.hardening), _components(of, rules.hardness.softening)
    change = (hard[1] - hard[0]) - (soft[1] - soft[0])
    if abs(change) < rules.telling.hardness_points:
        return None
    up = change > 0
    figures = {
        "hard_before": f"{hard[0]:.1f}",
        "hard_after": f"{hard[1]:.1f}",
        "soft_before": f"{soft[0]:.1f}",
        "soft_after": f"{soft[1]:.1f}",
    }
    text = of.text("hardness", word="harder" if up else "softer", **figures)
    return shift("hardness", "up" if up else "down", text)


def fineness(of: Between) -> Shift | None:
    """Tell of grains that came in."""
    grains = [one for one in of.newcomers if one.coarse]
    if not grains or of.was_coarse:
        return None
    return shift("fineness", "worse", of.text("fineness", name=of.called(grains)))


def water_total(of: Between) -> str | None:
    """Return the sentence on the water of the whole."""
    before, after = of.both(of.measures.water)
    if abs(after - before) < of.rules.telling.liquid_points:
        return None
    return of.text("water_total", before=f"{before:.2f}", after=f"{after:.2f}")


def _state(some: Iterable[Ingredient], flag: str, *, all_must: bool) -> bool | None:
    """Return a flag of a whole recipe: of every material, or of any; None where that is not known."""
    states = [getattr(one.material.flags, flag, None) for one in some]
    if all_must:
        return False if False in states else None if None in states else True
    return True if True in states else None if None in states else False


_FLAGS: tuple[tuple[What, bool, Direction, Direction], ...] = (
    ("sulfate_free", True, "better", "worse"),
    ("ethoxylated", False, "more", "less"),
    ("vegan", True, "better", "worse"),
    ("palm", False, "more", "less"),
)


def flags(of: Between) -> Iterable[Shift]:
    """Yield what the recipe becomes, or is no longer."""
    for flag, all_must, if_true, if_false in _FLAGS:
        before = _state(of.used(of.before), flag, all_must=all_must)
        after = _state(of.used(of.after), flag, all_must=all_must)
        if before == after or before is None:
            continue
        if after is None:
            silent = [one for one in of.newcomers if getattr(one.material.flags, flag, None) is None]
            names = of.called(silent or of.newcomers)
            yield shift(flag, "changed", of.text("flag_unknown", name=names, flag=of.text(f"flag_of_{flag}")))
        else:
            direction = if_true if after else if_false
            yield shift(flag, direction, of.text(f"{flag}_{direction}"))


def allergens(of: Between) -> Iterable[Shift]:
    """Yield what is to be told to whoever uses the bar."""
    before, after = _allergens(of.used(of.before)), _allergens(of.used(of.after))
    changes: tuple[tuple[Direction, list[str]], ...] = (
        ("more", [text for name, text in after.items() if name not in before]),
        ("less", [text for name, text in before.items() if name not in after]),
    )
    for direction, told in changes:
        if told:
            text = of.text(f"allergens_{direction}", names="; ".join(sorted(told)))
            yield shift("allergens", direction, text)


def _allergens(used: Iterable[Ingredient]) -> dict[str, str]:
    """Return what is to be told by its bare name: remarks in brackets make no other allergen."""
    return {text.split(" (")[0].casefold(): text for one in used for text in one.material.allergens}


def listed(of: Between, amounts: Amounts) -> IngredientList:
    """Return the ingredient list of one of the two."""
    lines = [(amounts[one.key], one.material) for one in of.used(amounts)]
    return ingredient_list(lines, of.market, of.label)


def label(of: Between) -> Shift | None:
    """Tell what becomes of the ingredient list."""
    change = label_change(listed(of, of.before).names, listed(of, of.after), of.label)
    parts = [
        of.text(f"label_{kind}", names=", ".join(names))
        for kind in ("added", "dropped", "moved")
        if (names := getattr(change, kind))
    ]
    return shift("label", "changed", of.text("label", parts="; ".join(parts))) if parts else None


def price(of: Between) -> Shift | None:
    """Tell what it costs."""
    before, after = of.measures.price(of.before), of.measures.price(of.after)
    if before is None or (after is not None and abs(after - before) < SHOWN):
        return None
    if after is None:
        priceless = [one for one in of.newcomers if one.price is None]
        return shift("price", "changed", of.text("price_unknown", name=of.called(priceless)))
    direction: Direction = "up" if after > before else "down"
    return shift("price", direction, of.text("price", before=f"{before:.2f}", after=f"{after:.2f}"))
