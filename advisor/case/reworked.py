"""What is said of rework in a recipe: how much of it the batch bears, and what it brings along."""

from collections.abc import Iterator, Mapping

from advisor.case.watched import Watched
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.rework import ReworkRules


def reworked(
    percents: Amounts, of: Mapping[str, Ingredient], name: str, rules: ReworkRules
) -> Iterator[Watched]:
    """Yield where a recipe holds more rework than it bears, or one with allergens it lacks.

    Rework of another recipe is told by its name; a recipe without a name is taken for another.

    Parameters
    ----------
    percents : mapping
        The recipe [%].
    of : mapping
        Its materials.
    name : str
        What the recipe is called.
    rules : ReworkRules
    """
    for key, percent in percents.items():
        material = of[key].material
        if "rework" not in material.roles:
            continue
        same = bool(name) and material.name == f"Rework of {name}"
        use = material.use
        most = use.max if same and use is not None and use.max is not None else rules.other.most_percent
        if percent > most:
            text = rules.text["too_much" if same else "too_much_other"]
            said = text.format(name=material.name, percent=percent, most=most)
            yield Watched("rework-too-much", "dough", said, (key,))
        own = {one for other in percents if other != key for one in of[other].material.allergens}
        new = sorted(set(material.allergens) - own)
        if new and not same:
            said = rules.text["allergens"].format(name=material.name, allergens=", ".join(new))
            yield Watched("rework-allergens", "dough", said, (key,))
