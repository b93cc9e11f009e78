"""Where a material becomes the figures a recipe is reckoned with."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

from advisor.frozen import dataclass
from advisor.rulebook.dough import DoughRules, Leaving
from advisor.schema.material import Figure, Material, Role
from advisor.sums import summed

_WATERY_ROLES = frozenset({"primary_surfactant", "co_surfactant", "water", "featured"})
_SURFACTANT_ROLES = frozenset({"primary_surfactant", "co_surfactant"})
_DRY_FORMS = frozenset({"powder", "granule", "flake"})
_WET_FORMS = frozenset({"liquid", "paste"})
_REMEMBERED = 8192
WATER = "aqua"
_DRYING_WATER = {"liquid": "free", "paste": "free"}


@dataclass(frozen=True, slots=True, eq=False)
class Ingredient:
    """A material in the shares (0..1) and grams per gram that sums over a recipe use.

    ``name`` is the one a maker reads, up to the first comma, and ``main_role`` the first role.
    ``liquid_warm`` and ``liquid_cold`` are the liquid share when fats have melted and at 20 degrees Celsius;
    the rest of each is powder. ``uptake`` and ``wetting`` are in grams of reference liquid per gram of the
    material, ``uptake_sd`` is relative. ``watery`` says how far the liquid binds grains (0..1).
    """

    key: str
    material: Material
    name: str
    main_role: Role
    active: float
    cationic: float
    primary_active: float
    water: float
    leaving: Leaving
    liquid_warm: float
    liquid_cold: float
    uptake: float
    uptake_sd: float
    wetting: float
    watery: float
    oil: float
    coarse: float
    price: float | None
    composition: Mapping[str, float]
    folded: Mapping[str, float]
    estimated: bool

    @property
    def charge_class(self) -> str:
        """The charge class; amphoteric and zwitterionic are one."""
        charge = self.material.charge
        return "amphoteric" if charge == "zwitterionic" else charge

    @property
    def is_surfactant(self) -> bool:
        """Tell whether it is a washing material."""
        return bool(_SURFACTANT_ROLES & set(self.material.roles))

    def powder(self, state: Literal["warm", "cold"] = "warm") -> float:
        """Return the share that is powder."""
        return 1.0 - (self.liquid_warm if state == "warm" else self.liquid_cold)

    @property
    def soluble_powder(self) -> bool:
        """Tell whether it is a powder that goes into the liquid: it makes a dough wetter, not drier."""
        return bool(self.material.soluble and self.powder())

    def holds(self, *components: str) -> float:
        """Return the share of some components together, whatever the case of their names."""
        names, folded = _folded(components), self.folded
        if folded.keys().isdisjoint(names):
            return 0.0
        return sum((folded[name] for name in names if name in folded), 0.0)


def names_of(some: Sequence[Ingredient]) -> str:
    """Return the names of some materials in a sentence; whole ones where the short ones are the same.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> shelf = load_rulebook().ingredients
    >>> names_of([shelf["kaolin"], shelf["corn-starch"]])
    'Kaolin and Corn starch'
    """
    short = [one.name for one in some]
    return " and ".join(short if len(set(short)) == len(short) else [one.material.name for one in some])


@lru_cache(maxsize=_REMEMBERED)
def _folded(components: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(folded_name(name) for name in components)


def folded_name(name: str) -> str:
    """Return a component's name as it is compared: whatever the case and the spaces.

    Examples
    --------
    >>> folded_name(" Sodium  Benzoate")
    'sodium benzoate'
    """
    return " ".join(name.split()).casefold()


def typical(figure: float | Figure[float] | None, default: float = 0.0) -> float:
    """Return the typical value of a figure."""
    if figure is None:
        return default
    return figure.typical if isinstance(figure, Figure) else figure


def compile_material(material: Material, rules: DoughRules) -> Ingredient:
    """Turn a material as supplied into the figures of the model.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> rulebook = load_rulebook()
    >>> rain = Material(
    ...     key="rain", name="Rain", form="liquid", roles=("water",), composition={"Aqua": 100.0}
    ... )
    >>> compile_material(rain, rulebook.dough).water
    1.0
    """
    form = material.form
    active = typical(material.active) / 100
    cationic = material.charge == "cationic"
    warm, cold = _liquid_shares(material)
    uptake, uptake_sd = _uptake(material, rules)
    water = material.composition.get("Aqua", 0.0) if material.water is None else typical(material.water)
    kind = material.water_kind or _DRYING_WATER.get(form, "moisture")
    if material.water_kind is None and kind == "free" and material.roles[0] == "humectant":
        kind = "held"
    figure = material.uptake if cold < 1 else material.wetting
    composition = {name: percent / 100 for name, percent in material.composition.items()}
    folded = summed((folded_name(name), share) for name, share in composition.items())
    return Ingredient(
        key=material.key,
        material=material,
        name=material.name.split(",")[0],
        main_role=material.roles[0],
        active=0.0 if cationic or _refats(material) else active,
        cationic=active if cationic else 0.0,
        primary_active=active if _is_surfactant(material) and not (cationic or _refats(material)) else 0.0,
        water=water / 100,
        leaving=getattr(rules.water, kind),
        liquid_warm=warm,
        liquid_cold=cold,
        uptake=uptake,
        uptake_sd=uptake_sd,
        wetting=typical(material.wetting, rules.form_prior.wetting.get(form, 1.0)),
        watery=_watery(material, rules),
        oil=1.0 if form in _WET_FORMS | {"soft_solid"} and material.roles[0] == "emollient" else 0.0,
        coarse=1.0 if _is_coarse(material) else 0.0,
        price=None if material.price_per_kg is None else typical(material.price_per_kg),
        composition=composition,
        folded=folded,
        estimated=not isinstance(figure, Figure) or figure.basis not in ("published", "own"),
    )


def _is_surfactant(material: Material) -> bool:
    return bool(_SURFACTANT_ROLES & set(material.roles))


def _refats(material: Material) -> bool:
    """Tell whether a surfactant is an emollient too: it refats and is no washing strength."""
    return _is_surfactant(material) and "emollient" in material.roles


def _liquid_shares(material: Material) -> tuple[float, float]:
    if material.form in _WET_FORMS:
        return 1.0, 1.0
    if material.form in _DRY_FORMS:
        return 0.0, 0.0
    if material.form == "soft_solid":
        return 1.0, 1.0 if material.melts_c is not None and material.melts_c <= 20 else 0.0
    return (1.0 if material.melts_c is not None else 0.0), 0.0


def _uptake(material: Material, rules: DoughRules) -> tuple[float, float]:
    figure = material.uptake
    prior_sd = rules.prior.demand_relative_sd
    if figure is None:
        return rules.form_prior.uptake.get(material.form, 0.0), prior_sd
    if not isinstance(figure, Figure):
        return figure, prior_sd
    if figure.low is None or figure.high is None or not figure.typical:
        return figure.typical, prior_sd
    return figure.typical, (figure.high - figure.low) / 2 / figure.typical


def _watery(material: Material, rules: DoughRules) -> float:
    role = material.roles[0]
    if role == "humectant":
        return rules.cohesion.humectant_counts
    watery_extract = role == "featured" and material.composition.get("Aqua", 0.0) > 50
    return 1.0 if watery_extract or role in _WATERY_ROLES - {"featured"} else 0.0


def _is_coarse(material: Material) -> bool:
    if material.form not in _DRY_FORMS:
        return False
    if material.fineness is not None:
        return material.fineness == "coarse"
    return material.form in ("granule", "flake") and bool(_SURFACTANT_ROLES & set(material.roles))


def main_component(one: Ingredient) -> str:
    """Return the case-folded name of the component there is most of, water apart where it is not alone.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> main_component(load_rulebook().ingredients["betaine-30"])
    'cocamidopropyl betaine'
    """
    dry = {name: share for name, share in one.folded.items() if name != WATER}
    return max(sorted(dry), key=lambda name: dry[name], default=WATER)
