"""Says what may stand in for a missing material, and what is asked of the recipe then."""

from collections.abc import Iterator, Sequence

from advisor.demands.context import DemandContext
from advisor.demands.dough import dough_bounds, wetness_kept
from advisor.demands.gather import all_demands
from advisor.demands.kept import balance_kept, washing_kept
from advisor.demands.law import apart_demands
from advisor.frozen import cached_property, dataclass, replace
from advisor.recipe.demand import Demand, Measure
from advisor.recipe.measures import Amounts
from advisor.rulebook.acidity import Mover
from advisor.rulebook.ingredient import Ingredient, main_component
from advisor.rulebook.newcomers import Compatibility
from advisor.rulebook.substitution import Group, Purpose, SubstitutionRules
from advisor.schema.findings import TextItem

_BALANCED = frozenset({"anionic", "amphoteric"})


@dataclass(frozen=True)
class Gap:
    """A material that is missing from a recipe, and the work it did there.

    ``amount`` is what the recipe lacks of it, ``left`` what is still there [% of the recipe]; ``movers`` are
    the acids and alkalis whose equivalents are known.
    """

    one: Ingredient
    amount: float
    rules: SubstitutionRules
    left: float = 0.0
    movers: Sequence[Mover] = ()

    @cached_property
    def group(self) -> Group:
        """What the missing material is for."""
        return self.rules.group_of(self.one.main_role)

    @cached_property
    def purposes(self) -> tuple[Purpose, ...]:
        """What the missing material is there for, where its role does not tell."""
        return self.rules.purposes_of(self.one)

    @property
    def by_purpose(self) -> bool:
        """Tell whether only what does the same stands in unasked."""
        return bool(self.purposes) or self.group.by_purpose

    @property
    def brings(self) -> str:
        """What the missing material brings, in words."""
        return " and ".join(purpose.does for purpose in self.purposes) or self.group.brings

    def text(self, sentence: str, **filled: object) -> str:
        """Return a sentence of the rules with its names and figures."""
        return self.rules.text[sentence].format(**filled)

    @property
    def measured_by_dose(self) -> bool:
        """Tell whether its work is counted in working doses."""
        return self.group.measured == "dose" and _working_level(self.one) is not None

    def share(self, one: Ingredient) -> float:
        """Return how much of the work one point of a material does [points or doses].

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> rulebook = load_rulebook()
        >>> gap = Gap(rulebook.ingredients["betaine-30"], 12.0, rulebook.substitution)
        >>> gap.share(rulebook.ingredients["coco-glucoside-52"])
        0.52
        """
        measured = self.group.measured
        if measured == "active" and self.one.active + self.one.cationic > 0:
            return one.active + one.cationic
        if measured == "equivalents" and (own := self._equivalents(self.one)):
            return (1.0 - self.one.water) * self._equivalents(one) / own or 1.0 - one.water
        if measured in ("dry", "equivalents") and self.one.water < 1:
            return 1.0 - one.water
        level = _working_level(self.one)
        if measured == "dose" and level is not None:
            return 1.0 / (_working_level(one) or level)
        return self._for_the_purpose(one) if self.purposes and self.does_the_same(one) else 1.0

    def _for_the_purpose(self, one: Ingredient) -> float:
        """Return how many points of the missing material one point of another does the work of."""
        if any(purpose.counted == "dose" for purpose in self.purposes):
            own, other = _working_level(self.one), _working_level(one)
            return own / other if own and other else 1.0
        names = [name for purpose in self.purposes for name in purpose.components]
        return one.holds(*names) / self.one.holds(*names)

    def _equivalents(self, one: Ingredient) -> float:
        """Return how many equivalents of acid or alkali 1 g of a material brings [mol/g]."""
        return sum(
            one.holds(mover.component) * mover.equivalents / mover.molar_mass
            for mover in self.movers
            if mover.kind == self.group.role
        )

    @cached_property
    def work(self) -> float:
        """What is missing [points or doses]."""
        return self.share(self.one) * self.amount

    def demand(self, replaced: Sequence[Ingredient], amounts: Amounts) -> Demand:
        """Return the demand that the replacements do the work, over what the recipe had of them already."""
        same = not self.by_purpose or all(map(self.does_the_same, replaced))
        bounds, within = self.rules.bounds, self.group.within if same else None
        low, high = bounds.function_at_least, bounds.function_at_most
        low, high = (low, high) if within is None else (1.0 - within, 1.0 + within)
        shares = {one.key: self.share(one) for one in replaced}
        had = sum(share * amounts.get(key, 0.0) for key, share in shares.items())
        least = low * self.work
        if self.measured_by_dose:
            least = max(least, min(1.0, self.work))
        return Demand(
            id="function",
            group="function",
            name=f"{self.brings} in place of {self.one.name}",
            measure=Measure(shares, None, 100.0),
            unit="1" if self.measured_by_dose else "%",
            kind="wish",
            rank="dough",
            minimum=had + least,
            maximum=had + high * self.work,
            about=tuple(sorted(shares)),
            basis=self.group.basis,
            source=self.group.source,
        )

    def absent(self) -> Demand:
        """Return the demand that of the missing material what is left is used, and nothing else."""
        return Demand(
            id=f"missing:{self.one.key}",
            group="missing",
            name=f"{self.one.name}, missing",
            measure=Measure({self.one.key: 1.0}, None, 100.0),
            unit="%",
            kind="wish",
            rank="held",
            minimum=self.left or None,
            maximum=self.left,
            about=(self.one.key,),
            basis="own",
            source="the request",
        )

    def named_rule(self, one: Ingredient, there: Compatibility) -> TextItem | None:
        """Return the named rule that turns a replacement away from what else is in the recipe."""
        for never in self.rules.never:
            if (
                never.role == self.group.role
                and bool(one.material.soluble) is never.soluble
                and bool(self.one.material.soluble) is not never.soluble
                and one.powder()
            ):
                return TextItem(id=never.id, text=never.text.format(name=one.name))
        return there.refusal(one)

    def belongs(self, one: Ingredient) -> bool:
        """Tell whether a material may be tried unasked: it does the same, or has the role that is missing."""
        has_the_role = self.group.role in one.material.roles and one.main_role not in self.group.without
        return one.key != self.one.key and (self.does_the_same(one) if self.by_purpose else has_the_role)

    def does_the_same(self, one: Ingredient) -> bool:
        """Tell whether a material serves the same purposes; where none is known, is the same matter.

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> rulebook = load_rulebook()
        >>> gap = Gap(rulebook.ingredients["titanium-dioxide"], 0.5, rulebook.substitution)
        >>> [gap.does_the_same(rulebook.ingredients[key]) for key in ("zinc-oxide", "rose-clay")]
        [True, False]
        """
        if self.purposes:
            return self.rules.purposes_of(one) == self.purposes
        return main_component(one) == main_component(self.one)


