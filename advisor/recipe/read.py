"""Where a recipe as written becomes amounts that add up to exactly 100."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from advisor.errors import Fault, InvalidRecipe
from advisor.frozen import dataclass
from advisor.optimise.rounding import largest_remainder
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Line, Recipe

_TOTAL_WITHIN = Decimal("0.05")
_MOST_DECIMALS = 4
_LEAST_DECIMALS = 2


@dataclass(frozen=True, slots=True)
class Written:
    """A recipe in percent, lines as written; ``grams`` is what it weighed where it came in grams."""

    name: str
    percents: dict[str, float]
    decimals: int
    grams: float | None
    notes: tuple[TextItem, ...]


def read_recipe(recipe: Recipe, where: str = "/recipe") -> Written:
    """Check units, repeated lines and the total, and return percents that add up to exactly 100.

    Raises
    ------
    InvalidRecipe
        Lines in mixed units or without an amount, a material that stands twice, or percents that do not add
        up to 100 within 0.05.

    Examples
    --------
    >>> lines = [{"material": "kaolin", "grams": 30.0}, {"material": "water", "grams": 10.0}]
    >>> read_recipe(Recipe.model_validate({"lines": lines})).percents
    {'kaolin': 75.0, 'water': 25.0}
    """
    _refuse_repeats(recipe.lines, where)
    if _unit(recipe.lines, where) == "grams":
        return _from_grams(recipe)
    given = {line.material: Decimal(repr(line.percent)) for line in recipe.lines}
    total = sum(given.values(), Decimal(0))
    if abs(total - 100) > _TOTAL_WITHIN:
        raise InvalidRecipe(
            f"The percents add up to {total.normalize():f} %, not to 100.",
            [Fault(f"{where}/lines", f"adds up to {total.normalize():f} %", "make the lines add up to 100")],
        )
    decimals = max(
        _LEAST_DECIMALS, *(-int(value.normalize().as_tuple().exponent) for value in given.values())
    )
    if total == 100 and decimals <= _MOST_DECIMALS:
        return Written(recipe.name, {key: float(value) for key, value in given.items()}, decimals, None, ())
    decimals = min(decimals, _MOST_DECIMALS)
    note = TextItem(
        id="normalised",
        text=f"The percents add up to {total.normalize():f} and were scaled to 100.",
    )
    return Written(recipe.name, _shared_out(given, total, decimals), decimals, None, (note,))


def lots_of(recipe: Recipe, lots: Mapping[str, str] | None, where: str = "/recipe") -> dict[str, str]:
    """Return the lots of a recipe by material, named by its lines or beside it.

    Raises
    ------
    InvalidRecipe
        A line names another lot than stands beside the recipe.

    Examples
    --------
    >>> lines = [{"material": "kaolin", "percent": 60, "lot": "K-1"}, {"material": "water", "percent": 40}]
    >>> lots_of(Recipe.model_validate({"lines": lines}), {"water": "tap"})
    {'kaolin': 'K-1', 'water': 'tap'}
    """
    beside = lots or {}
    named = {line.material: line.lot for line in recipe.lines if line.lot is not None}
    faults = [
        Fault(f"{where}/lines/{place}/lot", f"is not {beside[line.material]!r}, which stands in lots")
        for place, line in enumerate(recipe.lines)
        if line.lot is not None and beside.get(line.material, line.lot) != line.lot
    ]
    if faults:
        raise InvalidRecipe("A line names another lot than the dough.", faults)
    return {**named, **beside}


def _refuse_repeats(lines: Sequence[Line], where: str) -> None:
    seen: set[str] = set()
    faults = []
    for index, line in enumerate(lines):
        if line.material in seen:
            faults.append(
                Fault(f"{where}/lines/{index}/material", "stands in an earlier line", "add the two together")
            )
        seen.add(line.material)
    if faults:
        raise InvalidRecipe("A material stands in more than one line.", faults)


def _unit(lines: Sequence[Line], where: str) -> str:
    """Return the unit of most lines; a line without exactly one amount has none."""
    units = [_unit_of(line) for line in lines]
    unit = "grams" if units.count("grams") > units.count("percent") else "percent"
    faults = [
        Fault(
            f"{where}/lines/{index}",
            f"is in {one}, not in {unit} like most lines" if one else "needs either percent or grams",
        )
        for index, one in enumerate(units)
        if one != unit
    ]
    if faults:
        raise InvalidRecipe("Every line needs one amount, all in the same unit.", faults)
    return unit


def _unit_of(line: Line) -> str:
    if (line.percent is None) == (line.grams is None):
        return ""
    return "percent" if line.grams is None else "grams"


def _from_grams(recipe: Recipe) -> Written:
    given = {line.material: Decimal(repr(line.grams)) for line in recipe.lines}
    total = sum(given.values(), Decimal(0))
    percents = _shared_out(given, total, _MOST_DECIMALS)
    decimals = max(
        _LEAST_DECIMALS,
        *(-int(Decimal(repr(value)).normalize().as_tuple().exponent) for value in percents.values()),
    )
    return Written(recipe.name, percents, decimals, float(total), ())


def _shared_out(given: dict[str, Decimal], total: Decimal, decimals: int) -> dict[str, float]:
    scale = 10**decimals
    units = largest_remainder({k: float(v * 100 * scale / total) for k, v in given.items()}, 100 * scale)
    return {key: count / scale for key, count in units.items()}
