"""Where materials are found by what people type."""

import difflib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

from advisor.rulebook.ingredient import Ingredient
from advisor.schema.material import Material

_AS_GOOD_AS = 0.75


def typed(text: str) -> str:
    """Return what was typed without case, accents, hyphens and further spaces.

    Examples
    --------
    >>> typed(" Crème-de  KAOLIN ")
    'creme de kaolin'
    """
    plain = unicodedata.normalize("NFKD", text.casefold().replace("-", " "))
    return " ".join("".join(sign for sign in plain if not unicodedata.combining(sign)).split())


@dataclass(frozen=True, slots=True)
class Entry:
    """A material with every name it is found by."""

    material: Material
    names: tuple[str, ...]

    @classmethod
    def of(cls, material: Material) -> "Entry":
        """Return the entry of a material."""
        names = (material.key, material.name, *material.also, *material.composition)
        return cls(material, tuple(dict.fromkeys(map(typed, names))))

    def holds(self, words: list[str]) -> bool:
        """Tell whether one of the names holds all words, in any order."""
        return any(all(word in name for word in words) for name in self.names)

    def sounds_like(self, words: list[str]) -> bool:
        """Tell whether one of the names has words spelled nearly so, in any order."""
        return any(
            all(difflib.get_close_matches(word, name.split(), n=1, cutoff=_AS_GOOD_AS) for word in words)
            for name in self.names
        )


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Materials in the order of their keys."""

    entries: tuple[Entry, ...]

    @classmethod
    def of(cls, ingredients: Mapping[str, Ingredient]) -> "Catalogue":
        """Return the catalogue of some ingredients."""
        return cls(tuple(Entry.of(one.material) for _, one in sorted(ingredients.items())))

    def find(self, part: str = "", role: str | None = None) -> list[Material]:
        """Return the materials whose name was typed in part, and that have a role.

        The words may come in any order. Where no name holds them, names spelled nearly so are found.

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> library = Catalogue.of(load_rulebook().ingredients)
        >>> [material.key for material in library.find("BETAINE", "preservative")]
        []
        >>> [material.key for material in library.find("flour rise")]
        ['rice-flour']
        """
        words = typed(part).split()
        having = [one for one in self.entries if role is None or role in one.material.roles]
        found = [one for one in having if one.holds(words)]
        if not found:
            found = [one for one in having if one.sounds_like(words)]
        return [one.material for one in found]
