"""The correction that is measured, and of SciPy's linear program of the same rows and columns."""

import statistics
import time
from collections.abc import Callable, Sequence
from itertools import cycle
from typing import Any

import numpy as np
from scipy.optimize import linprog

import advisor
from advisor.case.case import Case
from advisor.correction.task import _Correction
from advisor.optimise.problem import Problem
from advisor.recipe.request import known_materials, read_formula
from advisor.rulebook.load import load_rulebook
from advisor.schema.material import Material
from advisor.schema.recipe import Recipe, Report, Wishes

_RECIPES = 200
TWELVE = {
    "isethionate-powder": 40.0, "sulfoacetate-powder": 8.0, "kaolin": 9.0, "tapioca-starch": 8.0, "betaine-30": 16.0,
    "coco-glucoside-52": 4.0, "glycerin": 4.0, "jojoba-oil": 3.0, "cetyl-alcohol": 4.0, "panthenol-75": 1.0,
    "fragrance-oil": 2.0, "phenoxyethanol-blend": 1.0,
}  # fmt: skip


def body(shelf: int = 0, moved: int = 0) -> dict[str, Any]:
    """Return the correction that is measured, with so many more materials on the shelf.

    So many hundredths of it are clay instead of the first powder.
    """
    others = [key for key in load_rulebook().ingredients if key not in TWELVE][:shelf]
    percents = TWELVE | {
        "isethionate-powder": round(TWELVE["isethionate-powder"] - moved / 100, 2),
        "kaolin": round(TWELVE["kaolin"] + moved / 100, 2),
    }
    return {
        "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in percents.items()]},
        "report": {"feel": "too_wet", "degree": "clear", "signs": ["smears"], "room_c": 21},
        "wishes": {"market": "eu"},
        "shelf": others,
    }


def varied(asked: dict[str, Any]) -> Callable[[], Any]:
    """Return what answers one correction after the other, none of the recipe asked before it."""
    bodies = cycle([asked | {"recipe": body(0, moved)["recipe"]} for moved in range(_RECIPES)])
    return lambda: advisor.correct(next(bodies))


def problem(asked: dict[str, Any]) -> Problem:
    """Return the program of a correction."""
    sent = [Material.model_validate(one) for one in asked.get("materials", ())]
    known = known_materials(sent, load_rulebook())
    formula = read_formula(Recipe.model_validate(asked["recipe"]), known, asked["shelf"])
    report = Report.model_validate(asked["report"])
    case = Case.at(formula, known, wishes=Wishes.model_validate(asked["wishes"]), report=report, history=None)
    correction = _Correction(case, report)
    return correction._program(correction._target()).problem()


def same_program(of: Problem) -> Callable[[], Any]:
    """Return one solve by SciPy of the same rows over the same columns, arrays built beforehand."""
    keys = list(of.starts)
    n, soft = len(keys), [row.name for row in of.rows if row.penalty is not None]
    costs = np.array([of.weights[k] for k in keys] * 2 + [row.penalty for row in of.rows if row.penalty])
    above, above_by, equal, equal_to = [], [], [], []
    for row in of.rows:
        line = np.zeros(len(costs))
        for i, key in enumerate(keys):
            line[i], line[n + i] = row.coefficients.get(key, 0.0), -row.coefficients.get(key, 0.0)
        room = row.bound - row.value(of.starts)
        if row.sense == "=":
            equal.append(line)
            equal_to.append(room)
            continue
        sign = 1.0 if row.sense == "<=" else -1.0
        line *= sign
        if row.name in soft:
            line[2 * n + soft.index(row.name)] = -1.0
        above.append(line)
        above_by.append(sign * room)
    bounds = [(0, None)] * n + [(0, of.starts[k]) for k in keys] + [(0, None)] * len(soft)
    a, b, c, d = np.array(above), np.array(above_by), np.array(equal), np.array(equal_to)
    return lambda: linprog(costs, A_ub=a, b_ub=b, A_eq=c, b_eq=d, bounds=bounds, method="highs")


def interleaved(works: Sequence[Callable[[], Any]], runs: int) -> list[list[float]]:
    """Return what each took in each of so many turns [ms]."""
    turns = []
    for _ in range(runs):
        took = []
        for work in works:
            start = time.perf_counter()
            work()
            took.append(1e3 * (time.perf_counter() - start))
        turns.append(took)
    return turns


def side_by_side(one: Callable[[], Any], other: Callable[[], Any], runs: int) -> tuple[float, float, float]:
    """Return both medians [ms] and the median of the ratios."""
    pairs = interleaved([one, other], runs)
    first, second = zip(*pairs, strict=True)
    return statistics.median(first), statistics.median(second), statistics.median(a / b for a, b in pairs)
