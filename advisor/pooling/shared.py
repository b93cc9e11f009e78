"""What a shop's doughs say of powders and methods, to be handed on: no recipe, no name, no date."""

from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

from advisor.learning import Window
from advisor.recipe.notebook import Notebook

CENTRE = "centre"
_METHOD = "method:"
_DIGITS = 6
_Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e6, le=1e6)]
_Key = Annotated[str, Field(pattern=r"^(method:)?[a-z0-9]+([_-][a-z0-9]+)*$", max_length=72)]
Vector = NDArray[np.float64]


class SharedEvidence(BaseModel):
    """Means and covariance of what a shop's doughs say, its prior taken out again by whoever pools.

    ``keys`` names the unknowns: the centre of the window, powders of the library, methods. ``mean`` and
    ``covariance`` are what is believed of them after the doughs, ``prior_mean`` and ``prior_sd`` before.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    format: Annotated[int, Field(strict=True, ge=1, le=1)]
    rules_version: Annotated[str, Field(max_length=64)]
    keys: Annotated[tuple[_Key, ...], Field(min_length=1, max_length=64)]
    mean: tuple[_Number, ...]
    covariance: tuple[tuple[_Number, ...], ...]
    prior_mean: tuple[_Number, ...]
    prior_sd: tuple[Annotated[_Number, Field(gt=0)], ...]

    def information(self) -> tuple[Vector, Vector]:
        """Return the precision and the pull of the doughs alone, the prior taken out.

        Raises
        ------
        ValueError
            If the figures do not belong together: sizes, doubled keys, a covariance that is none.
        """
        size = len(self.keys)
        covariance = np.array(self.covariance, dtype=np.float64)
        told = (len(self.mean), len(self.prior_mean), len(self.prior_sd), *covariance.shape)
        if told != (size,) * 5 or len(set(self.keys)) < size:
            raise ValueError("keys, means and covariance are not of one size, or a key stands twice")
        if not np.allclose(covariance, covariance.T, atol=1e-9) or np.linalg.eigvalsh(covariance)[0] <= 0:
            raise ValueError("the covariance is none")
        before = np.array(self.prior_sd) ** -2.0
        after = np.linalg.inv(covariance)
        values, axes = np.linalg.eigh(after - np.diag(before))
        precision = (axes * np.maximum(values, 0.0)) @ axes.T
        pull = after @ np.array(self.mean) - before * np.array(self.prior_mean)
        return precision, axes @ ((values > 0) * (axes.T @ pull))


def share_evidence(notebook: Notebook, edition: str) -> SharedEvidence:
    """Return what a shop's doughs say of powders of the library and of methods.

    Parameters
    ----------
    notebook : Notebook
        What the shop knows; its own materials and lots are averaged over and not named.
    edition : str
        Of the rules.

    Raises
    ------
    ValueError
        If no judged dough carries anything that can be shared.

    Examples
    --------
    >>> from advisor.learning import Dough
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> shop = Notebook(book.dough, book.ingredients, doughs=(Dough(0.1, {"kaolin": 0.4}, 4),) * 3)
    >>> share_evidence(shop, book.edition).keys
    ('centre', 'kaolin')
    """
    window: Window = notebook.window
    own = notebook.materials
    kept = [
        place
        for place, key in enumerate(window.powders, start=1)
        if window.support.get(key) and key not in own and (key.startswith(_METHOD) or key in notebook.library)
    ]
    if not any(window.support.values()):
        raise ValueError("No judged dough tells anything of powders or methods yet.")
    places = [0, *kept]
    keys = tuple(window.powders[place - 1] for place in kept)
    prior = window.prior
    covariance = window.widening**2 * window.covariance[np.ix_(places, places)]
    return SharedEvidence(
        format=1,
        rules_version=edition,
        keys=(CENTRE, *keys),
        mean=tuple(np.round(window.mean[places], _DIGITS).tolist()),
        covariance=tuple(tuple(row) for row in np.round(covariance, 2 * _DIGITS).tolist()),
        prior_mean=(prior.centre, *(prior.demand_means.get(key, 0.0) for key in keys)),
        prior_sd=(prior.centre_sd, *(prior.demand_sds[key] for key in keys)),
    )
