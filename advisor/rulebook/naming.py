"""Names folded as they are compared, and the index by which a law finds a substance."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Generic, TypeVar

from advisor.sums import grouped

Entry = TypeVar("Entry")
_REMEMBERED = 16384
_SPELLINGS = (
    ("sulph", "sulf"),
    ("aluminium", "aluminum"),
    ("hydrolysed", "hydrolyzed"),
    ("polysorbat ", "polysorbate "),
)
_TYPOGRAPHY = str.maketrans(
    {"‐": "-", "‑": "-", "–": "-", "−": "-", "’": "'", "‘": "'", "′": "'", "“": '"', "”": '"', "\u00ad": None}
)
_IN_BRACKETS = re.compile(r"\s\([^()]*\)(?=\s|$)")
_NO_LETTER = re.compile(r"[^a-z]+")
_SHORT = 8


@lru_cache(maxsize=_REMEMBERED)
def plain(name: str) -> str:
    """Return a name without what does not tell substances apart: case, blanks, accents, typography.

    Examples
    --------
    >>> plain(" MEA\u2011 Benzo\u00e4te"), plain("Aluminium  sulphate")
    ('mea-benzoate', 'aluminum sulfate')
    """
    text = " ".join(_letters(name).split()).replace(" -", "-").replace("- ", "-")
    for british, american in _SPELLINGS:
        text = text.replace(british, american)
    return text


@lru_cache(maxsize=_REMEMBERED)
def as_typed(name: str) -> str:
    """Return a name as people type it: without case, accents, hyphens and further spaces.

    Examples
    --------
    >>> as_typed(" Crème-de  KAOLIN ")
    'creme de kaolin'
    """
    return " ".join(_letters(name).replace("-", " ").split())


def _letters(name: str) -> str:
    if name.isascii():
        return name.casefold()
    folded = unicodedata.normalize("NFKD", name.translate(_TYPOGRAPHY)).casefold()
    return "".join(letter for letter in folded if not unicodedata.combining(letter))


def without_brackets(name: str) -> str:
    """Return a name without words in brackets that stand by themselves.

    Examples
    --------
    >>> without_brackets("Avena Sativa (Oat) Kernel Flour")
    'Avena Sativa Kernel Flour'
    """
    return _IN_BRACKETS.sub("", name) or name


def _one_slip(one: str, other: str) -> bool:
    """Tell whether one letter too many, too few or wrong turns one word into the other."""
    if abs(len(one) - len(other)) > 1:
        return False
    at = next(
        (place for place, (a, b) in enumerate(zip(one, other, strict=False)) if a != b),
        min(len(one), len(other)),
    )
    return one[at + 1 :] in (other[at:], other[at + 1 :]) or one[at:] == other[at + 1 :]


class NameIndex(Generic[Entry]):
    """Finds entries by any of their names and numbers.

    Parameters
    ----------
    entries : iterable of (names, entry)
        Names, CAS and EC numbers of each entry.

    Examples
    --------
    >>> index = NameIndex([(("Phenoxyethanol", "122-99-6"), 29), (("Sorbic Acid",), 4)])
    >>> index.find("PHENOXYETHANOL"), index.find("Some Name", ("122-99-6",)), index.find("Aqua")
    ((29,), (29,), ())
    >>> index.near("2-Phenoxy ethanol"), index.near("Phenoxyethanol")
    ('Phenoxyethanol', None)
    """

    def __init__(self, entries: Iterable[tuple[Sequence[str], Entry]]) -> None:
        self._entries: dict[str, dict[Entry, None]] = {}
        spelled: dict[str, str] = {}
        for names, entry in entries:
            for name in names:
                key = plain(name)
                self._entries.setdefault(key, {})[entry] = None
                spelled.setdefault(key, name)
        lettered = ((_NO_LETTER.sub("", key), name) for key, name in spelled.items())
        self._by_letters = {letters: name for letters, name in lettered if len(letters) >= _SHORT}
        self._by_beginning = grouped((letters[:3], letters) for letters in self._by_letters)

    def find(self, name: str, numbers: Iterable[str] = ()) -> tuple[Entry, ...]:
        """Return the entries of a substance by its name or one of its numbers."""
        keys = (plain(name), *map(plain, numbers))
        found = {entry: None for key in keys for entry in self._entries.get(key, ())}
        return tuple(found) or tuple(self._entries.get(plain(without_brackets(name)), ()))

    def near(self, name: str) -> str | None:
        """Return the name that one that is not in the index comes close to; None where there is none.

        Close are names whose letters are the same, and long ones that differ by one letter.
        """
        if plain(name) in self._entries:
            return None
        letters = _NO_LETTER.sub("", plain(name))
        if len(letters) < _SHORT:
            return None
        same = self._by_letters.get(letters)
        if same is not None:
            return same
        close = (known for known in self._by_beginning.get(letters[:3], ()) if _one_slip(letters, known))
        return next((self._by_letters[known] for known in close if len(known) > _SHORT + 2), None)
