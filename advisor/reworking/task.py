"""The rework: trimmings or cracked bars as a material for a later batch."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from pydantic import ValidationError

from advisor.case.case import Case
from advisor.case.watch import cautions_of, rework_name
from advisor.drying.filling import mass_left
from advisor.errors import Fault, InvalidRequest
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.reworking.made import Made
from advisor.reworking.schema import ReworkAnswer, ReworkRequest
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem
from advisor.schema.material import Material, Range

_SAME = 1e-9


def rework(
    request: ReworkRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> ReworkAnswer:
    """Return the dough or the bars of a recipe as one material of role ``rework``.

    Parameters
    ----------
    request : ReworkRequest or mapping
        The recipe it is of, whether it has dried, and how much there is of it.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials and lots.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Every component keeps its mass; of a dried bar water alone has left, by the recipe's own estimate where
    ``mass_left`` is not told. Fresh dough neither wets nor dries a dough of its kind; dried rework asks for
    the water it lost.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = rework({"recipe": {"name": "Weir bar", "lines": lines}, "dried": False})
    >>> answer.material.key, round(answer.material.active, 2), answer.material.use.max
    ('rework-weir-bar', 67.8, 15.0)
    """
    wanted, known = opened(ReworkRequest, request, rulebook, notebook)
    rules = known.rulebook
    formula = read_formula(wanted.recipe, known, lots=wanted.lots)
    _check_lots(wanted, formula)
    case = Case.at(formula, known)
    made = Made(formula, _lost(wanted, formula))
    dates = [one.kept.expires for one in formula.lots.values() if one.kept and one.kept.expires]
    expires = min(dates) if dates else None
    return ReworkAnswer(
        material=_bounded(wanted, made, rules),
        lots={key: one.lot for key, one in formula.lots.items()},
        expires=expires,
        cautions=cautions_of(case, formula.amounts),
        notes=(*formula.notes, *_notes(wanted, made, expires, rules)),
        rules_version=rules.edition,
    )


def _check_lots(wanted: ReworkRequest, formula: Formula) -> None:
    """Refuse a lot of a material that is not in the recipe.

    Raises
    ------
    InvalidRequest
    """
    wrong = [
        Fault(f"/lots/{key}", "is not in the recipe")
        for key in wanted.lots or {}
        if key not in formula.amounts
    ]
    if wrong:
        raise InvalidRequest("A lot is of a material that is not in the recipe.", wrong)


def _lost(wanted: ReworkRequest, formula: Formula) -> float:
    """Return how much water has left 100 g of dough [g].

    Raises
    ------
    InvalidRequest
        Fresh dough has lost nothing, and no bar more than its water.
    """
    if not wanted.dried:
        if wanted.mass_left is not None:
            fault = Fault("/mass_left", "is of a dried bar only", "leave it out, or say dried")
            raise InvalidRequest("Fresh dough has lost no water.", [fault])
        return 0.0
    most = Made(formula, 0.0).aqua
    if wanted.mass_left is None:
        return min(most, 100.0 - mass_left(formula.measures, formula.amounts).typical)
    if 100.0 - wanted.mass_left > most + _SAME:
        fault = Fault("/mass_left", f"is less than the dough without its water, {100 - most:.2f} g of 100 g")
        raise InvalidRequest("The bar would have lost more than all its water.", [fault])
    return 100.0 - wanted.mass_left


def _bounded(wanted: ReworkRequest, made: Made, rules: Rulebook) -> Material:
    """Return the material.

    Raises
    ------
    InvalidRequest
        The recipe holds more than one material may say of itself.
    """
    try:
        return _material(wanted, made, rules)
    except ValidationError as error:
        fields = dict.fromkeys(str(one["loc"][0]).replace("_", " ") for one in error.errors())
        faults = [Fault("/recipe", f"gives more for {field} than a material may hold") for field in fields]
        raise InvalidRequest("The recipe holds more than one material can say of itself.", faults) from None


def _material(wanted: ReworkRequest, made: Made, rules: Rulebook) -> Material:
    share = rules.rework.dried if wanted.dried else rules.rework.fresh
    name = made.formula.written.name
    return Material(
        key=made.key,
        name=rework_name(name),
        form="granule" if wanted.dried else "paste",
        fineness="fine" if wanted.dried else None,
        roles=("rework",),
        charge=made.charge,
        composition=made.composition,
        active=made.active,
        water=made.water,
        water_kind="moisture" if wanted.dried else "free",
        uptake=_returned(made, rules) if wanted.dried else None,
        wetting=None if wanted.dried else 0.0,
        price_per_kg=made.price,
        use=Range(min=0.0, max=share.most_percent),
        declared=made.declared(rules.label),
        hazards=made.hazards,
        allergens=made.allergens,
        flags=made.flags,
        basis="own",
        source=f"rework of {name}"[:200] if name else "rework",
    )


def _returned(made: Made, rules: Rulebook) -> float:
    """Return the liquid that one gram of dried rework asks back, as reference liquid [g]."""
    return made.lost / made.left * rules.ingredients[rules.rework.dried.returned_by].wetting


def _notes(wanted: ReworkRequest, made: Made, expires: date | None, rules: Rulebook) -> Iterator[TextItem]:
    told = rules.rework.text
    share = rules.rework.dried if wanted.dried else rules.rework.fresh

    def note(sentence: str, **filled: object) -> TextItem:
        return TextItem(id=f"rework-{sentence}", text=told[sentence].format(**filled))

    yield note("never")
    yield note("share", most=share.most_percent, other=rules.rework.other.most_percent)
    if not made.formula.written.name:
        yield note("nameless", other=rules.rework.other.most_percent)
    if wanted.dried:
        yield note("returned", grams=100 * made.lost / made.left)
    else:
        yield note("fresh")
    rework = 10 * share.most_percent
    water = rework * made.lost / made.left
    told_water = told["next_water"].format(grams=water) if wanted.dried else ""
    yield note("next", rework=rework, water=told_water, rest=1000 - rework - water)
    if wanted.grams is not None:
        yield note("enough", grams=wanted.grams, batch=100 * wanted.grams / share.most_percent)
    lots = [f"{one.lot} of {one.material}" for one in made.formula.lots.values()]
    if lots:
        yield note("lots", lots="; ".join(lots))
    if expires is not None:
        yield note("oldest", date=expires)
