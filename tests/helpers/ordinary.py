"""Twenty ordinary recipes of eight families that a master would call sound, and grids of what makers ask about them.

Every recipe adds up to 100, keeps each usual range, lies within EU and US law as made and as dried, carries a
preservative at its working level and, at 20 C with its fats set, is about as wet as its powders ask (0.85 to 1.15).
All generators yield in a fixed order, so that a seeded tenth of a grid is the same tenth every time.
"""

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
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


RECIPES = (
    Ordinary(
        "Mill Pond bar",
        "acyl isethionate",
        {
            "isethionate-powder": 50.0,
            "kaolin": 6.0,
            "rice-flour": 10.0,
            "tapioca-starch": 5.0,
            "betaine-30": 19.0,
            "glycerin": 4.0,
            "jojoba-oil": 3.0,
            "cocoa-butter": 1.6,
            "phenoxyethanol-blend": 0.9,
            "citric-acid-50": 0.5,
        },
    ),
    Ordinary(
        "Long Meadow bar",
        "acyl isethionate",
        {
            "isethionate-powder": 53.5,
            "corn-starch": 10.5,
            "kaolin": 5.0,
            "hydroxysultaine-42": 17.0,
            "propanediol": 4.0,
            "sunflower-oil": 3.0,
            "cetyl-alcohol": 3.0,
            "benzyl-alcohol-blend": 0.9,
            "citric-acid-50": 2.1,
            "titanium-dioxide": 1.0,
        },
    ),
    Ordinary(
        "Slate Yard bar",
        "acyl isethionate",
        {
            "isethionate-powder": 48.5,
            "glutamate-powder": 7.0,
            "green-clay": 6.0,
            "tapioca-starch": 11.0,
            "cocoamphoacetate": 18.0,
            "glycerin": 3.5,
            "castor-oil": 2.5,
            "cetearyl-alcohol": 1.0,
            "benzoate-sorbate-liquid": 1.2,
            "lactic-acid-80": 0.8,
            "lavender-oil": 0.5,
        },
    ),
    Ordinary(
        "Dune Path bar",
        "sulfoacetate",
        {
            "sulfoacetate-powder": 35.0,
            "isethionate-powder": 17.5,
            "corn-starch": 12.0,
            "kaolin": 6.0,
            "betaine-30": 20.0,
            "glycerin": 3.0,
            "sunflower-oil": 2.0,
            "cetyl-alcohol": 3.6,
            "phenoxyethanol-blend": 0.9,
        },
    ),
    Ordinary(
        "Ferry Lane bar",
        "sulfoacetate",
        {
            "sulfoacetate-powder": 34.0,
            "isethionate-powder": 17.0,
            "rice-flour": 8.1,
            "rose-clay": 8.0,
            "cocoamphodiacetate": 19.0,
            "sorbitol-70": 4.0,
            "jojoba-oil": 3.0,
            "stearic-acid": 4.0,
            "panthenol-75": 1.0,
            "phenoxyethanol-blend": 0.9,
            "citric-acid-50": 1.0,
        },
    ),
    Ordinary(
        "Cooper's Hill bar",
        "sulfate, milled",
        {
            "coco-sulfate-powder": 34.0,
            "isethionate-powder": 19.0,
            "kaolin": 10.0,
            "corn-starch": 8.3,
            "betaine-30": 18.0,
            "glycerin": 3.0,
            "olive-oil": 2.0,
            "cetyl-alcohol": 4.0,
            "phenoxyethanol-blend": 0.9,
            "citric-acid-50": 0.8,
        },
    ),
    Ordinary(
        "Quarry bar",
        "sulfate, milled",
        {
            "coco-sulfate-powder": 28.0,
            "isethionate-powder": 25.0,
            "rice-flour": 9.0,
            "kaolin": 8.5,
            "charcoal": 0.6,
            "betaine-30": 18.0,
            "propanediol": 3.0,
            "caprylic-triglyceride": 2.0,
            "cetearyl-alcohol": 3.5,
            "benzyl-alcohol-blend": 1.0,
            "citric-acid-50": 0.9,
            "fragrance-oil": 0.5,
        },
    ),
    Ordinary(
        "Hurdle bar",
        "sulfate, milled",
        {
            "lauryl-sulfate-powder": 26.0,
            "isethionate-powder": 24.0,
            "tapioca-starch": 12.0,
            "kaolin": 7.3,
            "coco-betaine-30": 19.0,
            "glycerin": 3.0,
            "sunflower-oil": 2.0,
            "stearic-acid": 5.0,
            "phenoxyethanol-blend": 0.85,
            "citric-acid-50": 0.85,
        },
    ),
    Ordinary(
        "Pear Tree bar",
        "sulfosuccinate",
        {
            "sulfosuccinate-powder": 30.0,
            "isethionate-powder": 20.0,
            "kaolin": 10.0,
            "corn-starch": 11.5,
            "betaine-30": 17.5,
            "glycerin": 3.5,
            "sunflower-oil": 2.5,
            "cetyl-alcohol": 4.1,
            "phenoxyethanol-blend": 0.9,
        },
    ),
    Ordinary(
        "Kiln bar",
        "sulfosuccinate",
        {
            "sulfosuccinate-powder": 29.0,
            "isethionate-powder": 21.0,
            "rose-clay": 10.0,
            "rice-flour": 10.0,
            "cocoamphoacetate": 18.0,
            "propanediol": 3.0,
            "jojoba-oil": 2.0,
            "cetearyl-alcohol": 4.5,
            "benzoate-sorbate-liquid": 1.3,
            "citric-acid-50": 1.2,
        },
    ),
    Ordinary(
        "Linen Loft bar",
        "glutamate, glycinate",
        {
            "glutamate-powder": 20.0,
            "isethionate-powder": 28.0,
            "kaolin": 11.0,
            "tapioca-starch": 12.0,
            "betaine-30": 15.6,
            "glycerin": 3.0,
            "caprylic-triglyceride": 2.0,
            "cetyl-alcohol": 5.0,
            "citric-acid-50": 2.5,
            "phenoxyethanol-blend": 0.9,
        },
    ),
    Ordinary(
        "Bramble bar",
        "glutamate, glycinate",
        {
            "glycinate-powder": 16.0,
            "isethionate-powder": 33.5,
            "rice-flour": 11.5,
            "kaolin": 10.0,
            "cocoamphoacetate": 15.0,
            "propanediol": 3.0,
            "squalane": 1.5,
            "cetearyl-alcohol": 4.6,
            "citric-acid-50": 4.0,
            "phenoxyethanol-blend": 0.9,
        },
    ),
    Ordinary(
        "Wharf bar",
        "mixed with stearic acid, warm",
        {
            "isethionate-powder": 47.0,
            "stearic-acid": 12.0,
            "kaolin": 8.15,
            "tapioca-starch": 6.0,
            "betaine-30": 19.0,
            "glycerin": 4.0,
            "cetyl-alcohol": 2.0,
            "jojoba-oil": 1.0,
            "phenoxyethanol-blend": 0.85,
        },
    ),
    Ordinary(
        "Chapel bar",
        "mixed with stearic acid, warm",
        {
            "isethionate-powder": 41.0,
            "taurate-powder": 5.0,
            "stearic-acid": 13.0,
            "corn-starch": 12.0,
            "hydroxysultaine-42": 18.0,
            "sorbitol-70": 4.0,
            "glyceryl-stearate": 2.0,
            "cocoa-butter": 2.0,
            "sunflower-oil": 0.8,
            "phenoxyethanol-blend": 0.9,
            "citric-acid-50": 1.2,
            "iron-oxide-yellow": 0.1,
        },
    ),
    Ordinary(
        "Gate House bar",
        "mixed with stearic acid, warm",
        {
            "isethionate-powder": 46.5,
            "stearic-acid": 12.5,
            "rice-flour": 11.0,
            "cocoamphoacetate": 18.5,
            "propanediol": 3.0,
            "shea-butter": 1.5,
            "cetearyl-alcohol": 4.0,
            "benzyl-alcohol-blend": 1.0,
            "lactic-acid-80": 1.0,
            "lavender-oil": 0.5,
            "mica": 0.5,
        },
    ),
    Ordinary(
        "Weir shampoo bar",
        "solid shampoo",
        {
            "isethionate-powder": 50.0,
            "coco-sulfate-powder": 14.0,
            "betaine-30": 20.0,
            "kaolin": 6.0,
            "cetyl-alcohol": 5.0,
            "polyquaternium-10": 0.3,
            "panthenol-75": 1.0,
            "glycerin": 1.2,
            "phenoxyethanol-blend": 0.85,
            "citric-acid-50": 1.15,
            "fragrance-oil": 0.5,
        },
    ),
    Ordinary(
        "Rook shampoo bar",
        "solid shampoo",
        {
            "isethionate-powder": 57.0,
            "taurate-powder": 8.0,
            "betaine-30": 20.0,
            "corn-starch": 4.5,
            "cetearyl-alcohol": 4.5,
            "cationic-guar": 0.3,
            "jojoba-oil": 1.0,
            "propanediol": 1.5,
            "cocoa-butter": 1.0,
            "benzyl-alcohol-blend": 1.0,
            "citric-acid-50": 1.2,
        },
    ),
    Ordinary(
        "Thatch shampoo bar",
        "solid shampoo",
        {
            "isethionate-powder": 51.5,
            "sulfoacetate-powder": 14.0,
            "betaine-30": 20.0,
            "tapioca-starch": 4.2,
            "cetyl-alcohol": 4.0,
            "behentrimonium-25": 2.0,
            "sunflower-oil": 1.0,
            "glycerin": 1.5,
            "phenoxyethanol-blend": 0.85,
            "lactic-acid-80": 0.95,
        },
    ),
    Ordinary(
        "Orchard face bar",
        "low-surfactant face",
        {
            "isethionate-powder": 30.0,
            "kaolin": 14.0,
            "rice-flour": 7.25,
            "tapioca-starch": 8.0,
            "betaine-30": 15.0,
            "glycerin": 4.5,
            "squalane": 3.0,
            "stearic-acid": 9.0,
            "cetyl-alcohol": 5.0,
            "panthenol-75": 1.5,
            "xanthan-gum": 0.4,
            "phenoxyethanol-blend": 0.85,
            "floral-water": 1.5,
        },
    ),
    Ordinary(
        "Moorland face bar",
        "low-surfactant face",
        {
            "isethionate-powder": 24.0,
            "glutamate-powder": 7.0,
            "green-clay": 6.0,
            "kaolin": 10.0,
            "corn-starch": 13.0,
            "cocoamphoacetate": 15.6,
            "propanediol": 4.5,
            "jojoba-oil": 3.0,
            "cetearyl-alcohol": 5.0,
            "stearic-acid": 9.0,
            "guar-gum": 0.4,
            "benzoate-sorbate-liquid": 1.3,
            "lactic-acid-80": 1.2,
        },
    ),
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
