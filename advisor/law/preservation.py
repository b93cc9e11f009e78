"""What can be said of the preservation of a recipe, and of what cannot."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

from advisor.frozen import dataclass
from advisor.law.acidity import undissociated
from advisor.recipe.grams import listed
from advisor.rulebook.acidity import PreservationRules
from advisor.rulebook.ingredient import typical
from advisor.rulebook.law import LawBook
from advisor.rulebook.naming import plain
from advisor.rulebook.substances import Substances, as_acid
from advisor.schema.findings import TextItem
from advisor.schema.material import Material

_REMEMBERED = 1024
State = Literal["inside", "outside", "not known"]
Lines = Sequence[tuple[float, Material]]


@dataclass(frozen=True, slots=True)
class FreeAcid:
    """One preservative acid or salt at a pH.

    ``share`` is the undissociated share (0..1), ``percent`` the free acid [% of the recipe].
    """

    component: str
    share: float
    percent: float


@dataclass(frozen=True, slots=True)
class Preservative:
    """One preservative of a recipe [% as supplied], the level it works from, and what the pH means for it.

    ``standing``: one of its components is a listed preservative; all of them are known to be none; or a list
    would have to be looked up.
    """

    key: str
    name: str
    percent: float
    working_level: float | None
    at_ph: State
    free_acids: tuple[FreeAcid, ...]
    standing: Literal["listed", "multifunctional", "unknown"]


def preservatives(
    lines: Lines, ph: float | None, substances: Substances, law: LawBook
) -> tuple[Preservative, ...]:
    """Return what is known of each preservative of a recipe.

    Parameters
    ----------
    lines : sequence of (percent, Material)
        The recipe [% by mass].
    ph : float, optional
        Measured pH of the bar in dispersion; without it nothing is known to work.
    substances : mapping
        Dissociation constants and molar masses.
    law : LawBook
        The market whose limits say which components are listed preservatives.
    """
    return tuple(
        Preservative(
            key=material.key,
            name=material.name,
            percent=percent,
            working_level=material.use.min if material.use is not None else None,
            at_ph=_state(material, ph),
            free_acids=() if ph is None else _free_acids(percent, material, ph, substances),
            standing=_standing(tuple(material.composition), law),
        )
        for percent, material in sorted(
            (line for line in lines if line[0] > 0 and "preservative" in line[1].roles),
            key=lambda line: line[1].key,
        )
    )


def preservation_texts(
    found: Sequence[Preservative], lines: Lines, ph: float | None, rules: PreservationRules
) -> tuple[TextItem, ...]:
    """Say what is known of the preservation, always ending with what it cannot prove.

    Parameters
    ----------
    found : sequence of Preservative
        What ``preservatives`` gives.
    lines : sequence of (percent, Material)
        The same recipe.
    ph : float, optional
        The same pH.
    rules : PreservationRules
        Sentences, and below which free share an acid is as good as none.
    """
    materials = {material.key: material for _, material in lines}
    said = [text for item in found for text in _of_one(item, materials[item.key], ph, rules)]
    if not found:
        said.append(_said("none", rules))
    elif all(item.standing == "multifunctional" for item in found):
        said.append(_said("only_multifunctional", rules))
    return (*said, _said("challenge", rules))


def preservation_missing(
    found: Sequence[Preservative], lines: Lines, ph: float | None, rules: PreservationRules
) -> TextItem | None:
    """Return the sentence that nothing preserves a wet recipe: there is nothing, or the pH makes it useless.

    Parameters
    ----------
    found : sequence of Preservative
        What ``preservatives`` gives.
    lines : sequence of (percent, Material)
        The same recipe.
    ph : float, optional
        The same pH; where it is not known, nothing is called useless.
    rules : PreservationRules
    """
    if not found:
        water = sum(
            percent * typical(material.water, material.composition.get("Aqua", 0.0)) / 100
            for percent, material in lines
        )
        if water < rules.wet_from_percent:
            return None
        return TextItem(id="no-preservative", text=rules.text["no_preservative"])
    if ph is None or not all(_useless(item, rules) for item in found):
        return None
    names = listed(item.name for item in found)
    tops = [m.works_ph.max for _, m in lines if "preservative" in m.roles and m.works_ph and m.works_ph.max]
    low = [m.works_ph.min for _, m in lines if "preservative" in m.roles and m.works_ph and m.works_ph.min]
    if tops and ph > max(tops):
        reach = f"{max(tops):g} or under"
    elif low and ph < min(low):
        reach = f"{min(low):g} or over"
    else:
        reach = ""
    text = rules.text["useless" if reach else "useless_soap"].format(ph=f"{ph:g}", names=names, reach=reach)
    return TextItem(id="preservative-useless", text=text)


def _useless(item: Preservative, rules: PreservationRules) -> bool:
    """Tell whether a preservative does nothing at the pH it was looked at."""
    weak = [acid.share < rules.free_acid_low for acid in item.free_acids]
    return item.at_ph == "outside" or (bool(weak) and all(weak))


@lru_cache(maxsize=_REMEMBERED)
def _standing(components: tuple[str, ...], law: LawBook) -> Literal["listed", "multifunctional", "unknown"]:
    if any(law.preserves(name) for name in components):
        return "listed"
    return "multifunctional" if all(plain(name) in law.known_unlisted for name in components) else "unknown"


def _state(material: Material, ph: float | None) -> State:
    window = material.works_ph
    if ph is None or window is None or (window.min is None and window.max is None):
        return "not known"
    return "inside" if window.holds(ph) else "outside"


def _free_acids(
    percent: float, material: Material, ph: float, substances: Substances
) -> tuple[FreeAcid, ...]:
    acids = []
    for name, held in material.composition.items():
        substance = substances.get(name.casefold())
        if substance is None:
            continue
        acid = substances[substance.acid.casefold()] if substance.acid is not None else substance
        if len(acid.pka) != 1:
            continue
        share = undissociated(ph, acid.pka[0])
        acids.append(FreeAcid(name, share, percent * held / 100 * as_acid(name, substances) * share))
    return tuple(acids)


def _of_one(
    item: Preservative, material: Material, ph: float | None, rules: PreservationRules
) -> list[TextItem]:
    said = []
    window = material.works_ph
    if window is None or (window.min is None and window.max is None):
        said.append(_said("ph_no_range", rules, item.key, name=item.name))
    else:
        low, high = (
            "the acid end" if window.min is None else f"{window.min:g}",
            "the alkaline end" if window.max is None else f"{window.max:g}",
        )
        kind = "ph_unknown" if ph is None else "ph_inside" if item.at_ph == "inside" else "ph_outside"
        said.append(_said(kind, rules, item.key, name=item.name, ph=f"{ph or 0.0:g}", low=low, high=high))
    for acid in item.free_acids:
        weak = acid.share < rules.free_acid_low
        said.append(
            _said(
                "free_acid_low" if weak else "free_acid",
                rules,
                item.key,
                component=acid.component,
                ph=f"{ph:g}",
                share=f"{100 * acid.share:.1f}",
                percent=f"{acid.percent:.3f}",
            )
        )
    if item.working_level is not None and item.percent < item.working_level - 1e-9:
        level, percent = f"{item.working_level:g}", f"{item.percent:.2f}"
        said.append(_said("below", rules, item.key, name=item.name, percent=percent, low=level))
    if item.standing != "listed":
        said.append(_said(item.standing, rules, item.key, name=item.name))
    return said


def preservation_change(
    found: Sequence[Preservative], before: Mapping[str, float], rules: PreservationRules
) -> list[TextItem]:
    """Say what a change did to the preservatives; ``before`` holds the percent of each, by key."""
    said = []
    now = {item.key: item for item in found}
    if set(now) != {key for key, percent in before.items() if percent > 0}:
        said.append(_said("swapped", rules))
    for key, item in now.items():
        earlier = before.get(key, 0.0)
        if earlier > item.percent + 1e-9:
            figures = {"before": f"{earlier:.2f}", "after": f"{item.percent:.2f}"}
            said.append(_said("diluted", rules, key, name=item.name, **figures))
    return said


def _said(kind: str, rules: PreservationRules, key: str = "", **filled: str) -> TextItem:
    name = f"preservation-{kind.replace('_', '-')}"
    return TextItem(id=f"{name}-{key}" if key else name, text=rules.text[kind].format(**filled))
