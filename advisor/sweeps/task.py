"""The sweep: one task asked of many recipes, answered in their order."""

import json
from collections.abc import Iterator, Mapping
from contextlib import closing
from typing import Any

from advisor.recipe.notebook import Notebook
from advisor.recipe.request import read_request
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.sweeps.chunk import SWEPT, Job, Outcome, Setting
from advisor.sweeps.cluster import Cluster
from advisor.sweeps.executor import Executor, InProcess, Processes, chunks, cores, in_order
from advisor.sweeps.schema import (
    Answered,
    AssessmentSweep,
    CorrectionSweep,
    Refused,
    SubstitutionSweep,
    SweepAnswer,
    SweepRequest,
    Swept,
)
from advisor.sweeps.tally import Tally

FEW = 400


def sweep(
    request: SweepRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
) -> SweepAnswer:
    """Answer one task for many recipes, each in its place, those that fail with their problem.

    Parameters
    ----------
    request : SweepRequest or mapping
        ``task``, ``recipes`` (at most 10 000) and the task's other fields, shared by all.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.
    workers : int, optional
        Processes to share the work; default: one a core, or this process alone for few recipes.
    scheduler : str, optional
        Address of a Dask scheduler whose workers answer instead, as in ``tcp://127.0.0.1:8786``.

    Raises
    ------
    InvalidRequest
        What is shared is wrong; each place is named.
    NotInstalled
        A scheduler is named and the extra ``distributed`` is missing.

    Notes
    -----
    The answers are the same whoever gives them.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = sweep({"task": "assessment", "recipes": [{"lines": lines}, {"lines": lines[:1]}]})
    >>> answer.answers[0].answer.totals.active
    67.8
    >>> answer.answers[1].problem["code"]
    'invalid-recipe'
    """
    rules = rulebook or load_rulebook()
    wanted = read_request(SweepRequest, request, rules).root
    setting = Setting.of(shared_fields(wanted), rules, notebook)
    executor = executor_for(len(wanted.recipes), workers, scheduler)
    with (
        closing(executor),
        closing(in_order(setting, chunks(sweep_jobs(wanted), wanted.task), executor)) as outcomes,
    ):
        told = list(outcomes)
    return SweepAnswer(
        answers=tuple(_entry(wanted.task, index, outcome) for index, outcome in enumerate(told)),
        **Tally.of(told).closing(rules.edition),
    )


def shared_fields(wanted: CorrectionSweep | SubstitutionSweep | AssessmentSweep) -> dict[str, Any]:
    """Return what all recipes of a sweep share, as fields of the task's body."""
    fields = {name: getattr(wanted, name) for name in type(wanted).model_fields}
    return {n: value for n, value in fields.items() if n not in ("task", "recipes") and value is not None}


def sweep_jobs(wanted: CorrectionSweep | SubstitutionSweep | AssessmentSweep) -> Iterator[Job]:
    """Yield one job a recipe."""
    for index, recipe in enumerate(wanted.recipes):
        yield Job(wanted.task, {"recipe": recipe}, f"/recipes/{index}")


def executor_for(recipes: int, workers: int | None = None, scheduler: str | None = None) -> Executor:
    """Return who answers so many recipes.

    Raises
    ------
    InvalidRequest, NotInstalled
        The scheduler cannot be asked.
    """
    if scheduler is not None:
        return Cluster(scheduler)
    many = workers or (cores() if recipes > FEW else 1)
    return Processes(many) if many > 1 else InProcess()


def _entry(task: Swept, index: int, outcome: Outcome) -> Answered | Refused:
    if outcome.answered:
        return Answered(index=index, answer=SWEPT[task].answer.model_validate_json(outcome.text))
    return Refused(index=index, problem=json.loads(outcome.text))
