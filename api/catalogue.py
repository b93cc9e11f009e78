"""The one place where materials are found by what people type."""

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.shapes.material import Material
from advisor.trade.ingredient import Ingredient


@dataclass(frozen=True, slots=True)
class Entry:
    """A material with every name it is found by, case-folded, one a line."""

    material: Material
    words: str

    @classmethod
    def of(cls, material: Material) -> "Entry":
        """Return the entry of a material."""
        names = (material.key, material.name, *material.also, *material.composition)
        return cls(material, "\n".join(names).casefold())


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Materials in the order of their keys."""

    entries: tuple[Entry, ...]

    @classmethod
    def of(cls, ingredients: Mapping[str, Ingredient]) -> "Catalogue":
        """Return the catalogue of some ingredients."""
        return cls(tuple(Entry.of(one.material) for _, one in sorted(ingredients.items())))

    def find(self, part: str = "", role: str | None = None) -> list[Material]:
        """Return the materials a part of whose name was typed, and that have a role.

        Examples
        --------
        >>> from advisor.rulebook import load_rulebook
        >>> library = Catalogue.of(load_rulebook().ingredients)
        >>> [material.key for material in library.find("BETAINE", "preservative")]
        []
        """
        wanted = part.strip().casefold()
        return [
            entry.material
            for entry in self.entries
            if wanted in entry.words and (role is None or role in entry.material.roles)
        ]
