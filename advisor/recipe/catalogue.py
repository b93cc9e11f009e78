"""Where materials are found by what people type."""

import difflib
from collections.abc import Iterable

from advisor.recipe.notebook import Notebook
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.rulebook.naming import as_typed
from advisor.schema.material import Material

_AS_GOOD_AS = 0.75


def materials(
    q: str = "", *, rulebook: Rulebook | None = None, notebook: Notebook | None = None
) -> tuple[Material, ...]:
    """Return the materials whose key, name or substance holds what was typed, by key.

    Parameters
    ----------
    q : str
        Parts of a name, in any order. Where no name holds them, names spelled nearly so are found.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        A shop's own materials; they come before the library's of the same key.

    Examples
    --------
    >>> [one.key for one in materials("clay white")]
    ['kaolin']
    >>> [one.key for one in materials("flour rise")]
    ['rice-flour']
    """
    own = {} if notebook is None else notebook.materials
    return tuple(found({**(rulebook or load_rulebook()).ingredients, **own}.values(), q))


def found(known: Iterable[Ingredient], typed: str, role: str | None = None) -> list[Material]:
    """Return the materials among some whose name was typed in part, and that have a role, by key."""
    words = as_typed(typed).split()
    of_role = sorted(
        (one.material for one in known if role in (None, *one.material.roles)), key=lambda one: one.key
    )
    return [one for one in of_role if _holds(one, words)] or [one for one in of_role if _sounds(one, words)]


def _holds(material: Material, words: list[str]) -> bool:
    """Tell whether one of the names holds all words."""
    return any(all(word in name for word in words) for name in _names(material))


def _sounds(material: Material, words: list[str]) -> bool:
    """Tell whether one of the names has words spelled nearly so."""
    return any(
        all(difflib.get_close_matches(word, name.split(), n=1, cutoff=_AS_GOOD_AS) for word in words)
        for name in _names(material)
    )


def _names(material: Material) -> Iterable[str]:
    return map(as_typed, (material.key, material.name, *material.also, *material.composition))
