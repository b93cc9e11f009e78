"""The one place where the materials of the library are found by what people type."""

from dataclasses import dataclass

from advisor.rulebook import Rulebook
from advisor.shapes.material import Material


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
    """The materials of a rulebook in the order of their keys."""

    entries: tuple[Entry, ...]

    @classmethod
    def of(cls, rulebook: Rulebook) -> "Catalogue":
        """Return the catalogue of a rulebook."""
        return cls(tuple(Entry.of(one.material) for _, one in sorted(rulebook.ingredients.items())))

    def find(self, part: str = "", role: str | None = None) -> list[Material]:
        """Return the materials a part of whose name was typed, and that have a role.

        Examples
        --------
        >>> from advisor.rulebook import load_rulebook
        >>> [material.key for material in Catalogue.of(load_rulebook()).find("BETAINE", "preservative")]
        []
        """
        wanted = part.strip().casefold()
        return [
            entry.material
            for entry in self.entries
            if wanted in entry.words and (role is None or role in entry.material.roles)
        ]
