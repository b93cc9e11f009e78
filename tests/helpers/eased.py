"""Generated corrections, each sensitivity of whose answers is asked again as a maker would: with that bound eased."""

import random
from collections.abc import Iterator
from typing import Any

import advisor
from advisor.correction.schema import CorrectionAnswer
from advisor.errors import NoRecipeFits
from advisor.rulebook.load import load_rulebook
from advisor.schema.findings import Sensitivity
from helpers import makers

Request = dict[str, Any]
LIBRARY = load_rulebook().ingredients


def asked(seed: int, aim: str) -> Request:
    """Return a generated correction, half of them with a band on a line, a third with one on the dried bar."""
    rng = random.Random(seed)
    recipe, wishes = makers.recipe(seed), {**makers.wishes(seed), "aim": aim}
    own = percents(recipe["lines"])
    key = rng.choice(sorted(own))
    if rng.random() < 0.5:
        band = {"min": round(own[key] * 0.9, 2), "max": round(own[key] * 1.05, 2)}
        wishes["lines"] = {**wishes.get("lines", {}), key: band}
    if rng.random() < 0.3:
        wishes["components_dried"] = {"Aqua": {"max": 8.0}}
    return {"recipe": recipe, "report": makers.report(seed), "wishes": wishes}


def percents(lines: Any) -> dict[str, float]:
    return {line["material"]: line["percent"] for line in lines}


def amounts(answer: CorrectionAnswer) -> dict[str, float]:
    return {line.material: line.percent for line in answer.recipe.lines}


def price(answer: CorrectionAnswer) -> float:
    return sum((LIBRARY[key].price or 0.0) * percent for key, percent in amounts(answer).items()) / 100


def again(body: Request, answer: CorrectionAnswer, one: Sensitivity) -> Request | None:
    """Return the same request with one bound eased; None where a range was widened to the recipe already."""
    by = one.per if one.bound == "max" else -one.per
    check = next(check for check in answer.checks if check.name == one.name)
    wishes = body["wishes"]
    if one.name == "active matter":
        band = {"min": check.min, "max": check.max}
        return {**body, "wishes": {**wishes, "active": {**band, one.bound: band[one.bound] + by}}}
    for place in ("lines", "components", "components_dried"):
        for name, band in (wishes.get(place) or {}).items():
            known = LIBRARY[name].name if place == "lines" else name
            if known == one.name:
                eased = {**wishes[place], name: {**band, one.bound: band[one.bound] + by}}
                return {**body, "wishes": {**wishes, place: eased}}
    if not one.name.endswith("usual range"):
        return None
    material = LIBRARY[check.about[0]].material.model_dump(mode="json", exclude_none=True)
    use = {**material["use"], one.bound: material["use"][one.bound] + by}
    return {**body, "materials": [{**material, "use": use}]}


def wrong(seeds: range) -> Iterator[tuple[str, bool]]:
    """Yield every sensitivity that could be asked again, with whether it was untrue."""
    for seed in seeds:
        for aim in ("closest", "lowest_cost"):
            body = asked(seed, aim)
            try:
                answer = advisor.correct(body)
            except NoRecipeFits:
                continue
            for one in answer.sensitivities:
                eased = again(body, answer, one)
                if eased is None:
                    continue
                reached = advisor.correct(eased)
                if one.effect_of == "price_per_kg":
                    off = abs(price(reached) - price(answer) - one.effect) > 0.0011
                else:
                    moved = amounts(reached).get(one.effect_of, 0.0) - amounts(answer).get(one.effect_of, 0.0)
                    off = abs(moved - one.effect) > 0.011
                yield f"{seed}, {aim}: {one.text}", off
