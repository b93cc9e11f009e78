"""Every task for the maker of hand-kneaded cleansing bars, loaded when it is first asked for."""

from importlib import import_module
from typing import Any

from advisor.errors import AdvisorError
from advisor.registry import TASKS, task

_BESIDE = {
    **dict.fromkeys(("as_frame", "recipes_from_frame", "recipes_to_frame", "save_table"), "advisor.frames"),
    "materials": "advisor.recipe.catalogue",
    "past": "advisor.recipe.versions",
    "rack": "advisor.drying.rack",
    "remember": "advisor.experiment.remember",
}
__all__ = ["AdvisorError", *_BESIDE, *(one.name for one in TASKS)]


def __getattr__(name: str) -> Any:
    """Load a task, or what else is offered, when it is first asked for."""
    if name == "__version__":
        return import_module("importlib.metadata").version("dough-advisor")
    if name in _BESIDE:
        return getattr(import_module(_BESIDE[name]), name)
    if name in __all__:
        return task(name).function
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted((*__all__, "__version__"))
