"""Where a request comes in: its fields are checked and its names become ingredients."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from advisor.errors import Fault, InvalidRecipe, InvalidRequest, UnknownMaterial, pointer_part
from advisor.frozen import cached_property, dataclass, field
from advisor.recipe.lots import NamedLot, as_delivered, lot_notes, too_little
from advisor.recipe.measures import Amounts, Measures
from advisor.recipe.notebook import Notebook
from advisor.recipe.read import Written, lots_of, read_recipe
from advisor.rulebook.ingredient import Ingredient, compile_material
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.base import KEY_PATTERN, MOST_FAULTS, Faulty
from advisor.schema.findings import Caution, TextItem
from advisor.schema.material import Material
from advisor.schema.recipe import Recipe, Wishes

Request = TypeVar("Request", bound=BaseModel)
NAMES_NONE = "names no material"
_MOST_HINTED = 10
_LONGEST_NAME = 100


def read_request(
    shape: type[Request], request: Request | Mapping[str, Any], rulebook: Rulebook | None = None
) -> Request:
    """Return the request as its shape, its words being those of a rulebook (default: the packaged one).

    Raises
    ------
    InvalidRequest
        A field is missing, unknown, of the wrong type or out of its bounds; each is named by JSON Pointer.
    """
    body = request.model_dump(exclude_unset=True) if isinstance(request, BaseModel) else request
    context = {"words": (rulebook or load_rulebook()).words, "faulty": Faulty()}
    try:
        return shape.model_validate(body, context=context)
    except ValidationError as error:
        found = faults(error, body)
        more = f" The first {MOST_FAULTS} are named; more may be wrong." if len(found) == MOST_FAULTS else ""
        raise InvalidRequest(f"A field of the request is wrong.{more}", found) from None


def faults(error: ValidationError, body: Any) -> list[Fault]:
    """Return the places of a validation error as JSON Pointers into the body."""
    found: dict[str, Fault] = {}
    hints = 0
    for fault in islice(error.errors(include_input=False, include_url=False), 2 * MOST_FAULTS):
        if len(found) == MOST_FAULTS:
            break
        where, at = _place(fault["loc"], body, missing=fault["type"] == "missing")
        if where in found and not isinstance(at, Mapping):
            continue
        if isinstance(at, str) and fault.get("ctx", {}).get("pattern") == KEY_PATTERN:
            hint = _keys_like(at) if hints < _MOST_HINTED else ""
            found[where] = Fault(where, NAMES_NONE, hint)
            hints += 1
        else:
            found[where] = Fault(where, fault["msg"].removeprefix("Value error, "))
    return list(found.values())


def _keys_like(name: str) -> str:
    book = load_rulebook()
    return _hint(book.nearest_keys(name[:_LONGEST_NAME], book.ingredients), book.ingredients)


def with_keys(recipe: dict[str, Any], rulebook: Rulebook) -> dict[str, Any]:
    """Return a recipe in which every name a maker gives one material has become its key.

    Examples
    --------
    >>> with_keys({"lines": [{"material": "Rice flour", "percent": 100.0}]}, load_rulebook())
    {'lines': [{'material': 'rice-flour', 'percent': 100.0}]}
    """
    lines = [
        {**line, "material": rulebook.key_named(line["material"]) or line["material"]}
        for line in recipe["lines"]
    ]
    return {**recipe, "lines": lines}


def _place(loc: Sequence[int | str], body: Any, *, missing: bool) -> tuple[str, Any]:
    """Return the JSON Pointer of a fault and what stands there; branches of a union are no part of it."""
    parts: list[str] = []
    for part in loc:
        if _leads_on(body, part):
            body = body[part]
        elif not missing or part is not loc[-1]:
            continue
        parts.append(pointer_part(str(part)))
    return "".join(f"/{part}" for part in parts), body


def _leads_on(body: Any, part: int | str) -> bool:
    if isinstance(body, Mapping):
        return part in body
    return isinstance(body, list | tuple) and isinstance(part, int) and part < len(body)


@dataclass(frozen=True)
class KnownMaterials:
    """The materials a request may name: inline ones before the shop's own, those before the library's."""

    rulebook: Rulebook
    inline: Mapping[str, Ingredient]
    notebook: Notebook

    def get(self, key: str) -> Ingredient | None:
        """Return an ingredient by its key."""
        return self.inline.get(key) or self.notebook.get(key)

    def of_lot(self, one: Ingredient, named: NamedLot) -> Ingredient:
        """Return an ingredient with the figures of its lot."""
        if named.kept is None:
            return one
        rules = self.rulebook.dough
        return compile_material(as_delivered(one.material, named.kept, rules), rules)

    def all(self, keys: Iterable[tuple[str, str]]) -> dict[str, Ingredient]:
        """Return ingredients by (key, place in the request).

        Raises
        ------
        UnknownMaterial
            With the nearest keys of each that is not known.
        """
        found: dict[str, Ingredient] = {}
        missing: list[tuple[str, str]] = []
        for key, where in keys:
            ingredient = self.get(key)
            if ingredient is None:
                missing.append((key, where))
            else:
                found[key] = ingredient
        if missing:
            names = (*self.inline, *self.notebook.materials, *self.rulebook.ingredients)
            nearest = {key: self.rulebook.nearest_keys(key, names) for key, _ in missing[:_MOST_HINTED]}
            known = {**self.rulebook.ingredients, **self.notebook.materials, **self.inline}
            raise UnknownMaterial(
                f"There is no material {missing[0][0]!r}.",
                [Fault(where, NAMES_NONE, _hint(nearest.get(key, ()), known)) for key, where in missing],
                nearest_keys=nearest[missing[0][0]],
            )
        return found


def _hint(nearest: Sequence[str], known: Mapping[str, Ingredient]) -> str:
    meant = " or ".join(f"{known[key].name} ({key})" for key in nearest[:3])
    return f"did you mean {meant}?" if nearest else "send it in the field materials"


def known_materials(
    materials: Sequence[Material] | None, rulebook: Rulebook, notebook: Notebook | None = None
) -> KnownMaterials:
    """Return the materials a request may name, with what the shop's notebook knows besides.

    Raises
    ------
    InvalidRequest
        A key stands twice in ``materials``.
    """
    inline: dict[str, Ingredient] = {}
    for index, material in enumerate(materials or ()):
        if material.key in inline:
            raise InvalidRequest(
                f"The material {material.key!r} is given twice.",
                [Fault(f"/materials/{index}/key", "stands in an earlier material")],
            )
        inline[material.key] = compile_material(material, rulebook.dough)
    return KnownMaterials(rulebook, inline, notebook or Notebook(rulebook.dough, rulebook.ingredients))


def opened(
    shape: type[Request],
    request: Request | Mapping[str, Any],
    rulebook: Rulebook | None,
    notebook: Notebook | None,
) -> tuple[Request, KnownMaterials]:
    """Return the request of a task as its shape, and every material it may name.

    Raises
    ------
    InvalidRequest
        A field is wrong, or a key stands twice in ``materials``.
    """
    rules = rulebook or load_rulebook()
    wanted = read_request(shape, request, rules)
    return wanted, known_materials(getattr(wanted, "materials", None), rules, notebook)


@dataclass(frozen=True)
class Formula:
    """A recipe with every material that may be used for it, in canonical order, and the lots it names.

    ``stock``: what all lots of a material hold together [g], of those of which every lot says it.
    """

    written: Written
    amounts: Mapping[str, float]
    measures: Measures
    notes: tuple[TextItem, ...]
    lots: Mapping[str, NamedLot] = field(default_factory=dict)
    stock: Mapping[str, float] = field(default_factory=dict)

    @cached_property
    def ingredients(self) -> Mapping[str, Ingredient]:
        """Every material that may be used."""
        return self.measures.ingredients

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of every material that may be used."""
        return tuple(self.measures.ingredients)

    @property
    def lot_names(self) -> dict[str, str]:
        """The lot of each material that has one."""
        return {key: named.lot for key, named in self.lots.items()}

    def lot(self, key: str) -> str | None:
        """Return the lot of a material, None where none is named."""
        return self.lots[key].lot if key in self.lots else None

    def short_of(self, grams: Amounts) -> Iterator[Caution]:
        """Yield of which materials more is wanted [g] than all lots hold, where none is named."""
        for key, one in self.ingredients.items():
            held, wanted = self.stock.get(key, math.inf), grams.get(key, 0.0)
            if wanted > held and key not in self.lots:
                told = f"All lots of {one.name} together hold {held:g} g"
                yield Caution(id="stock-too-little", text=too_little(told, held, wanted), standing=False)


