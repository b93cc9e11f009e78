"""Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, within its strength and limits."""

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
    "strength",
    "substitute",
    "sweep",
    "titrate",
    "weigh",
]

_TASKS = {
    "add",
    "assess",
    "correct",
    "dose",
    "dry",
    "label",
    "record",
    "recover",
    "strength",
    "substitute",
    "sweep",
    "titrate",
    "weigh",
}


def __getattr__(name: str) -> Any:
    """Load a task when it is first asked for."""
    if name in _TASKS:
        from importlib import import_module

        return getattr(import_module(f"advisor.tasks.{name}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
