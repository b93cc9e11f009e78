"""Virtual makers: each has a window and powders of its own, drawn from the prior of the rules."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from advisor.correction.task import correct
from advisor.learning import class_chances
from advisor.recipe.consistency import evidence
from advisor.recipe.history import read_history
from advisor.recipe.measures import Measures
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import known_materials
from advisor.rulebook.load import load_rulebook
from advisor.schema.recipe import PastDough

BOOK = load_rulebook()
POWDERS = ("isethionate-powder", "kaolin", "rice-flour", "corn-starch")
LIQUIDS = {"betaine-30": 0.75, "coco-glucoside-52": 0.13, "glycerin": 0.12}
MEASURES = Measures(BOOK.ingredients)
REPORTS = {
    outcome: (feel, degree)
    for feel, of in BOOK.dough.classes.outcomes.items()
    for degree, outcome in of.items()
}
THRESHOLDS = BOOK.dough.classes.thresholds
SPREAD = BOOK.dough.classes.spread


def recipe(powders: dict[str, float], index: float) -> dict[str, Any]:
    """Return a recipe of these powders at a wetting index."""
    wetness = MEASURES.wetness()
    wet = sum(wetness.top[key] * part for key, part in LIQUIDS.items())
    dry = sum((wetness.bottom or {})[key] * part for key, part in powders.items())
    share = index * dry / (wet + index * dry)
    units = {key: round(10_000 * share * part) for key, part in LIQUIDS.items()}
    units |= {key: round(10_000 * (1 - share) * part) for key, part in powders.items()}
    units[max(powders, key=lambda key: powders[key])] += 10_000 - sum(units.values())
    return {"lines": [{"material": key, "percent": count / 100} for key, count in units.items() if count > 0]}


@dataclass(frozen=True)
class Maker:
    """A maker: the centre of the window and each powder's demand, as nature has them."""

    centre: float
    demands: dict[str, float]
    usual: dict[str, float]
    rng: np.random.Generator

    @classmethod
    def of(cls, seed: int) -> "Maker":
        """Return a maker drawn from the prior."""
        rng = np.random.default_rng([41, seed])
        demands = {key: float(rng.normal(0, BOOK.ingredients[key].uptake_sd)) for key in POWDERS}
        usual = dict(zip(POWDERS, rng.dirichlet((9, 2, 1.5, 1.5)).tolist(), strict=True))
        return cls(float(rng.normal(0, BOOK.dough.prior.centre_sd)), demands, usual, rng)

    def true_centre(self, amounts: dict[str, float]) -> float:
        """Return ln of the wetting index at which these powders are workable in this maker's hands."""
        shares = MEASURES.demand_shares(amounts)
        return self.centre + sum(share * self.demands[key] for key, share in shares.items())

    def distance(self, made: dict[str, Any]) -> float:
        """Return how far a recipe is from this maker's centre, on ln of the wetting index."""
        amounts = {line["material"]: line["percent"] for line in made["lines"]}
        return math.log(MEASURES.wetness().of(amounts) or 1.0) - self.true_centre(amounts)

    def blend(self) -> dict[str, float]:
        """Return powders near the usual ones."""
        parts = self.rng.dirichlet([40 * max(part, 0.02) for part in self.usual.values()])
        return dict(zip(POWDERS, parts.tolist(), strict=True))

    def dough(self, off: float) -> dict[str, Any]:
        """Return a dough made about ``off`` away from the centre, with this maker's report."""
        powders = self.blend()
        made = recipe(powders, math.exp(self.true_centre(powders) + off))
        felt = self.distance(made) + SPREAD * self.rng.logistic()
        feel, degree = REPORTS[int(np.searchsorted(THRESHOLDS, felt)) + 1]
        return {"recipe": made, "report": {"feel": feel, "degree": degree}}

    def failed(self) -> dict[str, Any]:
        """Return a dough that was not workable."""
        while True:
            made = self.dough(self.rng.uniform(-0.25, 0.25))
            if made["report"]["feel"] != "workable":
                return made


def notebook(past: list[dict[str, Any]]) -> Notebook:
    """Return a notebook of some doughs."""
    known = known_materials(None, BOOK)
    doughs = evidence(read_history([PastDough.model_validate(one) for one in past], known), BOOK.dough)
    return Notebook(BOOK.dough, BOOK.ingredients, doughs=tuple(doughs))


def chances_of_workable(makers: int, doughs: int = 10) -> tuple[float, float]:
    """Return how likely a corrected dough is workable, without and with what earlier doughs taught."""
    alone, taught = [], []
    for seed in range(makers):
        maker = Maker.of(seed)
        shop = notebook([maker.dough(maker.rng.normal(0, 0.1)) for _ in range(doughs)])
        failed = maker.failed()
        for found, known in ((alone, None), (taught, shop)):
            answer = correct(failed, notebook=known).model_dump()
            chances = class_chances(maker.distance(answer["recipe"]), 0.0, THRESHOLDS, SPREAD)
            found.append(chances[3])
    return float(np.mean(alone)), float(np.mean(taught))