def read_formula(
    recipe: Recipe,
    known: KnownMaterials,
    shelf: Sequence[str] | None = None,
    where: str = "/recipe",
    lots: Mapping[str, str] | None = None,
    wishes: Wishes | None = None,
) -> Formula:
    """Read a recipe and lay out its materials with those of the shelf.

    ``lots`` names lots beside those that stand in the lines. A lot's own figures take the place of its
    material's. ``wishes`` may speak only of what is there.

    Raises
    ------
    InvalidRecipe, UnknownMaterial, InvalidRequest
    """
    written = read_recipe(recipe, where)
    named = [(line.material, f"{where}/lines/{i}/material") for i, line in enumerate(recipe.lines)]
    named += [(key, f"/shelf/{i}") for i, key in enumerate(shelf or ())]
    ingredients = dict(sorted(known.all(named).items()))
    if written.grams is not None and written.grams <= 0:
        raise InvalidRecipe("The recipe weighs nothing.", [Fault(f"{where}/lines", "weighs nothing")])
    used = {
        key: NamedLot(ingredients[key].name, lot, known.notebook.lots.get((key, lot)))
        for key, lot in sorted(lots_of(recipe, lots, where).items())
        if key in ingredients
    }
    ingredients |= {key: known.of_lot(ingredients[key], named) for key, named in used.items()}
    if wishes is not None:
        check_wished_keys(wishes, ingredients, written.percents)
    amounts = {key: written.percents.get(key, 0.0) for key in ingredients}
    told = (named for key, named in used.items() if named.kept is not None or key not in (lots or {}))
    notes = (*written.notes, *lot_notes(told))
    return Formula(written, amounts, Measures(ingredients), notes, used, known.notebook.stock)


def check_wished_keys(wishes: Wishes, ingredients: Mapping[str, Ingredient], recipe: Iterable[str]) -> None:
    """Refuse wishes about materials that are neither in the recipe nor on the shelf.

    Raises
    ------
    InvalidRequest
    """
    present = set(recipe)
    wrong = [
        Fault(f"/wishes/fixed/{i}", "is not in the recipe, so there is nothing to hold")
        for i, key in enumerate(wishes.fixed)
        if key not in present and key not in ingredients
    ]
    wrong += [
        Fault(f"/wishes/lines/{key}", "is neither in the recipe nor on the shelf")
        for key in wishes.lines
        if key not in ingredients
    ]
    if wrong:
        raise InvalidRequest("A wish names a material that is not at hand.", wrong)
