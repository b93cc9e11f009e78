"""How much of each material a dough took."""

from advisor.recipe.read import read_recipe
from advisor.schema.notebook import StoredDough


def used_grams(dough: StoredDough) -> dict[str, float]:
    """Return what a dough took of each material [g]: what was weighed, else its share of the batch.

    Examples
    --------
    >>> lines = [{"material": "kaolin", "percent": 60}, {"material": "water", "percent": 40}]
    >>> of = {"recipe": {"lines": lines}, "batch_grams": 200.0, "weighed": {"kaolin": 121.5}}
    >>> used_grams(StoredDough.model_validate({**of, "added": [{"material": "water", "grams": 2.0}]}))
    {'kaolin': 121.5, 'water': 82.0}
    """
    written = read_recipe(dough.recipe)
    batch = dough.batch_grams or written.grams or 0.0
    used = {key: percent * batch / 100 for key, percent in written.percents.items()}
    used |= dough.weighed or {}
    for one in dough.added:
        used[one.material] = used.get(one.material, 0.0) + one.grams
    return used
