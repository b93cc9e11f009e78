"""Makes a notebook of materials, doughs and bench tests, without storage."""

import datetime
from collections.abc import Mapping
from typing import Any

from advisor.frozen import replace
from advisor.laboratory.uptake import measured
from advisor.recipe.history import dough_weights, stored_evidence
from advisor.recipe.notebook import Notebook, newest_recipes
from advisor.recipe.request import known_materials, read_request
from advisor.rulebook.ingredient import compile_material
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.notebook import StoredNotebook


def remember(
    notebook: StoredNotebook | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    half_life_days: float | None = None,
    today: datetime.date | None = None,
) -> Notebook:
    """Return what a shop knows, to be given to the other tasks as ``notebook``.

    Parameters
    ----------
    notebook : StoredNotebook or mapping
        As GET /v1/notebook answers it: ``format`` 1, ``materials``, ``lots``, ``doughs``, ``uptake_tests``.
    rulebook : Rulebook, optional
        Default: the packaged one.
    half_life_days : float, optional
        Age at which a dough counts half, by its date before the newest [d]; without, all count alike.
    today : date, optional
        The day the dates of lots are held against; without, they are not.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> past = [{"recipe": {"lines": lines}, "report": {"feel": "too_wet"}}] * 3
    >>> shop = remember({"format": 1, "doughs": past})
    >>> from advisor.assessment.task import assess
    >>> assess({"recipe": {"lines": lines}}, notebook=shop).consistency.basis
    'own'
    """
    kept = read_request(StoredNotebook, notebook)
    rules = rulebook or load_rulebook()
    own = {one.key: compile_material(one, rules.dough) for one in kept.materials}
    lots = {(one.material, one.lot): one for one in kept.lots}
    shop = Notebook(rules.dough, rules.ingredients, own, lots=lots, today=today)
    known = known_materials(None, rules, shop)
    weights = dough_weights([one.made_on for one in kept.doughs], half_life_days, today)
    evidence = [
        (one.id or f"doughs/{place}", replace(dough, weight=weight))
        for place, (one, weight) in enumerate(zip(kept.doughs, weights, strict=True))
        for dough in stored_evidence(one, known, f"/doughs/{place}")
    ]
    tests = {one.material: measured(one, known) for one in kept.uptake_tests}
    return replace(
        shop,
        doughs=tuple(dough for _, dough in evidence),
        names=tuple(name for name, _ in evidence),
        measured={key: found for key, found in tests.items() if found is not None},
        recipes=newest_recipes(one.recipe for one in reversed(kept.doughs)),
    )
