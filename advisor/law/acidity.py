"""pH: shares of an acid's species, and whether a preservative works by its acid."""

import math
from collections.abc import Iterable, Sequence

from advisor.rulebook.substances import Substances
from advisor.schema.material import Material


def species(ph: float, pka: Sequence[float]) -> tuple[float, ...]:
    """Return the shares of the species of an acid, from undissociated to wholly dissociated.

    Parameters
    ----------
    ph : float
        pH, 0..14.
    pka : sequence of float
        Dissociation constants in order.

    Notes
    -----
    Activities are taken as concentrations; in strong buffers this is off by several tenths of a pH.

    Examples
    --------
    >>> [round(share, 5) for share in species(5.0, (3.13, 4.76, 6.40))]
    [0.00478, 0.35455, 0.61614, 0.02453]
    """
    exponents = [0.0]
    for constant in pka:
        exponents.append(exponents[-1] + ph - constant)
    largest = max(exponents)
    terms = [10 ** (exponent - largest) for exponent in exponents]
    return tuple(term / math.fsum(terms) for term in terms)


def undissociated(ph: float, pka: float) -> float:
    """Return the share of an acid with one constant that is undissociated.

    Examples
    --------
    >>> round(100 * undissociated(5.0, 4.20), 2), undissociated(4.76, 4.76)
    (13.68, 0.5)
    """
    return species(ph, (pka,))[0]


def acid_preserved(materials: Iterable[Material], substances: Substances) -> bool:
    """Tell whether a preservative among the materials works by its undissociated acid.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> acid_preserved([book.ingredients["sodium-benzoate"].material], book.substances)
    True
    """
    for material in materials:
        if "preservative" not in material.roles:
            continue
        found = [
            substances[name.casefold()] for name in material.composition if name.casefold() in substances
        ]
        if any(one.pka or (one.acid and substances[one.acid.casefold()].pka) for one in found):
            return True
    return False
