"""What a material brings to an ingredient list: declared names with their amounts."""

import re
from collections.abc import Mapping, Sequence

from advisor.frozen import dataclass
from advisor.rulebook.label import LabelRules
from advisor.schema.base import Market
from advisor.schema.material import Material
from advisor.sums import summed

_COLOUR_INDEX = re.compile(r"^CI \d{5}", re.IGNORECASE)
_ALLERGEN_FIGURE = re.compile(r"^(?P<name>.+?)[:\s]+(?P<percent>\d+(?:\.\d+)?)\s*%")
_WET_FORMS = frozenset({"liquid", "paste"})


@dataclass(frozen=True, slots=True)
class Declared:
    """One name a material brings; ``share`` 0..1 of the material, None where its amount is not known."""

    name: str
    share: float | None
    colourant: bool = False


@dataclass(frozen=True, slots=True)
class Declaration:
    """All names of a material; ``from_composition`` where its supplier declares nothing."""

    names: tuple[Declared, ...]
    from_composition: bool
    of_other_market: bool


def declaration(material: Material, market: Market, rules: LabelRules) -> Declaration:
    """Return the names a material brings to the list of a market.

    The supplier's declaration says which names stand on the label; the composition says how much of each.
    By-products (salt, caustic, free alcohol) stay off, unless nothing is declared at all.

    Parameters
    ----------
    material : Material
        The material as supplied.
    market : Market
        "none" is read as "eu".
    rules : LabelRules
        Names of water and parfum, and when undeclared water counts.
    """
    amounts = summed((rules.key(name), percent / 100) for name, percent in material.composition.items())
    written, twins, other_market = _written(material, market, rules)
    if written is None:
        names = tuple(
            Declared(name, amounts.pop(key), _is_colourant(material, (name,), tuple(material.composition)))
            for name in material.composition
            if (key := rules.key(name)) in amounts
        )
        return Declaration(names, from_composition=True, of_other_market=False)
    shares = _shares(written, twins, amounts, rules)
    every = (*written, *twins)
    names = tuple(
        Declared(name, share, _is_colourant(material, (name, twin), every))
        for name, twin, share in zip(written, twins, shares, strict=True)
    )
    carried = amounts.get("aqua", 0.0)
    holds_water = any(rules.key(name) == "aqua" for name in written)
    if not holds_water and material.form in _WET_FORMS and 100 * carried >= rules.carrier.water_percent:
        names = (*names, Declared(rules.names.water[0], carried))
    return Declaration(names, from_composition=False, of_other_market=other_market)


def allergen_shares(material: Material, rules: LabelRules) -> dict[str, float]:
    """Return the share (0..1) of each fragrance allergen in a material, by the name on the list.

    Figures come from the composition and from allergen texts such as "linalool 1.2 %"; where both name the
    same allergen the larger one counts.
    """
    composed = summed(
        (entry, percent / 100)
        for name, percent in material.composition.items()
        if (entry := rules.listed.get(rules.key(name))) is not None
    )
    for text in material.allergens:
        figure = _ALLERGEN_FIGURE.match(text)
        entry = rules.listed.get(rules.key(figure["name"])) if figure else None
        if figure and entry is not None:
            composed[entry] = max(composed.get(entry, 0.0), float(figure["percent"]) / 100)
    return composed


def sheet_missing(material: Material, rules: LabelRules) -> bool:
    """Tell whether a material smells and its allergens are not known.

    An oil that is itself on the list says nothing of what it consists of: its sheet is still missing.
    """
    scented = "fragrance" in material.roles or any("unknown" in text for text in material.allergens)
    whole = {rules.listed.get(rules.key(name)) for name in material.composition if is_natural(name)}
    return scented and not set(allergen_shares(material, rules)) - whole


def is_listed_allergen(name: str, rules: LabelRules) -> bool:
    """Tell whether a name stands on the list of fragrance allergens, itself or by its group."""
    return rules.key(name) in rules.listed


def is_natural(name: str) -> bool:
    """Tell whether a name is that of an oil or an extract, a mixture of its own."""
    return name.casefold().endswith((" oil", " extract"))


def _written(
    material: Material, market: Market, rules: LabelRules
) -> tuple[tuple[str, ...] | None, tuple[str, ...], bool]:
    """Return the declared names of a market, the same names of another market, and whether borrowed."""
    declared = material.declared
    if declared is None:
        return None, (), False
    if isinstance(declared, tuple):
        return declared, declared, False
    asked: Market = "eu" if market == "none" else market
    if asked not in declared:
        asked = rules.market[asked].names_of
    borrowed = asked not in declared
    if borrowed:
        asked = "eu" if "eu" in declared else min(declared)
    names = declared[asked]
    for other in ("eu", *sorted(declared)):
        if other != asked and other in declared and len(declared[other]) == len(names):
            return names, declared[other], borrowed
    return names, names, borrowed


def _shares(
    written: Sequence[str], twins: Sequence[str], amounts: Mapping[str, float], rules: LabelRules
) -> list[float | None]:
    """Give each declared name its share: by its own name, by its twin's, else what is left, largest first."""
    left = dict(amounts)
    shares: list[float | None] = []
    for name, twin in zip(written, twins, strict=True):
        key = rules.key(name)
        key = key if key in left else rules.key(twin)
        shares.append(left.pop(key, None))
    rest = sorted((share for key, share in left.items() if key != "aqua"), reverse=True)
    for position, share in enumerate(shares):
        if share is None and rest:
            shares[position] = rest.pop(0)
    return shares


def _is_colourant(material: Material, names: Sequence[str], every: Sequence[str]) -> bool:
    if any(_COLOUR_INDEX.match(name) for name in names):
        return True
    return material.roles[0] == "colourant" and not any(_COLOUR_INDEX.match(name) for name in every)
