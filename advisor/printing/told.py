"""What an answer is told by: the names of materials, and what was asked."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.threads import cached_property


@dataclass(frozen=True)
class Told:
    """The request behind an answer, in a maker's words.

    Parameters
    ----------
    body : mapping
        The request.
    rulebook : Rulebook
    notebook : Notebook, optional
    source : str
        The file it came from, for hints.
    keys : bool
        Whether materials go by their keys.

    Examples
    --------
    >>> told = Told({"recipe": {"name": "Mill Pond bar"}, "report": {"feel": "too_wet"}})
    >>> told.head
    'Mill Pond bar, too wet, clearly'
    >>> told.name("rose-clay")
    'Rose clay'
    """

    body: Mapping[str, Any]
    rulebook: Rulebook = field(default_factory=load_rulebook)
    notebook: Notebook | None = None
    source: str = "FILE"
    keys: bool = False

    @cached_property
    def _inline(self) -> dict[str, str]:
        return {one["key"]: one["name"] for one in self.body.get("materials") or ()}

    def name(self, key: str) -> str:
        """Return what a material is called; a key nobody knows stays."""
        if self.keys:
            return key
        own = self.notebook.get(key) if self.notebook is not None else None
        known = own or self.rulebook.ingredients.get(key)
        return self._inline.get(key) or (known.material.name if known is not None else key)

    @property
    def head(self) -> str:
        """Which recipe, and which report on it."""
        report = self.body.get("report") or {}
        feel = self.rulebook.feels.feel.get(report.get("feel", ""))
        recipe = (self.body.get("recipe") or {}).get("name") or "This recipe"
        if feel is None:
            return str(recipe)
        degree = self.rulebook.feels.degree[report.get("degree") or "clear"].name
        return f"{recipe}, {feel.name.lower()}" + (f", {degree}" if feel.asks_degree else "")

    def feel(self, word: str | None) -> str:
        """Return how a dough felt, in words."""
        known = self.rulebook.feels.feel.get(word or "")
        return "not judged" if known is None else known.name.lower()
