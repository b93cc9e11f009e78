"""Says which materials of a shelf may be reached for."""

from collections.abc import Iterable, Mapping

from advisor.case.case import Case
from advisor.rulebook.compatibility import Compatibility
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem


def admitted(
    shelf: Iterable[str], there: Mapping[str, Ingredient], case: Case
) -> tuple[frozenset[str], tuple[TextItem, ...]]:
    """Return the materials of a shelf that may join what is there, and why each other one may not.

    Parameters
    ----------
    shelf : iterable of str
    there : mapping
        What is in the dough already; it clashes with nothing more than it does.
    case : Case
        Knows every material of the request, and what must not meet.
    """
    known = case.formula.ingredients
    compatibility = Compatibility(case.pairs, case.rulebook.program.never_new)
    for one in there.values():
        compatibility.include(one)
    joined, notes = set(), []
    for key in sorted(set(shelf)):
        reason = None if key in there else compatibility.refusal(known[key])
        if reason is None:
            joined.add(key)
            compatibility.include(known[key])
        else:
            notes.append(reason)
    return frozenset(joined), tuple(notes)
