"""Twenty ordinary recipes of eight families that a master would call sound, and grids of what makers ask about them.

Every recipe adds up to 100, keeps each usual range, lies within EU and US law as made and as dried, carries a
preservative at its working level and, at 20 C with its fats set, is about as wet as its powders ask (0.85 to 1.15).
All generators yield in a fixed order, so that a seeded tenth of a grid is the same tenth every time.
"""

import random
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

Request = dict[str, Any]

FEELS = ("too_wet", "too_dry", "crumbling", "cracks_while_drying", "stays_soft", "workable")
DEGREES = ("slight", "clear", "severe")
MARKETS = ("none", "eu", "uk", "us", "ca", "jp")
AIMS = ("closest", "lowest_cost")
BALANCES = (0.01, 0.1, 1.0)
BATCHES = (50.0, 200.0, 500.0, 1000.0, 3000.0)
# What stands in every maker's cupboard and could make a bar cheaper or be reached for in a hurry.
CUPBOARD = (
    "corn-starch",
    "kaolin",
    "coco-sulfate-powder",
    "sunflower-oil",
    "glycerin",
    "water",
    "maltodextrin",
)


class Ordinary(NamedTuple):
    """A sound recipe: its name, its family and the percent of every line."""

    name: str
    family: str
    lines: dict[str, float]

    def recipe(self) -> Request:
        """Return the recipe as a request holds it, in percent."""
        return {
            "name": self.name,
            "lines": [{"material": key, "percent": percent} for key, percent in self.lines.items()],
        }

    def bowl(self, grams: float) -> Request:
        """Return the recipe as weighed into a bowl of so many grams."""
        return {
            "name": self.name,
            "lines": [
                {"material": key, "grams": round(percent * grams / 100, 4)}
                for key, percent in self.lines.items()
            ],
        }

    def held(self, materials: dict[str, Request]) -> set[str]:
        """Return the lines that are no lever of the dough, by what the library says of each material."""
        return {key for key in self.lines if is_held(materials[key])}


HELD_ROLES = {"preservative", "fragrance", "colourant", "featured", "acid", "base", "chelator"}
HELD_NAMES = {
    "Xanthan Gum",
    "Cyamopsis Tetragonoloba Gum",
    "Hydroxypropyl Guar",
    "Guar Hydroxypropyltrimonium Chloride",
    "Polyquaternium-10",
    "Silica",
    "Hydrated Silica",
}


def is_held(material: Request) -> bool:
    """Say whether a master would leave a line of this material alone: by its first role, a gum or silica by what it is."""
    mainly = {name for name, percent in material["composition"].items() if percent >= 50}
    return material["roles"][0] in HELD_ROLES or bool(mainly & HELD_NAMES)


CASES = Path(__file__).parent / "ordinary.toml"
RECIPES = tuple(
    Ordinary(block["name"], block["family"], {key: float(percent) for key, percent in block["lines"].items()})
    for block in tomllib.loads(CASES.read_text(encoding="utf-8"))["recipe"]
)
FAMILIES = tuple(dict.fromkeys(one.family for one in RECIPES))


def one_of_each() -> tuple[Ordinary, ...]:
    """Return the first recipe of every family."""
    return tuple(next(one for one in RECIPES if one.family == family) for family in FAMILIES)


def reports(feels: Iterable[str] = FEELS, degrees: Iterable[str] = DEGREES) -> Iterator[Request]:
    """Yield every feel in every degree; a workable dough has none."""
    for feel in feels:
        if feel == "workable":
            yield {"feel": feel}
        else:
            yield from ({"feel": feel, "degree": degree} for degree in degrees)


def wishes(markets: Iterable[str] = MARKETS, aims: Iterable[str] = AIMS) -> Iterator[Request]:
    """Yield every aim in every market."""
    for market in markets:
        for aim in aims:
            yield {"market": market, "aim": aim}


class Asked(NamedTuple):
    """A request of the grid and the ordinary recipe it is about."""

    about: Ordinary
    request: Request

    @property
    def named(self) -> str:
        """Name the point of the grid in a failure."""
        report = self.request.get("report", {})
        asked = self.request.get("wishes", {})
        words = (report.get("feel"), report.get("degree"), asked.get("market"), asked.get("aim"))
        return ", ".join((self.about.name, *(word for word in words if word)))


def corrections(
    recipes: Sequence[Ordinary] = RECIPES,
    feels: Iterable[str] = FEELS,
    degrees: Iterable[str] = DEGREES,
    markets: Iterable[str] = MARKETS,
    aims: Iterable[str] = AIMS,
    shelf: Sequence[str] = (),
) -> Iterator[Asked]:
    """Yield a correction for every recipe, feel, degree, market and aim."""
    feels, degrees, markets, aims = tuple(feels), tuple(degrees), tuple(markets), tuple(aims)
    for one in recipes:
        for report in reports(feels, degrees):
            for wish in wishes(markets, aims):
                asked = {"recipe": one.recipe(), "report": report, "wishes": wish}
                yield Asked(one, {**asked, "shelf": list(shelf)} if shelf else asked)


def bowls(
    recipes: Sequence[Ordinary] = RECIPES,
    feels: Iterable[str] = FEELS[:-1],
    degrees: Iterable[str] = DEGREES,
    batches: Iterable[float] = BATCHES,
    balances: Iterable[float] = BALANCES,
    market: str = "eu",
) -> Iterator[Asked]:
    """Yield an addition for every recipe, feel, degree, batch and balance, its bowl weighed to the recipe."""
    feels, degrees, batches, balances = tuple(feels), tuple(degrees), tuple(batches), tuple(balances)
    for one in recipes:
        for report in reports(feels, degrees):
            for grams in batches:
                for step in balances:
                    asked = {"recipe": one.bowl(grams), "report": report, "wishes": {"market": market}}
                    yield Asked(one, {**asked, "balance_step": step})


def weighings(
    recipes: Sequence[Ordinary] = RECIPES,
    batches: Iterable[float] = BATCHES,
    balances: Iterable[float] = BALANCES,
    market: str = "eu",
) -> Iterator[Asked]:
    """Yield a weigh sheet for every recipe, batch and balance."""
    batches, balances = tuple(batches), tuple(balances)
    for one in recipes:
        for grams in batches:
            for step in balances:
                asked = {"recipe": one.recipe(), "batch_grams": grams, "balance_step": step}
                yield Asked(one, {**asked, "wishes": {"market": market}})


def substitutions(recipes: Sequence[Ordinary] = RECIPES, market: str = "eu") -> Iterator[Asked]:
    """Yield a substitution for every line of every recipe."""
    for one in recipes:
        for missing in one.lines:
            asked = {"recipe": one.recipe(), "missing": missing, "wishes": {"market": market}}
            yield Asked(one, asked)


def drawn(asked: Iterable[Asked], count: int, seed: int = 0) -> list[Asked]:
    """Return so many of a grid, drawn by a fixed seed and kept in the order of the grid."""
    every = list(asked)
    picked = random.Random(seed).sample(range(len(every)), min(count, len(every)))
    return [every[index] for index in sorted(picked)]


def tenth(make: Callable[[], Iterable[Asked]], seed: int = 0) -> list[Asked]:
    """Return a tenth of a grid for `make test`; the whole of it is for the soak."""
    every = list(make())
    return drawn(every, max(1, len(every) // 10), seed)
