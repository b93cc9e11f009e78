"""Tells what a swap shifts besides the arithmetic; each shift is computed."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from advisor.labelling.ingredient_list import IngredientList, ingredient_list, label_change
from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.label import LabelRules
from advisor.schema.base import Market
from advisor.schema.material import PHRange, WorkingPH
from advisor.substitution.replacement import Gap, active_of_class, balance, names_of
from advisor.substitution.schema import Direction, Shift, What

_SAME = 1e-9
_SHOWN = 0.005
_NEUTRAL = 7.0


@dataclass(frozen=True)
class Swapped:
    """A recipe before and after a swap [%], with what stands in and where it is sold."""

    gap: Gap
    replaced: tuple[Ingredient, ...]
    measures: Measures
    before: Amounts
    after: Amounts
    market: Market
    label: LabelRules

    @cached_property
    def names(self) -> tuple[str, str]:
        """What the replacements and the missing material are called beside each other."""
        short = {one.name for one in self.replaced}
        if self.gap.one.name in short:
            return " and ".join(one.material.name for one in self.replaced), self.gap.one.material.name
        return names_of(self.replaced), self.gap.one.name

    def text(self, sentence: str, **filled: object) -> str:
        """Return a sentence of the rules with its names and figures."""
        name, missing = self.names
        return self.gap.rules.text[sentence].format(name=name, missing=missing, **filled)

    def both(self, measure: Measure) -> tuple[float, float]:
        """Return a measure before and after; 0.0 where it has no meaning."""
        return measure.of(self.before) or 0.0, measure.of(self.after) or 0.0

    def used(self, amounts: Amounts) -> list[Ingredient]:
        """Return the materials in use."""
        return [one for key, one in self.measures.ingredients.items() if amounts.get(key)]

    def weighted(self, figure: Callable[[Ingredient], float | None]) -> float | None:
        """Return a figure of the replacements, by their amounts; None where one of them has none."""
        top = bottom = 0.0
        for one in self.replaced:
            value, brought = figure(one), self.after[one.key] - self.before.get(one.key, 0.0)
            if value is None or brought <= 0:
                return None
            weight = brought * self.gap.share(one)
            top, bottom = top + weight * value, bottom + weight
        return top / bottom if bottom else None


def shifts(of: Swapped) -> tuple[Shift, ...]:
    """Return every shift that happens, those of the wash first, those of the papers last."""
    told: list[Shift | None] = [
        _mildness(of),
        _foam(of),
        _balance(of),
        _hardness(of),
        _fineness(of),
        _ph(of),
        _water(of),
        *_flags(of),
        *_allergens(of),
        _label(of),
        _price(of),
        _preservation(of),
        _safety(of),
    ]
    return tuple(shift for shift in told if shift is not None)


def _shift(what: What, direction: Direction, *texts: str) -> Shift:
    return Shift(what=what, direction=direction, text=" ".join(texts))


def _mildness(of: Swapped) -> Shift | None:
    anionic = of.both(active_of_class(of.measures, "anionic"))
    partner = of.both(active_of_class(of.measures, "amphoteric"))
    share = of.gap.rules.bounds.balance_share
    if all(anionic) and any(partner):
        before, after = (some / whole for some, whole in zip(partner, anionic, strict=True))
        figures = {"before": f"{partner[0]:.2f}", "after": f"{partner[1]:.2f}"}
        if after < before * (1 - share):
            return _shift("mildness", "worse", of.text("mildness_partner", **figures))
        if after > before * (1 + share):
            return _shift("mildness", "better", of.text("mildness_partner_up", **figures))
    rank, earlier = of.weighted(lambda one: one.material.mildness), of.gap.one.material.mildness
    if rank is None or earlier is None or abs(rank - earlier) < _SHOWN:
        return None
    text = of.text("mildness_rank", before=f"{earlier:g}", after=f"{rank:.2g}")
    return _shift("mildness", "worse" if rank > earlier else "better", text)


def _foam(of: Swapped) -> Shift | None:
    ranks = {name.casefold(): rank for name, rank in of.gap.rules.foam.rank.items()}

    def rank_of(one: Ingredient) -> float | None:
        held = {name: share for name, share in one.folded.items() if name in ranks}
        whole = sum(held.values())
        return sum(ranks[name] * share for name, share in held.items()) / whole if whole else None

    earlier, rank = rank_of(of.gap.one), of.weighted(rank_of)
    if not of.gap.one.is_surfactant or earlier is None or rank is None or abs(rank - earlier) < _SHOWN:
        return None
    more = rank > earlier
    return _shift("foam", "more" if more else "less", of.text("foam", word="more" if more else "less"))


def _balance(of: Swapped) -> Shift | None:
    before, after = balance(of.measures).of(of.before), balance(of.measures).of(of.after)
    anionic = of.both(active_of_class(of.measures, "anionic"))[1]
    if before and after is None:
        text = of.text("balance_gone", anionic=f"{anionic:.2f}", before=f"{before:.1f}")
        return _shift("balance", "up", text)
    if before is None and after:
        return _shift("balance", "changed", of.text("balance_new", after=f"{after:.1f}"))
    if not before or after is None or abs(after / before - 1) < of.gap.rules.telling.balance_share:
        return None
    text = of.text("balance", before=f"{before:.1f}", after=f"{after:.1f}")
    return _shift("balance", "up" if after > before else "down", text)


def _components(of: Swapped, names: Sequence[str]) -> tuple[float, float]:
    top = {key: share for key, one in of.measures.ingredients.items() if (share := one.holds(*names))}
    return of.both(Measure(top, None, 100.0))


def _hardness(of: Swapped) -> Shift | None:
    rules = of.gap.rules
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
    return _shift("hardness", "up" if up else "down", text)


def _fineness(of: Swapped) -> Shift | None:
    grains = [one for one in of.replaced if one.coarse]
    if not grains or of.gap.one.coarse:
        return None
    text = of.gap.rules.text["fineness"].format(name=names_of(grains))
    return _shift("fineness", "worse", text)


def _middle(ph: PHRange | None) -> float | None:
    if ph is None or ph.min is None or ph.max is None:
        return None
    return (ph.min + ph.max) / 2


def _range(ph: PHRange | WorkingPH | None) -> str:
    if ph is None or (ph.min is None and ph.max is None):
        return "unknown"
    if ph.min is None:
        return f"up to {ph.max:g}"
    if ph.max is None or ph.max == ph.min:
        return f"{ph.min:g}"
    return f"{ph.min:g} to {ph.max:g}"


def _ph(of: Swapped) -> Shift | None:
    rules = of.gap.rules.telling
    known = [one for one in of.replaced if _middle(one.material.ph) is not None]
    if not known:
        return None
    furthest = max(known, key=lambda one: (abs((_middle(one.material.ph) or _NEUTRAL) - _NEUTRAL), one.key))
    now, earlier = _middle(furthest.material.ph) or 0.0, _middle(of.gap.one.material.ph)
    if earlier is not None and abs(now - earlier) < rules.ph_units:
        return None
    figures = {"range": _range(furthest.material.ph), "earlier": _range(of.gap.one.material.ph)}
    direction: Direction = "changed" if earlier is None else "up" if now > earlier else "down"
    word = "higher" if direction == "up" else "lower"
    sentence = "ph_unknown" if earlier is None else "ph"
    name = furthest.name if len(of.replaced) > 1 else of.names[0]
    texts = [of.gap.rules.text[sentence].format(name=name, missing=of.names[1], word=word, **figures)]
    if now >= rules.alkaline_from:
        texts.append(of.text("ph_alkaline"))
    if now <= rules.acid_to:
        texts.append(of.text("ph_acid"))
    return _shift("ph", direction, *texts)


def _water(of: Swapped) -> Shift | None:
    swapped = {of.gap.one.key, *(one.key for one in of.replaced)}
    of_swap = Measure({key: 1.0 for key in swapped if of.measures.ingredients[key].liquid_warm}, None, 100.0)
    before, after = of.both(of_swap)
    water = of.both(of.measures.water)
    least = of.gap.rules.telling.liquid_points
    brought = after - before
    texts = []
    if abs(brought) >= least:
        sentence = "water_more" if brought > 0 else "water_less"
        texts.append(of.text(sentence, points=f"{abs(brought):.2f}"))
        moves = [
            f"{one.name} {change:+.2f}"
            for key, one in of.measures.ingredients.items()
            if key not in swapped
            and one.liquid_warm
            and abs(change := of.after.get(key, 0.0) - of.before.get(key, 0.0)) >= _SHOWN
        ]
        if moves:
            texts.append(of.text("water_good", moves=", ".join(moves)))
    if abs(water[1] - water[0]) >= least:
        texts.append(of.text("water_total", before=f"{water[0]:.2f}", after=f"{water[1]:.2f}"))
    if not texts:
        return None
    difference = water[1] - water[0] if abs(water[1] - water[0]) >= least else brought
    return _shift("water", "up" if difference > 0 else "down", *texts)


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


def _flags(of: Swapped) -> Iterable[Shift]:
    for flag, all_must, if_true, if_false in _FLAGS:
        before = _state(of.used(of.before), flag, all_must=all_must)
        after = _state(of.used(of.after), flag, all_must=all_must)
        if before == after or before is None:
            continue
        if after is None:
            yield _shift(flag, "changed", _flag_unknown(of, flag))
        else:
            direction = if_true if after else if_false
            yield _shift(flag, direction, of.text(f"{flag}_{direction}"))


def _flag_unknown(of: Swapped, flag: str) -> str:
    silent = [one for one in of.replaced if getattr(one.material.flags, flag, None) is None] or of.replaced
    name = of.names[0] if len(silent) == len(of.replaced) else names_of(silent)
    texts = of.gap.rules.text
    return texts["flag_unknown"].format(name=name, flag=texts[f"flag_of_{flag}"])


def _allergens(of: Swapped) -> Iterable[Shift]:
    before = {text for one in of.used(of.before) for text in one.material.allergens}
    after = {text for one in of.used(of.after) for text in one.material.allergens}
    changes: tuple[tuple[Direction, set[str]], ...] = (("more", after - before), ("less", before - after))
    for direction, names in changes:
        if names:
            text = of.text(f"allergens_{direction}", names="; ".join(sorted(names)))
            yield _shift("allergens", direction, text)


def _listed(of: Swapped, amounts: Amounts) -> IngredientList:
    lines = [(amounts[one.key], one.material) for one in of.used(amounts)]
    return ingredient_list(lines, of.market, of.label)


def _label(of: Swapped) -> Shift | None:
    change = label_change(_listed(of, of.before).names, _listed(of, of.after), of.label)
    parts = [
        of.text(f"label_{kind}", names=", ".join(names))
        for kind in ("added", "dropped", "moved")
        if (names := getattr(change, kind))
    ]
    return _shift("label", "changed", of.text("label", parts="; ".join(parts))) if parts else None


def _price(of: Swapped) -> Shift | None:
    before, after = of.measures.price(of.before), of.measures.price(of.after)
    if before is None or (after is not None and abs(after - before) < _SHOWN):
        return None
    if after is None:
        return _shift("price", "changed", of.text("price_unknown"))
    direction: Direction = "up" if after > before else "down"
    return _shift("price", direction, of.text("price", before=f"{before:.2f}", after=f"{after:.2f}"))


def _works(some: Sequence[Ingredient]) -> str:
    return "; ".join(
        f"at a pH of {_range(one.material.works_ph)}"
        if one.material.works_ph
        else "at a pH that is not known"
        for one in some
    )


def _preservation(of: Swapped) -> Shift | None:
    if of.gap.group.role != "preservative":
        return None
    text = of.text("preservation", range=_works(of.replaced), earlier=_works([of.gap.one]))
    return _shift("preservation", "changed", text)


def _safety(of: Swapped) -> Shift:
    return _shift("safety", "changed", of.text("safety"))
