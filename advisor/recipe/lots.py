"""Where a lot's own figures take the place of its material's typical ones."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from advisor.frozen import dataclass
from advisor.recipe.grams import listed
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import typical
from advisor.schema.base import WHOLE
from advisor.schema.findings import Caution, TextItem
from advisor.schema.lot import Lot
from advisor.schema.material import Material, PercentFigure, UptakeFigure

_WATER = "Aqua"
_WET = ("liquid", "paste")


def as_delivered(material: Material, lot: Lot, rules: DoughRules) -> Material:
    """Return a material with what the certificate of a lot says of it.

    More active matter stands in the place of water in a liquid, of everything else in a powder; less makes
    room likewise. A liquid with more of it wets less.

    Parameters
    ----------
    material : Material
    lot : Lot
        Active matter and free fatty acid in percent of the lot.
    rules : DoughRules

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> strong = as_delivered(book.ingredients["betaine-30"].material, Lot(active=34.0), book.dough)
    >>> strong.composition["Cocamidopropyl Betaine"], strong.composition["Aqua"], strong.wetting.typical
    (34.0, 60.0, 0.98)
    """
    changed: dict[str, Any] = {}
    composition = dict(material.composition)
    surfactant = _surfactant(material)
    if lot.active is not None:
        more = lot.active - typical(material.active)
        changed["active"] = PercentFigure(typical=lot.active, low=lot.active, high=lot.active, basis="own")
        if surfactant is not None:
            composition = _with(composition, surfactant, composition[surfactant] + more, material)
        if material.form in _WET:
            changed["wetting"] = _wetting(material, more, rules)
    acid = _fatty_acid(material, rules)
    if lot.free_fatty_acid is not None and acid is not None:
        composition = _with(composition, acid, lot.free_fatty_acid, material, held=surfactant)
    if composition != material.composition:
        changed["composition"] = composition
        if material.water is not None and material.form in _WET:
            wetter = composition.get(_WATER, 0.0) - material.composition.get(_WATER, 0.0)
            changed["water"] = min(100.0, max(0.0, typical(material.water) + wetter))
    if lot.price_per_kg is not None:
        changed["price_per_kg"] = lot.price_per_kg
    if lot.fineness is not None:
        changed["fineness"] = lot.fineness
    return material.model_copy(update=changed)


def _surfactant(material: Material) -> str | None:
    """Return the component that is the active matter: the one whose share is nearest to the activity."""
    active = typical(material.active)
    dry = {name: share for name, share in material.composition.items() if name != _WATER}
    if not active or not dry:
        return None
    return min(sorted(dry), key=lambda name: abs(dry[name] - active))


def _fatty_acid(material: Material, rules: DoughRules) -> str | None:
    """Return the name free fatty acid goes by in a material; None where it has no place of its own."""
    usual = rules.lot.fatty_acids
    there = [name for name in usual if name in material.composition]
    return there[0] if there else usual[0] if _surfactant(material) else None


def _with(
    composition: Mapping[str, float], name: str, share: float, material: Material, held: str | None = None
) -> dict[str, float]:
    """Return a composition with another share of one component [%]; the others make room or fill up."""
    rest = {other: part for other, part in composition.items() if other not in (name, held)}
    before = composition.get(name, 0.0)
    more = min(share - before, sum(rest.values()))
    if not rest:
        return dict(composition)
    if material.form in _WET and rest.get(_WATER, 0.0) >= more:
        rest = {**rest, _WATER: rest.get(_WATER, 0.0) - more}
    else:
        room = sum(rest.values())
        rest = {other: part * (room - more) / room for other, part in rest.items()}
    found = {**composition, **rest, name: before + more}
    return {other: round(part, 9) for other, part in found.items() if part > 1e-9}


def _wetting(material: Material, more: float, rules: DoughRules) -> UptakeFigure:
    now = typical(material.wetting, rules.form_prior.wetting.get(material.form, 1.0))
    changed = min(20.0, max(0.0, round(now + rules.lot.wetting_per_point * more, 4)))
    return UptakeFigure(typical=changed, basis="estimate", source=rules.lot.source)


@dataclass(frozen=True, slots=True)
class NamedLot:
    """A lot a recipe names: of which material, and what is kept of it, None where nothing is."""

    material: str
    lot: str
    kept: Lot | None

    def cautions(self, today: datetime.date | None, grams: float) -> Iterator[Caution]:
        """Yield what speaks against using it: its dates on a day, its stock where ``grams`` are wanted."""
        kept, name = self.kept, f"Lot {self.lot} of {self.material}"
        if kept is None:
            return
        if kept.expires is not None and today is not None and kept.expires < today:
            text = f"{name} expired on {kept.expires}: test it or take another."
            yield Caution(id="lot-expired", text=text, standing=False)
        if kept.received is not None and today is not None and kept.received > today:
            text = f"{name} was received on {kept.received}, after {today}: is it the right lot?"
            yield Caution(id="lot-not-yet-there", text=text, standing=False)
        if kept.stock_grams is not None and grams > kept.stock_grams:
            text = too_little(f"{name} has {kept.stock_grams:g} g in stock", kept.stock_grams, grams)
            yield Caution(id="lot-too-little", text=text, standing=False)


def too_little(told: str, stock: float, wanted: float) -> str:
    """Return what is told of a stock, and how far it goes where more is wanted [g]."""
    return f"{told}, and {wanted:.5g} g are wanted: enough for {WHOLE * stock / wanted:.3g} % of the batch."


def lot_notes(lots: Iterable[NamedLot]) -> Iterator[TextItem]:
    """Yield what an answer takes from the lots of a recipe, and of which ones nothing is kept."""
    missing = []
    for one in lots:
        if one.kept is None:
            missing.append(f"{one.lot} of {one.material}")
            continue
        told = ", ".join(_figures(one.kept)) or "none that change a recipe"
        yield TextItem(id="lot", text=f"Lot {one.lot} of {one.material} has its own figures: {told}.")
    if missing:
        text = f"No figures of lot {listed(missing)} are kept; typical ones stand in."
        yield TextItem(id="lot-without-figures", text=text)


def _figures(kept: Lot) -> Iterator[str]:
    for value, told in (
        (kept.active, "active matter {:g} %"),
        (kept.free_fatty_acid, "free fatty acid {:g} %"),
        (kept.fineness, "{}"),
        (kept.price_per_kg, "price {:g} per kg"),
    ):
        if value is not None:
            yield told.format(value)


def lot_cautions(
    lots: Mapping[str, NamedLot], today: datetime.date | None, grams: Mapping[str, float]
) -> tuple[Caution, ...]:
    """Return what speaks against the lots of a recipe, ``grams`` being what is wanted by material [g]."""
    return tuple(item for key, one in lots.items() for item in one.cautions(today, grams.get(key, 0.0)))
