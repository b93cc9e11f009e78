"""Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, within its strength and limits."""

from importlib import import_module
from typing import Any

from advisor.errors import AdvisorError

__all__ = [
    "AdvisorError",
    "add",
    "assess",
    "correct",
    "dose",
    "dry",
    "label",
    "record",
    "recover",
    "remember",
    "strength",
    "substitute",
    "sweep",
    "titrate",
    "trial",
    "uptake",
    "weigh",
    "window_of",
]


def __getattr__(name: str) -> Any:
    """Load a task when it is first asked for."""
    if name in __all__:
        return getattr(import_module(f"advisor.tasks.{name}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
