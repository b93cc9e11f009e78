"""Tells what a swap shifts besides the arithmetic; each shift is computed."""

from collections.abc import Sequence

from advisor.frozen import dataclass
from advisor.recipe.demand import Measure
from advisor.rulebook.ingredient import Ingredient, names_of
from advisor.schema.findings import Direction, Shift
from advisor.schema.material import PHRange, WorkingPH
from advisor.shifts import between
from advisor.shifts.between import SHOWN, Between, Figured, shift
from advisor.substitution.replacement import Gap

_NEUTRAL = 7.0


@dataclass(frozen=True)
class Swapped(Between):
    """A recipe before and after a swap [%], with what stands in and where it is sold."""

    gap: Gap

    @property
    def names(self) -> tuple[str, str]:
        """What the replacements and the missing material are called beside each other."""
        short = {one.name for one in self.newcomers}
        if self.gap.one.name in short:
            return " and ".join(one.material.name for one in self.newcomers), self.gap.one.material.name
        return names_of(self.newcomers), self.gap.one.name

    @property
    def was_coarse(self) -> bool:
        """Whether the missing material was of grains."""
        return self.gap.one.coarse > 0

    def called(self, some: Sequence[Ingredient]) -> str:
        """Return what some of the replacements are called."""
        return self.names[0] if len(some) == len(self.newcomers) else names_of(some)

    def ranks(self, figure: Figured) -> tuple[float | None, float | None]:
        """Return a figure of the missing material and of the replacements, by their amounts."""
        return figure(self.gap.one), self._weighted(figure)

    def _weighted(self, figure: Figured) -> float | None:
        top = bottom = 0.0
        for one in self.newcomers:
            value, brought = figure(one), self.after[one.key] - self.before.get(one.key, 0.0)
            if value is None or brought <= 0:
                return None
            weight = brought * self.gap.share(one)
            top, bottom = top + weight * value, bottom + weight
        return top / bottom if bottom else None


def shifts(of: Swapped) -> tuple[Shift, ...]:
    """Return every shift that happens, those of the wash first, those of the papers last."""
    told: list[Shift | None] = [
        between.mildness(of),
        between.foam(of) if of.gap.one.is_surfactant else None,
        between.balance(of),
        between.hardness(of),
        between.fineness(of),
        _ph(of),
        _water(of),
        *between.flags(of),
        *between.allergens(of),
        between.label(of),
        between.price(of),
        _preservation(of),
        shift("safety", "changed", of.text("safety")),
    ]
    return tuple(one for one in told if one is not None)


def _middle(ph: PHRange | None) -> float | None:
    return None if ph is None or ph.min is None or ph.max is None else (ph.min + ph.max) / 2


def _range(ph: PHRange | WorkingPH | None) -> str:
    if ph is None or (ph.min is None and ph.max is None):
        return "unknown"
    if ph.min is None:
        return f"up to {ph.max:g}"
    if ph.max is None or ph.max == ph.min:
        return f"{ph.min:g}"
    return f"{ph.min:g} to {ph.max:g}"


def _ph(of: Swapped) -> Shift | None:
    rules = of.rules.telling
    known = [one for one in of.newcomers if _middle(one.material.ph) is not None]
    if not known:
        return None
    furthest = max(known, key=lambda one: (abs((_middle(one.material.ph) or _NEUTRAL) - _NEUTRAL), one.key))
    if of.gap.group.measured == "equivalents":
        return shift("ph", "changed", of.text("ph_alike", name=of.names[0], missing=of.names[1]))
    now, earlier = _middle(furthest.material.ph) or 0.0, _middle(of.gap.one.material.ph)
    if of.after[furthest.key] < rules.ph_from_percent and rules.acid_to < now < rules.alkaline_from:
        return None
    if earlier is not None and abs(now - earlier) < rules.ph_units:
        return None
    figures = {"range": _range(furthest.material.ph), "earlier": _range(of.gap.one.material.ph)}
    direction: Direction = "changed" if earlier is None else "up" if now > earlier else "down"
    word = "higher" if direction == "up" else "lower"
    sentence = "ph_unknown" if earlier is None else "ph"
    name = furthest.name if len(of.newcomers) > 1 else of.names[0]
    texts = [of.text(sentence, name=name, word=word, **figures)]
    if now >= rules.alkaline_from:
        texts.append(of.text("ph_alkaline"))
    if now <= rules.acid_to:
        texts.append(of.text("ph_acid"))
    return shift("ph", direction, *texts)


def _water(of: Swapped) -> Shift | None:
    swapped = {of.gap.one.key, *(one.key for one in of.newcomers)}
    of_swap = Measure({key: 1.0 for key in swapped if of.measures.ingredients[key].liquid_warm}, None, 100.0)
    before, after = of.both(of_swap)
    water = of.both(of.measures.water)
    least = of.rules.telling.liquid_points
    brought = after - before
    texts = []
    if abs(brought) >= least:
        texts.append(of.text("water_more" if brought > 0 else "water_less", points=f"{abs(brought):.2f}"))
        moves = [
            (one, change)
            for key, one in of.measures.ingredients.items()
            if key not in swapped
            and one.liquid_warm
            and abs(change := of.after.get(key, 0.0) - of.before.get(key, 0.0)) >= SHOWN
        ]
        if moves:
            texts.append(of.text("water_good", moves=", ".join(f"{one.name} {by:+.2f}" for one, by in moves)))
        softening = [one for one, by in moves if one.main_role == "humectant" and by >= least]
        if softening and not any(one.main_role == "water" for one in of.measures.ingredients.values()):
            texts.append(of.text("water_absent", names=names_of(softening)))
    total = between.water_total(of)
    if total:
        texts.append(total)
    if not texts:
        return None
    difference = water[1] - water[0] if total else brought
    return shift("water", "up" if difference > 0 else "down", *texts)


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
    text = of.text("preservation", range=_works(of.newcomers), earlier=_works([of.gap.one]))
    return shift("preservation", "changed", text)
