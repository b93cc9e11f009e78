"""Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, within its strength and limits."""

from importlib import import_module
from typing import Any

from advisor.errors import AdvisorError

_TASKS = {
    "add": "advisor.bowl.add",
    "assess": "advisor.assessment.task",
    "correct": "advisor.correction.task",
    "dose": "advisor.laboratory.dose",
    "dry": "advisor.drying.task",
    "label": "advisor.labelling.task",
    "record": "advisor.batch_record.task",
    "recover": "advisor.bowl.recover",
    "remember": "advisor.experiment.remember",
    "strength": "advisor.laboratory.strength",
    "substitute": "advisor.substitution.task",
    "sweep": "advisor.sweeps.task",
    "titrate": "advisor.laboratory.titrate",
    "trial": "advisor.experiment.trial",
    "uptake": "advisor.laboratory.uptake",
    "weigh": "advisor.weighing.task",
    "window_of": "advisor.experiment.window",
}

__all__ = ["AdvisorError", *_TASKS]


def __getattr__(name: str) -> Any:
    """Load a task when it is first asked for."""
    if name in _TASKS:
        return getattr(import_module(_TASKS[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
