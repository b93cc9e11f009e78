"""Which materials fill the parts of a family, and where each starts."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from advisor.frozen import cached_property, dataclass
from advisor.optimise.rounding import largest_remainder
from advisor.rulebook.drafts import DraftRules, FamilyRules, Part
from advisor.rulebook.ingredient import Ingredient, folded_name, main_component
from advisor.schema.base import WHOLE

_PER_PERCENT = 100
_MIDDLING = 3


def fills(part: Part, one: Ingredient) -> bool:
    """Tell whether a material may fill a part."""
    material = one.material
    if part.forms and material.form not in part.forms:
        return False
    if part.charges and material.charge not in part.charges:
        return False
    if part.components:
        held = {folded_name(name) for name in material.composition if name != "Aqua"}
        named = {folded_name(name) for name in part.components}
        return folded_name(main_component(one)) in named or (
            material.roles[0] == "acid" and bool(held & named)
        )
    return one.main_role in part.roles


def percent_of(part: Part, one: Ingredient) -> float:
    """Return how much of a part one percent of a material is."""
    return WHOLE * one.active / part.at_active if part.at_active is not None else 1.0


def _place(named: Sequence[str], one: Ingredient) -> int:
    """Return the place of a material's main component among names, behind them all where it is none."""
    folded = [folded_name(name) for name in named]
    main = folded_name(main_component(one))
    return folded.index(main) if main in folded else len(folded)


@dataclass(frozen=True)
class Chosen:
    """The materials of one bar: those that must be in it, and what fills the rest of a family's parts.

    ``usable`` are the materials at hand that keep every promise; ``forced`` those that must be in it, with
    their percent where it is told.
    """

    family: FamilyRules
    rules: DraftRules
    usable: Mapping[str, Ingredient]
    forced: Mapping[str, float | None]
    barred: Collection[str] = ()

    def _candidates(self, part: Part) -> list[str]:
        """Return what may fill a part, best first: as the family names it, mild, cheap, by key."""
        named = (*part.components, *part.prefer)

        def rank(key: str) -> tuple[bool, int, int, float, str]:
            one = self.usable[key]
            mild = one.material.mildness or _MIDDLING
            return "colourant" in one.material.roles, _place(named, one), mild, one.price or 0.0, key

        fitting = [
            key
            for key, one in self.usable.items()
            if fills(part, one) and not (one.coarse or one.soluble_powder) and key not in self.barred
        ]
        ranked = sorted(fitting, key=rank)
        firsts = {main_component(self.usable[key]): key for key in reversed(ranked)}
        return sorted(ranked, key=lambda key: key not in firsts.values())

    @cached_property
    def filled(self) -> dict[str, tuple[Part, ...]]:
        """The parts each chosen material fills; a forced one may fill none."""
        found: dict[str, tuple[Part, ...]] = dict.fromkeys(self.forced, ())
        for part in self.family.part:
            there = [key for key in found if fills(part, self.usable[key])]
            for key in (*there, *self._new(part, found, there)):
                found[key] = (*found.get(key, ()), part)
        return found

    def _new(self, part: Part, found: Collection[str], there: Sequence[str]) -> Iterator[str]:
        """Yield what fills a part besides what must be in it, as far as that leaves room."""
        told = [self.forced.get(key) for key in there]
        in_it = sum(
            (one or 0.0) * percent_of(part, self.usable[key]) for key, one in zip(there, told, strict=True)
        )
        short = None not in told and in_it < part.min
        room, left = part.max - in_it, max(part.take - len(there), int(short))
        for key in self._candidates(part):
            one = self.usable[key]
            least = (one.material.use.min or 0.0) if one.material.use else 0.0
            if key not in found and left > 0 and (not there or least * percent_of(part, one) < room):
                room -= least * percent_of(part, one)
                left -= 1
                yield key

    @property
    def missing(self) -> tuple[str, ...]:
        """The parts that nothing fills, the preservative among them, by their names."""
        filled = {part.name for parts in self.filled.values() for part in parts}
        parts = [one.name for one in self.family.part if not one.optional and one.name not in filled]
        return (*parts, *(() if self.preservative else (self.rules.text["preservative"],)))

    @cached_property
    def preservative(self) -> str | None:
        """The preservative: one that must be in it, else the first that is preferred."""
        working = [
            key
            for key, one in self.usable.items()
            if one.main_role == "preservative" and one.material.use is not None and one.material.use.min
        ]
        must = [key for key in self.forced if self.usable[key].main_role == "preservative"]
        free = sorted(
            (key for key in working if key not in self.barred),
            key=lambda key: (
                _place(self.rules.preserved.prefer, self.usable[key]),
                self.usable[key].price or 0.0,
                key,
            ),
        )
        return next(iter((*must, *free)), None)

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Every material of the bar; optional ones give way where there would be too many."""
        own = [*self.filled, *((self.preservative,) if self.preservative else ())]
        optional = [
            key
            for key, parts in self.filled.items()
            if key not in self.forced and parts and all(part.optional for part in parts)
        ]
        while len(set(own)) > self.rules.all.lines_at_most and optional:
            own.remove(optional.pop())
        return tuple(dict.fromkeys(own))

    def starts(self) -> dict[str, float]:
        """Return percents in hundredths that add up to 100: what is told stays, the middles make room."""
        fixed = {key: told for key, told in self.forced.items() if told is not None}
        if self.preservative and self.preservative not in fixed:
            use = self.usable[self.preservative].material.use
            low, high = (use.min or 0.0, use.max or use.min or 0.0) if use else (0.0, 0.0)
            fixed[self.preservative] = low + self.rules.preserved.share * (high - low)
        middles = {key: middle for key, middle in self._middles() if key not in fixed}
        room = WHOLE - sum(fixed.values())
        scale = room / sum(middles.values()) if middles else 0.0
        percents = fixed | {key: max(0.01, middle * scale) for key, middle in middles.items()}
        exact = {key: _PER_PERCENT * value for key, value in percents.items()}
        shared = largest_remainder(exact, round(_PER_PERCENT * WHOLE))
        return {key: shared[key] / _PER_PERCENT for key in self.keys}

    def _middles(self) -> Iterator[tuple[str, float]]:
        for key in self.keys:
            parts = self.filled.get(key, ())
            if not parts:
                use = self.usable[key].material.use
                yield key, (use.min if use and use.min else 1.0)
                continue
            part = parts[0]
            sharing = sum(1 for other in self.keys if part in self.filled.get(other, ()))
            yield key, (part.min + part.max) / 2 / sharing / (percent_of(part, self.usable[key]) or 1.0)
