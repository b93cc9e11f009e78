"""A judge of wishes for one exact strength: an answer meets it, or says by how much it misses; no conflict is invented."""

from collections.abc import Iterator
from typing import Any

import advisor
from advisor.correction.schema import CorrectionAnswer
from advisor.errors import NoRecipeFits
from helpers import makers

NEAR = 0.005


def asked(seed: int) -> Iterator[tuple[float, dict[str, Any]]]:
    """Yield two strengths, one a recipe in hundredths can have and one that lies between steps, and their requests."""
    recipe, report = makers.recipe(seed), makers.report(seed)
    own = advisor.assess({"recipe": recipe}).totals.active
    for wanted in (round(own * 2) / 2, round(own) + 0.333):
        yield wanted, _wishing(recipe, report, wanted, 0.0)


def _wishing(recipe: Any, report: Any, wanted: float, room: float) -> dict[str, Any]:
    band = {"min": wanted - room, "max": wanted + room}
    return {"recipe": recipe, "report": report, "wishes": {"active": band}}


def answered(body: dict[str, Any]) -> CorrectionAnswer | None:
    """Return the answer, None where no recipe fits."""
    try:
        return advisor.correct(body)
    except NoRecipeFits:
        return None


def faults(seed: int) -> Iterator[str | None]:
    """Yield what is wrong with each answer, None where nothing is."""
    for wanted, body in asked(seed):
        answer = answered(body)
        yield _wrong(wanted, body, answer)


def _wrong(wanted: float, body: dict[str, Any], answer: CorrectionAnswer | None) -> str | None:
    if answer is None:
        wider = answered(_wishing(body["recipe"], body["report"], wanted, 0.02))
        return None if wider is None else f"refused, and with 0.02 more room reached: active {wanted:g}"
    check = next(one for one in answer.checks if one.name == "active matter")
    said = any(note.id == "wish-between-steps" for note in answer.notes)
    if said is check.ok:
        return f"missed and not said, or said and not missed: active {check.value} for {wanted:g}"
    if check.value is None or abs(check.value - wanted) > NEAR:
        return f"missed by more than a step: active {check.value} for {wanted:g}"
    return None
