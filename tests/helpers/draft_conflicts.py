"""Why a draft was refused, proved again by another solver and from the rules files alone."""

from collections.abc import Iterator
from itertools import chain
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog

from advisor.case.refusal import conflict_of
from advisor.case.solve import Program
from advisor.drafting import task as drafting
from advisor.errors import NoRecipeFits
from advisor.optimise.row import Row
from advisor.recipe.demand import Demand
from helpers import shelves, swap_judge


def possible(keys: list[str], rows: list[Row]) -> bool:
    """Say whether amounts of nothing or more meet all rows, as scipy finds."""
    above, above_by, equal, equal_to = [], [], [], []
    for row in rows:
        line = np.array([row.coefficients.get(key, 0.0) for key in keys])
        if row.sense == "=":
            equal.append(line)
            equal_to.append(row.bound)
            continue
        sign = 1.0 if row.sense == "<=" else -1.0
        above.append(sign * line)
        above_by.append(sign * row.bound)
    found = linprog(
        np.zeros(len(keys)), above or None, above_by or None, equal or None, equal_to or None, method="highs"
    )
    return bool(found.status == 0)


def refused(body: dict[str, Any], draft: Any) -> tuple[dict[str, Any] | None, list[Program]]:
    """Return the problem a draft was refused with, None where it was not, and the program that excluded it."""
    seen: list[Program] = []
    plain = drafting.no_recipe_fits
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            drafting, "no_recipe_fits", lambda program, case: (seen.append(program), plain(program, case))[1]
        )
        try:
            draft(body)
        except NoRecipeFits as error:
            return error.problem(), seen
    return None, seen


def faults(body: dict[str, Any], problem: dict[str, Any], tasks: list[Program]) -> Iterator[str]:
    """Yield what is wrong with a refusal: a conflict that excludes nothing, or one that may be made smaller."""
    if not tasks:
        yield from _not_missing(body, problem)
        return
    program = tasks[-1]
    sides = conflict_of(program)
    if len(sides) != len(problem["conflict"]):
        yield f"{len(problem['conflict'])} named, {len(sides)} found"
    keys = list(program.problem().starts)
    groups = [list(_rows_of(program, demand, side)) for demand, side in sides]
    if not all(groups):
        yield "a demand without a row"
    if possible(keys, [program.total, *chain.from_iterable(groups)]):
        yield "what is named excludes nothing"
    for left_out, (demand, _) in enumerate(sides):
        rest = chain.from_iterable(group for at, group in enumerate(groups) if at != left_out)
        if not possible(keys, [program.total, *rest]):
            yield f"without {demand.id} it is still impossible"


def _rows_of(program: Program, demand: Demand, side: str) -> Iterator[Row]:
    """Yield the rows behind one end of a demand; both of one that is held."""
    for row in program.hard_rows:
        of = program.demand_of.get(row.name)
        if of is not None and of[0] is demand and (of[1] == side or held(demand)):
            yield row


def held(demand: Demand) -> bool:
    """Say whether both ends of a demand are one."""
    return demand.minimum is not None and demand.minimum == demand.maximum


def _not_missing(body: dict[str, Any], problem: dict[str, Any]) -> Iterator[str]:
    """Yield a part that is said to be missing though the shelf holds what fills it and keeps every promise."""
    said = {named["demand"] for named in problem["conflict"]}
    if len(said) != len(problem["errors"]):
        yield "what is lacking is not told part by part"
    rules = swap_judge.table("drafts.toml")
    parts = [
        part
        for family in rules["family"]
        for part in family["part"]
        if part["name"] in said and family["name"] in problem["detail"]
    ]
    promises = body["wishes"].get("claims", ())
    for part in parts:
        for key in body["shelf"]:
            block = swap_judge.library()[key]
            if any(shelves.breaks(key, claim) for claim in promises) or block.get("soluble"):
                continue
            if block["form"] not in part.get("forms", [block["form"]]):
                continue
            if block.get("charge", "none") not in part.get("charges", [block.get("charge", "none")]):
                continue
            parts_of = {name: share for name, share in block["composition"].items() if name != "Aqua"}
            main = max(parts_of, key=lambda name: parts_of[name], default="")
            fits = main in part["components"] if "components" in part else block["roles"][0] in part["roles"]
            if fits:
                yield f"{part['name']} is not missing: {key}"