def _working_level(one: Ingredient) -> float | None:
    use = one.material.use
    return use.min or None if use is not None else None


def same_surfactant(one: Ingredient, other: Ingredient) -> bool:
    """Tell whether two materials hold the same surfactant above all: two lots or grades of it.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> shelf = load_rulebook().ingredients
    >>> same_surfactant(shelf["isethionate-powder"], shelf["isethionate-noodles"])
    True
    """
    return one.active > 0 and other.active > 0 and main_component(one) == main_component(other)


def may_shift_balance(gap: Gap, replaced: Sequence[Ingredient]) -> bool:
    """Tell whether a swap may change the ratio of anionic to amphoteric matter: where the class changes."""
    classes = {one.charge_class for one in replaced} | {gap.one.charge_class}
    return len(classes) > 1 and bool(classes & _BALANCED)


def swap_demands(of: DemandContext, gap: Gap, freed: frozenset[str]) -> list[Demand]:
    """Return every demand on the recipe with a replacement in it, but for the work and the balance.

    Parameters
    ----------
    of : DemandContext
        The recipe and what is wished, as it came.
    gap : Gap
    freed : frozenset of str
        The replacements: they move although their kind is no lever of a dough.
    """
    key = gap.one.key
    freed |= {key}
    demands = [
        _narrowed(demand, of, gap.rules) if demand.group == "active" else demand
        for demand in all_demands(of)
        if not (
            demand.group == "apart"
            or (demand.group == "no-lever" and not freed.isdisjoint(demand.about))
            or (demand.group in ("use", "preserved", "humectant-kept") and key in demand.about)
        )
    ]
    without = replace(of, amounts={**of.amounts, key: gap.left})
    return [*apart_demands(without), *demands, *_washing_kept(of, gap.rules), *_dough_kept(of)]


def _narrowed(demand: Demand, of: DemandContext, rules: SubstitutionRules) -> Demand:
    if demand.rank != "default":
        return demand
    own, points = of.measures.active.of(of.amounts) or 0.0, rules.bounds.active_points
    return replace(
        demand,
        minimum=max(0.0, own - points),
        maximum=min(100.0, own + points),
        basis=rules.bounds.basis,
        source="the recipe's own active matter: a replacement keeps the strength",
    )


def _washing_kept(of: DemandContext, rules: SubstitutionRules) -> Iterator[Demand]:
    """Return the band of the washing matter, unless a wish asks for quite another strength."""
    active, wished = of.measures.active.of(of.amounts) or 0.0, of.wishes.active
    if wished and not (wished.min or 0.0) <= active <= (100.0 if wished.max is None else wished.max):
        return
    yield from washing_kept(of, rules.bounds.primary_share, rules.bounds.basis)


def balance_demand(of: DemandContext, rules: SubstitutionRules) -> Demand | None:
    """Return the demand on the ratio of anionic to amphoteric matter; None where there is none."""
    return next(iter(balance_kept(of, rules.bounds.balance_share, rules.bounds.basis)), None)


def _dough_kept(of: DemandContext) -> Iterator[Demand]:
    wetness = wetness_kept(of, "as before")
    if wetness is not None:
        yield wetness
        yield from (
            bound for bound in dough_bounds(of, drier=False) if bound.group not in ("coarse", "soluble")
        )
